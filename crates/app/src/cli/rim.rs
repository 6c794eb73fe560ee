//! Where the command line meets files and the terminal.

use crate::error::Failure;
use serde::Serialize;
use std::io::{BufRead, Read, Write};
use std::path::{Path, PathBuf};

/// The most that any text input may hold. A head mesh of a million vertices
/// takes about 80 MB as text.
const MOST_BYTES: u64 = 256 * 1024 * 1024;

/// A file's bytes, or standard input for `-`.
///
/// *Errors*: the file is missing, cannot be read or is larger than any input is.
pub fn read_bytes(path: &Path) -> Result<Vec<u8>, Failure> {
    let mut bytes = Vec::new();
    let read = if path == Path::new("-") {
        std::io::stdin().lock().take(MOST_BYTES + 1).read_to_end(&mut bytes)
    } else {
        std::fs::File::open(path).and_then(|file| file.take(MOST_BYTES + 1).read_to_end(&mut bytes))
    };
    match read {
        Ok(length) if length as u64 > MOST_BYTES => {
            Err(Failure::bad_input(format!("{} is larger than {} MB: no input of this kind is", shown(path), MOST_BYTES >> 20)))
        }
        Ok(_) => Ok(bytes),
        Err(error) => Err(Failure::bad_input(unreadable(path, &error))),
    }
}

fn unreadable(path: &Path, error: &std::io::Error) -> String {
    let name = shown(path);
    match error.kind() {
        std::io::ErrorKind::NotFound => format!("{name} is not there: check the name and the folder"),
        std::io::ErrorKind::PermissionDenied => format!("{name} may not be read: check who may open it"),
        std::io::ErrorKind::IsADirectory => format!("{name} is a folder: name a file in it"),
        _ => format!("{name} cannot be read ({error})"),
    }
}

/// A path as it is shown to a person.
#[must_use]
pub fn shown(path: &Path) -> String {
    if path == Path::new("-") { "standard input".to_owned() } else { path.display().to_string() }
}

/// A file's text, or standard input for `-`.
///
/// *Errors*: as [`read_bytes`], or the bytes are not UTF-8 text.
pub fn read_text(path: &Path) -> Result<String, Failure> {
    let bytes = read_bytes(path)?;
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").map(<[u8]>::to_vec).unwrap_or(bytes);
    String::from_utf8(bytes)
        .map_err(|_| Failure::bad_input(format!("{} is not plain text (UTF-8): save it as plain text and try again", shown(path))))
}

/// A JSON file as a value of a known shape.
///
/// *Errors*: as [`read_text`], or the text does not have that shape: where, and what was expected.
pub fn read_json<T: serde::de::DeserializeOwned>(path: &Path) -> Result<T, Failure> {
    from_json(&read_text(path)?, &shown(path))
}

/// A JSON text as a value of a known shape.
///
/// *Errors*: the text does not have that shape: where, and what was expected.
pub fn from_json<T: serde::de::DeserializeOwned>(text: &str, name: &str) -> Result<T, Failure> {
    serde_json::from_str(text).map_err(|error| {
        let said = error.to_string();
        let what = said.split(" at line ").next().unwrap_or(&said);
        let hint = nearest_named(what);
        Failure::bad_input(format!("{name}, line {}, column {}: {what}{hint}", error.line(), error.column()))
    })
}

/// A TOML text as a value of a known shape.
///
/// *Errors*: the text does not have that shape: the line, and what was expected.
pub fn from_toml<T: serde::de::DeserializeOwned>(text: &str, name: &str) -> Result<T, Failure> {
    toml::from_str(text).map_err(|error| {
        let what = error.message();
        let place = error.span().map_or_else(String::new, |span| {
            let before = &text[..span.start.min(text.len())];
            format!(", line {}", before.matches('\n').count() + 1)
        });
        Failure::bad_input(format!("{name}{place}: {what}{}", nearest_named(what)))
    })
}

/// Facts that cannot be used, a line a fault.
#[must_use]
pub fn bad_facts(name: &str, faults: &[::salon::Fault]) -> Failure {
    let lines: Vec<String> = faults.iter().map(|fault| format!("{name}: {fault}")).collect();
    Failure::bad_input(lines.join("\n"))
}

/// The longest line of a text that is read line by line.
const LONGEST_LINE: u64 = 16 * 1024 * 1024;

/// A file's lines, or those of standard input for `-`, each as soon as it is there.
///
/// *Errors*: the file cannot be read; of a line: it is longer than any is, or no UTF-8 text.
pub fn lines(path: &Path) -> Result<impl Iterator<Item = Result<String, Failure>>, Failure> {
    let source: Box<dyn Read> = if path == Path::new("-") {
        Box::new(std::io::stdin())
    } else {
        Box::new(std::fs::File::open(path).map_err(|error| Failure::bad_input(unreadable(path, &error)))?)
    };
    let (mut source, name) = (std::io::BufReader::new(source), shown(path));
    Ok(std::iter::from_fn(move || {
        let mut line = Vec::new();
        match source.by_ref().take(LONGEST_LINE).read_until(b'\n', &mut line) {
            Ok(0) => None,
            Ok(length) if length as u64 == LONGEST_LINE => {
                Some(Err(Failure::bad_input(format!("a line of {name} is longer than {} MB", LONGEST_LINE >> 20))))
            }
            Ok(_) => Some(
                String::from_utf8(line)
                    .map_err(|_| Failure::bad_input(format!("{name} is not plain text (UTF-8): save it as plain text and try again"))),
            ),
            Err(error) => Some(Err(Failure::bad_input(format!("{name} cannot be read ({error})")))),
        }
    }))
}

/// Writes a file that only its owner may read; one that is there is not written over.
///
/// *Errors*: it is there already, or cannot be written.
pub fn write_private(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    let mut options = std::fs::OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    let written = options.open(path).and_then(|mut file| file.write_all(bytes).and_then(|()| file.sync_all()));
    written.map_err(|error| Failure::cannot(format!("{} cannot be written ({error}): name a new file", shown(path))))
}

/// Writes one file so that it is never half written.
///
/// *Errors*: the file cannot be written; what was begun is removed.
pub fn write_file(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    let folder = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let name = path
        .file_name()
        .ok_or_else(|| Failure::bad_input(format!("{} names no file to write", path.display())))?
        .to_string_lossy()
        .into_owned();
    write_files(folder, &[(name, bytes.to_vec())])
}

/// For an unknown key, the nearest of the keys that serde lists.
#[must_use]
pub fn nearest_named(said: &str) -> String {
    let Some(rest) = said.strip_prefix("unknown field `") else { return String::new() };
    let mut quoted = rest.split('`');
    let unknown = quoted.next().unwrap_or("");
    let known: Vec<&str> = quoted.skip(1).step_by(2).collect();
    ::salon::client::nearest_key(unknown, &known).map_or_else(String::new, |near| format!("; did you mean `{near}`?"))
}

/// Prints text to standard output; a reader that went away is no fault.
///
/// *Errors*: standard output cannot be written.
pub fn print(text: &str) -> Result<(), Failure> {
    let mut out = std::io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(error) if error.kind() != std::io::ErrorKind::BrokenPipe => {
            Err(Failure::cannot(format!("standard output cannot be written ({error})")))
        }
        _ => Ok(()),
    }
}

/// Prints one JSON document and a line end.
///
/// *Errors*: standard output cannot be written.
pub fn print_json(value: &impl Serialize) -> Result<(), Failure> {
    print(&json_text(value)?)
}

/// One JSON document with a line end, laid out for reading.
///
/// *Errors*: the value cannot be written as JSON (our own fault).
pub fn json_text(value: &impl Serialize) -> Result<String, Failure> {
    let mut text =
        serde_json::to_string_pretty(value).map_err(|error| Failure::cannot(format!("the answer cannot be written as JSON ({error})")))?;
    text.push('\n');
    Ok(text)
}

/// Writes files into a folder so that none is ever half written: each goes to a
/// hidden name first, and only when all are there do they take their own names.
///
/// *Errors*: the folder or a file cannot be written; what was begun is removed.
pub fn write_files(folder: &Path, files: &[(String, Vec<u8>)]) -> Result<(), Failure> {
    let failed = |what: &Path, error: std::io::Error| {
        Failure::cannot(format!("{} cannot be written ({error}): check the folder and the space left", what.display()))
    };
    std::fs::create_dir_all(folder).map_err(|error| failed(folder, error))?;
    let mut begun: Vec<(PathBuf, PathBuf)> = Vec::new();
    let written = files.iter().try_for_each(|(name, bytes)| {
        let hidden = folder.join(format!(".{name}.part"));
        begun.push((hidden.clone(), folder.join(name)));
        std::fs::File::create(&hidden)
            .and_then(|mut file| file.write_all(bytes).and_then(|()| file.sync_all()))
            .map_err(|error| failed(&hidden, error))
    });
    let placed = written
        .and_then(|()| begun.iter().try_for_each(|(hidden, name)| std::fs::rename(hidden, name).map_err(|error| failed(name, error))));
    if placed.is_err() {
        for (hidden, _) in &begun {
            // What could not be removed was never made, or the disk is gone; the failure is told anyway.
            let _ = std::fs::remove_file(hidden);
        }
    }
    placed
}
