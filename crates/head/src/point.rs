//! Places: on the skin, on the flat map, and the words for where on a head they are.

use measure::Length;
use serde::{Deserialize, Serialize};

/// A point on the skin.
///
/// *Meaning*: millimetres in the frame of the scalp template: x towards the
/// client's right ear, y towards the root of the nose, z up; the origin lies
/// on the line that joins the notches of the two ears.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct SkinPoint(pub [f64; 3]);

impl SkinPoint {
    /// The straight line through the air to another point, never longer than
    /// the way along the skin.
    #[must_use]
    pub fn straight_to(self, other: Self) -> Length {
        Length::mm(measure::vector::distance(self.0, other.0))
    }

    /// The same place on the other side of the head.
    #[must_use]
    pub fn mirrored(self) -> Self {
        Self(measure::vector::mirror(self.0))
    }
}

/// A point on one panel of the flat map.
///
/// *Meaning*: millimetres on paper at full size; x to the client's right. At the
/// back x is counted from the middle and y from the nape hairline upward; at the
/// sides x from the sectioning line and y from the top of the ear. It never
/// mixes with points on the skin.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct MapPoint {
    /// Along, towards the client's right, mm.
    pub x: f64,
    /// Upward, mm.
    pub y: f64,
}

/// The client's own side.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Side {
    /// The client's left.
    Left,
    /// On the line down the middle.
    Centre,
    /// The client's right.
    Right,
}

/// A region of the scalp as hair science divides it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Zone {
    /// Below the occipital bone at the back.
    Nape,
    /// The back of the head, from the occipital bone up to the crown.
    Occipital,
    /// The top of the back, about the crown.
    Crown,
    /// The sides, above and behind the ears up to the horseshoe line.
    Parietal,
    /// The sides before the ears.
    Temporal,
    /// The top, before the ear-to-ear line and above the horseshoe line.
    Frontal,
}

impl Zone {
    /// Every region, in the order of their numbers.
    pub const ALL: [Self; 6] = [Self::Nape, Self::Occipital, Self::Crown, Self::Parietal, Self::Temporal, Self::Frontal];
}

/// An edge of the hair that a sandwich keeps clear of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Border {
    /// The lowest hair at the back, from corner to corner.
    NapeHairline,
    /// The hairline at forehead and temples.
    FrontHairline,
    /// The client's left ear.
    LeftEar,
    /// The client's right ear.
    RightEar,
    /// The hairline from the nape's left corner up behind the client's left ear.
    BehindLeftEar,
    /// The hairline from the nape's right corner up behind the client's right ear.
    BehindRightEar,
}

impl Border {
    /// Every border.
    pub const ALL: [Self; 6] =
        [Self::NapeHairline, Self::FrontHairline, Self::LeftEar, Self::RightEar, Self::BehindLeftEar, Self::BehindRightEar];
}

/// One of the three drawings of the flat map.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Panel {
    /// The back of the head, as one stands behind the client.
    Back,
    /// The side before the sectioning line, on the client's left.
    Left,
    /// The side before the sectioning line, on the client's right.
    Right,
}

impl Panel {
    /// Every panel.
    pub const ALL: [Self; 3] = [Self::Back, Self::Left, Self::Right];
}
