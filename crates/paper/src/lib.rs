//! The papers of a visit: the head map, the run sheet, the quote, the aftercare
//! sheet and the calendar file.
//!
//! Floor 4. It knows drawings, pages and calendars; it never knows how anything
//! is stored or asked for. Nothing here reads a clock: the day is handed in, and
//! the same plan gives the same bytes on any day.

mod aftercare;
mod calendar;
mod diary_calendar;
mod fault;
mod heading;
mod hiding;
mod map;
#[cfg(test)]
mod map_tests;
mod quote;
mod shade;
mod sheet;
mod svg;
#[cfg(test)]
mod tests;
mod typeset;
pub mod words;

pub use calendar::{Entry, retape_calendar};
pub use diary_calendar::diary_calendar;
pub use fault::PaperFault;
pub use heading::Heading;
pub use hiding::hiding_svg;
pub use typeset::Fonts;

use salon::plan::Plan;
use serde::Serialize;
use shade::Shade;

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
    map::draw(plan, &shades(plan))
}

/// The run sheet as an accessible PDF: what to prepare, the map, every site in
/// working order, the steps with their cautions, the closing checks.
///
/// *Errors*: a face that is no font.
pub fn run_sheet_pdf(plan: &Plan, heading: &Heading, fonts: &Fonts) -> Result<Vec<u8>, PaperFault> {
    typeset::pdf(&typeset::Copy {
        template: sheet::TEMPLATE,
        data: data(&sheet::run_sheet(plan, heading, &shades(plan)))?,
        drawing: Some(head_map_svg(plan)),
        fonts,
        date: heading.date,
    })
}

/// The quote as an accessible PDF: lines, total, cost by the week, what to buy,
/// what it rests on, and what a budget that does not reach would reach.
///
/// *Errors*: a face that is no font.
pub fn quote_pdf(plan: &Plan, heading: &Heading, fonts: &Fonts) -> Result<Vec<u8>, PaperFault> {
    let data = data(&quote::quote_sheet(plan, heading))?;
    typeset::pdf(&typeset::Copy { template: quote::TEMPLATE, data, drawing: None, fonts, date: heading.date })
}

/// The client's own sheet as an accessible PDF of one page: how to look after the
/// hair, when to come back, when to come at once.
///
/// *Errors*: a face that is no font.
pub fn aftercare_pdf(plan: &Plan, heading: &Heading, fonts: &Fonts) -> Result<Vec<u8>, PaperFault> {
    let data = data(&aftercare::aftercare_sheet(plan, heading))?;
    typeset::pdf(&typeset::Copy { template: aftercare::TEMPLATE, data, drawing: None, fonts, date: heading.date })
}

/// The shades of a plan as the papers show them.
fn shades(plan: &Plan) -> Vec<Shade> {
    shade::shades(&plan.sites, |code| {
        let lab = plan.colour.shades_lab_d65.get(code).map(|lab| colour::Lab::from(*lab));
        let name = plan.colour.shade_names.get(code).cloned();
        (lab.is_some() || name.is_some()).then(|| (name.unwrap_or_default(), lab))
    })
}

fn data(sheet: &impl Serialize) -> Result<serde_json::Value, PaperFault> {
    serde_json::to_value(sheet).map_err(|fault| PaperFault::Setting(fault.to_string()))
}
