//! Where every sandwich goes on this head.
//!
//! Rows are combed as level lines in four sections. Floors keep places free:
//! hairline, ears, crown, section lines, keep-outs, a bond more likely than not
//! to show, a slice that would carry more than anyone sets, hair that must rest
//! ([`Floor`]). What models say ([`Caution`]) costs points and marks the site.
//! Ways of setting a row are tidy by themselves (`rows`); rows are laid one
//! above the other exactly (`lay`); and while the wish is not met, every place
//! still open is taken (`fill`). The plan tells it in the order of work, and for
//! every site why it is there.
//!
//! Layout instances of other programs are solved by the general search
//! ([`search`](mod@search)).

mod apart;
mod care;
mod fill;
pub mod instance;
mod judge;
mod lay;
mod part;
mod plan;
mod rows;
mod rules;
mod scalp;
pub mod search;
mod site;
pub mod site_id;
mod survey;
mod why;
mod worth;

pub use care::{AVOID, BARE_SKIN, Care, Caution, Degree, Floor, Kind, LIMITS};
pub use instance::{LayoutAnswer, LayoutInstance, check_layout};
pub use judge::{Beside, SiteJudgement, judge};
pub use part::HeadPart;
pub use plan::place;
pub use rules::*;
pub use scalp::{COMB_STEP_MM, Hiding, Line, Scalp};
pub use site::{Anchor, Avoid, Fault, Layout, LayoutLimits, Placed, Placement, Reason, Request, Row, RowSetting, Site, Symmetry};
pub use site_id::{NoSite, SiteId};
