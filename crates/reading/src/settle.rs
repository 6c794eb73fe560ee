//! The chart's very corners beside those that a hand, or a first look, has set.

use crate::geometry::{Homography, Point, area};
use crate::picture::Picture;
use measure::real::{hypot, ln};

/// Log light of part of the photo at every pixel, of large photos at every few:
/// thousands of grids are tried on it.
pub(crate) struct Brightness {
    values: Vec<f32>,
    /// The first pixel.
    from: [usize; 2],
    columns: usize,
    rows: usize,
    /// Pixels from one value to the next.
    step: usize,
}

impl Brightness {
    /// The most values along the photo's longer side.
    const MOST: usize = 1000;

    /// Of a box of the photo, cut off at its edges.
    fn of(photo: &Picture, [low, high]: [Point; 2]) -> Self {
        let (width, height) = photo.size();
        let step = width.max(height).div_ceil(Self::MOST).max(1);
        let from = low.map(|v| v.max(0.0) as usize);
        let to = [high[0].clamp(0.0, width as f64) as usize, high[1].clamp(0.0, height as f64) as usize];
        let [columns, rows] = [0, 1].map(|k| to[k].saturating_sub(from[k]).div_ceil(step));
        let log = |x: usize, y: usize| {
            ln(photo.light(from[0] + x * step + step / 2, from[1] + y * step + step / 2).iter().sum::<f64>() + 0.02) as f32
        };
        Self { values: (0..rows).flat_map(|y| (0..columns).map(move |x| log(x, y))).collect(), from, columns, rows, step }
    }

    /// At a pixel; not finite outside.
    fn at(&self, [x, y]: Point) -> f64 {
        let (x, y) = (x - self.from[0] as f64, y - self.from[1] as f64);
        if x < 0.0 || y < 0.0 {
            return f64::INFINITY;
        }
        let (column, row) = (x as usize / self.step, y as usize / self.step);
        if column < self.columns && row < self.rows { f64::from(self.values[row * self.columns + column]) } else { f64::INFINITY }
    }
}

/// Which corners are moved together: one, those of a side, or all.
const MOVES: [&[usize]; 9] = [&[0, 1, 2, 3], &[0, 1], &[1, 2], &[2, 3], &[3, 0], &[0], &[1], &[2], &[3]];

/// And whither.
const WAYS: [Point; 8] = [[1.0, 0.0], [-1.0, 0.0], [0.0, 1.0], [0.0, -1.0], [0.7, 0.7], [-0.7, -0.7], [0.7, -0.7], [-0.7, 0.7]];

/// A hand's corners, moved a little onto the patches where they lie partly on the
/// frames between them.
pub(crate) fn steadied(photo: &Picture, corners: [Point; 4]) -> [Point; 4] {
    let pitch = area(&corners).abs().sqrt() / 5.0;
    let brightness = about(photo, &corners, pitch);
    let moved = settled(&brightness, corners, &HAND);
    let near = moved.iter().zip(&corners).all(|(p, q)| hypot(p[0] - q[0], p[1] - q[1]) < FARTHEST * pitch);
    if near && unevenness(&brightness, &moved) < OFF_PATCHES * unevenness(&brightness, &corners) { moved } else { corners }
}

/// How far a hand's corners are moved at first and at last, in distances between patches.
const HAND: [f64; 4] = [0.08, 0.04, 0.02, 0.01];

/// No hand is further off than this, in distances between patches: beyond lies
/// another grid.
const FARTHEST: f64 = 0.4;

/// Patches that become more even than this share are worth moving the corners for.
const OFF_PATCHES: f64 = 0.9;

/// Corners that many fields have told are no further off than this: what draws them further
/// is something that lies on the chart.
const LITTLE: f64 = 0.15;

/// Corners found on a shrunken picture, moved onto the patches as this one has them.
pub(crate) fn resettled(photo: &Picture, corners: [Point; 4]) -> [Point; 4] {
    let pitch = area(&corners).abs().sqrt() / 5.0;
    let brightness = about(photo, &corners, pitch);
    let moved = settled(&brightness, corners, &HAND);
    let near = moved.iter().zip(&corners).all(|(p, q)| hypot(p[0] - q[0], p[1] - q[1]) < LITTLE * pitch);
    if near { moved } else { corners }
}

/// How even the patches must be inside, against their spread among each other, for a grid
/// that lies on them.
const EVEN_INSIDE: f64 = 0.3;

/// Whether the grid lies on even patches.
pub(crate) fn on_patches(photo: &Picture, corners: &[Point; 4]) -> bool {
    let pitch = area(corners).abs().sqrt() / 5.0;
    let brightness = about(photo, corners, pitch);
    let map = Homography::to_corners(corners);
    let light = |column: f64, row: f64| brightness.at(map.map(column / 6.0, row / 4.0));
    let middle = |i: u32| (f64::from(i % 6) + 0.5, f64::from(i / 6) + 0.5);
    let inside = (0..24).map(|i| {
        let (column, row) = middle(i);
        spread((0..25).map(|k| light(column + f64::from(k % 5 - 2) * 0.12, row + f64::from(k / 5 - 2) * 0.12)))
    });
    let among = spread((0..24).map(|i| light(middle(i).0, middle(i).1)));
    let mut inside: Vec<f64> = inside.collect();
    inside.sort_by(f64::total_cmp);
    // A stain or a shine on one or two is no matter.
    among.is_finite() && inside[20] < EVEN_INSIDE * among
}

/// The light of the part of the photo that a grid lies in.
fn about(photo: &Picture, corners: &[Point; 4], pitch: f64) -> Brightness {
    let end = |k: usize, pick: fn(f64, f64) -> f64| corners.iter().map(|p| p[k]).reduce(pick).unwrap_or(0.0);
    Brightness::of(photo, [[0, 1].map(|k| end(k, f64::min) - pitch), [0, 1].map(|k| end(k, f64::max) + pitch)])
}

/// Corners moved, all, by sides and singly, until the patches are most even
/// inside: a grid that lies beside the chart's has frames in its patches.
fn settled(brightness: &Brightness, mut corners: [Point; 4], shares: &[f64]) -> [Point; 4] {
    let side = area(&corners).abs().sqrt() / 5.0;
    let mut best = unevenness(brightness, &corners);
    for share in shares {
        for _ in 0..4 {
            let before = best;
            for (together, way) in MOVES.iter().flat_map(|together| WAYS.map(|way| (*together, way))) {
                let mut moved = corners;
                for i in together {
                    moved[*i] = [0, 1].map(|k| moved[*i][k] + share * side * way[k]);
                }
                let found = unevenness(brightness, &moved);
                if found < best {
                    (best, corners) = (found, moved);
                }
            }
            if best >= before {
                break;
            }
        }
    }
    corners
}

/// Mean spread of log light over the insides of the patches, and its spread over
/// the frame between them.
fn unevenness(brightness: &Brightness, corners: &[Point; 4]) -> f64 {
    let map = Homography::to_corners(corners);
    let light = |column: f64, row: f64| brightness.at(map.map(column / 6.0, row / 4.0));
    let mut all = 0.0;
    for index in 0..24 {
        let (row, column) = (f64::from(index / 6) + 0.5, f64::from(index % 6) + 0.5);
        all += spread((0..25).map(|k| light(column + f64::from(k % 5 - 2) * 0.18, row + f64::from(k / 5 - 2) * 0.18)));
        if !all.is_finite() {
            return f64::INFINITY;
        }
    }
    let along = |lines: i32, cells: i32| {
        (1..lines).flat_map(move |line| (0..4 * cells).map(move |k| (f64::from(line), (f64::from(k) + 0.5) / 4.0)))
    };
    let upright = along(6, 4).map(|(column, row)| light(column, row));
    let level = along(4, 6).map(|(row, column)| light(column, row));
    all / 24.0 + spread(upright.chain(level))
}

/// Standard deviation; not finite when a value is not.
fn spread(values: impl Iterator<Item = f64>) -> f64 {
    let (n, sum, square) = values.fold((0.0, 0.0, 0.0), |(n, sum, square), v| (n + 1.0, sum + v, square + v * v));
    let found = square / n - sum * sum / (n * n);
    if found.is_finite() { found.max(0.0).sqrt() } else { f64::INFINITY }
}
