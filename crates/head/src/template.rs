//! The mean scalp: its numbers and how its harmonics become polynomials.
//!
//! *Source*: key `mne-fsaverage`: harmonics fitted to the average head surface of
//! 40 people that the package mne 1.13 carries under BSD-3, left and right made
//! equal, then stretched to the mean head length, breadth and tragion-to-top
//! height of the 1986 women of key `ansur2`.

use measure::vector::Vec3;

/// The highest degree of the harmonics. Degree 8 leaves about 1.1 mm root mean
/// square of one real head unexplained; degree 12 would leave 0.9.
pub(crate) const DEGREE: usize = 8;

/// Where the radius is measured from, mm.
pub(crate) const CENTRE: Vec3 = [0.0, 12.0, 40.0];

/// The up direction of the Frankfurt pose: (0, sin 15, cos 15 degrees).
pub(crate) const UP: Vec3 = [0.0, 0.258_819_045_102_520_76, 0.965_925_826_289_068_3];

/// The bump of the occipital bone on the midline (inion), mm.
pub(crate) const INION: Vec3 = [0.0, -79.593, 5.012];

/// Real orthonormal harmonics with the Condon-Shortley phase: for each l, the
/// orders m = -l..l; m < 0 goes with sin |m| phi, m > 0 with cos m phi. Mm.
#[rustfmt::skip]
pub(crate) const COEFFICIENTS: [f64; (DEGREE + 1) * (DEGREE + 1)] = [
    // l = 0
    329.229263,
    // l = 1
    3.4535, -38.17435, 0.0,
    // l = 2
    0.0, 2.19497, 35.647047, 0.0, -20.103728,
    // l = 3
    1.820935, 0.0, 3.987733, -18.850321, 0.0, 4.477298, 0.0,
    // l = 4
    0.0, 1.933806, 0.0, 0.554412, 6.959101, 0.0, -3.309742, 0.0, -0.114721,
    // l = 5
    0.414273, 0.0, 0.451441, 0.0, 0.802189, -0.984171, 0.0, 3.715768, 0.0, 0.397121, 0.0,
    // l = 6
    0.0, -0.017_778, 0.0, 0.551237, 0.0, -0.244812, -1.871272, 0.0, -3.710657, 0.0, -0.187994, 0.0, 0.263906,
    // l = 7
    0.241012, 0.0, -0.726786, 0.0, 0.954366, 0.0, 0.061356, 2.780674, 0.0, 1.720196, 0.0, -0.4554, 0.0, 0.228635, 0.0,
    // l = 8
    0.0, -0.446018, 0.0, 0.698854, 0.0, -1.368801, 0.0, 0.099943, -1.897072, 0.0, -0.528455, 0.0, 0.482392, 0.0, -0.427843, 0.0, -0.10554,
];

/// The template as polynomials: entry `[m][k]` is the factor of
/// `z^k (x+iy)^m`, whose real part serves even m and imaginary part odd m.
pub(crate) fn columns(coefficients: &[f64]) -> [[f64; DEGREE + 1]; DEGREE + 1] {
    let mut columns = [[0.0; DEGREE + 1]; DEGREE + 1];
    for l in 0..=DEGREE {
        let mut derivative = legendre(l);
        let mut ratio = 1.0; // (l-m)! / (l+m)!
        for m in 0..=l {
            if m > 0 {
                for k in 0..DEGREE {
                    derivative[k] = derivative[k + 1] * (k + 1) as f64;
                }
                derivative[DEGREE] = 0.0;
                ratio /= ((l + m) * (l - m + 1)) as f64;
            }
            let sign = if m % 2 == 0 { 1.0 } else { -1.0 };
            let two = if m == 0 { 1.0 } else { 2.0 };
            let size = (two * (2 * l + 1) as f64 / (4.0 * std::f64::consts::PI) * ratio).sqrt();
            let order = if m % 2 == 0 { l + m } else { l - m };
            let coefficient = coefficients.get(l * l + order).copied().unwrap_or(0.0) * size * sign;
            for k in 0..=DEGREE {
                columns[m][k] += coefficient * derivative[k];
            }
        }
    }
    columns
}

/// Says why some numbers are no template, if they are none.
pub(crate) fn refuse(centre: Vec3, coefficients: &[f64]) -> Result<(), String> {
    let whole = (0..=DEGREE).any(|l| (l + 1) * (l + 1) == coefficients.len());
    if !whole {
        return Err(format!(
            "the template has {} coefficients: it takes (degree + 1) squared of them, for a degree of at most {DEGREE}",
            coefficients.len()
        ));
    }
    if centre.iter().chain(coefficients).any(|c| !c.is_finite()) {
        return Err("the template holds a number that is not finite".into());
    }
    let odd = |k: usize| {
        let l = (0..=DEGREE).rev().find(|l| l * l <= k).unwrap_or(0);
        let m = k as i64 - (l * l + l) as i64;
        if m < 0 { m % 2 == 0 } else { m % 2 == 1 }
    };
    if centre[0] != 0.0 || coefficients.iter().enumerate().any(|(k, c)| odd(k) && c.abs() > 1e-6) {
        return Err("the template is not the same left and right: set the terms that differ to zero".into());
    }
    Ok(())
}

/// Legendre's polynomial of degree l as powers of z.
fn legendre(l: usize) -> [f64; DEGREE + 1] {
    let mut below = [0.0; DEGREE + 1];
    let mut here = [0.0; DEGREE + 1];
    here[0] = 1.0;
    for n in 0..l {
        let mut next = [0.0; DEGREE + 1];
        for k in 0..=n {
            next[k + 1] += (2 * n + 1) as f64 * here[k] / (n + 1) as f64;
        }
        for k in 0..=DEGREE {
            next[k] -= n as f64 * below[k] / (n + 1) as f64;
        }
        below = here;
        here = next;
    }
    here
}

#[cfg(test)]
mod tests {
    use super::*;
    use measure::real;

    #[test]
    fn up_is_fifteen_degrees_from_z() {
        let a = std::f64::consts::PI / 12.0;
        assert!((UP[1] - real::sin(a)).abs() < 1e-15 && (UP[2] - real::cos(a)).abs() < 1e-15);
    }

    #[test]
    fn sides_are_equal_because_the_odd_terms_are_none() {
        for l in 0..=DEGREE {
            for m in 1..=l {
                let odd = if m % 2 == 0 { l - m } else { l + m };
                assert_eq!(COEFFICIENTS[l * l + odd], 0.0, "l {l} m {m}");
            }
        }
    }
}
