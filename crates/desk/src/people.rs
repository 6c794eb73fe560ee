//! Records that are one person's: said, taken back, and found again.

use crate::written::Act;
use crate::{ClientLine, DeskFault, Salon};
use salon::book::{ClientBook, ClientEvent, ClientId, DiaryEvent, World, decide_merge, decide_part};
use std::collections::{HashMap, HashSet};
use std::sync::Arc;

/// The version of the words by which she agrees to be reminded and written to.
pub const CONTACT_WORDING: &str = "contact-1";

/// Records that are set aside, each with the one that stands in the lists for it.
pub(crate) struct SetAside(HashMap<ClientId, ClientId>);

impl SetAside {
    /// Of the lines of all clients. A record whose kept one was erased stands by itself.
    pub fn of(lines: &[Arc<(String, ClientLine)>]) -> Self {
        let said: Vec<(ClientId, ClientId)> = lines.iter().filter_map(|line| Some((line.1.id, line.1.kept?))).collect();
        if said.is_empty() {
            return Self(HashMap::new());
        }
        let there: HashSet<ClientId> = lines.iter().map(|line| line.1.id).collect();
        Self(said.into_iter().filter(|(_, kept)| there.contains(kept)).collect())
    }

    /// The record that stands in the lists: itself, or the one it is set aside for.
    pub fn kept(&self, id: ClientId) -> ClientId {
        self.0.get(&id).copied().unwrap_or(id)
    }

    pub fn is(&self, id: ClientId) -> bool {
        self.0.contains_key(&id)
    }
}

/// A record of somebody who has several.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OtherRecord {
    /// Which.
    pub id: ClientId,
    /// What she is called in it; may be empty.
    pub label: String,
    /// Whether it is the one that is kept.
    pub kept: bool,
}

impl Salon {
    /// What setting a record aside for another writes, and how many appointments go over.
    ///
    /// *Meaning*: what is booked from that day on is booked for the kept record from then on;
    /// everything else stays where it is.
    pub(crate) async fn merging(
        &self,
        (aside, book): (ClientId, ClientBook),
        kept: ClientId,
        reason: &str,
        world: &World,
    ) -> Result<(Act, usize), DeskFault> {
        let other = self.client_book(kept, None).await?;
        let [hers, its] = decide_merge((aside, &book), (kept, &other), reason)?;
        let diary = self.diary_book().await?;
        let moved: Vec<DiaryEvent> = diary
            .of_client(aside, world.on)
            .into_iter()
            .filter_map(|appointment| {
                let held = diary.appointments.get(&appointment)?;
                let booked = salon::book::Booked { client: kept, ..held.booked.clone() };
                Some(DiaryEvent::AppointmentMoved { appointment, booked, changes: held.changes + 1, because: None })
            })
            .collect();
        let count = moved.len();
        let (_, act) = self.act_of(aside, book, vec![hers], world);
        let (_, kept_act) = self.act_of(kept, other, vec![its], world);
        let act = act.and(kept_act);
        Ok((if moved.is_empty() { act } else { act.diary_at(diary.version, moved) }, count))
    }

    /// What it writes that a record which was set aside is somebody else's after all; which
    /// record it was set aside for.
    pub(crate) async fn parting(
        &self,
        (id, book): (ClientId, ClientBook),
        reason: &str,
        world: &World,
    ) -> Result<(Act, ClientId), DeskFault> {
        let (kept, event) = decide_part(&book, reason)?;
        let (_, act) = self.act_of(id, book, vec![event], world);
        // Where the kept one was erased, this one says it alone.
        let Some((_, other)) = self.still_there(Some(kept)).await? else { return Ok((act, kept)) };
        let its = ClientEvent::NotSameAs { client: id, reason: reason.trim().to_owned() };
        Ok((act.and(self.act_of(kept, other, vec![its], world).1), kept))
    }

    /// The books of the other records of hers that are still there: the kept one first, then those
    /// that are set aside for it.
    pub(crate) async fn other_books(&self, id: ClientId, book: &ClientBook) -> Result<Vec<(ClientId, ClientBook)>, DeskFault> {
        let mut all = Vec::new();
        let mut aside = book.same.set_aside.clone();
        if let Some((kept, its)) = self.still_there(book.same.kept).await? {
            aside.extend(its.same.set_aside.iter().filter(|other| **other != id));
            all.push((kept, its));
        }
        for other in aside {
            all.extend(self.still_there(Some(other)).await?);
        }
        Ok(all)
    }

    async fn still_there(&self, id: Option<ClientId>) -> Result<Option<(ClientId, ClientBook)>, DeskFault> {
        let Some(id) = id else { return Ok(None) };
        match self.client_book(id, None).await {
            Ok(book) => Ok(Some((id, book))),
            Err(DeskFault::Unknown(_)) => Ok(None),
            Err(fault) => Err(fault),
        }
    }

    /// The other records of hers that are still there.
    ///
    /// *Errors*: nothing has this id; the records.
    pub async fn other_records(&self, id: ClientId) -> Result<Vec<OtherRecord>, DeskFault> {
        let book = self.client_book(id, None).await?;
        let others = self.other_books(id, &book).await?;
        let told = |(other, its): (ClientId, ClientBook)| OtherRecord { kept: book.same.kept == Some(other), id: other, label: its.label };
        Ok(others.into_iter().map(told).collect())
    }

    /// Everybody's label and what tells that a record may be hers (`Contact::tells`), without records
    /// that are set aside.
    ///
    /// *Errors*: the records.
    pub async fn known_people(&self) -> Result<Vec<(ClientId, String, Vec<String>)>, DeskFault> {
        let lines = self.all_lines().await?;
        let set_aside = SetAside::of(&lines);
        let told = |line: &Arc<(String, ClientLine)>| (set_aside.kept(line.1.id), line.1.label.clone(), line.1.tells.clone());
        Ok(lines.iter().map(told).collect())
    }
}
