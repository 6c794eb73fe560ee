//! Reading the book, and the record of who read health answers.

use super::{Book, Stream};
use crate::StoreFault;
use std::collections::BTreeMap;
use uuid::Uuid;

/// What an event holds, as far as it may be handed out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Body {
    /// The event as it was added.
    Open(Vec<u8>),
    /// Its key was destroyed: nobody can read it any more.
    Erased,
    /// A health answer, and no access to it was recorded.
    Closed,
}

/// One event as it stands in the book.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    /// Its place in the book.
    pub seq: u64,
    /// Which stream.
    pub stream: Stream,
    /// The stream's version after it.
    pub version: u64,
    /// The machine's clock when it was added, ms since 1970; for the trail only.
    pub at_ms: i64,
    /// Who acted.
    pub actor: Uuid,
    /// The number of the body's format.
    pub format: u32,
    /// The event.
    pub body: Body,
}

impl Row {
    /// The body where it is open.
    #[must_use]
    pub fn opened(&self) -> Option<&[u8]> {
        match &self.body {
            Body::Open(bytes) => Some(bytes),
            Body::Erased | Body::Closed => None,
        }
    }
}

/// The end of the chain: it stands on the day sheet and in every backup.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Head {
    /// The last event's place; zero in an empty book.
    pub seq: u64,
    /// The last event's hash.
    pub hash: [u8; 32],
    /// The code of authenticity under the house key.
    pub mac: [u8; 32],
}

/// Who reads health answers, when and why.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Access {
    /// Who.
    pub who: Uuid,
    /// The machine's clock, ms since 1970.
    pub at_ms: i64,
    /// For what, in a few words of the program's own: `plan make`, `show client`.
    pub why: String,
}

/// One line of the trail: what happened to the book besides events.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TrailLine {
    /// Its place in the trail, from one.
    pub number: u64,
    /// The machine's clock, ms since 1970.
    pub at_ms: i64,
    /// Who.
    pub who: Uuid,
    /// What.
    pub what: Noted,
}

/// What the trail notes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Noted {
    /// A health document was read.
    HealthRead {
        /// Which; nothing when all were read, for an export.
        stream: Option<Stream>,
        /// For what.
        why: String,
    },
    /// The book was restored from an archive whose chain ended there.
    Restored {
        /// The last event restored.
        seq: u64,
        /// Whether the list of erased clients was applied. False: `without_erasures`.
        with_erasures: bool,
    },
}

impl Book {
    /// A stream's events after a version, in order.
    ///
    /// *Errors*: a health document (`HealthIsApart`: use [`Book::read_health`]);
    /// `Erased`; `Altered` when a body does not open under its key.
    pub async fn read(&self, stream: Stream, after_version: u64) -> Result<Vec<Row>, StoreFault> {
        let _ = (stream, after_version);
        Err(StoreFault::WritesStopped)
    }

    /// A health document's events after a version. The access is recorded
    /// first, durably; when that fails, nothing is handed out.
    pub async fn read_health(&self, document: Uuid, after_version: u64, access: &Access) -> Result<Vec<Row>, StoreFault> {
        let _ = (document, after_version, access);
        Err(StoreFault::WritesStopped)
    }

    /// Events of every stream after a place in the book, in order, at most `most`.
    /// Health answers are `Closed` unless an access is given, which is recorded first.
    pub async fn read_all(&self, after_seq: u64, most: u32, health: Option<&Access>) -> Result<Vec<Row>, StoreFault> {
        let _ = (after_seq, most, health);
        Err(StoreFault::WritesStopped)
    }

    /// Every stream that was ever written, with its version now. Erased ones stand in it too.
    pub async fn versions(&self) -> Result<BTreeMap<Stream, u64>, StoreFault> {
        Err(StoreFault::WritesStopped)
    }

    /// One stream's version now; zero when it was never written.
    pub async fn version(&self, stream: Stream) -> Result<u64, StoreFault> {
        let _ = stream;
        Err(StoreFault::WritesStopped)
    }

    /// The end of the chain, its authenticity checked.
    pub async fn head(&self) -> Result<Head, StoreFault> {
        Err(StoreFault::WritesStopped)
    }

    /// The trail after a line, in order, at most `most`.
    pub async fn trail(&self, after: u64, most: u32) -> Result<Vec<TrailLine>, StoreFault> {
        let _ = (after, most);
        Err(StoreFault::WritesStopped)
    }
}
