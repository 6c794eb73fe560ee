//! What of the shelf is promised: to clients who are booked and whose set has not gone in yet.

use crate::{DeskFault, Salon};
use measure::RuleBook;
use salon::book::{ClientBook, ShelfBook, VisitKind};
use salon::stock::{OnHand, StockLength};
use std::collections::BTreeMap;

/// Pieces by shade and length.
type Wanted = BTreeMap<(String, StockLength), u32>;

/// What a client's next set takes from the shelf: what her newest plan asks, less her own pieces where
/// they go back in; nothing once it went in.
fn wanted(book: &ClientBook, kind: VisitKind) -> Wanted {
    let mut halves: BTreeMap<(String, StockLength), u32> = BTreeMap::new();
    let Some(plan) = book.plans.last().filter(|plan| plan.placed_on.is_none()) else { return Wanted::new() };
    for site in &plan.sites {
        let Some(length) = StockLength::mm(site.length_mm) else { continue };
        for shade in site.shades.iter().take(site.setting.pieces() as usize) {
            *halves.entry((shade.clone(), length)).or_default() += site.cut.half_pieces();
        }
    }
    if kind == VisitKind::Retape {
        for own in book.year.pieces.own_hair(&RuleBook::standard()).again {
            if let Some(open) = halves.get_mut(&(own.shade, own.length_mm)) {
                *open = open.saturating_sub(own.halves);
            }
        }
    }
    halves.into_iter().map(|(key, halves)| (key, halves.div_ceil(2))).collect()
}

/// Spreads what is wanted over the lots of its shade and length: from the smallest lot that serves it
/// all, else from the largest on.
fn spread(mut wanted: u32, lots: &[&OnHand], free: &mut [u32]) -> Vec<u32> {
    let mut taken = vec![0; lots.len()];
    while wanted > 0 {
        let whole = (0..lots.len()).filter(|at| free[*at] >= wanted).min_by_key(|at| free[*at]);
        let Some(at) = whole.or_else(|| (0..lots.len()).filter(|at| free[*at] > 0).max_by_key(|at| free[*at])) else { break };
        let from = free[at].min(wanted);
        (free[at], taken[at], wanted) = (free[at] - from, taken[at] + from, wanted - from);
    }
    taken
}

impl Salon {
    /// Of each lot on the shelf, in its order, how many pieces are promised.
    pub(super) async fn reserved(&self, shelf: &ShelfBook) -> Result<Vec<u32>, DeskFault> {
        let mut reserved = vec![0_u32; shelf.on_hand.len()];
        let diary = self.diary_book().await?;
        let mut all = Wanted::new();
        for held in diary.appointments.values() {
            let booked = &held.booked;
            if held.cancelled || !booked.kind.sets() {
                continue;
            }
            let book = match self.client_book(booked.client, None).await {
                Ok(book) => book,
                Err(DeskFault::Unknown(_)) => continue,
                Err(fault) => return Err(fault),
            };
            // It is over once she was there.
            if book.year.visits.iter().any(|visit| visit.kind == booked.kind && visit.on >= booked.day) {
                continue;
            }
            for (key, pieces) in wanted(&book, booked.kind) {
                *all.entry(key).or_default() += pieces;
            }
        }
        for ((shade, length), pieces) in all {
            let of_kind = |at: &usize| shelf.on_hand[*at].shade == shade && shelf.on_hand[*at].length_mm == length;
            let places: Vec<usize> = (0..shelf.on_hand.len()).filter(of_kind).collect();
            let lots: Vec<&OnHand> = places.iter().map(|at| &shelf.on_hand[*at]).collect();
            let mut free: Vec<u32> = lots.iter().map(|lot| lot.pieces).collect();
            for (at, taken) in places.iter().zip(spread(pieces, &lots, &mut free)) {
                reserved[*at] += taken;
            }
        }
        Ok(reserved)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lot(pieces: u32) -> OnHand {
        OnHand { lot: format!("L{pieces}"), shade: "S01".into(), length_mm: StockLength::mm(450.0).unwrap(), pieces }
    }

    #[test]
    fn what_is_wanted_comes_from_one_lot_where_one_serves() {
        let lots = [lot(4), lot(30), lot(12)];
        let lots: Vec<&OnHand> = lots.iter().collect();
        let taken = |wanted| spread(wanted, &lots, &mut [4, 30, 12]);
        assert_eq!(taken(10), [0, 0, 10]);
        assert_eq!(taken(13), [0, 13, 0]);
        assert_eq!(taken(40), [0, 30, 10]);
        assert_eq!(taken(99), [4, 30, 12]);
    }
}
