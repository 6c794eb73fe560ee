//! The engine of a folder: an SQLite file inside SQLCipher, blobs as files beside it.
//!
//! One connection writes, several read; the folder is locked for one process.
//! Write-ahead log, `synchronous = FULL`: a commit is on the disk when it returns.

use super::engine::{Change, Engine, Later, Line, Value, Wide};
use super::log::Log;
use super::seal::{Key, Sealed, hex};
use super::sqlite_fault::{code_of, fault};
use super::{many, packed, secret};
use crate::{StoreFault, key, lock, ready};
use sqlx::sqlite::{SqliteArguments, SqlitePool, SqlitePoolOptions, SqliteRow};
use sqlx::{Column, Row, Sqlite, Transaction, TypeInfo, ValueRef};
use std::fs::{File, OpenOptions};
use std::future::Future;
use std::io::Write;
use std::os::unix::fs::{DirBuilderExt, OpenOptionsExt};
use std::path::{Path, PathBuf};
use std::pin::Pin;
use std::sync::Arc;
use uuid::Uuid;

const FILE: &str = "book.db";
/// The file that makes a folder hold a book.
pub(crate) const KEY_FILE: &str = "book.key";
const LOCK_FILE: &str = "book.lock";
const BLOBS: &str = "blobs";
/// Stands in the folder while a book is being made, so that one cut short is made anew.
const BEGINNING: &str = "book.beginning";
const READERS: u32 = 4;
const NEWEST: i64 = 1;

/// A folder that this process has locked.
pub(crate) struct Folder {
    path: PathBuf,
    lock: File,
}

impl Drop for Folder {
    /// Closing the file does not end the lock while a child process that is just
    /// being started still holds a copy of it; unlocking does.
    fn drop(&mut self) {
        // A lock that cannot be let go of ends with the process.
        let _ = self.lock.unlock();
    }
}

impl Folder {
    /// Locks a folder that holds a book.
    pub(crate) fn with_book(path: &Path) -> Result<Self, StoreFault> {
        if !path.join(KEY_FILE).exists() {
            if path.join(FILE).exists() && !path.join(BEGINNING).exists() {
                return Err(StoreFault::Damaged("the key file book.key is missing".to_owned()));
            }
            return Err(StoreFault::NoBook(path.display().to_string()));
        }
        Ok(Self { path: path.to_owned(), lock: lock::take_named(path, LOCK_FILE)? })
    }

    /// Locks a folder in which a book may be begun: missing, empty, holding a
    /// salon of the earlier kind, or a beginning that was cut short, whose
    /// leftovers are set aside.
    pub(crate) fn for_beginning(path: &Path) -> Result<Self, StoreFault> {
        let failed = |cause: std::io::Error| StoreFault::disk(format!("making the folder {}", path.display()), &cause);
        std::fs::DirBuilder::new().recursive(true).mode(0o700).create(path).map_err(failed)?;
        let folder = Self { path: path.to_owned(), lock: lock::take_named(path, LOCK_FILE)? };
        let cut_short = path.join(BEGINNING).exists() && !path.join(KEY_FILE).exists();
        for entry in std::fs::read_dir(path).map_err(failed)? {
            let name = entry.map_err(failed)?.file_name().to_string_lossy().into_owned();
            let earlier = name.starts_with("salon.");
            let leftover = cut_short && (name.starts_with("book.") || name == BLOBS);
            if name != LOCK_FILE && !earlier && !leftover {
                return Err(StoreFault::NotEmpty(path.display().to_string()));
            }
        }
        File::create(path.join(BEGINNING)).and_then(|file| file.sync_all()).map_err(failed)?;
        for name in [FILE, "book.db-wal", "book.db-shm", "book.db-journal", BLOBS] {
            set_aside(path, name).map_err(failed)?;
        }
        key::sync_folder(path)?;
        Ok(folder)
    }

    /// The document with the data key.
    pub(crate) fn key_document(&self) -> Result<String, StoreFault> {
        let path = self.path.join(KEY_FILE);
        std::fs::read_to_string(&path).map_err(|cause| match cause.kind() {
            std::io::ErrorKind::InvalidData => StoreFault::Damaged("the key file book.key is not text".to_owned()),
            _ => StoreFault::disk(format!("reading {}", path.display()), &cause),
        })
    }

    /// Opens the file, or makes it.
    pub(crate) async fn connect(self, data_key: &Key, new: bool) -> Result<SqliteEngine, StoreFault> {
        let file = self.path.join(FILE);
        if !new && std::fs::metadata(&file).map_or(0, |found| found.len()) == 0 {
            return Err(StoreFault::Damaged("the file book.db is missing or empty".to_owned()));
        }
        ready::made_ready().await?;
        let raw_key = format!("\"x'{}'\"", hex(data_key.derived("file").bytes()));
        let options = ready::opened_with(&file, raw_key.clone(), new)
            // 16 MiB of opened pages each: opening one again costs a decryption.
            .pragma("cache_size", "-16384")
            // A walk through the book must not stop for every fifty rows.
            .row_buffer_size(1024);
        secret::forget(raw_key);
        // A connection to a file of this process does not go away by itself: none is asked before it is used.
        let pool = || SqlitePoolOptions::new().test_before_acquire(false);
        let one = || pool().min_connections(1).max_connections(1);
        // The log is folded beside the writer, not inside its commits.
        let writer = one().connect_with(options.clone().pragma("wal_autocheckpoint", "0")).await.map_err(fault)?;
        if new {
            let mut step = writer.begin_with("BEGIN IMMEDIATE").await.map_err(fault)?;
            sqlx::raw_sql(include_str!("../../migrations/book/0001_sqlite.sql")).execute(&mut *step).await.map_err(fault)?;
            step.commit().await.map_err(fault)?;
        }
        let found: i64 = sqlx::query_scalar("SELECT max(number) FROM layout").fetch_one(&writer).await.map_err(fault)?;
        if found > NEWEST {
            return Err(StoreFault::Newer { found, known: NEWEST });
        }
        let keeper = one().connect_with(options.clone().create_if_missing(false)).await.map_err(fault)?;
        let readers = pool()
            .max_connections(READERS)
            .connect_with(options.create_if_missing(false).pragma("query_only", "ON"))
            .await
            .map_err(fault)?;
        let log = Log::new(writer.clone(), keeper);
        // What an erasure deleted must not outlive the process that did it in the log.
        log.empty().await?;
        Ok(SqliteEngine { writer, readers, log, folder: self })
    }
}

/// An open folder.
pub(crate) struct SqliteEngine {
    writer: SqlitePool,
    readers: SqlitePool,
    log: Arc<Log>,
    folder: Folder,
}

/// A transaction, and how many rows it wrote.
struct SqliteChange {
    change: Transaction<'static, Sqlite>,
    log: Arc<Log>,
    wrote: u64,
}

impl SqliteChange {
    fn new(change: Transaction<'static, Sqlite>, engine: &SqliteEngine) -> Self {
        Self { change, log: Arc::clone(&engine.log), wrote: 0 }
    }
}

impl Change for SqliteChange {
    fn rows<'a>(&'a mut self, sql: &'static str, with: Vec<Value>) -> Later<'a, Vec<Line>> {
        Box::pin(async move {
            let rows = bound(sql, with).fetch_all(&mut *self.change).await.map_err(fault)?;
            rows.iter().map(line).collect()
        })
    }

    fn gather<'a>(&'a mut self, what: &'static Wide, with: Vec<Value>) -> Later<'a, Vec<Line>> {
        Box::pin(async move {
            match gathered(what, bound(packed::question(what), with.clone()).fetch_one(&mut *self.change).await)? {
                Some(lines) => Ok(lines),
                None => self.rows(what.plain(), with).await,
            }
        })
    }

    fn run<'a>(&'a mut self, sql: &'static str, with: Vec<Value>) -> Later<'a, u64> {
        Box::pin(async move {
            let rows = bound(sql, with).execute(&mut *self.change).await.map_err(fault)?.rows_affected();
            self.wrote += rows;
            Ok(rows)
        })
    }

    fn insert_events(&mut self, salon: Uuid, rows: Vec<Sealed>) -> Later<'_, ()> {
        Box::pin(async move {
            for (sql, values) in many::inserts(salon, rows) {
                self.run(sql, values).await?;
            }
            Ok(())
        })
    }

    fn know(&mut self, salon: Uuid, streams: Vec<Vec<u8>>) -> Later<'_, Vec<Line>> {
        Box::pin(async move {
            let mut lines = Vec::with_capacity(streams.len());
            for (sql, values) in many::questions(salon, streams) {
                lines.extend(self.rows(sql, values).await?);
            }
            Ok(lines)
        })
    }

    fn move_streams(&mut self, salon: Uuid, streams: Vec<(Vec<u8>, u64)>) -> Later<'_, ()> {
        Box::pin(async move {
            for (sql, values) in many::moves(salon, streams) {
                self.run(sql, values).await?;
            }
            Ok(())
        })
    }

    fn commit(self: Box<Self>) -> Later<'static, ()> {
        Box::pin(async move {
            self.change.commit().await.map_err(fault)?;
            self.log.wrote(self.wrote);
            Ok(())
        })
    }
}

impl Engine for SqliteEngine {
    fn change(&self) -> Later<'_, Box<dyn Change>> {
        Box::pin(async move {
            let change = self.writer.begin_with("BEGIN IMMEDIATE").await.map_err(fault)?;
            Ok(Box::new(SqliteChange::new(change, self)) as Box<dyn Change>)
        })
    }

    fn snapshot(&self) -> Later<'_, Box<dyn Change>> {
        Box::pin(async move {
            let mut change = self.readers.begin().await.map_err(fault)?;
            // The moment is that of the first reading.
            sqlx::query("SELECT number FROM layout").fetch_one(&mut *change).await.map_err(fault)?;
            Ok(Box::new(SqliteChange::new(change, self)) as Box<dyn Change>)
        })
    }

    fn look(&self, sql: &'static str, with: Vec<Value>) -> Later<'_, Vec<Line>> {
        Box::pin(async move {
            let rows = bound(sql, with).fetch_all(&self.readers).await.map_err(fault)?;
            rows.iter().map(line).collect()
        })
    }

    fn gather(&self, what: &'static Wide, with: Vec<Value>) -> Later<'_, Vec<Line>> {
        Box::pin(async move {
            match gathered(what, bound(packed::question(what), with.clone()).fetch_one(&self.readers).await)? {
                Some(lines) => Ok(lines),
                None => self.look(what.plain(), with).await,
            }
        })
    }

    fn put_bytes<'a>(&'a self, _: &'a mut dyn Change, id: Uuid, sealed: &'a [u8]) -> Later<'a, ()> {
        let (folder, sealed) = (self.folder.path.clone(), sealed.to_vec());
        Box::pin(async move { beside(move || write_blob(&folder, id, &sealed)).await })
    }

    fn bytes(&self, id: Uuid) -> Later<'_, Option<Vec<u8>>> {
        let path = blob_path(&self.folder.path, id);
        Box::pin(async move {
            beside(move || match std::fs::read(&path) {
                Ok(bytes) => Ok(Some(bytes)),
                Err(cause) if cause.kind() == std::io::ErrorKind::NotFound => Ok(None),
                Err(cause) => Err(StoreFault::disk(format!("reading {}", path.display()), &cause)),
            })
            .await
        })
    }

    fn drop_bytes(&self, ids: Vec<Uuid>) -> Later<'_, ()> {
        let folder = self.folder.path.clone();
        Box::pin(async move { beside(move || ids.iter().try_for_each(|id| delete_blob(&folder, *id))).await })
    }

    fn keep_key_document(&self, change: Box<dyn Change>, text: String) -> Later<'_, ()> {
        let folder = self.folder.path.clone();
        Box::pin(async move {
            change.commit().await?;
            beside(move || {
                write_whole(&folder, KEY_FILE, text.as_bytes())?;
                secret::forget(text);
                match std::fs::remove_file(folder.join(BEGINNING)) {
                    Err(cause) if cause.kind() != std::io::ErrorKind::NotFound => {
                        Err(StoreFault::disk(format!("writing to {}", folder.display()), &cause))
                    }
                    _ => key::sync_folder(&folder),
                }
            })
            .await
        })
    }

    fn let_go(&self) -> Later<'_, bool> {
        Box::pin(async move {
            self.log.empty().await?;
            Ok(std::fs::metadata(self.folder.path.join("book.db-wal")).map_or(0, |found| found.len()) == 0)
        })
    }

    fn durability(&self) -> Later<'_, String> {
        Box::pin(async move {
            let mut connection = self.writer.acquire().await.map_err(fault)?;
            let journal: String = sqlx::query_scalar("PRAGMA journal_mode").fetch_one(&mut *connection).await.map_err(fault)?;
            let level: i64 = sqlx::query_scalar("PRAGMA synchronous").fetch_one(&mut *connection).await.map_err(fault)?;
            let deletes: i64 = sqlx::query_scalar("PRAGMA secure_delete").fetch_one(&mut *connection).await.map_err(fault)?;
            Ok(format!("journal_mode={journal} synchronous={level} secure_delete={deletes}"))
        })
    }

    fn close(&self) -> Pin<Box<dyn Future<Output = ()> + Send + '_>> {
        Box::pin(async move {
            self.log.close().await;
            self.readers.close().await;
            self.writer.close().await;
            // A lock that cannot be let go of ends with the process.
            let _ = self.folder.lock.unlock();
        })
    }
}

fn bound(sql: &'static str, with: Vec<Value>) -> sqlx::query::Query<'static, Sqlite, SqliteArguments> {
    with.into_iter().fold(sqlx::query(sql), |query, value| match value {
        Value::Int(value) => query.bind(value),
        Value::Bytes(value) => query.bind(value),
        Value::Text(value) => query.bind(value),
    })
}

/// The rows in an answer of one value; nothing where they are too long for one.
fn gathered(what: &Wide, answer: Result<SqliteRow, sqlx::Error>) -> Result<Option<Vec<Line>>, StoreFault> {
    match answer {
        Ok(row) => packed::lines(what, row.try_get::<&[u8], _>(0).map_err(fault)?).map(Some),
        Err(error) if code_of(&error) == Some(TOO_BIG) => Ok(None),
        Err(error) => Err(fault(error)),
    }
}

fn line(row: &SqliteRow) -> Result<Line, StoreFault> {
    let value = |at: usize| -> Result<Value, sqlx::Error> {
        let raw = row.try_get_raw(at)?;
        let kind = raw.type_info();
        Ok(match kind.name() {
            "INTEGER" => Value::Int(row.try_get(at)?),
            "BLOB" => Value::Bytes(row.try_get(at)?),
            _ => Value::Text(row.try_get(at)?),
        })
    };
    row.columns().iter().map(|column| value(column.ordinal()).map_err(fault)).collect::<Result<_, _>>().map(Line)
}

/// SQLite's code for a value beyond a thousand million bytes.
const TOO_BIG: i32 = 18;

/// Runs blocking work beside the event loop.
pub(crate) async fn beside<T: Send + 'static>(work: impl FnOnce() -> Result<T, StoreFault> + Send + 'static) -> Result<T, StoreFault> {
    tokio::task::spawn_blocking(work)
        .await
        .map_err(|cause| StoreFault::Disk { what: "working with files".to_owned(), cause: cause.to_string() })?
}

fn blob_path(folder: &Path, id: Uuid) -> PathBuf {
    let name = id.simple().to_string();
    folder.join(BLOBS).join(&name[..2]).join(name)
}

fn write_blob(folder: &Path, id: Uuid, sealed: &[u8]) -> Result<(), StoreFault> {
    let path = blob_path(folder, id);
    let (Some(shelf), Some(name)) = (path.parent(), path.file_name()) else {
        return Err(StoreFault::Refused("a blob without a name".to_owned()));
    };
    if !shelf.is_dir() {
        std::fs::DirBuilder::new()
            .recursive(true)
            .mode(0o700)
            .create(shelf)
            .map_err(|cause| StoreFault::disk(format!("making {}", shelf.display()), &cause))?;
        key::sync_folder(&folder.join(BLOBS))?;
        key::sync_folder(folder)?;
    }
    write_whole(shelf, &name.to_string_lossy(), sealed)
}

fn delete_blob(folder: &Path, id: Uuid) -> Result<(), StoreFault> {
    let path = blob_path(folder, id);
    match std::fs::remove_file(&path) {
        Ok(()) => path.parent().map_or(Ok(()), key::sync_folder),
        Err(cause) if cause.kind() == std::io::ErrorKind::NotFound => Ok(()),
        Err(cause) => Err(StoreFault::disk(format!("deleting {}", path.display()), &cause)),
    }
}

/// Writes a file whole or not at all, durably, for its owner alone.
pub(crate) fn write_whole(folder: &Path, name: &str, bytes: &[u8]) -> Result<(), StoreFault> {
    let unfinished = folder.join(format!("{name}.new"));
    let failed = |cause: std::io::Error| StoreFault::disk(format!("writing {name} in {}", folder.display()), &cause);
    let mut file = OpenOptions::new().write(true).create(true).truncate(true).mode(0o600).open(&unfinished).map_err(failed)?;
    file.write_all(bytes).map_err(failed)?;
    file.sync_all().map_err(failed)?;
    std::fs::rename(&unfinished, folder.join(name)).map_err(failed)?;
    key::sync_folder(folder)
}

/// Gives what stands in the way a name that is free: `book.db.aside-1`.
fn set_aside(folder: &Path, name: &str) -> std::io::Result<()> {
    if !folder.join(name).exists() {
        return Ok(());
    }
    let free = (1..1000).map(|n| folder.join(format!("{name}.aside-{n}"))).find(|free| !free.exists());
    let free = free.ok_or_else(|| std::io::Error::other(format!("{name} was set aside too often: move those files elsewhere")))?;
    std::fs::rename(folder.join(name), free)
}
