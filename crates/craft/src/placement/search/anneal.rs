//! Large-neighbourhood search: re-lay one row exactly, mend its neighbours,
//! accept as an annealer does.

use super::board::{Layout, Pattern, Ready, ZONES};
use super::chance::Chance;
use super::row::Bench;

/// The best layouts met so far, each genuinely different from the others.
#[derive(Debug)]
pub struct Archive {
    kept: Vec<(i64, Vec<Pattern>)>,
    room: usize,
}

impl Archive {
    pub const fn new(runners_up: usize) -> Self {
        Self { kept: Vec::new(), room: runners_up + 1 }
    }

    pub fn best_objective(&self) -> i64 {
        self.kept.first().map_or(i64::MAX, |k| k.0)
    }

    /// Whether a layout of this objective would be looked at at all.
    pub fn wants(&self, objective: i64) -> bool {
        self.kept.len() < self.room || self.kept.last().is_some_and(|k| objective < k.0)
    }

    /// Keeps a layout if it is better than those it resembles.
    pub fn offer(&mut self, ready: &Ready, rows: &[Pattern]) {
        let objective = objective(ready, rows);
        if !self.wants(objective) {
            return;
        }
        if self.kept.iter().any(|(cost, other)| *cost <= objective && alike(rows, other)) {
            return;
        }
        self.kept.retain(|(_, other)| !alike(rows, other));
        let at = self.kept.partition_point(|(cost, _)| *cost <= objective);
        self.kept.insert(at, (objective, rows.to_vec()));
        self.kept.truncate(self.room);
    }

    pub fn into_layouts(self, ready: &Ready) -> (Layout, Vec<Layout>) {
        let mut layouts = self.kept.into_iter().map(|(_, rows)| {
            let places = rows.iter().flat_map(|p| p.places().iter().map(|&i| ready.rows[p.row as usize].id[i as usize])).collect();
            ready.board.layout(places)
        });
        let best = layouts.next().unwrap_or_else(|| ready.board.layout(Vec::new()));
        (best, layouts.filter(|l| !l.places.is_empty()).collect())
    }
}

/// Whether two layouts share more than two thirds of their places.
fn alike(a: &[Pattern], b: &[Pattern]) -> bool {
    let count = |rows: &[Pattern]| rows.iter().map(|p| usize::from(p.len)).sum::<usize>();
    let mut shared = 0;
    for p in a {
        if let Some(q) = b.iter().find(|q| q.row == p.row) {
            shared += p.places().iter().filter(|i| q.places().contains(i)).count();
        }
    }
    3 * shared > 2 * count(a).max(count(b)) || (count(a) == 0 && count(b) == 0)
}

/// The objective of a whole layout.
pub fn objective(ready: &Ready, rows: &[Pattern]) -> i64 {
    let mut total = 0;
    let mut mass = [0; ZONES];
    for pattern in rows {
        let (cost, brings) = ready.weigh(pattern);
        total += cost;
        for z in 0..ZONES {
            mass[z] += brings[z];
        }
    }
    total + ready.shortfall_cost(&mass)
}

/// A layout under work.
#[derive(Debug, Clone, Default)]
struct Head {
    /// Patterns with at least one place, lowest row first.
    rows: Vec<Pattern>,
    mass: [i64; ZONES],
    cost: i64,
    counted: usize,
}

impl Head {
    fn copy_from(&mut self, other: &Self) {
        self.rows.clone_from(&other.rows);
        self.mass = other.mass;
        self.cost = other.cost;
        self.counted = other.counted;
    }

    fn remove(&mut self, ready: &Ready, at: usize) -> Pattern {
        let pattern = self.rows.remove(at);
        let (cost, mass) = ready.weigh(&pattern);
        self.cost -= cost;
        for (have, less) in self.mass.iter_mut().zip(mass) {
            *have -= less;
        }
        self.counted -= usize::from(ready.rows[pattern.row as usize].counts);
        pattern
    }

    fn insert(&mut self, ready: &Ready, pattern: Pattern) {
        if pattern.len == 0 {
            return;
        }
        let (cost, mass) = ready.weigh(&pattern);
        self.cost += cost;
        for (have, more) in self.mass.iter_mut().zip(mass) {
            *have += more;
        }
        self.counted += usize::from(ready.rows[pattern.row as usize].counts);
        let at = self.rows.partition_point(|p| p.row < pattern.row);
        self.rows.insert(at, pattern);
    }

    fn objective(&self, ready: &Ready) -> i64 {
        self.cost + ready.shortfall_cost(&self.mass)
    }
}

/// How far chance shifts a place's cost, in shares of it, when the annealer is hot.
const NOISE: f64 = 0.25;
/// The annealer starts ready to accept a loss of this share of the objective
/// and ends at a fiftieth of it.
const HOT: f64 = 0.06;
const COOLING: f64 = 0.02;

/// One annealing run from an empty head; every new best goes to the archive.
pub fn run(ready: &Ready, chance: &mut Chance, rounds: usize, archive: &mut Archive) {
    if ready.rows.is_empty() {
        return;
    }
    let mut bench = Bench::default();
    let mut now = Head::default();
    let mut trial = Head::default();
    let mut best_here = i64::MAX;
    for round in 0..rounds {
        let done = round as f64 / rounds as f64;
        let cooled = measure::real::pow(COOLING, done);
        let before = now.objective(ready);
        let heat = (HOT * cooled * best_here.min(before) as f64).max(1.0);
        trial.copy_from(&now);
        let noise = if chance.below(2) == 0 { NOISE * cooled } else { 0.0 };
        change(ready, chance, &mut bench, &mut trial, noise);
        let after = trial.objective(ready);
        let loss = (after - before) as f64;
        if loss <= 0.0 || chance.share() < measure::real::exp(-loss / heat) {
            std::mem::swap(&mut now, &mut trial);
            if after < best_here {
                best_here = after;
            }
            if archive.wants(after) && after < before {
                polish(ready, &mut bench, &mut trial, &now);
                archive.offer(ready, &trial.rows);
            }
        }
    }
}

/// Lays one row anew. Rows too near it give way; its neighbours in brick stay,
/// or give way and are laid again after it.
fn change(ready: &Ready, chance: &mut Chance, bench: &mut Bench, head: &mut Head, noise: f64) {
    let r = if !head.rows.is_empty() && chance.below(4) == 0 {
        // A row in use, or the parting next to it.
        let used = head.rows[chance.below(head.rows.len())].row as usize;
        (used + chance.below(3)).saturating_sub(1).min(ready.rows.len() - 1)
    } else {
        chance.below(ready.rows.len())
    };
    let row = &ready.rows[r];
    let mut again = [usize::MAX; 4];
    let mut count = 0;
    let free_neighbours = chance.below(2) == 0;
    let mut at = 0;
    while at < head.rows.len() {
        let other = head.rows[at].row as usize;
        let goes = other == r || row.crowded.contains(&other);
        let loosens = free_neighbours && row.brick.contains(&other) && count < again.len();
        if loosens {
            again[count] = other;
            count += 1;
        }
        if goes || loosens {
            head.remove(ready, at);
        } else {
            at += 1;
        }
    }
    if row.counts && head.counted >= ready.max_rows {
        // All rows are used up: another gives way.
        let from = chance.below(head.rows.len().max(1));
        let counting = |at: &usize| ready.rows[head.rows[*at].row as usize].counts;
        let Some(at) = (from..head.rows.len()).chain(0..from).find(counting) else { return };
        head.remove(ready, at);
    }
    lay(ready, chance, bench, head, r, noise);
    for &other in &again[..count] {
        lay(ready, chance, bench, head, other, noise);
    }
    if count == 0 && chance.below(3) == 0 && !head.rows.is_empty() {
        let other = head.rows[chance.below(head.rows.len())].row as usize;
        if other != r {
            relay(ready, chance, bench, head, other);
        }
    }
}

/// Takes a used row out and lays it again without chance.
fn relay(ready: &Ready, chance: &mut Chance, bench: &mut Bench, head: &mut Head, r: usize) {
    if let Some(at) = head.rows.iter().position(|p| p.row as usize == r) {
        head.remove(ready, at);
    }
    lay(ready, chance, bench, head, r, 0.0);
}

/// Lays row `r`, which must be empty, as well as the others allow.
fn lay(ready: &Ready, chance: &mut Chance, bench: &mut Bench, head: &mut Head, r: usize, noise: f64) {
    let row = &ready.rows[r];
    if row.counts && head.counted >= ready.max_rows {
        return;
    }
    if head.rows.iter().any(|p| row.crowded.contains(&(p.row as usize))) {
        return;
    }
    bench.cost.clear();
    if noise > 0.0 {
        bench.cost.extend(row.cost_of.iter().map(|&c| c + (c as f64 * noise * (chance.share() - 0.5)) as i64));
    } else {
        bench.cost.extend_from_slice(&row.cost_of);
    }
    allow(ready, &mut bench.allowed, &head.rows, r);
    let mut wanted = ready.targets;
    for (want, have) in wanted.iter_mut().zip(head.mass) {
        *want -= have;
    }
    let pattern = bench.lay(ready, r, &wanted);
    head.insert(ready, pattern);
}

/// Marks the places of row `r` that keep brick with the rows in use.
fn allow(ready: &Ready, allowed: &mut Vec<bool>, rows: &[Pattern], r: usize) {
    let row = &ready.rows[r];
    allowed.clear();
    allowed.resize(row.id.len(), true);
    let least = 2 * ready.board.brick.offset;
    for pattern in rows {
        let other = pattern.row as usize;
        if other == r || !row.brick.contains(&other) {
            continue;
        }
        for &p in pattern.places() {
            let centre = ready.rows[other].centre[p as usize];
            for (open, own) in allowed.iter_mut().zip(&row.centre) {
                *open &= (own - centre).abs() >= least;
            }
        }
    }
}

/// Re-lays every row in turn, in place or on a parting nearby, while that helps.
fn polish(ready: &Ready, bench: &mut Bench, out: &mut Head, start: &Head) {
    let mut chance = Chance::new(0);
    out.copy_from(start);
    let mut trial = Head::default();
    for _ in 0..3 {
        let before = out.objective(ready);
        for r in 0..ready.rows.len() {
            trial.copy_from(out);
            let row = &ready.rows[r];
            let mut at = 0;
            while at < trial.rows.len() {
                let other = trial.rows[at].row as usize;
                if other == r || row.crowded.contains(&other) {
                    trial.remove(ready, at);
                } else {
                    at += 1;
                }
            }
            lay(ready, &mut chance, bench, &mut trial, r, 0.0);
            if trial.objective(ready) < out.objective(ready) {
                std::mem::swap(out, &mut trial);
            }
        }
        if out.objective(ready) >= before {
            return;
        }
    }
}
