//! What makes an order impossible before anything is reckoned.

use super::order::Order;
use crate::fault::Fault;
use std::collections::{BTreeMap, BTreeSet};

/// No price or sum of an order is larger than this, so that no sum can run over.
const MOST_MINOR: i64 = 1_000_000_000;
/// No need, shelf or pack holds more pieces than this.
const MOST_PIECES: u32 = 10_000;

/// Everything that is wrong with an order.
pub(super) fn faults(order: &Order) -> Vec<Fault> {
    let mut found = Vec::new();
    let mut fault = |place: String, what: String, cure: &str| found.push(Fault::new(what, place, "order-sane", cure));
    let mut suppliers = BTreeSet::new();
    for (at, supplier) in order.suppliers.iter().enumerate() {
        let place = format!("suppliers[{at}] ({})", supplier.id);
        if !suppliers.insert(supplier.id.as_str()) {
            fault(place.clone(), "this supplier stands twice".into(), "Keep one entry for each supplier.");
        }
        for (key, minor) in [("shipping_minor", Some(supplier.shipping_minor)), ("free_over_minor", supplier.free_over_minor)] {
            if let Some(minor) = minor.filter(|minor| !(0..=MOST_MINOR).contains(minor)) {
                fault(format!("{place}.{key}"), format!("{minor} is no price"), "Write minor units, zero or more.");
            }
        }
    }
    let mut packs = BTreeSet::new();
    for (at, pack) in order.packs.iter().enumerate() {
        let place = format!("packs[{at}] ({})", pack.id);
        if !packs.insert(pack.id.as_str()) {
            fault(place.clone(), "this pack stands twice".into(), "Give each pack its own id.");
        }
        if !suppliers.contains(pack.supplier.as_str()) {
            let what = format!("its supplier \"{}\" is not listed", pack.supplier);
            fault(place.clone(), what, "Add the supplier with its shipping, or correct the name.");
        }
        if pack.pieces == 0 || pack.pieces > MOST_PIECES {
            fault(place.clone(), format!("a pack of {} pieces", pack.pieces), "Write how many pieces the pack holds.");
        }
        if !(0..=MOST_MINOR).contains(&pack.price_minor) {
            fault(place, format!("{} is no price", pack.price_minor), "Write minor units, zero or more.");
        }
    }
    let mut needed: BTreeMap<_, u64> = BTreeMap::new();
    for (at, need) in order.need.iter().enumerate() {
        let sum = needed.entry((need.shade.as_str(), need.length_mm)).or_default();
        *sum += u64::from(need.pieces);
        if *sum > u64::from(MOST_PIECES) {
            fault(format!("need[{at}]"), format!("{sum} pieces are needed"), "Write how many pieces this set takes.");
        }
    }
    for (at, held) in order.on_hand.iter().enumerate() {
        if held.pieces > MOST_PIECES {
            fault(format!("on_hand[{at}] (lot {})", held.lot), format!("{} pieces", held.pieces), "Count the shelf again.");
        }
    }
    found
}
