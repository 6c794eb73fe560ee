//! The 24-patch chart: what each patch should look like.

use crate::light::Light;
use crate::spectrum::{Observer, Spectrum};
use crate::tables::chart::PATCHES;
use crate::white::D65;
use crate::xyz::Xyz;
use measure::linear::apply;

/// Rows of patches.
pub const ROWS: usize = 4;

/// Patches in a row.
pub const COLUMNS: usize = 6;

/// The six neutral patches, white to black.
pub const NEUTRALS: [usize; 6] = [18, 19, 20, 21, 22, 23];

/// The share of the distance between patch centres that a patch's side takes.
pub const PATCH_SIDE: f64 = 0.8;

/// The colours of the 24 patches under a light, row by row from dark skin.
///
/// ```
/// use colour::{D65, Light, chart::patches_under};
/// let white = patches_under(Light::D65)[18].to_lab(D65);
/// assert!(white.l > 95.0 && white.chroma() < 3.0);
/// ```
#[must_use]
pub fn patches_under(light: Light) -> [Xyz; 24] {
    PATCHES.map(|(_, values)| Spectrum::on_table_steps(values).under(light, Observer::TwoDegrees))
}

/// What the six neutral patches send back of red, green and blue light, white to
/// black: they are not quite neutral, the white one least.
///
/// *Meaning*: shares of a perfect white, in the primaries of IEC 61966-2-1, whose
/// inverse matrix is given there; any camera's channels lie near enough for greys.
///
/// *Source*: key `iec61966`.
///
/// ```
/// let greys = colour::chart::neutral_reflectance();
/// assert!(greys.windows(2).all(|pair| pair[0][1] > pair[1][1]), "from white to black");
/// ```
#[must_use]
pub fn neutral_reflectance() -> [[f64; 3]; 6] {
    const TO_RGB: [[f64; 3]; 3] = [[3.2406, -1.5372, -0.4986], [-0.9689, 1.8758, 0.0415], [0.0557, -0.2040, 1.0570]];
    let patches = patches_under(Light::D65);
    let white = apply(&TO_RGB, D65.into());
    NEUTRALS.map(|i| {
        let light = apply(&TO_RGB, patches[i].into());
        [0, 1, 2].map(|c| light[c] / white[c])
    })
}

/// The name of a patch, counted from 0 at dark skin.
///
/// ```
/// assert!(colour::chart::patch_name(0).is_some() && colour::chart::patch_name(24).is_none());
/// ```
#[must_use]
pub fn patch_name(index: usize) -> Option<&'static str> {
    PATCHES.get(index).map(|(name, _)| *name)
}
