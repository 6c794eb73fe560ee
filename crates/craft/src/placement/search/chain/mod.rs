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

mod carry;
mod price;
mod ways;

use super::anneal::Archive;
use super::board::{Pattern, Ready, ZONES};
use super::effort::Effort;
use super::wish::WishTable;

const FINE: i64 = 256;
const FAR_AWAY: i64 = i64::MAX / 4;
const NONE: u32 = u32::MAX;
/// Words of the bit sets of centres; boards with more distinct centres than
/// bits are left to the annealer.
const WORDS: usize = 4;
type Centres = [u64; WORDS];

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
        let mut links = Self { up_near: vec![vec![]; n], up_far: vec![vec![]; n], down_near: vec![vec![]; n], down_far: vec![vec![]; n] };
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

    /// Whether brick reaches past a row to the one below it, which a chain of
    /// neighbours cannot see.
    fn bind_beyond_neighbours(&self, ready: &Ready) -> bool {
        self.down_near
            .iter()
            .any(|near| near.iter().enumerate().any(|(i, a)| near[i + 1..].iter().any(|b| !ready.rows[*a].crowded.contains(b))))
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
    let binds_far = walk.links.bind_beyond_neighbours(ready);
    // What the walk leaves out for good: nothing, where rows bind only their
    // neighbours; else the priced chain is all that is proved.
    let base = if binds_far { walk.chain().0.max(walk.table.as_ref().map_or(0, WishTable::bound) * FINE) } else { FAR_AWAY };
    for room in [effort.labels / 16, effort.labels] {
        let before = archive.best_objective();
        let dropped = walk.carry(room.max(1), binds_far, archive);
        if dropped == FAR_AWAY {
            return bound_of(walk.left_out.min(base), archive.best_objective());
        }
        if room == effort.labels {
            return bound_of(walk.left_out.min(dropped).min(base), archive.best_objective());
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
