//! The 24-patch chart: what each patch should look like.

use crate::light::Light;
use crate::spectrum::{Observer, Spectrum};
use crate::tables::chart::PATCHES;
use crate::xyz::Xyz;

/// Rows of patches.
pub const ROWS: usize = 4;

/// Patches in a row.
pub const COLUMNS: usize = 6;

/// The six neutral patches, white to black.
pub const NEUTRALS: [usize; 6] = [18, 19, 20, 21, 22, 23];

/// The share of the distance between patch centres that a patch's side takes.
pub const PATCH_SIDE: f64 = 0.8;

/// The colours of the 24 patches under a light, row by row from dark skin.
#[must_use]
pub fn patches_under(light: Light) -> [Xyz; 24] {
    PATCHES.map(|(_, values)| Spectrum::on_table_steps(values).under(light, Observer::TwoDegrees))
}

/// The mean reflectance of the six neutral patches over 420 to 680 nm, white to black.
#[must_use]
pub fn neutral_reflectance() -> [f64; 6] {
    NEUTRALS.map(|i| {
        let inner = &PATCHES[i].1[8..=60];
        inner.iter().sum::<f64>() / inner.len() as f64
    })
}

/// The name of a patch, counted from 0 at dark skin.
#[must_use]
pub fn patch_name(index: usize) -> Option<&'static str> {
    PATCHES.get(index).map(|(name, _)| *name)
}
