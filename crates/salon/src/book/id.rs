//! Ids: what stays the same while everything said of it changes. They are made
//! where chance is allowed and handed in.

use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::fmt;
use std::str::FromStr;

/// What is no id.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{text:?} is no {what}: copy the number as it was printed")]
pub struct NoId {
    /// Of what.
    pub what: &'static str,
    /// What was given.
    pub text: String,
}

/// 128 bits as five groups of hexadecimal digits. *Source*: key `rfc9562`, the
/// textual form.
fn written(bits: u128, f: &mut fmt::Formatter<'_>) -> fmt::Result {
    let hex = format!("{bits:032x}");
    write!(f, "{}-{}-{}-{}-{}", &hex[..8], &hex[8..12], &hex[12..16], &hex[16..20], &hex[20..])
}

fn read(text: &str) -> Option<u128> {
    let groups: Vec<&str> = text.split('-').collect();
    let lengths: Vec<usize> = groups.iter().map(|group| group.len()).collect();
    if lengths != [8, 4, 4, 4, 12] || !text.bytes().all(|b| b == b'-' || b.is_ascii_hexdigit()) {
        return None;
    }
    u128::from_str_radix(&groups.concat(), 16).ok()
}

macro_rules! id {
    ($name:ident, $what:literal, $doc:literal) => {
        #[doc = $doc]
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(pub u128);

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                written(self.0, f)
            }
        }

        impl FromStr for $name {
            type Err = NoId;

            fn from_str(text: &str) -> Result<Self, NoId> {
                read(text).map(Self).ok_or_else(|| NoId { what: $what, text: text.chars().take(60).collect() })
            }
        }

        impl Serialize for $name {
            fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                serializer.collect_str(self)
            }
        }

        impl<'de> Deserialize<'de> for $name {
            fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                let text = String::deserialize(deserializer)?;
                text.parse().map_err(serde::de::Error::custom)
            }
        }
    };
}

id!(ClientId, "client", "The client for life, whatever her name becomes.");
id!(PersonId, "person", "Somebody who works here.");
id!(HealthId, "health document", "One document of health answers; withdrawn, it is gone for good.");
id!(PlanId, "plan", "One plan as it was made; a new computation is a new plan.");
id!(PhotoId, "photo", "One photo as it was taken in.");
id!(ReadingId, "reading", "One reading of a client's ends; read again is a new reading.");
id!(PieceId, "piece", "The physical piece for life.");
id!(VisitId, "visit", "One visit of a client.");
id!(AppointmentId, "appointment", "One appointment, however often it is moved.");
id!(BlobRef, "kept file", "A file kept beside the events: a picture, a plan's document.");

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_id_is_read_back_as_it_was_written() {
        let id = ClientId(0x0197_2f3a_5b6c_7d8e_9f01_2345_6789_abcd);
        assert_eq!(id.to_string(), "01972f3a-5b6c-7d8e-9f01-23456789abcd");
        assert_eq!(id.to_string().parse(), Ok(id));
        assert_eq!(id.to_string().to_uppercase().parse(), Ok(id));
        for wrong in
            ["", "1", "01972f3a5b6c7d8e9f0123456789abcd", "01972f3a-5b6c-7d8e-9f01-23456789abcg", "+1972f3a-5b6c-7d8e-9f01-23456789abcd"]
        {
            assert!(wrong.parse::<ClientId>().is_err(), "{wrong}");
        }
    }
}
