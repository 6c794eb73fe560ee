//! The hair inside its outline: gloss left out, tones told apart.

use crate::flat::Flat;
use crate::geometry::{Homography, Point, inside};
use crate::open::Photo;
use crate::profile::Decoding;
use crate::solve::least_squares;

/// Slices along the strands.
pub(crate) const SLICES: usize = 40;

/// Columns across the strands.
const COLUMNS: usize = 120;

/// Rows of pixels looked at in one slice.
const ROWS: usize = 8;

/// The share of slices, the darkest, from which the search for gloss starts.
const DARKEST: f64 = 0.4;

/// How much lighter than the deepest slices one may be: light that has passed
/// through the strands makes a second, wider band in the hair's own colour.
const LIGHTER_ALLOWED: f64 = 1.18;

/// Between which shares of the cells, dark to bright, the middling ones lie.
const MIDDLING: (f64, f64) = (0.1, 0.65);

/// White light in a slice, as a share of the hair's own, that is still no gloss.
const SHINE_ALLOWED: f64 = 0.03;

/// Hair as a grid: slices along the strands, columns across.
pub(crate) struct Tress {
    /// Mean light of each cell, or nothing outside the outline.
    cells: Vec<[Option<[f64; 3]>; COLUMNS]>,
    /// Share of pixels at the top of the scale.
    pub clipped: f64,
}

impl Tress {
    /// Reads the hair, light made even by `flat`.
    pub fn sample(photo: &Photo, light: &Decoding, outline: &[Point], flat: &Flat) -> Self {
        let frame = frame(outline);
        let map = Homography::to_corners(&frame);
        let mut cells = vec![[None; COLUMNS]; SLICES];
        let (mut clipped, mut count) = (0.0, 0.0);
        for (slice, row) in cells.iter_mut().enumerate() {
            for (column, cell) in row.iter_mut().enumerate() {
                let u = 0.03 + 0.94 * (column as f64 + 0.5) / COLUMNS as f64;
                let mut sum = [0.0; 3];
                let mut taken = 0.0;
                for k in 0..ROWS {
                    let v = 0.02 + 0.96 * (slice as f64 + (k as f64 + 0.5) / ROWS as f64) / SLICES as f64;
                    let at = map.map(u, v);
                    if at[0] < 0.0 || at[1] < 0.0 || (outline.len() != 4 && !inside(outline, at)) {
                        continue;
                    }
                    let codes = photo.codes(at[0].round() as usize, at[1].round() as usize);
                    clipped += f64::from(u8::from(codes.iter().any(|c| *c >= 254)));
                    for c in 0..3 {
                        sum[c] += light[c][usize::from(codes[c])];
                    }
                    taken += 1.0;
                }
                count += ROWS as f64;
                if taken >= ROWS as f64 / 2.0 {
                    let even = flat.at(map.map(u, (slice as f64 + 0.5) / SLICES as f64));
                    *cell = Some([0, 1, 2].map(|c| sum[c] / taken / even[c]));
                }
            }
        }
        Self { cells, clipped: clipped / count }
    }

    /// The slices without gloss.
    ///
    /// Gloss has the colour of the light, `white`; shading has the colour of
    /// the hair. So each slice is parted into so much of the darkest slices'
    /// colour and so much white, and those with least white are kept, however
    /// light or dark.
    pub fn matt_slices(&self, white: [f64; 3]) -> Vec<usize> {
        let means: Vec<(usize, [f64; 3])> =
            self.cells.iter().enumerate().filter_map(|(i, row)| mean(row.iter().flatten()).map(|m| (i, m))).collect();
        let total = |light: &[f64; 3]| light.iter().sum::<f64>();
        let mut dark = means.clone();
        dark.sort_by(|p, q| total(&p.1).total_cmp(&total(&q.1)));
        dark.truncate(((means.len() as f64 * DARKEST).ceil() as usize).max(1));
        let Some(mut own) = mean(dark.iter().map(|(_, light)| light)) else { return Vec::new() };
        let mut kept: Vec<usize> = dark.iter().map(|(i, _)| *i).collect();
        for _ in 0..3 {
            let rows = [0, 1, 2].map(|c| [own[c], white[c]]);
            let weights = own.map(|light| 1.0 / (light.abs() + 1e-4));
            let mut gloss: Vec<(f64, f64, usize, [f64; 3])> = Vec::new();
            for (i, light) in &means {
                let Some([shade, shine]) = least_squares(&rows, light, &weights) else { return kept };
                gloss.push((shine * total(&white) / total(&own), shade, *i, *light));
            }
            gloss.sort_by(|p, q| p.0.total_cmp(&q.0));
            let least = gloss[gloss.len() / 5].0;
            gloss.retain(|slice| slice.0 <= least + SHINE_ALLOWED);
            gloss.sort_by(|p, q| p.1.total_cmp(&q.1));
            let deepest = gloss[gloss.len() / 10].1;
            gloss.retain(|slice| slice.1 <= deepest * LIGHTER_ALLOWED);
            kept = gloss.iter().map(|slice| slice.2).collect();
            let Some(next) = mean(gloss.iter().map(|slice| &slice.3)) else { return kept };
            own = next;
        }
        kept
    }

    /// Every slice that holds hair.
    pub fn all_slices(&self) -> Vec<usize> {
        (0..SLICES).filter(|i| self.cells[*i].iter().any(Option::is_some)).collect()
    }

    /// Cells neither very dark nor very bright, wherever they lie.
    pub fn middling_cells(&self) -> Vec<[f64; 3]> {
        let mut list = self.cells_of(&self.all_slices());
        list.sort_by(|p, q| p[1].total_cmp(&q[1]));
        let at = |share: f64| (share * list.len() as f64) as usize;
        list[at(MIDDLING.0)..at(MIDDLING.1)].to_vec()
    }

    /// Cells of these slices.
    pub fn cells_of(&self, slices: &[usize]) -> Vec<[f64; 3]> {
        slices.iter().flat_map(|i| self.cells[*i].iter().flatten().copied()).collect()
    }
}

/// The mean of lights, or nothing of none.
pub(crate) fn mean<'a>(lights: impl Iterator<Item = &'a [f64; 3]>) -> Option<[f64; 3]> {
    let mut sum = [0.0; 3];
    let mut count = 0.0;
    for light in lights {
        for c in 0..3 {
            sum[c] += light[c];
        }
        count += 1.0;
    }
    (count > 0.0).then(|| sum.map(|s| s / count))
}

/// Four corners round the outline, the first edge at the root side.
pub(crate) fn frame(outline: &[Point]) -> [Point; 4] {
    if let [a, b, c, d] = outline {
        return [*a, *b, *c, *d];
    }
    let middle = [0, 1].map(|k| outline.iter().map(|p| p[k]).sum::<f64>() / outline.len() as f64);
    let root = [0, 1].map(|k| (outline[0][k] + outline[1][k]) / 2.0);
    let mut along = [middle[0] - root[0], middle[1] - root[1]];
    let size = (along[0] * along[0] + along[1] * along[1]).sqrt();
    along = if size > 1.0 { along.map(|v| v / size) } else { [0.0, 1.0] };
    let across = [along[1], -along[0]];
    let reach = |axis: Point, pick: fn(f64, f64) -> f64| {
        outline.iter().map(|p| (p[0] - middle[0]) * axis[0] + (p[1] - middle[1]) * axis[1]).reduce(pick).unwrap_or(0.0)
    };
    let (u0, u1) = (reach(across, f64::min), reach(across, f64::max));
    let (v0, v1) = (reach(along, f64::min), reach(along, f64::max));
    let place = |u: f64, v: f64| [0, 1].map(|k| middle[k] + u * across[k] + v * along[k]);
    [place(u0, v0), place(u1, v0), place(u1, v1), place(u0, v1)]
}

/// Groups of cells that are one tone: share and mean light, the largest first.
///
/// Tones differ most in lightness, by far more than strands are shaded; the
/// proportions of the channels, which shading leaves alone but noise does not,
/// help to part the rest.
pub(crate) fn tones(cells: &[[f64; 3]]) -> Vec<(f64, [f64; 3])> {
    let points: Vec<[f64; 3]> = cells.iter().filter_map(features).collect();
    let cells: Vec<&[f64; 3]> = cells.iter().filter(|cell| features(cell).is_some()).collect();
    if points.is_empty() {
        return Vec::new();
    }
    let mut best: Option<(f64, Vec<usize>)> = None;
    for k in 1..=3 {
        let (groups, inner) = cluster(&points, k);
        let cost = inner * FURTHER_TONE[k - 1];
        if best.as_ref().is_none_or(|(least, _)| cost < *least) {
            best = Some((cost, groups));
        }
    }
    let groups = best.map(|(_, groups)| groups).unwrap_or_default();
    let mut result = grouped(&cells, &groups);
    let found = result.len();
    while let Some(i) = (1..result.len()).find(|i| result[i - 1].1[1] < ONE_LEVEL * result[*i].1[1]) {
        result.remove(i);
    }
    // With fewer tones every cell is asked again which it belongs to.
    if result.len() < found {
        result = grouped(&cells, &cluster(&points, result.len()).0);
    }
    result.sort_by(|p, q| q.0.total_cmp(&p.0));
    result
}

/// Share and mean light of each group, the lightest first.
fn grouped(cells: &[&[f64; 3]], groups: &[usize]) -> Vec<(f64, [f64; 3])> {
    let group = |g: usize| {
        let members = || cells.iter().zip(groups).filter(move |(_, own)| **own == g).map(|(cell, _)| *cell);
        mean(members()).map(|m| (members().count() as f64 / cells.len() as f64, m))
    };
    let mut result: Vec<(f64, [f64; 3])> = (0..3).filter_map(group).collect();
    result.sort_by(|p, q| q.1[1].total_cmp(&p.1[1]));
    result
}

/// By what one, two and three tones' inner spread is multiplied before the least
/// is chosen. Halving a single bell curve leaves 0.36 of its spread and a third
/// cut about half of that again; only tones that leave less are told apart.
const FURTHER_TONE: [f64; 3] = [1.0, 3.3, 5.5];

/// Two tones with less than this between their lights are one tone: about a level.
const ONE_LEVEL: f64 = 1.4;

fn features(cell: &[f64; 3]) -> Option<[f64; 3]> {
    let [r, g, b] = *cell;
    (r > 1e-4 && g > 1e-4 && b > 1e-4).then(|| [(r + g + b).ln(), 0.2 * (r / g).ln(), 0.1 * (g / b).ln()])
}

/// Groups of points about `k` middles, and the mean squared distance inside them.
fn cluster(points: &[[f64; 3]], k: usize) -> (Vec<usize>, f64) {
    let distance = |p: &[f64; 3], q: &[f64; 3]| (0..3).map(|i| (p[i] - q[i]) * (p[i] - q[i])).sum::<f64>();
    let mut order: Vec<usize> = (0..points.len()).collect();
    order.sort_by(|p, q| points[*p][0].total_cmp(&points[*q][0]));
    let mut middles: Vec<[f64; 3]> = (0..k).map(|g| points[order[(2 * g + 1) * points.len() / (2 * k)]]).collect();
    let mut groups = vec![0; points.len()];
    for _ in 0..30 {
        for (group, point) in groups.iter_mut().zip(points) {
            *group = (0..k).min_by(|p, q| distance(point, &middles[*p]).total_cmp(&distance(point, &middles[*q]))).unwrap_or(0);
        }
        for (g, middle) in middles.iter_mut().enumerate() {
            if let Some(m) = mean(points.iter().zip(&groups).filter(|(_, own)| **own == g).map(|(p, _)| p)) {
                *middle = m;
            }
        }
    }
    let inner = points.iter().zip(&groups).map(|(p, g)| distance(p, &middles[*g])).sum::<f64>() / points.len() as f64;
    (groups, inner)
}
