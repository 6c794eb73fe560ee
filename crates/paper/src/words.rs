//! Names and typed text as they are printed; how a number is written [`measure::text`] knows.
//!
//! Text that somebody typed is made safe to print before it goes anywhere near a
//! drawing, a page or a calendar.

/// The longest text of one kind that a paper carries; what is longer is cut
/// with an ellipsis. No name of a person or a shade comes near it.
const LONGEST: usize = 400;

/// Text that somebody typed, made fit to print on one line.
///
/// Control characters and marks that turn the reading direction of what follows
/// are dropped, every run of white space becomes one space, and text of more
/// than 400 characters is cut.
#[must_use]
pub fn one_line(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut gap = false;
    for (count, c) in text.chars().filter(|c| !turns_direction(*c)).enumerate() {
        if count == LONGEST {
            out.push('…');
            break;
        }
        if c.is_whitespace() || c.is_control() {
            gap = !out.is_empty();
        } else {
            if gap {
                out.push(' ');
                gap = false;
            }
            if is_printable(c) {
                out.push(c);
            }
        }
    }
    out
}

/// Explicit direction marks can turn round the rest of a line, so that a
/// distance reads backwards.
fn turns_direction(c: char) -> bool {
    matches!(c, '\u{200e}' | '\u{200f}' | '\u{061c}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

/// Not one of the characters that XML 1.0 refuses or that stand for nothing.
fn is_printable(c: char) -> bool {
    !matches!(c, '\u{fffe}' | '\u{ffff}' | '\u{feff}' | '\u{2028}' | '\u{2029}')
}

/// `text` cut to about `ems` of printed width, with an ellipsis where it was cut.
#[must_use]
pub fn shortened(text: &str, ems: f64) -> String {
    if width_em(text) <= ems {
        return text.to_owned();
    }
    let mut out = String::new();
    let mut used = 0.8;
    for c in text.chars() {
        used += char_em(c);
        if used > ems {
            break;
        }
        out.push(c);
    }
    out.truncate(out.trim_end().len());
    out.push('…');
    out
}

/// `text` broken at spaces into lines of about `ems` of printed width; a word
/// wider than a line is broken where the line ends.
#[must_use]
pub fn wrapped(text: &str, ems: f64) -> Vec<String> {
    let mut lines = Vec::new();
    let mut line = String::new();
    for word in text.split_whitespace() {
        let joined = if line.is_empty() { word.to_owned() } else { format!("{line} {word}") };
        if width_em(&joined) <= ems {
            line = joined;
            continue;
        }
        if !line.is_empty() {
            lines.push(std::mem::take(&mut line));
        }
        for c in word.chars() {
            if !line.is_empty() && width_em(&line) + char_em(c) > ems {
                lines.push(std::mem::take(&mut line));
            }
            line.push(c);
        }
    }
    if !line.is_empty() {
        lines.push(line);
    }
    lines
}

/// About how wide a text prints in a plain sans, in ems.
///
/// *Accuracy*: within a tenth for running English; it decides line breaks in
/// the drawing only, where there is room to spare.
#[must_use]
pub fn width_em(text: &str) -> f64 {
    text.chars().map(char_em).sum()
}

fn char_em(c: char) -> f64 {
    match c {
        'i' | 'j' | 'l' | 'I' | '.' | ',' | ':' | ';' | '\'' | '|' | '!' | '·' => 0.27,
        'f' | 't' | 'r' | '(' | ')' | '[' | ']' | '-' | '/' | ' ' => 0.34,
        'm' | 'w' | 'M' | 'W' | '—' | '…' | '%' | '@' => 0.86,
        'A'..='Z' => 0.64,
        'a'..='z' | '0'..='9' => 0.54,
        c if (c as u32) >= 0x1100 => 1.0,
        _ => 0.6,
    }
}

/// A style's or another snake-case name in words: `high_ponytail` is `high ponytail`.
#[must_use]
pub fn spoken(name: &str) -> String {
    one_line(&name.replace('_', " "))
}

/// A date as `Monday 2 March 2026`.
#[must_use]
pub fn long_date(date: jiff::civil::Date) -> String {
    date.strftime("%A %-d %B %Y").to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn typed_text_becomes_one_printable_line() {
        assert_eq!(one_line("  a\r\n\tb\u{0}c\u{202e}d  "), "a b cd");
        assert_eq!(one_line("Zoë <b>\"&'"), "Zoë <b>\"&'");
        assert_eq!(one_line(&"x".repeat(5000)).chars().count(), 401);
    }

    #[test]
    fn wrapping_loses_no_word_and_keeps_the_width() {
        let text = "nothing is set above the crown at the back averyveryverylongwordindeedthatfitsnowhere";
        let lines = wrapped(text, 12.0);
        assert_eq!(lines.concat().replace(' ', ""), text.replace(' ', ""));
        assert!(lines.iter().all(|line| width_em(line) <= 12.0));
    }

    #[test]
    fn a_date_in_words() {
        assert_eq!(long_date(jiff::civil::date(2026, 3, 2)), "Monday 2 March 2026");
    }
}
