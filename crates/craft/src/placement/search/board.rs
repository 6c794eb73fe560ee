//! The board: what is offered, what it costs, and what cannot stand together.

use serde::{Deserialize, Serialize};

/// The most zones a board may have.
pub const ZONES: usize = 8;
/// The most places one row may hold.
pub const MOST: usize = 12;

/// One parting on which a row may be set.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct BoardRow {
    /// Height above the nape hairline, in the board's length unit.
    pub height: i32,
    /// What using the row costs at all.
    pub cost: i64,
    /// The most places that may be chosen on it.
    pub most: usize,
    /// Whether the row counts towards [`Board::max_rows`]. A row that already
    /// holds pieces does not: it is there whatever is decided.
    pub counts: bool,
}

/// One place that could be chosen: a sandwich, or a mirrored pair of them.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Place {
    /// Index of its row.
    pub row: usize,
    /// Where the tab begins along the row.
    pub from: i32,
    /// Where it ends.
    pub to: i32,
    /// What choosing it costs, everything but the row folded in.
    pub cost: i64,
    /// The mass it brings.
    pub mass: i64,
    /// The zone whose wish the mass counts for.
    pub zone: usize,
}

/// Rows near one another stand in brick: no place over a place.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Brick {
    /// Rows nearer than this are in brick with each other.
    pub within: i32,
    /// Centres must be at least this far apart.
    pub offset: i32,
    /// Only when the upper row is higher than this.
    pub above: i32,
}

/// Rows, places, what they cost and what is wished for.
///
/// *Meaning*: lengths are whole multiples of one unit, masses of another,
/// costs of a third. A layout's objective is the cost of its places and rows
/// plus, for every zone, the shortfall cost of each unit of mass short of the
/// target.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Board {
    /// The partings.
    pub rows: Vec<BoardRow>,
    /// The places.
    pub places: Vec<Place>,
    /// Free parting between neighbours in one row.
    pub gap: i32,
    /// Rows nearer than this cannot both be used.
    pub min_row_spacing: i32,
    /// Rows nearer than this stand in brick.
    pub brick: Brick,
    /// The most rows that may be used.
    pub max_rows: usize,
    /// Mass wished for, by zone.
    pub targets: Vec<i64>,
    /// Cost of each unit of mass short, by zone.
    pub shortfall_cost: Vec<i64>,
}

/// Why a board cannot be searched.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum BoardFault {
    /// A place names a row or zone that is not there.
    #[error("place {place} names {what} {index}, and there are only {count}; correct the index")]
    NoSuch {
        /// The place.
        place: usize,
        /// "row" or "zone".
        what: &'static str,
        /// What it named.
        index: usize,
        /// How many there are.
        count: usize,
    },
    /// A place ends where it begins or before.
    #[error("place {0} ends at or before its beginning; give it a width")]
    NoWidth(usize),
    /// A cost, mass or target is negative, or so large that sums could overflow.
    #[error("{what} must lie between 0 and 1 000 000 000; {index} does not")]
    OutOfRange {
        /// What kind of number.
        what: &'static str,
        /// The index of the row, place or zone.
        index: usize,
    },
    /// Targets and shortfall costs are not one each per zone, or too many.
    #[error("{targets} targets and {costs} shortfall costs: give one of each for each of at most {ZONES} zones")]
    Zones {
        /// How many targets.
        targets: usize,
        /// How many shortfall costs.
        costs: usize,
    },
}

/// A choice of places that keeps every rule of its board.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Layout {
    /// Indices of the places chosen, ascending.
    pub places: Vec<usize>,
    /// Cost of places, rows and shortfall.
    pub objective: i64,
    /// Mass short of the target, by zone.
    pub shortfall: Vec<i64>,
    /// How many rows hold at least one place.
    pub rows_used: usize,
}

const LARGEST: i64 = 1_000_000_000;

impl Board {
    /// Refuses a board that contradicts itself.
    pub(super) fn check(&self) -> Result<(), BoardFault> {
        let zones = self.targets.len();
        if zones != self.shortfall_cost.len() || zones > ZONES {
            return Err(BoardFault::Zones { targets: zones, costs: self.shortfall_cost.len() });
        }
        let fair = |what, index, value: i64| {
            if (0..=LARGEST).contains(&value) { Ok(()) } else { Err(BoardFault::OutOfRange { what, index }) }
        };
        for zone in 0..zones {
            fair("a target", zone, self.targets[zone])?;
            fair("a shortfall cost", zone, self.shortfall_cost[zone].saturating_mul(self.targets[zone].max(1)))?;
        }
        for (index, row) in self.rows.iter().enumerate() {
            fair("a row's cost", index, row.cost)?;
            fair("a row's height", index, i64::from(row.height).abs())?;
        }
        for (index, place) in self.places.iter().enumerate() {
            if place.row >= self.rows.len() {
                return Err(BoardFault::NoSuch { place: index, what: "row", index: place.row, count: self.rows.len() });
            }
            if place.zone >= zones {
                return Err(BoardFault::NoSuch { place: index, what: "zone", index: place.zone, count: zones });
            }
            if place.to <= place.from {
                return Err(BoardFault::NoWidth(index));
            }
            fair("a place's cost", index, place.cost)?;
            fair("a place's mass", index, place.mass)?;
            fair("a place's position", index, i64::from(place.from).abs().max(i64::from(place.to).abs()))?;
        }
        Ok(())
    }

    /// Whether two places cannot both be chosen.
    #[must_use]
    pub fn clash(&self, a: &Place, b: &Place) -> bool {
        if a.row == b.row {
            return a.from < b.to + self.gap && b.from < a.to + self.gap;
        }
        let (below, above) = (self.rows[a.row].height, self.rows[b.row].height);
        let apart = (below - above).abs();
        apart < self.min_row_spacing
            || (apart < self.brick.within
                && below.max(above) > self.brick.above
                && (a.from + a.to - b.from - b.to).abs() < 2 * self.brick.offset)
    }

    /// The layout of these places with its costs counted afresh.
    #[must_use]
    pub fn layout(&self, mut places: Vec<usize>) -> Layout {
        places.sort_unstable();
        let mut rows: Vec<usize> = places.iter().map(|&p| self.places[p].row).collect();
        rows.sort_unstable();
        rows.dedup();
        let mut shortfall = self.targets.clone();
        for &p in &places {
            shortfall[self.places[p].zone] -= self.places[p].mass;
        }
        for short in &mut shortfall {
            *short = (*short).max(0);
        }
        let objective = places.iter().map(|&p| self.places[p].cost).sum::<i64>()
            + rows.iter().map(|&r| self.rows[r].cost).sum::<i64>()
            + shortfall.iter().zip(&self.shortfall_cost).map(|(short, cost)| short * cost).sum::<i64>();
        Layout { places, objective, shortfall, rows_used: rows.len() }
    }
}

/// One row made ready for searching: its places side by side in memory, in
/// order of their beginnings.
#[derive(Debug, Clone)]
pub struct ReadyRow {
    pub height: i32,
    pub cost: i64,
    pub most: usize,
    pub counts: bool,
    /// Index of each place in the board.
    pub id: Vec<usize>,
    pub cost_of: Vec<i64>,
    pub mass: Vec<i64>,
    pub zone: Vec<u8>,
    /// Twice the centre.
    pub centre: Vec<i32>,
    /// First place that may stand to the right of this one.
    pub next: Vec<u16>,
    pub least_cost: i64,
    /// Rows too near to be used together with this one.
    pub crowded: Vec<usize>,
    /// Rows in brick with this one, below and above.
    pub brick: Vec<usize>,
}

/// The board made ready: rows with places only, lowest first.
#[derive(Debug, Clone)]
pub struct Ready<'a> {
    pub board: &'a Board,
    pub rows: Vec<ReadyRow>,
    pub zones: usize,
    pub max_rows: usize,
    pub targets: [i64; ZONES],
    pub short: [i64; ZONES],
}

/// The places chosen on one row, by their order in it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Pattern {
    pub row: u16,
    pub len: u8,
    pub at: [u16; MOST],
}

impl Pattern {
    pub const fn empty(row: usize) -> Self {
        Self { row: row as u16, len: 0, at: [0; MOST] }
    }

    pub fn places(&self) -> &[u16] {
        &self.at[..self.len as usize]
    }

    pub const fn push(&mut self, place: usize) {
        self.at[self.len as usize] = place as u16;
        self.len += 1;
    }
}

impl<'a> Ready<'a> {
    pub fn new(board: &'a Board) -> Self {
        let mut order: Vec<usize> = (0..board.rows.len()).collect();
        order.sort_by_key(|&r| (board.rows[r].height, r));
        let mut by_row: Vec<Vec<usize>> = vec![Vec::new(); board.rows.len()];
        for (index, place) in board.places.iter().enumerate() {
            by_row[place.row].push(index);
        }
        let mut rows: Vec<ReadyRow> = order
            .into_iter()
            .filter(|&r| !by_row[r].is_empty() && board.rows[r].most > 0)
            .map(|r| Self::ready_row(board, r, by_row[r].clone()))
            .collect();
        let heights: Vec<i32> = rows.iter().map(|row| row.height).collect();
        for (r, row) in rows.iter_mut().enumerate() {
            for (other, &height) in heights.iter().enumerate() {
                let apart = (height - row.height).abs();
                if other == r {
                    continue;
                }
                if apart < board.min_row_spacing {
                    row.crowded.push(other);
                } else if apart < board.brick.within && height.max(row.height) > board.brick.above {
                    row.brick.push(other);
                }
            }
        }
        let mut targets = [0; ZONES];
        let mut short = [0; ZONES];
        targets[..board.targets.len()].copy_from_slice(&board.targets);
        short[..board.targets.len()].copy_from_slice(&board.shortfall_cost);
        Self { board, rows, zones: board.targets.len(), max_rows: board.max_rows, targets, short }
    }

    fn ready_row(board: &Board, r: usize, mut id: Vec<usize>) -> ReadyRow {
        let places = &board.places;
        id.sort_by_key(|&p| (places[p].from, places[p].to, p));
        let next = id.iter().map(|&p| id.partition_point(|&q| places[q].from < places[p].to + board.gap) as u16).collect();
        ReadyRow {
            height: board.rows[r].height,
            cost: board.rows[r].cost,
            most: board.rows[r].most.min(MOST),
            counts: board.rows[r].counts,
            cost_of: id.iter().map(|&p| places[p].cost).collect(),
            mass: id.iter().map(|&p| places[p].mass).collect(),
            zone: id.iter().map(|&p| places[p].zone as u8).collect(),
            centre: id.iter().map(|&p| places[p].from + places[p].to).collect(),
            least_cost: id.iter().map(|&p| places[p].cost).min().unwrap_or(0),
            next,
            id,
            crowded: Vec::new(),
            brick: Vec::new(),
        }
    }

    /// Cost of the shortfall when `mass` has been placed.
    pub fn shortfall_cost(&self, mass: &[i64; ZONES]) -> i64 {
        (0..self.zones).map(|z| self.short[z] * (self.targets[z] - mass[z]).max(0)).sum()
    }

    /// Cost of a pattern's places and its mass by zone, row cost included.
    pub fn weigh(&self, pattern: &Pattern) -> (i64, [i64; ZONES]) {
        let row = &self.rows[pattern.row as usize];
        let mut mass = [0; ZONES];
        let mut cost = if pattern.len == 0 { 0 } else { row.cost };
        for &p in pattern.places() {
            cost += row.cost_of[p as usize];
            mass[row.zone[p as usize] as usize] += row.mass[p as usize];
        }
        (cost, mass)
    }
}
