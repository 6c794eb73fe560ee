//! The camera's tone curve, found from the six neutral patches.
//!
//! Legend: `y` encoded value (sRGB), `s` strength of an S-shaped curve laid over
//! it, `o` light that the lens spreads over the whole picture, `g` gain.
//! A phone lays an S over the standard curve: y = x + s (3x^2 - 2x^3 - x).
//! A chart's neutrals settle `s`, and for each channel `o` and `g`.

use crate::light::{Decoding, light_between, linear_to_srgb, mean_of, slope_at, srgb_to_linear};
use crate::noise::{light_of_code, uncut_by_share, variance};
use measure::linear::least_squares;
use measure::real::powi;

/// How firmly the spread light is held to the picture's own mean colour, for it is
/// that picture out of focus. Greys are off by about one in a hundred; shares of
/// the picture that a channel spreads differ by less than a third of that.
const VEIL_COLOUR: f64 = 3.0;

/// How true greys are printed, relative: noise that hides less than this counts little.
const PRINTED: f64 = 0.01;

/// Light that does not matter, beside a grey's own.
const DARK: f64 = 0.004;

/// Greys, from the brightest, that tell the noise.
const BRIGHT: usize = 4;

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

/// A neutral patch: how often each code stands in it, light expected (reflectance
/// times the evenness of the light there), and whether it is not clipped.
#[derive(Debug, Clone)]
pub(crate) struct Neutral {
    /// Shares of the 256 codes of each channel: noise is bent by the curve like
    /// all else, so the curve must be undone before the mean is taken.
    pub codes: Box<[[f64; 256]; 3]>,
    /// Variance of a pixel's code in each channel before neighbours were evened out,
    /// where they were.
    pub smoothed: Option<[f64; 3]>,
    /// Share of its pixels that noise may have cut off at nothing, in each channel.
    pub cut: [f64; 3],
    /// Pixels in it that erred alone.
    pub pixels: f64,
    pub expected: [f64; 3],
    pub usable: bool,
}

/// Mean light of codes' shares by a decoding.
fn mean(shares: &[f64; 256], decoding: &[f64; 256]) -> f64 {
    shares.iter().zip(decoding).map(|(share, light)| share * light).sum()
}

impl Neutral {
    /// Mean light of a channel by a decoding, as it was before noise was cut off at
    /// nothing and bent by the curve. `noise`: variance of a pixel for light of 1.
    fn light(&self, decoding: &[f64; 256], channel: usize, noise: f64) -> f64 {
        let codes = &self.codes[channel];
        let (seen, nothing) = (mean(codes, decoding), decoding[0]);
        if self.smoothed.is_none() {
            return nothing + uncut_by_share(seen - nothing, self.cut[channel]);
        }
        light_of_code(decoding, mean_of(codes), (noise * (seen - nothing).max(0.0)).sqrt())
    }

    /// Variance of a channel's mean light by a decoding.
    fn variance(&self, decoding: &[f64; 256], channel: usize, light: f64, noise: f64) -> f64 {
        let one = if self.smoothed.is_some() { noise * light.max(0.0) } else { variance(&self.codes[channel], decoding) };
        one / self.pixels
    }

    /// Variance of a pixel for light of 1 by a decoding, where it is known.
    fn noise(&self, decoding: &[f64; 256], channel: usize) -> Option<f64> {
        let variance = self.smoothed?[channel];
        let code = mean_of(&self.codes[channel]);
        let slope = slope_at(decoding, code);
        Some(variance * slope * slope / (light_between(decoding, code) - decoding[0]).max(1e-4))
    }
}

impl ToneCurve {
    /// The standard curve.
    pub const STANDARD: Self = Self { strength: 0.0, spread: [0.0; 3], grey_error: 0.0 };

    /// The light a patch or strand itself sent back, for each code of a channel.
    pub fn corrected(&self, decoding: &Decoding) -> Decoding {
        let first = self.undone(&decoding[0]);
        [0, 1, 2].map(|c| {
            // Most photos decode their channels alike.
            let undone = if decoding[c] == decoding[0] { first } else { self.undone(&decoding[c]) };
            undone.map(|light| light - self.spread[c])
        })
    }

    /// Light before the S was laid over it.
    fn undone(&self, lights: &[f64; 256]) -> [f64; 256] {
        if self.strength == 0.0 {
            return *lights;
        }
        lights.map(|light| srgb_to_linear(unbend(linear_to_srgb(light.clamp(0.0, 1.0)), self.strength)))
    }

    /// The curve that makes the neutrals fit best.
    pub fn fit(neutrals: &[Neutral], decoding: &Decoding, picture: &[[f64; 256]; 3]) -> Self {
        let error = |strength: f64| Self { strength, ..Self::STANDARD }.error(neutrals, decoding, picture).cost;
        let (mut best, mut least) = (0.0, error(0.0));
        let steps = 26;
        for i in 0..=steps {
            let s = -0.4 + (MOST_STRENGTH + 0.4) * f64::from(i) / f64::from(steps);
            let e = error(s);
            if e < least {
                (best, least) = (s, e);
            }
        }
        let step = (MOST_STRENGTH + 0.4) / f64::from(steps);
        let (mut low, mut high) = (best - step, (best + step).min(MOST_STRENGTH));
        for _ in 0..12 {
            let (p, q) = (low + 0.382 * (high - low), low + 0.618 * (high - low));
            if error(p) < error(q) { high = q } else { low = p }
        }
        let found = (low + high) / 2.0;
        let strength = if found.abs() < LEAST_STRENGTH { 0.0 } else { found };
        let GreysFit { spread, relative, .. } = Self { strength, ..Self::STANDARD }.error(neutrals, decoding, picture);
        Self { strength, spread, grey_error: relative }
    }

    /// How well the neutrals fit, gain and spread light being found for each channel.
    fn error(&self, neutrals: &[Neutral], decoding: &Decoding, picture: &[[f64; 256]; 3]) -> GreysFit {
        let undone = self.corrected(decoding);
        let used: Vec<&Neutral> = neutrals.iter().filter(|n| n.usable).collect();
        // Gains and spread lights of the three channels, found together.
        let (mut rows, mut lights, mut weights) = (Vec::new(), Vec::new(), Vec::new());
        // Noise grows with light along the greys; the dark ones show it bent.
        let noise = [0, 1, 2].map(|c| {
            let bright = || used.iter().take(BRIGHT).filter_map(|neutral| neutral.noise(&undone[c], c));
            bright().sum::<f64>() / bright().count().max(1) as f64
        });
        for neutral in &used {
            for c in 0..3 {
                let mut row = [0.0; 6];
                (row[c], row[3 + c]) = (neutral.expected[c], 1.0);
                let light = neutral.light(&undone[c], c, noise[c]);
                rows.push(row);
                lights.push(light);
                let unsure = neutral.variance(&undone[c], c, light, noise[c]) / (PRINTED * PRINTED);
                weights.push(1.0 / ((light + DARK) * (light + DARK) + unsure));
            }
        }
        let count = lights.len();
        if count == 0 {
            return GreysFit::NONE;
        }
        let all = [0, 1, 2].map(|c| mean(&picture[c], &undone[c]).max(1e-4));
        for (c, d) in [(0, 1), (1, 2), (2, 0)] {
            let mut row = [0.0; 6];
            (row[3 + c], row[3 + d]) = (1.0 / all[c], -1.0 / all[d]);
            rows.push(row);
            lights.push(0.0);
            weights.push(VEIL_COLOUR * VEIL_COLOUR);
        }
        let Some(found) = least_squares(&rows, &lights, &weights) else { return GreysFit::NONE };
        let off = |i: usize| lights[i] - rows[i].iter().zip(&found).map(|(p, q)| p * q).sum::<f64>();
        let mean = |value: &dyn Fn(usize) -> f64| (0..count).map(value).sum::<f64>() / count as f64;
        GreysFit {
            cost: mean(&|i| weights[i] * off(i) * off(i)),
            relative: mean(&|i| powi(off(i) / (lights[i] + DARK), 2)).sqrt(),
            spread: [found[3], found[4], found[5]],
        }
    }
}

/// How well a curve fits the greys.
struct GreysFit {
    /// Mean square error, in what greys are off by as printed and by noise.
    cost: f64,
    /// Root mean square of the relative errors.
    relative: f64,
    /// Light the lens spreads.
    spread: [f64; 3],
}

impl GreysFit {
    const NONE: Self = Self { cost: f64::INFINITY, relative: f64::INFINITY, spread: [0.0; 3] };
}

/// The `x` with x + s (3x^2 - 2x^3 - x) = y, by Newton's steps kept between the
/// ends: the curve rises.
fn unbend(y: f64, s: f64) -> f64 {
    let (mut low, mut high, mut x) = (0.0, 1.0, y);
    for _ in 0..20 {
        let off = x + s * x * (3.0 * x - 2.0 * x * x - 1.0) - y;
        if off.abs() < 1e-9 {
            break;
        }
        if off < 0.0 {
            low = x
        } else {
            high = x
        }
        let next = x - off / (1.0 + s * (6.0 * x - 6.0 * x * x - 1.0));
        x = if next > low && next < high { next } else { (low + high) / 2.0 };
    }
    x
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Greys of 10,000 pixels each, their noise a normal distribution of this spread.
    fn greys(strength: f64, spread: f64, noise: f64) -> Vec<Neutral> {
        [0.9, 0.59, 0.36, 0.2, 0.09, 0.03]
            .map(|r| {
                let mut codes = [0.0; 256];
                for i in -400..=400 {
                    let off = f64::from(i) / 100.0;
                    let light: f64 = (0.8 * r + spread + noise * off).clamp(0.0, 1.0);
                    let x = linear_to_srgb(light);
                    let y = x + strength * (3.0 * x * x - 2.0 * x * x * x - x);
                    codes[(y * 255.0).round() as usize] += (-off * off / 2.0).exp();
                }
                let all: f64 = codes.iter().sum();
                Neutral {
                    codes: Box::new([codes.map(|n| n / all); 3]),
                    smoothed: None,
                    cut: [codes[0] / all; 3],
                    pixels: 1e4,
                    expected: [r; 3],
                    usable: true,
                }
            })
            .to_vec()
    }

    #[test]
    fn a_known_curve_is_found_and_undone_under_noise_too() {
        let decoding: Decoding = [std::array::from_fn(|i| srgb_to_linear(i as f64 / 255.0)); 3];
        for (strength, spread, noise) in [(0.0, 0.0, 0.002), (0.3, 0.01, 0.004), (0.45, 0.003, 0.006)] {
            let list = greys(strength, spread, noise);
            let curve = ToneCurve::fit(&list, &decoding, &[[1.0 / 256.0; 256]; 3]);
            assert!((curve.strength - strength).abs() < 5e-3, "{curve:?} {strength} {noise}");
            let middle = list[2].light(&curve.corrected(&decoding)[0], 0, 0.0);
            assert!((middle - 0.8 * 0.36).abs() < 2e-3, "{middle}");
        }
    }

    #[test]
    fn a_wrong_black_patch_does_not_colour_the_spread_light() {
        let decoding: Decoding = [std::array::from_fn(|i| srgb_to_linear(i as f64 / 255.0)); 3];
        let mut list = greys(0.0, 0.01, 0.002);
        // The black patch is one code bluer than it should be.
        let black = list[5].codes[2];
        list[5].codes[2] = std::array::from_fn(|code| if code == 0 { 0.0 } else { black[code - 1] });
        let grey = [[1.0 / 256.0; 256]; 3];
        let spread = ToneCurve::fit(&list, &decoding, &grey).spread;
        // Alone, the blue channel would be off by 0.0012.
        assert!((spread[2] - spread[1]).abs() < 1e-3, "{spread:?}");
        // A picture that is bluer all over spreads bluer light.
        let blue = [[1.0 / 256.0; 256], [1.0 / 256.0; 256], std::array::from_fn(|code| if code >= 128 { 1.0 / 128.0 } else { 0.0 })];
        let bluer = ToneCurve::fit(&list, &decoding, &blue).spread;
        assert!(bluer[2] > spread[2] + 2e-4, "{bluer:?} {spread:?}");
    }
}
