//! The calendar file against RFC 5545: by a strict reading of its lines, by the
//! parser of another crate, and by PyPI's `icalendar` where
//! `STRANDWRIGHT_PYTHON` names an interpreter that has it.

use jiff::Timestamp;
use jiff::civil::{Date, date};
use paper::{Entry, retape_calendar};
use proptest::prelude::*;
use salon::plan::RetapePlan;

fn set(due: u32, window: [u32; 2], because: &[&str]) -> RetapePlan {
    RetapePlan { due, window, because: because.iter().map(|s| (*s).to_owned()).collect() }
}

fn usual() -> RetapePlan {
    set(
        49,
        [42, 56],
        &["Growth of 0.35 mm a day brings the bond to 22 mm; that is far enough, so it says.", "A set is re-taped every 6 to 8 weeks."],
    )
}

/// The entry of one plan whose day was changed so often, last so many seconds after 2026 began.
fn entry(id: &str, changes: u32, seconds: i64) -> Entry {
    Entry::of_plan(id, changes, Timestamp::from_second(1_767_225_600 + seconds).unwrap())
}

fn first() -> Entry {
    entry("0190b7a0-0000-7000-8000-000000000001", 1, 0)
}

/// The unfolded lines of a file, after checking what RFC 5545 3.1 asks of the
/// folded ones: CRLF ends, at most 75 octets, no character cut in two, no control
/// character.
fn strict_lines(file: &str) -> Vec<String> {
    assert!(file.ends_with("\r\n"));
    let mut lines: Vec<String> = Vec::new();
    for raw in file.as_bytes().split_inclusive(|b| *b == b'\n') {
        let raw = raw.strip_suffix(b"\r\n").expect("every line ends in CRLF");
        assert!(raw.len() <= 75, "{} octets", raw.len());
        let line = std::str::from_utf8(raw).expect("no character is cut by a fold");
        assert!(line.chars().all(|c| !c.is_control()), "{line:?}");
        match line.strip_prefix(' ') {
            Some(more) => lines.last_mut().expect("a fold follows a line").push_str(more),
            None => lines.push(line.to_owned()),
        }
    }
    for line in &lines {
        let (name, _) = line.split_once([':', ';']).expect("a name, then its value");
        assert!(!name.is_empty() && name.bytes().all(|b| b.is_ascii_uppercase() || b == b'-'), "{name}");
    }
    lines
}

/// Text as it was before escaping (RFC 5545 3.3.11); a bare comma or semicolon
/// would end the value.
fn unescaped(value: &str) -> String {
    let mut out = String::new();
    let mut chars = value.chars();
    while let Some(c) = chars.next() {
        match c {
            '\\' => match chars.next().expect("something is escaped") {
                'n' | 'N' => out.push('\n'),
                c @ ('\\' | ';' | ',') => out.push(c),
                other => panic!("\\{other} is no escape"),
            },
            ';' | ',' => panic!("a bare {c:?} in text"),
            c => out.push(c),
        }
    }
    out
}

fn value<'a>(lines: &'a [String], name: &str) -> &'a str {
    let mut found = lines.iter().filter_map(|line| line.strip_prefix(name)?.strip_prefix(':'));
    let value = found.next().unwrap_or_else(|| panic!("no {name}"));
    assert!(found.next().is_none(), "{name} twice");
    value
}

fn nesting(lines: &[String]) -> Vec<String> {
    let mut open: Vec<&str> = Vec::new();
    let mut seen = Vec::new();
    for line in lines {
        if let Some(name) = line.strip_prefix("BEGIN:") {
            open.push(name);
            seen.push(open.join("/"));
        } else if let Some(name) = line.strip_prefix("END:") {
            assert_eq!(open.pop(), Some(name));
        }
    }
    assert!(open.is_empty());
    seen
}

#[test]
fn a_known_day_makes_a_whole_day_event_with_an_alarm() {
    let file = retape_calendar(&usual(), Some(date(2026, 1, 12)), &first());
    let lines = strict_lines(&file);
    assert_eq!(nesting(&lines), ["VCALENDAR", "VCALENDAR/VEVENT", "VCALENDAR/VEVENT/VALARM"]);
    // 12 January and 49 days is 2 March; the event ends before the next day
    // (RFC 5545 3.6.1: the end is not part of it).
    assert!(lines.contains(&"DTSTART;VALUE=DATE:20260302".to_owned()));
    assert!(lines.contains(&"DTEND;VALUE=DATE:20260303".to_owned()));
    assert_eq!(value(&lines, "DTSTAMP"), "20260101T000000Z");
    assert_eq!(value(&lines, "TRIGGER"), "-P7D");
    let event: Vec<String> = lines.iter().take_while(|l| *l != "BEGIN:VALARM").cloned().collect();
    let said = unescaped(value(&event, "DESCRIPTION"));
    assert!(said.contains("Monday 23 February 2026") && said.contains("Monday 9 March 2026"), "{said}");
    assert!(said.contains("far enough, so it says."), "{said}");
}

#[test]
fn without_a_day_the_days_are_said_and_no_date_is_made_up() {
    let lines = strict_lines(&retape_calendar(&usual(), None, &first()));
    assert_eq!(nesting(&lines), ["VCALENDAR", "VCALENDAR/VTODO"]);
    assert!(lines.iter().all(|l| !l.starts_with("DTSTART") && !l.starts_with("DUE")));
    assert!(unescaped(value(&lines, "SUMMARY")).contains("49 days (7 weeks)"));
    let said = unescaped(value(&lines, "DESCRIPTION"));
    assert!(said.contains("day 42") && said.contains("day 56"), "{said}");
}

#[test]
fn the_identifier_is_the_plans_own_for_life_whatever_the_day() {
    let lines = |day: Option<Date>, entry: &Entry| strict_lines(&retape_calendar(&usual(), day, entry));
    let of = |day: Option<Date>, entry: &Entry, name: &str| value(&lines(day, entry), name).to_owned();
    let (day, other_day) = (Some(date(2026, 1, 12)), Some(date(2026, 1, 13)));
    let (hers, corrected) = (entry("0190b7a0-0000-7000-8000-000000000001", 1, 0), entry("0190b7a0-0000-7000-8000-000000000001", 2, 60));
    assert_eq!(of(day, &hers, "UID"), "0190b7a0-0000-7000-8000-000000000001@strandwright.invalid");
    assert_eq!(of(day, &hers, "UID"), of(other_day, &corrected, "UID"), "a corrected day is the same entry");
    assert_eq!(of(None, &hers, "UID"), of(day, &hers, "UID"));
    assert_eq!((of(day, &hers, "SEQUENCE"), of(other_day, &corrected, "SEQUENCE")), ("1".to_owned(), "2".to_owned()));
    assert_eq!(of(other_day, &corrected, "DTSTAMP"), "20260101T000100Z");
    // The same days and reasons for another client are another entry.
    assert_ne!(of(day, &hers, "UID"), of(day, &entry("0190b7a0-0000-7000-8000-000000000002", 1, 0), "UID"));
}

#[test]
fn without_records_the_entry_is_what_the_plan_was_made_for() {
    let uid = |made_for: &str, day: i8| {
        let entry = Entry::without_records(made_for, Timestamp::UNIX_EPOCH);
        value(&strict_lines(&retape_calendar(&usual(), Some(date(2026, 1, day)), &entry)), "UID").to_owned()
    };
    assert_eq!(uid("a head of 560 mm", 12), uid("a head of 560 mm", 13));
    assert_ne!(uid("a head of 560 mm", 12), uid("a head of 561 mm", 12));
}

#[test]
fn a_day_past_the_end_of_the_calendar_is_said_in_words() {
    let file = retape_calendar(&set(u32::MAX, [0, u32::MAX], &[]), Some(date(9999, 12, 1)), &first());
    assert!(nesting(&strict_lines(&file)).contains(&"VCALENDAR/VTODO".to_owned()));
}

#[test]
fn another_crates_parser_reads_the_same_texts() {
    let reason = "Grown; \"Zoë\", back\\slash 🙂 and a good deal more so that the line has to be folded twice over";
    let file = retape_calendar(&set(49, [42, 56], &[reason]), Some(date(2026, 1, 12)), &first());
    let unfolded = icalendar::parser::unfold(&file);
    let calendar = icalendar::parser::read_calendar(&unfolded).expect("it parses");
    let event = &calendar.components[0];
    assert_eq!(event.name.as_str(), "VEVENT");
    let said = event.find_prop("DESCRIPTION").expect("a description").val.to_string();
    assert_eq!(said.lines().nth(1), Some(reason));
    assert_eq!(event.find_prop("DTSTART").expect("a start").val.as_str(), "20260302");
    assert_eq!(event.components[0].name.as_str(), "VALARM");
}

/// A calendar as people keep one: read by PyPI icalendar, an entry replaces the
/// one of its identifier when its sequence is higher, or the same with a stamp
/// that is not earlier. *Source*: key `rfc5546`, section 2.1.5.
const CALENDAR: &str = "import sys, icalendar\n\
    kept = {}\n\
    for path in sys.argv[1:]:\n\
    \x20   for e in icalendar.Calendar.from_ical(open(path, 'rb').read()).walk():\n\
    \x20       if e.name not in ('VEVENT', 'VTODO'): continue\n\
    \x20       rank = (int(e['SEQUENCE']), e['DTSTAMP'].dt)\n\
    \x20       if str(e['UID']) not in kept or rank >= kept[str(e['UID'])][0]: kept[str(e['UID'])] = (rank, e)\n\
    for uid, (rank, e) in sorted(kept.items()): print(e.name, e['DTSTART'].dt if 'DTSTART' in e else '-')\n";

#[test]
fn a_calendar_keeps_one_entry_a_plan_and_the_corrected_day() {
    let Some(python) = std::env::var_os("STRANDWRIGHT_PYTHON").filter(|p| std::path::Path::new(p).exists()) else {
        eprintln!("STRANDWRIGHT_PYTHON names no interpreter: read by the other checks only");
        return;
    };
    let folder = tempfile::tempdir().unwrap();
    let imported = |files: &[(&str, u32, i64, Option<Date>)]| {
        let mut import = std::process::Command::new(&python);
        import.args(["-c", CALENDAR]);
        for (at, (plan, changes, seconds, day)) in files.iter().enumerate() {
            let path = folder.path().join(format!("{at}.ics"));
            std::fs::write(&path, retape_calendar(&usual(), *day, &entry(plan, *changes, *seconds))).unwrap();
            import.arg(path);
        }
        let out = import.output().expect("python starts");
        assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
        String::from_utf8(out.stdout).unwrap().lines().map(str::to_owned).collect::<Vec<_>>()
    };
    let (first, corrected) = (Some(date(2026, 1, 12)), Some(date(2026, 1, 10)));
    assert_eq!(imported(&[("a1", 1, 0, first), ("a1", 1, 0, first)]), ["VEVENT 2026-03-02"], "imported twice");
    assert_eq!(imported(&[("a1", 1, 0, first), ("a1", 2, 60, corrected)]), ["VEVENT 2026-02-28"], "the old reminder is gone");
    assert_eq!(imported(&[("a1", 2, 60, corrected), ("a1", 1, 0, first)]), ["VEVENT 2026-02-28"], "an old file changes nothing");
    let clients: Vec<String> = (1..=13).map(|n| format!("client-{n}")).collect();
    let all: Vec<(&str, u32, i64, Option<Date>)> = clients.iter().map(|client| (client.as_str(), 1, 0, first)).collect();
    assert_eq!(imported(&all).len(), 13, "thirteen clients are thirteen entries");
    assert_eq!(imported(&[("a1", 0, 0, None), ("a1", 1, 60, first)]), ["VEVENT 2026-03-02"], "the day is known now");
}

/// PyPI icalendar reads file and texts; it stands for the calendars people use.
#[test]
fn python_reads_the_same_day_and_texts() {
    let Some(python) = std::env::var_os("STRANDWRIGHT_PYTHON").filter(|p| std::path::Path::new(p).exists()) else {
        eprintln!("STRANDWRIGHT_PYTHON names no interpreter: read by the other checks only");
        return;
    };
    let reason = "Zoë, \"grown\"; back\\slash";
    let file = retape_calendar(&set(49, [42, 56], &[reason]), Some(date(2026, 1, 12)), &first());
    let script = "import sys, icalendar\n\
        c = icalendar.Calendar.from_ical(sys.stdin.buffer.read())\n\
        e = c.walk('VEVENT')[0]\n\
        a = e.walk('VALARM')[0]\n\
        sys.stdout.reconfigure(encoding='utf-8')\n\
        print(e['DESCRIPTION'].split('\\n')[1]); print(e['DTSTART'].dt); print(e['DTEND'].dt); print(a['TRIGGER'].dt.days)\n";
    let mut child = std::process::Command::new(python)
        .args(["-c", script])
        .stdin(std::process::Stdio::piped())
        .stdout(std::process::Stdio::piped())
        .spawn()
        .expect("python starts");
    std::io::Write::write_all(&mut child.stdin.take().expect("its input"), file.as_bytes()).expect("it listens");
    let out = child.wait_with_output().expect("it ends");
    assert!(out.status.success());
    let said = String::from_utf8(out.stdout).expect("text");
    assert_eq!(said.lines().collect::<Vec<_>>(), [reason, "2026-03-02", "2026-03-03", "-7"]);
}

proptest! {
    #[test]
    fn any_text_survives_the_file(reason in "(\\PC|[\\r\\n\\t\\\\;,:\"]){0,200}", due in 0_u32..400, dated in any::<bool>()) {
        let day = dated.then(|| date(2026, 1, 12));
        let file = retape_calendar(&set(due, [due, due + 7], &[&reason]), day, &first());
        prop_assert_eq!(&file, &retape_calendar(&set(due, [due, due + 7], &[&reason]), day, &first()));
        let lines = strict_lines(&file);
        nesting(&lines);
        let entry: Vec<String> = lines.iter().take_while(|l| *l != "BEGIN:VALARM").cloned().collect();
        let said = unescaped(value(&entry, "DESCRIPTION"));
        prop_assert!(said.contains(&paper::words::one_line(&reason)));
    }
}
