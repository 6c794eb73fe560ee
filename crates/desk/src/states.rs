//! House and shelf as they are in force, and as they were at any version.
//!
//! Their streams grow with the salon's whole life, and what a page asks must not.
//! So the newest state is held in memory and goes on from there, and the state at
//! every version that is a multiple of [`EVERY`] is kept as a row of a view:
//! whoever asks of an earlier version, or has just started, reads that row and
//! the few events after it.

use crate::salon_book::{Act, opened};
use crate::{DeskFault, Salon};
use salon::book::{HouseBook, HouseEvent, ShelfBook, ShelfEvent, Stood};
use serde::Serialize;
use serde::de::DeserializeOwned;
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};
use store::book::{Stream, ViewWrite};

/// The versions between two states that are kept.
const EVERY: u64 = 512;

/// What a stream's events come to.
pub(crate) trait State: Default + Clone + Serialize + DeserializeOwned {
    type Event: DeserializeOwned;
    const STREAM: Stream;
    fn version(&self) -> u64;
    fn put(&mut self, event: Self::Event, stood: Stood);
}

impl State for HouseBook {
    type Event = HouseEvent;
    const STREAM: Stream = Stream::House;

    fn version(&self) -> u64 {
        self.version
    }

    fn put(&mut self, event: HouseEvent, stood: Stood) {
        self.apply(event, stood);
    }
}

impl State for ShelfBook {
    type Event = ShelfEvent;
    const STREAM: Stream = Stream::Shelf;

    fn version(&self) -> u64 {
        self.version
    }

    fn put(&mut self, event: ShelfEvent, stood: Stood) {
        self.apply(event, stood);
    }
}

/// The newest state that was read, and those on the way that are not kept yet.
#[derive(Debug)]
pub(crate) struct Known<S> {
    newest: Mutex<Option<Arc<S>>>,
    to_keep: Mutex<BTreeMap<u64, Arc<S>>>,
}

impl<S> Default for Known<S> {
    fn default() -> Self {
        Self { newest: Mutex::default(), to_keep: Mutex::default() }
    }
}

/// Rows of this view are of no use to code that reads events otherwise: the
/// number that makes all views anew is part of its name.
pub(crate) fn view() -> String {
    format!("states {}", crate::clients::VIEWS)
}

fn key(stream: Stream, version: u64) -> Vec<u8> {
    format!("{stream} {version}").into_bytes()
}

fn row<S: State>(version: u64, state: &S) -> ViewWrite {
    // A state of plain fields can always be written.
    let body = serde_json::to_vec(state).unwrap_or_default();
    ViewWrite::Put { view: view(), key: key(S::STREAM, version), owner: Stream::House, body }
}

impl<S: State> Known<S> {
    /// States that came by and are kept with the next act.
    fn rows(&self) -> Vec<(u64, ViewWrite)> {
        let to_keep = self.to_keep.lock().unwrap_or_else(PoisonError::into_inner);
        to_keep.iter().map(|(version, state)| (*version, row(*version, &**state))).collect()
    }

    fn kept(&self, up_to: u64) {
        self.to_keep.lock().unwrap_or_else(PoisonError::into_inner).retain(|version, _| *version > up_to);
    }
}

impl Salon {
    /// A stream's state in force, or as it was at a version.
    pub(crate) async fn state<S: State>(&self, known: &Known<S>, at: Option<u64>) -> Result<Arc<S>, DeskFault> {
        let newest = known.newest.lock().unwrap_or_else(PoisonError::into_inner).clone();
        let wanted = match at {
            Some(version) => version,
            None => self.book.version(S::STREAM).await?,
        };
        if let Some(newest) = newest.clone().filter(|newest| newest.version() == wanted) {
            return Ok(newest);
        }
        let base = newest.filter(|newest| newest.version() < wanted);
        let mut state = match base {
            Some(newest) => Arc::unwrap_or_clone(newest),
            None => self.kept_state::<S>(wanted).await?,
        };
        for row in self.book.read_to(S::STREAM, state.version(), wanted).await? {
            let (event, stood) = opened::<S::Event>(&row)?;
            state.put(event, stood);
            if at.is_none() && state.version() % EVERY == 0 {
                known.to_keep.lock().unwrap_or_else(PoisonError::into_inner).insert(state.version(), Arc::new(state.clone()));
            }
        }
        let state = Arc::new(state);
        if at.is_none() {
            let mut newest = known.newest.lock().unwrap_or_else(PoisonError::into_inner);
            if newest.as_ref().is_none_or(|newest| newest.version() < state.version()) {
                *newest = Some(state.clone());
            }
        }
        Ok(state)
    }

    /// The newest kept state that is no newer than a version; the empty one where none is.
    async fn kept_state<S: State>(&self, most: u64) -> Result<S, DeskFault> {
        let mut version = most / EVERY * EVERY;
        while version > 0 {
            if let Some(row) = self.book.view_row(&view(), &key(S::STREAM, version)).await?
                && let Ok(state) = serde_json::from_slice::<S>(&row.body)
            {
                return Ok(state);
            }
            version -= EVERY;
        }
        Ok(S::default())
    }

    /// All kept states of a stream, made anew.
    pub(crate) async fn states_anew<S: State>(&self) -> Result<Vec<ViewWrite>, DeskFault> {
        let mut state = S::default();
        let mut rows = Vec::new();
        loop {
            let events = self.book.read_to(S::STREAM, state.version(), state.version() + EVERY).await?;
            if events.is_empty() {
                return Ok(rows);
            }
            for row in events {
                let (event, stood) = opened::<S::Event>(&row)?;
                state.put(event, stood);
            }
            if state.version() % EVERY == 0 {
                rows.push(row(state.version(), &state));
            }
        }
    }

    /// Adds to an act the states that came by since the last one; which they are.
    pub(crate) fn with_states(&self, act: &mut Act) -> [u64; 2] {
        let (house, shelf) = (self.house.rows(), self.shelf.rows());
        let last = |rows: &[(u64, ViewWrite)]| rows.last().map_or(0, |(version, _)| *version);
        let kept = [last(&house), last(&shelf)];
        act.views.extend(house.into_iter().chain(shelf).map(|(_, row)| row));
        kept
    }

    /// Forgets the states that an act kept.
    pub(crate) fn states_kept(&self, [house, shelf]: [u64; 2]) {
        self.house.kept(house);
        self.shelf.kept(shelf);
    }
}
