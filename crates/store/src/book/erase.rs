//! Erasing a client: her keys are destroyed, and with them all that was sealed under them.

use super::{Appended, Batch, Book, Stream};
use crate::StoreFault;
use std::path::{Path, PathBuf};

/// What an erasure did.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Erased {
    /// The note's events, as they were added.
    pub appended: Vec<Appended>,
    /// Keys destroyed.
    pub keys: u64,
    /// Blobs deleted.
    pub blobs: u64,
    /// Rows of views and kept answers deleted.
    pub rows: u64,
    /// Whether the engine has let go of the place where the keys stood: the
    /// file's log truncated, the database's tables vacuumed. False where the
    /// database's role may not; its own housekeeping does it then.
    pub let_go: bool,
}

/// One line of the list of erased streams.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ErasedLine {
    /// Which stream: a client's, or a health document.
    pub stream: Stream,
    /// The machine's clock when its key was destroyed, ms since 1970.
    pub at_ms: i64,
}

impl Book {
    /// Destroys the keys of `streams` (clients and health documents), deletes
    /// their blobs, their rows of views and kept answers, and adds `note`, the
    /// caller's events in other streams, in the same transaction. A stream that
    /// was never written is noted as erased all the same and can then never be begun.
    ///
    /// *Errors*: as [`Book::append`]; nothing is destroyed then. A stream that
    /// is not a client's or a health document, or is written by the note itself.
    pub async fn erase(&self, streams: &[Stream], note: Batch) -> Result<Erased, StoreFault> {
        let _ = (streams, note);
        Err(StoreFault::WritesStopped)
    }

    /// Every erased stream, in the order of the erasures, its authenticity checked.
    pub async fn erased(&self) -> Result<Vec<ErasedLine>, StoreFault> {
        Err(StoreFault::WritesStopped)
    }

    /// Writes the authenticated list of erased streams into a folder of
    /// archives, over the earlier one; ids and times only. [`Book::backup`]
    /// does it too: call this at each other destination after an erasure.
    pub async fn write_erasures(&self, folder: &Path) -> Result<PathBuf, StoreFault> {
        let _ = folder;
        Err(StoreFault::WritesStopped)
    }
}
