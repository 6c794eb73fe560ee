//! How the light falls off across the picture, from the plain board.

use crate::geometry::{Point, grown, inside};
use crate::light::{Decoding, light_between};
use crate::picture::Picture;
use measure::linear;
use measure::linear::least_squares;
use measure::real::{exp, ln};

/// A smooth surface of log light for each channel, 0 at the chart's middle.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Flat {
    surface: [[f64; 6]; 3],
    size: Point,
    at_chart: [f64; 3],
    /// Spread of the board about the surface, relative.
    pub blotches: f64,
}

/// From a screen's primaries to the Bradford ones: its matrix times that of
/// IEC 61966-2-1; and back. Rows of the first sum to 1.
///
/// *Source*: keys `icc1`, `iec61966`.
const SHARP: [[f64; 3]; 3] = [[0.44896, 0.52195, 0.02909], [0.05346, 0.92426, 0.02229], [0.01959, 0.08043, 0.89997]];
const BLUNT: [[f64; 3]; 3] = [[2.38951, -1.34559, -0.04391], [-0.13725, 1.16157, -0.02433], [-0.03975, -0.07452, 1.11428]];

/// Board blocks taken, across and down.
const BLOCKS: usize = 48;

/// The spread of the board beyond which it is no plain board.
const NOT_PLAIN: f64 = 0.25;

/// Board means: place and light in each channel, clipped blocks left out.
pub(crate) struct Board(Vec<(Point, [f64; 3])>);

impl Board {
    /// Samples the picture outside chart and hair.
    pub fn sample(photo: &Picture, decoding: &Decoding, chart: &[Point; 4], hairs: &[&[Point]]) -> Self {
        let (width, height) = photo.size();
        let keep_out: Vec<Vec<Point>> = hairs.iter().map(|hair| grown(hair, 1.15)).chain([grown(chart, 1.15)]).collect();
        let mut list = Vec::new();
        for j in 0..BLOCKS {
            for i in 0..BLOCKS {
                let at = [(i as f64 + 0.5) * width as f64 / BLOCKS as f64, (j as f64 + 0.5) * height as f64 / BLOCKS as f64];
                if keep_out.iter().any(|outline| inside(outline, at)) {
                    continue;
                }
                let reach = 3_i64;
                let mut sum = [0.0; 3];
                let mut clipped = false;
                for dy in -reach..=reach {
                    for dx in -reach..=reach {
                        let (x, y) = ((at[0] as i64 + dx).max(0) as usize, (at[1] as i64 + dy).max(0) as usize);
                        let (codes, fine) = (photo.codes(x, y), photo.fine_codes(x, y));
                        clipped |= codes.iter().any(|code| *code >= 254);
                        for c in 0..3 {
                            sum[c] += light_between(&decoding[c], fine[c]);
                        }
                    }
                }
                let count = ((2 * reach + 1) * (2 * reach + 1)) as f64;
                if !clipped {
                    list.push((at, sum.map(|s| s / count)));
                }
            }
        }
        Self(list)
    }
}

impl Flat {
    /// Even light.
    pub const EVEN: Self = Self { surface: [[0.0; 6]; 3], size: [1.0, 1.0], at_chart: [0.0; 3], blotches: 0.0 };

    /// The surface through the board, or nothing when there is no plain board.
    pub fn fit(board: &Board, chart: &[Point; 4], size: (usize, usize)) -> Option<Self> {
        let mut flat = Self { size: [size.0 as f64, size.1 as f64], ..Self::EVEN };
        let mut worst = 0.0_f64;
        for c in 0..3 {
            let mut rows = Vec::new();
            let mut wanted = Vec::new();
            for (at, light) in &board.0 {
                if light[c] > 1e-3 {
                    rows.push(flat.terms(*at));
                    wanted.push(ln(light[c]));
                }
            }
            if rows.len() < 120 {
                return None;
            }
            let mut weights = vec![1.0; rows.len()];
            let mut spread = 0.0;
            for _ in 0..8 {
                flat.surface[c] = least_squares(&rows, &wanted, &weights)?;
                let off: Vec<f64> = rows.iter().zip(&wanted).map(|(row, y)| y - dot(row, &flat.surface[c])).collect();
                let mut sizes: Vec<f64> = off.iter().map(|o| o.abs()).collect();
                sizes.sort_by(f64::total_cmp);
                spread = 1.4826 * sizes[sizes.len() / 2] + 1e-6;
                // Tukey's bisquare: an object on the board does not count.
                for (w, o) in weights.iter_mut().zip(&off) {
                    let z = o / (4.0 * spread);
                    *w = if z.abs() < 1.0 { (1.0 - z * z) * (1.0 - z * z) } else { 0.0 };
                }
            }
            worst = worst.max(spread);
        }
        if worst > NOT_PLAIN {
            return None;
        }
        flat.blotches = worst;
        let middle = [0, 1].map(|k| chart.iter().map(|p| p[k]).sum::<f64>() / 4.0);
        flat.at_chart = [0, 1, 2].map(|c| dot(&flat.terms(middle), &flat.surface[c]));
        Some(flat)
    }

    /// How far the light's red changes against its blue between chart and hair.
    pub fn colour_change(&self, hair: &[Point]) -> f64 {
        let off = |p: &Point| {
            let [red, _, blue] = self.at(*p);
            ln(red / blue).abs()
        };
        hair.iter().map(off).fold(0.0, f64::max)
    }

    /// Light from a place as it would be at the chart's middle.
    ///
    /// Where the light changes its colour on the way, as between a window and a
    /// lamp, things follow in the eye's sharpened primaries better than in the
    /// photo's own.
    ///
    /// *Source*: the Bradford primaries; key `icc1`.
    pub fn evened(&self, light: [f64; 3], place: Point) -> [f64; 3] {
        let terms = self.terms(place);
        let here = linear::apply(&SHARP, [0, 1, 2].map(|c| exp(dot(&terms, &self.surface[c]))));
        let there = linear::apply(&SHARP, self.at_chart.map(exp));
        let seen = linear::apply(&SHARP, light);
        linear::apply(&BLUNT, [0, 1, 2].map(|i| seen[i] * there[i] / here[i]))
    }

    fn terms(&self, at: Point) -> [f64; 6] {
        let (x, y) = (2.0 * at[0] / self.size[0] - 1.0, 2.0 * at[1] / self.size[1] - 1.0);
        [1.0, x, y, x * x, x * y, y * y]
    }

    /// Light at a place, 1 at the chart's middle.
    pub fn at(&self, place: Point) -> [f64; 3] {
        let terms = self.terms(place);
        [0, 1, 2].map(|c| exp(dot(&terms, &self.surface[c]) - self.at_chart[c]))
    }
}

fn dot(p: &[f64; 6], q: &[f64; 6]) -> f64 {
    p.iter().zip(q).map(|(a, b)| a * b).sum()
}
