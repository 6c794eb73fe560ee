//! White points, and carrying a colour from one white to another.

use crate::xyz::Xyz;

/// The white of light D50 for the 2 degree observer, by 5 nm sums.
///
/// *Source*: `tables::spectral`; key `cie015`.
pub const D50: Xyz = Xyz::new(0.964_197, 1.0, 0.825_123);

/// The white of light D65 for the 2 degree observer, by 5 nm sums.
///
/// *Source*: `tables::spectral`; key `cie015`.
pub const D65: Xyz = Xyz::new(0.950_43, 1.0, 1.088_801);

/// The white of light D50 for the 10 degree observer.
///
/// *Source*: CIE 15, table of white points, from memory; the tests recompute it
/// from the spectra. Key `cie015`.
pub const D50_TEN: Xyz = Xyz::new(0.9672, 1.0, 0.8143);

/// The white of light D65 for the 10 degree observer.
///
/// *Source*: as [`D50_TEN`].
pub const D65_TEN: Xyz = Xyz::new(0.9481, 1.0, 1.0732);

/// The Bradford cone responses.
///
/// *Source*: ICC.1:2022, annex E; key `icc1`.
const BRADFORD: [[f64; 3]; 3] = [[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]];

/// The matrix product with a column.
#[must_use]
pub fn apply(m: &[[f64; 3]; 3], v: [f64; 3]) -> [f64; 3] {
    [
        m[0][0] * v[0] + m[0][1] * v[1] + m[0][2] * v[2],
        m[1][0] * v[0] + m[1][1] * v[1] + m[1][2] * v[2],
        m[2][0] * v[0] + m[2][1] * v[1] + m[2][2] * v[2],
    ]
}

/// The inverse of a 3 by 3 matrix, or nothing when it has none.
#[must_use]
pub fn inverse(m: &[[f64; 3]; 3]) -> Option<[[f64; 3]; 3]> {
    let cofactor = |r: usize, c: usize| {
        let (r1, r2, c1, c2) = ((r + 1) % 3, (r + 2) % 3, (c + 1) % 3, (c + 2) % 3);
        m[r1][c1] * m[r2][c2] - m[r1][c2] * m[r2][c1]
    };
    let determinant = m[0][0] * cofactor(0, 0) + m[0][1] * cofactor(0, 1) + m[0][2] * cofactor(0, 2);
    if determinant == 0.0 || !determinant.is_finite() {
        return None;
    }
    let mut result = [[0.0; 3]; 3];
    for (r, row) in result.iter_mut().enumerate() {
        for (c, cell) in row.iter_mut().enumerate() {
            *cell = cofactor(c, r) / determinant;
        }
    }
    Some(result)
}

/// The colour that looks under white `to` as `colour` looks under white `from`,
/// by the linear Bradford transform.
///
/// *Accuracy*: a transform of appearance, not of light: a sample whose spectrum
/// is known is better integrated under the other light.
///
/// *Source*: ICC.1:2022, annex E; key `icc1`.
#[must_use]
pub fn adapt_bradford(colour: Xyz, from: Xyz, to: Xyz) -> Xyz {
    if from == to {
        return colour;
    }
    let here = apply(&BRADFORD, colour.into());
    let source = apply(&BRADFORD, from.into());
    let target = apply(&BRADFORD, to.into());
    let scaled = [0, 1, 2].map(|i| here[i] * target[i] / source[i]);
    match inverse(&BRADFORD) {
        Some(back) => apply(&back, scaled).into(),
        None => colour,
    }
}
