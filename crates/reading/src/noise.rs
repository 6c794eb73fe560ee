//! How noisy the camera is, and what its noise has done to the mean of light.
//!
//! Legend: `m` mean light seen, `s` spread of the noise in one pixel, `z` true
//! light in spreads.
//!
//! Where noise is as wide as the light itself, part of the pixels would lie below
//! nothing. The camera writes nothing instead, and the mean comes out too bright:
//! m = s (z F(z) + f(z)), with the normal density f and the share F below z. A JPEG
//! does more: it evens out neighbouring codes, not their light, after noise has
//! been bent by the tone curve. What it keeps is the mean of the codes.
//!
//! The even patches of the chart tell how wide the noise is. Its variance grows
//! with the light that the sensor gathers, so with the picture's three channels.
//!
//! *Source*: the mean of a normal distribution cut off at nothing, as in Tobin 1958; key `tobin1958`.

use crate::light::{Decoding, light_between};
use crate::patch::Patch;
use measure::linear::least_squares;
use measure::real::powi;
use measure::statistics::{normal_below, normal_density};

/// With a larger share of its pixels at nothing a patch does not tell the noise.
const CUT: f64 = 0.005;

/// How much more the mean of many pixels varies than if none shared its neighbour's
/// noise, in variance: each pixel holds one colour of its own, the others are
/// filled in from beside it. Our choice; a JPEG has lost what it could be measured by.
pub(crate) const SHARED: f64 = 1.65;

/// Steps of the search for the light behind a mean.
const STEPS: usize = 6;

/// True light as far below nothing as this, in spreads, cannot be told from less.
const LOWEST: f64 = -1.5;

/// Within so many spreads of the top of the scale nothing is undone.
const TOP: f64 = 2.0;

/// The noise of one photo.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Noise {
    /// Variance in a pixel of each channel, for light in each of the three.
    shares: [[f64; 3]; 3],
    /// Light of code 0.
    floor: [f64; 3],
    /// How much more means vary than if pixels erred alone, in variance.
    together: [f64; 3],
    /// Whether codes were evened out after they were bent.
    smoothed: bool,
}

/// What is seen of a place: means over its pixels.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Means {
    pub light: [f64; 3],
    pub code: [f64; 3],
}

impl Means {
    /// Adds others, so much of them.
    pub fn add(&mut self, other: &Self, share: f64) {
        for c in 0..3 {
            self.light[c] += share * other.light[c];
            self.code[c] += share * other.code[c];
        }
    }
}

impl Noise {
    /// Finds it from the patches of a chart.
    pub fn fit(patches: &[Patch; 24], decoding: &Decoding, smoothed: bool) -> Self {
        let floor = [0, 1, 2].map(|c| decoding[c][0]);
        let mut found = Self { shares: [[0.0; 3]; 3], floor, together: [SHARED; 3], smoothed };
        for c in 0..3 {
            let (mut rows, mut wanted, mut weights) = (Vec::new(), Vec::new(), Vec::new());
            let (mut one, mut many) = (0.0, 0.0);
            for patch in patches.iter().filter(|patch| patch.cut[c] < CUT && patch.clipped < CUT) {
                let light = patch.means(decoding).light;
                let pixel = variance(&patch.codes[c], &decoding[c]);
                let mean = patch.variance_of_means(c, decoding);
                let variance = if smoothed { mean / SHARED } else { pixel };
                rows.push([0, 1, 2].map(|k| (light[k] - floor[k]).max(0.0)));
                wanted.push(variance);
                weights.push(1.0 / powi((light[c] - floor[c]).max(1e-4), 2));
                one += pixel / (light[c] - floor[c]).max(1e-4);
                many += mean / (light[c] - floor[c]).max(1e-4);
            }
            found.shares[c] = not_negative(rows, &wanted, &weights);
            if !smoothed && one > 0.0 {
                found.together[c] = (many / one).max(1.0);
            }
        }
        found
    }

    /// Noise whose variance in each channel grows with that channel's light alone.
    #[cfg(test)]
    pub fn of_channels(shares: [f64; 3]) -> Self {
        let shares = std::array::from_fn(|c| std::array::from_fn(|k| if k == c { shares[c] } else { 0.0 }));
        Self { shares, floor: [0.0; 3], together: [1.0; 3], smoothed: false }
    }

    /// Spread of a channel's noise in one pixel of this light.
    fn spread(&self, channel: usize, light: [f64; 3]) -> f64 {
        (0..3).map(|k| self.shares[channel][k] * (light[k] - self.floor[k]).max(0.0)).sum::<f64>().sqrt()
    }

    /// Spread of the mean of so many pixels of this light.
    pub fn of_mean(&self, light: [f64; 3], pixels: f64) -> [f64; 3] {
        [0, 1, 2].map(|c| self.spread(c, light) * (self.together[c] / pixels.max(1.0)).sqrt())
    }

    /// The light of a place, from what is seen of it.
    pub fn light(&self, seen: &Means, decoding: &Decoding) -> [f64; 3] {
        let mut light = seen.light;
        for _ in 0..STEPS {
            light = [0, 1, 2].map(|c| self.unbent(c, seen, self.spread(c, light), decoding));
        }
        light
    }

    /// The light of each of many places that lie together and see, in the mean, `all`.
    pub fn lights<'a>(&'a self, all: &Means, decoding: &'a Decoding) -> impl Fn(&Means) -> [f64; 3] + 'a {
        let mean = self.light(all, decoding);
        let tables = [0, 1, 2].map(|c| self.smoothed.then(|| Bent::new(&decoding[c], mean[c], self.spread(c, mean))));
        let more = [0, 1, 2].map(|c| mean[c] - all.light[c]);
        move |seen| {
            [0, 1, 2].map(|c| match &tables[c] {
                Some(table) => light_between(&decoding[c], seen.code[c]) + table.more(seen.code[c]),
                None => seen.light[c] + more[c],
            })
        }
    }

    fn unbent(&self, c: usize, seen: &Means, spread: f64, decoding: &Decoding) -> f64 {
        if self.smoothed {
            light_of_code(&decoding[c], seen.code[c], spread)
        } else {
            self.floor[c] + uncut(seen.light[c] - self.floor[c], spread)
        }
    }
}

/// The coefficients that bring rows nearest to what is wanted, none below 0: what
/// would be is left out.
fn not_negative(mut rows: Vec<[f64; 3]>, wanted: &[f64], weights: &[f64]) -> [f64; 3] {
    let mut out = [false; 3];
    for _ in 0..3 {
        let mut found = [0.0; 3];
        let kept: Vec<usize> = (0..3).filter(|k| !out[*k]).collect();
        let solved = match kept[..] {
            [i, j, k] => least_squares(&pick(&rows, [i, j, k]), wanted, weights).map(Vec::from),
            [i, j] => least_squares(&pick(&rows, [i, j]), wanted, weights).map(Vec::from),
            [i] => least_squares(&pick(&rows, [i]), wanted, weights).map(Vec::from),
            _ => None,
        };
        let Some(solved) = solved else { return found };
        for (k, value) in kept.iter().zip(&solved) {
            found[*k] = *value;
        }
        let Some(least) = kept.into_iter().min_by(|p, q| found[*p].total_cmp(&found[*q])) else { return found };
        if found[least] >= 0.0 {
            return found;
        }
        out[least] = true;
        rows.iter_mut().for_each(|row| row[least] = 0.0);
    }
    [0.0; 3]
}

fn pick<const N: usize>(rows: &[[f64; 3]], which: [usize; N]) -> Vec<[f64; N]> {
    rows.iter().map(|row| which.map(|k| row[k])).collect()
}

/// Variance of light by codes' shares.
pub(crate) fn variance(shares: &[f64; 256], decoding: &[f64; 256]) -> f64 {
    let sum = |f: &dyn Fn(f64) -> f64| shares.iter().zip(decoding).map(|(share, light)| share * f(*light)).sum::<f64>();
    let mean = sum(&|light| light);
    sum(&|light| (light - mean) * (light - mean))
}

/// The mean of a normal distribution, from its spread and the mean of what is above nothing.
fn uncut(mean: f64, spread: f64) -> f64 {
    if mean > 4.0 * spread {
        return mean;
    }
    spread * rising(|z| z * normal_below(z) + normal_density(z), mean / spread)
}

/// The mean of a normal distribution, from the mean of what is above nothing and the share that is not.
pub(crate) fn uncut_by_share(mean: f64, cut: f64) -> f64 {
    if cut < CUT {
        return mean;
    }
    let z = rising(normal_below, 1.0 - cut);
    mean * z / (z * normal_below(z) + normal_density(z))
}

/// Where a rising function of light in spreads takes a value.
fn rising(function: impl Fn(f64) -> f64, value: f64) -> f64 {
    rising_between(function, value, (LOWEST, 4.0))
}

fn rising_between(function: impl Fn(f64) -> f64, value: f64, (mut low, mut high): (f64, f64)) -> f64 {
    for _ in 0..30 {
        let middle = (low + high) / 2.0;
        if function(middle) < value { low = middle } else { high = middle }
    }
    (low + high) / 2.0
}

/// The first code that may stand for more light than the scale holds.
const TOP_CODE: usize = 254;

/// A channel with a smaller share of its pixels at the top than this is as it seems; with a
/// larger one than that too little is left below to tell what lies above. Our choice.
pub(crate) const CUT_AT_TOP: f64 = 0.02;
pub(crate) const STILL_TOLD: f64 = 0.9;

/// The mean of codes by their shares, those that are cut off at the top of the scale as far
/// above it as the normal distribution reaches whose lower part is seen: nothing where none are cut off, or
/// too many.
///
/// *Meaning*: the distribution is laid through the lower half of what is not cut off, as the upper
/// half may be bent by the camera.
pub(crate) fn mean_beyond_top(shares: &[f64; 256]) -> Option<f64> {
    let all: f64 = shares.iter().sum();
    let cut = shares[TOP_CODE..].iter().sum::<f64>() / all;
    if !(CUT_AT_TOP..=STILL_TOLD).contains(&cut) {
        return None;
    }
    let top = TOP_CODE as f64 - 0.5;
    let half = (1.0 - cut) / 2.0;
    let mut before = 0.0;
    let code = (0..TOP_CODE).find(|code| {
        before += shares[*code] / all;
        before >= half
    })?;
    let low = code as f64 + 0.5 - (before - half) / (shares[code] / all);
    let (z_low, z_top) = (rising_between(normal_below, half, (-4.0, 4.0)), rising_between(normal_below, 1.0 - cut, (-4.0, 4.0)));
    let spread = (top - low) / (z_top - z_low);
    Some(top - z_top * spread)
}

/// A normal distribution of mean 0 and spread 1 in as many equal shares.
const NORMAL: [f64; 11] = [-1.7917, -1.1624, -0.7926, -0.5011, -0.2436, 0.0, 0.2436, 0.5011, 0.7926, 1.1624, 1.7917];

/// The mean code of noisy light.
fn mean_code(decoding: &[f64; 256], light: f64, spread: f64) -> f64 {
    NORMAL.iter().map(|off| code_of(decoding, light + spread * off)).sum::<f64>() / NORMAL.len() as f64
}

/// The code, with parts, that shows a light.
fn code_of(decoding: &[f64; 256], light: f64) -> f64 {
    let above = decoding.partition_point(|l| *l < light);
    if above == 0 || above == 256 {
        return if above == 0 { 0.0 } else { 255.0 };
    }
    let (low, high) = (decoding[above - 1], decoding[above]);
    (above - 1) as f64 + (light - low) / (high - low)
}

/// The light whose noisy codes have this mean.
pub(crate) fn light_of_code(decoding: &[f64; 256], code: f64, spread: f64) -> f64 {
    let seen = light_between(decoding, code);
    let mut light = seen;
    // Near the top noise is cut off as well, and little is left to bend.
    if spread > 0.0 && seen + TOP * spread < decoding[255] {
        for _ in 0..STEPS {
            light = (light + seen - light_between(decoding, mean_code(decoding, light, spread))).max(decoding[0] + LOWEST * spread);
        }
    }
    light
}

/// How much brighter than its mean code says a place is, for many places of like noise.
struct Bent {
    codes: [f64; Self::COUNT],
    more: [f64; Self::COUNT],
}

impl Bent {
    const COUNT: usize = 25;

    /// For places about a mean light: up to three times as bright.
    fn new(decoding: &[f64; 256], mean: f64, spread: f64) -> Self {
        let low = decoding[0] + LOWEST * spread;
        let high = (decoding[0] + (3.0 * (mean - decoding[0])).max(4.0 * spread)).min(decoding[255] - TOP * spread);
        let step = (high - low).max(0.0) / (Self::COUNT - 1) as f64;
        let lights: [f64; Self::COUNT] = std::array::from_fn(|i| low + step * i as f64);
        let codes = lights.map(|light| mean_code(decoding, light, spread));
        Self { codes, more: std::array::from_fn(|i| lights[i] - light_between(decoding, codes[i])) }
    }

    fn more(&self, code: f64) -> f64 {
        let above = self.codes.partition_point(|c| *c < code).clamp(1, Self::COUNT - 1);
        let (low, high) = (self.codes[above - 1], self.codes[above]);
        // Beyond the table's ends as at them.
        let part = if high > low { ((code - low) / (high - low)).clamp(0.0, 1.0) } else { 0.0 };
        self.more[above - 1] + part * (self.more[above] - self.more[above - 1])
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::light::srgb_to_linear;
    use std::f64::consts::PI;

    fn screen() -> [f64; 256] {
        std::array::from_fn(|i| srgb_to_linear(i as f64 / 255.0))
    }

    /// Many draws of a normal distribution, the same every time.
    fn draws(count: usize) -> Vec<f64> {
        let mut state = 11_u64;
        let mut unit = || {
            state = state.wrapping_mul(0x5851_f42d_4c95_7f2d).wrapping_add(0x1405_7b7e_f767_814f);
            ((state >> 11) as f64 + 0.5) / (1_u64 << 53) as f64
        };
        (0..count).map(|_| (-2.0 * unit().ln()).sqrt() * (2.0 * PI * unit()).cos()).collect()
    }

    #[test]
    fn light_cut_off_at_nothing_is_found_again_even_from_below_it() {
        let draws = draws(200_000);
        for light in [-0.5, 0.0, 0.4, 1.0, 2.5] {
            let seen = draws.iter().map(|off| (light + off).max(0.0)).sum::<f64>() / draws.len() as f64;
            let cut = draws.iter().filter(|off| light + **off <= 0.0).count() as f64 / draws.len() as f64;
            assert!((uncut(seen, 1.0) - light).abs() < 0.015, "{light}: {}", uncut(seen, 1.0));
            assert!((uncut_by_share(seen, cut) - light).abs() < 0.015, "{light}: {}", uncut_by_share(seen, cut));
        }
        // Amounts that no normal distribution gives stay finite, and light without noise stays as it is.
        assert!(uncut(0.0, 1.0).is_finite() && uncut_by_share(0.0, 1.0).is_finite());
        assert_eq!(uncut(0.2, 0.0), 0.2);
    }

    #[test]
    fn codes_cut_off_at_the_top_are_found_again_from_those_below() {
        let draws = draws(200_000);
        for (mean, spread) in [(250.0, 2.5), (254.0, 3.0), (257.0, 4.0)] {
            let mut shares = [0.0; 256];
            draws.iter().for_each(|off| shares[(mean + spread * off).round().clamp(0.0, 255.0) as usize] += 1.0 / draws.len() as f64);
            let found = mean_beyond_top(&shares).unwrap();
            assert!((found - mean).abs() < 0.2 * spread, "{mean} {spread}: {found}");
        }
        let at = |code: usize| std::array::from_fn(|i| f64::from(u8::from(i == code)));
        assert!(mean_beyond_top(&at(250)).is_none() && mean_beyond_top(&at(255)).is_none());
    }

    #[test]
    fn noisy_light_is_found_again_from_its_mean_code() {
        let (decoding, draws) = (screen(), draws(100_000));
        for (light, spread) in [(0.003, 0.004), (0.02, 0.01), (0.3, 0.04), (0.02, 0.0), (0.99, 0.02)] {
            let code = draws.iter().map(|off| code_of(&decoding, light + spread * off)).sum::<f64>() / draws.len() as f64;
            let (plain, found) = (light_between(&decoding, code), light_of_code(&decoding, code, spread));
            let off = (found / light - 1.0).abs();
            assert!(off < 0.03 && off <= (plain / light - 1.0).abs() + 1e-9, "{light} {spread}: {found}, without {plain}");
            let table = Bent::new(&decoding, light, spread);
            assert!((plain + table.more(code) - found).abs() < 0.03 * light, "{light}: {}", plain + table.more(code));
        }
    }

    #[test]
    fn shares_that_would_be_less_than_nothing_are_left_out() {
        let rows: Vec<[f64; 3]> = (1..20).map(|i| [f64::from(i), f64::from(i * i % 7), f64::from(i % 5)]).collect();
        let wanted: Vec<f64> = rows.iter().map(|row| 2.0 * row[0] - 0.5 * row[1] + row[2]).collect();
        let found = not_negative(rows.clone(), &wanted, &[1.0; 19]);
        assert!(found[1] == 0.0 && (found[0] - 1.9).abs() < 0.3 && found[2] > 0.0, "{found:?}");
        let exact: Vec<f64> = rows.iter().map(|row| 2.0 * row[0] + row[2]).collect();
        let found = not_negative(rows, &exact, &[1.0; 19]);
        assert!((found[0] - 2.0).abs() < 1e-9 && found[1].abs() < 1e-9 && (found[2] - 1.0).abs() < 1e-9, "{found:?}");
    }
}
