//! Whether the pieces add up: every promise of the ledger.

use crate::{DeskFault, Salon};
use salon::book::{ClientBook, PieceAt, PieceId, ShelfBook};
use std::collections::BTreeSet;

/// What all clients' books say together of pieces.
#[derive(Debug)]
pub(super) struct Ledger {
    /// Every piece that is on a head, in a bag, or was.
    seen: BTreeSet<PieceId>,
    /// Pieces that left the shelf for clients who are here.
    left: u64,
    once: bool,
    one_place: bool,
    parents: bool,
    closed: bool,
}

impl Default for Ledger {
    fn default() -> Self {
        Self { seen: BTreeSet::new(), left: 0, once: true, one_place: true, parents: true, closed: true }
    }
}

impl Ledger {
    /// Takes in a client's book.
    pub(super) fn take(&mut self, book: &ClientBook) {
        let pieces = &book.year.pieces;
        self.left += pieces.counts().0;
        let mut places = BTreeSet::new();
        for (id, piece) in pieces.iter() {
            self.once &= self.seen.insert(id);
            if let PieceAt::Hair { site, plan, upper, .. } = &piece.at {
                self.one_place &= places.insert((*plan, *site, *upper));
            }
            if let Some(parent) = piece.parent.filter(|_| piece.left.is_none()) {
                self.parents &= pieces.get(parent).is_some_and(|whole| whole.at == PieceAt::Halved);
            }
        }
        self.parents &= pieces
            .iter()
            .filter(|(_, piece)| piece.at == PieceAt::Halved)
            .all(|(whole, _)| pieces.iter().filter(|(_, half)| half.parent == Some(whole) && half.left.is_none()).count() == 2);
        self.closed &= book.year.visits.iter().filter(|visit| visit.is_open()).count() <= 1;
    }

    /// What it promises, and whether that holds.
    pub(super) fn checks(&self, shelf: &ShelfBook) -> Vec<(&'static str, bool)> {
        let tally = shelf.tally;
        let lies = tally.came + tally.cut == shelf.lie_there() + tally.missing + tally.left;
        let with_clients = tally.left == self.left + tally.erased;
        let on_shelf = shelf.pieces().all(|piece| !self.seen.contains(&piece.piece));
        let numbered = shelf.on_hand.iter().all(|lot| shelf.numbered(lot).count() <= lot.pieces as usize);
        vec![
            ("pieces that came are on the shelf, with clients, or missing", lies && numbered),
            ("pieces that left the shelf are on heads, in bags, retired or lost", with_clients),
            ("no piece is on two heads, or on a head and on the shelf", self.once && on_shelf),
            ("a place in her hair holds one piece above and one below", self.one_place),
            ("every half has one parent, and every piece that was cut two halves", self.parents),
            ("a client has one visit at a time", self.closed),
        ]
    }
}

impl Salon {
    /// What the ledger promises.
    pub(super) async fn ledger_checks(&self, ledger: &Ledger) -> Result<Vec<(&'static str, bool)>, DeskFault> {
        Ok(ledger.checks(&*self.shelf_book().await?))
    }
}
