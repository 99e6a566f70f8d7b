//! Copies of the whole catalog: asked for, put back, and kept beside it before it changes as a whole.

use std::fs;
use std::path::Path;

use rusqlite::Connection;

use crate::program::{Program, Ran};

/// What a catalog holds, its history and its kept answers.
fn all(program: &Program, catalog: &Path) -> String {
    let catalog = catalog.display();
    let out = program.dir().join("out");
    let _ = fs::remove_dir_all(&out);
    program.answer(&format!("--catalog '{catalog}' export --units mm --out '{}'", out.display()));
    let mut text = String::new();
    let mut files: Vec<_> =
        fs::read_dir(&out).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.sort();
    for file in files {
        text += &fs::read_to_string(file).unwrap();
    }
    for line in ["history --limit 1000 --format json", "answer list --format json"] {
        text += &program.answer(&format!("--catalog '{catalog}' {line}"));
    }
    text
}

fn copies(program: &Program) -> Vec<String> {
    let Ok(entries) = fs::read_dir(program.dir().join("shop.db.copies")) else { return vec![] };
    let mut names: Vec<String> =
        entries.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

fn run(program: &Program, line: &str) -> Ran {
    program.run(line)
}

#[test]
fn a_backup_holds_everything_even_while_others_write() {
    let program = Program::demo();
    program.answer("piece add FW-S1000#A condition=new");
    program.answer("reading add FW-S1000#A thickness 1.001 1.002 in --by Kim --date 2026-02-03");
    program.run("answer keep tight-slate --fit --as kept");
    let before = all(&program, &program.catalog());
    let writer = Connection::open(program.catalog()).unwrap();
    writer.execute_batch("BEGIN IMMEDIATE; UPDATE part SET notes = 'half';").unwrap();
    let copy = program.dir().join("sub/copy.db");
    let told = program.answer(&format!("backup '{}'", copy.display()));
    writer.execute_batch("ROLLBACK").unwrap();
    assert_eq!(told, format!("{}: 68 parts, 8 jobs, the record up to command 3\n", copy.display()));
    assert_eq!(all(&program, &copy), before);
    assert_eq!(all(&program, &program.catalog()), before, "the catalog is as it was");
    let names: Vec<_> = fs::read_dir(program.dir().join("sub")).unwrap().collect();
    assert_eq!(names.len(), 1, "a copy needs nothing beside it");
}

#[test]
fn a_backup_refuses_to_replace_what_is_there_and_what_cannot_be() {
    let program = Program::demo();
    let file = program.file("copy.db", "something else");
    let ran = run(&program, &format!("backup '{file}'"));
    assert_eq!(
        (ran.status, ran.err),
        (
            2,
            format!(
                "error: `{file}` is there already\n  hint: `--force` replaces it; or give another name\n"
            )
        )
    );
    assert_eq!(fs::read_to_string(&file).unwrap(), "something else");
    program.answer(&format!("backup --force '{file}'"));
    assert_eq!(all(&program, Path::new(&file)), all(&program, &program.catalog()));
    let own = program.catalog().display().to_string();
    let ran = run(&program, &format!("backup --force '{own}'"));
    assert!(ran.status == 2 && ran.err.contains("is the catalog itself"), "{}", ran.err);
    let ran = run(&program, &format!("backup '{}'", program.dir().display()));
    assert_ne!(ran.status, 0, "a directory is no file");
}

#[test]
fn a_catalog_is_restored_to_what_a_copy_holds_and_what_it_held_before_is_kept() {
    let program = Program::demo();
    let copy = program.dir().join("copy.db");
    program.answer(&format!("backup '{}'", copy.display()));
    let untouched = fs::read(&copy).unwrap();
    program.answer("part remove FW-STEP");
    program.answer("part add flywheel LATER thickness='1 in'");
    let later = all(&program, &program.catalog());
    let line = format!("restore '{}'", copy.display());
    let ran = run(&program, &line);
    assert!(
        ran.status == 2 && ran.err.contains("is there already\n  hint: `--force`"),
        "{}",
        ran.err
    );
    assert_eq!(all(&program, &program.catalog()), later, "nothing was changed");
    let ran = program.run_args(&["restore", "--force", copy.to_str().unwrap()]);
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    let kept = program.dir().join("shop.db.copies/000001-restore.db");
    let told = format!(
        "{}: 68 parts, 8 jobs, the record up to command 2\nwhat it held before is kept: {}\n",
        program.catalog().display(),
        kept.display()
    );
    assert_eq!(ran.out, told);
    assert!(program.answer("part list").contains("FW-STEP"));
    assert_eq!(program.run("part show LATER").status, 2);
    assert_eq!(all(&program, &kept), later);
    assert_eq!(fs::read(&copy).unwrap(), untouched, "a copy is not written to");
    let history = program.answer("history --width 200");
    assert!(history.contains("the catalog, restored_from: (blank) -> "), "{history}");
    assert!(history.contains("last_command: 3 -> 1"), "{history}");
    let ran = program.run("undo");
    assert!(
        ran.status == 2 && ran.err.contains("it changed the catalog as a whole"),
        "{}",
        ran.err
    );
    // What is restored can be taken further, and back.
    program.answer("part edit FW-STEP notes=seen");
    program.answer(&format!("restore --force '{}'", kept.display()));
    assert!(program.answer("part list").contains("LATER"));
    assert_eq!(program.run("check --format json").status, 1);
}

#[test]
fn a_catalog_is_made_from_a_copy_where_there_is_none() {
    let program = Program::demo();
    let copy = program.dir().join("copy.db");
    program.answer(&format!("backup '{}'", copy.display()));
    let fresh = program.dir().join("deep/new.db");
    let ran =
        run(&program, &format!("--catalog '{}' restore '{}'", fresh.display(), copy.display()));
    assert_eq!(ran.status, 0, "{}", ran.err);
    assert_eq!(ran.err, format!("a new catalog was made: {}\n", fresh.display()));
    let list = |path: &Path| program.answer(&format!("--catalog '{}' part list", path.display()));
    assert_eq!(list(&fresh), list(&copy));
    let names: Vec<_> = fs::read_dir(program.dir().join("deep")).unwrap().collect();
    assert_eq!(names.len(), 1);
}

#[test]
fn a_file_that_is_no_sound_catalog_is_not_restored_from() {
    let program = Program::demo();
    let copy = program.dir().join("copy.db");
    program.answer(&format!("backup '{}'", copy.display()));
    let held = all(&program, &program.catalog());
    let refused = |line: &str, status: u8, told: &str| {
        let ran = program.run(line);
        assert_eq!((ran.status, ran.out.as_str()), (status, ""), "{line}: {}", ran.err);
        assert!(ran.err.contains(told), "{line}: {}", ran.err);
        assert_eq!(all(&program, &program.catalog()), held, "{line}");
        assert!(copies(&program).is_empty(), "{line}");
    };
    let text = program.file("text.db", "no catalog at all, but long enough to be looked at");
    refused(&format!("restore --force '{text}'"), 3, "is no catalog of this program");
    let empty = program.file("empty.db", "");
    refused(&format!("restore --force '{empty}'"), 3, "there is no catalog in");
    refused("restore --force nowhere.db", 3, "there is no catalog in `nowhere.db`");
    let own = program.catalog().display().to_string();
    refused(&format!("restore --force '{own}'"), 2, "is the catalog itself");
    // A value that changed on the disk.
    let conn = Connection::open(&copy).unwrap();
    conn.execute("UPDATE dimension SET value = value + 1 WHERE key = 'thickness'", []).unwrap();
    drop(conn);
    let told = "is not as this program stored it";
    refused(&format!("restore --force '{}'", copy.display()), 3, told);
}

#[test]
fn before_an_import_that_changes_something_a_copy_is_kept_and_of_copies_the_last_five() {
    let program = Program::demo();
    assert!(copies(&program).is_empty(), "there was nothing to copy before the first one");
    let file = |note: u32| {
        program.file("flywheels.csv", &format!("id,thickness,notes\nF-1,1.000 in,{note}\n"))
    };
    let path = file(0);
    program.answer(&format!("import --dry-run '{path}'"));
    assert!(copies(&program).is_empty());
    program.answer(&format!("import '{path}'"));
    assert_eq!(copies(&program), ["000001-import.db"]);
    program.answer(&format!("import '{path}'"));
    assert_eq!(copies(&program), ["000001-import.db"], "nothing changed");
    let kept = program.dir().join("shop.db.copies/000001-import.db");
    assert_eq!(program.run(&format!("--catalog '{}' part show ENG-S1", kept.display())).status, 0);
    assert_eq!(program.run(&format!("--catalog '{}' part show F-1", kept.display())).status, 2);
    let bad = program.file("discs.csv", "id,thickness\nD-1,0.3\n");
    assert_eq!(program.run(&format!("import '{bad}'")).status, 2);
    for note in 1..8 {
        program.answer(&format!("import '{}'", file(note)));
    }
    let names: Vec<String> = (4..=8).map(|number| format!("{number:06}-import.db")).collect();
    assert_eq!(copies(&program), names);
}

#[test]
fn before_a_migration_a_copy_of_the_older_version_is_kept() {
    let program = Program::new();
    let conn = Connection::open(program.catalog()).unwrap();
    conn.execute_batch(include_str!("../../catalog/migrations/0001_first.sql")).unwrap();
    conn.execute_batch(
        "PRAGMA application_id = 0x42454C53; PRAGMA user_version = 1; PRAGMA journal_mode = WAL;
         INSERT INTO part VALUES (1, 'F-1', 'flywheel', '', '', NULL, 1, NULL, 0, '');",
    )
    .unwrap();
    drop(conn);
    assert!(program.answer("part list").contains("F-1"));
    assert_eq!(copies(&program), ["000001-migration.db"]);
    let kept = program.dir().join("shop.db.copies/000001-migration.db");
    let conn = Connection::open(&kept).unwrap();
    let version: i64 = conn.query_row("PRAGMA user_version", [], |row| row.get(0)).unwrap();
    assert_eq!(version, 1);
    drop(conn);
    // An older copy is brought up in the catalog, and stays as it is itself.
    let bytes = fs::read(&kept).unwrap();
    program.answer("part add engine E-1");
    program.answer(&format!("restore --force '{}'", kept.display()));
    assert!(!program.answer("part list").contains("E-1"));
    assert_eq!(fs::read(&kept).unwrap(), bytes);
}

#[test]
fn house_numbers_travel_as_csv_and_what_does_not_travel_is_said() {
    let program = Program::demo();
    program.answer("window set reserve_margin='0.0601 in' preload_min='14.0001 mm' currency=EUR");
    program.run("answer keep tight-slate --fit --as kept");
    let out = program.dir().join("out");
    let told = program.answer(&format!("export --units mm --out '{}'", out.display()));
    let stays = "not in these files: 77 changes on record and 1 kept answer; `bellstack backup FILE` \
                 carries all\n";
    assert!(
        told.ends_with(stays) || told.contains("changes on record and 1 kept answer"),
        "{told}"
    );
    let window = out.join("window.csv");
    let text = fs::read_to_string(&window).unwrap();
    assert!(text.starts_with("key,value,meaning\n"), "{text}");
    assert!(text.contains("\npreload_min,14.0001 mm,"), "{text}");
    let other = program.dir().join("other.db").display().to_string();
    let import = format!("--catalog '{other}' import '{}'", window.display());
    let ran = program.run(&import);
    assert!(ran.out.contains("house numbers: 0 added, 3 updated, "), "{}{}", ran.out, ran.err);
    let show =
        |catalog: &str| program.answer(&format!("--catalog '{catalog}' window show --units mm"));
    assert_eq!(show(&other), show(&program.catalog().display().to_string()));
    let again = program.answer(&import);
    assert!(again.contains("house numbers: 0 added, 0 updated, "), "{again}");
    assert_eq!(program.answer("export --kind window --units mm"), text);
    // A blank goes back to the default.
    let blank = program.file("window.csv", "key,value\nreserve_margin,\n");
    program.answer(&format!("import '{blank}'"));
    assert!(program.answer("window show").contains("0.030 in"));
    let bad = program
        .file("window.csv", "key,value\nreserve_margn,1 in\nstroke_margin,1\nstroke_margin,1 in\n");
    let ran = program.run(&format!("import '{bad}'"));
    assert_eq!(ran.status, 2);
    for told in [
        "window.csv line 2 column `key`: ",
        "did you mean `reserve_margin`?",
        "window.csv line 3 column `value`: `1` has no unit",
        "window.csv line 4 column `key`: `stroke_margin` was given before",
    ] {
        assert!(ran.err.contains(told), "{told}: {}", ran.err);
    }
}
