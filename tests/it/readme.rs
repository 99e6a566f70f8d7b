//! Every command line that the README shows is run, and what it shows of the answers is compared.

use std::path::Path;
use std::process::Command;

use crate::program::{demo_files, words};

/// Command lines that are shown and not run here: they build or install the program itself, or run until
/// somebody ends them, as `tests/serve/process.rs` does.
const NOT_RUN: &[&str] =
    &["cargo build --release", "cargo install --path .", "cargo test", "bellstack serve --browser"];

/// A command line of a console block with what the block shows of its answer.
struct Shown {
    line: String,
    output: Vec<String>,
    /// Files that the reader has saved by then: the blocks before it that have a file's name.
    files: Vec<(String, String)>,
}

fn shown(text: &str) -> Vec<Shown> {
    let mut all: Vec<Shown> = Vec::new();
    let mut files: Vec<(String, String)> = Vec::new();
    let (mut in_block, mut in_file) = (false, false);
    for line in text.lines() {
        if let Some(fence) = line.strip_prefix("```") {
            in_block = !in_block && fence.trim_end() == "console";
            // ```csv FILE is a file that the reader saves under that name.
            let name = fence.strip_prefix("csv ").map(|name| name.trim().to_string());
            in_file = name.is_some();
            files.extend(name.map(|name| (name, String::new())));
            continue;
        }
        if !in_block {
            assert!(!line.starts_with("$ "), "a command line outside a ```console block: {line}");
            if let Some((_, text)) = files.last_mut().filter(|_| in_file) {
                text.push_str(line);
                text.push('\n');
            }
            continue;
        }
        if let Some(command) = line.strip_prefix("$ ") {
            let files = std::mem::take(&mut files);
            all.push(Shown { line: command.to_string(), output: Vec::new(), files });
            continue;
        }
        let Some(last) = all.last_mut() else { panic!("no command line before `{line}`") };
        match last.line.strip_suffix('\\') {
            Some(begun) => last.line = format!("{}{}", begun, line.trim_start()),
            None => last.output.push(line.to_string()),
        }
    }
    all
}

/// Whether the output is as shown; a line `...` stands for any number of lines.
fn agrees(shown: &[String], output: &[&str]) -> bool {
    match shown.split_first() {
        None => output.is_empty(),
        Some((line, rest)) if line.trim() == "..." => {
            (0..=output.len()).any(|from| agrees(rest, &output[from..]))
        }
        Some((line, rest)) => {
            let first = output.first();
            first.is_some_and(|first| first.trim_end() == line.trim_end())
                && agrees(rest, &output[1..])
        }
    }
}

#[test]
fn every_command_line_of_the_readme_runs_and_says_what_is_shown() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(root.join("README.md")).unwrap();
    let home = tempfile::tempdir().unwrap();
    std::fs::create_dir(home.path().join("demo-data")).unwrap();
    for file in demo_files() {
        std::fs::copy(&file, home.path().join("demo-data").join(file.file_name().unwrap()))
            .unwrap();
    }
    let program = env!("CARGO_BIN_EXE_bellstack");
    let run = |args: &[String]| {
        Command::new(program)
            .args(args)
            .current_dir(home.path())
            .env("BELLSTACK_CATALOG", home.path().join("readme.db"))
            .env("HOME", home.path())
            .env_remove("XDG_DATA_HOME")
            .env("LC_ALL", "C.UTF-8")
            // As wide as the page shows it.
            .env("COLUMNS", "100")
            .output()
            .unwrap()
    };
    let mut import = vec!["import".to_string()];
    import.extend(demo_files().iter().map(|file| file.display().to_string()));
    assert!(run(&import).status.success(), "the demo shop is imported");
    for Shown { line, output, files } in shown(&text) {
        for (name, text) in files {
            std::fs::write(home.path().join(name), text).unwrap();
        }
        if NOT_RUN.contains(&line.as_str()) {
            continue;
        }
        // `# exit status 1` behind a command line says which one is meant.
        let (command, status) = match line.split_once(" # exit status ") {
            Some((command, status)) => (command, status.trim().parse().unwrap()),
            None => (line.as_str(), 0),
        };
        let words = words(command.trim());
        let args = if let Some(rest) = words.strip_prefix(&["bellstack".to_string()]) {
            rest
        } else {
            let cargo = ["cargo", "run", "--release", "--"].map(String::from);
            words.strip_prefix(&cargo).unwrap_or_else(|| panic!("README shows `{line}`: not known"))
        };
        assert!(
            !args.iter().any(|arg| [">", "<", "&&", ";", "|"].contains(&arg.as_str())),
            "{line}"
        );
        let ran = run(args);
        let said = [ran.stdout, ran.stderr].map(|bytes| String::from_utf8(bytes).unwrap()).concat();
        assert_eq!(ran.status.code(), Some(status), "README, `{line}`:\n{said}");
        let said: Vec<&str> = said.lines().collect();
        let output: Vec<String> = match output.iter().rposition(|line| !line.trim().is_empty()) {
            Some(last) => output[..=last].to_vec(),
            None => continue,
        };
        assert!(agrees(&output, &said), "README, `{line}` now says:\n{}", said.join("\n"));
    }
}

#[test]
fn shown_output_may_leave_lines_out() {
    let shown = |text: &str| text.lines().map(String::from).collect::<Vec<_>>();
    assert!(agrees(&shown("a\n...\nd"), &["a", "b", "c", "d"]));
    assert!(agrees(&shown("a\n..."), &["a"]));
    assert!(!agrees(&shown("a\nd"), &["a", "b", "d"]));
    assert!(!agrees(&shown("a"), &["a", "b"]));
}
