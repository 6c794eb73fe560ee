//! A client's pieces: where each is, how often and how long it was worn.
//!
//! *Invariants*: a piece is in one place at a time; it never goes to another
//! head; a half has one parent, and a piece that was cut is worn no more.

use super::super::day::Day;
use super::super::id::{PieceId, PlanId};
use super::words::{PieceOrigin, ShelfPiece};
use crate::plan::{OwnHair, OwnPieces};
use crate::stock::StockLength;
use craft::pace::wears;
use craft::piece::Cut;
use craft::placement::SiteId;
use measure::RuleBook;
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};

/// Where one of her pieces is.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "in", rename_all = "snake_case")]
pub enum PieceAt {
    /// In her hair.
    Hair {
        /// At which site.
        site: SiteId,
        /// Of which plan.
        plan: Option<PlanId>,
        /// Whether it lies over the slice.
        upper: bool,
        /// Since when.
        since: Day,
    },
    /// In the bag of her pieces, out of her hair.
    Bag {
        /// Counts what came out, in its order.
        order: u32,
    },
    /// Put aside for good.
    Retired {
        /// When.
        on: Day,
        /// Why.
        reason: String,
    },
    /// Gone.
    Lost {
        /// When that was found.
        on: Day,
    },
    /// Cut in half: its halves live on.
    Halved,
}

impl PieceAt {
    /// Its word.
    #[must_use]
    pub const fn word(&self) -> &'static str {
        match self {
            Self::Hair { .. } => "hair",
            Self::Bag { .. } => "bag",
            Self::Retired { .. } => "retired",
            Self::Lost { .. } => "lost",
            Self::Halved => "halved",
        }
    }
}

/// How the adhesive of a piece is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Adhesive {
    /// New: it may be set.
    #[default]
    New,
    /// It was worn.
    Worn,
    /// Rubbed off; none is on.
    Off,
}

/// One of her pieces.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct HerPiece {
    /// Where it came from, among [`Pieces::origins`].
    origin: usize,
    /// Whole, or one of the halves.
    #[serde(default, skip_serializing_if = "is_full")]
    pub cut: Cut,
    /// The whole piece that it was a half of.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub parent: Option<PieceId>,
    /// The version of the shelf's event by which it left the shelf; none for one that was cut here.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub left: Option<u64>,
    /// How often it was set.
    pub cycles: u32,
    /// Days worn, without those since it was set last.
    pub days_worn: u32,
    /// Its adhesive.
    #[serde(default, skip_serializing_if = "is_new")]
    pub adhesive: Adhesive,
    /// Where it is.
    pub at: PieceAt,
}

fn is_full(cut: &Cut) -> bool {
    *cut == Cut::Full
}

fn is_new(adhesive: &Adhesive) -> bool {
    *adhesive == Adhesive::New
}

/// All pieces that were ever hers.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Pieces {
    /// Where they came from, each once.
    origins: Vec<PieceOrigin>,
    all: BTreeMap<PieceId, HerPiece>,
    /// How many came out of her hair so far.
    out: u32,
}

impl Pieces {
    /// A piece of hers.
    #[must_use]
    pub fn get(&self, piece: PieceId) -> Option<&HerPiece> {
        self.all.get(&piece)
    }

    /// Where a piece of hers came from.
    #[must_use]
    pub fn origin(&self, piece: &HerPiece) -> &PieceOrigin {
        &self.origins[piece.origin]
    }

    /// Every piece of hers, by number.
    pub fn iter(&self) -> impl Iterator<Item = (PieceId, &HerPiece)> {
        self.all.iter().map(|(id, piece)| (*id, piece))
    }

    /// Those in her hair at a site, the one above first; what was set there last, where plans call two places alike.
    #[must_use]
    pub fn at_site(&self, site: SiteId, of: impl Fn(Option<PlanId>) -> bool) -> Vec<PieceId> {
        let mut found: Vec<(Day, Option<PlanId>, bool, PieceId)> = self
            .all
            .iter()
            .filter_map(|(id, piece)| match &piece.at {
                PieceAt::Hair { site: at, plan, upper, since } if *at == site && of(*plan) => Some((*since, *plan, *upper, *id)),
                _ => None,
            })
            .collect();
        let newest = found.iter().map(|(since, plan, ..)| (*since, *plan)).max();
        found.retain(|(since, plan, ..)| Some((*since, *plan)) == newest);
        found.sort_by_key(|(_, _, upper, id)| (!upper, *id));
        found.into_iter().map(|(.., id)| id).collect()
    }

    /// Those out of her hair, in the order they came out.
    #[must_use]
    pub fn in_bag(&self) -> Vec<PieceId> {
        let mut found: Vec<(u32, PieceId)> = self
            .all
            .iter()
            .filter_map(|(id, piece)| if let PieceAt::Bag { order } = piece.at { Some((order, *id)) } else { None })
            .collect();
        found.sort_unstable();
        found.into_iter().map(|(_, id)| id).collect()
    }

    /// How many are in her hair.
    #[must_use]
    pub fn in_hair(&self) -> usize {
        self.all.values().filter(|piece| matches!(piece.at, PieceAt::Hair { .. })).count()
    }

    /// Those of which a set can be made again, in her hair or out of it; those worn as often as a
    /// set is worn are told apart.
    #[must_use]
    pub fn own_hair(&self, rules: &RuleBook) -> OwnHair {
        let mut again: BTreeMap<(&str, StockLength), u32> = BTreeMap::new();
        let mut worn_out = 0;
        for piece in self.all.values().filter(|piece| matches!(piece.at, PieceAt::Hair { .. } | PieceAt::Bag { .. })) {
            if piece.cycles >= wears(rules) {
                worn_out += 1;
                continue;
            }
            let origin = self.origin(piece);
            *again.entry((&origin.shade, origin.length_mm)).or_default() += piece.cut.half_pieces();
        }
        let own = |((shade, length_mm), halves): ((&str, StockLength), u32)| OwnPieces { shade: shade.to_owned(), length_mm, halves };
        OwnHair { again: again.into_iter().map(own).collect(), worn_out }
    }

    /// How many left the shelf for her, whole or cut there, and how many more there are by cutting here.
    #[must_use]
    pub fn counts(&self) -> (u64, u64) {
        let cut = self.all.values().filter(|piece| piece.at == PieceAt::Halved).count() as u64;
        (self.all.values().filter(|piece| piece.left.is_some()).count() as u64, cut)
    }

    /// The moments in which the numbers of her pieces were made, ms since 1970, each once.
    ///
    /// *Source*: key `rfc9562`: the first 48 bits of a number of version 7.
    #[must_use]
    pub fn made_at(&self) -> BTreeSet<u64> {
        self.all.keys().map(|id| made_at(*id)).collect()
    }

    /// The days a piece was worn, to a day.
    #[must_use]
    pub fn days_worn(piece: &HerPiece, on: Day) -> u32 {
        let now = match piece.at {
            PieceAt::Hair { since, .. } => span(since, on),
            _ => 0,
        };
        piece.days_worn.saturating_add(now)
    }

    /// A piece came from the shelf.
    pub(super) fn take_in(&mut self, from: &ShelfPiece, left: u64) {
        let origin = match self.origins.iter().position(|origin| *origin == from.origin) {
            Some(at) => at,
            None => {
                self.origins.push(from.origin.clone());
                self.origins.len() - 1
            }
        };
        let piece = HerPiece {
            origin,
            cut: from.cut,
            parent: from.parent,
            left: Some(left),
            cycles: 0,
            days_worn: 0,
            adhesive: Adhesive::New,
            at: PieceAt::Bag { order: 0 },
        };
        self.all.insert(from.piece, piece);
    }

    /// A piece goes into her hair.
    pub(super) fn set(&mut self, piece: PieceId, at: PieceAt) {
        if let Some(piece) = self.all.get_mut(&piece) {
            piece.at = at;
            piece.cycles += 1;
        }
    }

    /// A piece comes out of her hair.
    pub(super) fn take_out(&mut self, piece: PieceId, lost: bool, on: Day) {
        let order = self.out;
        let Some(piece) = self.all.get_mut(&piece) else { return };
        let days = match piece.at {
            PieceAt::Hair { since, .. } => span(since, on),
            _ => 0,
        };
        piece.days_worn = piece.days_worn.saturating_add(days);
        piece.adhesive = Adhesive::Worn;
        piece.at = if lost { PieceAt::Lost { on } } else { PieceAt::Bag { order } };
        self.out += 1;
    }

    /// The adhesive of a piece is now so.
    pub(super) fn adhere(&mut self, piece: PieceId, adhesive: Adhesive) {
        if let Some(piece) = self.all.get_mut(&piece) {
            piece.adhesive = adhesive;
        }
    }

    /// A piece is put aside for good.
    pub(super) fn retire(&mut self, piece: PieceId, on: Day, reason: String) {
        if let Some(piece) = self.all.get_mut(&piece) {
            piece.at = PieceAt::Retired { on, reason };
        }
    }

    /// A piece is cut: two halves, and it is one piece no more.
    pub(super) fn halve(&mut self, whole: PieceId, halves: [PieceId; 2]) {
        let Some(piece) = self.all.get_mut(&whole) else { return };
        let half = HerPiece { cut: Cut::Half, parent: Some(whole), left: None, ..piece.clone() };
        piece.at = PieceAt::Halved;
        for id in halves {
            self.all.insert(id, half.clone());
        }
    }

    /// A piece as it was, or that it was not hers: what undoing puts back.
    pub(super) fn put_back(&mut self, piece: PieceId, was: Option<HerPiece>) {
        match was {
            Some(was) => _ = self.all.insert(piece, was),
            None => _ = self.all.remove(&piece),
        }
    }
}

/// The moment in which a number was made, ms since 1970.
#[must_use]
pub fn made_at(id: PieceId) -> u64 {
    (id.0 >> 80) as u64
}

/// Whole days from one day to another; none backwards.
fn span(from: Day, to: Day) -> u32 {
    u32::try_from(to.days_since(from).max(0)).unwrap_or(u32::MAX)
}
