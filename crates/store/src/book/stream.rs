//! The streams that events stand in.

use std::fmt;
use std::str::FromStr;
use uuid::Uuid;

/// One sequence of events with versions of its own.
///
/// *Meaning*: everything about one client stands in her stream; her health
/// answers are a document of their own, with a key of its own; the rest of the
/// salon has four streams. Other streams name a client by id only.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Stream {
    /// Facts, consent, skin tests, readings, plans, visits of one client.
    Client(Uuid),
    /// One document of health answers; the id is the document's.
    Health(Uuid),
    /// Packs, lots, consumables, counts.
    Shelf,
    /// Invoices, payments.
    Money,
    /// Appointments.
    Diary,
    /// Profile, people, ring, price lists, the salon's own rule values.
    House,
}

impl Stream {
    /// The stream's sort: all that the table of events says of it besides an id.
    #[must_use]
    pub const fn sort(self) -> &'static str {
        match self {
            Self::Client(_) => "client",
            Self::Health(_) => "health",
            Self::Shelf => "shelf",
            Self::Money => "money",
            Self::Diary => "diary",
            Self::House => "house",
        }
    }

    /// The stream under whose key this one is sealed: itself where a client can
    /// ask for it to be erased, the house otherwise.
    #[must_use]
    pub const fn key_owner(self) -> Self {
        match self {
            Self::Client(_) | Self::Health(_) => self,
            _ => Self::House,
        }
    }

    /// The stream as the table names it: a letter for the sort, then the id.
    pub(crate) fn bytes(self) -> Vec<u8> {
        let (letter, id) = match self {
            Self::Client(id) => (b'c', Some(id)),
            Self::Health(id) => (b'h', Some(id)),
            Self::Shelf => (b's', None),
            Self::Money => (b'm', None),
            Self::Diary => (b'd', None),
            Self::House => (b'o', None),
        };
        let mut bytes = vec![letter];
        if let Some(id) = id {
            bytes.extend_from_slice(id.as_bytes());
        }
        bytes
    }

    /// Reads what [`Stream::bytes`] wrote.
    pub(crate) fn from_bytes(bytes: &[u8]) -> Option<Self> {
        let (letter, rest) = bytes.split_first()?;
        let id = Uuid::from_slice(rest).ok();
        match (letter, id) {
            (b'c', Some(id)) => Some(Self::Client(id)),
            (b'h', Some(id)) => Some(Self::Health(id)),
            (b's', None) if rest.is_empty() => Some(Self::Shelf),
            (b'm', None) if rest.is_empty() => Some(Self::Money),
            (b'd', None) if rest.is_empty() => Some(Self::Diary),
            (b'o', None) if rest.is_empty() => Some(Self::House),
            _ => None,
        }
    }
}

impl fmt::Display for Stream {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Client(id) | Self::Health(id) => write!(f, "{}/{}", self.sort(), id.hyphenated()),
            _ => f.write_str(self.sort()),
        }
    }
}

impl FromStr for Stream {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let none = || format!("no stream is called {text}: say client/ID, health/ID, shelf, money, diary or house");
        let (sort, id) = text.split_once('/').map_or((text, None), |(sort, id)| (sort, Some(id)));
        let id = id.map(Uuid::try_parse).transpose().map_err(|_| none())?;
        match (sort, id) {
            ("client", Some(id)) => Ok(Self::Client(id)),
            ("health", Some(id)) => Ok(Self::Health(id)),
            ("shelf", None) => Ok(Self::Shelf),
            ("money", None) => Ok(Self::Money),
            ("diary", None) => Ok(Self::Diary),
            ("house", None) => Ok(Self::House),
            _ => Err(none()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_stream_is_read_back_from_bytes_and_text() {
        let id = Uuid::from_u128(7);
        for stream in [Stream::Client(id), Stream::Health(id), Stream::Shelf, Stream::Money, Stream::Diary, Stream::House] {
            assert_eq!(Stream::from_bytes(&stream.bytes()), Some(stream));
            assert_eq!(stream.to_string().parse(), Ok(stream));
        }
        for wrong in [&b""[..], b"c", b"s1", b"x", b"c123"] {
            assert_eq!(Stream::from_bytes(wrong), None);
        }
        assert!("client".parse::<Stream>().is_err() && "shelf/1".parse::<Stream>().is_err());
    }
}
