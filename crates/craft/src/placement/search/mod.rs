//! Searching for the best layout on a board of offered places.
//!
//! The chapter above turns a head into a [`Board`]: partings one above the
//! other, places along each, what every place costs and carries, and which
//! places cannot stand together. This part knows nothing else. It packs the
//! board in two movements: an annealed large-neighbourhood search that re-lays
//! one parting at a time exactly ([`mod@self`]'s `anneal`), then an exact walk
//! from the nape upward over every way a parting can be laid that could still
//! beat the layout in hand (`chain`). The second often proves the answer.
//!
//! All arithmetic is in whole numbers and the only chance is a seeded one, so
//! the same board and seed give the same layout everywhere.

mod anneal;
mod board;
mod chain;
mod chance;
mod effort;
mod row;
mod wish;

pub use board::{Board, BoardFault, BoardRow, Brick, Layout, Place};
pub use effort::Effort;

/// Where a search stands, told between its movements.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Progress {
    /// Share of the work done, of 100.
    pub percent: u8,
    /// The objective of the best layout so far.
    pub objective: i64,
}

/// What the listener to a search wants.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Signal {
    /// Go on.
    GoOn,
    /// Stop and give the best so far.
    Stop,
}

/// What a search found.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// The best layout.
    pub best: Layout,
    /// Layouts nearly as good that share at most two thirds of their places
    /// with the best and with each other, best first.
    pub runners_up: Vec<Layout>,
    /// No layout can have a lower objective than this.
    pub bound: i64,
}

impl Found {
    /// Whether the best layout is proved to be the best there is.
    #[must_use]
    pub fn is_proved(&self) -> bool {
        self.bound >= self.best.objective
    }
}

/// Finds the best layout it can within `effort`, telling `listener` how it goes.
///
/// *Accuracy*: the layout always keeps every rule of the board. How near it is
/// to the best possible is the difference to [`Found::bound`].
///
/// *Errors*: the board contradicts itself (see [`BoardFault`]).
///
/// ```
/// use craft::placement::search::{Board, BoardRow, Brick, Effort, Place, Signal, search};
/// let place = |from, cost| Place { row: 0, from, to: from + 4, cost, mass: 5, zone: 0 };
/// let board = Board {
///     rows: vec![BoardRow { height: 10, cost: 2, most: 3, counts: true }],
///     places: vec![place(0, 3), place(2, 9), place(6, 4)],
///     gap: 1,
///     min_row_spacing: 4,
///     brick: Brick { within: 8, offset: 2, above: 0 },
///     max_rows: 1,
///     targets: vec![10],
///     shortfall_cost: vec![10],
/// };
/// let found = search(&board, 1, Effort::default(), &mut |_| Signal::GoOn).unwrap();
/// assert_eq!(found.best.places, [0, 2]);
/// assert!(found.is_proved());
/// ```
pub fn search(board: &Board, seed: u64, effort: Effort, listener: &mut dyn FnMut(Progress) -> Signal) -> Result<Found, BoardFault> {
    board.check()?;
    let ready = board::Ready::new(board);
    let mut archive = anneal::Archive::new(effort.runners_up);
    archive.offer(&ready, &[]);
    let mut chance = chance::Chance::new(seed);
    let mut stopped = false;
    for restart in 0..effort.restarts {
        anneal::run(&ready, &mut chance, effort.rounds, &mut archive);
        let percent = (60 * (restart + 1) / effort.restarts) as u8;
        if listener(Progress { percent, objective: archive.best_objective() }) == Signal::Stop {
            stopped = true;
            break;
        }
    }
    let bound = if stopped { 0 } else { chain::finish(&ready, effort, &mut archive) };
    listener(Progress { percent: 100, objective: archive.best_objective() });
    let (best, runners_up) = archive.into_layouts(&ready);
    Ok(Found { best, runners_up, bound })
}
