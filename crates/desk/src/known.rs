//! A stream's state as it was last read, and the rows in which states are kept.

use crate::client_line::VIEWS;
use crate::packed::packed;
use salon::book::{DiaryBook, DiaryEvent, HouseBook, HouseEvent, LotsBook, MoneyBook, MoneyEvent, ShelfBook, ShelfEvent, Stood};
use serde::Serialize;
use serde::de::DeserializeOwned;
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};
use store::book::{Stream, ViewWrite};

/// What a stream's events come to.
pub(crate) trait State: Default + Clone + Serialize + DeserializeOwned {
    type Event: DeserializeOwned;
    const STREAM: Stream;
    /// The versions between two states that are kept.
    const EVERY: u64 = EVERY;
    /// Whether each of those stays, since plans name earlier versions; otherwise the
    /// newest alone is kept, over the one before.
    const STAYS: bool = true;
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
    const EVERY: u64 = EVERY_NEWEST;
    const STAYS: bool = false;

    fn version(&self) -> u64 {
        self.version
    }

    fn put(&mut self, event: ShelfEvent, stood: Stood) {
        self.apply(event, stood);
    }
}

/// What plans ask of a shelf that was: no more than its lots.
impl State for LotsBook {
    type Event = ShelfEvent;
    const STREAM: Stream = Stream::Shelf;

    fn version(&self) -> u64 {
        self.version
    }

    fn put(&mut self, event: ShelfEvent, stood: Stood) {
        self.apply(event, stood);
    }
}

impl State for MoneyBook {
    type Event = MoneyEvent;
    const STREAM: Stream = Stream::Money;
    const EVERY: u64 = EVERY_NEWEST;
    const STAYS: bool = false;

    fn version(&self) -> u64 {
        self.version
    }

    fn put(&mut self, event: MoneyEvent, stood: Stood) {
        self.apply(event, stood);
    }
}

impl State for DiaryBook {
    type Event = DiaryEvent;
    const STREAM: Stream = Stream::Diary;
    const EVERY: u64 = EVERY_NEWEST;
    const STAYS: bool = false;

    fn version(&self) -> u64 {
        self.version
    }

    fn put(&mut self, event: DiaryEvent, stood: Stood) {
        self.apply(event, stood);
    }
}

/// The versions between two states that are kept, where one row is written over and
/// over: such a row holds a year of invoices, and is not written with every few of them.
const EVERY_NEWEST: u64 = 1024;

/// The versions between two states that are kept.
pub(crate) const EVERY: u64 = 512;

/// The newest state that was read, and those on the way that are not kept yet.
#[derive(Debug)]
pub(crate) struct Known<S> {
    pub newest: Mutex<Option<Arc<S>>>,
    pub to_keep: Mutex<BTreeMap<u64, Arc<S>>>,
}

impl<S> Default for Known<S> {
    fn default() -> Self {
        Self { newest: Mutex::default(), to_keep: Mutex::default() }
    }
}

/// Rows of this view are of no use to code that reads events otherwise: the
/// number that makes all views anew is part of its name.
pub(crate) fn view() -> String {
    format!("states {}", VIEWS)
}

pub(crate) fn key<S: State>(version: u64) -> Vec<u8> {
    if S::STAYS { format!("{} {version}", S::STREAM) } else { format!("{} newest", S::STREAM) }.into_bytes()
}

pub(crate) fn row<S: State>(version: u64, state: &S) -> ViewWrite {
    // A state of plain fields can always be written.
    let body = packed(state, "a state").unwrap_or_default();
    ViewWrite::Put { view: view(), key: key::<S>(version), owner: Stream::House, body }
}

impl<S: State> Known<S> {
    /// States that came by and are kept with the next act.
    pub fn rows(&self) -> Vec<(u64, ViewWrite)> {
        let to_keep = self.to_keep.lock().unwrap_or_else(PoisonError::into_inner);
        to_keep.iter().map(|(version, state)| (*version, row(*version, &**state))).collect()
    }

    pub fn kept(&self, up_to: u64) {
        self.to_keep.lock().unwrap_or_else(PoisonError::into_inner).retain(|version, _| *version > up_to);
    }
}
