//! How soft the photo is, from the edges of the chart's patches.

use crate::geometry::{Homography, Point};
use crate::light::Decoding;
use crate::picture::Picture;
use colour::chart::{COLUMNS, NEUTRALS, ROWS};

/// From a patch's middle to its edge, in distances between patches.
const EDGE: f64 = 0.4;

/// How far on both sides of an edge pixels are looked at, in distances between patches.
const WINDOW: f64 = 0.09;

/// Parts of the window.
const BINS: usize = 24;

/// Variance that parts and the lines between their middles add: 1/12 and 1/6
/// (closed forms of a box and a triangle).
const OWN: f64 = 0.25;

/// Steps within each part when the area is summed.
const FINE: usize = 8;

/// Fewer edges than this settle nothing.
const LEAST_EDGES: usize = 5;

/// What a photo is taken for where its chart does not tell, in pixels: our choice,
/// a little over a pixel's own width.
const USUAL: f64 = 0.6;

/// Spread of a point of light in the photo, in pixels (standard deviation of a normal density).
///
/// *Accuracy*: a tenth of a pixel or a tenth of itself on plain edges.
pub(crate) fn softness(photo: &Picture, light: &Decoding, chart: &[Point; 4]) -> f64 {
    let map = Homography::to_corners(chart);
    let mut found: Vec<f64> = NEUTRALS[1..4]
        .iter()
        .flat_map(|index| {
            let middle = [(index % COLUMNS) as f64 + 0.5, (index / COLUMNS) as f64 + 0.5];
            [[1.0, 0.0], [-1.0, 0.0], [0.0, 1.0], [0.0, -1.0]].map(|out| edge(photo, light, &map, middle, out))
        })
        .flatten()
        .collect();
    if found.len() < LEAST_EDGES {
        return USUAL;
    }
    found.sort_by(f64::total_cmp);
    found[found.len() / 2]
}

/// The spread at one edge of a patch, `out` of its middle.
fn edge(photo: &Picture, light: &Decoding, map: &Homography, middle: [f64; 2], out: [f64; 2]) -> Option<f64> {
    let at = |off: f64, side: f64| {
        let place = [0, 1].map(|k| middle[k] + out[k] * (EDGE + off) + out[1 - k] * side);
        map.map(place[0] / COLUMNS as f64, place[1] / ROWS as f64)
    };
    let (inner, outer) = (at(-WINDOW, 0.0), at(WINDOW, 0.0));
    let along = [outer[0] - inner[0], outer[1] - inner[1]];
    let length = (along[0] * along[0] + along[1] * along[1]).sqrt();
    let along = along.map(|v| v / length.max(1e-9));
    let (mut sums, mut counts) = ([0.0; BINS], [0.0; BINS]);
    let (width, height) = photo.size();
    let ends = [at(-WINDOW, -0.2), at(-WINDOW, 0.2), at(WINDOW, -0.2), at(WINDOW, 0.2)];
    let bound = |k: usize, pick: fn(f64, f64) -> f64| ends.iter().map(|p| p[k]).reduce(pick).unwrap_or(0.0).max(0.0) as usize;
    for y in bound(1, f64::min)..=bound(1, f64::max).min(height - 1) {
        for x in bound(0, f64::min)..=bound(0, f64::max).min(width - 1) {
            // How far along the way out, and how far beside it.
            let off = [x as f64 - inner[0], y as f64 - inner[1]];
            let (way, side) = (off[0] * along[0] + off[1] * along[1], off[0] * along[1] - off[1] * along[0]);
            let bin = way / length * BINS as f64;
            if (0.0..BINS as f64).contains(&bin) && side.abs() < length {
                sums[bin as usize] += light[1][usize::from(photo.codes(x, y)[1])];
                counts[bin as usize] += 1.0;
            }
        }
    }
    if counts.contains(&0.0) {
        return None;
    }
    spread(&std::array::from_fn::<f64, BINS, _>(|i| sums[i] / counts[i])).map(|spread| spread * length / BINS as f64)
}

/// The standard deviation of the normal density that softened a step, in bins.
///
/// The area between a softened step and the sharp one of the same mean is
/// sqrt(2 / pi) of it (closed form).
fn spread(levels: &[f64; BINS]) -> Option<f64> {
    let level = |part: &[f64]| part.iter().sum::<f64>() / part.len() as f64;
    let (high, low) = (level(&levels[..BINS / 6]), level(&levels[BINS - BINS / 6..]));
    if high < 1.5 * low.max(0.0) || high < 0.02 {
        return None;
    }
    let share = |level: &f64| (level - low) / (high - low);
    let step: f64 = levels.iter().map(share).sum();
    if !(BINS as f64 / 4.0..0.75 * BINS as f64).contains(&step) {
        return None;
    }
    let shares = levels.each_ref().map(share);
    // Between the middles of bins levels go evenly: what lies on both sides of the
    // step must not cancel within its bin.
    let between = |x: f64| {
        let at = (x - 0.5).clamp(0.0, (BINS - 1) as f64);
        let low = (at as usize).min(BINS - 2);
        shares[low] + (at - low as f64) * (shares[low + 1] - shares[low])
    };
    let fine = (0..BINS * FINE).map(|i| (i as f64 + 0.5) / FINE as f64);
    let off: Vec<f64> = fine.map(|x| (between(x) - if x < step { 1.0 } else { 0.0 }).abs()).collect();
    // Noise is no softness: what is off far from the step is taken away everywhere.
    let ends = off.len() / 6;
    let noise = level(&[&off[..ends], &off[off.len() - ends..]].concat());
    let area = off.iter().map(|off| off - noise).sum::<f64>() / FINE as f64;
    if area < 0.0 {
        return None;
    }
    let seen = area * (std::f64::consts::PI / 2.0).sqrt();
    Some((seen * seen - OWN).max(0.0).sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_step_softened_by_a_known_density_gives_its_spread() {
        for (wanted, at) in [(1.0_f64, 12.0), (2.0, 11.3), (3.0, 13.6)] {
            // Sums of a normal density in fine steps: the softened step's levels.
            let softened = |x: f64| {
                (-600..=600)
                    .map(|i| f64::from(i) / 100.0)
                    .map(|z| if x + z * wanted < at { (-z * z / 2.0).exp() } else { 0.0 })
                    .sum::<f64>()
                    / 250.66
            };
            let levels =
                std::array::from_fn(|i| 0.05 + 0.5 * (0..10).map(|k| softened(i as f64 + 0.05 + 0.1 * f64::from(k))).sum::<f64>() / 10.0);
            let found = spread(&levels).unwrap();
            assert!((found - wanted).abs() < 0.06 * wanted, "{found} {wanted}");
        }
        assert_eq!(spread(&[0.3; BINS]), None);
    }
}
