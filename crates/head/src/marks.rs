//! What was measured of the hairlines, and what is wrong with it.

use crate::words::Message;
use measure::Length;
use measure::words::Sentence;
use serde::{Deserialize, Serialize};

/// Where the crown whorl is, as seen on this client.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct CrownMark {
    /// Along the midline from the ear-to-ear tape backward.
    pub behind_tape: Length,
    /// Sideways from the midline, plus to the client's right.
    pub to_the_right: Length,
}

/// A parting that was taped at the chair.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct TapedParting {
    /// Where it starts on the middle, up from the nape hairline.
    pub above_nape: Length,
    /// Its length over the back of the head: from sectioning line to sectioning
    /// line, or to the hair's edge where that comes first.
    pub length: Length,
    /// How much higher one of its ends lay than the other, where that was looked at.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tilt: Option<Length>,
}

/// What the technician saw or taped besides the measures; all of it may be absent.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Marks {
    /// From the bump of the occipital bone down to the lowest hair, along the skin.
    pub nape_hairline_below_occiput: Option<Length>,
    /// The crown whorl.
    pub crown: Option<CrownMark>,
    /// How far a peak of the front hairline comes down on the midline.
    pub front_peak: Option<Length>,
    /// How far the hairline runs back at the temples, behind its middle.
    pub temple_recession: Option<Length>,
    /// Along the nape hairline, from its middle to the corner where it turns up.
    pub nape_half_width: Option<Length>,
    /// How much higher (+) or lower (-) that corner lies than the middle.
    pub nape_corner_rise: Option<Length>,
    /// Bare skin behind the ear, at the height of the ear's notch.
    pub behind_ear_bare: Option<Length>,
    /// From the sectioning line level forward to the hairline, 45 mm above the
    /// top of the ear.
    pub temple_hairline: Option<Length>,
    /// How far behind the top of the ear root the sectioning line is combed.
    pub ear_line_back: Option<Length>,
    /// Partings taped at the chair.
    pub taped_partings: Vec<TapedParting>,
}

/// A mark that cannot be on this head.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{what} {cure}")]
pub struct MarkFault {
    /// What is odd.
    pub what: String,
    /// How to mend it.
    pub cure: String,
}

impl MarkFault {
    pub(crate) fn of(message: &Message) -> Self {
        Self { what: message.says(), cure: message.cure() }
    }
}
