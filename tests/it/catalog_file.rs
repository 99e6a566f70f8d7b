//! The catalog's file: kept whole, shared, and refused where it is not ours.

use std::fs;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use bellstack::catalog::{Access, Catalog};
use bellstack::error::Error;
use bellstack::model::kinds::Kinds;
use rusqlite::Connection;

use crate::support::{TestDir, part, stamp};

#[test]
fn a_catalog_that_is_not_there_is_told_with_how_to_make_one() {
    let bench = TestDir::new();
    for access in [Access::Read, Access::Write] {
        let error = bench.open(access).unwrap_err();
        assert_eq!(error.exit_status(), 3);
        let text = error.to_string();
        assert!(
            text.contains("there is no catalog") && text.contains("bellstack import"),
            "{text}"
        );
    }
    assert!(bench.files().is_empty());
    fs::write(bench.path("shop.db"), b"").unwrap();
    let text = bench.open(Access::Read).unwrap_err().to_string();
    assert!(text.contains("is empty"), "{text}");
}

#[test]
fn a_catalog_is_made_in_an_empty_file_and_in_a_directory_that_was_missing() {
    let bench = TestDir::new();
    fs::write(bench.path("shop.db"), b"").unwrap();
    let mut catalog = bench.catalog();
    assert!(catalog.load_library().unwrap().parts.is_empty());
    catalog.write(&stamp(), |writer| writer.insert(&part("flywheel", "F-1"))).unwrap();
    assert_eq!(bench.open(Access::Read).unwrap().load_library().unwrap().parts.len(), 1);

    let deep = bench.path("a/b/shop.db");
    let mut catalog = Catalog::open(&deep, Kinds::standard(), Access::Create).unwrap();
    catalog.write(&stamp(), |writer| writer.insert(&part("flywheel", "F-1"))).unwrap();
    drop(catalog);
    let names: Vec<_> = fs::read_dir(deep.parent().unwrap()).unwrap().collect();
    assert_eq!(names.len(), 1, "nothing stands beside a closed catalog");
}

#[test]
fn a_newer_catalog_is_refused_and_left_unchanged() {
    let bench = TestDir::with_part("flywheel", "F-1");
    let path = bench.path("shop.db");
    let conn = Connection::open(&path).unwrap();
    conn.pragma_update(None, "user_version", 9999).unwrap();
    drop(conn);
    let before = fs::read(&path).unwrap();
    for access in [Access::Read, Access::Write, Access::Create] {
        let error = bench.open(access).unwrap_err();
        assert_eq!(error.exit_status(), 3);
        assert!(error.to_string().contains("version 9999"), "{error}");
    }
    assert_eq!(fs::read(&path).unwrap(), before);
    assert_eq!(bench.files(), ["shop.db"]);
}

#[test]
fn what_is_no_catalog_is_refused_and_left_unchanged() {
    let bench = TestDir::new();
    let path = bench.path("shop.db");
    let refused = |text: &str| {
        for access in [Access::Read, Access::Write, Access::Create] {
            let error = bench.open(access).unwrap_err();
            assert_eq!(error.exit_status(), 3);
            assert!(error.to_string().contains(text), "{error}");
            assert!(error.to_string().contains("shop.db"), "{error}");
        }
    };
    fs::write(&path, "id,kind\nF-1,flywheel\n".repeat(200)).unwrap();
    refused("no catalog of this program");
    fs::remove_file(&path).unwrap();

    let conn = Connection::open(&path).unwrap();
    conn.execute_batch("CREATE TABLE part (x)").unwrap();
    drop(conn);
    let before = fs::read(&path).unwrap();
    refused("another program's database");
    assert_eq!(fs::read(&path).unwrap(), before);
    fs::remove_file(&path).unwrap();

    fs::create_dir(&path).unwrap();
    refused("is a directory");
    fs::remove_dir(&path).unwrap();

    fs::write(bench.path("file"), "x").unwrap();
    let under = bench.path("file").join("shop.db");
    let opened = Catalog::open(&under, Kinds::standard(), Access::Create);
    let error = opened
        .and_then(|mut catalog| catalog.write(&stamp(), |w| w.insert(&part("disc", "D"))))
        .unwrap_err();
    assert_eq!(error.exit_status(), 3);
}

#[test]
fn a_damaged_catalog_is_told_and_not_guessed_at() {
    let bench = TestDir::new();
    bench
        .catalog()
        .write(&stamp(), |writer| {
            (0..500).try_for_each(|n| writer.insert(&part("bearing", &format!("B-{n}"))))
        })
        .unwrap();
    let path = bench.path("shop.db");
    let whole = fs::read(&path).unwrap();

    let mut torn = whole.clone();
    let from = 4096 * 3;
    torn[from..].fill(0xA5);
    fs::write(&path, &torn).unwrap();
    damaged(&bench);

    fs::write(&path, &whole[..whole.len() / 2]).unwrap();
    damaged(&bench);
}

fn damaged(bench: &TestDir) {
    let error = bench.open(Access::Read).and_then(|catalog| catalog.load_library()).unwrap_err();
    assert_eq!(error.exit_status(), 3);
    assert!(error.to_string().contains("damaged"), "{error}");
}

#[test]
fn a_catalog_with_a_kind_or_dimension_of_another_program_is_told() {
    let bench = TestDir::with_part("flywheel", "F-1");
    let conn = Connection::open(bench.path("shop.db")).unwrap();
    conn.execute("INSERT INTO dimension SELECT number, 'colour', 1, NULL, NULL FROM part", [])
        .unwrap();
    let text = bench.catalog().load_library().unwrap_err().to_string();
    assert!(text.contains("`colour` for the flywheel `F-1`"), "{text}");
    conn.execute_batch("DELETE FROM dimension; UPDATE part SET kind = 'hub'").unwrap();
    let text = bench.catalog().load_library().unwrap_err().to_string();
    assert!(text.contains("kind `hub`"), "{text}");
}

#[test]
fn a_reader_sees_one_state_while_another_connection_writes() {
    let bench = TestDir::new();
    let mut writer = bench.catalog();
    writer.write(&stamp(), |w| w.insert(&part("flywheel", "F-1"))).unwrap();
    let reader = bench.open(Access::Read).unwrap();
    reader
        .read(|snapshot| {
            assert_eq!(snapshot.load_library()?.parts.len(), 1);
            writer.write(&stamp(), |w| w.insert(&part("flywheel", "F-2")))?;
            assert_eq!(snapshot.load_library()?.parts.len(), 1);
            Ok(())
        })
        .unwrap();
    assert_eq!(reader.load_library().unwrap().parts.len(), 2);
}

#[test]
fn writers_wait_for_each_other_and_lose_nothing() {
    let bench = TestDir::new();
    let path = bench.path("shop.db");
    std::thread::scope(|scope| {
        for writer in 0..4 {
            let path = &path;
            scope.spawn(move || {
                for number in 0..10 {
                    // Each opens for itself, so that they also race to make the catalog.
                    let mut catalog =
                        Catalog::open(path, Kinds::standard(), Access::Create).unwrap();
                    let id = format!("F-{writer}-{number}");
                    catalog.write(&stamp(), |w| w.insert(&part("flywheel", &id))).unwrap();
                }
            });
        }
    });
    assert_eq!(bench.catalog().load_library().unwrap().parts.len(), 40);
    assert_eq!(bench.files(), ["shop.db"]);
}

/// Starts the program on a file of five hundred parts.
fn start_import(bench: &TestDir, name: &str, header: &str, row: impl Fn(u32) -> String) -> Child {
    let file = bench.path(name);
    let rows: String = (0..500).map(|number| row(number) + "\n").collect();
    fs::write(&file, format!("{header}\n{rows}")).unwrap();
    Command::new(env!("CARGO_BIN_EXE_bellstack"))
        .arg("--catalog")
        .arg(bench.path("shop.db"))
        .arg("import")
        .arg(file)
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap()
}

fn finish(child: Child) {
    let output = child.wait_with_output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
}

#[test]
fn two_programs_that_import_at_once_lose_nothing() {
    let bench = TestDir::new();
    // Neither finds a catalog, and each would make one.
    let both = ["flywheel", "disc"].map(|kind| {
        start_import(&bench, &format!("{kind}.csv"), "id", |number| format!("{kind}-{number}"))
    });
    both.into_iter().for_each(finish);
    assert_eq!(bench.catalog().load_library().unwrap().parts.len(), 1000);

    // Both wait for a third writer, and then change the same parts.
    let third = Connection::open(bench.path("shop.db")).unwrap();
    third.execute_batch("BEGIN IMMEDIATE").unwrap();
    let mut both = ["maker", "notes"].map(|column| {
        let header = format!("id,{column}");
        let row = |number| format!("disc-{number},{column} {number}");
        start_import(&bench, &format!("{column}.csv"), &header, row)
    });
    std::thread::sleep(Duration::from_millis(500));
    assert!(both.iter_mut().all(|child| child.try_wait().unwrap().is_none()));
    third.execute_batch("ROLLBACK").unwrap();
    both.into_iter().for_each(finish);
    let library = bench.catalog().load_library().unwrap();
    for number in 0..500 {
        let part = library.find(&format!("disc-{number}")).unwrap();
        let told = (part.maker.as_str(), part.notes.as_str());
        assert_eq!(told, (&*format!("maker {number}"), &*format!("notes {number}")));
    }
}

/// The refusal of a catalog to give its part away.
fn not_removed(catalog: &mut Catalog) -> Error {
    let removed = catalog.write(&stamp(), |writer| {
        writer.reader().load_part("F-1").and_then(|it| writer.remove(&it))
    });
    let error = removed.unwrap_err();
    assert_eq!(error.exit_status(), 3);
    error
}

#[test]
fn a_catalog_kept_busy_is_told_after_some_seconds() {
    let bench = TestDir::with_part("flywheel", "F-1");
    let other = Connection::open(bench.path("shop.db")).unwrap();
    other.execute_batch("BEGIN IMMEDIATE").unwrap();
    let mut catalog = bench.catalog();
    assert_eq!(catalog.load_library().unwrap().parts.len(), 1);
    let error = not_removed(&mut catalog);
    assert!(error.to_string().contains("in use by another program"), "{error}");
}

#[test]
fn a_read_command_cannot_write() {
    let bench = TestDir::with_part("flywheel", "F-1");
    not_removed(&mut bench.open(Access::Read).unwrap());
}

/// Runs one test of this crate again as a user without rights, since nothing is forbidden to the
/// superuser under whom the tests may run. The test gets the bench's directory.
#[cfg(unix)]
fn as_nobody(test: &str, bench: &TestDir) {
    use std::os::unix::fs::{MetadataExt as _, PermissionsExt as _};
    use std::os::unix::process::CommandExt as _;
    let mut command = std::process::Command::new(std::env::current_exe().unwrap());
    command.args(["--exact", test, "--ignored", "--nocapture"]).env("BENCH", bench.dir());
    if fs::metadata(bench.dir()).unwrap().uid() == 0 {
        // The program itself may lie where only the superuser can go.
        let copy = bench.path("program");
        fs::copy(std::env::current_exe().unwrap(), &copy).unwrap();
        fs::set_permissions(&copy, fs::Permissions::from_mode(0o755)).unwrap();
        let args = ["--exact", test, "--ignored", "--nocapture"];
        command = std::process::Command::new(copy);
        command.args(args).env("BENCH", bench.dir()).uid(65_534).gid(65_534).current_dir("/");
    }
    fs::set_permissions(bench.dir(), fs::Permissions::from_mode(0o755)).unwrap();
    let output = command.output().unwrap();
    let told = String::from_utf8_lossy(&output.stdout);
    let ran = output.status.success() && told.contains("1 passed");
    assert!(ran, "{told}{}", String::from_utf8_lossy(&output.stderr));
}

#[cfg(unix)]
#[test]
fn a_catalog_in_a_directory_that_cannot_be_written_is_read() {
    use std::os::unix::fs::PermissionsExt as _;
    let bench = TestDir::new();
    let home = bench.path("a %b?#");
    fs::create_dir(&home).unwrap();
    let path = home.join("shop.db");
    let mut catalog = Catalog::open(&path, Kinds::standard(), Access::Create).unwrap();
    catalog.write(&stamp(), |writer| writer.insert(&part("flywheel", "F-1"))).unwrap();
    drop(catalog);
    fs::set_permissions(&home, fs::Permissions::from_mode(0o555)).unwrap();
    as_nobody("catalog_file::read_only_directory_as_nobody", &bench);
    fs::set_permissions(&home, fs::Permissions::from_mode(0o755)).unwrap();
    assert_eq!(fs::read_dir(&home).unwrap().count(), 1);
}

#[test]
#[ignore = "run by another test"]
fn read_only_directory_as_nobody() {
    let Ok(dir) = std::env::var("BENCH") else { return };
    let path = Path::new(&dir).join("a %b?#/shop.db");
    for access in [Access::Read, Access::Write, Access::Create] {
        let mut catalog = Catalog::open(&path, Kinds::standard(), access).unwrap();
        assert_eq!(catalog.load_library().unwrap().parts.len(), 1);
        let error = catalog
            .write(&stamp(), |writer| {
                writer.reader().load_part("F-1").and_then(|it| writer.remove(&it))
            })
            .unwrap_err();
        assert_eq!(error.exit_status(), 3);
        assert!(error.to_string().contains("read-only"), "{error}");
    }
    let path = Path::new(&dir).join("a %b?#/other.db");
    let mut catalog = Catalog::open(&path, Kinds::standard(), Access::Create).unwrap();
    let error = catalog.write(&stamp(), |writer| writer.insert(&part("disc", "D-1"))).unwrap_err();
    assert_eq!(error.exit_status(), 3);
    assert!(error.to_string().contains("permission denied"), "{error}");
}

#[cfg(unix)]
#[test]
fn a_file_without_permission_is_told() {
    use std::os::unix::fs::PermissionsExt as _;
    let bench = TestDir::with_part("flywheel", "F-1");
    fs::write(bench.path("flywheels.csv"), "id\n").unwrap();
    for name in ["shop.db", "flywheels.csv"] {
        fs::set_permissions(bench.path(name), fs::Permissions::from_mode(0o000)).unwrap();
    }
    as_nobody("catalog_file::no_permission_as_nobody", &bench);
}

#[test]
#[ignore = "run by another test"]
fn no_permission_as_nobody() {
    let Ok(dir) = std::env::var("BENCH") else { return };
    let path = Path::new(&dir).join("shop.db");
    for access in [Access::Read, Access::Write, Access::Create] {
        let error = Catalog::open(&path, Kinds::standard(), access).unwrap_err();
        assert_eq!(error.exit_status(), 3);
        assert!(error.to_string().contains("permission denied"), "{error}");
    }
    let csv = Path::new(&dir).join("flywheels.csv");
    let error = bellstack::catalog::csv::Source::read(&csv).unwrap_err();
    assert_eq!(error.exit_status(), 3);
    assert!(error.to_string().contains("permission denied"), "{error}");
}
