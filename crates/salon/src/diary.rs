//! The diary: what a set that went in on a day asks for, and when.
//!
//! Days are counted from whatever day the caller counts from; nothing here
//! knows today, a month or a time zone.

use craft::suitability::Limits;
use measure::Days;
use serde::{Deserialize, Serialize};

/// A day, counted by the caller.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Day(pub i64);

impl Day {
    /// The day so many days later; the part of a day that is not whole is left
    /// off, so that nothing is ever put off by rounding.
    #[must_use]
    pub fn after(self, days: Days) -> Self {
        Self(self.0.saturating_add(days.to_days().max(0.0) as i64))
    }

    /// Whole days from an earlier day to this one.
    #[must_use]
    pub const fn since(self, earlier: Self) -> i64 {
        self.0.saturating_sub(earlier.0)
    }
}

/// A set that is in.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct SetIn {
    /// The day it went in.
    pub fitted: Day,
    /// When it is due, after that.
    pub due: Days,
    /// How long it may stay in.
    pub longest: Days,
}

/// Where a set stands on a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum WearState {
    /// Nothing is asked yet.
    Worn,
    /// It is time for the re-tape.
    Due,
    /// It has been in longer than it may be.
    Overdue,
}

impl SetIn {
    /// Where the set stands. The last day it may stay in is still not overdue.
    #[must_use]
    pub fn standing(&self, on: Day) -> WearState {
        let longest = self.fitted.after(self.longest);
        let due = self.fitted.after(self.due.min(self.longest));
        if on > longest {
            WearState::Overdue
        } else if on >= due {
            WearState::Due
        } else {
            WearState::Worn
        }
    }
}

/// What is asked of whom on a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Entry {
    /// The patch is set; the work waits for both readings.
    SetPatch,
    /// The patch is read for the first time.
    ReadPatch,
    /// The patch is read again.
    ReadPatchAgain,
    /// She is asked once more about the patch.
    AskAboutPatch,
    /// The pieces go in.
    Fit,
    /// A short look at bonds, skin and hairline.
    EarlyLook,
    /// The re-tape is due.
    Retape,
    /// The last day the set may stay in.
    LastDay,
}

/// The days of one set, in order: the patch test before it where one is owed,
/// the fitting, the early look where one is asked, the re-tape and the last day.
///
/// *Meaning*: `from` is the first day something can be done. The fitting is on
/// the first day after `from` on which the second reading of the patch is over,
/// or on `from` itself where no patch test is owed.
#[must_use]
pub fn days_of_a_set(from: Day, limits: &Limits, due: Days) -> Vec<(Day, Entry)> {
    let mut days = Vec::new();
    let mut fitted = from;
    if let Some(test) = limits.patch_test {
        let first = whole_days(test.first_reading_hours / 24.0);
        let second = whole_days(test.second_reading_hours / 24.0);
        fitted = Day(from.0.saturating_add(second));
        days.push((from, Entry::SetPatch));
        days.push((Day(from.0.saturating_add(first)), Entry::ReadPatch));
        days.push((fitted, Entry::ReadPatchAgain));
        days.push((Day(from.0.saturating_add(whole_days(test.late_question_days))), Entry::AskAboutPatch));
    }
    days.push((fitted, Entry::Fit));
    if let Some(look) = limits.early_look {
        days.push((fitted.after(look), Entry::EarlyLook));
    }
    days.push((fitted.after(due.min(limits.wear_cap)), Entry::Retape));
    days.push((fitted.after(limits.wear_cap), Entry::LastDay));
    days.sort_unstable();
    days
}

/// A wait in whole days, rounded up: a reading is never too early.
fn whole_days(days: f64) -> i64 {
    (days - 1e-9).ceil().max(0.0) as i64
}

#[cfg(test)]
mod tests {
    use super::*;
    use craft::suitability::{Answers, judge};
    use measure::RuleBook;
    use proptest::prelude::*;

    fn worn(due: f64) -> SetIn {
        SetIn { fitted: Day(1000), due: Days::days(due), longest: Days::days(56.0) }
    }

    // The cap of eight weeks: day 56 is still in time, day 57 is not.
    #[test]
    fn day_56_is_in_time_and_day_57_is_overdue() {
        assert_eq!(worn(49.0).standing(Day(1056)), WearState::Due);
        assert_eq!(worn(49.0).standing(Day(1057)), WearState::Overdue);
        assert_eq!(worn(49.0).standing(Day(1049)), WearState::Due);
        assert_eq!(worn(49.0).standing(Day(1048)), WearState::Worn);
    }

    #[test]
    fn a_first_set_waits_for_both_readings_of_the_patch() {
        let limits = judge(&Answers { had_extensions: Some(false), ..Answers::default() }, &RuleBook::standard()).limits;
        let days = days_of_a_set(Day(0), &limits, Days::days(49.0));
        let of = |entry| days.iter().find(|(_, e)| *e == entry).map(|(day, _)| day.0);
        assert_eq!((of(Entry::SetPatch), of(Entry::ReadPatch), of(Entry::ReadPatchAgain)), (Some(0), Some(2), Some(4)));
        assert_eq!((of(Entry::AskAboutPatch), of(Entry::Fit), of(Entry::EarlyLook)), (Some(7), Some(4), Some(18)));
        assert_eq!((of(Entry::Retape), of(Entry::LastDay)), (Some(53), Some(60)));
    }

    #[test]
    fn without_a_patch_test_the_first_day_is_the_day() {
        let answers = Answers { had_extensions: Some(true), reacted_before: Some(false), ..Answers::default() };
        let limits = judge(&answers, &RuleBook::standard()).limits;
        let days = days_of_a_set(Day(5), &limits, Days::days(90.0));
        assert_eq!(days, [(Day(5), Entry::Fit), (Day(61), Entry::Retape), (Day(61), Entry::LastDay)]);
    }

    proptest! {
        #[test]
        fn a_set_only_ever_ages(due in 0.0..90.0_f64, on in -10..200_i64) {
            let order = |standing| match standing { WearState::Worn => 0, WearState::Due => 1, WearState::Overdue => 2 };
            let set = worn(due);
            prop_assert!(order(set.standing(Day(1000 + on))) <= order(set.standing(Day(1001 + on))));
        }
    }
}
