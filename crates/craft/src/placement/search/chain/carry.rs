//! Carrying part-built layouts upward, row by row.

use super::super::anneal::Archive;
use super::super::board::Pattern;
use super::{Centres, FAR_AWAY, FINE, NONE, Walk, ZONES, apart};

impl Walk<'_> {
    /// Carries part-built layouts upward. Gives the least bound among those
    /// dropped for want of room (`FAR_AWAY` when none was).
    pub(super) fn carry(&self, room: usize, binds_far: bool, archive: &mut Archive) -> i64 {
        let mut carry = Carry {
            walk: self,
            constant: self.prices.constant(self.ready),
            labels: vec![Label { bound: 0, cost: 0, mass: [0; ZONES], counted: 0, row: NONE, way: NONE, from: NONE }],
            of_row: Vec::new(),
            dropped: FAR_AWAY,
            cut: FAR_AWAY,
            room,
            binds_far,
        };
        for r in 0..self.ready.rows.len() {
            carry.row(r, archive);
        }
        carry.dropped
    }
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
    /// Whether brick must be kept with rows below the one just below, too.
    binds_far: bool,
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
            if forbids.is_some_and(|f| !apart(f, &way.has)) || (self.binds_far && !self.keeps_brick(r, &way.has, &label)) {
                continue;
            }
            let mut next =
                Label { bound: 0, cost: label.cost + way.cost, mass: label.mass, counted, row: r as u32, way: w as u32, from: l };
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

    /// Whether centres on row `r` keep brick with every row of a label.
    fn keeps_brick(&self, r: usize, has: &Centres, label: &Label) -> bool {
        let mut at = *label;
        while at.row != NONE {
            let below = at.row as usize;
            let near = self.walk.links.down_near[r].contains(&below);
            if near && !apart(&self.walk.ways[below][at.way as usize].forbids, has) {
                return false;
            }
            at = self.labels[at.from as usize];
        }
        true
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
