//! Contacts as vCards: read as telephones and address books write them, and one written.
//!
//! *Source*: key `rfc6350` (version 4.0), key `rfc2426` (3.0); what version 2.1 has besides,
//! words of parameters without their names and quoted-printable values with the key `rfc2045`,
//! as it is met in files.

use super::entry::{Entry, Person, said};
use encoding_rs::WINDOWS_1252;
use salon::book::{Birthday, Contact};
use std::fmt::Write;

/// Octets of a line before it is folded. *Source*: key `rfc6350`, section 3.2.
const LONGEST_LINE: usize = 75;

/// A property of a card.
struct Property {
    name: String,
    parameters: Vec<(String, String)>,
    value: String,
}

/// Lines with what continues them, each with the number of its first; quoted-printable
/// lines that end in `=` are joined as they are.
fn unfolded(text: &str) -> Vec<(usize, String)> {
    let mut lines: Vec<(usize, String)> = Vec::new();
    let mut soft = false;
    for (at, line) in text.split('\n').enumerate() {
        let line = line.strip_suffix('\r').unwrap_or(line);
        match lines.last_mut() {
            Some((_, last)) if soft => {
                last.pop();
                last.push_str(line);
            }
            Some((_, last)) if line.starts_with([' ', '\t']) => last.push_str(&line[1..]),
            _ => lines.push((at + 1, line.to_owned())),
        }
        let quoted = |line: &str| line.split(':').next().is_some_and(|head| head.to_ascii_uppercase().contains("QUOTED-PRINTABLE"));
        soft = lines.last().is_some_and(|(_, last)| last.ends_with('=') && quoted(last));
    }
    lines
}

/// A text in parts at a sign; none within quotation marks or after a backslash parts it.
fn split(text: &str, sign: char, quotes: bool) -> Vec<&str> {
    let (mut parts, mut from, mut within, mut escaped) = (Vec::new(), 0, false, false);
    for (at, c) in text.char_indices() {
        match c {
            _ if escaped => escaped = false,
            '\\' if !quotes => escaped = true,
            '"' if quotes => within = !within,
            c if c == sign && !within => {
                parts.push(&text[from..at]);
                from = at + c.len_utf8();
            }
            _ => {}
        }
    }
    parts.push(&text[from..]);
    parts
}

fn property(line: &str) -> Option<Property> {
    let head = split(line, ':', true)[0];
    let value = line.get(head.len() + 1..)?;
    let mut words = split(head, ';', true).into_iter();
    let name = words.next()?;
    let name = name.rsplit('.').next()?.trim().to_ascii_uppercase();
    let parameter = |word: &str| match word.split_once('=') {
        Some((name, value)) => (name.trim().to_ascii_uppercase(), value.trim_matches('"').to_owned()),
        // Version 2.1 leaves the parameter's name out.
        None if word.eq_ignore_ascii_case("QUOTED-PRINTABLE") => ("ENCODING".to_owned(), word.to_owned()),
        None => ("TYPE".to_owned(), word.to_owned()),
    };
    Some(Property { name, parameters: words.map(parameter).collect(), value: value.to_owned() })
}

impl Property {
    fn says(&self, name: &str, value: &str) -> bool {
        let is = |(known, said): &(String, String)| known == name && said.split(',').any(|said| said.trim().eq_ignore_ascii_case(value));
        self.parameters.iter().any(is)
    }

    /// Whether it is the one that is used first.
    fn is_preferred(&self) -> bool {
        self.says("TYPE", "pref") || self.says("PREF", "1")
    }

    /// Its value, decoded where it is quoted-printable.
    fn decoded(&self) -> String {
        if !self.says("ENCODING", "QUOTED-PRINTABLE") {
            return self.value.clone();
        }
        let (mut bytes, mut rest) = (Vec::new(), self.value.as_bytes());
        while let [first, after @ ..] = rest {
            let hex = (*first == b'=').then(|| after.get(..2)).flatten().and_then(|hex| std::str::from_utf8(hex).ok());
            match hex.and_then(|hex| u8::from_str_radix(hex, 16).ok()) {
                Some(byte) => {
                    bytes.push(byte);
                    rest = &after[2..];
                }
                None => {
                    bytes.push(*first);
                    rest = after;
                }
            }
        }
        String::from_utf8(bytes).unwrap_or_else(|wrong| WINDOWS_1252.decode_without_bom_handling(wrong.as_bytes()).0.into_owned())
    }

    /// Its value as text.
    fn text(&self) -> String {
        unescaped(&self.decoded())
    }
}

fn unescaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut all = text.chars();
    while let Some(c) = all.next() {
        match c {
            '\\' => match all.next() {
                Some('n' | 'N') => out.push('\n'),
                Some(c) => out.push(c),
                None => out.push('\\'),
            },
            c => out.push(c),
        }
    }
    out.trim().to_owned()
}

/// A number as it is dialled: of an address of the kind `tel:` with its extension.
fn phone(text: &str) -> String {
    let Some(rest) = text.get(..4).filter(|scheme| scheme.eq_ignore_ascii_case("tel:")).and(text.get(4..)) else { return text.to_owned() };
    let mut parts = rest.split(';');
    let number = parts.next().unwrap_or_default().to_owned();
    match parts.find_map(|part| part.strip_prefix("ext=")) {
        Some(extension) => format!("{number} ext. {extension}"),
        None => number,
    }
}

/// A day of a card, with or without its year; a time after it is left out.
///
/// *Source*: key `rfc6350`, sections 4.3.1 and 6.2.5; the signs between as version 3.0 has them.
fn birthday(text: &str) -> Option<Birthday> {
    let date = text.split(['T', ' ']).next()?;
    let digits: String = date.chars().filter(char::is_ascii_digit).collect();
    let number = |from: usize, to: usize| digits.get(from..to)?.parse::<u16>().ok();
    let day = |at: usize| Some((u8::try_from(number(at, at + 2)?).ok()?, u8::try_from(number(at + 2, at + 4)?).ok()?));
    let plain = |rest: &str| rest.chars().all(|c| c.is_ascii_digit() || c == '-');
    match date.strip_prefix("--") {
        Some(rest) if digits.len() == 4 && plain(rest) && !rest.starts_with('-') => {
            let (month, day) = day(0)?;
            Birthday::new(None, month, day)
        }
        None if digits.len() == 8 && plain(date) && !date.starts_with('-') => {
            let (month, day) = day(4)?;
            Birthday::new(Some(i32::from(number(0, 4)?)), month, day)
        }
        _ => None,
    }
}

/// Given and family name of a card's `N`.
fn name_of_parts(value: &str) -> String {
    let parts = split(value, ';', false);
    let part = |at: usize| parts.get(at).map(|part| unescaped(&split(part, ',', false).join(" "))).unwrap_or_default();
    [part(1), part(2), part(0)].into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(" ")
}

fn person(properties: &[Property]) -> (Result<Person, String>, Vec<String>) {
    let mut notes = Vec::new();
    let first = |name: &str| properties.iter().find(|property| property.name == name);
    let full = first("FN").map(Property::text).filter(|name| !name.is_empty());
    let name = full.or_else(|| first("N").map(|name| name_of_parts(&name.decoded())).filter(|name| !name.is_empty()));
    let all = |name: &str, read: fn(&str) -> String| {
        let mut hers: Vec<&Property> = properties.iter().filter(|property| property.name == name).collect();
        hers.sort_by_key(|property| !property.is_preferred());
        hers.into_iter().map(|property| read(&property.text())).collect::<Vec<_>>()
    };
    let born = first("BDAY").map(Property::text).filter(|text| !text.is_empty());
    let read = born.as_deref().and_then(birthday);
    if let (Some(text), None) = (&born, read) {
        notes.push(format!("birthday left out: {}", said(text)));
    }
    let mail = |text: &str| text.strip_prefix("mailto:").unwrap_or(text).to_owned();
    let note = all("NOTE", str::to_owned).join("\n");
    let contact = Contact { phones: all("TEL", phone), emails: all("EMAIL", mail), birthday: read, note: Some(note) };
    (name.map(|name| Person { name, contact }).ok_or_else(|| "the card holds no name".to_owned()), notes)
}

/// Every card of a file.
pub(super) fn read(text: &str) -> Vec<Entry> {
    let mut entries = Vec::new();
    let mut open: Option<(usize, Vec<Property>)> = None;
    // A card within a card is somebody else: of an assistant, in version 2.1.
    let mut depth = 0_usize;
    let broken = |line| Entry { line, person: Err("the card breaks off before its end".to_owned()), notes: Vec::new() };
    for (at, line) in unfolded(text).into_iter().filter(|(_, line)| !line.trim().is_empty()) {
        let is = |word: &str| line.trim().eq_ignore_ascii_case(word);
        if is("BEGIN:VCARD") {
            depth += 1;
            if depth == 1 {
                open = Some((at, Vec::new()));
            }
        } else if is("END:VCARD") {
            depth = depth.saturating_sub(1);
            match open.take_if(|_| depth == 0) {
                Some((line, properties)) => {
                    let (person, notes) = person(&properties);
                    entries.push(Entry { line, person, notes });
                }
                None if depth == 0 => {
                    entries.push(Entry { line: at, person: Err("a card ends that did not begin".to_owned()), notes: Vec::new() })
                }
                None => {}
            }
        } else if let Some((_, properties)) = open.as_mut().filter(|_| depth == 1) {
            properties.extend(property(&line));
        }
    }
    entries.extend(open.map(|(line, _)| broken(line)));
    entries
}

fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars().filter(|c| *c == '\n' || !c.is_control()) {
        match c {
            '\n' => out.push_str("\\n"),
            '\\' | ',' | ';' => out.extend(['\\', c]),
            c => out.push(c),
        }
    }
    out
}

/// One client's card, version 4.0.
#[must_use]
pub fn written(name: &str, contact: &Contact, uid: &str) -> String {
    let mut lines =
        vec!["BEGIN:VCARD".to_owned(), "VERSION:4.0".to_owned(), format!("UID:urn:uuid:{uid}"), format!("FN:{}", escaped(name))];
    lines.extend(contact.phones.iter().map(|phone| format!("TEL:{}", escaped(phone))));
    lines.extend(contact.emails.iter().map(|email| format!("EMAIL:{}", escaped(email))));
    lines.extend(contact.birthday.map(|birthday| match birthday.parts() {
        (Some(year), month, day) => format!("BDAY:{year:04}{month:02}{day:02}"),
        (None, month, day) => format!("BDAY:--{month:02}{day:02}"),
    }));
    lines.extend(contact.note.iter().map(|note| format!("NOTE:{}", escaped(note))));
    lines.push("END:VCARD".to_owned());
    let mut out = String::new();
    for line in lines {
        let mut long = 0;
        for c in line.chars() {
            if long + c.len_utf8() > LONGEST_LINE {
                out.push_str("\r\n ");
                long = 1;
            }
            out.push(c);
            long += c.len_utf8();
        }
        // Writing into a text does not fail.
        let _ = out.write_str("\r\n");
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn one(text: &str) -> Person {
        let mut entries = read(text);
        assert_eq!(entries.len(), 1, "{entries:?}");
        entries.remove(0).person.unwrap()
    }

    /// The card of section 8 of key `rfc6350`, as far as it is asked here.
    #[test]
    fn the_example_of_the_standard_is_read() {
        let text = "BEGIN:VCARD\r\nVERSION:4.0\r\nFN:Simon Perreault\r\nN:Perreault;Simon;;;ing. jr,M.Sc.\r\nBDAY:--0203\r\n\
            ANNIVERSARY:20090808T1430-0500\r\nGENDER:M\r\nLANG;PREF=1:fr\r\nORG;TYPE=work:Viagenie\r\n\
            TEL;VALUE=uri;TYPE=\"work,voice\";PREF=1:tel:+1-418-656-9254;ext=102\r\n\
            TEL;VALUE=uri;TYPE=\"work,cell,voice,video,text\":tel:+1-418-262-6501\r\nEMAIL;TYPE=work:simon.perreault@viagenie.ca\r\n\
            GEO;TYPE=work:geo:46.772673,-71.282945\r\nKEY;TYPE=work;VALUE=uri:http://www.viagenie.ca/simon.perreault/simon.asc\r\n\
            TZ:-0500\r\nURL;TYPE=home:http://nomis80.org\r\nEND:VCARD\r\n";
        let read = one(text);
        assert_eq!(read.name, "Simon Perreault");
        assert_eq!(read.contact.phones, ["+1-418-656-9254 ext. 102", "+1-418-262-6501"]);
        assert_eq!(read.contact.emails, ["simon.perreault@viagenie.ca"]);
        assert_eq!(read.contact.birthday.unwrap().to_string(), "--02-03");
    }

    /// Folding and escaping as in section 3.2 and 3.4 of key `rfc6350`; the name's parts as in 6.2.2.
    #[test]
    fn lines_are_unfolded_and_signs_unescaped() {
        let text = "begin:vcard\nversion:3.0\nfn:\nN:Stevenson;John;Philip\\, Paul;Dr.;Jr.\nNOTE:This is a long descrip\n tion\\nthat exi\n\tsts o\\, n a\\; long\\\\ line.\n\
            item1.TEL;TYPE=CELL:1\nitem2.tel;type=HOME,pref:2\nEMAIL:MAILTO\nend:vcard\n";
        let read = one(text);
        assert_eq!(read.name, "John Philip, Paul Stevenson");
        assert_eq!(read.contact.note.as_deref(), Some("This is a long description\nthat exists o, n a; long\\ line."));
        assert_eq!(read.contact.phones, ["2", "1"]);
    }

    #[test]
    fn a_card_of_the_earlier_version_is_read_with_its_quoted_values() {
        let text = "BEGIN:VCARD\r\nVERSION:2.1\r\nN;CHARSET=UTF-8;ENCODING=QUOTED-PRINTABLE:=C3=89toile;=\r\nZo=C3=AB;;;\r\n\
            TEL;CELL;PREF:06 12 34 56 78\r\nTEL;HOME:112\r\nNOTE;QUOTED-PRINTABLE;CHARSET=ISO-8859-1:caf=E9=0D=0Anoir\r\n\
            AGENT:\r\nBEGIN:VCARD\r\nFN:Somebody Else\r\nTEL:999\r\nEND:VCARD\r\nBDAY:1990-04-12\r\nEND:VCARD\r\n";
        let read = one(text);
        assert_eq!(
            (read.name.as_str(), read.contact.phones.as_slice()),
            ("Zoë Étoile", &["06 12 34 56 78".to_owned(), "112".to_owned()][..])
        );
        assert_eq!(read.contact.note.as_deref(), Some("café\r\nnoir"));
        assert_eq!(read.contact.birthday.unwrap().to_string(), "1990-04-12");
    }

    #[test]
    fn what_is_no_card_says_so_by_its_line_and_stops_nobody_else() {
        let text = "hello\nEND:VCARD\nBEGIN:VCARD\nTEL:1\nEND:VCARD\nBEGIN:VCARD\nFN:Ada\nno colon\nEND:VCARD\nBEGIN:VCARD\nFN:Bea\n";
        let told: Vec<(usize, Option<String>)> =
            read(text).into_iter().map(|entry| (entry.line, entry.person.ok().map(|person| person.name))).collect();
        assert_eq!(told, [(2, None), (3, None), (6, Some("Ada".to_owned())), (10, None)]);
    }

    #[test]
    fn only_a_whole_day_is_a_birthday() {
        let read = |text: &str| birthday(text).map(|birthday| birthday.to_string());
        for (text, day) in
            [("19960415", "1996-04-15"), ("1953-10-15T23:10:00Z", "1953-10-15"), ("19531015T231000Z", "1953-10-15"), ("--0412", "--04-12")]
        {
            assert_eq!(read(text).as_deref(), Some(day));
        }
        for text in ["1996-04", "1996", "---15", "--04", "circa 1800", "19960431", "T102200", "", "1996/04/15"] {
            assert_eq!(read(text), None, "{text}");
        }
    }

    #[test]
    fn a_card_that_is_written_is_read_back_whatever_it_holds() {
        let contact = Contact {
            phones: vec!["+33 6 12 34 56 78".into(), "112".into()],
            emails: vec!["ada@example.org".into()],
            birthday: "--02-29".parse().ok(),
            note: Some(format!("evenings; not, on \\ Sundays\n{}", "é".repeat(200))),
        };
        let text = written("Ada; Example, É", &contact, "01972f3a-5b6c-7d8e-9f01-000000000001");
        assert!(text.split("\r\n").all(|line| line.len() <= LONGEST_LINE), "{text}");
        assert_eq!(one(&text), Person { name: "Ada; Example, É".into(), contact });
    }
}
