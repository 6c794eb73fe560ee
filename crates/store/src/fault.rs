//! What can go wrong with the records, in words for the person at the chair.

use std::path::PathBuf;

/// Why the records could not be opened, read or changed.
#[derive(Debug, thiserror::Error)]
pub enum StoreFault {
    /// The folder holds no salon.
    #[error("no salon in {0}: check the folder, or let `serve` begin a new salon in an empty one")]
    NoSalon(PathBuf),
    /// Another process has the salon open.
    #[error("the salon in {0} is open in another window or process: close that one first")]
    InUse(PathBuf),
    /// The passphrase does not open the key.
    #[error("that passphrase does not open this salon: check capitals and keyboard layout and try again")]
    WrongPassphrase,
    /// The salon wants a passphrase and none was given.
    #[error("this salon is locked with a passphrase and none was given")]
    PassphraseNeeded,
    /// The files are not whole.
    #[error("the salon's records are damaged ({0}): touch nothing in the folder and restore the latest backup elsewhere")]
    Damaged(String),
    /// The records were written by a newer version of the program.
    #[error("these records have layout {found} and this program knows up to {known}: open them with the newer program")]
    Newer {
        /// The layout found.
        found: i64,
        /// The newest layout this program knows.
        known: i64,
    },
    /// Somebody else changed the record in the meantime.
    #[error("this was changed elsewhere in the meantime (version {now}, yours began from {seen}): look at it again before saving")]
    Changed {
        /// The version the change began from.
        seen: i64,
        /// The version that is there now.
        now: i64,
    },
    /// Nothing has this id.
    #[error("no {0} has this number: it may have been removed, or the address is mistyped")]
    Unknown(&'static str),
    /// An earlier write failed; nothing more is written in this run.
    #[error("an earlier change could not be written to the disk, so nothing more is saved: free some space or check the disk, then start again")]
    WritesStopped,
    /// The disk or the operating system refused.
    #[error("{what} failed: {cause}")]
    Disk {
        /// What was being done.
        what: String,
        /// What the system said.
        cause: String,
    },
}

impl StoreFault {
    /// The exit code of the command line for this fault.
    ///
    /// *Meaning*: 10 no salon, 11 in use, 12 wrong passphrase, 13 damaged, 14
    /// newer, 1 everything else.
    #[must_use]
    pub const fn exit_code(&self) -> u8 {
        match self {
            Self::NoSalon(_) => 10,
            Self::InUse(_) => 11,
            Self::WrongPassphrase | Self::PassphraseNeeded => 12,
            Self::Damaged(_) => 13,
            Self::Newer { .. } => 14,
            _ => 1,
        }
    }

    pub(crate) fn disk(what: impl Into<String>, cause: &std::io::Error) -> Self {
        Self::Disk { what: what.into(), cause: cause.to_string() }
    }
}

/// Codes that SQLite gives, as listed in its own documentation ("Result and
/// Error Codes"), primary code in the low byte.
const SQLITE_CORRUPT: i32 = 11;
const SQLITE_NOTADB: i32 = 26;

impl From<sqlx::Error> for StoreFault {
    fn from(error: sqlx::Error) -> Self {
        if let sqlx::Error::Database(database) = &error {
            let primary = database.code().and_then(|code| code.parse::<i32>().ok()).map(|code| code & 0xff);
            if matches!(primary, Some(SQLITE_CORRUPT | SQLITE_NOTADB)) {
                return Self::Damaged(database.message().to_owned());
            }
        }
        Self::Disk { what: "working with the records".to_owned(), cause: error.to_string() }
    }
}
