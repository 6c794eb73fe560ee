//! Hard floors: clearances that hold whatever the tracing says.

use super::{CROWN_CEILING, EAR_FLOOR, FINE_OR_TIED, HAIRLINE_RAMP, KAPPA, NAPE_FLOOR, NAPE_FLOOR_DOWN, SIDE_FLOOR, THRESHOLD};
use crate::hair::{Hair, Strand};
use crate::suitability::answers::{Style, TiesUp};
use head::Border;
use measure::{Density, Length, RuleBook};
use serde::{Deserialize, Serialize};

/// Clearances that nothing may fall below.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Floors {
    /// From the level part of the nape hairline.
    pub nape: Length,
    /// From either ear.
    pub ear: Length,
    /// From the hairline at forehead and sides, and behind the ears.
    pub side: Length,
    /// How far above the crown a site may lie at the back; never above zero.
    pub above_crown: Length,
}

impl Floors {
    /// The clearance to keep from a border.
    #[must_use]
    pub fn from_border(&self, border: Border) -> Length {
        match border {
            Border::NapeHairline => self.nape,
            Border::FrontHairline => self.side,
            Border::LeftEar | Border::RightEar => self.ear,
            Border::BehindLeftEar | Border::BehindRightEar => self.side,
        }
    }

    /// The clearances that are wished for: so many times the floors at ears and
    /// side hairline. A site nearer than that is marked, never refused.
    #[must_use]
    pub fn wished(self, factor: f64) -> Self {
        let factor = factor.max(1.0);
        Self { ear: self.ear * factor, side: self.side * factor, ..self }
    }
}

/// The floors for what she wears (T6, T11, T12).
///
/// *Meaning*: more styles never lower a floor.
///
/// ```
/// use craft::coverage::{Style, TiesUp, floors};
/// use head::Border;
/// let kept = floors(&[Style::Down], TiesUp::Sometimes, &measure::RuleBook::standard());
/// assert_eq!(kept.from_border(Border::LeftEar).to_mm(), 25.0);
/// ```
#[must_use]
pub fn floors(styles: &[Style], ties_up: TiesUp, book: &RuleBook) -> Floors {
    let tied = ties_up != TiesUp::Never || styles.iter().any(|style| style.bares_the_nape());
    let nape_down = book.value(&NAPE_FLOOR_DOWN);
    let nape = if tied { book.value(&NAPE_FLOOR).max(nape_down) } else { nape_down };
    Floors {
        nape: Length::mm(nape),
        ear: Length::mm(book.value(&EAR_FLOOR)),
        side: Length::mm(book.value(&SIDE_FLOOR)),
        above_crown: Length::mm(book.value(&CROWN_CEILING)),
    }
}

/// How many times the floors at ears and side hairline are wished for because
/// her hair is fine or often tied up (T12).
///
/// ```
/// use craft::coverage::{TiesUp, clearance_wished};
/// use craft::hair::{Hair, HairFacts};
/// use measure::{Area, RuleBook};
/// let book = RuleBook::standard();
/// let hair = Hair::from_facts(&HairFacts::default(), Area::cm2(600.0), &book).unwrap();
/// assert!(clearance_wished(&hair, TiesUp::Often, &book) > clearance_wished(&hair, TiesUp::Never, &book));
/// ```
#[must_use]
pub fn clearance_wished(hair: &Hair, ties_up: TiesUp, book: &RuleBook) -> f64 {
    if hair.strand() == Strand::Fine || ties_up == TiesUp::Often { book.value(&FINE_OR_TIED) } else { 1.0 }
}

/// About how much hair must lie between hairline and slice so that a bond is
/// hidden, where flow lines run side by side: the threshold's depth of hair,
/// and half the ramp. For explaining; sites are judged by tracing.
///
/// ```
/// use craft::coverage::clearance_for_threshold;
/// use measure::{Density, Length, RuleBook};
/// let least = |per_cm2| clearance_for_threshold(Density::per_cm2(per_cm2), Length::um(70.0), &RuleBook::standard());
/// assert!(least(120.0) > least(240.0), "less hair hides a bond only further in");
/// ```
#[must_use]
pub fn clearance_for_threshold(density: Density, diameter: Length, book: &RuleBook) -> Length {
    let depth_per_mm = book.value(&KAPPA) * density.to_per_mm2() * diameter.to_mm();
    Length::mm(book.value(&THRESHOLD) / depth_per_mm + book.value(&HAIRLINE_RAMP) / 2.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hair::HairFacts;
    use measure::Area;

    fn hair(strand: Strand) -> Hair {
        let facts = HairFacts { density: Some(Density::per_cm2(180.0)), strand: Some(strand), ..HairFacts::default() };
        Hair::from_facts(&facts, Area::cm2(600.0), &RuleBook::standard()).unwrap()
    }

    #[test]
    fn t6_and_t12_stand_whatever_is_worn() {
        let book = RuleBook::standard();
        // Common practice: 38 mm at the nape when tied, 25 mm at ears and sides;
        // more is wished for when hair is fine or often tied.
        let tied = floors(&[Style::HighPonytail], TiesUp::Sometimes, &book);
        assert_eq!((tied.nape.to_mm(), tied.ear.to_mm(), tied.side.to_mm()), (38.0, 25.0, 25.0));
        for (strand, ties) in [(Strand::Fine, TiesUp::Never), (Strand::Medium, TiesUp::Often)] {
            let more = tied.wished(clearance_wished(&hair(strand), ties, &book));
            assert!(more.ear.to_mm() > 25.0 && more.side.to_mm() > 25.0);
        }
        let plain = tied.wished(clearance_wished(&hair(Strand::Medium), TiesUp::Never, &book));
        assert_eq!(plain, tied);
        assert!(tied.above_crown.to_mm() <= 0.0);
    }

    #[test]
    fn more_styles_never_lower_a_floor() {
        let book = RuleBook::standard();
        for style in Style::ALL {
            let alone = floors(&[Style::Down], TiesUp::Never, &book);
            let both = floors(&[Style::Down, style], TiesUp::Never, &book);
            assert!(both.nape >= alone.nape && both.ear >= alone.ear && both.side >= alone.side);
        }
    }

    #[test]
    fn medium_hair_asks_for_about_an_inch_and_fine_for_more() {
        let book = RuleBook::standard();
        let of = |density, um| clearance_for_threshold(Density::per_cm2(density), Length::um(um), &book).to_inches();
        // Planar: 3.0 / (0.0126 x 25.4) = 0.94 in, and half the ramp.
        assert!((of(180.0, 70.0) - (3.0 / (0.0126 * 254.0) + 5.0 / 25.4)).abs() < 1e-9);
        assert!(of(120.0, 50.0) > 2.0 && of(250.0, 90.0) < 0.8);
    }
}
