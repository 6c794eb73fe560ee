//! Visits and the pieces' lives: what was done at each, step by step.

pub mod decide;
pub mod next;
pub mod observed;
pub mod pieces;
pub mod place;
pub mod state;
pub mod words;

pub use decide::{Gate, decide_begin, decide_close, decide_replan, decide_undo};
pub use observed::Observed;
pub use pieces::{Adhesive, HerPiece, PieceAt, Pieces};
pub use place::{Asked, Placing, StepEvents, decide_halve, decide_place};
pub use state::{Closed, StepDone, VisitState, Year};
pub use words::{BondFound, ClosingChecks, NextDate, PieceOrigin, ShelfPiece, Step, VisitKind};
