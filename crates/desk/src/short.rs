//! An event written short: an id as its sixteen bytes, a stretch that stands in very
//! many events as one byte.
//!
//! JSON as it is written here, on one line, holds no byte below 32: each of those is
//! free to stand for something longer. A salon's steps say the same few things of
//! other pieces, and their ids are most of what they are made of: written so, a step
//! takes a third of the room, on the disk and in every backup.

use crate::DeskFault;
use salon::book::FORMAT;
use std::borrow::Cow;
use store::StoreFault;
use store::book::{NewEvent, Row};
use uuid::Uuid;

/// The number of this way of writing. Of the one before, JSON as it is, events still stand in books.
pub(crate) const SHORT: u32 = FORMAT + 1;

/// Before an id's sixteen bytes; it stands for the id between quotation marks.
const ID: u8 = 1;
/// The byte of the first stretch.
const FIRST: u8 = 2;
/// An id between quotation marks.
const ID_LONG: usize = 38;

/// The stretches, each for the byte that is [`FIRST`] and its place here. Books were
/// written with them: none is ever changed, taken away or moved.
const STRETCHES: [&str; 30] = [
    r#"{"on":""#,
    r#"","at":""#,
    r#"","kind":"step_done","visit":"#,
    r#","step":{"did":"placed","site":""#,
    r#","step":{"did":"taken_out","site":""#,
    r#","step":{"did":"cleaned","piece":"#,
    r#","step":{"did":"retaped","piece":"#,
    r#","step":{"did":"retired","piece":"#,
    r#","step":{"did":"scalp_seen","region":""#,
    r#","step":{"did":"regrown","site":""#,
    r#"","pieces":["#,
    r#"],"found":"held""#,
    r#","shed_hairs":"#,
    r#","days":"#,
    r#"]},"from_shelf":[{"piece":"#,
    r#","shade":""#,
    r#"","length_mm":"#,
    r#","lot":""#,
    r#"","received":"#,
    r#"},{"piece":"#,
    r#"","found":""#,
    r#","reason":""#,
    r#"","kind":"visit_begun","visit":"#,
    r#","visit_kind":"re-tape""#,
    r#","plan":"#,
    r#"","kind":"visit_closed","visit":"#,
    r#","checks":{"moves_freely":true,"mm_off_scalp":"#,
    r#","nothing_shows":true,"comfortable":true}"#,
    r#"","window":[""#,
    r#"","kind":"pieces_left","client":"#,
];

/// The id that a text begins with, between quotation marks.
fn id_at(text: &[u8]) -> Option<Uuid> {
    let quoted = text.get(..ID_LONG)?;
    let id = quoted.strip_prefix(b"\"")?.strip_suffix(b"\"")?;
    let id = Uuid::try_parse_ascii(id).ok()?;
    // Another way of writing the same id would not come back as it was.
    let written = id.hyphenated().encode_lower(&mut Uuid::encode_buffer()).as_bytes() == &quoted[1..ID_LONG - 1];
    written.then_some(id)
}

/// An event's JSON on its way into the book.
pub(crate) fn short(json: Vec<u8>) -> NewEvent {
    if json.iter().any(|byte| *byte < b' ') {
        return NewEvent { format: FORMAT, body: json };
    }
    let mut body = Vec::with_capacity(json.len());
    let mut rest = &json[..];
    while let Some(first) = rest.first() {
        let stretch = STRETCHES.iter().enumerate().filter(|(_, stretch)| rest.starts_with(stretch.as_bytes()));
        if let Some((at, stretch)) = stretch.max_by_key(|(_, stretch)| stretch.len()) {
            body.push(FIRST + at as u8);
            rest = &rest[stretch.len()..];
        } else if let Some(id) = id_at(rest) {
            body.push(ID);
            body.extend_from_slice(id.as_bytes());
            rest = &rest[ID_LONG..];
        } else {
            body.push(*first);
            rest = &rest[1..];
        }
    }
    NewEvent { format: SHORT, body }
}

/// What was written short, as it was; nothing where it was never written so.
fn long(body: &[u8]) -> Option<Vec<u8>> {
    let mut json = Vec::with_capacity(body.len() * 4);
    let mut rest = body;
    while let Some((first, after)) = rest.split_first() {
        rest = match *first {
            ID => {
                let (id, after) = after.split_first_chunk::<16>()?;
                json.push(b'"');
                json.extend_from_slice(Uuid::from_bytes(*id).hyphenated().encode_lower(&mut Uuid::encode_buffer()).as_bytes());
                json.push(b'"');
                after
            }
            byte if byte < b' ' => {
                json.extend_from_slice(STRETCHES.get(usize::from(byte.checked_sub(FIRST)?))?.as_bytes());
                after
            }
            byte => {
                json.push(byte);
                after
            }
        };
    }
    Some(json)
}

/// The JSON of an event that is open; nothing where it is closed or was erased.
///
/// *Errors*: it was written by a newer program, or is not as it was written.
pub(crate) fn json_of(row: &Row) -> Result<Option<Cow<'_, [u8]>>, DeskFault> {
    if row.format > SHORT {
        return Err(DeskFault::Store(StoreFault::Newer { found: i64::from(row.format), known: i64::from(SHORT) }));
    }
    let Some(body) = row.opened() else { return Ok(None) };
    if row.format < SHORT {
        return Ok(Some(Cow::Borrowed(body)));
    }
    let damaged = || DeskFault::damaged(&format!("event {}", row.seq), &"it is not as it was written");
    long(body).map(|json| Some(Cow::Owned(json))).ok_or_else(damaged)
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    const EVENTS: &str = include_str!("../../salon/tests/data/events-1.jsonl");

    fn there_and_back(json: &str) -> usize {
        let new = short(json.as_bytes().to_vec());
        assert_eq!(new.format, SHORT, "{json}");
        assert_eq!(String::from_utf8(long(&new.body).unwrap()).unwrap(), json);
        new.body.len()
    }

    #[test]
    fn every_kind_of_event_comes_back_as_it_was_and_a_step_takes_a_third_of_the_room() {
        for line in EVENTS.lines() {
            let (_, event) = line.split_once(r#""event":"#).unwrap();
            let event = &event[..event.len() - 1];
            let length = there_and_back(event);
            if event.contains(r#""did":"retaped""#) {
                assert!(3 * length <= event.len(), "{length} bytes of {event}");
            }
        }
    }

    #[test]
    fn what_only_looks_like_an_id_or_a_stretch_stays() {
        let upper = r#"{"id":"01A22E1D-0000-7000-8000-0000000000AA"}"#;
        let bare = r#"{"id":"01a22e1d0000700080000000000000aa"}"#;
        for odd in ["", "\"", upper, bare, "{\"on\":", r#"{"label":"Zoë \u0001 \"01a22e1d-0000-7000-8000-0000000000aa\""}"#] {
            there_and_back(odd);
        }
    }

    #[test]
    fn json_over_several_lines_is_kept_as_it_is() {
        let lines = b"{\n}".to_vec();
        assert_eq!(short(lines.clone()), NewEvent { format: FORMAT, body: lines });
    }

    #[test]
    fn what_was_never_written_so_does_not_open() {
        for wrong in [&[0][..], &[ID], &[ID, 1, 2, 3], &[b'{', ID]] {
            assert_eq!(long(wrong), None);
        }
    }

    #[test]
    fn no_stretch_holds_what_stands_for_another() {
        for stretch in STRETCHES {
            assert!(stretch.bytes().all(|byte| byte >= b' '), "{stretch}");
        }
        assert_eq!(usize::from(FIRST) + STRETCHES.len(), usize::from(b' '));
    }
}
