//! Invariants of absence: what must never be in the house.
//!
//! Each check is a function of plain data, so that the tests beside it can show
//! that it does find what it is meant to find.

use serde_json::Value;
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::process::Command;

/// The crates by floor, lowest first.
const FLOORS: &[&[&str]] =
    &[&["measure"], &["colour", "head"], &["craft", "reading"], &["salon"], &["store", "paper", "photo"], &["desk"], &["app"]];

/// Outside crates that floors 0 to 3 may lean on: mathematics alike on every machine (libm),
/// the processor's wide registers (pulp), shapes and faults written by derive (serde,
/// thiserror), how many letters two words are apart (strsim), and messages from words that
/// are compiled in (fluent-bundle).
const PURE_MAY_USE: &[&str] = &["fluent-bundle", "libm", "pulp", "serde", "strsim", "thiserror"];

/// Floors 0 to 3 are pure.
const PURE_FLOORS: usize = 4;

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().unwrap().to_path_buf()
}

fn floor_of(name: &str) -> Option<usize> {
    FLOORS.iter().position(|floor| floor.contains(&name))
}

/// Faults of the leaning of `package` on `dependencies`.
fn leaning_faults(package: &str, dependencies: &[String]) -> Vec<String> {
    let Some(floor) = floor_of(package) else { return Vec::new() };
    let mut faults = Vec::new();
    for dependency in dependencies {
        if package == "app" && dependency == "store" {
            faults.push("app leans on store: pages and commands reach what is kept through desk alone".to_owned());
        }
        match floor_of(dependency) {
            Some(below) if below >= floor => {
                faults.push(format!("{package} (floor {floor}) leans on {dependency} (floor {below})"));
            }
            None if floor < PURE_FLOORS && !PURE_MAY_USE.contains(&dependency.as_str()) => {
                faults.push(format!("{package} is pure and must not use the outside crate {dependency}"));
            }
            _ => {}
        }
    }
    faults
}

fn metadata() -> Value {
    let output = Command::new(env!("CARGO"))
        .args(["metadata", "--format-version", "1", "--no-deps", "--offline"])
        .current_dir(root())
        .output()
        .unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    serde_json::from_slice(&output.stdout).unwrap()
}

#[test]
fn a_crate_leans_only_on_lower_floors() {
    let metadata = metadata();
    let mut faults = Vec::new();
    let mut seen = BTreeSet::new();
    for package in metadata["packages"].as_array().unwrap() {
        let name = package["name"].as_str().unwrap();
        seen.insert(name.to_owned());
        let normal: Vec<String> = package["dependencies"]
            .as_array()
            .unwrap()
            .iter()
            .filter(|d| d["kind"].is_null())
            .map(|d| d["name"].as_str().unwrap().to_owned())
            .collect();
        faults.extend(leaning_faults(name, &normal));
    }
    for name in FLOORS.iter().flat_map(|floor| floor.iter()) {
        assert!(seen.contains(*name), "the floor plan names {name}, which is not in the workspace");
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn no_file_leans_on_one_that_leans_on_it() {
    let mut faults = Vec::new();
    for name in FLOORS.iter().copied().flatten() {
        let source = root().join("crates").join(name).join("src");
        let begins = ["lib.rs", "main.rs"].map(|file| source.join(file));
        let found = begins.iter().filter(|file| file.is_file()).flat_map(|file| xtask::leaning::circles(file).unwrap());
        faults.extend(found.map(|circle| format!("{name}: {}", circle.join(", "))));
    }
    assert!(faults.is_empty(), "let what they share stand in a file below them:\n{}", faults.join("\n"));
}

#[test]
fn leaning_up_sideways_and_outside_is_found() {
    let on = |names: &[&str]| names.iter().map(|n| (*n).to_owned()).collect::<Vec<_>>();
    assert_eq!(leaning_faults("app", &on(&["store"])).len(), 1);
    assert_eq!(leaning_faults("app", &on(&["desk", "salon"])).len(), 0);
    assert_eq!(leaning_faults("craft", &on(&["head", "measure", "serde"])).len(), 0);
    assert_eq!(leaning_faults("head", &on(&["craft"])).len(), 1, "upward");
    assert_eq!(leaning_faults("store", &on(&["paper"])).len(), 1, "sideways");
    assert_eq!(leaning_faults("salon", &on(&["tokio"])).len(), 1, "outside");
    assert_eq!(leaning_faults("store", &on(&["tokio"])).len(), 0, "the rim may");
}

/// Every file of the project that git tracks or would track.
fn project_files() -> Vec<PathBuf> {
    let output =
        Command::new("git").args(["ls-files", "--cached", "--others", "--exclude-standard", "-z"]).current_dir(root()).output().unwrap();
    String::from_utf8(output.stdout)
        .unwrap()
        .split('\0')
        .filter(|path| !path.is_empty())
        .map(|path| root().join(path))
        .filter(|path| path.is_file())
        .collect()
}

fn rust_files_of_pure_floors() -> Vec<PathBuf> {
    let pure: Vec<PathBuf> =
        FLOORS[..PURE_FLOORS].iter().flat_map(|floor| floor.iter()).map(|name| root().join("crates").join(name).join("src")).collect();
    project_files()
        .into_iter()
        .filter(|path| path.extension().is_some_and(|e| e == "rs"))
        .filter(|path| pure.iter().any(|folder| path.starts_with(folder)))
        .collect()
}

/// Names of the platform's own mathematics, whose last digit is not the same everywhere.
const PLATFORM_MATHEMATICS: &[&str] = &[
    ".sin()",
    ".cos()",
    ".tan()",
    ".asin()",
    ".acos()",
    ".atan()",
    ".atan2(",
    ".exp()",
    ".exp2()",
    ".ln()",
    ".log10()",
    ".log2()",
    ".powf(",
    ".powi(",
    ".cbrt()",
    ".hypot(",
    ".sin_cos()",
    ".sinh()",
    ".cosh()",
    ".tanh()",
];

/// What the pure floors must not know: the clock, chance, files, the network, the environment.
const IMPURE: &[&str] = &["std::time", "std::fs", "std::net", "std::env", "std::io", "std::process", "SystemTime", "Instant::now"];

fn found<'a>(text: &str, words: &[&'a str]) -> Vec<(usize, &'a str)> {
    // Tests at the foot of a file may use what they like.
    let code = text.split("#[cfg(test)]").next().unwrap_or("");
    let mut hits = Vec::new();
    for (number, line) in code.lines().enumerate() {
        let line = line.split("//").next().unwrap_or("");
        for word in words {
            if line.contains(word) {
                hits.push((number + 1, *word));
            }
        }
    }
    hits
}

#[test]
fn the_pure_floors_use_deterministic_mathematics_and_no_world() {
    let mut faults = Vec::new();
    for path in rust_files_of_pure_floors() {
        let text = std::fs::read_to_string(&path).unwrap();
        for (line, word) in found(&text, PLATFORM_MATHEMATICS).into_iter().chain(found(&text, IMPURE)) {
            faults.push(format!("{}:{line}: {word}", path.display()));
        }
    }
    assert!(faults.is_empty(), "use measure::real, or hand the world in:\n{}", faults.join("\n"));
}

#[test]
fn platform_mathematics_is_found_outside_comments_and_tests() {
    let text = "let a = x.sin();\n// y.cos()\n#[cfg(test)]\nlet b = z.exp();\n";
    assert_eq!(found(text, PLATFORM_MATHEMATICS), vec![(1, ".sin()")]);
    assert_eq!(found("use std::time::Duration;", IMPURE), vec![(1, "std::time")]);
}

/// Quantities of the trade: a page or command that makes one from a number of its
/// own holds a rule that belongs in `craft`. What is only drawn says so in its name.
const QUANTITIES: &[&str] = &["Length::", "Grams::", "Density::", "Area::", "Days::", "Celsius::", "Force::"];

/// Lines of code that make a quantity from a number.
fn numbers_of_the_trade(text: &str) -> Vec<usize> {
    let code = text.split("#[cfg(test)]").next().unwrap_or("");
    let makes = |line: &str| {
        QUANTITIES.iter().any(|quantity| {
            line.match_indices(quantity).any(|(at, _)| {
                let Some((_, inside)) = line[at + quantity.len()..].split_once('(') else { return false };
                let value = inside.trim_start().trim_start_matches('-');
                value.starts_with(|c: char| c.is_ascii_digit()) && !value.starts_with("0.0)")
            })
        })
    };
    let drawn = |line: &str| line.contains("const ") && line.split(':').next().is_some_and(|name| name.trim_end().ends_with("_DRAWN"));
    let lines = code.lines().enumerate().filter(|(_, line)| !line.trim_start().starts_with("//"));
    lines.filter(|(_, line)| makes(line) && !drawn(line)).map(|(number, _)| number + 1).collect()
}

#[test]
fn pages_and_commands_hold_no_number_of_the_trade() {
    let mut faults = Vec::new();
    for path in project_files() {
        let name = path.display().to_string();
        let is_above = ["crates/app/src/", "crates/desk/src/"].iter().any(|place| name.contains(place));
        if !is_above || !name.ends_with(".rs") {
            continue;
        }
        for line in numbers_of_the_trade(&std::fs::read_to_string(&path).unwrap()) {
            faults.push(format!("{name}:{line}"));
        }
    }
    assert!(faults.is_empty(), "make it a rule of craft:\n{}", faults.join("\n"));
}

#[test]
fn a_number_of_the_trade_is_found_outside_drawings_and_tests() {
    let text = "let a = Length::mm(25.0);\nconst B_DRAWN: Length = Length::mm(8.0);\n// Length::mm(1.0)\nlet c = Length::mm(typed);\n\
        let d = Grams::g(2.5);\n#[cfg(test)]\nlet e = Days::days(3.0);\n";
    assert_eq!(numbers_of_the_trade(text), [1, 5]);
}

/// What only `measure::text` writes: a capital at the beginning, several things in a row.
const WRITTEN_ONCE: &[&str] = &[".to_uppercase()", ".join(\" and \")", "fn capital("];

#[test]
fn sentences_and_lists_are_written_in_one_place() {
    let mut faults = Vec::new();
    for path in project_files() {
        let name = path.display().to_string();
        let is_ours = name.contains("/crates/") && name.contains("/src/") && name.ends_with(".rs");
        if !is_ours || name.ends_with("crates/measure/src/text.rs") {
            continue;
        }
        for (line, word) in found(&std::fs::read_to_string(&path).unwrap(), WRITTEN_ONCE) {
            faults.push(format!("{name}:{line}: {word}"));
        }
    }
    assert!(faults.is_empty(), "use measure::text:\n{}", faults.join("\n"));
    assert_eq!(found("let a = word.to_uppercase();\n// .to_uppercase()\n", WRITTEN_ONCE), [(1, ".to_uppercase()")]);
}

/// The sentences that a crate's `words.rs` lists and no code says.
fn never_said(listed: &str, code: &str) -> Vec<String> {
    let list = listed.split("in include_str!").nth(1).and_then(|rest| rest.split("\n}").next()).unwrap_or("");
    let first = |line: &str| line.trim().split([' ', ',']).next().unwrap_or("").to_owned();
    let names = list.lines().skip(1).map(first).filter(|name| name.starts_with(char::is_uppercase));
    let is_said = |name: &str| {
        let named = format!("Message::{name}");
        code.match_indices(&named).any(|(at, _)| !code[at + named.len()..].starts_with(char::is_alphanumeric))
    };
    names.filter(|name| !is_said(name)).collect()
}

#[test]
fn every_sentence_is_said_by_some_code() {
    let files = project_files();
    let code_of = |name: &str| {
        let folder = root().join("crates").join(name).join("src");
        let own = files.iter().filter(|path| path.starts_with(&folder) && path.extension().is_some_and(|kind| kind == "rs"));
        own.filter(|path| **path != folder.join("words.rs")).map(|path| std::fs::read_to_string(path).unwrap()).collect::<String>()
    };
    let mut faults = Vec::new();
    let mut crates = 0;
    for name in FLOORS.iter().copied().flatten().filter(|name| root().join("crates").join(name).join("words/en.ftl").is_file()) {
        crates += 1;
        // What the salon says is said above it too.
        let code: String = if *name == "salon" { ["salon", "desk", "app"].map(code_of).concat() } else { code_of(name) };
        let listed = std::fs::read_to_string(root().join("crates").join(name).join("src/words.rs")).unwrap();
        faults.extend(never_said(&listed, &code).into_iter().map(|message| format!("{name}: Message::{message}")));
    }
    assert!(crates >= 5, "crates with words are gone");
    assert!(faults.is_empty(), "say it, or take it out of words.rs and en.ftl:\n{}", faults.join("\n"));
}

#[test]
fn a_sentence_that_nobody_says_is_found() {
    let listed = "enum Message in include_str!(\"x\");\n    Said \"said\",\n    SaidLonger \"said-longer\" { a, b: u32 },\n    Gone \"gone\" {\n        a,\n    },\n}\n";
    assert_eq!(never_said(listed, "Message::SaidLonger { a, b }"), ["Said", "Gone"]);
    assert_eq!(never_said(listed, "[Message::Said, words::Message::SaidLonger { a, b }, Message::Gone]"), Vec::<String>::new());
}

/// The files that a page of words names, by their place in the repository.
fn files_named(text: &str) -> Vec<String> {
    let named = text.split('`').skip(1).step_by(2);
    named.filter(|name| name.starts_with("crates/") && name.contains('.') && !name.contains([' ', '*'])).map(str::to_owned).collect()
}

#[test]
fn the_walks_name_files_that_are_there() {
    let named = files_named(&std::fs::read_to_string(root().join("ARCHITECTURE.md")).unwrap());
    assert!(named.len() > 25, "the walks are gone: {named:?}");
    let gone: Vec<&String> = named.iter().filter(|name| !root().join(name).is_file()).collect();
    assert!(gone.is_empty(), "ARCHITECTURE.md names what is not there: {gone:?}");
    assert_eq!(files_named("see `crates/a/src/b.rs`, `crates/a`, `x.rs` and `crates/c.toml`"), ["crates/a/src/b.rs", "crates/c.toml"]);
}

/// The keys that SOURCES.bib defines.
fn bibliography(text: &str) -> BTreeSet<String> {
    text.lines()
        .filter_map(|line| line.trim().strip_prefix('@'))
        .filter_map(|entry| entry.split_once('{'))
        .map(|(_, rest)| rest.trim_end_matches(',').trim().to_owned())
        .collect()
}

/// What opens a citation in a comment.
const CITES: &[&str] = &["*Source*", "*Sources*", "Source:", "Sources:", "Source key"];

/// What a citation without a key may say instead (CONTRIBUTING.md, "A *Source*").
const NO_KEY: &[&str] = &["our choice", "our own", "from memory", "common practice", "as [`", "as `", "as in `", "measured by `"];

/// The citations in the comments of a file: the line each begins at, and its text to
/// the end of its paragraph or to the next one.
fn citations(text: &str) -> Vec<(usize, String)> {
    let mut found: Vec<(usize, String)> = Vec::new();
    let mut open = false;
    for (number, line) in text.lines().enumerate() {
        let comment = line.trim_start().strip_prefix("//").map_or("", |rest| rest.trim_start_matches(['/', '!']).trim());
        if let Some(at) = CITES.iter().filter_map(|word| comment.find(word)).min() {
            found.push((number + 1, comment[at..].to_owned()));
            open = true;
        } else if comment.is_empty() {
            open = false;
        } else if let (true, Some((_, passage))) = (open, found.last_mut()) {
            *passage = format!("{passage} {comment}");
        }
    }
    found
}

/// The keys that a citation names: "key `a`", "keys `a`, `b` and `c`".
fn keys_named(passage: &str) -> Vec<String> {
    let mut keys = Vec::new();
    for list in passage.to_lowercase().replace("keys `", "key `").split("key `").skip(1) {
        let mut pieces = list.split('`');
        while let Some(key) = pieces.next() {
            keys.push(key.to_owned());
            if !pieces.next().is_some_and(|between| [",", "and", ", and"].contains(&between.trim())) {
                break;
            }
        }
    }
    keys
}

/// What is wrong with a citation, if anything.
fn citation_fault(passage: &str, known: &BTreeSet<String>) -> Option<String> {
    let keys = keys_named(passage);
    let missing: Vec<&String> = keys.iter().filter(|key| !known.contains(*key)).collect();
    if !missing.is_empty() {
        return Some(format!("not in SOURCES.bib: {missing:?}"));
    }
    let said = passage.to_lowercase();
    let is_plain = !keys.is_empty() || NO_KEY.iter().any(|saying| said.contains(saying));
    (!is_plain).then(|| format!("names no key and does not say that there is none: {passage}"))
}

/// The keys that the rules of `craft` give as data, each with its rule.
fn keys_of_rules() -> Vec<(&'static str, &'static str)> {
    let numbers = craft::all_rules().into_iter().map(|rule| (rule.id, rule.source));
    let consultation = craft::suitability::CONSULTATION.iter().map(|rule| (rule.id, rule.source));
    let split = |(id, keys): (&'static str, &'static str)| keys.split([',', ';']).map(move |key| (id, key.trim()));
    numbers.chain(consultation).flat_map(split).filter(|(_, key)| !key.is_empty()).collect()
}

#[test]
fn every_citation_names_a_source_or_says_that_there_is_none() {
    let known = bibliography(&std::fs::read_to_string(root().join("SOURCES.bib")).unwrap());
    let (mut faults, mut unnamed) = (Vec::new(), known.clone());
    for (id, key) in keys_of_rules() {
        unnamed.remove(key);
        if !known.contains(key) {
            faults.push(format!("rule {id}: not in SOURCES.bib: {key}"));
        }
    }
    for path in project_files() {
        let kind = path.extension().and_then(|kind| kind.to_str()).unwrap_or("");
        // This file's own examples cite what is not there; CONTRIBUTING.md's stand for any.
        if !["rs", "md"].contains(&kind) || path.ends_with("xtask/tests/tidy.rs") || path.ends_with("CONTRIBUTING.md") {
            continue;
        }
        let text = std::fs::read_to_string(&path).unwrap();
        if kind == "md" {
            unnamed.retain(|key| !text.split('`').any(|word| word == key));
            continue;
        }
        for (line, passage) in citations(&text) {
            let named = keys_named(&passage);
            unnamed.retain(|key| !named.contains(key));
            faults.extend(citation_fault(&passage, &known).map(|fault| format!("{}:{line}: {fault}", path.display())));
        }
    }
    faults.extend(unnamed.iter().map(|key| format!("SOURCES.bib: {key} is named nowhere")));
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn a_citation_without_a_source_and_a_key_that_is_not_there_are_found() {
    let known = bibliography("@article{here2020,\n  title = {x}\n}\n");
    assert!(known.contains("here2020") && !known.contains("gone2020"));
    let text = "/// A law. *Source*: keys `here2020`,\n/// `gone2020`.\n/// More of it.\n///\n/// No more.\nlet x = \"Source: z\";\n\
        // Source: Somebody 2020.\n// *Source*: our choice.\n";
    let found = citations(text);
    let all = |n: usize| found[n].1.as_str();
    assert_eq!(found.iter().map(|(line, _)| *line).collect::<Vec<_>>(), [1, 7, 8]);
    assert_eq!(all(0), "*Source*: keys `here2020`, `gone2020`. More of it.");
    assert_eq!(keys_named("Key `a` by `b`; keys `c`, `d` and `e`, as `f`"), ["a", "c", "d", "e"]);
    assert!(citation_fault(all(0), &known).unwrap().contains("gone2020"), "an unknown key beside a known one");
    assert!(citation_fault(all(1), &known).unwrap().contains("names no key"), "free words");
    assert_eq!(citation_fault(all(2), &known), None);
    assert_eq!(citation_fault("*Source*: key `here2020`.", &known), None);
}

#[test]
fn rules_are_named_once_and_lie_in_their_own_range() {
    let mut seen = BTreeSet::new();
    for rule in craft::all_rules() {
        assert!(seen.insert(rule.id), "two rules are called {}", rule.id);
        let (low, high) = rule.range;
        assert!(low <= rule.value && rule.value <= high, "rule {} is outside its own range", rule.id);
        assert!(!rule.says.trim().is_empty(), "rule {} says nothing", rule.id);
        let founded = matches!(rule.grade, measure::Grade::Standard | measure::Grade::Measured | measure::Grade::Handbook);
        assert!(!founded || !rule.source.is_empty(), "rule {} claims a source and names none", rule.id);
    }
}

#[test]
fn the_page_of_rules_is_fresh() {
    let kept = std::fs::read_to_string(root().join("docs/rules.md")).unwrap();
    assert!(kept == xtask::rules_page(), "docs/rules.md is stale: cargo run -p xtask -- rules > docs/rules.md");
}

#[test]
fn no_file_is_left_open_or_names_a_machine() {
    // Written in pieces so that this file does not find itself.
    let words: Vec<String> =
        [("TO", "DO"), ("FIX", "ME"), ("coming", " soon"), ("/ro", "ot/"), ("/ho", "me/")].iter().map(|(a, b)| format!("{a}{b}")).collect();
    let mut faults = Vec::new();
    for path in project_files() {
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        if name == "package-lock.json" || name == "Cargo.lock" {
            continue;
        }
        let Ok(text) = std::fs::read_to_string(&path) else { continue };
        for (number, line) in text.lines().enumerate() {
            for word in &words {
                // A calendar's VTODO is no note to ourselves.
                let alone = |at: usize| !line[..at].ends_with(|c: char| c.is_alphanumeric());
                if line.match_indices(word.as_str()).any(|(at, _)| alone(at)) {
                    faults.push(format!("{}:{}: {word}", path.display(), number + 1));
                }
            }
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}
