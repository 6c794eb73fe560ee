//! From a stranger's bytes to upright pixels: limits first.

use crate::fault::PhotoFault;
use crate::fine::LazyFine;
use crate::limits::{LARGEST_FILE, LARGEST_SIDE, MOST_PIXELS, check_not_larger};
use crate::parts::{LARGEST_PROFILE, MOST_PARTS, check_png, check_webp, too_large};
use crate::profile::decoding;
use crate::whole::{check_length, is_filled_in};
use image::codecs::{jpeg::JpegDecoder, png::PngDecoder, webp::WebPDecoder};
use image::{DynamicImage, ExtendedColorType, ImageDecoder, Limits, RgbImage, metadata::Orientation};
use reading::{Format, Loss, Picture};
use std::io::Cursor;

/// The shortest side, in pixels.
const SMALLEST_SIDE: u32 = 120;

/// The largest step of a JPEG that only rounds.
const ROUNDED_STEP: u8 = 2;

/// A photograph once it is open: its picture, and what of the file is kept beside it.
pub(crate) struct Opened {
    pub picture: Picture,
    /// How the file's picture was turned upright.
    pub orientation: Orientation,
    /// The file's colour profile, unpacked.
    pub profile: Option<Vec<u8>>,
}

/// Opens a JPEG, PNG or WebP photograph.
///
/// *Errors*: sizes beyond the limits, found before decoding; formats, profiles
/// and damage, each with what to do.
pub fn open_photo(bytes: &[u8]) -> Result<Picture, PhotoFault> {
    open_file(bytes).map(|opened| opened.picture)
}

/// As [`open_photo`], with what of the file is kept beside its picture.
///
/// *Errors*: as [`open_photo`].
pub(crate) fn open_file(bytes: &[u8]) -> Result<Opened, PhotoFault> {
    if bytes.len() > LARGEST_FILE {
        return Err(PhotoFault::TooManyBytes { megabytes: bytes.len() / 1_000_000, most: LARGEST_FILE / 1_000_000 });
    }
    let damaged = |fault: image::ImageError| PhotoFault::damaged(&fault);
    let cursor = Cursor::new(bytes);
    let format = format_of(bytes)?;
    check_length(format, bytes)?;
    match format {
        Format::Jpeg => {
            let (loss, profile) = check_jpeg(bytes)?;
            let opened = decode(JpegDecoder::new(cursor).map_err(damaged)?, loss, profile, is_filled_in)?;
            let fine = LazyFine::new(bytes.to_vec(), opened.orientation, opened.picture.size());
            Ok(Opened { picture: opened.picture.with_fine_codes(Box::new(fine)), ..opened })
        }
        Format::Png => {
            check_size(png_size(bytes)?)?;
            let profile = check_png(bytes)?;
            decode(PngDecoder::with_limits(cursor, limits()).map_err(damaged)?, Loss::None, profile, |_| false)
        }
        Format::WebP => {
            let profile = check_webp(bytes)?;
            let loss = if is_lossless(bytes) { Loss::None } else { Loss::Smoothed };
            decode(WebPDecoder::new(cursor).map_err(damaged)?, loss, profile, |_| false)
        }
    }
}

/// The format of a photograph, by its first bytes.
///
/// *Errors*: HEIC, and what is no photograph.
pub fn format_of(bytes: &[u8]) -> Result<Format, PhotoFault> {
    let brand = bytes.get(4..12).unwrap_or_default();
    if brand.starts_with(b"ftyp") && [&b"heic"[..], b"heix", b"hevc", b"hevx", b"heim", b"heis", b"mif1", b"msf1"].contains(&&brand[4..]) {
        return Err(PhotoFault::Heic);
    }
    if bytes.starts_with(&[0xff, 0xd8, 0xff]) {
        Ok(Format::Jpeg)
    } else if bytes.starts_with(b"\x89PNG\r\n\x1a\n") {
        Ok(Format::Png)
    } else if bytes.starts_with(b"RIFF") && bytes.get(8..12) == Some(b"WEBP") {
        Ok(Format::WebP)
    } else {
        Err(PhotoFault::Format)
    }
}

fn limits() -> Limits {
    let mut limits = Limits::default();
    limits.max_image_width = Some(LARGEST_SIDE);
    limits.max_image_height = Some(LARGEST_SIDE);
    limits.max_alloc = Some(MOST_PIXELS * 4);
    limits
}

fn check_size((width, height): (u32, u32)) -> Result<(), PhotoFault> {
    check_not_larger((width, height))?;
    if width < SMALLEST_SIDE || height < SMALLEST_SIDE {
        return Err(PhotoFault::TooSmall { width, height });
    }
    Ok(())
}

/// Width and height as the first chunk of a PNG states them.
fn png_size(bytes: &[u8]) -> Result<(u32, u32), PhotoFault> {
    let word = |at: usize| bytes.get(at..at + 4).and_then(|b| b.try_into().ok()).map(u32::from_be_bytes);
    match (word(16), word(20)) {
        (Some(width), Some(height)) if bytes.get(12..16) == Some(b"IHDR") => Ok((width, height)),
        _ => Err(PhotoFault::Damaged("its heading is missing".to_owned())),
    }
}

/// Whether a WebP keeps every pixel.
///
/// *Source*: the WebP container, RFC 9649 section 2.6; key `rfc9649`.
fn is_lossless(bytes: &[u8]) -> bool {
    let mut at = 12;
    while let Some(head) = bytes.get(at..at + 8) {
        match &head[..4] {
            b"VP8L" => return true,
            b"VP8 " | b"ANMF" => return false,
            _ => {}
        }
        let length = u32::from_le_bytes([head[4], head[5], head[6], head[7]]) as usize;
        at = at.saturating_add(8 + length + length % 2);
    }
    false
}

/// Walks the headings of a JPEG for its size, number of colour channels, what it
/// has done to the codes and whether it announces a colour profile, and looks for
/// its end: a decoder fills in grey what is missing, and grey is a colour.
fn check_jpeg(bytes: &[u8]) -> Result<(Loss, bool), PhotoFault> {
    let mut at = 2;
    let mut loss = Loss::Rounded;
    let (mut parts, mut profile) = (0, 0);
    while let Some(&[0xff, marker, high, low]) = bytes.get(at..at + 4) {
        if marker == 0xff {
            at += 1;
            continue;
        }
        let frame = (0xc0..=0xcf).contains(&marker) && ![0xc4, 0xc8, 0xcc].contains(&marker);
        if frame {
            let Some(&[_, h1, h0, w1, w0, channels]) = bytes.get(at + 4..at + 10) else { break };
            check_size((u32::from(u16::from_be_bytes([w1, w0])), u32::from(u16::from_be_bytes([h1, h0]))))?;
            let one_each =
                bytes.get(at + 10..at + 10 + 3 * usize::from(channels)).is_some_and(|parts| parts.chunks(3).all(|part| part[1] == 0x11));
            if !one_each {
                loss = Loss::Smoothed;
            }
            match channels {
                3 => {}
                1 => return Err(PhotoFault::Grey),
                _ => return Err(PhotoFault::Cmyk),
            }
        }
        let length = usize::from(u16::from_be_bytes([high, low]));
        if marker == 0xdb && !bytes.get(at + 4..at + 2 + length).is_some_and(has_fine_steps) {
            loss = Loss::Smoothed;
        }
        let content = bytes.get(at + 4..at + 2 + length).unwrap_or_default();
        if marker == 0xe2 && content.starts_with(b"ICC_PROFILE\0") {
            profile += content.len();
        }
        parts += 1;
        if profile > LARGEST_PROFILE {
            return Err(too_large());
        }
        if parts > MOST_PARTS {
            return Err(PhotoFault::Damaged(format!("more than {MOST_PARTS} parts stand before its picture")));
        }
        if marker == 0xda {
            // In the picture itself 0xff 0xd9 stands only at the end.
            let ended = bytes[at..].windows(2).any(|pair| pair == [0xff, 0xd9]);
            return if ended { Ok((loss, profile > 0)) } else { Err(PhotoFault::CutShort) };
        }
        at += 2 + length;
    }
    Err(PhotoFault::Damaged("its heading is missing".to_owned()))
}

/// Whether a JPEG's tables hold no step that does more than round. Tables of two
/// bytes a step are those of coarse pictures.
fn has_fine_steps(tables: &[u8]) -> bool {
    tables.chunks(65).all(|table| table[0] < 0x10 && table[1..].iter().all(|step| *step <= ROUNDED_STEP))
}

/// Decodes a picture whose parts were checked and turns it upright; `announced` is
/// whether a colour profile is among them, and `filled_in` says of the pixels as they
/// stand in the file whether a part of them was missing.
fn decode(
    mut decoder: impl ImageDecoder,
    loss: Loss,
    announced: bool,
    filled_in: impl Fn(&RgbImage) -> bool,
) -> Result<Opened, PhotoFault> {
    let damaged = |fault: image::ImageError| PhotoFault::damaged(&fault);
    check_size(decoder.dimensions())?;
    decoder.set_limits(limits()).map_err(damaged)?;
    match decoder.original_color_type() {
        ExtendedColorType::Cmyk8 => return Err(PhotoFault::Cmyk),
        ExtendedColorType::L8 | ExtendedColorType::La8 | ExtendedColorType::L16 | ExtendedColorType::L1 => return Err(PhotoFault::Grey),
        _ => {}
    }
    let profile = decoder.icc_profile().map_err(damaged)?;
    if announced && profile.is_none() {
        // Without it other colours would be read.
        return Err(PhotoFault::Profile("it is not whole".to_owned()));
    }
    let orientation = decoder.orientation().unwrap_or(Orientation::NoTransforms);
    let decoding = decoding(profile.as_deref())?;
    let mut picture = DynamicImage::from_decoder(decoder).map_err(damaged)?;
    if picture.as_rgb8().is_some_and(filled_in) {
        return Err(PhotoFault::CutShort);
    }
    picture.apply_orientation(orientation);
    let pixels = picture.into_rgb8();
    let missing = || PhotoFault::Damaged("its pixels are missing".to_owned());
    let picture = Picture::new(pixels.dimensions(), pixels.into_raw(), decoding, loss).ok_or_else(missing)?;
    Ok(Opened { picture, orientation, profile })
}

#[cfg(test)]
mod tests {
    use super::*;
    use jpeg_encoder::{ChromaSubsamplingMethod, ColorType, Encoder, SamplingFactor};
    use reading::linear_to_srgb;

    const SIDE: u32 = 160;

    /// Hair so dark that noise as wide as it is light cuts a part of it off at black.
    fn dark(light: f64) -> RgbImage {
        let mut state = 7_u64;
        let mut bell = || {
            (0..12).fold(-6.0, |sum, _| {
                state = state.wrapping_mul(0x5851_f42d_4c95_7f2d).wrapping_add(0x1405_7b7e_f767_814f);
                sum + (state >> 40) as f64 / f64::from(1 << 24)
            })
        };
        RgbImage::from_fn(SIDE, SIDE, |_, _| {
            image::Rgb([0; 3].map(|_: u8| (linear_to_srgb((light + 0.004 * bell()).max(0.0)) * 255.0).round() as u8))
        })
    }

    fn share_at_black(photo: &Picture) -> f64 {
        let codes = photo.rgb_bytes();
        codes.iter().filter(|code| **code <= photo.loss().black()).count() as f64 / codes.len() as f64
    }

    #[test]
    fn a_jpeg_counts_black_somewhat_more_often_than_the_camera_cut_it_off_never_twice() {
        for light in [0.0, 0.002, 0.004, 0.012] {
            let picture = dark(light);
            let mut png = Vec::new();
            picture.write_to(&mut Cursor::new(&mut png), image::ImageFormat::Png).unwrap();
            let mut jpeg = Vec::new();
            let mut encoder = Encoder::new(&mut jpeg, 90);
            encoder.set_sampling_factor(SamplingFactor::F_2_2);
            encoder.set_chroma_subsampling_method(ChromaSubsamplingMethod::Average);
            encoder.encode(&picture, SIDE as u16, SIDE as u16, ColorType::Rgb).unwrap();
            let (exact, smoothed) = (share_at_black(&open_photo(&png).unwrap()), share_at_black(&open_photo(&jpeg).unwrap()));
            assert!(smoothed < 2.0 * exact && smoothed > 1.2 * exact - 0.02, "{light}: {exact} {smoothed}");
        }
    }

    #[test]
    fn a_file_of_the_finest_steps_only_rounds_and_a_lossless_one_keeps_every_code() {
        let picture = dark(0.006);
        let jpeg = |quality: u8, colour: SamplingFactor| {
            let mut bytes = Vec::new();
            let mut encoder = Encoder::new(&mut bytes, quality);
            encoder.set_sampling_factor(colour);
            encoder.encode(&picture, SIDE as u16, SIDE as u16, ColorType::Rgb).unwrap();
            open_photo(&bytes).unwrap()
        };
        let (finest, coarser, one_for_four) =
            (jpeg(100, SamplingFactor::F_1_1), jpeg(90, SamplingFactor::F_1_1), jpeg(100, SamplingFactor::F_2_2));
        assert_eq!([finest.loss(), coarser.loss(), one_for_four.loss()], [Loss::Rounded, Loss::Smoothed, Loss::Smoothed]);
        let mut webp = Vec::new();
        image::codecs::webp::WebPEncoder::new_lossless(&mut webp).encode(picture.as_raw(), SIDE, SIDE, ExtendedColorType::Rgb8).unwrap();
        let exact = open_photo(&webp).unwrap();
        assert_eq!((exact.loss(), exact.rgb_bytes()), (Loss::None, picture.as_raw().as_slice()));
        assert!((share_at_black(&finest) - share_at_black(&exact)).abs() < 0.03, "{} {}", share_at_black(&finest), share_at_black(&exact));
    }
}
