//! Who may know whom: the walls between the program's layers, read off its sources.

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
