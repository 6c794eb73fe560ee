//! What can go wrong with the records, in words for the person at the chair.

use crate::book::Stream;
use std::fmt;
use std::path::PathBuf;

/// Why the records could not be opened, read or changed.
#[derive(Debug, Clone, thiserror::Error)]
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
    #[error(
        "an earlier change could not be written to the disk, so nothing more is saved: free some space or check the disk, then start again"
    )]
    WritesStopped,
    /// A passphrase was given for a book that has none.
    #[error("this salon has no passphrase and one was given: leave it out, or set one first, so that nobody believes it locked")]
    PassphraseNotWanted,
    /// A passphrase that protects nothing, or a place that cannot do without one.
    #[error("{0}")]
    PassphraseRefused(&'static str),
    /// What was typed is no recovery code.
    #[error("that is no recovery code ({0}): copy it once more from the printed sheet, every group of it")]
    NoCode(String),
    /// The recovery code belongs to another book.
    #[error(
        "that recovery code is well typed and opens something else: find the sheet of this salon, or an earlier one if the code was renewed"
    )]
    WrongCode,
    /// The place of the records is mistyped or names what it must not.
    #[error("{what}: {cure}")]
    NoPlace {
        /// What is wrong with it.
        what: String,
        /// How to mend it.
        cure: String,
    },
    /// There is no book at the place.
    #[error("no salon's book in {0}: check the place, or begin one there")]
    NoBook(String),
    /// Something is at the place where a book was to be begun.
    #[error("{0} holds something already: choose an empty place; nothing there was touched")]
    NotEmpty(String),
    /// The stream has moved on since it was read.
    #[error("{stream} was changed elsewhere in the meantime (version {now}, yours began from {seen}): look at it again before saving")]
    Stale {
        /// Which stream.
        stream: Stream,
        /// The version the batch began from.
        seen: u64,
        /// The version that is there now.
        now: u64,
    },
    /// The key of the batch was used before; its answer is kept.
    #[error("this was done already: its answer stands under the same key")]
    Repeated,
    /// The stream's key was destroyed at an erasure.
    #[error("{0} was erased: its key is destroyed and nothing can be read from it or added to it")]
    Erased(Stream),
    /// Health answers are handed out only when the access is recorded.
    #[error("health answers are read by `read_health` only, which records who read them")]
    HealthIsApart,
    /// The engine is busy; the same again may well succeed. Nothing was written.
    #[error("the records are busy ({0}): nothing was written, try the same again")]
    TryAgain(String),
    /// The engine cannot be reached or refused. Nothing was written.
    #[error("not saved ({0}): nothing was written; check the connection to the database and do it again")]
    NotSaved(String),
    /// The connection broke while saving and cannot be had again to look.
    #[error(
        "the connection broke while saving ({0}): it may or may not be saved; look before doing it again, or repeat it under the same key"
    )]
    Unsure(String),
    /// The chain, the head or a seal does not hold.
    #[error("altered: {0}: touch nothing and restore the latest backup elsewhere")]
    Altered(FirstAltered),
    /// An archive is not whole, or not an archive.
    #[error("the archive {file} is not whole ({why}): take another one; nothing was restored")]
    Archive {
        /// Which file.
        file: PathBuf,
        /// What is wrong with it.
        why: String,
    },
    /// An archive cannot be restored without the list of what was erased since.
    #[error(
        "beside the archive there is no list of erased clients ({0}): fetch it from the backups, or say that you restore without it, which is recorded"
    )]
    ErasuresMissing(PathBuf),
    /// A batch that makes no sense.
    #[error("the records refuse this: {0}")]
    Refused(String),
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
            Self::NoSalon(_) | Self::NoBook(_) => 10,
            Self::InUse(_) => 11,
            Self::WrongPassphrase
            | Self::PassphraseNeeded
            | Self::PassphraseNotWanted
            | Self::PassphraseRefused(_)
            | Self::NoCode(_)
            | Self::WrongCode => 12,
            Self::Damaged(_) | Self::Altered(_) | Self::Archive { .. } => 13,
            Self::Newer { .. } => 14,
            _ => 1,
        }
    }

    /// What the fault means for whoever asked, whichever engine it came from.
    #[must_use]
    pub const fn meaning(&self) -> Meaning {
        match self {
            Self::TryAgain(_) => Meaning::TryAgain,
            Self::Stale { .. } | Self::Changed { .. } | Self::Repeated => Meaning::Conflict,
            Self::NotSaved(_) => Meaning::NotSaved,
            Self::Unsure(_) => Meaning::Unsure,
            Self::WritesStopped | Self::Disk { .. } | Self::Damaged(_) | Self::Altered(_) => Meaning::StopWriting,
            _ => Meaning::Refused,
        }
    }

    /// Whether the fault lies in one batch, and others may go on.
    pub(crate) const fn is_of_the_batch(&self) -> bool {
        matches!(self, Self::Stale { .. } | Self::Repeated | Self::Erased(_) | Self::Refused(_) | Self::HealthIsApart)
    }

    pub(crate) fn disk(what: impl Into<String>, cause: &std::io::Error) -> Self {
        Self::Disk { what: what.into(), cause: cause.to_string() }
    }
}

/// What a fault means for whoever asked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Meaning {
    /// Nothing was written; the same again may well succeed.
    TryAgain,
    /// Nothing was written; somebody was there first. Look again before deciding.
    Conflict,
    /// Nothing was written; the engine is out of reach.
    NotSaved,
    /// The connection broke while saving; look before doing it again.
    Unsure,
    /// Nothing more is to be written until the book is opened anew.
    StopWriting,
    /// What was asked is not possible; the fault says why and what to do.
    Refused,
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
