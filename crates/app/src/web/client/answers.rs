//! One answer of a form, read: words, a number, a length, an amount; and an amount as
//! it is typed.

use measure::Currency;
use serde_json::Value;

/// The most letters of one answer.
const MOST_LETTERS: usize = 300;

/// A few words.
pub fn words(text: &str) -> Result<Value, String> {
    if text.chars().count() > MOST_LETTERS {
        return Err(format!("That is longer than {MOST_LETTERS} letters: shorten it."));
    }
    if text.chars().any(|c| c.is_control()) {
        return Err("That holds signs that cannot be printed: type it again by hand.".to_owned());
    }
    Ok(Value::from(text))
}

/// A number, with a point or a comma.
pub fn number(text: &str) -> Result<Value, String> {
    let written = text.replace(',', ".").replace('−', "-");
    let digits_only = written.chars().all(|c| c.is_ascii_digit() || matches!(c, '.' | '-' | '+'));
    let value = written.parse::<f64>().ok().filter(|value| digits_only && value.is_finite());
    value
        .and_then(serde_json::Number::from_f64)
        .map(Value::Number)
        .ok_or_else(|| format!("“{}” is not a number: write digits only, as in 560 or 2.5; the unit is beside the field.", cut(text)))
}

/// A length in millimetres, whatever unit was written behind it.
pub fn length(text: &str) -> Result<Value, String> {
    const UNITS: [(&str, f64); 8] =
        [("mm", 1.0), ("cm", 10.0), ("inches", 25.4), ("inch", 25.4), ("in", 25.4), ("\"", 25.4), ("”", 25.4), ("″", 25.4)];
    let written = text.trim().to_lowercase();
    for (unit, factor) in UNITS {
        let Some(before) = written.strip_suffix(unit) else { continue };
        let Ok(read) = number(before.trim()) else { break };
        let read = read.as_f64().unwrap_or_default();
        // To a tenth: nobody reads a tape closer.
        let mm = serde_json::Number::from_f64((read * factor * 10.0).round() / 10.0);
        return mm.map(Value::Number).ok_or_else(|| format!("“{}” is too long to be measured.", cut(text)));
    }
    number(text)
        .map_err(|_| format!("“{}” is not a number: write digits, as in 560, or the unit behind them, as in 56 cm or 22 in.", cut(text)))
}

/// An amount in minor units, as it is written on a price list.
pub fn amount(text: &str, currency: Option<Currency>) -> Result<i64, String> {
    let places = currency.map_or(2, |currency| currency.places());
    let unreadable = || {
        let example = if places == 0 { "60".to_owned() } else { format!("60.{}", "0".repeat(places)) };
        format!("“{}” is not an amount: write it as on a price list, as in {example}.", cut(text))
    };
    let written = text.replace(',', ".");
    let (whole, part) = written.split_once('.').unwrap_or((&written, ""));
    let digits = |text: &str| text.chars().all(|c| c.is_ascii_digit());
    let (negative, whole) = whole.strip_prefix('-').map_or((false, whole), |rest| (true, rest));
    if part.len() > places || whole.is_empty() || !digits(whole) || !digits(part) {
        return Err(unreadable());
    }
    let minor: i64 = format!("{whole}{part:0<places$}").parse().map_err(|_| unreadable())?;
    Ok(if negative { -minor } else { minor })
}

/// An amount of minor units as it is typed.
pub fn amount_text(minor: i64, currency: Option<Currency>) -> String {
    let places = currency.map_or(2, |currency| currency.places());
    let sign = if minor < 0 { "-" } else { "" };
    let size = minor.unsigned_abs();
    if places == 0 {
        return format!("{sign}{size}");
    }
    let unit = 10_u64.pow(places as u32);
    format!("{sign}{}.{:0places$}", size / unit, size % unit)
}

/// The beginning of what was typed, to be shown in a sentence.
pub fn cut(text: &str) -> String {
    let mut short: String = text.chars().take(24).collect();
    if short.len() < text.len() {
        short.push('…');
    }
    short
}

/// A value of the file as it is typed.
pub fn plain(value: &Value) -> String {
    match value {
        Value::String(text) => text.clone(),
        Value::Bool(yes) => yes.to_string(),
        Value::Number(number) => number.as_f64().map_or_else(|| number.to_string(), |value| value.to_string()),
        Value::Null => String::new(),
        other => other.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn amounts_are_whole_minor_units_of_their_currency() {
        let yen = Currency::new("JPY");
        assert_eq!(amount("60", None), Ok(6000));
        assert_eq!(amount("60,5", None), Ok(6050));
        assert_eq!(amount("0.35", None), Ok(35));
        assert_eq!(amount("-1.05", None), Ok(-105));
        assert_eq!(amount("1200", yen), Ok(1200));
        assert!(amount("12.5", yen).is_err());
        for nonsense in ["", "1.234", "1 000", "€5", ".5", "99999999999999999999"] {
            assert!(amount(nonsense, None).is_err(), "{nonsense}");
        }
    }
}
