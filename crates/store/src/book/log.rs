//! Folding SQLite's write-ahead log into its file, beside those who append.
//!
//! Left to itself the engine folds inside the commit that fills the log, so that
//! one act in many waits for a thousand pages and another sync. Here a connection
//! of its own carries the bulk over while others go on writing; the writer then
//! only does what came meanwhile, and the log begins again at its start.

use super::sqlite_fault::fault;
use crate::StoreFault;
use sqlx::SqlitePool;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use tokio::sync::Mutex;

/// Rows after which the log is folded; about 4 MB of pages, as the engine's own limit is.
const MOST_ROWS: u64 = 600;

/// Rows of one transaction that fill more than a connection's cache. SQLite, as it
/// is built here, counts the pages of all connections together, and a writer that
/// keeps more than its share leaves none to those who read: they would open every
/// page anew each time they touch it.
const FILLS_THE_CACHE: u64 = 4000;

/// The log of an open folder.
pub(super) struct Log {
    writer: SqlitePool,
    keeper: SqlitePool,
    rows: AtomicU64,
    /// Held while the log is folded: the engine refuses two at a time.
    folding: Arc<Mutex<()>>,
}

impl Log {
    pub(super) fn new(writer: SqlitePool, keeper: SqlitePool) -> Arc<Self> {
        Arc::new(Self { writer, keeper, rows: AtomicU64::new(0), folding: Arc::default() })
    }

    /// Notes what a transaction wrote; begins to fold when it is much.
    pub(super) fn wrote(self: &Arc<Self>, rows: u64) {
        if self.rows.fetch_add(rows, Ordering::Relaxed) + rows < MOST_ROWS {
            return;
        }
        let Ok(alone) = Arc::clone(&self.folding).try_lock_owned() else { return };
        self.rows.store(0, Ordering::Relaxed);
        let log = Arc::clone(self);
        tokio::spawn(async move {
            // What could not be folded now is folded the next time, at the latest at the next opening.
            if fold(&log.keeper).await.is_ok() {
                let _ = fold(&log.writer).await;
            }
            if rows >= FILLS_THE_CACHE {
                // Where it fails, readers are slower until the next large transaction.
                let _ = sqlx::query("PRAGMA shrink_memory").execute(&log.writer).await;
            }
            drop(alone);
        });
    }

    /// Folds the log into the file and empties it; readers may hold it up, then
    /// it is done at the next opening.
    pub(super) async fn empty(&self) -> Result<(), StoreFault> {
        let _alone = self.folding.lock().await;
        sqlx::query("PRAGMA wal_checkpoint(TRUNCATE)").fetch_all(&self.writer).await.map_err(fault)?;
        Ok(())
    }

    /// Lets go of the connection.
    pub(super) async fn close(&self) {
        self.keeper.close().await;
    }
}

/// Carries over what can be without waiting for anybody.
async fn fold(pool: &SqlitePool) -> Result<(), StoreFault> {
    sqlx::query("PRAGMA wal_checkpoint(PASSIVE)").fetch_all(pool).await.map_err(fault)?;
    Ok(())
}
