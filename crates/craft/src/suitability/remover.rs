//! Removers: how readily they burn, and when a hot tool may come near again.

use super::irons::Celsius;
use measure::{Grade, Rule};

/// How long the room is aired before a hot tool is switched on.
pub const AIRING: Rule = Rule {
    id: "remover-airing",
    says: "After a remover that burns, the hair is rinsed and dried and the room aired this long before any hot tool.",
    value: 15.0,
    range: (15.0, 60.0),
    unit: "min",
    grade: Grade::OurChoice,
    source: "",
};

/// How long an opened bottle with limonene is kept.
pub const OPENED_LIMONENE: Rule = Rule {
    id: "remover-opened-limonene",
    says: "An opened remover with limonene is thrown away after this many months: what air makes of it is what skin reacts to.",
    value: 6.0,
    range: (3.0, 12.0),
    unit: "months",
    grade: Grade::OurChoice,
    source: "christensson2014",
};

/// The rules of removers.
pub const RULES: &[&Rule] = &[&AIRING, &OPENED_LIMONENE];

/// How readily a liquid catches fire, by the worldwide label rules: 1 is the
/// readiest, 4 the least, and nothing is no flammable liquid.
///
/// *Source*: 29 CFR 1910.106(a)(19), categories 1-4; key `cfr1910-106`.
///
/// ```
/// use craft::suitability::{irons::Celsius, remover::flammable_category};
/// // Isopropanol: flash point 11.7 degrees, boiling at 83.
/// assert_eq!(flammable_category(Celsius::deg(11.7), Celsius::deg(83.0)), Some(2));
/// ```
#[must_use]
pub fn flammable_category(flash_point: Celsius, boiling_point: Celsius) -> Option<u8> {
    let (flash, boiling) = (flash_point.to_deg(), boiling_point.to_deg());
    if flash < 23.0 {
        Some(if boiling <= 35.0 { 1 } else { 2 })
    } else if flash <= 60.0 {
        Some(3)
    } else if flash <= 93.0 {
        Some(4)
    } else {
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn category(flash: f64, boiling: f64) -> Option<u8> {
        flammable_category(Celsius::deg(flash), Celsius::deg(boiling))
    }

    // *Source*: flash and boiling points, key `nioshpocket` (isopropanol), key
    // `cameo` (ethyl acetate), key `hazmap` (limonene); bounds, key `cfr1910-106`,
    // (a)(19).
    #[test]
    fn categories_are_those_of_the_regulation() {
        assert_eq!(category(11.7, 83.0), Some(2));
        assert_eq!(category(-4.0, 77.0), Some(2));
        assert_eq!(category(48.0, 176.0), Some(3));
        assert_eq!(category(62.0, 200.0), Some(4));
        assert_eq!(category(95.0, 200.0), None);
    }

    #[test]
    fn each_bound_has_its_two_sides() {
        assert_eq!((category(22.9, 35.0), category(22.9, 35.1)), (Some(1), Some(2)));
        assert_eq!((category(22.9, 80.0), category(23.0, 80.0)), (Some(2), Some(3)));
        assert_eq!((category(60.0, 150.0), category(60.1, 150.0)), (Some(3), Some(4)));
        assert_eq!((category(93.0, 200.0), category(93.1, 200.0)), (Some(4), None));
    }
}
