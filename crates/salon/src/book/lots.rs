//! How many pieces of each lot lay on the shelf, and nothing else of it.
//!
//! Of a shelf long past only this is ever asked, for a plan that was made from it; the
//! numbers of a hundred thousand pieces are not.
//!
//! *Invariants*: at every version it counts what [`ShelfBook`](super::ShelfBook) counts
//! there of whole pieces, in the same order.

use super::day::Stood;
use super::shelf::ShelfEvent;
use crate::stock::OnHand;
use craft::piece::Cut;
use serde::{Deserialize, Serialize};

/// The shelf's lots.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct LotsBook {
    /// The version of the shelf's stream.
    pub version: u64,
    /// What lies there whole, in the order it was told.
    pub on_hand: Vec<OnHand>,
}

impl LotsBook {
    /// Puts an event of the shelf in force.
    pub fn apply(&mut self, event: ShelfEvent, stood: Stood) {
        self.version = stood.version;
        match event {
            ShelfEvent::PackReceived { came, .. } => self.add(&came),
            ShelfEvent::Counted { there, .. } => self.lot(&there).pieces = there.pieces,
            ShelfEvent::AllCounted { on_hand } => self.on_hand = on_hand,
            ShelfEvent::PieceHalved { whole, .. } => self.take(&whole.origin.lot_of(1)),
            ShelfEvent::PiecesLeft { pieces, .. } => {
                pieces.iter().filter(|piece| piece.cut == Cut::Full).for_each(|piece| self.take(&piece.origin.lot_of(1)));
            }
            ShelfEvent::PiecesBack { pieces, .. } => {
                pieces.iter().filter(|piece| piece.cut == Cut::Full).for_each(|piece| self.add(&piece.origin.lot_of(1)));
            }
            ShelfEvent::GoneWithErased { .. } => {}
            ShelfEvent::Corrected { was, instead, .. } => self.correct(*was, *instead, stood),
        }
    }

    fn correct(&mut self, was: ShelfEvent, instead: ShelfEvent, stood: Stood) {
        match (was, instead) {
            // What should have come is there before what should not have is taken away: some of it was used since.
            (ShelfEvent::PackReceived { came, .. }, instead) => {
                self.apply(instead, stood);
                self.take(&came);
            }
            (ShelfEvent::Counted { there, .. }, instead) => {
                self.take(&there);
                self.apply(instead, stood);
            }
            // Nothing else of the shelf is corrected.
            _ => {}
        }
    }

    /// A lot; with no pieces where there was none.
    fn lot(&mut self, like: &OnHand) -> &mut OnHand {
        let at = self.on_hand.iter().position(|lot| lot.is_of_lot(like)).unwrap_or_else(|| {
            self.on_hand.push(OnHand { pieces: 0, ..like.clone() });
            self.on_hand.len() - 1
        });
        &mut self.on_hand[at]
    }

    fn add(&mut self, more: &OnHand) {
        let lot = self.lot(more);
        lot.pieces = lot.pieces.saturating_add(more.pieces);
    }

    fn take(&mut self, fewer: &OnHand) {
        let lot = self.lot(fewer);
        lot.pieces = lot.pieces.saturating_sub(fewer.pieces);
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::super::id::{ClientId, PieceId};
    use super::super::shelf::{ShelfBook, decide_shelf_corrected};
    use super::super::visit::ShelfPiece;
    use super::*;
    use crate::stock::StockLength;
    use proptest::strategy::{Strategy, ValueTree};
    use proptest::test_runner::TestRunner;

    /// What is drawn for one event: what happens, to which lot and shade, how many, how long ago.
    type Drawn = (u8, u8, u8, u8, usize);

    fn some((_, lot, shade, pieces, _): Drawn) -> OnHand {
        let (lot, shade, pieces) = (format!("L{lot}"), format!("S{shade}"), u32::from(pieces));
        OnHand { lot, shade, length_mm: StockLength::mm(500.0).unwrap(), pieces }
    }

    /// A pack of pieces whose numbers begin at one.
    fn pack(came: OnHand, first: u64) -> ShelfEvent {
        let pieces = (first..first + u64::from(came.pieces)).map(|number| PieceId(u128::from(number))).collect();
        ShelfEvent::PackReceived { came, supplier: "wren".into(), packs: 1, mass_g: None, tab_width_mm: None, price_minor: None, pieces }
    }

    /// What could happen next to a shelf; nothing where it could not.
    fn next(drawn: Drawn, shelf: &ShelfBook, told: &[ShelfEvent], away: &mut Vec<ShelfPiece>) -> Option<ShelfEvent> {
        let lies: Vec<ShelfPiece> = shelf.pieces().collect();
        let number = 1000 * (told.len() as u64 + 1);
        let client = ClientId(7);
        Some(match drawn.0 {
            0 | 1 => pack(some(drawn), number),
            2 => ShelfEvent::Counted { there: some(drawn), reason: "counted".into() },
            3 => ShelfEvent::AllCounted { on_hand: shelf.on_hand.iter().skip(1).cloned().collect() },
            4 => {
                let whole = lies.iter().find(|piece| piece.cut == Cut::Full)?.clone();
                ShelfEvent::PieceHalved { whole, halves: [PieceId(u128::from(number)), PieceId(u128::from(number + 1))] }
            }
            5 => {
                let pieces: Vec<_> = lies.into_iter().rev().take(3).collect();
                away.extend(pieces.iter().cloned());
                ShelfEvent::PiecesLeft { client, pieces }
            }
            6 => ShelfEvent::PiecesBack { client, pieces: vec![away.pop()?] },
            _ => {
                let at = told.len().checked_sub(1 + drawn.4)?;
                let instead = match &told[at] {
                    ShelfEvent::PackReceived { .. } => pack(some(drawn), number),
                    _ => ShelfEvent::Counted { there: some(drawn), reason: "again".into() },
                };
                decide_shelf_corrected(shelf, told[at].clone(), at as u64 + 1, instead, &told[at + 1..]).ok()?.pop()?
            }
        })
    }

    #[test]
    fn the_lots_are_those_of_the_shelf_after_whatever_happens_to_it() {
        let mut corrected = 0;
        let drawn = proptest::collection::vec((0..8_u8, 0..3_u8, 0..2_u8, 1..10_u8, 0..6_usize), 30);
        let mut runner = TestRunner::deterministic();
        for _ in 0..400 {
            let (mut shelf, mut lots) = (ShelfBook::default(), LotsBook::default());
            let (mut told, mut away) = (Vec::new(), Vec::new());
            for one in drawn.new_tree(&mut runner).unwrap().current() {
                let Some(event) = next(one, &shelf, &told, &mut away) else { continue };
                corrected += usize::from(matches!(event, ShelfEvent::Corrected { .. }));
                let stood = Stood { version: shelf.version + 1, at_ms: 0, on: "2026-03-02".parse().unwrap(), minute: None };
                shelf.apply(event.clone(), stood);
                lots.apply(event.clone(), stood);
                told.push(event);
                assert_eq!((lots.version, &lots.on_hand), (shelf.version, &shelf.on_hand), "after {told:#?}");
            }
        }
        assert!(corrected > 100, "{corrected}");
    }
}
