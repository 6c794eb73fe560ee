//! The hair as a screen should show it, as a file.

use crate::fault::PhotoFault;
use image::{ImageEncoder, codecs::png::PngEncoder};
use reading::{Marks, Picture, shown_hair};

/// What [`reading::shown_hair`] shows, as PNG bytes.
///
/// *Errors*: as [`reading::read`].
pub fn corrected_patch(picture: &Picture, marks: &Marks, longest: u32) -> Result<Vec<u8>, PhotoFault> {
    let shown = shown_hair(picture, marks, longest)?;
    let mut bytes = Vec::new();
    PngEncoder::new(&mut bytes)
        .write_image(&shown.pixels, shown.width, shown.height, image::ExtendedColorType::Rgb8)
        .map_err(|fault| PhotoFault::Damaged(fault.to_string()))?;
    Ok(bytes)
}
