//! Needs tied together by thresholds that waive shipping.
//!
//! Each need has many covers; a purchase takes one of each. Prices are lowered
//! at the suppliers whose threshold must be met (a Lagrange multiplier in
//! 1/1024 of the price, so that every sum stays whole): what a purchase costs
//! at lowered prices, plus the multiplier's share of each threshold, is never
//! more than its true cost. Covers and part-purchases whose bound lies above
//! the best purchase known are left out; so is one that costs no less and
//! reaches no further than another. Both keep the least cost. A first, narrow
//! walk that keeps only the most promising part-purchases finds a good purchase
//! to measure the rest by.

use super::cover::{Counts, Key, NEVER, Offer, Suppliers, Table};
use super::market::{Market, goods_by_supplier};

/// One part of a price in the multipliers.
const WHOLE: i64 = 1024;
/// Steps towards the best multipliers; more tighten the bound a little further
/// and cost a table of every need each.
const STEPS: usize = 40;
/// The covers of one need that are looked at.
const MOST_COVERS: usize = 12_000;
/// The part-purchases that are kept at once.
const MOST_LABELS: usize = 40_000;
/// The part-purchases kept on the first, narrow walk.
const NARROW: usize = 160;
/// The covers of one need on the narrow walk.
const NARROW_COVERS: usize = 40;
/// Thresholds that may be tied together at once.
const MOST_THRESHOLDS: usize = 6;
/// How many of the cheapest part-purchases the rest is compared with.
const COMPARED: usize = 96;

/// What is to be settled.
pub(super) struct Settlement<'a> {
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

/// A first look at a kind of purchase: its bound, and good purchases of the
/// kind. No bound when even the bound is above the ceiling, or when there are
/// more thresholds than are ever tied together (then it is not complete).
pub(super) fn look(asked: &Settlement) -> (Option<Bound>, Answer) {
    let mut purchases = Vec::new();
    if asked.thresholds.len() > MOST_THRESHOLDS {
        return (None, Answer { purchases, complete: false, work: 1 });
    }
    let Some(bound) = best_multipliers(asked, &mut purchases) else {
        return (None, Answer { purchases, complete: true, work: 200 });
    };
    let mut join = Join::new(asked, &bound);
    if let Walked::Least(counts) = join.walk(Width::Narrow, u64::MAX) {
        purchases.push(counts);
    }
    let work = join.work + 200;
    (Some(bound), Answer { purchases, complete: true, work })
}

/// Finds the cheapest purchase of a kind, unless it costs more than the ceiling.
pub(super) fn settle(asked: &Settlement, bound: &Bound, work_left: u64) -> Answer {
    if bound.value > asked.ceiling * i128::from(WHOLE) {
        return Answer { purchases: Vec::new(), complete: true, work: 1 };
    }
    let mut join = Join::new(asked, bound);
    let (purchases, complete) = match join.walk(Width::Whole, work_left) {
        Walked::Least(counts) => (vec![counts], true),
        Walked::Nothing => (Vec::new(), true),
        Walked::TooFar => (Vec::new(), false),
    };
    Answer { purchases, complete, work: join.work }
}

/// What the multipliers prove of a kind of purchase.
pub(super) struct Bound {
    /// Prices kept, in 1/1024, by supplier.
    kept: Vec<i64>,
    /// What the thresholds give back, in 1/1024 minor units, with the shipping.
    fixed: i128,
    /// The bound itself, in 1/1024 minor units.
    pub value: i128,
}

impl Settlement<'_> {
    fn may(&self, offer: &Offer) -> bool {
        self.usable & (1 << offer.supplier) != 0
    }

    fn is_tied(&self, supplier: usize) -> bool {
        self.thresholds.iter().any(|(tied, _)| *tied == supplier)
    }

    fn lowered(&self, kept: &[i64], offer: &Offer) -> Option<i64> {
        self.may(offer).then(|| kept[offer.supplier] * offer.price)
    }

    fn true_price(&self, offer: &Offer) -> Option<i64> {
        self.may(offer).then_some(offer.price)
    }
}

/// Raises the bound step by step; nothing when it passes the ceiling, which
/// proves that no purchase of this kind is better than the one known.
fn best_multipliers(asked: &Settlement, purchases: &mut Vec<Vec<Counts>>) -> Option<Bound> {
    let mut shares = vec![0.0_f64; asked.thresholds.len()];
    let mut best: Option<Bound> = None;
    let mut eagerness = 1.0_f64;
    for _ in 0..STEPS {
        let mut kept = vec![WHOLE; asked.market.terms.len()];
        let mut fixed = asked.shipping * i128::from(WHOLE);
        for ((supplier, over), share) in asked.thresholds.iter().zip(&shares) {
            let multiplier = (share * WHOLE as f64).round() as i64;
            kept[*supplier] = WHOLE - multiplier;
            fixed += i128::from(multiplier) * i128::from(*over);
        }
        let mut counts = Vec::with_capacity(asked.market.keys.len());
        let mut value = fixed;
        for key in &asked.market.keys {
            let price = |offer: &Offer| asked.lowered(&kept, offer);
            let table = Table::new(key, price);
            value += i128::from(table.least(0, key.need));
            counts.push(table.best(key, price)?);
        }
        let gap = asked.ceiling * i128::from(WHOLE) - value;
        if gap < 0 {
            return None;
        }
        let goods = goods_by_supplier(asked.market, &counts);
        let lacks: Vec<f64> = asked.thresholds.iter().map(|(s, over)| (i128::from(*over) - goods[*s]) as f64).collect();
        if lacks.iter().all(|lack| *lack <= 0.0) {
            purchases.push(counts);
        }
        if best.as_ref().is_none_or(|best| value > best.value) {
            best = Some(Bound { kept, fixed, value });
        } else {
            eagerness *= 0.6;
        }
        // What may still rise: a lack, or an excess that has a share to give back.
        let size: f64 = lacks.iter().zip(&shares).filter(|(lack, share)| **lack > 0.0 || **share > 0.0).map(|(lack, _)| lack * lack).sum();
        if size == 0.0 {
            break;
        }
        let stride = eagerness * (gap as f64 / WHOLE as f64).max(1.0) / size;
        for (share, lack) in shares.iter_mut().zip(&lacks) {
            *share = (*share + stride * lack).clamp(0.0, 1.0);
        }
    }
    best
}

/// One cover of one need.
struct Cover {
    counts: Counts,
    cost: i64,
    lowered: i64,
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

/// How many part-purchases a walk keeps.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Width {
    /// The most promising.
    Narrow,
    /// All that can lead to the least cost.
    Whole,
}

enum Walked {
    Least(Vec<Counts>),
    Nothing,
    TooFar,
}

struct Join<'a> {
    asked: &'a Settlement<'a>,
    bound: &'a Bound,
    true_tables: Vec<Table>,
    lowered_tables: Vec<Table>,
    work: u64,
}

impl<'a> Join<'a> {
    fn new(asked: &'a Settlement<'a>, bound: &'a Bound) -> Self {
        let keys = &asked.market.keys;
        let true_tables = keys.iter().map(|key| Table::new(key, |offer| asked.true_price(offer))).collect();
        let lowered_tables = keys.iter().map(|key| Table::new(key, |offer| asked.lowered(&bound.kept, offer))).collect();
        Self { asked, bound, true_tables, lowered_tables, work: 0 }
    }

    /// Takes the needs one after the other.
    fn walk(&mut self, width: Width, work_left: u64) -> Walked {
        let keys = &self.asked.market.keys;
        let ceiling = self.asked.ceiling;
        let sum = |tables: &[Table]| -> i128 { tables.iter().zip(keys).map(|(t, key)| i128::from(t.least(0, key.need))).sum() };
        let (mut rest_true, mut rest_lowered) = (sum(&self.true_tables), sum(&self.lowered_tables));
        let whole = i128::from(WHOLE);
        let slack = Slack {
            money: to_i64(ceiling - self.asked.shipping - rest_true),
            lowered: to_i64(ceiling * whole - self.bound.fixed - rest_lowered),
        };
        let covers: Option<Vec<Vec<Cover>>> = keys.iter().enumerate().map(|(at, key)| self.covers_of(at, key, &slack, width)).collect();
        let Some(covers) = covers else { return Walked::TooFar };
        let reach = Reach::after_each(&covers);
        let mut stages: Vec<Vec<Label>> = Vec::with_capacity(keys.len());
        let start = Label { cost: 0, lowered: 0, packs: 0, goods: [0; MOST_THRESHOLDS], parent: 0, cover: 0 };
        let mut now = vec![start];
        for (at, key) in keys.iter().enumerate() {
            rest_true -= i128::from(self.true_tables[at].least(0, key.need));
            rest_lowered -= i128::from(self.lowered_tables[at].least(0, key.need));
            let mut next = Vec::new();
            for (parent, label) in now.iter().enumerate() {
                for (number, cover) in covers[at].iter().enumerate() {
                    let joined = label.with(cover, parent, number);
                    let dear = joined.cost + rest_true + self.asked.shipping > ceiling
                        || joined.lowered + rest_lowered + self.bound.fixed > ceiling * whole;
                    if !dear && let Some(joined) = reach[at].settled(joined, self.asked.thresholds) {
                        next.push(joined);
                    }
                }
            }
            self.work += (now.len() * covers[at].len()) as u64;
            if self.work > work_left {
                return Walked::TooFar;
            }
            let mut next = undominated(next);
            match width {
                Width::Narrow => keep_promising(&mut next),
                Width::Whole if next.len() > MOST_LABELS => return Walked::TooFar,
                Width::Whole => {}
            }
            stages.push(std::mem::replace(&mut now, next));
        }
        // By cost, then packs, then the order of joining, which is that of pack ids.
        let last = now.iter().enumerate().min_by_key(|(at, label)| (label.cost, label.packs, *at));
        last.map_or(Walked::Nothing, |(_, label)| Walked::Least(unroll(*label, &stages, &covers)))
    }

    /// Every cover of a need within the slack, in the order of pack ids; nothing
    /// when there are too many. On the narrow walk only the most promising.
    fn covers_of(&self, at: usize, key: &Key, slack: &Slack, width: Width) -> Option<Vec<Cover>> {
        let (true_table, lowered_table) = (&self.true_tables[at], &self.lowered_tables[at]);
        let mut share = if width == Width::Narrow { 16 } else { 1 };
        loop {
            let mut walk = CoverWalk {
                asked: self.asked,
                bound: self.bound,
                key,
                most_true: true_table.least(0, key.need) + slack.money.max(0),
                most_lowered: lowered_table.least(0, key.need) + slack.lowered.max(0) / share,
                true_table,
                lowered_table,
                counts: Vec::new(),
                found: Vec::new(),
                steps: 0,
            };
            let all = walk.go(key.need, 0, 0);
            let mut found = walk.found;
            if width == Width::Whole {
                return all.then_some(found);
            }
            if all || share > 1 << 20 {
                narrow_covers(&mut found);
                return Some(found);
            }
            share *= 16;
        }
    }
}

fn to_i64(value: i128) -> i64 {
    i64::try_from(value).unwrap_or(if value < 0 { 0 } else { NEVER })
}

struct Slack {
    /// Minor units between the cheapest covers and the ceiling.
    money: i64,
    /// The same at lowered prices, in 1/1024.
    lowered: i64,
}

impl Label {
    fn with(&self, cover: &Cover, parent: usize, number: usize) -> Self {
        let mut goods = self.goods;
        for (sum, more) in goods.iter_mut().zip(&cover.goods) {
            *sum += more;
        }
        Self {
            cost: self.cost + i128::from(cover.cost),
            lowered: self.lowered + i128::from(cover.lowered),
            packs: self.packs.saturating_add(cover.packs),
            goods,
            parent: parent as u32,
            cover: number as u32,
        }
    }
}

/// The goods that the needs still to come bring at least and at most.
#[derive(Clone, Copy)]
struct Reach {
    least: [i64; MOST_THRESHOLDS],
    most: [i64; MOST_THRESHOLDS],
}

impl Reach {
    /// One for each need: what comes after it.
    fn after_each(covers: &[Vec<Cover>]) -> Vec<Self> {
        let mut now = Self { least: [0; MOST_THRESHOLDS], most: [0; MOST_THRESHOLDS] };
        let mut all = vec![now; covers.len()];
        for (at, covers) in covers.iter().enumerate().rev() {
            all[at] = now;
            for threshold in 0..MOST_THRESHOLDS {
                let goods = || covers.iter().map(|cover| cover.goods[threshold]);
                now.least[threshold] += goods().min().unwrap_or(0);
                now.most[threshold] += goods().max().unwrap_or(0);
            }
        }
        all
    }

    /// A part-purchase with its goods raised to the threshold where whatever
    /// comes reaches it, so that alike ones become one; nothing when a threshold
    /// is out of reach.
    fn settled(&self, mut label: Label, thresholds: &[(usize, i64)]) -> Option<Label> {
        for (at, (_, over)) in thresholds.iter().enumerate() {
            if label.goods[at] + self.most[at] < *over {
                return None;
            }
            if label.goods[at] + self.least[at] >= *over {
                label.goods[at] = *over;
            }
        }
        Some(label)
    }
}

fn narrow_covers(covers: &mut Vec<Cover>) {
    let mut order: Vec<usize> = (0..covers.len()).collect();
    order.sort_by_key(|&at| (covers[at].lowered, covers[at].packs, at));
    order.truncate(NARROW_COVERS);
    let mut at = 0;
    covers.retain(|_| {
        at += 1;
        order.contains(&(at - 1))
    });
}

/// Keeps the part-purchases that cost least at lowered prices, in their order.
fn keep_promising(labels: &mut Vec<Label>) {
    let mut order: Vec<usize> = (0..labels.len()).collect();
    order.sort_by_key(|&at| (labels[at].lowered, at));
    order.truncate(NARROW);
    order.sort_unstable();
    *labels = order.into_iter().map(|at| labels[at]).collect();
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

struct CoverWalk<'a> {
    asked: &'a Settlement<'a>,
    bound: &'a Bound,
    key: &'a Key,
    most_true: i64,
    most_lowered: i64,
    true_table: &'a Table,
    lowered_table: &'a Table,
    counts: Counts,
    found: Vec<Cover>,
    steps: usize,
}

impl CoverWalk<'_> {
    /// Walks the counts of the next offer, most first; false when a limit is met.
    fn go(&mut self, left: u32, cost: i64, lowered: i64) -> bool {
        let i = self.counts.len();
        self.steps += 1;
        if self.found.len() > MOST_COVERS || self.steps > MOST_COVERS * 40 {
            return false;
        }
        let too_dear =
            cost + self.true_table.least(i, left) > self.most_true || lowered + self.lowered_table.least(i, left) > self.most_lowered;
        if too_dear {
            return true;
        }
        let Some(offer) = self.key.offers.get(i).copied() else {
            self.keep(cost, lowered);
            return true;
        };
        for count in (0..=self.most_of(&offer, left, cost)).rev() {
            let many = i64::from(count) * offer.price;
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
    fn most_of(&self, offer: &Offer, left: u32, cost: i64) -> u32 {
        if !self.asked.may(offer) {
            return 0;
        }
        let covering = left.div_ceil(offer.pieces);
        let useful = if self.asked.is_tied(offer.supplier) && offer.price > 0 {
            let affordable = (self.most_true - cost).max(0) / offer.price;
            u32::try_from(affordable).unwrap_or(u32::MAX)
        } else {
            covering
        };
        useful.min(offer.most)
    }

    fn keep(&mut self, cost: i64, lowered: i64) {
        let mut goods = [0_i64; MOST_THRESHOLDS];
        for (at, (supplier, over)) in self.asked.thresholds.iter().enumerate() {
            let own = self.key.offers.iter().zip(&self.counts).filter(|(offer, _)| offer.supplier == *supplier);
            goods[at] = own.map(|(offer, count)| offer.price * i64::from(*count)).sum::<i64>().min(*over);
        }
        let packs = self.counts.iter().fold(0_u32, |sum, count| sum.saturating_add(*count));
        self.found.push(Cover { counts: self.counts.clone(), cost, lowered, packs, goods });
    }
}

fn unroll(last: Label, stages: &[Vec<Label>], covers: &[Vec<Cover>]) -> Vec<Counts> {
    let mut counts = Vec::with_capacity(covers.len());
    let mut label = last;
    // `stages[n]` holds what was kept before need `n` was joined.
    for stage in (0..covers.len()).rev() {
        counts.push(covers[stage][label.cover as usize].counts.clone());
        label = stages[stage][label.parent as usize];
    }
    counts.reverse();
    counts
}
