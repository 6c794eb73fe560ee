//! The hair inside its outline: gloss left out.

use crate::correction::Correction;
use crate::geometry::{Homography, Point, inside};
use crate::light::light_between;
use crate::noise::{Means, Noise};
use crate::picture::Picture;
use crate::solve::least_squares;
use measure::real::{exp, hypot, pow, powi};

/// Slices along the strands.
pub(crate) const SLICES: usize = 40;

/// Columns across the strands.
const COLUMNS: usize = 120;

/// The most rows of pixels looked at in one slice, and places across in one column.
const MOST_ROWS: usize = 12;
const MOST_ACROSS: usize = 2;

/// The share of slices, the darkest, from which the search for gloss starts.
const DARKEST: f64 = 0.4;

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

/// White light in a slice, as a share of the hair's own, that is still no gloss.
const SHINE_ALLOWED: f64 = 0.03;

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

/// One slice: its mean light, parted into hair and white.
#[derive(Debug, Clone)]
struct Slice {
    place: usize,
    light: [f64; 3],
    /// White in it, as a share of the hair's own light.
    shine: f64,
    /// The hair's own light in it, as a multiple of the hair's colour.
    shade: f64,
    /// Share of its pixels at the top of the scale.
    clipped: f64,
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

/// Noise wider than this share of the hair's own light, in a slice, makes a channel
/// count for less.
const NOISY: f64 = 0.02;

/// White is known to this share of the hair's own light: where a single slice does
/// not tell it so well its neighbours help, up to so many slices to each side.
const WHITE_KNOWN: f64 = 0.006;
const NEIGHBOURS: f64 = 1.5;

/// A slice with more of its pixels at the top of the scale than this says little, as long
/// as so large a share of the others says something.
const CLIPPED: f64 = 0.1;
const ENOUGH_SLICES: f64 = 0.2;

/// The slices that are not white with light, or, where there are too few, all.
fn not_clipped(slices: Vec<Slice>) -> Vec<Slice> {
    let rest: Vec<Slice> = slices.iter().filter(|slice| slice.clipped <= CLIPPED).cloned().collect();
    if rest.len() as f64 >= ENOUGH_SLICES * slices.len() as f64 { rest } else { slices }
}

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
struct Parted {
    slices: Vec<Slice>,
    /// How far the hair's lightness is in doubt where brightness alone parted it, relative.
    doubt: f64,
}

/// Slices parted into the hair's colour and white, that colour being found from
/// the slices with least white; nothing when they do not settle it.
fn parted(mut slices: Vec<Slice>, white: [f64; 3], noise: &Noise, pixels: f64) -> Option<Parted> {
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
    // A bell of this width lessens the spread as wanted: by the root of 2 w root pi.
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

/// How much lighter than matt the second band makes every slice.
#[derive(Debug)]
struct SecondBand {
    /// Factor for each slice of the tress.
    factors: Vec<f64>,
    /// How far the matt hair's lightness is in doubt, relative.
    doubt: f64,
    /// Share of the slices' squared differences in lightness that it explains.
    explained: f64,
}

/// How far the second band may be shifted, and how far smeared, in slices.
const SHIFTS: std::ops::RangeInclusive<i32> = -6..=6;
const SMEARS: [f64; 10] = [0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 3.5, 4.5, 5.5, 6.5];

/// How far the matt hair is likely to be darker than the darkest slices seen, relative.
const DARKER: f64 = 0.05;

/// More white than this, as a share of the hair's own light, leaves its colour unknown.
const WHITE: f64 = 1.0;

/// Neighbouring slices err together: so many count as one.
const ALIKE: f64 = 10.0;

/// One account of the second band: cost, the matt hair's shade, all shades.
struct Account {
    cost: f64,
    base: f64,
    shades: Vec<f64>,
}

impl SecondBand {
    /// Weighs all shifts and smears by how well they explain the slices' shades.
    fn fit(slices: &[Slice]) -> Self {
        let mut sorted: Vec<f64> =
            slices.iter().filter(|slice| slice.clipped < 0.02 && slice.shine < WHITE).map(|slice| slice.shade).collect();
        sorted.sort_by(f64::total_cmp);
        let Some(darkest) = sorted.get(sorted.len() / 20).copied() else {
            return Self { factors: vec![1.0; SLICES], doubt: DARKER, explained: 0.0 };
        };
        let accounts: Vec<Account> = SHIFTS.flat_map(|shift| SMEARS.map(|smear| Self::account(slices, shift, smear))).flatten().collect();
        let least = accounts.iter().map(|account| account.cost).fold(f64::INFINITY, f64::min);
        let noise = least / (slices.len().max(5) - 4) as f64 + 1e-9;
        let (mut sum, mut base, mut square) = (0.0, 0.0, 0.0);
        let mut shades = vec![0.0; SLICES];
        for account in &accounts {
            let below = (darkest - account.base) / (darkest * DARKER);
            let weight = exp(-(account.cost - least) / (2.0 * noise * ALIKE) - below * below / 2.0);
            sum += weight;
            base += weight * account.base;
            square += weight * account.base * account.base;
            for (all, one) in shades.iter_mut().zip(&account.shades) {
                *all += weight * one;
            }
        }
        if sum <= 1e-12 {
            // No white anywhere, so no second band: what is lighter is so for other reasons,
            // and the matt hair is no darker than these let it be.
            let lightest = sorted[sorted.len() - 1 - sorted.len() / 20];
            let spread = if darkest > 0.0 { (lightest / darkest - 1.0) / 4.0 } else { DARKER };
            return Self { factors: vec![1.0; SLICES], doubt: spread.min(DARKER), explained: 0.0 };
        }
        (base, square) = (base / sum, square / sum);
        let all: f64 = slices.iter().map(Slice::trust).sum();
        let middle = slices.iter().map(|slice| slice.trust() * slice.shade).sum::<f64>() / all;
        let total: f64 = slices.iter().map(|slice| slice.trust() * (slice.shade - middle) * (slice.shade - middle)).sum();
        let explained = 1.0 - (least / total).min(1.0);
        Self {
            factors: shades.iter().map(|shade| shade / sum / base).collect(),
            doubt: (square - base * base).max(0.0).sqrt() / base,
            explained,
        }
    }

    fn account(slices: &[Slice], shift: i32, smear: f64) -> Option<Account> {
        let smeared: Vec<f64> = (0..SLICES).map(|place| smeared(slices, place as f64 - f64::from(shift), smear)).collect();
        let rows: Vec<[f64; 2]> = slices.iter().map(|slice| [1.0, smeared[slice.place]]).collect();
        let shades: Vec<f64> = slices.iter().map(|slice| slice.shade).collect();
        let weights: Vec<f64> = slices.iter().map(Slice::trust).collect();
        let [base, rise] = least_squares(&rows, &shades, &weights)?;
        if base <= 0.0 || rise < 0.0 {
            return None;
        }
        let cost =
            rows.iter().zip(&shades).zip(&weights).map(|((row, y), w)| w * (y - base - rise * row[1]) * (y - base - rise * row[1])).sum();
        Some(Account { cost, base, shades: smeared.iter().map(|v| base + rise * v).collect() })
    }
}

impl Slice {
    /// Where white is strong or clipped the parting is worth less.
    fn trust(&self) -> f64 {
        let white = 0.1 + self.shine.max(0.0) + 20.0 * self.clipped;
        1.0 / (white * white)
    }
}

/// White about a place, weighed by a bell; beyond both ends it goes on as there.
fn smeared(slices: &[Slice], middle: f64, width: f64) -> f64 {
    let (Some(first), Some(last)) = (slices.first(), slices.last()) else { return 0.0 };
    let (mut sum, mut weights) = (0.0, 0.0);
    let mut add = |place: f64, shine: f64| {
        let off = (place - middle) / width;
        let w = exp(-off * off / 2.0);
        sum += w * shine.max(0.0);
        weights += w;
    };
    slices.iter().for_each(|slice| add(slice.place as f64, slice.shine));
    for beyond in 1..=BEYOND {
        add(first.place as f64 - beyond as f64, first.shine);
        add(last.place as f64 + beyond as f64, last.shine);
    }
    if weights > 1e-6 { sum / weights } else { 0.0 }
}

/// Slices beyond the ends that a shifted and smeared band may reach.
const BEYOND: usize = 20;

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

#[cfg(test)]
mod tests;
