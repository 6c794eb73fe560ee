//! What all parts of an open book share: the engine, the keys, the chain.

use super::engine::{Change, Engine, Line, with};
use super::keys::KeyDocument;
use super::seal::{self, Key, Sealed, Sum};
use super::{FirstAltered, Place, Stream};
use crate::StoreFault;
use std::collections::{BTreeSet, HashMap};
use std::sync::PoisonError;
use std::sync::atomic::{AtomicBool, Ordering};
use tokio::sync::{Mutex, RwLock};
use uuid::Uuid;

/// An open book's inside.
pub(crate) struct Core {
    pub place: Place,
    pub salon: Uuid,
    pub engine: Box<dyn Engine>,
    pub keys: Keys,
    document: std::sync::RwLock<KeyDocument>,
    /// Held while the key document is being changed.
    pub changing: Mutex<()>,
    /// An archive being written reads blobs that an erasure would delete.
    pub blobs_rest: RwLock<()>,
    stopped: AtomicBool,
}

/// The keys that stay in memory while a book is open: the house's, and what is derived for one use each.
pub(crate) struct Keys {
    pub house: Key,
    /// Wraps the streams' keys.
    pub wrapping: Key,
    /// Vouches for the chain's head.
    pub head: Key,
    /// Vouches for the list of erased streams.
    pub list: Key,
    /// Makes keyed sums of idempotency keys and of views' names and keys.
    pub names: Key,
}

impl Keys {
    pub(crate) fn new(data_key: &Key, house: Key) -> Self {
        Self {
            wrapping: data_key.derived("wrapping"),
            head: house.derived("head"),
            list: house.derived("erased"),
            names: house.derived("names"),
            house,
        }
    }
}

/// A fault of something that is not what it was.
pub(crate) fn altered(seq: u64, what: impl Into<String>) -> StoreFault {
    StoreFault::Altered(FirstAltered { seq, what: what.into() })
}

impl Core {
    pub(crate) fn new(place: Place, salon: Uuid, engine: Box<dyn Engine>, data_key: &Key, house: Key, document: KeyDocument) -> Self {
        let keys = Keys::new(data_key, house);
        Self {
            place,
            salon,
            engine,
            keys,
            document: std::sync::RwLock::new(document),
            changing: Mutex::new(()),
            blobs_rest: RwLock::new(()),
            stopped: AtomicBool::new(false),
        }
    }

    /// The key document as it stands.
    pub(crate) fn document(&self) -> KeyDocument {
        self.document.read().unwrap_or_else(PoisonError::into_inner).clone()
    }

    /// Keeps the key document in place of the one before.
    pub(crate) async fn keep_document(&self, document: KeyDocument) -> Result<(), StoreFault> {
        self.may_write()?;
        let change = self.engine.change().await?;
        self.after_write(self.engine.keep_key_document(change, document.text()?).await)?;
        *self.document.write().unwrap_or_else(PoisonError::into_inner) = document;
        Ok(())
    }

    /// Checks that the chain ends where its head says. Does not grow with the book.
    pub(crate) async fn check_end(&self) -> Result<Chain, StoreFault> {
        let mut change = self.engine.snapshot().await?;
        let chain = Chain::load(self, change.as_mut()).await?;
        let last = change.rows("SELECT COALESCE(max(seq), 0) FROM event WHERE salon = $1", with![self.salon]).await?;
        let last = last.first().map_or(Ok(0), |line| line.count(0))?;
        if last != chain.seq {
            return Err(altered(last.min(chain.seq) + 1, format!("the chain ends at {last}, its head says {}", chain.seq)));
        }
        let lines = change.rows("SELECT hash FROM event WHERE salon = $1 AND seq = $2", with![self.salon, last]).await?;
        let hash = lines.first().map_or_else(|| Ok(seal::beginning(self.salon)), |line| line.sum(0))?;
        if hash == chain.hash { Ok(chain) } else { Err(altered(last, "its hash is not the one that the head names")) }
    }

    /// Refuses when an earlier write failed: after a failed sync the system may
    /// have thrown away what it could not write, so trying again would lie.
    pub(crate) fn may_write(&self) -> Result<(), StoreFault> {
        if self.stopped.load(Ordering::SeqCst) { Err(StoreFault::WritesStopped) } else { Ok(()) }
    }

    /// Notes the outcome of a write; a refusal by the disk stops all later ones.
    pub(crate) fn after_write<T>(&self, outcome: Result<T, StoreFault>) -> Result<T, StoreFault> {
        if matches!(outcome, Err(StoreFault::Disk { .. } | StoreFault::Damaged(_))) {
            self.stopped.store(true, Ordering::SeqCst);
        }
        outcome
    }

    /// Unwraps a key row.
    pub(crate) fn unwrap(&self, owner: Stream, wrapped: &[u8]) -> Result<Key, StoreFault> {
        seal::unwrap(&self.keys.wrapping, self.salon, owner, wrapped)
            .ok_or_else(|| altered(0, format!("the key of {owner} does not open under the data key")))
    }

    /// The key under which `stream` is sealed, where its row stands; the house's is always there.
    pub(crate) async fn key_of(&self, stream: Stream) -> Result<Option<Key>, StoreFault> {
        let owner = stream.key_owner();
        if owner == Stream::House {
            return Ok(Some(self.keys.house.clone()));
        }
        let lines = self.engine.look(KEY_OF, with![self.salon, owner.bytes()]).await?;
        lines.first().map(|line| self.unwrap(owner, line.bytes(0)?)).transpose()
    }

    /// Whether a stream's key was destroyed.
    pub(crate) async fn is_erased(&self, stream: Stream) -> Result<bool, StoreFault> {
        Ok(!self.engine.look(IS_ERASED, with![self.salon, stream.key_owner().bytes()]).await?.is_empty())
    }
}

const KEY_OF: &str = "SELECT wrapped FROM stream_key WHERE salon = $1 AND owner = $2";
const IS_ERASED: &str = "SELECT number FROM erased WHERE salon = $1 AND owner = $2";

/// The end of the chain of events and of the list of erasures.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Chain {
    pub seq: u64,
    pub hash: Sum,
    pub erased: u64,
    pub erased_code: Sum,
}

/// Asks for the head.
pub(crate) const HEAD: &str = "SELECT seq, hash, erased, erased_code, code FROM head WHERE salon = $1";

impl Chain {
    /// The chain of a book in which nothing happened yet.
    pub(crate) fn beginning(salon: Uuid) -> Self {
        Self { seq: 0, hash: seal::beginning(salon), erased: 0, erased_code: [0; 32] }
    }

    fn parts(&self) -> [Vec<u8>; 4] {
        [self.seq.to_be_bytes().to_vec(), self.hash.to_vec(), self.erased.to_be_bytes().to_vec(), self.erased_code.to_vec()]
    }

    /// The code that vouches for this end.
    pub(crate) fn code(&self, salon: Uuid, head_key: &Key) -> Sum {
        let [seq, hash, erased, erased_code] = self.parts();
        head_key.code(&[salon.as_bytes(), &seq, &hash, &erased, &erased_code])
    }

    /// The head as it is handed out.
    pub(crate) fn head(&self, salon: Uuid, head_key: &Key) -> Head {
        Head { seq: self.seq, hash: self.hash, mac: self.code(salon, head_key) }
    }

    /// Reads a line of [`HEAD`] and checks its code.
    pub(crate) fn from_line(line: Option<&Line>, salon: Uuid, head_key: &Key) -> Result<Self, StoreFault> {
        let line = line.ok_or_else(|| altered(0, "the head of the chain is missing"))?;
        let chain = Self { seq: line.count(0)?, hash: line.sum(1)?, erased: line.count(2)?, erased_code: line.sum(3)? };
        chain.checked(salon, head_key, line.bytes(4)?)
    }

    /// This end, when `code` vouches for it.
    pub(crate) fn checked(self, salon: Uuid, head_key: &Key, code: &[u8]) -> Result<Self, StoreFault> {
        let [seq, hash, erased, erased_code] = self.parts();
        if head_key.vouches(&[salon.as_bytes(), &seq, &hash, &erased, &erased_code], code) {
            Ok(self)
        } else {
            Err(altered(0, "the head of the chain is not the one that was written with the house key"))
        }
    }

    pub(crate) async fn load(core: &Core, change: &mut dyn Change) -> Result<Self, StoreFault> {
        let lines = change.rows(HEAD, with![core.salon]).await?;
        Self::from_line(lines.first(), core.salon, &core.keys.head)
    }

    /// Keeps this end in place of the one before.
    pub(crate) async fn keep(&self, salon: Uuid, head_key: &Key, change: &mut dyn Change) -> Result<(), StoreFault> {
        let code = self.code(salon, head_key);
        let sql = "INSERT INTO head (salon, seq, hash, erased, erased_code, code) VALUES ($1, $2, $3, $4, $5, $6)
                   ON CONFLICT (salon) DO UPDATE SET seq = excluded.seq, hash = excluded.hash,
                   erased = excluded.erased, erased_code = excluded.erased_code, code = excluded.code";
        change.run(sql, with![salon, self.seq, self.hash, self.erased, self.erased_code, code]).await?;
        Ok(())
    }
}

/// What the database says of one stream, asked once in a transaction.
#[derive(Clone)]
struct Known {
    version: u64,
    key: Option<Key>,
    erased: bool,
}

/// A transaction in which the chain grows.
///
/// *Meaning*: keys, events and versions are gathered and written by `flush`,
/// many at once; what is asked of the database is asked once, for nobody else
/// can change it meanwhile.
pub(crate) struct Writing<'a> {
    pub core: &'a Core,
    pub change: &'a mut dyn Change,
    pub chain: Chain,
    /// The chain's end as it stands in the database; nothing when it does not stand there yet.
    before: Option<Chain>,
    known: HashMap<Stream, Known>,
    new_keys: Vec<(Stream, Key)>,
    rows: Vec<Sealed>,
    moved: BTreeSet<Stream>,
}

impl<'a> Writing<'a> {
    pub(crate) async fn begin(core: &'a Core, change: &'a mut dyn Change) -> Result<Self, StoreFault> {
        let chain = Chain::load(core, change).await?;
        Ok(Self { before: Some(chain.clone()), ..Self::over(core, change, chain) })
    }

    /// On top of a chain that is known to hold.
    pub(crate) fn over(core: &'a Core, change: &'a mut dyn Change, chain: Chain) -> Self {
        Self { core, change, chain, before: None, known: HashMap::new(), new_keys: Vec::new(), rows: Vec::new(), moved: BTreeSet::new() }
    }

    /// Asks of several streams at once; those asked before are left out.
    pub(crate) async fn ask_all(&mut self, streams: impl IntoIterator<Item = Stream>) -> Result<(), StoreFault> {
        let new: BTreeSet<Stream> = streams.into_iter().filter(|stream| !self.known.contains_key(stream)).collect();
        if new.is_empty() {
            return Ok(());
        }
        for line in self.change.know(self.core.salon, new.into_iter().map(Stream::bytes).collect()).await? {
            let stream = Stream::from_bytes(line.bytes(0)?).ok_or_else(|| altered(0, "a stream's name cannot be read"))?;
            let wrapped = line.bytes(2)?;
            let key = if stream.key_owner() == Stream::House {
                Some(self.core.keys.house.clone())
            } else if wrapped.is_empty() {
                None
            } else {
                Some(self.core.unwrap(stream, wrapped)?)
            };
            self.known.insert(stream, Known { version: line.count(1)?, key, erased: line.int(3)? > 0 });
        }
        Ok(())
    }

    /// Asks for a stream's version and key, and whether it was erased.
    async fn ask(&mut self, stream: Stream) -> Result<&Known, StoreFault> {
        self.ask_all([stream]).await?;
        self.known.get(&stream).ok_or_else(|| StoreFault::Damaged("a question without an answer".to_owned()))
    }

    /// A stream's version now.
    pub(crate) async fn version(&mut self, stream: Stream) -> Result<u64, StoreFault> {
        Ok(self.ask(stream).await?.version)
    }

    /// Refuses a stream to which nothing can be added.
    ///
    /// *Errors*: `Erased`; `Altered` when it was written and its key is gone.
    pub(crate) async fn usable(&mut self, stream: Stream) -> Result<(), StoreFault> {
        let known = self.ask(stream).await?;
        if known.erased {
            return Err(StoreFault::Erased(stream));
        }
        if known.key.is_none() && known.version > 0 {
            return Err(altered(0, format!("the key of {stream} is missing and it was never erased")));
        }
        Ok(())
    }

    /// The key under which `stream` is sealed; made when the stream is new.
    ///
    /// *Errors*: as `usable`.
    pub(crate) async fn key(&mut self, stream: Stream) -> Result<Key, StoreFault> {
        let owner = stream.key_owner();
        if owner == Stream::House {
            return Ok(self.core.keys.house.clone());
        }
        self.usable(owner).await?;
        if let Some(key) = &self.ask(owner).await?.key {
            return Ok(key.clone());
        }
        let key = Key::random()?;
        if let Some(known) = self.known.get_mut(&owner) {
            known.key = Some(key.clone());
        }
        self.new_keys.push((owner, key.clone()));
        Ok(key)
    }

    /// Lets the chain go on to rows that follow from it, each stream to its version.
    pub(crate) fn grow(&mut self, rows: Vec<Sealed>, versions: impl IntoIterator<Item = (Stream, u64)>) {
        if let Some(last) = rows.last() {
            (self.chain.seq, self.chain.hash) = (last.seq, last.hash);
        }
        self.rows.extend(rows);
        for (stream, version) in versions {
            if let Some(known) = self.known.get_mut(&stream) {
                known.version = version;
            }
            self.moved.insert(stream);
        }
    }

    /// Where a part begins that may be refused.
    pub(crate) const fn mark(&self) -> usize {
        self.new_keys.len()
    }

    /// Forgets the keys that a refused part made.
    pub(crate) fn back_to(&mut self, mark: usize) {
        for (owner, _) in self.new_keys.drain(mark..) {
            self.known.remove(&owner);
        }
    }

    /// Forgets a stream whose key was destroyed.
    pub(crate) fn forget(&mut self, owner: Stream) {
        self.known.remove(&owner);
    }

    /// Writes what was gathered.
    pub(crate) async fn flush(&mut self) -> Result<(), StoreFault> {
        let salon = self.core.salon;
        for (owner, key) in std::mem::take(&mut self.new_keys) {
            let wrapped = seal::wrap(&self.core.keys.wrapping, salon, owner, &key)?;
            let sql = "INSERT INTO stream_key (salon, owner, wrapped) VALUES ($1, $2, $3)";
            self.change.run(sql, with![salon, owner.bytes(), wrapped]).await?;
        }
        self.change.insert_events(salon, std::mem::take(&mut self.rows)).await?;
        let mut moved = Vec::new();
        for stream in std::mem::take(&mut self.moved) {
            moved.push((stream.bytes(), self.version(stream).await?));
        }
        if !moved.is_empty() {
            self.change.move_streams(salon, moved).await?;
        }
        Ok(())
    }

    /// Writes what was gathered and keeps the chain's end. Nothing may be added after it.
    pub(crate) async fn end(mut self) -> Result<Chain, StoreFault> {
        self.flush().await?;
        if self.before.as_ref() != Some(&self.chain) {
            self.chain.keep(self.core.salon, &self.core.keys.head, self.change).await?;
        }
        Ok(self.chain)
    }
}

/// The end of the chain: it stands on the day sheet and in every backup.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Head {
    /// The last event's place; zero in an empty book.
    pub seq: u64,
    /// The last event's hash.
    pub hash: [u8; 32],
    /// The code of authenticity under the house key.
    pub mac: [u8; 32],
}
