//! Looking for the chart in the photo.

use crate::chart_fit::{check_neutrals, patches};
use crate::geometry::{Homography, Point, area};
use crate::open::Photo;

/// Blocks the picture is parted into, along its longer side.
const BLOCKS: usize = 160;

/// The four corners of a 24-patch chart, in the order of [`Marks`], or nothing.
///
/// The chart's frame is the darkest wide thing in the photo that holds many
/// colours. Its outline gives four corners; which is the first is settled by the
/// grey row. What fails the check of the greys is never offered.
///
/// *Accuracy*: an offer to be drawn over the photo and corrected by hand.
#[must_use]
pub fn find_chart(photo: &Photo) -> Option<[[f64; 2]; 4]> {
    let (width, height) = photo.size();
    let step = width.max(height).div_ceil(BLOCKS).max(1);
    let (columns, rows) = (width / step, height / step);
    let grey = |x: usize, y: usize| photo.light(x * step + step / 2, y * step + step / 2).iter().sum::<f64>();
    let grid: Vec<f64> = (0..rows).flat_map(|y| (0..columns).map(move |x| (x, y))).map(|(x, y)| grey(x, y)).collect();
    let mut sorted = grid.clone();
    sorted.sort_by(f64::total_cmp);
    let board = *sorted.get(sorted.len() / 2)?;
    [0.2, 0.3, 0.45].into_iter().find_map(|share| {
        let dark: Vec<bool> = grid.iter().map(|l| *l < share * board).collect();
        groups(&dark, columns, rows).into_iter().find_map(|members| {
            let points: Vec<Point> =
                members.iter().map(|i| [(i % columns * step + step / 2) as f64, (i / columns * step + step / 2) as f64]).collect();
            let corners = refined(photo, corners_of(&points)?, share * board);
            // Six patches lie along one pair of sides, but which is not yet known.
            let [a, b, c, d] = corners;
            let ways = [settled(photo, [a, b, c, d]), settled(photo, [b, c, d, a])];
            let best = if unevenness(photo, &ways[0]) <= unevenness(photo, &ways[1]) { ways[0] } else { ways[1] };
            if lies_on_patches(photo, &best) { turned(photo, best) } else { None }
        })
    })
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
    result.truncate(6);
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
fn refined(photo: &Photo, corners: [Point; 4], dark: f64) -> [Point; 4] {
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

/// Corners moved, one coordinate at a time, until the patches are most even
/// inside: a grid that lies beside the chart's has frames in its patches.
fn settled(photo: &Photo, mut corners: [Point; 4]) -> [Point; 4] {
    let side = area(&corners).abs().sqrt() / 5.0;
    let mut best = unevenness(photo, &corners);
    for share in [0.16, 0.08, 0.04, 0.02, 0.01] {
        for _ in 0..4 {
            let before = best;
            for i in 0..8 {
                for way in [-share * side, share * side] {
                    let mut moved = corners;
                    moved[i / 2][i % 2] += way;
                    let found = unevenness(photo, &moved);
                    if found < best {
                        (best, corners) = (found, moved);
                    }
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
fn lies_on_patches(photo: &Photo, corners: &[Point; 4]) -> bool {
    let map = Homography::to_corners(corners);
    [(1.0, 1.0), (1.0, -1.0), (-1.0, 1.0), (-1.0, -1.0)].into_iter().any(|(x, y)| {
        let moved = [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)].map(|(u, v)| map.map(u + x / 12.0, v + y / 8.0));
        let off = unevenness(photo, &moved);
        off.is_finite() && unevenness(photo, corners) < EVEN * off
    })
}

/// Mean spread of log light over the insides of the patches.
fn unevenness(photo: &Photo, corners: &[Point; 4]) -> f64 {
    let map = Homography::to_corners(corners);
    let (width, height) = photo.size();
    let mut all = 0.0;
    for index in 0..24 {
        let (row, column) = ((index / 6) as f64, (index % 6) as f64);
        let (mut sum, mut square) = (0.0, 0.0);
        for k in 0..49 {
            let (du, dv) = (f64::from(k % 7 - 3) * 0.12, f64::from(k / 7 - 3) * 0.12);
            let at = map.map((column + 0.5 + du) / 6.0, (row + 0.5 + dv) / 4.0);
            if !(at[0] >= 0.0 && at[1] >= 0.0 && at[0] < width as f64 && at[1] < height as f64) {
                return f64::INFINITY;
            }
            let light = (photo.light(at[0] as usize, at[1] as usize).iter().sum::<f64>() + 0.02).ln();
            sum += light;
            square += light * light;
        }
        all += (square / 49.0 - sum * sum / 2401.0).max(0.0).sqrt();
    }
    all / 24.0
}

/// The corners in the chart's own order, checked by the greys.
fn turned(photo: &Photo, corners: [Point; 4]) -> Option<[Point; 4]> {
    let outlines = [corners, [corners[3], corners[2], corners[1], corners[0]]];
    outlines.into_iter().filter(|outline| area(outline) > 0.0).find_map(|outline| {
        (0..4).find_map(|turn| {
            let chart_corners: [Point; 4] = std::array::from_fn(|i| outline[(i + turn) % 4]);
            let seen = patches(photo, &photo.decoding, &chart_corners);
            (check_neutrals(&seen).is_ok()).then_some(chart_corners)
        })
    })
}
