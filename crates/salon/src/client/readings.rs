//! The readings of a head by section and key, as a page or a file names them: which
//! tape each is, whether it was given, and the section without it.

use super::HeadSection;
use head::Tape;

/// The tapes by the name of their key.
const TAPES: [Tape; 7] = [
    Tape::Circumference,
    Tape::EarToEarOverCrown,
    Tape::FrontHairlineToTape,
    Tape::TapeToNapeHairline,
    Tape::EarToEarBehind,
    Tape::Length,
    Tape::Breadth,
];

/// From the occipital bone to the nape hairline.
pub const NAPE_BELOW: &str = "head.nape_hairline_below_occiput_mm";
/// From the ear-to-ear tape to the crown whorl.
pub const CROWN_BEHIND: &str = "head.crown_behind_tape_mm";
/// The crown whorl beside the middle.
pub const CROWN_ASIDE: &str = "head.crown_to_right_mm";
/// Readings of the hairline and of the line from ear to ear, the likeliest at fault first.
pub const OF_THE_HAIRLINE: [&str; 5] =
    ["head.nape_half_width_mm", "head.nape_corner_rise_mm", "head.behind_ear_bare_mm", "head.temple_hairline_mm", "head.ear_line_back_mm"];

/// Every reading, and what belongs to them: what lay under the tape, and why an
/// unusual one is right.
pub const READINGS: [&str; 17] = [
    "head.circumference_mm",
    "head.hair_under_tape",
    "head.ear_to_ear_over_crown_mm",
    "head.front_hairline_to_tape_mm",
    "head.tape_to_nape_hairline_mm",
    "head.temple_hairline_mm",
    "head.nape_half_width_mm",
    "head.ear_to_ear_behind_mm",
    "head.length_mm",
    "head.breadth_mm",
    NAPE_BELOW,
    "head.nape_corner_rise_mm",
    "head.behind_ear_bare_mm",
    "head.ear_line_back_mm",
    CROWN_BEHIND,
    CROWN_ASIDE,
    "head.unusual_reason",
];

/// The key that a tape is written under.
#[must_use]
pub fn field_of(tape: Tape) -> &'static str {
    READINGS.into_iter().find(|name| name.strip_prefix("head.") == Some(tape.key())).unwrap_or("head.circumference_mm")
}

/// The tape that a field holds; nothing where it holds another reading.
#[must_use]
pub fn tape_of(name: &str) -> Option<Tape> {
    TAPES.into_iter().find(|tape| name.strip_prefix("head.") == Some(tape.key()))
}

/// What a tape reads, mm.
#[must_use]
pub fn given(section: &HeadSection, tape: Tape) -> Option<f64> {
    match tape {
        Tape::Circumference => section.circumference_mm,
        Tape::EarToEarOverCrown => section.ear_to_ear_over_crown_mm,
        Tape::FrontHairlineToTape => section.front_hairline_to_tape_mm,
        Tape::TapeToNapeHairline => section.tape_to_nape_hairline_mm,
        Tape::EarToEarBehind => section.ear_to_ear_behind_mm,
        Tape::Length => section.length_mm,
        Tape::Breadth => section.breadth_mm,
    }
}

/// Whether a field was answered.
#[must_use]
pub fn is_given(section: &HeadSection, name: &str) -> bool {
    match tape_of(name) {
        Some(tape) => given(section, tape).is_some(),
        None => match name {
            NAPE_BELOW => section.nape_hairline_below_occiput_mm.is_some(),
            // Aside of what is not known asks for it.
            CROWN_BEHIND => section.crown_behind_tape_mm.is_some() || section.crown_to_right_mm.is_some(),
            CROWN_ASIDE => section.crown_to_right_mm.is_some(),
            "head.hair_under_tape" => section.hair_under_tape.is_some(),
            "head.nape_half_width_mm" => section.nape_half_width_mm.is_some(),
            "head.nape_corner_rise_mm" => section.nape_corner_rise_mm.is_some(),
            "head.behind_ear_bare_mm" => section.behind_ear_bare_mm.is_some(),
            "head.temple_hairline_mm" => section.temple_hairline_mm.is_some(),
            "head.ear_line_back_mm" => section.ear_line_back_mm.is_some(),
            _ => section.unusual_reason.is_some(),
        },
    }
}

/// Takes one answer out of the section.
pub fn leave_out(section: &mut HeadSection, name: &str) {
    match tape_of(name) {
        Some(Tape::Circumference) => section.circumference_mm = None,
        Some(Tape::EarToEarOverCrown) => section.ear_to_ear_over_crown_mm = None,
        Some(Tape::FrontHairlineToTape) => section.front_hairline_to_tape_mm = None,
        Some(Tape::TapeToNapeHairline) => section.tape_to_nape_hairline_mm = None,
        Some(Tape::EarToEarBehind) => section.ear_to_ear_behind_mm = None,
        Some(Tape::Length) => section.length_mm = None,
        Some(Tape::Breadth) => section.breadth_mm = None,
        None => match name {
            NAPE_BELOW => section.nape_hairline_below_occiput_mm = None,
            // Aside of what is not known means nothing.
            CROWN_BEHIND => (section.crown_behind_tape_mm, section.crown_to_right_mm) = (None, None),
            CROWN_ASIDE => section.crown_to_right_mm = None,
            "head.hair_under_tape" => section.hair_under_tape = None,
            "head.nape_half_width_mm" => section.nape_half_width_mm = None,
            "head.nape_corner_rise_mm" => section.nape_corner_rise_mm = None,
            "head.behind_ear_bare_mm" => section.behind_ear_bare_mm = None,
            "head.temple_hairline_mm" => section.temple_hairline_mm = None,
            "head.ear_line_back_mm" => section.ear_line_back_mm = None,
            _ => section.unusual_reason = None,
        },
    }
}
