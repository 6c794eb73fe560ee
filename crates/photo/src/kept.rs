//! A photograph as it is kept: without place, time, device or anything else of
//! the old file, and without a new loss.
//!
//! Encoding a photo again would round its colours again: single readings moved by
//! up to two units. So the parts of the file that make the picture are copied as
//! they are, and all else is left behind. Which way is up is written anew.

use crate::fault::PhotoFault;
use crate::limits::LARGEST_FILE;
use crate::open::{Opened, format_of, open_file};
use crate::parts::png_chunks;
use image::codecs::png::PngEncoder;
use image::{ExtendedColorType, ImageEncoder, metadata::Orientation};
use reading::Format;
use std::io::Write;

/// The photograph with its picture, colour profile and which way is up: no place,
/// time, device or anything else of the old file.
///
/// *Meaning*: the picture is copied bit by bit and reads the same. Only a PNG or
/// WebP that is to be turned, and a WebP that moves, become a new PNG, upright,
/// with the same pixels.
///
/// *Errors*: as [`crate::open_photo`]; a new PNG larger than a file may be.
pub fn stripped(bytes: &[u8]) -> Result<Vec<u8>, PhotoFault> {
    let photo = open_file(bytes)?;
    let lies = photo.orientation != Orientation::NoTransforms;
    let broken = || PhotoFault::Damaged("its parts do not follow one another".to_owned());
    let copied = match format_of(bytes)? {
        Format::Jpeg => return jpeg_picture(bytes, photo.orientation).ok_or_else(broken),
        Format::Png if !lies => png_picture(bytes),
        Format::WebP if !lies => webp_picture(bytes),
        _ => None,
    };
    copied.map_or_else(|| drawn_again(&photo, LARGEST_FILE), Ok)
}

/// The parts of a PNG that make its picture; nothing when its parts cannot be
/// followed. Of several profiles the first counts, and it stands before the picture.
///
/// *Source*: the kinds of chunks, PNG third edition, section 11; key `png3`.
fn png_picture(bytes: &[u8]) -> Option<Vec<u8>> {
    const KEPT: [&[u8; 4]; 10] = [b"IHDR", b"PLTE", b"IDAT", b"IEND", b"tRNS", b"sRGB", b"gAMA", b"cHRM", b"cICP", b"sBIT"];
    let mut result = bytes.get(..8)?.to_vec();
    let mut may_have_profile = true;
    for (kind, chunk) in png_chunks(bytes) {
        let is_profile = kind == *b"iCCP" && may_have_profile;
        if is_profile || KEPT.contains(&&kind) {
            result.extend_from_slice(chunk);
        }
        may_have_profile &= !is_profile && kind != *b"IDAT";
        if kind == *b"IEND" {
            return Some(result);
        }
    }
    None
}

/// The parts of a WebP that make its picture; nothing when it moves, or its parts
/// cannot be followed. Of several profiles the first counts.
///
/// *Source*: the container, RFC 9649 section 2; key `rfc9649`.
fn webp_picture(bytes: &[u8]) -> Option<Vec<u8>> {
    /// What the extended head announces: Exif, XMP.
    const TOLD: u8 = 0x08 | 0x04;
    let mut has_profile = false;
    let mut result = b"RIFF\0\0\0\0WEBP".to_vec();
    let end = 8_usize.checked_add(u32::from_le_bytes(bytes.get(4..8)?.try_into().ok()?) as usize)?;
    let mut at = 12;
    while at < end {
        let head: [u8; 8] = bytes.get(at..at + 8)?.try_into().ok()?;
        let [kind @ .., a, b, c, d] = head;
        let length = u32::from_le_bytes([a, b, c, d]) as usize;
        let part = bytes.get(at..at.checked_add(8)?.checked_add(length)?.checked_add(length % 2)?)?;
        match &kind {
            b"VP8X" => {
                let flags = result.len() + 8;
                result.extend_from_slice(part);
                *result.get_mut(flags)? &= !TOLD;
            }
            b"ICCP" if !has_profile => {
                has_profile = true;
                result.extend_from_slice(part);
            }
            b"ALPH" | b"VP8 " | b"VP8L" => result.extend_from_slice(part),
            b"ANMF" => return None,
            _ => {}
        }
        at += part.len();
    }
    let size = u32::try_from(result.len() - 8).ok()?;
    result[4..8].copy_from_slice(&size.to_le_bytes());
    Some(result)
}

/// Bytes up to a limit; more are refused.
struct UpTo {
    bytes: Vec<u8>,
    most: usize,
    is_over: bool,
}

impl Write for UpTo {
    fn write(&mut self, more: &[u8]) -> std::io::Result<usize> {
        self.is_over |= self.bytes.len() + more.len() > self.most;
        if self.is_over {
            return Err(std::io::Error::other("too many bytes"));
        }
        self.bytes.extend_from_slice(more);
        Ok(more.len())
    }

    fn flush(&mut self) -> std::io::Result<()> {
        Ok(())
    }
}

/// The photograph as a new PNG, upright, of at most so many bytes.
fn drawn_again(photo: &Opened, most: usize) -> Result<Vec<u8>, PhotoFault> {
    let mut result = UpTo { bytes: Vec::new(), most, is_over: false };
    let mut encoder = PngEncoder::new(&mut result);
    if let Some(profile) = &photo.profile {
        encoder.set_icc_profile(profile.clone()).map_err(|fault| PhotoFault::Profile(fault.to_string()))?;
    }
    let (width, height) = photo.picture.size();
    let written = encoder.write_image(photo.picture.rgb_bytes(), width as u32, height as u32, ExtendedColorType::Rgb8);
    if result.is_over {
        return Err(PhotoFault::TooManyKept { most: most / 1_000_000 });
    }
    written.map_err(|fault| PhotoFault::damaged(&fault))?;
    Ok(result.bytes)
}

/// The parts of a JPEG that make its picture; nothing when they cannot be followed.
///
/// *Source*: the markers, ITU-T T.81 section B.1.1.3; key `itut81`.
fn jpeg_picture(bytes: &[u8], orientation: Orientation) -> Option<Vec<u8>> {
    let mut result = vec![0xff, 0xd8];
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
/// *Source*: TIFF 6.0, tag 274; Exif 2.3 section 4.5.2; keys `tiff6`, `exif23`.
fn upright(orientation: u8) -> Vec<u8> {
    let mut part = vec![0xff, 0xe1, 0, 34];
    part.extend_from_slice(b"Exif\0\0MM\0*\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0");
    part.extend_from_slice(&[orientation, 0, 0, 0, 0, 0, 0]);
    part
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::open::open_photo;
    use std::io::Cursor;

    const LYING: &[u8] = include_bytes!("../tests/data/h04.jpg");

    #[test]
    fn every_pixel_and_the_profile_are_kept_and_only_which_way_is_up_beside_them() {
        let kept = stripped(LYING).unwrap();
        let (before, after) = (open_photo(LYING).unwrap(), open_photo(&kept).unwrap());
        assert_eq!((before.size(), before.rgb_bytes()), (after.size(), after.rgb_bytes()));
        assert!(before.decoding() == after.decoding());
        let exif: Vec<usize> = kept.windows(5).enumerate().filter(|(_, w)| w == b"Exif\0").map(|(at, _)| at).collect();
        assert_eq!(exif, [6]);
        assert_eq!(&kept[2..38], upright(6).as_slice());
        assert_eq!(stripped(&kept).unwrap(), kept);
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
        let kept = stripped(&chatty).unwrap();
        assert!(!kept.windows(4).any(|w| w == b"Noor"));
        assert_eq!(kept, stripped(LYING).unwrap());
        assert!(jpeg_picture(&LYING[..LYING.len() - 2], Orientation::NoTransforms).is_none());
    }

    /// A grey card in a corner of another colour, so that every turn shows.
    fn card() -> image::RgbImage {
        image::RgbImage::from_fn(160, 130, |x, y| {
            if x < 40 && y < 30 { image::Rgb([200, 30, 60]) } else { image::Rgb([120, 119 + (x % 3) as u8, 118]) }
        })
    }

    fn chunk(kind: &[u8; 4], content: &[u8]) -> Vec<u8> {
        let mut sum = !0_u32;
        for byte in kind.iter().chain(content) {
            sum ^= u32::from(*byte);
            for _ in 0..8 {
                sum = if sum & 1 == 1 { (sum >> 1) ^ 0xedb8_8320 } else { sum >> 1 };
            }
        }
        [&(content.len() as u32).to_be_bytes()[..], kind, content, &(!sum).to_be_bytes()].concat()
    }

    /// The orientation of a TIFF head, as Exif holds it.
    fn turned(orientation: u8) -> Vec<u8> {
        upright(orientation)[10..].to_vec()
    }

    #[test]
    fn a_png_is_kept_pixel_by_pixel_without_what_was_written_beside_it() {
        let mut plain = Vec::new();
        card().write_to(&mut Cursor::new(&mut plain), image::ImageFormat::Png).unwrap();
        let chatty =
            [&plain[..33], &chunk(b"tEXt", b"Author\0Noor's house"), &chunk(b"eXIf", &turned(1)), &plain[33..], b"Noor's house"].concat();
        assert_eq!(stripped(&chatty).unwrap(), plain);
        let lying = [&plain[..33], &chunk(b"eXIf", &turned(6)), &plain[33..]].concat();
        let kept = stripped(&lying).unwrap();
        let (before, after) = (open_photo(&lying).unwrap(), open_photo(&kept).unwrap());
        assert_eq!((before.size(), before.rgb_bytes()), ((130, 160), after.rgb_bytes()));
        assert!(!kept.windows(4).any(|w| w == b"eXIf") && format_of(&kept) == Ok(Format::Png));
    }

    #[test]
    fn a_picture_drawn_anew_is_bounded() {
        let mut plain = Vec::new();
        card().write_to(&mut Cursor::new(&mut plain), image::ImageFormat::Png).unwrap();
        let photo = open_file(&plain).unwrap();
        let whole = drawn_again(&photo, LARGEST_FILE).unwrap();
        assert_eq!(drawn_again(&photo, whole.len()), Ok(whole.clone()));
        assert_eq!(drawn_again(&photo, whole.len() - 1), Err(PhotoFault::TooManyKept { most: 0 }));
    }

    #[test]
    fn a_picture_drawn_anew_keeps_its_profile() {
        let mut plain = Vec::new();
        let mut encoder = PngEncoder::new(&mut plain);
        encoder.set_icc_profile(crate::bombs::profile_of_many_names(1, 10)).unwrap();
        encoder.write_image(card().as_raw(), 160, 130, ExtendedColorType::Rgb8).unwrap();
        let lying = [&plain[..33], &chunk(b"eXIf", &turned(6)), &plain[33..]].concat();
        let (before, after) = (open_photo(&lying).unwrap(), open_photo(&stripped(&lying).unwrap()).unwrap());
        assert!(before.size() == (130, 160) && before.decoding() == after.decoding());
        // The profile's one curve is x squared, which sRGB's is not.
        assert!((after.decoding()[0][128] - (128.0_f64 / 255.0).powi(2)).abs() < 1e-9);
    }

    #[test]
    fn a_webp_is_kept_as_it_came_without_what_was_written_beside_it() {
        let mut plain = Vec::new();
        image::codecs::webp::WebPEncoder::new_lossless(&mut plain).encode(card().as_raw(), 160, 130, ExtendedColorType::Rgb8).unwrap();
        let part = |kind: &[u8; 4], content: &[u8]| {
            [&kind[..], &(content.len() as u32).to_le_bytes(), content, &vec![0; content.len() % 2]].concat()
        };
        let whole = |parts: &[u8]| [b"RIFF", &(4 + parts.len() as u32).to_le_bytes()[..], b"WEBP", parts].concat();
        let head = |flags: u8| part(b"VP8X", &[flags, 0, 0, 0, 159, 0, 0, 129, 0, 0]);
        for (orientation, format) in [(1, Format::WebP), (6, Format::Png)] {
            let parts =
                [head(0x0c), plain[12..].to_vec(), part(b"EXIF", &turned(orientation)), part(b"XMP ", b"<x>Noor's house</x>")].concat();
            let file = whole(&parts);
            let kept = stripped(&file).unwrap();
            let (before, after) = (open_photo(&file).unwrap(), open_photo(&kept).unwrap());
            assert_eq!((before.size(), before.rgb_bytes()), (after.size(), after.rgb_bytes()));
            assert_eq!(format_of(&kept), Ok(format));
            assert!(!kept.windows(4).any(|w| w == b"Noor" || w == b"EXIF"));
            if format == Format::WebP {
                assert_eq!(kept, whole(&[head(0), plain[12..].to_vec()].concat()));
            }
        }
    }
}
