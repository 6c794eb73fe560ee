//! The hair as a screen should show it, for laying beside candidate shades.

use crate::correction::Correction;
use crate::fault::ReadFault;
use crate::geometry::Homography;
use crate::hair::frame;
use crate::light::linear_to_srgb;
use crate::marks::Marks;
use crate::noise::Means;
use crate::picture::Picture;
use crate::read::Shared;
use crate::ways::Ways;
use measure::linear;
use measure::real::powi;

/// From X Y Z (D65, white Y = 1) to the screen's red, green and blue light.
///
/// *Source*: IEC 61966-2-1; key `iec61966`.
const TO_SCREEN: [[f64; 3]; 3] = [[3.2406, -1.5372, -0.4986], [-0.9689, 1.8758, 0.0415], [0.0557, -0.2040, 1.0570]];

/// Noise wider than this, relative to the hair's light, is evened out.
const QUIET: f64 = 0.15;

/// The most pixels along a strand that are evened out.
const MOST_ALONG: usize = 32;

/// The longest side of a corrected picture, in pixels.
pub const LONGEST_PATCH: u32 = 1200;

/// Pixels for a screen, three bytes each, row by row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Shown {
    /// Across.
    pub width: u32,
    /// Down.
    pub height: u32,
    /// Red, green and blue.
    pub pixels: Vec<u8>,
}

/// The hair cut out, laid straight with its root side up, corrected to D65 and
/// coded as sRGB: `longest` pixels on the longer side (16 to 1200).
///
/// *Meaning*: what the reading says, pixel by pixel, gloss and shading left in.
/// Where the camera's noise is strong light is evened out along the strands, or
/// the eye would see other colours than were read.
/// A shade shown beside it from its Lab under D65 is comparable on any screen.
/// Colours beyond sRGB are shown at its edge.
///
/// *Errors*: as [`crate::read`].
///
/// ```
/// # mod drawn { include!(concat!(env!("CARGO_MANIFEST_DIR"), "/examples/shared/drawn.rs")); }
/// let (photo, marks, _) = drawn::chart_beside_hair(0.85);
/// let shown = reading::shown_hair(&photo, &marks, 64).unwrap();
/// assert!(shown.width.max(shown.height) <= 64);
/// ```
pub fn shown_hair(photo: &Picture, marks: &Marks, longest: u32) -> Result<Shown, ReadFault> {
    let (width, height) = photo.size();
    marks.check(width, height)?;
    let ways = Ways::find(photo, &marks.chart_corners, &[&marks.hair], &marks.leave_out)?;
    let shared = Shared::of(photo, &ways, &marks.hair)?;
    let (correction, account) = shared.best();
    let (flat, hair, tress) = (correction.fall, account.hair, &account.tress);
    let factors = shared.beside(account);
    let corners = frame(&marks.hair);
    let map = Homography::to_corners(&corners);
    let side = |i: usize, j: usize| {
        let (p, q) = (corners[i], corners[j]);
        ((p[0] - q[0]) * (p[0] - q[0]) + (p[1] - q[1]) * (p[1] - q[1])).sqrt()
    };
    let (across, along) = ((side(0, 1) + side(3, 2)) / 2.0, (side(0, 3) + side(1, 2)) / 2.0);
    let scale = f64::from(longest.clamp(16, LONGEST_PATCH)) / across.max(along);
    let (wide, high) = (((across * scale).round() as u32).max(1), ((along * scale).round() as u32).max(1));
    let noisy = correction.noise.of_mean(hair, 1.0);
    let times = [0, 1, 2].map(|c| powi(noisy[c] / (QUIET * hair[c].max(1e-4)), 2)).into_iter().fold(1.0, f64::max);
    let count = (times.ceil() as usize).min(MOST_ALONG);
    let lights: Vec<_> = tress.means().iter().map(|means| correction.noise.lights(means, &correction.decoding)).collect();
    let pixel = |x: u32, y: u32| {
        let (u, v) = ((f64::from(x) + 0.5) / f64::from(wide), (f64::from(y) + 0.5) / f64::from(high));
        let at = map.map(u, v);
        let mut seen = Means::default();
        for k in 0..count {
            let off = k as f64 - (count - 1) as f64 / 2.0;
            seen.add(&between(photo, correction, map.map(u, (v + off / along).clamp(0.0, 1.0))), 1.0 / count as f64);
        }
        let light = if count > 1 { lights[((v * lights.len() as f64) as usize).min(lights.len() - 1)](&seen) } else { seen.light };
        let colour: [f64; 3] = account.d65.apply(flat.evened(light, at)).into();
        linear::apply(&TO_SCREEN, [0, 1, 2].map(|k| colour[k] * factors[k]))
            .map(|l| (linear_to_srgb(l.clamp(0.0, 1.0)) * 255.0).round() as u8)
    };
    let pixels = (0..high).flat_map(|y| (0..wide).map(move |x| (x, y))).flat_map(|(x, y)| pixel(x, y)).collect();
    Ok(Shown { width: wide, height: high, pixels })
}

/// Light and codes between four pixels.
fn between(photo: &Picture, correction: &Correction, at: [f64; 2]) -> Means {
    let (x, y) = (at[0].max(0.0), at[1].max(0.0));
    let (left, top) = (x.floor(), y.floor());
    let mut sum = Means::default();
    for (dx, dy) in [(0.0, 0.0), (1.0, 0.0), (0.0, 1.0), (1.0, 1.0)] {
        let weight = (1.0 - (x - left - dx).abs()) * (1.0 - (y - top - dy).abs());
        let codes = photo.codes((left + dx) as usize, (top + dy) as usize);
        for c in 0..3 {
            sum.light[c] += weight * correction.decoding[c][usize::from(codes[c])];
            sum.code[c] += weight * f64::from(codes[c]);
        }
    }
    sum
}
