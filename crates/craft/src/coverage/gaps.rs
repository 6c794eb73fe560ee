//! The rival reading of a bond that shows: not how much of it is hidden, but how
//! many gaps between the clumps of hair are wide enough to be seen.
//!
//! Hair lies in round clumps of `m` hairs, packed; of clumps laid by lot, `F/m`
//! to the centimetre, each `d sqrt(m / packing)` wide, gaps wider than `g` come
//! `(F/m) exp(-(F/m) (D + g))` to the centimetre (gaps of a Poisson line, each
//! clump widening what it covers by its own width).
//!
//! It fits the trade's inch for medium hair as well as the depth does, and asks
//! less of fine, dense hair; only the chair can tell which is right. So it is
//! shown beside the coverage and decides nothing.

use super::Covering;
use measure::real::exp;
use measure::{Grade, Length, Rule, RuleBook};

/// Hairs in a clump.
pub const CLUMP: Rule = Rule {
    id: "coverage-clump",
    says: "Hair lies in clumps of about ten hairs.",
    value: 10.0,
    range: (1.0, 40.0),
    unit: "hairs",
    grade: Grade::OurChoice,
    source: "",
};
/// How much of a clump is hair.
pub const CLUMP_PACKING: Rule = Rule {
    id: "coverage-clump-packing",
    says: "Six tenths of a clump are hair.",
    value: 0.6,
    range: (0.3, 0.9),
    unit: "",
    grade: Grade::OurChoice,
    source: "",
};
/// The narrowest gap that is seen.
pub const GAP_SEEN: Rule = Rule {
    id: "coverage-gap-seen",
    says: "A gap wider than 1 mm is seen.",
    value: 1.0,
    range: (0.3, 4.0),
    unit: "mm",
    grade: Grade::OurChoice,
    source: "",
};

/// How many gaps that would be seen lie over a bond, on average, when it is
/// covered all along as at one place.
///
/// ```
/// use craft::coverage::{Covering, gaps_seen};
/// use measure::{Length, RuleBook};
/// let covering = |flux| Covering { flux_per_cm: flux, covering_flux_per_cm: flux, optical_depth: flux / 200.0, coverage: 0.9 };
/// let gaps = |flux| gaps_seen(&covering(flux), Length::mm(40.0), &RuleBook::standard());
/// assert!(gaps(1000.0) < gaps(300.0));
/// ```
#[must_use]
pub fn gaps_seen(covering: &Covering, bond: Length, book: &RuleBook) -> f64 {
    let flux = covering.covering_flux_per_cm / 10.0;
    if flux <= 0.0 {
        return 1.0;
    }
    let hair = covering.optical_depth / (book.value(&super::KAPPA) * flux);
    let clump = book.value(&CLUMP);
    let clumps = flux / clump;
    let width = hair * (clump / book.value(&CLUMP_PACKING)).sqrt();
    bond.to_mm() * clumps * exp(-clumps * (width + book.value(&GAP_SEEN)))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Parallel flow over a bond whose slice lies so far from where hair begins.
    fn covering(per_cm2: f64, um: f64, inches: f64) -> Covering {
        let flux_per_cm = per_cm2 * 2.54 * inches;
        let optical_depth = flux_per_cm * um * 1e-4;
        Covering { flux_per_cm, covering_flux_per_cm: flux_per_cm, optical_depth, coverage: 1.0 - exp(-optical_depth) }
    }

    /// *Source*: our own prototype in another language, at most half a gap wider
    /// than 1 mm on 40 mm, parallel flow (clearances in inches).
    #[test]
    fn the_clearances_of_the_prototype_come_out() {
        let book = RuleBook::standard();
        let rows = [
            (180.0, 70.0, 1.00),
            (120.0, 50.0, 1.63),
            (120.0, 70.0, 1.51),
            (180.0, 50.0, 1.09),
            (180.0, 90.0, 0.93),
            (250.0, 70.0, 0.72),
            (250.0, 90.0, 0.67),
        ];
        for (density, diameter, inches) in rows {
            let gaps = |inches: f64| gaps_seen(&covering(density, diameter, inches), Length::mm(40.0), &book);
            assert!(gaps(inches - 0.012) > 0.5 && gaps(inches + 0.012) < 0.5, "{density}/{diameter}: {}", gaps(inches));
        }
    }

    #[test]
    fn where_no_hair_lies_the_whole_bond_is_one_gap() {
        assert_eq!(gaps_seen(&Covering::BARE, Length::mm(40.0), &RuleBook::standard()), 1.0);
    }
}
