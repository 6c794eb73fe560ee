//! How a picture's codes stand for light.

use measure::real::pow;

/// Light for each of 256 codes of the three channels, 0 to 1.
pub type Decoding = [[f64; 256]; 3];

/// Light of a code with parts, or a little beyond the scale, along straight lines.
pub(crate) fn light_between(decoding: &[f64; 256], code: f64) -> f64 {
    let (i, part) = place_between(code);
    decoding[i] + part * (decoding[i + 1] - decoding[i])
}

/// How much light a code more is worth, about a code.
pub(crate) fn slope_at(decoding: &[f64; 256], code: f64) -> f64 {
    (light_between(decoding, code + 2.0) - light_between(decoding, code - 2.0)) / 4.0
}

/// The mean of codes by their shares.
pub(crate) fn mean_of(shares: &[f64; 256]) -> f64 {
    shares.iter().enumerate().map(|(code, share)| share * code as f64).sum()
}

/// The code below and how far from it towards the next one: beyond the ends
/// less than 0 or more than 1.
pub(crate) fn place_between(code: f64) -> (usize, f64) {
    let i = code.floor().clamp(0.0, 254.0);
    (i as usize, code - i)
}

/// The curve of sRGB.
///
/// *Source*: IEC 61966-2-1; key `iec61966`.
///
/// ```
/// assert!((reading::srgb_to_linear(0.5) - 0.2140).abs() < 5e-5);
/// ```
#[must_use]
pub fn srgb_to_linear(x: f64) -> f64 {
    if x <= 0.04045 { x / 12.92 } else { pow((x + 0.055) / 1.055, 2.4) }
}

/// The inverse of [`srgb_to_linear`].
///
/// ```
/// assert!((reading::linear_to_srgb(0.2140) - 0.5).abs() < 5e-5);
/// ```
#[must_use]
pub fn linear_to_srgb(x: f64) -> f64 {
    if x <= 0.003_130_8 { 12.92 * x } else { 1.055 * pow(x, 1.0 / 2.4) - 0.055 }
}
