//! The names of places in a plan.

use super::part::HeadPart;
use crate::words::Message;
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::fmt;
use std::str::FromStr;

/// A place in one plan: its section, its row in the section, and its number in the row from
/// the client's left, both counted from 1. Written `B1.2`; ordered as it is worked.
///
/// ```
/// use craft::placement::{HeadPart, SiteId};
/// let place: SiteId = "B1.2".parse().unwrap();
/// assert_eq!(place, SiteId::of(HeadPart::Back, 1, 2));
/// assert_eq!(place.to_string(), "B1.2");
/// assert!("B1".parse::<SiteId>().is_err());
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct SiteId {
    part: HeadPart,
    row: u32,
    place: u32,
}

/// A text that names no place.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{}", Message::NoSite { name: (.0).clone() })]
pub struct NoSite(pub String);

impl SiteId {
    /// A place that is only asked about: it stands in no plan and has no name yet. Written as
    /// nothing, and never read.
    pub const ASKED: Self = Self::of(HeadPart::Back, 0, 0);

    /// The place of that number in that row of a section.
    #[must_use]
    pub const fn of(part: HeadPart, row: u32, place: u32) -> Self {
        Self { part, row, place }
    }

    /// Its number in its row.
    #[must_use]
    pub const fn place(self) -> u32 {
        self.place
    }

    /// The place of another number in the same row.
    ///
    /// ```
    /// let place: craft::placement::SiteId = "B1.2".parse().unwrap();
    /// assert_eq!(place.beside(5).to_string(), "B1.5");
    /// assert!(place.is_beside(place.beside(5)));
    /// ```
    #[must_use]
    pub const fn beside(self, place: u32) -> Self {
        Self { place, ..self }
    }

    /// Whether both stand in one row.
    #[must_use]
    pub fn is_beside(self, other: Self) -> bool {
        (self.part, self.row) == (other.part, other.row)
    }
}

impl fmt::Display for SiteId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if *self == Self::ASKED {
            return Ok(());
        }
        write!(f, "{}{}.{}", self.part.letter(), self.row, self.place)
    }
}

impl FromStr for SiteId {
    type Err = NoSite;

    /// *Errors*: a text that no place is written as.
    fn from_str(text: &str) -> Result<Self, NoSite> {
        let read = || {
            let part = HeadPart::ALL.into_iter().find(|part| text.starts_with(part.letter()))?;
            let (row, place) = text[1..].split_once('.')?;
            Some(Self::of(part, row.parse().ok()?, place.parse().ok()?))
        };
        // One place is written in one way: no signs, no noughts before, nothing counted from 0.
        read().filter(|site| site.row > 0 && site.place > 0 && site.to_string() == text).ok_or_else(|| NoSite(text.to_owned()))
    }
}

impl Serialize for SiteId {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for SiteId {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        String::deserialize(from)?.parse().map_err(serde::de::Error::custom)
    }
}

/// A place in a shape that writes no place as an empty text: a caution of the whole plan.
pub mod if_one {
    use super::{Deserialize, Deserializer, Serializer, SiteId};

    /// Writes the place, or an empty text.
    ///
    /// *Errors*: as the shape that is written to.
    pub fn serialize<S: Serializer>(site: &Option<SiteId>, to: S) -> Result<S::Ok, S::Error> {
        match site {
            Some(site) => to.collect_str(site),
            None => to.serialize_str(""),
        }
    }

    /// Reads a place, or none from an empty text.
    ///
    /// *Errors*: a text that names no place.
    pub fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<Option<SiteId>, D::Error> {
        let text = String::deserialize(from)?;
        if text.is_empty() { Ok(None) } else { text.parse().map(Some).map_err(serde::de::Error::custom) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_is_read_as_it_is_written_and_nothing_else_is_one() {
        for part in HeadPart::ALL {
            for (row, place) in [(1, 1), (2, 10), (10, 2), (u32::MAX, 1)] {
                let site = SiteId::of(part, row, place);
                assert_eq!(site.to_string().parse(), Ok(site));
            }
        }
        let none = [
            "", "B", "B1", "B1.", "B.1", "1.2", "b1.2", "X1.2", "B01.2", "B1.02", "B+1.2", "B0.1", "B1.0", "B1.2 ", "B1.2.3", "é1.2",
            "B-1.2",
        ];
        for text in none {
            assert_eq!(text.parse::<SiteId>(), Err(NoSite(text.to_owned())));
        }
    }

    #[test]
    fn places_are_ordered_as_they_are_worked() {
        let mut sites: Vec<SiteId> = ["R1.1", "B10.1", "L1.2", "B2.1", "B1.2", "B1.1"].map(|text| text.parse().unwrap()).into();
        sites.sort();
        assert_eq!(sites.iter().map(SiteId::to_string).collect::<Vec<_>>(), ["B1.1", "B1.2", "B2.1", "B10.1", "L1.2", "R1.1"]);
    }

    #[test]
    fn a_place_only_asked_about_is_written_as_nothing_and_not_read() {
        assert_eq!(serde_json::to_string(&SiteId::ASKED).unwrap(), "\"\"");
        assert!(serde_json::from_str::<SiteId>("\"\"").is_err());
        assert!(serde_json::from_str::<SiteId>("\"B1\"").unwrap_err().to_string().contains("B1.2"));
    }
}
