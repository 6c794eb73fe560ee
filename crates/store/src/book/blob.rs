//! Blobs: photos, signed consents, papers as they were handed over.

use super::core::{Core, Writing, altered};
use super::engine::with;
use super::seal::{self, Key};
use super::{Book, Stream};
use crate::StoreFault;
use std::fmt;
use std::str::FromStr;
use uuid::Uuid;
use zeroize::Zeroizing;

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
        let owner = owner.key_owner();
        if matches!(owner, Stream::Health(_)) {
            return Err(StoreFault::HealthIsApart);
        }
        if bytes.len() > MOST_BLOB_BYTES {
            return Err(StoreFault::Refused(format!("a blob of {} bytes is longer than {MOST_BLOB_BYTES}", bytes.len())));
        }
        let core = self.core();
        core.may_write()?;
        core.after_write(core.put_blob(owner, bytes).await)
    }

    /// Deletes a blob that an event no longer speaks of; one that is gone already is gone.
    ///
    /// *Errors*: the disk refuses.
    pub async fn remove_blob(&self, id: BlobId) -> Result<(), StoreFault> {
        let core = self.core();
        core.may_write()?;
        let _no_archive = core.blobs_rest.write().await;
        core.after_write(core.remove_blob(id).await)
    }

    /// A blob's bytes.
    ///
    /// *Errors*: `Unknown` (never kept, or erased); `Altered`.
    pub async fn blob(&self, id: BlobId) -> Result<Vec<u8>, StoreFault> {
        let core = self.core();
        let lines = core.engine.look("SELECT owner FROM blob WHERE salon = $1 AND id = $2", with![core.salon, id.0]).await?;
        let line = lines.first().ok_or(StoreFault::Unknown("blob"))?;
        let owner = owner_of(line.bytes(0)?)?;
        let key = core.key_of(owner).await?.ok_or(StoreFault::Unknown("blob"))?;
        let sealed = core.engine.bytes(id.0).await?.ok_or_else(|| altered(0, format!("the bytes of blob {id} are missing")))?;
        let mut plain = open(core.salon, owner, id.0, &key, &sealed)?;
        Ok(std::mem::take(&mut *plain))
    }
}

impl Core {
    async fn put_blob(&self, owner: Stream, bytes: &[u8]) -> Result<BlobId, StoreFault> {
        let id = seal::random_id()?;
        let mut change = self.engine.change().await?;
        let mut writing = Writing::begin(self, change.as_mut()).await?;
        let key = writing.key(owner).await?;
        let sealed = key.seal(&[b"blob", self.salon.as_bytes(), &owner.bytes(), id.as_bytes()], bytes)?;
        let sql = "INSERT INTO blob (salon, id, owner, size, digest) VALUES ($1, $2, $3, $4, $5)";
        let values = with![self.salon, id, owner.bytes(), sealed.len() as u64, seal::digest(&sealed)];
        writing.change.run(sql, values).await?;
        writing.flush().await?;
        self.engine.put_bytes(writing.change, id, &sealed).await?;
        change.commit().await?;
        Ok(BlobId(id))
    }
}

impl Core {
    async fn remove_blob(&self, id: BlobId) -> Result<(), StoreFault> {
        let mut change = self.engine.change().await?;
        if change.run("DELETE FROM blob WHERE salon = $1 AND id = $2", with![self.salon, id.0]).await? > 0 {
            change.run("INSERT INTO leaving (salon, id) VALUES ($1, $2)", with![self.salon, id.0]).await?;
        }
        change.commit().await?;
        // Done again at the next opening when it is cut short here.
        super::erase::finish_leaving(self).await
    }
}

/// Whose a blob is.
pub(crate) fn owner_of(bytes: &[u8]) -> Result<Stream, StoreFault> {
    Stream::from_bytes(bytes).ok_or_else(|| altered(0, "the owner of a blob cannot be read"))
}

/// Opens a blob's sealed bytes.
pub(crate) fn open(salon: Uuid, owner: Stream, id: Uuid, key: &Key, sealed: &[u8]) -> Result<Zeroizing<Vec<u8>>, StoreFault> {
    key.open(&[b"blob", salon.as_bytes(), &owner.bytes(), id.as_bytes()], sealed)
        .ok_or_else(|| altered(0, format!("blob {} does not open under its owner's key", BlobId(id))))
}
