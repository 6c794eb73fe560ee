//! Backup, verify, restore: the records in an open form.
//!
//! One file, encrypted by the age format to the recovery code's public half.
//! Inside: gzip, then tar. Its members, in this order:
//!
//! - `manifest.json`: whose, when, how much, the chain's head
//! - `keys.json`: the code's slot with the data key; the streams' keys, wrapped
//! - `erased.json`: the list of erased streams, as it also stands beside archives
//! - `trail.json`: the trail, sealed
//! - `blobs.json`: whose each blob is, its length and SHA-256
//! - `events/NNNNNNNNNN.bin`: rows as they stand; each row is nine fields (seq,
//!   stream, version, at, actor, sort, format, body, hash), each field after its
//!   length in eight bytes, highest first: just what the chain's hash is made over
//! - `blobs/ID`: sealed bytes
//!
//! It is the same whichever engine made it. Views and kept answers are not in it.

mod format;
mod read;
mod write;

pub use format::{Erasures, Restorer, Verified};

use super::{Book, Passphrase, Place, RecoveryCode};
use crate::StoreFault;
use std::path::Path;

impl Book {
    /// Writes one archive of the whole book, and the list of erased clients
    /// beside it. It needs no secret but an open book: the archive is encrypted
    /// to the recovery code's public half. The book may be written meanwhile;
    /// the archive holds one moment of it. Written under a temporary name,
    /// synced, read back and compared, renamed, the folder synced.
    ///
    /// *Errors*: the file exists already; the disk refuses.
    pub async fn backup(&self, to: &Path, now_ms: i64) -> Result<Verified, StoreFault> {
        write::backup(self.core(), to, now_ms).await
    }

    /// Opens an archive and checks all of it: the chain, the head under the
    /// house key, every body and every blob under its own key, the counts.
    /// Nothing is written anywhere.
    ///
    /// *Errors*: `WrongCode`; `Archive` when anything does not hold.
    pub async fn verify(file: &Path, code: &RecoveryCode) -> Result<Verified, StoreFault> {
        read::verify(file, code).await
    }

    /// Makes the book of an archive at an empty place, on either engine. All of
    /// it is checked on the way; nothing is kept unless all holds. Erasures that
    /// the list knows and the archive does not are done again. The recovery code
    /// stays the same; a passphrase is set anew (a database needs one).
    ///
    /// *Errors*: `WrongCode`, `Archive`, `NotEmpty`, `ErasuresMissing`, `PassphraseRefused`.
    pub async fn restore(
        file: &Path,
        to: &Place,
        code: &RecoveryCode,
        passphrase: Option<&Passphrase>,
        erasures: &Erasures,
        by: Restorer,
    ) -> Result<(Book, Verified), StoreFault> {
        let (core, verified) = read::restore(file, to, code, passphrase, erasures, by).await?;
        Ok((Self::of(core), verified))
    }
}
