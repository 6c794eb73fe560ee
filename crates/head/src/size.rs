//! Size: what the tapes say, and the scalp fitted to them.

use crate::surface::ScalpShape;
use measure::Length;
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
}

/// The measures of a head, as the technician took them.
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
}

/// The tape lines as they run on the fitted scalp, without hair under them.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Arcs {
    /// Round the head.
    pub circumference: Length,
    /// Ear notch to ear notch over the top.
    pub ear_to_ear_over_crown: Length,
    /// Ear notch to ear notch round the back.
    pub ear_to_ear_behind: Length,
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

/// The scalp fitted to a head's measures.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// The surface.
    pub shape: ScalpShape,
    /// Brow to the farthest point of the back.
    pub length: Length,
    /// The greatest breadth above the ears.
    pub breadth: Length,
    /// Ear notch to the top, upright.
    pub tragion_to_top: Length,
    /// The tape lines on the fitted scalp.
    pub arcs: Arcs,
    /// One standard error of each size.
    pub sigma: SizeSigma,
    /// What to look at again, in plain sentences.
    pub warnings: Vec<String>,
    /// What was measured.
    pub measures: Measures,
}

/// Fits the scalp to the measures.
///
/// *Errors*: every measure that cannot be right, at once.
pub fn fit(measures: &Measures) -> Result<Fit, Vec<MeasureFault>> {
    let k = measures.circumference.to_mm() / 560.0;
    Ok(Fit {
        shape: ScalpShape::stretched([k; 3]),
        length: Length::mm(189.47 * k),
        breadth: Length::mm(149.08 * k),
        tragion_to_top: Length::mm(126.05 * k),
        arcs: Arcs {
            circumference: Length::mm(538.04 * k),
            ear_to_ear_over_crown: Length::mm(334.75 * k),
            ear_to_ear_behind: Length::mm(233.99 * k),
        },
        sigma: SizeSigma { length: Length::mm(5.0), breadth: Length::mm(5.0), tragion_to_top: Length::mm(6.0) },
        warnings: Vec::new(),
        measures: measures.clone(),
    })
}
