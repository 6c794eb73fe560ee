//! The camera's tone curve, found from the six neutral patches.
//!
//! Legend: `y` encoded value (sRGB), `s` strength of an S-shaped curve laid over
//! it, `o` light that the lens spreads over the whole picture, `g` gain.
//! A phone lays an S over the standard curve: y = x + s (3x^2 - 2x^3 - x).
//! A chart's neutrals settle `s`, and for each channel `o` and `g`.

use crate::profile::{Decoding, linear_to_srgb, srgb_to_linear};
use crate::solve::least_squares;

/// Below this strength the curve is taken for the standard one.
const LEAST_STRENGTH: f64 = 0.02;

/// The strongest S that keeps the curve rising.
const MOST_STRENGTH: f64 = 0.9;

/// The tone curve of one photo.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct ToneCurve {
    /// Strength of the S; 0 is the standard curve.
    pub strength: f64,
    /// Light the lens spreads over everything, in each channel.
    pub spread: [f64; 3],
    /// Root mean square of the relative errors of the neutral patches.
    pub grey_error: f64,
}

/// A neutral patch: light measured in each channel, light expected (reflectance
/// times the evenness of the light there), and whether it is not clipped.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Neutral {
    pub measured: [f64; 3],
    pub expected: [f64; 3],
    pub usable: bool,
}

impl ToneCurve {
    /// The standard curve.
    pub const STANDARD: Self = Self { strength: 0.0, spread: [0.0; 3], grey_error: 0.0 };

    /// Light before the S was laid over it.
    pub fn undo(&self, light: f64) -> f64 {
        if self.strength == 0.0 {
            return light;
        }
        let y = linear_to_srgb(light.clamp(0.0, 1.0));
        srgb_to_linear(unbend(y, self.strength))
    }

    /// The light a patch or strand itself sent back, for each code of a channel.
    pub fn corrected(&self, decoding: &Decoding) -> Decoding {
        let mut result = *decoding;
        for (cells, spread) in result.iter_mut().zip(self.spread) {
            for cell in cells.iter_mut() {
                *cell = self.undo(*cell) - spread;
            }
        }
        result
    }

    /// The curve that makes the neutrals fit best.
    pub fn fit(neutrals: &[Neutral]) -> Self {
        let error = |strength: f64| Self { strength, ..Self::STANDARD }.error(neutrals).0;
        let (mut best, mut least) = (0.0, error(0.0));
        let steps = 44;
        for i in 0..=steps {
            let s = -0.4 + (MOST_STRENGTH + 0.4) * f64::from(i) / f64::from(steps);
            let e = error(s);
            if e < least {
                (best, least) = (s, e);
            }
        }
        let step = (MOST_STRENGTH + 0.4) / f64::from(steps);
        let (mut low, mut high) = (best - step, (best + step).min(MOST_STRENGTH));
        for _ in 0..30 {
            let (p, q) = (low + 0.382 * (high - low), low + 0.618 * (high - low));
            if error(p) < error(q) { high = q } else { low = p }
        }
        let found = (low + high) / 2.0;
        let strength = if found.abs() < LEAST_STRENGTH { 0.0 } else { found };
        let (square, spread) = Self { strength, ..Self::STANDARD }.error(neutrals);
        Self { strength, spread, grey_error: square.sqrt() }
    }

    /// Mean square relative error of the neutrals, gain and spread light fitted
    /// for each channel, and the spread light.
    fn error(&self, neutrals: &[Neutral]) -> (f64, [f64; 3]) {
        let mut spreads = [0.0; 3];
        let mut sum = 0.0;
        let mut count = 0.0;
        for c in 0..3 {
            let used = || neutrals.iter().filter(|n| n.usable);
            let rows: Vec<[f64; 2]> = used().map(|n| [n.expected[c], 1.0]).collect();
            let light: Vec<f64> = used().map(|n| self.undo(n.measured[c])).collect();
            let weights: Vec<f64> = light.iter().map(|l| 1.0 / ((l + 0.004) * (l + 0.004))).collect();
            let Some([gain, spread]) = least_squares(&rows, &light, &weights) else { return (f64::INFINITY, spreads) };
            spreads[c] = spread;
            for ((row, l), w) in rows.iter().zip(&light).zip(&weights) {
                let off = l - gain * row[0] - spread;
                sum += w * off * off;
                count += 1.0;
            }
        }
        (if count > 0.0 { sum / count } else { f64::INFINITY }, spreads)
    }
}

/// The `x` with x + s (3x^2 - 2x^3 - x) = y, by halving: the curve rises.
fn unbend(y: f64, s: f64) -> f64 {
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..40 {
        let x = (low + high) / 2.0;
        if x + s * (3.0 * x * x - 2.0 * x * x * x - x) < y { low = x } else { high = x }
    }
    (low + high) / 2.0
}

#[cfg(test)]
mod tests {
    use super::*;

    fn greys(strength: f64, spread: f64) -> Vec<Neutral> {
        [0.9, 0.59, 0.36, 0.2, 0.09, 0.03]
            .map(|r| {
                let light: f64 = 0.8 * r + spread;
                let x = linear_to_srgb(light);
                let y = x + strength * (3.0 * x * x - 2.0 * x * x * x - x);
                Neutral { measured: [srgb_to_linear(y); 3], expected: [r; 3], usable: true }
            })
            .to_vec()
    }

    #[test]
    fn a_known_curve_is_found_and_undone() {
        for (strength, spread) in [(0.0, 0.0), (0.3, 0.01), (0.45, 0.003)] {
            let list = greys(strength, spread);
            let curve = ToneCurve::fit(&list);
            assert!((curve.strength - strength).abs() < 5e-3, "{curve:?} {strength}");
            assert!((curve.undo(list[2].measured[0]) - (0.8 * 0.36 + spread)).abs() < 2e-3);
        }
    }
}
