//! The exact walk from the nape upward.
//!
//! Rows only bind their near neighbours (spacing, brick) and, all together,
//! the mass wished for by zone. Price the mass (Lagrange) and what is left is
//! a chain, solved exactly. The prices bound every layout from below, so any
//! way of laying a row whose bound reaches the layout in hand is struck out;
//! over the ways left, part-built layouts are carried upward row by row, and
//! one that is worse than another in every respect is dropped. When nothing
//! had to be left out for want of room, the best layout is proved best.
//!
//! Costs here are in 1/256 of the board's unit, so that prices can be fine and
//! sums stay whole and exact.

use super::Effort;
use super::anneal::Archive;
use super::board::{Pattern, Ready, ZONES};
use super::wish::WishTable;
use std::collections::BTreeMap;

const FINE: i64 = 256;
const FAR_AWAY: i64 = i64::MAX / 4;
const NONE: u32 = u32::MAX;
/// Words of the bit sets of centres; boards with more distinct centres than
/// bits are left to the annealer.
const WORDS: usize = 4;
type Centres = [u64; WORDS];

/// Price steps on the chain without brick, and then with it.
const LOOSE_STEPS: usize = 40;
const TIGHT_STEPS: usize = 12;
/// Steps on the chain with brick that may fail one after another.
const VAIN_STEPS: usize = 4;

/// No row is searched for more ways than this.
const MOST_OF_ROW: usize = 30_000;

/// One way of laying a row.
#[derive(Debug, Clone)]
struct Way {
    pattern: Pattern,
    cost: i64,
    mass: [i64; ZONES],
    /// Centres it has, and centres it forbids to rows in brick.
    has: Centres,
    forbids: Centres,
    /// Priced cost; least cost of a chain beginning with it upward; of one ending with it.
    priced: i64,
    upward: i64,
    downward: i64,
    /// Where the least chain upward goes on: row and way.
    next: (u32, u32),
}

#[derive(Debug, Clone, Copy)]
struct Prices {
    mass: [i64; ZONES],
    row: i64,
}

impl Prices {
    fn constant(&self, ready: &Ready) -> i64 {
        (0..ready.zones).map(|z| self.mass[z] * ready.targets[z]).sum::<i64>() - self.row * ready.max_rows as i64
    }

    fn of(&self, cost: i64, mass: &[i64; ZONES], counts: bool) -> i64 {
        let worth: i64 = self.mass.iter().zip(mass).map(|(p, m)| p * m).sum();
        cost * FINE - worth + if counts { self.row } else { 0 }
    }
}

/// Which rows may stand above and below each.
struct Links {
    up_near: Vec<Vec<usize>>,
    up_far: Vec<Vec<usize>>,
    down_near: Vec<Vec<usize>>,
    down_far: Vec<Vec<usize>>,
}

impl Links {
    fn new(ready: &Ready) -> Self {
        let n = ready.rows.len();
        let mut links =
            Self { up_near: vec![vec![]; n], up_far: vec![vec![]; n], down_near: vec![vec![]; n], down_far: vec![vec![]; n] };
        for low in 0..n {
            for high in low + 1..n {
                if ready.rows[low].crowded.contains(&high) {
                    continue;
                }
                if ready.rows[low].brick.contains(&high) {
                    links.up_near[low].push(high);
                    links.down_near[high].push(low);
                } else {
                    links.up_far[low].push(high);
                    links.down_far[high].push(low);
                }
            }
        }
        links
    }
}

/// Improves the archive's best as far as the effort allows and returns a bound
/// that no layout can go below.
pub fn finish(ready: &Ready, effort: Effort, archive: &mut Archive) -> i64 {
    let Some(centres) = CentreTable::new(ready) else {
        return 0;
    };
    if ready.rows.is_empty() {
        return archive.best_objective();
    }
    let links = Links::new(ready);
    let mut walk = Walk { ready, links, ways: Vec::new(), prices: start_prices(ready), left_out: FAR_AWAY, table: None };
    walk.price_loosely(archive.best_objective());
    walk.table = WishTable::new(ready, walk.prices.row > 0);
    if walk.table.as_ref().is_some_and(|table| table.bound() >= archive.best_objective()) {
        return archive.best_objective();
    }
    walk.gather(&centres, archive.best_objective(), effort.patterns);
    walk.price_tightly(archive.best_objective());
    for room in [effort.labels / 16, effort.labels] {
        let before = archive.best_objective();
        let dropped = walk.carry(room.max(1), archive);
        if dropped == FAR_AWAY {
            return bound_of(walk.left_out, archive.best_objective());
        }
        if room == effort.labels {
            return bound_of(walk.left_out.min(dropped), archive.best_objective());
        }
        if archive.best_objective() < before {
            walk.strike_out(archive.best_objective());
        }
    }
    0
}

/// The bound in the board's unit: whole, so rounded up, and never above the
/// layout in hand.
fn bound_of(fine: i64, objective: i64) -> i64 {
    ((fine + FINE - 1) / FINE).clamp(0, objective)
}

fn start_prices(ready: &Ready) -> Prices {
    let mut mass = [0; ZONES];
    for z in 0..ready.zones {
        mass[z] = ready.short[z] * FINE / 2;
    }
    Prices { mass, row: 0 }
}

struct CentreTable {
    values: Vec<i32>,
    forbids: Vec<Centres>,
}

impl CentreTable {
    fn new(ready: &Ready) -> Option<Self> {
        let mut values: Vec<i32> = ready.rows.iter().flat_map(|r| r.centre.iter().copied()).collect();
        values.sort_unstable();
        values.dedup();
        if values.len() > WORDS * 64 {
            return None;
        }
        let least = 2 * ready.board.brick.offset;
        let forbids = values
            .iter()
            .map(|a| {
                let mut set = [0; WORDS];
                for (bit, b) in values.iter().enumerate() {
                    if (a - b).abs() < least {
                        set[bit / 64] |= 1 << (bit % 64);
                    }
                }
                set
            })
            .collect();
        Some(Self { values, forbids })
    }

    fn sets(&self, centres: impl Iterator<Item = i32>) -> (Centres, Centres) {
        let (mut has, mut forbids) = ([0; WORDS], [0; WORDS]);
        for centre in centres {
            if let Ok(bit) = self.values.binary_search(&centre) {
                has[bit / 64] |= 1 << (bit % 64);
                for w in 0..WORDS {
                    forbids[w] |= self.forbids[bit][w];
                }
            }
        }
        (has, forbids)
    }
}

fn apart(forbids: &Centres, has: &Centres) -> bool {
    (0..WORDS).all(|w| forbids[w] & has[w] == 0)
}

struct Walk<'a> {
    ready: &'a Ready<'a>,
    links: Links,
    /// The ways of each row still in play; sorted by `upward` once priced tightly.
    ways: Vec<Vec<Way>>,
    prices: Prices,
    /// Every layout that needs a way left out for want of room costs at least this.
    left_out: i64,
    table: Option<WishTable>,
}

/// What the loose chain says about each row: the least below it, on it, above it.
struct Loose {
    bound: i64,
    below: Vec<i64>,
    above: Vec<i64>,
    slope: [f64; ZONES],
    rows: usize,
}

impl Walk<'_> {
    /// Finds prices by subgradient steps on the chain without brick.
    fn price_loosely(&mut self, objective: i64) {
        let mut best = i64::MIN;
        let mut best_prices = self.prices;
        let mut at = to_float(&self.prices);
        let mut share = 1.0;
        for _ in 0..LOOSE_STEPS {
            let loose = self.loose();
            if loose.bound > best {
                best = loose.bound;
                best_prices = self.prices;
            } else {
                share *= 0.85;
            }
            let gap = (objective * FINE - loose.bound) as f64;
            if !self.step(&mut at, share * gap, &loose.slope, loose.rows) {
                break;
            }
        }
        self.prices = best_prices;
    }

    /// One step of the prices along the slope of the bound; false when flat.
    fn step(&mut self, at: &mut [f64; ZONES + 1], length: f64, mass: &[f64; ZONES], rows: usize) -> bool {
        let mut slope = [0.0; ZONES + 1];
        for z in 0..self.ready.zones {
            slope[z] = self.ready.targets[z] as f64 - mass[z];
            let stuck = (slope[z] > 0.0 && at[z] >= (self.ready.short[z] * FINE) as f64) || (slope[z] < 0.0 && at[z] <= 0.0);
            if stuck {
                slope[z] = 0.0;
            }
        }
        slope[ZONES] = rows as f64 - self.ready.max_rows as f64;
        if slope[ZONES] < 0.0 && at[ZONES] <= 0.0 {
            slope[ZONES] = 0.0;
        }
        let square: f64 = slope.iter().map(|s| s * s).sum();
        if square == 0.0 || length <= 0.0 {
            return false;
        }
        for z in 0..self.ready.zones {
            at[z] = (at[z] + length * slope[z] / square).clamp(0.0, (self.ready.short[z] * FINE) as f64);
            self.prices.mass[z] = at[z] as i64;
        }
        at[ZONES] = (at[ZONES] + length * slope[ZONES] / square).max(0.0);
        self.prices.row = at[ZONES] as i64;
        true
    }

    fn loose(&self) -> Loose {
        let n = self.ready.rows.len();
        let best: Vec<(i64, [f64; ZONES])> = (0..n).map(|r| self.best_way(r)).collect();
        let counts = |r: usize| usize::from(self.ready.rows[r].counts);
        let mut upward = vec![0; n];
        let mut above = vec![0; n];
        let mut next = vec![None; n];
        for r in (0..n).rev() {
            let found = self.links.up_near[r].iter().chain(&self.links.up_far[r]).min_by_key(|&&o| (upward[o], o));
            if let Some(&o) = found
                && upward[o] < 0
            {
                above[r] = upward[o];
                next[r] = Some(o);
            }
            upward[r] = best[r].0 + above[r];
        }
        let mut below = vec![0; n];
        for r in 0..n {
            let least = self.links.down_near[r].iter().chain(&self.links.down_far[r]).map(|&o| best[o].0 + below[o]).min();
            below[r] = least.unwrap_or(0).min(0);
        }
        let mut slope = [0.0; ZONES];
        let mut rows = 0;
        let mut at = (0..n).min_by_key(|&r| (upward[r], r)).filter(|&r| upward[r] < 0);
        let bound = at.map_or(0, |r| upward[r]) + self.prices.constant(self.ready);
        while let Some(r) = at {
            for z in 0..ZONES {
                slope[z] += best[r].1[z];
            }
            rows += counts(r);
            at = next[r];
        }
        Loose { bound, below, above, slope, rows }
    }

    /// The least priced way of laying row `r` with at least one place, and its mass.
    fn best_way(&self, r: usize) -> (i64, [f64; ZONES]) {
        let row = &self.ready.rows[r];
        let n = row.id.len();
        let (tail, gain) = self.tails(r);
        let stride = n + 1;
        let mut mass = [0.0; ZONES];
        // The first place is forced, the rest is as the tails say.
        let first = |i: usize| gain[i] + tail[(row.most - 1) * stride + row.next[i] as usize];
        let Some(start) = (0..n).min_by_key(|&i| (first(i), i)) else {
            return (FAR_AWAY, mass);
        };
        let total = first(start) + row.cost * FINE + if row.counts { self.prices.row } else { 0 };
        let mut left = row.most;
        let mut i = start;
        let mut take = true;
        while i < n && left > 0 {
            if take || tail[left * stride + i] < tail[left * stride + i + 1] {
                mass[row.zone[i] as usize] += row.mass[i] as f64;
                left -= 1;
                i = row.next[i] as usize;
                take = false;
            } else {
                i += 1;
            }
        }
        (total, mass)
    }

    /// `tails[k][i]`: the least that at most k places from i on add; and each place's own gain.
    fn tails(&self, r: usize) -> (Vec<i64>, Vec<i64>) {
        let row = &self.ready.rows[r];
        let n = row.id.len();
        let stride = n + 1;
        let gain: Vec<i64> =
            (0..n).map(|i| row.cost_of[i] * FINE - self.prices.mass[row.zone[i] as usize] * row.mass[i]).collect();
        let mut tail = vec![0; (row.most + 1) * stride];
        for k in 1..=row.most {
            for i in (0..n).rev() {
                tail[k * stride + i] =
                    tail[k * stride + i + 1].min(gain[i] + tail[(k - 1) * stride + row.next[i] as usize]);
            }
        }
        (tail, gain)
    }

    /// Lists every way of laying every row that could be part of a layout
    /// better than `objective`; when they are too many, the likeliest.
    fn gather(&mut self, centres: &CentreTable, objective: i64, room: usize) {
        let loose = self.loose();
        let full = (objective - 1) * FINE;
        let mut gap = full - loose.bound;
        loop {
            let limit = loose.bound + gap;
            self.ways.clear();
            let mut total = 0;
            for r in 0..self.ready.rows.len() {
                let rest = loose.below[r] + loose.above[r] + self.prices.constant(self.ready);
                let Some(ways) = self.ways_of(r, limit - rest, centres, objective) else {
                    total = room;
                    break;
                };
                total += ways.len();
                self.ways.push(ways);
                if total >= room {
                    break;
                }
            }
            if total < room {
                self.left_out = if limit < full { limit } else { FAR_AWAY };
                return;
            }
            gap = gap * 3 / 4;
            if gap < FINE {
                self.ways.resize(self.ready.rows.len(), Vec::new());
                self.left_out = loose.bound;
                return;
            }
        }
    }

    /// Keeps the ways that could be part of a better layout as far as the mass
    /// wished for goes.
    fn sift(&self, r: usize, ways: &mut Vec<Pattern>, objective: i64) {
        let Some(table) = &self.table else {
            return;
        };
        let mut around = BTreeMap::new();
        ways.retain(|pattern| {
            let units = table.units(self.ready, pattern);
            let rest = *around.entry(units).or_insert_with(|| table.least_around(self.ready, r, &units));
            self.ready.weigh(pattern).0 + rest < objective
        });
    }

    /// The ways of row `r` of priced cost at most `limit`; nothing when they are too many to list.
    fn ways_of(&self, r: usize, limit: i64, centres: &CentreTable, objective: i64) -> Option<Vec<Way>> {
        struct Hunt<'a> {
            row: &'a super::board::ReadyRow,
            tail: &'a [i64],
            gain: &'a [i64],
            limit: i64,
            room: usize,
            found: Vec<Pattern>,
        }
        impl Hunt<'_> {
            fn go(&mut self, from: usize, left: usize, priced: i64, pattern: &mut Pattern) {
                let n = self.row.id.len();
                for i in from..n {
                    if self.found.len() >= self.room || priced + self.tail[left * (n + 1) + i] > self.limit {
                        return;
                    }
                    let now = priced + self.gain[i];
                    let next = self.row.next[i] as usize;
                    if now + self.tail[(left - 1) * (n + 1) + next] > self.limit {
                        continue;
                    }
                    let before = pattern.len;
                    pattern.push(i);
                    if now <= self.limit {
                        self.found.push(*pattern);
                    }
                    if left > 1 {
                        self.go(next, left - 1, now, pattern);
                    }
                    pattern.len = before;
                    pattern.at[before as usize] = 0;
                }
            }
        }
        let row = &self.ready.rows[r];
        let (tail, gain) = self.tails(r);
        let start = row.cost * FINE + if row.counts { self.prices.row } else { 0 };
        let mut hunt = Hunt { row, tail: &tail, gain: &gain, limit, room: MOST_OF_ROW, found: Vec::new() };
        hunt.go(0, row.most, start, &mut Pattern::empty(r));
        let mut found = hunt.found;
        if found.len() >= MOST_OF_ROW {
            return None;
        }
        self.sift(r, &mut found, objective);
        let ways = found
            .into_iter()
            .map(|pattern| {
                let (cost, mass) = self.ready.weigh(&pattern);
                let (has, forbids) = centres.sets(pattern.places().iter().map(|&i| row.centre[i as usize]));
                Way { pattern, cost, mass, has, forbids, priced: 0, upward: 0, downward: 0, next: (NONE, NONE) }
            })
            .collect();
        Some(ways)
    }

    /// Finds better prices on the chain with brick, striking out ways as it goes.
    fn price_tightly(&mut self, objective: i64) {
        let mut best = i64::MIN;
        let mut best_prices = self.prices;
        let mut at = to_float(&self.prices);
        let mut share = 0.5;
        let mut vain = 0;
        for _ in 0..TIGHT_STEPS {
            let (bound, mass, rows) = self.chain();
            if bound > best {
                best = bound;
                best_prices = self.prices;
                vain = 0;
                self.strike_out(objective);
            } else {
                share *= 0.5;
                vain += 1;
            }
            if vain == VAIN_STEPS {
                break;
            }
            if !self.step(&mut at, share * (objective * FINE - bound) as f64, &mass, rows) {
                break;
            }
        }
        self.prices = best_prices;
        self.chain();
        self.strike_out(objective);
    }

    /// Solves the priced chain upward: every way's `priced`, `upward` and
    /// `next`, ways sorted by `upward`. Returns the bound, and the mass and
    /// rows of the least chain.
    fn chain(&mut self) -> (i64, [f64; ZONES], usize) {
        let n = self.ready.rows.len();
        for r in (0..n).rev() {
            let counts = self.ready.rows[r].counts;
            let (mut far, mut far_next) = (0, (NONE, NONE));
            for &o in &self.links.up_far[r] {
                if let Some(way) = self.ways[o].first()
                    && way.upward < far
                {
                    far = way.upward;
                    far_next = (o as u32, 0);
                }
            }
            let (low, high) = self.ways.split_at_mut(r + 1);
            for way in &mut low[r] {
                way.priced = self.prices.of(way.cost, &way.mass, counts);
                let (mut least, mut next) = (far, far_next);
                for &o in &self.links.up_near[r] {
                    for (w, other) in high[o - r - 1].iter().enumerate() {
                        if other.upward >= least {
                            break;
                        }
                        if apart(&way.forbids, &other.has) {
                            least = other.upward;
                            next = (o as u32, w as u32);
                            break;
                        }
                    }
                }
                way.upward = way.priced + least;
                way.next = next;
            }
            low[r].sort_by_key(|way| (way.upward, way.pattern));
        }
        let mut at = (NONE, NONE);
        let mut least = 0;
        for r in 0..n {
            if let Some(way) = self.ways[r].first()
                && way.upward < least
            {
                least = way.upward;
                at = (r as u32, 0);
            }
        }
        let mut mass = [0.0; ZONES];
        let mut rows = 0;
        while at.0 != NONE {
            let way = &self.ways[at.0 as usize][at.1 as usize];
            for (sum, more) in mass.iter_mut().zip(way.mass) {
                *sum += more as f64;
            }
            rows += usize::from(self.ready.rows[at.0 as usize].counts);
            at = way.next;
        }
        (least + self.prices.constant(self.ready), mass, rows)
    }

    /// Strikes out every way whose best chain through it cannot beat `objective`.
    /// Needs `chain` to have been solved at the present prices.
    fn strike_out(&mut self, objective: i64) {
        let n = self.ready.rows.len();
        let constant = self.prices.constant(self.ready);
        let limit = (objective - 1) * FINE;
        // Ways of lower rows in order of their chains downward.
        let mut order: Vec<Vec<u32>> = Vec::with_capacity(n);
        for r in 0..n {
            let mut far = 0;
            for &o in &self.links.down_far[r] {
                if let Some(&w) = order[o].first() {
                    far = far.min(self.ways[o][w as usize].downward);
                }
            }
            let (low, high) = self.ways.split_at_mut(r);
            for way in &mut high[0] {
                let mut least = far;
                for &o in &self.links.down_near[r] {
                    for &w in &order[o] {
                        let other = &low[o][w as usize];
                        if other.downward >= least {
                            break;
                        }
                        if apart(&way.forbids, &other.has) {
                            least = other.downward;
                            break;
                        }
                    }
                }
                way.downward = way.priced + least;
            }
            high[0].retain(|way| way.upward + way.downward - way.priced + constant <= limit);
            let mut by_downward: Vec<u32> = (0..high[0].len() as u32).collect();
            by_downward.sort_by_key(|&w| (high[0][w as usize].downward, w));
            order.push(by_downward);
        }
    }

    /// Carries part-built layouts upward. Gives the least bound among those
    /// dropped for want of room (`FAR_AWAY` when none was).
    fn carry(&self, room: usize, archive: &mut Archive) -> i64 {
        let mut carry = Carry {
            walk: self,
            constant: self.prices.constant(self.ready),
            labels: vec![Label { bound: 0, cost: 0, mass: [0; ZONES], counted: 0, row: NONE, way: NONE, from: NONE }],
            of_row: Vec::new(),
            dropped: FAR_AWAY,
            cut: FAR_AWAY,
            room,
        };
        for r in 0..self.ready.rows.len() {
            carry.row(r, archive);
        }
        carry.dropped
    }
}

fn to_float(prices: &Prices) -> [f64; ZONES + 1] {
    let mut at = [0.0; ZONES + 1];
    for z in 0..ZONES {
        at[z] = prices.mass[z] as f64;
    }
    at[ZONES] = prices.row as f64;
    at
}

/// A layout built up to one way of one row. Mass is counted up to the target.
#[derive(Debug, Clone, Copy)]
struct Label {
    /// No layout built on this one costs less.
    bound: i64,
    cost: i64,
    mass: [i64; ZONES],
    counted: u16,
    row: u32,
    way: u32,
    from: u32,
}

impl Label {
    /// At least as good as the other whatever follows.
    fn beats(&self, other: &Self) -> bool {
        self.cost <= other.cost && self.counted <= other.counted && self.mass.iter().zip(&other.mass).all(|(a, b)| a >= b)
    }
}

/// The order in which labels are kept when there is not room for all.
const fn likelihood(label: &Label) -> (i64, i64, u32, u32) {
    (label.bound, label.cost, label.way, label.from)
}

struct Carry<'a> {
    walk: &'a Walk<'a>,
    constant: i64,
    labels: Vec<Label>,
    /// Labels ending on each row done.
    of_row: Vec<std::ops::Range<usize>>,
    dropped: i64,
    /// Labels of the row under work above this bound are not made.
    cut: i64,
    room: usize,
}

impl Carry<'_> {
    fn priced(&self, label: &Label) -> i64 {
        let prices = &self.walk.prices;
        prices.of(label.cost, &label.mass, false) + i64::from(label.counted) * prices.row
    }

    fn row(&mut self, r: usize, archive: &mut Archive) {
        let walk = self.walk;
        let start = self.labels.len();
        if !walk.ways[r].is_empty() {
            let mut far = vec![0_u32];
            for &o in &walk.links.down_far[r] {
                far.extend(self.of_row[o].clone().map(|l| l as u32));
            }
            self.shorten(&mut far, 4 * self.room);
            self.thin(&mut far);
            self.shorten(&mut far, self.room);
            let mut made = Vec::new();
            self.cut = FAR_AWAY;
            for &l in &far {
                self.extend(r, l, None, &mut made, archive);
            }
            for &o in &walk.links.down_near[r] {
                for l in self.of_row[o].clone() {
                    let way = self.labels[l].way as usize;
                    self.extend(r, l as u32, Some(&walk.ways[o][way].forbids), &mut made, archive);
                }
            }
            self.settle(made, archive.best_objective());
        }
        self.of_row.push(start..self.labels.len());
    }

    /// Drops labels that another beats, whatever row they end on.
    fn thin(&self, far: &mut Vec<u32>) {
        far.sort_by_key(|&l| (self.labels[l as usize].cost, l));
        let mut kept: Vec<u32> = Vec::new();
        for &l in far.iter() {
            let label = &self.labels[l as usize];
            if !kept.iter().any(|&k| self.labels[k as usize].beats(label)) {
                kept.push(l);
            }
        }
        *far = kept;
    }

    /// Keeps as many of the labels as there is room for, the likeliest.
    fn shorten(&mut self, far: &mut Vec<u32>, room: usize) {
        if far.len() <= room {
            return;
        }
        far.sort_by_key(|&l| likelihood(&self.labels[l as usize]));
        self.dropped = self.dropped.min(self.labels[far[room] as usize].bound);
        far.truncate(room);
    }

    /// Puts every way of row `r` that may still win on top of label `l`.
    fn extend(&mut self, r: usize, l: u32, forbids: Option<&Centres>, made: &mut Vec<Label>, archive: &mut Archive) {
        let ready = self.walk.ready;
        let label = self.labels[l as usize];
        let row = &ready.rows[r];
        let counted = label.counted + u16::from(row.counts);
        if usize::from(counted) > ready.max_rows {
            return;
        }
        let base = self.priced(&label) + self.constant;
        let mut limit = self.cut.min((archive.best_objective() - 1) * FINE);
        for (w, way) in self.walk.ways[r].iter().enumerate() {
            if base + way.upward > limit {
                break;
            }
            if forbids.is_some_and(|f| !apart(f, &way.has)) {
                continue;
            }
            let mut next = Label { bound: 0, cost: label.cost + way.cost, mass: label.mass, counted, row: r as u32, way: w as u32, from: l };
            for z in 0..ready.zones {
                next.mass[z] = (next.mass[z] + way.mass[z]).min(ready.targets[z]);
            }
            let mut bound = self.priced(&next) + self.constant + way.upward - way.priced;
            if bound > limit {
                continue;
            }
            if let Some(table) = &self.walk.table {
                bound = bound.max((next.cost + table.least_above(r, &next.mass, usize::from(counted))) * FINE);
            }
            if bound > limit {
                continue;
            }
            let whole = next.cost + ready.shortfall_cost(&next.mass);
            if whole < archive.best_objective() {
                archive.offer(ready, &self.unroll(&next));
                limit = limit.min((archive.best_objective() - 1) * FINE);
            }
            next.bound = bound;
            made.push(next);
            if made.len() > 16 * self.room {
                // Too many to keep: only the likelier half, and none worse from here on.
                let (_, worst, _) = made.select_nth_unstable_by_key(8 * self.room, likelihood);
                self.cut = worst.bound - 1;
                self.dropped = self.dropped.min(worst.bound);
                made.retain(|label| label.bound <= self.cut);
                limit = limit.min(self.cut);
            }
        }
    }

    /// The layout a label stands for.
    fn unroll(&self, label: &Label) -> Vec<Pattern> {
        let mut rows = Vec::new();
        let mut at = *label;
        while at.row != NONE {
            rows.push(self.walk.ways[at.row as usize][at.way as usize].pattern);
            at = self.labels[at.from as usize];
        }
        rows.reverse();
        rows
    }

    /// Keeps the labels of row `r` that no other beats, the likeliest if too many.
    fn settle(&mut self, mut made: Vec<Label>, objective: i64) {
        let limit = (objective - 1) * FINE;
        made.retain(|label| label.bound <= limit);
        made.sort_by_key(|label| (label.way, label.cost, label.bound, label.from));
        let mut kept: Vec<Label> = Vec::with_capacity(made.len());
        let mut group = 0;
        for label in made {
            if kept.last().is_some_and(|last| last.way != label.way) {
                group = kept.len();
            }
            if !kept[group..].iter().any(|other| other.beats(&label)) {
                kept.push(label);
            }
        }
        if kept.len() > self.room {
            kept.sort_by_key(likelihood);
            self.dropped = self.dropped.min(kept[self.room].bound);
            kept.truncate(self.room);
        }
        self.labels.append(&mut kept);
    }
}
