//! What lies on the shelf: lots by count, and the pieces of each by number.
//!
//! *Invariants*: a lot never holds more numbers than pieces; what came in, less
//! what left, went missing or was cut, is what lies there.

use super::client::another_kind;
use super::day::Stood;
use super::house::HouseBook;
use super::id::{ClientId, PieceId};
use super::visit::words::{PieceOrigin, ShelfPiece};
use crate::Fault;
use crate::stock::{OnHand, Order};
use crate::words::Message;
use craft::piece::Cut;
use serde::{Deserialize, Serialize};

/// One thing that happened on the shelf.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum ShelfEvent {
    /// Packs came in.
    PackReceived {
        /// What came: all pieces of all packs together.
        came: OnHand,
        /// From whom.
        supplier: String,
        /// Packs.
        packs: u32,
        /// The mass of one piece, g.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        mass_g: Option<f64>,
        /// The width of a tab, mm.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        tab_width_mm: Option<f64>,
        /// What one pack cost.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        price_minor: Option<i64>,
        /// Each piece by its own number, in the pack's order.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pieces: Vec<PieceId>,
    },
    /// One lot was counted.
    Counted {
        /// How much there is.
        there: OnHand,
        /// Why it differs.
        reason: String,
    },
    /// The whole shelf was counted.
    AllCounted {
        /// All there is.
        on_hand: Vec<OnHand>,
    },
    /// A whole piece was cut in half and lies there as two.
    PieceHalved {
        /// The piece as it lay there.
        whole: ShelfPiece,
        /// Its halves.
        halves: [PieceId; 2],
    },
    /// Pieces left the shelf for a client.
    PiecesLeft {
        /// For whom.
        client: ClientId,
        /// Which.
        pieces: Vec<ShelfPiece>,
    },
    /// Pieces that had left for a client came back unworn: the step was taken back.
    PiecesBack {
        /// From whom.
        client: ClientId,
        /// Which.
        pieces: Vec<ShelfPiece>,
    },
    /// Pieces went out of the books with a client whose records were erased.
    GoneWithErased {
        /// How many.
        pieces: u64,
    },
    /// An event before said what was not so.
    Corrected {
        /// The version of the event that is corrected.
        event: u64,
        /// What it said.
        was: Box<ShelfEvent>,
        /// What it should have said.
        instead: Box<ShelfEvent>,
    },
}

impl ShelfEvent {
    /// The pieces that came in with it.
    #[must_use]
    pub fn pieces(&self) -> &[PieceId] {
        match self {
            Self::PackReceived { pieces, .. } => pieces,
            Self::Corrected { instead, .. } => instead.pieces(),
            _ => &[],
        }
    }

    /// The lot it is about; the whole shelf's count is about every lot.
    fn lot(&self) -> Option<&OnHand> {
        match self {
            Self::PackReceived { came, .. } => Some(came),
            Self::Counted { there, .. } => Some(there),
            Self::Corrected { instead, .. } => instead.lot(),
            _ => None,
        }
    }

    /// Whether a piece is among those it is about.
    #[must_use]
    pub fn is_about(&self, piece: PieceId) -> bool {
        match self {
            Self::PieceHalved { whole, halves } => whole.piece == piece || halves.contains(&piece),
            Self::PiecesLeft { pieces, .. } | Self::PiecesBack { pieces, .. } => pieces.iter().any(|other| other.piece == piece),
            other => other.pieces().contains(&piece),
        }
    }

    /// Its kind, as it is written.
    #[must_use]
    pub const fn kind(&self) -> &'static str {
        match self {
            Self::PackReceived { .. } => "pack_received",
            Self::Counted { .. } => "counted",
            Self::AllCounted { .. } => "all_counted",
            Self::PieceHalved { .. } => "piece_halved",
            Self::PiecesLeft { .. } => "pieces_left",
            Self::PiecesBack { .. } => "pieces_back",
            Self::GoneWithErased { .. } => "gone_with_erased",
            Self::Corrected { .. } => "corrected",
        }
    }
}

/// Corrects an event of the shelf; one that was corrected before is corrected again.
///
/// *Meaning*: `later` is what happened to the shelf after it.
///
/// *Errors*: the event says something of another kind; the lot was counted since,
/// so that the count stands and not the sum.
pub fn decide_shelf_corrected(
    shelf: &ShelfBook,
    was: ShelfEvent,
    version: u64,
    instead: ShelfEvent,
    later: &[ShelfEvent],
) -> Result<Vec<ShelfEvent>, Vec<Fault>> {
    let (was, event) = match was {
        ShelfEvent::Corrected { event, instead, .. } => (*instead, event),
        was => (was, version),
    };
    let same = matches!(
        (&was, &instead),
        (ShelfEvent::PackReceived { .. }, ShelfEvent::PackReceived { .. }) | (ShelfEvent::Counted { .. }, ShelfEvent::Counted { .. })
    );
    if !same {
        return Err(vec![another_kind()]);
    }
    let about = |event: &ShelfEvent| [&was, &instead].iter().any(|one| event.lot().zip(one.lot()).is_none_or(|(a, b)| a.is_of_lot(b)));
    let counts = |event: &&ShelfEvent| matches!(event, ShelfEvent::Counted { .. } | ShelfEvent::AllCounted { .. });
    if later.iter().filter(counts).any(about) {
        return Err(vec![Fault::of(&Message::LotCountedSince, "event", "correct")]);
    }
    let left = |lot: &OnHand| shelf.on_hand.iter().find(|held| held.is_of_lot(lot)).map_or(0, |held| held.pieces);
    if let (ShelfEvent::PackReceived { came, .. }, ShelfEvent::PackReceived { came: now, .. }) = (&was, &instead) {
        let back = if came.is_of_lot(now) { now.pieces } else { 0 };
        let used = |piece: &&PieceId| shelf.find(**piece).is_none() && !shelf.missing.contains(piece);
        let kept = was.pieces().iter().filter(used).all(|piece| instead.pieces().contains(piece));
        if !kept || left(came) + back < came.pieces {
            return Err(vec![Fault::of(&Message::TooFewToTakeAway, "pieces", "correct")]);
        }
    }
    Ok(vec![ShelfEvent::Corrected { event, was: Box::new(was), instead: Box::new(instead) }])
}

/// What came in, left, went missing and was cut, in pieces.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct ShelfTally {
    /// Received, or found by counting.
    pub came: u64,
    /// Missing when they were counted.
    pub missing: u64,
    /// With clients, without those that came back.
    pub left: u64,
    /// More of them by cutting.
    pub cut: u64,
    /// Of those with clients, gone from the books with erased records.
    pub erased: u64,
}

/// All that is in force of the shelf.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct ShelfBook {
    /// The stream's version.
    pub version: u64,
    /// What lies there whole, in the order it was told.
    pub on_hand: Vec<OnHand>,
    /// Of each of these lots, the pieces that have a number, in the pack's order,
    /// each with the version of the event by which it came.
    numbers: Vec<Vec<(PieceId, u64)>>,
    /// Halves that lie there.
    pub halves: Vec<ShelfPiece>,
    /// Pieces that were missing when they were counted.
    pub missing: Vec<PieceId>,
    /// What came, left, went missing and was cut.
    pub tally: ShelfTally,
}

impl ShelfBook {
    /// Puts an event in force.
    pub fn apply(&mut self, event: ShelfEvent, stood: Stood) {
        self.version = stood.version;
        match event {
            ShelfEvent::PackReceived { came, pieces, .. } => {
                let at = self.lot_at(&came);
                self.on_hand[at].pieces = self.on_hand[at].pieces.saturating_add(came.pieces);
                self.numbers[at].extend(pieces.into_iter().map(|piece| (piece, stood.version)));
                self.tally.came += u64::from(came.pieces);
            }
            ShelfEvent::Counted { there, .. } => self.count(&there),
            ShelfEvent::AllCounted { on_hand } => self.count_all(on_hand),
            ShelfEvent::PieceHalved { whole, halves } => {
                self.take(&whole);
                let half = |piece| ShelfPiece { piece, cut: Cut::Half, parent: Some(whole.piece), origin: whole.origin.clone() };
                self.halves.extend(halves.map(half));
                self.tally.cut += 1;
            }
            ShelfEvent::PiecesLeft { pieces, .. } => {
                self.tally.left += pieces.len() as u64;
                pieces.iter().for_each(|piece| self.take(piece));
            }
            ShelfEvent::PiecesBack { pieces, .. } => {
                self.tally.left = self.tally.left.saturating_sub(pieces.len() as u64);
                pieces.into_iter().for_each(|piece| self.put_back(piece));
            }
            ShelfEvent::GoneWithErased { pieces } => self.tally.erased += pieces,
            ShelfEvent::Corrected { was, instead, event } => self.correct(*was, *instead, Stood { version: event, ..stood }, stood.version),
        }
    }

    fn correct(&mut self, was: ShelfEvent, instead: ShelfEvent, then: Stood, version: u64) {
        let Some(lot) = was.lot().cloned() else { return };
        // What was used since stays used.
        let used: Vec<PieceId> =
            was.pieces().iter().filter(|piece| self.find(**piece).is_none() && !self.missing.contains(piece)).copied().collect();
        let at = self.lot_at(&lot);
        let counted = matches!(was, ShelfEvent::Counted { .. });
        let gone = if counted { 0 } else { used.len() as u32 };
        let away = lot.pieces.saturating_sub(gone).min(self.on_hand[at].pieces);
        self.on_hand[at].pieces -= away;
        self.numbers[at].retain(|(piece, _)| !was.pieces().contains(piece));
        if counted {
            self.tally.missing += u64::from(away)
        } else {
            self.tally.came = self.tally.came.saturating_sub(u64::from(away + gone))
        }
        self.apply(instead, then);
        self.version = version;
        for numbers in &mut self.numbers {
            numbers.retain(|(piece, _)| !used.contains(piece));
        }
        if let (false, Some(at)) = (counted, self.on_hand.iter().position(|held| held.is_of_lot(&lot))) {
            self.on_hand[at].pieces = self.on_hand[at].pieces.saturating_sub(gone);
        }
    }

    /// A lot's place; a new one where there is none.
    fn lot_at(&mut self, like: &OnHand) -> usize {
        self.numbers.resize(self.on_hand.len(), Vec::new());
        match self.on_hand.iter().position(|lot| lot.is_of_lot(like)) {
            Some(at) => at,
            None => {
                self.on_hand.push(OnHand { pieces: 0, ..like.clone() });
                self.numbers.push(Vec::new());
                self.on_hand.len() - 1
            }
        }
    }

    fn count(&mut self, there: &OnHand) {
        let at = self.lot_at(there);
        let before = self.on_hand[at].pieces;
        self.tally.came += u64::from(there.pieces.saturating_sub(before));
        self.tally.missing += u64::from(before.saturating_sub(there.pieces));
        self.on_hand[at].pieces = there.pieces;
        let over = self.numbers[at].len().min(there.pieces as usize);
        self.missing.extend(self.numbers[at].drain(over..).map(|(piece, _)| piece));
    }

    fn count_all(&mut self, on_hand: Vec<OnHand>) {
        for lot in self.on_hand.clone() {
            if !on_hand.iter().any(|there| there.is_of_lot(&lot)) {
                self.count(&OnHand { pieces: 0, ..lot });
            }
        }
        on_hand.iter().for_each(|there| self.count(there));
        // In the order it was told now.
        let mut numbers: Vec<Vec<(PieceId, u64)>> = Vec::new();
        for lot in &on_hand {
            let at = self.lot_at(lot);
            numbers.push(std::mem::take(&mut self.numbers[at]));
        }
        (self.on_hand, self.numbers) = (on_hand, numbers);
    }

    fn take(&mut self, piece: &ShelfPiece) {
        if piece.cut == Cut::Half {
            self.halves.retain(|half| half.piece != piece.piece);
            return;
        }
        let at = self.lot_at(&piece.origin.lot_of(0));
        self.on_hand[at].pieces = self.on_hand[at].pieces.saturating_sub(1);
        self.numbers[at].retain(|(number, _)| *number != piece.piece);
    }

    fn put_back(&mut self, piece: ShelfPiece) {
        if piece.cut == Cut::Half {
            self.halves.push(piece);
            return;
        }
        let at = self.lot_at(&piece.origin.lot_of(0));
        self.on_hand[at].pieces += 1;
        self.numbers[at].push((piece.piece, piece.origin.received.unwrap_or(0)));
        self.numbers[at].sort_by_key(|(piece, received)| (*received, *piece));
    }

    /// A piece that lies there.
    #[must_use]
    pub fn find(&self, piece: PieceId) -> Option<ShelfPiece> {
        if let Some(half) = self.halves.iter().find(|half| half.piece == piece) {
            return Some(half.clone());
        }
        self.on_hand.iter().zip(&self.numbers).find_map(|(lot, numbers)| {
            let (piece, received) = numbers.iter().find(|(number, _)| *number == piece)?;
            Some(whole(lot, *piece, Some(*received)))
        })
    }

    /// The whole pieces of a lot that have a number, in the pack's order.
    pub fn numbered(&self, lot: &OnHand) -> impl Iterator<Item = ShelfPiece> {
        let at = self.on_hand.iter().position(|held| held.is_of_lot(lot));
        let numbers = at.and_then(|at| self.numbers.get(at)).map_or(&[][..], Vec::as_slice);
        numbers.iter().map(move |(piece, received)| whole(lot, *piece, Some(*received)))
    }

    /// Every piece that has a number, lot by lot, then the halves.
    pub fn pieces(&self) -> impl Iterator<Item = ShelfPiece> {
        self.on_hand.iter().flat_map(|lot| self.numbered(lot)).chain(self.halves.iter().cloned())
    }

    /// How many pieces lie there, whole ones and halves.
    #[must_use]
    pub fn lie_there(&self) -> u64 {
        self.on_hand.iter().map(|lot| u64::from(lot.pieces)).sum::<u64>() + self.halves.len() as u64
    }
}

fn whole(lot: &OnHand, piece: PieceId, received: Option<u64>) -> ShelfPiece {
    let origin = PieceOrigin { shade: lot.shade.clone(), length_mm: lot.length_mm, lot: lot.lot.clone(), received };
    ShelfPiece { piece, cut: Cut::Full, parent: None, origin }
}

/// A whole piece of a lot that was counted only: it gets a number as it is taken.
pub(super) fn numbered_now(lot: &OnHand, piece: PieceId) -> ShelfPiece {
    whole(lot, piece, None)
}

/// Shelf and price list as an order that has no need yet; nothing before a price list was set.
#[must_use]
pub fn order(house: &HouseBook, on_hand: &[OnHand]) -> Option<Order> {
    let prices = house.prices.0.as_ref()?;
    Some(Order {
        need: Vec::new(),
        on_hand: on_hand.to_vec(),
        packs: prices.packs.clone(),
        suppliers: prices.suppliers.clone(),
        currency: prices.currency,
    })
}
