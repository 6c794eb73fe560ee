//! Small weighted least squares.

/// The coefficients that bring `rows · x` nearest to `wanted` in the weighted
/// sum of squares, or nothing when the rows do not settle them.
pub(crate) fn least_squares<const N: usize>(rows: &[[f64; N]], wanted: &[f64], weights: &[f64]) -> Option<[f64; N]> {
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

/// The `x` with `matrix · x = right`, or nothing when there is no single one.
pub(crate) fn solve<const N: usize>(mut matrix: [[f64; N]; N], mut right: [f64; N]) -> Option<[f64; N]> {
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

/// The lower triangle whose square is the matrix, or nothing when there is none.
pub(crate) fn cholesky(mut m: Vec<Vec<f64>>) -> Option<Vec<Vec<f64>>> {
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

/// The `x` with square of `lower` times `x` = the given.
pub(crate) fn back(lower: &[Vec<f64>], mut x: Vec<f64>) -> Vec<f64> {
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
