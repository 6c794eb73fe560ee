//! Days of the salon's calendar, and what was said on one.

use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::fmt;
use std::str::FromStr;

/// A day of the Gregorian calendar, years 1900 to 2999.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Day {
    year: i32,
    month: u8,
    day: u8,
}

/// What the trail tells of an event besides what it says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stood {
    /// The stream's version after it.
    pub version: u64,
    /// The machine's clock, ms since 1970.
    pub at_ms: i64,
    /// The salon's day.
    pub on: Day,
    /// Minutes of that day since midnight, where that was said.
    pub minute: Option<u16>,
}

/// Minutes since midnight of a time of day that is written `10:30`; nothing when it is none.
#[must_use]
pub fn minute_of(at: &str) -> Option<u16> {
    let two = |text: &str| (text.len() == 2 && text.bytes().all(|b| b.is_ascii_digit())).then(|| text.parse::<u16>().ok()).flatten();
    let (hours, minutes) = at.split_once(':')?;
    let (hours, minutes) = (two(hours)?, two(minutes)?);
    (hours < 24 && minutes < 60).then_some(hours * 60 + minutes)
}

/// What is no day.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{0:?} is no day: write year, month and day, as in 2026-03-02")]
pub struct NoDay(pub String);

/// Days of the common years' months before each month.
const BEFORE: [i64; 12] = [0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334];

const fn is_leap(year: i32) -> bool {
    year % 4 == 0 && (year % 100 != 0 || year % 400 == 0)
}

const fn length(year: i32, month: u8) -> u8 {
    match month {
        2 if is_leap(year) => 29,
        2 => 28,
        4 | 6 | 9 | 11 => 30,
        _ => 31,
    }
}

impl Day {
    /// A day that there is; nothing else.
    #[must_use]
    pub fn new(year: i32, month: u8, day: u8) -> Option<Self> {
        let there_is = (1900..=2999).contains(&year) && (1..=12).contains(&month) && day >= 1 && day <= length(year, month);
        there_is.then_some(Self { year, month, day })
    }

    /// Days since the first of January of the year 1.
    fn number(self) -> i64 {
        let years = i64::from(self.year) - 1;
        let leaps = years / 4 - years / 100 + years / 400;
        let past_february = i64::from(is_leap(self.year) && self.month > 2);
        365 * years + leaps + BEFORE[usize::from(self.month) - 1] + past_february + i64::from(self.day) - 1
    }

    /// Days from another day to this one; less than nothing when that is later.
    #[must_use]
    pub fn days_since(self, earlier: Self) -> i64 {
        self.number() - earlier.number()
    }

    /// The day so many days later; none after the year 2999.
    #[must_use]
    pub fn later_by(self, days: u32) -> Option<Self> {
        let mut left = i64::from(days) + i64::from(self.day);
        let (mut year, mut month) = (self.year, self.month);
        while left > i64::from(length(year, month)) {
            left -= i64::from(length(year, month));
            (year, month) = if month == 12 { (year + 1, 1) } else { (year, month + 1) };
            if year > 2999 {
                return None;
            }
        }
        Self::new(year, month, u8::try_from(left).ok()?)
    }

    /// Year, month, day.
    #[must_use]
    pub const fn parts(self) -> (i32, u8, u8) {
        (self.year, self.month, self.day)
    }
}

impl fmt::Display for Day {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:04}-{:02}-{:02}", self.year, self.month, self.day)
    }
}

impl FromStr for Day {
    type Err = NoDay;

    fn from_str(text: &str) -> Result<Self, NoDay> {
        let parts = || {
            let all_digits = text.bytes().enumerate().all(|(i, b)| if i == 4 || i == 7 { b == b'-' } else { b.is_ascii_digit() });
            if text.len() != 10 || !all_digits {
                return None;
            }
            Self::new(text[..4].parse().ok()?, text[5..7].parse().ok()?, text[8..].parse().ok()?)
        };
        parts().ok_or_else(|| NoDay(text.chars().take(40).collect()))
    }
}

impl Serialize for Day {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Day {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        String::deserialize(deserializer)?.parse().map_err(serde::de::Error::custom)
    }
}

/// A span as it was on the day it was said: an age, weeks since a bleach. It is
/// turned into the span of another day when something is judged on that day.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct AsOf {
    /// The span then, in its own unit.
    pub value: f64,
    /// The day it was said.
    pub on: Day,
}

/// Days of a year and of a month on the mean (Gregorian calendar: 146 097 days in 400 years).
const YEAR_DAYS: f64 = 146_097.0 / 400.0;
const MONTH_DAYS: f64 = YEAR_DAYS / 12.0;

impl AsOf {
    fn days_to(self, on: Day) -> f64 {
        on.days_since(self.on) as f64
    }

    /// An age in whole years on a day: it grows by the whole years gone since.
    #[must_use]
    pub fn years_on(self, on: Day) -> f64 {
        self.value + (self.days_to(on) / YEAR_DAYS).trunc()
    }

    /// A span of months on a day, to a tenth, as it is asked.
    #[must_use]
    pub fn months_on(self, on: Day) -> f64 {
        let days = self.days_to(on);
        if days == 0.0 { self.value } else { (10.0 * (self.value + days / MONTH_DAYS)).round() / 10.0 }
    }

    /// A span of days on a day.
    #[must_use]
    pub fn days_on(self, on: Day) -> f64 {
        self.value + self.days_to(on)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> Day {
        text.parse().unwrap()
    }

    #[test]
    fn days_are_days() {
        for there_is in ["2026-02-28", "2024-02-29", "2000-02-29", "1999-12-31"] {
            assert_eq!(day(there_is).to_string(), there_is);
        }
        for none in
            ["2026-02-29", "1900-02-29", "2026-13-01", "2026-00-10", "2026-04-31", "2026-4-3", "26-04-03", "2026-04-03x", "é026-04-03"]
        {
            assert!(none.parse::<Day>().is_err(), "{none}");
        }
    }

    #[test]
    fn days_between_are_counted_over_leap_years_and_centuries() {
        // Ordinal dates: 2026-12-31 is day 365, 2024-12-31 day 366. *Source*: key `iso8601`.
        assert_eq!(day("2026-12-31").days_since(day("2026-01-01")), 364);
        assert_eq!(day("2024-12-31").days_since(day("2024-01-01")), 365);
        // The Julian day numbers of 1970-01-01 and 2000-01-01 are 2 440 588 and 2 451 545 (noon; from memory).
        assert_eq!(day("2000-01-01").days_since(day("1970-01-01")), 2_451_545 - 2_440_588);
        // 400 years are 146 097 days.
        assert_eq!(day("2400-03-01").days_since(day("2000-03-01")), 146_097);
        assert_eq!(day("2026-01-01").days_since(day("2026-03-01")), -59);
        for days in [0, 1, 27, 28, 44, 365, 366, 1461, 146_097] {
            let start = day("2024-01-31");
            assert_eq!(start.later_by(days).unwrap().days_since(start), i64::from(days));
        }
        assert_eq!(day("2999-12-31").later_by(1), None);
    }

    #[test]
    fn what_was_said_ages() {
        let said = AsOf { value: 39.0, on: day("2026-03-02") };
        assert_eq!(said.years_on(day("2026-03-02")), 39.0);
        assert_eq!(said.years_on(day("2027-03-01")), 39.0);
        assert_eq!(said.years_on(day("2027-03-04")), 40.0);
        let birth = AsOf { value: 3.0, on: day("2026-03-02") };
        assert_eq!(birth.months_on(day("2026-03-02")), 3.0);
        assert_eq!(birth.months_on(day("2026-09-02")), 9.0);
        assert_eq!(AsOf { value: 6.0, on: day("2026-03-02") }.days_on(day("2026-03-16")), 20.0);
    }
}
