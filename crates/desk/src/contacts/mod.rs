//! Contacts from a file: read, held against who is there, and added one by one.
//!
//! *Meaning*: reading writes nothing. What is added goes through the act `client add` with a key
//! made of what is said of the person, so that the same file sent twice adds nobody twice.

mod card;
mod entry;
mod table;
mod text;

pub use card::written as card_of;
pub use entry::{Entry, Person};
pub use table::{Column, Table};
pub use text::Slashes;

use crate::{DeskFault, Salon};
use salon::book::ClientId;
use serde::{Deserialize, Serialize};
use std::collections::HashMap;

/// The most people that are taken in at once.
pub const MOST_PEOPLE: usize = 1000;

/// What a file holds.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Contents {
    /// Cards.
    Cards(Vec<Entry>),
    /// A table.
    Table(Table),
}

/// Whom an entry is like.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Like {
    /// Nobody.
    Nobody,
    /// A client.
    Client {
        /// Which.
        id: ClientId,
        /// What she is called.
        label: String,
    },
    /// An entry before it in the same file, by its line.
    Line(usize),
}

/// Reads a file; what it holds, and what is to be said of how it was read.
///
/// *Errors*: a sentence: it is no text, holds nobody, or more than are taken in at once.
pub fn read(bytes: &[u8]) -> Result<(Contents, Option<String>), String> {
    let text::Text { text, says } = text::decoded(bytes)?;
    let begins = text.lines().map(str::trim).find(|line| !line.is_empty()).unwrap_or("");
    let contents = if begins.eq_ignore_ascii_case("BEGIN:VCARD") {
        Contents::Cards(card::read(&text).into_iter().map(Entry::tidied).collect())
    } else {
        Contents::Table(table::read(&text))
    };
    let count = match &contents {
        Contents::Cards(cards) => cards.len(),
        Contents::Table(table) => table.len(),
    };
    match count {
        0 => Err("That file holds nobody: choose contacts (.vcf), or a table (.csv) whose first line names its columns.".to_owned()),
        count if count > MOST_PEOPLE => {
            Err(format!("That file holds {count} entries, and {MOST_PEOPLE} are taken in at once: send it in parts."))
        }
        _ => Ok((contents, says.map(str::to_owned))),
    }
}

impl Contents {
    /// Its entries; of a table, by what its columns hold.
    #[must_use]
    pub fn entries(&self, columns: &[Column], slashes: Option<Slashes>) -> Vec<Entry> {
        match self {
            Self::Cards(cards) => cards.clone(),
            Self::Table(table) => table.people(columns, slashes).into_iter().map(Entry::tidied).collect(),
        }
    }
}

impl Salon {
    /// Whom each entry is like: by the same name, number or address.
    ///
    /// *Errors*: the records.
    pub async fn alike(&self, entries: &[Entry]) -> Result<Vec<Like>, DeskFault> {
        let mut known: HashMap<String, Like> = HashMap::new();
        for (id, label, tells) in self.known_people().await? {
            let like = Like::Client { id, label: label.clone() };
            for tells in tells.into_iter().chain([label.to_lowercase()]).filter(|tells| !tells.is_empty()) {
                known.entry(tells).or_insert_with(|| like.clone());
            }
        }
        let mut alike = Vec::new();
        for entry in entries {
            let Ok(person) = &entry.person else {
                alike.push(Like::Nobody);
                continue;
            };
            let tells: Vec<String> = person.contact.tells().into_iter().chain([person.name.to_lowercase()]).collect();
            alike.push(tells.iter().find_map(|tells| known.get(tells)).cloned().unwrap_or(Like::Nobody));
            for tells in tells {
                known.entry(tells).or_insert(Like::Line(entry.line));
            }
        }
        Ok(alike)
    }
}

#[cfg(test)]
mod tests {
    use super::entry::LONGEST_NAME;
    use super::*;
    use salon::book::Contact;

    #[test]
    fn a_file_is_known_by_what_it_holds_and_what_is_none_gets_a_sentence() {
        assert!(matches!(read(b"\nbegin:vcard\nFN:Ada\nEND:VCARD"), Ok((Contents::Cards(_), None))));
        assert!(matches!(read(b"name\nAda"), Ok((Contents::Table(_), None))));
        let many = format!("name\n{}", "Ada\n".repeat(MOST_PEOPLE + 1));
        for wrong in [&b""[..], b"   \n\n", b"name\n", b"\x89PNG\r\n\x1a\n\x00\x00", many.as_bytes()] {
            assert!(read(wrong).is_err_and(|says| says.ends_with('.')), "{}", wrong.len());
        }
    }

    #[test]
    fn what_cannot_be_kept_is_left_out_and_said() {
        let (contents, _) = read(b"name,phone,email\n Ada   Example ,call me;112,ada\n").unwrap();
        let Contents::Table(table) = &contents else { panic!("a table") };
        let entry = &contents.entries(&table.columns(), None)[0];
        let person = entry.person.as_ref().unwrap();
        assert_eq!(
            (person.name.as_str(), person.contact.phones.as_slice(), person.contact.emails.len()),
            ("Ada Example", &["112".to_owned()][..], 0)
        );
        assert_eq!(entry.notes.len(), 2, "{:?}", entry.notes);
        let long = read(format!("name\n{}\n", "x".repeat(LONGEST_NAME + 1)).as_bytes()).unwrap().0;
        assert!(long.entries(&[Column::Name], None)[0].person.is_err());
    }

    #[test]
    fn the_key_of_a_person_is_that_of_all_that_is_said_of_her() {
        let person =
            |name: &str, phone: &str| Person { name: name.into(), contact: Contact { phones: vec![phone.into()], ..Contact::default() } };
        let key = |person: &Person| person.line()["key"].clone();
        assert_eq!(key(&person("Ada", "112")), key(&person("Ada", "112")));
        assert_ne!(key(&person("Ada", "112")), key(&person("Ada", "113")));
        assert_ne!(key(&person("Ada", "112")), key(&person("Bea", "112")));
    }
}
