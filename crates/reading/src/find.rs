//! Looking for the chart in the photo, and for its very corners beside those that
//! a hand has set.

use crate::chart_fit::{Fit, check_neutrals, patches, points};
use crate::geometry::{Homography, Point, area};
use crate::marks::check_chart;
use crate::picture::Picture;
use colour::{D50, Light};
use measure::real::{hypot, ln};

/// Blocks the picture is parted into, along its longer side.
const BLOCKS: usize = 160;

/// The four corners of a 24-patch chart, in the order of [`Marks`], or nothing.
///
/// The chart's frame is the darkest wide thing in the photo that holds many
/// colours. Its outline gives four corners, which are settled on the patches and
/// the gaps between them; which is the first is told by the grey row. Only a grid
/// whose greys are grey and in order, and whose 24 patches all come out as the
/// chart's colours, is offered.
///
/// *Accuracy*: an offer to be drawn over the photo and corrected by hand.
#[must_use]
pub fn find_chart(photo: &Picture) -> Option<[[f64; 2]; 4]> {
    find_chart_surely(photo).map(|found| found.corners)
}

/// A chart that was found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FoundChart {
    /// Its corners, in the order of [`crate::Marks`].
    pub corners: [[f64; 2]; 4],
    /// How true its patches came out by one matrix: 1 wholly, 0 where it would no longer
    /// be offered.
    pub sure: f64,
}

/// As [`find_chart`], with how sure it is.
#[must_use]
pub fn find_chart_surely(photo: &Picture) -> Option<FoundChart> {
    sought(photo).map(|offer| FoundChart { corners: offer.corners, sure: (1.0 - offer.off / MOST_OFF).clamp(0.0, 1.0) })
}

/// The best grid that may be offered.
fn sought(photo: &Picture) -> Option<Offer> {
    let (width, height) = photo.size();
    let step = width.max(height).div_ceil(BLOCKS).max(1);
    let (columns, rows) = (width / step, height / step);
    let grey = |x: usize, y: usize| photo.light(x * step + step / 2, y * step + step / 2).iter().sum::<f64>();
    let grid: Vec<f64> = (0..rows).flat_map(|y| (0..columns).map(move |x| (x, y))).map(|(x, y)| grey(x, y)).collect();
    let mut sorted = grid.clone();
    sorted.sort_by(f64::total_cmp);
    let board = *sorted.get(sorted.len() / 2)?;
    let brightness = Brightness::of(photo, [[0.0; 2], [width as f64, height as f64]]);
    let mut best: Option<Offer> = None;
    for share in DARK {
        let dark: Vec<bool> = grid.iter().map(|l| *l < share * board).collect();
        for members in groups(&dark, columns, rows) {
            let points: Vec<Point> =
                members.iter().map(|i| [(i % columns * step + step / 2) as f64, (i / columns * step + step / 2) as f64]).collect();
            let Some(outline) = corners_of(&points) else { continue };
            let [a, b, c, d] = refined(photo, outline, share * board);
            // Six patches lie along one pair of sides, but which is not yet known.
            for start in [[a, b, c, d], [b, c, d, a]] {
                let offer = Offer::near(photo, &brightness, settled(&brightness, start, &GUESS));
                if let Some(offer) = offer.filter(|offer| best.as_ref().is_none_or(|best| offer.off < best.off)) {
                    best = Some(offer);
                }
            }
            if best.as_ref().is_some_and(|best| best.off < SURE) {
                return best;
            }
        }
    }
    best.filter(|best| best.off < MOST_OFF)
}

/// Log light of part of the photo at every pixel, of large photos at every few:
/// thousands of grids are tried on it.
struct Brightness {
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
        let log = |x: usize, y: usize| ln(photo.light(from[0] + x * step + step / 2, from[1] + y * step + step / 2).iter().sum::<f64>() + 0.02) as f32;
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

/// How dark against the board the chart's frame is looked for.
const DARK: [f64; 5] = [0.2, 0.3, 0.45, 0.13, 0.6];

/// Where the patches come out true to within this, in dE00, no better grid is sought.
const SURE: f64 = 6.0;

/// Patches that come out less true than this, in dE00, are no chart.
const MOST_OFF: f64 = 9.0;

/// A grid that could be offered, in the chart's own order.
struct Offer {
    corners: [Point; 4],
    /// How far the patches stay from the chart's colours, in dE00.
    off: f64,
}

impl Offer {
    /// The best of a grid and those one patch beside it, all ways round.
    fn near(photo: &Picture, brightness: &Brightness, corners: [Point; 4]) -> Option<Self> {
        let mut best: Option<Self> = None;
        let map = Homography::to_corners(&corners);
        for (x, y) in [(0.0, 0.0), (1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)] {
            let grid = [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)].map(|(u, v)| map.map(u + x / 6.0, v + y / 4.0));
            for corners in [grid, [grid[2], grid[3], grid[0], grid[1]]].into_iter().map(clockwise) {
                let found = Self::check(photo, brightness, corners);
                if let Some(offer) = found.filter(|offer| best.as_ref().is_none_or(|best| offer.off < best.off)) {
                    best = Some(offer);
                }
            }
        }
        best
    }

    /// A grid whose patches, all 24, come out as the chart's colours by one
    /// matrix, with dark gaps between them.
    fn check(photo: &Picture, brightness: &Brightness, corners: [Point; 4]) -> Option<Self> {
        let (width, height) = photo.size();
        check_chart(&corners, width, height).ok()?;
        if !lies_on_patches(brightness, &corners) {
            return None;
        }
        let seen = patches(photo, &photo.decoding, &corners);
        check_neutrals(&seen).ok()?;
        let lights = std::array::from_fn(|i| seen[i].light);
        let points = points(&lights, &[true; 24], Light::D50);
        let off = Fit::plain(&points)?.mean_off(&points, D50);
        Some(Self { corners, off })
    }
}

/// The corners so that they run clockwise.
fn clockwise([a, b, c, d]: [Point; 4]) -> [Point; 4] {
    if area(&[a, b, c, d]) > 0.0 { [a, b, c, d] } else { [d, c, b, a] }
}

/// Touching dark blocks, the largest groups first.
fn groups(dark: &[bool], columns: usize, rows: usize) -> Vec<Vec<usize>> {
    let mut seen = vec![false; dark.len()];
    let mut result = Vec::new();
    for start in 0..dark.len() {
        if !dark[start] || seen[start] {
            continue;
        }
        let mut members = Vec::new();
        let mut open = vec![start];
        seen[start] = true;
        while let Some(i) = open.pop() {
            members.push(i);
            let (x, y) = (i % columns, i / columns);
            for (dx, dy) in [(-1_i64, 0_i64), (1, 0), (0, -1), (0, 1)] {
                let (nx, ny) = (x as i64 + dx, y as i64 + dy);
                if nx >= 0 && ny >= 0 && (nx as usize) < columns && (ny as usize) < rows {
                    let j = ny as usize * columns + nx as usize;
                    if dark[j] && !seen[j] {
                        seen[j] = true;
                        open.push(j);
                    }
                }
            }
        }
        if members.len() >= 60 {
            result.push(members);
        }
    }
    result.sort_by_key(|members| std::cmp::Reverse(members.len()));
    result.truncate(4);
    result
}

/// The four points of a group that span the largest outline.
fn corners_of(points: &[Point]) -> Option<[Point; 4]> {
    let far = |from: &dyn Fn(&Point) -> f64| points.iter().copied().max_by(|p, q| from(p).total_cmp(&from(q)));
    let middle = [0, 1].map(|k| points.iter().map(|p| p[k]).sum::<f64>() / points.len() as f64);
    let apart = |p: &Point, q: &Point| (p[0] - q[0]) * (p[0] - q[0]) + (p[1] - q[1]) * (p[1] - q[1]);
    let a = far(&|p| apart(p, &middle))?;
    let c = far(&|p| apart(p, &a))?;
    let side = |p: &Point| (c[0] - a[0]) * (p[1] - a[1]) - (c[1] - a[1]) * (p[0] - a[0]);
    let b = far(&|p| -side(p))?;
    let d = far(&side)?;
    Some([a, b, c, d])
}

/// Corners moved outward to where the dark frame ends.
fn refined(photo: &Picture, corners: [Point; 4], dark: f64) -> [Point; 4] {
    let middle = [0, 1].map(|k| corners.iter().map(|p| p[k]).sum::<f64>() / 4.0);
    let (width, height) = photo.size();
    corners.map(|corner| {
        let mut last = corner;
        for i in 0..60 {
            let factor = 1.0 + f64::from(i) * 0.001;
            let at = [0, 1].map(|k| middle[k] + factor * (corner[k] - middle[k]));
            let outside = at[0] < 0.0 || at[1] < 0.0 || at[0] >= width as f64 || at[1] >= height as f64;
            if outside || photo.light(at[0] as usize, at[1] as usize).iter().sum::<f64>() > dark {
                break;
            }
            last = at;
        }
        last
    })
}

/// Which corners are moved together: one, those of a side, or all.
const MOVES: [&[usize]; 9] = [&[0, 1, 2, 3], &[0, 1], &[1, 2], &[2, 3], &[3, 0], &[0], &[1], &[2], &[3]];

/// And whither.
const WAYS: [Point; 8] = [[1.0, 0.0], [-1.0, 0.0], [0.0, 1.0], [0.0, -1.0], [0.7, 0.7], [-0.7, -0.7], [0.7, -0.7], [-0.7, 0.7]];

/// A hand's corners, moved a little onto the patches where they lie partly on the
/// frames between them.
pub(crate) fn steadied(photo: &Picture, corners: [Point; 4]) -> [Point; 4] {
    let pitch = area(&corners).abs().sqrt() / 5.0;
    let end = |k: usize, pick: fn(f64, f64) -> f64| corners.iter().map(|p| p[k]).reduce(pick).unwrap_or(0.0);
    let brightness = Brightness::of(photo, [[0, 1].map(|k| end(k, f64::min) - pitch), [0, 1].map(|k| end(k, f64::max) + pitch)]);
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

/// The same, for corners that are only guessed.
const GUESS: [f64; 5] = [0.16, 0.08, 0.04, 0.02, 0.01];

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

/// How even the patches must be against a grid moved by half a patch.
const EVEN: f64 = 0.5;

/// Whether the grid lies on patches: moved half a patch both ways it lies on
/// their frames and is far less even.
fn lies_on_patches(brightness: &Brightness, corners: &[Point; 4]) -> bool {
    let map = Homography::to_corners(corners);
    [(1.0, 1.0), (1.0, -1.0), (-1.0, 1.0), (-1.0, -1.0)].into_iter().any(|(x, y)| {
        let moved = [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)].map(|(u, v)| map.map(u + x / 12.0, v + y / 8.0));
        let off = unevenness(brightness, &moved);
        off.is_finite() && unevenness(brightness, corners) < EVEN * off
    })
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
    let along = |lines: i32, cells: i32| (1..lines).flat_map(move |line| (0..4 * cells).map(move |k| (f64::from(line), (f64::from(k) + 0.5) / 4.0)));
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
