//! The colour of a JPEG, finer than in whole codes.
//!
//! A JPEG keeps brightness and colour apart, and colour coarsely: what noise
//! there was in the colour of an even patch is gone, so that all of its pixels
//! are rounded alike. Half a code of colour is nearly a code of blue, and in the
//! dark that is a visible difference. The file itself knows better: it holds a
//! patch's mean in eighths of its step. So it is decoded once more with the
//! colour's steps written larger, as if the photo were more colourful, and the
//! colour read from that is divided again.
//!
//! *Source*: the tables of steps, ITU-T T.81 section B.2.4.1; the conversion,
//! ITU-T T.871 section 7; keys `itut81`, `itut871`.

use crate::limits::LARGEST_SIDE;
use image::{DynamicImage, RgbImage, metadata::Orientation};
use reading::FineCodes;
use std::sync::OnceLock;
use zune_core::{bytestream::ZCursor, colorspace::ColorSpace, options::DecoderOptions};
use zune_jpeg::JpegDecoder;

/// How much larger the colour's steps are written. More of it would leave fewer
/// hairs within the bytes that a decoder gives.
const LARGER: u8 = 4;

/// A JPEG's fine codes, worked out when they are first asked for.
pub(crate) struct LazyFine {
    bytes: Vec<u8>,
    orientation: Orientation,
    size: (usize, usize),
    fine: OnceLock<Option<Fine>>,
}

impl LazyFine {
    /// Of a JPEG's own bytes and how they are turned upright.
    pub fn new(bytes: Vec<u8>, orientation: Orientation, size: (usize, usize)) -> Self {
        Self { bytes, orientation, size, fine: OnceLock::new() }
    }
}

impl FineCodes for LazyFine {
    fn codes(&self, x: u32, y: u32) -> Option<[f64; 3]> {
        let size = (self.size.0 as u32, self.size.1 as u32);
        let decode = || Fine::decode(&self.bytes, self.orientation).filter(|fine| fine.size() == size);
        self.fine.get_or_init(decode).as_ref()?.codes(x, y)
    }
}

/// Brightness and the two differences of colour, `LARGER` times, for each pixel.
pub(crate) struct Fine(RgbImage);

impl Fine {
    /// Decodes a JPEG that has been opened before; nothing when it keeps its
    /// colour in another way.
    pub fn decode(bytes: &[u8], orientation: Orientation) -> Option<Self> {
        let bytes = more_colourful(bytes)?;
        let options = DecoderOptions::default()
            .jpeg_set_out_colorspace(ColorSpace::YCbCr)
            .set_strict_mode(false)
            .set_max_width(LARGEST_SIDE as usize)
            .set_max_height(LARGEST_SIDE as usize);
        let mut decoder = JpegDecoder::new_with_options(ZCursor::new(bytes.as_slice()), options);
        decoder.decode_headers().ok()?;
        if decoder.input_colorspace() != Some(ColorSpace::YCbCr) {
            return None;
        }
        let (width, height) = decoder.info().map(|info| (u32::from(info.width), u32::from(info.height)))?;
        let mut picture = DynamicImage::ImageRgb8(RgbImage::from_raw(width, height, decoder.decode().ok()?)?);
        picture.apply_orientation(orientation);
        Some(Self(picture.into_rgb8()))
    }

    /// Pixels across and down.
    pub fn size(&self) -> (u32, u32) {
        self.0.dimensions()
    }

    /// Red, green and blue at a pixel in codes and parts of them, beyond the ends
    /// of the scale too; nothing where the colour is too strong to be held.
    pub fn codes(&self, x: u32, y: u32) -> Option<[f64; 3]> {
        let [bright, blue, red] = self.0.get_pixel(x, y).0;
        if [blue, red].iter().any(|code| !(3..=252).contains(code)) {
            return None;
        }
        let [blue, red] = [blue, red].map(|code| (f64::from(code) - 128.0) / f64::from(LARGER));
        let bright = f64::from(bright);
        Some([bright + 1.402 * red, bright - 0.344_136 * blue - 0.714_136 * red, bright + 1.772 * blue])
    }
}

/// The file with its colour's steps written larger; nothing when brightness
/// shares them or they do not fit in a byte.
fn more_colourful(bytes: &[u8]) -> Option<Vec<u8>> {
    let mut result = bytes.to_vec();
    // Where each table of steps stands, and which the three parts use.
    let mut tables: [Option<usize>; 4] = [None; 4];
    let mut used = None;
    let mut at = 2;
    while let Some(&[0xff, marker, high, low]) = bytes.get(at..at + 4) {
        if marker == 0xff {
            at += 1;
            continue;
        }
        let end = at + 2 + usize::from(u16::from_be_bytes([high, low]));
        match marker {
            0xdb => {
                let mut start = at + 4;
                while start < end {
                    let head = *bytes.get(start)?;
                    // Steps of two bytes are those of coarse pictures.
                    *tables.get_mut(usize::from(head))? = Some(start + 1);
                    start += 65;
                }
            }
            0xc0..=0xc2 => used = Some([1, 4, 7].map(|i| bytes.get(at + 9 + i + 2).copied())),
            0xda => break,
            _ => {}
        }
        at = end;
    }
    let [Some(bright), Some(blue), Some(red)] = used? else { return None };
    if bright == blue || bright == red {
        return None;
    }
    for table in if blue == red { vec![blue] } else { vec![blue, red] } {
        let start = (*tables.get(usize::from(table))?)?;
        for step in result.get_mut(start..start + 64)? {
            *step = step.checked_mul(LARGER)?;
        }
    }
    Some(result)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::open::open_photo;
    use jpeg_encoder::{ChromaSubsamplingMethod, ColorType, Encoder, SamplingFactor};

    const SIDE: usize = 128;

    /// An even colour with parts of codes, dithered, as a JPEG with one colour for
    /// four pixels; and the mean of what went in.
    fn dithered(colour: [f64; 3]) -> (Vec<u8>, [f64; 3]) {
        let mut state = 1_u64;
        let mut chance = || {
            state = state.wrapping_mul(0x5851_f42d_4c95_7f2d).wrapping_add(0x1405_7b7e_f767_814f);
            (state >> 40) as f64 / f64::from(1 << 24)
        };
        let pixels: Vec<u8> = (0..3 * SIDE * SIDE).map(|i| (colour[i % 3] + 2.0 * chance() - 0.5) as u8).collect();
        let mut bytes = Vec::new();
        let mut encoder = Encoder::new(&mut bytes, 90);
        encoder.set_sampling_factor(SamplingFactor::F_2_2);
        encoder.set_chroma_subsampling_method(ChromaSubsamplingMethod::Average);
        encoder.encode(&pixels, SIDE as u16, SIDE as u16, ColorType::Rgb).unwrap();
        (bytes, [0, 1, 2].map(|c| pixels[c..].iter().step_by(3).map(|v| f64::from(*v)).sum::<f64>() / (SIDE * SIDE) as f64))
    }

    #[test]
    fn blue_of_an_even_dark_patch_is_known_to_parts_of_a_code() {
        let (mut whole, mut fine) = (0.0_f64, 0.0_f64);
        for step in 0..16 {
            let (bytes, mean) = dithered([48.0, 44.0, 36.0 + f64::from(step) / 4.0]);
            let photo = open_photo(&bytes).unwrap();
            let all = || (0..SIDE * SIDE).map(|i| (i % SIDE, i / SIDE));
            let n = (SIDE * SIDE) as f64;
            whole = whole.max((all().map(|(x, y)| f64::from(photo.codes(x, y)[2])).sum::<f64>() / n - mean[2]).abs());
            fine = fine.max((all().map(|(x, y)| photo.fine_codes(x, y)[2]).sum::<f64>() / n - mean[2]).abs());
        }
        assert!(fine < 0.6 && whole > 1.0, "{fine} {whole}");
    }

    #[test]
    fn strong_colour_and_other_files_fall_back_to_whole_codes() {
        let (bytes, _) = dithered([200.0, 40.0, 30.0]);
        let photo = open_photo(&bytes).unwrap();
        assert_eq!(photo.fine_codes(60, 60), photo.codes(60, 60).map(f64::from));
        assert!(more_colourful(b"\xff\xd8\xff").is_none());
        assert!(more_colourful(&bytes[..30]).is_none());
    }
}
