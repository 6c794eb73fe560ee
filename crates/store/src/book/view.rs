//! Rows of views: derived from events, kept for speed, thrown away at will.

use super::{Book, Stream};
use crate::StoreFault;

/// One change to a view.
///
/// *Meaning*: a row is found by its view and key; both are kept as a keyed sum
/// only, and key and body are sealed together. A row that carries a client's
/// name is sealed under her stream, so that erasing her takes it along. Health
/// documents own no rows: their answers have one door.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ViewWrite {
    /// Puts a row, over the one with the same key.
    Put {
        /// Which view.
        view: String,
        /// The row's key.
        key: Vec<u8>,
        /// Under whose key it is sealed.
        owner: Stream,
        /// The row.
        body: Vec<u8>,
    },
    /// Takes a row away, where it is there.
    Take {
        /// Which view.
        view: String,
        /// The row's key.
        key: Vec<u8>,
    },
    /// Takes all rows of a view away, and its number.
    Clear {
        /// Which view.
        view: String,
    },
    /// Sets the number of the code that made the view.
    Number {
        /// Which view.
        view: String,
        /// The number.
        number: u64,
    },
}

/// One row of a view.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ViewRow {
    /// The row's key.
    pub key: Vec<u8>,
    /// Under whose key it is sealed.
    pub owner: Stream,
    /// The row.
    pub body: Vec<u8>,
}

impl Book {
    /// A view's rows, by key.
    pub async fn view(&self, view: &str) -> Result<Vec<ViewRow>, StoreFault> {
        let _ = view;
        Err(StoreFault::WritesStopped)
    }

    /// One row of a view.
    pub async fn view_row(&self, view: &str, key: &[u8]) -> Result<Option<ViewRow>, StoreFault> {
        let _ = (view, key);
        Err(StoreFault::WritesStopped)
    }

    /// The number of the code that made the view, where it was set.
    pub async fn view_number(&self, view: &str) -> Result<Option<u64>, StoreFault> {
        let _ = view;
        Err(StoreFault::WritesStopped)
    }

    /// Throws all views away; events are not touched.
    pub async fn drop_views(&self) -> Result<(), StoreFault> {
        Err(StoreFault::WritesStopped)
    }
}
