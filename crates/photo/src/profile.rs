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
    let profile = ColorProfile::new_from_slice(bytes).map_err(|_| fault("it is damaged"))?;
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
                [g, a, b] => if x >= -b / a { raised(g, a, b) } else { 0.0 },
                [g, a, b, c] => if x >= -b / a { raised(g, a, b) + c } else { c },
                [g, a, b, c, d] => if x >= d { raised(g, a, b) } else { c * x },
                [g, a, b, c, d, e, f] => if x >= d { raised(g, a, b) + e } else { c * x + f },
                _ => f64::NAN,
            }
        }
    }
}
