//! The papers of a visit: the head map, the run sheet, the quote, the aftercare
//! sheet and the calendar file.
//!
//! Floor 4. It knows drawings, pages and calendars; it never knows how anything
//! is stored or asked for. Nothing here reads a clock: the day is handed in, and
//! the same plan gives the same bytes on any day.

mod calendar;
#[cfg(test)]
mod example;
mod map;
mod shade;
mod sheet;
mod svg;
mod typeset;
pub mod words;

pub use calendar::retape_calendar;
pub use typeset::Fonts;

/// Why a paper could not be made.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PaperFault {
    /// A face handed in is no font.
    #[error("the {0} face of the papers is not a font file: give a TrueType or OpenType file, or none")]
    Font(&'static str),
    /// The typesetter refused a page: a fault of the program, not of the user.
    #[error("a page could not be set: {0}; this is a fault of the program, please report it")]
    Setting(String),
}
