//! Whether a file holds the whole picture.
//!
//! Decoders fill in what is missing: with grey, black or what stood before. A colour
//! read from that is no colour, so a picture that was cut short is not read at all.

use crate::fault::PhotoFault;
use image::RgbImage;
use reading::Format;

/// Checks that a file's own account of its length holds.
///
/// *Errors*: it was cut short.
///
/// *Source*: chunks of PNG, section 5.3; key `png3`. The WebP container, RFC 9649 section
/// 2.4; key `rfc9649`.
pub(crate) fn check_length(format: Format, bytes: &[u8]) -> Result<(), PhotoFault> {
    let whole = match format {
        // Its end is looked for where its headings are walked.
        Format::Jpeg => true,
        Format::Png => png_ends(bytes),
        Format::WebP => {
            let length = bytes.get(4..8).and_then(|word| word.try_into().ok()).map_or(usize::MAX, |word| u32::from_le_bytes(word) as usize);
            length.saturating_add(8) <= bytes.len()
        }
    };
    if whole { Ok(()) } else { Err(PhotoFault::CutShort) }
}

/// Whether the chunks of a PNG follow each other up to its end chunk.
fn png_ends(bytes: &[u8]) -> bool {
    let mut at = 8_usize;
    while let Some(head) = bytes.get(at..at.saturating_add(8)) {
        let length = u32::from_be_bytes([head[0], head[1], head[2], head[3]]) as usize;
        let end = at.saturating_add(length).saturating_add(12);
        if end > bytes.len() {
            return false;
        }
        if &head[4..] == b"IEND" {
            return true;
        }
        at = end;
    }
    false
}

/// Rows at the foot of a picture that are looked at, and how often their pattern comes
/// again: once in the widest block of a JPEG.
const FOOT: u32 = 8;
const BLOCK: u32 = 16;

/// Whether a JPEG whose end mark stands where it should was cut short before it: a decoder
/// that runs out of bits goes on with one block for ever, so that the last rows show one
/// pattern again and again. No camera does. (Rows of one colour are no sign: a border.)
pub(crate) fn is_filled_in(picture: &RgbImage) -> bool {
    let (width, height) = picture.dimensions();
    let rows = height.saturating_sub(FOOT)..height;
    let again = rows.clone().all(|y| (BLOCK..width).all(|x| picture.get_pixel(x, y) == picture.get_pixel(x - BLOCK, y)));
    let last = picture.get_pixel(width - 1, height - 1);
    again && !rows.clone().all(|y| (0..width.min(BLOCK)).all(|x| picture.get_pixel(x, y) == last))
}
