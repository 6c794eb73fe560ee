//! The diary's calendar file, read by PyPI's `icalendar` where `STRANDWRIGHT_PYTHON`
//! names an interpreter that has it, and by the parser of another crate always.

use jiff::tz::TimeZone;
use salon::book::{Appointment, AppointmentId, Booked, ClientId, Day, PersonId, VisitKind};

fn at(day: &str, at: &str, changes: u32, cancelled: bool) -> Appointment {
    let booked = Booked {
        client: ClientId(1),
        kind: VisitKind::Retape,
        day: day.parse::<Day>().unwrap(),
        at: at.parse().unwrap(),
        minutes: 95,
        predicted: true,
        person: PersonId(1),
        chair: None,
    };
    Appointment { booked, changes, cancelled, said_ms: 1_767_225_600_000 }
}

fn file(appointments: &[Appointment], zone: Option<&str>) -> String {
    let zone = zone.map(|zone| TimeZone::get(zone).unwrap());
    let named: Vec<_> = (1..).map(AppointmentId).zip(appointments).collect();
    paper::diary_calendar(&named, |_| "Éloise Sample; nickel".to_owned(), zone.as_ref())
}

/// A day before and after each change of the clock of the year 2026, and one far ahead.
const DAYS: [&str; 6] = ["2026-03-28", "2026-03-30", "2026-10-24", "2026-10-26", "2026-07-01", "2027-12-01"];

fn spread() -> Vec<Appointment> {
    DAYS.iter().map(|day| at(day, "10:30", 2, false)).collect()
}

#[test]
fn another_crates_parser_reads_it_and_it_tells_no_name_and_no_health() {
    let mut all = spread();
    all.push(at("2026-05-01", "09:00", 3, true));
    let text = file(&all, Some("Europe/Paris"));
    assert!(text.lines().all(|line| line.len() <= 75) && text.ends_with("END:VCALENDAR\r\n"));
    assert!(!text.contains("Sample") && !text.contains("nickel") && !text.contains("loise"), "{text}");
    let unfolded = icalendar::parser::unfold(&text);
    let calendar = icalendar::parser::read_calendar(&unfolded).expect("it parses");
    let events: Vec<_> = calendar.components.iter().filter(|part| part.name == "VEVENT").collect();
    assert_eq!(events.len(), all.len());
    let value = |event: usize, name: &str| events[event].find_prop(name).map(|prop| prop.val.to_string());
    assert_eq!(value(0, "UID").as_deref(), Some("00000000-0000-0000-0000-000000000001@strandwright.invalid"));
    assert_eq!((value(0, "SEQUENCE").as_deref(), value(0, "STATUS").as_deref()), (Some("2"), Some("CONFIRMED")));
    assert_eq!(value(0, "SUMMARY").as_deref(), Some("Re-tape, É."));
    assert_eq!((value(0, "DTSTART").as_deref(), value(0, "DTEND").as_deref()), (Some("20260328T103000"), Some("20260328T120500")));
    assert_eq!((value(6, "SEQUENCE").as_deref(), value(6, "STATUS").as_deref()), (Some("3"), Some("CANCELLED")));
    assert_eq!((events[0].components.len(), events[6].components.len()), (1, 0), "no alarm for what is off");
    assert!(!file(&all, None).contains("TZID"), "without a zone the times float");
    assert!(!file(&[], Some("Europe/Paris")).contains("VEVENT"));
}

/// What the python reader makes of each event: its start in UTC by the file's own zone.
const STARTS: &str = "import sys, icalendar, datetime\n\
    c = icalendar.Calendar.from_ical(sys.stdin.buffer.read())\n\
    z = [t.to_tz() for t in c.walk('VTIMEZONE')]\n\
    for e in c.walk('VEVENT'):\n\
    \x20   s = e['DTSTART'].dt.replace(tzinfo=None)\n\
    \x20   own = z[0].localize(s) if hasattr(z[0], 'localize') else s.replace(tzinfo=z[0])\n\
    \x20   a = e.walk('VALARM')[0]['TRIGGER'].dt\n\
    \x20   print(own.astimezone(datetime.timezone.utc).strftime('%Y-%m-%dT%H:%M'), e['DTSTART'].dt.utcoffset(), (e['DTEND'].dt - e['DTSTART'].dt), int(a.total_seconds()))\n";

/// By hand: Paris is two hours ahead of UTC from 29 March to 25 October 2026, one before and after.
#[test]
fn python_reads_the_same_moments_on_both_sides_of_both_clock_changes() {
    let Some(python) = std::env::var_os("STRANDWRIGHT_PYTHON").filter(|p| std::path::Path::new(p).exists()) else {
        eprintln!("STRANDWRIGHT_PYTHON names no interpreter: read by the other check only");
        return;
    };
    let mut child = std::process::Command::new(python)
        .args(["-c", STARTS])
        .stdin(std::process::Stdio::piped())
        .stdout(std::process::Stdio::piped())
        .spawn()
        .expect("python starts");
    std::io::Write::write_all(&mut child.stdin.take().expect("its input"), file(&spread(), Some("Europe/Paris")).as_bytes())
        .expect("it listens");
    let out = child.wait_with_output().expect("it ends");
    assert!(out.status.success());
    let said = String::from_utf8(out.stdout).expect("text");
    let expected = [
        ("2026-03-28T09:30", 1),
        ("2026-03-30T08:30", 2),
        ("2026-10-24T08:30", 2),
        ("2026-10-26T09:30", 1),
        ("2026-07-01T08:30", 2),
        ("2027-12-01T09:30", 1),
    ];
    let expected: Vec<String> = expected.iter().map(|(utc, hours)| format!("{utc} {hours}:00:00 1:35:00 -1800")).collect();
    assert_eq!(said.lines().collect::<Vec<_>>(), expected);
}
