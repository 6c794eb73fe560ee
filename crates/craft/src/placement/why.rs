//! Saying why: reasons for every site, cures for every fault.

use super::care::Floor;
use super::part::HeadPart;
use super::rules::{BRICK_OFFSET, FIRST_PARTING, PLAIN_ROWS, WORTH_LONE};
use super::site::{Fault, Reason, Request, RowSetting, Site};
use crate::coverage::THRESHOLD;
use crate::load::{NoSlice, Proposal};
use crate::piece::{Cut, MARGIN};
use crate::words::Message;
use head::Border;
use measure::real::ln;
use measure::text::{fixed, millimetres, whole};
use measure::words::Sentence;

/// A clearance this little above its floor is said to bind, mm.
const BINDS_WITHIN: f64 = 6.0;

/// A border in words.
pub fn border(border: Border) -> &'static str {
    match border {
        Border::NapeHairline => Message::BorderNape.text(),
        Border::FrontHairline => Message::BorderFace.text(),
        Border::LeftEar | Border::RightEar => Message::BorderEar.text(),
        Border::BehindLeftEar | Border::BehindRightEar => Message::BorderBehindEar.text(),
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
            Proposal::LighterPieces(mass) => Message::CureLighterPieces { grams: fixed(mass.to_g(), 1) }.into(),
            Proposal::HalfPieces => Message::CureHalfPieces.into(),
            Proposal::SingleSided => Message::CureSingleSided.into(),
            Proposal::FewerStyles => Message::CureFewerStyles.into(),
        })
        .collect();
    Fault {
        what: none.to_string(),
        place: "slice".into(),
        rule: none.window.least_by.rule().id,
        cure: if cures.is_empty() {
            Message::CureNone.into()
        } else {
            Message::CureEither { cures: cures.join(Message::CureOr.text()) }.into()
        },
    }
}

/// How thick the slice is, and between what.
fn slice_words(site: &Site) -> Message {
    let window = &site.slice.window;
    let (thickness, most) = (fixed(site.slice.thickness.to_mm(), 1), fixed(window.most.to_mm(), 1));
    if window.least.is_finite() && window.least <= window.most {
        Message::WhySlice { thickness, least: fixed(window.least.to_mm(), 1), most }
    } else {
        Message::WhySliceMarked { thickness, most }
    }
}

/// Why a site is where it is.
pub fn reasons(request: &Request, site: &Site, setting: RowSetting, lone: bool) -> Vec<Reason> {
    let mut why = Vec::new();
    let mut add = |rule: &'static str, says: Message| why.push(Reason { rule, says: says.to_string() });
    let floor = request.limits.floors.from_border(site.clearance_to);
    if (site.clearance - floor).to_mm() < BINDS_WITHIN {
        let rule = Floor::Border(site.clearance_to).rule();
        add(
            rule,
            Message::WhyClearance {
                free: millimetres(site.clearance),
                border: border(site.clearance_to).to_owned(),
                least: millimetres(floor),
            },
        );
    }
    if site.part == HeadPart::Back && (site.above_nape - request.limits.floors.nape).to_mm() < BINDS_WITHIN {
        add(FIRST_PARTING.id, Message::WhyFirstParting { up: millimetres(site.above_nape) });
    }
    add(MARGIN.id, Message::WhyMargin { tab: millimetres(site.piece.tab.width), slice: fixed(site.slice.length.to_mm(), 1) });
    add(site.slice.window.least_by.rule().id, slice_words(site));
    if let Some((style, coverage)) = site.coverage.iter().min_by(|a, b| a.1.total_cmp(b.1)) {
        let depth = -ln((1.0 - coverage).max(1e-12));
        add(
            THRESHOLD.id,
            Message::WhyHidden {
                style: style.words().to_owned(),
                hidden: fixed(100.0 * coverage, 1),
                deep: fixed(depth, 1),
                wished: fixed(request.rules.value(&THRESHOLD), 1),
                chances: whole(100.0 * site.chance),
            },
        );
    }
    match setting {
        RowSetting::SideBySide => add(PLAIN_ROWS.id, Message::WhySideBySide),
        RowSetting::Brick => add(BRICK_OFFSET.id, Message::WhyBrick),
    }
    for (term, says) in
        [(super::rules::WORTH_REST.id, Message::WhyCarriedLast), (super::rules::WORTH_REST_OLDER.id, Message::WhyCarriedBeforeLast)]
    {
        if site.points.contains_key(term) {
            add(term, says);
        }
    }
    if site.cut == Cut::Half {
        add(super::rules::WORTH_CUT.id, Message::WhyHalf);
    }
    if lone {
        add(WORTH_LONE.id, Message::WhyLone);
    }
    why
}
