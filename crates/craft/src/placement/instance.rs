//! Layout instances in the exchange form that outside references use.

use super::search::{Board, BoardFault, BoardRow, Brick, Effort, Place, Signal, search};
use serde::{Deserialize, Serialize};

/// One candidate of an instance.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Candidate {
    /// Its name in the answer.
    pub id: i64,
    /// Index of its row.
    pub row: usize,
    /// Where it begins, in the instance's length unit.
    pub x0: i32,
    /// Where it ends.
    pub x1: i32,
    /// Mass with its mirror image.
    pub mass: i64,
    /// Zone its mass counts for.
    pub zone: usize,
    /// Cost with its mirror image.
    pub cost: i64,
}

/// A layout instance: a mirrored half head on a half-centimetre grid.
///
/// *Meaning*: lengths in half-centimetres, masses in decigrams, costs in points.
/// Keys that are not needed are passed over, an optimum among them.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LayoutInstance {
    /// Height of each row.
    pub rows_y: Vec<i32>,
    /// The candidates.
    pub candidates: Vec<Candidate>,
    /// Free parting between neighbours in a row.
    pub gap: i32,
    /// Rows nearer than this conflict.
    pub min_row_spacing: i32,
    /// Rows nearer than this stand in brick.
    #[serde(rename = "brick_D")]
    pub brick_within: i32,
    /// How far apart centres in brick must be.
    pub brick_offset: i32,
    /// Brick only where the upper row is higher than this.
    pub brick_from_y: i32,
    /// The most candidates in one row.
    pub kmax_half: usize,
    /// The most rows.
    pub max_rows: usize,
    /// Cost of a row.
    pub row_cost: i64,
    /// Cost of each unit of mass short.
    pub short_cost: i64,
    /// Mass wished for, by zone.
    pub targets: Vec<i64>,
}

/// The answer to an instance.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LayoutAnswer {
    /// Cost of candidates, rows and shortfall.
    pub objective: i64,
    /// The candidates chosen, ascending.
    pub solution_ids: Vec<i64>,
    /// Mass short, by zone.
    pub shortfall: Vec<i64>,
    /// Rows in use.
    pub rows_used: usize,
}

impl LayoutInstance {
    /// The board this instance describes.
    #[must_use]
    pub fn board(&self) -> Board {
        Board {
            rows: self.rows_y.iter().map(|&height| BoardRow { height, cost: self.row_cost, most: self.kmax_half, counts: true }).collect(),
            places: self
                .candidates
                .iter()
                .map(|c| Place { row: c.row, from: c.x0, to: c.x1, cost: c.cost, mass: c.mass, zone: c.zone })
                .collect(),
            gap: self.gap,
            min_row_spacing: self.min_row_spacing,
            brick: Brick { within: self.brick_within, offset: self.brick_offset, above: self.brick_from_y },
            max_rows: self.max_rows,
            targets: self.targets.clone(),
            shortfall_cost: vec![self.short_cost; self.targets.len()],
        }
    }
}

/// Lays out an instance with the search that plans use.
///
/// *Errors*: the instance contradicts itself.
///
/// ```
/// use craft::placement::{LayoutInstance, check_layout, instance::Candidate};
/// let place = |id, x0, cost| Candidate { id, row: 0, x0, x1: x0 + 4, mass: 5, zone: 0, cost };
/// let instance = LayoutInstance {
///     rows_y: vec![10],
///     candidates: vec![place(1, 0, 3), place(2, 2, 9), place(3, 6, 4)],
///     gap: 1,
///     min_row_spacing: 4,
///     brick_within: 8,
///     brick_offset: 2,
///     brick_from_y: 0,
///     kmax_half: 3,
///     max_rows: 1,
///     row_cost: 2,
///     short_cost: 10,
///     targets: vec![10],
/// };
/// // The second overlaps the others: the first and the third meet the wish, 3 + 4 + 2.
/// let answer = check_layout(&instance, 1).unwrap();
/// assert_eq!((answer.objective, answer.solution_ids), (9, vec![1, 3]));
/// ```
pub fn check_layout(instance: &LayoutInstance, seed: u64) -> Result<LayoutAnswer, BoardFault> {
    let found = search(&instance.board(), seed, Effort::default(), &mut |_| Signal::GoOn)?;
    let best = found.best;
    Ok(LayoutAnswer {
        objective: best.objective,
        solution_ids: best.places.iter().map(|&p| instance.candidates[p].id).collect(),
        shortfall: best.shortfall,
        rows_used: best.rows_used,
    })
}
