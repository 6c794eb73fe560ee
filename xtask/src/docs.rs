//! What the docstrings of a crate must hold: read from its source, as text.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

/// A source file of a crate, without the tests at its foot.
#[derive(Debug, Clone)]
pub struct Source {
    /// The module's own name; the crate's root has none.
    pub module: String,
    /// Whether every module above it is public, and it too.
    pub is_public: bool,
    /// The file.
    pub path: PathBuf,
    /// Its code.
    pub code: String,
}

/// A public item: where it begins and what stands above it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Item {
    /// `fn`, `struct` or `enum`.
    pub kind: String,
    /// Its name.
    pub name: String,
    /// The line it begins at.
    pub line: usize,
    /// From there to the brace that opens its body, or to its end.
    pub signature: String,
    /// Its docstring.
    pub doc: String,
}

/// The modules of a crate, from the file of its root.
///
/// *Errors*: a file that cannot be read.
pub fn sources(root: &Path) -> std::io::Result<Vec<Source>> {
    let folder = root.parent().unwrap_or(root).to_path_buf();
    let mut found = Vec::new();
    let mut open = vec![(String::new(), root.to_path_buf(), folder, true)];
    while let Some((module, path, folder, is_public)) = open.pop() {
        let text = std::fs::read_to_string(&path)?;
        let code = without_tests(&text).to_owned();
        let mut of_tests = false;
        for line in code.lines() {
            if line.starts_with("#[") {
                of_tests |= line == "#[cfg(test)]";
                continue;
            }
            if std::mem::take(&mut of_tests) {
                continue;
            }
            let (said, rest) = line.strip_prefix("pub ").map_or((false, line), |rest| (true, rest));
            let rest = rest.strip_prefix("pub(crate) ").or(rest.strip_prefix("pub(super) ")).unwrap_or(rest);
            let Some(name) = rest.strip_prefix("mod ").and_then(|rest| rest.strip_suffix(';')) else { continue };
            let (beside, inside) = (folder.join(format!("{name}.rs")), folder.join(name));
            let file = if beside.is_file() { beside } else { inside.join("mod.rs") };
            open.push((name.to_owned(), file, inside, is_public && said));
        }
        found.push(Source { module, is_public, path, code });
    }
    Ok(found)
}

/// A file's code up to the tests that stand in it.
fn without_tests(text: &str) -> &str {
    let begins = text.match_indices("\n#[cfg(test)]\n").find(|(at, found)| {
        let line = text[at + found.len()..].lines().find(|line| !line.starts_with("#[")).unwrap_or("");
        line.ends_with('{') && line.split(' ').any(|word| word == "mod")
    });
    begins.map_or(text, |(at, _)| &text[..at])
}

/// The public functions and types of some code; `deep` takes those in `impl` blocks too.
#[must_use]
pub fn items(code: &str, deep: bool) -> Vec<Item> {
    let lines: Vec<&str> = code.lines().collect();
    let mut found = Vec::new();
    for (at, line) in lines.iter().enumerate() {
        let text = if deep { line.trim_start() } else { line };
        let Some(rest) = text.strip_prefix("pub ") else { continue };
        let rest = ["const ", "async "].iter().fold(rest, |rest, word| rest.strip_prefix(word).unwrap_or(rest));
        let Some((kind, rest)) = rest.split_once(' ').filter(|(kind, _)| ["fn", "struct", "enum"].contains(kind)) else { continue };
        let name: String = rest.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
        let mut signature = String::new();
        for line in &lines[at..] {
            signature.push_str(line);
            signature.push('\n');
            if line.contains('{') || line.ends_with(';') {
                break;
            }
        }
        let above = lines[..at].iter().rev().map(|line| line.trim_start());
        let doc: Vec<&str> = above.take_while(|line| line.starts_with("///") || line.starts_with('#') || line.ends_with(")]")).collect();
        let doc = doc.into_iter().rev().filter(|line| line.starts_with("///")).collect::<Vec<_>>().join("\n");
        found.push(Item { kind: kind.to_owned(), name, line: at + 1, signature, doc });
    }
    found
}

/// What the public modules hand on from the modules below them: module and name. What is
/// hidden from the documentation is left out.
fn handed_on(sources: &[Source]) -> BTreeSet<(String, String)> {
    let mut found = BTreeSet::new();
    for source in sources.iter().filter(|source| source.is_public) {
        for (at, _) in source.code.match_indices("\npub use ") {
            if source.code[..at].ends_with("#[doc(hidden)]") {
                continue;
            }
            let Some((path, _)) = source.code[at + 9..].split_once(';') else { continue };
            let (from, names) = path.rsplit_once("::").map_or(("", path), |(from, name)| {
                path.split_once("::{").map_or((from, name), |(from, names)| (from, names.trim_end().trim_end_matches('}')))
            });
            let module = from.rsplit("::").next().unwrap_or("");
            let names = names.split(',').map(str::trim).filter(|name| !name.is_empty());
            found.extend(names.map(|name| (module.to_owned(), name.to_owned())));
        }
    }
    found
}

/// The blocks of code that implement a type for itself, with their docstrings.
fn own_blocks<'a>(code: &'a str, name: &str) -> Vec<&'a str> {
    code.split("\nimpl")
        .skip(1)
        .filter(|block| {
            let head = block.split('{').next().unwrap_or("");
            let head = if head.starts_with('<') { head.split_once("> ").map_or("", |(_, rest)| rest) } else { head.trim_start() };
            let own: String = head.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
            own == name && !head.contains(" for ")
        })
        .map(|block| block.split("\n}").next().unwrap_or(block))
        .collect()
}

/// Whether a function makes a value of the type it belongs to out of other things.
fn is_constructor(item: &Item, of: &str) -> bool {
    let Some((_, rest)) = item.signature.split_once('(') else { return false };
    let takes_self = rest.split([',', ')']).next().unwrap_or("").contains("self");
    let gives = item.signature.rsplit_once("->").map_or("", |(_, gives)| gives);
    let words = |text: &str| text.split(|c: char| !(c.is_alphanumeric() || c == '_')).map(str::to_owned).collect::<Vec<_>>();
    item.kind == "fn" && !takes_self && words(gives).iter().any(|word| word == "Self" || word == of)
}

/// The entries of a crate, each with whether an example stands by it.
///
/// An *entry* is what a caller begins with: every free function that can be reached from
/// outside (it stands in a public module, or a public module hands it on), and every
/// reachable type with a constructor (a public function without `self` that gives the
/// type). A type's example stands by the type or by one of its own functions. What is
/// hidden from the documentation, and what a macro makes, is no entry.
#[must_use]
pub fn entries(sources: &[Source]) -> Vec<(PathBuf, Item, bool)> {
    let handed_on = handed_on(sources);
    let mut found = Vec::new();
    for source in sources {
        for item in items(&source.code, false) {
            let key = (source.module.clone(), item.name.clone());
            let all = (source.module.clone(), "*".to_owned());
            if !source.is_public && !handed_on.contains(&key) && !handed_on.contains(&all) {
                continue;
            }
            let mut has_example = item.doc.contains("```");
            if item.kind != "fn" {
                let own: Vec<Item> = own_blocks(&source.code, &item.name).iter().flat_map(|block| items(block, true)).collect();
                if !own.iter().any(|own| is_constructor(own, &item.name)) {
                    continue;
                }
                has_example |= own.iter().any(|own| own.doc.contains("```"));
            }
            found.push((source.path.clone(), item, has_example));
        }
    }
    found
}

/// The fallible public functions of some code that do not say how they fail. What serde
/// calls to write or read one field (it takes the serializer) fails as serde says.
#[must_use]
pub fn silent_failures(code: &str) -> Vec<Item> {
    let fallible = |item: &Item| {
        let gives = item.signature.rsplit_once("->").map_or("", |(_, gives)| gives.trim_start());
        let outer = gives.split('<').next().unwrap_or("");
        let is_serdes = item.signature.contains("Serializer") || item.signature.contains("Deserializer");
        item.kind == "fn" && !is_serdes && outer.rsplit("::").next().is_some_and(|word| word.trim() == "Result")
    };
    items(code, true).into_iter().filter(|item| fallible(item) && !item.doc.contains("*Errors*")).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn source(module: &str, is_public: bool, code: &str) -> Source {
        Source { module: module.to_owned(), is_public, path: PathBuf::new(), code: code.to_owned() }
    }

    #[test]
    fn entries_are_what_can_be_reached_and_begun_with() {
        let root = source("", true, "mod a;\npub use a::{made, Made};\n#[doc(hidden)]\npub use a::hidden;\n/// X.\npub fn top() {}\n");
        let below = source(
            "a",
            false,
            "/// ```\n#[must_use]\npub fn made() -> u8 { 1 }\n/// X.\npub fn hidden() {}\npub fn inner() {}\npub struct Made;\n\
             impl Made {\n    /// ```\n    pub fn new(x: u8) -> Option<Self> { None }\n}\n",
        );
        let found = entries(&[root, below]);
        let told: Vec<(&str, bool)> = found.iter().map(|(_, item, has)| (item.name.as_str(), *has)).collect();
        assert_eq!(told, [("top", false), ("made", true), ("Made", true)]);
    }

    #[test]
    fn a_type_without_a_constructor_is_no_entry() {
        let code = "pub struct Seen;\nimpl Seen {\n    pub fn of(&self) -> Self { Seen }\n}\nimpl From<u8> for Seen {\n}\n";
        assert!(entries(&[source("", true, code)]).is_empty());
    }

    #[test]
    fn a_fallible_function_that_says_nothing_is_found() {
        let code = "/// *Errors*: none.\npub fn said() -> Result<(), ()> {}\n/// X.\npub fn silent(\n    x: u8,\n) -> io::Result<()> {\n}\n\
            pub fn sure() -> Vec<Result<(), ()>> {}\nimpl X {\n    pub async fn deep(&self) -> Result<(), ()> {}\n}\n\
            pub fn serialize<S: Serializer>(s: S) -> Result<S::Ok, S::Error> {}\n";
        let names: Vec<String> = silent_failures(code).into_iter().map(|item| item.name).collect();
        assert_eq!(names, ["silent", "deep"]);
    }
}
