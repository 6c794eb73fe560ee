//! The diary: who comes when, to whom, for what.
//!
//! *Invariants*: nobody is booked twice at one time; what was cancelled is not moved;
//! nothing is booked on a day that is past. An appointment keeps its id for life and
//! counts its changes, which is what a calendar asks for. A client is named by id
//! only.
//!
//! The book in force is bounded: appointments of days more than [`HELD_DAYS`] before
//! the newest event's day are let go. What is asked of earlier ones is found by
//! reading the events again into [`DiaryBook::whole`], with the same answer.

use super::day::{Day, Stood};
use super::id::{AppointmentId, ClientId, PersonId};
use super::visit::words::VisitKind;
use crate::Fault;
use crate::words::Message;
use craft::pace;
use measure::{Days, RuleBook, text};
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::collections::BTreeMap;
use std::fmt;
use std::str::FromStr;

/// Days for which appointments that are past are held ready.
pub const HELD_DAYS: i64 = 60;

/// Minutes of a day on the wall's clock; what a day with a change of the clock has
/// more or less is at night.
const DAY_MINUTES: u32 = 24 * 60;

/// How long an appointment takes, whole minutes: by the kind alone, or by how many
/// sandwiches are set or taken out; nothing where these are asked and not known.
///
/// ```
/// use salon::book::{VisitKind, predicted_minutes};
/// let rules = measure::RuleBook::standard();
/// assert!(predicted_minutes(VisitKind::Check, None, &rules).is_some());
/// assert_eq!(predicted_minutes(VisitKind::Application, None, &rules), None);
/// assert_eq!(predicted_minutes(VisitKind::Application, Some(20), &rules), Some(125));
/// ```
#[must_use]
pub fn predicted_minutes(kind: VisitKind, sandwiches: Option<u32>, rules: &RuleBook) -> Option<u32> {
    let minutes = |span: Days| (span.to_days() * 24.0 * 60.0).round() as u32;
    Some(minutes(match kind {
        VisitKind::Consultation => pace::consultation(rules),
        VisitKind::Colour => pace::colour_reading(rules),
        VisitKind::Check => pace::check_up(rules),
        VisitKind::Application => pace::first_visit(sandwiches?, rules),
        VisitKind::Retape => pace::retape_visit(sandwiches?, rules),
        VisitKind::Removal => pace::removal_visit(sandwiches?, rules),
    }))
}

/// A time on the wall's clock: minutes since midnight, written as 10:30.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct TimeOfDay(u16);

impl TimeOfDay {
    /// So many minutes after midnight, up to the midnight that ends the day.
    #[must_use]
    pub fn after_midnight(minutes: u32) -> Option<Self> {
        u16::try_from(minutes).ok().filter(|minutes| u32::from(*minutes) <= DAY_MINUTES).map(Self)
    }

    /// Minutes after midnight.
    #[must_use]
    pub const fn minutes(self) -> u32 {
        self.0 as u32
    }
}

impl fmt::Display for TimeOfDay {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:02}:{:02}", self.0 / 60, self.0 % 60)
    }
}

impl FromStr for TimeOfDay {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let two = |part: &str, most: u16| -> Option<u16> {
            let digits = part.len() == 2 && part.bytes().all(|b| b.is_ascii_digit());
            part.parse().ok().filter(|number| digits && *number <= most)
        };
        let read = || text.split_once(':').and_then(|(hours, minutes)| Some(Self(two(hours, 23)? * 60 + two(minutes, 59)?)));
        read().ok_or_else(|| {
            let shown: String = text.chars().take(40).collect();
            format!("{shown:?} is no time of day: write hours and minutes, as in 10:30")
        })
    }
}

impl Serialize for TimeOfDay {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for TimeOfDay {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        String::deserialize(deserializer)?.parse().map_err(serde::de::Error::custom)
    }
}

/// An appointment as it was booked.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Booked {
    /// Whose.
    pub client: ClientId,
    /// For what.
    #[serde(rename = "for")]
    pub kind: VisitKind,
    /// The day.
    pub day: Day,
    /// When it begins; `at` of an event is when that happened.
    #[serde(rename = "begins")]
    pub at: TimeOfDay,
    /// How long it takes.
    pub minutes: u32,
    /// Whether that was reckoned and not said.
    pub predicted: bool,
    /// Who does the work.
    pub person: PersonId,
    /// At which chair, where that was said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub chair: Option<String>,
}

impl Booked {
    /// When it ends: minutes after midnight.
    #[must_use]
    pub const fn ends(&self) -> u32 {
        self.at.minutes().saturating_add(self.minutes)
    }

    /// Whether two appointments want one person, or one chair, at one time.
    #[must_use]
    pub fn clashes(&self, other: &Self) -> bool {
        let at_once = self.day == other.day && self.at.minutes() < other.ends() && other.at.minutes() < self.ends();
        at_once && (self.person == other.person || self.shares_chair(other))
    }

    /// Whether both were booked for the same chair; one that was not said is any that is free.
    fn shares_chair(&self, other: &Self) -> bool {
        self.chair.as_deref().zip(other.chair.as_deref()).is_some_and(|(one, two)| one.trim().eq_ignore_ascii_case(two.trim()))
    }
}

/// One thing that happened to the diary.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum DiaryEvent {
    /// Somebody will come.
    AppointmentBooked {
        /// Which appointment.
        appointment: AppointmentId,
        /// Who, when, for what.
        #[serde(flatten)]
        booked: Booked,
        /// Why it is so far off, where it is.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        because: Option<String>,
    },
    /// She will come at another time, or to somebody else; all of it as it is from now on.
    AppointmentMoved {
        /// Which appointment.
        appointment: AppointmentId,
        /// Who, when, for what.
        #[serde(flatten)]
        booked: Booked,
        /// How often it was changed, this time included.
        changes: u32,
        /// Why it is so far off, where it is.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        because: Option<String>,
    },
    /// She will not come.
    AppointmentCancelled {
        /// Which appointment.
        appointment: AppointmentId,
        /// Why, where that was said.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        reason: Option<String>,
    },
}

/// An appointment as it stands.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Appointment {
    /// Who, when, for what.
    #[serde(flatten)]
    pub booked: Booked,
    /// How often it was moved or cancelled: the calendar entry's sequence.
    pub changes: u32,
    /// Whether it was cancelled.
    #[serde(default)]
    pub cancelled: bool,
    /// When that was last said, ms since 1970, for the trail.
    pub said_ms: i64,
}

/// All that is in force of the diary.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct DiaryBook {
    /// The stream's version.
    pub version: u64,
    /// The latest day that any event of it stands on.
    pub latest: Option<Day>,
    /// Appointments that are held.
    pub appointments: BTreeMap<AppointmentId, Appointment>,
    /// Whether nothing is ever let go.
    #[serde(skip)]
    whole: bool,
}

impl DiaryBook {
    /// An empty book that lets nothing go: what the events come to from the first on.
    #[must_use]
    pub fn whole() -> Self {
        Self { whole: true, ..Self::default() }
    }

    /// Puts an event in force.
    pub fn apply(&mut self, event: DiaryEvent, stood: Stood) {
        self.version = stood.version;
        match event {
            DiaryEvent::AppointmentBooked { appointment, booked, .. } => self.put(appointment, booked, 0, stood),
            DiaryEvent::AppointmentMoved { appointment, booked, changes, .. } => self.put(appointment, booked, changes, stood),
            DiaryEvent::AppointmentCancelled { appointment, .. } => {
                if let Some(held) = self.appointments.get_mut(&appointment) {
                    held.cancelled = true;
                    held.changes = held.changes.saturating_add(1);
                    held.said_ms = stood.at_ms;
                }
            }
        }
        // Only a new day lets anything go: otherwise every event would look at every appointment.
        if self.latest.is_none_or(|latest| stood.on > latest) {
            self.latest = Some(stood.on);
            if !self.whole {
                self.appointments.retain(|_, held| stood.on.days_since(held.booked.day) <= HELD_DAYS);
            }
        }
    }

    fn put(&mut self, appointment: AppointmentId, booked: Booked, changes: u32, stood: Stood) {
        // One that is put where nothing is held any more would be all there is of its day.
        if self.holds(booked.day) {
            self.appointments.insert(appointment, Appointment { booked, changes, cancelled: false, said_ms: stood.at_ms });
        } else {
            self.appointments.remove(&appointment);
        }
    }

    /// Whether every appointment of a day is held.
    #[must_use]
    pub fn holds(&self, day: Day) -> bool {
        self.whole || self.latest.is_none_or(|latest| latest.days_since(day) <= HELD_DAYS)
    }

    /// The appointments of a day that stand, in the order of the day.
    #[must_use]
    pub fn of_day(&self, day: Day) -> Vec<(AppointmentId, &Appointment)> {
        let stands = |held: &Appointment| held.booked.day == day && !held.cancelled;
        let mut found: Vec<(AppointmentId, &Appointment)> =
            self.appointments.iter().filter(|(_, held)| stands(held)).map(|(id, held)| (*id, held)).collect();
        found.sort_by_key(|(id, held)| (held.booked.at, held.booked.person, *id));
        found
    }

    /// A client's appointments from a day on that stand.
    #[must_use]
    pub fn of_client(&self, client: ClientId, from: Day) -> Vec<AppointmentId> {
        let stands = |held: &Appointment| held.booked.client == client && held.booked.day >= from && !held.cancelled;
        self.appointments.iter().filter(|(_, held)| stands(held)).map(|(id, _)| *id).collect()
    }
}

/// What makes an appointment impossible.
fn faults_of(book: &DiaryBook, booked: &Booked, but: Option<AppointmentId>, because: Option<&str>, on: Day) -> Vec<Fault> {
    let mut faults = Vec::new();
    if booked.day < on {
        faults.push(Fault::of(&Message::DayIsPast { day: booked.day.to_string(), today: on.to_string() }, "day", "past-day"));
    }
    let ahead = booked.day.days_since(on);
    if ahead > i64::from(pace::booked_ahead(&RuleBook::standard())) && because.is_none_or(|why| why.trim().is_empty()) {
        let message = Message::DayIsFarOff { day: booked.day.to_string(), days: text::number(ahead as f64, 0) };
        faults.push(Fault::of(&message, "day", pace::BOOKED_AHEAD.id));
    }
    if booked.minutes == 0 {
        faults.push(Fault::of(&Message::MinutesNone, "minutes", "minutes"));
    } else if booked.ends() > DAY_MINUTES {
        faults.push(Fault::of(&Message::PastMidnight { at: booked.at.to_string() }, "minutes", "midnight"));
    }
    if !faults.is_empty() {
        return faults;
    }
    let others = book.appointments.iter().filter(|(id, held)| Some(**id) != but && !held.cancelled);
    let mut clashing: Vec<&Booked> = others.map(|(_, held)| &held.booked).filter(|held| held.clashes(booked)).collect();
    clashing.sort_by_key(|held| held.at);
    let clash = |held: &Booked| {
        let ends = TimeOfDay::after_midnight(held.ends()).unwrap_or(held.at);
        let (day, at, ends) = (held.day.to_string(), held.at.to_string(), ends.to_string());
        if held.person == booked.person {
            return Fault::of(&Message::PersonIsTaken { day, at, ends }, "at", "one-place");
        }
        let chair = held.chair.clone().unwrap_or_default();
        Fault::of(&Message::ChairIsTaken { chair, day, at, ends }, "chair", "one-place")
    };
    clashing.into_iter().map(clash).collect()
}

/// Books an appointment.
///
/// *Meaning*: the book must hold the day ([`DiaryBook::holds`]). `because` is the
/// reason where the day is far off.
///
/// *Errors*: a day that is past; one that is far off, without a reason; no minutes, or
/// more than the day has left; somebody who is taken then.
pub fn decide_booked(
    book: &DiaryBook,
    appointment: AppointmentId,
    booked: Booked,
    because: Option<String>,
    on: Day,
) -> Result<DiaryEvent, Vec<Fault>> {
    let faults = faults_of(book, &booked, None, because.as_deref(), on);
    if faults.is_empty() { Ok(DiaryEvent::AppointmentBooked { appointment, booked, because }) } else { Err(faults) }
}

/// What is changed of an appointment; what is left out stays.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Moved {
    /// The day.
    pub day: Option<Day>,
    /// When it begins.
    pub at: Option<TimeOfDay>,
    /// How long it takes.
    pub minutes: Option<u32>,
    /// Who does the work.
    pub person: Option<PersonId>,
}

impl Moved {
    /// An appointment with what is changed of it.
    #[must_use]
    pub fn of(self, booked: &Booked) -> Booked {
        Booked {
            day: self.day.unwrap_or(booked.day),
            at: self.at.unwrap_or(booked.at),
            minutes: self.minutes.unwrap_or(booked.minutes),
            predicted: booked.predicted && self.minutes.is_none(),
            person: self.person.unwrap_or(booked.person),
            ..booked.clone()
        }
    }
}

/// Moves an appointment; nothing where it would stay as it is.
///
/// *Meaning*: the book must hold the appointment and the day it is moved to.
///
/// *Errors*: no such appointment; a cancelled one; as [`decide_booked`].
pub fn decide_moved(
    book: &DiaryBook,
    appointment: AppointmentId,
    moved: Moved,
    because: Option<String>,
    on: Day,
) -> Result<Vec<DiaryEvent>, Vec<Fault>> {
    let held = standing(book, appointment)?;
    let booked = moved.of(&held.booked);
    if booked == held.booked {
        return Ok(Vec::new());
    }
    let faults = faults_of(book, &booked, Some(appointment), because.as_deref(), on);
    if !faults.is_empty() {
        return Err(faults);
    }
    Ok(vec![DiaryEvent::AppointmentMoved { appointment, booked, changes: held.changes.saturating_add(1), because }])
}

/// Cancels an appointment.
///
/// *Errors*: no such appointment; it is cancelled already.
pub fn decide_cancelled(book: &DiaryBook, appointment: AppointmentId, reason: Option<String>) -> Result<DiaryEvent, Vec<Fault>> {
    standing(book, appointment)?;
    Ok(DiaryEvent::AppointmentCancelled { appointment, reason })
}

fn standing(book: &DiaryBook, appointment: AppointmentId) -> Result<&Appointment, Vec<Fault>> {
    let held = book.appointments.get(&appointment).ok_or_else(|| vec![super::client::no_such("appointment")])?;
    if held.cancelled {
        return Err(vec![Fault::of(&Message::AppointmentIsCancelled, "appointment", "cancelled")]);
    }
    Ok(held)
}
