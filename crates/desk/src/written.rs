//! What an act writes, and how what was written is read back: events in their
//! streams, ids and days, documents.

use crate::DeskFault;
use crate::short::{json_of, short};
use jiff::civil::Date;
use salon::Fault;
use salon::book::{
    ClientEvent, ClientId, Day, DiaryEvent, Happened, HealthAnswers, HealthEvent, HealthId, HouseEvent, MoneyEvent, ShelfEvent, Stood,
    World, minute_of,
};
use serde::Serialize;
use serde::de::DeserializeOwned;
use store::book::{NewEvent, Row, Stream, ViewWrite};
use uuid::Uuid;

/// Now, in ms since 1970: for the trail only.
pub(crate) fn now_ms() -> i64 {
    jiff::Timestamp::now().as_millisecond()
}

/// A new id that sorts by when it was made.
pub(crate) fn new_id() -> u128 {
    Uuid::now_v7().as_u128()
}

/// The salon's day today, by the machine's clock.
#[must_use]
pub fn today() -> Day {
    day_of(jiff::ZonedDateTime::now().date())
}

/// A calendar date as a salon's day.
pub(crate) fn day_of(date: Date) -> Day {
    let (year, month, day) = (i32::from(date.year()), date.month().unsigned_abs(), date.day().unsigned_abs());
    // The clock of a machine that runs this stands between 1900 and 2999.
    Day::new(year, month, day).unwrap_or_else(|| Day::new(2000, 1, 1).unwrap_or_else(|| unreachable!("that is a day")))
}

/// A client's stream.
pub(crate) fn stream_of(id: ClientId) -> Stream {
    Stream::Client(Uuid::from_u128(id.0))
}

/// A health document's stream.
pub(crate) fn health_stream(id: HealthId) -> Stream {
    Stream::Health(Uuid::from_u128(id.0))
}

/// One event of any stream, on its way into the book.
pub(crate) enum Any {
    /// Of a client.
    Client(ClientEvent),
    /// Of her health.
    Health(HealthEvent),
    /// Of the house.
    House(HouseEvent),
    /// Of the shelf.
    Shelf(ShelfEvent),
    /// Of the money.
    Money(MoneyEvent),
    /// Of the diary.
    Diary(DiaryEvent),
}

/// What one act writes.
#[derive(Default)]
pub(crate) struct Act {
    /// When, by the machine's clock, ms since 1970; when it is kept, where nothing is said.
    pub at_ms: Option<i64>,
    pub writes: Vec<(Stream, Option<u64>, Vec<Any>)>,
    pub views: Vec<ViewWrite>,
    /// Why none of it may be kept.
    pub refused: Vec<Fault>,
}

impl Act {
    /// Both acts as one.
    pub fn and(mut self, other: Self) -> Self {
        self.writes.extend(other.writes);
        self.views.extend(other.views);
        self.refused.extend(other.refused);
        self
    }

    /// Adds events of the house.
    pub fn house(mut self, events: Vec<HouseEvent>) -> Self {
        self.writes.push((Stream::House, None, events.into_iter().map(Any::House).collect()));
        self
    }

    /// Adds events of the house that were decided at a version of its stream.
    pub fn house_at(mut self, version: u64, events: Vec<HouseEvent>) -> Self {
        self.writes.push((Stream::House, Some(version), events.into_iter().map(Any::House).collect()));
        self
    }

    /// Adds events of the shelf that were decided at a version of its stream.
    pub fn shelf_at(mut self, version: u64, events: Vec<ShelfEvent>) -> Self {
        self.writes.push((Stream::Shelf, Some(version), events.into_iter().map(Any::Shelf).collect()));
        self
    }

    /// Adds events of the money that were decided at a version of its stream.
    pub fn money_at(mut self, version: u64, events: Vec<MoneyEvent>) -> Self {
        self.writes.push((Stream::Money, Some(version), events.into_iter().map(Any::Money).collect()));
        self
    }

    /// Adds events of the diary that were decided at a version of its stream.
    pub fn diary_at(mut self, version: u64, events: Vec<DiaryEvent>) -> Self {
        self.writes.push((Stream::Diary, Some(version), events.into_iter().map(Any::Diary).collect()));
        self
    }

    /// Adds events of a client that were decided at a version of her stream.
    pub fn client(mut self, id: ClientId, version: u64, events: Vec<ClientEvent>) -> Self {
        self.writes.push((stream_of(id), Some(version), events.into_iter().map(Any::Client).collect()));
        self
    }

    /// Adds health answers.
    pub fn health(self, document: HealthId, answers: HealthAnswers) -> Self {
        self.of_health(document, HealthEvent::HealthAnswered(answers))
    }

    /// Adds an event of a health document.
    pub fn of_health(mut self, document: HealthId, event: HealthEvent) -> Self {
        self.writes.push((health_stream(document), None, vec![Any::Health(event)]));
        self
    }

    /// Adds a row of a view.
    pub fn view(mut self, row: ViewWrite) -> Self {
        self.views.push(row);
        self
    }
}

/// An event on its way into the book, as it is written there.
pub(crate) fn sealed(world: &World, what: Any) -> Result<NewEvent, DeskFault> {
    fn written<E: Serialize>(world: &World, what: E) -> Result<NewEvent, DeskFault> {
        event_of(&Happened { on: world.on, at: world.at.clone(), what })
    }
    match what {
        Any::Client(event) => written(world, event),
        Any::Health(event) => written(world, event),
        Any::House(event) => written(world, event),
        Any::Shelf(event) => written(world, event),
        Any::Money(event) => written(world, event),
        Any::Diary(event) => written(world, event),
    }
}

/// What happened, as the book holds it.
///
/// *Errors*: it cannot be written.
pub fn event_of<E: Serialize>(happened: &Happened<E>) -> Result<NewEvent, DeskFault> {
    serde_json::to_vec(happened).map(short).map_err(|cause| DeskFault::damaged("an event cannot be written", &cause))
}

/// An event as it stands in the book, with what the trail says of it.
pub(crate) fn opened<E: DeserializeOwned>(row: &Row) -> Result<(E, Stood), DeskFault> {
    let body = json_of(row)?.ok_or(DeskFault::Unknown("event"))?;
    let happened: Happened<E> = serde_json::from_slice(&body).map_err(|cause| DeskFault::damaged(&format!("event {}", row.seq), &cause))?;
    Ok((
        happened.what,
        Stood { version: row.version, at_ms: row.at_ms, on: happened.on, minute: happened.at.as_deref().and_then(minute_of) },
    ))
}

/// A document of an event in its shape.
///
/// *Errors*: one that no longer has it is damage.
pub(crate) fn read_text<T: DeserializeOwned>(text: &str, what: &str) -> Result<T, DeskFault> {
    serde_json::from_str(text).map_err(|cause| DeskFault::damaged(what, &cause))
}

/// A value as a document of an event.
pub(crate) fn write_text<T: Serialize>(value: &T, what: &str) -> Result<String, DeskFault> {
    serde_json::to_string(value).map_err(|cause| DeskFault::damaged(what, &cause))
}

/// Refuses a change that began from what is no longer in force.
pub(crate) fn still(seen: i64, now: u64) -> Result<(), DeskFault> {
    if seen == now as i64 { Ok(()) } else { Err(DeskFault::Changed { seen, now: now as i64 }) }
}
