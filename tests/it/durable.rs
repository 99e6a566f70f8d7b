//! What is written is written whole, where it was meant to go, and said.

use std::fs::{self, File, OpenOptions};
use std::path::Path;
use std::process::{Command, Output, Stdio};

use crate::program::{Closed, Program, Ran};
use crate::support::names_in;

/// Runs the program itself in a directory.
fn program_in(directory: &Path, args: &[&str], out: Stdio) -> Output {
    Command::new(env!("CARGO_BIN_EXE_bellstack"))
        .args(args)
        .current_dir(directory)
        .env_remove("BELLSTACK_CATALOG")
        .env("HOME", directory)
        .env_remove("XDG_DATA_HOME")
        .stdin(Stdio::null())
        .stdout(out)
        .stderr(Stdio::piped())
        .output()
        .unwrap()
}

#[test]
fn few_commands_make_a_catalog_and_each_says_so() {
    let file = Program::new();
    let file = file.file("flywheels.csv", "id,thickness\nF-1,1.000 in\n");
    for line in [
        format!("import '{file}'"),
        "part add flywheel F-1".into(),
        "job add car".into(),
        "demo".into(),
    ] {
        let program = Program::new();
        let made = format!("a new catalog was made: {}\n", program.catalog().display());
        let ran = program.run(&line);
        assert_eq!((ran.status, ran.err), (0, made), "`{line}`");
        let ran = program.run("part add disc D-9");
        assert_eq!((ran.status, ran.err.as_str()), (0, ""), "it is said once");
    }
    let program = Program::new();
    for line in [
        "window set stroke_margin='0.1 in'",
        "window set --job car preload_min='0.5 in'",
        "instrument add odd",
        "instrument set caliper-0.02 resolution='0.01 mm'",
        "piece add F-1#A condition=new",
        "job edit car description=x",
        "part retire F-1",
        "answer keep car",
        "measure F-1",
        "check",
    ] {
        assert_eq!(program.run(line).status, 3, "`{line}`");
        assert!(names_in(program.dir()).is_empty(), "`{line}` made {:?}", names_in(program.dir()));
    }
}

#[test]
fn a_mistyped_catalog_is_told_with_the_one_that_was_meant() {
    let program = Program::demo();
    let at = |name: &str| program.dir().join(name).display().to_string();
    let refused = |name: &str, hint: &str| {
        let catalog = at(name);
        let ran = program.run_args(&["--catalog", &catalog, "part", "list"]);
        let told = format!("error: there is no catalog `{catalog}` yet\n  hint: {hint}\n");
        assert_eq!((ran.status, ran.err), (3, told));
    };
    refused("shpo.db", &format!("did you mean `{}`?", at("shop.db")));
    refused("garage.db", &format!("did you mean `{}`?", at("shop.db")));
    fs::copy(program.catalog(), at("barn.db")).unwrap();
    // Neither text nor another program's database is meant.
    fs::write(at("garage.csv"), "id\n").unwrap();
    rusqlite::Connection::open(at("garag.db"))
        .unwrap()
        .execute_batch("CREATE TABLE t (x)")
        .unwrap();
    refused("bran.db", &format!("did you mean `{}`?", at("barn.db")));
    refused(
        "some-other-shop-of-ours.db",
        "`bellstack import FILE...` makes one from CSV files, `bellstack part add` from one part",
    );
}

#[test]
fn a_catalog_may_have_any_name() {
    let directory = tempfile::tempdir().unwrap();
    for (name, there) in [
        (":memory:", ":memory:"),
        ("file:shop.db?mode=memory", "file:shop.db?mode=memory"),
        ("file::memory:", "file::memory:"),
        ("a b#c%20.db", "a b#c%20.db"),
        ("./-x.db", "-x.db"),
    ] {
        let ran = |args: &[&str]| {
            let args = ["--catalog", name].iter().chain(args).copied().collect::<Vec<_>>();
            program_in(directory.path(), &args, Stdio::piped())
        };
        let added = ran(&["part", "add", "flywheel", "F-1"]);
        assert!(added.status.success(), "{name}: {}", String::from_utf8_lossy(&added.stderr));
        assert_eq!(names_in(directory.path()), [there], "{name}");
        let listed = ran(&["part", "list"]);
        assert!(String::from_utf8_lossy(&listed.stdout).contains("F-1"), "{name}");
        fs::remove_file(directory.path().join(there)).unwrap();
    }
}

#[test]
fn a_refused_command_leaves_no_directory_that_it_made() {
    let program = Program::new();
    let deep = program.dir().join("a/b/shop.db").display().to_string();
    let ran = program.run_args(&["--catalog", &deep, "part", "add", "flywheel", "F-1", "x=1"]);
    assert_eq!(ran.status, 2, "{}", ran.err);
    assert!(names_in(program.dir()).is_empty(), "{:?}", names_in(program.dir()));
    assert_eq!(program.run_args(&["--catalog", &deep, "part", "add", "disc", "D-1"]).status, 0);
    assert_eq!(names_in(&program.dir().join("a/b")), ["shop.db"]);
}

#[test]
fn what_an_interrupted_creation_left_goes_at_the_next_start() {
    let program = Program::new();
    let left = program.dir().join(".bellstack-x1y2z3");
    fs::create_dir_all(left.join("new")).unwrap();
    fs::write(left.join("lock"), "").unwrap();
    fs::write(left.join("new/catalog.db"), "half of it").unwrap();
    assert_eq!(program.run("part add flywheel F-1").status, 0);
    assert_eq!(names_in(program.dir()), ["shop.db"]);
}

#[test]
fn an_export_asks_before_it_replaces_and_force_does_not() {
    let program = Program::demo();
    let out = program.dir().join("out");
    let line = format!("export --out '{}'", out.display());
    program.answer(&line);
    let before = names_in(&out);
    let text = || fs::read_to_string(out.join("flywheels.csv")).unwrap();
    let old = text();
    program.answer("part edit FW-S1000 notes=seen");
    let first = out.join("engines.csv").display().to_string();
    let told = format!("error: `{first}` and 14 more are there already\n");
    let ran = program.run(&line);
    assert_eq!((ran.status, ran.out.as_str()), (2, ""));
    assert!(ran.err.starts_with(&told) && ran.err.contains("`--force`"), "{}", ran.err);
    assert_eq!(text(), old);

    let answered = |answer: &str| -> Ran {
        let words = ["export", "--out", out.to_str().unwrap()];
        let answer = std::io::Cursor::new(answer.as_bytes().to_vec());
        program.run_in(&words, |env| {
            env.input = Some(Box::leak(Box::new(answer)));
            env.input_is_terminal = true;
        })
    };
    for no in ["no\n", "", "perhaps\nno\n"] {
        let ran = answered(no);
        assert_eq!((ran.status, ran.out.as_str()), (2, ""), "{}", ran.err);
        assert!(ran.err.contains("are there already. Replace what is there, yes or no? "));
        assert_eq!(text(), old);
    }
    assert_eq!(answered("yes\n").status, 0);
    assert!(text().contains("seen"));
    program.answer("part edit FW-S1000 notes=again");
    program.answer(&format!("{line} --force"));
    assert!(text().contains("again"));
    assert_eq!(names_in(&out), before, "nothing is left beside them");
    assert_eq!(program.run("export --force").status, 2, "there is nothing to replace");
}

#[test]
fn an_export_that_cannot_write_one_file_writes_none() {
    let program = Program::demo();
    let out = program.dir().join("out");
    fs::create_dir_all(out.join("jobs.csv/inside")).unwrap();
    fs::write(out.join("flywheels.csv"), "old").unwrap();
    let ran = program.run(&format!("export --force --out '{}'", out.display()));
    let path = out.join("jobs.csv").display().to_string();
    let told = format!(
        "error: `{path}` cannot be written: it is a directory\n  hint: no file was written\n"
    );
    assert_eq!((ran.status, ran.out, ran.err), (3, String::new(), told));
    assert_eq!(names_in(&out), ["flywheels.csv", "jobs.csv"]);
    assert_eq!(fs::read(out.join("flywheels.csv")).unwrap(), b"old");

    let file = program.file("file", "");
    let ran = program.run(&format!("export --out '{file}/out'"));
    assert_eq!(ran.status, 3, "{}", ran.err);
}

#[cfg(unix)]
#[test]
fn an_export_that_fills_the_disk_writes_nothing() {
    let program = Program::new();
    let rows: Vec<String> = (0..4000).map(|number| format!("F-{number},1.000 in\n")).collect();
    let file = program.file("flywheels.csv", &("id,thickness\n".to_string() + &rows.concat()));
    assert_eq!(program.run_args(&["import", &file]).status, 0);
    let output = Command::new("sh")
        .args(["-c", "trap '' XFSZ; ulimit -f 100; exec \"$0\" \"$@\""])
        .args([env!("CARGO_BIN_EXE_bellstack"), "--catalog", "shop.db", "export", "--out", "out"])
        .current_dir(program.dir())
        .output()
        .unwrap();
    let told = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(3), "{told}");
    let path = Path::new("out").join("flywheels.csv").display().to_string();
    let expected = format!("error: `{path}` cannot be written: no file may grow that large here\n");
    assert!(told.starts_with(&expected), "{told}");
    assert_eq!(names_in(program.dir()), ["flywheels.csv", "shop.db"]);
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_under_the_answer_is_called_so_and_what_was_done_stays_done() {
    let program = Program::demo();
    let full = || -> Stdio { OpenOptions::new().write(true).open("/dev/full").unwrap().into() };
    let run = |args: &[&str]| {
        let args = ["--catalog", "shop.db"].iter().chain(args).copied().collect::<Vec<_>>();
        let output = program_in(program.dir(), &args, full());
        (output.status.code(), String::from_utf8(output.stderr).unwrap())
    };
    let told = "error: the answer could not be written: the disk is full\n".to_string();
    assert_eq!(run(&["--help"]), (Some(3), told.clone()));
    assert_eq!(run(&["--version"]), (Some(3), told.clone()));
    assert_eq!(run(&["part", "list"]), (Some(3), told));
    let (status, told) = run(&["part", "add", "flywheel", "F-1"]);
    assert_eq!(status, Some(0), "{told}");
    assert_eq!(
        told,
        "warning: the answer could not be written: the disk is full; this was done:\nadded the \
         part F-1\n"
    );
    assert!(program.answer("part list").contains("F-1"));
}

#[test]
fn a_reader_that_goes_away_from_a_change_is_no_error() {
    let program = Program::demo();
    let closed = Box::leak(Box::new(Closed(std::io::ErrorKind::BrokenPipe)));
    let ran = program.run_in(&["part", "add", "flywheel", "F-1"], |env| env.out = closed);
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
}

#[test]
fn a_lock_on_the_workshop_is_let_go_with_the_program() {
    // The lock of a maker is the operating system's, so that a killed one holds none.
    let directory = tempfile::tempdir().unwrap();
    let path = directory.path().join("lock");
    let held = File::create(&path).unwrap();
    held.try_lock().unwrap();
    assert!(File::open(&path).unwrap().try_lock().is_err());
    drop(held);
    assert!(File::open(&path).unwrap().try_lock().is_ok());
}
