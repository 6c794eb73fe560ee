//! A line of an act: what it must hold, taken key by key.

use super::names::{ACTS, COMMON};
use crate::DeskFault;
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

pub(super) fn no_act(what: impl Into<String>, place: &str, cure: impl Into<String>) -> Stop {
    Stop::NoAct(Fault::new(what, place, "act", cure))
}

/// A line's keys, each taken once.
#[derive(Clone)]
pub(super) struct Line {
    pub(super) name: &'static str,
    pub(super) keys: Map<String, Value>,
}

impl Line {
    pub(super) fn of(text: &str) -> Result<(Self, Head), Stop> {
        let value: Value = serde_json::from_str(text)
            .map_err(|cause| no_act(format!("the line is no JSON ({cause})"), "line", "Write one JSON object a line."))?;
        let Value::Object(keys) = value else { return Err(no_act("the line is no JSON object", "line", "Write one JSON object a line.")) };
        let named = keys.get("act").and_then(Value::as_str).unwrap_or("");
        let Some((name, known)) = ACTS.iter().find(|(name, _)| *name == named) else {
            return Err(no_act(format!("there is no act {named:?}"), "act", "`act --list` tells every act with what it takes."));
        };
        let bare = |key: &&str| key.trim_matches(['[', ']']).to_owned();
        let known_bare: Vec<String> = known.iter().map(bare).collect();
        for key in keys.keys() {
            if !COMMON.contains(&key.as_str()) && !known_bare.contains(key) {
                return Err(no_act(format!("{name} takes no {key:?}"), key, format!("It takes {}.", known_bare.join(", "))));
            }
        }
        if let Some(missing) = known.iter().find(|key| !key.starts_with('[') && !keys.contains_key(**key)) {
            return Err(no_act(format!("{name} needs {missing:?}"), missing, "Say it in the line."));
        }
        let mut line = Self { name, keys };
        let own = |key: &str| known_bare.iter().any(|known| known == key);
        let at = if own("at") { None } else { line.asked("at")? };
        // Where `by` says how something is paid, `person` says who took it.
        let by = line.asked(if own("by") { "person" } else { "by" })?;
        let head = Head { on: line.needed("on")?, at, by, key: line.asked("key")? };
        if head.at.as_deref().is_some_and(|at| !is_time(at)) {
            return Err(no_act("`at` is no time of day", "at", "Write hours and minutes, as in 10:30."));
        }
        Ok((line, head))
    }

    pub(super) fn needed<T: DeserializeOwned>(&mut self, key: &str) -> Result<T, Stop> {
        let value = self.keys.remove(key).ok_or_else(|| no_act(format!("{} needs {key:?}", self.name), key, "Say it in the line."))?;
        serde_json::from_value(value)
            .map_err(|cause| no_act(format!("{key:?} cannot be read ({cause})"), key, "Write it as acts are written."))
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
        let says = format!("{what} was changed in the meantime: version {now} is in force, this began from {seen}");
        Err(Stop::Fault(DeskFault::Refused(vec![Fault::new(says, "version", "stale", "Look at what is in force, then do it again.")])))
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
    of(word).ok_or_else(|| no_act(format!("{word:?} is no {place}"), place, format!("Say one of {words}.")))
}
