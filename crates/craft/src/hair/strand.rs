//! What strands weigh, how they thin out to the ends, and how thick a tail of them is.

use super::facts::Ends;
use super::rules::{BLUNT_END_SHARE, BLUNT_FULL_TO, FIBRE_MASS, SOFT_END_SHARE, SOFT_FULL_TO};
use measure::{Grams, Length, RuleBook};
use serde::{Deserialize, Serialize};
use std::f64::consts::PI;

/// How many of the strands reach a distance along the hair.
///
/// *Meaning*: all of them up to `full_to` of the length, then fewer in a
/// straight line down to `end_share` at the very end, and none beyond.
///
/// ```
/// use craft::hair::{Ends, Taper};
/// let book = measure::RuleBook::standard();
/// assert!(Taper::of_ends(Ends::Soft, &book).mean() < Taper::of_ends(Ends::Blunt, &book).mean());
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Taper {
    /// Share of the length that every strand reaches.
    pub full_to: f64,
    /// Share of strands that reach the end.
    pub end_share: f64,
}

impl Taper {
    /// Every strand as long as the whole.
    pub const NONE: Self = Self { full_to: 1.0, end_share: 1.0 };

    /// The taper of blunt or soft ends.
    #[must_use]
    pub fn of_ends(ends: Ends, book: &RuleBook) -> Self {
        let (full_to, end_share) = match ends {
            Ends::Blunt => (&BLUNT_FULL_TO, &BLUNT_END_SHARE),
            Ends::Soft => (&SOFT_FULL_TO, &SOFT_END_SHARE),
        };
        Self { full_to: book.value(full_to), end_share: book.value(end_share) }
    }

    /// Share of the strands that reach `at`, of hair of a length.
    #[must_use]
    pub fn share_at(&self, at: Length, length: Length) -> f64 {
        let x = at.to_mm() / length.to_mm();
        if !x.is_finite() || x > 1.0 {
            0.0
        } else if x <= self.full_to {
            1.0
        } else {
            1.0 - (1.0 - self.end_share) * (x - self.full_to) / (1.0 - self.full_to)
        }
    }

    /// Mean length of a strand, as a share of the longest.
    #[must_use]
    pub fn mean(&self) -> f64 {
        self.full_to + (1.0 - self.full_to) * (1.0 + self.end_share) / 2.0
    }
}

/// Mass of one round strand of a diameter and a length.
///
/// ```
/// use craft::hair::strand_mass;
/// use measure::{Length, RuleBook};
/// let mass = |mm| strand_mass(Length::um(70.0), Length::mm(mm), &RuleBook::standard()).to_mg();
/// assert!((mass(400.0) - 2.0 * mass(200.0)).abs() < 1e-9);
/// ```
#[must_use]
pub fn strand_mass(diameter: Length, length: Length, book: &RuleBook) -> Grams {
    strand_mass_of(diameter, length, book.value(&FIBRE_MASS))
}

/// The same, from the mass of a cubic centimetre.
pub(super) fn strand_mass_of(diameter: Length, length: Length, g_per_cm3: f64) -> Grams {
    let d = diameter.to_cm();
    Grams::g(PI / 4.0 * d * d * length.to_cm() * g_per_cm3)
}

/// Diameter of a round strand from the mass of a counted bundle.
///
/// ```
/// use craft::hair::{diameter_from_bundle, strand_mass};
/// use measure::{Length, RuleBook};
/// let book = RuleBook::standard();
/// let bundle = strand_mass(Length::um(70.0), Length::mm(200.0), &book) * 50.0;
/// assert!((diameter_from_bundle(bundle, 50, Length::mm(200.0), &book).to_um() - 70.0).abs() < 1e-6);
/// ```
#[must_use]
pub fn diameter_from_bundle(mass: Grams, strands: u32, length: Length, book: &RuleBook) -> Length {
    let volume = mass.to_g() / book.value(&FIBRE_MASS);
    let one = volume / (f64::from(strands.max(1)) * length.to_cm());
    Length::cm((4.0 * one / PI).max(0.0).sqrt())
}

/// Strands in a tied tail of a circumference.
///
/// ```
/// use craft::hair::{strands_in_tail, tied_circumference};
/// use measure::Length;
/// let tail = tied_circumference(90_000.0, Length::um(70.0), 0.6);
/// assert!((strands_in_tail(tail, Length::um(70.0), 0.6) - 90_000.0).abs() < 1e-6);
/// ```
#[must_use]
pub fn strands_in_tail(circumference: Length, diameter: Length, packing: f64) -> f64 {
    let ratio = circumference / diameter;
    packing * ratio * ratio / (PI * PI)
}

/// Circumference of a tied tail of so many strands.
///
/// ```
/// use craft::hair::tied_circumference;
/// use measure::Length;
/// let tail = |strands| tied_circumference(strands, Length::um(70.0), 0.6).to_mm();
/// assert!((tail(40_000.0) - 2.0 * tail(10_000.0)).abs() < 1e-9, "an area grows with the square");
/// ```
#[must_use]
pub fn tied_circumference(strands: f64, diameter: Length, packing: f64) -> Length {
    diameter * (PI * (strands.max(0.0) / packing).sqrt())
}
