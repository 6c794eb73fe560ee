//! The hair inside its outline: gloss left out.

mod parted;
mod second_band;
mod slice;

use slice::{SHINE_ALLOWED, Slice};
pub(crate) use slice::{SLICES, mean};

use crate::correction::Correction;
use crate::geometry::{Homography, Point, inside};
use crate::light::light_between;
use crate::noise::{Means, Noise};
use crate::picture::Picture;
use measure::real::{hypot, pow};
use parted::{Parted, parted};
use second_band::{DARKER, SecondBand};

/// Columns across the strands.
const COLUMNS: usize = 120;

/// The most rows of pixels looked at in one slice, and places across in one column.
const MOST_ROWS: usize = 12;
const MOST_ACROSS: usize = 2;

/// How much lighter than the deepest slices one may be: light that has passed
/// through the strands makes a second, wider band in the hair's own colour.
const LIGHTER_ALLOWED: f64 = 1.18;

/// Between which shares of the cells, dark to bright, the middling ones lie.
const MIDDLING: (f64, f64) = (0.1, 0.65);

/// How much lighter than elsewhere strands may be without any gloss.
const OTHER_CAUSES: f64 = 1.05;

/// A slice counts as free of gloss with less than this share of what may be.
const FREE: f64 = 0.3;

/// With this share of the slices free of gloss their own ups and downs are seen.
const ENOUGH_FREE: f64 = 0.3;

/// Hair as a grid: slices along the strands, columns across.
pub(crate) struct Tress {
    /// Mean light of each cell, or nothing outside the outline.
    cells: Vec<[Option<[f64; 3]>; COLUMNS]>,
    /// Share of each slice's pixels at the top of the scale.
    clipped: [f64; SLICES],
    /// The same of all its pixels, in each channel.
    at_top: [f64; 3],
    /// Share of each slice's pixels at black, in each channel.
    black: [[f64; 3]; SLICES],
    /// What is seen of each slice.
    means: [Means; SLICES],
    /// Pixels in one slice.
    pixels: f64,
    noise: Noise,
}

impl Tress {
    /// Reads the hair, light made even and freed of what noise has done to it.
    pub fn sample(photo: &Picture, correction: &Correction, outline: &[Point]) -> Self {
        let (light, flat, noise) = (&correction.decoding, correction.fall, correction.noise);
        let frame = frame(outline);
        let map = Homography::to_corners(&frame);
        let side = |i: usize, j: usize| hypot(frame[i][0] - frame[j][0], frame[i][1] - frame[j][1]);
        let (across, along) = ((side(0, 1) + side(3, 2)) / 2.0, (side(0, 3) + side(1, 2)) / 2.0);
        // Every pixel counts where noise is strong, up to a number that is enough.
        let rows = ((along / SLICES as f64).round() as usize).clamp(1, MOST_ROWS);
        let places = ((across / COLUMNS as f64).round() as usize).clamp(1, MOST_ACROSS);
        let pixels = (across * along / SLICES as f64).min((COLUMNS * places * rows) as f64);
        let mut tress = Self {
            cells: vec![[None; COLUMNS]; SLICES],
            clipped: [0.0; SLICES],
            at_top: [0.0; 3],
            black: [[0.0; 3]; SLICES],
            means: [Means::default(); SLICES],
            pixels,
            noise,
        };
        let mut all = 0.0;
        for slice in 0..SLICES {
            let mut seen = [None; COLUMNS];
            let mut count = 0.0;
            for (column, cell) in seen.iter_mut().enumerate() {
                let (mut sum, mut taken) = (Means::default(), 0.0);
                for k in 0..rows * places {
                    let u = 0.03 + 0.94 * (column as f64 + ((k % places) as f64 + 0.5) / places as f64) / COLUMNS as f64;
                    let v = 0.02 + 0.96 * (slice as f64 + ((k / places) as f64 + 0.5) / rows as f64) / SLICES as f64;
                    let at = map.map(u, v);
                    if at[0] < 0.0 || at[1] < 0.0 || (outline.len() != 4 && !inside(outline, at)) {
                        continue;
                    }
                    let (x, y) = (at[0].round() as usize, at[1].round() as usize);
                    let (codes, fine) = (photo.codes(x, y), photo.fine_codes(x, y));
                    tress.clipped[slice] += f64::from(u8::from(codes.iter().any(|c| *c >= 254))) / (COLUMNS * rows * places) as f64;
                    for c in 0..3 {
                        sum.light[c] += light_between(&light[c], fine[c]);
                        sum.code[c] += fine[c];
                        tress.at_top[c] += f64::from(u8::from(codes[c] >= 254));
                        tress.black[slice][c] += f64::from(u8::from(codes[c] <= photo.loss.black()));
                    }
                    taken += 1.0;
                }
                count += taken;
                if taken >= (rows * places) as f64 / 2.0 {
                    *cell = Some(Means { light: sum.light.map(|s| s / taken), code: sum.code.map(|s| s / taken) });
                }
            }
            all += count;
            tress.black[slice] = tress.black[slice].map(|black| black / f64::max(count, 1.0));
            let known = || seen.iter().flatten();
            let (Some(lights), Some(codes)) = (mean(known().map(|cell| &cell.light)), mean(known().map(|cell| &cell.code))) else {
                continue;
            };
            tress.means[slice] = Means { light: lights, code: codes };
            let true_light = noise.lights(&tress.means[slice], light);
            for (column, cell) in seen.iter().enumerate() {
                let u = 0.03 + 0.94 * (column as f64 + 0.5) / COLUMNS as f64;
                let place = map.map(u, (slice as f64 + 0.5) / SLICES as f64);
                tress.cells[slice][column] = cell.map(|cell| flat.evened(true_light(&cell), place));
            }
        }
        tress.at_top = tress.at_top.map(|n| n / f64::max(all, 1.0));
        tress
    }

    /// What is seen of each slice, noise and uneven light left in.
    pub fn means(&self) -> &[Means; SLICES] {
        &self.means
    }

    /// Share of the darkest slices' pixels at black, in the worst channel.
    pub fn at_black(&self) -> f64 {
        let mut slices: Vec<(f64, [f64; 3])> = self
            .cells
            .iter()
            .zip(&self.black)
            .filter_map(|(row, black)| mean(row.iter().flatten()).map(|m| (m.iter().sum(), *black)))
            .collect();
        slices.sort_by(|p, q| p.0.total_cmp(&q.0));
        slices.truncate(SLICES / 4);
        mean(slices.iter().map(|slice| &slice.1)).map_or(0.0, |black| black.into_iter().fold(0.0, f64::max))
    }

    /// Share of the hair's pixels at the top of the scale.
    pub fn clipped(&self) -> f64 {
        self.clipped.iter().sum::<f64>() / SLICES as f64
    }

    /// The share of pixels at the top of the scale in one channel and another, as the root
    /// of their mean square: light cut off in one of them leaves two.
    pub fn cut_off(&self) -> f64 {
        (self.at_top.iter().map(|share| share * share).sum::<f64>() / 3.0).sqrt()
    }

    /// The hair's own light, gloss taken away.
    ///
    /// White gloss has the colour of the light, `white`; all else has the
    /// colour of the hair. So each slice is parted into so much of the hair's
    /// colour and so much white. Beside each white band lies a second, wider
    /// one in the hair's own colour, of light that went through the strands: so
    /// what a slice is lighter than the matt hair is explained by the white near
    /// it, smeared and shifted along the strands, and divided out.
    ///
    /// *Source*: the two lobes of a hair's shine, Marschner and others 2003; key
    /// `marschner2003`.
    pub fn matt(&self, white: [f64; 3]) -> Matt {
        let slices: Vec<Slice> = self
            .cells
            .iter()
            .enumerate()
            .filter_map(|(place, row)| {
                mean(row.iter().flatten()).map(|light| Slice { place, light, shine: 0.0, shade: 1.0, clipped: self.clipped[place] })
            })
            .collect();
        let slices = not_clipped(slices);
        let Some(Parted { slices, doubt: by_brightness }) = parted(slices, white, &self.noise, self.pixels) else { return Matt::default() };
        let second = SecondBand::fit(&slices);
        let factors: Vec<f64> = slices.iter().map(|slice| second.factors[slice.place]).collect();
        let total = |light: &[f64; 3]| light.iter().sum::<f64>();
        let mut shines: Vec<f64> = slices.iter().map(|slice| slice.shine).collect();
        shines.sort_by(f64::total_cmp);
        let mut sorted = factors.clone();
        sorted.sort_by(f64::total_cmp);
        let (Some(least_shine), Some(least)) = (shines.get(shines.len() / 20), sorted.get(sorted.len() / 20)) else {
            return Matt::default();
        };
        // 1 is the most that either kind of gloss may be; where no slice is free
        // of both, the least glossy tenth must do.
        let glossy = |slice: &Slice, factor: f64| {
            ((slice.shine - least_shine) / SHINE_ALLOWED).max((factor / least - 1.0) / (LIGHTER_ALLOWED - 1.0))
        };
        let mut ranks: Vec<f64> = slices.iter().zip(&factors).map(|(slice, factor)| glossy(slice, *factor)).collect();
        ranks.sort_by(f64::total_cmp);
        let allowed = ranks[ranks.len() / 10].max(1.0);
        // Strands are lighter here and darker there for other reasons too: half of
        // what looks like the second band, up to a limit, is left to them. Where
        // hardly a slice is free of gloss these are not seen, and what is left to
        // them is what the second band does not explain.
        let free = ranks.iter().filter(|rank| **rank <= FREE).count() as f64 / ranks.len() as f64;
        let seen = (free / ENOUGH_FREE).min(1.0);
        let left = 0.5 * seen + (1.0 - second.explained) * (1.0 - seen);
        // Hair of which nothing is seen matt may be darker still, and the model wrong.
        let unseen = DARKER / 2.0 * (1.0 - seen);
        let doubt = (second.doubt * second.doubt + unseen * unseen + by_brightness * by_brightness).sqrt();
        let mut matt = Matt { doubt: doubt.min(EVEN_ALL_OVER + most_gloss(&slices)), ..Matt::default() };
        for (slice, factor) in slices.iter().zip(&factors) {
            if glossy(slice, *factor) > allowed {
                continue;
            }
            let gloss = white.map(|w| slice.shine * w * total(&slice.light) / (total(&white) * (slice.shade + slice.shine)));
            let second = factor / pow(*factor, left).min(OTHER_CAUSES);
            matt.kept += 1.0 / slices.len() as f64;
            matt.slices.push(KeptSlice { place: slice.place, gloss, second });
            for cell in self.cells[slice.place].iter().flatten() {
                matt.cells.push([0, 1, 2].map(|c| (cell[c] - gloss[c]) / second));
            }
        }
        matt
    }

    /// Cells neither very dark nor very bright, wherever they lie.
    pub fn middling(&self) -> Matt {
        let mut list: Vec<[f64; 3]> = self.cells.iter().flatten().flatten().copied().collect();
        list.sort_by(|p, q| p[1].total_cmp(&q[1]));
        let at = |share: f64| (share * list.len() as f64) as usize;
        Matt { cells: list[at(MIDDLING.0)..at(MIDDLING.1)].to_vec(), kept: MIDDLING.1 - MIDDLING.0, ..Matt::default() }
    }
}

/// A slice that was kept: its own light is what is seen in it, less `gloss`,
/// over `second`.
#[derive(Debug, Clone, Copy)]
pub(crate) struct KeptSlice {
    pub place: usize,
    pub gloss: [f64; 3],
    pub second: f64,
}

/// The hair without its gloss.
#[derive(Default)]
pub(crate) struct Matt {
    /// Light of each cell.
    pub cells: Vec<[f64; 3]>,
    /// Share of the slices these come from.
    pub kept: f64,
    /// What was taken off in each of them.
    pub slices: Vec<KeptSlice>,
    /// How far gloss leaves the hair's lightness in doubt, relative.
    pub doubt: f64,
}

/// Gloss lies in bands: hair that is even all along its length has hardly any, and leaves
/// its lightness in doubt by no more than this and half of what its slices differ by.
const EVEN_ALL_OVER: f64 = 0.01;

/// How far gloss can move the hair's lightness, relative.
fn most_gloss(slices: &[Slice]) -> f64 {
    let mut totals: Vec<f64> = slices.iter().map(|slice| slice.light.iter().sum()).collect();
    totals.sort_by(f64::total_cmp);
    let (Some(dark), Some(light)) = (totals.get(totals.len() / 20), totals.get(totals.len() - 1 - totals.len() / 20)) else {
        return DARKER;
    };
    if *dark > 0.0 { (light / dark - 1.0) / 2.0 } else { f64::INFINITY }
}

/// A slice with more of its pixels at the top of the scale than this says little, as long
/// as so large a share of the others says something.
const CLIPPED: f64 = 0.1;
const ENOUGH_SLICES: f64 = 0.2;

/// The slices that are not white with light, or, where there are too few, all.
fn not_clipped(slices: Vec<Slice>) -> Vec<Slice> {
    let rest: Vec<Slice> = slices.iter().filter(|slice| slice.clipped <= CLIPPED).cloned().collect();
    if rest.len() as f64 >= ENOUGH_SLICES * slices.len() as f64 { rest } else { slices }
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

#[cfg(test)]
mod tests;
