//! The members of an archive, as they are written.

use crate::StoreFault;
use crate::book::core::Chain;
use crate::book::keys::CodeSlot;
use crate::book::seal::{Key, hex, unhex};
use serde::{Deserialize, Serialize};
use std::path::PathBuf;
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

pub(super) const MANIFEST: &str = "manifest.json";

pub(super) const KEYS: &str = "keys.json";

pub(super) const ERASED: &str = "erased.json";

pub(super) const TRAIL: &str = "trail.json";

pub(super) const BLOBS: &str = "blobs.json";

pub(super) const EVENTS_IN: &str = "events/";

pub(super) const BLOBS_IN: &str = "blobs/";

pub(super) const FORMAT: u32 = 1;

#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Manifest {
    pub(super) format: u32,
    pub(super) salon: Uuid,
    pub(super) made_ms: i64,
    pub(super) events: u64,
    /// The last event's hash.
    pub(super) head: String,
    pub(super) erased: u64,
    pub(super) erased_code: String,
    /// The head's code under the house key.
    pub(super) code: String,
    pub(super) keys: u64,
    pub(super) blobs: u64,
}

impl Manifest {
    pub(super) fn new(salon: Uuid, made_ms: i64, chain: &Chain, head_key: &Key, keys: u64, blobs: u64) -> Self {
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

    pub(super) fn chain(&self) -> Option<Chain> {
        let sum = |text: &str| unhex(text)?.try_into().ok();
        Some(Chain { seq: self.events, hash: sum(&self.head)?, erased: self.erased, erased_code: sum(&self.erased_code)? })
    }

    pub(super) fn verified(&self, head: [u8; 32]) -> Verified {
        Verified { salon: self.salon, events: self.events, blobs: self.blobs, erased: self.erased, head, made_ms: self.made_ms }
    }
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct KeysFile {
    pub(super) slot: CodeSlot,
    pub(super) keys: Vec<KeyLine>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct KeyLine {
    pub(super) owner: String,
    pub(super) wrapped: String,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct TrailRow {
    pub(super) number: u64,
    pub(super) sealed: String,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct BlobLine {
    pub(super) id: Uuid,
    pub(super) owner: String,
    pub(super) size: u64,
    pub(super) sha256: String,
}

pub(super) fn json<T: Serialize>(value: &T) -> Result<Vec<u8>, StoreFault> {
    serde_json::to_vec_pretty(value).map_err(|cause| StoreFault::Refused(cause.to_string()))
}
