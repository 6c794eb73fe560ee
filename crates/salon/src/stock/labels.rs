//! Needs tied together by thresholds that waive shipping.
//!
//! Each need has many covers; a purchase takes one of each. Prices are lowered
//! at the suppliers whose threshold must be met (a Lagrange multiplier in
//! 1/1024 of the price, so that every sum stays whole): what a purchase costs
//! at lowered prices, plus the multiplier's share of each threshold, is never
//! more than its true cost. Covers and part-purchases whose bound lies above
//! the best purchase known are left out; so is one that costs no less and
//! reaches no further than another. Both keep the least cost.

use super::cover::{Counts, Key, NEVER, Offer, Suppliers, Table};
use super::search::{Market, goods_by_supplier};

/// One part of a price in the multipliers.
const WHOLE: i128 = 1024;
/// Steps towards the best multipliers; more tighten the bound a little further
/// and cost a table of every need each.
const STEPS: usize = 40;
/// The covers of one need that are looked at.
const MOST_COVERS: usize = 6_000;
/// The part-purchases that are kept at once.
const MOST_LABELS: usize = 60_000;
/// Thresholds that may be tied together at once.
const MOST_THRESHOLDS: usize = 6;
/// How many of the cheapest part-purchases the rest is compared with.
const COMPARED: usize = 96;

/// What is to be settled.
pub(super) struct Asked<'a> {
    pub market: &'a Market,
    /// Who may be bought from.
    pub usable: Suppliers,
    /// Whose goods must reach what.
    pub thresholds: &'a [(usize, i64)],
    /// Shipping owed to the others.
    pub shipping: i128,
    /// The cost of the best purchase known.
    pub ceiling: i128,
}

/// What came of it.
pub(super) struct Answer {
    /// Purchases worth a look; the cheapest of the kind is among them when complete.
    pub purchases: Vec<Vec<Counts>>,
    /// Whether the limits were kept.
    pub complete: bool,
    /// Joins made.
    pub work: u64,
}

/// Finds the cheapest purchase that meets the thresholds, unless it costs more
/// than the ceiling.
pub(super) fn settle(asked: &Asked, work_left: u64) -> Answer {
    let mut purchases = Vec::new();
    if asked.thresholds.len() > MOST_THRESHOLDS {
        return Answer { purchases, complete: false, work: 1 };
    }
    let Some(bound) = best_multipliers(asked, &mut purchases) else {
        return Answer { purchases, complete: true, work: STEPS as u64 };
    };
    join(asked, &bound, purchases, work_left)
}

struct Bound {
    /// Prices kept, in 1/1024, by supplier.
    kept: Vec<i128>,
    /// What the thresholds give back, in 1/1024 minor units, with the shipping.
    fixed: i128,
    /// The bound itself, in 1/1024 minor units.
    value: i128,
}

impl Asked<'_> {
    fn may(&self, offer: &Offer) -> bool {
        self.usable & (1 << offer.supplier) != 0
    }

    fn is_tied(&self, supplier: usize) -> bool {
        self.thresholds.iter().any(|(tied, _)| *tied == supplier)
    }

    fn lowered(&self, kept: &[i128], offer: &Offer) -> Option<i128> {
        self.may(offer).then(|| kept[offer.supplier] * i128::from(offer.price))
    }

    fn true_price(&self, offer: &Offer) -> Option<i128> {
        self.may(offer).then(|| i128::from(offer.price))
    }
}

/// Raises the bound step by step; nothing when it passes the ceiling, which
/// proves that no purchase of this kind is better than the one known.
fn best_multipliers(asked: &Asked, purchases: &mut Vec<Vec<Counts>>) -> Option<Bound> {
    let mut shares = vec![0.0_f64; asked.thresholds.len()];
    let mut best: Option<Bound> = None;
    let mut eagerness = 1.0_f64;
    for _ in 0..STEPS {
        let mut kept = vec![WHOLE; asked.market.terms.len()];
        let mut fixed = asked.shipping * WHOLE;
        for ((supplier, over), share) in asked.thresholds.iter().zip(&shares) {
            let multiplier = (share * WHOLE as f64).round() as i128;
            kept[*supplier] = WHOLE - multiplier;
            fixed += multiplier * i128::from(*over);
        }
        let mut counts = Vec::with_capacity(asked.market.keys.len());
        let mut value = fixed;
        for key in &asked.market.keys {
            let price = |offer: &Offer| asked.lowered(&kept, offer);
            let table = Table::new(key, price);
            value += table.least(0, key.need).0;
            counts.push(table.best(key, price)?);
        }
        if asked.ceiling < NEVER && value > asked.ceiling * WHOLE {
            return None;
        }
        let goods = goods_by_supplier(asked.market, &counts);
        let lacks: Vec<f64> = asked.thresholds.iter().map(|(s, over)| (i128::from(*over) - goods[*s]) as f64).collect();
        purchases.push(counts);
        if best.as_ref().is_none_or(|best| value > best.value) {
            best = Some(Bound { kept, fixed, value });
        } else {
            eagerness *= 0.8;
        }
        let size: f64 = lacks.iter().map(|lack| lack * lack).sum();
        if size == 0.0 {
            break;
        }
        let gap = ((asked.ceiling.min(value / WHOLE * 2 + 1) * WHOLE - value) as f64 / WHOLE as f64).max(1.0);
        for (share, lack) in shares.iter_mut().zip(&lacks) {
            *share = (*share + eagerness * gap * lack / size).clamp(0.0, 1.0);
        }
    }
    best
}

/// One cover of one need.
struct Cover {
    counts: Counts,
    cost: i128,
    lowered: i128,
    packs: u32,
    goods: [i64; MOST_THRESHOLDS],
}

/// One cover each of the first needs.
#[derive(Clone, Copy)]
struct Label {
    cost: i128,
    lowered: i128,
    packs: u32,
    goods: [i64; MOST_THRESHOLDS],
    parent: u32,
    cover: u32,
}

fn join(asked: &Asked, bound: &Bound, mut purchases: Vec<Vec<Counts>>, work_left: u64) -> Answer {
    let keys = &asked.market.keys;
    let true_least: Vec<i128> =
        keys.iter().map(|key| Table::new(key, |offer| asked.true_price(offer)).least(0, key.need).0).collect();
    let lowered_least: Vec<i128> =
        keys.iter().map(|key| Table::new(key, |offer| asked.lowered(&bound.kept, offer)).least(0, key.need).0).collect();
    let slack = Slack {
        money: asked.ceiling - asked.shipping - true_least.iter().sum::<i128>(),
        lowered: asked.ceiling * WHOLE - bound.value,
    };
    let mut rest_true: i128 = true_least.iter().sum();
    let mut rest_lowered: i128 = lowered_least.iter().sum();
    let mut work = 0_u64;
    let mut stages: Vec<Vec<Label>> = Vec::with_capacity(keys.len());
    let mut covers: Vec<Vec<Cover>> = Vec::with_capacity(keys.len());
    let start = Label { cost: 0, lowered: 0, packs: 0, goods: [0; MOST_THRESHOLDS], parent: 0, cover: 0 };
    let mut now = vec![start];
    let stop = |purchases, work| Answer { purchases, complete: false, work };
    for (at, key) in keys.iter().enumerate() {
        let Some(of_key) = covers_of(asked, bound, key, &slack) else { return stop(purchases, work) };
        rest_true -= true_least[at];
        rest_lowered -= lowered_least[at];
        let mut next = Vec::new();
        for (parent, label) in now.iter().enumerate() {
            for (number, cover) in of_key.iter().enumerate() {
                let joined = label.with(cover, parent, number, asked.thresholds);
                let dear = joined.cost + rest_true + asked.shipping > asked.ceiling
                    || joined.lowered + rest_lowered + bound.fixed > asked.ceiling * WHOLE;
                if !dear {
                    next.push(joined);
                }
            }
        }
        work += (now.len() * of_key.len()) as u64;
        let next = undominated(next);
        if work > work_left || next.len() > MOST_LABELS {
            return stop(purchases, work);
        }
        stages.push(std::mem::replace(&mut now, next));
        covers.push(of_key);
    }
    // By cost, then packs, then the order of joining, which is that of pack ids.
    let reaching = now.iter().enumerate().filter(|(_, label)| label.reaches(asked.thresholds));
    if let Some((_, label)) = reaching.min_by_key(|(at, label)| (label.cost, label.packs, *at)) {
        stages.push(Vec::new());
        purchases.push(unroll(*label, &stages, &covers));
    }
    Answer { purchases, complete: true, work }
}

struct Slack {
    /// Minor units between the cheapest covers and the ceiling.
    money: i128,
    /// The same at lowered prices, in 1/1024.
    lowered: i128,
}

impl Label {
    fn with(&self, cover: &Cover, parent: usize, number: usize, thresholds: &[(usize, i64)]) -> Self {
        let mut goods = self.goods;
        for (at, (_, over)) in thresholds.iter().enumerate() {
            goods[at] = (goods[at] + cover.goods[at]).min(*over);
        }
        Self {
            cost: self.cost + cover.cost,
            lowered: self.lowered + cover.lowered,
            packs: self.packs.saturating_add(cover.packs),
            goods,
            parent: parent as u32,
            cover: number as u32,
        }
    }

    fn reaches(&self, thresholds: &[(usize, i64)]) -> bool {
        thresholds.iter().enumerate().all(|(at, (_, over))| self.goods[at] >= *over)
    }
}

/// Leaves out every part-purchase that another, no dearer, with no more packs
/// and no later in order, reaches as far as. The order of the rest stays.
fn undominated(labels: Vec<Label>) -> Vec<Label> {
    let mut order: Vec<usize> = (0..labels.len()).collect();
    order.sort_by_key(|&at| (labels[at].cost, labels[at].packs, at));
    let mut kept: Vec<usize> = Vec::new();
    let mut seen = std::collections::BTreeSet::new();
    for at in order {
        let goods = &labels[at].goods;
        let beaten = |other: &usize| labels[*other].goods.iter().zip(goods).all(|(theirs, ours)| theirs >= ours);
        let recent = kept.len().saturating_sub(COMPARED);
        if seen.contains(goods) || kept.iter().take(COMPARED).any(beaten) || kept[recent..].iter().any(beaten) {
            continue;
        }
        seen.insert(*goods);
        kept.push(at);
    }
    kept.sort_unstable();
    kept.into_iter().map(|at| labels[at]).collect()
}

/// Every cover of a need within the slack, in the order of pack ids; nothing
/// when there are too many.
fn covers_of(asked: &Asked, bound: &Bound, key: &Key, slack: &Slack) -> Option<Vec<Cover>> {
    let true_table = Table::new(key, |offer| asked.true_price(offer));
    let lowered_table = Table::new(key, |offer| asked.lowered(&bound.kept, offer));
    let mut walk = Walk {
        asked,
        bound,
        key,
        most_true: true_table.least(0, key.need).0 + slack.money,
        most_lowered: lowered_table.least(0, key.need).0 + slack.lowered,
        true_table,
        lowered_table,
        counts: Vec::new(),
        found: Vec::new(),
        steps: 0,
    };
    walk.go(key.need, 0, 0).then_some(walk.found)
}

struct Walk<'a> {
    asked: &'a Asked<'a>,
    bound: &'a Bound,
    key: &'a Key,
    most_true: i128,
    most_lowered: i128,
    true_table: Table,
    lowered_table: Table,
    counts: Counts,
    found: Vec<Cover>,
    steps: usize,
}

impl Walk<'_> {
    /// Walks the counts of the next offer, most first; false when a limit is met.
    fn go(&mut self, left: u32, cost: i128, lowered: i128) -> bool {
        let i = self.counts.len();
        self.steps += 1;
        if self.found.len() > MOST_COVERS || self.steps > MOST_COVERS * 40 {
            return false;
        }
        let too_dear = cost + self.true_table.least(i, left).0 > self.most_true
            || lowered + self.lowered_table.least(i, left).0 > self.most_lowered;
        if too_dear {
            return true;
        }
        let Some(offer) = self.key.offers.get(i).copied() else {
            self.keep(cost, lowered);
            return true;
        };
        for count in (0..=self.most_of(&offer, left, cost)).rev() {
            let many = i128::from(count) * i128::from(offer.price);
            self.counts.push(count);
            let rest = left.saturating_sub(count.saturating_mul(offer.pieces));
            let on = self.go(rest, cost + many, lowered + many * self.bound.kept[offer.supplier]);
            self.counts.pop();
            if !on {
                return false;
            }
        }
        true
    }

    /// How many of an offer are worth a look: no more than cover what is left,
    /// unless goods are wanted there for a threshold and the money allows it.
    fn most_of(&self, offer: &Offer, left: u32, cost: i128) -> u32 {
        if !self.asked.may(offer) {
            return 0;
        }
        let covering = left.div_ceil(offer.pieces);
        let useful = if self.asked.is_tied(offer.supplier) && offer.price > 0 {
            let affordable = (self.most_true - cost).max(0) / i128::from(offer.price);
            u32::try_from(affordable).unwrap_or(u32::MAX)
        } else {
            covering
        };
        useful.min(offer.most)
    }

    fn keep(&mut self, cost: i128, lowered: i128) {
        let mut goods = [0_i64; MOST_THRESHOLDS];
        for (at, (supplier, over)) in self.asked.thresholds.iter().enumerate() {
            let bought: i128 = self
                .key
                .offers
                .iter()
                .zip(&self.counts)
                .filter(|(offer, _)| offer.supplier == *supplier)
                .map(|(offer, count)| i128::from(offer.price) * i128::from(*count))
                .sum();
            goods[at] = i64::try_from(bought).unwrap_or(i64::MAX).min(*over);
        }
        let packs = self.counts.iter().fold(0_u32, |sum, count| sum.saturating_add(*count));
        self.found.push(Cover { counts: self.counts.clone(), cost, lowered, packs, goods });
    }
}

fn unroll(last: Label, stages: &[Vec<Label>], covers: &[Vec<Cover>]) -> Vec<Counts> {
    let mut counts = Vec::with_capacity(covers.len());
    let mut label = last;
    for stage in (0..covers.len()).rev() {
        counts.push(covers[stage][label.cover as usize].counts.clone());
        label = stages[stage][label.parent as usize];
    }
    counts.reverse();
    counts
}
