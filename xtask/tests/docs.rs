//! What every docstring must hold.

use std::path::{Path, PathBuf};
use xtask::docs::{entries, silent_failures, sources};

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().unwrap().to_path_buf()
}

/// The crates whose entries must be shown in use: what is true for anyone, and the trade's rules.
const SHOWN_IN_USE: &[&str] = &["measure", "colour", "head", "reading", "craft"];

#[test]
fn every_entry_of_the_lower_floors_has_an_example() {
    let mut faults = Vec::new();
    for name in SHOWN_IN_USE {
        let found = entries(&sources(&root().join("crates").join(name).join("src/lib.rs")).unwrap());
        assert!(found.len() > 5, "the entries of {name} are not found");
        let bare = found.into_iter().filter(|(_, _, has_example)| !has_example);
        faults.extend(bare.map(|(path, item, _)| format!("{}:{}: {}", path.display(), item.line, item.name)));
    }
    assert!(faults.is_empty(), "show each in use, a small input beside its answer:\n{}", faults.join("\n"));
}

/// `app` is a program: nobody outside calls its functions, and what a page or command ends
/// in (`Trouble`, `Failure`) is words for the person before it.
const LIBRARIES: &[&str] = &["measure", "colour", "head", "reading", "craft", "salon", "store", "paper", "photo", "desk"];

#[test]
fn every_fallible_public_function_says_how_it_fails() {
    let mut faults = Vec::new();
    let roots = LIBRARIES.iter().map(|name| root().join("crates").join(name)).chain([root().join("xtask")]);
    for library in roots {
        for source in sources(&library.join("src/lib.rs")).unwrap() {
            let silent = silent_failures(&source.code);
            faults.extend(silent.iter().map(|item| format!("{}:{}: {}", source.path.display(), item.line, item.name)));
        }
    }
    assert!(faults.is_empty(), "say *Errors*: what and when:\n{}", faults.join("\n"));
}
