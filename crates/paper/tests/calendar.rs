//! The calendar file against RFC 5545: by a strict reading of its lines, by the
//! parser of another crate, and by PyPI's `icalendar` where
//! `STRANDWRIGHT_PYTHON` names an interpreter that has it.

use jiff::civil::{Date, date};
use paper::retape_calendar;
use proptest::prelude::*;
use salon::plan::RetapePlan;

fn set(due: u32, window: [u32; 2], because: &[&str]) -> RetapePlan {
    RetapePlan { due, window, because: because.iter().map(|s| (*s).to_owned()).collect() }
}

fn usual() -> RetapePlan {
    set(49, [42, 56], &["Growth of 0.35 mm a day brings the bond to 22 mm; that is far enough, so it says.", "A set is re-taped every 6 to 8 weeks."])
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
    let file = retape_calendar(&usual(), Some(date(2026, 1, 12)));
    let lines = strict_lines(&file);
    assert_eq!(nesting(&lines), ["VCALENDAR", "VCALENDAR/VEVENT", "VCALENDAR/VEVENT/VALARM"]);
    // 12 January and 49 days is 2 March; the event ends before the next day
    // (RFC 5545 3.6.1: the end is not part of it).
    assert!(lines.contains(&"DTSTART;VALUE=DATE:20260302".to_owned()));
    assert!(lines.contains(&"DTEND;VALUE=DATE:20260303".to_owned()));
    assert_eq!(value(&lines, "DTSTAMP"), "20260112T000000Z");
    assert_eq!(value(&lines, "TRIGGER"), "-P7D");
    let event: Vec<String> = lines.iter().take_while(|l| *l != "BEGIN:VALARM").cloned().collect();
    let said = unescaped(value(&event, "DESCRIPTION"));
    assert!(said.contains("Monday 23 February 2026") && said.contains("Monday 9 March 2026"), "{said}");
    assert!(said.contains("far enough, so it says."), "{said}");
}

#[test]
fn without_a_day_the_days_are_said_and_no_date_is_made_up() {
    let lines = strict_lines(&retape_calendar(&usual(), None));
    assert_eq!(nesting(&lines), ["VCALENDAR", "VCALENDAR/VTODO"]);
    assert!(lines.iter().all(|l| !l.starts_with("DTSTART") && !l.starts_with("DUE")));
    assert!(unescaped(value(&lines, "SUMMARY")).contains("49 days (7 weeks)"));
    let said = unescaped(value(&lines, "DESCRIPTION"));
    assert!(said.contains("day 42") && said.contains("day 56"), "{said}");
}

#[test]
fn the_identifier_is_stable_and_tells_sets_apart() {
    let uid = |plan: &RetapePlan, day: Option<Date>| {
        value(&strict_lines(&retape_calendar(plan, day)), "UID").to_owned()
    };
    let day = Some(date(2026, 1, 12));
    assert_eq!(uid(&usual(), day), uid(&usual(), day));
    assert_ne!(uid(&usual(), day), uid(&usual(), Some(date(2026, 1, 13))));
    assert_ne!(uid(&usual(), day), uid(&set(50, [42, 56], &[]), day));
    assert_ne!(uid(&usual(), None), uid(&usual(), day));
}

#[test]
fn a_day_past_the_end_of_the_calendar_is_said_in_words() {
    let file = retape_calendar(&set(u32::MAX, [0, u32::MAX], &[]), Some(date(9999, 12, 1)));
    assert!(nesting(&strict_lines(&file)).contains(&"VCALENDAR/VTODO".to_owned()));
}

#[test]
fn another_crates_parser_reads_the_same_texts() {
    let reason = "Grown; \"Zoë\", back\\slash 🙂 and a good deal more so that the line has to be folded twice over";
    let file = retape_calendar(&set(49, [42, 56], &[reason]), Some(date(2026, 1, 12)));
    let unfolded = icalendar::parser::unfold(&file);
    let calendar = icalendar::parser::read_calendar(&unfolded).expect("it parses");
    let event = &calendar.components[0];
    assert_eq!(event.name.as_str(), "VEVENT");
    let said = event.find_prop("DESCRIPTION").expect("a description").val.to_string();
    assert_eq!(said.lines().nth(1), Some(reason));
    assert_eq!(event.find_prop("DTSTART").expect("a start").val.as_str(), "20260302");
    assert_eq!(event.components[0].name.as_str(), "VALARM");
}

/// PyPI icalendar reads file and texts; it stands for the calendars people use.
#[test]
fn python_reads_the_same_day_and_texts() {
    let Some(python) = std::env::var_os("STRANDWRIGHT_PYTHON").filter(|p| std::path::Path::new(p).exists()) else {
        eprintln!("STRANDWRIGHT_PYTHON names no interpreter: read by the other checks only");
        return;
    };
    let reason = "Zoë, \"grown\"; back\\slash";
    let file = retape_calendar(&set(49, [42, 56], &[reason]), Some(date(2026, 1, 12)));
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
        let file = retape_calendar(&set(due, [due, due + 7], &[&reason]), day);
        prop_assert_eq!(&file, &retape_calendar(&set(due, [due, due + 7], &[&reason]), day));
        let lines = strict_lines(&file);
        nesting(&lines);
        let entry: Vec<String> = lines.iter().take_while(|l| *l != "BEGIN:VALARM").cloned().collect();
        let said = unescaped(value(&entry, "DESCRIPTION"));
        prop_assert!(said.contains(&paper::words::one_line(&reason)));
    }
}
