//! SQLite and its cipher, made ready once in a process, and how its files are opened.
//!
//! SQLite counts itself as initialised before its cipher is: a second thread that
//! opens its first file in that moment is told that its key is wrong. So the first
//! to come tries a file in memory, with a key, until it opens; the others wait.

use crate::StoreFault;
use sqlx::sqlite::{SqliteConnectOptions, SqliteJournalMode, SqliteSynchronous};
use sqlx::{ConnectOptions, Connection};
use std::path::Path;
use std::time::Duration;
use tokio::sync::OnceCell;

static READY: OnceCell<()> = OnceCell::const_new();
/// A second in all; making ready takes a few milliseconds.
const TRIES: usize = 100;
const PAUSE: Duration = Duration::from_millis(10);

/// How every file of records is opened: under its key, on the disk when it is
/// acknowledged, nothing of it left in freed pages or in files beside it.
pub(crate) fn opened_with(file: &Path, key: String, new: bool) -> SqliteConnectOptions {
    SqliteConnectOptions::new()
        .filename(file)
        .create_if_missing(new)
        .pragma("key", key)
        .journal_mode(SqliteJournalMode::Wal)
        .synchronous(SqliteSynchronous::Full)
        .foreign_keys(true)
        .busy_timeout(Duration::from_secs(5))
        .pragma("cipher_log_level", "NONE")
        .pragma("secure_delete", "ON")
        .pragma("temp_store", "MEMORY")
}

/// Waits until files can be opened.
pub(crate) async fn made_ready() -> Result<(), StoreFault> {
    READY.get_or_try_init(first_file).await.map(|_| ())
}

async fn first_file() -> Result<(), StoreFault> {
    let mut last = String::new();
    for _ in 0..TRIES {
        let options = SqliteConnectOptions::new().in_memory(true).pragma("key", "'ready'").pragma("cipher_log_level", "NONE");
        let tried = async {
            let mut file = options.connect().await?;
            sqlx::query("SELECT count(*) FROM sqlite_schema").fetch_one(&mut file).await?;
            file.close().await
        };
        match tried.await {
            Ok(()) => return Ok(()),
            Err(error) => last = error.to_string(),
        }
        tokio::time::sleep(PAUSE).await;
    }
    Err(StoreFault::Disk { what: "making the records' engine ready".to_owned(), cause: last })
}
