//! The parts of a photo's file, followed before a decoder sees them.
//!
//! A decoder takes what stands beside the picture as it comes: a few MB of a
//! profile unpack to some GB, and one that it cannot unpack it forgets, so that
//! other colours are read. So the headings of the parts are walked first: what is
//! too large is refused, and what is announced must be there afterwards.

use crate::fault::PhotoFault;
use crate::limits::check_not_larger;
use image::{ImageDecoder, Limits, codecs::png::PngDecoder};
use std::io::Cursor;

/// The largest colour profile, unpacked, in bytes: our choice. Those of cameras
/// and screens have less than a tenth of it.
pub(crate) const LARGEST_PROFILE: usize = 4_000_000;

/// The most parts before the picture of a JPEG: our choice. A profile takes up to
/// 255; a decoder goes through some kinds again for each that follows.
pub(crate) const MOST_PARTS: usize = 1000;

/// A profile larger than is looked at.
pub(crate) fn too_large() -> PhotoFault {
    PhotoFault::Profile(format!("it has more than {} MB", LARGEST_PROFILE / 1_000_000))
}

/// The chunks of a PNG, each by its kind and whole; up to where they cannot be
/// followed.
///
/// *Source*: the layout of chunks, PNG third edition, section 5.3; key `png3`.
pub(crate) fn png_chunks(bytes: &[u8]) -> impl Iterator<Item = ([u8; 4], &[u8])> {
    let mut at = 8;
    std::iter::from_fn(move || {
        let head: [u8; 8] = bytes.get(at..at + 8)?.try_into().ok()?;
        let [a, b, c, d, kind @ ..] = head;
        let chunk = bytes.get(at..at.checked_add(12)?.checked_add(u32::from_be_bytes([a, b, c, d]) as usize)?)?;
        at += chunk.len();
        Some((kind, chunk))
    })
}

/// Whether a PNG announces a colour profile.
///
/// *Meaning*: the profile is unpacked once, alone, by a decoder that may hold
/// little more than the largest one.
///
/// *Errors*: a profile that is too large or cannot be unpacked; a damaged heading.
pub(crate) fn check_png(bytes: &[u8]) -> Result<bool, PhotoFault> {
    let heading = || png_chunks(bytes).take_while(|(kind, _)| kind != b"IDAT");
    let Some((_, profile)) = heading().find(|(kind, _)| kind == b"iCCP") else { return Ok(false) };
    if profile.len() > LARGEST_PROFILE {
        return Err(too_large());
    }
    let mut alone = bytes[..8].to_vec();
    heading().filter(|(kind, _)| [b"IHDR", b"PLTE"].contains(&kind)).for_each(|(_, chunk)| alone.extend_from_slice(chunk));
    alone.extend_from_slice(profile);
    alone.extend_from_slice(b"\0\0\0\0IDAT");
    let mut limits = Limits::default();
    limits.max_alloc = Some((3 * LARGEST_PROFILE) as u64);
    let damaged = |fault: image::ImageError| PhotoFault::damaged(&fault);
    let mut decoder = PngDecoder::with_limits(Cursor::new(alone), limits).map_err(damaged)?;
    match decoder.icc_profile().map_err(damaged)? {
        Some(profile) if profile.len() <= LARGEST_PROFILE => Ok(true),
        Some(_) => Err(too_large()),
        None => Err(PhotoFault::Profile(format!("it is not whole, or unpacks to more than {} MB", LARGEST_PROFILE / 1_000_000))),
    }
}

/// Whether a WebP announces a colour profile.
///
/// *Errors*: a profile that is too large, parts that reach beyond the file's end,
/// frames larger than the limits.
///
/// *Source*: the container, RFC 9649 section 2; the heading of a frame, RFC 6386
/// section 9.1; keys `rfc9649`, `rfc6386`.
pub(crate) fn check_webp(bytes: &[u8]) -> Result<bool, PhotoFault> {
    /// What stands in a moving frame before its own parts.
    const FRAME_HEAD: usize = 16;
    let mut at: usize = 12;
    let mut announced = false;
    while let Some(&[ref kind @ .., a, b, c, d]) = bytes.get(at..at.saturating_add(8)).and_then(|head| head.first_chunk::<8>()) {
        let length = u32::from_le_bytes([a, b, c, d]) as usize;
        let content = bytes.get(at + 8..).unwrap_or_default();
        match kind {
            b"ICCP" if length > LARGEST_PROFILE => return Err(too_large()),
            b"ICCP" | b"EXIF" if length > content.len() => return Err(PhotoFault::Damaged("its parts reach beyond its end".to_owned())),
            b"ICCP" => announced = true,
            b"VP8 " => {
                if let Some(&[_, _, _, 0x9d, 0x01, 0x2a, w0, w1, h0, h1]) = content.first_chunk::<10>() {
                    let side = |low, high| u32::from(u16::from_le_bytes([low, high]) & 0x3fff);
                    check_not_larger((side(w0, w1), side(h0, h1)))?;
                }
            }
            _ => {}
        }
        at = if kind == b"ANMF" { at + 8 + FRAME_HEAD } else { at.saturating_add(8).saturating_add(length).saturating_add(length % 2) };
    }
    Ok(announced)
}
