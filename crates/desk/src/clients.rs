//! Clients: the list, one client's facts, and changing them.

use crate::client_books::applied;
use crate::client_line::{LINES, Lines, VIEWS, due_of};
use crate::erasing::Which;
use crate::people::SetAside;
use crate::written::{Act, new_id, stream_of};
use crate::{ClientLine, DeskFault, Salon};
use salon::book::{
    ClientBook, ClientEvent, ClientId, Day, FactsChange, HealthId, PlanState, Purpose, SkinFound, Stood, World, decide_facts,
    decide_skin_read, decide_takes, minute_of,
};
use salon::client::ClientFile;
use std::collections::{BTreeSet, HashSet};
use std::sync::{Arc, PoisonError};
use store::book::{Appended, Once, Stream, ViewRow, ViewWrite};

/// The version of the words by which she agrees that her health answers are kept.
pub const HEALTH_WORDING: &str = "health-1";

/// The longest name that is shown in a list.
const LONGEST_LABEL: usize = 200;

/// A client with the facts in force.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Client {
    /// Who.
    pub id: ClientId,
    /// Her name, or what the technician calls her; may be empty.
    pub label: String,
    /// Her file as it reads today.
    pub facts: String,
    /// Counts the changes of her facts.
    pub version: i64,
    /// When she was added, ms since 1970.
    pub added_ms: i64,
    /// When her facts last changed, ms since 1970.
    pub changed_ms: i64,
    /// Whether she agreed that her health answers are kept.
    pub keeps_health: bool,
}

/// What she agrees to, and the version of the words she read.
pub type Consent = (Purpose, String);

/// Changed clients that are looked up one by one; where there are more, all are.
const MOST_CHANGED: usize = 300;

/// A name as it is looked for: small letters.
fn search_key(text: &str) -> String {
    text.to_lowercase()
}

/// The line of a client's book.
pub(crate) fn line_of(id: ClientId, book: &ClientBook) -> ViewWrite {
    let (next_due, window) = next_due(&book.plans);
    let line = ClientLine {
        id,
        label: book.label.chars().take(LONGEST_LABEL).collect(),
        changed_ms: book.changed_ms,
        plans: book.plans.len() as i64,
        newest_plan: book.plans.last().map(|plan| plan.id),
        next_due,
        window,
        pieces_made: book.year.pieces.made_at().into_iter().collect(),
        kept: book.same.kept,
        tells: book.contact.tells(),
    };
    // A line of plain fields can always be written.
    let body = serde_json::to_vec(&line).unwrap_or_default();
    ViewWrite::Put { view: LINES.to_owned(), key: id.0.to_be_bytes().to_vec(), owner: stream_of(id), body }
}

fn read_line(row: &ViewRow) -> Result<Arc<(String, ClientLine)>, DeskFault> {
    let line: ClientLine = serde_json::from_slice(&row.body).map_err(|cause| DeskFault::damaged("a line of the clients' list", &cause))?;
    Ok(Arc::new((search_key(&line.label), line)))
}

impl Salon {
    /// Every client's line, by name. What was read before is kept in memory; only
    /// lines of clients who were written since are read again.
    pub(crate) async fn all_lines(&self) -> Result<Arc<Vec<Arc<(String, ClientLine)>>>, DeskFault> {
        let known = self.lines.lock().unwrap_or_else(PoisonError::into_inner).clone();
        let (at, mut all) = match known {
            Some(known) => {
                let since = self.book.since(known.at, MOST_CHANGED as u32).await?;
                if since.now == known.at {
                    return Ok(known.all);
                }
                match since.streams {
                    Some(streams) => (since.now, self.lines_changed(&known.all, &streams).await?),
                    None => (since.now, self.lines_read().await?),
                }
            }
            None => {
                // The moment first: what is written while the lines are read is read again the next time.
                let now = self.book.moment().await?;
                self.views_in_force().await?;
                (now, self.lines_read().await?)
            }
        };
        all.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.id.cmp(&b.1.id)));
        let all = Arc::new(all);
        let mut lines = self.lines.lock().unwrap_or_else(PoisonError::into_inner);
        if lines.as_ref().is_none_or(|lines| lines.at < at) {
            *lines = Some(Lines { at, all: all.clone() });
        }
        Ok(all)
    }

    async fn lines_read(&self) -> Result<Vec<Arc<(String, ClientLine)>>, DeskFault> {
        self.book.view(LINES).await?.iter().map(read_line).collect()
    }

    /// The lines with those of some streams read anew; a client who was erased has none.
    async fn lines_changed(
        &self,
        all: &[Arc<(String, ClientLine)>],
        streams: &BTreeSet<Stream>,
    ) -> Result<Vec<Arc<(String, ClientLine)>>, DeskFault> {
        let mut lines: Vec<_> = all.iter().filter(|line| !streams.contains(&stream_of(line.1.id))).cloned().collect();
        for stream in streams {
            if let Stream::Client(id) = stream
                && let Some(row) = self.book.view_row(LINES, &id.as_u128().to_be_bytes()).await?
            {
                lines.push(read_line(&row)?);
            }
        }
        Ok(lines)
    }

    /// Makes the views where there are none, or other code made them.
    pub(crate) async fn views_in_force(&self) -> Result<(), DeskFault> {
        if self.book.view_number(LINES).await? != Some(VIEWS) {
            self.rebuild_views().await?;
        }
        Ok(())
    }

    /// Clients whose name holds the text, by name, so many at most; and how many there are. Who has
    /// several records is one client, found by each of her names.
    ///
    /// *Errors*: the records cannot be read.
    pub async fn clients(&self, search: &str, most: u32) -> Result<(Vec<ClientLine>, u64), DeskFault> {
        let sought = search_key(search.trim());
        let all = self.all_lines().await?;
        let set_aside = SetAside::of(&all);
        let by_another: HashSet<ClientId> =
            all.iter().filter(|line| set_aside.is(line.1.id) && line.0.contains(&sought)).map(|line| set_aside.kept(line.1.id)).collect();
        let mut found = Vec::new();
        let mut total = 0;
        let sought_for = |line: &ClientLine, key: &str| !set_aside.is(line.id) && (key.contains(&sought) || by_another.contains(&line.id));
        for line in all.iter().filter(|line| sought_for(&line.1, &line.0)) {
            total += 1;
            if found.len() < most as usize {
                found.push(line.1.clone());
            }
        }
        Ok((found, total))
    }

    /// A client with the facts in force; that her health was read is recorded.
    ///
    /// *Errors*: nothing has this id; the records cannot be read.
    pub async fn client(&self, id: ClientId) -> Result<Client, DeskFault> {
        let book = self.client_book(id, None).await?;
        let (health, _) = self.health(&book, "show client", None).await?;
        let file = book.facts.file_on(crate::written::today(), health.as_ref());
        Ok(Client {
            id,
            label: book.label.clone(),
            facts: serde_json::to_string(&file).map_err(|cause| DeskFault::damaged("her facts cannot be written", &cause))?,
            version: book.facts_version as i64,
            added_ms: book.added_ms,
            changed_ms: book.changed_ms,
            keeps_health: book.consents.contains_key(&Purpose::Health),
        })
    }

    /// Adds a client.
    ///
    /// *Errors*: health answers without her consent to keep them; the records.
    pub async fn add_client(&self, label: &str, file: &ClientFile, consents: Vec<Consent>) -> Result<ClientId, DeskFault> {
        let id = ClientId(new_id());
        let change = FactsChange { label: label.to_owned(), file: file.clone(), consents, seen: None };
        let world = self.world_now().await?;
        self.keep_facts(id, ClientBook::default(), &change, &world, None).await?;
        Ok(id)
    }

    /// Changes what is known of a client; her facts' new version.
    ///
    /// *Errors*: her facts were changed in the meantime; health answers without
    /// her consent to keep them; the records.
    pub async fn change_client(
        &self,
        id: ClientId,
        seen: i64,
        label: &str,
        file: &ClientFile,
        consents: Vec<Consent>,
    ) -> Result<i64, DeskFault> {
        let book = self.client_book(id, None).await?;
        if seen != book.facts_version as i64 {
            return Err(DeskFault::Changed { seen, now: book.facts_version as i64 });
        }
        let change = FactsChange { label: label.to_owned(), file: file.clone(), consents, seen: None };
        let world = self.world_now().await?;
        let (now, _) = self.keep_facts(id, book, &change, &world, None).await?;
        Ok(now as i64)
    }

    /// Decides and keeps a change of her facts; her facts' version after it.
    pub(crate) async fn keep_facts(
        &self,
        id: ClientId,
        book: ClientBook,
        change: &FactsChange,
        world: &World,
        once: Option<Once>,
    ) -> Result<(u64, Vec<Appended>), DeskFault> {
        let (kept, _) = self.health(&book, "change client", None).await?;
        let decided = decide_facts(&book, kept.as_ref(), change, HealthId(new_id()), world)?;
        let (now, act) = self.act_of(id, book, decided.events, world);
        let act = match decided.health {
            Some((document, answers)) => act.health(document, answers),
            None => act,
        };
        let appended = self.keep(world, act, once).await?;
        Ok((now.facts_version, appended))
    }

    /// What a client's events write: the events themselves, and her line of the list.
    pub(crate) fn act_of(&self, id: ClientId, book: ClientBook, events: Vec<ClientEvent>, world: &World) -> (ClientBook, Act) {
        let version = book.version;
        let refused = decide_takes(&book, &events).err().unwrap_or_default();
        let mut now = book;
        let at_ms = crate::written::now_ms();
        let mut kept = None;
        for event in &events {
            let stood = Stood { version: now.version + 1, at_ms, on: world.on, minute: world.at.as_deref().and_then(minute_of) };
            kept = applied(id, &mut now, event.clone(), stood).or(kept);
        }
        if events.is_empty() {
            return (now, Act::default());
        }
        let wheres: Vec<ViewWrite> = events.iter().filter_map(|event| crate::photos::where_of(id, event)).collect();
        let mut act = Act { at_ms: Some(at_ms), refused, ..Act::default() }.client(id, version, events).view(line_of(id, &now));
        act.views.extend(wheres.into_iter().chain(kept));
        (now, act)
    }

    /// Keeps events of a client that were decided on her book as it stands.
    pub(crate) async fn keep_of(
        &self,
        id: ClientId,
        book: ClientBook,
        events: Vec<ClientEvent>,
        world: &World,
        once: Option<Once>,
    ) -> Result<Vec<Appended>, DeskFault> {
        let (_, act) = self.act_of(id, book, events, world);
        self.keep(world, act, once).await
    }

    /// She takes back, today, that her health answers are kept.
    ///
    /// *Errors*: nothing has this id; the records.
    pub async fn withdraw_health(&self, id: ClientId) -> Result<(), DeskFault> {
        let world = self.world_now().await?;
        let book = self.client_book(id, None).await?;
        let (act, erases) = self.consent_act(id, book, Purpose::Health, None, &world);
        let note = self.batch(&world, act, None)?;
        if erases.is_empty() {
            self.book.append(note).await?;
        } else {
            self.erase_streams(&erases, note).await?;
        }
        Ok(())
    }

    /// Sets a skin test.
    ///
    /// *Errors*: nothing has this id; the records.
    pub async fn set_skin_test(
        &self,
        id: ClientId,
        lot: &str,
        place: &str,
        world: &World,
        once: Option<Once>,
    ) -> Result<Vec<Appended>, DeskFault> {
        let book = self.client_book(id, None).await?;
        self.keep_of(id, book, vec![ClientEvent::SkinTestSet { lot: lot.to_owned(), place: place.to_owned() }], world, once).await
    }

    /// Reads the skin test that was set last.
    ///
    /// *Errors*: none is waiting; the records.
    pub async fn read_skin_test(
        &self,
        id: ClientId,
        found: SkinFound,
        world: &World,
        once: Option<Once>,
    ) -> Result<Vec<Appended>, DeskFault> {
        let book = self.client_book(id, None).await?;
        let events = decide_skin_read(&book, found, world.on)?;
        self.keep_of(id, book, events, world, once).await
    }

    /// Erases a client: her keys are destroyed, and with them all that stands
    /// under them. What stays, and why. Where several records are hers, which of them go.
    ///
    /// *Errors*: nothing has this id; several records are hers and nothing is said of them; the records.
    pub async fn erase_client(
        &self,
        id: ClientId,
        which: Option<Which>,
        reason: &str,
        world: &World,
        once: Option<Once>,
    ) -> Result<(Vec<Appended>, Vec<String>), DeskFault> {
        let book = self.client_book(id, None).await?;
        let (act, streams, kept) = self.erasing((id, &book), which, reason.to_owned(), world).await?;
        let note = self.batch(world, act, once)?;
        Ok((self.erase_streams(&streams, note).await?, kept))
    }
}

/// When a client's set is due, for her line of the list.
fn next_due(plans: &[PlanState]) -> (Option<Day>, Option<[Day; 2]>) {
    due_of(plans).map_or((None, None), |(due, window)| (Some(due), Some(window)))
}
