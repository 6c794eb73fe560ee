//! The tones of the hair: which there are, and how much of each.
//!
//! Legend: `l` log of the light; `r`, `b` red's and blue's share of it; `k` tone.
//! Strands of one tone are shaded differently: that changes `l` and leaves `r`
//! and `b`. So each tone is a normal distribution in (l, r, b), all of one shape. (A JPEG keeps
//! one colour for several strands: in their shade `r` and `b` change too, along
//! with `l`, and in shadows between them as much more as these are deeper.) Between two
//! tones lie places that show some of both, and below each the shadows between
//! its strands. How many tones there are is settled by the likelihood of all
//! places, less a price for each further number (Bayesian information criterion).
//!
//! *Source*: Dempster, Laird and Rubin 1977; Schwarz 1978; keys `dempster1977`,
//! `schwarz1978`.

use crate::hair::mean;
use measure::real::{exp, ln, powi};

/// Parts of the one tone in places that show two.
const MIXED: [f64; 5] = [1.0 / 6.0, 2.0 / 6.0, 3.0 / 6.0, 4.0 / 6.0, 5.0 / 6.0];

/// Log light of shadows between strands: our choice, down to under a half.
const SHADOWS: [f64; 3] = [-0.27, -0.53, -0.8];

/// How much wider than its own a tone's spread is in its shadows.
const SHADOW_NOISE: f64 = 1.5;

/// The most of a tone that is taken for shadow; more is a darker tone.
const MOST_SHADOW: f64 = 0.2;

/// The most places that are taken for mixed.
const MOST_MIXED: f64 = 0.5;

/// Density of what belongs to no tone, dust, stray hairs and noise: a fiftieth
/// of the places, spread over all tones that hair can have.
const STRAY: f64 = 0.1;

/// The least spreads of `l`, `r` and `b` within a tone.
const LEAST_SPREAD: [f64; 3] = [0.02, 0.004, 0.004];

/// Two tones with less than this between their lights are one tone: not quite a level.
const ONE_LEVEL: f64 = 1.3;

/// A tone with less than this share of the hair is not told apart.
const LEAST_SHARE: f64 = 0.06;

/// Steps of the fit from each start, and from the best of them.
const FIRST_STEPS: usize = 5;
const STEPS: usize = 40;

/// A step that brings no more log likelihood than this for each point is the last.
const SETTLED: f64 = 1e-4;

/// The most points that are fitted: strands are wider than a place.
const MOST_POINTS: usize = 400;

/// One tone: its share and its light.
pub(crate) type Tone = (f64, [f64; 3]);

/// The tones of lights that lie in a row, the largest first. Their mixture is `hair`.
///
/// *Accuracy*, on 96 made photographs that had served for nothing before: of PNGs
/// the number is right in 94 of 95 and shares are within 0.01 on average, where
/// there are several tones within 0.03; of JPEGs with one colour for four pixels
/// the number is right in 94 of 96 and shares are within 0.03, with several tones
/// within 0.08. On 24 photographs made by another program from the same recipe,
/// with several tones: 0.07 as PNG, 0.12 as JPEG.
///
/// *Not told apart*: tones nearer than [`ONE_LEVEL`] in light; tones of less than
/// [`LEAST_SHARE`] of the hair; tones of like colour whose strands are shaded more
/// than the tones differ. Roots darker than the ends are one tone, as each strand
/// is read over its whole length.
pub(crate) fn tones(lights: &[[f64; 3]], hair: [f64; 3]) -> Vec<Tone> {
    let stride = lights.len().div_ceil(MOST_POINTS).max(1);
    let points: Vec<[f64; 3]> = lights.iter().step_by(stride).filter_map(features).collect();
    if points.is_empty() {
        return vec![(1.0, hair)];
    }
    let fits: Vec<Mixture> = (1..=3).filter_map(|k| fit(&points, k)).collect();
    let independent =
        fits.iter().max_by(|p, q| p.likelihood.total_cmp(&q.likelihood)).map_or(1.0, |best| independent(&best.residuals(&points)));
    let worth = |mixture: &Mixture| mixture.likelihood * independent / points.len() as f64 - mixture.price() * ln(independent) / 2.0;
    fits.iter().max_by(|p, q| worth(p).total_cmp(&worth(q))).map_or_else(|| vec![(1.0, hair)], |mixture| mixture.tones(hair))
}

/// The likeliest mixture of so many tones: the best of a few starts, gone on with.
fn fit(points: &[[f64; 3]], k: usize) -> Option<Mixture> {
    let begun = starts(points, k).into_iter().filter_map(|start| Mixture::start(points, start)?.go_on(points, FIRST_STEPS));
    let best = begun.max_by(|p, q| p.likelihood.total_cmp(&q.likelihood))?;
    best.go_on(points, STEPS).filter(Mixture::is_distinct)
}

/// How many of a row of values tell something of their own: neighbours are alike.
///
/// *Source*: the variance of a mean of correlated values, Bartlett 1946; key `bartlett1946`.
fn independent(row: &[f64]) -> f64 {
    let n = row.len();
    let mean = row.iter().sum::<f64>() / n as f64;
    let product = |lag: usize| (0..n - lag).map(|i| (row[i] - mean) * (row[i + lag] - mean)).sum::<f64>();
    let all = product(0).max(1e-12);
    let alike: f64 = (1..n / 4).map(|lag| product(lag) / all).take_while(|rho| *rho > 0.1).map(|rho| rho * rho).sum();
    n as f64 / (1.0 + 2.0 * alike)
}

fn features(light: &[f64; 3]) -> Option<[f64; 3]> {
    let total: f64 = light.iter().sum();
    (total > 1e-4).then(|| [ln(total), light[0] / total, light[2] / total])
}

fn light(point: &[f64; 3]) -> [f64; 3] {
    let total = exp(point[0]);
    [total * point[1], total * (1.0 - point[1] - point[2]), total * point[2]]
}

/// Places by lightness from which the fits start.
fn starts(points: &[[f64; 3]], k: usize) -> Vec<Vec<[f64; 3]>> {
    let mut sorted = points.to_vec();
    sorted.sort_by(|p, q| p[0].total_cmp(&q[0]));
    let about = |share: f64| {
        let middle = (share * sorted.len() as f64) as usize;
        let reach = sorted.len() / 20 + 1;
        mean(sorted[middle.saturating_sub(reach)..(middle + reach).min(sorted.len())].iter()).unwrap_or(sorted[0])
    };
    let lists: &[&[f64]] = match k {
        1 => &[&[0.5]],
        2 => &[&[0.25, 0.75], &[0.12, 0.6], &[0.4, 0.88]],
        _ => &[&[0.15, 0.5, 0.85], &[0.25, 0.65, 0.9], &[0.1, 0.35, 0.75]],
    };
    lists.iter().map(|list| list.iter().map(|share| about(*share)).collect()).collect()
}

/// Normal distributions of one shape about the tones' middles, with mixed places and shadows.
#[derive(Debug, Clone)]
struct Mixture {
    middles: Vec<[f64; 3]>,
    weights: Vec<f64>,
    /// Covariance within a tone.
    spread: [[f64; 3]; 3],
    /// Share of the places that show two tones.
    mixed: f64,
    /// Shares of each tone that lie in shadows of each depth.
    shadow: [f64; SHADOWS.len()],
    /// Log likelihood of all points.
    likelihood: f64,
}

/// One normal distribution of a mixture: where, how much, and how it counts for the tones.
struct Component {
    at: [f64; 3],
    weight: f64,
    kind: Kind,
}

#[derive(Clone, Copy)]
enum Kind {
    Pure(usize),
    /// Of a tone, so deep.
    Shadow(usize, usize),
    /// So much of the first, the rest of the second.
    Mixed(f64, usize, usize),
}

impl Mixture {
    /// Tones of equal shares about these middles.
    fn start(points: &[[f64; 3]], middles: Vec<[f64; 3]>) -> Option<Self> {
        let k = middles.len();
        let middle = mean(points.iter())?;
        let mut spread = [[0.0; 3]; 3];
        for point in points {
            for (a, row) in spread.iter_mut().enumerate() {
                for (b, cell) in row.iter_mut().enumerate() {
                    *cell += (point[a] - middle[a]) * (point[b] - middle[b]) / (points.len() * k * k) as f64;
                }
            }
        }
        let mixed = if k > 1 { 0.2 } else { 0.0 };
        Some(Self {
            weights: vec![1.0 / k as f64; k],
            spread: at_least(spread),
            mixed,
            shadow: [0.01; SHADOWS.len()],
            middles,
            likelihood: f64::NEG_INFINITY,
        })
    }

    /// Some steps further, until they bring nothing more; nothing when a tone
    /// has lost all its places.
    fn go_on(mut self, points: &[[f64; 3]], steps: usize) -> Option<Self> {
        for _ in 0..steps {
            let before = self.likelihood;
            self.step(points)?;
            if (self.likelihood - before).abs() < SETTLED * points.len() as f64 {
                break;
            }
        }
        Some(self)
    }

    fn components(&self) -> Vec<Component> {
        let mut list = Vec::new();
        let k = self.middles.len();
        let pairs: f64 = (0..k).flat_map(|i| (i + 1..k).map(move |j| (i, j))).map(|(i, j)| self.weights[i] * self.weights[j]).sum();
        for i in 0..k {
            let own = self.weights[i] * (1.0 - self.mixed);
            list.push(Component { at: self.middles[i], weight: own * (1.0 - self.shadow.iter().sum::<f64>()), kind: Kind::Pure(i) });
            for (depth, off) in SHADOWS.into_iter().enumerate() {
                let [l, r, b] = self.middles[i];
                let [redder, bluer] = [1, 2].map(|c| off * self.spread[0][c] / self.spread[0][0]);
                list.push(Component {
                    at: [l + off, r + redder, b + bluer],
                    weight: own * self.shadow[depth],
                    kind: Kind::Shadow(i, depth),
                });
            }
            for j in i + 1..k {
                let (p, q) = (light(&self.middles[i]), light(&self.middles[j]));
                let weight = self.mixed * self.weights[i] * self.weights[j] / (pairs * MIXED.len() as f64);
                for part in MIXED {
                    if let Some(at) = features(&[0, 1, 2].map(|c| part * p[c] + (1.0 - part) * q[c])) {
                        list.push(Component { at, weight, kind: Kind::Mixed(part, i, j) });
                    }
                }
            }
        }
        list
    }

    /// The density of each component at a point, and of all.
    fn densities(components: &[Component], inverse: &[[f64; 3]; 3], scale: f64, point: &[f64; 3], into: &mut [f64]) -> f64 {
        let mut sum = STRAY;
        for (component, density) in components.iter().zip(into.iter_mut()) {
            let d = [0, 1, 2].map(|i| point[i] - component.at[i]);
            let far = d[0] * (inverse[0][0] * d[0] + 2.0 * (inverse[0][1] * d[1] + inverse[0][2] * d[2]))
                + d[1] * (inverse[1][1] * d[1] + 2.0 * inverse[1][2] * d[2])
                + d[2] * inverse[2][2] * d[2];
            // Light is less in shadows, so the same noise is more of it.
            let (far, scale) = if matches!(component.kind, Kind::Shadow(..)) {
                (far / (SHADOW_NOISE * SHADOW_NOISE), scale / powi(SHADOW_NOISE, 3))
            } else {
                (far, scale)
            };
            *density = if far < 50.0 { component.weight * scale * exp(-far / 2.0) } else { 0.0 };
            sum += *density;
        }
        sum
    }

    /// One step of expectation and maximisation.
    fn step(&mut self, points: &[[f64; 3]]) -> Option<()> {
        let k = self.middles.len();
        let components = self.components();
        let (inverse, scale) = normal(&self.spread)?;
        let mut density = vec![0.0; components.len()];
        let (mut own, mut sums, mut shares) = (vec![0.0; k], vec![[0.0; 3]; k], vec![0.0; k]);
        let (mut shadow, mut mixed, mut likelihood) = ([0.0; SHADOWS.len()], 0.0, 0.0);
        let mut second = [[0.0; 3]; 3];
        let mut members = 0.0;
        for point in points {
            let sum = Self::densities(&components, &inverse, scale, point, &mut density);
            likelihood += ln(sum);
            for (component, d) in components.iter().zip(&density) {
                let w = d / sum;
                if w < 1e-9 {
                    continue;
                }
                match component.kind {
                    Kind::Pure(i) => {
                        own[i] += w;
                        shares[i] += w;
                        for c in 0..3 {
                            sums[i][c] += w * point[c];
                        }
                        members += w;
                        for a in 0..3 {
                            for b in 0..3 {
                                second[a][b] += w * (point[a] - component.at[a]) * (point[b] - component.at[b]);
                            }
                        }
                    }
                    Kind::Shadow(i, depth) => {
                        shadow[depth] += w;
                        shares[i] += w;
                    }
                    Kind::Mixed(part, i, j) => {
                        mixed += w;
                        shares[i] += part * w;
                        shares[j] += (1.0 - part) * w;
                    }
                }
            }
        }
        let total: f64 = shares.iter().sum();
        if total < 1e-6 || own.iter().any(|n| *n < 1e-6) || members < 1.0 {
            return None;
        }
        self.likelihood = likelihood;
        self.weights = shares.iter().map(|s| s / total).collect();
        self.middles = sums.iter().zip(&own).map(|(sum, n)| sum.map(|v| v / n)).collect();
        self.spread = at_least(second.map(|row| row.map(|v| v / members)));
        self.mixed = (mixed / points.len() as f64).min(MOST_MIXED);
        let most = MOST_SHADOW * (total - mixed).max(1e-6);
        let scale = (total - mixed).max(1e-6) * (shadow.iter().sum::<f64>() / most).max(1.0);
        self.shadow = shadow.map(|s| s / scale);
        Some(())
    }

    /// Free numbers: middles, shares, the shape; mixed places and shadows.
    fn price(&self) -> f64 {
        let k = self.middles.len() as f64;
        3.0 * k + (k - 1.0) + 6.0 + SHADOWS.len() as f64 + if k > 1.0 { 1.0 } else { 0.0 }
    }

    /// Whether its tones are tones: apart by a level, and more than a trace.
    fn is_distinct(&self) -> bool {
        let mut lights: Vec<f64> = self.middles.iter().map(|m| m[0]).collect();
        lights.sort_by(f64::total_cmp);
        lights.windows(2).all(|pair| pair[1] - pair[0] > ln(ONE_LEVEL)) && self.weights.iter().all(|w| *w > LEAST_SHARE)
    }

    /// What each point's log light is beyond what its tone, mixture or shadow explains.
    fn residuals(&self, points: &[[f64; 3]]) -> Vec<f64> {
        let components = self.components();
        let Some((inverse, scale)) = normal(&self.spread) else { return vec![0.0; points.len()] };
        let mut density = vec![0.0; components.len()];
        let residual = |point: &[f64; 3]| {
            let sum = Self::densities(&components, &inverse, scale, point, &mut density);
            components.iter().zip(&density).map(|(component, d)| d / sum * (point[0] - component.at[0])).sum()
        };
        points.iter().map(residual).collect()
    }

    fn tones(&self, hair: [f64; 3]) -> Vec<Tone> {
        let mut list: Vec<Tone> = self.weights.iter().zip(&self.middles).map(|(share, middle)| (*share, light(middle))).collect();
        let sum = list.iter().fold([0.0; 3], |sum, (share, light)| [0, 1, 2].map(|c| sum[c] + share * light[c]));
        for (_, light) in &mut list {
            *light = [0, 1, 2].map(|c| if sum[c] > 0.0 { light[c] * hair[c] / sum[c] } else { light[c] });
        }
        list.sort_by(|p, q| q.0.total_cmp(&p.0));
        list
    }
}

/// A covariance with no spread below the least.
fn at_least(mut spread: [[f64; 3]; 3]) -> [[f64; 3]; 3] {
    for (c, least) in LEAST_SPREAD.iter().enumerate() {
        spread[c][c] = spread[c][c].max(least * least);
    }
    spread
}

/// The inverse of a covariance and the height of its normal density.
fn normal(spread: &[[f64; 3]; 3]) -> Option<([[f64; 3]; 3], f64)> {
    let inverse = measure::linear::inverse(spread)?;
    let determinant = 1.0
        / (inverse[0][0] * (inverse[1][1] * inverse[2][2] - inverse[1][2] * inverse[2][1])
            - inverse[0][1] * (inverse[1][0] * inverse[2][2] - inverse[1][2] * inverse[2][0])
            + inverse[0][2] * (inverse[1][0] * inverse[2][1] - inverse[1][1] * inverse[2][0]));
    (determinant > 0.0).then(|| (inverse, 1.0 / (powi(std::f64::consts::TAU, 3) * determinant).sqrt()))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Normally distributed numbers from a fixed seed (splitmix64, Box and Muller).
    struct Draws(u64);

    impl Draws {
        fn unit(&mut self) -> f64 {
            self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
            let mut z = self.0;
            z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
            z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
            ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
        }
        fn normal(&mut self) -> f64 {
            (-2.0 * (1.0 - self.unit()).ln()).sqrt() * (std::f64::consts::TAU * self.unit()).cos()
        }
    }

    /// Strands of these tones, each shaded; one in twelve lies in shadow.
    fn strands(tones: &[Tone], shading: f64, shadows: bool) -> Vec<[f64; 3]> {
        let mut draws = Draws(7);
        (0..400)
            .map(|i| {
                let mut left = (f64::from(i) * 0.618_034).fract();
                let tone = tones
                    .iter()
                    .find(|(share, _)| {
                        left -= share;
                        left < 0.0
                    })
                    .unwrap_or(&tones[0]);
                let gap = if shadows && draws.unit() < 1.0 / 12.0 { 0.45 } else { 1.0 };
                let shade = gap * (1.0 + shading * draws.normal()).max(0.2);
                tone.1.map(|light| light * shade * (1.0 + 0.01 * draws.normal()))
            })
            .collect()
    }

    fn found(lights: &[[f64; 3]]) -> Vec<Tone> {
        tones(lights, mean(lights.iter()).unwrap())
    }

    const DARK: [f64; 3] = [0.05, 0.03, 0.015];
    const MIDDLE: [f64; 3] = [0.1, 0.06, 0.035];
    const LIGHT: [f64; 3] = [0.2, 0.13, 0.08];

    #[test]
    fn a_known_mixture_is_recovered() {
        for shading in [0.06, 0.15] {
            for wanted in
                [&[(0.65, DARK), (0.35, MIDDLE)][..], &[(0.7, LIGHT), (0.3, MIDDLE)], &[(0.45, DARK), (0.33, MIDDLE), (0.22, LIGHT)]]
            {
                let got = found(&strands(wanted, shading, false));
                assert_eq!(got.len(), wanted.len(), "{got:?}");
                for ((share, light), (true_share, true_light)) in got.iter().zip(wanted) {
                    assert!((share - true_share).abs() < 0.03, "{got:?}");
                    assert!((0..3).all(|c| (light[c] / true_light[c]).ln().abs() < 0.06), "{got:?}");
                }
            }
        }
    }

    #[test]
    fn one_tone_stays_one_however_it_is_shaded() {
        for tone in [DARK, MIDDLE, LIGHT] {
            for (shading, shadows) in [(0.02, false), (0.06, false), (0.15, false), (0.15, true)] {
                let got = found(&strands(&[(1.0, tone)], shading, shadows));
                assert_eq!(got.len(), 1, "{got:?}");
            }
        }
    }

    /// Strands as a JPEG keeps them: each its brightness, all one colour.
    #[test]
    fn shadows_under_one_colour_are_no_tone() {
        for tone in [DARK, MIDDLE, LIGHT] {
            let coded = tone.map(|light| light.powf(1.0 / 2.2));
            let bright = 0.3 * coded[0] + 0.59 * coded[1] + 0.11 * coded[2];
            let mut lights = strands(&[(1.0, [1.0; 3])], 0.15, true);
            for light in &mut lights {
                let darker = (1.0 - light[1].powf(1.0 / 2.2)) * bright;
                *light = [0, 1, 2].map(|c| (coded[c] - darker).max(0.0).powf(2.2) * light[c] / light[1]);
            }
            let got = found(&lights);
            assert_eq!(got.len(), 1, "{got:?}");
        }
    }

    #[test]
    fn a_place_that_shows_two_tones_is_shared_between_them() {
        let mut lights = strands(&[(0.5, DARK), (0.5, LIGHT)], 0.05, false);
        // A fifth of all places lies on edges, with less and less of the dark tone.
        for (i, light) in lights.iter_mut().enumerate().filter(|(i, _)| i % 5 == 0) {
            let shade = 1.0 + 0.05 * ((i as f64).sin());
            let part = i as f64 / 400.0;
            *light = [0, 1, 2].map(|c| shade * (part * DARK[c] + (1.0 - part) * LIGHT[c]));
        }
        let got = found(&lights);
        assert_eq!(got.len(), 2, "{got:?}");
        assert!((got[0].0 - 0.5).abs() < 0.03, "{got:?}");
    }

    #[test]
    fn the_tones_together_are_the_hair_and_nothing_is_one_tone() {
        let hair = [0.11, 0.06, 0.04];
        let got = tones(&strands(&[(0.65, DARK), (0.35, LIGHT)], 0.06, false), hair);
        for c in 0..3 {
            assert!((got.iter().map(|(share, light)| share * light[c]).sum::<f64>() - hair[c]).abs() < 1e-12);
        }
        assert_eq!(tones(&[], hair), vec![(1.0, hair)]);
        assert_eq!(tones(&[[0.0; 3]; 9], hair), vec![(1.0, hair)]);
        assert_eq!(tones(&[MIDDLE; 50], hair).len(), 1);
    }

    /// Of values each repeated four times one in four tells something of its own
    /// (closed form of the sum of squared correlations 3/4, 2/4, 1/4: n / 2.75).
    #[test]
    fn repeated_values_count_less() {
        let mut draws = Draws(3);
        let single: Vec<f64> = (0..4000).map(|_| draws.normal()).collect();
        let repeated: Vec<f64> = single.iter().flat_map(|v| [*v; 4]).take(4000).collect();
        assert!((independent(&single) / 4000.0 - 1.0).abs() < 0.05, "{}", independent(&single));
        assert!((independent(&repeated) / 4000.0 - 1.0 / 2.75).abs() < 0.05, "{}", independent(&repeated));
    }
}
