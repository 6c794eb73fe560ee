//! The log: what was done and what went wrong, in a file beside the records and
//! on the terminal.
//!
//! It says when, which change, at which address, with which outcome; of a fault
//! where it lies. It never holds a name, an answer or what was searched for:
//! texts from elsewhere lose everything in quotation marks and every digit,
//! since that is where a program's own complaint repeats what it was given.
//!
//! *Source*: key `owasplogging`, "Data to exclude" (health data, names).

use jiff::Timestamp;
use std::fmt::{Debug, Write as _};
use std::fs::{DirBuilder, File, OpenOptions};
use std::io::Write;
use std::os::unix::fs::{DirBuilderExt, OpenOptionsExt};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};
use tracing::field::{Field, Visit};
use tracing::{Event, Level, Subscriber};
use tracing_subscriber::layer::{Context, Layer};

/// The folder of the log, beside the records.
const FOLDER: &str = "log";
/// The file that is written to.
const NAME: &str = "strandwright.log";
/// A file this large is set aside and a new one begun.
const LARGEST_FILE: u64 = 1024 * 1024;
/// Files that are set aside; the oldest goes.
const SET_ASIDE: u32 = 3;
/// The most letters of a text from elsewhere.
const MOST_LETTERS: usize = 240;

/// Whose notes are taken: our own crates', not those of the libraries below, which
/// may repeat what they were given.
const OURS: &[&str] = &["strandwright", "desk", "store", "paper", "photo"];
/// What the program itself puts together from ids, verbs and numbers.
const PLAIN: &[&str] = &["verb", "path", "status", "ms", "place"];

/// Where notes go.
#[derive(Debug)]
pub struct Logbook {
    file: Option<Mutex<LogFile>>,
    terminal: bool,
}

impl Logbook {
    /// A log on the terminal alone.
    #[must_use]
    pub const fn on_terminal() -> Self {
        Self { file: None, terminal: true }
    }

    /// A log beside the records in `folder`, and on the terminal where that is wanted.
    ///
    /// *Errors*: the file cannot be written.
    pub fn beside(folder: &Path, terminal: bool) -> std::io::Result<Self> {
        Ok(Self { file: Some(Mutex::new(LogFile::open(folder.join(FOLDER))?)), terminal })
    }

    /// From now on every note of this program goes here, a panic's too.
    pub fn keep(self) {
        use tracing_subscriber::layer::SubscriberExt;
        // A second log in one process would be the first's double.
        let _ = tracing::subscriber::set_global_default(tracing_subscriber::registry().with(self));
        std::panic::set_hook(Box::new(|stumble| {
            let place = stumble.location().map(|at| format!("{}:{}", at.file(), at.line())).unwrap_or_default();
            let cause = stumble.payload_as_str().unwrap_or_default();
            tracing::error!(place, cause, "the program stumbled");
        }));
    }

    fn write(&self, line: &str) {
        if let Some(file) = &self.file {
            file.lock().unwrap_or_else(PoisonError::into_inner).write(line);
        }
        if self.terminal {
            // A terminal that went away does not stop the salon.
            let _ = std::io::stderr().lock().write_all(line.as_bytes());
        }
    }
}

impl<S: Subscriber> Layer<S> for Logbook {
    fn on_event(&self, event: &Event<'_>, _: Context<'_, S>) {
        let about = event.metadata();
        let whose = about.target().split("::").next().unwrap_or("");
        if *about.level() > Level::INFO || !OURS.contains(&whose) {
            return;
        }
        let mut note = Note::default();
        event.record(&mut note);
        let weight = match *about.level() {
            Level::ERROR => "fault",
            Level::WARN => "care",
            _ => "done",
        };
        self.write(&format!("{} {weight} {}{}\n", Timestamp::now().strftime("%Y-%m-%dT%H:%M:%SZ"), note.says, note.fields));
    }
}

/// A note as it is put together.
#[derive(Default)]
struct Note {
    says: String,
    fields: String,
}

impl Note {
    fn take(&mut self, field: &Field, value: &str) {
        // Writing into a string cannot fail.
        let _ = match field.name() {
            "message" => write!(self.says, "{}", without_what_was_given(value)),
            name if PLAIN.contains(&name) => write!(self.fields, " {name}={}", on_one_line(value)),
            name => write!(self.fields, " {name}=\"{}\"", without_what_was_given(value)),
        };
    }
}

impl Visit for Note {
    fn record_debug(&mut self, field: &Field, value: &dyn Debug) {
        self.take(field, &format!("{value:?}"));
    }

    fn record_str(&mut self, field: &Field, value: &str) {
        self.take(field, value);
    }
}

/// A text without what stands in quotation marks in it and without its digits:
/// a complaint says what is wrong outside of them.
fn without_what_was_given(text: &str) -> String {
    let mut out = String::new();
    let mut rest = text.chars();
    while let Some(c) = rest.next() {
        let end = match c {
            '"' | '`' => c,
            '“' => '”',
            '‘' => '’',
            '«' => '»',
            _ => {
                out.push(if c.is_numeric() { '#' } else { c });
                continue;
            }
        };
        out.push('…');
        // Without an end the whole rest is taken to be given.
        while let Some(inside) = rest.next() {
            if inside == '\\' {
                rest.next();
            } else if inside == end {
                break;
            }
        }
    }
    on_one_line(&out).chars().take(MOST_LETTERS).collect()
}

fn on_one_line(text: &str) -> String {
    text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect()
}

/// A file that is set aside when it is large.
#[derive(Debug)]
struct LogFile {
    folder: PathBuf,
    file: File,
    length: u64,
}

impl LogFile {
    fn open(folder: PathBuf) -> std::io::Result<Self> {
        if !folder.is_dir() {
            DirBuilder::new().mode(0o700).create(&folder)?;
        }
        let file = OpenOptions::new().append(true).create(true).mode(0o600).open(folder.join(NAME))?;
        let length = file.metadata()?.len();
        Ok(Self { folder, file, length })
    }

    fn write(&mut self, line: &str) {
        if self.length >= LARGEST_FILE {
            self.set_aside();
        }
        // A log that cannot be written must not stop the work; the terminal still has the note.
        if self.file.write_all(line.as_bytes()).is_ok() {
            self.length += line.len() as u64;
        }
    }

    fn set_aside(&mut self) {
        let aside = |n: u32| self.folder.join(format!("strandwright.{n}.log"));
        for n in (1..SET_ASIDE).rev() {
            let _ = std::fs::rename(aside(n), aside(n + 1));
        }
        let _ = std::fs::rename(self.folder.join(NAME), aside(1));
        if let Ok(new) = Self::open(self.folder.clone()) {
            *self = new;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::os::unix::fs::PermissionsExt;

    #[test]
    fn what_was_given_to_a_complaint_is_not_in_the_log() {
        for (given, kept) in [
            (r#"invalid type: string "Ilse", expected f64 at line 1 column 7"#, "invalid type: string …, expected f## at line # column #"),
            ("unknown field `pregnant`, expected one of `a`, `b`", "unknown field …, expected one of …, …"),
            (r#"Fault { what: "56 mm is \"no\" head", place: "head" }"#, "Fault { what: …, place: … }"),
            ("“Ilse” is no number", "… is no number"),
            ("it ends in \"the middle", "it ends in …"),
            ("two\nlines", "two lines"),
        ] {
            assert_eq!(without_what_was_given(given), kept);
        }
    }

    #[test]
    fn a_large_file_is_set_aside_and_the_oldest_goes() {
        let place = tempfile::tempdir().unwrap();
        let log = Logbook::beside(place.path(), false).unwrap();
        let line = format!("{}\n", "x".repeat(64 * 1024));
        for _ in 0..(LARGEST_FILE / 65_000) * u64::from(SET_ASIDE + 3) {
            log.write(&line);
        }
        let mut names: Vec<String> =
            std::fs::read_dir(place.path().join(FOLDER)).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
        names.sort();
        assert_eq!(names, ["strandwright.1.log", "strandwright.2.log", "strandwright.3.log", "strandwright.log"]);
        for name in names {
            let found = std::fs::metadata(place.path().join(FOLDER).join(name)).unwrap();
            assert!(found.len() <= LARGEST_FILE + 65_537, "{}", found.len());
            assert_eq!(found.permissions().mode() & 0o077, 0, "the owner's alone");
        }
    }
}
