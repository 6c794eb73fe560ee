//! The open salon: its book, what is in force, and how an act is kept.

use crate::client_books::Recent;
use crate::states::Known;
use crate::{DeskFault, before};
use jiff::civil::Date;
use salon::book::{
    ClientBook, ClientEvent, ClientId, Day, FORMAT, Happened, HealthAnswers, HealthBook, HealthEvent, HealthId, HouseBook, HouseEvent,
    PersonId, Role, ShelfBook, ShelfEvent, Stood, World,
};
use serde::Serialize;
use serde::de::DeserializeOwned;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};
use store::book::{Access, Appended, Batch, Book, NewEvent, Once, Opener, Passphrase, Place, RecoveryCode, Row, Stream, ViewWrite, Write};
use store::{Protection, StoreFault};
use uuid::Uuid;

/// A salon's open records.
#[derive(Debug)]
pub struct Salon {
    pub(crate) book: Book,
    place: Place,
    /// House and shelf as they were last read, by the versions of their streams.
    pub(crate) house: Known<HouseBook>,
    pub(crate) shelf: Known<ShelfBook>,
    pub(crate) lines: Mutex<Option<crate::clients::Lines>>,
    /// Clients who were looked at lately, each as she was at a version of her stream.
    pub(crate) recent: Recent,
}

/// A salon as it was opened.
#[derive(Debug)]
pub struct Opened {
    /// The salon.
    pub salon: Salon,
    /// Its recovery code, where it was begun now: shown once, kept nowhere.
    pub code: Option<RecoveryCode>,
    /// Where records of the earlier kind were set aside, where they became a book now.
    pub set_aside: Option<PathBuf>,
}

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

impl Salon {
    /// Whether a folder holds a salon, of this kind or the earlier one.
    #[must_use]
    pub fn is_in(folder: &Path) -> bool {
        Book::is_in(folder) || store::EarlierRecords::is_in(folder)
    }

    /// Begins a new salon in a missing or empty place.
    ///
    /// *Errors*: something is there; the disk or database refuses.
    pub async fn begin(place: &Place, passphrase: Option<&Passphrase>) -> Result<Opened, DeskFault> {
        let (book, code) = Book::begin(place, passphrase, now_ms()).await?;
        let salon = Self::of(book, place.clone());
        let owner = HouseEvent::PersonAdded { person: PersonId(new_id()), name: String::new(), role: Role::Owner };
        let world = World { on: today(), at: None, by: PersonId(0) };
        // Where nothing happened yet, every view is as it must be.
        let act = Act::default().house(vec![owner]).view(crate::clients::views_are_made());
        salon.keep(&world, act, None).await?;
        Ok(Opened { salon, code: Some(code), set_aside: None })
    }

    /// Opens a salon. Records of the earlier kind are backed up and become a book.
    ///
    /// *Errors*: those of the records: no salon, in use, wrong passphrase, damage.
    pub async fn open(place: &Place, passphrase: Option<&Passphrase>) -> Result<Opened, DeskFault> {
        if let Place::Folder(folder) = place
            && !Book::is_in(folder)
            && store::EarlierRecords::is_in(folder)
        {
            return before::becomes_a_book(folder, passphrase).await;
        }
        let opener = passphrase.map_or(Opener::Nothing, |passphrase| Opener::Passphrase(passphrase.clone()));
        let book = Book::open(place, &opener).await?;
        let salon = Self::of(book, place.clone());
        salon.views_in_force().await?;
        Ok(Opened { salon, code: None, set_aside: None })
    }

    /// Opens the salon of a place, or begins one where there is none.
    ///
    /// *Errors*: as [`Salon::open`] and [`Salon::begin`].
    pub async fn open_or_begin(place: &Place, passphrase: Option<&Passphrase>) -> Result<Opened, DeskFault> {
        match place {
            Place::Folder(folder) if !Self::is_in(folder) => Self::begin(place, passphrase).await,
            _ => Self::open(place, passphrase).await,
        }
    }

    pub(crate) fn of(book: Book, place: Place) -> Self {
        Self { book, place, house: Known::default(), shelf: Known::default(), lines: Mutex::default(), recent: Recent::default() }
    }

    /// Where it is kept.
    #[must_use]
    pub fn place(&self) -> &Place {
        &self.place
    }

    /// What guards its key.
    #[must_use]
    pub fn protection(&self) -> Protection {
        self.book.protection()
    }

    /// Closes the records; what was acknowledged is written.
    pub async fn close(&self) {
        self.book.close().await;
    }

    /// The world of an act that is done now, by the owner.
    ///
    /// *Errors*: the house's book cannot be read.
    pub async fn world_now(&self) -> Result<World, DeskFault> {
        Ok(World { on: today(), at: None, by: self.owner().await? })
    }

    /// The owner.
    pub(crate) async fn owner(&self) -> Result<PersonId, DeskFault> {
        let house = self.house_book().await?;
        Ok(house.people.iter().find(|(_, _, role)| *role == Role::Owner).map_or(PersonId(0), |(id, _, _)| *id))
    }

    /// The house as it is in force.
    pub(crate) async fn house_book(&self) -> Result<Arc<HouseBook>, DeskFault> {
        self.state(&self.house, None).await
    }

    /// The house as it was at a version.
    pub(crate) async fn house_at(&self, version: u64) -> Result<Arc<HouseBook>, DeskFault> {
        self.state(&self.house, Some(version)).await
    }

    /// The shelf as it was at a version; as it is in force at none.
    pub(crate) async fn shelf_at(&self, version: Option<u64>) -> Result<Arc<ShelfBook>, DeskFault> {
        self.state(&self.shelf, version).await
    }

    /// Her health answers, and the version of their document; the reading is recorded first.
    pub(crate) async fn health(&self, book: &ClientBook, why: &str, at: Option<u64>) -> Result<(Option<HealthAnswers>, u64), DeskFault> {
        let Some(document) = book.health else { return Ok((None, 0)) };
        let health = self.health_of(document, why, at).await?;
        Ok((health.answers, health.version))
    }

    /// A health document, with its answers as they are or were at a version; the reading is recorded first.
    pub(crate) async fn health_of(&self, document: HealthId, why: &str, at: Option<u64>) -> Result<HealthBook, DeskFault> {
        let who = Uuid::from_u128(self.owner().await?.0);
        let access = Access { who, at_ms: now_ms(), why: why.to_owned() };
        let rows = match self.book.read_health(Uuid::from_u128(document.0), 0, &access).await {
            Ok(rows) => rows,
            Err(StoreFault::Erased(_)) => return Ok(HealthBook::default()),
            Err(fault) => return Err(fault.into()),
        };
        let mut book = HealthBook::default();
        for row in &rows {
            if row.opened().is_none() {
                return Ok(HealthBook::default());
            }
            let (event, stood) = opened::<HealthEvent>(row)?;
            book.apply(event, stood, at);
        }
        Ok(book)
    }

    /// Destroys the keys of streams, with a note of it; nothing of them stays in memory either.
    pub(crate) async fn erase_streams(&self, streams: &[Stream], note: Batch) -> Result<Vec<Appended>, DeskFault> {
        let erased = self.book.erase(streams, note).await?;
        for stream in streams {
            if let Stream::Client(id) = stream {
                self.recent.forget(ClientId(id.as_u128()));
            }
        }
        Ok(erased.appended)
    }

    /// What an act writes, as one batch.
    pub(crate) fn batch(&self, world: &World, act: Act, once: Option<Once>) -> Result<Batch, DeskFault> {
        let mut writes = Vec::new();
        for (stream, seen, bodies) in act.writes {
            let events = bodies
                .into_iter()
                .map(|what| sealed(world, what).map(|body| NewEvent { format: FORMAT, body }))
                .collect::<Result<_, _>>()?;
            writes.push(Write { stream, seen, events });
        }
        Ok(Batch { at_ms: act.at_ms.unwrap_or_else(now_ms), actor: Uuid::from_u128(world.by.0), writes, once, views: act.views })
    }

    /// Keeps what was decided: all of it or nothing.
    pub(crate) async fn keep(&self, world: &World, act: Act, once: Option<Once>) -> Result<Vec<Appended>, DeskFault> {
        if act.writes.is_empty() && act.views.is_empty() && once.is_none() {
            return Ok(Vec::new());
        }
        let mut act = act;
        let states = self.with_states(&mut act);
        let appended = self.book.append(self.batch(world, act, once)?).await?;
        self.states_kept(states);
        Ok(appended)
    }
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
}

/// What one act writes.
#[derive(Default)]
pub(crate) struct Act {
    /// When, by the machine's clock, ms since 1970; when it is kept, where nothing is said.
    pub at_ms: Option<i64>,
    pub writes: Vec<(Stream, Option<u64>, Vec<Any>)>,
    pub views: Vec<ViewWrite>,
}

impl Act {
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

fn sealed(world: &World, what: Any) -> Result<Vec<u8>, DeskFault> {
    fn written<E: Serialize>(world: &World, what: E) -> serde_json::Result<Vec<u8>> {
        serde_json::to_vec(&Happened { on: world.on, at: world.at.clone(), what })
    }
    match what {
        Any::Client(event) => written(world, event),
        Any::Health(event) => written(world, event),
        Any::House(event) => written(world, event),
        Any::Shelf(event) => written(world, event),
    }
    .map_err(|cause| DeskFault::damaged("an event cannot be written", &cause))
}

/// An event as it stands in the book, with what the trail says of it.
pub(crate) fn opened<E: DeserializeOwned>(row: &Row) -> Result<(E, Stood), DeskFault> {
    if row.format > FORMAT {
        return Err(DeskFault::Store(StoreFault::Newer { found: i64::from(row.format), known: i64::from(FORMAT) }));
    }
    let body = row.opened().ok_or(DeskFault::Unknown("event"))?;
    let happened: Happened<E> = serde_json::from_slice(body).map_err(|cause| DeskFault::damaged(&format!("event {}", row.seq), &cause))?;
    Ok((happened.what, Stood { version: row.version, at_ms: row.at_ms, on: happened.on }))
}
