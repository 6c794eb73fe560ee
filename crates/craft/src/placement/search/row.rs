//! Laying one row as well as it can be laid while all others stand.

use super::board::{MOST, Pattern, Ready, ZONES};

/// Looks at this many part-laid rows at most; a row that needs more is laid
/// with the best seen. Reached only by rows of very many places.
const MOST_LOOKS: usize = 20_000;

/// Room for laying rows, kept between calls so that nothing is allocated.
#[derive(Debug, Default)]
pub struct Bench {
    /// Cost of each place as seen in this call (true cost plus chance).
    pub cost: Vec<i64>,
    pub allowed: Vec<bool>,
    /// `tail[k][i]`: the least any k places from i on can add.
    tail: Vec<i64>,
}

struct Look<'a> {
    row: &'a super::board::ReadyRow,
    short: &'a [i64; ZONES],
    zones: usize,
    bench: &'a Bench,
    stride: usize,
    best: i64,
    best_pattern: Pattern,
    looks: usize,
}

impl Bench {
    /// The pattern of least cost on row `r`, with the cost of the shortfall it
    /// leaves of `wanted`; `allowed` and `cost` must have been set. The empty
    /// row is among the answers.
    pub fn lay(&mut self, ready: &Ready, r: usize, wanted: &[i64; ZONES]) -> Pattern {
        let row = &ready.rows[r];
        let n = row.id.len();
        let most = row.most.min(n);
        let stride = n + 1;
        self.tail.clear();
        self.tail.resize((most + 1) * stride, 0);
        // Optimistic: each place may take the full price for what is wanted,
        // as if it were alone.
        for k in 1..=most {
            for i in (0..n).rev() {
                let mut least = self.tail[k * stride + i + 1];
                if self.allowed[i] {
                    let z = row.zone[i] as usize;
                    let gain = self.cost[i] - ready.short[z] * row.mass[i].min(wanted[z].max(0));
                    least = least.min(gain + self.tail[(k - 1) * stride + row.next[i] as usize]);
                }
                self.tail[k * stride + i] = least;
            }
        }
        let short_all: i64 = (0..ready.zones).map(|z| ready.short[z] * wanted[z].max(0)).sum();
        let mut look = Look {
            row,
            short: &ready.short,
            zones: ready.zones,
            bench: self,
            stride,
            best: short_all,
            best_pattern: Pattern::empty(r),
            looks: 0,
        };
        let mut pattern = Pattern::empty(r);
        look.go(0, most, row.cost, short_all, wanted, &mut pattern);
        look.best_pattern
    }
}

impl Look<'_> {
    fn go(&mut self, from: usize, left: usize, cost: i64, short: i64, wanted: &[i64; ZONES], pattern: &mut Pattern) {
        self.looks += 1;
        if left == 0 || cost + self.row.least_cost >= self.best || self.looks > MOST_LOOKS {
            return;
        }
        let tail = &self.bench.tail[left * self.stride..];
        for i in from..self.row.id.len() {
            if cost + short + tail[i] >= self.best {
                return;
            }
            if !self.bench.allowed[i] {
                continue;
            }
            let z = self.row.zone[i] as usize;
            let mut rest = *wanted;
            rest[z] -= self.row.mass[i];
            let cost_now = cost + self.bench.cost[i];
            let short_now = short - self.short[z] * (wanted[z].max(0) - rest[z].max(0));
            let before = pattern.len;
            pattern.push(i);
            if cost_now + short_now < self.best {
                self.best = cost_now + short_now;
                self.best_pattern = *pattern;
            }
            let next = self.row.next[i] as usize;
            debug_assert!(pattern.len as usize <= MOST && self.zones <= ZONES);
            self.go(next, left - 1, cost_now, short_now, &rest, pattern);
            pattern.len = before;
            pattern.at[before as usize] = 0;
        }
    }
}
