//! The search for the least cost.
//!
//! A supplier is left out, or bought from with shipping paid, or bought from
//! for enough goods that shipping is waived. Once that is settled for all, the
//! needs are separate, except where goods must reach a threshold; there the
//! covers of the needs are joined with everything dominated or provably too
//! dear left out (`labels`). A choice is cut off when even the cheapest covers
//! and the shipping already owed cost more than the best purchase known.

use super::cover::{Counts, Key, NEVER, Offer, PACK, Suppliers, Table};
use super::labels;
use super::market::{Market, bought_from, goods_by_supplier, shipping};
use std::collections::BTreeMap;

/// How much work the search may do before it gives what it has: joined covers
/// and supplier choices counted together. About a second's worth; an order of a
/// dozen needs and six suppliers takes a small part of it.
const WORK_LIMIT: u64 = 4_000_000;

/// A purchase inside the search.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Found {
    /// Goods and shipping.
    pub cost: i128,
    /// Packs in all.
    pub packs: u32,
    /// How many of each offer, key by key.
    pub counts: Vec<Counts>,
}

impl Found {
    /// Cheaper; or as cheap with fewer packs; or with those equal, more of the
    /// earlier packs.
    fn better_than(&self, other: &Self) -> bool {
        (self.cost, self.packs, std::cmp::Reverse(&self.counts)) < (other.cost, other.packs, std::cmp::Reverse(&other.counts))
    }
}

/// How a supplier is used.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Use {
    Undecided,
    Out,
    /// Bought from, and whatever shipping is owed is in the choice's cost.
    Open,
    /// Bought from for at least so much.
    Over(i64),
}

/// The best purchase found, and whether nothing cheaper can exist.
pub(super) fn least_cost(market: &Market) -> Option<(Found, bool)> {
    let mut search = Search { market, best: None, least_by_suppliers: BTreeMap::new(), open: Vec::new(), work: 0, proved: true };
    search.start();
    let mut uses = vec![Use::Undecided; market.terms.len()];
    for (supplier, choice) in uses.iter_mut().enumerate() {
        if !search.is_useful(supplier) {
            *choice = Use::Out;
        }
    }
    search.choose(&mut uses, 0, 0);
    search.settle_all();
    let proved = search.proved;
    search.best.map(|best| (best, proved))
}

struct Search<'a> {
    market: &'a Market,
    best: Option<Found>,
    least_by_suppliers: BTreeMap<Suppliers, Option<i128>>,
    /// Choices still to be settled: their bound, who may be bought from, whose
    /// goods must reach what, and shipping owed.
    open: Vec<Open>,
    work: u64,
    proved: bool,
}

impl<'m> Search<'m> {
    /// Whether a supplier sells anything that is needed.
    fn is_useful(&self, supplier: usize) -> bool {
        self.market.keys.iter().any(|key| key.need > 0 && key.offers.iter().any(|offer| offer.supplier == supplier))
    }

    /// First purchases: from everybody, from each alone, from each pair, and
    /// then from fewer and fewer, so that the search can cut off early.
    fn start(&mut self) {
        let useful: Vec<usize> = (0..self.market.terms.len()).filter(|&s| self.is_useful(s)).collect();
        let all: Suppliers = useful.iter().map(|s| 1 << s).sum();
        let mut sets = vec![all];
        for (at, one) in useful.iter().enumerate() {
            sets.push(1 << one);
            sets.extend(useful[at + 1..].iter().map(|other| (1 << one) | (1 << other)));
        }
        let mut from = all;
        for set in sets {
            if let Some(cost) = self.offer_separate_covers(set)
                && self.best.as_ref().is_none_or(|best| cost <= best.cost)
            {
                from = set;
            }
        }
        loop {
            let before = self.best.as_ref().map(|best| best.cost);
            let mut next = from;
            for supplier in useful.iter().filter(|s| from & (1 << **s) != 0) {
                if let Some(cost) = self.offer_separate_covers(from & !(1 << supplier))
                    && before.is_none_or(|before| cost < before)
                {
                    next = from & !(1 << supplier);
                }
            }
            if next == from {
                break;
            }
            from = next;
        }
    }

    /// The cheapest cover of every need by itself from some suppliers, offered
    /// as a purchase with the shipping it truly owes; its cost.
    fn offer_separate_covers(&mut self, suppliers: Suppliers) -> Option<i128> {
        let price = |offer: &Offer| (suppliers & (1 << offer.supplier) != 0).then(|| offer.price * PACK + 1);
        let counts: Option<Vec<Counts>> = self.market.keys.iter().map(|key| Table::new(key, price).best(key, price)).collect();
        self.offer(counts?)
    }

    /// Offers a purchase; its true cost.
    fn offer(&mut self, counts: Vec<Counts>) -> Option<i128> {
        let goods = goods_by_supplier(self.market, &counts);
        let shipping: i128 =
            (0..goods.len()).map(|s| i128::from(shipping(&self.market.terms[s], goods[s], bought_from(self.market, &counts, s)))).sum();
        let packs = counts.iter().flatten().fold(0_u32, |sum, count| sum.saturating_add(*count));
        let found = Found { cost: goods.iter().sum::<i128>() + shipping, packs, counts };
        let cost = found.cost;
        if self.best.as_ref().is_none_or(|best| found.better_than(best)) {
            self.best = Some(found);
        }
        Some(cost)
    }

    fn least_goods(&mut self, suppliers: Suppliers) -> Option<i128> {
        if let Some(known) = self.least_by_suppliers.get(&suppliers) {
            return *known;
        }
        let price = |offer: &Offer| (suppliers & (1 << offer.supplier) != 0).then_some(offer.price);
        let least = |key: &Key| Some(Table::new(key, price).least(0, key.need)).filter(|cost| *cost < NEVER).map(i128::from);
        let sum = self.market.keys.iter().filter(|key| key.need > 0).map(least).sum();
        self.least_by_suppliers.insert(suppliers, sum);
        sum
    }

    /// Settles one supplier after the other.
    fn choose(&mut self, uses: &mut [Use], at: usize, shipping: i128) {
        self.work += 50;
        if self.work > WORK_LIMIT {
            self.proved = false;
            return;
        }
        let usable: Suppliers = uses.iter().enumerate().filter(|(_, u)| **u != Use::Out).map(|(s, _)| 1 << s).sum();
        let thresholds: i128 = uses.iter().map(|u| if let Use::Over(goods) = u { i128::from(*goods) } else { 0 }).sum();
        let Some(least) = self.least_goods(usable) else { return };
        let bound = least.max(thresholds) + shipping;
        if self.is_too_dear(bound) {
            return;
        }
        let Some(next) = (at..uses.len()).find(|&s| uses[s] == Use::Undecided) else {
            let thresholds = uses.iter().enumerate().filter_map(|(s, u)| if let Use::Over(goods) = u { Some((s, *goods)) } else { None });
            self.open.push(Open { bound, usable, thresholds: thresholds.collect(), shipping });
            return;
        };
        let terms = self.market.terms[next];
        let cheapest = self.cheapest_pack(next);
        let never_owed = terms.shipping == 0 || terms.free_over.is_some_and(|over| over <= cheapest);
        if never_owed {
            // Buying there never costs shipping, so leaving it out gains nothing.
            uses[next] = Use::Open;
            self.choose(uses, next + 1, shipping);
        } else {
            if let Some(over) = terms.free_over {
                uses[next] = Use::Over(over);
                self.choose(uses, next + 1, shipping);
            }
            uses[next] = Use::Open;
            self.choose(uses, next + 1, shipping + i128::from(terms.shipping));
            uses[next] = Use::Out;
            self.choose(uses, next + 1, shipping);
        }
        uses[next] = Use::Undecided;
    }

    fn cheapest_pack(&self, supplier: usize) -> i64 {
        let offers = self.market.keys.iter().flat_map(|key| &key.offers);
        offers.filter(|offer| offer.supplier == supplier).map(|offer| offer.price).min().unwrap_or(i64::MAX)
    }

    fn is_too_dear(&self, bound: i128) -> bool {
        self.best.as_ref().is_some_and(|best| bound > best.cost)
    }

    /// Settles every choice: a first look at each, the lowest bound first, and
    /// then those that may still hold something cheaper than all the looks found.
    fn settle_all(&mut self) {
        let mut open = std::mem::take(&mut self.open);
        open.sort_by(|one, other| (one.bound, &one.thresholds, one.usable).cmp(&(other.bound, &other.thresholds, other.usable)));
        let mut looked = Vec::new();
        for choice in &open {
            if self.is_too_dear(choice.bound) {
                continue;
            }
            if choice.thresholds.is_empty() {
                self.offer_separate_covers(choice.usable);
                continue;
            }
            let Some(asked) = self.asked(choice) else { continue };
            let (bound, answer) = labels::look(&asked);
            self.take(answer);
            looked.extend(bound.map(|bound| (choice, bound)));
        }
        looked.sort_by_key(|(_, bound)| bound.value);
        for (choice, bound) in looked {
            let Some(asked) = self.asked(choice) else { continue };
            let answer = labels::settle(&asked, &bound, WORK_LIMIT.saturating_sub(self.work));
            self.take(answer);
        }
    }

    fn asked<'b>(&self, choice: &'b Open) -> Option<labels::Settlement<'b>>
    where
        'm: 'b,
    {
        Some(labels::Settlement {
            market: self.market,
            usable: choice.usable,
            thresholds: &choice.thresholds,
            shipping: choice.shipping,
            ceiling: self.best.as_ref()?.cost,
        })
    }

    fn take(&mut self, answer: labels::Answer) {
        self.work += answer.work;
        self.proved &= answer.complete;
        for counts in answer.purchases {
            self.offer(counts);
        }
    }
}

/// A choice of how every supplier is used.
struct Open {
    bound: i128,
    usable: Suppliers,
    thresholds: Vec<(usize, i64)>,
    shipping: i128,
}
