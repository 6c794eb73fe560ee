//! Bytes of a file as text, whatever wrote it; and a day as people write it.

use encoding_rs::WINDOWS_1252;
use salon::book::Birthday;

/// A file's text, and what is to be said of how it was read.
pub(super) struct Text {
    pub text: String,
    pub says: Option<&'static str>,
}

const NO_TEXT: &str = "That is not a text file: choose a file of contacts (.vcf) or a table (.csv).";
const WESTERN: &str = "The file is not in UTF-8: it was read as Western European (Windows-1252). Look whether accents are right; if not, save it as UTF-8 and choose it again.";
const WIDE: &str = "The file is in UTF-16 and was read so.";

/// Reads a file as UTF-8; as UTF-16 where it begins with the mark of it; as Windows-1252 otherwise.
///
/// *Source*: key `rfc3629`, section 6, for the mark of UTF-8; key `rfc2781`, section 3.2, for those of UTF-16.
///
/// *Errors*: a sentence, where it is no text at all.
pub(super) fn decoded(bytes: &[u8]) -> Result<Text, String> {
    let wide = |rest: &[u8], unit: fn([u8; 2]) -> u16| {
        let (pairs, odd) = rest.as_chunks::<2>();
        let text: Result<String, _> = char::decode_utf16(pairs.iter().map(|pair| unit(*pair))).collect();
        match text {
            Ok(text) if odd.is_empty() => Ok(Text { text, says: Some(WIDE) }),
            _ => Err("The file is in UTF-16 and broken in places: save it as UTF-8 and choose it again.".to_owned()),
        }
    };
    let read = match bytes {
        [0xff, 0xfe, rest @ ..] => wide(rest, u16::from_le_bytes)?,
        [0xfe, 0xff, rest @ ..] => wide(rest, u16::from_be_bytes)?,
        bytes => {
            let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
            match std::str::from_utf8(bytes) {
                Ok(text) => Text { text: text.to_owned(), says: None },
                Err(_) => Text { text: WINDOWS_1252.decode_without_bom_handling(bytes).0.into_owned(), says: Some(WESTERN) },
            }
        }
    };
    // What no text holds tells pictures and other files apart.
    let strange = read.text.chars().any(|c| c.is_control() && !matches!(c, '\n' | '\r' | '\t' | '\u{c}' | '\u{1a}'));
    if strange { Err(NO_TEXT.to_owned()) } else { Ok(read) }
}

/// Which number of 04/12/1990 is the day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Slashes {
    /// The first one.
    DayFirst,
    /// The second one.
    MonthFirst,
}

/// The whole numbers of a text that parts them by one and the same sign.
fn parts(text: &str, sign: char) -> Option<Vec<u16>> {
    text.split(sign).map(|part| part.trim().parse().ok().filter(|_| part.trim().len() <= 4)).collect()
}

/// Which number is the day, as far as one date tells.
pub(super) fn told_by(text: &str) -> Option<Slashes> {
    match parts(text.trim(), '/').as_deref() {
        Some([first, ..]) if (13..=31).contains(first) => Some(Slashes::DayFirst),
        Some([_, second, ..]) if (13..=31).contains(second) => Some(Slashes::MonthFirst),
        _ => None,
    }
}

/// A birthday as tables write it: 1990-04-12, 12.04.1990, 12/04/1990 where it is known which is the day.
///
/// *Errors*: a sentence that says why it is none.
pub(super) fn birthday(text: &str, slashes: Option<Slashes>) -> Result<Birthday, String> {
    let text = text.trim();
    let none = || format!("\u{201c}{}\u{201d} is no birthday", text.chars().take(40).collect::<String>());
    let of = |year: u16, month: u16, day: u16| {
        let (month, day) = (u8::try_from(month).ok()?, u8::try_from(day).ok()?);
        (year >= 1000).then(|| Birthday::new(Some(i32::from(year)), month, day)).flatten()
    };
    if let Ok(birthday) = text.parse() {
        return Ok(birthday);
    }
    let read = match (parts(text, '.').as_deref(), parts(text, '/').as_deref(), parts(text, '-').as_deref()) {
        (Some([day, month, year]), ..) | (_, _, Some([day, month, year])) if *day < 1000 => of(*year, *month, *day),
        (_, Some([year, month, day]), _) | (_, _, Some([year, month, day])) if *year >= 1000 => of(*year, *month, *day),
        (_, Some([first, second, year]), _) => match slashes.or_else(|| (first == second).then_some(Slashes::DayFirst)) {
            Some(Slashes::DayFirst) => of(*year, *second, *first),
            Some(Slashes::MonthFirst) => of(*year, *first, *second),
            None => return Err(format!("of {text} it is not known which is the day")),
        },
        _ => None,
    };
    read.ok_or_else(none)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_is_read_in_the_way_it_was_written_and_says_so() {
        let of = |bytes: &[u8]| decoded(bytes).map(|read| (read.text, read.says)).unwrap();
        assert_eq!(of("Éloïse".as_bytes()), ("Éloïse".to_owned(), None));
        assert_eq!(of(b"\xef\xbb\xbfAda"), ("Ada".to_owned(), None));
        assert_eq!(of(b"\xff\xfe\xc9\x00a\x00"), ("Éa".to_owned(), Some(WIDE)));
        assert_eq!(of(b"\xfe\xff\x00\xc9\x00a"), ("Éa".to_owned(), Some(WIDE)));
        assert_eq!(of(b"\xc9lo\xefse \x80"), ("Éloïse €".to_owned(), Some(WESTERN)));
        for wrong in [&b"\xff\xd8\xff\xe0\x00\x10JFIF\x00"[..], b"\xff\xfe\x00\xd8", b"\xff\xfea", b"PK\x03\x04", b"a\x00b"] {
            assert!(decoded(wrong).is_err_and(|says| says.ends_with('.')), "{wrong:?}");
        }
    }

    #[test]
    fn a_day_is_read_where_it_is_clear_which_number_it_is() {
        let read = |text: &str, slashes| birthday(text, slashes).map(|birthday| birthday.to_string());
        for text in ["1990-04-12", "12.04.1990", "12. 4. 1990", "1990/04/12", "12-04-1990"] {
            assert_eq!(read(text, None).as_deref(), Ok("1990-04-12"), "{text}");
        }
        assert_eq!(read("--04-12", None).as_deref(), Ok("--04-12"));
        assert_eq!(read("04/12/1990", Some(Slashes::DayFirst)).as_deref(), Ok("1990-12-04"));
        assert_eq!(read("04/12/1990", Some(Slashes::MonthFirst)).as_deref(), Ok("1990-04-12"));
        assert_eq!(read("05/05/1990", None).as_deref(), Ok("1990-05-05"));
        for wrong in ["04/12/1990", "31.02.1990", "12.04.90", "1990", "soon", "", "1/2/3/4", "99999-01-01"] {
            assert!(read(wrong, None).is_err(), "{wrong}");
        }
        assert_eq!(
            (told_by("31/01/1990"), told_by("01/31/1990"), told_by("01/02/1990")),
            (Some(Slashes::DayFirst), Some(Slashes::MonthFirst), None)
        );
    }
}
