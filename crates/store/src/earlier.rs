//! Opening, beginning and closing a salon.
//!
//! Nothing that holds anything is ever deleted by it. A mark tells a beginning
//! that was cut short, but the mark alone proves nothing, it may be a stray one:
//! where records are, they are opened or left as they are; where none are, what
//! else was left is set aside under another name.

use crate::key::{self, DataKey, KEY_FILE, Protection};
use crate::{StoreFault, lock, migration, ready};
use sqlx::Row;
use sqlx::sqlite::{SqlitePool, SqlitePoolOptions};
use std::fs::File;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};

/// The records' file name.
const RECORDS_FILE: &str = "salon.db";
/// What was written last and is not yet folded into the records' file.
const LOG_FILE: &str = "salon.db-wal";
/// What SQLite keeps while it makes the records' file, and may leave. Later it
/// writes the log instead.
const JOURNAL_FILE: &str = "salon.db-journal";
/// The bytes of a records' file that holds a heading and no records yet.
const HEADING_BYTES: u64 = 4096;
/// Stands in the folder, empty, while a new salon is being made, so that one cut
/// short is made anew and never taken for a damaged one.
const BEGINNING_FILE: &str = "salon.beginning";
/// The most files of one name that are set aside.
const MOST_ASIDE: u32 = 1000;
/// Readers beside the one writer.
const READERS: u32 = 4;

/// An open salon: the one way to its records.
///
/// *Meaning*: one connection writes, several read; the folder stays locked
/// until it is closed or dropped.
#[derive(Debug)]
pub struct EarlierRecords {
    pub(crate) writer: SqlitePool,
    pub(crate) readers: SqlitePool,
    folder: PathBuf,
    protection: Protection,
    writes_stopped: AtomicBool,
    lock: File,
}

impl EarlierRecords {
    /// Whether the folder holds a salon, whole or not.
    #[must_use]
    pub fn is_in(folder: &Path) -> bool {
        if may_hold_records(folder) {
            return true;
        }
        let there = [RECORDS_FILE, KEY_FILE].iter().any(|name| is_there(&folder.join(name)));
        there && !was_cut_short(folder)
    }

    /// Opens the salon in a folder.
    ///
    /// *Errors*: no salon there, in use, wrong passphrase, damaged, newer.
    pub async fn open(folder: &Path, passphrase: Option<&str>) -> Result<Self, StoreFault> {
        if !Self::is_in(folder) {
            return Err(StoreFault::NoSalon(folder.to_owned()));
        }
        let lock = lock::take(folder)?;
        let (data_key, protection) = read_key(folder, passphrase).await?;
        let length = std::fs::metadata(folder.join(RECORDS_FILE)).map_or(0, |found| found.len());
        if length == 0 {
            return Err(StoreFault::Damaged("the file salon.db is missing or empty".to_owned()));
        }
        let has_records = length > HEADING_BYTES || is_filled(&folder.join(LOG_FILE));
        if has_records && is_filled(&folder.join(JOURNAL_FILE)) {
            // It would be written back over the records.
            return Err(StoreFault::Damaged("beside them stands salon.db-journal, which is not theirs".to_owned()));
        }
        let salon = Self::connect(folder, &data_key, protection, lock, false).await?;
        if was_cut_short(folder) {
            salon.end_beginning()?;
        }
        Ok(salon)
    }

    /// Begins a new salon in a folder that is missing or empty, or in which a
    /// beginning was cut short before there were records; a key of that one is
    /// set aside.
    ///
    /// *Errors*: the folder holds something already; the disk refuses.
    pub async fn begin(folder: &Path, passphrase: Option<&str>) -> Result<Self, StoreFault> {
        let failed = |cause: std::io::Error| StoreFault::disk(format!("making the folder {}", folder.display()), &cause);
        make_private_folder(folder).map_err(failed)?;
        let lock = lock::take(folder)?;
        let free = was_cut_short(folder) && !may_hold_records(folder);
        if !free && !is_empty_but_for_the_lock(folder).map_err(failed)? {
            return Err(StoreFault::NoSalon(folder.to_owned()));
        }
        File::create(folder.join(BEGINNING_FILE)).and_then(|file| file.sync_all()).map_err(failed)?;
        key::sync_folder(folder)?;
        for leftover in [KEY_FILE, key::UNFINISHED_FILE, JOURNAL_FILE] {
            set_aside(folder, leftover).map_err(failed)?;
        }
        let data_key = DataKey::random()?;
        let protection = if passphrase.is_some() { Protection::Passphrase } else { Protection::FileOnly };
        write_key(folder, &data_key, passphrase).await?;
        let salon = Self::connect(folder, &data_key, protection, lock, true).await?;
        salon.end_beginning()?;
        Ok(salon)
    }

    /// Opens the salon in a folder, or begins one when the folder is missing or empty.
    ///
    /// *Errors*: as opening or beginning one.
    pub async fn open_or_begin(folder: &Path, passphrase: Option<&str>) -> Result<Self, StoreFault> {
        if Self::is_in(folder) { Self::open(folder, passphrase).await } else { Self::begin(folder, passphrase).await }
    }

    /// The folder the salon lives in.
    #[must_use]
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// What guards the key.
    #[must_use]
    pub const fn protection(&self) -> Protection {
        self.protection
    }

    /// Closes the salon for everyone who still holds it: what is in the log is
    /// folded into the records' file and the folder is free for another process.
    pub async fn close(&self) {
        self.readers.close().await;
        self.writer.close().await;
        // A lock that cannot be let go of ends with the process.
        let _ = self.lock.unlock();
    }

    /// How durably the records are kept, as the engine itself reports it:
    /// journal, synchronous level (2 is full), foreign keys.
    ///
    /// *Errors*: the engine does not answer.
    pub async fn durability(&self) -> Result<(String, i64, bool), StoreFault> {
        let mut connection = self.writer.acquire().await?;
        let journal: String = sqlx::query("PRAGMA journal_mode").fetch_one(&mut *connection).await?.try_get(0)?;
        let level: i64 = sqlx::query("PRAGMA synchronous").fetch_one(&mut *connection).await?.try_get(0)?;
        let keys: i64 = sqlx::query("PRAGMA foreign_keys").fetch_one(&mut *connection).await?.try_get(0)?;
        Ok((journal, level, keys == 1))
    }

    /// Refuses when an earlier write failed: after a failed sync the system may
    /// have thrown away what it could not write, so trying again would lie.
    pub(crate) fn may_write(&self) -> Result<(), StoreFault> {
        if self.writes_stopped.load(Ordering::SeqCst) { Err(StoreFault::WritesStopped) } else { Ok(()) }
    }

    /// Notes the outcome of a write; a refusal by the disk stops all later ones.
    pub(crate) fn after_write<T>(&self, outcome: Result<T, StoreFault>) -> Result<T, StoreFault> {
        if matches!(outcome, Err(StoreFault::Disk { .. } | StoreFault::Damaged(_))) {
            self.writes_stopped.store(true, Ordering::SeqCst);
        }
        outcome
    }

    /// Takes the mark of beginning away: the salon is whole.
    fn end_beginning(&self) -> Result<(), StoreFault> {
        std::fs::remove_file(self.folder.join(BEGINNING_FILE))
            .map_err(|cause| StoreFault::disk(format!("writing to {}", self.folder.display()), &cause))?;
        key::sync_folder(&self.folder)
    }

    async fn connect(folder: &Path, data_key: &DataKey, protection: Protection, lock: File, new: bool) -> Result<Self, StoreFault> {
        ready::made_ready().await?;
        let options = ready::opened_with(&folder.join(RECORDS_FILE), data_key.for_database(), new);
        let writer = SqlitePoolOptions::new().min_connections(1).max_connections(1).connect_with(options.clone()).await?;
        let mut connection = writer.acquire().await?;
        let health: String = sqlx::query("PRAGMA quick_check(1)").fetch_one(&mut *connection).await?.try_get(0)?;
        if health != "ok" {
            return Err(StoreFault::Damaged(health));
        }
        migration::bring_up_to_date(&mut connection).await?;
        drop(connection);
        let readers = SqlitePoolOptions::new()
            .max_connections(READERS)
            .connect_with(options.create_if_missing(false).pragma("query_only", "ON"))
            .await?;
        Ok(Self { writer, readers, folder: folder.to_owned(), protection, writes_stopped: AtomicBool::new(false), lock })
    }
}

async fn read_key(folder: &Path, passphrase: Option<&str>) -> Result<(DataKey, Protection), StoreFault> {
    let (folder, passphrase) = (folder.to_owned(), passphrase.map(str::to_owned));
    off_the_loop(move || key::read(&folder, passphrase.as_deref())).await
}

async fn write_key(folder: &Path, data_key: &DataKey, passphrase: Option<&str>) -> Result<(), StoreFault> {
    let (folder, data_key, passphrase) = (folder.to_owned(), data_key.clone(), passphrase.map(str::to_owned));
    off_the_loop(move || key::write(&folder, &data_key, passphrase.as_deref())).await
}

/// Runs slow, blocking work beside the event loop.
async fn off_the_loop<T: Send + 'static>(work: impl FnOnce() -> Result<T, StoreFault> + Send + 'static) -> Result<T, StoreFault> {
    tokio::task::spawn_blocking(work)
        .await
        .map_err(|cause| StoreFault::Disk { what: "working on the key".to_owned(), cause: cause.to_string() })?
}

fn make_private_folder(folder: &Path) -> std::io::Result<()> {
    use std::os::unix::fs::DirBuilderExt;
    if folder.is_dir() {
        return Ok(());
    }
    std::fs::DirBuilder::new().recursive(true).mode(0o700).create(folder)
}

/// Whether something stands there, or the system will not say.
fn is_there(path: &Path) -> bool {
    !matches!(std::fs::symlink_metadata(path), Err(cause) if cause.kind() == std::io::ErrorKind::NotFound)
}

/// Whether something stands there that is no empty file, or the system will not say.
fn is_filled(path: &Path) -> bool {
    is_there(path) && !is_empty_file(path)
}

fn is_empty_file(path: &Path) -> bool {
    std::fs::symlink_metadata(path).is_ok_and(|found| found.is_file() && found.len() == 0)
}

/// Whether the records' file or its log holds anything.
fn may_hold_records(folder: &Path) -> bool {
    [RECORDS_FILE, LOG_FILE].iter().any(|name| is_filled(&folder.join(name)))
}

/// Whether the mark of beginning stands in the folder. Ours is empty; a file of
/// that name that holds something is somebody else's.
fn was_cut_short(folder: &Path) -> bool {
    is_empty_file(&folder.join(BEGINNING_FILE))
}

/// Gives a file that stands in the way a name that is free: `salon.key.aside-1`.
fn set_aside(folder: &Path, name: &str) -> std::io::Result<()> {
    let path = folder.join(name);
    if !is_there(&path) {
        return Ok(());
    }
    let free = (1..=MOST_ASIDE).map(|n| folder.join(format!("{name}.aside-{n}"))).find(|free| !is_there(free));
    let free = free.ok_or_else(|| std::io::Error::other(format!("{name} was set aside {MOST_ASIDE} times: move those files elsewhere")))?;
    std::fs::rename(&path, free)
}

fn is_empty_but_for_the_lock(folder: &Path) -> std::io::Result<bool> {
    for entry in std::fs::read_dir(folder)? {
        if entry?.file_name() != lock::LOCK_FILE {
            return Ok(false);
        }
    }
    Ok(true)
}
