//! From a camera's light to colour by roots of products, and by what patches of like
//! colour are still off by.
//!
//! Legend: `r g b` light in the picture's channels; `z` a colour's place, L* and its
//! chroma drawn together as CIEDE2000 does; `k` how alike two places are.
//!
//! Roots of products scale with the light as it does, so that a darker picture reads
//! the same. What they leave is smooth over colours (a rendering that saturates reds
//! moves all reds): a leaning of all colours and what like colours are off by together,
//! taken from the patches round about, each counting by how alike it is, held to nothing
//! where there is none. Patches that stay off, as under a shadow's edge, count for less.
//!
//! *Source*: Finlayson, Mackiewicz and Hurlbert 2015; key `finlayson2015`. The smooth
//! rest: Rasmussen and Williams 2006, chapter 2; key `rasmussen2006`.

use crate::chart_fit::Known;
use crate::chosen::Chosen;
use colour::{Lab, Xyz};
use measure::linear::{cholesky, solve, solve_by_triangle};
use measure::real::{exp, expm1, hypot, log1p, pow};

/// Which products of the channels are used.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Terms {
    /// The channels alone: a matrix.
    Channels,
    /// And the roots of their products, two by two.
    Roots,
}

/// How freely all colours may lean together, against what like colours are off by, in
/// variance over a lightness or chroma of `LEANING`.
const LEANS: f64 = 1.0;
const LEANING: f64 = 30.0;

/// The degrees of freedom of errors whose tails are long: a patch off by several times
/// what the others are counts for little.
const TAILS: f64 = 4.0;

/// A little more than the middling error, as a spread: of errors in three numbers.
const TO_SPREAD: f64 = 1.2;

/// A map from light to colour.
#[derive(Debug, Clone)]
pub(crate) struct Rooted {
    terms: Terms,
    factors: [[f64; 6]; 3],
    /// Where the patches came out, and what each pulls like colours by.
    places: Vec<[f64; 3]>,
    pulls: Vec<[f64; 3]>,
    alike: f64,
    white: Xyz,
}

/// What a fit leaves of its patches.
pub(crate) struct Rest {
    /// By how much each patch's place is off by the roots alone.
    pub offs: Vec<[f64; 3]>,
    /// How alike the patches are, what each is off by for itself added.
    pub alikeness: Vec<Vec<f64>>,
    /// Lightness that each came out with.
    pub lightness: Vec<f64>,
    /// How much each patch counts, by how it comes out when left out: 1 in full.
    pub trusts: Vec<f64>,
}

impl Rooted {
    /// Fitted to points whose colours stand under `white`, each counting by its trust;
    /// nothing when they are too few or too alike.
    pub fn fit(points: &[Known], trusts: &[f64], terms: Terms, white: Xyz, chosen: &Chosen) -> Option<Self> {
        Self::with_rest(points, trusts, terms, white, chosen).map(|(map, _)| map)
    }

    /// The same, with what it leaves.
    pub fn with_rest(points: &[Known], trusts: &[f64], terms: Terms, white: Xyz, chosen: &Chosen) -> Option<(Self, Rest)> {
        if points.len() < 9 {
            return None;
        }
        let factors = factors(points, trusts, terms, chosen)?;
        let plain = Self { terms, factors, places: Vec::new(), pulls: Vec::new(), alike: chosen.alike, white };
        let places: Vec<[f64; 3]> = points.iter().map(|point| place(plain.plain(point.light))).collect();
        let offs: Vec<[f64; 3]> =
            points.iter().zip(&places).map(|(point, there)| minus(place(point.colour.to_lab(white)), *there)).collect();
        let mut alikeness: Vec<Vec<f64>> = places.iter().map(|p| places.iter().map(|q| plain.alike(p, q)).collect()).collect();
        alikeness.iter_mut().enumerate().for_each(|(i, row)| row[i] += chosen.own / trusts[i]);
        let lower = cholesky(alikeness.clone())?;
        let columns = [0, 1, 2].map(|axis| solve_by_triangle(&lower, offs.iter().map(|rest| rest[axis]).collect()));
        let pulls: Vec<[f64; 3]> = (0..points.len()).map(|i| [0, 1, 2].map(|axis| columns[axis][i])).collect();
        let trusts = trusts_of(&lower, &pulls);
        let lightness = places.iter().map(|place| place[0]).collect();
        Some((Self { places, pulls, ..plain }, Rest { offs, alikeness, lightness, trusts }))
    }

    /// The colour of light, under the white it was fitted for.
    pub fn lab(&self, light: [f64; 3]) -> Lab {
        let mut at = place(self.plain(light));
        let found = at;
        for (there, pull) in self.places.iter().zip(&self.pulls) {
            let k = self.alike(&found, there);
            (0..3).for_each(|axis| at[axis] += k * pull[axis]);
        }
        of_place(at)
    }

    /// The same in X Y Z, never less than nothing.
    pub fn apply(&self, light: [f64; 3]) -> Xyz {
        let found: [f64; 3] = self.lab(light).to_xyz(self.white).into();
        found.map(|v| v.max(0.0)).into()
    }

    fn sums(&self, light: [f64; 3]) -> [f64; 3] {
        let row = row(light, self.terms);
        self.factors.map(|factors| factors.iter().zip(&row).map(|(p, q)| p * q).sum())
    }

    fn plain(&self, light: [f64; 3]) -> Lab {
        let colour: Xyz = self.sums(light).map(|v| v.max(1e-4)).into();
        colour.to_lab(self.white)
    }

    /// How alike two places are: 1 as colours, and more as they lean together.
    fn alike(&self, p: &[f64; 3], q: &[f64; 3]) -> f64 {
        const MIDDLE: [f64; 3] = [50.0, 0.0, 0.0];
        let square: f64 = p.iter().zip(q).map(|(a, b)| (a - b) * (a - b)).sum();
        let leaning: f64 = (0..3).map(|k| (p[k] - MIDDLE[k]) * (q[k] - MIDDLE[k])).sum();
        exp(-square / (2.0 * self.alike * self.alike)) + LEANS * (1.0 + leaning / (LEANING * LEANING))
    }
}

/// Products of the channels to X, Y and Z, dark patches counting more, as the eye tells
/// them apart.
fn factors(points: &[Known], trusts: &[f64], terms: Terms, chosen: &Chosen) -> Option<[[f64; 6]; 3]> {
    let mut matrix = [[0.0; 6]; 6];
    let mut right = [[0.0; 6]; 3];
    for (point, trust) in points.iter().zip(trusts) {
        let (row, w) = (row(point.light, terms), trust / pow(point.colour.y.max(0.01), 4.0 / 3.0));
        let colour: [f64; 3] = point.colour.into();
        for i in 0..6 {
            (0..3).for_each(|axis| right[axis][i] += w * row[i] * colour[axis]);
            (0..6).for_each(|j| matrix[i][j] += w * row[i] * row[j]);
        }
    }
    let mean = (0..6).map(|i| matrix[i][i]).sum::<f64>() / 6.0;
    (3..6).for_each(|i| matrix[i][i] += chosen.held_roots * mean);
    let mut factors = [[0.0; 6]; 3];
    for (row, right) in factors.iter_mut().zip(right) {
        *row = solve(matrix, right)?;
    }
    Some(factors)
}

/// How much each patch counts by what it is off by when left out.
///
/// *Source*: left-out errors of a smooth rest in closed form, Rasmussen and Williams 2006,
/// section 5.4.2; key `rasmussen2006`. Weights of errors with long tails: those of
/// Student's distribution (closed form).
fn trusts_of(lower: &[Vec<f64>], pulls: &[[f64; 3]]) -> Vec<f64> {
    let n = pulls.len();
    let left_out: Vec<f64> = (0..n)
        .map(|i| {
            let mut one = vec![0.0; n];
            one[i] = 1.0;
            let own = solve_by_triangle(lower, one)[i].max(1e-12);
            pulls[i].iter().map(|pull| (pull / own) * (pull / own)).sum::<f64>().sqrt()
        })
        .collect();
    let mut sorted = left_out.clone();
    sorted.sort_by(f64::total_cmp);
    let spread = (TO_SPREAD * sorted[n / 2]).max(1e-6);
    left_out.iter().map(|off| ((TAILS + 1.0) / (TAILS + (off / spread) * (off / spread))).min(1.0)).collect()
}

fn row(light: [f64; 3], terms: Terms) -> [f64; 6] {
    let [r, g, b] = light.map(|l| l.max(1e-6));
    let root = |p: f64, q: f64| if terms == Terms::Roots { (p * q).sqrt() } else { 0.0 };
    [r, g, b, root(r, g), root(g, b), root(r, b)]
}

/// A colour's place: chroma counts less the more of it there is.
fn place(lab: Lab) -> [f64; 3] {
    let chroma = lab.chroma().max(1e-6);
    let drawn = log1p(0.045 * chroma) / 0.045 / chroma;
    [lab.l, lab.a * drawn, lab.b * drawn]
}

/// The colour at a place.
fn of_place([l, a, b]: [f64; 3]) -> Lab {
    let drawn = hypot(a, b).max(1e-9);
    let times = expm1(0.045 * drawn) / 0.045 / drawn;
    Lab::new(l, a * times, b * times)
}

fn minus(p: [f64; 3], q: [f64; 3]) -> [f64; 3] {
    [p[0] - q[0], p[1] - q[1], p[2] - q[2]]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart_fit::colours;
    use colour::{D50, Light, ciede2000};
    use measure::linear;

    /// A camera that sees as a matrix does.
    fn points() -> Vec<Known> {
        const CAMERA: [[f64; 3]; 3] = [[1.6, -0.4, -0.1], [-0.3, 1.2, 0.1], [0.0, -0.1, 1.3]];
        colours(Light::D50).map(|colour| Known { light: linear::apply(&CAMERA, colour.into()), colour }).to_vec()
    }

    #[test]
    fn a_camera_that_is_a_matrix_is_undone_by_both_kinds_even_for_a_patch_left_out() {
        for terms in [Terms::Channels, Terms::Roots] {
            let mut known = points();
            let skin = known.remove(0);
            let map = Rooted::fit(&known, &[1.0; 23], terms, D50, &Chosen::IN_FOLDS).unwrap();
            let error = ciede2000(map.lab(skin.light), skin.colour.to_lab(D50));
            assert!(error < 0.5, "{terms:?}: {error}");
        }
    }

    #[test]
    fn a_rendering_that_moves_like_colours_alike_is_followed() {
        // All reddish colours are made redder by half, as a phone may like them.
        let redder = |known: &Known| {
            let lab = known.colour.to_lab(D50);
            let more = if lab.a > 5.0 { 1.5 } else { 1.0 };
            Known { light: Lab::new(lab.l, lab.a * more, lab.b).to_xyz(D50).into(), colour: known.colour }
        };
        let mut known: Vec<Known> = points().iter().map(redder).collect();
        let skin = known.remove(1);
        let plain = ciede2000(Xyz::from(skin.light).to_lab(D50), skin.colour.to_lab(D50));
        let error = ciede2000(
            Rooted::fit(&known, &[1.0; 23], Terms::Roots, D50, &Chosen::IN_FOLDS).unwrap().lab(skin.light),
            skin.colour.to_lab(D50),
        );
        assert!(error < 0.5 * plain, "{error} of {plain}");
    }

    #[test]
    fn too_few_points_are_no_map() {
        assert!(Rooted::fit(&points()[..6], &[1.0; 6], Terms::Roots, D50, &Chosen::IN_FOLDS).is_none());
    }
}
