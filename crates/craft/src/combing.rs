//! How a row is combed and a site is found with a tape and a comb, in words.
//!
//! Run sheet, steps, map and pages say it the same way, since all of them ask
//! here. A line is known by two readings: where it starts, and where it ends at
//! the ear. Whole millimetres: nobody reads a tape finer.

use crate::placement::HeadPart;
use crate::words::Message;
use measure::Length;
use measure::text::millimetres;
use measure::words::Sentence;

/// Before the first row: the four sections (T5), and how the head is held, so
/// that a line combed straight runs level.
///
/// ```
/// assert!(craft::combing::sections().ends_with("Work starts at the nape."));
/// ```
#[must_use]
pub fn sections() -> &'static str {
    Message::Sections.text()
}

/// How a row is combed from its two readings, for whoever has only the sheet.
///
/// ```
/// assert!(craft::combing::how_to_comb().contains("from its start to its end"));
/// ```
#[must_use]
pub fn how_to_comb() -> &'static str {
    Message::HowToComb.text()
}

/// The line of a row as a tape finds it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CombedLine {
    /// The section it lies in.
    pub section: HeadPart,
    /// Its number within the section, from the lowest.
    pub number: u32,
    /// Where it starts: at the back up the middle from the nape hairline, at a
    /// side up the ear-to-ear line from the top of the ear.
    pub start: Length,
    /// Where it ends: at the back so far above (+) or below (-) the top of the
    /// ear, at a side so far from the front of the ear along the hairline's
    /// level; nothing where it cannot be read.
    pub end: Option<Length>,
    /// Whether a line of the back ends at the hair's edge behind the ear.
    pub ends_behind_ear: bool,
}

impl CombedLine {
    /// What it is called: `Row 4`, `Left line 2`.
    #[must_use]
    pub fn called(&self) -> String {
        match self.section {
            HeadPart::Back => Message::RowCalled { number: self.number.to_string() },
            HeadPart::Left => Message::LeftLineCalled { number: self.number.to_string() },
            HeadPart::Right => Message::RightLineCalled { number: self.number.to_string() },
        }
        .into()
    }

    /// How it is combed, as the end of a sentence: `start 102 mm up the middle,
    /// comb straight to 17 mm above the top of each ear`.
    #[must_use]
    pub fn combed(&self) -> String {
        let start = millimetres(self.start);
        match (self.section, self.end) {
            (HeadPart::Back, None) => Message::CombLevel { start },
            (HeadPart::Back, Some(_)) if self.ends_behind_ear => Message::CombTowards { start, end: self.end_words() },
            (HeadPart::Back, Some(_)) => Message::CombTo { start, end: self.end_words() },
            (HeadPart::Left | HeadPart::Right, None) => Message::CombForward { start },
            (HeadPart::Left | HeadPart::Right, Some(end)) => Message::CombForwardSoFar { start, end: millimetres(end) },
        }
        .into()
    }

    /// The whole sentence.
    #[must_use]
    pub fn sentence(&self) -> String {
        format!("{}: {}.", self.called(), self.combed())
    }

    /// Its end beside the map: `17 mm above`, `23 mm below`, `at the top`; at a
    /// side the way from the front of the ear.
    #[must_use]
    pub fn end_short(&self) -> String {
        let Some(end) = self.end else { return String::new() };
        match (self.section, end.to_mm().round()) {
            (HeadPart::Back, 0.0) => Message::AtTheTop.into(),
            (HeadPart::Back, mm) if mm > 0.0 => Message::Above { way: millimetres(end.abs()) }.into(),
            (HeadPart::Back, _) => Message::Below { way: millimetres(end.abs()) }.into(),
            _ => millimetres(end),
        }
    }

    fn end_words(&self) -> String {
        match self.end {
            Some(end) if end.to_mm().round() == 0.0 => Message::TopOfEars.into(),
            _ => Message::FromTopOfEars { way: self.end_short() }.into(),
        }
    }
}

/// Whether a site stands on the line down the middle.
pub(crate) fn is_on_middle(section: HeadPart, from_line: Length) -> bool {
    section == HeadPart::Back && from_line.abs().to_mm() < 0.5
}

/// Where the middle of a site's tab is found along its line: `30 mm from the
/// middle`, `20 mm from the ear-to-ear line`.
///
/// ```
/// use craft::{combing::along_words, placement::HeadPart};
/// use measure::Length;
/// assert_eq!(along_words(HeadPart::Back, Length::mm(-30.2)), "30 mm from the middle");
/// ```
#[must_use]
pub fn along_words(section: HeadPart, from_line: Length) -> String {
    let way = millimetres(from_line.abs());
    match section {
        HeadPart::Back if is_on_middle(section, from_line) => Message::OnTheMiddle,
        HeadPart::Back => Message::FromTheMiddle { way },
        HeadPart::Left | HeadPart::Right => Message::FromTheEarLine { way },
    }
    .into()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(section: HeadPart, number: u32, start: f64, end: f64, ends_behind_ear: bool) -> CombedLine {
        CombedLine { section, number, start: Length::mm(start), end: Some(Length::mm(end)), ends_behind_ear }
    }

    /// The words as the design of the partings has them.
    #[test]
    fn a_line_is_told_by_its_two_readings() {
        let told = |line: CombedLine| line.sentence();
        assert_eq!(
            told(line(HeadPart::Back, 4, 101.8, 17.2, false)),
            "Row 4: start 102 mm up the middle, comb straight to 17 mm above the top of each ear."
        );
        assert_eq!(
            told(line(HeadPart::Back, 2, 62.0, -23.4, true)),
            "Row 2: start 62 mm up the middle, comb straight towards 23 mm below the top of each ear."
        );
        assert_eq!(
            told(line(HeadPart::Left, 2, 45.0, 77.0, false)),
            "Left line 2: start 45 mm up the ear-to-ear line from the top of the ear, comb straight forward to the hairline, 77 mm from the front of the ear."
        );
        assert!(told(line(HeadPart::Back, 3, 82.0, 0.3, false)).ends_with("comb straight to the top of each ear."));
    }

    #[test]
    fn what_cannot_be_read_is_left_out() {
        let side = CombedLine { end: None, ..line(HeadPart::Right, 1, 26.0, 0.0, false) };
        assert!(side.sentence().ends_with("straight forward to the hairline.") && side.end_short().is_empty());
    }

    #[test]
    fn a_site_is_found_from_the_line_of_its_section() {
        assert_eq!(along_words(HeadPart::Back, Length::mm(-30.2)), "30 mm from the middle");
        assert_eq!(along_words(HeadPart::Back, Length::mm(0.2)), "on the middle");
        assert_eq!(along_words(HeadPart::Left, Length::mm(20.0)), "20 mm from the ear-to-ear line");
    }
}
