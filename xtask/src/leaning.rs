//! Which file of a crate leans on which, and the circles among them: read from
//! the code as text, by its `use` lines and the paths written out in it.
//!
//! A name that a file hands on (`pub use`) is sought in the file that makes it, so
//! that the face of a folder leans on nothing, and nothing leans on it for a name
//! that is made elsewhere.

use crate::docs::sources;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

/// A file as a module: the names from the crate's root down to it; the root has none.
type Module = Vec<String>;

/// What one file makes, takes in and hands on.
#[derive(Debug, Default)]
struct File {
    makes: BTreeSet<String>,
    /// The name in this file, the path it stands for, and whether it is handed on.
    uses: Vec<(String, Vec<String>, bool)>,
    /// Paths written out in the code.
    paths: Vec<Vec<String>>,
}

/// The files that lean on each other in a loop, each circle by the names of its modules.
///
/// *Errors*: a file that cannot be read.
pub fn circles(root: &Path) -> std::io::Result<Vec<Vec<String>>> {
    let folder = root.parent().unwrap_or(root);
    let mut files = BTreeMap::new();
    for source in sources(root)? {
        let place = source.path.strip_prefix(folder).unwrap_or(&source.path).with_extension("");
        let mut module: Module = place.iter().map(|part| part.to_string_lossy().into_owned()).collect();
        if module.last().is_some_and(|last| ["mod", "lib", "main"].contains(&last.as_str())) {
            module.pop();
        }
        files.insert(module, read(&tokens(&source.code)));
    }
    Ok(loops(&leanings(&files)))
}

/// Words and signs of some code, without its comments and texts.
fn tokens(code: &str) -> Vec<String> {
    let mut found = Vec::new();
    let mut rest = code;
    while let Some(first) = rest.chars().next() {
        let length = if rest.starts_with("//") {
            rest.find('\n').unwrap_or(rest.len())
        } else if first == '"' {
            let ends = |(at, c): &(usize, char)| *c == '"' && rest[..*at].chars().rev().take_while(|c| *c == '\\').count() % 2 == 0;
            rest.char_indices().skip(1).find(ends).map_or(rest.len(), |(at, _)| at + 1)
        } else if rest.starts_with("'\"'") || rest.starts_with("'\\\"'") {
            rest[1..].find('\'').map_or(rest.len(), |at| at + 2)
        } else if first.is_alphanumeric() || first == '_' {
            let word = rest.find(|c: char| !c.is_alphanumeric() && c != '_').unwrap_or(rest.len());
            found.push(rest[..word].to_owned());
            word
        } else if rest.starts_with("::") {
            found.push("::".to_owned());
            2
        } else {
            if !first.is_whitespace() {
                found.push(first.to_string());
            }
            first.len_utf8()
        };
        rest = &rest[length..];
    }
    found
}

/// What a file makes, takes in and hands on.
fn read(tokens: &[String]) -> File {
    const MAKERS: &[&str] = &["struct", "enum", "union", "fn", "const", "static", "type", "trait", "macro_rules"];
    let mut file = File::default();
    let mut at = 0;
    while let Some(token) = tokens.get(at) {
        if token == "use" {
            let ends = tokens[at..].iter().position(|token| token == ";").map_or(tokens.len(), |many| at + many);
            let before = at.checked_sub(1).and_then(|before| tokens.get(before));
            let handed_on = before.is_some_and(|before| before == "pub" || before == ")");
            tree(&tokens[at + 1..ends], &[], handed_on, &mut file.uses);
            at = ends;
        } else if MAKERS.contains(&token.as_str()) {
            let name = tokens[at + 1..].iter().find(|token| token.chars().all(|c| c.is_alphanumeric() || c == '_'));
            file.makes.extend(name.cloned());
        } else if tokens.get(at + 1).is_some_and(|next| next == "::") && (at == 0 || tokens[at - 1] != "::") {
            let parts = tokens[at..].chunks(2).take_while(|pair| pair.len() == 2 && pair[1] == "::").count();
            file.paths.push(tokens[at..].iter().step_by(2).take(parts + 1).cloned().collect());
        }
        at += 1;
    }
    file
}

/// The names of a tree of `use`.
fn tree(tokens: &[String], before: &[String], handed_on: bool, into: &mut Vec<(String, Vec<String>, bool)>) {
    let opens = tokens.iter().position(|token| token == "{");
    let names = |tokens: &[String]| tokens.iter().filter(|token| *token != "::").cloned().collect::<Vec<_>>();
    let Some(opens) = opens else {
        let called = tokens.iter().position(|token| token == "as");
        let mut path = [before, &names(&tokens[..called.unwrap_or(tokens.len())])].concat();
        if path.last().is_some_and(|last| last == "self") && path.len() > 1 {
            path.pop();
        }
        let name = called.and_then(|at| tokens.get(at + 1)).or(path.last()).cloned();
        into.extend(name.map(|name| (name, path, handed_on)));
        return;
    };
    let before = [before, &names(&tokens[..opens])].concat();
    let inside = &tokens[opens + 1..tokens.len().saturating_sub(1)];
    let mut depth = 0;
    let branches = inside.split(|token| {
        depth += i32::from(token == "{") - i32::from(token == "}");
        token == "," && depth == 0
    });
    branches.filter(|branch| !branch.is_empty()).for_each(|branch| tree(branch, &before, handed_on, into));
}

/// A path as it counts from the crate's root; nothing when it leads out of the crate.
fn from_root(files: &BTreeMap<Module, File>, module: &[String], path: &[String]) -> Option<Vec<String>> {
    let ups = path.iter().take_while(|part| *part == "super").count();
    match path.first().map(String::as_str) {
        Some("crate") => Some(path[1..].to_vec()),
        Some("self") => Some([module, &path[1..]].concat()),
        Some("super") => Some([module.get(..module.len().checked_sub(ups)?)?, &path[ups..]].concat()),
        Some(first) => {
            let below = [module, &[first.to_owned()]].concat();
            files.contains_key(&below).then(|| [module, path].concat())
        }
        None => None,
    }
}

/// The file that makes what a path names.
fn maker(files: &BTreeMap<Module, File>, path: &[String], steps: usize) -> Option<Module> {
    let (module, file) = (0..=path.len()).rev().find_map(|many| files.get_key_value(&path[..many]))?;
    let Some(name) = path.get(module.len()) else { return Some(module.clone()) };
    if file.makes.contains(name) || steps == 0 {
        return Some(module.clone());
    }
    let handed = file.uses.iter().filter(|(_, _, handed_on)| *handed_on);
    let mut found = handed.filter_map(|(known, to, _)| {
        let to = from_root(files, module, to)?;
        match known.as_str() {
            "*" => files.get(&to[..to.len() - 1]).is_some_and(|file| file.makes.contains(name)).then(|| to[..to.len() - 1].to_vec()),
            known if known == name => maker(files, &to, steps - 1),
            _ => None,
        }
    });
    found.next().or_else(|| Some(module.clone()))
}

/// The most hands a name goes through.
const MOST_HANDS: usize = 8;

/// Which file leans on which others.
fn leanings(files: &BTreeMap<Module, File>) -> BTreeMap<&Module, BTreeSet<Module>> {
    let of = |module: &Module, file: &File| {
        let taken_in = file.uses.iter().filter(|(_, _, handed_on)| !handed_on).filter_map(|(name, path, _)| {
            let path = from_root(files, module, path)?;
            if name == "*" { Some(path[..path.len() - 1].to_vec()) } else { maker(files, &path, MOST_HANDS) }
        });
        let written_out = file.paths.iter().filter_map(|path| {
            let alias = file.uses.iter().find(|(name, _, _)| Some(name) == path.first());
            let whole = alias.map_or_else(|| path.clone(), |(_, to, _)| [to, &path[1..]].concat());
            let path = from_root(files, module, &whole)?;
            maker(files, &path, MOST_HANDS).filter(|made| made.len() < path.len())
        });
        taken_in.chain(written_out).filter(|other| other != module).collect::<BTreeSet<_>>()
    };
    files.iter().map(|(module, file)| (module, of(module, file))).collect()
}

/// The loops of a graph: each a set of files that all come back to themselves through each other.
fn loops(leans: &BTreeMap<&Module, BTreeSet<Module>>) -> Vec<Vec<String>> {
    let reached = |from: &Module| {
        let mut seen = BTreeSet::new();
        let mut open: Vec<&Module> = leans.get(from).into_iter().flatten().collect();
        while let Some(next) = open.pop() {
            if seen.insert(next) {
                open.extend(leans.get(next).into_iter().flatten());
            }
        }
        seen
    };
    let reaches: BTreeMap<&Module, BTreeSet<&Module>> = leans.keys().map(|module| (*module, reached(module))).collect();
    let mut found = BTreeSet::new();
    for (module, others) in reaches.iter().filter(|(module, others)| others.contains(*module)) {
        let back = |other: &&&Module| reaches.get(**other).is_some_and(|theirs| theirs.contains(*module));
        found.insert(others.iter().filter(back).map(|other| other.join("::")).collect::<Vec<String>>());
    }
    found.into_iter().collect()
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    fn told(files: &[(&str, &str)]) -> Vec<Vec<String>> {
        // Tests run side by side: each has a folder of its own.
        static FOLDERS: std::sync::atomic::AtomicUsize = std::sync::atomic::AtomicUsize::new(0);
        let number = FOLDERS.fetch_add(1, std::sync::atomic::Ordering::Relaxed);
        let folder = std::env::temp_dir().join(format!("leaning-{}-{number}", std::process::id()));
        for (name, code) in files {
            let file = folder.join(name);
            std::fs::create_dir_all(file.parent().unwrap()).unwrap();
            std::fs::write(file, code).unwrap();
        }
        let found = circles(&folder.join("lib.rs")).unwrap();
        std::fs::remove_dir_all(folder).unwrap();
        found
    }

    #[test]
    fn two_files_that_lean_on_each_other_are_a_circle() {
        let found = told(&[
            ("lib.rs", "mod tape;\nmod piece;\n"),
            ("tape.rs", "use crate::piece::Piece;\npub struct Tape(Piece);\n"),
            ("piece.rs", "pub struct Piece;\npub fn on(tape: crate::tape::Tape) {}\n"),
        ]);
        assert_eq!(found, [["piece", "tape"]]);
    }

    #[test]
    fn a_name_handed_on_is_sought_where_it_is_made() {
        let found = told(&[
            ("lib.rs", "mod head;\nmod ear;\nmod hair;\npub use head::{Head, nape::Nape};\n"),
            ("head/mod.rs", "pub mod nape;\npub struct Head;\nuse nape::Nape;\n"),
            ("head/nape.rs", "pub struct Nape;\n"),
            ("ear.rs", "// use crate::hair::Hair;\nuse crate::Nape;\nconst SAYS: &str = \"crate::hair::Hair\";\n"),
            ("hair.rs", "use crate::{Head as Skull, ear};\n#[cfg(test)]\nmod tests {\n    use crate::ear::tests;\n}\n"),
        ]);
        assert_eq!(found, Vec::<Vec<String>>::new());
        let found = told(&[
            ("lib.rs", "mod head;\n"),
            ("head/mod.rs", "mod nape;\npub struct Head;\npub fn of() { nape::found() }\n"),
            ("head/nape.rs", "use super::*;\npub fn found() {}\n"),
        ]);
        assert_eq!(found, [["head", "head::nape"]]);
    }
}
