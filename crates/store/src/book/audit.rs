//! Walking the chain.

use super::core::{Chain, Core, altered};
use super::engine::{Line, with};
use super::read::{DOES_NOT_OPEN, Ring, WITH_KEYS, sealed_of, stream_of};
use super::seal::{self, Key, Sealed, Sum};
use super::{Book, Head, Stream};
use crate::StoreFault;
use std::collections::{HashMap, HashSet};
use uuid::Uuid;

/// A chain that holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Audit {
    /// How many events it has.
    pub events: u64,
    /// Its end.
    pub head: Head,
}

/// Rows looked at at a time.
const TOGETHER: u32 = 2000;

impl Book {
    /// Walks the whole chain: every hash, every version without a gap, every
    /// body opened under its key, the head and the list of erasures under the
    /// house key, no key missing that was not erased. Blobs are not read; a
    /// backup's `verify` opens each.
    ///
    /// *Errors*: `Altered`, naming the first altered row.
    pub async fn audit(&self) -> Result<Audit, StoreFault> {
        self.core().audit().await
    }
}

impl Core {
    pub(crate) async fn audit(&self) -> Result<Audit, StoreFault> {
        let mut change = self.engine.snapshot().await?;
        // A head that does not hold is said last: a row that does not is nearer to the cause.
        let head = Chain::load(self, change.as_mut()).await;
        let list = match &head {
            Ok(head) => Some(self.erased_list(change.as_mut(), head).await),
            Err(_) => None,
        };
        let erased: HashSet<Stream> = list.iter().flatten().flat_map(|list| list.lines.iter().map(|line| line.line.stream)).collect();
        let mut walk = Walk::new(self.salon);
        let mut keys = Ring::new(self);
        let nothing: &[u8] = &[];
        loop {
            let lines = change.gather(&WITH_KEYS, with![self.salon, walk.seq, TOGETHER, nothing]).await?;
            if lines.is_empty() {
                break;
            }
            for mut line in lines {
                let row = sealed_of(&mut line)?;
                let key = keys.of(&row, line.bytes(9)?)?;
                walk.step(&row, key, &erased)?;
            }
        }
        let chain = head?;
        list.transpose()?;
        walk.ends_at(&chain)?;
        walk.versions_are(&change.rows("SELECT stream, version FROM stream WHERE salon = $1", with![self.salon]).await?)?;
        Ok(Audit { events: walk.seq, head: chain.head(self.salon, &self.keys.head) })
    }
}

/// A walk along the chain, row by row.
pub(crate) struct Walk {
    salon: Uuid,
    pub seq: u64,
    hash: Sum,
    versions: HashMap<Vec<u8>, u64>,
}

impl Walk {
    pub(crate) fn new(salon: Uuid) -> Self {
        Self { salon, seq: 0, hash: seal::beginning(salon), versions: HashMap::new() }
    }

    /// Checks the next row: its place, its hash, its version, its seal.
    pub(crate) fn step(&mut self, row: &Sealed, key: Option<&Key>, erased: &HashSet<Stream>) -> Result<(), StoreFault> {
        if row.seq != self.seq + 1 {
            return Err(altered(self.seq + 1, "it is missing"));
        }
        if row.link(&self.hash) != row.hash {
            return Err(altered(row.seq, "its hash does not follow from the row before and what it holds"));
        }
        let stream = stream_of(row)?;
        let version = self.versions.get(&row.stream).copied().unwrap_or(0);
        if row.version != version + 1 || row.sort != stream.sort() {
            return Err(altered(row.seq, "its version or sort is not the next of its stream"));
        }
        match self.versions.get_mut(&row.stream) {
            Some(version) => *version = row.version,
            None => _ = self.versions.insert(row.stream.clone(), row.version),
        }
        match key {
            Some(key) if row.open(self.salon, key).is_none() => return Err(altered(row.seq, DOES_NOT_OPEN)),
            None if !erased.contains(&stream) => {
                return Err(altered(row.seq, format!("the key of {stream} is missing and it was never erased")));
            }
            _ => {}
        }
        (self.seq, self.hash) = (row.seq, row.hash);
        Ok(())
    }

    /// Checks that the chain ends where its head says.
    pub(crate) fn ends_at(&self, chain: &Chain) -> Result<(), StoreFault> {
        if self.seq == chain.seq && self.hash == chain.hash {
            return Ok(());
        }
        Err(altered(self.seq.min(chain.seq) + 1, format!("the chain ends at {}, its head says {}", self.seq, chain.seq)))
    }

    /// Each stream with its version, as the walk found them.
    pub(crate) fn versions(self) -> HashMap<Vec<u8>, u64> {
        self.versions
    }

    fn versions_are(&self, lines: &[Line]) -> Result<(), StoreFault> {
        let same = |line: &Line| Ok::<_, StoreFault>(self.versions.get(line.bytes(0)?) == Some(&line.count(1)?));
        for line in lines {
            if !same(line)? {
                return Err(altered(0, "a stream's version is not the one that its events come to"));
            }
        }
        if lines.len() == self.versions.len() { Ok(()) } else { Err(altered(0, "a stream is missing from the list of streams")) }
    }
}
