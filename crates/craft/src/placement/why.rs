//! Saying why: reasons for every site, cures for every fault.

use super::limits::{AVOID, BARE_SKIN, border_rule};
use super::rules::{BOW, BRICK_OFFSET, DENSE_FROM, FIRST_PARTING, PLAIN_ROWS, REST_VISITS, ROW_SPACING, TAB_GAP, TOP_FREE, WORTH_LONE};
use super::site::{Fault, Reason, Request, RowSetting, Site};
use crate::coverage::{CROWN_CEILING, EAR_FLOOR, NAPE_FLOOR, SIDE_FLOOR, THRESHOLD};
use crate::load::{NoSlice, Proposal};
use crate::piece::{Cut, MARGIN};
use measure::real::ln;

/// A clearance this little above its floor is said to bind, mm.
const BINDS_WITHIN: f64 = 6.0;

/// What a rule says, for a sentence that names no ids.
pub fn says(rule: &str) -> &'static str {
    match rule {
        AVOID => "A place is kept free.",
        BARE_SKIN => "No hair grows there.",
        _ => crate::all_rules().into_iter().find(|known| known.id == rule).map_or("A limit holds.", |known| known.says),
    }
}

/// What would mend a place that a rule refuses.
pub fn cure(rule: &str) -> &'static str {
    const CURES: &[(&str, &str)] = &[
        (NAPE_FLOOR.id, "Set it higher, or agree that hair is not worn up."),
        (SIDE_FLOOR.id, "Set it further from the hairline."),
        (EAR_FLOOR.id, "Set it further from the ear."),
        (CROWN_CEILING.id, "Set it below the crown."),
        (AVOID, "Lift the keep-out if it no longer holds."),
        (BARE_SKIN, "Keep to skin that bears hair; check the hairline measures."),
        (THRESHOLD.id, "Leave out the style that shows most, or set it where more hair lies over it."),
        (REST_VISITS.id, "Let this hair rest until the next visit."),
        (TOP_FREE.id, "Keep below the horseshoe line."),
        (BOW.id, "Take a narrower tab, or set it lower, where the parting runs straighter."),
        (DENSE_FROM.id, "Keep to the regions where her hair is dense."),
        (ROW_SPACING.id, "Set it on the parting of the row that is there, or further from it."),
        (TAB_GAP.id, "Move it along the parting, away from its neighbour."),
        (BRICK_OFFSET.id, "Move it aside, so that its middle stands over a gap."),
    ];
    CURES.iter().find(|(id, _)| *id == rule).map_or("Take lighter pieces or halves.", |(_, cure)| cure)
}

/// The fault of a piece for which no slice fits.
pub fn no_slice_fault(none: &NoSlice) -> Fault {
    let cures: Vec<String> = none
        .proposals
        .iter()
        .map(|proposal| match proposal {
            Proposal::LighterPieces(mass) => format!("take pieces of at most {:.1} g", mass.to_g()),
            Proposal::HalfPieces => "cut the pieces in half".into(),
            Proposal::SingleSided => "set one piece with a backing strip".into(),
            Proposal::FewerStyles => "leave out the styles that draw this hair against its growth".into(),
        })
        .collect();
    Fault {
        what: none.to_string(),
        place: "slice".into(),
        rule: none.window.least_by.rule().id,
        cure: if cures.is_empty() { "Nothing tried here opens it.".into() } else { format!("Either {}.", cures.join(", or ")) },
    }
}

/// Why a site is where it is.
pub fn reasons(request: &Request, site: &Site, setting: RowSetting, lone: bool) -> Vec<Reason> {
    let mut why = Vec::new();
    let mut add = |rule: &'static str, says: String| why.push(Reason { rule, says });
    let floor = request.limits.floors.from_border(site.clearance_to);
    if (site.clearance - floor).to_mm() < BINDS_WITHIN {
        let rule = border_rule(site.clearance_to).id;
        add(rule, format!("{:.0} mm are free to the border; {:.0} mm is the least.", site.clearance.to_mm(), floor.to_mm()));
    }
    if (site.above_nape - request.limits.floors.nape).to_mm() < BINDS_WITHIN {
        add(FIRST_PARTING.id, format!("The first parting, {:.0} mm above the nape hairline.", site.above_nape.to_mm()));
    }
    add(
        MARGIN.id,
        format!("A tab of {:.0} mm takes a slice of {:.1} mm.", site.piece.tab.width.to_mm(), site.slice.length.to_mm()),
    );
    add(
        site.slice.window.least_by.rule().id,
        format!(
            "The slice may be {:.1} to {:.1} mm thick ({}); {:.1} mm was taken.",
            site.slice.window.least.to_mm(),
            site.slice.window.most.to_mm(),
            site.slice.window.most_by.rule().id,
            site.slice.thickness.to_mm()
        ),
    );
    if let Some((style, coverage)) = site.coverage.iter().min_by(|a, b| a.1.total_cmp(b.1)) {
        let depth = -ln((1.0 - coverage).max(1e-12));
        add(
            THRESHOLD.id,
            format!(
                "Least hidden worn {}: {:.1} % of the bond, a depth of {depth:.1} where {:.1} is asked.",
                style.word().replace('_', " "),
                100.0 * coverage,
                request.rules.value(&THRESHOLD)
            ),
        );
    }
    match setting {
        RowSetting::SideBySide => add(PLAIN_ROWS.id, "One of the first rows, side by side.".into()),
        RowSetting::Brick => add(BRICK_OFFSET.id, "In brick with the row below.".into()),
    }
    for (index, term) in [super::rules::WORTH_REST.id, super::rules::WORTH_REST_OLDER.id].iter().enumerate() {
        if site.points.contains_key(term) {
            let visit = if index == 0 { "at the last visit" } else { "at the visit before the last" };
            add(term, format!("This hair carried a slice {visit}; no better place was left."));
        }
    }
    if site.cut == Cut::Half {
        add(super::rules::WORTH_CUT.id, "A half fits where a whole one does not, or meets the wish more closely.".into());
    }
    if lone {
        add(WORTH_LONE.id, "It has no mirror image: the other side takes none here.".into());
    }
    why
}
