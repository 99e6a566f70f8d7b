//! Help, manual pages and completions: every command has examples, and every example works.

use std::path::Path;
use std::process::{Command, Stdio};

use bellstack::catalog::{Access, Catalog};
use bellstack::model::headings::{Headings, Meaning};
use bellstack::model::kinds::Kinds;

use crate::program::{Program, words};
use crate::support::stamp;

/// A command by its words, and its help.
pub(crate) struct Help {
    pub(crate) path: String,
    text: String,
}

impl Help {
    /// The commands below it.
    fn below(&self) -> Vec<String> {
        let listed = self.section("Commands:").into_iter().filter(|line| line.starts_with("  "));
        let names = listed.filter(|line| !line.starts_with("   "));
        let names = names.map(|line| line.split_whitespace().next().unwrap().to_string());
        names.filter(|name| name != "help").collect()
    }

    fn section(&self, title: &str) -> Vec<String> {
        let lines = self.text.lines().skip_while(|line| *line != title).skip(1);
        lines.take_while(|line| !line.is_empty()).map(String::from).collect()
    }

    /// The command lines of its examples, those over several lines in one.
    fn examples(&self) -> Vec<String> {
        let title = if self.path.is_empty() { "Start here:" } else { "Examples:" };
        let mut examples: Vec<String> = Vec::new();
        for line in self.section(title) {
            let last = examples.last_mut();
            if let Some(begun) = last.filter(|last| last.ends_with('\\')) {
                begun.pop();
                begun.push_str(line.trim_start());
            } else if let Some(line) = line.strip_prefix("      ") {
                assert!(line.starts_with("bellstack "), "{}: {line}", self.path);
                examples.push(line.into());
            }
        }
        examples
    }
}

/// The help of every command there is.
pub(crate) fn all() -> Vec<Help> {
    let program = Program::new();
    let mut all: Vec<Help> = Vec::new();
    let mut open = vec![String::new()];
    while let Some(path) = open.pop() {
        let text = program.answer(format!("{path} --help").trim());
        let help = Help { path, text };
        let below = help.below();
        open.extend(below.iter().map(|name| format!("{} {name}", help.path).trim().to_string()));
        all.push(help);
    }
    assert!(all.len() > 60, "the commands were found: {}", all.len());
    all
}

#[test]
fn every_help_ends_with_examples_that_fit_on_a_narrow_terminal() {
    for help in all() {
        let examples = help.examples();
        assert!(!examples.is_empty(), "`{} --help`:\n{}", help.path, help.text);
        let title = if help.path.is_empty() { "Start here:" } else { "Examples:" };
        for line in help.section(title) {
            assert!(line.chars().count() <= 80, "`{} --help`: {line}", help.path);
        }
        let belongs = |line: &String| line.starts_with(&format!("bellstack {}", help.path));
        assert!(examples.iter().all(belongs), "`{} --help`: {examples:?}", help.path);
    }
    let short = Program::new().answer("fit -h");
    assert!(short.contains("\nExamples:\n"), "{short}");
}

/// What examples name that the demo shop does not have.
pub(crate) fn furnish(program: &Program) {
    for line in [
        "piece add FW-S1000#A condition=used",
        "piece add BP-S060#X condition=new",
        "reading add FW-S1000#A thickness 1.0005 in --instrument caliper-0.02",
        "answer keep tight-slate --top 3 --as spring",
        "part set-aside BP-S060 --for paper-swap",
    ] {
        program.answer(line);
    }
    let mut headings = Headings { name: "rings".into(), ..Headings::default() };
    headings.learn("Part No.", Meaning::Column("id".into()));
    let mut catalog = Catalog::open(&program.catalog(), Kinds::standard(), Access::Write).unwrap();
    catalog.write(&stamp(), |writer| writer.learn(&headings)).unwrap();
    program.answer(&format!("backup '{}'", program.dir().join("spare.db").display()));
    program.file("flywheels.csv", "id,thickness\nMY-920,0.920 in\n");
    program.file("discs.csv", "id,thickness\nMY-330,0.330 in\nMY-331,0.330\n");
    program.file("prices.csv", "id,price\nFW-S1000,500\n");
}

#[test]
fn every_example_does_what_it_says_in_the_demo_shop() {
    let program = Program::demo();
    furnish(&program);
    let catalog = program.dir().join("now.db");
    let demo = std::fs::read(program.catalog()).unwrap();
    let mut tried = 0;
    for line in all().iter().filter(|help| help.below().is_empty()).flat_map(Help::examples) {
        let words = words(&line);
        let (words, into) = match words.iter().position(|word| word == ">") {
            Some(at) => (&words[1..at], Some(words[at + 1].clone())),
            None => (&words[1..], None),
        };
        std::fs::write(&catalog, &demo).unwrap();
        if words[0] == "serve" {
            // It runs until somebody ends it; that its flags are known is seen without a catalog.
            let words: Vec<&str> = words.iter().map(String::as_str).collect();
            let ran = program.run_args(&[&words[..], &["--catalog", "none-there.db"]].concat());
            assert_eq!(ran.status, 3, "`{line}`: {}", ran.err);
            continue;
        }
        let home = program.dir();
        let ran = Command::new(env!("CARGO_BIN_EXE_bellstack"))
            .args(words.iter().map(|word| word.replacen('~', &home.display().to_string(), 1)))
            .current_dir(home)
            .env("BELLSTACK_CATALOG", &catalog)
            .env("HOME", home)
            .stdin(Stdio::null())
            .output()
            .unwrap();
        let err = String::from_utf8(ran.stderr).unwrap();
        let out = String::from_utf8(ran.stdout).unwrap();
        // A true answer may be that a car is out, and `check` finds something to look at.
        let answers = ["fit", "cure", "recommend", "check", "answer", "job", "buy"];
        let most = i32::from(answers.contains(&words[0].as_str()));
        // Good rows are stored, and the others are told.
        let most = if line.contains("--good-rows") { 2 } else { most };
        assert!(ran.status.code().unwrap() <= most, "`{line}`: {out}{err}");
        assert!(!out.is_empty(), "`{line}` says nothing");
        assert!(into.is_none_or(|into| into.starts_with("~/")), "`{line}`");
        tried += 1;
    }
    assert!(tried > 60, "the examples were found: {tried}");
}

#[test]
fn a_manual_page_for_each_command_has_its_flags_and_examples() {
    let program = Program::new();
    let directory = program.dir().join("man1");
    let line = format!("man '{}'", directory.display());
    let told = program.answer(&line);
    let all = all();
    assert!(told.contains(&format!(": {} manual pages; ", all.len())), "{told}");
    for help in &all {
        let name = format!("bellstack {}", help.path).trim().replace(' ', "-");
        let page = std::fs::read_to_string(directory.join(format!("{name}.1"))).unwrap();
        let page = page.replace("\\-", "-").replace("\\*(Aq", "'");
        for line in help.text.lines().filter(|line| line.trim_start().starts_with("--")) {
            let flag = line.trim_start().split([' ', '[', '=']).next().unwrap();
            assert!(page.contains(flag), "{name}: {flag}");
        }
        let title = if help.path.is_empty() { ".SH \"START HERE\"" } else { ".SH EXAMPLES" };
        assert!(page.contains(title), "{name}:\n{page}");
        for line in help.section("Examples:") {
            assert!(page.contains(line.trim().trim_end_matches('\\')), "{name}: {line}\n{page}");
        }
    }
    let ran = program.run(&line);
    assert_eq!(ran.status, 2, "{}", ran.out);
    assert!(ran.err.contains("are there already"), "{}", ran.err);
    program.answer(&format!("{line} --force"));
    assert!(!program.catalog().exists(), "no catalog is needed");
}

#[test]
fn shells_are_given_every_command_and_flag_and_no_part_numbers() {
    let program = Program::demo();
    for shell in ["bash", "elvish", "fish", "powershell", "zsh"] {
        let script = program.answer(&format!("completions {shell}"));
        for word in ["recommend", "on-hand", "strike"] {
            assert!(script.contains(word), "{shell}: {word}");
        }
        assert!(!script.contains("FW-S1000"), "{shell}");
    }
    assert_eq!(program.run("completions tcsh").status, 2);
    let help = program.answer("completions --help").replace('\n', " ");
    assert!(help.contains("but not the catalog's own part numbers and jobs"), "{help}");
}

#[test]
#[cfg(unix)]
fn bash_completes_a_command_line_by_its_script() {
    let program = Program::new();
    let script = program.file("completions.sh", &program.answer("completions bash"));
    let completed = |words: &[&str]| {
        let last = words.len() - 1;
        let ask = format!(
            "source '{script}'; COMP_WORDS=({}); COMP_CWORD={last}; \
             _bellstack bellstack '{}' '{}'; echo \"${{COMPREPLY[@]}}\"",
            words.join(" "),
            words[last],
            words[last - 1]
        );
        let ran = Command::new("bash").args(["-c", &ask]).output().unwrap();
        assert!(ran.stderr.is_empty(), "{}", String::from_utf8_lossy(&ran.stderr));
        String::from_utf8(ran.stdout).unwrap().trim().to_string()
    };
    assert_eq!(completed(&["bellstack", "recom"]), "recommend");
    assert_eq!(completed(&["bellstack", "part", "ret"]), "retire");
    assert_eq!(completed(&["bellstack", "cure", "--on-"]), "--on-hand");
    assert!(Path::new(&script).exists());
}
