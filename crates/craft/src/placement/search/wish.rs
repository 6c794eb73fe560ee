//! What the wished mass costs at the very least.
//!
//! Prices on mass (see `chain`) cannot see that mass comes in whole pieces.
//! This bound can: it keeps account of the mass placed in every zone, in units
//! of a small piece, and forgets brick and the number of rows instead. It is
//! an exact table by dynamic programming, upward and downward along the rows.

use super::board::{Pattern, Ready, ZONES};

/// A table larger than this many states is not worth its time.
const MOST_STATES: usize = 30_000;
/// Masses are counted in quarters of the board's unit, so that a unit may be half a piece of odd mass.
const QUARTERS: i64 = 4;
const NEVER: i32 = i32::MAX / 4;

/// Mass placed, in units by zone.
type Units = [u16; ZONES];

/// The least that the wish can cost above or below a row, for all masses placed.
#[derive(Debug)]
pub struct WishTable {
    /// Size of a unit, in quarters.
    unit: i64,
    /// Most units worth counting, by zone.
    most: Units,
    stride: [usize; ZONES],
    /// Zone whose units lie side by side in memory.
    inner: usize,
    /// `upward[r][k]`: by mass placed, the least that rows r and up and the
    /// shortfall add when at most k more rows may be used.
    upward: Vec<Vec<Vec<i32>>>,
    /// `downward[r][k]`: by mass placed, the least cost of placing it below
    /// row r with at most k rows.
    downward: Vec<Vec<Vec<i32>>>,
    /// One more than the most rows that may be used, where that is counted; 1
    /// where rows are as good as free.
    layers: usize,
    /// First row far enough above, and one past the last row far enough below.
    above: Vec<usize>,
    below: Vec<usize>,
}

impl WishTable {
    /// The table of this board, or nothing where it would be too large.
    /// Rows in use are counted when `rows_run_out`; the table is then larger
    /// by a factor of the rows allowed.
    pub fn new(ready: &Ready, rows_run_out: bool) -> Option<Self> {
        let layers = if rows_run_out { ready.max_rows + 1 } else { 1 };
        let largest = ready.rows.iter().map(|r| r.cost + r.cost_of.iter().sum::<i64>()).sum::<i64>() + ready.shortfall_cost(&[0; ZONES]);
        if largest >= i64::from(NEVER) {
            return None;
        }
        let unit = choose_unit(ready, MOST_STATES / layers)?;
        let most = caps(ready, unit);
        let inner = (0..ZONES).max_by_key(|&z| (most[z], z)).unwrap_or(0);
        let mut stride = [0; ZONES];
        stride[inner] = 1;
        let mut size = most[inner] as usize + 1;
        for z in (0..ZONES).filter(|&z| z != inner) {
            stride[z] = size;
            size *= most[z] as usize + 1;
        }
        let n = ready.rows.len();
        let spacing = ready.board.min_row_spacing;
        let far_above = |r: usize| (r + 1..n).find(|&o| ready.rows[o].height - ready.rows[r].height >= spacing).unwrap_or(n);
        let far_below = |r: usize| (0..r).rev().find(|&o| ready.rows[r].height - ready.rows[o].height >= spacing).map_or(0, |o| o + 1);
        let mut table = Self {
            unit,
            most,
            stride,
            inner,
            upward: Vec::new(),
            downward: Vec::new(),
            layers,
            above: (0..n).map(far_above).collect(),
            below: (0..n).map(far_below).collect(),
        };
        table.fill(ready, size);
        Some(table)
    }

    fn fill(&mut self, ready: &Ready, size: usize) {
        let n = ready.rows.len();
        let options: Vec<Vec<(Units, i32)>> = (0..n).map(|r| self.options(ready, r)).collect();
        let mut end = vec![0; size];
        self.each_line(|start, outer| {
            let rest: i64 = (0..ready.zones).filter(|&z| z != self.inner).map(|z| ready.short[z] * self.short(ready, z, outer[z])).sum();
            for a in 0..=self.most[self.inner] {
                let z = self.inner;
                let own = if z < ready.zones { ready.short[z] * self.short(ready, z, a) } else { 0 };
                end[start + a as usize] = ceil_div(rest + own, QUARTERS) as i32;
            }
        });
        let mut start = vec![NEVER; size];
        start[0] = 0;
        self.upward = vec![Vec::new(); n + 1];
        self.upward[n] = vec![end; self.layers];
        for r in (0..n).rev() {
            let mut rows = self.upward[r + 1].clone();
            for (k, here) in rows.iter_mut().enumerate() {
                let Some(left) = self.left(ready, r, k) else { continue };
                let there = &self.upward[self.above[r]][left];
                for (units, cost) in &options[r] {
                    self.shift(units, |to, from, len, capped| {
                        if capped {
                            let least = there[from] + cost;
                            here[to..to + len].iter_mut().for_each(|x| *x = (*x).min(least));
                        } else {
                            lower(&mut here[to..to + len], &there[from..from + len], *cost);
                        }
                    });
                }
            }
            self.upward[r] = rows;
        }
        self.downward = vec![vec![start; self.layers]];
        for r in 0..n {
            let mut rows = self.downward[r].clone();
            for (k, here) in rows.iter_mut().enumerate() {
                let Some(left) = self.left(ready, r, k) else { continue };
                let there = &self.downward[self.below[r]][left];
                for (units, cost) in &options[r] {
                    self.shift(units, |from, to, len, capped| {
                        if capped {
                            let least = there[from..from + len].iter().copied().min().unwrap_or(NEVER) + cost;
                            here[to] = here[to].min(least);
                        } else {
                            lower(&mut here[to..to + len], &there[from..from + len], *cost);
                        }
                    });
                }
            }
            self.downward.push(rows);
        }
    }

    /// The layer left when row `r` is used and k rows were left before.
    fn left(&self, ready: &Ready, r: usize, k: usize) -> Option<usize> {
        if self.layers == 1 || !ready.rows[r].counts { Some(k) } else { k.checked_sub(1) }
    }

    /// Mass short in a zone with so many units placed, in quarters.
    fn short(&self, ready: &Ready, zone: usize, units: u16) -> i64 {
        (ready.targets[zone] * QUARTERS - self.unit * i64::from(units)).max(0)
    }

    /// Calls with the start of every line of states along the inner zone.
    fn each_line(&self, mut line: impl FnMut(usize, &Units)) {
        let mut outer: Units = [0; ZONES];
        loop {
            let start = (0..ZONES).map(|z| outer[z] as usize * self.stride[z]).sum();
            line(start, &outer);
            let mut z = 0;
            loop {
                if z == ZONES {
                    return;
                }
                if z != self.inner && outer[z] < self.most[z] {
                    outer[z] += 1;
                    break;
                }
                outer[z] = 0;
                z += 1;
            }
        }
    }

    /// Calls with pairs of runs of states, the second being the first with
    /// `units` more: (first, second, length, whether all of the run end in the
    /// one state where the wish is met).
    fn shift(&self, units: &Units, mut run: impl FnMut(usize, usize, usize, bool)) {
        let cap = self.most[self.inner] as usize;
        let more = (units[self.inner] as usize).min(cap);
        self.each_line(|start, outer| {
            let there: usize =
                (0..ZONES).filter(|&z| z != self.inner).map(|z| (outer[z] + units[z]).min(self.most[z]) as usize * self.stride[z]).sum();
            run(start, there + more, cap + 1 - more, false);
            if more > 0 {
                run(start + cap + 1 - more, there + cap, more, true);
            }
        });
    }

    /// The least cost of every mass a row can bring, those beaten left out.
    fn options(&self, ready: &Ready, r: usize) -> Vec<(Units, i32)> {
        let row = &ready.rows[r];
        let n = row.id.len();
        // By place and count: what can be had from this place on.
        let mut tails: Vec<Vec<Vec<(Units, i32)>>> = vec![vec![vec![([0; ZONES], 0)]; row.most + 1]; n + 1];
        for i in (0..n).rev() {
            for k in 1..=row.most {
                let mut here = tails[i + 1][k].clone();
                for (units, cost) in &tails[row.next[i] as usize][k - 1] {
                    let mut units = *units;
                    let z = row.zone[i] as usize;
                    units[z] = (units[z] + self.units_of(row.mass[i])).min(self.most[z]);
                    here.push((units, cost + row.cost_of[i] as i32));
                }
                tails[i][k] = unbeaten(here);
            }
        }
        let mut options = std::mem::take(&mut tails[0][row.most]);
        options.retain(|(units, _)| units.iter().any(|u| *u > 0));
        for option in &mut options {
            option.1 += row.cost as i32;
        }
        options
    }

    fn units_of(&self, mass: i64) -> u16 {
        ceil_div(mass * QUARTERS, self.unit).min(i64::from(u16::MAX / 4)) as u16
    }

    fn index(&self, mass: &[i64; ZONES]) -> usize {
        (0..ZONES).map(|z| self.units_of(mass[z]).min(self.most[z]) as usize * self.stride[z]).sum()
    }

    /// The least that everything above row `r`, and the shortfall, adds when
    /// `mass` has been placed, and `counted` rows used, up to and with it.
    pub fn least_above(&self, r: usize, mass: &[i64; ZONES], counted: usize) -> i64 {
        let layer = (self.layers - 1).saturating_sub(counted);
        i64::from(self.upward[self.above[r]][layer][self.index(mass)])
    }

    /// No layout costs less.
    pub fn bound(&self) -> i64 {
        i64::from(self.upward[0][self.layers - 1][0])
    }

    /// The least cost of any layout whose row `r`, itself left out, brings these units.
    pub fn least_around(&self, ready: &Ready, r: usize, units: &Units) -> i64 {
        let Some(left) = self.left(ready, r, self.layers - 1) else {
            return i64::from(NEVER);
        };
        let mut least = NEVER;
        for k in 0..=left {
            let (below, above) = (&self.downward[self.below[r]][k], &self.upward[self.above[r]][left - k]);
            self.shift(units, |from, to, len, capped| {
                if capped {
                    let low = below[from..from + len].iter().copied().min().unwrap_or(NEVER);
                    least = least.min(low.saturating_add(above[to]));
                } else {
                    let run = below[from..from + len].iter().zip(&above[to..to + len]);
                    least = run.fold(least, |least, (x, y)| least.min(x + y));
                }
            });
        }
        i64::from(least)
    }

    /// The units a pattern brings.
    pub fn units(&self, ready: &Ready, pattern: &Pattern) -> Units {
        let row = &ready.rows[pattern.row as usize];
        let mut units = [0; ZONES];
        for &i in pattern.places() {
            let z = row.zone[i as usize] as usize;
            units[z] = (units[z] + self.units_of(row.mass[i as usize])).min(self.most[z]);
        }
        units
    }
}

/// Lowers each value to the other with `more` added, where that is less.
fn lower(values: &mut [i32], others: &[i32], more: i32) {
    for (value, other) in values.iter_mut().zip(others) {
        *value = (*value).min(other + more);
    }
}

const fn ceil_div(a: i64, b: i64) -> i64 {
    (a + b - 1) / b
}

/// Leaves out what costs no less and brings no more than another.
fn unbeaten(mut options: Vec<(Units, i32)>) -> Vec<(Units, i32)> {
    options.sort_unstable_by_key(|(units, cost)| (*cost, std::cmp::Reverse(*units)));
    let mut kept: Vec<(Units, i32)> = Vec::with_capacity(options.len());
    for (units, cost) in options {
        if !kept.iter().any(|(other, _)| other.iter().zip(&units).all(|(a, b)| a >= b)) {
            kept.push((units, cost));
        }
    }
    kept
}

fn caps(ready: &Ready, unit: i64) -> Units {
    let mut most = [0; ZONES];
    for z in 0..ready.zones {
        most[z] = ceil_div(ready.targets[z] * QUARTERS, unit).min(i64::from(u16::MAX / 4)) as u16;
    }
    most
}

/// The unit in which masses lose least by being rounded up, among those that
/// keep the table small.
fn choose_unit(ready: &Ready, room: usize) -> Option<i64> {
    let mut masses: Vec<i64> = ready.rows.iter().flat_map(|r| r.mass.iter().map(|m| m * QUARTERS)).collect();
    masses.sort_unstable();
    masses.dedup();
    masses.retain(|m| *m > 0);
    let largest = *masses.last()?;
    let fits = |unit: i64| {
        let states = caps(ready, unit).iter().try_fold(1_usize, |all, c| all.checked_mul(*c as usize + 1));
        states.is_some_and(|s| s <= room)
    };
    let loss = |unit: i64| -> f64 { masses.iter().map(|m| (ceil_div(*m, unit) * unit - m) as f64 / *m as f64).sum() };
    (1..=32).map(|k| ceil_div(largest, k)).filter(|&unit| fits(unit)).min_by(|a, b| loss(*a).total_cmp(&loss(*b)).then(b.cmp(a)))
}
