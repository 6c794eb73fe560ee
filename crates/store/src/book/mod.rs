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
mod batch;
mod blob;
mod core;
mod engine;
mod erase;
mod handle;
mod keys;
mod log;
mod many;
mod opening;
mod packed;
mod place;
mod postgres;
mod read;
mod seal;
mod secret;
mod sqlite;
mod sqlite_fault;
mod stream;
mod view;

pub use self::core::Head;
pub use crate::fault::FirstAltered;
pub use archive::{Erasures, Restorer, Verified};
pub use audit::Audit;
pub use batch::{Answer, Answered, Appended, Batch, NewEvent, Noted, Once, ViewWrite, Write};
pub use blob::{BlobId, MOST_BLOB_BYTES};
pub use erase::{Erased, ErasedLine};
pub use handle::Book;
pub use place::Place;
pub use read::{Access, Body, Moment, Row, Since, TrailLine};
pub use secret::{Opener, Passphrase, RecoveryCode};
pub use stream::Stream;
pub use view::ViewRow;
