//! What is to be had from whom: what the search for the least cost looks at.

use super::cover::{Counts, Key};

/// A supplier's terms.
#[derive(Debug, Clone, Copy)]
pub(super) struct Terms {
    /// Shipping when it is owed.
    pub shipping: i64,
    /// Goods that waive it.
    pub free_over: Option<i64>,
}

/// Everything the search looks at, in an order that does not depend on the file's.
#[derive(Debug)]
pub(super) struct Market {
    /// Shades and lengths: those in need first come by shade and length like the rest.
    pub keys: Vec<Key>,
    /// Suppliers, by id.
    pub terms: Vec<Terms>,
}

/// Goods bought from each supplier.
pub(super) fn goods_by_supplier(market: &Market, counts: &[Counts]) -> Vec<i128> {
    let mut goods = vec![0_i128; market.terms.len()];
    for (key, counts) in market.keys.iter().zip(counts) {
        for (offer, count) in key.offers.iter().zip(counts) {
            goods[offer.supplier] += i128::from(offer.price) * i128::from(*count);
        }
    }
    goods
}

/// Whether any pack is bought from a supplier.
pub(super) fn bought_from(market: &Market, counts: &[Counts], supplier: usize) -> bool {
    market
        .keys
        .iter()
        .zip(counts)
        .any(|(key, counts)| key.offers.iter().zip(counts).any(|(offer, count)| offer.supplier == supplier && *count > 0))
}

/// The shipping owed to one supplier.
pub(super) fn shipping(terms: &Terms, goods: i128, bought: bool) -> i64 {
    let waived = terms.free_over.is_some_and(|over| goods >= i128::from(over));
    if bought && !waived { terms.shipping } else { 0 }
}
