//! What a slice of natural hair bears: how thick it may and must be, and how
//! near its limits it comes.
//!
//! Legend: `rho` strands per area; `d` strand diameter; `w` tab width; `m`
//! margin; `t` slice thickness; `N = rho (w - m) t` strands in the slice;
//! `M` hanging mass; `h` distance of the bond from the scalp;
//! `c = 1 - exp(-rho d t)` share of the tape's view that hair takes;
//! `A = (m + (w - m)(1 - c)) / w` share of the tab where adhesive meets adhesive.
//!
//! Too thin a slice carries too much per strand; too thick a one keeps the two
//! tabs apart. Between the two lies the window. No dose-response figure for
//! long-lasting traction was found anywhere: the limits are our choice, set so
//! that ordinary practice passes, and the index ranks places on one head. It is
//! no medical limit, and its honest error is about 25 points either way.

mod borne;
mod proposal;
mod rules;

pub use borne::{contact, hairs, see_through, traction};
use borne::{contact_thickness, depth_thickness, drawn_mass, load_band, thinnest_where};
pub use proposal::Proposal;
use proposal::proposals;
pub use rules::*;

use crate::hair::{Hair, Processed};
use crate::piece::{Piece, Setting};
use head::Zone;
use measure::{Days, Density, Estimate, Force, Grams, Length, Rule, RuleBook};
use serde::{Deserialize, Serialize};

/// The sandwich that the tug is told for.
const TOLD_FOR: Grams = Grams::g(5.0);
/// The diameter that the bands of load per strand are told for.
const BANDS_TOLD_FOR: Length = Length::um(70.0);
/// The length of its own hair that a strand's hanging load is compared with.
const OWN_LENGTH: Length = Length::cm(50.0);

/// How the slice is drawn against the way the hair grows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Pull {
    /// Hanging as it grows.
    #[default]
    WithGrowth,
    /// Drawn sideways, as near the tie of a tail.
    Across,
    /// Drawn up, as nape hair in a high tail.
    Against,
}

/// One slice to be chosen or judged: the hair it is made of and what hangs on it.
///
/// ```
/// use craft::hair::{Hair, HairFacts};
/// use craft::load::{Pull, SliceCase};
/// use craft::piece::{Piece, Setting, Tab};
/// use head::Zone;
/// use measure::{Area, Grams, Length, RuleBook};
/// let book = RuleBook::standard();
/// let hair = Hair::from_facts(&HairFacts::default(), Area::cm2(600.0), &book).unwrap();
/// let tab = Tab { width: Length::mm(40.0), height: Length::mm(9.0) };
/// let piece = Piece::new(tab, Grams::g(2.5), Length::mm(500.0)).unwrap();
/// let case = SliceCase::new(&hair, Zone::Occipital, &piece, Setting::Sandwich, &book);
/// assert_eq!(case.drawn(Pull::Across).pull, Pull::Across);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SliceCase {
    /// Strands per area at the site.
    pub density: Density,
    /// Strand diameter at the site.
    pub diameter: Length,
    /// The piece, as cut.
    pub piece: Piece,
    /// Two pieces or one.
    pub setting: Setting,
    /// How the styles draw it.
    pub pull: Pull,
    /// Distance of the bond from the scalp.
    pub off_scalp: Length,
    /// Share of the load limits that this hair, region and client leave before
    /// a slice is marked; 1 is all.
    pub limit_share: f64,
    /// Share of them that bleached or relaxed hair leaves before a slice is not
    /// set at all; age, region and colouring do not move this end.
    pub end_share: f64,
    /// What the care taken makes of both; 1 is usual care.
    pub care: f64,
}

impl SliceCase {
    /// The case of a piece set on this hair in a region, hanging with its growth.
    #[must_use]
    pub fn new(hair: &Hair, zone: Zone, piece: &Piece, setting: Setting, book: &RuleBook) -> Self {
        Self {
            density: hair.density_in(zone).value,
            diameter: hair.diameter_in(zone).value,
            piece: *piece,
            setting,
            pull: Pull::WithGrowth,
            off_scalp: Length::mm(book.value(&BOND_OFF_SCALP)),
            limit_share: limit_share(hair.processed, zone, book),
            end_share: end_share(hair.processed, book),
            care: 1.0,
        }
    }

    /// The same, drawn as a style draws it.
    #[must_use]
    pub fn drawn(self, pull: Pull) -> Self {
        Self { pull, ..self }
    }

    /// The same, marked sooner, as age or an earlier loss asks; a share above 1
    /// changes nothing.
    #[must_use]
    pub fn with_limits_at(self, share: f64) -> Self {
        Self { limit_share: self.limit_share * share.clamp(0.0, 1.0), ..self }
    }

    /// The same at another care: so many times the load that usual care allows.
    #[must_use]
    pub fn with_care(self, care: f64) -> Self {
        Self { care, ..self }
    }

    /// The same after some days: the bond has grown out and shed strands have
    /// left the slice, as `growth` and `still_anchored` say.
    #[must_use]
    pub fn after(self, days: Days, growth: crate::growth::Growth, book: &RuleBook) -> Self {
        let kept = crate::growth::share_still_anchored(days, book);
        Self { density: self.density * kept, off_scalp: self.off_scalp + growth.after(days), ..self }
    }
}

/// Share of the load limits that is left before a slice is not set at all.
///
/// ```
/// use craft::{hair::Processed, load::end_share};
/// let book = measure::RuleBook::standard();
/// assert!(end_share(Processed::Bleached, &book) < end_share(Processed::None, &book));
/// ```
#[must_use]
pub fn end_share(processed: Processed, book: &RuleBook) -> f64 {
    match processed {
        Processed::None | Processed::Coloured => 1.0,
        Processed::Bleached | Processed::Relaxed => book.value(&PROCESSED_FACTOR),
    }
}

/// Share of the load limits that chemical services and region leave.
///
/// ```
/// use craft::{hair::Processed, load::limit_share};
/// use head::Zone;
/// let book = measure::RuleBook::standard();
/// assert!(limit_share(Processed::Bleached, Zone::Crown, &book) < limit_share(Processed::None, Zone::Crown, &book));
/// ```
#[must_use]
pub fn limit_share(processed: Processed, zone: Zone, book: &RuleBook) -> f64 {
    let services = match processed {
        Processed::None => 1.0,
        Processed::Coloured => book.value(&COLOURED_FACTOR),
        Processed::Bleached | Processed::Relaxed => book.value(&PROCESSED_FACTOR),
    };
    let region = match zone {
        Zone::Temporal | Zone::Frontal => book.value(&EDGE_REGION_FACTOR),
        Zone::Nape | Zone::Occipital | Zone::Crown | Zone::Parietal => 1.0,
    };
    services * region
}

/// Green, amber or red.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Band {
    /// Within what is usual.
    Green,
    /// To be watched.
    Amber,
    /// Beyond the limit.
    Red,
}

/// The traction index with its parts.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Traction {
    /// 50 times the sum of both ratios, with its honest error.
    pub index: Estimate<f64>,
    /// Hanging load per strand over its limit.
    pub hanging: f64,
    /// Pull on the worst strand of a tugged bond over its limit.
    pub tug: f64,
    /// The pull on that strand.
    pub tug_on_worst: Force,
    /// Green, amber or red by the index; red when either ratio exceeds 1.
    pub band: Band,
}

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
    pub const fn words(self) -> &'static str {
        match self {
            Self::Hanging => "what a hair carries all day",
            Self::Tug => "what a hair bears when it is tugged",
            Self::TradeLeast => "the thinnest that is taken",
            Self::Contact => "tape that meets tape",
            Self::SeeThrough => "a slice that can be seen through",
            Self::TradeMost => "the thickest that is taken",
        }
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

/// No thickness satisfies every limit.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("no slice fits: {} asks for {}, {} for at most {:.1} mm", .window.least_by.words(), at_least(.window.least), .window.most_by.words(), .window.most.to_mm())]
pub struct NoSlice {
    /// The window turned inside out; its `least_by` and `most_by` bind.
    pub window: Window,
    /// What would open it, each tried and found to work.
    pub proposals: Vec<Proposal>,
}

fn at_least(least: Length) -> String {
    if least.is_finite() { format!("at least {:.1} mm", least.to_mm()) } else { "more hair than any slice holds".to_owned() }
}

/// Chooses how thick the slice is to be.
///
/// *Meaning*: the middle of the window, to a tenth of a millimetre, so that the
/// comb may err either way; thicker, still inside the window, where that brings
/// the traction index out of amber. Where no thickness keeps the load under what
/// is marked, the thickest is taken, and its `strain` says so.
///
/// *Errors*: even the thickest slice carries more than anyone sets; says which
/// limits bind and what would open it.
///
/// ```
/// use craft::hair::{Hair, HairFacts};
/// use craft::load::{SliceCase, choose_slice};
/// use craft::piece::{Piece, Setting, Tab};
/// use head::Zone;
/// use measure::{Area, Grams, Length, RuleBook};
/// let book = RuleBook::standard();
/// let hair = Hair::from_facts(&HairFacts::default(), Area::cm2(600.0), &book).unwrap();
/// let tab = Tab { width: Length::mm(40.0), height: Length::mm(9.0) };
/// let piece = Piece::new(tab, Grams::g(2.5), Length::mm(500.0)).unwrap();
/// let case = SliceCase::new(&hair, Zone::Occipital, &piece, Setting::Sandwich, &book);
/// let slice = choose_slice(&case, &book).unwrap();
/// assert!(slice.window.least <= slice.thickness && slice.thickness <= slice.window.most);
/// ```
pub fn choose_slice(case: &SliceCase, book: &RuleBook) -> Result<Slice, NoSlice> {
    let window = window(case, book);
    let most = window.most;
    if window.least > most || !window.least.is_finite() {
        let slice = judge_slice(case, most, book);
        if slice.strain_end <= 1.0 {
            return Ok(slice);
        }
        return Err(NoSlice { window, proposals: proposals(case, book) });
    }
    let amber = book.value(&INDEX_AMBER);
    let middle = (window.least + most) / 2.0;
    let calm = thinnest_where(|t| traction(case, t, book).index.value < amber);
    let wanted = middle.max(calm).min(most);
    let rounded = Length::mm((wanted.to_mm() * 10.0).round() / 10.0);
    Ok(judge_slice(case, rounded.max(window.least).min(most), book))
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
