//! The hair strand by strand: what each place across sends back, averaged along
//! its strand.
//!
//! A strand is one to two pixels wide in a photo of a tress, and dark strands are
//! noisy; but it runs the whole length of the tress, so hundreds of its pixels
//! tell its light together. Strands lean and wave: each slice is shifted until it
//! lies best on the others.

use crate::correction::Correction;
use crate::geometry::{Homography, Point, inside};
use crate::hair::{KeptSlice, SLICES, frame};
use crate::light::Decoding;
use crate::picture::Picture;
use crate::softness::softness;
use measure::real::{exp, hypot, powi};

/// Places across for each pixel: finer than a pixel, because a leaning strand
/// meets the pixels in every position.
const PLACES_EACH_PIXEL: f64 = 4.0;

/// The part of the tress that is read, both ways: not its very edges.
const INNER: std::ops::Range<f64> = 0.02..0.98;

/// The most places across.
const MOST_PLACES: usize = 800;

/// Rows of pixels looked at, at the most.
const MOST_ROWS: f64 = 500.0;

/// Neighbouring places whose light is made even together.
const BLOCK: usize = 16;

/// Light at each place across the tress.
pub(crate) struct Strands {
    /// Mean light, or nothing where no pixel fell.
    pub places: Vec<[f64; 3]>,
    /// Share of what varies across a slice that is the same in the other slices.
    pub coherence: f64,
}

/// One slice: sums of light and pixels at each place.
struct Row {
    sums: Vec<[f64; 3]>,
    counts: Vec<f64>,
    /// Its slice.
    place: usize,
    /// How far its strands lie from where they lie in the others, at the middles
    /// of equal parts of the width.
    shifts: Vec<f64>,
}

impl Row {
    /// Makes its light even and takes the gloss away.
    fn correct(&mut self, correction: &Correction, map: &Homography, slice: &KeptSlice) {
        let flat = correction.fall;
        let count = self.counts.len();
        for start in (0..count).step_by(BLOCK) {
            let end = (start + BLOCK).min(count);
            let here = map.map((start + end) as f64 / (2 * count) as f64, (slice.place as f64 + 0.5) / SLICES as f64);
            let even = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]].map(|one| flat.evened(one, here));
            for (sum, n) in self.sums[start..end].iter_mut().zip(&self.counts[start..end]) {
                let seen = *sum;
                *sum = [0, 1, 2].map(|c| {
                    let evened: f64 = (0..3).map(|k| seen[k] * even[k][c]).sum();
                    (evened - slice.gloss[c] * n) / slice.second
                });
            }
        }
    }

    /// Brightness at each place about its mean, noise smoothed over a pixel.
    fn profile(&self, pitch: f64) -> Vec<f64> {
        let reach = (pitch / 2.0).ceil() as usize;
        let n = self.counts.len();
        let mut list: Vec<f64> = (0..n)
            .map(|i| {
                let (low, high) = (i.saturating_sub(reach), (i + reach + 1).min(n));
                let count: f64 = self.counts[low..high].iter().sum();
                let sum: f64 = self.sums[low..high].iter().flatten().sum();
                if count > 0.0 { sum / count } else { f64::NAN }
            })
            .collect();
        let known = || list.iter().filter(|v| v.is_finite());
        let mean = known().sum::<f64>() / known().count().max(1) as f64;
        list.iter_mut().for_each(|v| *v = if v.is_finite() && mean > 0.0 { *v / mean - 1.0 } else { 0.0 });
        list
    }
}

impl Strands {
    /// Reads the slices that were kept, what gloss they have taken away; nothing
    /// where there are none.
    pub fn sample(photo: &Picture, correction: &Correction, outline: &[Point], kept: &[KeptSlice]) -> Option<Self> {
        let corners = frame(outline);
        let map = Homography::to_corners(&corners);
        let side = |i: usize, j: usize| hypot(corners[i][0] - corners[j][0], corners[i][1] - corners[j][1]);
        let (across, along) = ((side(0, 1) + side(3, 2)) / 2.0, (side(0, 3) + side(1, 2)) / 2.0);
        let count = ((across * PLACES_EACH_PIXEL) as usize).clamp(1, MOST_PLACES);
        let pitch = count as f64 / across;
        let mut rows: Vec<Option<Row>> = (0..SLICES).map(|_| None).collect();
        for slice in kept {
            rows[slice.place] = Some(Row { place: slice.place, sums: vec![[0.0; 3]; count], counts: vec![0.0; count], shifts: vec![0.0] });
        }
        let stride = (along / MOST_ROWS).ceil().max(1.0) as usize;
        gather(photo, &correction.decoding, outline, &map.back()?, stride, &mut rows)?;
        for slice in kept {
            if let Some(row) = &mut rows[slice.place] {
                row.correct(correction, &map, slice);
            }
        }
        let mut rows: Vec<Row> = rows.into_iter().flatten().collect();
        let coherence = align(&mut rows, pitch);
        let softness = softness(photo, &correction.decoding, correction.chart());
        let places = sharpened(&merged(&rows), (softness * pitch).max(LEAST_SOFTNESS));
        let margin = (pitch * MARGIN).ceil() as usize;
        let places = places.get(margin..places.len().saturating_sub(margin))?.to_vec();
        (!places.is_empty()).then_some(Self { places, coherence })
    }
}

/// Sums the photo's pixels in the tress at their slices and places. Pixels lie in
/// rows of the photo, strands along any direction: each pixel is asked by `back`
/// where in the tress it lies. Along the strands one in `stride` is taken.
fn gather(photo: &Picture, light: &Decoding, outline: &[Point], back: &Homography, stride: usize, rows: &mut [Option<Row>]) -> Option<()> {
    let corners = frame(outline);
    let upright = (corners[3][1] - corners[0][1]).abs() >= (corners[3][0] - corners[0][0]).abs();
    let (step_x, step_y) = if upright { (1, stride) } else { (stride, 1) };
    let bound = |k: usize, pick: fn(f64, f64) -> f64| corners.iter().map(|p| p[k]).reduce(pick).unwrap_or(0.0).max(0.0) as usize;
    let (width, height) = photo.size();
    let (right, bottom) = (bound(0, f64::max).min(width.checked_sub(1)?), bound(1, f64::max).min(height.checked_sub(1)?));
    for y in (bound(1, f64::min)..=bottom).step_by(step_y) {
        for x in (bound(0, f64::min)..=right).step_by(step_x) {
            let at = [x as f64, y as f64];
            let [u, v] = back.map(at[0], at[1]);
            if !INNER.contains(&u) || !INNER.contains(&v) || (outline.len() != 4 && !inside(outline, at)) {
                continue;
            }
            let slice = ((v - INNER.start) / (INNER.end - INNER.start) * SLICES as f64) as usize;
            let Some(row) = &mut rows[slice.min(SLICES - 1)] else { continue };
            let place = ((u * row.counts.len() as f64) as usize).min(row.counts.len() - 1);
            let codes = photo.codes(x, y);
            for c in 0..3 {
                row.sums[place][c] += light[c][usize::from(codes[c])];
            }
            row.counts[place] += 1.0;
        }
    }
    Some(())
}

/// How far strands at a place lie off, between the middles of equal parts.
fn shift_at(shifts: &[f64], place: usize, count: usize) -> f64 {
    let at = ((place as f64 + 0.5) / count as f64 * shifts.len() as f64 - 0.5).clamp(0.0, (shifts.len() - 1) as f64);
    let low = at as usize;
    let high = (low + 1).min(shifts.len() - 1);
    shifts[low] + (at - low as f64) * (shifts[high] - shifts[low])
}

impl Row {
    /// Which of its own places shows the strand that lies at `place` in all rows.
    fn from(&self, place: usize) -> Option<usize> {
        let count = self.counts.len();
        let from = place as f64 + shift_at(&self.shifts, place, count);
        (from > -0.5 && from < count as f64 - 0.5).then_some((from + 0.5) as usize)
    }
}

/// Mean light at each place of all rows, each shifted.
fn merged(rows: &[Row]) -> Vec<Option<[f64; 3]>> {
    let n = rows.first().map_or(0, |row| row.counts.len());
    (0..n)
        .map(|place| {
            let (mut sum, mut count) = ([0.0; 3], 0.0);
            for row in rows {
                if let Some(from) = row.from(place) {
                    count += row.counts[from];
                    for c in 0..3 {
                        sum[c] += row.sums[from][c];
                    }
                }
            }
            (count > 0.0).then(|| sum.map(|s| s / count))
        })
        .collect()
}

/// Pixels left out at both edges of the tress, where it mixes with the board.
const MARGIN: f64 = 4.0;

/// Rows less alike than this do not show the same strands: chance alone, with
/// the best of many shifts, reaches a third.
pub(crate) const COHERENT: f64 = 0.45;

/// Light below this is nothing.
const DARK: f64 = 1e-5;

/// The least width of the normal density that is undone, in places.
const LEAST_SOFTNESS: f64 = 0.5;

/// Steps of sharpening: more follow the noise.
const SHARPENING: usize = 12;

/// What lay before the lens and the pixels spread each place over a normal density of
/// this width: light stays light, never less than nothing.
///
/// *Source*: Richardson 1972, Lucy 1974; key `richardson1972`.
fn sharpened(seen: &[Option<[f64; 3]>], width: f64) -> Vec<[f64; 3]> {
    let mut first: Vec<[f64; 3]> = Vec::with_capacity(seen.len());
    let Some(start) = seen.iter().flatten().next() else { return Vec::new() };
    for place in seen {
        first.push(place.map_or(*first.last().unwrap_or(start), |light| light.map(|l| l.max(DARK))));
    }
    let mut found = first.clone();
    for _ in 0..SHARPENING {
        let again = gathered(&found, width);
        let off: Vec<[f64; 3]> = first.iter().zip(&again).map(|(p, q)| [0, 1, 2].map(|c| p[c] / q[c].max(DARK))).collect();
        for (place, more) in found.iter_mut().zip(gathered(&off, width)) {
            *place = [0, 1, 2].map(|c| place[c] * more[c]);
        }
    }
    found
}

/// Means about each place, weighed by a normal density of this width.
fn gathered(lights: &[[f64; 3]], width: f64) -> Vec<[f64; 3]> {
    let reach = (3.0 * width).ceil() as i64;
    let mut weights: Vec<f64> = (-reach..=reach).map(|off| exp(-powi(off as f64 / width, 2) / 2.0)).collect();
    let all: f64 = weights.iter().sum();
    weights.iter_mut().for_each(|w| *w /= all);
    let last = lights.len() as i64 - 1;
    (0..=last)
        .map(|place| {
            let mut sum = [0.0; 3];
            for (off, w) in (-reach..=reach).zip(&weights) {
                let light = lights[(place + off).clamp(0, last) as usize];
                for c in 0..3 {
                    sum[c] += w * light[c];
                }
            }
            sum
        })
        .collect()
}

/// Into how many parts the width is cut when the rows are laid on one another:
/// first whole, then finer, as strands need not all wave alike.
const PARTS: [usize; 4] = [1, 3, 7, 7];

/// How far strands may wander between neighbouring slices, in pixels.
const WANDER: f64 = 0.4;

/// Shifts each row until it lies best on the rows about it, then on all; gives
/// the mean correlation of a row with the others.
fn align(rows: &mut [Row], pitch: f64) -> f64 {
    let profiles: Vec<Vec<f64>> = rows.iter().map(|row| row.profile(pitch)).collect();
    let Some(n) = profiles.first().map(Vec::len) else { return 0.0 };
    let middle = rows.len() / 2;
    let mut sum = vec![0.0; n];
    add(&mut sum, &rows[middle], &profiles[middle]);
    let whole = Part { from: 0, to: n, middle: n / 2 };
    // From the middle to both ends, each row near the shift of the one before it.
    let order: Vec<(usize, usize)> = (middle + 1..rows.len()).map(|i| (i, i - 1)).chain((0..middle).rev().map(|i| (i, i + 1))).collect();
    for (i, before) in order {
        let apart = rows[i].place.abs_diff(rows[before].place) as f64;
        let reach = (pitch * (0.5 + WANDER * apart)).ceil() as i64;
        let about = rows[before].shifts[0];
        rows[i].shifts[0] = best_shift(&sum, &profiles[i], &whole, about, reach).0;
        add(&mut sum, &rows[i], &profiles[i]);
    }
    let mut coherence = 0.0;
    let reach = (1.5 * pitch).ceil() as i64;
    for parts in PARTS {
        coherence = 0.0;
        sum = vec![0.0; n];
        for (row, profile) in rows.iter().zip(&profiles) {
            add(&mut sum, row, profile);
        }
        let count = rows.len() as f64;
        for (row, profile) in rows.iter_mut().zip(&profiles) {
            let mut own = vec![0.0; n];
            add(&mut own, row, profile);
            let others: Vec<f64> = sum.iter().zip(&own).map(|(all, own)| all - own).collect();
            let before = row.shifts.clone();
            row.shifts = (0..parts)
                .map(|k| {
                    let middle = (2 * k + 1) * n / (2 * parts);
                    let half = if parts == 1 { n } else { n / parts };
                    let part = Part { from: middle.saturating_sub(half), to: (middle + half).min(n), middle };
                    let (shift, alike) = best_shift(&others, profile, &part, shift_at(&before, middle, n), reach);
                    coherence += alike / (count * parts as f64);
                    shift
                })
                .collect();
        }
    }
    coherence
}

/// Adds a row's profile where it belongs.
fn add(sum: &mut [f64], row: &Row, profile: &[f64]) {
    for (place, all) in sum.iter_mut().enumerate() {
        if let Some(from) = row.from(place) {
            *all += profile[from];
        }
    }
}

/// Part of the width, its middle counting most.
struct Part {
    from: usize,
    to: usize,
    middle: usize,
}

/// The shift near `about` at which part of `profile` is most like `sum`, and
/// their correlation there.
fn best_shift(sum: &[f64], profile: &[f64], part: &Part, about: f64, reach: i64) -> (f64, f64) {
    let n = sum.len() as i64;
    let about = about.round() as i64;
    let correlation = |shift: i64| {
        let (mut xy, mut xx, mut yy) = (0.0, 1e-12, 1e-12);
        // Profiles are smooth over a pixel: every second place tells enough.
        for place in (part.from..part.to).step_by(2) {
            let from = place as i64 + shift;
            if (0..n).contains(&from) {
                let (x, y) = (sum[place], profile[from as usize]);
                let off = place.abs_diff(part.middle) as f64 / (part.to - part.from) as f64;
                let w = 1.0 - off;
                xy += w * x * y;
                xx += w * x * x;
                yy += w * y * y;
            }
        }
        xy / (xx * yy).sqrt()
    };
    let (best, alike) =
        (about - reach..=about + reach).map(|shift| (shift, correlation(shift))).max_by(|p, q| p.1.total_cmp(&q.1)).unwrap_or((0, 0.0));
    // Between steps, by the parabola through three.
    let (low, high) = (correlation(best - 1), correlation(best + 1));
    let bend = low + high - 2.0 * alike;
    let off = if bend < 0.0 { (0.5 * (low - high) / bend).clamp(-0.5, 0.5) } else { 0.0 };
    (best as f64 + off, alike)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Strands of chance lightness (splitmix64), five places wide.
    fn strand(place: i64) -> f64 {
        let mut z = (place.div_euclid(5) as u64).wrapping_mul(0x9e37_79b9_7f4a_7c15);
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        0.1 + 0.05 * ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }

    #[test]
    fn strands_that_lean_and_wave_are_laid_on_one_another() {
        let (n, shift) = (400_usize, |i: usize| (8.0 * (i as f64 / 12.0).sin()).round() as i64);
        let mut rows: Vec<Row> = (0..SLICES)
            .map(|i| Row {
                place: i,
                sums: (0..n as i64).map(|p| [strand(p - shift(i)); 3]).collect(),
                counts: vec![1.0; n],
                shifts: vec![0.0],
            })
            .collect();
        let coherence = align(&mut rows, 4.0);
        assert!(coherence > 0.95, "{coherence}");
        let about = rows[20].shifts[0] - shift(20) as f64;
        for (i, row) in rows.iter().enumerate() {
            assert!(row.shifts.iter().all(|found| (found - about - shift(i) as f64).abs() < 0.6), "{i} {:?} {}", row.shifts, shift(i));
        }
    }

    #[test]
    fn rows_with_nothing_in_common_are_not_coherent() {
        let mut rows: Vec<Row> = (0..SLICES)
            .map(|i| Row {
                place: i,
                sums: (0..400).map(|p| [strand(p + 7919 * i as i64); 3]).collect(),
                counts: vec![1.0; 400],
                shifts: vec![0.0],
            })
            .collect();
        let coherence = align(&mut rows, 4.0);
        assert!(coherence < COHERENT, "{coherence}");
    }

    #[test]
    fn sharpening_undoes_softness_and_keeps_the_light() {
        let sharp: Vec<[f64; 3]> = (0..200).map(|p| [if p / 10 % 2 == 0 { 0.2 } else { 0.05 }; 3]).collect();
        let soft = gathered(&sharp, 3.0);
        let again = sharpened(&soft.iter().map(|light| Some(*light)).collect::<Vec<_>>(), 3.0);
        let off = |list: &[[f64; 3]]| list[20..180].iter().zip(&sharp[20..180]).map(|(p, q)| (p[0] - q[0]).abs()).sum::<f64>();
        assert!(off(&again) < 0.75 * off(&soft), "{} {}", off(&again), off(&soft));
        let total = |list: &[[f64; 3]]| list[20..180].iter().map(|light| light[0]).sum::<f64>();
        assert!((total(&again) / total(&sharp) - 1.0).abs() < 1e-3);
    }
}
