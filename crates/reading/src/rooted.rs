//! From a camera's light to colour by roots of products, and by what patches of like
//! colour are still off by.
//!
//! Legend: `r g b` light in the picture's channels; `z` a colour's place, L* and its
//! chroma drawn together as CIEDE2000 does; `k` how alike two places are.
//!
//! Roots of products scale with the light as it does, so that a darker picture reads
//! the same. What they leave is smooth over colours (a rendering that saturates reds
//! moves all reds): it is taken from the patches round about, each counting by how
//! alike it is, held to nothing where there is none.
//!
//! *Source*: Finlayson, Mackiewicz and Hurlbert 2015; key `finlayson2015`. The smooth
//! rest: Rasmussen and Williams 2006, chapter 2; key `rasmussen2006`.

use crate::chart_fit::Known;
use crate::solve::{back, cholesky, solve};
use colour::{Lab, Xyz};
use measure::real::{exp, log1p, pow};

/// Which products of the channels are used.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Terms {
    /// The channels alone: a matrix.
    Channels,
    /// And the roots of their products, two by two.
    Roots,
}

/// How firmly the roots are held to nothing, against a term that counts in full.
const HELD_ROOTS: f64 = 0.01;

/// The difference, in a colour's place, at which two patches are no longer alike.
const ALIKE: f64 = 15.0;

/// What a patch is off by for itself, against what like colours are off by together,
/// in variance.
const OWN: f64 = 0.3;

/// A map from light to colour.
#[derive(Debug, Clone)]
pub(crate) struct Rooted {
    terms: Terms,
    factors: [[f64; 6]; 3],
    /// Where the patches came out, and what each pulls like colours by.
    places: Vec<[f64; 3]>,
    pulls: Vec<[f64; 3]>,
    white: Xyz,
}

impl Rooted {
    /// Fitted to points whose colours stand under `white`; nothing when they are too
    /// few or too alike.
    pub fn fit(points: &[Known], terms: Terms, white: Xyz) -> Option<Self> {
        if points.len() < 9 {
            return None;
        }
        let rows: Vec<[f64; 6]> = points.iter().map(|point| row(point.light, terms)).collect();
        let weights: Vec<f64> = points.iter().map(|point| 1.0 / pow(point.colour.y.max(0.01), 4.0 / 3.0)).collect();
        let mut matrix = [[0.0; 6]; 6];
        let mut right = [[0.0; 6]; 3];
        for ((row, point), w) in rows.iter().zip(points).zip(&weights) {
            let colour: [f64; 3] = point.colour.into();
            for i in 0..6 {
                (0..3).for_each(|axis| right[axis][i] += w * row[i] * colour[axis]);
                (0..6).for_each(|j| matrix[i][j] += w * row[i] * row[j]);
            }
        }
        let mean = (0..6).map(|i| matrix[i][i]).sum::<f64>() / 6.0;
        (3..6).for_each(|i| matrix[i][i] += HELD_ROOTS * mean);
        let mut factors = [[0.0; 6]; 3];
        for (row, right) in factors.iter_mut().zip(right) {
            *row = solve(matrix, right)?;
        }
        let plain = Self { terms, factors, places: Vec::new(), pulls: Vec::new(), white };
        let found: Vec<Lab> = points.iter().map(|point| plain.plain(point.light)).collect();
        let places: Vec<[f64; 3]> = found.iter().map(|lab| place(*lab)).collect();
        let mut alikeness: Vec<Vec<f64>> = places.iter().map(|p| places.iter().map(|q| alike(p, q)).collect()).collect();
        alikeness.iter_mut().enumerate().for_each(|(i, row)| row[i] += OWN);
        let lower = cholesky(alikeness)?;
        let rests: Vec<[f64; 3]> = points.iter().zip(&found).map(|(point, lab)| off(point.colour.to_lab(white), *lab)).collect();
        let columns = [0, 1, 2].map(|axis| back(&lower, rests.iter().map(|rest| rest[axis]).collect()));
        let pulls = (0..points.len()).map(|i| [0, 1, 2].map(|axis| columns[axis][i])).collect();
        Some(Self { places, pulls, ..plain })
    }

    /// The colour of light, under the white it was fitted for.
    pub fn lab(&self, light: [f64; 3]) -> Lab {
        let found = self.plain(light);
        let at = place(found);
        let mut sum: [f64; 3] = found.into();
        for (there, pull) in self.places.iter().zip(&self.pulls) {
            let k = alike(&at, there);
            (0..3).for_each(|axis| sum[axis] += k * pull[axis]);
        }
        sum.into()
    }

    /// The same in X Y Z, never less than nothing.
    pub fn apply(&self, light: [f64; 3]) -> Xyz {
        let found: [f64; 3] = self.lab(light).to_xyz(self.white).into();
        found.map(|v| v.max(0.0)).into()
    }

    /// Y of light by the roots alone.
    pub fn luminance(&self, light: [f64; 3]) -> f64 {
        self.sums(light)[1]
    }

    fn sums(&self, light: [f64; 3]) -> [f64; 3] {
        let row = row(light, self.terms);
        self.factors.map(|factors| factors.iter().zip(&row).map(|(p, q)| p * q).sum())
    }

    fn plain(&self, light: [f64; 3]) -> Lab {
        let colour: Xyz = self.sums(light).map(|v| v.max(1e-4)).into();
        colour.to_lab(self.white)
    }
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

fn alike(p: &[f64; 3], q: &[f64; 3]) -> f64 {
    let square: f64 = p.iter().zip(q).map(|(a, b)| (a - b) * (a - b)).sum();
    exp(-square / (2.0 * ALIKE * ALIKE))
}

fn off(wanted: Lab, found: Lab) -> [f64; 3] {
    [wanted.l - found.l, wanted.a - found.a, wanted.b - found.b]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart_fit::colours;
    use colour::{D50, Light, ciede2000, white};

    /// A camera that sees as a matrix does.
    fn points() -> Vec<Known> {
        const CAMERA: [[f64; 3]; 3] = [[1.6, -0.4, -0.1], [-0.3, 1.2, 0.1], [0.0, -0.1, 1.3]];
        colours(Light::D50).map(|colour| Known { light: white::apply(&CAMERA, colour.into()), colour }).to_vec()
    }

    #[test]
    fn a_camera_that_is_a_matrix_is_undone_by_both_kinds_even_for_a_patch_left_out() {
        for terms in [Terms::Channels, Terms::Roots] {
            let mut known = points();
            let skin = known.remove(0);
            let map = Rooted::fit(&known, terms, D50).unwrap();
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
        let error = ciede2000(Rooted::fit(&known, Terms::Roots, D50).unwrap().lab(skin.light), skin.colour.to_lab(D50));
        assert!(error < 0.5 * plain, "{error} of {plain}");
    }

    #[test]
    fn too_few_points_are_no_map() {
        assert!(Rooted::fit(&points()[..6], Terms::Roots, D50).is_none());
    }
}
