//! Records that are one person's: which of them stands in the lists.

use super::id::ClientId;
use serde::{Deserialize, Serialize};

/// Which other records are hers too. Each record says it of itself.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct SamePerson {
    /// The record that is kept; this one is set aside for it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub kept: Option<ClientId>,
    /// Records that are set aside for this one.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub set_aside: Vec<ClientId>,
}

impl SamePerson {
    /// Whether this record is the only one of hers.
    #[must_use]
    pub fn is_alone(&self) -> bool {
        *self == Self::default()
    }

    /// Puts in force that `other` is hers too; `kept` where this record is the one that is set aside.
    pub fn joined(&mut self, other: ClientId, kept: bool) {
        if kept {
            self.kept = Some(other);
        } else if !self.set_aside.contains(&other) {
            self.set_aside.push(other);
        }
    }

    /// Puts in force that `other` is somebody else's after all.
    pub fn parted(&mut self, other: ClientId) {
        self.kept = self.kept.filter(|kept| *kept != other);
        self.set_aside.retain(|known| *known != other);
    }
}
