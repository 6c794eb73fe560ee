//! Visits and the pieces' lives: what was done at each, step by step.

pub mod add;
pub mod decide;
pub mod next;
pub mod observed;
pub mod pieces;
pub mod place;
pub mod state;
pub mod words;

pub use add::{AskedToAdd, decide_add};
pub use decide::{Gate, decide_begin, decide_close, decide_replan, decide_undo};
pub use observed::Observed;
pub use pieces::{Adhesive, HerPiece, PieceAt, Pieces};
pub use place::{Asked, Placing, StepEvents, decide_halve, decide_place};
pub use state::{Closed, StepDone, VisitState, Year};
pub use words::{AddedAt, BondFound, ClosingChecks, NextDate, PieceOrigin, ShelfPiece, Step, VisitKind};
