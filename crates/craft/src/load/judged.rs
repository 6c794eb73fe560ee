//! How thick a slice may be, and what it comes to at a thickness.

use super::borne::*;
use super::case::{Band, SliceCase, Traction};
use super::rules::*;
use crate::words::Message;
use measure::words::Sentence;
use measure::{Grams, Length, Rule, RuleBook};
use serde::{Deserialize, Serialize};

/// A limit on the thickness of a slice.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Limit {
    /// Thin slices: the hanging weight per strand.
    Hanging,
    /// Thin slices: a tug on the worst strand.
    Tug,
    /// Thin slices: what the trade takes at least.
    TradeLeast,
    /// Thick slices: adhesive must meet adhesive.
    Contact,
    /// Thick slices: it must be seen through.
    SeeThrough,
    /// Thick slices: what the trade takes at most.
    TradeMost,
}

impl Limit {
    /// The rule behind the limit.
    #[must_use]
    pub const fn rule(self) -> &'static Rule {
        match self {
            Self::Hanging => &STATIC_LIMIT,
            Self::Tug => &TUG_LIMIT,
            Self::TradeLeast => &SLICE_LEAST,
            Self::Contact => &CONTACT,
            Self::SeeThrough => &SEE_THROUGH,
            Self::TradeMost => &SLICE_MOST,
        }
    }

    /// The limit in a sentence: it asks for so much.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Hanging => Message::LimitHanging,
            Self::Tug => Message::LimitTug,
            Self::TradeLeast => Message::LimitThinnest,
            Self::Contact => Message::LimitContact,
            Self::SeeThrough => Message::LimitSeeThrough,
            Self::TradeMost => Message::LimitThickest,
        }
        .text()
    }
}

/// Between which thicknesses a slice may lie, and which limit binds at either end.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Window {
    /// Thinnest by hanging load.
    pub hanging: Length,
    /// Thinnest by tug.
    pub tug: Length,
    /// Thickest by adhesive contact.
    pub contact: Length,
    /// Thickest that is seen through.
    pub see_through: Length,
    /// Thinnest by every limit.
    pub least: Length,
    /// The limit that binds there.
    pub least_by: Limit,
    /// Thickest by every limit.
    pub most: Length,
    /// The limit that binds there.
    pub most_by: Limit,
}

/// A slice, chosen or judged.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Slice {
    /// Its thickness.
    pub thickness: Length,
    /// Its length along the parting: the tab less its margin.
    pub length: Length,
    /// Strands in it.
    pub hairs: f64,
    /// Hanging mass on each strand, drawn as the styles draw it.
    pub load_per_hair: Grams,
    /// The band of that load.
    pub load_band: Band,
    /// Traction index with its parts.
    pub traction: Traction,
    /// What it carries over what is marked at the care taken: above 1 it is heavy.
    pub strain: f64,
    /// The same over what is not set at all: never above 1 in a plan.
    pub strain_end: f64,
    /// Share that shows through.
    pub see_through: f64,
    /// Share of the tab where adhesive meets adhesive.
    pub contact: f64,
    /// Where it might lie.
    pub window: Window,
}

/// Judges a slice of a given thickness, as on a dragged site or at a re-tape.
///
/// ```
/// use craft::hair::{Hair, HairFacts};
/// use craft::load::{SliceCase, judge_slice};
/// use craft::piece::{Piece, Setting, Tab};
/// use head::Zone;
/// use measure::{Area, Grams, Length, RuleBook};
/// let book = RuleBook::standard();
/// let hair = Hair::from_facts(&HairFacts::default(), Area::cm2(600.0), &book).unwrap();
/// let tab = Tab { width: Length::mm(40.0), height: Length::mm(9.0) };
/// let piece = Piece::new(tab, Grams::g(2.5), Length::mm(500.0)).unwrap();
/// let case = SliceCase::new(&hair, Zone::Occipital, &piece, Setting::Sandwich, &book);
/// let load = |mm| judge_slice(&case, Length::mm(mm), &book).load_per_hair;
/// assert!(load(2.0) > load(4.0), "a thicker slice has more hairs to carry it");
/// ```
#[must_use]
pub fn judge_slice(case: &SliceCase, thickness: Length, book: &RuleBook) -> Slice {
    let hairs = hairs(case, thickness, book);
    let load = drawn_mass(case, book) / hairs.max(f64::MIN_POSITIVE);
    let traction = traction(case, thickness, book);
    let care = case.care.max(f64::MIN_POSITIVE);
    let in_full = traction.hanging * case.limit_share / case.end_share.max(f64::MIN_POSITIVE);
    Slice {
        thickness,
        length: case.piece.tab.slice_length(book),
        hairs,
        load_per_hair: load,
        load_band: load_band(load, case, book),
        strain: traction.hanging.max(traction.tug) / care,
        strain_end: in_full.max(traction.tug) / care / book.value(&LOAD_END),
        traction,
        see_through: see_through(case, thickness),
        contact: contact(case, thickness, book),
        window: window(case, book),
    }
}

/// The window of thicknesses; empty when its least exceeds its most.
///
/// ```
/// use craft::hair::{Hair, HairFacts};
/// use craft::load::{SliceCase, window};
/// use craft::piece::{Piece, Setting, Tab};
/// use head::Zone;
/// use measure::{Area, Grams, Length, RuleBook};
/// let book = RuleBook::standard();
/// let hair = Hair::from_facts(&HairFacts::default(), Area::cm2(600.0), &book).unwrap();
/// let tab = Tab { width: Length::mm(40.0), height: Length::mm(9.0) };
/// let piece = Piece::new(tab, Grams::g(2.5), Length::mm(500.0)).unwrap();
/// let case = SliceCase::new(&hair, Zone::Occipital, &piece, Setting::Sandwich, &book);
/// let window = window(&case, &book);
/// assert!(window.least <= window.most);
/// ```
#[must_use]
pub fn window(case: &SliceCase, book: &RuleBook) -> Window {
    let hanging = thinnest_where(|t| traction(case, t, book).hanging <= case.care);
    let tug = thinnest_where(|t| traction(case, t, book).tug <= case.care);
    let contact = contact_thickness(case, book);
    let see_through = depth_thickness(case, book.value(&SEE_THROUGH));
    let mut least = (Length::mm(book.value(&SLICE_LEAST)), Limit::TradeLeast);
    for bound in [(hanging, Limit::Hanging), (tug, Limit::Tug)] {
        if bound.0 > least.0 {
            least = bound;
        }
    }
    let mut most = (Length::mm(book.value(&SLICE_MOST)), Limit::TradeMost);
    for bound in [(contact, Limit::Contact), (see_through, Limit::SeeThrough)] {
        if bound.0 < most.0 {
            most = bound;
        }
    }
    // The thinnest slice that the trade takes is taken, however dense she is.
    most.0 = most.0.max(Length::mm(book.value(&SLICE_LEAST)));
    Window { hanging, tug, contact, see_through, least: least.0, least_by: least.1, most: most.0, most_by: most.1 }
}
