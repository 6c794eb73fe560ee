//! The calendar file: when the set is due to come out and go back.
//!
//! RFC 5545 written line by line. The writer is our own because a file must be
//! the same on any day: nothing here may read a clock or draw a random
//! identifier, neither for the entry nor for its alarm. Which entry it is and
//! when it was written is handed in.
//!
//! *Source*: key `rfc5545`: 3.1 content lines and folding, 3.3.11 text, 3.6.1
//! event, 3.6.2 to-do, 3.6.6 alarm, 3.8.4.7 identifier, 3.8.7.2 stamp, 3.8.7.4
//! sequence.

use crate::words::{long_date, one_line};
use jiff::civil::Date;
use jiff::tz::TimeZone;
use jiff::{Timestamp, ToSpan};
use measure::text::days_in_weeks;
use salon::plan::RetapePlan;

/// Octets of a content line before it is folded, the line end not counted
/// (RFC 5545, 3.1).
const LINE_OCTETS: usize = 75;

/// Days before the due day on which the alarm goes off: enough to find a chair.
const ALARM_DAYS: u32 = 7;

/// What the entry is called.
const TITLE: &str = "Re-tape the set";

/// Which entry of a calendar a file holds, so that a calendar that has it
/// already replaces it instead of keeping both.
///
/// *Source*: key `rfc5546`, section 2.1.5 (iTIP): of two entries of one
/// identifier the one with the higher sequence holds, and of equal ones the later
/// stamp.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    id: String,
    changes: u32,
    written: Timestamp,
}

impl Entry {
    /// The entry of a kept plan.
    ///
    /// *Meaning*: `id` is the plan's own, the same for life; only its letters,
    /// digits and hyphens are used. `changes` counts how often the day it went
    /// in was noted or taken back; `written` is when that was last, or when the
    /// plan was made.
    #[must_use]
    pub fn of_plan(id: &str, changes: u32, written: Timestamp) -> Self {
        let id = id.chars().filter(|c| c.is_ascii_alphanumeric() || *c == '-').collect();
        Self { id, changes, written }
    }

    /// The entry of an appointment, by its own id, how often it was changed, and when
    /// that was last.
    pub(crate) fn of_appointment(id: &str, changes: u32, written: Timestamp) -> Self {
        Self::of_plan(id, changes, written)
    }

    /// The entry of a plan that nobody keeps.
    ///
    /// *Meaning*: `made_for` is what the plan was made for, without a name;
    /// the same gives the same entry, whatever the day.
    #[must_use]
    pub fn without_records(made_for: &str, written: Timestamp) -> Self {
        Self { id: spread_out(made_for), changes: 0, written }
    }
}

/// The calendar file of a set.
///
/// *Meaning*: `placed_on` is the day the set went in. With it the file holds one
/// whole-day event on the due day with an alarm a week before; without it, a
/// to-do that says the days in words, for no date may be made up. No client's
/// name is in it, since calendars are shared. The same plan, day and entry give
/// the same bytes.
#[must_use]
pub fn retape_calendar(retape: &RetapePlan, placed_on: Option<Date>, entry: &Entry) -> String {
    let mut file = ContentLines::default();
    file.raw("BEGIN:VCALENDAR");
    file.raw("VERSION:2.0");
    file.raw("PRODID:-//Strandwright//Re-tape date//EN");
    file.raw("CALSCALE:GREGORIAN");
    // A due day past the last day a calendar knows is no date; then the days
    // are said in words as when no day is known.
    let dated = placed_on.and_then(|day| dated(retape, day));
    match dated {
        Some((placed, due)) => event(&mut file, retape, entry, placed, due),
        None => to_do(&mut file, retape, entry),
    }
    file.raw("END:VCALENDAR");
    file.out
}

/// The day the set went in and the day it is due, where both are dates.
fn dated(retape: &RetapePlan, placed: Date) -> Option<(Date, Date)> {
    let last = retape.window[0].max(retape.window[1]).max(retape.due).checked_add(1)?;
    after(placed, last)?;
    Some((placed, after(placed, retape.due)?))
}

fn after(day: Date, days: u32) -> Option<Date> {
    day.checked_add(i64::from(days).days()).ok()
}

fn event(file: &mut ContentLines, retape: &RetapePlan, entry: &Entry, placed: Date, due: Date) {
    let [first, last] = window(retape);
    file.raw("BEGIN:VEVENT");
    mark(file, entry);
    file.raw(&format!("DTSTART;VALUE=DATE:{}", basic(due)));
    if let Some(next) = after(due, 1) {
        file.raw(&format!("DTEND;VALUE=DATE:{}", basic(next)));
    }
    file.text("SUMMARY", TITLE);
    let window = match (after(placed, first), after(placed, last)) {
        (Some(from), Some(to)) => format!("Best between {} and {}.", long_date(from), long_date(to)),
        _ => String::new(),
    };
    let said = format!("Due {} after the set went in on {}. {window}", days_in_weeks(retape.due), long_date(placed));
    file.text("DESCRIPTION", &description(&said, retape));
    file.raw("TRANSP:TRANSPARENT");
    if ALARM_DAYS < retape.due {
        file.raw("BEGIN:VALARM");
        file.raw("ACTION:DISPLAY");
        file.raw(&format!("TRIGGER:-P{ALARM_DAYS}D"));
        file.text("DESCRIPTION", TITLE);
        file.raw("END:VALARM");
    }
    file.raw("END:VEVENT");
}

fn to_do(file: &mut ContentLines, retape: &RetapePlan, entry: &Entry) {
    let [first, last] = window(retape);
    file.raw("BEGIN:VTODO");
    mark(file, entry);
    let when = days_in_weeks(retape.due);
    file.text("SUMMARY", &format!("{TITLE}: {when} after it goes in"));
    let said = format!(
        "Due {when} after the set goes in; best between day {first} and day {last}. \
         The day it goes in was not known when this was written: add the date yourself."
    );
    file.text("DESCRIPTION", &description(&said, retape));
    file.raw("STATUS:NEEDS-ACTION");
    file.raw("END:VTODO");
}

/// Which entry it is, and which state of it.
pub(crate) fn mark(file: &mut ContentLines, entry: &Entry) {
    file.raw(&format!("UID:{}@strandwright.invalid", entry.id));
    file.raw(&format!("SEQUENCE:{}", entry.changes));
    let written = TimeZone::UTC.to_datetime(entry.written);
    let [hour, minute, second] = [written.hour(), written.minute(), written.second()];
    file.raw(&format!("DTSTAMP:{}T{hour:02}{minute:02}{second:02}Z", basic(written.date())));
}

fn window(retape: &RetapePlan) -> [u32; 2] {
    let [a, b] = retape.window;
    [a.min(b), a.max(b)]
}

fn description(said: &str, retape: &RetapePlan) -> String {
    let mut lines = vec![said.trim_end().to_owned()];
    lines.extend(retape.because.iter().map(|reason| one_line(reason)));
    lines.push("Sooner if a bond slips, pulls or hurts.".to_owned());
    lines.join("\n")
}

/// A date as RFC 5545 writes it (3.3.4).
pub(crate) fn basic(date: Date) -> String {
    format!("{:04}{:02}{:02}", date.year(), date.month(), date.day())
}

/// An identifier that is the same for the same content.
///
/// FNV-1a over 128 bits: any spread-out hash does, and this one will not change
/// with a library. *Source*: key `fnv`.
fn spread_out(content: &str) -> String {
    let mut hash: u128 = 0x6c62_272e_07bb_0142_62b8_2175_6295_c58d;
    for byte in content.bytes() {
        hash ^= u128::from(byte);
        hash = hash.wrapping_mul(0x0000_0000_0100_0000_0000_0000_0000_013b);
    }
    format!("{hash:032x}")
}

/// Content lines with their ends, folded.
#[derive(Default)]
pub(crate) struct ContentLines {
    pub(crate) out: String,
}

impl ContentLines {
    /// A line whose value needs no escaping.
    pub(crate) fn raw(&mut self, line: &str) {
        let mut used = 0;
        for c in line.chars() {
            if used + c.len_utf8() > LINE_OCTETS {
                // The space that opens a continued line counts as an octet of it.
                self.out.push_str("\r\n ");
                used = 1;
            }
            self.out.push(c);
            used += c.len_utf8();
        }
        self.out.push_str("\r\n");
    }

    /// A line whose value is text (3.3.11).
    pub(crate) fn text(&mut self, name: &str, value: &str) {
        let mut line = format!("{name}:");
        for c in value.chars() {
            match c {
                '\\' => line.push_str("\\\\"),
                ';' => line.push_str("\\;"),
                ',' => line.push_str("\\,"),
                '\n' => line.push_str("\\n"),
                c if c.is_control() => line.push(' '),
                c => line.push(c),
            }
        }
        self.raw(&line);
    }
}
