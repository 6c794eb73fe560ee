//! Small files that would unpack to very much, for tests and benchmark.
#![allow(dead_code, reason = "each of them uses some")]

use image::ExtendedColorType;
use std::io::Cursor;

/// The sides of the pictures.
pub const SIDES: (u32, u32) = (160, 130);

fn card() -> image::RgbImage {
    image::RgbImage::from_fn(SIDES.0, SIDES.1, |x, y| {
        if x < 40 && y < 30 { image::Rgb([200, 30, 60]) } else { image::Rgb([120, 119 + (x % 3) as u8, 118]) }
    })
}

/// Zeros as a zlib stream, a byte of it for each 1032 of them.
///
/// *Meaning*: one block whose three lengths of codes are chosen so that "258
/// bytes again, from one byte before" takes two bits, both 0; so the block is a
/// heading, a literal 0 and zeros.
///
/// *Source*: RFC 1950 and RFC 1951 section 3.2.7, from memory; keys `rfc1950`,
/// `rfc1951`.
pub fn zeros(bytes: usize) -> Vec<u8> {
    let mut stream = Bits { bytes: vec![0x78, 0xda], filled: 0 };
    // The last block, codes of its own, 286 and 1 of them, 18 lengths for theirs.
    [(1, 1), (2, 2), (29, 5), (0, 5), (14, 4)].into_iter().for_each(|(value, bits)| stream.low_first(value, bits));
    // Of the lengths' own codes: repeat zeros (18) takes 1 bit, 2 and 1 take 2.
    let lengths = [0, 0, 1, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 2, 0, 2];
    lengths.into_iter().for_each(|length| stream.low_first(length, 3));
    let (again, one, two) = ((0b0, 1), (0b10, 2), (0b11, 2));
    let none = |stream: &mut Bits, count: u32| {
        stream.high_first(again);
        stream.low_first(count - 11, 7);
    };
    // Literal 0 and the end (256) take 2 bits, length 258 (285) and the distance 1.
    stream.high_first(two);
    none(&mut stream, 138);
    none(&mut stream, 117);
    stream.high_first(two);
    none(&mut stream, 28);
    stream.high_first(one);
    stream.high_first(one);
    stream.high_first((0b10, 2));
    let times = (bytes - 1) / 258;
    for _ in 0..times % 4 {
        stream.low_first(0, 2);
    }
    // Eight bits of nothing leave the place within a byte as it was.
    stream.bytes.extend(std::iter::repeat_n(0, times / 4));
    stream.high_first((0b11, 2));
    let held = 1 + 258 * times;
    stream.bytes.extend_from_slice(&(((held % 65521) as u32) << 16 | 1).to_be_bytes());
    stream.bytes
}

/// A stream of bits, lowest first within a byte.
struct Bits {
    bytes: Vec<u8>,
    /// Bits of the last byte that are set; 0 when it is full.
    filled: u32,
}

impl Bits {
    fn push(&mut self, bit: u32) {
        if self.filled == 0 {
            self.bytes.push(0);
        }
        if let Some(last) = self.bytes.last_mut() {
            *last |= (bit as u8) << self.filled;
        }
        self.filled = (self.filled + 1) % 8;
    }

    fn low_first(&mut self, value: u32, bits: u32) {
        (0..bits).for_each(|i| self.push(value >> i & 1));
    }

    fn high_first(&mut self, (code, bits): (u32, u32)) {
        (0..bits).rev().for_each(|i| self.push(code >> i & 1));
    }
}

/// A chunk of a PNG.
pub fn chunk(kind: &[u8; 4], content: &[u8]) -> Vec<u8> {
    let mut table = [0_u32; 256];
    for (byte, sum) in (0_u32..).zip(&mut table) {
        *sum = (0..8).fold(byte, |sum, _| if sum & 1 == 1 { sum >> 1 ^ 0xedb8_8320 } else { sum >> 1 });
    }
    let sum = !kind.iter().chain(content).fold(!0_u32, |sum, byte| sum >> 8 ^ table[usize::from(sum as u8 ^ byte)]);
    [&(content.len() as u32).to_be_bytes()[..], kind, content, &sum.to_be_bytes()].concat()
}

/// A PNG without anything beside its picture.
pub fn plain_png() -> Vec<u8> {
    let mut bytes = Vec::new();
    card().write_to(&mut Cursor::new(&mut bytes), image::ImageFormat::Png).expect("a PNG");
    bytes
}

/// A PNG with chunks between its heading and its picture.
pub fn png_with(chunks: &[Vec<u8>]) -> Vec<u8> {
    let plain = plain_png();
    [&plain[..33], &chunks.concat(), &plain[33..]].concat()
}

/// A PNG whose colour profile is this zlib stream.
pub fn png_with_profile(stream: &[u8]) -> Vec<u8> {
    png_with(&[chunk(b"iCCP", &[b"p\0\0", stream].concat())])
}

/// A PNG whose texts, three kinds of them, hold this zlib stream.
pub fn png_with_texts(stream: &[u8]) -> Vec<u8> {
    let text = chunk(b"zTXt", &[b"Raw profile type iptc\0\0", stream].concat());
    let packed = chunk(b"iTXt", &[b"XML:com.adobe.xmp\0\x01\0\0\0", stream].concat());
    png_with(&[chunk(b"tEXt", b"Author\0Noor"), text, packed])
}

/// A WebP with parts before and after its picture, and what its heading announces.
pub fn webp_with(flags: u8, before: &[u8], after: &[u8]) -> Vec<u8> {
    let mut plain = Vec::new();
    image::codecs::webp::WebPEncoder::new_lossless(&mut plain)
        .encode(card().as_raw(), SIDES.0, SIDES.1, ExtendedColorType::Rgb8)
        .expect("a WebP");
    webp_of(flags, &[before, &plain[12..], after].concat())
}

/// A WebP of these parts, and what its heading announces.
pub fn webp_of(flags: u8, parts: &[u8]) -> Vec<u8> {
    let head = webp_part(b"VP8X", &[flags, 0, 0, 0, SIDES.0 as u8 - 1, 0, 0, SIDES.1 as u8 - 1, 0, 0]);
    let parts = [&head, parts].concat();
    [b"RIFF", &(4 + parts.len() as u32).to_le_bytes()[..], b"WEBP", &parts].concat()
}

/// A part of a WebP.
pub fn webp_part(kind: &[u8; 4], content: &[u8]) -> Vec<u8> {
    [&kind[..], &(content.len() as u32).to_le_bytes(), content, &vec![0; content.len() % 2]].concat()
}

/// A JPEG with parts before its picture, each a marker and its content.
pub fn jpeg_with(parts: &[(u8, Vec<u8>)]) -> Vec<u8> {
    let mut plain = Vec::new();
    image::codecs::jpeg::JpegEncoder::new(&mut plain).encode_image(&card()).expect("a JPEG");
    let mut bytes = plain[..2].to_vec();
    for (marker, content) in parts {
        bytes.extend_from_slice(&[0xff, *marker]);
        bytes.extend_from_slice(&(content.len() as u16 + 2).to_be_bytes());
        bytes.extend_from_slice(content);
    }
    bytes.extend_from_slice(&plain[2..]);
    bytes
}

/// A profile in parts of a JPEG.
///
/// *Source*: ICC.1:2022, annex B.4; key `icc1`.
pub fn jpeg_profile(profile: &[u8], of: u8) -> Vec<(u8, Vec<u8>)> {
    (1..).zip(profile.chunks(65_519)).map(|(n, part)| (0xe2, [b"ICC_PROFILE\0", &[n, of][..], part].concat())).collect()
}

/// A profile of sRGB's primaries and of one power curve, named in very many
/// languages, all at one place.
///
/// *Source*: ICC.1:2022, sections 7.2, 7.3, 10.15 (the names), 10.18 (the curve);
/// key `icc1`.
pub fn profile_of_many_names(names: u32, length: u32) -> Vec<u8> {
    let name: Vec<u8> = {
        let mut tag = [b"mluc\0\0\0\0", &names.to_be_bytes()[..], &12_u32.to_be_bytes()].concat();
        let at = 16 + 12 * names;
        (0..names).for_each(|_| tag.extend([b"enUS", &length.to_be_bytes()[..], &at.to_be_bytes()].concat()));
        tag.extend(std::iter::repeat_n([0, b'a'], length as usize / 2).flatten());
        tag
    };
    let curve = [b"para\0\0\0\0\0\0\0\0", &(2 * 65536_u32).to_be_bytes()[..]].concat();
    let tags: [(&[u8; 4], &[u8]); 4] = [(b"rTRC", &curve), (b"gTRC", &curve), (b"bTRC", &curve), (b"desc", &name)];
    let mut profile = vec![0; 128];
    for (at, what) in [(8, &[4, 0x40, 0, 0]), (12, b"mntr"), (16, b"RGB "), (20, b"XYZ "), (36, b"acsp")] {
        profile[at..at + 4].copy_from_slice(what);
    }
    profile.extend_from_slice(&(tags.len() as u32).to_be_bytes());
    let mut at = 132 + 12 * tags.len() as u32;
    for (kind, content) in tags {
        profile.extend([&kind[..], &at.to_be_bytes(), &(content.len() as u32).to_be_bytes()].concat());
        at += content.len() as u32;
    }
    tags.iter().for_each(|(_, content)| profile.extend_from_slice(content));
    let size = profile.len() as u32;
    profile[..4].copy_from_slice(&size.to_be_bytes());
    profile
}
