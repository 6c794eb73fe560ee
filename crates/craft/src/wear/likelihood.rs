//! Weibull maximum likelihood from exact, interval and right-censored lives.
//!
//! Legend: `a = ln k`, `beta = ln lambda`, `z = k (ln t - beta)`, `H = e^z`.
//! A life seen to end adds `a - ln t + z - e^z`, a life still going `-e^z`, a
//! life ended between two looks `ln(e^-H1 - e^-H2)`. Newton's rule in (a, beta)
//! with the exact second derivatives, damped until the likelihood rises.

use super::{Wear, WearFault};
use measure::Days;
use measure::real::{exp, expm1, ln, log1p};
use serde::{Deserialize, Serialize};

/// The wear curve that makes the records most likely.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct WeibullFit {
    /// Shape.
    pub shape: f64,
    /// Days after which two lives in three have ended.
    pub scale_days: f64,
    /// Logarithm of the likelihood of the records.
    pub log_likelihood: f64,
}

impl WeibullFit {
    /// Share still holding after some days.
    #[must_use]
    pub fn holding_at(&self, days: Days) -> f64 {
        let t = days.to_days();
        if t <= 0.0 { 1.0 } else { exp(-exp(self.shape * ln(t / self.scale_days))) }
    }

    /// The day on which a share still holds.
    #[must_use]
    pub fn day_when(&self, share: f64) -> Days {
        let hazard = -ln(share.clamp(f64::MIN_POSITIVE, 1.0));
        Days::days(self.scale_days * exp(ln(hazard) / self.shape))
    }
}

/// Fits Weibull's law to spans of days: a life ended after the first and by the
/// second; no second, still going at the first; both equal, seen to end that day.
///
/// *Accuracy*: the maximum to about nine digits.
///
/// *Errors*: a record that is no span; records that no curve, or any curve, fits.
///
/// *Source*: agrees with key `lifelines` to its own stopping error.
///
/// ```
/// use craft::wear::check_wear;
/// let fit = check_wear(&[(30.0, Some(30.0)), (50.0, Some(50.0)), (70.0, None)]).unwrap();
/// assert!(fit.shape > 0.0 && fit.scale_days > 40.0);
/// assert!(check_wear(&[(-1.0, None)]).is_err());
/// ```
pub fn check_wear(spans: &[(f64, Option<f64>)]) -> Result<WeibullFit, WearFault> {
    let mut lives = Vec::with_capacity(spans.len());
    for (i, &(lower, upper)) in spans.iter().enumerate() {
        lives.push(life(i + 1, lower, upper)?);
    }
    fit(&lives)
}

fn life(record: usize, lower: f64, upper: Option<f64>) -> Result<Wear, WearFault> {
    let days = |value: f64| {
        if value >= 0.0 && value.is_finite() { Ok(Days::days(value)) } else { Err(WearFault::Days { record, value }) }
    };
    let from = days(lower)?;
    let Some(upper) = upper else { return Ok(Wear::Holding(from)) };
    let to = days(upper)?;
    if upper < lower {
        return Err(WearFault::Order { record, lower, upper });
    }
    if upper == 0.0 {
        return Err(WearFault::DayZero { record });
    }
    Ok(if upper == lower { Wear::Slipped(from) } else { Wear::SlippedBetween(from, to) })
}

/// The log likelihood and its derivatives in (a, beta).
#[derive(Debug, Clone, Copy, Default)]
struct Slope {
    value: f64,
    a: f64,
    b: f64,
    aa: f64,
    ab: f64,
    bb: f64,
}

impl Slope {
    /// Adds a part that depends on one z, with its first two derivatives in z.
    fn through(&mut self, z: f64, k: f64, dz: f64, dzz: f64) {
        self.a += dz * z;
        self.b -= dz * k;
        self.aa += dzz * z * z + dz * z;
        self.ab -= dzz * z * k + dz * k;
        self.bb += dzz * k * k;
    }
}

/// Largest z that is worked with: `e^z` beyond it has no likelihood left.
const Z_MOST: f64 = 600.0;

fn slope(lives: &[Wear], a: f64, beta: f64) -> Slope {
    let k = exp(a);
    let mut sum = Slope::default();
    for life in lives {
        match *life {
            Wear::Holding(t) => {
                let t = t.to_days();
                if t > 0.0 {
                    let z = (k * (ln(t) - beta)).min(Z_MOST);
                    let h = exp(z);
                    sum.value -= h;
                    sum.through(z, k, -h, -h);
                }
            }
            Wear::Slipped(t) => {
                let log = ln(t.to_days());
                let z = (k * (log - beta)).min(Z_MOST);
                let h = exp(z);
                sum.value += a - log + z - h;
                sum.a += 1.0;
                sum.through(z, k, 1.0 - h, -h);
            }
            Wear::SlippedBetween(t1, t2) => between(&mut sum, t1.to_days(), t2.to_days(), k, beta),
        }
    }
    sum
}

/// A life that ended between two looks.
fn between(sum: &mut Slope, t1: f64, t2: f64, k: f64, beta: f64) {
    let z2 = (k * (ln(t2) - beta)).min(Z_MOST);
    let h2 = exp(z2);
    let (z1, h1) = if t1 > 0.0 {
        let z1 = (k * (ln(t1) - beta)).min(Z_MOST);
        (z1, exp(z1))
    } else {
        (0.0, 0.0)
    };
    let d = h2 - h1;
    // 1 / (e^d - 1), and ln(1 - e^-d) without loss where d is small.
    let r = 1.0 / expm1(d.max(f64::MIN_POSITIVE));
    let within = if d > 0.7 { log1p(-exp(-d)) } else { ln(-expm1(-d.max(f64::MIN_POSITIVE))) };
    sum.value += -h1 + within;
    let bend = -r * (1.0 + r);
    if r <= 0.0 || !r.is_finite() {
        // The end lies far beyond any life: only the beginning says something.
        sum.through(z1, k, -h1, -h1);
        return;
    }
    if h1 > 0.0 {
        sum.through(z1, k, -(1.0 + r) * h1, -(1.0 + r) * h1 + bend * h1 * h1);
        let mixed = -bend * h1 * h2;
        sum.aa += 2.0 * mixed * z1 * z2;
        sum.ab -= mixed * k * (z1 + z2);
        sum.bb += 2.0 * mixed * k * k;
    }
    sum.through(z2, k, r * h2, r * h2 + bend * h2 * h2);
}

/// Shape beyond which the records are taken to say "one age".
const SHAPE_MOST: f64 = 1000.0;
/// Shape below which they are taken to say nothing.
const SHAPE_LEAST: f64 = 0.02;

pub(super) fn fit(lives: &[Wear]) -> Result<WeibullFit, WearFault> {
    if lives.is_empty() {
        return Err(WearFault::Empty);
    }
    if lives.iter().all(|life| matches!(life, Wear::Holding(_))) {
        return Err(WearFault::AllHolding { bonds: lives.len() });
    }
    if one_age(lives) {
        return Err(WearFault::OneAge);
    }
    let logs: Vec<f64> = lives.iter().filter_map(middle).map(ln).collect();
    let mut beta = logs.iter().sum::<f64>() / logs.len().max(1) as f64 + 0.2;
    let mut a = 0.3;
    let mut here = slope(lives, a, beta);
    // Each step at least nearly doubles the digits near the top; 200 is far
    // beyond what any records took.
    for _ in 0..200 {
        let Some((da, db)) = climb(lives, &here, a, beta) else { break };
        a += da;
        beta += db;
        here = slope(lives, a, beta);
        if da.abs() + db.abs() < 1e-11 {
            break;
        }
        if exp(a) > SHAPE_MOST {
            return Err(WearFault::OneAge);
        }
    }
    let fit = WeibullFit { shape: exp(a), scale_days: exp(beta), log_likelihood: here.value };
    let bounded = fit.shape > SHAPE_LEAST && fit.scale_days.is_finite() && (beta - logs[0]).abs() < 100.0;
    if bounded && here.value.is_finite() { Ok(fit) } else { Err(WearFault::Unbounded) }
}

/// A step that raises the likelihood; none at the top.
fn climb(lives: &[Wear], here: &Slope, a: f64, beta: f64) -> Option<(f64, f64)> {
    let mut damping = 0.0;
    for _ in 0..60 {
        let (aa, bb) = (here.aa - damping, here.bb - damping);
        let det = aa * bb - here.ab * here.ab;
        if aa < 0.0 && det > 0.0 {
            let da = (-(bb * here.a) + here.ab * here.b) / det;
            let db = (here.ab * here.a - aa * here.b) / det;
            // No step beyond a factor of e in either unknown.
            let shrink = (1.0 / da.abs().max(db.abs())).min(1.0);
            let (da, db) = (da * shrink, db * shrink);
            let there = slope(lives, a + da, beta + db).value;
            if there >= here.value - 1e-13 * here.value.abs() {
                return Some((da, db));
            }
        }
        damping = if damping == 0.0 { 1e-3 * (here.aa.abs() + here.bb.abs() + 1.0) } else { damping * 4.0 };
    }
    None
}

/// Whether one age explains every life: then the likelihood has no maximum.
fn one_age(lives: &[Wear]) -> bool {
    let mut from: f64 = 0.0;
    let mut to = f64::INFINITY;
    for life in lives {
        match *life {
            Wear::Holding(t) => from = from.max(t.to_days()),
            Wear::Slipped(t) => {
                from = from.max(t.to_days());
                to = to.min(t.to_days());
            }
            Wear::SlippedBetween(t1, t2) => {
                from = from.max(t1.to_days());
                to = to.min(t2.to_days());
            }
        }
    }
    from <= to
}

fn middle(life: &Wear) -> Option<f64> {
    match *life {
        Wear::Holding(t) => (t.to_days() > 0.0).then(|| t.to_days()),
        Wear::Slipped(t) => Some(t.to_days()),
        Wear::SlippedBetween(t1, t2) => Some((t1 + t2).to_days() / 2.0),
    }
}

/// Logarithm of the likelihood of one life, without the terms that do not
/// depend on the curve.
pub(super) fn log_likelihood(life: &Wear, k: f64, beta: f64) -> f64 {
    slope(std::slice::from_ref(life), ln(k), beta).value
}
