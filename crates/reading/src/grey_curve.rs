//! A camera's curve for each channel, whatever it is, through the six greys.
//!
//! Legend: `x` logarithm of a channel's light by the picture's own profile, about its
//! mean over the greys; `y` logarithm of what the greys send back; y = a + b x + q x^2.
//!
//! The profile's own curve is b = 1 and q = 0. What a phone lays over it (more contrast,
//! shadows lifted, highlights rolled off) bends that line; six greys, worn and glossy,
//! do not settle more than a bend, so both are held to the profile's.

use crate::chosen::Chosen;
use measure::linear::solve;
use measure::real::{exp, ln};

/// How true greys are printed, relative, and light that does not matter beside it.
const PRINTED: f64 = 0.02;
const DARK: f64 = 0.004;

/// Slopes beyond these are no camera's.
const SLOPES: (f64, f64) = (0.3, 3.0);

/// The least light told apart from none.
const LEAST: f64 = 1e-4;

/// One channel's curve. It always rises.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct GreyCurve {
    middle: f64,
    terms: [f64; 3],
}

impl GreyCurve {
    /// Through greys: light seen, and light expected of it. Nothing without any grey.
    pub fn fit(greys: &[(f64, f64)], chosen: &Chosen) -> Option<Self> {
        let logs: Vec<(f64, f64, f64)> = greys.iter().map(|(seen, sent)| (ln(seen.max(LEAST)), ln(*sent), *sent)).collect();
        let middle = logs.iter().map(|(x, ..)| x).sum::<f64>() / logs.len().max(1) as f64;
        let trust = |sent: f64| 1.0 / (PRINTED * PRINTED + (DARK / sent) * (DARK / sent));
        let most = logs.iter().map(|(_, _, sent)| trust(*sent)).fold(0.0, f64::max);
        let (mut matrix, mut right) = ([[0.0; 3]; 3], [0.0; 3]);
        for (x, y, sent) in &logs {
            let (x, w) = (x - middle, trust(*sent) / most);
            let row = [1.0, x, x * x];
            for i in 0..3 {
                right[i] += w * row[i] * y;
                (0..3).for_each(|j| matrix[i][j] += w * row[i] * row[j]);
            }
        }
        matrix[1][1] += chosen.held_slope;
        right[1] += chosen.held_slope;
        matrix[2][2] += chosen.held_bend;
        solve(matrix, right).map(|terms| Self { middle, terms })
    }

    /// The light that a thing sent back, from that which the profile makes of its code.
    pub fn undone(&self, light: f64) -> f64 {
        let x = ln(light.max(LEAST)) - self.middle;
        let [a, b, q] = self.terms;
        let at = |x: f64| a + b * x + q * x * x;
        // Beyond the places where the bend would turn it goes on straight.
        for slope in [SLOPES.0, SLOPES.1] {
            let beyond = if slope == SLOPES.0 { b + 2.0 * q * x < slope } else { b + 2.0 * q * x > slope };
            if beyond && q != 0.0 {
                let turn = (slope - b) / (2.0 * q);
                return exp(at(turn) + slope * (x - turn));
            }
        }
        exp(at(x))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const GREYS: [f64; 6] = [0.9, 0.59, 0.36, 0.2, 0.09, 0.03];

    #[test]
    fn a_power_and_a_bend_are_undone_between_the_greys_and_beyond_them_it_still_rises() {
        let camera = |light: f64| {
            let x = light.ln();
            (0.1 + 0.85 * x - 0.02 * x * x).exp()
        };
        let curve = GreyCurve::fit(&GREYS.map(|r| (camera(r), r)), &Chosen::IN_FOLDS).unwrap();
        for light in [0.05, 0.14, 0.28, 0.45, 0.75] {
            assert!((curve.undone(camera(light)) / light - 1.0).abs() < 0.03, "{light}: {}", curve.undone(camera(light)));
        }
        let lights: Vec<f64> = (0..=400).map(|i| curve.undone(f64::from(i) / 300.0)).collect();
        assert!(lights.windows(2).all(|w| w[1] >= w[0]));
    }

    #[test]
    fn the_profile_is_believed_where_the_greys_agree_with_it() {
        let curve = GreyCurve::fit(&GREYS.map(|r| (0.8 * r, r)), &Chosen::IN_FOLDS).unwrap();
        assert!((curve.undone(0.4) - 0.5).abs() < 1e-9, "{}", curve.undone(0.4));
        // One grey settles no slope: the profile's own stays.
        let one = GreyCurve::fit(&[(0.4, 0.5)], &Chosen::IN_FOLDS).unwrap();
        assert!((one.undone(0.2) - 0.25).abs() < 1e-9);
        assert!(GreyCurve::fit(&[], &Chosen::IN_FOLDS).is_none());
    }
}
