//! The open salon: its book, what is in force, and how an act is kept.

use crate::known::Known;
use crate::recent::Recent;
use crate::written::{Act, now_ms, opened, sealed};
use crate::{DeskFault, today};
use salon::book::{
    ClientBook, ClientId, DiaryBook, HealthAnswers, HealthBook, HealthEvent, HealthId, HouseBook, LotsBook, MoneyBook, PersonId, Role,
    ShelfBook, World,
};
use std::path::PathBuf;
use std::sync::{Arc, Mutex};
use store::book::{Access, Appended, Batch, Book, Once, Place, RecoveryCode, Stream, Write};
use store::{Protection, StoreFault};
use uuid::Uuid;

/// A salon's open records.
#[derive(Debug)]
pub struct Salon {
    pub(crate) book: Book,
    place: Place,
    /// House, shelf and its lots as they were last read, by the versions of their streams.
    pub(crate) house: Known<HouseBook>,
    pub(crate) shelf: Known<ShelfBook>,
    pub(crate) lots: Known<LotsBook>,
    /// Money and diary as they were last read.
    pub(crate) money: Known<MoneyBook>,
    pub(crate) diary: Known<DiaryBook>,
    pub(crate) lines: Mutex<Option<crate::client_line::Lines>>,
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

impl Salon {
    pub(crate) fn of(book: Book, place: Place) -> Self {
        let (house, shelf, lots) = (Known::default(), Known::default(), Known::default());
        let (money, diary) = (Known::default(), Known::default());
        Self { book, place, house, shelf, lots, money, diary, lines: Mutex::default(), recent: Recent::default() }
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

    /// The shelf as it is in force.
    pub(crate) async fn shelf_book(&self) -> Result<Arc<ShelfBook>, DeskFault> {
        // Its lots go along, so that whoever asks later of those that were finds them kept.
        self.state(&self.lots, None).await?;
        self.state(&self.shelf, None).await
    }

    /// What lay on the shelf at a version, lot by lot.
    pub(crate) async fn lots_at(&self, version: u64) -> Result<Arc<LotsBook>, DeskFault> {
        self.state(&self.lots, Some(version)).await
    }

    /// The salon's money as it is in force.
    pub(crate) async fn money_book(&self) -> Result<Arc<MoneyBook>, DeskFault> {
        self.state(&self.money, None).await
    }

    /// The diary as it is in force.
    pub(crate) async fn diary_book(&self) -> Result<Arc<DiaryBook>, DeskFault> {
        self.state(&self.diary, None).await
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
        if !act.refused.is_empty() {
            return Err(DeskFault::Refused(act.refused));
        }
        let mut writes = Vec::new();
        for (stream, seen, bodies) in act.writes {
            let events = bodies.into_iter().map(|what| sealed(world, what)).collect::<Result<_, _>>()?;
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
