//! Growth and shedding: how far the bond moves from the scalp, and how many
//! shed strands it holds back.

use crate::words::Message;
use measure::real::exp;
use measure::text::fixed;
use measure::{Days, Estimate, Grade, Length, Rule, RuleBook};
use serde::{Deserialize, Serialize};

/// Growth before anything is known of this client.
pub const GROWTH_START: Rule = Rule {
    id: "growth-start",
    says: "Before anything is known of a client, her hair grows 0.36 mm a day.",
    value: 0.36,
    range: (0.23, 0.47),
    unit: "mm/day",
    grade: Grade::Handbook,
    source: "loussouarn2005",
};
/// Spread of growth between people.
pub const GROWTH_SPREAD: Rule = Rule {
    id: "growth-spread",
    says: "Between people growth spreads by 0.06 mm a day (one standard deviation).",
    value: 0.06,
    range: (0.03, 0.10),
    unit: "mm/day",
    grade: Grade::Handbook,
    source: "loussouarn2005",
};
/// Share of strands at rest, about to be shed.
pub const RESTING_SHARE: Rule = Rule {
    id: "growth-resting-share",
    says: "One strand in ten is at rest and about to be shed.",
    value: 0.10,
    range: (0.08, 0.30),
    unit: "",
    grade: Grade::Handbook,
    source: "loussouarn2005",
};
/// How long a strand rests before it is shed.
pub const RESTING_DAYS: Rule = Rule {
    id: "growth-resting-days",
    says: "A strand rests 100 days before it is shed.",
    value: 100.0,
    range: (60.0, 120.0),
    unit: "days",
    grade: Grade::OurChoice,
    source: "sinclair2015",
};
/// Loose strands at removal, against what is expected, that call for a second look.
pub const LOOSE_FLAG: Rule = Rule {
    id: "growth-loose-flag",
    says: "Twice the expected loose strands on neighbouring pieces call for a lighter load and a second look.",
    value: 2.0,
    range: (1.5, 4.0),
    unit: "times",
    grade: Grade::OurChoice,
    source: "",
};

/// The rules of this chapter.
pub const RULES: &[&Rule] = &[&GROWTH_START, &GROWTH_SPREAD, &RESTING_SHARE, &RESTING_DAYS, &LOOSE_FLAG];

/// How fast hair grows.
///
/// *Meaning*: length per day, always above zero.
///
/// ```
/// use craft::growth::Growth;
/// use measure::{Days, Length};
/// let growth = Growth::per_day(Length::mm(0.35));
/// assert!((growth.until(Length::mm(17.5)).to_days() - 50.0).abs() < 1e-9);
/// assert!((growth.after(Days::weeks(8.0)).to_mm() - 19.6).abs() < 1e-9);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Growth(Length);

impl Growth {
    /// So much a day.
    #[must_use]
    pub const fn per_day(length: Length) -> Self {
        Self(length)
    }

    /// Length per day.
    #[must_use]
    pub const fn daily(self) -> Length {
        self.0
    }

    /// Length grown in some days.
    #[must_use]
    pub fn after(self, days: Days) -> Length {
        self.0 * days.to_days()
    }

    /// Days until so much has grown.
    #[must_use]
    pub fn until(self, length: Length) -> Days {
        Days::days(length / self.0)
    }
}

/// One re-tape's measure: how far a bond had moved from the scalp.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct GrownOut {
    /// Distance from the scalp when it was set.
    pub set: Length,
    /// Distance from the scalp when it was taken out.
    pub found: Length,
    /// Days between the two.
    pub worn: Days,
}

/// A measure that growth cannot explain.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum GrowthFault {
    /// No time has passed.
    #[error("{}", Message::WornTooShortly { days: (.0).to_string() })]
    TooSoon(f64),
    /// The rate is none that hair grows at.
    #[error("{}", Message::GrowthOutside { rate: fixed(*.0, 2) })]
    Rate(f64),
}

/// Her growth from what was measured at re-tapes, drawn towards people at large
/// by one measure's weight.
///
/// *Meaning*: with n measures her own mean has the weight n/(n+1); the range
/// holds about nine chances in ten and narrows with every measure.
///
/// *Errors*: the first measure that growth cannot explain.
///
/// ```
/// use craft::growth::{GrownOut, growth_of, usual_growth};
/// use measure::{Days, Length};
/// let book = measure::RuleBook::standard();
/// let fast = GrownOut { set: Length::mm(5.0), found: Length::mm(30.0), worn: Days::days(49.0) };
/// assert!(growth_of(&[fast], &book).unwrap().value > usual_growth(&book).value);
/// ```
pub fn growth_of(measures: &[GrownOut], book: &RuleBook) -> Result<Estimate<Growth>, GrowthFault> {
    let mut sum = 0.0;
    for measure in measures {
        let worn = measure.worn.to_days();
        if !(worn >= 7.0 && worn.is_finite()) {
            return Err(GrowthFault::TooSoon(worn));
        }
        let rate = (measure.found - measure.set).to_mm() / worn;
        if !(0.1..=0.8).contains(&rate) {
            return Err(GrowthFault::Rate(rate));
        }
        sum += rate;
    }
    Ok(drawn_to_people(sum, measures.len(), book))
}

/// Growth before anything was measured on her: that of people at large.
///
/// ```
/// let book = measure::RuleBook::standard();
/// let growth = craft::growth::usual_growth(&book);
/// assert!(growth.low < growth.value && growth.value < growth.high);
/// ```
#[must_use]
pub fn usual_growth(book: &RuleBook) -> Estimate<Growth> {
    drawn_to_people(0.0, 0, book)
}

fn drawn_to_people(sum: f64, measures: usize, book: &RuleBook) -> Estimate<Growth> {
    let n = measures as f64;
    let value = (book.value(&GROWTH_START) + sum) / (n + 1.0);
    let half = 1.645 * book.value(&GROWTH_SPREAD) / (n + 1.0).sqrt();
    let daily = |rate: f64| Growth::per_day(Length::mm(rate.max(0.05)));
    Estimate::new(daily(value), daily(value - half), daily(value + half))
}

/// Share of the strands of a slice that still stand in the scalp after some days.
///
/// ```
/// use craft::growth::share_still_anchored;
/// use measure::{Days, RuleBook};
/// let still = |days| share_still_anchored(Days::days(days), &RuleBook::standard());
/// assert!(still(0.0) == 1.0 && still(56.0) < 1.0);
/// ```
#[must_use]
pub fn share_still_anchored(days: Days, book: &RuleBook) -> f64 {
    exp(-shed_rate(book) * days.to_days())
}

/// Shed strands that a bond has held back after some days of wear.
///
/// They come out with the piece, each with a white club at its root: what had
/// to fall anyway, no harm done by the tape.
///
/// ```
/// use craft::growth::loose_strands;
/// use measure::{Days, RuleBook};
/// // Of 162 hairs about eight have come loose after seven weeks.
/// assert!((loose_strands(162.0, Days::weeks(7.0), &RuleBook::standard()) - 7.75).abs() < 0.06);
/// ```
#[must_use]
pub fn loose_strands(hairs: f64, days: Days, book: &RuleBook) -> f64 {
    hairs * (1.0 - share_still_anchored(days, book))
}

/// Strands that a head sheds in a day.
///
/// ```
/// let book = measure::RuleBook::standard();
/// assert!((craft::growth::shed_per_day(100_000.0, &book) - 100.0).abs() < 1e-9);
/// ```
#[must_use]
pub fn shed_per_day(strands: f64, book: &RuleBook) -> f64 {
    strands * shed_rate(book)
}

fn shed_rate(book: &RuleBook) -> f64 {
    book.value(&RESTING_SHARE) / book.value(&RESTING_DAYS)
}

/// Whether the loose strands of a piece are more than wear explains.
///
/// ```
/// use craft::growth::is_more_than_shed;
/// use measure::{Days, RuleBook};
/// let found = |loose| is_more_than_shed(loose, 162.0, Days::weeks(7.0), &RuleBook::standard());
/// assert!(!found(10.0) && found(20.0));
/// ```
#[must_use]
pub fn is_more_than_shed(found: f64, hairs: f64, days: Days, book: &RuleBook) -> bool {
    found > book.value(&LOOSE_FLAG) * loose_strands(hairs, days, book)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn standard() -> RuleBook {
        RuleBook::standard()
    }

    #[test]
    fn published_rates_move_a_bond_as_computed_by_hand() {
        // *Source*: key `loussouarn2005`, group means, 56 days: 2.06, 1.57 and
        // 2.30 cm.
        for (um, cm) in [(367.0, 2.06), (280.0, 1.57), (411.0, 2.30)] {
            let growth = Growth::per_day(Length::um(um));
            assert!((growth.after(Days::weeks(8.0)).to_cm() - cm).abs() < 0.006);
        }
        // 367 um a day over a mean month of 30.44 days is 1.117 cm.
        assert!((Growth::per_day(Length::um(367.0)).after(Days::days(30.44)).to_cm() - 1.117).abs() < 5e-4);
        // Growth of 0.35 mm a day fills 17.5 mm in 50 days.
        let until = Growth::per_day(Length::mm(0.35)).until(Length::mm(17.5));
        assert!((until.to_days() - 50.0).abs() < 1e-9);
    }

    #[test]
    fn a_head_of_100_000_sheds_100_a_day() {
        // *Source*: key `sinclair2015`: women shed 50 to 150 a day.
        assert!((shed_per_day(100_000.0, &standard()) - 100.0).abs() < 1e-9);
    }

    #[test]
    fn a_bond_holds_back_what_would_have_fallen() {
        // 162 strands, 0.001 a day: 6.7, 7.75, 8.8 and 11.0 at 42, 49, 56 and 70 days.
        for (days, loose) in [(42.0, 6.7), (49.0, 7.75), (56.0, 8.8), (70.0, 11.0)] {
            assert!((loose_strands(162.0, Days::days(days), &standard()) - loose).abs() < 0.06);
        }
        // The first-order count n f t / T: 150 x 0.10 x 56 / 100 = 8.4, and
        // 100 x 0.14 x 70 / 100 = 9.8; decay stays below it by half the square.
        let loose = loose_strands(150.0, Days::days(56.0), &standard());
        assert!(loose < 8.4 && loose > 8.4 - 150.0 * 0.056 * 0.056 / 2.0 - 1e-9);
        let mut book = standard();
        book.set(&RESTING_SHARE, 0.14).unwrap();
        let loose = loose_strands(100.0, Days::days(70.0), &book);
        assert!(loose < 9.8 && loose > 9.3);
    }

    #[test]
    fn the_flag_stands_at_twice_what_is_expected() {
        let expected = loose_strands(150.0, Days::days(49.0), &standard());
        assert!(!is_more_than_shed(1.99 * expected, 150.0, Days::days(49.0), &standard()));
        assert!(is_more_than_shed(2.01 * expected, 150.0, Days::days(49.0), &standard()));
    }

    #[test]
    fn each_measure_narrows_her_growth_and_draws_it_to_her_own() {
        let own = GrownOut { set: Length::mm(5.0), found: Length::mm(5.0 + 0.42 * 49.0), worn: Days::days(49.0) };
        let mut width = f64::INFINITY;
        let mut before = 0.36 - 1e-9;
        for n in 0..6 {
            let growth = growth_of(&vec![own; n], &standard()).unwrap();
            let value = growth.value.daily().to_mm();
            // Weight n/(n+1).
            let expected = (0.36 + 0.42 * n as f64) / (n as f64 + 1.0);
            assert!((value - expected).abs() < 1e-12 && value > before);
            let now = growth.high.daily().to_mm() - growth.low.daily().to_mm();
            assert!(now < width);
            (width, before) = (now, value);
        }
    }

    #[test]
    fn odd_measures_are_told_from_growth() {
        let soon = GrownOut { set: Length::mm(5.0), found: Length::mm(6.0), worn: Days::days(3.0) };
        assert!(matches!(growth_of(&[soon], &standard()), Err(GrowthFault::TooSoon(_))));
        let cm = GrownOut { set: Length::mm(5.0), found: Length::cm(20.0), worn: Days::days(49.0) };
        assert!(matches!(growth_of(&[cm], &standard()), Err(GrowthFault::Rate(_))));
        let nothing = GrownOut { set: Length::mm(5.0), found: Length::mm(5.0), worn: Days::days(f64::NAN) };
        assert!(growth_of(&[nothing], &standard()).is_err());
    }
}
