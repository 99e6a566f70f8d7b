//! Runs the whole program in process, and compares what it says.

use std::ffi::OsString;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use bellstack::cli::{Env, run};
use bellstack::model::kinds::Kinds;

/// What a run said.
#[derive(Debug, PartialEq, Eq)]
pub(crate) struct Ran {
    pub(crate) status: u8,
    pub(crate) out: String,
    pub(crate) err: String,
}

/// The program with a catalog of its own.
pub(crate) struct Program {
    dir: tempfile::TempDir,
    kinds: Kinds,
}

impl Program {
    /// Without a catalog yet.
    pub(crate) fn new() -> Self {
        Self { dir: tempfile::tempdir().unwrap(), kinds: Kinds::standard() }
    }

    /// With another table of kinds.
    pub(crate) fn with_kinds(kinds: Kinds) -> Self {
        Self { kinds, ..Self::new() }
    }

    /// With what stands in a file in its catalog.
    pub(crate) fn holding(name: &str, text: &str) -> Self {
        let program = Self::new();
        let file = program.file(name, text);
        assert_eq!(program.run_args(&["import", &file]).status, 0);
        program
    }

    /// With the demo shop in its catalog.
    pub(crate) fn demo() -> Self {
        let program = Self::new();
        let mut args = vec!["import".to_string()];
        args.extend(demo_files().iter().map(|path| path.display().to_string()));
        let args: Vec<&str> = args.iter().map(String::as_str).collect();
        let ran = program.run_args(&args);
        assert_eq!((ran.status, ran.err), (0, program.made()), "the demo shop is imported");
        program
    }

    pub(crate) fn dir(&self) -> &Path {
        self.dir.path()
    }

    /// The catalog that every command uses unless it names another.
    pub(crate) fn catalog(&self) -> PathBuf {
        self.dir().join("shop.db")
    }

    /// Writes a file into the program's directory and returns its full name.
    pub(crate) fn file(&self, name: &str, text: &str) -> String {
        let path = self.dir().join(name);
        std::fs::write(&path, text).unwrap();
        path.display().to_string()
    }

    /// Runs a command line, split as a shell would do it.
    pub(crate) fn run(&self, line: &str) -> Ran {
        let words = words(line);
        self.run_args(&words.iter().map(String::as_str).collect::<Vec<_>>())
    }

    pub(crate) fn run_args(&self, args: &[&str]) -> Ran {
        self.run_in(args, |_| {})
    }

    /// Runs in a world that was changed before.
    pub(crate) fn run_in(&self, args: &[&str], change: impl FnOnce(&mut Env<'_>)) -> Ran {
        let (mut out, mut err) = (Vec::new(), Vec::new());
        let catalog = self.catalog().into_os_string();
        let var = |name: &str| (name == "BELLSTACK_CATALOG").then(|| catalog.clone());
        let mut env =
            Env { kinds: self.kinds, width: Some(100), ..Env::new(&mut out, &mut err, &var) };
        change(&mut env);
        let args = ["bellstack"].iter().chain(args).map(OsString::from);
        let status = run(args, &mut env);
        let text = |bytes| String::from_utf8(bytes).unwrap();
        Ran { status, out: text(out), err: text(err) }
    }

    /// Runs a command line that asks, with the lines that are answered.
    pub(crate) fn asked(&self, line: &str, answers: &[&str]) -> Ran {
        let words = words(line);
        let answers = answers.iter().flat_map(|answer| [answer, "\n"]).collect::<String>();
        self.run_in(&words.iter().map(String::as_str).collect::<Vec<_>>(), |env| {
            env.input = Some(Box::leak(Box::new(io::Cursor::new(answers.into_bytes()))));
        })
    }

    /// Runs a command line and compares everything that it says.
    /// That the first one made the catalog is expected beside it.
    pub(crate) fn check(&self, line: &str, status: u8, out: &str, err: &str) {
        let (ran, made) = self.run_and_made(line);
        let expected = Ran { status, out: out.into(), err: made + err };
        assert_eq!(ran, expected, "`bellstack {line}`");
    }

    /// Runs a command line, and what has to be said where it made the catalog.
    fn run_and_made(&self, line: &str) -> (Ran, String) {
        let was_there = self.catalog().exists();
        let ran = self.run(line);
        let is_new = !was_there && self.catalog().exists();
        (ran, if is_new { self.made() } else { String::new() })
    }

    /// Runs a command line that has to be refused, and compares the refusal.
    pub(crate) fn refuses(&self, line: &str, status: u8, err: &str) {
        self.check(line, status, "", err);
    }

    /// What is said where the catalog is new.
    pub(crate) fn made(&self) -> String {
        format!("a new catalog was made: {}\n", self.catalog().display())
    }

    /// Runs a command line that has to succeed, and returns what it answers. Nothing else is said, but
    /// that the first one made the catalog.
    pub(crate) fn answer(&self, line: &str) -> String {
        let (ran, made) = self.run_and_made(line);
        assert_eq!((ran.status, ran.err), (0, made), "`bellstack {line}`\n{}", ran.out);
        ran.out
    }

    /// The same for an answer in JSON.
    pub(crate) fn json(&self, line: &str) -> serde_json::Value {
        let ran = self.run(line);
        assert!(ran.status <= 1 && ran.err.is_empty(), "`bellstack {line}`: {}", ran.err);
        serde_json::from_str(&ran.out).unwrap()
    }
}

/// The demo shop's files, parts before jobs.
pub(crate) fn demo_files() -> Vec<PathBuf> {
    let directory = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data");
    let entries = std::fs::read_dir(directory).unwrap().map(|entry| entry.unwrap().path());
    let mut files: Vec<PathBuf> =
        entries.filter(|path| path.extension().is_some_and(|ending| ending == "csv")).collect();
    files.sort();
    files
}

/// Splits a command line at blanks; quotes keep blanks together.
pub(crate) fn words(line: &str) -> Vec<String> {
    let mut words = Vec::new();
    let mut word: Option<String> = None;
    let mut quote = None;
    for c in line.chars() {
        match quote {
            Some(open) if c == open => quote = None,
            None if c == '"' || c == '\'' => {
                quote = Some(c);
                word.get_or_insert_default();
            }
            None if c == ' ' => words.extend(word.take()),
            _ => word.get_or_insert_default().push(c),
        }
    }
    assert_eq!(quote, None, "a quote is left open in `{line}`");
    words.extend(word);
    words
}

/// Compares a text with the one kept in `tests/data`; `BELLSTACK_REWRITE=1` keeps the new one.
pub(crate) fn golden(name: &str, text: &str) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data").join(name);
    if std::env::var_os("BELLSTACK_REWRITE").is_some() {
        std::fs::write(&path, text).unwrap();
        return;
    }
    let kept = std::fs::read_to_string(&path).unwrap_or_default();
    let line = kept.lines().zip(text.lines()).position(|(kept, new)| kept != new);
    let line = line.unwrap_or_else(|| kept.lines().count().min(text.lines().count()));
    assert!(
        kept == text,
        "tests/data/{name} differs in line {}:\nkept: {:?}\nnew:  {:?}\nBELLSTACK_REWRITE=1 keeps \
         the new text",
        line + 1,
        kept.lines().nth(line),
        text.lines().nth(line)
    );
}

/// A pipe that nobody reads any more, or a disk that is full.
pub(crate) struct Closed(pub(crate) io::ErrorKind);

impl Write for Closed {
    fn write(&mut self, _: &[u8]) -> io::Result<usize> {
        Err(self.0.into())
    }

    fn flush(&mut self) -> io::Result<()> {
        Err(self.0.into())
    }
}
