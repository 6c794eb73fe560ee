//! What is wrong, where, which rule says so, and the cure.

use crate::client::fact::{Fact, Section};
use measure::words::Sentence;
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::fmt;

/// Where a fault lies.
///
/// *Meaning*: what reads a fault asks for the fact and never takes words apart. Written, in
/// acts, answers and kept plans, it is the text of its `Display`, and any such text reads
/// back as the place it came from.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum Place {
    /// A fact of a client's file: `hair.strand`.
    Fact(Fact),
    /// One line of a list there, from 0: `head.avoid[0]`.
    Line(Fact, usize),
    /// One answer of a line: `head.avoid[0].side`.
    Answer(Fact, usize),
    /// A whole section of the file: `colour`.
    Section(Section),
    /// The set as a whole, and no sandwich of it.
    WholeHead,
    /// The day of the re-tape.
    Retape,
    /// Anything else by its name: a sandwich, a place on the skin, a line of an order, a key of an act.
    Named(String),
}

impl Place {
    /// The fact of the client's file that is asked there, if it is one.
    #[must_use]
    pub fn fact(&self) -> Option<Fact> {
        match self {
            Self::Fact(fact) | Self::Line(fact, _) => Some(*fact),
            Self::Answer(fact, _) => Some(fact.asked()),
            Self::Section(_) | Self::WholeHead | Self::Retape | Self::Named(_) => None,
        }
    }

    /// The section of the client's file that it lies in, if it lies in one.
    #[must_use]
    pub fn section(&self) -> Option<Section> {
        match self {
            Self::Section(section) => Some(*section),
            other => other.fact().map(Fact::section),
        }
    }

    fn of_list(text: &str) -> Option<Self> {
        let (list, rest) = text.split_once('[')?;
        let (at, rest) = rest.split_once(']')?;
        let (list, at) = (Fact::of_key(list)?, at.parse().ok()?);
        match rest.strip_prefix('.') {
            None if rest.is_empty() => Some(Self::Line(list, at)),
            None => None,
            Some(key) => {
                let fact = Fact::ALL.iter().copied().find(|fact| fact.list() == Some(list) && fact.last_key() == key)?;
                Some(Self::Answer(fact, at))
            }
        }
    }
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Fact(fact) => f.write_str(fact.key()),
            Self::Line(fact, at) => write!(f, "{fact}[{at}]"),
            Self::Answer(fact, at) => write!(f, "{}[{at}].{}", fact.asked(), fact.last_key()),
            Self::Section(section) => f.write_str(section.key()),
            Self::WholeHead => f.write_str(WHOLE_HEAD),
            Self::Retape => f.write_str(RETAPE),
            Self::Named(name) => f.write_str(name),
        }
    }
}

const WHOLE_HEAD: &str = "whole head";
const RETAPE: &str = "retape";

impl From<&str> for Place {
    /// The place that is written so; what is no other is named.
    fn from(text: &str) -> Self {
        let known = match text {
            WHOLE_HEAD => Some(Self::WholeHead),
            RETAPE => Some(Self::Retape),
            _ => Fact::of_key(text)
                .filter(|fact| fact.list().is_none())
                .map(Self::Fact)
                .or_else(|| Section::of_key(text).map(Self::Section))
                .or_else(|| Self::of_list(text)),
        };
        // Read only where it is written back alike: `[01]` is no line of a list.
        known.filter(|place| place.to_string() == text).unwrap_or_else(|| Self::Named(text.to_owned()))
    }
}

impl From<String> for Place {
    fn from(text: String) -> Self {
        Self::from(text.as_str())
    }
}

impl From<Fact> for Place {
    fn from(fact: Fact) -> Self {
        Self::Fact(fact)
    }
}

impl From<Section> for Place {
    fn from(section: Section) -> Self {
        Self::Section(section)
    }
}

impl Serialize for Place {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Place {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        String::deserialize(deserializer).map(Self::from)
    }
}

/// One thing that is wrong with what was handed in, or cannot be done.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Fault {
    /// What is wrong.
    pub what: String,
    /// Where.
    #[serde(rename = "where")]
    pub place: Place,
    /// The rule that says so.
    pub rule: String,
    /// What to do.
    pub cure: String,
}

impl Fault {
    /// A fault in words that another floor found.
    pub fn new(what: impl Into<String>, place: impl Into<Place>, rule: impl Into<String>, cure: impl Into<String>) -> Self {
        Self { what: what.into(), place: place.into(), rule: rule.into(), cure: cure.into() }
    }

    /// A fault that a message says, with its cure.
    pub fn of(message: &impl Sentence, place: impl Into<Place>, rule: impl Into<String>) -> Self {
        Self::new(message.says(), place, rule, message.cure())
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}. {}", self.place, self.what.trim_end_matches('.'), self.cure)
    }
}

impl std::error::Error for Fault {}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_fault_is_written_in_the_four_parts_of_the_contract() {
        let fault = Fault::new("that is wrong", Place::Answer(Fact::AvoidSide, 2), "a-rule", "Mend it.");
        let written = serde_json::to_string(&fault).unwrap();
        assert_eq!(written, r#"{"what":"that is wrong","where":"head.avoid[2].side","rule":"a-rule","cure":"Mend it."}"#);
        assert_eq!(serde_json::from_str::<Fault>(&written).unwrap(), fault);
        assert_eq!(fault.to_string(), "head.avoid[2].side: that is wrong. Mend it.");
    }

    #[test]
    fn a_place_is_read_as_what_it_is() {
        for (text, place) in [
            ("hair.strand", Place::Fact(Fact::Strand)),
            ("pieces.lengths_mm[3]", Place::Line(Fact::Lengths, 3)),
            ("last_visit.sites[0].along_mm", Place::Answer(Fact::LastAlong, 0)),
            ("colour", Place::Section(Section::Colour)),
            ("whole head", Place::WholeHead),
            ("B1.2", Place::Named("B1.2".to_owned())),
            ("head.avoid.side", Place::Named("head.avoid.side".to_owned())),
            ("head.avoid[01]", Place::Named("head.avoid[01]".to_owned())),
            ("head.avoid[0].strand", Place::Named("head.avoid[0].strand".to_owned())),
        ] {
            assert_eq!(Place::from(text), place);
        }
        assert_eq!(Place::from("head.avoid[1].zone").fact(), Some(Fact::Avoid));
        assert_eq!(Place::from("head.avoid[1].zone").section(), Some(Section::Head));
        assert_eq!(Place::from("suppliers[0] (north)").fact(), None);
    }

    proptest! {
        /// A place that was kept is written again as it stood, whatever it is.
        #[test]
        fn every_text_of_a_place_is_written_back(
            text in prop_oneof![".{0,20}", "(head|hair|last_visit|pieces)\\.(avoid|sites|strand|lengths_mm)(\\[[0-9]{1,3}\\])?(\\.side|\\.width_mm|)"],
        ) {
            prop_assert_eq!(Place::from(text.as_str()).to_string(), text);
        }

        #[test]
        fn a_place_of_a_fact_reads_back(at in 0_usize..1000, which in 0..Fact::ALL.len()) {
            let fact = Fact::ALL[which];
            let place = if fact.list().is_some() { Place::Answer(fact, at) } else { Place::Fact(fact) };
            prop_assert_eq!(Place::from(place.to_string()), place);
            if fact.list().is_none() {
                prop_assert_eq!(Place::from(Place::Line(fact, at).to_string()), Place::Line(fact, at));
            }
        }
    }
}
