//! Saying why: reasons for every site, cures for every fault.

use super::care::Floor;
use super::part::HeadPart;
use super::rules::{BRICK_OFFSET, FIRST_PARTING, PLAIN_ROWS, WORTH_LONE};
use super::site::{Fault, Reason, Request, RowSetting, Site};
use crate::coverage::THRESHOLD;
use crate::load::{NoSlice, Proposal};
use crate::piece::{Cut, MARGIN};
use head::Border;
use measure::real::ln;

/// A clearance this little above its floor is said to bind, mm.
const BINDS_WITHIN: f64 = 6.0;

/// A border in words.
pub const fn border(border: Border) -> &'static str {
    match border {
        Border::NapeHairline => "the nape hairline",
        Border::FrontHairline => "the hairline at the face",
        Border::LeftEar | Border::RightEar => "the ear",
        Border::BehindLeftEar | Border::BehindRightEar => "the hairline behind the ear",
    }
}

/// A sentence as the end of another.
pub fn lower_first(sentence: &str) -> String {
    let mut letters = sentence.chars();
    letters.next().map_or_else(String::new, |first| first.to_lowercase().chain(letters).collect())
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

/// How thick the slice is, and between what.
fn slice_words(site: &Site) -> String {
    let window = &site.slice.window;
    let least = if window.least.is_finite() && window.least <= window.most {
        format!("{:.1} mm at least keep its load under what is marked", window.least.to_mm())
    } else {
        "no thickness that can be taken keeps its load under what is marked".to_owned()
    };
    format!("A slice of {:.1} mm: {least}, {:.1} mm at most can be taken.", site.slice.thickness.to_mm(), window.most.to_mm())
}

/// Why a site is where it is.
pub fn reasons(request: &Request, site: &Site, setting: RowSetting, lone: bool) -> Vec<Reason> {
    let mut why = Vec::new();
    let mut add = |rule: &'static str, says: String| why.push(Reason { rule, says });
    let floor = request.limits.floors.from_border(site.clearance_to);
    if (site.clearance - floor).to_mm() < BINDS_WITHIN {
        let rule = Floor::Border(site.clearance_to).rule();
        add(
            rule,
            format!("{:.0} mm are free to {}; {:.0} mm is the least.", site.clearance.to_mm(), border(site.clearance_to), floor.to_mm()),
        );
    }
    if site.part == HeadPart::Back && (site.above_nape - request.limits.floors.nape).to_mm() < BINDS_WITHIN {
        add(FIRST_PARTING.id, format!("The first parting, {:.0} mm up the middle from the nape hairline.", site.above_nape.to_mm()));
    }
    add(MARGIN.id, format!("A tab of {:.0} mm takes a slice of {:.1} mm.", site.piece.tab.width.to_mm(), site.slice.length.to_mm()));
    add(site.slice.window.least_by.rule().id, slice_words(site));
    if let Some((style, coverage)) = site.coverage.iter().min_by(|a, b| a.1.total_cmp(b.1)) {
        let depth = -ln((1.0 - coverage).max(1e-12));
        add(
            THRESHOLD.id,
            format!(
                "Least hidden worn {}: {:.1} % of the bond, {depth:.1} strands deep where {:.1} is wished for; about {:.0} chances in a hundred that it shows.",
                style.words(),
                100.0 * coverage,
                request.rules.value(&THRESHOLD),
                100.0 * site.chance
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
