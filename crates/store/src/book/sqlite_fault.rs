//! What SQLite says when it refuses, and what that means.

use crate::StoreFault;

/// SQLite's own code of an error, where it has one.
pub(super) fn code_of(error: &sqlx::Error) -> Option<i32> {
    let sqlx::Error::Database(database) = error else { return None };
    database.code()?.parse::<i32>().ok().map(|code| code & 0xff)
}

/// What SQLite's refusal means.
///
/// *Source*: key `sqlitedocs`, "Result and Error Codes": primary code in the low
/// byte.
pub(super) fn fault(error: sqlx::Error) -> StoreFault {
    const BUSY: i32 = 5;
    const LOCKED: i32 = 6;
    const CORRUPT: i32 = 11;
    const CONSTRAINT: i32 = 19;
    const NOT_A_DATABASE: i32 = 26;
    let timed_out = matches!(error, sqlx::Error::PoolTimedOut).then_some(BUSY);
    match code_of(&error).or(timed_out) {
        Some(BUSY | LOCKED) => StoreFault::TryAgain(error.to_string()),
        Some(CORRUPT | CONSTRAINT | NOT_A_DATABASE) => StoreFault::Damaged(error.to_string()),
        _ => StoreFault::Disk { what: "working with the book".to_owned(), cause: error.to_string() },
    }
}
