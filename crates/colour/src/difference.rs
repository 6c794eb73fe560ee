//! How far apart two colours look: CIEDE2000.
//!
//! Legend: `C'` chroma and `h'` hue after the blue-grey correction `G`; a bar is
//! the mean of the two samples; `T` the hue weighting; `S_L S_C S_H` the
//! weighting functions; `R_T` the blue rotation. *Source*: key `sharma2005`.

use crate::lab::Lab;
use measure::real::{atan2, cos, exp, hypot, powi, sin};

/// How much each kind of difference counts: a larger number forgives more.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Weights {
    /// k_L, for lightness.
    pub lightness: f64,
    /// k_C, for chroma.
    pub chroma: f64,
    /// k_H, for hue.
    pub hue: f64,
}

impl Weights {
    /// 1:1:1, flat samples under reference conditions.
    pub const FLAT: Self = Self { lightness: 1.0, chroma: 1.0, hue: 1.0 };

    /// 2:1:1, as for textiles: texture hides differences of lightness.
    ///
    /// *Source*: Montag and Berns 2000; key `montag2000`.
    pub const TEXTURED: Self = Self { lightness: 2.0, chroma: 1.0, hue: 1.0 };
}

/// The difference of two colours under one white, 1:1:1.
///
/// *Accuracy*: reproduces the published pairs to their last digit. Meant for
/// differences up to about 5.
///
/// *Source*: equations 2 to 22; key `sharma2005`.
///
/// ```
/// use colour::{Lab, ciede2000};
/// // The first pair of the published table.
/// let [first, second] = [Lab::new(50.0, 2.6772, -79.7751), Lab::new(50.0, 0.0, -82.7485)];
/// assert!((ciede2000(first, second) - 2.0425).abs() < 5e-5);
/// ```
#[must_use]
pub fn ciede2000(first: Lab, second: Lab) -> f64 {
    ciede2000_weighted(first, second, Weights::FLAT)
}

/// The difference of two colours under one white, with own weights.
///
/// *Source*: equations 2 to 22; key `sharma2005`.
///
/// ```
/// use colour::{Lab, Weights, ciede2000, ciede2000_weighted};
/// let [lighter, darker] = [Lab::new(40.0, 8.0, 18.0), Lab::new(36.0, 8.0, 18.0)];
/// assert!(ciede2000_weighted(lighter, darker, Weights::TEXTURED) < ciede2000(lighter, darker));
/// ```
#[must_use]
pub fn ciede2000_weighted(first: Lab, second: Lab, k: Weights) -> f64 {
    const DEGREE: f64 = std::f64::consts::PI / 180.0;
    let mean_chroma = (hypot(first.a, first.b) + hypot(second.a, second.b)) / 2.0;
    let seventh = powi(mean_chroma, 7);
    let g = 0.5 * (1.0 - (seventh / (seventh + POW_25_7)).sqrt());
    let (a1, a2) = ((1.0 + g) * first.a, (1.0 + g) * second.a);
    let (c1, c2) = (hypot(a1, first.b), hypot(a2, second.b));
    let hue = |a: f64, b: f64| {
        let degrees = if a == 0.0 && b == 0.0 { 0.0 } else { atan2(b, a) / DEGREE };
        if degrees < 0.0 { degrees + 360.0 } else { degrees }
    };
    let (h1, h2) = (hue(a1, first.b), hue(a2, second.b));
    let neutral = c1 * c2 == 0.0;

    let turn = match h2 - h1 {
        _ if neutral => 0.0,
        d if d > 180.0 => d - 360.0,
        d if d < -180.0 => d + 360.0,
        d => d,
    };
    let d_l = second.l - first.l;
    let d_c = c2 - c1;
    let d_h = 2.0 * (c1 * c2).sqrt() * sin(turn / 2.0 * DEGREE);

    let mean_l = (first.l + second.l) / 2.0;
    let mean_c = (c1 + c2) / 2.0;
    let mean_h = match h1 + h2 {
        s if neutral => s,
        s if (h1 - h2).abs() <= 180.0 => s / 2.0,
        s if s < 360.0 => (s + 360.0) / 2.0,
        s => (s - 360.0) / 2.0,
    };
    let t = 1.0 - 0.17 * cos((mean_h - 30.0) * DEGREE) + 0.24 * cos(2.0 * mean_h * DEGREE) + 0.32 * cos((3.0 * mean_h + 6.0) * DEGREE)
        - 0.20 * cos((4.0 * mean_h - 63.0) * DEGREE);
    let from_blue = (mean_h - 275.0) / 25.0;
    let rotation = 30.0 * exp(-from_blue * from_blue);
    let seventh = powi(mean_c, 7);
    let r_c = 2.0 * (seventh / (seventh + POW_25_7)).sqrt();
    let from_middle = (mean_l - 50.0) * (mean_l - 50.0);
    let s_l = 1.0 + 0.015 * from_middle / (20.0 + from_middle).sqrt();
    let s_c = 1.0 + 0.045 * mean_c;
    let s_h = 1.0 + 0.015 * mean_c * t;
    let r_t = -sin(2.0 * rotation * DEGREE) * r_c;

    let (l, c, h) = (d_l / (k.lightness * s_l), d_c / (k.chroma * s_c), d_h / (k.hue * s_h));
    (l * l + c * c + h * h + r_t * c * h).max(0.0).sqrt()
}

/// 25 to the seventh power.
pub(crate) const POW_25_7: f64 = 6_103_515_625.0;
