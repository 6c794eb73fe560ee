//! The head map: every site on the head, to scale, to be found with a tape.
//!
//! User units are millimetres on an A4 sheet. A plan is drawn in three panels,
//! the back and either side; a plan of before, which knows no panels, as it was:
//! the head unrolled in one piece.

mod marks;
mod panels;
pub(crate) mod pen;
mod spread;
mod unrolled;

use crate::shade::Shade;
use craft::combing::{how_to_comb, sections};
use salon::plan::Plan;

/// Draws the map of a plan.
pub(crate) fn draw(plan: &Plan, shades: &[Shade]) -> String {
    match &plan.panels {
        Some(panels) => panels::draw(&panels::Subject { panels, plan, shades }, &described(plan, shades)),
        None => {
            let stored = plan.map.clone().unwrap_or_default();
            unrolled::draw(&unrolled::Subject { map: &stored, rows: &plan.rows, sites: &plan.sites, shades })
        }
    }
}

/// The map in words, for somebody who hears it.
pub(crate) fn described(plan: &Plan, shades: &[Shade]) -> String {
    let rows = measure::text::counted(plan.rows.len(), "row", "rows");
    let sites = measure::text::counted(plan.sites.len(), "sandwich", "sandwiches");
    let seen = if plan.panels.is_some() { "the back and both sides" } else { "seen from behind" };
    let listed: Vec<String> = plan.sites.iter().map(|site| marks::spoken_site(plan, site, shades)).collect();
    format!("{sites} in {rows}, {seen}. {}", listed.join(" "))
}

/// How the head is sectioned first and a site is found, for whoever has only the
/// sheet, a tape and a comb.
pub(crate) fn how_to_measure(plan: &Plan) -> String {
    if plan.panels.is_some() { format!("{} {}", sections(), how_to_comb()) } else { unrolled::HOW_TO_MEASURE.to_owned() }
}
