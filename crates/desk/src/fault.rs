//! What the desk says when an act cannot be done.

use crate::words::Message;
use salon::book::NoId;
use salon::{Fault, Place};
use store::StoreFault;

/// Why an act was not done. Nothing was written.
#[derive(Debug, Clone, thiserror::Error)]
pub enum DeskFault {
    /// The records could not be opened, read or written.
    #[error(transparent)]
    Store(StoreFault),
    /// Nothing has this id.
    #[error("{}", Message::Unknown { what: (*.0).to_owned() })]
    Unknown(&'static str),
    /// Somebody else changed it in the meantime.
    #[error("{}", Message::ChangedElsewhere { now: now.to_string(), seen: seen.to_string() })]
    Changed {
        /// The version the change began from.
        seen: i64,
        /// The version that is there now.
        now: i64,
    },
    /// What was decided against it, all at once.
    #[error("{}", .0.iter().map(ToString::to_string).collect::<Vec<_>>().join(" "))]
    Refused(Vec<Fault>),
}

impl From<StoreFault> for DeskFault {
    fn from(fault: StoreFault) -> Self {
        match fault {
            StoreFault::Unknown(what) => Self::Unknown(what),
            StoreFault::Stale { seen, now, .. } => Self::Changed { seen: seen as i64, now: now as i64 },
            fault => Self::Store(fault),
        }
    }
}

impl From<NoId> for DeskFault {
    fn from(fault: NoId) -> Self {
        Self::Unknown(fault.what)
    }
}

impl From<Vec<Fault>> for DeskFault {
    fn from(faults: Vec<Fault>) -> Self {
        match faults.iter().find(|fault| fault.rule == "unknown").map(|fault| &fault.place) {
            Some(Place::Named(name)) if name == "plan" => Self::Unknown("plan"),
            _ => Self::Refused(faults),
        }
    }
}

impl DeskFault {
    /// The exit code of the command line for this fault.
    #[must_use]
    pub const fn exit_code(&self) -> u8 {
        match self {
            Self::Store(fault) => fault.exit_code(),
            _ => 1,
        }
    }

    /// The fault in the four parts that acts answer with.
    #[must_use]
    pub fn told(&self) -> Vec<Fault> {
        match self {
            Self::Refused(faults) => faults.clone(),
            Self::Unknown(what) => vec![salon::book::no_such(what)],
            Self::Changed { seen, now } => {
                let message = Message::ChangedElsewhere { now: now.to_string(), seen: seen.to_string() };
                vec![Fault::of(&message, "version", "stale")]
            }
            Self::Store(fault) => vec![Fault::of(&Message::RecordsFault { fault: fault.to_string() }, "records", "records")],
        }
    }

    /// A document in the records that no longer has its shape.
    #[must_use]
    pub fn damaged(what: &str, cause: &impl std::fmt::Display) -> Self {
        Self::Store(StoreFault::Damaged(format!("{what}: {cause}")))
    }
}
