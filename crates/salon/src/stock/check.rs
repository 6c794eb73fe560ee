//! What makes an order impossible before anything is reckoned.

use super::order::Order;
use crate::fault::Fault;
use crate::words::Message;
use std::collections::{BTreeMap, BTreeSet};

/// No price or sum of an order is larger than this, so that no sum can run over.
const MOST_MINOR: i64 = 1_000_000_000;
/// No need, shelf or pack holds more pieces than this.
const MOST_PIECES: u32 = 10_000;

/// Everything that is wrong with an order.
pub(super) fn faults(order: &Order) -> Vec<Fault> {
    let mut found = Vec::new();
    let mut fault = |place: String, message: Message| found.push(Fault::of(&message, place, "order-sane"));
    let mut suppliers = BTreeSet::new();
    for (at, supplier) in order.suppliers.iter().enumerate() {
        let place = format!("suppliers[{at}] ({})", supplier.id);
        if !suppliers.insert(supplier.id.as_str()) {
            fault(place.clone(), Message::SupplierTwice);
        }
        for (key, minor) in [("shipping_minor", Some(supplier.shipping_minor)), ("free_over_minor", supplier.free_over_minor)] {
            if let Some(minor) = minor.filter(|minor| !(0..=MOST_MINOR).contains(minor)) {
                fault(format!("{place}.{key}"), Message::PriceNone { minor: minor.to_string() });
            }
        }
    }
    let mut packs = BTreeSet::new();
    for (at, pack) in order.packs.iter().enumerate() {
        let place = format!("packs[{at}] ({})", pack.id);
        if !packs.insert(pack.id.as_str()) {
            fault(place.clone(), Message::PackTwice);
        }
        if !suppliers.contains(pack.supplier.as_str()) {
            fault(place.clone(), Message::SupplierUnknown { supplier: pack.supplier.clone() });
        }
        if pack.pieces == 0 || pack.pieces > MOST_PIECES {
            fault(place.clone(), Message::PackEmpty { pieces: pack.pieces.to_string() });
        }
        if !(0..=MOST_MINOR).contains(&pack.price_minor) {
            fault(place, Message::PriceNone { minor: pack.price_minor.to_string() });
        }
    }
    let mut needed: BTreeMap<_, u64> = BTreeMap::new();
    for (at, need) in order.need.iter().enumerate() {
        let sum = needed.entry((need.shade.as_str(), need.length_mm)).or_default();
        *sum += u64::from(need.pieces);
        if *sum > u64::from(MOST_PIECES) {
            fault(format!("need[{at}]"), Message::NeedTooLarge { pieces: sum.to_string() });
        }
    }
    for (at, held) in order.on_hand.iter().enumerate() {
        if held.pieces > MOST_PIECES {
            fault(format!("on_hand[{at}] (lot {})", held.lot), Message::LotTooLarge { pieces: held.pieces.to_string() });
        }
    }
    found
}
