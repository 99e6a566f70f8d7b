//! The program is killed at random moments: what it wrote is there whole or not at all, and the next
//! start finds nothing in its way.
//!
//! `BELLSTACK_KILLS` says how often each deed is killed.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use bellstack::catalog::csv::export;
use bellstack::catalog::{Access, Catalog};
use bellstack::model::history::About;
use bellstack::model::kinds::Kinds;
use bellstack::model::length::Unit;
use rusqlite::Connection;

use crate::program::Program;
use crate::support::{Dice, names_in};

/// How often each deed is killed where nobody says it.
const KILLS: u64 = 15;

fn kills() -> u64 {
    std::env::var("BELLSTACK_KILLS").map_or(KILLS, |kills| kills.parse().unwrap())
}

/// A directory as it was before a deed.
struct Before(Vec<(PathBuf, Vec<u8>)>);

impl Before {
    fn of(directory: &Path) -> Self {
        let mut files = Vec::new();
        let mut directories = vec![directory.to_path_buf()];
        while let Some(at) = directories.pop() {
            for entry in fs::read_dir(at).unwrap() {
                let path = entry.unwrap().path();
                if path.is_dir() {
                    directories.push(path);
                } else {
                    let name = path.strip_prefix(directory).unwrap().to_path_buf();
                    files.push((name, fs::read(&path).unwrap()));
                }
            }
        }
        Self(files)
    }

    fn laid_out(&self) -> tempfile::TempDir {
        let directory = tempfile::tempdir().unwrap();
        for (name, bytes) in &self.0 {
            let path = directory.path().join(name);
            fs::create_dir_all(path.parent().unwrap()).unwrap();
            fs::write(path, bytes).unwrap();
        }
        directory
    }
}

fn start(directory: &Path, words: &[&str]) -> Child {
    Command::new(env!("CARGO_BIN_EXE_bellstack"))
        .args(["--catalog", "shop.db"])
        .args(words)
        .current_dir(directory)
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .unwrap()
}

/// Everything that the catalog holds but the times of day; none where there is no catalog.
fn state(directory: &Path) -> Option<String> {
    let path = directory.join("shop.db");
    if fs::metadata(&path).map_or(0, |meta| meta.len()) == 0 {
        return None;
    }
    let catalog = match Catalog::open(&path, Kinds::standard(), Access::Read) {
        Ok(catalog) => catalog,
        // A creation in an empty file that was taken back.
        Err(error) if error.to_string().contains("is empty: there is no catalog in it") => {
            return None;
        }
        Err(error) => panic!("{error}"),
    };
    let told = catalog.read(|reader| {
        reader.look_through()?;
        let (library, jobs) = (reader.load_library()?, reader.load_jobs()?);
        let (events, _) = reader.history(About::Everything, usize::MAX)?;
        let answers = reader.load_answers()?;
        let answers: Vec<_> =
            answers.into_iter().map(|(name, kept)| (name, kept.map(|kept| kept.stacks))).collect();
        let events: Vec<_> =
            events.into_iter().map(|event| (event.number, event.name, event.changes)).collect();
        let files = export(&library, &jobs, None, Unit::Mm)?;
        Ok(format!("{files:?}{answers:?}{events:?}"))
    });
    Some(told.unwrap())
}

/// Kills a deed at random moments of its run, and looks each time at what it left; `seen` says which
/// of two states it was, and refuses any other.
fn killed(before: &Before, words: &[&str], dice: u64, seen: impl Fn(&Path) -> bool) {
    let mut longest = Duration::ZERO;
    for _ in 0..3 {
        let directory = before.laid_out();
        let clock = Instant::now();
        assert!(start(directory.path(), words).wait().unwrap().code().is_some_and(|c| c <= 1));
        longest = longest.max(clock.elapsed());
        assert!(seen(directory.path()), "{words:?} does its deed");
    }
    let mut dice = Dice::new(dice);
    let (mut alive, mut done) = (0_u64, 0_u64);
    for _ in 0..kills() {
        let directory = before.laid_out();
        let micros = u64::try_from(longest.as_micros()).unwrap();
        let moment = Duration::from_micros(dice.roll(micros + micros / 10));
        let mut child = start(directory.path(), words);
        std::thread::sleep(moment);
        alive += u64::from(child.try_wait().unwrap().is_none());
        let _ = child.kill();
        child.wait().unwrap();
        done += u64::from(seen(directory.path()));
        // The next start finds nothing in its way and leaves nothing behind.
        let again = start(directory.path(), words).wait().unwrap();
        assert!(again.code().is_some_and(|code| code <= 2), "{words:?} after a kill at {moment:?}");
        assert!(seen(directory.path()), "{words:?} after a kill at {moment:?}");
        // A journal that was not begun in earnest stays until something is written again.
        let write = start(directory.path(), &["part", "add", "engine", "LAST"]).wait().unwrap();
        assert!(write.success(), "{words:?} after a kill at {moment:?}");
        let left = names_in(directory.path());
        assert!(left.iter().all(|name| !name.starts_with('.')), "{left:?}");
        assert!(!left.iter().any(|name| name.ends_with("-journal")), "{left:?}");
    }
    println!("{words:?}: {} kills, {alive} while it ran, {done} after its deed", kills());
    assert!(alive > 0, "{words:?} was never killed while it ran");
}

/// Whether the catalog is as it is after the deed; it must be that or as it was before.
fn told_apart(before: &Before, words: &[&str]) -> impl Fn(&Path) -> bool {
    let directory = before.laid_out();
    let old = state(directory.path());
    assert!(start(directory.path(), words).wait().unwrap().code().is_some_and(|code| code <= 1));
    let new = state(directory.path());
    assert!(old != new && new.is_some(), "{words:?} changes something");
    move |directory| {
        let found = state(directory);
        assert!(found == old || found == new, "neither before nor after: {found:?}");
        found == new
    }
}

fn catalog_killed(before: &Before, words: &[&str], seed: u64) {
    killed(before, words, seed, told_apart(before, words));
}

/// Rows of flywheels.
fn rows(count: u32, note: &str) -> String {
    let rows: Vec<String> =
        (0..count).map(|number| format!("F-{number:03},1.{number:03} in,{note}\n")).collect();
    format!("id,thickness,notes\n{}", rows.concat())
}

#[test]
fn a_killed_import_makes_a_whole_catalog_or_none() {
    let program = Program::new();
    program.file("flywheels.csv", &rows(300, "new"));
    catalog_killed(&Before::of(program.dir()), &["import", "flywheels.csv"], 1);
}

#[test]
fn a_killed_import_into_an_empty_file_makes_a_whole_catalog_or_none() {
    let program = Program::new();
    program.file("flywheels.csv", &rows(100, "new"));
    program.file("shop.db", "");
    catalog_killed(&Before::of(program.dir()), &["import", "flywheels.csv"], 2);
}

#[test]
fn a_killed_import_changes_a_catalog_as_a_whole_or_not_at_all() {
    let program = Program::holding("flywheels.csv", &rows(300, "old"));
    program.file("flywheels.csv", &rows(400, "new"));
    catalog_killed(&Before::of(program.dir()), &["import", "flywheels.csv"], 3);
}

#[test]
fn a_killed_migration_leaves_the_old_version_or_the_new_one() {
    let program = Program::new();
    let conn = Connection::open(program.catalog()).unwrap();
    conn.execute_batch(include_str!("../../catalog/migrations/0001_first.sql")).unwrap();
    conn.execute_batch(
        "PRAGMA application_id = 0x42454C53; PRAGMA user_version = 1; PRAGMA journal_mode = WAL;
         WITH RECURSIVE n (i) AS (VALUES (1) UNION ALL SELECT i + 1 FROM n WHERE i < 300)
         INSERT INTO part SELECT i, 'F-' || i, 'flywheel', '', '', NULL, 1, NULL, 0, '' FROM n;",
    )
    .unwrap();
    drop(conn);
    let version = |directory: &Path| -> i64 {
        let conn = Connection::open(directory.join("shop.db")).unwrap();
        conn.query_row("PRAGMA user_version", [], |row| row.get(0)).unwrap()
    };
    killed(&Before::of(program.dir()), &["part", "list"], 4, |directory| {
        let found = version(directory);
        assert!(found == 1 || found >= 4, "a version between: {found}");
        // Reading it brings it up, whatever was left.
        let told = state(directory).unwrap();
        assert!(told.contains("F-300"), "{told}");
        found >= 4
    });
}

#[test]
fn a_killed_answer_is_kept_or_not() {
    let program = Program::demo();
    let words = ["answer", "keep", "tight-slate", "--fit", "--as", "kept"];
    catalog_killed(&Before::of(program.dir()), &words, 5);
}

#[test]
fn a_killed_edit_and_its_history_go_together() {
    let program = Program::demo();
    catalog_killed(&Before::of(program.dir()), &["part", "edit", "FW-S1000", "notes=seen"], 6);
}

#[test]
fn each_file_of_a_killed_export_is_whole_and_the_next_start_makes_all_of_them_so() {
    let program = Program::demo();
    let out = program.dir().join("out");
    program.answer(&format!("export --out '{}'", out.display()));
    let old = Before::of(&out);
    for id in ["FW-S1000", "DS-S330", "BR-S95", "ENG-S1"] {
        program.answer(&format!("part edit {id} notes=changed"));
    }
    let before = Before::of(program.dir());
    let words = ["export", "--force", "--out", "out"];
    let after = before.laid_out();
    assert!(start(after.path(), &words).wait().unwrap().success());
    let new = Before::of(&after.path().join("out"));
    killed(&before, &words, 7, |directory| {
        let out = directory.join("out");
        let mut all_new = true;
        for ((name, old), (_, new)) in old.0.iter().zip(&new.0) {
            let found = fs::read(out.join(name)).unwrap();
            assert!(found == *old || found == *new, "{}", name.display());
            all_new &= found == *new;
        }
        all_new
    });
}

#[test]
fn a_killed_undo_takes_a_whole_command_back_or_nothing() {
    let program = Program::holding("flywheels.csv", &rows(300, "new"));
    catalog_killed(&Before::of(program.dir()), &["undo", "1"], 8);
}

#[test]
fn a_killed_merge_takes_all_of_the_other_copy_or_nothing() {
    let program = Program::demo();
    let other = program.dir().join("other.db");
    fs::copy(program.catalog(), &other).unwrap();
    let file = program.file("flywheels.csv", &rows(200, "there"));
    let other = other.display().to_string();
    for words in [
        &["import", &file][..],
        &["part", "edit", "FW-S1000", "price=300"],
        &["job", "edit", "tight-slate", "customer=Kim"],
        &["part", "remove", "FW-STEP"],
    ] {
        let ran = program.run_args(&[&["--catalog", &other], words].concat());
        assert_eq!(ran.status, 0, "{words:?}: {}", ran.err);
    }
    program.answer("part edit FW-S1000 on_hand=3");
    catalog_killed(&Before::of(program.dir()), &["merge", "other.db"], 11);
}

#[test]
fn a_killed_backup_makes_a_whole_copy_or_none_and_leaves_the_catalog_alone() {
    let program = Program::demo();
    let before = Before::of(program.dir());
    let old = state(before.laid_out().path());
    let copy = |directory: &Path| {
        let path = directory.join("copy.db");
        if !path.exists() {
            return None;
        }
        let alone = tempfile::tempdir().unwrap();
        fs::copy(path, alone.path().join("shop.db")).unwrap();
        state(alone.path())
    };
    killed(&before, &["backup", "--force", "copy.db"], 9, |directory| {
        let whole = copy(directory);
        assert!(whole.is_none() || whole == old, "a copy that is not whole");
        // What the harness adds at the end is no damage.
        let found = state(directory);
        assert!(found == old || found.unwrap().contains("LAST"));
        whole.is_some()
    });
}

#[test]
fn a_killed_restore_leaves_the_catalog_as_it_was_or_as_the_copy_is() {
    let program = Program::demo();
    let copy = program.dir().join("copy.db").display().to_string();
    program.answer(&format!("backup '{copy}'"));
    let file = program.file("flywheels.csv", &rows(300, "later"));
    assert_eq!(program.run_args(&["import", &file]).status, 0);
    killed(&Before::of(program.dir()), &["restore", "--force", "copy.db"], 10, |directory| {
        let told = state(directory).unwrap();
        let rows = told.matches("later").count();
        // Each row once in its file; the record of the import says nothing of notes.
        assert!(rows == 0 || rows >= 300, "half restored: {rows}");
        let is_on_record = told.contains("restored_from");
        assert_eq!(rows == 0, is_on_record, "what was restored is on record");
        is_on_record
    });
}
