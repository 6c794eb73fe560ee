//! Where every sandwich goes on this head.
//!
//! Limits can only refuse: hairline, ears, crown, keep-outs, a bond that would
//! show in a style she wears, a slice that could not bear it, hair that must
//! rest ([`limits`](self)). What is left is weighed in named points: fewest
//! pieces and rows, cover to spare, light load, rested hair, mirror symmetry,
//! reach. The search ([`search`](mod@search)) finds the layout of least points
//! that gives the wish and keeps spacing and brick; the plan tells it in the
//! order of work, and for every site why it is there.

pub mod instance;
mod judge;
mod limits;
mod plan;
mod rules;
mod scalp;
pub mod search;
mod site;
mod why;
mod wish;
mod worth;

pub use instance::{LayoutAnswer, LayoutInstance, check_layout};
pub use judge::{Judgement, judge};
pub use limits::{AVOID, BARE_SKIN};
pub use plan::{place, place_telling};
pub use rules::*;
pub use scalp::{COMB_STEP_MM, Hiding, Line, Scalp};
pub use site::{
    Anchor, Avoid, Fault, HeadPart, Layout, Limits, Placed, Placement, Reason, Request, Row, RowSetting, Site, Symmetry, Wish,
};
