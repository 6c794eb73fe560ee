//! Patches measured, and the matrix from the camera's light to X Y Z.

use crate::fault::{ChartFault, ReadFault};
use crate::geometry::{Homography, Point, inside};
use crate::light::{Decoding, light_between, mean_of, place_between, slope_at};
use crate::noise::{Means, mean_beyond_top};
use crate::patch::Patch;
use crate::picture::Picture;
use colour::chart::{COLUMNS, ROWS, patches_under};
use colour::{Lab, Light, Xyz, ciede2000};
use measure::linear;
use measure::linear::least_squares;
use measure::real::{exp, pow, powi};

impl Patch {
    /// Means over its pixels, none left out.
    pub fn means(&self, decoding: &Decoding) -> Means {
        let light = |c: usize| self.codes[c].iter().zip(&decoding[c]).map(|(share, light)| share * light).sum();
        Means { light: [0, 1, 2].map(light), code: [0, 1, 2].map(|c| mean_of(&self.codes[c])) }
    }

    /// The same patch, its light by another decoding.
    pub fn by(&self, decoding: &Decoding) -> Self {
        Self { light: [0, 1, 2].map(|c| trimmed(&self.codes[c], &decoding[c])), ..self.clone() }
    }

    /// Variance of the mean code over many pixels, times their number, in each channel.
    pub fn variance_of_codes(&self) -> [f64; 3] {
        self.blocks
    }

    /// Variance of a channel's mean light over many pixels, times their number.
    pub fn variance_of_means(&self, channel: usize, decoding: &Decoding) -> f64 {
        let slope = slope_at(&decoding[channel], mean_of(&self.codes[channel]));
        self.blocks[channel] * slope * slope
    }

    /// Whether its colour lies beyond the photo's primaries: a channel is at
    /// nothing all over.
    pub fn beyond(&self) -> bool {
        self.black.iter().any(|black| *black > 0.5)
    }
}

/// Half the side of the sampled square, in distances between patches.
const REACH: f64 = 0.3;

/// Pixels across and down a block by whose means noise is told.
const BLOCK: usize = 6;

/// The most blocks across and down a patch.
const MOST_BLOCKS: usize = 12;

/// Measures the 24 patches.
pub(crate) fn patches(photo: &Picture, decoding: &Decoding, corners: &[Point; 4]) -> [Patch; 24] {
    let map = Homography::to_corners(corners);
    std::array::from_fn(|index| {
        let (row, column) = ((index / COLUMNS) as f64, (index % COLUMNS) as f64);
        let place = |du: f64, dv: f64| map.map((column + 0.5 + du) / COLUMNS as f64, (row + 0.5 + dv) / ROWS as f64);
        let outline = [place(-REACH, -REACH), place(REACH, -REACH), place(REACH, REACH), place(-REACH, REACH)];
        measure(photo, decoding, &outline, place(0.0, 0.0))
    })
}

fn measure(photo: &Picture, decoding: &Decoding, outline: &[Point; 4], middle: Point) -> Patch {
    let end = |k: usize, pick: fn(f64, f64) -> f64| outline.iter().map(|p| p[k]).reduce(pick).unwrap_or(0.0);
    let (left, right) = (end(0, f64::min).max(0.0) as usize, end(0, f64::max).max(0.0) as usize);
    let (top, bottom) = (end(1, f64::min).max(0.0) as usize, end(1, f64::max).max(0.0) as usize);
    let stride = ((right - left) / 60).max(1);
    let (mut clipped, mut count) = (0.0, 0.0);
    let mut shares = Box::new([[0.0; 256]; 3]);
    let (mut black, mut cut) = ([0.0; 3], [0.0; 3]);
    let nothing = if photo.is_smoothed() { 0 } else { photo.loss.black() };
    for y in (top..=bottom).step_by(stride) {
        for x in (left..=right).step_by(stride) {
            if inside(outline, [x as f64, y as f64]) {
                let (codes, fine) = (photo.codes(x, y), photo.fine_codes(x, y));
                clipped += f64::from(u8::from(codes.iter().any(|c| *c >= 254)));
                for c in 0..3 {
                    let (code, part) = place_between(fine[c]);
                    shares[c][code] += 1.0 - part;
                    shares[c][code + 1] += part;
                    black[c] += f64::from(u8::from(codes[c] == 0));
                    cut[c] += f64::from(u8::from(codes[c] <= nothing));
                }
                count += 1.0;
            }
        }
    }
    let count = f64::max(count, 1.0);
    shares.iter_mut().flatten().for_each(|share| *share /= count);
    let light = [0, 1, 2].map(|c| trimmed(&shares[c], &decoding[c]));
    Patch {
        middle,
        light,
        clipped: clipped / count,
        black: black.map(|n| n / count),
        cut: cut.map(|n| n / count),
        codes: shares,
        pixels: count,
        blocks: variance_of_blocks(photo, outline, [left, top], [right, bottom]),
    }
}

/// Left out of a patch at both ends: dust and stray hairs.
const TRIMMED: f64 = 0.05;

/// Mean light by codes' shares, a twentieth at both ends left out; beyond the scale where
/// part of it is cut off there.
fn trimmed(shares: &[f64; 256], decoding: &[f64; 256]) -> f64 {
    if let Some(code) = mean_beyond_top(shares) {
        return light_between(decoding, code);
    }
    let all: f64 = shares.iter().sum();
    let (low, high) = (TRIMMED * all, (1.0 - TRIMMED) * all);
    let (mut before, mut sum) = (0.0, 0.0);
    for (share, light) in shares.iter().zip(decoding) {
        let inner = (before + share).min(high) - f64::max(before, low);
        sum += inner.max(0.0) * light;
        before += share;
    }
    if all > 0.0 { sum / (high - low) } else { 0.0 }
}

/// Half the mean squared difference of neighbouring blocks' mean codes, times the
/// pixels of one: light that changes across the patch hardly counts.
fn variance_of_blocks(photo: &Picture, outline: &[Point; 4], [left, top]: [usize; 2], [right, bottom]: [usize; 2]) -> [f64; 3] {
    const PIXELS: f64 = (BLOCK * BLOCK) as f64;
    let step = ((right - left) / MOST_BLOCKS).max(BLOCK);
    let block = |x: usize, y: usize| {
        let ends = [(0, 0), (BLOCK - 1, 0), (0, BLOCK - 1), (BLOCK - 1, BLOCK - 1)];
        let whole = ends.iter().all(|(dx, dy)| inside(outline, [(x + dx) as f64, (y + dy) as f64]));
        whole.then(|| {
            let mut sum = [0.0; 3];
            for codes in (0..BLOCK * BLOCK).map(|i| photo.fine_codes(x + i % BLOCK, y + i / BLOCK)) {
                (0..3).for_each(|c| sum[c] += codes[c]);
            }
            sum.map(|s| s / PIXELS)
        })
    };
    let (mut sum, mut pairs) = ([0.0; 3], 0.0);
    for y in (top..=bottom).step_by(step) {
        let mut before: Option<[f64; 3]> = None;
        for x in (left..=right).step_by(step) {
            let here = block(x, y);
            if let (Some(p), Some(q)) = (before, here) {
                pairs += 1.0;
                (0..3).for_each(|c| sum[c] += powi(q[c] - p[c], 2) / 2.0 * PIXELS);
            }
            before = here;
        }
    }
    sum.map(|s| s / f64::max(pairs, 1.0))
}

/// The ways a chart may lie under four corners: as it should, upside down, or seen in
/// a mirror, that is with its corners tapped the other way round.
const ARRANGEMENTS: [fn(usize) -> usize; 4] = [|i| i, |i| 23 - i, |i| i / 6 * 6 + 5 - i % 6, |i| (3 - i / 6) * 6 + i % 6];

/// Patches that stay further than this from the chart's colours by one matrix, in dE00,
/// each counted no worse than `WORST_PATCH`, are no chart.
const NO_CHART: f64 = 12.0;
const WORST_PATCH: f64 = 30.0;

/// Checks that the patches under the marks, those `kept`, are a chart the right way up.
///
/// *Meaning*: a rough check that a tapped chart passes in any light, bleached, tilted or
/// under a camera's own rendering: its 24 colours come out better by one matrix than in
/// any other arrangement.
///
/// *Errors*: what lies there instead.
pub(crate) fn check_chart_lies(patches: &[Patch; 24], kept: &[bool; 24]) -> Result<(), ReadFault> {
    if patches.iter().all(|p| p.light.iter().all(|l| *l < 0.004)) {
        return Err(ReadFault::Black);
    }
    let wanted = colours(Light::D50);
    let off = |arranged: fn(usize) -> usize| {
        let points: Vec<Known> =
            (0..24).filter(|i| kept[*i]).map(|i| Known { light: patches[i].light, colour: wanted[arranged(i)] }).collect();
        let fit = Fit::darkened(&points);
        let sent = |point: &Known| ciede2000(point.colour.to_lab(colour::D50), fit(point.light)).min(WORST_PATCH);
        points.iter().map(sent).sum::<f64>() / points.len().max(1) as f64
    };
    let offs = ARRANGEMENTS.map(off);
    let best = offs.iter().copied().fold(f64::INFINITY, f64::min);
    if offs[0] == best && best < NO_CHART {
        return Ok(());
    }
    if best < NO_CHART {
        return Err(ReadFault::NoChart(ChartFault::Turned));
    }
    Err(ReadFault::NoChart(ChartFault::Missing))
}

/// From light to colour under D50 by the one matrix that fits points best.
pub(crate) fn sent_by_matrix(points: &[Known]) -> impl Fn([f64; 3]) -> Lab + use<> {
    Fit::darkened(points)
}

/// The matrix from light to X Y Z, fitted near a colour.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Fit {
    matrix: [[f64; 3]; 3],
}

impl Fit {
    /// X Y Z of light in the camera's primaries.
    pub fn apply(&self, light: [f64; 3]) -> Xyz {
        linear::apply(&self.matrix, light).into()
    }

    /// Fits patches to their colours; what is near `hair` (light in the camera's
    /// primaries) counts more, bright patches less. `likely` hairs near it
    /// count as well.
    pub fn near(points: &[Known], likely: &[Known], hair: [f64; 3], white: Xyz) -> Option<Self> {
        let mut target = Self::plain(points)?.apply(hair);
        let mut fit = None;
        for _ in 0..3 {
            let lab = target.to_lab(white);
            let dark = |point: &Known| 1.0 / pow(point.colour.y.max(0.01), 4.0 / 3.0);
            let mut weighed: Vec<(Known, f64)> = points.iter().map(|p| (*p, (closeness(p, lab, white, NEAR) + 0.06) * dark(p))).collect();
            let patches: f64 = weighed.iter().map(|(_, w)| w).sum();
            let near: Vec<f64> = likely.iter().map(|p| closeness(p, lab, white, NEAR_HAIR) * dark(p)).collect();
            let scale = patches * LIKELY_SHARE / (near.iter().sum::<f64>() + 1e-9);
            weighed.extend(likely.iter().zip(&near).map(|(p, w)| (*p, w * scale)));
            let found = Self::weighed(&weighed)?;
            target = found.apply(hair);
            fit = Some(found);
        }
        fit
    }

    /// The primaries of an sRGB screen, each channel scaled, and seen by an eye
    /// used to another white.
    pub fn of_screen(scale: [f64; 3], adapted: impl Fn(Xyz) -> Xyz) -> Self {
        const FROM_SCREEN: [[f64; 3]; 3] = [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]];
        let columns = [0, 1, 2].map(|c| {
            let mut light = [0.0; 3];
            light[c] = scale[c];
            <[f64; 3]>::from(adapted(linear::apply(&FROM_SCREEN, light).into()))
        });
        Self { matrix: std::array::from_fn(|axis| std::array::from_fn(|c| columns[c][axis])) }
    }

    /// From light to colour under D50 by a matrix fitted to all points, dark ones counting
    /// more, as the eye tells them apart.
    fn darkened(points: &[Known]) -> impl Fn([f64; 3]) -> Lab + use<> {
        let weighed: Vec<(Known, f64)> = points.iter().map(|p| (*p, 1.0 / pow(p.colour.y.max(0.01), 4.0 / 3.0))).collect();
        let fit = Self::weighed(&weighed);
        move |light| {
            let found: [f64; 3] = fit.map_or([1.0; 3], |fit| fit.apply(light).into());
            Xyz::from(found.map(|v| v.max(1e-4))).to_lab(colour::D50)
        }
    }

    /// Fits points to their colours, all alike.
    pub fn plain(points: &[Known]) -> Option<Self> {
        Self::weighed(&points.iter().map(|point| (*point, 1.0)).collect::<Vec<_>>())
    }

    fn weighed(points: &[(Known, f64)]) -> Option<Self> {
        let rows: Vec<[f64; 3]> = points.iter().map(|(point, _)| point.light).collect();
        let weights: Vec<f64> = points.iter().map(|(_, weight)| *weight).collect();
        let mut matrix = [[0.0; 3]; 3];
        for (axis, row) in matrix.iter_mut().enumerate() {
            let wanted: Vec<f64> = points.iter().map(|(point, _)| <[f64; 3]>::from(point.colour)[axis]).collect();
            *row = least_squares(&rows, &wanted, &weights)?;
        }
        Some(Self { matrix })
    }
}

/// How much the likely hairs count, together, against all patches.
const LIKELY_SHARE: f64 = 2.0;

/// How much a point counts for a colour, by its difference from it.
fn closeness(point: &Known, colour: Lab, white: Xyz, near: f64) -> f64 {
    let off = ciede2000(point.colour.to_lab(white), colour) / near;
    exp(-off * off / 2.0)
}

/// The difference at which a point counts for little.
const NEAR: f64 = 22.0;

/// The same for likely hairs.
const NEAR_HAIR: f64 = 10.0;

/// A patch: its light in the photo and its known colour.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Known {
    pub light: [f64; 3],
    pub colour: Xyz,
}

/// The colours of the 24 patches under a light.
pub(crate) fn colours(under: Light) -> [Xyz; 24] {
    patches_under(under)
}

/// The usable patches and their colours under a light.
pub(crate) fn points(lights: &[[f64; 3]; 24], usable: &[bool; 24], under: Light) -> Vec<Known> {
    let patches = colours(under);
    (0..24).filter(|i| usable[*i]).map(|i| Known { light: lights[i], colour: patches[i] }).collect()
}
