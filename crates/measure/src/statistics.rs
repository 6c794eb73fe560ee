//! The normal distribution of mean 0 and standard deviation 1.

use crate::real::{erfc, exp};
use std::f64::consts::{PI, SQRT_2};

/// The normal density at `z`.
///
/// ```
/// assert!((measure::statistics::normal_density(1.0) - 0.241_970_7).abs() < 5e-8);
/// ```
#[must_use]
pub fn normal_density(z: f64) -> f64 {
    exp(-z * z / 2.0) / (2.0 * PI).sqrt()
}

/// The share of a normal distribution that lies below `z`.
///
/// ```
/// assert_eq!(measure::statistics::normal_below(0.0), 0.5);
/// assert!((measure::statistics::normal_below(-1.96) - 0.024_997_9).abs() < 5e-8);
/// ```
#[must_use]
pub fn normal_below(z: f64) -> f64 {
    erfc(-z / SQRT_2) / 2.0
}

#[cfg(test)]
mod tests {
    use super::*;

    /// *Source*: key `abramowitz1964`, table 26.1 (from memory).
    #[test]
    fn the_normal_distribution_agrees_with_its_table() {
        for (z, share, height) in
            [(0.0, 0.5, 0.398_942_3), (1.0, 0.841_344_7, 0.241_970_7), (-1.96, 0.024_997_9, 0.058_440_9), (3.0, 0.998_650_1, 0.004_431_8)]
        {
            assert!((normal_below(z) - share).abs() < 5e-8, "{z}: {}", normal_below(z));
            assert!((normal_density(z) - height).abs() < 5e-8, "{z}: {}", normal_density(z));
        }
    }
}
