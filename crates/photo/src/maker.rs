//! Which camera a photograph says it was taken with, read before that is left behind.

use crate::open::format_of;
use reading::Format;

/// The most letters of a maker's or a model's name.
const MOST_LETTERS: usize = 40;

/// Maker and model of the camera, as a JPEG's Exif part states them; nothing where it does
/// not, or where its tables cannot be followed.
///
/// *Meaning*: only to tell one phone from another. Every other entry is passed over.
///
/// *Source*: TIFF 6.0, tags 271 and 272; Exif 2.3 section 4.5.2; keys `tiff6`,
/// `exif23`.
#[must_use]
pub fn camera_of(bytes: &[u8]) -> Option<String> {
    if format_of(bytes) != Ok(Format::Jpeg) {
        return None;
    }
    let tiff = exif(bytes)?;
    let [maker, model] = [271, 272].map(|tag| text(tiff, tag).unwrap_or_default());
    // Many write the maker into the model as well.
    let whole = if model.to_lowercase().starts_with(&maker.to_lowercase()) { model } else { format!("{maker} {model}") };
    Some(whole.trim().to_owned()).filter(|name| !name.is_empty())
}

/// The tables of the first Exif part before the picture.
fn exif(bytes: &[u8]) -> Option<&[u8]> {
    let mut at = 2;
    loop {
        let &[0xff, marker, high, low] = bytes.get(at..at + 4)? else { return None };
        if marker == 0xff {
            at += 1;
            continue;
        }
        if marker == 0xda {
            return None;
        }
        let length = usize::from(u16::from_be_bytes([high, low]));
        let content = bytes.get(at + 4..at + 2 + length)?;
        if marker == 0xe1 && content.starts_with(b"Exif\0\0") {
            return content.get(6..);
        }
        at += 2 + length;
    }
}

/// A text of the first table; nothing where it is missing or lies outside.
fn text(tiff: &[u8], tag: u16) -> Option<String> {
    let big = match tiff.get(..2)? {
        b"MM" => true,
        b"II" => false,
        _ => return None,
    };
    let short = |at: usize| {
        let two: [u8; 2] = tiff.get(at..at.checked_add(2)?)?.try_into().ok()?;
        Some(if big { u16::from_be_bytes(two) } else { u16::from_le_bytes(two) })
    };
    let long = |at: usize| {
        let four: [u8; 4] = tiff.get(at..at.checked_add(4)?)?.try_into().ok()?;
        Some((if big { u32::from_be_bytes(four) } else { u32::from_le_bytes(four) }) as usize)
    };
    let table = long(4)?;
    for entry in 0..usize::from(short(table)?) {
        let at = table.checked_add(2 + 12 * entry)?;
        if short(at)? != tag {
            continue;
        }
        // Kind 2 is text; up to four letters stand in the entry itself.
        let (kind, count) = (short(at + 2)?, long(at + 4)?);
        if kind != 2 {
            return None;
        }
        let from = if count <= 4 { at + 8 } else { long(at + 8)? };
        let letters = tiff.get(from..from.checked_add(count)?)?;
        let plain = letters.iter().take_while(|letter| **letter != 0).filter(|letter| (0x20..0x7f).contains(*letter));
        return Some(plain.take(MOST_LETTERS).map(|letter| char::from(*letter)).collect::<String>().trim().to_owned());
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// A JPEG's beginning with an Exif part of these texts.
    fn jpeg(big: bool, texts: &[(u16, &str)]) -> Vec<u8> {
        let short = |v: u16| if big { v.to_be_bytes() } else { v.to_le_bytes() };
        let long = |v: u32| if big { v.to_be_bytes() } else { v.to_le_bytes() };
        let mut tiff = if big { b"MM\0*".to_vec() } else { b"II*\0".to_vec() };
        tiff.extend(long(8));
        tiff.extend(short(texts.len() as u16));
        let mut beyond: Vec<u8> = Vec::new();
        let after = 8 + 2 + 12 * texts.len() + 4;
        for (tag, text) in texts {
            let stored = format!("{text}\0");
            tiff.extend(short(*tag));
            tiff.extend(short(2));
            tiff.extend(long(stored.len() as u32));
            if stored.len() <= 4 {
                let mut four = stored.into_bytes();
                four.resize(4, 0);
                tiff.extend(four);
            } else {
                tiff.extend(long((after + beyond.len()) as u32));
                beyond.extend(stored.bytes());
            }
        }
        tiff.extend(long(0));
        tiff.extend(beyond);
        let mut file = vec![0xff, 0xd8, 0xff, 0xe1];
        file.extend(((tiff.len() + 8) as u16).to_be_bytes());
        file.extend(b"Exif\0\0");
        file.extend(tiff);
        file.extend([0xff, 0xda, 0, 2, 0xff, 0xd9]);
        file
    }

    #[test]
    fn maker_and_model_are_read_in_both_orders_of_bytes_and_said_once() {
        for big in [true, false] {
            assert_eq!(camera_of(&jpeg(big, &[(271, "Heron"), (272, "Heron H7")])).as_deref(), Some("Heron H7"));
            assert_eq!(camera_of(&jpeg(big, &[(271, "Heron"), (272, "H7")])).as_deref(), Some("Heron H7"));
            assert_eq!(camera_of(&jpeg(big, &[(272, "H7")])).as_deref(), Some("H7"));
            assert_eq!(camera_of(&jpeg(big, &[(306, "2026:01:01 10:00:00")])), None);
        }
        assert_eq!(camera_of(include_bytes!("../tests/data/e06.jpg")), None);
        assert_eq!(camera_of(b""), None);
    }

    proptest! {
        /// Whatever a stranger writes there is passed over or comes back short and plain.
        #[test]
        fn tables_that_lead_nowhere_are_no_camera(mut noise in proptest::collection::vec(any::<u8>(), 0..80), big in any::<bool>()) {
            let mut tiff = if big { b"MM\0*\0\0\0\x08\0\x02\x01\x0f".to_vec() } else { b"II*\0\x08\0\0\0\x02\0\x0f\x01".to_vec() };
            tiff.append(&mut noise);
            let mut file = vec![0xff, 0xd8, 0xff, 0xe1];
            file.extend(((tiff.len() + 8) as u16).to_be_bytes());
            file.extend(b"Exif\0\0");
            file.extend(tiff);
            if let Some(name) = camera_of(&file) {
                prop_assert!(name.len() <= 2 * MOST_LETTERS + 1 && name.chars().all(|c| (' '..='~').contains(&c)), "{name:?}");
            }
        }
    }
}
