//! The rules of the trade, and where every piece goes.
//!
//! Floor 2: what should be done, and why. It knows hair, tapes and heads; it
//! never knows a client's name, money, a date or how anything is stored. Each
//! chapter opens with its table of rules; [`all_rules`] is the whole book.

pub mod aftercare;
pub mod chair;
pub mod combing;
pub mod coverage;
pub mod growth;
pub mod hair;
pub mod load;
pub mod matching;
pub mod pace;
pub mod piece;
pub mod placement;
pub mod quantity;
pub mod retape;
pub mod spread;
pub mod steps;
pub mod suitability;
pub mod wear;
mod words;

use measure::Rule;

/// Every rule of every chapter, in the order of the book.
///
/// ```
/// let ear = craft::all_rules().into_iter().find(|rule| rule.id == "coverage-ear-floor").unwrap();
/// assert_eq!((ear.value, ear.unit), (25.0, "mm"));
/// ```
#[must_use]
pub fn all_rules() -> Vec<&'static Rule> {
    [
        suitability::RULES,
        hair::RULES,
        piece::RULES,
        load::RULES,
        coverage::RULES,
        growth::RULES,
        matching::RULES,
        quantity::RULES,
        placement::RULES,
        spread::RULES,
        wear::RULES,
        retape::RULES,
        pace::RULES,
        chair::RULES,
        steps::RULES,
        aftercare::RULES,
    ]
    .into_iter()
    .flatten()
    .copied()
    .collect()
}
