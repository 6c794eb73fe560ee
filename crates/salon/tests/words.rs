//! Every sentence that the program has words for is said somewhere.

use std::fs;
use std::path::{Path, PathBuf};

fn sources(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()) {
        if entry.is_dir() {
            sources(&entry, found);
        } else if entry.extension().is_some_and(|kind| kind == "rs") && !entry.ends_with("salon/src/words.rs") {
            found.push(entry);
        }
    }
}

#[test]
fn every_message_is_said_by_some_code() {
    let crates = Path::new(env!("CARGO_MANIFEST_DIR")).parent().unwrap();
    let mut found = Vec::new();
    for floor in ["salon", "desk", "app"] {
        sources(&crates.join(floor).join("src"), &mut found);
    }
    let text: String = found.iter().map(|path| fs::read_to_string(path).unwrap()).collect();
    let is_said = |name: &str| {
        let after = |at: usize| text[at..].chars().next().is_some_and(|c| !c.is_alphanumeric());
        let named = format!("Message::{name}");
        text.match_indices(&named).any(|(at, _)| after(at + named.len()))
    };
    let listed = fs::read_to_string(crates.join("salon/src/words.rs")).unwrap();
    let named = listed.lines().filter_map(|line| line.strip_prefix("    ")?.split_once(" \""));
    let named: Vec<&str> = named.map(|(name, _)| name).filter(|name| name.chars().all(char::is_alphanumeric)).collect();
    assert!(named.len() > 100, "{named:?}");
    for name in named {
        assert!(is_said(name), "nothing says Message::{name}");
    }
    assert!(!is_said("NothingOfTheKind"));
}
