//! When a set is due to be taken out, cleaned and re-taped.
//!
//! The date is the earliest of what growth, slipping and load ask for, inside
//! the trade's six to eight weeks (T1). What is only a prior, people at large
//! and no record of this client, never brings the date below six weeks.

use crate::growth::Growth;
use crate::load::{BOND_OFF_SCALP, SliceCase, judge_slice};
use crate::words::Message;
use measure::text::number;
use measure::{Days, Estimate, Grade, Length, Rule, RuleBook};
use serde::{Deserialize, Serialize};

/// First day on which a re-tape is due.
pub const DUE_FROM: Rule = Rule {
    id: "retape-due-from",
    says: "A set is re-taped from six weeks on (T1).",
    value: 42.0,
    range: (28.0, 56.0),
    unit: "days",
    grade: Grade::CommonPractice,
    source: "",
};
/// Last day of wear.
pub const DUE_TO: Rule = Rule {
    id: "retape-due-to",
    says: "No set is worn longer than eight weeks (T1), unless the technician sets it with a reason.",
    value: 56.0,
    range: (42.0, 56.0),
    unit: "days",
    grade: Grade::Handbook,
    source: "aguhpodcast",
};
/// Earliest day that is ever asked for.
pub const SOONEST: Rule = Rule {
    id: "retape-soonest",
    says: "No re-tape is asked for before four weeks; what does not hold so long needs another look, not another date.",
    value: 28.0,
    range: (21.0, 42.0),
    unit: "days",
    grade: Grade::OurChoice,
    source: "",
};
/// The longest wear that may be set with a reason.
pub const LONGEST: Rule = Rule {
    id: "retape-longest",
    says: "Even with a reason no set is worn longer than twelve weeks.",
    value: 84.0,
    range: (56.0, 84.0),
    unit: "days",
    grade: Grade::Handbook,
    source: "aad2020styles",
};
/// How far a bond may have grown out.
pub const GROWN_OUT_MOST: Rule = Rule {
    id: "retape-grown-out",
    says: "A set is due when its bonds have moved to 22.5 mm from the scalp.",
    value: 22.5,
    range: (20.0, 25.0),
    unit: "mm",
    grade: Grade::OurChoice,
    source: "",
};
/// Share of bonds that must still hold.
pub const HOLDING_SHARE: Rule = Rule {
    id: "retape-holding-share",
    says: "A set is due while nine bonds in ten still hold.",
    value: 0.90,
    range: (0.80, 0.97),
    unit: "",
    grade: Grade::OurChoice,
    source: "",
};

/// The rules of this chapter.
pub const RULES: &[&Rule] = &[&DUE_FROM, &DUE_TO, &SOONEST, &LONGEST, &GROWN_OUT_MOST, &HOLDING_SHARE];

/// What a date rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Basis {
    /// People at large: never brings the date below six weeks.
    AtLarge,
    /// This client's own records.
    Own,
}

/// What the date is asked of.
#[derive(Debug, Clone, PartialEq)]
pub struct RetapeCase {
    /// Her growth, and whether it was measured on her.
    pub growth: (Estimate<Growth>, Basis),
    /// The day to which the share of bonds that must hold still hold, and
    /// whether it rests on her own bonds.
    pub slip: Option<(Estimate<Days>, Basis)>,
    /// The first day on which a slice comes over its load limit.
    pub over_load: Option<Days>,
    /// A longest wear that the technician set, with her reason.
    pub set: Option<SetByHand>,
}

/// A longest wear set by the technician.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SetByHand {
    /// The longest wear.
    pub longest: Days,
    /// Why; kept with the record.
    pub reason: String,
}

/// What made the date.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum DueBy {
    /// The bonds have grown out.
    Growth,
    /// Bonds begin to slip.
    Slip,
    /// A slice comes over its load limit.
    Load,
    /// The longest wear.
    Longest,
}

/// When the set is due.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Retape {
    /// The day of wear on which it is due.
    pub due: Days,
    /// From when it may be done, and by when it must be.
    pub window: (Days, Days),
    /// The range in which the date might fall with growth and slip as uncertain as they are.
    pub range: (Days, Days),
    /// What made the date.
    pub by: DueBy,
    /// What she should know, in plain words.
    pub notes: Vec<String>,
}

impl Retape {
    /// Whether a set worn so long is overdue.
    #[must_use]
    pub fn is_overdue(&self, worn: Days) -> bool {
        worn > self.window.1
    }
}

/// A longest wear that may not be set.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum RetapeFault {
    /// Outside what may be set.
    #[error("{}", Message::LongestWearOutside { days: days.to_string(), least: least.to_string(), most: most.to_string() })]
    Outside {
        /// As asked.
        days: f64,
        /// The least.
        least: f64,
        /// The most.
        most: f64,
    },
    /// No reason was given.
    #[error("{}", Message::LongestWearUnexplained { days: days.to_string(), usual: usual.to_string() })]
    NoReason {
        /// As asked.
        days: f64,
        /// The usual longest wear.
        usual: f64,
    },
}

/// The date of the next re-tape.
///
/// *Errors*: a longest wear set by hand that is out of range or lacks a reason.
///
/// ```
/// use craft::growth::usual_growth;
/// use craft::retape::{Basis, RetapeCase, retape};
/// let book = measure::RuleBook::standard();
/// let case = RetapeCase { growth: (usual_growth(&book), Basis::AtLarge), slip: None, over_load: None, set: None };
/// let due = retape(&case, &book).unwrap();
/// assert!(due.due <= due.window.1 && !due.is_overdue(due.due));
/// ```
pub fn retape(case: &RetapeCase, book: &RuleBook) -> Result<Retape, RetapeFault> {
    let longest = longest_wear(case.set.as_ref(), book)?;
    let due_from = Days::days(book.value(&DUE_FROM)).min(longest);
    let soonest = Days::days(book.value(&SOONEST)).min(longest);
    let way = Length::mm(book.value(&GROWN_OUT_MOST) - book.value(&BOND_OFF_SCALP));
    // What is only a prior stops at six weeks.
    let kept = |days: Days, basis: Basis| match basis {
        Basis::AtLarge => days.max(due_from),
        Basis::Own => days,
    };
    let (growth, growth_basis) = case.growth;
    let mut terms = vec![(longest, longest, longest, DueBy::Longest)];
    let grown = growth.map(|growth| growth.until(way));
    terms.push((kept(grown.value, growth_basis), kept(grown.low, growth_basis), kept(grown.high, growth_basis), DueBy::Growth));
    if let Some((slip, basis)) = case.slip {
        terms.push((kept(slip.value, basis), kept(slip.low, basis), kept(slip.high, basis), DueBy::Slip));
    }
    if let Some(day) = case.over_load {
        terms.push((day, day, day, DueBy::Load));
    }
    let within = |days: Days| Days::days(days.max(soonest).min(longest).to_days().floor());
    let earliest = |pick: fn(&(Days, Days, Days, DueBy)) -> Days| within(terms.iter().map(pick).fold(longest, Days::min));
    let due = earliest(|term| term.0);
    let first = terms.iter().fold(terms[0], |best, term| if term.0 < best.0 { *term } else { best });
    let asked = first.0;
    let mut notes = Vec::new();
    if due < due_from {
        notes.push(Message::DueSooner { days: number(due.to_days(), 0) }.into());
    }
    if asked < soonest {
        notes.push(Message::DueVerySoon.into());
    }
    if let Some(set) = &case.set {
        notes.push(Message::LongestWearSet { days: number(set.longest.to_days(), 0), reason: set.reason.trim().to_owned() }.into());
    }
    Ok(Retape { due, window: (due_from.min(due), longest), range: (earliest(|term| term.1), earliest(|term| term.2)), by: first.3, notes })
}

/// The longest wear in force.
fn longest_wear(set: Option<&SetByHand>, book: &RuleBook) -> Result<Days, RetapeFault> {
    let usual = book.value(&DUE_TO);
    let Some(set) = set else { return Ok(Days::days(usual)) };
    let days = set.longest.to_days();
    let (least, most) = (book.value(&SOONEST), book.value(&LONGEST));
    if !(least..=most).contains(&days) {
        return Err(RetapeFault::Outside { days, least, most });
    }
    if days > usual && set.reason.trim().is_empty() {
        return Err(RetapeFault::NoReason { days, usual });
    }
    Ok(set.longest)
}

/// The first day, up to the longest wear there is, on which a slice comes to
/// carry more than anyone sets; none when it never does.
///
/// ```
/// use craft::hair::{Hair, HairFacts};
/// use craft::load::SliceCase;
/// use craft::growth::usual_growth;
/// use craft::piece::{Piece, Setting, Tab};
/// use craft::retape::first_day_over;
/// use head::Zone;
/// use measure::{Area, Grams, Length, RuleBook};
/// let book = RuleBook::standard();
/// let hair = Hair::from_facts(&HairFacts::default(), Area::cm2(600.0), &book).unwrap();
/// let tab = Tab { width: Length::mm(40.0), height: Length::mm(9.0) };
/// let piece = Piece::new(tab, Grams::g(2.5), Length::mm(500.0)).unwrap();
/// let case = SliceCase::new(&hair, Zone::Occipital, &piece, Setting::Sandwich, &book);
/// // So thin a slice carries too much from the first day on.
/// let day = first_day_over(&case, Length::mm(0.1), usual_growth(&book).value, &book);
/// assert_eq!(day.map(|day| day.to_days()), Some(0.0));
/// ```
#[must_use]
pub fn first_day_over(case: &SliceCase, thickness: Length, growth: Growth, book: &RuleBook) -> Option<Days> {
    let last = book.value(&LONGEST) as u32;
    (0..=last)
        .map(|day| Days::days(f64::from(day)))
        .find(|&day| judge_slice(&case.after(day, growth, book), thickness, book).strain_end > 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn growth(mm: f64) -> Estimate<Growth> {
        Estimate::new(mm, mm - 0.05, mm + 0.05).map(|rate| Growth::per_day(Length::mm(rate)))
    }

    fn case(mm: f64, basis: Basis) -> RetapeCase {
        RetapeCase { growth: (growth(mm), basis), slip: None, over_load: None, set: None }
    }

    fn due(case: &RetapeCase) -> f64 {
        retape(case, &RuleBook::standard()).unwrap().due.to_days()
    }

    #[test]
    fn growth_alone_dates_as_worked_out_by_hand() {
        // (hmax - 5 mm) / g: 50.0 days at 0.35 mm a day and 22.5 mm; 42.9 and
        // 57.1 (then the longest wear) at 20 and 25 mm.
        assert_eq!(due(&case(0.35, Basis::Own)), 50.0);
        let mut book = RuleBook::standard();
        book.set(&GROWN_OUT_MOST, 20.0).unwrap();
        assert_eq!(retape(&case(0.35, Basis::Own), &book).unwrap().due.to_days(), 42.0);
        book.set(&GROWN_OUT_MOST, 25.0).unwrap();
        let capped = retape(&case(0.35, Basis::Own), &book).unwrap();
        assert_eq!((capped.due.to_days(), capped.by), (56.0, DueBy::Longest));
    }

    #[test]
    fn t1_six_to_eight_weeks_unless_her_own_records_say_sooner() {
        for mm in [0.23, 0.30, 0.36, 0.42, 0.47] {
            let day = due(&case(mm, Basis::AtLarge));
            assert!((42.0..=56.0).contains(&day));
        }
        assert_eq!(due(&case(0.5, Basis::Own)), 35.0);
        assert_eq!(due(&case(0.5, Basis::AtLarge)), 42.0);
        let slips = Estimate::new(Days::days(30.0), Days::days(24.0), Days::days(38.0));
        assert_eq!(due(&RetapeCase { slip: Some((slips, Basis::Own)), ..case(0.3, Basis::AtLarge) }), 30.0);
        assert_eq!(due(&RetapeCase { slip: Some((slips, Basis::AtLarge)), ..case(0.3, Basis::AtLarge) }), 42.0);
    }

    #[test]
    fn day_56_is_in_time_and_day_57_is_overdue() {
        let plain = retape(&case(0.3, Basis::AtLarge), &RuleBook::standard()).unwrap();
        assert!(!plain.is_overdue(Days::days(56.0)) && plain.is_overdue(Days::days(57.0)));
    }

    #[test]
    fn longer_wear_needs_a_reason_and_never_exceeds_84_days() {
        let set = |days: f64, reason: &str| RetapeCase {
            set: Some(SetByHand { longest: Days::days(days), reason: reason.into() }),
            ..case(0.2, Basis::Own)
        };
        let book = RuleBook::standard();
        assert!(matches!(retape(&set(70.0, " "), &book), Err(RetapeFault::NoReason { .. })));
        assert!(matches!(retape(&set(85.0, "away at sea"), &book), Err(RetapeFault::Outside { .. })));
        assert!(matches!(retape(&set(f64::NAN, "x"), &book), Err(RetapeFault::Outside { .. })));
        assert_eq!(retape(&set(84.0, "away at sea"), &book).unwrap().due.to_days(), 84.0);
        assert_eq!(retape(&set(35.0, ""), &book).unwrap().due.to_days(), 35.0);
    }

    #[test]
    fn less_than_four_weeks_asks_for_the_cause() {
        let slips = Estimate::exact(Days::days(15.0));
        let soon = RetapeCase { slip: Some((slips, Basis::Own)), ..case(0.3, Basis::AtLarge) };
        let answer = retape(&soon, &RuleBook::standard()).unwrap();
        assert_eq!((answer.due.to_days(), answer.by), (28.0, DueBy::Slip));
        assert!(answer.notes.iter().any(|note| note.contains("cause")));
    }

    #[test]
    fn an_overloaded_slice_brings_the_date_forward() {
        let over = RetapeCase { over_load: Some(Days::days(37.0)), ..case(0.3, Basis::AtLarge) };
        let answer = retape(&over, &RuleBook::standard()).unwrap();
        assert_eq!((answer.due.to_days(), answer.by), (37.0, DueBy::Load));
    }
}
