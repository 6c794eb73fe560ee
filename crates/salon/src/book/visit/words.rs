//! What visits are called, and what is seen and kept at one.

use super::super::day::Day;
use super::super::id::PieceId;
use crate::stock::{OnHand, StockLength};
use craft::piece::Cut;
use craft::placement::SiteId;
use serde::{Deserialize, Serialize};

/// What a visit is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum VisitKind {
    /// Questions, looking, measuring.
    Consultation,
    /// The colour of her ends is read.
    Colour,
    /// A set goes in.
    Application,
    /// A look at bonds, skin and hairline.
    Check,
    /// The set comes out, is cleaned and taped anew, and goes back in.
    #[serde(rename = "re-tape")]
    Retape,
    /// The set comes out for good.
    Removal,
}

impl VisitKind {
    /// Every kind, in the order of a client's year.
    pub const ALL: [Self; 6] = [Self::Consultation, Self::Colour, Self::Application, Self::Check, Self::Retape, Self::Removal];

    /// Its word.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Consultation => "consultation",
            Self::Colour => "colour",
            Self::Application => "application",
            Self::Check => "check",
            Self::Retape => "re-tape",
            Self::Removal => "removal",
        }
    }

    /// The kind that is called so; nothing when none is.
    #[must_use]
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| kind.word() == word)
    }

    /// Whether a whole set goes in at it, by a plan.
    #[must_use]
    pub const fn sets(self) -> bool {
        matches!(self, Self::Application | Self::Retape)
    }

    /// Whether a piece may be set at it.
    #[must_use]
    pub const fn places(self) -> bool {
        matches!(self, Self::Application | Self::Retape | Self::Check)
    }
}

/// How a sandwich was found when it came out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum BondFound {
    /// It held.
    Held,
    /// It had slipped.
    Slipped,
    /// It was gone.
    Lost,
}

impl BondFound {
    /// Its word.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Held => "held",
            Self::Slipped => "slipped",
            Self::Lost => "lost",
        }
    }

    /// The state that is called so; nothing when none is.
    #[must_use]
    pub fn from_word(word: &str) -> Option<Self> {
        [Self::Held, Self::Slipped, Self::Lost].into_iter().find(|found| found.word() == word)
    }
}

/// What was seen before she left.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct ClosingChecks {
    /// Whether every bond moves up and down without pulling (T9).
    pub moves_freely: bool,
    /// How far the bonds sit off the scalp, the nearest of them, mm (T9).
    pub mm_off_scalp: f64,
    /// Whether nothing shows with the hair tied up (T6).
    pub nothing_shows: bool,
    /// Whether it is comfortable.
    pub comfortable: bool,
}

/// When a set is due, and the window round that day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct NextDate {
    /// The day.
    pub due: Day,
    /// From when it may be done, and by when it must be.
    pub window: [Day; 2],
}

/// Where a piece came from: shade, length and lot as it was received.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PieceOrigin {
    /// The shade.
    pub shade: String,
    /// The length of its hair when it was bought.
    pub length_mm: StockLength,
    /// The maker's batch number.
    pub lot: String,
    /// The version of the shelf's event by which it came in; none for one that was counted only.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub received: Option<u64>,
}

impl PieceOrigin {
    /// A lot of such pieces, so many.
    #[must_use]
    pub fn lot_of(&self, pieces: u32) -> OnHand {
        OnHand { lot: self.lot.clone(), shade: self.shade.clone(), length_mm: self.length_mm, pieces }
    }
}

/// A piece as it lies on the shelf.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ShelfPiece {
    /// Which.
    pub piece: PieceId,
    /// Whole, or one of the halves.
    #[serde(default, skip_serializing_if = "is_full")]
    pub cut: Cut,
    /// The whole piece that it was a half of.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub parent: Option<PieceId>,
    /// Where it came from.
    #[serde(flatten)]
    pub origin: PieceOrigin,
}

fn is_full(cut: &Cut) -> bool {
    *cut == Cut::Full
}

/// Where a sandwich stands that was added at the chair.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct AddedAt {
    /// Where its parting starts, up the middle, mm.
    pub up_mm: f64,
    /// Its middle along the parting, mm, + to her right.
    pub along_mm: f64,
    /// The width of its slice, mm.
    pub width_mm: f64,
}

/// What was done at a visit, one step.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "did", rename_all = "snake_case")]
pub enum Step {
    /// A sandwich was set.
    Placed {
        /// Where.
        site: SiteId,
        /// Its pieces: the one above, then the one below.
        pieces: Vec<PieceId>,
        /// How far it was moved along its parting, mm, + to her right.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        moved_mm: Option<f64>,
        /// Where it stands, where no plan had it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        added: Option<AddedAt>,
    },
    /// A place of the plan was left free.
    Skipped {
        /// Which.
        site: SiteId,
        /// Why.
        reason: String,
    },
    /// A sandwich came out.
    TakenOut {
        /// Where it was.
        site: SiteId,
        /// Its pieces.
        pieces: Vec<PieceId>,
        /// How it was found.
        found: BondFound,
        /// Shed strands found in it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        shed_hairs: Option<u32>,
        /// Days it was worn.
        days: u32,
    },
    /// The old adhesive was rubbed off a piece (T18).
    Cleaned {
        /// Which.
        piece: PieceId,
    },
    /// A piece got new adhesive (T18).
    Retaped {
        /// Which.
        piece: PieceId,
    },
    /// A piece was put aside for good.
    Retired {
        /// Which.
        piece: PieceId,
        /// Why.
        reason: String,
    },
    /// A piece was cut in half.
    Halved {
        /// Which.
        piece: PieceId,
        /// Its halves.
        halves: [PieceId; 2],
    },
    /// How much had grown since a sandwich was set.
    Regrown {
        /// Where.
        site: SiteId,
        /// How much, mm.
        mm: f64,
        /// Days since it was set.
        days: u32,
    },
    /// The scalp was looked at.
    ScalpSeen {
        /// Where.
        region: String,
        /// What was seen.
        found: String,
    },
}

impl Step {
    /// Its word.
    #[must_use]
    pub const fn word(&self) -> &'static str {
        match self {
            Self::Placed { .. } => "placed",
            Self::Skipped { .. } => "skipped",
            Self::TakenOut { .. } => "taken_out",
            Self::Cleaned { .. } => "cleaned",
            Self::Retaped { .. } => "retaped",
            Self::Retired { .. } => "retired",
            Self::Halved { .. } => "halved",
            Self::Regrown { .. } => "regrown",
            Self::ScalpSeen { .. } => "scalp_seen",
        }
    }

    /// The site it is about.
    #[must_use]
    pub const fn site(&self) -> Option<SiteId> {
        match self {
            Self::Placed { site, .. } | Self::Skipped { site, .. } | Self::TakenOut { site, .. } | Self::Regrown { site, .. } => {
                Some(*site)
            }
            _ => None,
        }
    }

    /// The pieces it is about.
    #[must_use]
    pub fn pieces(&self) -> Vec<PieceId> {
        match self {
            Self::Placed { pieces, .. } | Self::TakenOut { pieces, .. } => pieces.clone(),
            Self::Cleaned { piece } | Self::Retaped { piece } | Self::Retired { piece, .. } => vec![*piece],
            Self::Halved { piece, halves } => vec![*piece, halves[0], halves[1]],
            _ => Vec::new(),
        }
    }
}
