//! The diary as a calendar: what a technician's own calendar shows of it.
//!
//! *Meaning*: calendars are shared and lie on telephones. So an entry says what is
//! done and one letter of whom; no surname, nothing of her health, no reason why she
//! does not come.
//!
//! *Source*: key `rfc5545`: 3.2.19 time zone identifier, 3.3.5 date with local time,
//! 3.3.14 offset from UTC, 3.6.1 event, 3.6.5 time zone, 3.6.6 alarm, 3.8.1.11
//! status, 3.8.4.7 identifier, 3.8.7.4 sequence.

use crate::calendar::{ContentLines, Entry, basic, mark};
use jiff::civil::{Date, DateTime};
use jiff::tz::{Offset, TimeZone};
use jiff::{Timestamp, ToSpan};
use measure::text::capital;
use salon::book::{Appointment, AppointmentId, Day};

/// Minutes before an appointment at which the alarm goes off: enough to make the chair ready.
const ALARM_MINUTES: u32 = 30;

/// The calendar file of a diary's appointments, those that were cancelled included: a
/// calendar that has one keeps it until it is told that it is off.
///
/// *Meaning*: `label` says what a client is called. `zone` is the salon's time zone;
/// without one the times are those of whatever clock the calendar shows. The same
/// appointments give the same bytes.
#[must_use]
pub fn diary_calendar(
    appointments: &[(AppointmentId, &Appointment)],
    label: impl Fn(&Appointment) -> String,
    zone: Option<&TimeZone>,
) -> String {
    let mut file = ContentLines::default();
    file.raw("BEGIN:VCALENDAR");
    file.raw("VERSION:2.0");
    file.raw("PRODID:-//Strandwright//Diary//EN");
    file.raw("CALSCALE:GREGORIAN");
    let named = zone.and_then(|zone| Some((zone, zone.iana_name()?)));
    let dated: Vec<_> = appointments.iter().filter_map(|(id, held)| Some((*id, *held, starts(held)?))).collect();
    let years = dated.iter().map(|(.., starts)| starts.year());
    if let (Some((zone, name)), Some(first), Some(last)) = (named, years.clone().min(), years.max()) {
        time_zone(&mut file, zone, name, (first, last));
    }
    for (id, held, starts) in dated {
        event(&mut file, (id, held), starts, &label(held), named.map(|(_, name)| name));
    }
    file.raw("END:VCALENDAR");
    file.out
}

fn date(day: Day) -> Option<Date> {
    let (year, month, day) = day.parts();
    Date::new(i16::try_from(year).ok()?, i8::try_from(month).ok()?, i8::try_from(day).ok()?).ok()
}

/// When it begins on the wall's clock.
fn starts(held: &Appointment) -> Option<DateTime> {
    let begins = i64::from(held.booked.at.minutes());
    date(held.booked.day)?.at(0, 0, 0, 0).checked_add(begins.minutes()).ok()
}

fn event(file: &mut ContentLines, (id, held): (AppointmentId, &Appointment), starts: DateTime, label: &str, zone: Option<&str>) {
    let ends = starts.checked_add(i64::from(held.booked.minutes).minutes()).unwrap_or(starts);
    let zone = zone.map_or_else(String::new, |name| format!(";TZID={name}"));
    let letter = label.trim().chars().next().map_or_else(String::new, |letter| format!(", {}.", capital(&letter.to_string())));
    let written = Timestamp::from_millisecond(held.said_ms).unwrap_or(Timestamp::UNIX_EPOCH);
    let says = format!("{}{letter}", capital(held.booked.kind.word()));
    file.raw("BEGIN:VEVENT");
    mark(file, &Entry::of_appointment(&id.to_string(), held.changes, written));
    file.raw(&format!("DTSTART{zone}:{}", local(starts)));
    file.raw(&format!("DTEND{zone}:{}", local(ends)));
    file.text("SUMMARY", &says);
    file.raw(if held.cancelled { "STATUS:CANCELLED" } else { "STATUS:CONFIRMED" });
    if !held.cancelled {
        file.raw("BEGIN:VALARM");
        file.raw("ACTION:DISPLAY");
        file.raw(&format!("TRIGGER:-PT{ALARM_MINUTES}M"));
        file.text("DESCRIPTION", &says);
        file.raw("END:VALARM");
    }
    file.raw("END:VEVENT");
}

/// A time of the wall's clock as RFC 5545 writes it (3.3.5, form 1).
fn local(time: DateTime) -> String {
    format!("{}T{:02}{:02}{:02}", basic(time.date()), time.hour(), time.minute(), time.second())
}

/// An offset as RFC 5545 writes it (3.3.14): whole minutes, seconds where there are any.
fn offset(offset: Offset) -> String {
    let seconds = offset.seconds();
    let (sign, size) = (if seconds < 0 { '-' } else { '+' }, seconds.unsigned_abs());
    let odd = if size % 60 == 0 { String::new() } else { format!("{:02}", size % 60) };
    format!("{sign}{:02}{:02}{odd}", size / 3600, size / 60 % 60)
}

/// The zone as it is from the year before the first appointment to the end of the
/// last one's year: what held at first, then each change of the clock by its own date,
/// so that no rule of a year's last Sunday has to be guessed.
fn time_zone(file: &mut ContentLines, zone: &TimeZone, name: &str, (first, last): (i16, i16)) {
    let start = |year: i16| Date::new(year, 1, 1).ok().and_then(|day| day.at(0, 0, 0, 0).to_zoned_datetime(zone.clone()).ok());
    let Some(from) = start(first.saturating_sub(1)).or_else(|| start(first)) else { return };
    let until = start(last.saturating_add(1)).map_or(Timestamp::MAX, |end| end.timestamp());
    file.raw("BEGIN:VTIMEZONE");
    file.raw(&format!("TZID:{name}"));
    let mut before = from.offset();
    observed(file, "STANDARD", from.datetime(), (before, before));
    for change in zone.following(from.timestamp()).take_while(|change| change.timestamp() < until) {
        let sort = if change.dst().is_dst() { "DAYLIGHT" } else { "STANDARD" };
        observed(file, sort, before.to_datetime(change.timestamp()), (before, change.offset()));
        before = change.offset();
    }
    file.raw("END:VTIMEZONE");
}

fn observed(file: &mut ContentLines, sort: &str, from: DateTime, (before, after): (Offset, Offset)) {
    file.raw(&format!("BEGIN:{sort}"));
    file.raw(&format!("DTSTART:{}", local(from)));
    file.raw(&format!("TZOFFSETFROM:{}", offset(before)));
    file.raw(&format!("TZOFFSETTO:{}", offset(after)));
    file.raw(&format!("END:{sort}"));
}
