//! What is looked at while a set goes in and before she leaves, and what runs low meanwhile.
//!
//! The distance from the scalp itself stands with the load: [`crate::load::BOND_OFF_SCALP`] (T9).

use crate::load::BOND_OFF_SCALP;
use measure::{Grade, Length, Rule, RuleBook};

const fn choice(id: &'static str, says: &'static str, value: f64, range: (f64, f64), unit: &'static str) -> Rule {
    Rule { id, says, value, range, unit, grade: Grade::OurChoice, source: "" }
}

/// How much nearer a hand's measure may find a bond.
pub const BY_HAND: Rule =
    choice("chair-by-hand", "Measured by hand, a bond may seem this much nearer to the scalp than it sits.", 1.0, (0.0, 2.0), "mm");
/// Beyond this a distance from the scalp is no freshly set bond's.
pub const OFF_SCALP_MOST: Rule = choice(
    "chair-off-scalp-most",
    "A bond farther off the scalp than this was not just set: the measure was read in another unit.",
    30.0,
    (15.0, 60.0),
    "mm",
);
/// How far a sandwich is moved along its parting and still is the same place.
pub const MOVED_MOST: Rule = choice(
    "chair-moved-most",
    "Moved farther than this along its parting, more than two tabs, a sandwich stands at another place.",
    100.0,
    (40.0, 160.0),
    "mm",
);
/// Pieces of a lot that are few.
pub const LOT_LOW: Rule =
    choice("chair-lot-low", "Of a lot with so few pieces left, two sandwiches more use it up.", 4.0, (1.0, 40.0), "pieces");

/// The rules of this chapter.
pub const RULES: &[&Rule] = &[&BY_HAND, &OFF_SCALP_MOST, &MOVED_MOST, &LOT_LOW];

/// Whether bonds that were measured so far off the scalp sit as they should (T9).
///
/// ```
/// use craft::chair::sits_off_scalp;
/// use measure::{Length, RuleBook};
/// let sits = |mm| sits_off_scalp(Length::mm(mm), &RuleBook::standard());
/// assert!(sits(5.0) && sits(4.0) && !sits(3.0) && !sits(200.0));
/// ```
#[must_use]
pub fn sits_off_scalp(measured: Length, book: &RuleBook) -> bool {
    let least = book.value(&BOND_OFF_SCALP) - book.value(&BY_HAND);
    (least..=book.value(&OFF_SCALP_MOST)).contains(&measured.to_mm())
}
