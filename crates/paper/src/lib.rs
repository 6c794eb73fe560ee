//! The papers of a visit: the head map, the run sheet, the quote, the aftercare
//! sheet and the calendar file; of a consultation, her copy and a letter to take along.
//!
//! Floor 4. It knows drawings, pages and calendars; it never knows how anything
//! is stored or asked for. Nothing here reads a clock: the day is handed in, and
//! the same plan gives the same bytes on any day.

mod aftercare;
mod calendar;
mod consultation;
mod diary_calendar;
mod fault;
mod heading;
mod hiding;
mod labels;
mod map;
#[cfg(test)]
mod map_tests;
mod paper;
mod quote;
mod shade;
mod sheet;
mod svg;
#[cfg(test)]
mod tests;
mod typeset;
pub mod words;

pub use calendar::{Entry, retape_calendar};
pub use consultation::{Agreed, AskedPart, CONSULTATION_PAPERS, COPY, ConsultationPaper, Consulted, LETTER, signature_svg};
pub use diary_calendar::diary_calendar;
pub use fault::PaperFault;
pub use heading::Heading;
pub use hiding::hiding_svg;
pub use labels::{LABELS_ON_A_SHEET, Label, code_svg, labels};
pub use paper::Paper;
pub use typeset::Fonts;

use salon::plan::Plan;

/// Every paper of a plan that is set on pages. A new one is its own file, its template, and a name here.
pub const PAPERS: [&Paper; 3] = [&sheet::PAPER, &quote::PAPER, &aftercare::PAPER];

/// A colour under D65 as a screen shows it, as `#rrggbb`; what a screen cannot show
/// is clipped.
#[must_use]
pub fn screen_fill(lab: colour::Lab) -> String {
    shade::hex(shade::screen_colour(lab))
}

/// The head map as an SVG drawing for A4 and for a tablet.
///
/// *Meaning*: the back of the head above, either side below with the face
/// outward, the client's left at the left. Every site of the plan stands on it
/// once, told apart by its name, a letter and a pattern. The group of a panel
/// says how its millimetres fall on the drawing: `data-panel`, `data-scale` and
/// `data-origin`; the group of a site carries `data-site`.
#[must_use]
pub fn head_map_svg(plan: &Plan) -> String {
    map::draw(plan, &shade::of_plan(plan))
}
