//! Amounts of the three CIE primaries: the only place where colours may be averaged.

use crate::lab::Lab;
use measure::real::cbrt;
use serde::{Deserialize, Serialize};
use std::ops::{Add, Mul, Sub};

/// A colour as the eye's three sums over the light it sends back.
///
/// *Meaning*: X, Y, Z with Y = 1 for a perfect white. Written as `[X, Y, Z]`.
/// Light adds, so mixtures are averages here and nowhere else.
///
/// ```
/// use colour::{D65, Xyz};
/// let grey = (D65 * 0.5).to_lab(D65);
/// assert!((grey.l - 76.07).abs() < 0.01 && grey.chroma() < 1e-9);
/// assert!((Xyz::new(0.2, 0.2, 0.2) + D65).is_finite());
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(from = "[f64; 3]", into = "[f64; 3]")]
pub struct Xyz {
    /// X, much like red.
    pub x: f64,
    /// Y, the luminance.
    pub y: f64,
    /// Z, much like blue.
    pub z: f64,
}

impl Xyz {
    /// A colour from its three amounts.
    #[must_use]
    pub const fn new(x: f64, y: f64, z: f64) -> Self {
        Self { x, y, z }
    }

    /// The same colour in L*, a*, b* under a white.
    ///
    /// *Source*: CIE 15, section 8.2.1; key `cie015`.
    #[must_use]
    pub fn to_lab(self, white: Self) -> Lab {
        let f = [ratio_to_f(self.x / white.x), ratio_to_f(self.y / white.y), ratio_to_f(self.z / white.z)];
        Lab { l: 116.0 * f[1] - 16.0, a: 500.0 * (f[0] - f[1]), b: 200.0 * (f[1] - f[2]) }
    }

    /// Whether all three are ordinary numbers.
    #[must_use]
    pub fn is_finite(self) -> bool {
        self.x.is_finite() && self.y.is_finite() && self.z.is_finite()
    }
}

impl Lab {
    /// The same colour as amounts of the CIE primaries, under a white.
    ///
    /// *Source*: CIE 15, section 8.2.1, inverted; key `cie015`.
    #[must_use]
    pub fn to_xyz(self, white: Xyz) -> Xyz {
        let fy = (self.l + 16.0) / 116.0;
        Xyz::new(white.x * f_to_ratio(fy + self.a / 500.0), white.y * f_to_ratio(fy), white.z * f_to_ratio(fy - self.b / 200.0))
    }
}

/// (6/29)^3: below it the cube root gives way to a straight line.
const BEND: f64 = 216.0 / 24389.0;

/// The slope of that line, (29/6)^2 / 3.
const SLOPE: f64 = 841.0 / 108.0;

/// The lightness response to a ratio of light.
///
/// *Source*: key `cie015`, its `f`.
///
/// ```
/// assert!((colour::xyz::ratio_to_f(0.125) - 0.5).abs() < 1e-15);
/// ```
#[must_use]
pub fn ratio_to_f(ratio: f64) -> f64 {
    if ratio > BEND { cbrt(ratio) } else { SLOPE * ratio + 4.0 / 29.0 }
}

/// The ratio of light that gives a lightness response: the inverse of [`ratio_to_f`].
///
/// ```
/// assert_eq!(colour::xyz::f_to_ratio(0.5), 0.125);
/// ```
#[must_use]
pub fn f_to_ratio(f: f64) -> f64 {
    if f > 6.0 / 29.0 { f * f * f } else { (f - 4.0 / 29.0) / SLOPE }
}

impl From<[f64; 3]> for Xyz {
    fn from([x, y, z]: [f64; 3]) -> Self {
        Self { x, y, z }
    }
}

impl From<Xyz> for [f64; 3] {
    fn from(c: Xyz) -> Self {
        [c.x, c.y, c.z]
    }
}

impl Add for Xyz {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self::new(self.x + other.x, self.y + other.y, self.z + other.z)
    }
}

impl Sub for Xyz {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self::new(self.x - other.x, self.y - other.y, self.z - other.z)
    }
}

impl Mul<f64> for Xyz {
    type Output = Self;
    fn mul(self, factor: f64) -> Self {
        Self::new(self.x * factor, self.y * factor, self.z * factor)
    }
}
