//! The program as a user runs it.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// What a run came to.
pub struct Ran {
    pub code: i32,
    pub out: String,
    pub err: String,
}

/// Runs the program with arguments and nothing on standard input.
pub fn run(arguments: &[&str]) -> Ran {
    let output = Command::new(env!("CARGO_BIN_EXE_strandwright")).args(arguments).stdin(Stdio::null()).output().unwrap();
    Ran {
        code: output.status.code().unwrap(),
        out: String::from_utf8(output.stdout).unwrap(),
        err: String::from_utf8(output.stderr).unwrap(),
    }
}

/// The folder of the case book.
pub fn casebook() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../casebook")
}

/// The stories of the case book.
pub fn stories() -> Vec<String> {
    let mut names: Vec<String> = std::fs::read_dir(casebook())
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.join("client.toml").is_file())
        .map(|path| path.file_name().unwrap().to_string_lossy().into_owned())
        .collect();
    names.sort();
    names
}

/// A story's plan as JSON.
pub fn plan_of(story: &str) -> serde_json::Value {
    let client = casebook().join(story).join("client.toml");
    let ran = run(&["plan", client.to_str().unwrap(), "--json"]);
    assert!(ran.code == 0 || ran.code == 1, "{story}: {}", ran.err);
    serde_json::from_str(&ran.out).unwrap()
}
