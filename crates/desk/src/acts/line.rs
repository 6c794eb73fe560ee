//! A line of an act: what it must hold, taken key by key.

use super::names::{ACTS, COMMON};
use crate::DeskFault;
use crate::words::Message;
use salon::Fault;
use salon::book::{Day, PersonId};
use serde::de::DeserializeOwned;
use serde_json::{Map, Value};

/// Why a line stops.
pub(super) enum Stop {
    NoAct(Fault),
    Fault(DeskFault),
}

impl<F: Into<DeskFault>> From<F> for Stop {
    fn from(fault: F) -> Self {
        Self::Fault(fault.into())
    }
}

pub(super) fn no_act(message: &Message, place: &str) -> Stop {
    Stop::NoAct(Fault::of(message, place, "act"))
}

/// A key or a word as it stands in a line.
pub(super) fn quoted(text: &str) -> String {
    format!("{text:?}")
}

/// A line's keys, each taken once.
#[derive(Clone)]
pub(super) struct Line {
    pub(super) name: &'static str,
    pub(super) keys: Map<String, Value>,
}

impl Line {
    pub(super) fn of(text: &str) -> Result<(Self, Head), Stop> {
        let value: Value = serde_json::from_str(text).map_err(|cause| no_act(&Message::LineNoJson { cause: cause.to_string() }, "line"))?;
        let Value::Object(keys) = value else { return Err(no_act(&Message::LineNoObject, "line")) };
        let named = keys.get("act").and_then(Value::as_str).unwrap_or("");
        let Some((name, known)) = ACTS.iter().find(|(name, _)| *name == named) else {
            return Err(no_act(&Message::ActUnknown { act: quoted(named) }, "act"));
        };
        let bare = |key: &&str| key.trim_matches(['[', ']']).to_owned();
        let known_bare: Vec<String> = known.iter().map(bare).collect();
        for key in keys.keys() {
            if !COMMON.contains(&key.as_str()) && !known_bare.contains(key) {
                let message = Message::KeyNotTaken { act: (*name).to_owned(), key: quoted(key), known: known_bare.join(", ") };
                return Err(no_act(&message, key));
            }
        }
        if let Some(missing) = known.iter().find(|key| !key.starts_with('[') && !keys.contains_key(**key)) {
            return Err(no_act(&Message::KeyNeeded { act: (*name).to_owned(), key: quoted(missing) }, missing));
        }
        let mut line = Self { name, keys };
        let own = |key: &str| known_bare.iter().any(|known| known == key);
        let at = if own("at") { None } else { line.asked("at")? };
        // Where `by` says how something is paid, `person` says who took it.
        let by = line.asked(if own("by") { "person" } else { "by" })?;
        let head = Head { on: line.needed("on")?, at, by, key: line.asked("key")? };
        if head.at.as_deref().is_some_and(|at| !is_time(at)) {
            return Err(no_act(&Message::TimeNone, "at"));
        }
        Ok((line, head))
    }

    pub(super) fn needed<T: DeserializeOwned>(&mut self, key: &str) -> Result<T, Stop> {
        let needed = || no_act(&Message::KeyNeeded { act: self.name.to_owned(), key: quoted(key) }, key);
        let value = self.keys.remove(key).ok_or_else(needed)?;
        serde_json::from_value(value).map_err(|cause| no_act(&Message::KeyUnread { key: quoted(key), cause: cause.to_string() }, key))
    }

    pub(super) fn asked<T: DeserializeOwned>(&mut self, key: &str) -> Result<Option<T>, Stop> {
        if self.keys.get(key).is_none_or(Value::is_null) {
            return Ok(None);
        }
        self.needed(key).map(Some)
    }

    /// The version that the act began from, where it was said.
    pub(super) fn still(&mut self, what: &str, now: u64) -> Result<(), Stop> {
        let Some(seen) = self.asked::<u64>("version")?.filter(|seen| *seen != now) else { return Ok(()) };
        let message = Message::ChangedMeanwhile { what: what.to_owned(), now: now.to_string(), seen: seen.to_string() };
        Err(Stop::Fault(DeskFault::Refused(vec![Fault::of(&message, "version", "stale")])))
    }
}

/// What every line says.
pub(super) struct Head {
    pub(super) on: Day,
    pub(super) at: Option<String>,
    pub(super) by: Option<PersonId>,
    pub(super) key: Option<String>,
}

pub(super) fn is_time(at: &str) -> bool {
    let Some((hours, minutes)) = at.split_once(':') else { return false };
    let two =
        |text: &str, most: u8| text.len() == 2 && text.bytes().all(|b| b.is_ascii_digit()) && text.parse::<u8>().is_ok_and(|n| n <= most);
    two(hours, 23) && two(minutes, 59)
}

pub(super) fn word<T>(word: &str, of: impl Fn(&str) -> Option<T>, place: &str, words: &str) -> Result<T, Stop> {
    let none = || Message::WordNone { word: quoted(word), place: place.to_owned(), known: words.to_owned() };
    of(word).ok_or_else(|| no_act(&none(), place))
}
