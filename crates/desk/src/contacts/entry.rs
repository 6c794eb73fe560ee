//! One person of a file: who she is, or why she cannot be read.

use salon::book::Contact;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use sha2::{Digest, Sha256};

/// The most letters of a name.
pub(super) const LONGEST_NAME: usize = 200;

/// A person as a file says her.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Person {
    /// Her name.
    pub name: String,
    /// How she is reached.
    pub contact: Contact,
}

/// A card or a row of a file.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Entry {
    /// The line of the file on which it begins.
    pub line: usize,
    /// Who it is, or why it cannot be read.
    pub person: Result<Person, String>,
    /// What of it is left out, and why.
    pub notes: Vec<String>,
}

/// A text of a file as it is told: short, on one line.
pub(super) fn said(text: &str) -> String {
    format!("\u{201c}{}\u{201d}", text.chars().map(|c| if c.is_control() { ' ' } else { c }).take(60).collect::<String>())
}

impl Entry {
    /// Without what cannot be kept, each with a note of it.
    pub(super) fn tidied(self) -> Self {
        let Self { line, person, mut notes } = self;
        let person = person.and_then(|person| {
            let name: String = person.name.split_whitespace().collect::<Vec<_>>().join(" ").chars().filter(|c| !c.is_control()).collect();
            if name.chars().count() > LONGEST_NAME {
                return Err(format!("its name is longer than {LONGEST_NAME} letters"));
            }
            let mut contact = person.contact.tidied();
            let mut only = |all: &mut Vec<String>, of: fn(String) -> Contact| {
                all.retain(|one| {
                    let faults = of(one.clone()).faults();
                    notes.extend(faults.iter().map(|fault| format!("left out: {}", fault.what)));
                    faults.is_empty()
                });
            };
            only(&mut contact.phones, |phone| Contact { phones: vec![phone], ..Contact::default() });
            only(&mut contact.emails, |email| Contact { emails: vec![email], ..Contact::default() });
            let faults = contact.faults();
            notes.extend(faults.iter().map(|fault| format!("left out: {}", fault.what)));
            for fault in &faults {
                match fault.place.to_string().as_str() {
                    "note" => contact.note = None,
                    "phones" => contact.phones.truncate(1),
                    _ => contact.emails.truncate(1),
                }
            }
            Ok(Person { name, contact })
        });
        Self { line, person, notes }
    }
}

impl Person {
    /// Without her note.
    #[must_use]
    pub fn without_note(mut self) -> Self {
        self.contact.note = None;
        self
    }

    /// The act that adds her. Its key is made of all that is said of her.
    #[must_use]
    pub fn line(&self) -> Value {
        let said = json!({"name": self.name, "contact": self.contact});
        let sum: String = Sha256::digest(said.to_string().as_bytes()).iter().map(|byte| format!("{byte:02x}")).collect();
        json!({"act": "client add", "facts": {"client": {"name": self.name}}, "contact": self.contact, "key": format!("contact {sum}")})
    }
}
