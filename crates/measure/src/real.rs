//! Deterministic mathematics.
//!
//! The standard library hands `sin`, `exp` and their kin to the platform, whose
//! last digit may differ from one machine to the next. A plan must be the same
//! everywhere, so the pure floors call these, which are computed the same way
//! on every machine. (`sqrt`, `abs` and the four operations are exact by IEEE
//! 754 and may be used as methods.)

pub use libm::{acos, asin, atan, atan2, cbrt, cos, erfc, exp, expm1, floor, hypot, lgamma, log as ln, log1p, pow, sin, sincos, tan};

/// `x` raised to a small whole power by repeated multiplication.
///
/// ```
/// assert_eq!(measure::real::powi(3.0, 5), 243.0);
/// ```
#[must_use]
pub fn powi(x: f64, n: u32) -> f64 {
    let mut result = 1.0;
    let mut base = x;
    let mut left = n;
    while left > 0 {
        if left & 1 == 1 {
            result *= base;
        }
        base *= base;
        left >>= 1;
    }
    result
}

#[cfg(test)]
mod tests {
    #[test]
    fn whole_powers_are_products() {
        assert_eq!(super::powi(3.0, 0), 1.0);
        assert_eq!(super::powi(3.0, 5), 243.0);
        assert_eq!(super::powi(-2.0, 3), -8.0);
    }
}
