//! White gloss parted from the hair's own light, by colour or by brightness.

use super::slice::{DARKEST, NEIGHBOURS, NOISY, SHINE_ALLOWED, Slice, WHITE_KNOWN, mean};
use crate::noise::Noise;
use measure::linear::least_squares;
use measure::real::{exp, powi};

/// How far a slice's light stays from so much of the hair's colour and so much white,
/// relative, though nothing is wrong; and how much white is likely in a slice, as a
/// share of the hair's own light. Where white tells itself worse than that from the
/// hair's colour it is not parted by colour.
const PARTED_TO: f64 = 0.007;

const LIKELY_WHITE: f64 = 0.5;

/// The share of slices, the darkest, that are taken for matt where white has the hair's
/// own colour and can be told by brightness alone.
const MATT_IF_GREY: f64 = 0.12;

/// Slices parted into hair and white.
pub(super) struct Parted {
    pub(super) slices: Vec<Slice>,
    /// How far the hair's lightness is in doubt where brightness alone parted it, relative.
    pub(super) doubt: f64,
}

/// Slices parted into the hair's colour and white, that colour being found from
/// the slices with least white; nothing when they do not settle it.
pub(super) fn parted(mut slices: Vec<Slice>, white: [f64; 3], noise: &Noise, pixels: f64) -> Option<Parted> {
    let total = |light: &[f64; 3]| light.iter().sum::<f64>();
    slices.sort_by(|p, q| total(&p.light).total_cmp(&total(&q.light)));
    let count = |share: f64| ((slices.len() as f64 * share).ceil() as usize).max(1);
    let mut own = mean(slices.iter().take(count(DARKEST)).map(|slice| &slice.light))?;
    let mut told = 1.0;
    for _ in 0..8 {
        let to_share = total(&white) / total(&own);
        let spread = noise.of_mean(own, pixels);
        let allowed = NOISY * NOISY * total(&own) / 3.0;
        let weights = [0, 1, 2].map(|c| 1.0 / (own[c].abs() + 1e-4 + spread[c] * spread[c] / allowed));
        let error = PARTED_TO * PARTED_TO * total(&own) / 3.0;
        let (mut rows, mut trusts) = ([0, 1, 2].map(|c| [own[c], white[c]]).to_vec(), weights.to_vec());
        told = how_well_told(&rows, &weights, error, to_share);
        rows.push([0.0, to_share]);
        trusts.push(error / (LIKELY_WHITE * LIKELY_WHITE));
        let part = |light: [f64; 3]| least_squares(&rows, &[light[0], light[1], light[2], 0.0], &trusts);
        for slice in &mut slices {
            let [shade, shine] = part(slice.light)?;
            slice.shade = shade;
            slice.shine = shine * to_share;
        }
        let mut variance = 0.0;
        for c in 0..3 {
            let mut off = [0.0; 3];
            off[c] = spread[c];
            let [_, shine] = part(off)?;
            variance += shine * shine * to_share * to_share;
        }
        even_out(&mut slices, variance.sqrt());
        slices.sort_by(|p, q| p.shine.total_cmp(&q.shine));
        let least = slices[slices.len() / 20].shine;
        own = mean(slices.iter().filter(|slice| slice.shine <= least + SHINE_ALLOWED / 2.0).map(|slice| &slice.light))?;
    }
    let doubt = part_by_brightness(&mut slices, 1.0 - told);
    slices.sort_by_key(|slice| slice.place);
    Some(Parted { slices, doubt })
}

/// How well white is told from the hair's colour: 1 wholly, 0 where the hair has the
/// colour of the light, as grey and white hair has.
fn how_well_told(rows: &[[f64; 2]], weights: &[f64; 3], error: f64, to_share: f64) -> f64 {
    let sum = |i: usize, j: usize| rows.iter().zip(weights).map(|(row, w)| w * row[i] * row[j]).sum::<f64>();
    let apart = sum(0, 0) * sum(1, 1) - sum(0, 1) * sum(0, 1);
    if apart <= 0.0 {
        return 0.0;
    }
    let variance = error * sum(0, 0) / apart * to_share * to_share;
    LIKELY_WHITE * LIKELY_WHITE / (LIKELY_WHITE * LIKELY_WHITE + variance)
}

/// Takes what a slice is brighter than the darkest for white, for so large a share as
/// colour does not tell; and says how far that leaves the hair's lightness in doubt.
fn part_by_brightness(slices: &mut [Slice], share: f64) -> f64 {
    let mut totals: Vec<f64> = slices.iter().map(|slice| slice.light.iter().sum()).collect();
    totals.sort_by(f64::total_cmp);
    let darkest = |part: f64| {
        let count = ((totals.len() as f64 * part).ceil() as usize).max(1);
        totals[..count].iter().sum::<f64>() / count as f64
    };
    let matt = darkest(MATT_IF_GREY);
    if matt <= 0.0 {
        return share;
    }
    for slice in &mut *slices {
        let brighter = (slice.light.iter().sum::<f64>() / matt - 1.0).max(0.0);
        slice.shine = (1.0 - share) * slice.shine + share * brighter;
        slice.shade = (1.0 - share) * slice.shade + share;
    }
    // Strands are darker here and there for other reasons too; and where gloss lies over
    // nearly all of the hair the darkest slices have some of it.
    share * (0.5 * (darkest(DARKEST) / matt - 1.0) + 0.01)
}

/// Evens out white along the tress when a single slice is unsure of it. Or noise
/// would choose the slices with least white, and be taken for the hair's colour.
fn even_out(slices: &mut [Slice], unsure: f64) {
    // A normal density of this width lessens the spread as wanted: by the root of 2 w root pi.
    let width = (powi(unsure / WHITE_KNOWN, 2) / (2.0 * std::f64::consts::PI.sqrt())).min(NEIGHBOURS);
    let near = |slice: &Slice| {
        let weigh = |other: &Slice| exp(-powi((other.place as f64 - slice.place as f64) / width, 2) / 2.0);
        let all: f64 = slices.iter().map(weigh).sum();
        slices.iter().map(|other| weigh(other) * other.shine).sum::<f64>() / all
    };
    if width > 0.3 {
        let evened: Vec<f64> = slices.iter().map(near).collect();
        slices.iter_mut().zip(evened).for_each(|(slice, shine)| slice.shine = shine);
    }
}
