//! What a book asks of a database engine. Shared SQL stands with the part of
//! the book that needs it; what differs between engines stands in `sqlite.rs`
//! and `postgres.rs`, behind these traits.

use super::seal::Sealed;
use crate::StoreFault;
use std::future::Future;
use std::pin::Pin;
use std::sync::OnceLock;
use uuid::Uuid;

/// What comes later, from behind a trait.
pub(crate) type Later<'a, T> = Pin<Box<dyn Future<Output = Result<T, StoreFault>> + Send + 'a>>;

/// A value in or out of a statement. Ids, hashes and seals are bytes on both
/// engines; there are no nulls.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Value {
    Int(i64),
    Bytes(Vec<u8>),
    Text(String),
}

impl From<i64> for Value {
    fn from(value: i64) -> Self {
        Self::Int(value)
    }
}

impl From<u64> for Value {
    /// Places, versions and counts stay far below 2^63; a larger one is not kept
    /// as another number but refused by the tables' checks.
    fn from(value: u64) -> Self {
        Self::Int(i64::try_from(value).unwrap_or(-1))
    }
}

impl From<u32> for Value {
    fn from(value: u32) -> Self {
        Self::Int(i64::from(value))
    }
}

impl From<&[u8]> for Value {
    fn from(value: &[u8]) -> Self {
        Self::Bytes(value.to_vec())
    }
}

impl From<Vec<u8>> for Value {
    fn from(value: Vec<u8>) -> Self {
        Self::Bytes(value)
    }
}

impl From<[u8; 32]> for Value {
    fn from(value: [u8; 32]) -> Self {
        Self::Bytes(value.to_vec())
    }
}

impl From<Uuid> for Value {
    fn from(value: Uuid) -> Self {
        Self::Bytes(value.as_bytes().to_vec())
    }
}

impl From<&str> for Value {
    fn from(value: &str) -> Self {
        Self::Text(value.to_owned())
    }
}

/// Values for a statement's `$1`, `$2`, …
macro_rules! with {
    ($($value:expr),* $(,)?) => { vec![$($crate::book::engine::Value::from($value)),*] };
}
pub(crate) use with;

/// A question whose answer may have very many rows: each engine hands them over
/// in the way that costs it least.
pub(crate) struct Wide {
    /// The columns of a row; the first is what rows are ordered by.
    pub columns: &'static [Column],
    /// `FROM` and all that follows.
    pub rest: &'static str,
    plain: OnceLock<String>,
    /// The question as an engine of its own kind asks it.
    pub packed: OnceLock<String>,
}

/// A column, and what it holds.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Column {
    Int(&'static str),
    Bytes(&'static str),
    Text(&'static str),
}

impl Column {
    pub(crate) const fn name(self) -> &'static str {
        match self {
            Self::Int(name) | Self::Bytes(name) | Self::Text(name) => name,
        }
    }
}

impl Wide {
    pub(crate) const fn new(columns: &'static [Column], rest: &'static str) -> Self {
        Self { columns, rest, plain: OnceLock::new(), packed: OnceLock::new() }
    }

    /// The question with a row of the answer for each row.
    pub(crate) fn plain(&'static self) -> &'static str {
        self.plain.get_or_init(|| {
            let names: Vec<&str> = self.columns.iter().map(|column| column.name()).collect();
            format!("SELECT {} {}", names.join(", "), self.rest)
        })
    }
}

/// One row of an answer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Line(pub Vec<Value>);

fn unlike() -> StoreFault {
    StoreFault::Damaged("a column does not hold what it must".to_owned())
}

impl Line {
    pub(crate) fn int(&self, at: usize) -> Result<i64, StoreFault> {
        match self.0.get(at) {
            Some(Value::Int(value)) => Ok(*value),
            _ => Err(unlike()),
        }
    }

    pub(crate) fn count(&self, at: usize) -> Result<u64, StoreFault> {
        u64::try_from(self.int(at)?).map_err(|_| unlike())
    }

    pub(crate) fn bytes(&self, at: usize) -> Result<&[u8], StoreFault> {
        match self.0.get(at) {
            Some(Value::Bytes(value)) => Ok(value),
            _ => Err(unlike()),
        }
    }

    /// Takes the bytes out without copying them.
    pub(crate) fn take_bytes(&mut self, at: usize) -> Result<Vec<u8>, StoreFault> {
        match self.0.get_mut(at) {
            Some(Value::Bytes(value)) => Ok(std::mem::take(value)),
            _ => Err(unlike()),
        }
    }

    pub(crate) fn sum(&self, at: usize) -> Result<[u8; 32], StoreFault> {
        self.bytes(at)?.try_into().map_err(|_| unlike())
    }

    pub(crate) fn id(&self, at: usize) -> Result<Uuid, StoreFault> {
        Uuid::from_slice(self.bytes(at)?).map_err(|_| unlike())
    }

    pub(crate) fn text(&self, at: usize) -> Result<&str, StoreFault> {
        match self.0.get(at) {
            Some(Value::Text(value)) => Ok(value),
            _ => Err(unlike()),
        }
    }
}

/// A transaction. Dropped without `commit`, it never was.
pub(crate) trait Change: Send {
    /// Asks.
    fn rows<'a>(&'a mut self, sql: &'static str, with: Vec<Value>) -> Later<'a, Vec<Line>>;
    /// Asks for very many rows.
    fn gather<'a>(&'a mut self, what: &'static Wide, with: Vec<Value>) -> Later<'a, Vec<Line>> {
        self.rows(what.plain(), with)
    }
    /// Does; gives the number of rows it touched.
    fn run<'a>(&'a mut self, sql: &'static str, with: Vec<Value>) -> Later<'a, u64>;
    /// Writes rows of the table of events as they stand.
    fn insert_events(&mut self, salon: Uuid, rows: Vec<Sealed>) -> Later<'_, ()>;
    /// What stands of each stream: `stream, version, wrapped key, number of its
    /// erasure`; zero or nothing where there is none.
    fn know(&mut self, salon: Uuid, streams: Vec<Vec<u8>>) -> Later<'_, Vec<Line>>;
    /// Notes each stream's version.
    fn move_streams(&mut self, salon: Uuid, streams: Vec<(Vec<u8>, u64)>) -> Later<'_, ()>;
    /// Keeps it. `Unsure` when the connection broke on the way.
    fn commit(self: Box<Self>) -> Later<'static, ()>;
}

/// A database engine with one salon's book open in it.
pub(crate) trait Engine: Send + Sync {
    /// Begins the transaction in which the salon's chain may grow: nobody else,
    /// in this process or another, is in one for the same salon.
    fn change(&self) -> Later<'_, Box<dyn Change>>;
    /// Begins a transaction that only reads and sees one moment.
    fn snapshot(&self) -> Later<'_, Box<dyn Change>>;
    /// Asks once, outside any transaction.
    fn look(&self, sql: &'static str, with: Vec<Value>) -> Later<'_, Vec<Line>>;
    /// Asks once for very many rows.
    fn gather(&self, what: &'static Wide, with: Vec<Value>) -> Later<'_, Vec<Line>> {
        self.look(what.plain(), with)
    }

    /// Makes a blob's sealed bytes durable, at the latest with `change`.
    fn put_bytes<'a>(&'a self, change: &'a mut dyn Change, id: Uuid, sealed: &'a [u8]) -> Later<'a, ()>;
    /// A blob's sealed bytes.
    fn bytes(&self, id: Uuid) -> Later<'_, Option<Vec<u8>>>;
    /// Deletes what a committed change left over of blobs.
    fn drop_bytes(&self, ids: Vec<Uuid>) -> Later<'_, ()>;

    /// Commits `change` and keeps the document that holds the wrapped data key,
    /// over the earlier one, whole or not at all. The first one kept is what
    /// makes the book be there.
    fn keep_key_document(&self, change: Box<dyn Change>, text: String) -> Later<'_, ()>;
    /// Lets go of deleted content; whether it could.
    fn let_go(&self) -> Later<'_, bool>;
    /// How durably a commit is kept, in the engine's own words.
    fn durability(&self) -> Later<'_, String>;
    /// Closes all connections and frees the place.
    fn close(&self) -> Pin<Box<dyn Future<Output = ()> + Send + '_>>;
}
