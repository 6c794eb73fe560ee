//! What a salon believes of its bonds: prior and records weighed on a grid.
//!
//! The grid holds 41 values of ln k and 41 of ln lambda over four standard
//! deviations either way; against 321 points shares move by 1e-5 and days by 0.004. A head's own
//! effect is a shift of ln lambda by whole steps of the grid, so that all heads
//! share one table each.

use super::likelihood::log_likelihood;
use super::{HEAD_SPREAD, OILY_LOSS, OILY_LOSS_SPREAD, SLIP_SCALE, SLIP_SCALE_SPREAD, SLIP_SHAPE, SLIP_SHAPE_SPREAD, Wear, WearFault};
use crate::hair::Oil;
use measure::real::{exp, ln};
use measure::{Days, Estimate, RuleBook};
use serde::{Deserialize, Serialize};

/// What was recorded of one head's bonds.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct HeadWear {
    /// Oil on her hair.
    pub oil: Oil,
    /// Her bonds, of every visit.
    pub bonds: Vec<Wear>,
}

/// Points of the grid either side of the middle.
const HALF: i32 = 20;
/// Standard deviations that the grid reaches either way.
const REACH: f64 = 4.0;

/// One curve with its weight.
#[derive(Debug, Clone, Copy)]
struct Curve {
    shape: f64,
    log_scale: f64,
    weight: f64,
}

/// How long bonds hold on one head: all curves that may be, each with its weight.
#[derive(Debug, Clone)]
pub struct SlipCurve {
    curves: Vec<Curve>,
    own_bonds: usize,
}

impl SlipCurve {
    /// Share of bonds still holding after some days, with its range.
    #[must_use]
    pub fn holding_at(&self, days: Days) -> Estimate<f64> {
        let t = days.to_days();
        if t <= 0.0 {
            return Estimate::exact(1.0);
        }
        let log = ln(t);
        let (low, high) = self.middle_ninety(|curve| exp(-exp(curve.shape * (log - curve.log_scale))));
        Estimate::new(self.mean_holding(log), low, high)
    }

    /// The day on which a share of bonds still holds, with its range.
    #[must_use]
    pub fn day_when(&self, share: f64) -> Estimate<Days> {
        let share = share.clamp(0.01, 0.999);
        // Newton's rule on the logarithm of days, kept between bounds: the share
        // falls all the way, so the root is always between them.
        let (mut low, mut high) = (ln(0.01), ln(1e5));
        let mut log = ln(60.0);
        for _ in 0..60 {
            let (holding, fall) = self.holding_and_fall(log);
            if holding > share {
                low = log
            } else {
                high = log
            }
            let next = log + (holding - share) / fall.max(1e-300);
            let next = if next > low && next < high { next } else { (low + high) / 2.0 };
            let step = (next - log).abs();
            log = next;
            if step < 1e-13 {
                break;
            }
        }
        let hazard = ln(-ln(share));
        let (least, most) = self.middle_ninety(|curve| exp(curve.log_scale + hazard / curve.shape));
        Estimate::new(Days::days(exp(log)), Days::days(least), Days::days(most))
    }

    /// Bonds of this very head that it rests on.
    #[must_use]
    pub fn own_bonds(&self) -> usize {
        self.own_bonds
    }

    fn mean_holding(&self, log_days: f64) -> f64 {
        self.curves.iter().map(|c| c.weight * exp(-exp(c.shape * (log_days - c.log_scale)))).sum()
    }

    /// The share that holds, and how fast it falls with the logarithm of days.
    fn holding_and_fall(&self, log_days: f64) -> (f64, f64) {
        self.curves.iter().fold((0.0, 0.0), |(holding, fall), c| {
            let hazard = exp(c.shape * (log_days - c.log_scale));
            let here = c.weight * exp(-hazard);
            (holding + here, fall + here * hazard * c.shape)
        })
    }

    /// The values of a figure below and above which one curve in twenty lies.
    fn middle_ninety(&self, figure: impl Fn(&Curve) -> f64) -> (f64, f64) {
        let mut values: Vec<(f64, f64)> = self.curves.iter().map(|c| (figure(c), c.weight)).collect();
        values.sort_by(|a, b| a.0.total_cmp(&b.0));
        let at = |share: f64| {
            let mut sum = 0.0;
            for (value, weight) in &values {
                sum += weight;
                if sum >= share {
                    return *value;
                }
            }
            values.last().map_or(0.0, |v| v.0)
        };
        (at(0.05), at(0.95))
    }
}

/// How long bonds will hold on one head, from the salon's records of all heads.
///
/// *Meaning*: `this` is the head in question, with her own records so far (none
/// on a first visit); `others` the salon's other heads. Bonds of one head share
/// an effect that lasts, so forty bonds that held on one head say less about
/// the next head than forty on forty heads.
///
/// *Errors*: a record that is no span of days.
///
/// ```
/// use craft::wear::{HeadWear, Wear, slip};
/// use measure::{Days, RuleBook};
/// let book = RuleBook::standard();
/// let held = HeadWear { bonds: vec![Wear::Holding(Days::days(60.0)); 40], ..HeadWear::default() };
/// let usual = slip(&HeadWear::default(), &[], &book).unwrap();
/// let hers = slip(&held, &[], &book).unwrap();
/// assert!(hers.holding_at(Days::days(60.0)).value > usual.holding_at(Days::days(60.0)).value);
/// ```
pub fn slip(this: &HeadWear, others: &[HeadWear], book: &RuleBook) -> Result<SlipCurve, WearFault> {
    for (i, wear) in this.bonds.iter().chain(others.iter().flat_map(|head| &head.bonds)).enumerate() {
        refuse_bad(i + 1, wear)?;
    }
    Ok(weigh(this, others, &Priors::of(book)))
}

fn refuse_bad(record: usize, wear: &Wear) -> Result<(), WearFault> {
    let (lower, upper) = match *wear {
        Wear::Holding(t) => (t.to_days(), None),
        Wear::Slipped(t) => (t.to_days(), Some(t.to_days())),
        Wear::SlippedBetween(t1, t2) => (t1.to_days(), Some(t2.to_days())),
    };
    for value in [Some(lower), upper].into_iter().flatten() {
        if !(value >= 0.0 && value.is_finite()) {
            return Err(WearFault::Days { record, value });
        }
    }
    match upper {
        Some(upper) if upper < lower => Err(WearFault::Order { record, lower, upper }),
        Some(0.0) => Err(WearFault::DayZero { record }),
        _ => Ok(()),
    }
}

struct Priors {
    log_shape: f64,
    shape_spread: f64,
    log_scale: f64,
    scale_spread: f64,
    head_spread: f64,
    oily_loss: f64,
    oily_spread: f64,
}

impl Priors {
    fn of(book: &RuleBook) -> Self {
        Self {
            log_shape: ln(book.value(&SLIP_SHAPE)),
            shape_spread: book.value(&SLIP_SHAPE_SPREAD),
            log_scale: ln(book.value(&SLIP_SCALE)),
            scale_spread: book.value(&SLIP_SCALE_SPREAD),
            head_spread: book.value(&HEAD_SPREAD),
            oily_loss: book.value(&OILY_LOSS),
            oily_spread: book.value(&OILY_LOSS_SPREAD),
        }
    }

    /// Mean and spread of the effect of a head.
    fn effect(&self, oil: Oil) -> (f64, f64) {
        match oil {
            Oil::Oily => {
                let spread = (self.head_spread * self.head_spread + self.oily_spread * self.oily_spread).sqrt();
                (-self.oily_loss, spread)
            }
            Oil::Dry | Oil::Normal => (0.0, self.head_spread),
        }
    }
}

/// The effects a head may have, in whole steps of the grid, with their chances.
fn effects(spread: f64, step: f64) -> Vec<(i32, f64)> {
    let most = (3.0 * spread / step).ceil() as i32;
    let chance = |i: i32| {
        let u = f64::from(i) * step / spread.max(f64::MIN_POSITIVE);
        if most == 0 { 1.0 } else { exp(-0.5 * u * u) }
    };
    let total: f64 = (-most..=most).map(chance).sum();
    (-most..=most).map(|i| (i, chance(i) / total)).collect()
}

/// One head's log likelihood over the grid widened by its effects:
/// `[shape][scale]`, the first scale lying `widest` steps below the grid.
fn table(head: &HeadWear, priors: &Priors, mean: f64, widest: i32, step: f64) -> Vec<Vec<f64>> {
    let bonds = counted(&head.bonds);
    (-HALF..=HALF)
        .map(|i| {
            let shape = exp(priors.log_shape + shape_step(priors) * f64::from(i));
            (-HALF - widest..=HALF + widest)
                .map(|j| {
                    let log_scale = priors.log_scale + mean + step * f64::from(j);
                    bonds.iter().map(|(life, count)| count * log_likelihood(life, shape, log_scale)).sum()
                })
                .collect()
        })
        .collect()
}

fn shape_step(priors: &Priors) -> f64 {
    REACH * priors.shape_spread / f64::from(HALF)
}

/// Equal lives once, with their count.
fn counted(bonds: &[Wear]) -> Vec<(Wear, f64)> {
    let mut found: Vec<(Wear, f64)> = Vec::new();
    for bond in bonds {
        match found.iter_mut().find(|(life, _)| life == bond) {
            Some((_, count)) => *count += 1.0,
            None => found.push((*bond, 1.0)),
        }
    }
    found
}

fn weigh(this: &HeadWear, others: &[HeadWear], priors: &Priors) -> SlipCurve {
    let size = (2 * HALF + 1) as usize;
    let step = REACH * priors.scale_spread / f64::from(HALF);
    let mut worth = vec![vec![0.0; size]; size];
    for (i, row) in worth.iter_mut().enumerate() {
        for (j, cell) in row.iter_mut().enumerate() {
            let u = REACH * (i as f64 - f64::from(HALF)) / f64::from(HALF);
            let v = REACH * (j as f64 - f64::from(HALF)) / f64::from(HALF);
            *cell = -0.5 * (u * u + v * v);
        }
    }
    for head in others.iter().filter(|head| !head.bonds.is_empty()) {
        let (mean, spread) = priors.effect(head.oil);
        let effects = effects(spread, step);
        let widest = effects.last().map_or(0, |e| e.0);
        let table = table(head, priors, mean, widest, step);
        for (row, logs) in worth.iter_mut().zip(&table) {
            for (j, cell) in row.iter_mut().enumerate() {
                *cell += log_mean(&effects, |shift| logs[(j as i32 + widest + shift) as usize]);
            }
        }
    }
    let (mean, spread) = priors.effect(this.oil);
    let effects = effects(spread, step);
    let widest = effects.last().map_or(0, |e| e.0);
    let table = table(this, priors, mean, widest, step);
    let mut curves = Vec::with_capacity(size * size * effects.len());
    for (i, row) in worth.iter().enumerate() {
        let shape = exp(priors.log_shape + shape_step(priors) * (i as f64 - f64::from(HALF)));
        for (j, cell) in row.iter().enumerate() {
            for &(shift, chance) in &effects {
                let log_scale = priors.log_scale + mean + step * (j as f64 - f64::from(HALF) + f64::from(shift));
                let weight = cell + ln(chance) + table[i][(j as i32 + widest + shift) as usize];
                curves.push(Curve { shape, log_scale, weight });
            }
        }
    }
    normalise(&mut curves);
    SlipCurve { curves, own_bonds: this.bonds.len() }
}

/// Logarithm of the mean over the effects of a head, without underflow.
fn log_mean(effects: &[(i32, f64)], log_of: impl Fn(i32) -> f64) -> f64 {
    let best = effects.iter().map(|e| log_of(e.0)).fold(f64::NEG_INFINITY, f64::max);
    if best == f64::NEG_INFINITY {
        return best;
    }
    best + ln(effects.iter().map(|e| e.1 * exp(log_of(e.0) - best)).sum::<f64>())
}

fn normalise(curves: &mut Vec<Curve>) {
    let best = curves.iter().map(|c| c.weight).fold(f64::NEG_INFINITY, f64::max);
    for curve in curves.iter_mut() {
        curve.weight = exp(curve.weight - best);
    }
    // What weighs less than a billionth of the best moves no shown digit.
    curves.retain(|curve| curve.weight > 1e-9);
    let total: f64 = curves.iter().map(|c| c.weight).sum();
    for curve in curves.iter_mut() {
        curve.weight /= total;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn alone(bonds: Vec<Wear>) -> SlipCurve {
        let priors = Priors { head_spread: 0.0, ..Priors::of(&RuleBook::standard()) };
        weigh(&HeadWear { oil: Oil::Normal, bonds }, &[], &priors)
    }

    fn days(d: f64) -> Days {
        Days::days(d)
    }

    #[test]
    fn the_grid_meets_an_independent_integration() {
        // Posterior means from an independent numerical integration of the same
        // prior (numpy, 321 by 321 points, no head effect): shares holding at
        // 42, 49 and 56 days, days to 95 % and 90 %.
        let holding = |n: usize, d: f64| vec![Wear::Holding(days(d)); n];
        let cases: [(Vec<Wear>, [f64; 5]); 5] = [
            (vec![], [0.922_712, 0.896_779, 0.867_871, 33.333, 48.175]),
            (holding(40, 49.0), [0.990_962, 0.986_259, 0.980_053, 76.914, 97.462]),
            (
                [vec![Wear::Slipped(days(20.0)), Wear::Slipped(days(31.0))], holding(38, 49.0)].concat(),
                [0.957_451, 0.940_986, 0.921_483, 45.327, 62.690],
            ),
            (
                [vec![Wear::SlippedBetween(days(14.0), days(28.0)); 6], holding(34, 42.0)].concat(),
                [0.857_476, 0.816_427, 0.772_423, 22.359, 33.934],
            ),
            (holding(120, 49.0), [0.996_741, 0.994_738, 0.991_937, 95.794, 117.489]),
        ];
        for (bonds, expected) in cases {
            let curve = alone(bonds);
            for (i, day) in [42.0, 49.0, 56.0].into_iter().enumerate() {
                let share = curve.holding_at(days(day)).value;
                assert!((share - expected[i]).abs() < 2e-5, "{share} for {}", expected[i]);
            }
            for (i, share) in [0.95, 0.90].into_iter().enumerate() {
                let day = curve.day_when(share).value.to_days();
                assert!((day - expected[3 + i]).abs() < 6e-3, "{day} for {}", expected[3 + i]);
            }
        }
    }

    #[test]
    fn more_bonds_that_held_raise_the_share() {
        let mut before = 0.0;
        for n in [0, 5, 20, 80] {
            let curve =
                slip(&HeadWear { oil: Oil::Normal, bonds: vec![Wear::Holding(days(49.0)); n] }, &[], &RuleBook::standard()).unwrap();
            let share = curve.holding_at(days(56.0)).value;
            assert!(share > before);
            before = share;
        }
    }

    #[test]
    fn her_own_bonds_say_more_of_her_than_anothers() {
        let book = RuleBook::standard();
        let poor = HeadWear { oil: Oil::Normal, bonds: vec![Wear::Slipped(days(25.0)); 10] };
        let nobody = HeadWear::default();
        let t90 = |this: &HeadWear, others: &[HeadWear]| slip(this, others, &book).unwrap().day_when(0.9).value.to_days();
        let (start, other, own) = (t90(&nobody, &[]), t90(&nobody, std::slice::from_ref(&poor)), t90(&poor, &[]));
        assert!(own < other && other < start, "{own} {other} {start}");
        // Ten slips on ten heads say more of the next head than ten on one.
        let spread: Vec<HeadWear> = (0..10).map(|_| HeadWear { oil: Oil::Normal, bonds: vec![Wear::Slipped(days(25.0))] }).collect();
        let width = |others: &[HeadWear]| {
            let e = slip(&nobody, others, &book).unwrap().day_when(0.9);
            e.high / e.low
        };
        assert!(width(&spread) < width(std::slice::from_ref(&poor)));
    }

    #[test]
    fn oil_shortens_wear() {
        let book = RuleBook::standard();
        let t90 = |oil| slip(&HeadWear { oil, bonds: vec![] }, &[], &book).unwrap().day_when(0.9).value;
        assert!(t90(Oil::Oily) < t90(Oil::Normal));
    }

    #[test]
    fn bad_records_are_named() {
        let book = RuleBook::standard();
        let head = |bond| HeadWear { oil: Oil::Normal, bonds: vec![Wear::Holding(days(10.0)), bond] };
        for (bond, says) in [
            (Wear::Holding(days(-3.0)), "-3"),
            (Wear::Slipped(days(0.0)), "day 0"),
            (Wear::SlippedBetween(days(30.0), days(20.0)), "before lower"),
            (Wear::Holding(days(f64::NAN)), "NaN"),
        ] {
            let message = slip(&head(bond), &[], &book).unwrap_err().to_string();
            assert!(message.contains(says) && message.contains("record 2"), "{message}");
        }
    }
}
