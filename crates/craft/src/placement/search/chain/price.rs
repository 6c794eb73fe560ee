//! Prices: what mass and rows must be worth, and the chains solved at them.

use super::{FAR_AWAY, FINE, NONE, Prices, Walk, ZONES, apart};

/// Price steps on the chain without brick, and then with it.
const LOOSE_STEPS: usize = 40;
const TIGHT_STEPS: usize = 12;
/// Steps on the chain with brick that may fail one after another.
const VAIN_STEPS: usize = 4;

/// What the loose chain says about each row: the least below it, on it, above it.
pub(super) struct Loose {
    pub bound: i64,
    pub below: Vec<i64>,
    pub above: Vec<i64>,
    slope: [f64; ZONES],
    rows: usize,
}

impl Walk<'_> {
    /// Finds prices by subgradient steps on the chain without brick.
    pub(super) fn price_loosely(&mut self, objective: i64) {
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
    pub(super) fn step(&mut self, at: &mut [f64; ZONES + 1], length: f64, mass: &[f64; ZONES], rows: usize) -> bool {
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

    pub(super) fn loose(&self) -> Loose {
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
    pub(super) fn tails(&self, r: usize) -> (Vec<i64>, Vec<i64>) {
        let row = &self.ready.rows[r];
        let n = row.id.len();
        let stride = n + 1;
        let gain: Vec<i64> = (0..n).map(|i| row.cost_of[i] * FINE - self.prices.mass[row.zone[i] as usize] * row.mass[i]).collect();
        let mut tail = vec![0; (row.most + 1) * stride];
        for k in 1..=row.most {
            for i in (0..n).rev() {
                tail[k * stride + i] = tail[k * stride + i + 1].min(gain[i] + tail[(k - 1) * stride + row.next[i] as usize]);
            }
        }
        (tail, gain)
    }

    /// Finds better prices on the chain with brick, striking out ways as it goes.
    pub(super) fn price_tightly(&mut self, objective: i64) {
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
    pub(super) fn chain(&mut self) -> (i64, [f64; ZONES], usize) {
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
    pub(super) fn strike_out(&mut self, objective: i64) {
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
}

fn to_float(prices: &Prices) -> [f64; ZONES + 1] {
    let mut at = [0.0; ZONES + 1];
    for z in 0..ZONES {
        at[z] = prices.mass[z] as f64;
    }
    at[ZONES] = prices.row as f64;
    at
}
