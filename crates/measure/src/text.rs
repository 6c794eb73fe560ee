//! Numbers, counts and sentences as people write them: the one place where a
//! quantity becomes text.
//!
//! Nothing here asks the machine what language or country it is in: a point
//! parts the decimals, and the same number is the same text everywhere. What a
//! sentence says is said elsewhere; here is only how a number stands in it.
//! Money writes itself, with the places of its currency
//! ([`Money`](crate::Money)'s `Display`).

use crate::Length;
use std::fmt::Display;

/// A number with at most so many decimals, and no needless zeros.
///
/// *Meaning*: what is no number is "not known", and nothing has no sign.
///
/// ```
/// use measure::text::number;
/// assert_eq!(number(2.50, 2), "2.5");
/// assert_eq!(number(100.0, 0), "100");
/// assert_eq!(number(-0.2, 0), "0");
/// assert_eq!(number(f64::NAN, 1), "not known");
/// ```
#[must_use]
pub fn number(value: f64, most_places: usize) -> String {
    if !value.is_finite() {
        return "not known".to_owned();
    }
    let text = format!("{value:.most_places$}");
    let text = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

/// A number of things as [`number`] writes it without decimals, to be counted.
///
/// ```
/// use measure::text::whole;
/// assert_eq!([whole(12.4), whole(0.5), whole(-3.0), whole(f64::NAN)], [12, 0, 0, 0]);
/// ```
#[must_use]
pub fn whole(value: f64) -> u64 {
    value.round_ties_even() as u64
}

/// A number with exactly so many decimals and a true minus, for columns of numbers that
/// are read beside each other.
///
/// ```
/// use measure::text::fixed;
/// assert_eq!(fixed(-1.25, 1), "−1.2");
/// assert_eq!(fixed(12.0, 1), "12.0");
/// assert_eq!(fixed(-0.04, 1), "0.0", "nothing has no sign");
/// ```
#[must_use]
pub fn fixed(value: f64, places: usize) -> String {
    let text = format!("{value:.places$}");
    let zero = text.trim_start_matches('-').chars().all(|c| matches!(c, '0' | '.'));
    if zero { text.trim_start_matches('-').to_owned() } else { text.replace('-', "−") }
}

/// A length in whole millimetres: nobody reads a tape finer.
///
/// ```
/// use measure::{Length, text::millimetres};
/// assert_eq!(millimetres(Length::cm(10.24)), "102 mm");
/// ```
#[must_use]
pub fn millimetres(length: Length) -> String {
    format!("{} mm", number(length.to_mm(), 0))
}

/// A share of one as a percentage with at most so many decimals.
///
/// ```
/// use measure::text::percent;
/// assert_eq!(percent(0.5, 0), "50 %");
/// assert_eq!(percent(0.1234, 1), "12.3 %");
/// ```
#[must_use]
pub fn percent(share: f64, most_places: usize) -> String {
    format!("{} %", number(100.0 * share, most_places))
}

/// A whole number of things, by the word for one and the word for several.
///
/// ```
/// use measure::text::counted;
/// assert_eq!(counted(1, "sandwich", "sandwiches"), "1 sandwich");
/// assert_eq!(counted(3_u32, "piece", "pieces"), "3 pieces");
/// assert_eq!(counted(0_usize, "row", "rows"), "0 rows");
/// ```
#[must_use]
pub fn counted<N: Display + PartialEq + From<u8>>(count: N, one: &str, several: &str) -> String {
    format!("{count} {}", word_for(&count, one, several))
}

/// As [`counted`], with "no" for none.
///
/// ```
/// use measure::text::counted_or_no;
/// assert_eq!(counted_or_no(0, "client", "clients"), "no clients");
/// assert_eq!(counted_or_no(1, "client", "clients"), "1 client");
/// ```
#[must_use]
pub fn counted_or_no<N: Display + PartialEq + From<u8>>(count: N, one: &str, several: &str) -> String {
    if count == N::from(0) { format!("no {several}") } else { counted(count, one, several) }
}

/// The word for one or the word for several, where the number itself stands elsewhere.
///
/// ```
/// use measure::text::word_for;
/// assert_eq!(word_for(&1, "piece", "pieces"), "piece");
/// assert_eq!(word_for(&20, "piece", "pieces"), "pieces");
/// ```
#[must_use]
pub fn word_for<'a, N: PartialEq + From<u8>>(count: &N, one: &'a str, several: &'a str) -> &'a str {
    if *count == N::from(1) { one } else { several }
}

/// Minutes as hours and minutes.
///
/// ```
/// use measure::text::minutes;
/// assert_eq!(minutes(45), "45 min");
/// assert_eq!(minutes(120), "2 h");
/// assert_eq!(minutes(125), "2 h 5 min");
/// ```
#[must_use]
pub fn minutes(minutes: u32) -> String {
    match (minutes / 60, minutes % 60) {
        (0, rest) => format!("{rest} min"),
        (hours, 0) => format!("{hours} h"),
        (hours, rest) => format!("{hours} h {rest} min"),
    }
}

/// Days with their weeks behind them, as a diary counts.
///
/// ```
/// use measure::text::days_in_weeks;
/// assert_eq!(days_in_weeks(5), "5 days");
/// assert_eq!(days_in_weeks(49), "49 days (7 weeks)");
/// assert_eq!(days_in_weeks(52), "52 days (7 weeks and 3 days)");
/// ```
#[must_use]
pub fn days_in_weeks(days: u32) -> String {
    let (weeks, rest) = (days / 7, days % 7);
    let all = counted(days, "day", "days");
    match (weeks, rest) {
        (0, _) => all,
        (_, 0) => format!("{all} ({})", counted(weeks, "week", "weeks")),
        _ => format!("{all} ({} and {})", counted(weeks, "week", "weeks"), counted(rest, "day", "days")),
    }
}

/// Several things in a row, the last behind "and".
///
/// ```
/// use measure::text::list;
/// assert_eq!(list(&["brown", "red", "black"]), "brown, red and black");
/// assert_eq!(list(&["brown", "red"]), "brown and red");
/// assert_eq!(list(&["brown"]), "brown");
/// assert_eq!(list::<&str>(&[]), "");
/// ```
#[must_use]
pub fn list<T: AsRef<str>>(things: &[T]) -> String {
    in_a_row(things, "and")
}

/// Several things to choose from, the last behind "or".
///
/// ```
/// use measure::text::choice;
/// assert_eq!(choice(&["thickness", "length", "both"]), "thickness, length or both");
/// ```
#[must_use]
pub fn choice<T: AsRef<str>>(things: &[T]) -> String {
    in_a_row(things, "or")
}

fn in_a_row<T: AsRef<str>>(things: &[T], before_last: &str) -> String {
    let things: Vec<&str> = things.iter().map(AsRef::as_ref).collect();
    match things.as_slice() {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [first @ .., last] => format!("{} {before_last} {last}", first.join(", ")),
    }
}

/// Words with their first letter large.
///
/// ```
/// use measure::text::capital;
/// assert_eq!(capital("écru"), "Écru");
/// assert_eq!(capital("12 mm"), "12 mm");
/// ```
#[must_use]
pub fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// Words as a sentence of its own: first letter large, one stop at its end.
///
/// *Meaning*: a question or a call keeps its own mark; nothing stays nothing.
///
/// ```
/// use measure::text::sentence;
/// assert_eq!(sentence("the list is empty"), "The list is empty.");
/// assert_eq!(sentence(" Was it read in inches? "), "Was it read in inches?");
/// assert_eq!(sentence(""), "");
/// ```
#[must_use]
pub fn sentence(words: &str) -> String {
    let words = words.trim();
    let bare = words.trim_end_matches('.');
    let stop = if bare.is_empty() || bare.ends_with(['!', '?']) { "" } else { "." };
    format!("{}{stop}", capital(bare))
}

/// A thing and what follows from it, as two sentences; where one is empty, the other alone.
///
/// ```
/// use measure::text::sentences;
/// assert_eq!(sentences("the list is empty", "Name one."), "The list is empty. Name one.");
/// assert_eq!(sentences("the list is empty", ""), "The list is empty.");
/// ```
#[must_use]
pub fn sentences(what: &str, then: &str) -> String {
    format!("{} {}", sentence(what), capital(then.trim())).trim().to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn odd_values_are_said_and_not_printed() {
        assert_eq!(number(f64::INFINITY, 0), "not known");
        assert_eq!(millimetres(Length::mm(-0.2)), "0 mm");
        assert_eq!(percent(-0.001, 0), "0 %");
        assert_eq!(fixed(0.0, 0), "0");
    }

    #[test]
    fn a_sentence_ends_once() {
        assert_eq!(sentence("what then!"), "What then!");
        assert_eq!(sentence("i.e. nothing.."), "I.e. nothing.");
        assert_eq!(sentence("..."), "");
        assert_eq!(sentences("", "Look again."), "Look again.");
    }

    proptest! {
        /// What is written is the value to half of its last place, with no zero that says nothing.
        #[test]
        fn a_number_reads_back(value in -1e6..1e6_f64, places in 0_usize..5) {
            let text = number(value, places);
            let read: f64 = text.parse().unwrap();
            let half = (0..places).fold(0.5, |half, _| half / 10.0);
            prop_assert!((read - value).abs() <= half * (1.0 + 1e-6), "{value} as {text}");
            prop_assert!(!text.contains('.') || !text.ends_with('0'), "{text}");
            prop_assert!(text != "-0");
            let column = fixed(value, places).replace('−', "-");
            prop_assert_eq!(column.parse::<f64>().unwrap(), read);
            prop_assert_eq!(column.split_once('.').map_or(0, |(_, part)| part.len()), places);
        }

        #[test]
        fn minutes_and_weeks_lose_nothing(whole in 0_u32..100_000) {
            let parts: Vec<u32> = minutes(whole).split(' ').filter_map(|word| word.parse().ok()).collect();
            let read = match (parts.as_slice(), minutes(whole).ends_with('h')) {
                ([hours], true) => hours * 60,
                ([alone], false) => *alone,
                ([hours, rest], _) => hours * 60 + rest,
                _ => u32::MAX,
            };
            prop_assert_eq!(read, whole);
            let days = days_in_weeks(whole);
            prop_assert!(days.starts_with(&counted(whole, "day", "days")));
            prop_assert_eq!(days.contains("week"), whole >= 7);
        }

        #[test]
        fn every_thing_of_a_list_is_named_in_turn(things in prop::collection::vec("[a-z]{1,8}", 0..6)) {
            let read: Vec<String> = list(&things).replace(" and ", ", ").split(", ").filter(|s| !s.is_empty()).map(str::to_owned).collect();
            prop_assume!(things.iter().all(|thing| thing != "and"));
            prop_assert_eq!(&read, &things);
            prop_assert_eq!(list(&things).matches(" and ").count(), usize::from(things.len() > 1));
        }

        /// A sentence made a sentence again is the same, whatever was typed.
        #[test]
        fn a_sentence_stays_one(words in ".{0,40}") {
            let once = sentence(&words);
            prop_assert_eq!(sentence(&once), once.clone());
            prop_assert!(once.is_empty() || once.ends_with(['.', '!', '?']), "{once}");
        }
    }
}
