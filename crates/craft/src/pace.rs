//! How long the work takes and how long the hair lasts.

use measure::{Days, Grade, Rule, RuleBook};

const fn choice(id: &'static str, says: &'static str, value: f64, range: (f64, f64), unit: &'static str) -> Rule {
    Rule { id, says, value, range, unit, grade: Grade::OurChoice, source: "" }
}

/// Minutes before the first piece.
pub const PREPARING: Rule =
    choice("pace-preparing", "Looking, washing, drying and sectioning take this long.", 45.0, (15.0, 120.0), "minutes");
/// Minutes for one sandwich.
pub const PLACING: Rule = choice(
    "pace-placing",
    "One sandwich takes this long to place, parting included; each technician sets her own.",
    2.5,
    (1.0, 8.0),
    "minutes",
);
/// Minutes after the last piece.
pub const BLENDING: Rule =
    choice("pace-blending", "Blending the ends, the closing checks and the advice take this long.", 30.0, (10.0, 120.0), "minutes");
/// Minutes to take one sandwich out and clean its pieces.
pub const TAKING_OUT: Rule =
    choice("pace-taking-out", "Taking one sandwich out, cleaning and re-taping its pieces takes this long.", 3.0, (1.0, 10.0), "minutes");
/// How many times the hair is worn.
pub const WEARS: Rule =
    choice("pace-wears", "A set is worn this many times, re-tapes between, before the hair is worn out.", 4.0, (1.0, 8.0), "times");
/// Minutes of a consultation.
pub const CONSULTATION: Rule =
    choice("pace-consultation", "Asking, looking, measuring and a skin test take this long.", 45.0, (15.0, 120.0), "minutes");
/// Minutes to read her ends.
pub const COLOUR_READING: Rule =
    choice("pace-colour", "Reading the colour of the ends and matching it takes this long.", 30.0, (10.0, 90.0), "minutes");
/// Minutes of a look between two visits.
pub const CHECK_UP: Rule =
    choice("pace-check-up", "A look at bonds, skin and hairline between two visits takes this long.", 20.0, (5.0, 60.0), "minutes");
/// Minutes after the last piece is out for good.
pub const AFTER_REMOVAL: Rule = choice(
    "pace-after-removal",
    "Combing out shed hair, washing and looking at the scalp after a removal take this long.",
    30.0,
    (10.0, 120.0),
    "minutes",
);
/// Days ahead beyond which a day is asked about again.
pub const BOOKED_AHEAD: Rule =
    choice("diary-ahead", "An appointment further ahead than this is more likely a slip of the pen.", 400.0, (60.0, 1100.0), "days");

/// The rules of this chapter.
pub const RULES: &[&Rule] =
    &[&PREPARING, &PLACING, &BLENDING, &TAKING_OUT, &WEARS, &CONSULTATION, &COLOUR_READING, &CHECK_UP, &AFTER_REMOVAL, &BOOKED_AHEAD];

/// How long a first set takes.
///
/// ```
/// let book = measure::RuleBook::standard();
/// assert!(craft::pace::first_visit(40, &book) > craft::pace::first_visit(20, &book));
/// ```
#[must_use]
pub fn first_visit(sandwiches: u32, book: &RuleBook) -> Days {
    Days::minutes(book.value(&PREPARING) + book.value(&PLACING) * f64::from(sandwiches) + book.value(&BLENDING))
}

/// How long a re-tape takes.
///
/// ```
/// let book = measure::RuleBook::standard();
/// assert!(craft::pace::retape_visit(40, &book) > craft::pace::retape_visit(20, &book));
/// ```
#[must_use]
pub fn retape_visit(sandwiches: u32, book: &RuleBook) -> Days {
    first_visit(sandwiches, book) + Days::minutes(book.value(&TAKING_OUT) * f64::from(sandwiches))
}

/// How long it takes to take a set out for good.
///
/// ```
/// let book = measure::RuleBook::standard();
/// assert!(craft::pace::removal_visit(40, &book) < craft::pace::retape_visit(40, &book));
/// ```
#[must_use]
pub fn removal_visit(sandwiches: u32, book: &RuleBook) -> Days {
    Days::minutes(book.value(&TAKING_OUT) * f64::from(sandwiches) + book.value(&AFTER_REMOVAL))
}

/// How long a consultation takes.
///
/// ```
/// let book = measure::RuleBook::standard();
/// assert!(craft::pace::consultation(&book) > craft::pace::check_up(&book));
/// ```
#[must_use]
pub fn consultation(book: &RuleBook) -> Days {
    Days::minutes(book.value(&CONSULTATION))
}

/// How long it takes to read her ends.
///
/// ```
/// let book = measure::RuleBook::standard();
/// assert_eq!((craft::pace::colour_reading(&book).to_hours() * 60.0).round(), 30.0);
/// ```
#[must_use]
pub fn colour_reading(book: &RuleBook) -> Days {
    Days::minutes(book.value(&COLOUR_READING))
}

/// How long a look between two visits takes.
///
/// ```
/// let book = measure::RuleBook::standard();
/// assert_eq!((craft::pace::check_up(&book).to_hours() * 60.0).round(), 20.0);
/// ```
#[must_use]
pub fn check_up(book: &RuleBook) -> Days {
    Days::minutes(book.value(&CHECK_UP))
}

/// How many days ahead a visit is booked without a second question.
///
/// ```
/// let book = measure::RuleBook::standard();
/// assert!(craft::pace::booked_ahead(&book) >= 84);
/// ```
#[must_use]
pub fn booked_ahead(book: &RuleBook) -> u32 {
    book.value(&BOOKED_AHEAD).round() as u32
}

/// How many times a set is worn.
///
/// ```
/// let book = measure::RuleBook::standard();
/// assert!(craft::pace::wears(&book) >= 1);
/// ```
#[must_use]
pub fn wears(book: &RuleBook) -> u32 {
    book.value(&WEARS).round() as u32
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn more_sandwiches_take_longer_and_a_retape_longer_still() {
        let book = RuleBook::standard();
        assert!((first_visit(20, &book).to_days() - Days::minutes(125.0).to_days()).abs() < 1e-12);
        assert!(first_visit(21, &book) > first_visit(20, &book));
        assert!(retape_visit(20, &book) > first_visit(20, &book));
    }
}
