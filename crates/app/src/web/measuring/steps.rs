//! The steps of the page, in the order of the hands.

use super::pictures::Shown;
use head::Tape;

/// How a step of the page is answered.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A reading, with its picture.
    Reading(Shown),
    /// What lay under the tape.
    Hair,
    /// A sentence.
    Reason,
}

/// The steps in the order of the hands: a tape that is left on comes before
/// those that are read from it.
pub const STEPS: &[(&str, Kind)] = &[
    ("head.circumference_mm", Kind::Reading(Shown::Tape(Tape::Circumference))),
    ("head.hair_under_tape", Kind::Hair),
    ("head.ear_to_ear_over_crown_mm", Kind::Reading(Shown::Tape(Tape::EarToEarOverCrown))),
    ("head.front_hairline_to_tape_mm", Kind::Reading(Shown::Tape(Tape::FrontHairlineToTape))),
    ("head.tape_to_nape_hairline_mm", Kind::Reading(Shown::Tape(Tape::TapeToNapeHairline))),
    ("head.temple_hairline_mm", Kind::Reading(Shown::Temple)),
    ("head.nape_half_width_mm", Kind::Reading(Shown::NapeCorner)),
    ("head.ear_to_ear_behind_mm", Kind::Reading(Shown::Tape(Tape::EarToEarBehind))),
    ("head.length_mm", Kind::Reading(Shown::Tape(Tape::Length))),
    ("head.breadth_mm", Kind::Reading(Shown::Tape(Tape::Breadth))),
    ("head.nape_hairline_below_occiput_mm", Kind::Reading(Shown::NapeBelowOccipital)),
    ("head.nape_corner_rise_mm", Kind::Reading(Shown::CornerRise)),
    ("head.behind_ear_bare_mm", Kind::Reading(Shown::BehindEar)),
    ("head.ear_line_back_mm", Kind::Reading(Shown::EarLineBack)),
    ("head.crown_behind_tape_mm", Kind::Reading(Shown::Crown)),
    ("head.crown_to_right_mm", Kind::Reading(Shown::CrownAside)),
    ("head.unusual_reason", Kind::Reason),
];

/// The names of the answers on this page.
pub fn names() -> impl Iterator<Item = &'static str> {
    STEPS.iter().map(|(name, _)| *name)
}
