//! What the tape reads on a head, and what is wrong or doubtful with it.

use crate::words::Message;
use measure::Length;
use measure::text::millimetres;
use measure::words::Sentence;
use serde::{Deserialize, Serialize};

/// How the hair lay while the tape was round the head.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum HairUnderTape {
    /// Taped along a parted line, or over hair cut short.
    Parted,
    /// Long hair lying flat and smooth.
    #[default]
    Smooth,
    /// Thick, curly or loose hair that the tape could not press flat.
    Full,
    /// The skin itself was measured, as on a scan or a model head.
    None,
}

/// The measures of a head, as the technician took them.
///
/// ```
/// use head::Measures;
/// use measure::Length;
/// let measures = Measures { ear_to_ear_over_crown: Some(Length::mm(345.0)), ..Measures::of_circumference(Length::mm(560.0)) };
/// assert_eq!(measures.circumference.to_mm(), 560.0);
/// ```
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Measures {
    /// Round the head above the brows and over the widest point of the back.
    pub circumference: Length,
    /// From ear notch to ear notch over the top.
    pub ear_to_ear_over_crown: Option<Length>,
    /// On the midline, from the front hairline back to the ear-to-ear tape.
    pub front_hairline_to_tape: Option<Length>,
    /// On the midline, from the ear-to-ear tape back and down to the nape hairline.
    pub tape_to_nape_hairline: Option<Length>,
    /// From ear notch to ear notch round the back, over the occipital bone.
    pub ear_to_ear_behind: Option<Length>,
    /// Calliper, brow to the farthest point of the back.
    pub length: Option<Length>,
    /// Calliper, the greatest breadth above the ears.
    pub breadth: Option<Length>,
    /// How the hair lay under the tape.
    pub hair_under_tape: HairUnderTape,
    /// Why a measure outside the usual range is right after all.
    pub unusual_reason: Option<String>,
}

impl Measures {
    /// The least that is needed: the circumference, over smooth hair.
    #[must_use]
    pub fn of_circumference(circumference: Length) -> Self {
        Self {
            circumference,
            ear_to_ear_over_crown: None,
            front_hairline_to_tape: None,
            tape_to_nape_hairline: None,
            ear_to_ear_behind: None,
            length: None,
            breadth: None,
            hair_under_tape: HairUnderTape::Smooth,
            unusual_reason: None,
        }
    }
}

/// One of the measures, to say which one a fault is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Tape {
    /// Round the head.
    Circumference,
    /// Over the top from ear to ear.
    EarToEarOverCrown,
    /// Front hairline to the ear-to-ear tape.
    FrontHairlineToTape,
    /// Ear-to-ear tape to the nape hairline.
    TapeToNapeHairline,
    /// Round the back from ear to ear.
    EarToEarBehind,
    /// Calliper length.
    Length,
    /// Calliper breadth.
    Breadth,
}

impl Tape {
    /// The measure in plain words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Circumference => Message::TapeRound,
            Self::EarToEarOverCrown => Message::TapeOverTop,
            Self::FrontHairlineToTape => Message::TapeFront,
            Self::TapeToNapeHairline => Message::TapeNape,
            Self::EarToEarBehind => Message::TapeBehind,
            Self::Length => Message::CalliperLength,
            Self::Breadth => Message::CalliperBreadth,
        }
        .text()
    }

    /// The name of its key in a head file.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Circumference => "circumference_mm",
            Self::EarToEarOverCrown => "ear_to_ear_over_crown_mm",
            Self::FrontHairlineToTape => "front_hairline_to_tape_mm",
            Self::TapeToNapeHairline => "tape_to_nape_hairline_mm",
            Self::EarToEarBehind => "ear_to_ear_behind_mm",
            Self::Length => "length_mm",
            Self::Breadth => "breadth_mm",
        }
    }
}

/// A measure that cannot be right, or needs a reason before it is believed.
#[derive(Debug, Clone, PartialEq, Serialize, thiserror::Error)]
#[error("{what} {cure}")]
pub struct MeasureFault {
    /// The measure.
    pub tape: Tape,
    /// What is odd, and what range people have.
    pub what: String,
    /// How to mend it.
    pub cure: String,
    /// Whether a reason in `unusual_reason` lets the fit go on.
    pub reason_suffices: bool,
    /// What was most likely meant, when it looks like a slip of unit.
    pub likely: Option<Length>,
}

/// A measure that does not go with the others.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Doubt {
    /// The measure without which the rest, and what heads people have, agree best.
    pub tape: Tape,
    /// By how much it is longer than the others suggest; shorter below zero.
    pub longer: Length,
}

impl std::fmt::Display for Doubt {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let (tape, by) = (self.tape.words().to_owned(), millimetres(self.longer.abs()));
        let longer = self.longer.to_mm().round() > 0.0;
        let message = if longer { Message::DoubtLonger { tape, by } } else { Message::DoubtShorter { tape, by } };
        f.write_str(&message.says())
    }
}

/// One standard error of each fitted size.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct SizeSigma {
    /// Of the length.
    pub length: Length,
    /// Of the breadth.
    pub breadth: Length,
    /// Of the height above the ear notches.
    pub tragion_to_top: Length,
}
