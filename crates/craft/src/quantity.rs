//! How much hair the wish takes, and the thickness along the length.
//!
//! Hair gathered and tied fills its loop to a share `phi` (the packing), so a
//! circumference C holds `N = phi C^2 / (pi^2 d^2)` strands of diameter d, and the
//! other way round. Thickness is asked as strands added to her own; length as
//! gathered ends that measure so much round where her own hair no longer reaches.
//!
//! Legend: N strands, C circumference, d strand diameter, S share of strands that
//! reach a distance, z distance along the hair, L length, phi packing.

use crate::hair::{Ends, Hair, PACKING, PACKING_SPREAD, strand_mass, strands_in_tail, tied_circumference};
use crate::piece::{Piece, Setting, piece_taper};
use measure::{Estimate, Grade, Grams, Length, Rule, RuleBook, real};
use serde::{Deserialize, Serialize};

const fn choice(id: &'static str, says: &'static str, value: f64, range: (f64, f64), unit: &'static str) -> Rule {
    Rule { id, says, value, range, unit, grade: Grade::OurChoice, source: "" }
}

/// Strands added for a lighter wish for thickness.
pub const THICKER_LIGHT: Rule =
    choice("quantity-thicker-light", "A light wish for thickness adds this share of her own strands.", 0.2, (0.1, 0.4), "of her own");
/// Strands added for a natural wish for thickness.
pub const THICKER_NATURAL: Rule =
    choice("quantity-thicker-natural", "A natural wish for thickness adds this share of her own strands.", 0.3, (0.2, 0.7), "of her own");
/// Strands added for a full wish for thickness.
pub const THICKER_FULL: Rule =
    choice("quantity-thicker-full", "A full wish for thickness adds this share of her own strands.", 0.4, (0.3, 1.0), "of her own");
/// Gathered ends for a lighter wish for length.
pub const ENDS_LIGHT: Rule =
    choice("quantity-ends-light", "A light wish for length gathers to ends of this circumference.", 40.0, (25.0, 50.0), "mm");
/// Gathered ends for a natural wish for length.
pub const ENDS_NATURAL: Rule =
    choice("quantity-ends-natural", "A natural wish for length gathers to ends of this circumference.", 50.0, (35.0, 60.0), "mm");
/// Gathered ends for a full wish for length.
pub const ENDS_FULL: Rule =
    choice("quantity-ends-full", "A full wish for length gathers to ends of this circumference.", 60.0, (45.0, 80.0), "mm");
/// Where ends are measured.
pub const ENDS_AT: Rule =
    choice("quantity-ends-at", "Ends are gathered and measured at this share of the length.", 0.9, (0.7, 1.0), "of the length");
/// The step in thickness that is softened.
pub const STEP_SEEN: Rule = choice(
    "quantity-step-seen",
    "Where her own ends stop and the circumference drops by more than this, the ends are softened before (T4).",
    8.0,
    (3.0, 20.0),
    "mm",
);

/// The rules of this chapter.
pub const RULES: &[&Rule] =
    &[&THICKER_LIGHT, &THICKER_NATURAL, &THICKER_FULL, &ENDS_LIGHT, &ENDS_NATURAL, &ENDS_FULL, &ENDS_AT, &STEP_SEEN];

/// How full she wants it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Level {
    /// A little more.
    Light,
    /// As if it were all her own.
    Natural,
    /// Plenty.
    Full,
}

impl Level {
    /// All three, lightest first.
    pub const ALL: [Self; 3] = [Self::Light, Self::Natural, Self::Full];

    /// The word in files and on pages.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Light => "light",
            Self::Natural => "natural",
            Self::Full => "full",
        }
    }
}

/// What decides the amount.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Amount {
    /// One of the three levels.
    Level(Level),
    /// So many grams.
    Grams(Grams),
    /// Gathered ends of this circumference.
    Ends(Length),
}

/// What she wants, as far as quantity goes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct QuantityWish {
    /// Thickness is wanted.
    pub thicker: bool,
    /// Length is wanted.
    pub longer: bool,
    /// How much.
    pub amount: Amount,
}

/// How much hair a wish takes.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Quantity {
    /// Grams of piece hair, with the range that packing and strand leave open.
    pub grams: Estimate<Grams>,
    /// Sandwiches, rounded up to whole ones.
    pub sandwiches: u32,
    /// Pieces in them.
    pub pieces: u32,
}

/// Grams of pieces that give gathered ends of a circumference at a distance along them.
///
/// *Meaning*: `own` strands of her own still reach there.
///
/// ```
/// use craft::piece::{Piece, Tab};
/// use craft::quantity::grams_for_ends;
/// use measure::{Grams, Length, RuleBook};
/// let tab = Tab { width: Length::mm(40.0), height: Length::mm(9.0) };
/// let piece = Piece::new(tab, Grams::g(2.5), Length::mm(500.0)).unwrap();
/// let grams = |ends| grams_for_ends(Length::mm(ends), Length::mm(400.0), &piece, Length::um(70.0), 0.0, 0.6, &RuleBook::standard());
/// assert!(grams(80.0) > grams(60.0));
/// ```
#[must_use]
pub fn grams_for_ends(ends: Length, at: Length, piece: &Piece, diameter: Length, own: f64, packing: f64, book: &RuleBook) -> Grams {
    let taper = piece_taper(book);
    let wanted = (strands_in_tail(ends, diameter, packing) - own).max(0.0);
    let reaching = taper.share_at(at, piece.length);
    if reaching <= 0.0 {
        return Grams::ZERO;
    }
    strand_mass(diameter, piece.length * taper.mean(), book) * (wanted / reaching)
}

/// How much hair the wish takes with a piece.
///
/// ```
/// use craft::hair::{Hair, HairFacts};
/// use craft::piece::{Piece, Setting, Tab};
/// use craft::quantity::{Amount, QuantityWish, quantity};
/// use measure::{Area, Grams, Length, RuleBook};
/// let book = RuleBook::standard();
/// let hair = Hair::from_facts(&HairFacts { own_length: Some(Length::mm(300.0)), ..HairFacts::default() }, Area::cm2(600.0), &book).unwrap();
/// let tab = Tab { width: Length::mm(40.0), height: Length::mm(9.0) };
/// let piece = Piece::new(tab, Grams::g(2.5), Length::mm(500.0)).unwrap();
/// let wish = QuantityWish { thicker: true, longer: false, amount: Amount::Grams(Grams::g(40.0)) };
/// let needed = quantity(&wish, &hair, &piece, Setting::Sandwich, &book);
/// assert_eq!((needed.sandwiches, needed.pieces), (8, 16));
/// ```
#[must_use]
pub fn quantity(wish: &QuantityWish, hair: &Hair, piece: &Piece, setting: Setting, book: &RuleBook) -> Quantity {
    let packing = book.value(&PACKING);
    // Nine chances in ten, from a spread in percent.
    let spread = packing * 1.645 * book.value(&PACKING_SPREAD) / 100.0;
    let at = |packing: f64, strands: f64, diameter: Length| amount(wish, hair, piece, packing, strands, diameter, book);
    let strands = hair.strands();
    let value = at(packing, strands.value, hair.diameter.value);
    let low = at(packing - spread, strands.low, hair.diameter.value);
    let high = at(packing + spread, strands.high, hair.diameter.value);
    let grams = Estimate::new(value, low, high);
    let each = piece.hanging_mass(setting);
    let sandwiches = real::floor(value / each - 1e-9).max(0.0) as u32 + u32::from(value > Grams::ZERO);
    Quantity { grams, sandwiches, pieces: sandwiches * setting.pieces() }
}

fn amount(wish: &QuantityWish, hair: &Hair, piece: &Piece, packing: f64, strands: f64, diameter: Length, book: &RuleBook) -> Grams {
    let at = piece.length * book.value(&ENDS_AT);
    let own_there = hair.own_length.map_or(0.0, |own| strands * hair.taper.share_at(at, own));
    let ends = |ends: Length| grams_for_ends(ends, at, piece, diameter, own_there, packing, book);
    let (thicker, gathered) = match wish.amount {
        Amount::Grams(grams) => return grams,
        Amount::Ends(length) => return ends(length),
        Amount::Level(Level::Light) => (&THICKER_LIGHT, &ENDS_LIGHT),
        Amount::Level(Level::Natural) => (&THICKER_NATURAL, &ENDS_NATURAL),
        Amount::Level(Level::Full) => (&THICKER_FULL, &ENDS_FULL),
    };
    let taper = piece_taper(book);
    let for_thickness = strand_mass(diameter, piece.length * taper.mean(), book) * (strands * book.value(thicker));
    let for_length = ends(Length::mm(book.value(gathered)));
    match (wish.thicker, wish.longer) {
        (true, false) => for_thickness,
        (false, _) => for_length,
        (true, true) => for_length.max(for_thickness),
    }
}

/// The gathered circumference at one distance along the hair.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Thickness {
    /// Distance along the hair.
    pub at: Length,
    /// Her own hair alone.
    pub before: Length,
    /// With the pieces.
    pub after: Length,
}

/// Thickness along the length, before and after, every `step`.
///
/// *Meaning*: `sets` gives the pieces' lengths with the grams of each.
///
/// ```
/// use craft::hair::{Hair, HairFacts};
/// use craft::quantity::profile;
/// use measure::{Area, Grams, Length, RuleBook};
/// let book = RuleBook::standard();
/// let hair = Hair::from_facts(&HairFacts { own_length: Some(Length::mm(300.0)), ..HairFacts::default() }, Area::cm2(600.0), &book).unwrap();
/// let sets = [(Length::mm(500.0), Grams::g(100.0))];
/// let tail = profile(&hair, &sets, Length::mm(50.0), &book);
/// assert!(tail.iter().all(|there| there.after >= there.before));
/// ```
#[must_use]
pub fn profile(hair: &Hair, sets: &[(Length, Grams)], step: Length, book: &RuleBook) -> Vec<Thickness> {
    let packing = book.value(&PACKING);
    let taper = piece_taper(book);
    let diameter = hair.diameter.value;
    let own_length = hair.own_length.unwrap_or(Length::ZERO);
    let longest = sets.iter().map(|(length, _)| *length).fold(own_length, Length::max);
    let steps = if step > Length::ZERO { real::floor(longest / step) as usize } else { 0 };
    let strands = hair.strands().value;
    (0..=steps)
        .map(|i| {
            let at = step * i as f64;
            let own = strands * hair.taper.share_at(at, own_length);
            let added: f64 = sets
                .iter()
                .map(|(length, grams)| *grams / strand_mass(diameter, *length * taper.mean(), book) * taper.share_at(at, *length))
                .sum();
            Thickness { at, before: tied_circumference(own, diameter, packing), after: tied_circumference(own + added, diameter, packing) }
        })
        .collect()
}

/// Whether her own ends are to be softened before anything is set (T4): they are
/// blunt, or the circumference would drop there by more than the eye passes over.
///
/// ```
/// use craft::hair::{Hair, HairFacts};
/// use craft::quantity::wants_softening;
/// use measure::{Area, Grams, Length, RuleBook};
/// let book = RuleBook::standard();
/// let hair = Hair::from_facts(&HairFacts { own_length: Some(Length::mm(300.0)), ..HairFacts::default() }, Area::cm2(600.0), &book).unwrap();
/// assert!(!wants_softening(&hair, &[], &book), "nothing was added");
/// ```
#[must_use]
pub fn wants_softening(hair: &Hair, sets: &[(Length, Grams)], book: &RuleBook) -> bool {
    let reaches_past = hair.own_length.is_none_or(|own| sets.iter().any(|(length, _)| *length > own));
    let step = step_at_own_ends(hair, sets, book).is_some_and(|step| step.to_mm() > book.value(&STEP_SEEN));
    reaches_past && (hair.ends == Ends::Blunt || step)
}

/// The drop in circumference just where her own ends stop.
///
/// ```
/// use craft::hair::{Hair, HairFacts};
/// use craft::quantity::step_at_own_ends;
/// use measure::{Area, Grams, Length, RuleBook};
/// let book = RuleBook::standard();
/// let hair = Hair::from_facts(&HairFacts { own_length: Some(Length::mm(300.0)), ..HairFacts::default() }, Area::cm2(600.0), &book).unwrap();
/// let sets = [(Length::mm(500.0), Grams::g(100.0))];
/// assert!(step_at_own_ends(&hair, &sets, &book).unwrap() > Length::ZERO);
/// ```
#[must_use]
pub fn step_at_own_ends(hair: &Hair, sets: &[(Length, Grams)], book: &RuleBook) -> Option<Length> {
    let own = hair.own_length?;
    let either_side = profile(hair, sets, own * 0.02, book);
    let after = |at: f64| either_side.iter().min_by(|a, b| (a.at / own - at).abs().total_cmp(&(b.at / own - at).abs())).map(|t| t.after);
    Some(after(0.98)? - after(1.02)?)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hair::HairFacts;
    use crate::piece::Tab;
    use measure::{Area, Density};
    use proptest::prelude::*;

    fn piece(length: f64) -> Piece {
        Piece::new(Tab { width: Length::mm(40.0), height: Length::mm(9.0) }, Grams::g(2.5), Length::mm(length)).unwrap()
    }

    fn hair(density: f64) -> Hair {
        let facts = HairFacts { density: Some(Density::per_cm2(density)), own_length: Some(Length::mm(380.0)), ..HairFacts::default() };
        Hair::from_facts(&facts, Area::cm2(600.0), &RuleBook::standard()).unwrap()
    }

    /// Geometry of a bundle: N(C = 10 cm, phi 0.5, 70 um) = 103 389; C = 5 cm a quarter.
    #[test]
    fn strands_and_circumference_are_each_others_inverse() {
        let d = Length::um(70.0);
        let n = strands_in_tail(Length::cm(10.0), d, 0.5);
        assert!((n - 103_389.0).abs() < 1.0, "{n}");
        assert!((strands_in_tail(Length::cm(5.0), d, 0.5) - 25_847.0).abs() < 1.0);
        assert!((tied_circumference(n, d, 0.5).to_cm() - 10.0).abs() < 1e-9);
    }

    /// Algebra of the taper (0.7, 0.4): ends of 6 cm at 45.7 cm of a 50.8 cm piece take
    /// 145.486 g where no own hair reaches, whatever the diameter; 5 cm take 101.032 g;
    /// 6 cm with 10 000 own strands of 70 um there take 106.398 g.
    #[test]
    fn grams_for_ends_meet_the_worked_values() {
        let book = RuleBook::standard();
        let p = piece(508.0);
        let at = Length::mm(457.0);
        for d in [50.0, 70.0, 90.0] {
            let g = grams_for_ends(Length::cm(6.0), at, &p, Length::um(d), 0.0, 0.5, &book).to_g();
            assert!((g - 145.485_89).abs() < 1e-3, "{g}");
        }
        let g = grams_for_ends(Length::cm(5.0), at, &p, Length::um(70.0), 0.0, 0.5, &book).to_g();
        assert!((g - 101.031_86).abs() < 1e-3, "{g}");
        let g = grams_for_ends(Length::cm(6.0), at, &p, Length::um(70.0), 1e4, 0.5, &book).to_g();
        assert!((g - 106.397_82).abs() < 1e-3, "{g}");
    }

    #[test]
    fn a_fuller_level_takes_more_and_sandwiches_are_whole() {
        let book = RuleBook::standard();
        let mut before = 0;
        for level in Level::ALL {
            let wish = QuantityWish { thicker: true, longer: true, amount: Amount::Level(level) };
            let q = quantity(&wish, &hair(180.0), &piece(500.0), Setting::Sandwich, &book);
            assert!(q.sandwiches > before, "{level:?}");
            assert!(q.grams.low <= q.grams.value && q.grams.value <= q.grams.high);
            assert!(f64::from(q.sandwiches) * 5.0 >= q.grams.value.to_g() - 1e-9);
            assert!(f64::from(q.sandwiches - 1) * 5.0 < q.grams.value.to_g());
            before = q.sandwiches;
        }
    }

    /// Packing from 0.45 to 0.6 moves the grams by -10 to +20 % (worked by hand
    /// for ends alone), so the range must stay within a factor of two.
    #[test]
    fn the_range_is_what_packing_and_strand_leave_open() {
        let book = RuleBook::standard();
        let wish = QuantityWish { thicker: false, longer: true, amount: Amount::Level(Level::Natural) };
        let q = quantity(&wish, &hair(180.0), &piece(500.0), Setting::Sandwich, &book);
        assert!(q.grams.low > q.grams.value * 0.5 && q.grams.low < q.grams.value * 0.9, "{:?}", q.grams);
        assert!(q.grams.high > q.grams.value * 1.1 && q.grams.high < q.grams.value * 1.6, "{:?}", q.grams);
    }

    #[test]
    fn blunt_ends_that_pieces_reach_past_are_softened() {
        let book = RuleBook::standard();
        let facts = |ends| HairFacts {
            density: Some(Density::per_cm2(180.0)),
            own_length: Some(Length::mm(380.0)),
            ends: Some(ends),
            ..HairFacts::default()
        };
        let of = |ends| Hair::from_facts(&facts(ends), Area::cm2(600.0), &book).unwrap();
        let sets = |length: f64| [(Length::mm(length), Grams::g(100.0))];
        assert!(wants_softening(&of(Ends::Blunt), &sets(500.0), &book));
        assert!(!wants_softening(&of(Ends::Blunt), &sets(350.0), &book));
        // The step is deeper at blunt ends than at soft ones.
        let step = |ends| step_at_own_ends(&of(ends), &sets(500.0), &book).unwrap();
        assert!(step(Ends::Blunt) > step(Ends::Soft));
    }

    proptest! {
        #[test]
        fn the_profile_never_thins_hair_and_reaches_the_longest_piece(grams in 10.0f64..250.0, density in 90.0f64..280.0) {
            let book = RuleBook::standard();
            let sets = [(Length::mm(500.0), Grams::g(grams))];
            let profile = profile(&hair(density), &sets, Length::mm(25.0), &book);
            prop_assert!(profile.iter().all(|t| t.after >= t.before));
            prop_assert!(profile.windows(2).all(|w| w[0].before >= w[1].before));
            prop_assert_eq!(profile.last().unwrap().at, Length::mm(500.0));
        }
    }
}
