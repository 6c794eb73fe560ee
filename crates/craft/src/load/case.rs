//! One slice with what hangs on it, and how it is told.

use super::rules::*;
use crate::hair::{Hair, Processed};
use crate::piece::{Piece, Setting};
use head::Zone;
use measure::{Days, Density, Estimate, Force, Grams, Length, RuleBook};
use serde::{Deserialize, Serialize};

/// The sandwich that the tug is told for.
pub(super) const TOLD_FOR: Grams = Grams::g(5.0);

/// The diameter that the bands of load per strand are told for.
pub(super) const BANDS_TOLD_FOR: Length = Length::um(70.0);

/// The length of its own hair that a strand's hanging load is compared with.
pub(super) const OWN_LENGTH: Length = Length::cm(50.0);

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
