//! What one act writes, and the way to the one task that writes it.

use super::Stream;
use crate::StoreFault;
use std::fmt;
use tokio::sync::{mpsc, oneshot};
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

impl Batch {
    /// Every stream that the batch names.
    pub(crate) fn streams(&self) -> Vec<Stream> {
        let writes = self.writes.iter().map(|write| write.stream);
        let owners = self.views.iter().filter_map(ViewWrite::owner).chain(self.once.as_ref().map(|once| once.owner));
        writes.chain(owners.map(Stream::key_owner)).collect()
    }
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

/// What waits to be written.
pub(crate) enum Work {
    Batch(Batch),
    /// A line of the trail.
    Note(i64, Uuid, Noted),
}

/// Work and where its outcome goes.
pub(crate) struct Waiting {
    pub work: Work,
    pub outcome: oneshot::Sender<Result<Vec<Appended>, StoreFault>>,
}

/// The way to the one task that appends.
pub(crate) struct Queue(pub mpsc::Sender<Waiting>);

/// One change to a view.
///
/// *Meaning*: a row is found by its view and key; both are kept as a keyed sum
/// only, and key and body are sealed together. A row that carries a client's
/// name is sealed under her stream, so that erasing her takes it along. A row of
/// a health document goes with its key, and is read through its door alone
/// ([`super::Book::health_row`]).
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

impl ViewWrite {
    /// The owner of a row that is put.
    pub(crate) const fn owner(&self) -> Option<Stream> {
        match self {
            Self::Put { owner, .. } => Some(*owner),
            _ => None,
        }
    }
}

/// What the trail notes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Noted {
    /// The book was begun.
    Begun,
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
