//! What is in force of one client, and what may happen next.

use super::client_event::{ClientEvent, MadeFrom, SitePlaced, SkinFound};
use super::consent::{ConsentState, Purpose, Signed};
use super::contact::Contact;
use super::day::{Day, Stood};
use super::facts::{Facts, HealthAnswers};
use super::id::{BlobRef, HealthId, PhotoId, PlanId, ReadingId, VisitId};
use super::same_person::SamePerson;
use super::visit::state::{Closed, NewStep, Year};
use super::visit::words::{AddedAt, ClosingChecks, NextDate, Step, VisitKind};
use super::{Shown, World};
use crate::Fault;
use crate::client::{ClientFile, Fact, LastSiteEntry, LastVisitSection};
use crate::words::Message;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// A photo as it stands.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PhotoState {
    /// The picture.
    pub blob: BlobRef,
    /// Where things lie in it.
    pub note: String,
    /// Counts the note's changes from one.
    pub version: u64,
    /// When it was taken in, ms since 1970, for the trail.
    pub kept_ms: i64,
}

/// A reading as it stands.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ReadingState {
    /// Which.
    pub id: ReadingId,
    /// Its photo.
    pub photo: Option<PhotoId>,
    /// What was read.
    pub document: String,
    /// When it was read, ms since 1970, for the trail.
    pub read_ms: i64,
}

/// A plan as it stands.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PlanState {
    /// Which.
    pub id: PlanId,
    /// What it was made from.
    pub from: MadeFrom,
    /// Its sandwiches.
    pub sites: Vec<SitePlaced>,
    /// Days to the re-tape, and to the window's two ends.
    pub retape_days: Option<[u32; 3]>,
    /// Its document.
    pub blob: BlobRef,
    /// When it was made, ms since 1970, for the trail.
    pub made_ms: i64,
    /// The salon's day on which it was made: her facts are read as they were then.
    pub made_on: Day,
    /// The day it went in.
    pub placed_on: Option<Day>,
    /// The day the last of it came out for good.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ended_on: Option<Day>,
    /// When its set is due, as the visit that set it said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub next: Option<NextDate>,
    /// How often that day was said or changed: the calendar entry's sequence.
    pub days_said: u32,
    /// When it was said last, ms since 1970, for the trail; when the plan was made before that.
    pub said_ms: i64,
}

/// A skin test as it stands.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct SkinTest {
    /// The tape's lot.
    pub lot: String,
    /// Where on her.
    pub place: String,
    /// The day it was set.
    pub set_on: Day,
    /// When it was read and what was seen, in its order.
    pub read: Vec<(Day, SkinFound)>,
    /// The versions of the events that say so: of its setting, and of each reading.
    said_at: (u64, Vec<u64>),
}

/// All that is in force of one client.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct ClientBook {
    /// The stream's version.
    pub version: u64,
    /// What she is called.
    pub label: String,
    /// How she is reached.
    #[serde(default, skip_serializing_if = "Contact::is_empty")]
    pub contact: Contact,
    /// Which other records are hers too.
    #[serde(default, skip_serializing_if = "SamePerson::is_alone")]
    pub same: SamePerson,
    /// Her facts, without her health.
    pub facts: Facts,
    /// Counts the changes of her facts from one; what one act changes counts once.
    pub facts_version: u64,
    /// The stream's version at which her facts were changed, each time.
    pub facts_at: Vec<u64>,
    /// Her health document.
    pub health: Option<HealthId>,
    /// Her consents in force.
    pub consents: BTreeMap<Purpose, ConsentState>,
    /// Her skin tests, oldest first.
    pub skin_tests: Vec<SkinTest>,
    /// Her photos.
    pub photos: BTreeMap<PhotoId, PhotoState>,
    /// Her readings, oldest first.
    pub readings: Vec<ReadingState>,
    /// Her plans, oldest first.
    pub plans: Vec<PlanState>,
    /// When she was added and her facts last changed, ms since 1970, for the trail.
    pub added_ms: i64,
    /// When her facts last changed.
    pub changed_ms: i64,
    /// Her visits and her pieces.
    #[serde(default)]
    pub year: Year,
    facts_ms: Option<i64>,
}

impl ClientBook {
    /// Puts an event in force.
    pub fn apply(&mut self, event: ClientEvent, stood: Stood) {
        self.version = stood.version;
        match event {
            ClientEvent::ClientAdded { label } => {
                self.label = label;
                (self.added_ms, self.changed_ms) = (stood.at_ms, stood.at_ms);
            }
            ClientEvent::ClientNamed { label } => self.label = label,
            ClientEvent::FactsChanged(section) => {
                self.facts.apply(section);
                self.facts_changed(stood);
            }
            ClientEvent::ContactSet(contact) => self.contact = contact,
            ClientEvent::SameAs { client, kept, .. } => self.same.joined(client, kept),
            ClientEvent::NotSameAs { client, .. } => self.same.parted(client),
            ClientEvent::HealthKept { document } => {
                self.health = Some(document);
                self.facts_changed(stood);
            }
            ClientEvent::ConsentGiven { purpose, wording, signed } => {
                self.consents.insert(purpose, ConsentState { wording, on: stood.on, minute: stood.minute, signed });
            }
            ClientEvent::ConsentWithdrawn { purpose } => {
                self.consents.remove(&purpose);
                if purpose == Purpose::Health && self.health.take().is_some() {
                    self.facts_changed(stood);
                }
            }
            ClientEvent::SkinTestSet { lot, place } => {
                self.skin_tests.push(SkinTest { lot, place, set_on: stood.on, read: Vec::new(), said_at: (stood.version, Vec::new()) });
            }
            ClientEvent::SkinTestRead { found } => {
                if let Some(test) = self.skin_tests.last_mut() {
                    test.read.push((stood.on, found));
                    test.said_at.1.push(stood.version);
                }
            }
            ClientEvent::Corrected { event, day, instead } => self.correct(event, day, *instead),
            ClientEvent::PhotoKept { photo, blob, note } => {
                self.photos.insert(photo, PhotoState { blob, note, version: 1, kept_ms: stood.at_ms });
            }
            ClientEvent::PhotoMarked { photo, note } => {
                if let Some(kept) = self.photos.get_mut(&photo) {
                    kept.note = note;
                    kept.version += 1;
                }
            }
            ClientEvent::PhotoRemoved { photo } => _ = self.photos.remove(&photo),
            ClientEvent::ColourKept { reading, photo, document } => {
                self.readings.push(ReadingState { id: reading, photo, document, read_ms: stood.at_ms });
            }
            ClientEvent::PlanMade { plan, from, sites, retape_days, blob } => {
                self.plans.push(PlanState {
                    id: plan,
                    from,
                    sites,
                    retape_days,
                    blob,
                    made_ms: stood.at_ms,
                    made_on: stood.on,
                    placed_on: None,
                    ended_on: None,
                    next: None,
                    days_said: 0,
                    said_ms: stood.at_ms,
                });
            }
            ClientEvent::PlanPlaced { plan, day } => {
                if let Some(kept) = self.plan_mut(plan) {
                    kept.placed_on = day;
                    (kept.ended_on, kept.next) = (None, None);
                    kept.days_said += 1;
                    kept.said_ms = stood.at_ms;
                }
            }
            ClientEvent::VisitBegun { visit, visit_kind, plan, by, because } => {
                self.year.begin(visit, visit_kind, (plan, by, because), stood)
            }
            ClientEvent::VisitReplanned { visit, plan } => self.year.replan(visit, plan),
            ClientEvent::StepDone { visit, step, from_shelf, left, because } => {
                self.year.step(NewStep { visit, step, from_shelf: (from_shelf, left), because }, stood);
            }
            ClientEvent::StepUndone { visit, .. } => self.year.undo(visit),
            ClientEvent::VisitClosed { visit, checks, next, because } => self.visit_closed(visit, (checks, next, because), stood),
        }
    }

    fn correct(&mut self, event: u64, day: Day, instead: ClientEvent) {
        match instead {
            ClientEvent::SkinTestSet { lot, place } => {
                if let Some(test) = self.skin_tests.iter_mut().find(|test| test.said_at.0 == event) {
                    (test.lot, test.place, test.set_on) = (lot, place, day);
                }
            }
            ClientEvent::SkinTestRead { found } => {
                for test in &mut self.skin_tests {
                    if let Some(at) = test.said_at.1.iter().position(|said| *said == event) {
                        test.read[at] = (day, found);
                    }
                }
            }
            // Nothing else is decided as a correction.
            _ => {}
        }
    }

    fn visit_closed(
        &mut self,
        visit: VisitId,
        (checks, next, because): (Option<ClosingChecks>, Option<NextDate>, Option<String>),
        stood: Stood,
    ) {
        let closing = self.year.visit(visit);
        let plan = closing.filter(|visit| visit.kind.sets()).and_then(|visit| visit.plan);
        // A set of which only the day is known is not over because nothing else is known of it.
        let came_out = closing.is_some_and(|visit| visit.kind == VisitKind::Removal || visit.tally.taken_out > 0);
        self.year.close(visit, Closed { on: stood.on, minute: stood.minute, checks, next, because });
        // A visit that set nothing says no new day.
        if let (Some(kept), Some(_)) = (plan.and_then(|plan| self.plan_mut(plan)), next) {
            kept.next = next;
        }
        if came_out && self.year.pieces.in_hair() == 0 {
            for kept in self.plans.iter_mut().filter(|kept| kept.placed_on.is_some() && kept.ended_on.is_none()) {
                kept.ended_on = Some(stood.on);
            }
        }
    }

    fn plan_mut(&mut self, id: PlanId) -> Option<&mut PlanState> {
        self.plans.iter_mut().find(|plan| plan.id == id)
    }

    fn facts_changed(&mut self, stood: Stood) {
        // What one act changes, section by section, is one version: its events share one moment.
        match self.facts_at.last_mut().filter(|_| self.facts_ms == Some(stood.at_ms)) {
            Some(last) => *last = stood.version,
            None => {
                self.facts_version += 1;
                self.facts_at.push(stood.version);
            }
        }
        (self.changed_ms, self.facts_ms) = (stood.at_ms, Some(stood.at_ms));
    }

    /// Her file with the slices of the set that went in here last, where one did: they
    /// stand in place of what she told of the visit before.
    #[must_use]
    pub fn with_last_visit(&self, mut file: ClientFile) -> ClientFile {
        let Some(visit) = self.year.last_set() else { return file };
        let sites = visit.plan.and_then(|plan| self.plan(plan)).map_or(&[][..], |plan| &plan.sites);
        let set = visit.steps.iter().filter_map(|done| match &done.step {
            Step::Placed { added: Some(at), .. } => Some(*at),
            Step::Placed { site, moved_mm, .. } => {
                let known = sites.iter().find(|known| known.site == *site)?;
                let along_mm = known.along_mm + moved_mm.unwrap_or(0.0);
                Some(AddedAt { up_mm: known.up_mm, along_mm, width_mm: known.width_mm })
            }
            _ => None,
        });
        let slice = |at: AddedAt| LastSiteEntry { above_nape_mm: Some(at.up_mm), along_mm: Some(at.along_mm), width_mm: Some(at.width_mm) };
        file.last_visit = Some(LastVisitSection { sites: Some(set.map(slice).collect()) });
        file
    }

    /// A plan.
    #[must_use]
    pub fn plan(&self, id: PlanId) -> Option<&PlanState> {
        self.plans.iter().find(|plan| plan.id == id)
    }
}

/// What a change of her facts comes to.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct FactsDecided {
    /// Events of her own stream.
    pub events: Vec<ClientEvent>,
    /// Her health answers, where they changed.
    pub health: Option<(HealthId, HealthAnswers)>,
}

/// Adds a client, or changes what is known of one.
///
/// *Meaning*: `shown` is what the change began from, where it began from something;
/// `new_document` stands ready for health answers that were not kept before.
///
/// *Errors*: health answers without her consent that they are kept; facts that
/// were changed elsewhere since they were shown.
pub fn decide_facts(
    book: &ClientBook,
    kept: Option<&HealthAnswers>,
    change: &FactsChange,
    new_document: HealthId,
    world: &World,
) -> Result<FactsDecided, Vec<Fault>> {
    if let Some(Shown { seen, now }) =
        change.seen.map(|seen| Shown { seen, now: book.facts_version }).filter(|shown| shown.seen != shown.now)
    {
        let message = Message::FactsChangedElsewhere { now: now.to_string(), seen: seen.to_string() };
        return Err(vec![Fault::of(&message, "version", "stale")]);
    }
    let mut events = Vec::new();
    if book.version == 0 {
        events.push(ClientEvent::ClientAdded { label: change.label.clone() });
    } else if change.label != book.label {
        events.push(ClientEvent::ClientNamed { label: change.label.clone() });
    }
    for (purpose, wording) in &change.consents {
        if book.consents.get(purpose).is_none_or(|known| known.wording != *wording) {
            events.push(ClientEvent::ConsentGiven { purpose: *purpose, wording: wording.clone(), signed: None });
        }
    }
    // What she signed and what her answers say are one: a no takes the signature back.
    if change.file.consultation.as_ref().and_then(|said| said.consent) == Some(false) && book.consents.contains_key(&Purpose::Work) {
        events.push(ClientEvent::ConsentWithdrawn { purpose: Purpose::Work });
    }
    let (sections, answers) = book.facts.changes(&change.file, world.on, kept);
    let before = kept.cloned().unwrap_or_default();
    let mut health = None;
    if answers != before {
        let agreed = book.consents.contains_key(&Purpose::Health) || change.consents.iter().any(|(purpose, _)| *purpose == Purpose::Health);
        if !agreed {
            return Err(vec![Fault::of(&Message::HealthWithoutConsent, Fact::Health, "consent-health")]);
        }
        let document = book.health.unwrap_or(new_document);
        events.push(ClientEvent::HealthKept { document });
        health = Some((document, answers));
    }
    events.extend(sections.into_iter().map(ClientEvent::FactsChanged));
    Ok(FactsDecided { events, health })
}

/// She agrees to something, or no longer does; what she signs for the work is her answer too.
///
/// *Meaning*: `given` holds the version of the words she read and how she signed; nothing: she takes it back.
#[must_use]
pub fn decide_consent(book: &ClientBook, purpose: Purpose, given: Option<(String, Option<Signed>)>, on: Day) -> Vec<ClientEvent> {
    let mut file = book.facts.file_on(on, None);
    let mut answered = None;
    if purpose == Purpose::Work {
        file.consultation.get_or_insert_default().consent = Some(given.is_some());
        answered = Some(book.facts.changes(&file, on, None).0);
    }
    let said = match given {
        Some((wording, signed)) => ClientEvent::ConsentGiven { purpose, wording, signed },
        None => ClientEvent::ConsentWithdrawn { purpose },
    };
    std::iter::once(said).chain(answered.into_iter().flatten().map(ClientEvent::FactsChanged)).collect()
}

/// A change of a client's facts.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct FactsChange {
    /// What she is called.
    pub label: String,
    /// Her whole file, as it is said today.
    pub file: ClientFile,
    /// What she agreed to with it, and the wording.
    pub consents: Vec<(Purpose, String)>,
    /// The version of her facts that was shown; nothing: whatever it is.
    pub seen: Option<u64>,
}

/// Sets the day on which a plan's set went in.
///
/// *Errors*: no such plan.
pub fn decide_placed(book: &ClientBook, plan: PlanId, day: Option<Day>) -> Result<Vec<ClientEvent>, Vec<Fault>> {
    let kept = book.plan(plan).ok_or_else(|| vec![no_such("plan")])?;
    Ok(if kept.placed_on == day { Vec::new() } else { vec![ClientEvent::PlanPlaced { plan, day }] })
}

/// Reads the skin test that was set last: at 48 hours, at 96, and once more when she is asked a week later.
///
/// *Errors*: none was set; it was read on that day already.
pub fn decide_skin_read(book: &ClientBook, found: SkinFound, on: Day) -> Result<Vec<ClientEvent>, Vec<Fault>> {
    let Some(test) = book.skin_tests.last() else {
        return Err(vec![Fault::of(&Message::NoSkinTestWaits, "client", "skin-test")]);
    };
    if test.read.iter().any(|(read, _)| *read == on) {
        return Err(vec![Fault::of(&Message::SkinTestReadThatDay, "on", "skin-test")]);
    }
    if on < test.set_on {
        return Err(vec![Fault::of(&Message::SkinTestReadBeforeSet { set: test.set_on.to_string() }, "on", "skin-test")]);
    }
    Ok(vec![ClientEvent::SkinTestRead { found }])
}

/// Corrects an event of hers; one that was corrected before is corrected again.
///
/// *Errors*: the event says something of another kind.
pub fn decide_corrected(was: &ClientEvent, version: u64, instead: ClientEvent, day: Day) -> Result<Vec<ClientEvent>, Vec<Fault>> {
    let (was, event) = match was {
        ClientEvent::Corrected { event, instead, .. } => (instead.as_ref(), *event),
        was => (was, version),
    };
    let same = matches!(
        (was, &instead),
        (ClientEvent::SkinTestSet { .. }, ClientEvent::SkinTestSet { .. })
            | (ClientEvent::SkinTestRead { .. }, ClientEvent::SkinTestRead { .. })
    );
    if same { Ok(vec![ClientEvent::Corrected { event, day, instead: Box::new(instead) }]) } else { Err(vec![another_kind()]) }
}

/// A fault for a correction that is no correction of what was said.
pub(super) fn another_kind() -> Fault {
    Fault::of(&Message::AnotherKindOfEvent, "instead", "correct")
}

/// A fault for an id that nothing has.
#[must_use]
pub fn no_such(what: &str) -> Fault {
    Fault::of(&Message::NoSuchNumber { what: what.to_owned() }, what, "unknown")
}
