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

mod read;
mod write;

use super::core::Chain;
use super::keys::CodeSlot;
use super::seal::{Key, hex, unhex};
use super::{Book, Passphrase, Place, RecoveryCode};
use crate::StoreFault;
use serde::{Deserialize, Serialize};
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

const MANIFEST: &str = "manifest.json";
const KEYS: &str = "keys.json";
const ERASED: &str = "erased.json";
const TRAIL: &str = "trail.json";
const BLOBS: &str = "blobs.json";
const EVENTS_IN: &str = "events/";
const BLOBS_IN: &str = "blobs/";
const FORMAT: u32 = 1;

#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Manifest {
    format: u32,
    salon: Uuid,
    made_ms: i64,
    events: u64,
    /// The last event's hash.
    head: String,
    erased: u64,
    erased_code: String,
    /// The head's code under the house key.
    code: String,
    keys: u64,
    blobs: u64,
}

impl Manifest {
    fn new(salon: Uuid, made_ms: i64, chain: &Chain, head_key: &Key, keys: u64, blobs: u64) -> Self {
        Self {
            format: FORMAT,
            salon,
            made_ms,
            events: chain.seq,
            head: hex(&chain.hash),
            erased: chain.erased,
            erased_code: hex(&chain.erased_code),
            code: hex(&chain.code(salon, head_key)),
            keys,
            blobs,
        }
    }

    fn chain(&self) -> Option<Chain> {
        let sum = |text: &str| unhex(text)?.try_into().ok();
        Some(Chain { seq: self.events, hash: sum(&self.head)?, erased: self.erased, erased_code: sum(&self.erased_code)? })
    }

    fn verified(&self, head: [u8; 32]) -> Verified {
        Verified { salon: self.salon, events: self.events, blobs: self.blobs, erased: self.erased, head, made_ms: self.made_ms }
    }
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct KeysFile {
    slot: CodeSlot,
    keys: Vec<KeyLine>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct KeyLine {
    owner: String,
    wrapped: String,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct TrailRow {
    number: u64,
    sealed: String,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct BlobLine {
    id: Uuid,
    owner: String,
    size: u64,
    sha256: String,
}

fn json<T: Serialize>(value: &T) -> Result<Vec<u8>, StoreFault> {
    serde_json::to_vec_pretty(value).map_err(|cause| StoreFault::Refused(cause.to_string()))
}
