//! Adding to the book: one batch, one transaction.

use super::{Book, Stream, ViewWrite};
use crate::StoreFault;
use std::fmt;
use uuid::Uuid;

/// An event to be added. The store does not look inside.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewEvent {
    /// The number of the body's format, known to whoever wrote it.
    pub format: u32,
    /// The event: kind, day and all else. It is sealed before it is kept.
    pub body: Vec<u8>,
}

/// What a batch adds to one stream.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Write {
    /// Which stream.
    pub stream: Stream,
    /// The stream's version the decision was made from (zero: it was empty);
    /// nothing: whatever it is now. Where a batch writes a stream twice, both
    /// name the version before the batch.
    pub seen: Option<u64>,
    /// What is added, in order. None is allowed: then only `seen` is checked.
    pub events: Vec<NewEvent>,
}

/// Makes the answer that is kept, from what was appended.
pub type Answer = Box<dyn FnOnce(&[Appended]) -> Vec<u8> + Send>;

/// Makes a batch safe to repeat.
pub struct Once {
    /// The caller's key. It is kept as a keyed sum only.
    pub key: String,
    /// A hash of what was asked, so that the same key with another line is told apart.
    pub line_hash: [u8; 32],
    /// Under whose key the answer is sealed: the client's where it speaks of
    /// one, so that erasing her takes the answer along. Not a health document.
    pub owner: Stream,
    /// The answer that a repetition gets; runs inside the transaction.
    pub answer: Answer,
}

impl fmt::Debug for Once {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Once").field("owner", &self.owner).finish_non_exhaustive()
    }
}

/// All that one act writes: kept whole or not at all.
#[derive(Debug, Default)]
pub struct Batch {
    /// The machine's clock, ms since 1970, for the trail; no decision reads it.
    pub at_ms: i64,
    /// Who acts.
    pub actor: Uuid,
    /// What is added to which streams.
    pub writes: Vec<Write>,
    /// The idempotency key, where there is one.
    pub once: Option<Once>,
    /// Rows of views that follow from it, in order.
    pub views: Vec<ViewWrite>,
}

/// One event as it was added.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Appended {
    /// Its place in the book, from one, without gaps.
    pub seq: u64,
    /// Which stream.
    pub stream: Stream,
    /// The stream's version after it, from one, without gaps.
    pub version: u64,
}

/// What was kept under an idempotency key.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Answered {
    /// The hash of what was asked then.
    pub line_hash: [u8; 32],
    /// The answer.
    pub answer: Vec<u8>,
}

impl Book {
    /// Adds a batch: every event of it, its views and its answer, or nothing.
    /// A new client's or document's key is made on the way.
    ///
    /// *Errors*: `Stale` (a stream has moved on), `Repeated` (the key was used:
    /// see [`Book::answered`]), `Erased` (a stream's key was destroyed),
    /// `TryAgain`, `NotSaved`, `Unsure`, `WritesStopped`, `Altered`.
    pub async fn append(&self, batch: Batch) -> Result<Vec<Appended>, StoreFault> {
        let _ = batch;
        Err(StoreFault::WritesStopped)
    }

    /// What was kept under an idempotency key; nothing when it was never used,
    /// or its answer was erased with the client it spoke of.
    pub async fn answered(&self, key: &str) -> Result<Option<Answered>, StoreFault> {
        let _ = key;
        Err(StoreFault::WritesStopped)
    }
}
