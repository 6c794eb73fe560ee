//! White points, and carrying a colour from one white to another.

use crate::xyz::Xyz;
use measure::linear::{Matrix3, apply, inverse};

/// The white of light D50 for the 2 degree observer, by 5 nm sums.
///
/// *Source*: `tables::spectral`; key `cie015`.
pub const D50: Xyz = Xyz::new(0.964_197, 1.0, 0.825_123);

/// The white of light D65 for the 2 degree observer, by 5 nm sums.
///
/// *Source*: `tables::spectral`; key `cie015`.
pub const D65: Xyz = Xyz::new(0.950_43, 1.0, 1.088_801);

/// The white of light D50 for the 10 degree observer.
///
/// *Source*: CIE 15, table of white points, from memory; the tests recompute it
/// from the spectra. Key `cie015`.
pub const D50_TEN: Xyz = Xyz::new(0.9672, 1.0, 0.8143);

/// The white of light D65 for the 10 degree observer.
///
/// *Source*: as [`D50_TEN`].
pub const D65_TEN: Xyz = Xyz::new(0.9481, 1.0, 1.0732);

/// The Bradford cone responses.
///
/// *Source*: ICC.1:2022, annex E; key `icc1`.
const BRADFORD: Matrix3 = [[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]];

/// The colour that looks under white `to` as `colour` looks under white `from`,
/// by the linear Bradford transform.
///
/// *Accuracy*: a transform of appearance, not of light: a sample whose spectrum
/// is known is better integrated under the other light.
///
/// *Source*: ICC.1:2022, annex E; key `icc1`.
///
/// ```
/// use colour::{D50, D65, adapt_bradford};
/// let white = adapt_bradford(D50, D50, D65);
/// assert!((white.x - D65.x).abs() < 1e-12 && (white.z - D65.z).abs() < 1e-12);
/// ```
#[must_use]
pub fn adapt_bradford(colour: Xyz, from: Xyz, to: Xyz) -> Xyz {
    if from == to {
        return colour;
    }
    let here = apply(&BRADFORD, colour.into());
    let source = apply(&BRADFORD, from.into());
    let target = apply(&BRADFORD, to.into());
    let scaled = [0, 1, 2].map(|i| here[i] * target[i] / source[i]);
    match inverse(&BRADFORD) {
        Some(back) => apply(&back, scaled).into(),
        None => colour,
    }
}
