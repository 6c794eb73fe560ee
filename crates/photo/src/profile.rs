//! The photo's colour profile: how codes become light.
//!
//! Only the curve of each channel is used: which red, green and blue the
//! profile means is settled by the chart itself.

use crate::fault::PhotoFault;
use moxcms::{ColorProfile, DataColorSpace, ToneReprCurve};
use reading::{Decoding, srgb_to_linear};

/// The decoding of an embedded profile, or of sRGB when there is none.
///
/// *Errors*: a profile that is no matrix-and-curve RGB profile.
pub(crate) fn decoding(profile: Option<&[u8]>) -> Result<Decoding, PhotoFault> {
    let table = |f: &dyn Fn(f64) -> f64| std::array::from_fn(|i| f(i as f64 / 255.0));
    let Some(bytes) = profile else { return Ok([table(&srgb_to_linear); 3]) };
    let fault = |what: &str| PhotoFault::Profile(what.to_owned());
    let profile = curves_only(bytes).ok_or_else(|| fault("it is damaged"))?;
    let profile = ColorProfile::new_from_slice(&profile).map_err(|_| fault("it is damaged"))?;
    if profile.color_space != DataColorSpace::Rgb {
        return Err(fault("it is not for RGB"));
    }
    let (Some(r), Some(g), Some(b)) = (&profile.red_trc, &profile.green_trc, &profile.blue_trc) else {
        return Err(fault("it has no curves"));
    };
    let mut result = [[0.0; 256]; 3];
    for (curve, cells) in [r, g, b].into_iter().zip(&mut result) {
        *cells = table(&|x| evaluate(curve, x));
        if !cells.iter().all(|v| v.is_finite()) || cells.windows(2).any(|w| w[1] < w[0]) || cells[255] <= 0.0 {
            return Err(fault("its curves do not rise"));
        }
    }
    Ok(result)
}

/// The profile with none of its tags but the curves: a name told in 80,000
/// languages, all at one place, takes 12 bytes each there and all of its length
/// each once it is read.
///
/// *Source*: the tag table, ICC.1:2022 section 7.3; key `icc1`.
fn curves_only(profile: &[u8]) -> Option<Vec<u8>> {
    const TABLE: usize = 132;
    const ENTRY: usize = 12;
    let count = u32::from_be_bytes(profile.get(TABLE - 4..TABLE)?.try_into().ok()?) as usize;
    let table = profile.get(TABLE..count.checked_mul(ENTRY)?.checked_add(TABLE)?)?;
    let found = |name: &[u8]| table.chunks_exact(ENTRY).rfind(|entry| entry.starts_with(name));
    let curves: Vec<&[u8]> = [b"rTRC", b"gTRC", b"bTRC"].into_iter().filter_map(|name| found(name)).collect();
    let mut result = profile.to_vec();
    result[TABLE - 4..TABLE].copy_from_slice(&(curves.len() as u32).to_be_bytes());
    for (place, entry) in result[TABLE..].chunks_exact_mut(ENTRY).zip(curves) {
        place.copy_from_slice(entry);
    }
    Some(result)
}

/// A profile curve at `x`, 0 to 1.
///
/// *Source*: ICC.1:2022, sections 10.6 and 10.18; key `icc1`.
fn evaluate(curve: &ToneReprCurve, x: f64) -> f64 {
    match curve {
        ToneReprCurve::Lut(table) => match table.len() {
            0 => x,
            1 => x.powf(f64::from(table[0]) / 256.0),
            n => {
                let at = x * (n - 1) as f64;
                let i = (at.floor() as usize).min(n - 2);
                let (low, high) = (f64::from(table[i]), f64::from(table[i + 1]));
                (low + (at - i as f64) * (high - low)) / 65535.0
            }
        },
        ToneReprCurve::Parametric(p) => {
            let p: Vec<f64> = p.iter().map(|v| f64::from(*v)).collect();
            let raised = |g: f64, a: f64, b: f64| (a * x + b).max(0.0).powf(g);
            match p[..] {
                [g] => x.powf(g),
                [g, a, b] => {
                    if x >= -b / a {
                        raised(g, a, b)
                    } else {
                        0.0
                    }
                }
                [g, a, b, c] => {
                    if x >= -b / a {
                        raised(g, a, b) + c
                    } else {
                        c
                    }
                }
                [g, a, b, c, d] => {
                    if x >= d {
                        raised(g, a, b)
                    } else {
                        c * x
                    }
                }
                [g, a, b, c, d, e, f] => {
                    if x >= d {
                        raised(g, a, b) + e
                    } else {
                        c * x + f
                    }
                }
                _ => f64::NAN,
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bombs;

    /// The profile's one curve is x squared: ICC.1:2022 table 68, function 0.
    #[test]
    fn the_curves_of_a_profile_count_whatever_else_it_tells() {
        for (names, length) in [(1, 10), (3, 1000)] {
            for cells in decoding(Some(&bombs::profile_of_many_names(names, length))).unwrap() {
                assert!(cells.iter().enumerate().all(|(code, light)| (light - (code as f64 / 255.0).powi(2)).abs() < 1e-9));
            }
        }
        let mut broken = bombs::profile_of_many_names(1, 10);
        broken[128..132].copy_from_slice(&u32::MAX.to_be_bytes());
        assert_eq!(decoding(Some(&broken)), Err(PhotoFault::Profile("it is damaged".to_owned())));
    }
}
