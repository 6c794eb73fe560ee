//! Reading the book, and the record of who read health answers.

use super::core::{Chain, Core, HEAD, altered};
use super::engine::{Change, Column, Line, Wide, with};
use super::seal::{Key, Sealed};
use super::{Book, Stream};
use crate::StoreFault;
use crate::book::{Head, Noted};
use serde::{Deserialize, Serialize};
use std::collections::hash_map::Entry;
use std::collections::{BTreeMap, BTreeSet, HashMap};
use uuid::Uuid;

/// What an event holds, as far as it may be handed out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Body {
    /// The event as it was added.
    Open(Vec<u8>),
    /// Its key was destroyed: nobody can read it any more.
    Erased,
    /// A health answer, and no access to it was recorded.
    Closed,
}

/// One event as it stands in the book.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    /// Its place in the book.
    pub seq: u64,
    /// Which stream.
    pub stream: Stream,
    /// The stream's version after it.
    pub version: u64,
    /// The machine's clock when it was added, ms since 1970; for the trail only.
    pub at_ms: i64,
    /// Who acted.
    pub actor: Uuid,
    /// The number of the body's format.
    pub format: u32,
    /// The event.
    pub body: Body,
}

impl Row {
    /// The body where it is open.
    #[must_use]
    pub fn opened(&self) -> Option<&[u8]> {
        match &self.body {
            Body::Open(bytes) => Some(bytes),
            Body::Erased | Body::Closed => None,
        }
    }
}

/// Who reads health answers, when and why.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Access {
    /// Who.
    pub who: Uuid,
    /// The machine's clock, ms since 1970.
    pub at_ms: i64,
    /// For what, in a few words of the program's own: `plan make`, `show client`.
    pub why: String,
}

/// One line of the trail: what happened to the book besides events.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TrailLine {
    /// Its place in the trail, from one.
    pub number: u64,
    /// The machine's clock, ms since 1970.
    pub at_ms: i64,
    /// Who.
    pub who: Uuid,
    /// What.
    pub what: Noted,
}

macro_rules! event_columns {
    ($of:literal $(, $more:expr)*) => {
        &[
            Column::Int(concat!($of, "seq")),
            Column::Bytes(concat!($of, "stream")),
            Column::Int(concat!($of, "version")),
            Column::Int(concat!($of, "at")),
            Column::Bytes(concat!($of, "actor")),
            Column::Text(concat!($of, "sort")),
            Column::Int(concat!($of, "format")),
            Column::Bytes(concat!($of, "body")),
            Column::Bytes(concat!($of, "hash")),
            $($more),*
        ]
    };
}

/// Events of a stream after a version and up to another.
static OF_A_STREAM: Wide =
    Wide::new(event_columns!(""), "FROM event WHERE salon = $1 AND stream = $2 AND version > $3 AND version <= $4 ORDER BY version");
/// So many events after a place in the book.
pub(crate) static IN_ORDER: Wide = Wide::new(event_columns!(""), "FROM event WHERE salon = $1 AND seq > $2 ORDER BY seq LIMIT $3");
/// The same, each with the wrapped key of its stream; `$4` where there is none.
pub(crate) static WITH_KEYS: Wide = Wide::new(
    event_columns!("e.", Column::Bytes("COALESCE(k.wrapped, $4)")),
    "FROM event e LEFT JOIN stream_key k ON k.salon = e.salon AND k.owner = e.stream WHERE e.salon = $1 AND e.seq > $2 ORDER BY e.seq LIMIT $3",
);

/// The most events handed out at once.
const MOST_ROWS: u32 = 100_000;
/// The last version that a stream can come to.
const LAST: u64 = i64::MAX as u64;
/// Events of one stream since a moment beyond which asking for all is no dearer.
const MOST_EVENTS_A_STREAM: u64 = 64;

/// A moment of the book.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Moment {
    /// The last event's place.
    pub seq: u64,
    /// Streams erased so far.
    pub erased: u64,
}

/// What happened since a moment.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Since {
    /// The moment now.
    pub now: Moment,
    /// Streams that were written or erased; nothing when they are too many to be told.
    pub streams: Option<BTreeSet<Stream>>,
}

impl Book {
    /// A stream's events after a version, in order.
    ///
    /// *Errors*: a health document (`HealthIsApart`: use [`Book::read_health`]);
    /// `Erased`; `Altered` when a body does not open under its key.
    pub async fn read(&self, stream: Stream, after_version: u64) -> Result<Vec<Row>, StoreFault> {
        if matches!(stream, Stream::Health(_)) {
            return Err(StoreFault::HealthIsApart);
        }
        self.core().read(stream, after_version, LAST).await
    }

    /// A stream's events after a version and up to another, in order.
    ///
    /// *Errors*: as [`Book::read`].
    pub async fn read_to(&self, stream: Stream, after_version: u64, to_version: u64) -> Result<Vec<Row>, StoreFault> {
        if matches!(stream, Stream::Health(_)) {
            return Err(StoreFault::HealthIsApart);
        }
        self.core().read(stream, after_version, to_version).await
    }

    /// The moment that the book has come to: what was read at it may be used again
    /// as long as it stands, and [`Book::since`] says what has not.
    ///
    /// *Errors*: the book cannot be read, or is not as it was written.
    pub async fn moment(&self) -> Result<Moment, StoreFault> {
        let core = self.core();
        let chain = Chain::from_line(core.engine.look(HEAD, with![core.salon]).await?.first(), core.salon, &core.keys.head)?;
        Ok(Moment { seq: chain.seq, erased: chain.erased })
    }

    /// Which streams were written or erased since a moment. Costs as much as was
    /// written since; at most `most` streams are told.
    ///
    /// *Errors*: the book cannot be read, or is not as it was written.
    pub async fn since(&self, then: Moment, most: u32) -> Result<Since, StoreFault> {
        let (core, now) = (self.core(), self.moment().await?);
        if now == then {
            return Ok(Since { now, streams: Some(BTreeSet::new()) });
        }
        if now.seq - then.seq.min(now.seq) > u64::from(most) * MOST_EVENTS_A_STREAM {
            return Ok(Since { now, streams: None });
        }
        // In order and so many at most: a planner must not take the index by streams and walk through all.
        let written = "SELECT DISTINCT stream FROM (SELECT stream FROM event WHERE salon = $1 AND seq > $2 ORDER BY seq LIMIT $3) e";
        let erased = "SELECT owner FROM erased WHERE salon = $1 AND number > $2 ORDER BY number LIMIT $3";
        let mut streams = BTreeSet::new();
        let most_events = u64::from(most) * MOST_EVENTS_A_STREAM;
        for (sql, after, most) in [(written, then.seq, most_events), (erased, then.erased, u64::from(most))] {
            for line in core.engine.look(sql, with![core.salon, after, most]).await? {
                streams.insert(Stream::from_bytes(line.bytes(0)?).ok_or_else(|| altered(0, "a stream's name cannot be read"))?);
            }
        }
        Ok(Since { now, streams: (streams.len() < most as usize).then_some(streams) })
    }

    /// A health document's events after a version. The access is recorded
    /// first, durably; when that fails, nothing is handed out.
    ///
    /// *Errors*: the access cannot be recorded (nothing is handed out then), or the book cannot be read.
    pub async fn read_health(&self, document: Uuid, after_version: u64, access: &Access) -> Result<Vec<Row>, StoreFault> {
        let stream = Stream::Health(document);
        self.note_access(Some(stream), access).await?;
        self.core().read(stream, after_version, LAST).await
    }

    /// Events of every stream after a place in the book, in order, at most `most`.
    /// Health answers are `Closed` unless an access is given, which is recorded first.
    ///
    /// *Errors*: the book cannot be read, or is not as it was written.
    pub async fn read_all(&self, after_seq: u64, most: u32, health: Option<&Access>) -> Result<Vec<Row>, StoreFault> {
        let core = self.core();
        if let Some(access) = health {
            self.note_access(None, access).await?;
        }
        let nothing: &[u8] = &[];
        let lines = core.engine.gather(&WITH_KEYS, with![core.salon, after_seq, most.min(MOST_ROWS), nothing]).await?;
        let mut keys = Ring::new(core);
        lines
            .into_iter()
            .map(|mut line| {
                let row = sealed_of(&mut line)?;
                let key = keys.of(&row, line.bytes(9)?)?;
                let stream = stream_of(&row)?;
                let closed = matches!(stream, Stream::Health(_)) && health.is_none();
                let body = match key {
                    None => Body::Erased,
                    Some(_) if closed => Body::Closed,
                    Some(key) => Body::Open(open(&row, core.salon, key)?),
                };
                Ok(Row { seq: row.seq, stream, version: row.version, at_ms: row.at_ms, actor: row.actor, format: row.format, body })
            })
            .collect()
    }

    pub(crate) async fn note_access(&self, stream: Option<Stream>, access: &Access) -> Result<(), StoreFault> {
        self.noted(access.at_ms, access.who, Noted::HealthRead { stream, why: access.why.clone() }).await
    }

    /// Every stream that was ever written, with its version now. Erased ones stand in it too.
    ///
    /// *Errors*: the book cannot be read, or is not as it was written.
    pub async fn versions(&self) -> Result<BTreeMap<Stream, u64>, StoreFault> {
        let lines = self.core().engine.look("SELECT stream, version FROM stream WHERE salon = $1", with![self.salon()]).await?;
        let known = |bytes: &[u8]| Stream::from_bytes(bytes).ok_or_else(|| altered(0, "a stream's name cannot be read"));
        lines.iter().map(|line| Ok((known(line.bytes(0)?)?, line.count(1)?))).collect()
    }

    /// One stream's version now; zero when it was never written.
    ///
    /// *Errors*: the book cannot be read, or is not as it was written.
    pub async fn version(&self, stream: Stream) -> Result<u64, StoreFault> {
        self.core().version(stream).await
    }

    /// One stream's version now, where it can still be read; what was read of it
    /// at this version may be used again.
    ///
    /// *Errors*: `Erased`.
    pub async fn standing(&self, stream: Stream) -> Result<u64, StoreFault> {
        let core = self.core();
        let sql = "SELECT COALESCE((SELECT version FROM stream WHERE salon = $1 AND stream = $2), 0),
                          COALESCE((SELECT number FROM erased WHERE salon = $1 AND owner = $2), 0)";
        let lines = core.engine.look(sql, with![core.salon, stream.bytes()]).await?;
        let line = lines.first().ok_or_else(|| altered(0, "a question without an answer"))?;
        if line.int(1)? > 0 { Err(StoreFault::Erased(stream)) } else { line.count(0) }
    }

    /// The end of the chain, its authenticity checked.
    ///
    /// *Errors*: the book cannot be read, or is not as it was written.
    pub async fn head(&self) -> Result<Head, StoreFault> {
        let core = self.core();
        let lines = core.engine.look(HEAD, with![core.salon]).await?;
        Ok(Chain::from_line(lines.first(), core.salon, &core.keys.head)?.head(core.salon, &core.keys.head))
    }

    /// The trail after a line, in order, at most `most`.
    ///
    /// *Errors*: the book cannot be read, or is not as it was written.
    pub async fn trail(&self, after: u64, most: u32) -> Result<Vec<TrailLine>, StoreFault> {
        let core = self.core();
        let sql = "SELECT number, sealed FROM trail WHERE salon = $1 AND number > $2 ORDER BY number LIMIT $3";
        let lines = core.engine.look(sql, with![core.salon, after, most.min(MOST_ROWS)]).await?;
        lines.iter().map(|line| core.trail_line(line.count(0)?, line.bytes(1)?)).collect()
    }
}

/// A line of the trail as it is sealed.
#[derive(Serialize, Deserialize)]
struct Kept {
    at_ms: i64,
    who: Uuid,
    what: KeptWhat,
}

#[derive(Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
enum KeptWhat {
    Begun,
    HealthRead { stream: Option<String>, why: String },
    Restored { seq: u64, with_erasures: bool },
}

impl Core {
    async fn version(&self, stream: Stream) -> Result<u64, StoreFault> {
        let sql = "SELECT version FROM stream WHERE salon = $1 AND stream = $2";
        let lines = self.engine.look(sql, with![self.salon, stream.bytes()]).await?;
        lines.first().map_or(Ok(0), |line| line.count(0))
    }

    async fn read(&self, stream: Stream, after_version: u64, to_version: u64) -> Result<Vec<Row>, StoreFault> {
        let Some(key) = self.key_of(stream).await? else {
            if self.is_erased(stream).await? {
                return Err(StoreFault::Erased(stream));
            }
            if self.version(stream).await? == 0 {
                return Ok(Vec::new());
            }
            return Err(altered(0, format!("the key of {stream} is missing and it was never erased")));
        };
        let lines = self.engine.gather(&OF_A_STREAM, with![self.salon, stream.bytes(), after_version, to_version]).await?;
        lines
            .into_iter()
            .map(|mut line| {
                let row = sealed_of(&mut line)?;
                let body = Body::Open(open(&row, self.salon, &key)?);
                Ok(Row { seq: row.seq, stream, version: row.version, at_ms: row.at_ms, actor: row.actor, format: row.format, body })
            })
            .collect()
    }

    /// Adds a line to the trail.
    pub(crate) async fn note(&self, change: &mut dyn Change, at_ms: i64, who: Uuid, what: Noted) -> Result<(), StoreFault> {
        let what = match what {
            Noted::Begun => KeptWhat::Begun,
            Noted::HealthRead { stream, why } => KeptWhat::HealthRead { stream: stream.map(|stream| stream.to_string()), why },
            Noted::Restored { seq, with_erasures } => KeptWhat::Restored { seq, with_erasures },
        };
        let plain = serde_json::to_vec(&Kept { at_ms, who, what }).map_err(|cause| StoreFault::Refused(cause.to_string()))?;
        let lines = change.rows("SELECT COALESCE(max(number), 0) FROM trail WHERE salon = $1", with![self.salon]).await?;
        let number = lines.first().map_or(Ok(0), |line| line.count(0))? + 1;
        let sealed = self.keys.house.seal(&[b"trail", self.salon.as_bytes(), &number.to_be_bytes()], &plain)?;
        change.run("INSERT INTO trail (salon, number, sealed) VALUES ($1, $2, $3)", with![self.salon, number, sealed]).await?;
        Ok(())
    }

    fn trail_line(&self, number: u64, sealed: &[u8]) -> Result<TrailLine, StoreFault> {
        let does_not_open = || altered(0, format!("line {number} of the trail does not open"));
        let plain = self.keys.house.open(&[b"trail", self.salon.as_bytes(), &number.to_be_bytes()], sealed).ok_or_else(does_not_open)?;
        let kept: Kept = serde_json::from_slice(&plain).map_err(|_| does_not_open())?;
        let what = match kept.what {
            KeptWhat::Begun => Noted::Begun,
            KeptWhat::HealthRead { stream, why } => {
                let stream = stream.map(|text| text.parse()).transpose().map_err(|_| does_not_open())?;
                Noted::HealthRead { stream, why }
            }
            KeptWhat::Restored { seq, with_erasures } => Noted::Restored { seq, with_erasures },
        };
        Ok(TrailLine { number, at_ms: kept.at_ms, who: kept.who, what })
    }
}

/// Reads `seq, stream, version, at, actor, sort, format, body, hash`.
pub(crate) fn sealed_of(line: &mut Line) -> Result<Sealed, StoreFault> {
    let format = u32::try_from(line.int(6)?).map_err(|_| StoreFault::Damaged("a format's number".to_owned()))?;
    Ok(Sealed {
        seq: line.count(0)?,
        stream: line.take_bytes(1)?,
        version: line.count(2)?,
        at_ms: line.int(3)?,
        actor: line.id(4)?,
        sort: line.text(5)?.to_owned(),
        format,
        body: line.take_bytes(7)?,
        hash: line.sum(8)?,
    })
}

pub(crate) fn stream_of(row: &Sealed) -> Result<Stream, StoreFault> {
    Stream::from_bytes(&row.stream).ok_or_else(|| altered(row.seq, "its stream's name cannot be read"))
}

fn open(row: &Sealed, salon: Uuid, key: &Key) -> Result<Vec<u8>, StoreFault> {
    let mut plain = row.open(salon, key).ok_or_else(|| altered(row.seq, DOES_NOT_OPEN))?;
    Ok(std::mem::take(&mut *plain))
}

/// What is said of a body that was changed, or moved from another row.
pub(crate) const DOES_NOT_OPEN: &str = "its body does not open under its stream's key";

/// The streams' keys met on a walk through the book, each unwrapped once.
pub(crate) struct Ring<'a> {
    core: &'a Core,
    known: HashMap<Stream, Option<Key>>,
}

impl<'a> Ring<'a> {
    pub(crate) fn new(core: &'a Core) -> Self {
        Self { core, known: HashMap::new() }
    }

    /// The key of a row, given what the key table holds for its stream (nothing: no key).
    pub(crate) fn of(&mut self, row: &Sealed, wrapped: &[u8]) -> Result<Option<&Key>, StoreFault> {
        let owner = stream_of(row)?.key_owner();
        if owner == Stream::House {
            return Ok(Some(&self.core.keys.house));
        }
        let slot = match self.known.entry(owner) {
            Entry::Occupied(known) => known.into_mut(),
            Entry::Vacant(new) => new.insert(if wrapped.is_empty() { None } else { Some(self.core.unwrap(owner, wrapped)?) }),
        };
        Ok(slot.as_ref())
    }
}
