//! The records, encrypted: [`book`], where everything that happened is kept
//! once, in a folder or a database; and the tables of the earlier kind.
//!
//! Floor 4: it knows SQL and ciphers and keeps what it is given; it never looks
//! inside and never judges. Of the earlier kind, one [`EarlierRecords`] is one folder: the
//! records (an encrypted SQLite file), the key that opens them ([`Protection`]),
//! and a lock that keeps a second process out.
//!
//! *Invariants*: a change that was acknowledged survives the death of the
//! process and the loss of power on a disk that honours a sync
//! (`synchronous = FULL`); a change and its line in the event log are one
//! transaction; a change made from a version that is no longer the newest is
//! refused; after a failed write nothing more is written until the salon is
//! opened anew.

pub mod book;
mod clock;
mod earlier;
mod fault;
mod key;
mod lock;
mod migration;
mod photos;
mod ready;
mod records;

pub use earlier::EarlierRecords;
pub use fault::{Meaning, StoreFault};
pub use key::Protection;
pub use photos::{NewPhoto, NewReading, PhotoId, PhotoNote, ReadingId, StoredReading};
pub use records::{Client, ClientId, ClientLine, Event, HouseDocument, Kept, NewPlan, Plan, PlanId, PlanLine};
