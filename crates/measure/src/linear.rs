//! Linear equations, least squares, and 3 by 3 matrices.
//!
//! Small and dense: a handful of unknowns, or as many as a chart has patches.

use crate::vector::Vec3;

/// Three rows of three.
pub type Matrix3 = [Vec3; 3];

/// The matrix product with a column.
///
/// ```
/// let doubled = [[2.0, 0.0, 0.0], [0.0, 2.0, 0.0], [0.0, 0.0, 2.0]];
/// assert_eq!(measure::linear::apply(&doubled, [1.0, 2.0, 3.0]), [2.0, 4.0, 6.0]);
/// ```
#[must_use]
pub fn apply(m: &Matrix3, v: Vec3) -> Vec3 {
    [
        m[0][0] * v[0] + m[0][1] * v[1] + m[0][2] * v[2],
        m[1][0] * v[0] + m[1][1] * v[1] + m[1][2] * v[2],
        m[2][0] * v[0] + m[2][1] * v[1] + m[2][2] * v[2],
    ]
}

/// The inverse of a 3 by 3 matrix by its cofactors, or nothing when it has none.
///
/// ```
/// let doubled = [[2.0, 0.0, 0.0], [0.0, 2.0, 0.0], [0.0, 0.0, 2.0]];
/// let halved = [[0.5, 0.0, 0.0], [0.0, 0.5, 0.0], [0.0, 0.0, 0.5]];
/// assert_eq!(measure::linear::inverse(&doubled), Some(halved));
/// assert_eq!(measure::linear::inverse(&[[1.0; 3]; 3]), None);
/// ```
#[must_use]
pub fn inverse(m: &Matrix3) -> Option<Matrix3> {
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

/// The coefficients that bring `rows · x` nearest to `wanted` in the weighted
/// sum of squares, or nothing when the rows do not settle them.
///
/// ```
/// // A straight line through three points: 1 + 2 x.
/// let rows = [[1.0, 0.0], [1.0, 1.0], [1.0, 2.0]];
/// let found = measure::linear::least_squares(&rows, &[1.0, 3.0, 5.0], &[1.0; 3]);
/// assert_eq!(found, Some([1.0, 2.0]));
/// ```
#[must_use]
pub fn least_squares<const N: usize>(rows: &[[f64; N]], wanted: &[f64], weights: &[f64]) -> Option<[f64; N]> {
    let mut matrix = [[0.0; N]; N];
    let mut right = [0.0; N];
    for ((row, y), w) in rows.iter().zip(wanted).zip(weights) {
        for i in 0..N {
            right[i] += w * row[i] * y;
            for j in 0..N {
                matrix[i][j] += w * row[i] * row[j];
            }
        }
    }
    solve(matrix, right)
}

/// The `x` with `matrix · x = right`, by elimination with the greatest pivot of each
/// column, or nothing when there is no single one.
///
/// ```
/// assert_eq!(measure::linear::solve([[2.0, 0.0], [0.0, 4.0]], [2.0, 2.0]), Some([1.0, 0.5]));
/// assert_eq!(measure::linear::solve([[1.0, 2.0], [2.0, 4.0]], [1.0, 1.0]), None);
/// ```
#[must_use]
pub fn solve<const N: usize>(mut matrix: [[f64; N]; N], mut right: [f64; N]) -> Option<[f64; N]> {
    for i in 0..N {
        let best = (i..N).max_by(|p, q| matrix[*p][i].abs().total_cmp(&matrix[*q][i].abs()))?;
        matrix.swap(i, best);
        right.swap(i, best);
        if matrix[i][i].abs() < 1e-14 {
            return None;
        }
        for j in i + 1..N {
            let factor = matrix[j][i] / matrix[i][i];
            for k in i..N {
                matrix[j][k] -= factor * matrix[i][k];
            }
            right[j] -= factor * right[i];
        }
    }
    let mut x = [0.0; N];
    for i in (0..N).rev() {
        let rest: f64 = (i + 1..N).map(|j| matrix[i][j] * x[j]).sum();
        x[i] = (right[i] - rest) / matrix[i][i];
    }
    x.iter().all(|v| v.is_finite()).then_some(x)
}

/// Cholesky's lower triangle, whose square is the matrix, or nothing when there is none:
/// the matrix is symmetrical, and what stands above its diagonal is not read.
///
/// ```
/// let lower = measure::linear::cholesky(vec![vec![4.0, 2.0], vec![2.0, 5.0]]).unwrap();
/// assert_eq!((lower[0][0], lower[1][0], lower[1][1]), (2.0, 1.0, 2.0));
/// ```
#[must_use]
pub fn cholesky(mut m: Vec<Vec<f64>>) -> Option<Vec<Vec<f64>>> {
    let n = m.len();
    for i in 0..n {
        for j in 0..=i {
            let sum: f64 = m[i][j] - (0..j).map(|k| m[i][k] * m[j][k]).sum::<f64>();
            if i == j {
                if sum <= 0.0 {
                    return None;
                }
                m[i][i] = sum.sqrt();
            } else {
                m[i][j] = sum / m[j][j];
            }
        }
    }
    Some(m)
}

/// The solution of equations by the lower triangle of their matrix ([`cholesky`]); `x` is
/// their right side.
///
/// ```
/// use measure::linear::{cholesky, solve_by_triangle};
/// let lower = cholesky(vec![vec![4.0, 2.0], vec![2.0, 5.0]]).unwrap();
/// assert_eq!(solve_by_triangle(&lower, vec![8.0, 12.0]), [1.0, 2.0]);
/// ```
#[must_use]
pub fn solve_by_triangle(lower: &[Vec<f64>], mut x: Vec<f64>) -> Vec<f64> {
    let n = x.len();
    for i in 0..n {
        let sum: f64 = (0..i).map(|k| lower[i][k] * x[k]).sum();
        x[i] = (x[i] - sum) / lower[i][i];
    }
    for i in (0..n).rev() {
        let sum: f64 = (i + 1..n).map(|k| lower[k][i] * x[k]).sum();
        x[i] = (x[i] - sum) / lower[i][i];
    }
    x
}
