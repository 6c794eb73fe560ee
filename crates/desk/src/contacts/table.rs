//! Contacts as a table: which column holds what, and the people in its rows.
//!
//! *Source*: key `rfc4180`, read leniently by the crate `csv`: cells may be parted by commas,
//! semicolons or tabs, and rows may be short.

use super::entry::{Entry, Person};
use super::text::{Slashes, birthday, told_by};
use salon::book::Contact;
use serde::{Deserialize, Serialize};

/// What a column holds. Nothing of anybody's health is among them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Column {
    /// Nothing that is taken in.
    Nothing,
    /// The whole name.
    Name,
    /// The given name.
    Given,
    /// The family name.
    Family,
    /// A telephone number.
    Phone,
    /// An e-mail address.
    Email,
    /// The birthday.
    Birthday,
    /// A note.
    Note,
}

impl Column {
    /// All of them, with their words in a form and as they are read.
    pub const ALL: [(Self, &'static str, &'static str); 8] = [
        (Self::Nothing, "nothing", "Leave out"),
        (Self::Name, "name", "Name"),
        (Self::Given, "given", "Given name"),
        (Self::Family, "family", "Family name"),
        (Self::Phone, "phone", "Phone"),
        (Self::Email, "email", "E-mail"),
        (Self::Birthday, "birthday", "Birthday"),
        (Self::Note, "note", "Note"),
    ];

    /// The column of that word.
    #[must_use]
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.iter().find(|(_, known, _)| *known == word).map(|(column, ..)| *column)
    }

    /// Its word in a form.
    #[must_use]
    pub fn word(self) -> &'static str {
        Self::ALL.iter().find(|(column, ..)| *column == self).map_or("nothing", |(_, word, _)| word)
    }

    /// What a heading says that its column holds.
    fn of_heading(heading: &str) -> Self {
        let plain: String = heading.to_lowercase().chars().map(|c| if c.is_alphanumeric() { c } else { ' ' }).collect();
        let words: Vec<&str> = plain.split_whitespace().collect();
        let has = |any: &[&str]| words.iter().any(|word| any.contains(word));
        // Columns beside a number say what kind it is.
        if has(&["type", "label", "kind"]) {
            return Self::Nothing;
        }
        match words.join(" ").as_str() {
            "name" | "full name" | "client" | "client name" | "display name" | "file as" => Self::Name,
            "given" | "given name" | "first" | "first name" | "forename" => Self::Given,
            "family" | "family name" | "last" | "last name" | "surname" => Self::Family,
            "birthday" | "birth date" | "birthdate" | "date of birth" | "born" | "bday" | "dob" => Self::Birthday,
            "note" | "notes" | "comment" | "comments" | "remark" | "remarks" => Self::Note,
            _ if has(&["phone", "telephone", "tel", "mobile", "cell", "cellphone"]) => Self::Phone,
            _ if has(&["email", "mail", "mails", "emails"]) => Self::Email,
            _ => Self::Nothing,
        }
    }
}

/// A table as it was read.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Table {
    /// Its first row.
    pub headings: Vec<String>,
    /// The others, each with the line it begins on; or why one cannot be read.
    rows: Vec<(usize, Result<Vec<String>, String>)>,
}

/// The sign between cells: of those there are, the one that is met most in the first line.
fn sign_of(text: &str) -> u8 {
    let first = text.lines().find(|line| !line.trim().is_empty()).unwrap_or("");
    let count = |sign: u8| first.bytes().filter(|byte| *byte == sign).count();
    // Where none is there, the whole line is one cell.
    [b',', b';', b'\t'].into_iter().rev().max_by_key(|sign| count(*sign)).unwrap_or(b',')
}

/// A cell as it is meant: a table that was made with care puts an apostrophe before a text
/// which a spreadsheet would reckon.
///
/// *Source*: key `owaspcsv`.
fn meant(cell: &str) -> String {
    let reckoned = |rest: &&str| rest.starts_with(['=', '+', '-', '@']);
    cell.strip_prefix('\'').filter(reckoned).unwrap_or(cell).trim().to_owned()
}

/// Reads a table.
pub(super) fn read(text: &str) -> Table {
    // The crate counts a line's end of two signs with the line after it.
    let text = text.replace("\r\n", "\n");
    let mut reader = csv::ReaderBuilder::new().has_headers(false).flexible(true).delimiter(sign_of(&text)).from_reader(text.as_bytes());
    let mut rows: Vec<(usize, Result<Vec<String>, String>)> = reader
        .records()
        .map(|row| match row {
            Ok(row) => {
                let line = row.position().map_or(0, csv::Position::line);
                (usize::try_from(line).unwrap_or(0), Ok(row.iter().map(meant).collect()))
            }
            Err(wrong) => (0, Err(wrong.to_string())),
        })
        .filter(|(_, row): &(usize, Result<Vec<String>, String>)| row.as_ref().map_or(true, |row| row.iter().any(|cell| !cell.is_empty())))
        .collect();
    let headings = if rows.is_empty() { Vec::new() } else { rows.remove(0).1.unwrap_or_default() };
    Table { headings, rows }
}

impl Table {
    /// How many rows there are, without the headings.
    #[must_use]
    pub fn len(&self) -> usize {
        self.rows.len()
    }

    /// Whether no row is there.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    /// What each column holds, by its heading.
    #[must_use]
    pub fn columns(&self) -> Vec<Column> {
        self.headings.iter().map(|heading| Column::of_heading(heading)).collect()
    }

    /// What stands first under a heading, to know the column by.
    #[must_use]
    pub fn example(&self, column: usize) -> &str {
        let cells = self.rows.iter().filter_map(|(_, row)| row.as_ref().ok()?.get(column));
        cells.map(String::as_str).find(|cell| !cell.is_empty()).unwrap_or("")
    }

    /// Which number of 04/12/1990 is the day, where the dates of the table tell by themselves.
    fn slashes(&self, columns: &[Column]) -> Option<Slashes> {
        let dates = self.rows.iter().filter_map(|(_, row)| row.as_ref().ok()).flat_map(|row| row.iter().zip(columns));
        let mut told = dates.filter(|(_, column)| **column == Column::Birthday).filter_map(|(cell, _)| told_by(cell));
        let first = told.next()?;
        told.all(|other| other == first).then_some(first)
    }

    /// The people in its rows.
    pub(super) fn people(&self, columns: &[Column], slashes: Option<Slashes>) -> Vec<Entry> {
        let slashes = slashes.or_else(|| self.slashes(columns));
        let entry = |(line, row): &(usize, Result<Vec<String>, String>)| match row {
            Err(wrong) => Entry { line: *line, person: Err(wrong.clone()), notes: Vec::new() },
            Ok(row) => person(*line, row, columns, slashes),
        };
        self.rows.iter().map(entry).collect()
    }
}

fn person(line: usize, row: &[String], columns: &[Column], slashes: Option<Slashes>) -> Entry {
    let mut notes = Vec::new();
    let of =
        |wanted: Column| row.iter().zip(columns).filter(move |(cell, column)| **column == wanted && !cell.is_empty()).map(|(cell, _)| cell);
    // One cell may hold several numbers or addresses.
    let several = |wanted: Column| {
        of(wanted).flat_map(|cell| cell.split([';', '\n']).flat_map(|part| part.split(":::"))).map(str::to_owned).collect()
    };
    let joined = |wanted: Column| of(wanted).cloned().collect::<Vec<_>>().join(" ");
    let whole = joined(Column::Name);
    let parts = [joined(Column::Given), joined(Column::Family)].join(" ");
    let name = if whole.is_empty() { parts.trim().to_owned() } else { whole };
    let born = of(Column::Birthday).next().and_then(|text| match birthday(text, slashes) {
        Ok(birthday) => Some(birthday),
        Err(why) => {
            notes.push(format!("birthday left out: {why}"));
            None
        }
    });
    let note: Vec<String> = of(Column::Note).cloned().collect();
    let contact = Contact { phones: several(Column::Phone), emails: several(Column::Email), birthday: born, note: Some(note.join("\n")) };
    let person = if name.is_empty() { Err("no name stands in this line".to_owned()) } else { Ok(Person { name, contact }) };
    Entry { line, person, notes }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn people(text: &str) -> Vec<Entry> {
        let table = read(text);
        table.people(&table.columns(), None)
    }

    #[test]
    fn columns_are_known_by_their_headings_whatever_parts_the_cells() {
        for sign in [",", ";", "\t"] {
            let text = ["First name", "Last Name", "Mobile phone", "E-mail", "Date of birth", "Allergies"].join(sign)
                + "\r\n"
                + &["Ada", "Example", "'+33 6 12 34 56 78", "ada@example.org", "12.04.1990", "nickel"].join(sign)
                + "\r\n\r\n";
            let read = people(&text);
            let person = read[0].person.as_ref().unwrap();
            assert_eq!((read.len(), read[0].line, person.name.as_str()), (1, 2, "Ada Example"));
            assert_eq!(
                (person.contact.phones.as_slice(), person.contact.emails.as_slice()),
                (&["+33 6 12 34 56 78".to_owned()][..], &["ada@example.org".to_owned()][..])
            );
            assert_eq!(person.contact.birthday.unwrap().to_string(), "1990-04-12");
            assert!(!format!("{read:?}").contains("nickel"), "no column of her health is taken in");
        }
    }

    #[test]
    fn quoted_cells_hold_signs_and_lines_and_short_rows_are_read_as_far_as_they_go() {
        let read =
            people("Name,Phone 1 - Type,Phone 1 - Value,Notes\n\"Example, \"\"Ada\"\"\",Mobile,112 ::: 113,\"one\ntwo\"\nBea\n,,114,\n");
        let first = read[0].person.as_ref().unwrap();
        assert_eq!(first.name, "Example, \"Ada\"");
        assert_eq!((first.contact.phones.len(), first.contact.note.as_deref()), (2, Some("one\ntwo")));
        assert_eq!((read[1].line, read[1].person.as_ref().unwrap().name.as_str()), (4, "Bea"));
        assert_eq!((read[2].line, read[2].person.is_err()), (5, true));
    }

    #[test]
    fn cells_that_a_spreadsheet_reckons_are_plain_text() {
        let read = people("name\n=1+1\n@x\n-2\n'=1\n'quoted'\n");
        let names: Vec<&str> = read.iter().map(|entry| entry.person.as_ref().unwrap().name.as_str()).collect();
        assert_eq!(names, ["=1+1", "@x", "-2", "=1", "'quoted'"]);
    }

    #[test]
    fn one_clear_date_tells_for_all_and_dates_that_disagree_tell_nothing() {
        let birthdays = |text: &str| {
            people(text).iter().map(|entry| entry.person.as_ref().unwrap().contact.birthday.map(|day| day.to_string())).collect::<Vec<_>>()
        };
        assert_eq!(birthdays("name,born\nA,04/12/1990\nB,31/01/1990\n"), [Some("1990-12-04".to_owned()), Some("1990-01-31".to_owned())]);
        assert_eq!(birthdays("name,born\nA,04/12/1990\nB,31/01/1990\nC,01/31/1990\n")[0], None);
        let table = read("name,born\nA,04/12/1990\n");
        let chosen = table.people(&table.columns(), Some(Slashes::MonthFirst));
        assert_eq!(chosen[0].person.as_ref().unwrap().contact.birthday.unwrap().to_string(), "1990-04-12");
        assert!(people("name,born\nA,04/12/1990\n")[0].notes[0].contains("which is the day"));
    }
}
