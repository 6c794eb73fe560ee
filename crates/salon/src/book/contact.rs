//! How a client is reached: telephone numbers, e-mail addresses, her birthday.

use super::day::Day;
use crate::Fault;
use crate::words::Message;
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::fmt;
use std::str::FromStr;

/// The most numbers, and the most addresses, of one client.
const MOST: usize = 10;
/// The most letters of a note.
const LONGEST_NOTE: usize = 1000;
/// The most letters of a number or an address. *Source*: key `rfc5321`, section 4.5.3.1.3, a path of 256 with its brackets.
const LONGEST: usize = 254;
/// The digits of a telephone number. *Source*: our choice at the lower end, for numbers within a
/// house; at the upper end key `e164` with room for what is dialled before the country's code.
const DIGITS: std::ops::RangeInclusive<usize> = 3..=20;
/// Digits at a number's end by which two ways of writing it are taken for one: what stands before
/// them is a country's or a trunk code, written or not. *Source*: our choice.
const TELLING_DIGITS: usize = 8;

/// A birthday, with the year where it was said.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Birthday {
    year: Option<i32>,
    month: u8,
    day: u8,
}

/// A leap year, in which every day of a year without a number is one.
const ANY_YEAR: i32 = 2000;

impl Birthday {
    /// A birthday; nothing where there is no such day.
    #[must_use]
    pub fn new(year: Option<i32>, month: u8, day: u8) -> Option<Self> {
        Day::new(year.unwrap_or(ANY_YEAR), month, day).map(|_| Self { year, month, day })
    }

    /// Year where it was said, month, day.
    #[must_use]
    pub const fn parts(self) -> (Option<i32>, u8, u8) {
        (self.year, self.month, self.day)
    }
}

impl fmt::Display for Birthday {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.year {
            Some(year) => write!(f, "{year:04}-{:02}-{:02}", self.month, self.day),
            None => write!(f, "--{:02}-{:02}", self.month, self.day),
        }
    }
}

impl FromStr for Birthday {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let read = || match text.strip_prefix("--") {
            Some(rest) => {
                let Ok(day) = format!("{ANY_YEAR}-{rest}").parse::<Day>() else { return None };
                Self::new(None, day.parts().1, day.parts().2)
            }
            None => {
                let (year, month, day) = text.parse::<Day>().ok()?.parts();
                Self::new(Some(year), month, day)
            }
        };
        read().ok_or_else(|| {
            let shown: String = text.chars().take(40).collect();
            format!("{shown:?} is no birthday: write it as 1990-04-12, or as --04-12 without the year")
        })
    }
}

impl Serialize for Birthday {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Birthday {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        String::deserialize(deserializer)?.parse().map_err(serde::de::Error::custom)
    }
}

/// How a client is reached. Nothing of her health belongs here.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Contact {
    /// Telephone numbers as she writes them, the first one first.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub phones: Vec<String>,
    /// E-mail addresses, the first one first.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub emails: Vec<String>,
    /// Her birthday.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub birthday: Option<Birthday>,
    /// What else helps to reach her.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
}

impl Contact {
    /// Whether nothing is said.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }

    /// Without blanks around, without what is empty and what is said twice.
    #[must_use]
    pub fn tidied(self) -> Self {
        fn each(all: Vec<String>) -> Vec<String> {
            let mut kept: Vec<String> = Vec::new();
            for one in all.iter().map(|one| one.trim()).filter(|one| !one.is_empty()) {
                if !kept.iter().any(|known| known == one) {
                    kept.push(one.to_owned());
                }
            }
            kept
        }
        let note = self.note.map(|note| note.trim().to_owned()).filter(|note| !note.is_empty());
        Self { phones: each(self.phones), emails: each(self.emails), birthday: self.birthday, note }
    }

    /// Everything that is wrong, all at once.
    #[must_use]
    pub fn faults(&self) -> Vec<Fault> {
        let mut faults = Vec::new();
        let mut fault = |place: &str, message: &Message| faults.push(Fault::of(message, place, "contact"));
        for (place, all) in [("phones", &self.phones), ("emails", &self.emails)] {
            if all.len() > MOST {
                fault(place, &Message::ListTooLong { entries: all.len().to_string(), most: MOST.to_string() });
            }
        }
        for phone in self.phones.iter().filter(|phone| !is_phone(phone)) {
            fault("phones", &Message::PhoneNone { phone: shown(phone) });
        }
        for email in self.emails.iter().filter(|email| !is_email(email)) {
            fault("emails", &Message::EmailNone { email: shown(email) });
        }
        let letters = self.note.as_deref().map_or(0, |note| note.chars().count());
        if letters > LONGEST_NOTE {
            fault("note", &Message::TextTooLong { letters: letters.to_string(), most: LONGEST_NOTE.to_string() });
        }
        faults
    }

    /// What tells that two records may be one person's: the ends of her numbers, her
    /// addresses in small letters.
    #[must_use]
    pub fn tells(&self) -> Vec<String> {
        let phone = |text: &String| {
            let digits: String = text.chars().filter(char::is_ascii_digit).collect();
            digits[digits.len().saturating_sub(TELLING_DIGITS)..].to_owned()
        };
        let phones = self.phones.iter().map(phone);
        phones.chain(self.emails.iter().map(|email| email.to_lowercase())).collect()
    }
}

fn shown(text: &str) -> String {
    text.chars().filter(|c| !c.is_control()).take(60).collect()
}

/// Whether a text is a telephone number as people write them: digits, and what parts them.
fn is_phone(text: &str) -> bool {
    let digits = text.bytes().filter(u8::is_ascii_digit).count();
    let parts = |c: char| c.is_ascii_digit() || " \u{a0}+-–./()#*,;".contains(c) || c.is_ascii_alphabetic();
    // Letters say an extension, as in `ext. 12`; there are fewer of them than digits.
    let letters = text.bytes().filter(u8::is_ascii_alphabetic).count();
    DIGITS.contains(&digits) && letters < digits && text.chars().all(parts) && text.len() <= LONGEST
}

/// Whether a text has the shape of an e-mail address; whether mail comes through only sending tells.
fn is_email(text: &str) -> bool {
    let Some((local, domain)) = text.rsplit_once('@') else { return false };
    let plain = |c: char| !c.is_whitespace() && !c.is_control() && !"<>,;".contains(c);
    !local.is_empty() && !domain.is_empty() && !local.contains('@') && text.chars().all(plain) && text.len() <= LONGEST
}

#[cfg(test)]
mod tests {
    use super::*;

    fn places(contact: &Contact) -> Vec<String> {
        contact.faults().iter().map(|fault| fault.place.to_string()).collect()
    }

    #[test]
    fn a_birthday_is_read_back_with_and_without_its_year() {
        for text in ["1990-04-12", "--02-29", "2000-02-29"] {
            assert_eq!(text.parse::<Birthday>().unwrap().to_string(), text);
        }
        for wrong in ["1990-02-29", "--02-30", "--13-01", "12.4.1990", "", "--4-12", "19900412"] {
            assert!(wrong.parse::<Birthday>().is_err(), "{wrong}");
        }
    }

    #[test]
    fn numbers_and_addresses_are_taken_as_people_write_them_and_nothing_else_is() {
        let good = Contact {
            phones: ["+33 6 12 34 56 78", "(030) 123-45", "0171/2345 ext 12", "112"].map(str::to_owned).to_vec(),
            emails: ["ada@example.org", "ada+hair@post.example", "ä@example.org"].map(str::to_owned).to_vec(),
            ..Contact::default()
        };
        assert_eq!(places(&good), Vec::<String>::new());
        for phone in ["", "12", "call me", "=1+2222222222222222222222", "06\n12 34 56 78"] {
            assert_eq!(places(&Contact { phones: vec![phone.to_owned()], ..Contact::default() }), ["phones"], "{phone}");
        }
        for email in ["ada", "@example.org", "ada@", "a b@example.org", "a@b@c", "Ada <ada@example.org>"] {
            assert_eq!(places(&Contact { emails: vec![email.to_owned()], ..Contact::default() }), ["emails"], "{email}");
        }
        let long = Contact { note: Some("x".repeat(LONGEST_NOTE + 1)), phones: vec!["12345".to_owned(); MOST + 1], ..Contact::default() };
        assert_eq!(places(&long), ["phones", "note"]);
    }

    #[test]
    fn one_number_written_in_two_ways_tells_the_same() {
        let with = |phone: &str| Contact { phones: vec![phone.to_owned()], emails: vec!["Ada@Example.org".into()], ..Contact::default() };
        assert_eq!(with("+33 6 12 34 56 78").tells(), with("06.12.34.56.78").tells());
        assert_ne!(with("06 12 34 56 78").tells(), with("06 12 34 56 79").tells());
        assert_eq!(with("112").tells(), ["112", "ada@example.org"]);
    }
}
