//! Who may know whom: the walls between the program's layers, read off its sources.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

/// Each layer with the layers that it may name.
const LAYERS: &[(&str, &[&str])] = &[
    ("error", &[]),
    ("model", &["error"]),
    ("measure", &["model", "error"]),
    ("stack", &["measure", "model", "error"]),
    ("solve", &["stack", "measure", "model", "error"]),
    ("catalog", &["stack", "measure", "model", "error"]),
    ("report", &["stack", "measure", "model", "error"]),
    ("desk", &["report", "solve", "catalog", "stack", "measure", "model", "error"]),
    ("serve", &["desk", "report", "solve", "catalog", "stack", "measure", "model", "error"]),
    ("cli", &["serve", "desk", "report", "solve", "catalog", "stack", "measure", "model", "error"]),
    ("main", &["cli"]),
];

fn sources(directory: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(directory).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            sources(&path, found);
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            found.push(path);
        }
    }
}

/// Every source file: its layer, its name and its code without comments and tests.
fn code() -> Vec<(String, String, String)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut found = Vec::new();
    sources(&root, &mut found);
    let read = |path: &PathBuf| {
        let name = path.strip_prefix(&root).unwrap().display().to_string();
        let layer = name.split(['/', '\\', '.']).next().unwrap().to_string();
        let text = fs::read_to_string(path).unwrap();
        let text = text.split("#[cfg(test)]\nmod tests").next().unwrap();
        let lines = text.lines().filter(|line| !line.trim_start().starts_with("//"));
        (layer, name, lines.collect::<Vec<_>>().join("\n"))
    };
    let all: Vec<_> = found.iter().map(read).filter(|(layer, ..)| layer != "lib").collect();
    assert!(all.len() > 50, "the sources were found");
    all
}

/// The layers that a text names, as `crate::layer` or `bellstack::layer`.
fn named(code: &str) -> Vec<String> {
    let mut names = Vec::new();
    for root in ["crate::", "bellstack::"] {
        for (index, _) in code.match_indices(root) {
            let rest = &code[index + root.len()..];
            assert!(!rest.starts_with('{'), "one layer a `use`, so that this test can read it");
            let word = rest.split(|c: char| !c.is_alphanumeric() && c != '_').next().unwrap();
            names.push(word.to_string());
        }
    }
    names
}

#[test]
fn no_layer_knows_one_that_it_must_not_know() {
    for (layer, file, code) in code() {
        let allowed = LAYERS.iter().find(|(name, _)| *name == layer);
        let (_, allowed) = allowed.unwrap_or_else(|| panic!("src/{file} is in no layer"));
        for name in named(&code) {
            let known = LAYERS.iter().any(|(layer, _)| *layer == name);
            let fine = !known || name == layer || allowed.contains(&name.as_str());
            assert!(fine, "src/{file} names `{name}`, which `{layer}` must not know");
        }
    }
}

#[test]
fn sql_is_spoken_only_in_the_catalog() {
    for (layer, file, code) in code() {
        assert!(layer == "catalog" || !code.contains("rusqlite"), "src/{file} speaks SQL");
    }
}

#[test]
fn nothing_is_printed_but_through_the_writers_passed_in() {
    for (_, file, code) in code() {
        for word in [
            "print!(",
            "println!(",
            "eprint!(",
            "eprintln!(",
            "dbg!(",
            "io::stdout",
            "io::stderr",
            "io::stdin",
        ] {
            assert!(file == "main.rs" || !code.contains(word), "src/{file} uses {word}");
        }
    }
}

#[test]
fn clock_and_environment_are_passed_in() {
    for (_, file, code) in code() {
        for word in [
            "SystemTime::now",
            "Instant::now",
            "ZonedDateTime::now",
            "Timestamp::now",
            "env::var",
            "env::args",
        ] {
            assert!(file == "main.rs" || !code.contains(word), "src/{file} uses {word}");
        }
    }
}

/// A file's module, such as `catalog::csv::form`.
fn module(file: &str) -> Vec<String> {
    let path = file.trim_end_matches(".rs").trim_end_matches("/mod");
    path.split('/').map(String::from).collect()
}

/// The paths of a `use` with its braces opened.
fn opened(tree: &str) -> Vec<String> {
    let Some((before, rest)) = tree.split_once('{') else { return vec![tree.trim().to_string()] };
    let inner = &rest[..rest.rfind('}').unwrap()];
    let mut depth = 0;
    let cut = |c: char| {
        depth += i32::from(c == '{') - i32::from(c == '}');
        c == ',' && depth == 0
    };
    let parts: Vec<&str> = inner.split(cut).filter(|part| !part.trim().is_empty()).collect();
    parts.iter().flat_map(|part| opened(&format!("{}{}", before.trim(), part.trim()))).collect()
}

/// Every path of the program's own that a file names, from the top.
fn paths(own: &[String], code: &str) -> Vec<Vec<String>> {
    // It stands at the head of its line: words such as `house` and `because` end like it.
    let is_head = |at: usize| {
        let before = code[code[..at].rfind('\n').map_or(0, |end| end + 1)..at].trim();
        before.is_empty() || before == "pub" || before.starts_with("pub(") && before.ends_with(')')
    };
    let uses = code.match_indices("use ").filter(|(at, _)| is_head(*at));
    let uses = uses.filter_map(|(at, found)| code[at + found.len()..].split_once(';'));
    let uses = uses.flat_map(|(tree, _)| opened(&tree.replace('\n', " ")));
    let is_path = |c: char| c.is_alphanumeric() || c == '_' || c == ':';
    let words = code.split(|c: char| !is_path(c)).map(String::from);
    let from_top = |path: String| -> Option<Vec<String>> {
        let parts: Vec<&str> = path.split("::").collect();
        let up = parts.iter().take_while(|part| **part == "super").count();
        match parts[0] {
            "crate" => Some(parts[1..].iter().map(|part| (*part).to_string()).collect()),
            "super" => {
                let base = own[..own.len() - up].iter().cloned();
                Some(base.chain(parts[up..].iter().map(|part| (*part).to_string())).collect())
            }
            _ => None,
        }
    };
    uses.chain(words).filter_map(from_top).collect()
}

/// The files that each file names; what a folder and its files know of one another is their own.
fn known_files() -> BTreeMap<Vec<String>, BTreeSet<Vec<String>>> {
    let all = code();
    let modules: BTreeSet<Vec<String>> = all.iter().map(|(_, file, _)| module(file)).collect();
    let named = |(_, file, code): &(String, String, String)| {
        let own = module(file);
        let file_of = |path: Vec<String>| {
            (1..=path.len()).rev().map(|n| path[..n].to_vec()).find(|known| modules.contains(known))
        };
        let others = paths(&own, code).into_iter().filter_map(file_of);
        let kin = |other: &Vec<String>| other.starts_with(&own) || own.starts_with(other);
        (own.clone(), others.filter(|other| !kin(other)).collect())
    };
    all.iter().map(named).collect()
}

#[test]
fn no_two_files_know_each_other_by_any_way_round() {
    let mut left = known_files();
    assert!(left.values().map(BTreeSet::len).sum::<usize>() > 1000, "what they name was found");
    // Files that name none which is left are taken away, until none is: what stays goes in circles.
    loop {
        let here: BTreeSet<Vec<String>> = left.keys().cloned().collect();
        let before = left.len();
        left.retain(|_, named| named.iter().any(|other| here.contains(other)));
        if left.len() == before {
            break;
        }
    }
    // Files that stand above a circle are not of it.
    loop {
        let named: BTreeSet<Vec<String>> = left.values().flatten().cloned().collect();
        let before = left.len();
        left.retain(|file, _| named.contains(file));
        if left.len() == before {
            break;
        }
    }
    let files: Vec<String> = left.keys().map(|file| file.join("::")).collect();
    assert!(files.is_empty(), "these know each other by some way round: {}", files.join(", "));
}
