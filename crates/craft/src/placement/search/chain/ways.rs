//! Listing the ways of laying rows that could still be part of a better layout.

use super::super::board::{Pattern, ReadyRow};
use super::{CentreTable, FAR_AWAY, FINE, NONE, Walk, Way};
use std::collections::BTreeMap;

/// No row is searched for more ways than this.
const MOST_OF_ROW: usize = 30_000;

impl Walk<'_> {
    /// Lists every way of laying every row that could be part of a layout
    /// better than `objective`; when they are too many, the likeliest.
    pub(super) fn gather(&mut self, centres: &CentreTable, objective: i64, room: usize) {
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
            row: &'a ReadyRow,
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
}
