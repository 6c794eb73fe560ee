//! Heat on hair and near a bond: what a hair of this history bears.

use super::answers::{Oil, Processed};
use measure::{Grade, Rule, RuleBook};
use serde::{Deserialize, Serialize};

/// A temperature in degrees Celsius.
///
/// ```
/// use craft::suitability::irons::Celsius;
/// assert_eq!(Celsius::deg(180.0).min(Celsius::deg(150.0)).to_deg(), 150.0);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Celsius(f64);

impl Celsius {
    /// Degrees Celsius.
    #[must_use]
    pub const fn deg(value: f64) -> Self {
        Self(value)
    }

    /// Read in degrees Celsius.
    #[must_use]
    pub const fn to_deg(self) -> f64 {
        self.0
    }

    /// The cooler of two.
    #[must_use]
    pub const fn min(self, other: Self) -> Self {
        Self(self.0.min(other.0))
    }
}

macro_rules! heat_rule {
    ($name:ident, $id:literal, $says:literal, $value:literal, $low:literal, $high:literal, $unit:literal, $grade:ident, $source:literal) => {
        #[doc = $says]
        pub const $name: Rule =
            Rule { id: $id, says: $says, value: $value, range: ($low, $high), unit: $unit, grade: Grade::$grade, source: $source };
    };
}

heat_rule!(
    CAP_UNPROCESSED,
    "heat-unprocessed",
    "An iron on hair without chemical services is at most this hot.",
    180.0,
    100.0,
    185.0,
    "degC",
    OurChoice,
    "irons2010"
);
heat_rule!(
    CAP_COLOURED,
    "heat-coloured",
    "An iron on coloured hair is at most this hot.",
    165.0,
    100.0,
    180.0,
    "degC",
    OurChoice,
    "irons2010"
);
heat_rule!(
    CAP_DELICATE,
    "heat-delicate",
    "An iron on bleached, relaxed or fine hair, or on the pieces, is at most this hot.",
    150.0,
    100.0,
    165.0,
    "degC",
    OurChoice,
    "thermochim2018"
);
heat_rule!(
    CAP_BOND,
    "heat-bond",
    "The iron that helps a tape hold on oily hair is at most this hot.",
    150.0,
    80.0,
    150.0,
    "degC",
    CommonPractice,
    ""
);
heat_rule!(
    LASTING_CHANGE,
    "heat-lasting-change",
    "Above this a hair does not go back to what it was.",
    140.0,
    120.0,
    140.0,
    "degC",
    Measured,
    "heat1984"
);
heat_rule!(
    STOP,
    "heat-stop",
    "At this temperature hair breaks down: no iron is ever this hot.",
    200.0,
    185.0,
    200.0,
    "degC",
    Measured,
    "heat1984"
);
heat_rule!(DRYER, "heat-dryer", "The air of a dryer at the hair is at most this warm.", 60.0, 40.0, 60.0, "degC", OurChoice, "heat1984");
heat_rule!(
    FROM_BOND,
    "heat-from-bond",
    "After the fitting no hot tool comes nearer to a bond than this.",
    25.0,
    25.0,
    60.0,
    "mm",
    OurChoice,
    ""
);

/// The rules of heat.
pub const RULES: &[&Rule] = &[&CAP_UNPROCESSED, &CAP_COLOURED, &CAP_DELICATE, &CAP_BOND, &LASTING_CHANGE, &STOP, &DRYER, &FROM_BOND];

/// What decides how much heat a hair bears.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct HairForHeat {
    /// The strongest chemical service; unknown counts as the most delicate.
    pub processed: Option<Processed>,
    /// Whether the strand is fine.
    pub fineness: Fineness,
    /// Whether it is dry.
    pub moisture: Moisture,
}

/// Fine or not, as far as heat cares.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fineness {
    /// Fine.
    Fine,
    /// Medium or coarse.
    NotFine,
}

/// Dry or damp.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Moisture {
    /// Dry through.
    Dry,
    /// Damp or wet.
    Damp,
}

/// The hottest iron this hair bears; nothing at all while it is damp.
///
/// ```
/// use craft::hair::Processed;
/// use craft::suitability::irons::{Fineness, HairForHeat, Moisture, iron_cap};
/// let book = measure::RuleBook::standard();
/// let hair = |processed| HairForHeat { processed: Some(processed), fineness: Fineness::NotFine, moisture: Moisture::Dry };
/// assert!(iron_cap(hair(Processed::Bleached), &book) < iron_cap(hair(Processed::None), &book));
/// ```
#[must_use]
pub fn iron_cap(hair: HairForHeat, book: &RuleBook) -> Option<Celsius> {
    if hair.moisture == Moisture::Damp {
        return None;
    }
    let by_service = match hair.processed {
        Some(Processed::None) => &CAP_UNPROCESSED,
        Some(Processed::Coloured) => &CAP_COLOURED,
        Some(Processed::Bleached | Processed::Relaxed) | None => &CAP_DELICATE,
    };
    let mut cap = Celsius::deg(book.value(by_service));
    if hair.fineness == Fineness::Fine {
        cap = cap.min(Celsius::deg(book.value(&CAP_DELICATE)));
    }
    Some(cap)
}

/// What to say to an iron of a given temperature.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum HeatAnswer {
    /// Within the cap, and what it does goes back.
    Within,
    /// Within the cap, but what it does stays.
    WithinButLasting,
    /// Hotter than this hair bears.
    TooHot,
    /// Never, on any hair.
    Never,
}

/// Judges an iron's temperature for this hair.
///
/// ```
/// use craft::hair::Processed;
/// use craft::suitability::irons::{Fineness, HairForHeat, Moisture, Celsius, HeatAnswer, judge_iron};
/// let book = measure::RuleBook::standard();
/// let hair = |processed| HairForHeat { processed: Some(processed), fineness: Fineness::NotFine, moisture: Moisture::Dry };
/// assert_eq!(judge_iron(Celsius::deg(175.0), hair(Processed::Bleached), &book), HeatAnswer::TooHot);
/// ```
#[must_use]
pub fn judge_iron(iron: Celsius, hair: HairForHeat, book: &RuleBook) -> HeatAnswer {
    if iron.to_deg() >= book.value(&STOP) || !iron.to_deg().is_finite() {
        return HeatAnswer::Never;
    }
    match iron_cap(hair, book) {
        None => HeatAnswer::TooHot,
        Some(cap) if iron > cap => HeatAnswer::TooHot,
        Some(_) if iron.to_deg() > book.value(&LASTING_CHANGE) => HeatAnswer::WithinButLasting,
        Some(_) => HeatAnswer::Within,
    }
}

/// The iron that may be tapped on a bond to help it hold (T16): only on oily
/// roots, only where the hair is neither fine, bleached nor relaxed.
///
/// ```
/// use craft::hair::{Oil, Processed};
/// use craft::suitability::irons::{Fineness, HairForHeat, Moisture, bond_iron};
/// let book = measure::RuleBook::standard();
/// let hair = |processed| HairForHeat { processed: Some(processed), fineness: Fineness::NotFine, moisture: Moisture::Dry };
/// assert!(bond_iron(Some(Oil::Oily), hair(Processed::None), &book).is_some());
/// ```
#[must_use]
pub fn bond_iron(oil: Option<Oil>, hair: HairForHeat, book: &RuleBook) -> Option<Celsius> {
    let sturdy = matches!(hair.processed, Some(Processed::None | Processed::Coloured))
        && hair.fineness == Fineness::NotFine
        && hair.moisture == Moisture::Dry;
    if oil != Some(Oil::Oily) || !sturdy {
        return None;
    }
    Some(iron_cap(hair, book)?.min(Celsius::deg(book.value(&CAP_BOND))))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn dry(processed: Processed) -> HairForHeat {
        HairForHeat { processed: Some(processed), fineness: Fineness::NotFine, moisture: Moisture::Dry }
    }

    #[test]
    fn an_iron_of_185_on_bleached_hair_is_refused_and_150_is_not() {
        let book = RuleBook::standard();
        assert_eq!(judge_iron(Celsius::deg(185.0), dry(Processed::Bleached), &book), HeatAnswer::TooHot);
        assert_eq!(judge_iron(Celsius::deg(150.0), dry(Processed::Bleached), &book), HeatAnswer::WithinButLasting);
        assert_eq!(judge_iron(Celsius::deg(150.1), dry(Processed::Bleached), &book), HeatAnswer::TooHot);
    }

    // Changes to about 140 degC mostly go back, above they stay, about 200 degC
    // the hair breaks down: Int J Cosmet Sci 6 (1984) 201, abstract.
    #[test]
    fn the_two_published_temperatures_divide_the_answers() {
        let book = RuleBook::standard();
        let hair = dry(Processed::None);
        assert_eq!(judge_iron(Celsius::deg(140.0), hair, &book), HeatAnswer::Within);
        assert_eq!(judge_iron(Celsius::deg(141.0), hair, &book), HeatAnswer::WithinButLasting);
        assert_eq!(judge_iron(Celsius::deg(199.9), hair, &book), HeatAnswer::TooHot);
        assert_eq!(judge_iron(Celsius::deg(200.0), hair, &book), HeatAnswer::Never);
        assert_eq!(judge_iron(Celsius::deg(f64::NAN), hair, &book), HeatAnswer::Never);
    }

    #[test]
    fn damp_hair_gets_no_iron_at_all() {
        let book = RuleBook::standard();
        let damp = HairForHeat { moisture: Moisture::Damp, ..dry(Processed::None) };
        assert_eq!(iron_cap(damp, &book), None);
        assert_eq!(judge_iron(Celsius::deg(80.0), damp, &book), HeatAnswer::TooHot);
        assert_eq!(bond_iron(Some(Oil::Oily), damp, &book), None);
    }

    #[test]
    fn the_bond_iron_is_for_sturdy_oily_hair_and_never_over_150() {
        let book = RuleBook::standard();
        assert_eq!(bond_iron(Some(Oil::Oily), dry(Processed::None), &book), Some(Celsius::deg(150.0)));
        assert_eq!(bond_iron(Some(Oil::Normal), dry(Processed::None), &book), None);
        assert_eq!(bond_iron(Some(Oil::Oily), dry(Processed::Bleached), &book), None);
        assert_eq!(bond_iron(Some(Oil::Oily), dry(Processed::Relaxed), &book), None);
        let fine = HairForHeat { fineness: Fineness::Fine, ..dry(Processed::None) };
        assert_eq!(bond_iron(Some(Oil::Oily), fine, &book), None);
        let mut own = RuleBook::standard();
        assert!(own.set(&CAP_BOND, 151.0).is_err());
    }

    #[test]
    fn an_unknown_history_counts_as_the_most_delicate() {
        let book = RuleBook::standard();
        let unknown = HairForHeat { processed: None, ..dry(Processed::None) };
        assert_eq!(iron_cap(unknown, &book), Some(Celsius::deg(150.0)));
    }
}
