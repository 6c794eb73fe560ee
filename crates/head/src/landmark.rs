//! Landmarks: hairlines, ears, crown and the other places a technician finds by eye and finger.

use crate::point::SkinPoint;
use measure::Length;
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
    /// Its distance from the nape hairline at the middle.
    pub above_nape: Length,
    /// Its length from end to end.
    pub length: Length,
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
    /// Partings taped at the chair.
    pub taped_partings: Vec<TapedParting>,
}

/// The places on this head.
#[derive(Debug, Clone, PartialEq)]
pub struct Landmarks {
    /// The lowest hair at the back, from behind the left ear to behind the right.
    pub nape_hairline: Vec<SkinPoint>,
    /// The hairline of forehead and temples, from above the left ear to above the right.
    pub front_hairline: Vec<SkinPoint>,
    /// Outline of the client's left ear, laid flat on the skin, closed.
    pub left_ear: Vec<SkinPoint>,
    /// Outline of the client's right ear, laid flat on the skin, closed.
    pub right_ear: Vec<SkinPoint>,
    /// The crown whorl.
    pub crown: SkinPoint,
    /// The bump of the occipital bone.
    pub occipital: SkinPoint,
    /// The highest point, gaze level.
    pub vertex: SkinPoint,
    /// Where a low ponytail is tied: on the midline at the level of the occipital bone.
    pub tied_low: SkinPoint,
    /// Where a middle ponytail is tied: on the midline half-way between low and high.
    pub tied_mid: SkinPoint,
    /// Where a high ponytail is tied: on the midline at the level of the crown.
    pub tied_high: SkinPoint,
    /// The ear-to-ear line over the top, left to right.
    pub ear_to_ear: Vec<SkinPoint>,
    /// The line down the middle, from front hairline to nape hairline.
    pub midline: Vec<SkinPoint>,
    /// Where the skin turns 45 degrees from level: from temple round the back to temple, left to right.
    pub horseshoe: Vec<SkinPoint>,
}
