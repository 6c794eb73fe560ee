//! The numbers of the fit against the surveys as published.

use super::*;
use crate::Tape;
use crate::size::solution::{MEAN_SIZES, SPREAD, spread_of};
use measure::real;

/// A survey's two sexes, women first: mean and standard deviation.
type Both = [(f64, f64); 2];

/// Length, breadth and height above the ear notches, mm; spreads as shares of
/// the mean. *Source*: key `ansur2`, means as published, spreads of the
/// logarithms of the published measures (1986 women, 4082 men).
const ANSUR: [Both; 3] = [[(189.8, 0.038), (199.5, 0.035)], [(147.8, 0.035), (154.3, 0.036)], [(126.5, 0.051), (131.1, 0.0475)]];
/// Length and breadth. *Source*: key `niosh2003`, means as published.
const NIOSH: [[f64; 2]; 2] = [[187.6, 197.4], [147.0, 153.1]];
/// Circumference and ear to ear over the top, mm. *Source*: key `niosh2003`,
/// means and spreads as published.
const NIOSH_TAPES: [Both; 2] = [[(558.7, 20.7), (576.1, 17.5)], [(341.0, 15.6), (350.7, 14.1)]];

#[test]
fn the_mean_head_is_the_mean_of_the_surveys() {
    for k in 0..3 {
        let ansur = 0.5 * (ANSUR[k][0].0 + ANSUR[k][1].0);
        let mean = NIOSH.get(k).map_or(ansur, |niosh| 0.5 * (ansur + 0.5 * (niosh[0] + niosh[1])));
        assert!((MEAN_SIZES[k] - mean).abs() < 0.5, "size {k}: {} for {mean}", MEAN_SIZES[k]);
    }
}

#[test]
fn the_spread_of_heads_is_that_of_both_sexes_together() {
    for k in 0..3 {
        let [(women, within_women), (men, within_men)] = ANSUR[k];
        let apart = 0.5 * real::ln(men / women);
        let pooled = (0.5 * (within_women * within_women + within_men * within_men) + apart * apart).sqrt();
        assert!((SPREAD[k] / pooled - 1.0).abs() < 0.02, "size {k}: {} for {pooled}", SPREAD[k]);
    }
}

#[test]
fn the_tapes_that_the_prior_expects_spread_as_the_surveys_tapes_did() {
    // Hair and the tape's own error come on top of the heads' spread, so the
    // heads alone must spread somewhat less than the tapes, and not much less.
    let template = Template::standard();
    let none = solve(template, &[]);
    for (tape, published) in [(Tape::Circumference, NIOSH_TAPES[0]), (Tape::EarToEarOverCrown, NIOSH_TAPES[1])] {
        let [(women, within_women), (men, within_men)] = published;
        let apart = 0.5 * (men - women);
        let pooled = (0.5 * (within_women * within_women + within_men * within_men) + apart * apart).sqrt();
        let heads = spread_of(template, tape, &none).sqrt();
        assert!((0.8..1.0).contains(&(heads / pooled)), "{tape:?}: {heads} of {pooled}");
    }
}
