//! When the set is due to be taken out and put back.
//!
//! Four things set the day, the first of them wins: how far the bonds have
//! grown out, how long the bonds are likely to hold, how long the slices bear
//! what they carry, and the cap. Six to eight weeks is the trade's own window
//! (T1); a client who grows slowly is not sent home for longer than that, and
//! one who grows fast is not called in before it unless a limit says so.

use crate::growth::Growth;
use measure::{Days, Estimate, Grade, Length, Rule, RuleBook};
use serde::{Deserialize, Serialize};

/// The first day of the trade's window.
pub const WINDOW_OPENS: Rule = Rule {
    id: "retape-window-opens",
    says: "A set is re-taped no earlier than this many days after it went in, unless a limit says so (T1).",
    value: 42.0,
    range: (28.0, 56.0),
    unit: "days",
    grade: Grade::CommonPractice,
    source: "",
};

/// The last day of the trade's window.
pub const WINDOW_CLOSES: Rule = Rule {
    id: "retape-window-closes",
    says: "A set is re-taped no later than this many days after it went in (T1).",
    value: 56.0,
    range: (28.0, 84.0),
    unit: "days",
    grade: Grade::CommonPractice,
    source: "",
};

/// No set is called in before this day, whatever a model says.
pub const EARLIEST: Rule = Rule {
    id: "retape-earliest",
    says: "No model calls a set in before this many days.",
    value: 28.0,
    range: (14.0, 42.0),
    unit: "days",
    grade: Grade::OurChoice,
    source: "",
};

/// How far from the scalp a bond may have grown.
pub const GROWN_OUT: Rule = Rule {
    id: "retape-grown-out",
    says: "A bond that has grown this far from the scalp is due; six to eight weeks of usual growth come to 20-25 mm.",
    value: 22.5,
    range: (15.0, 30.0),
    unit: "mm",
    grade: Grade::OurChoice,
    source: "",
};

/// The rules of this chapter.
pub const RULES: &[&Rule] = &[&WINDOW_OPENS, &WINDOW_CLOSES, &EARLIEST, &GROWN_OUT];

/// What bears on the day.
#[derive(Debug, Clone, PartialEq)]
pub struct RetapeCase {
    /// How fast her hair grows.
    pub growth: Estimate<Growth>,
    /// How far off the scalp the bonds are set.
    pub off_scalp: Length,
    /// The day by which one bond in ten is expected to have slipped.
    pub one_in_ten_slipped: Option<Days>,
    /// The first day on which a slice bears more than it may.
    pub load_limit: Option<Days>,
    /// The last day that the consultation allows.
    pub cap: Option<Days>,
}

/// The day and what set it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Due {
    /// Whole days after the set goes in.
    pub day: u32,
    /// The first day it may be done.
    pub opens: u32,
    /// The last day it may be left in.
    pub closes: u32,
    /// The rule that set the day.
    pub set_by: String,
    /// Every thing that bore on it, in plain words with its number.
    pub because: Vec<String>,
}

/// The day on which a bond has grown out as far as it may.
#[must_use]
pub fn grown_out_on(growth: Growth, off_scalp: Length, book: &RuleBook) -> Days {
    growth.until(Length::mm(book.value(&GROWN_OUT)) - off_scalp)
}

/// When the set is due.
///
/// *Meaning*: whole days after it goes in, rounded down, so that no limit is passed.
#[must_use]
pub fn due(case: &RetapeCase, book: &RuleBook) -> Due {
    let last = case.cap.map_or(f64::INFINITY, Days::to_days).min(book.value(&WINDOW_CLOSES));
    let earliest = book.value(&EARLIEST).min(last);
    let opens = book.value(&WINDOW_OPENS).min(last);
    let grown = case.growth.map(|g| grown_out_on(g, case.off_scalp, book));
    let mut because = vec![format!(
        "grown out to {:.0} mm after {:.0} days ({:.0} to {:.0})",
        book.value(&GROWN_OUT),
        grown.value.to_days(),
        grown.low.to_days(),
        grown.high.to_days()
    )];
    // Growth and wear are estimates: they move the day inside the trade's window only.
    let mut day = last;
    let mut set_by = if case.cap.is_some_and(|cap| cap.to_days() < book.value(&WINDOW_CLOSES)) { "wear-cap" } else { WINDOW_CLOSES.id };
    let mut earlier = |candidate: f64, rule: &'static str| {
        if candidate < day {
            day = candidate;
            set_by = rule;
        }
    };
    earlier(grown.value.to_days().max(opens), GROWN_OUT.id);
    if let Some(slipped) = case.one_in_ten_slipped {
        because.push(format!("one bond in ten expected to slip by day {:.0}", slipped.to_days()));
        earlier(slipped.to_days().max(opens), "wear-slip");
    }
    if let Some(load) = case.load_limit {
        because.push(format!("a slice bears more than it may from day {:.0}", load.to_days()));
        earlier(load.to_days().max(earliest), "load-limit");
    }
    because.push(format!("never later than day {last:.0}"));
    let day = (day + 1e-9) as u32;
    Due { day, opens: day.min(opens as u32), closes: last as u32, set_by: set_by.to_owned(), because }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn at(mm_per_day: f64) -> RetapeCase {
        RetapeCase {
            growth: Estimate::exact(Growth::per_day(Length::mm(mm_per_day))),
            off_scalp: Length::mm(5.0),
            one_in_ten_slipped: None,
            load_limit: None,
            cap: None,
        }
    }

    /// Arithmetic of growth: (22.5 - 5) mm at 0.35 mm a day is 50 days.
    #[test]
    fn usual_growth_gives_fifty_days() {
        let due = due(&at(0.35), &RuleBook::standard());
        assert_eq!((due.day, due.set_by.as_str()), (50, GROWN_OUT.id));
    }

    #[test]
    fn day_56_is_in_time_and_day_57_is_overdue() {
        let due = due(&at(0.23), &RuleBook::standard());
        assert_eq!((due.day, due.closes), (56, 56));
    }

    #[test]
    fn a_load_limit_may_call_before_the_window_but_not_before_four_weeks() {
        let mut case = at(0.35);
        case.load_limit = Some(Days::days(35.0));
        assert_eq!(due(&case, &RuleBook::standard()).day, 35);
        case.load_limit = Some(Days::days(3.0));
        assert_eq!(due(&case, &RuleBook::standard()).day, 28);
    }

    #[test]
    fn the_consultations_cap_wins() {
        let mut case = at(0.35);
        case.cap = Some(Days::days(40.0));
        let due = due(&case, &RuleBook::standard());
        assert_eq!((due.day, due.closes, due.set_by.as_str()), (40, 40, "wear-cap"));
    }

    proptest! {
        /// T1: six to eight weeks, whatever the growth and the wear (common practice, no source).
        #[test]
        fn without_a_limit_the_day_is_in_the_trades_window(g in 0.15f64..0.7, slip in 5.0f64..200.0) {
            let mut case = at(g);
            case.one_in_ten_slipped = Some(Days::days(slip));
            let due = due(&case, &RuleBook::standard());
            prop_assert!((42..=56).contains(&due.day));
        }
    }
}
