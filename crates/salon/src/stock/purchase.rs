//! From an order to a purchase: the shelf first, then the packs.

use super::check;
use super::cover::{Key, Offer};
use super::market::{Market, Terms, goods_by_supplier};
use super::order::{Bought, BuyFault, LeftOver, OnHand, Order, Pack, Purchase, Short, StockLength};
use super::search::{self};
use crate::fault::Fault;
use crate::words::Message;
use std::collections::{BTreeMap, BTreeSet};

type ShadeLength<'a> = (&'a str, StockLength);

/// More suppliers than this are not weighed against each other.
const MOST_SUPPLIERS: usize = 120;

/// The purchase of least cost that, with the shelf, meets every need.
///
/// *Meaning*: the shelf is used first, because it costs nothing. Among
/// purchases of equal cost the one with fewest packs is taken, then the one
/// with more of the packs that come first by shade, length and id. More may be
/// bought than is needed, even of another shade, where that waives shipping for
/// less than the shipping. Nothing depends on the order of the lists.
///
/// *Errors*: the needs cannot be met, or the order makes no sense.
pub fn buy(order: &Order) -> Result<Purchase, BuyFault> {
    let faults = check::faults(order);
    if !faults.is_empty() {
        return Err(BuyFault::Order(faults));
    }
    let mut open: BTreeMap<ShadeLength, u32> = BTreeMap::new();
    for need in &order.need {
        *open.entry((need.shade.as_str(), need.length_mm)).or_default() += need.pieces;
    }
    let from_stock = take_from_shelf(order, &mut open);
    let short = shortfall(order, &open);
    if !short.is_empty() {
        return Err(BuyFault::Short(short));
    }
    let packs = packs_by_key(order, &open);
    let (market, suppliers) = market(order, &open, &packs);
    if suppliers.len() > MOST_SUPPLIERS {
        let message = Message::SuppliersTooMany { count: suppliers.len().to_string() };
        return Err(BuyFault::Order(vec![Fault::of(&message, "suppliers", "order-sane")]));
    }
    let Some((found, proved_least)) = search::least_cost(&market) else {
        return Err(BuyFault::Short(Vec::new()));
    };
    let goods: i128 = goods_by_supplier(&market, &found.counts).iter().sum();
    let in_range =
        |amount: i128| i64::try_from(amount).map_err(|_| BuyFault::Order(vec![Fault::of(&Message::CostBeyondSums, "packs", "order-sane")]));
    let mut bought = Vec::new();
    let mut left_over = Vec::new();
    for ((key, packs), counts) in packs.iter().zip(&found.counts) {
        let mut pieces: u64 = 0;
        for (pack, &count) in packs.iter().zip(counts) {
            if count > 0 {
                bought.push(Bought { id: pack.id.clone(), packs: count });
                pieces += u64::from(count) * u64::from(pack.pieces);
            }
        }
        let needed = u64::from(open.get(key).copied().unwrap_or(0));
        if pieces > needed {
            let pieces = u32::try_from(pieces - needed).unwrap_or(u32::MAX);
            left_over.push(LeftOver { shade: key.0.to_owned(), length_mm: key.1, pieces });
        }
    }
    Ok(Purchase {
        buy: bought,
        from_stock,
        left_over,
        goods_minor: in_range(goods)?,
        shipping_minor: in_range(found.cost - goods)?,
        cost_minor: in_range(found.cost)?,
        proved_least,
        currency: order.currency,
    })
}

/// Takes what the shelf has, the smallest rests first so that opened packs are
/// used up, then by lot.
fn take_from_shelf<'a>(order: &'a Order, open: &mut BTreeMap<ShadeLength<'a>, u32>) -> Vec<OnHand> {
    let mut shelf: Vec<&'a OnHand> = order.on_hand.iter().filter(|held| held.pieces > 0).collect();
    shelf.sort_by(|one, other| {
        let key = |held: &OnHand| (held.shade.clone(), held.length_mm, held.pieces, held.lot.clone());
        key(one).cmp(&key(other))
    });
    let mut taken = Vec::new();
    for held in shelf {
        let Some(left) = open.get_mut(&(held.shade.as_str(), held.length_mm)) else { continue };
        let pieces = held.pieces.min(*left);
        if pieces > 0 {
            *left -= pieces;
            taken.push(OnHand { pieces, ..held.clone() });
        }
    }
    taken
}

fn shortfall(order: &Order, open: &BTreeMap<ShadeLength, u32>) -> Vec<Short> {
    let mut short = Vec::new();
    for (&(shade, length_mm), &need) in open {
        let fitting = order.packs.iter().filter(|pack| pack.shade == shade && pack.length_mm == length_mm);
        let on_sale: u64 = fitting
            .map(|pack| pack.available.map_or(u64::from(u32::MAX), |most| u64::from(most) * u64::from(pack.pieces)))
            .fold(0, u64::saturating_add);
        if on_sale < u64::from(need) {
            let pieces = need - on_sale as u32;
            short.push(Short { shade: shade.to_owned(), length_mm, pieces });
        }
    }
    short
}

/// The packs of every shade and length that is needed, or that could help a
/// threshold along, by id.
fn packs_by_key<'a>(order: &'a Order, open: &BTreeMap<ShadeLength<'a>, u32>) -> BTreeMap<ShadeLength<'a>, Vec<&'a Pack>> {
    let needed = |pack: &Pack| open.get(&(pack.shade.as_str(), pack.length_mm)).is_some_and(|need| *need > 0);
    let useful: BTreeSet<&str> = order.packs.iter().filter(|pack| needed(pack)).map(|pack| pack.supplier.as_str()).collect();
    let waiver: BTreeMap<&str, i64> = order
        .suppliers
        .iter()
        .filter(|supplier| useful.contains(supplier.id.as_str()) && supplier.free_over_minor.is_some())
        .map(|supplier| (supplier.id.as_str(), supplier.shipping_minor))
        .collect();
    let mut by_key: BTreeMap<ShadeLength, Vec<&Pack>> = BTreeMap::new();
    for (key, need) in open {
        if *need > 0 {
            by_key.insert(*key, Vec::new());
        }
    }
    for pack in &order.packs {
        // A pack nobody needs is bought only where it costs less than the shipping it waives.
        let helps = waiver.get(pack.supplier.as_str()).is_some_and(|shipping| pack.price_minor > 0 && pack.price_minor <= *shipping);
        if needed(pack) || helps {
            by_key.entry((pack.shade.as_str(), pack.length_mm)).or_default().push(pack);
        }
    }
    for packs in by_key.values_mut() {
        packs.sort_by(|one, other| one.id.cmp(&other.id));
    }
    by_key
}

fn market<'a>(order: &'a Order, open: &BTreeMap<ShadeLength, u32>, packs: &BTreeMap<ShadeLength, Vec<&'a Pack>>) -> (Market, Vec<&'a str>) {
    let sellers: BTreeSet<&str> = packs.values().flatten().map(|pack| pack.supplier.as_str()).collect();
    let suppliers: Vec<&str> = sellers.into_iter().collect();
    let terms: Vec<Terms> = suppliers
        .iter()
        .filter_map(|id| order.suppliers.iter().find(|supplier| supplier.id == *id))
        .map(|supplier| Terms { shipping: supplier.shipping_minor, free_over: supplier.free_over_minor })
        .collect();
    let keys = packs
        .iter()
        .map(|(key, packs)| {
            let need = open.get(key).copied().unwrap_or(0);
            let offers = packs
                .iter()
                .filter_map(|pack| {
                    let supplier = suppliers.iter().position(|id| *id == pack.supplier)?;
                    Some(Offer { supplier, pieces: pack.pieces, price: pack.price_minor, most: pack.available.unwrap_or(u32::MAX) })
                })
                .collect();
            Key { need, offers }
        })
        .collect();
    (Market { keys, terms }, suppliers)
}
