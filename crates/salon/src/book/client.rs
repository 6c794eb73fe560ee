//! What happened to one client, and what is in force of it.

use super::day::Day;
use super::facts::{Facts, HealthAnswers, Section};
use super::id::{BlobRef, HealthId, PhotoId, PlanId, ReadingId};
use super::{Shown, World};
use crate::Fault;
use crate::client::ClientFile;
use craft::suitability::Judgement;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// What she may agree to, each by itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Purpose {
    /// That her health answers are kept.
    Health,
    /// That photos of her are kept.
    Photos,
    /// That she is reminded and written to.
    Contact,
}

impl Purpose {
    /// The purpose's word; nothing when no purpose is called so.
    #[must_use]
    pub fn from_word(word: &str) -> Option<Self> {
        Some(match word {
            "health" => Self::Health,
            "photos" => Self::Photos,
            "contact" => Self::Contact,
            _ => return None,
        })
    }

    /// Its word.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Health => "health",
            Self::Photos => "photos",
            Self::Contact => "contact",
        }
    }
}

/// What a skin test showed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SkinFound {
    /// Nothing.
    Clear,
    /// Redness.
    Redness,
    /// Itching.
    Itching,
    /// A blister.
    Blister,
}

/// What a plan was made from: versions of what was in force, nothing twice.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct MadeFrom {
    /// The version of her own stream.
    pub client: u64,
    /// The version of her health document; nothing was kept of her health at zero.
    #[serde(default)]
    pub health: u64,
    /// The version of the house's stream: ring, prices, the salon's own values.
    pub house: u64,
    /// The version of the shelf's stream.
    pub shelf: u64,
    /// The reading of her ends.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reading: Option<ReadingId>,
    /// How much hair over a bond was asked, where the salon asked its own.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub own_depth: Option<f64>,
    /// The seed of the search.
    pub seed: u64,
    /// Levers that were pulled for this plan alone.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub levers: Vec<String>,
    /// The plan before, where it was made from one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub before: Option<PlanId>,
    /// What was changed for it, in words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub says: Option<String>,
}

/// One thing that happened to a client.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum ClientEvent {
    /// She became a client.
    ClientAdded {
        /// What the technician calls her; may be empty.
        label: String,
    },
    /// The technician calls her otherwise.
    ClientNamed {
        /// What she is called now.
        label: String,
    },
    /// A section of her facts, as it is from now on.
    FactsChanged(Section),
    /// Her health answers stand in a document of their own.
    HealthKept {
        /// Which.
        document: HealthId,
    },
    /// She agreed to something.
    ConsentGiven {
        /// To what.
        purpose: Purpose,
        /// The version of the words that she read.
        wording: String,
    },
    /// She no longer agrees.
    ConsentWithdrawn {
        /// To what.
        purpose: Purpose,
    },
    /// A skin test was set.
    SkinTestSet {
        /// The tape's lot.
        lot: String,
        /// Where on her.
        place: String,
    },
    /// A skin test was read.
    SkinTestRead {
        /// What was seen.
        found: SkinFound,
    },
    /// An event before said what was not so; nothing else of it changes.
    Corrected {
        /// The version of the event that is corrected.
        event: u64,
        /// The salon's day as it should have been.
        day: Day,
        /// What it should have said.
        instead: Box<ClientEvent>,
    },
    /// A photo of her ends was taken in.
    PhotoKept {
        /// Which.
        photo: PhotoId,
        /// The picture.
        blob: BlobRef,
        /// Where things lie in it.
        note: String,
    },
    /// Marks were set on a photo.
    PhotoMarked {
        /// Which.
        photo: PhotoId,
        /// Where things lie in it.
        note: String,
    },
    /// A photo was thrown away.
    PhotoRemoved {
        /// Which.
        photo: PhotoId,
    },
    /// The colour of her ends was read.
    ColourKept {
        /// Which reading.
        reading: ReadingId,
        /// Its photo, where there is one.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        photo: Option<PhotoId>,
        /// What was read.
        document: String,
    },
    /// A plan was made.
    PlanMade {
        /// Which.
        plan: PlanId,
        /// What it was made from.
        from: MadeFrom,
        /// What of it was set: a place, a cut, a shade each.
        sites: Vec<SitePlaced>,
        /// Days from the day it goes in to the re-tape, and to the window's two ends.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        retape_days: Option<[u32; 3]>,
        /// The plan and its scalp as they were shown.
        blob: BlobRef,
    },
    /// The day on which a plan's set went in; none: it did not, after all.
    PlanPlaced {
        /// Which.
        plan: PlanId,
        /// The day.
        day: Option<Day>,
    },
}

/// One sandwich of a plan, as far as later visits ask.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SitePlaced {
    /// The site's name.
    pub site: String,
    /// Where its parting starts, up the middle, mm.
    pub up_mm: f64,
    /// Its middle along the parting, mm, + to her right.
    pub along_mm: f64,
    /// The width of its slice, mm.
    pub width_mm: f64,
    /// `full` or `half`.
    pub cut: String,
    /// The shades above and below.
    pub shades: [String; 2],
    /// The length of its hair, mm.
    pub length_mm: f64,
}

/// One thing that happened to her health answers.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum HealthEvent {
    /// All her answers, as they are from now on.
    HealthAnswered(HealthAnswers),
    /// How a plan was judged from them: why its verdict fell as it did repeats
    /// what she answered, so it stands here and not with the plan.
    PlanJudged {
        /// Which plan.
        plan: PlanId,
        /// The verdict with everything it rests on.
        judgement: Box<Judgement>,
        /// Why no plan was made, where none was.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        faults: Vec<Fault>,
        /// The answers that a plan of the earlier records held.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        answers: Option<Box<HealthAnswers>>,
    },
}

/// Her health answers as they stand, and how plans were judged from them.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct HealthBook {
    /// Her answers; nothing when they were withdrawn or never kept.
    pub answers: Option<HealthAnswers>,
    /// The version of the document in which they stand.
    pub version: u64,
    /// How plans were judged.
    judged: BTreeMap<PlanId, PlanJudged>,
}

/// How a plan was judged from her health answers.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanJudged {
    /// The verdict with everything it rests on.
    pub judgement: Judgement,
    /// Why no plan was made, where none was.
    pub faults: Vec<Fault>,
    /// The answers that a plan of the earlier records held.
    pub answers: Option<HealthAnswers>,
}

impl HealthBook {
    /// What follows from an event; of answers later than `most` nothing.
    pub fn apply(&mut self, event: HealthEvent, stood: Stood, most: Option<u64>) {
        match event {
            HealthEvent::HealthAnswered(_) if most.is_some_and(|most| stood.version > most) => {}
            HealthEvent::HealthAnswered(answers) => (self.answers, self.version) = (Some(answers), stood.version),
            HealthEvent::PlanJudged { plan, judgement, faults, answers } => {
                self.judged.insert(plan, PlanJudged { judgement: *judgement, faults, answers: answers.map(|answers| *answers) });
            }
        }
    }

    /// How a plan was judged.
    #[must_use]
    pub fn judged(&self, plan: PlanId) -> Option<&PlanJudged> {
        self.judged.get(&plan)
    }
}

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
    /// When it was read and what was seen.
    pub read: Option<(Day, SkinFound)>,
    /// The versions of the events that say so.
    said_at: (u64, Option<u64>),
}

/// All that is in force of one client.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct ClientBook {
    /// The stream's version.
    pub version: u64,
    /// What she is called.
    pub label: String,
    /// Her facts, without her health.
    pub facts: Facts,
    /// Counts the changes of her facts from one; what one act changes counts once.
    pub facts_version: u64,
    /// The stream's version at which her facts were changed, each time.
    pub facts_at: Vec<u64>,
    /// Her health document.
    pub health: Option<HealthId>,
    /// Her consents in force: the wording and the day.
    pub consents: BTreeMap<Purpose, (String, Day)>,
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
    facts_ms: Option<i64>,
}

/// What the trail tells of an event besides what it says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stood {
    /// The stream's version after it.
    pub version: u64,
    /// The machine's clock, ms since 1970.
    pub at_ms: i64,
    /// The salon's day.
    pub on: Day,
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
            ClientEvent::HealthKept { document } => {
                self.health = Some(document);
                self.facts_changed(stood);
            }
            ClientEvent::ConsentGiven { purpose, wording } => _ = self.consents.insert(purpose, (wording, stood.on)),
            ClientEvent::ConsentWithdrawn { purpose } => {
                self.consents.remove(&purpose);
                if purpose == Purpose::Health && self.health.take().is_some() {
                    self.facts_changed(stood);
                }
            }
            ClientEvent::SkinTestSet { lot, place } => {
                self.skin_tests.push(SkinTest { lot, place, set_on: stood.on, read: None, said_at: (stood.version, None) });
            }
            ClientEvent::SkinTestRead { found } => {
                if let Some(test) = self.skin_tests.last_mut() {
                    (test.read, test.said_at.1) = (Some((stood.on, found)), Some(stood.version));
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
                    days_said: 0,
                    said_ms: stood.at_ms,
                });
            }
            ClientEvent::PlanPlaced { plan, day } => {
                if let Some(kept) = self.plans.iter_mut().find(|kept| kept.id == plan) {
                    kept.placed_on = day;
                    kept.days_said += 1;
                    kept.said_ms = stood.at_ms;
                }
            }
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
                if let Some(test) = self.skin_tests.iter_mut().find(|test| test.said_at.1 == Some(event)) {
                    test.read = Some((day, found));
                }
            }
            // Nothing else is decided as a correction.
            _ => {}
        }
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
        let what = format!("her facts were changed elsewhere in the meantime (version {now}, yours began from {seen})");
        return Err(vec![Fault::new(what, "version", "stale", "Look at both versions, then save again.")]);
    }
    let mut events = Vec::new();
    if book.version == 0 {
        events.push(ClientEvent::ClientAdded { label: change.label.clone() });
    } else if change.label != book.label {
        events.push(ClientEvent::ClientNamed { label: change.label.clone() });
    }
    for (purpose, wording) in &change.consents {
        if book.consents.get(purpose).is_none_or(|(known, _)| known != wording) {
            events.push(ClientEvent::ConsentGiven { purpose: *purpose, wording: wording.clone() });
        }
    }
    let (sections, answers) = book.facts.changes(&change.file, world.on, kept);
    let before = kept.cloned().unwrap_or_default();
    let mut health = None;
    if answers != before {
        let agreed = book.consents.contains_key(&Purpose::Health) || change.consents.iter().any(|(purpose, _)| *purpose == Purpose::Health);
        if !agreed {
            let what = "health answers are kept only with her consent to that, and none is recorded";
            let cure = "Ask her; record her consent for `health` with the wording she read, or leave the answers out.";
            return Err(vec![Fault::new(what, "consultation.health", "consent-health", cure)]);
        }
        let document = book.health.unwrap_or(new_document);
        events.push(ClientEvent::HealthKept { document });
        health = Some((document, answers));
    }
    events.extend(sections.into_iter().map(ClientEvent::FactsChanged));
    Ok(FactsDecided { events, health })
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

/// Reads the skin test that was set last.
///
/// *Errors*: none is waiting to be read.
pub fn decide_skin_read(book: &ClientBook, found: SkinFound) -> Result<Vec<ClientEvent>, Vec<Fault>> {
    if book.skin_tests.last().is_none_or(|test| test.read.is_some()) {
        let cure = "Set a test first and read it when its time has come.";
        return Err(vec![Fault::new("no skin test of hers is waiting to be read", "client", "skin-test", cure)]);
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
    Fault::new(
        "that event says something of another kind",
        "instead",
        "correct",
        "Say the act that was meant, of the same kind as the one that is wrong.",
    )
}

/// A fault for an id that nothing has.
#[must_use]
pub fn no_such(what: &str) -> Fault {
    let says = format!("no {what} has this number");
    Fault::new(says, what, "unknown", "Check the number: it may have been removed, or mistyped.")
}
