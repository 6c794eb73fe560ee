//! The likeliest stretch of the mean head, given readings and what heads people have.

use crate::measures::{Doubt, Measures, SizeSigma, Tape};
use crate::model::{Template, whole_length};
use measure::linear::Matrix3;
use measure::vector::Vec3;
use measure::{Length, real};

/// Means of length, breadth and height above the ear notches, mm, women and
/// men counting the same.
///
/// *Source*: key `ansur2` (all three) and key `niosh2003` (length and breadth), the
/// mean of the two surveys, of the halves kept for tuning.
pub(super) const MEAN_SIZES: Vec3 = [193.18, 150.40, 128.61];

/// Standard deviations of the logarithms of the same.
///
/// *Source*: key `ansur2`, within each sex, and half the distance between the
/// sexes.
pub(super) const SPREAD: Vec3 = [0.0444, 0.0417, 0.0531];

/// Correlations length-breadth, length-height, breadth-height.
///
/// *Source*: as `SPREAD`.
pub(super) const CORRELATION: Vec3 = [0.427, 0.420, 0.444];

/// One standard error of a calliper reading, mm: pressing hair and skin aside
/// by eye. *Source*: our choice.
pub(super) const CALLIPER_ERROR: f64 = 2.0;

/// One thing measured: what it is, what it should read on the bare scalp, and
/// one standard error.
#[derive(Debug, Clone, Copy)]
pub(super) struct TapeReading {
    pub(super) tape: Tape,
    pub(super) scalp: f64,
    pub(super) error: f64,
}

/// The best stretch for some readings and how well it fits.
#[derive(Debug, Clone, Copy)]
pub(super) struct Solution {
    pub(super) stretch: Vec3,
    /// Covariance of the three log-stretches.
    pub(super) covariance: [Vec3; 3],
    /// Sum of squared standardised misfits, prior included.
    pub(super) misfit: f64,
}

/// The readings that say something about size. The tapes that end at a
/// hairline are not among them: where hair begins differs more between people
/// than skulls do, so they place landmarks instead.
pub(super) fn readings(measures: &Measures) -> Vec<TapeReading> {
    let allowance = measures.hair_under_tape.allowance();
    let mut readings = vec![TapeReading {
        tape: Tape::Circumference,
        scalp: measures.circumference.to_mm() - allowance.around,
        error: allowance.around_error,
    }];
    if let Some(over) = measures.ear_to_ear_over_crown {
        readings.push(TapeReading { tape: Tape::EarToEarOverCrown, scalp: over.to_mm() - allowance.over, error: allowance.over_error });
    }
    for (tape, size) in [(Tape::Length, measures.length), (Tape::Breadth, measures.breadth)] {
        if let Some(size) = size {
            readings.push(TapeReading { tape, scalp: size.to_mm(), error: CALLIPER_ERROR });
        }
    }
    readings
}

/// What a reading should be on the template stretched by `s`, and its slope
/// against the three log-stretches.
pub(super) fn predicted(template: &Template, tape: Tape, s: Vec3) -> f64 {
    match tape {
        Tape::EarToEarOverCrown => whole_length(&template.over, s),
        Tape::Length => template.sizes(s)[0],
        Tape::Breadth => template.sizes(s)[1],
        _ => whole_length(&template.around, s),
    }
}

pub(super) fn exponentials(a: Vec3) -> Vec3 {
    a.map(real::exp)
}

/// Gauss-Newton on the three log-stretches; the sums are so nearly linear in
/// them that six steps end at the last digit.
pub(super) fn solve(template: &Template, readings: &[TapeReading]) -> Solution {
    /// Step of the difference quotients, in log-stretch.
    const STEP: f64 = 1e-5;
    let weights = inverse(prior_covariance());
    let mut a = [0.0; 3];
    let mut normal = weights;
    let mut misfit = 0.0;
    for _ in 0..7 {
        let nudged = [0, 1, 2].map(|k| {
            let mut b = a;
            b[k] += STEP;
            exponentials(b)
        });
        let s = exponentials(a);
        let logs = template.sizes(s).map(real::ln);
        let off = [0, 1, 2].map(|k| logs[k] - real::ln(MEAN_SIZES[k]));
        let slopes = nudged.map(|n| template.sizes(n).map(real::ln)); // [stretch][size]
        let jacobian = [0, 1, 2].map(|size| [0, 1, 2].map(|k: usize| (slopes[k][size] - logs[size]) / STEP));
        normal = [[0.0; 3]; 3];
        let mut pull = [0.0; 3];
        misfit = 0.0;
        for i in 0..3 {
            for j in 0..3 {
                misfit += off[i] * weights[i][j] * off[j];
                for k in 0..3 {
                    pull[k] += jacobian[i][k] * weights[i][j] * off[j];
                    for l in 0..3 {
                        normal[k][l] += jacobian[i][k] * weights[i][j] * jacobian[j][l];
                    }
                }
            }
        }
        for reading in readings {
            let here = predicted(template, reading.tape, s);
            let slope = nudged.map(|n| (predicted(template, reading.tape, n) - here) / STEP);
            let off = (here - reading.scalp) / reading.error;
            misfit += off * off;
            for k in 0..3 {
                pull[k] += slope[k] * off / reading.error;
                for l in 0..3 {
                    normal[k][l] += slope[k] * slope[l] / (reading.error * reading.error);
                }
            }
        }
        let inverse = inverse(normal);
        for k in 0..3 {
            let step: f64 = (0..3).map(|l| inverse[k][l] * pull[l]).sum();
            // No head is half or twice the mean head.
            a[k] = (a[k] - step).clamp(-0.6, 0.6);
        }
    }
    Solution { stretch: exponentials(a), covariance: inverse(normal), misfit }
}

fn prior_covariance() -> Matrix3 {
    let [lb, lh, bh] = CORRELATION;
    let r = [[1.0, lb, lh], [lb, 1.0, bh], [lh, bh, 1.0]];
    [0, 1, 2].map(|i: usize| [0, 1, 2].map(|j: usize| r[i][j] * SPREAD[i] * SPREAD[j]))
}

/// The inverse of a positive matrix; no numbers where it is none, as the measures are none then.
fn inverse(m: Matrix3) -> Matrix3 {
    measure::linear::inverse(&m).unwrap_or([[f64::NAN; 3]; 3])
}

/// One standard error of each size, from the covariance of the stretches.
pub(super) fn sigma(template: &Template, best: &Solution, sizes: Vec3) -> SizeSigma {
    const STEP: f64 = 1e-5;
    let slopes = [0, 1, 2].map(|k: usize| {
        let mut s = best.stretch;
        s[k] *= 1.0 + STEP;
        template.sizes(s)
    });
    let error = |size: usize| {
        let g = [0, 1, 2].map(|k: usize| (slopes[k][size] - sizes[size]) / STEP);
        let variance: f64 = (0..3).map(|k| (0..3).map(|l| g[k] * best.covariance[k][l] * g[l]).sum::<f64>()).sum();
        Length::mm(variance.max(0.0).sqrt())
    };
    SizeSigma { length: error(0), breadth: error(1), tragion_to_top: error(2) }
}

/// The measure that does not go with the others, if one does not.
pub(super) fn disagreement(template: &Template, readings: &[TapeReading]) -> Option<Doubt> {
    /// Standard errors apart that ask for a second measurement: by chance in
    /// about one client of eighty.
    const LIMIT: f64 = 2.5;
    if readings.len() < 2 {
        return None;
    }
    let mut worst = 0.0;
    let mut doubtful: Option<(f64, TapeReading, f64)> = None;
    for leave in 0..readings.len() {
        let others: Vec<TapeReading> = readings.iter().enumerate().filter(|(i, _)| *i != leave).map(|(_, r)| *r).collect();
        let rest = solve(template, &others);
        let out = readings[leave];
        let expected = predicted(template, out.tape, rest.stretch);
        // The error of the tape over the top was found against heads whose
        // heights were not known, so it already holds what the rest cannot tell.
        let unknown = if out.tape == Tape::EarToEarOverCrown { 0.0 } else { spread_of(template, out.tape, &rest) };
        let own = out.error * out.error + unknown;
        let apart = (out.scalp - expected) / own.sqrt();
        worst = f64::max(worst, apart.abs());
        if doubtful.as_ref().is_none_or(|(least, _, _)| rest.misfit < *least) {
            doubtful = Some((rest.misfit, out, expected));
        }
    }
    let (_, out, expected) = doubtful.filter(|_| worst > LIMIT)?;
    Some(Doubt { tape: out.tape, longer: Length::mm(out.scalp - expected) })
}

/// Variance of a predicted reading from what the stretches are not sure of.
pub(super) fn spread_of(template: &Template, tape: Tape, rest: &Solution) -> f64 {
    const STEP: f64 = 1e-5;
    let here = predicted(template, tape, rest.stretch);
    let g = [0, 1, 2].map(|k: usize| {
        let mut s = rest.stretch;
        s[k] *= 1.0 + STEP;
        (predicted(template, tape, s) - here) / STEP
    });
    (0..3).map(|k| (0..3).map(|l| g[k] * rest.covariance[k][l] * g[l]).sum::<f64>()).sum()
}
