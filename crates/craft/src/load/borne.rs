//! What a slice of hair bears: hairs, contact, the strip seen through, pull.

use super::case::{BANDS_TOLD_FOR, Band, OWN_LENGTH, Pull, SliceCase, TOLD_FOR, Traction};
use super::rules::{
    CONTACT, INDEX_AMBER, INDEX_ERROR, INDEX_RED, PULL_ACROSS, PULL_AGAINST, Q_GREEN, Q_RED, SLACK, SLACK_GROWTH, SLICE_ANGLE,
    STATIC_LIMIT, STIFFNESS, TUG, TUG_LIMIT,
};
use measure::real::{exp, sin};
use measure::{Angle, Estimate, Force, Grams, Length, RuleBook};

/// Strands in the slice.
///
/// ```
/// use craft::hair::{Hair, HairFacts};
/// use craft::load::{SliceCase, hairs};
/// use craft::piece::{Piece, Setting, Tab};
/// use head::Zone;
/// use measure::{Area, Grams, Length, RuleBook};
/// let book = RuleBook::standard();
/// let hair = Hair::from_facts(&HairFacts::default(), Area::cm2(600.0), &book).unwrap();
/// let tab = Tab { width: Length::mm(40.0), height: Length::mm(9.0) };
/// let piece = Piece::new(tab, Grams::g(2.5), Length::mm(500.0)).unwrap();
/// let case = SliceCase::new(&hair, Zone::Occipital, &piece, Setting::Sandwich, &book);
/// let count = |mm| hairs(&case, Length::mm(mm), &book);
/// assert!((count(4.0) - 2.0 * count(2.0)).abs() < 1e-9);
/// ```
#[must_use]
pub fn hairs(case: &SliceCase, thickness: Length, book: &RuleBook) -> f64 {
    case.density * (case.piece.tab.slice_length(book) * thickness)
}

/// Share of what lies behind the slice that shows through it.
///
/// ```
/// use craft::hair::{Hair, HairFacts};
/// use craft::load::{SliceCase, see_through};
/// use craft::piece::{Piece, Setting, Tab};
/// use head::Zone;
/// use measure::{Area, Grams, Length, RuleBook};
/// let book = RuleBook::standard();
/// let hair = Hair::from_facts(&HairFacts::default(), Area::cm2(600.0), &book).unwrap();
/// let tab = Tab { width: Length::mm(40.0), height: Length::mm(9.0) };
/// let piece = Piece::new(tab, Grams::g(2.5), Length::mm(500.0)).unwrap();
/// let case = SliceCase::new(&hair, Zone::Occipital, &piece, Setting::Sandwich, &book);
/// assert!(see_through(&case, Length::mm(2.0)) > see_through(&case, Length::mm(4.0)));
/// ```
#[must_use]
pub fn see_through(case: &SliceCase, thickness: Length) -> f64 {
    exp(-case.density.to_per_cm2() * case.diameter.to_cm() * thickness.to_cm())
}

/// Share of the tab where adhesive meets adhesive.
///
/// ```
/// use craft::hair::{Hair, HairFacts};
/// use craft::load::{SliceCase, contact};
/// use craft::piece::{Piece, Setting, Tab};
/// use head::Zone;
/// use measure::{Area, Grams, Length, RuleBook};
/// let book = RuleBook::standard();
/// let hair = Hair::from_facts(&HairFacts::default(), Area::cm2(600.0), &book).unwrap();
/// let tab = Tab { width: Length::mm(40.0), height: Length::mm(9.0) };
/// let piece = Piece::new(tab, Grams::g(2.5), Length::mm(500.0)).unwrap();
/// let case = SliceCase::new(&hair, Zone::Occipital, &piece, Setting::Sandwich, &book);
/// assert!(contact(&case, Length::mm(2.0), &book) > contact(&case, Length::mm(6.0), &book));
/// ```
#[must_use]
pub fn contact(case: &SliceCase, thickness: Length, book: &RuleBook) -> f64 {
    let tab = case.piece.tab;
    let margin = tab.margin(book);
    (margin + tab.slice_length(book) * see_through(case, thickness)) / tab.width
}

/// The traction index of a slice of a given thickness.
///
/// ```
/// use craft::hair::{Hair, HairFacts};
/// use craft::load::{Pull, SliceCase, traction};
/// use craft::piece::{Piece, Setting, Tab};
/// use head::Zone;
/// use measure::{Area, Grams, Length, RuleBook};
/// let book = RuleBook::standard();
/// let hair = Hair::from_facts(&HairFacts::default(), Area::cm2(600.0), &book).unwrap();
/// let tab = Tab { width: Length::mm(40.0), height: Length::mm(9.0) };
/// let piece = Piece::new(tab, Grams::g(2.5), Length::mm(500.0)).unwrap();
/// let case = SliceCase::new(&hair, Zone::Occipital, &piece, Setting::Sandwich, &book);
/// let hanging = |pull| traction(&case.drawn(pull), Length::mm(3.0), &book).hanging;
/// assert!(hanging(Pull::Against) > hanging(Pull::WithGrowth));
/// ```
#[must_use]
pub fn traction(case: &SliceCase, thickness: Length, book: &RuleBook) -> Traction {
    let hairs = hairs(case, thickness, book).max(f64::MIN_POSITIVE);
    let share = case.limit_share.max(f64::MIN_POSITIVE);
    let own = crate::hair::strand_mass(case.diameter, OWN_LENGTH, book);
    let hanging = drawn_mass(case, book) / hairs / (own * (book.value(&STATIC_LIMIT) * share));
    let worst = tug_on_worst(case, hairs, thickness, book);
    // The tug's limit is the force that draws a hair out at its root. Services,
    // region and age change what hair bears for weeks, not that force.
    let tug = worst / Force::gf(book.value(&TUG_LIMIT));
    let index = 50.0 * (hanging + tug);
    let error = book.value(&INDEX_ERROR);
    let band = if hanging > 1.0 || tug > 1.0 || index > book.value(&INDEX_RED) {
        Band::Red
    } else if index >= book.value(&INDEX_AMBER) {
        Band::Amber
    } else {
        Band::Green
    };
    Traction { index: Estimate::new(index, (index - error).max(0.0), index + error), hanging, tug, tug_on_worst: worst, band }
}

/// The pull on the tightest strand when the bond is tugged.
///
/// Strands are springs with slack spread evenly from none to `s`; those that
/// have gone taut share the tug.
fn tug_on_worst(case: &SliceCase, hairs: f64, thickness: Length, book: &RuleBook) -> Force {
    let k = book.value(&STIFFNESS);
    let force = Force::gf(book.value(&TUG) * (hanging_mass(case) / TOLD_FOR)).to_newtons();
    let lean = sin(Angle::deg(book.value(&SLICE_ANGLE)).to_rad());
    let slack_mm = book.value(&SLACK) + thickness.to_mm() * lean + book.value(&SLACK_GROWTH) * case.off_scalp.to_cm();
    let slack = slack_mm * 1e-3;
    let give = (2.0 * force * slack / (k * hairs)).sqrt();
    if give <= slack { Force::newtons(k * give) } else { Force::newtons(force / hairs + k * slack / 2.0) }
}

fn hanging_mass(case: &SliceCase) -> Grams {
    case.piece.hanging_mass(case.setting)
}

pub(super) fn drawn_mass(case: &SliceCase, book: &RuleBook) -> Grams {
    let factor = match case.pull {
        Pull::WithGrowth => 1.0,
        Pull::Across => book.value(&PULL_ACROSS),
        Pull::Against => book.value(&PULL_AGAINST),
    };
    hanging_mass(case) * factor
}

pub(super) fn load_band(load: Grams, case: &SliceCase, book: &RuleBook) -> Band {
    let ratio = case.diameter / BANDS_TOLD_FOR;
    let scale = ratio * ratio * case.limit_share;
    if load.to_mg() <= book.value(&Q_GREEN) * scale {
        Band::Green
    } else if load.to_mg() <= book.value(&Q_RED) * scale {
        Band::Amber
    } else {
        Band::Red
    }
}

/// The thickest slice that leaves the share of contact that the rule asks for.
pub(super) fn contact_thickness(case: &SliceCase, book: &RuleBook) -> Length {
    let tab = case.piece.tab;
    let wanted = (tab.width * book.value(&CONTACT) - tab.margin(book)) / tab.slice_length(book);
    // A margin alone that gives the contact sets no limit.
    if wanted <= 0.0 { Length::mm(f64::INFINITY) } else { depth_thickness(case, wanted) }
}

/// The slice through which a share shows.
pub(super) fn depth_thickness(case: &SliceCase, share: f64) -> Length {
    let per_cm = case.density.to_per_cm2() * case.diameter.to_cm();
    Length::cm(-measure::real::ln(share.clamp(f64::MIN_POSITIVE, 1.0)) / per_cm)
}

/// The thinnest slice, up to 100 mm, from which on a condition holds.
pub(super) fn thinnest_where(holds: impl Fn(Length) -> bool) -> Length {
    let (mut low, mut high) = (0.0, 100.0);
    if !holds(Length::mm(high)) {
        return Length::mm(f64::INFINITY);
    }
    // 40 halvings bring 100 mm below a millionth of a millimetre.
    for _ in 0..40 {
        let middle = (low + high) / 2.0;
        if holds(Length::mm(middle)) {
            high = middle;
        } else {
            low = middle;
        }
    }
    Length::mm(high)
}
