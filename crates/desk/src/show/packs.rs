//! Questions about packs: which came in, and where the pieces of one are.

use crate::written::opened;
use crate::{DeskFault, Salon};
use salon::book::{Day, PieceId, ShelfBook, ShelfEvent};
use serde_json::{Value, json};
use std::collections::HashMap;
use store::book::Stream;

/// Packs that are told at once, and events of the shelf that are read at once to find them.
const PACKS_AT_ONCE: usize = 60;
const AT_ONCE: u64 = 1024;

/// Packs that came in together, by the version of the shelf's event, told.
fn pack(version: u64, on: Day, event: &ShelfEvent, shelf: &ShelfBook) -> Option<Value> {
    let ShelfEvent::PackReceived { came, supplier, packs, pieces, .. } = event else { return None };
    let place = |piece: PieceId| match shelf.find(piece) {
        Some(_) => "shelf",
        None if shelf.missing.contains(&piece) => "missing",
        None => "away",
    };
    let pieces: Vec<Value> = pieces.iter().map(|piece| json!({"id": piece, "where": place(*piece)})).collect();
    Some(json!({
        "pack": version, "on": on, "shade": came.shade, "length_mm": came.length_mm, "lot": came.lot,
        "supplier": supplier, "packs": packs, "came": came.pieces, "pieces": pieces,
    }))
}

impl Salon {
    /// The packs that came in last, newest first, each as it was corrected.
    ///
    /// *Errors*: the records.
    pub async fn show_packs(&self) -> Result<Value, DeskFault> {
        let shelf = self.shelf_book().await?;
        let (mut told, mut instead) = (Vec::new(), HashMap::new());
        let mut to = shelf.version;
        while to > 0 && told.len() < PACKS_AT_ONCE {
            let from = to.saturating_sub(AT_ONCE);
            for row in self.book.read_to(Stream::Shelf, from, to).await?.iter().rev() {
                let (event, stood) = opened::<ShelfEvent>(row)?;
                if let ShelfEvent::Corrected { event, instead: now, .. } = event {
                    instead.entry(event).or_insert((stood.on, *now));
                    continue;
                }
                let (on, event) = instead.remove(&row.version).unwrap_or((stood.on, event));
                told.extend(pack(row.version, on, &event, &shelf));
            }
            to = from;
        }
        told.truncate(PACKS_AT_ONCE);
        Ok(json!({ "packs": told }))
    }

    /// Packs that came in together: what they were, and where each piece is.
    ///
    /// *Errors*: nothing came in by this event of the shelf; the records.
    pub async fn show_pack(&self, version: u64) -> Result<Value, DeskFault> {
        const UNKNOWN: DeskFault = DeskFault::Unknown("pack");
        let shelf = self.shelf_book().await?;
        if version == 0 || version > shelf.version {
            return Err(UNKNOWN);
        }
        let (mut found, mut from) = (None, version - 1);
        while from < shelf.version {
            let to = (from + AT_ONCE).min(shelf.version);
            for row in self.book.read_to(Stream::Shelf, from, to).await? {
                let (event, stood) = opened::<ShelfEvent>(&row)?;
                match event {
                    event if row.version == version => found = Some((stood.on, event)),
                    ShelfEvent::Corrected { event, instead, .. } if event == version => found = Some((stood.on, *instead)),
                    _ => {}
                }
            }
            from = to;
        }
        found.and_then(|(on, event)| pack(version, on, &event, &shelf)).ok_or(UNKNOWN)
    }
}
