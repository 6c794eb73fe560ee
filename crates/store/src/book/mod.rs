//! The book: everything that happened in a salon, as events that are only ever added.
//!
//! One table of events carries the truth, the same on both engines (an encrypted
//! SQLite file in a folder, or one salon of a PostgreSQL database). What an event
//! says is sealed; the table shows ids, sorts and times. The store never looks
//! inside and never judges.
//!
//! *Invariants*
//! - A batch is kept whole or not at all, and what was acknowledged is durable.
//! - A stream's versions count from one without gaps; a batch that names a
//!   version which is no longer the newest is refused.
//! - Every row's hash covers the row before it, and the end of the chain carries
//!   a code under the house key: nobody with the file alone can change, shorten
//!   or lengthen it unseen.
//! - Each client's events are sealed under a key of her own, each health document
//!   under another; destroying a key row erases what it sealed, for good, and the
//!   chain stays whole.
//! - Health answers are handed out only after the access was recorded.
//! - Two books open on one database keep all of it: every promise is kept by the
//!   database's transaction, none by memory alone.

mod append;
mod archive;
mod audit;
mod blob;
mod erase;
mod place;
mod read;
mod seal;
mod secret;
mod stream;
mod view;

pub use append::{Answer, Answered, Appended, Batch, NewEvent, Once, Write};
pub use archive::{Erasures, Restorer, Verified};
pub use audit::{Audit, FirstAltered};
pub use blob::{BlobId, MOST_BLOB_BYTES};
pub use erase::{Erased, ErasedLine};
pub use place::Place;
pub use read::{Access, Body, Head, Noted, Row, TrailLine};
pub use secret::{Opener, Passphrase, RecoveryCode};
pub use stream::Stream;
pub use view::{ViewRow, ViewWrite};

use crate::{Protection, StoreFault};
use uuid::Uuid;

/// An open book: the one way to what happened in a salon.
///
/// *Meaning*: a folder's book is open once at a time, in one process; a
/// database's book may be open in several.
#[derive(Debug)]
pub struct Book {
    place: Place,
    salon: Uuid,
}

impl Book {
    /// Whether a folder holds a book. (A salon of the earlier kind is none.)
    #[must_use]
    pub fn is_in(folder: &std::path::Path) -> bool {
        folder.join("book.key").exists()
    }

    /// Begins a new book at an empty place and makes its recovery code: print it
    /// now, it is kept nowhere. A folder may hold a salon of the earlier kind.
    /// A database needs a passphrase (nothing there may hold the key open); its
    /// tables and the salon's role are made when they are missing and the
    /// address's role may make them.
    ///
    /// *Errors*: `NotEmpty`, `PassphraseRefused`, `NoPlace`, the disk or database refuses.
    pub async fn begin(place: &Place, passphrase: Option<&Passphrase>, now_ms: i64) -> Result<(Self, RecoveryCode), StoreFault> {
        let _ = (place, passphrase, now_ms);
        Err(StoreFault::WritesStopped)
    }

    /// Opens a book. What it checks does not grow with what the book holds.
    ///
    /// *Errors*: `NoBook`, `InUse`, `PassphraseNeeded`, `WrongPassphrase`,
    /// `PassphraseNotWanted`, `WrongCode`, `Damaged`, `Altered`, `Newer`.
    pub async fn open(place: &Place, opener: &Opener) -> Result<Self, StoreFault> {
        let _ = (place, opener);
        Err(StoreFault::WritesStopped)
    }

    /// Sets, changes or (in a folder) takes away the passphrase. `was` must open
    /// the book as it is now: who walks by an open book cannot lock its owner out.
    ///
    /// *Errors*: as [`Book::open`]; `PassphraseRefused`.
    pub async fn change_passphrase(&self, was: &Opener, to: Option<&Passphrase>) -> Result<(), StoreFault> {
        let _ = (was, to);
        Err(StoreFault::WritesStopped)
    }

    /// Makes a new recovery code and ends the old one. Archives made before
    /// still open with the old code only.
    pub async fn renew_recovery_code(&self, was: &Opener) -> Result<RecoveryCode, StoreFault> {
        let _ = was;
        Err(StoreFault::WritesStopped)
    }

    /// Where the book is kept.
    #[must_use]
    pub const fn place(&self) -> &Place {
        &self.place
    }

    /// Which salon's book it is.
    #[must_use]
    pub const fn salon(&self) -> Uuid {
        self.salon
    }

    /// What guards the key.
    #[must_use]
    pub fn protection(&self) -> Protection {
        Protection::FileOnly
    }

    /// The public half of the recovery code, as backups use it (`age1…`).
    #[must_use]
    pub fn recipient(&self) -> String {
        String::new()
    }

    /// Closes the book for everyone who still holds it, and frees its folder.
    pub async fn close(&self) {}
}
