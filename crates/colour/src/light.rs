//! The lights a colour is looked at under.

use crate::tables::spectral::{LIGHTS, STEPS};
use crate::xyz::Xyz;

/// A light with a published spectrum.
///
/// ```
/// use colour::{D65, Light};
/// let daylight = Light::named("D65").unwrap();
/// assert!((daylight.white().x - D65.x).abs() < 1e-5);
/// assert_eq!(Light::named("candle"), None);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Light(usize);

impl Light {
    /// Incandescent bulb, the warmest of the usual lights.
    pub const A: Self = Self(0);
    /// Warm daylight, as print and profiles use.
    pub const D50: Self = Self(1);
    /// Average daylight.
    pub const D65: Self = Self(3);
    /// A shop's three-band tube.
    pub const SHOP_TUBE: Self = Self(8);
    /// A warm white LED.
    pub const WARM_LED: Self = Self(9);

    /// The light of this published name (`A`, `D65`, `FL11`, `LED-B1`, …).
    #[must_use]
    pub fn named(name: &str) -> Option<Self> {
        LIGHTS.iter().position(|(own, ..)| *own == name).map(Self)
    }

    /// Every light of the table.
    pub fn all() -> impl Iterator<Item = Self> {
        (0..LIGHTS.len()).map(Self)
    }

    /// The published name.
    #[must_use]
    pub fn name(self) -> &'static str {
        LIGHTS[self.0].0
    }

    /// The white point for the 2 degree observer.
    #[must_use]
    pub fn white(self) -> Xyz {
        LIGHTS[self.0].1.into()
    }

    /// Relative power, 380 to 780 nm by 5 nm.
    #[must_use]
    pub fn power(self) -> &'static [f64; STEPS] {
        &LIGHTS[self.0].2
    }
}
