//! A photograph as it is kept: without place, time, device or anything else of
//! the old file, and without a new loss.
//!
//! Encoding a photo again would round its colours again: single readings moved by
//! up to two units. So of a JPEG the parts that make the picture are copied as
//! they are, and all else is left behind. Which way is up is written anew.

use crate::fault::PhotoFault;
use crate::open::{Kind, kind, open_photo};
use image::codecs::{jpeg::JpegDecoder, png::PngDecoder, webp::WebPDecoder};
use image::{ExtendedColorType, ImageDecoder, ImageEncoder, metadata::Orientation};
use std::io::Cursor;

/// The photograph as a JPEG that holds picture, colour profile and which way is
/// up: no place, time, device or anything else of the old file.
///
/// *Meaning*: a JPEG's picture is copied bit by bit and reads the same; PNG and
/// WebP are encoded in quality 98.
///
/// *Errors*: as [`open_photo`].
pub fn stripped_jpeg(bytes: &[u8]) -> Result<Vec<u8>, PhotoFault> {
    let photo = open_photo(bytes)?;
    let cursor = Cursor::new(bytes);
    let profile = match kind(bytes)? {
        Kind::Jpeg => return picture_alone(bytes).ok_or_else(|| PhotoFault::Damaged("its parts do not follow one another".to_owned())),
        Kind::Png => PngDecoder::new(cursor).ok().and_then(|mut d| d.icc_profile().ok().flatten()),
        Kind::WebP => WebPDecoder::new(cursor).ok().and_then(|mut d| d.icc_profile().ok().flatten()),
    };
    let mut result = Vec::new();
    let mut encoder = image::codecs::jpeg::JpegEncoder::new_with_quality(&mut result, 98);
    if let Some(profile) = profile {
        encoder.set_icc_profile(profile).map_err(|fault| PhotoFault::Profile(fault.to_string()))?;
    }
    let (width, height) = photo.size();
    encoder
        .write_image(photo.rgb_bytes(), width as u32, height as u32, ExtendedColorType::Rgb8)
        .map_err(|fault| PhotoFault::Damaged(fault.to_string()))?;
    Ok(result)
}

/// The parts of a JPEG that make its picture; nothing when they cannot be followed.
///
/// *Source*: the markers, ITU-T T.81 section B.1.1.3; key `itut81`.
fn picture_alone(bytes: &[u8]) -> Option<Vec<u8>> {
    let mut result = vec![0xff, 0xd8];
    let orientation = JpegDecoder::new(Cursor::new(bytes)).ok()?.orientation().unwrap_or(Orientation::NoTransforms);
    if orientation != Orientation::NoTransforms {
        result.extend(upright(orientation.to_exif()));
    }
    let mut at = 2;
    loop {
        let [0xff, marker] = *bytes.get(at..at + 2)? else { return None };
        match marker {
            0xff => at += 1,
            0xd9 => {
                result.extend([0xff, 0xd9]);
                return Some(result);
            }
            _ => {
                let length = usize::from(u16::from_be_bytes([*bytes.get(at + 2)?, *bytes.get(at + 3)?]));
                let part = bytes.get(at..at + 2 + length)?;
                if makes_the_picture(marker, part.get(4..)?) {
                    result.extend_from_slice(part);
                }
                at += part.len();
                if marker == 0xda {
                    let end = at + end_of_scan(bytes.get(at..)?)?;
                    result.extend_from_slice(bytes.get(at..end)?);
                    at = end;
                }
            }
        }
    }
}

/// Tables, frame and scans; of the applications' parts the colour profile and
/// what tells how colour is coded.
fn makes_the_picture(marker: u8, content: &[u8]) -> bool {
    match marker {
        0xe2 => content.starts_with(b"ICC_PROFILE\0"),
        0xee => content.starts_with(b"Adobe") && content.len() == 12,
        0xe0..=0xef | 0xfe => false,
        _ => true,
    }
}

/// Where the next marker stands that ends a scan.
fn end_of_scan(bytes: &[u8]) -> Option<usize> {
    bytes.windows(2).position(|pair| pair[0] == 0xff && !matches!(pair[1], 0 | 0xd0..=0xd7 | 0xff))
}

/// An Exif part that says which way is up, and nothing else.
///
/// *Source*: TIFF 6.0, tag 274; Exif 2.3 section 4.5.2; key `exif23`.
fn upright(orientation: u8) -> Vec<u8> {
    let mut part = vec![0xff, 0xe1, 0, 34];
    part.extend_from_slice(b"Exif\0\0MM\0*\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0");
    part.extend_from_slice(&[orientation, 0, 0, 0, 0, 0, 0]);
    part
}

#[cfg(test)]
mod tests {
    use super::*;

    const LYING: &[u8] = include_bytes!("../tests/data/h04.jpg");

    #[test]
    fn every_pixel_and_the_profile_are_kept_and_only_which_way_is_up_beside_them() {
        let kept = stripped_jpeg(LYING).unwrap();
        let (before, after) = (open_photo(LYING).unwrap(), open_photo(&kept).unwrap());
        assert_eq!((before.size(), before.rgb_bytes()), (after.size(), after.rgb_bytes()));
        assert!(before.decoding == after.decoding);
        let exif: Vec<usize> = kept.windows(5).enumerate().filter(|(_, w)| w == b"Exif\0").map(|(at, _)| at).collect();
        assert_eq!(exif, [6]);
        assert_eq!(&kept[2..38], upright(6).as_slice());
        assert_eq!(stripped_jpeg(&kept).unwrap(), kept);
    }

    #[test]
    fn what_stands_between_and_behind_the_picture_is_left_behind() {
        let mut chatty = LYING[..2].to_vec();
        for marker in [0xe0, 0xe1, 0xe2, 0xe5, 0xed, 0xee, 0xfe] {
            chatty.extend([0xff, marker, 0, 14]);
            chatty.extend_from_slice(b"Noor's house");
        }
        chatty.extend_from_slice(&LYING[2..]);
        chatty.extend_from_slice(b"\xff\xd8 Noor's house \xff\xd9");
        let kept = stripped_jpeg(&chatty).unwrap();
        assert!(!kept.windows(4).any(|w| w == b"Noor"));
        assert_eq!(kept, stripped_jpeg(LYING).unwrap());
        assert!(picture_alone(&LYING[..LYING.len() - 2]).is_none());
    }
}
