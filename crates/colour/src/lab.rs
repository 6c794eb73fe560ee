//! Colour as lightness, red against green, yellow against blue.

use measure::Angle;
use measure::real::{atan2, hypot};
use serde::{Deserialize, Serialize};

/// A colour as L*, a*, b*.
///
/// *Meaning*: L* 0 black to 100 white; the white it was reckoned under is named
/// by the field or argument that holds it. Written as `[L, a, b]`.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(from = "[f64; 3]", into = "[f64; 3]")]
pub struct Lab {
    /// Lightness, 0 to 100.
    pub l: f64,
    /// Green (negative) to red (positive).
    pub a: f64,
    /// Blue (negative) to yellow (positive).
    pub b: f64,
}

impl Lab {
    /// A colour from its three coordinates.
    #[must_use]
    pub const fn new(l: f64, a: f64, b: f64) -> Self {
        Self { l, a, b }
    }

    /// How far from grey.
    #[must_use]
    pub fn chroma(self) -> f64 {
        hypot(self.a, self.b)
    }

    /// Hue angle, 0 to 360 degrees, 0 at red.
    #[must_use]
    pub fn hue(self) -> Angle {
        let degrees = Angle::rad(atan2(self.b, self.a)).to_deg();
        Angle::deg(if degrees < 0.0 { degrees + 360.0 } else { degrees })
    }

    /// Whether it lies within what is taken for the colour of a thing: lightness 0 to
    /// 100, the others within 128 of zero; never where one is no ordinary number.
    ///
    /// *Source*: the range that eight bits hold in a profile's L*a*b*, ICC.1:2022; key `icc1`.
    ///
    /// ```
    /// use colour::Lab;
    /// assert!(Lab::new(35.0, 8.0, 18.0).is_in_range());
    /// assert!(!Lab::new(35.0, 8.0, 128.1).is_in_range());
    /// assert!(!Lab::new(f64::NAN, 8.0, 18.0).is_in_range());
    /// ```
    #[must_use]
    pub fn is_in_range(self) -> bool {
        (0.0..=100.0).contains(&self.l) && self.a.abs() <= 128.0 && self.b.abs() <= 128.0
    }

    /// Whether all three are ordinary numbers.
    #[must_use]
    pub fn is_finite(self) -> bool {
        self.l.is_finite() && self.a.is_finite() && self.b.is_finite()
    }
}

impl From<[f64; 3]> for Lab {
    fn from([l, a, b]: [f64; 3]) -> Self {
        Self { l, a, b }
    }
}

impl From<Lab> for [f64; 3] {
    fn from(c: Lab) -> Self {
        [c.l, c.a, c.b]
    }
}
