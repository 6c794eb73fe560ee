//! The threshold of a salon, from what was seen at the chair.
//!
//! Legend: `tau` optical depth over a bond; `tau*` the threshold, at which one
//! bond in ten shows; `b` how steeply showing falls:
//! `logit P(shows) = logit(0.1) - b (ln tau - ln tau*)`.
//!
//! Both unknowns have a prior (our choice) and are weighed on a grid; with no
//! record the answer is the rule's own value.

use super::{SHOWING_CHANCE, STEEPNESS, THRESHOLD, THRESHOLD_SPREAD};
use measure::real::{exp, ln, log1p};
use measure::{Estimate, RuleBook};
use serde::{Deserialize, Serialize};

/// Chance that a bond of an optical depth shows, by the values in force.
///
/// ```
/// use craft::coverage::chance_of_showing;
/// let book = measure::RuleBook::standard();
/// assert!(chance_of_showing(1.0, &book) > chance_of_showing(5.0, &book));
/// ```
#[must_use]
pub fn chance_of_showing(optical_depth: f64, book: &RuleBook) -> f64 {
    if optical_depth <= 0.0 {
        return 1.0;
    }
    let odds = logit(book.value(&SHOWING_CHANCE)) - book.value(&STEEPNESS) * (ln(optical_depth) - ln(book.value(&THRESHOLD)));
    1.0 / (1.0 + exp(-odds))
}

/// The optical depth at which a bond shows with a chance, by the values in force.
///
/// ```
/// use craft::coverage::{chance_of_showing, depth_at_chance};
/// let book = measure::RuleBook::standard();
/// assert!((chance_of_showing(depth_at_chance(0.1, &book), &book) - 0.1).abs() < 1e-9);
/// ```
#[must_use]
pub fn depth_at_chance(chance: f64, book: &RuleBook) -> f64 {
    let odds = logit(chance.clamp(1e-6, 1.0 - 1e-6)) - logit(book.value(&SHOWING_CHANCE));
    book.value(&THRESHOLD) * exp(-odds / book.value(&STEEPNESS))
}

/// One bond looked at with the hair as it is worn.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Seen {
    /// The optical depth that was reckoned over it.
    pub optical_depth: f64,
    /// Whether it showed.
    pub showed: bool,
}

/// A record that cannot be used.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum SeenFault {
    /// A depth that no tracing gives.
    #[error("record {record} (counted from 1): an optical depth of {depth} is not above 0: take it from the plan")]
    Depth {
        /// Counted from 1.
        record: usize,
        /// As given.
        depth: f64,
    },
}

/// The threshold with its range.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Threshold {
    /// Optical depth at which one bond in ten shows; nine chances in ten.
    pub depth: Estimate<f64>,
    /// How steeply the odds of showing fall with depth.
    pub steepness: f64,
    /// Records it rests on.
    pub records: usize,
}

impl Threshold {
    /// Chance that a bond of an optical depth shows.
    #[must_use]
    pub fn chance_of_showing(&self, optical_depth: f64, book: &RuleBook) -> f64 {
        if optical_depth <= 0.0 {
            return 1.0;
        }
        let base = logit(book.value(&SHOWING_CHANCE));
        1.0 / (1.0 + exp(-(base - self.steepness * (ln(optical_depth) - ln(self.depth.value)))))
    }
}

/// Points of the grid for each unknown, over four standard deviations either way.
const POINTS: i32 = 61;
/// Standard deviation of the logarithm of the steepness, before anything was seen.
const STEEPNESS_SPREAD: f64 = 0.4;

/// The threshold of this salon.
///
/// *Meaning*: the value keeps inside the range of its rule; the hard floors
/// stand whatever it is.
///
/// *Errors*: the first record that cannot be used.
///
/// ```
/// use craft::coverage::{Seen, refit_threshold};
/// let book = measure::RuleBook::standard();
/// // Bonds that showed although much lay over them raise the depth that hides one.
/// let before = refit_threshold(&[], &book).unwrap();
/// let after = refit_threshold(&[Seen { optical_depth: 5.0, showed: true }; 5], &book).unwrap();
/// assert!(after.depth.value > before.depth.value);
/// ```
pub fn refit_threshold(records: &[Seen], book: &RuleBook) -> Result<Threshold, SeenFault> {
    for (i, record) in records.iter().enumerate() {
        if !(record.optical_depth > 0.0 && record.optical_depth.is_finite()) {
            return Err(SeenFault::Depth { record: i + 1, depth: record.optical_depth });
        }
    }
    let logs: Vec<(f64, bool)> = records.iter().map(|r| (ln(r.optical_depth), r.showed)).collect();
    let base = logit(book.value(&SHOWING_CHANCE));
    let (middle, spread) = (ln(book.value(&THRESHOLD)), book.value(&THRESHOLD_SPREAD) / 100.0);
    let steep = ln(book.value(&STEEPNESS));
    let half = f64::from(POINTS - 1) / 2.0;
    let mut cells = Vec::with_capacity((POINTS * POINTS) as usize);
    for i in 0..POINTS {
        let u = 4.0 * (f64::from(i) - half) / half;
        let log_threshold = middle + spread * u;
        for j in 0..POINTS {
            let v = 4.0 * (f64::from(j) - half) / half;
            let b = exp(steep + STEEPNESS_SPREAD * v);
            let seen: f64 = logs
                .iter()
                .map(|&(log, showed)| {
                    let odds = base - b * (log - log_threshold);
                    if showed { -softplus(-odds) } else { -softplus(odds) }
                })
                .sum();
            cells.push((log_threshold, b, seen - 0.5 * (u * u + v * v)));
        }
    }
    Ok(summary(&cells, records.len()))
}

fn summary(cells: &[(f64, f64, f64)], records: usize) -> Threshold {
    let best = cells.iter().map(|cell| cell.2).fold(f64::NEG_INFINITY, f64::max);
    let (mut total, mut mean, mut steepness) = (0.0, 0.0, 0.0);
    for &(log, b, worth) in cells {
        let weight = exp(worth - best);
        total += weight;
        mean += weight * log;
        steepness += weight * ln(b);
    }
    mean /= total;
    let variance = cells.iter().map(|&(log, _, worth)| exp(worth - best) * (log - mean) * (log - mean)).sum::<f64>() / total;
    let away = 1.645 * variance.sqrt();
    let (least, most) = THRESHOLD.range;
    let kept = |log: f64| exp(log).clamp(least, most);
    Threshold { depth: Estimate::new(kept(mean), kept(mean - away), kept(mean + away)), steepness: exp(steepness / total), records }
}

fn logit(p: f64) -> f64 {
    ln(p / (1.0 - p))
}

/// `ln(1 + e^x)` without overflow.
fn softplus(x: f64) -> f64 {
    if x > 0.0 { x + log1p(exp(-x)) } else { log1p(exp(x)) }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A seeded generator of our own; depths spread evenly in the logarithm.
    fn records(truth: f64, steepness: f64, count: usize, seed: u64) -> Vec<Seen> {
        let mut state = 0x9e37_79b9_7f4a_7c15_u64.wrapping_mul(2 * seed + 1);
        let mut chance = || {
            state ^= state << 13;
            state ^= state >> 7;
            state ^= state << 17;
            (state >> 11) as f64 / (1u64 << 53) as f64
        };
        (0..count)
            .map(|_| {
                let depth = exp(ln(0.8) + chance() * ln(10.0));
                let odds = logit(0.1) - steepness * (ln(depth) - ln(truth));
                Seen { optical_depth: depth, showed: chance() < 1.0 / (1.0 + exp(-odds)) }
            })
            .collect()
    }

    #[test]
    fn chances_follow_the_stated_curve() {
        // P = 1 / (1 + 9 (depth/3)^5): one in ten at 3, one half at 1.933.
        let book = RuleBook::standard();
        assert!((chance_of_showing(3.0, &book) - 0.1).abs() < 1e-12);
        assert!((depth_at_chance(0.5, &book) - 3.0 * exp(-ln(9.0) / 5.0)).abs() < 1e-9);
        for chance in [0.05, 0.1, 0.25, 0.5, 0.9] {
            assert!((chance_of_showing(depth_at_chance(chance, &book), &book) - chance).abs() < 1e-9);
        }
        assert_eq!(chance_of_showing(0.0, &book), 1.0);
    }

    #[test]
    fn without_records_the_rules_own_value_stands() {
        let fit = refit_threshold(&[], &RuleBook::standard()).unwrap();
        assert!((fit.depth.value - 3.0).abs() < 1e-6 && (fit.steepness - 5.0).abs() < 1e-6);
        // 30 % either way, nine chances in ten: 3 exp(+-0.49).
        assert!((fit.depth.low - 3.0 * exp(-0.4935)).abs() < 0.02);
    }

    #[test]
    fn the_threshold_that_made_the_records_lies_in_the_range_nine_times_in_ten() {
        // 60 salons: the count inside is binomial(60, 0.9), below 48 with a
        // chance under one in a hundred.
        let mut inside = 0;
        for salon in 0..60 {
            let truth = [2.4, 3.0, 3.6][salon % 3];
            let fit = refit_threshold(&records(truth, 6.0, 300, salon as u64), &RuleBook::standard()).unwrap();
            inside += usize::from(fit.depth.contains(truth));
            assert!(fit.depth.high / fit.depth.low < 1.6 && (fit.depth.value / truth - 1.0).abs() < 0.35);
        }
        assert!(inside >= 48, "{inside} of 60");
    }

    #[test]
    fn showing_raises_it_and_hiding_lowers_it() {
        let book = RuleBook::standard();
        let see = |showed| vec![Seen { optical_depth: 3.0, showed }; 10];
        let start = refit_threshold(&[], &book).unwrap().depth.value;
        assert!(refit_threshold(&see(true), &book).unwrap().depth.value > start);
        assert!(refit_threshold(&see(false), &book).unwrap().depth.value < start);
    }

    #[test]
    fn a_hundred_bonds_that_all_hid_leave_it_in_the_rules_range() {
        let fit = refit_threshold(&vec![Seen { optical_depth: 0.5, showed: false }; 300], &RuleBook::standard()).unwrap();
        assert!(fit.depth.low >= 1.5);
        let shown = refit_threshold(&vec![Seen { optical_depth: 9.0, showed: true }; 300], &RuleBook::standard()).unwrap();
        assert!(shown.depth.high <= 6.0);
    }

    #[test]
    fn a_depth_of_nothing_is_refused() {
        let bad = [Seen { optical_depth: 2.0, showed: false }, Seen { optical_depth: 0.0, showed: true }];
        assert_eq!(refit_threshold(&bad, &RuleBook::standard()), Err(SeenFault::Depth { record: 2, depth: 0.0 }));
    }
}
