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
    /// From the nape hairline.
    pub nape: Length,
    /// From either ear.
    pub ear: Length,
    /// From the hairline at forehead and sides.
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
        }
    }

    /// The floors with what the consultation asks: so many times the plain
    /// clearance from ears and side hairline.
    ///
    /// *Meaning*: the floors may already hold more because hair is fine or often
    /// tied, which is often why the consultation asks; the stricter of the two
    /// holds, never their product. A factor below 1 changes nothing.
    #[must_use]
    pub fn at_least_times(self, factor: f64, book: &RuleBook) -> Self {
        let plain = |rule| Length::mm(book.value(rule) * factor);
        Self { ear: self.ear.max(plain(&EAR_FLOOR)), side: self.side.max(plain(&SIDE_FLOOR)), ..self }
    }
}

/// The floors for this hair and what she wears (T6, T11, T12).
///
/// *Meaning*: more styles never lower a floor. Hair is taken as fine when its
/// diameter falls into that class.
#[must_use]
pub fn floors(styles: &[Style], hair: &Hair, ties_up: TiesUp, book: &RuleBook) -> Floors {
    let tied = ties_up != TiesUp::Never || styles.iter().any(|style| style.bares_the_nape());
    let nape_down = book.value(&NAPE_FLOOR_DOWN);
    let nape = if tied { book.value(&NAPE_FLOOR).max(nape_down) } else { nape_down };
    let more = if hair.strand() == Strand::Fine || ties_up == TiesUp::Often { book.value(&FINE_OR_TIED) } else { 1.0 };
    Floors {
        nape: Length::mm(nape),
        ear: Length::mm(book.value(&EAR_FLOOR) * more),
        side: Length::mm(book.value(&SIDE_FLOOR) * more),
        above_crown: Length::mm(book.value(&CROWN_CEILING)),
    }
}

/// About how much hair must lie between hairline and slice so that a bond is
/// hidden, where flow lines run side by side: the threshold's depth of hair,
/// and half the ramp. For explaining; sites are judged by tracing.
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
        // Common practice: 38 mm at the nape when tied, 25 mm at ears and sides,
        // more when fine or often tied.
        let medium = floors(&[Style::HighPonytail], &hair(Strand::Medium), TiesUp::Sometimes, &book);
        assert_eq!((medium.nape.to_mm(), medium.ear.to_mm(), medium.side.to_mm()), (38.0, 25.0, 25.0));
        for (strand, ties) in [(Strand::Fine, TiesUp::Never), (Strand::Medium, TiesUp::Often)] {
            let more = floors(&[Style::Down], &hair(strand), ties, &book);
            assert!(more.ear.to_mm() > 25.0 && more.side.to_mm() > 25.0);
        }
        assert!(medium.above_crown.to_mm() <= 0.0);
    }

    #[test]
    fn more_styles_never_lower_a_floor() {
        let book = RuleBook::standard();
        for style in Style::ALL {
            let alone = floors(&[Style::Down], &hair(Strand::Medium), TiesUp::Never, &book);
            let both = floors(&[Style::Down, style], &hair(Strand::Medium), TiesUp::Never, &book);
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
