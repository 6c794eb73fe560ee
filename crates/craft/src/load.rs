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

mod rules;

pub use rules::*;

use crate::hair::{Hair, Processed};
use crate::piece::{Cut, Piece, Setting};
use head::Zone;
use measure::real::{exp, sin};
use measure::{Angle, Days, Density, Estimate, Force, Grams, Length, Rule, RuleBook};
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
#[must_use]
pub fn end_share(processed: Processed, book: &RuleBook) -> f64 {
    match processed {
        Processed::None | Processed::Coloured => 1.0,
        Processed::Bleached | Processed::Relaxed => book.value(&PROCESSED_FACTOR),
    }
}

/// Share of the load limits that chemical services and region leave.
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

/// What would open the window.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Proposal {
    /// Pieces of at most this mass each (as a whole piece).
    LighterPieces(Grams),
    /// The piece cut in half.
    HalfPieces,
    /// One piece and a backing strip in place of a sandwich.
    SingleSided,
    /// Fewer styles that draw this hair against its growth.
    FewerStyles,
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

/// Strands in the slice.
#[must_use]
pub fn hairs(case: &SliceCase, thickness: Length, book: &RuleBook) -> f64 {
    case.density * (case.piece.tab.slice_length(book) * thickness)
}

/// Share of what lies behind the slice that shows through it.
#[must_use]
pub fn see_through(case: &SliceCase, thickness: Length) -> f64 {
    exp(-case.density.to_per_cm2() * case.diameter.to_cm() * thickness.to_cm())
}

/// Share of the tab where adhesive meets adhesive.
#[must_use]
pub fn contact(case: &SliceCase, thickness: Length, book: &RuleBook) -> f64 {
    let tab = case.piece.tab;
    let margin = tab.margin(book);
    (margin + tab.slice_length(book) * see_through(case, thickness)) / tab.width
}

/// The traction index of a slice of a given thickness.
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

fn drawn_mass(case: &SliceCase, book: &RuleBook) -> Grams {
    let factor = match case.pull {
        Pull::WithGrowth => 1.0,
        Pull::Across => book.value(&PULL_ACROSS),
        Pull::Against => book.value(&PULL_AGAINST),
    };
    hanging_mass(case) * factor
}

fn load_band(load: Grams, case: &SliceCase, book: &RuleBook) -> Band {
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
fn contact_thickness(case: &SliceCase, book: &RuleBook) -> Length {
    let tab = case.piece.tab;
    let wanted = (tab.width * book.value(&CONTACT) - tab.margin(book)) / tab.slice_length(book);
    // A margin alone that gives the contact sets no limit.
    if wanted <= 0.0 { Length::mm(f64::INFINITY) } else { depth_thickness(case, wanted) }
}

/// The slice through which a share shows.
fn depth_thickness(case: &SliceCase, share: f64) -> Length {
    let per_cm = case.density.to_per_cm2() * case.diameter.to_cm();
    Length::cm(-measure::real::ln(share.clamp(f64::MIN_POSITIVE, 1.0)) / per_cm)
}

/// The thinnest slice, up to 100 mm, from which on a condition holds.
fn thinnest_where(holds: impl Fn(Length) -> bool) -> Length {
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

fn is_open(case: &SliceCase, book: &RuleBook) -> bool {
    judge_slice(case, window(case, book).most, book).strain_end <= 1.0
}

/// Every change that opens the window, each tried.
fn proposals(case: &SliceCase, book: &RuleBook) -> Vec<Proposal> {
    let mut found = Vec::new();
    if let Some(mass) = lighter(case, book) {
        found.push(Proposal::LighterPieces(mass));
    }
    if case.piece.cut == Cut::Full && is_open(&SliceCase { piece: case.piece.half(), ..*case }, book) {
        found.push(Proposal::HalfPieces);
    }
    if case.setting == Setting::Sandwich && is_open(&SliceCase { setting: Setting::SingleSided, ..*case }, book) {
        found.push(Proposal::SingleSided);
    }
    if case.pull != Pull::WithGrowth && is_open(&case.drawn(Pull::WithGrowth), book) {
        found.push(Proposal::FewerStyles);
    }
    found
}

/// The heaviest whole piece that opens the window, down to a tenth of a gram;
/// none when even half a gram is too much.
fn lighter(case: &SliceCase, book: &RuleBook) -> Option<Grams> {
    let as_cut = match case.piece.cut {
        Cut::Full => 1.0,
        Cut::Half => 0.5,
    };
    let tenths = (case.piece.mass.to_g() / as_cut * 10.0).floor() as u32;
    (5..=tenths)
        .rev()
        .map(|tenth| Grams::g(f64::from(tenth) / 10.0))
        .find(|mass| is_open(&SliceCase { piece: Piece { mass: *mass * as_cut, ..case.piece }, ..*case }, book))
}
