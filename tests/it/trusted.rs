//! A catalog's file is held against the program's own schema before anything in it is obeyed.

use std::fs;

use rusqlite::Connection;

use crate::program::Program;

/// A catalog of one part, and a connection to plant things in it.
fn planted(sql: &str) -> Program {
    let program = Program::new();
    program.answer("part add flywheel F-1 thickness='1.000 in' price=310");
    let conn = Connection::open(program.catalog()).unwrap();
    conn.execute_batch(sql).unwrap();
    drop(conn);
    program
}

/// Every command is refused with this told, and the file stays as it was.
fn refused(program: &Program, told: &str) {
    let before = fs::read(program.catalog()).unwrap();
    for line in [
        "check",
        "part list",
        "part edit F-1 price=311",
        "part add flywheel F-2 thickness='1.000 in'",
        "history",
        "export",
        "answer list",
    ] {
        let ran = program.run(line);
        assert_eq!((ran.status, ran.out.as_str()), (3, ""), "`{line}`: {}", ran.err);
        assert!(ran.err.contains(told), "`{line}`: {}", ran.err);
        assert!(ran.err.contains("shop.db") && ran.err.contains("\n  hint: "), "{}", ran.err);
    }
    assert!(before == fs::read(program.catalog()).unwrap(), "a refused file stays as it is");
}

#[test]
fn a_trigger_in_the_file_is_named_and_not_obeyed() {
    let program = planted(
        "CREATE TRIGGER silent AFTER UPDATE ON part BEGIN
           UPDATE part SET price_cents = 1 WHERE number = NEW.number;
         END;",
    );
    refused(&program, "holds a trigger `silent` that is not this program's");
}

#[test]
fn an_endless_view_in_the_place_of_a_table_is_named_and_not_read() {
    let program = planted(
        "PRAGMA foreign_keys = OFF; PRAGMA legacy_alter_table = ON;
         ALTER TABLE face RENAME TO other;
         CREATE VIEW face AS WITH RECURSIVE n (part, key, names) AS (
           VALUES (1, 'crank_pattern', 'a') UNION ALL SELECT part, key, names FROM n)
         SELECT * FROM n;",
    );
    refused(&program, "holds a view `face` that is not this program's");
}

#[test]
fn whatever_else_the_program_did_not_make_is_named() {
    refused(&planted("CREATE TABLE other (x)"), "holds a table `other` that is not this");
    refused(&planted("CREATE VIEW v AS SELECT 1"), "holds a view `v` that is not this");
    refused(
        &planted("CREATE UNIQUE INDEX once ON part (kind)"),
        "holds an index `once` that is not this",
    );
    refused(&planted("DROP TRIGGER event_stays"), "lacks its trigger `event_stays`");
    refused(&planted("DROP INDEX face_by_key"), "lacks its index `face_by_key`");
    refused(
        &planted("ALTER TABLE setting ADD COLUMN more TEXT"),
        "holds a table `setting` that is not as this program made it",
    );
    refused(
        &planted(
            "DROP TRIGGER event_stays;
             CREATE TRIGGER event_stays BEFORE DELETE ON event BEGIN SELECT 1; END;",
        ),
        "holds a trigger `event_stays` that is not as this program made it",
    );
}

#[test]
fn what_sqlite_itself_keeps_for_its_planner_is_no_stranger() {
    let program = planted("ANALYZE;");
    assert!(program.answer("part list").contains("F-1"));
    program.answer("part edit F-1 price=311");
}

#[test]
fn a_trigger_in_an_older_catalog_is_not_obeyed_by_its_migration() {
    let program = Program::new();
    let conn = Connection::open(program.catalog()).unwrap();
    conn.execute_batch(include_str!("../../catalog/migrations/0001_first.sql")).unwrap();
    conn.execute_batch(
        "CREATE TRIGGER early AFTER INSERT ON part BEGIN DELETE FROM setting; END;
         PRAGMA application_id = 0x42454C53; PRAGMA user_version = 1;",
    )
    .unwrap();
    drop(conn);
    refused(&program, "holds a trigger `early` that is not this program's");
}

#[test]
fn a_trigger_planted_while_the_catalog_is_open_is_not_obeyed() {
    use bellstack::catalog::Access;

    use crate::support::{TestDir, part, stamp};
    let dir = TestDir::new();
    let mut catalog = dir.catalog();
    catalog.write(&stamp(), |writer| writer.insert(&part("disc", "D-1"))).unwrap();
    let mut open = dir.open(Access::Write).unwrap();
    let conn = Connection::open(dir.path("shop.db")).unwrap();
    conn.execute_batch(
        "CREATE TRIGGER late AFTER INSERT ON part BEGIN UPDATE part SET on_hand = 9; END",
    )
    .unwrap();
    let error = open.write(&stamp(), |writer| writer.insert(&part("disc", "D-2"))).unwrap_err();
    assert_eq!(error.exit_status(), 3);
    assert!(error.to_string().contains("a trigger `late`"), "{error}");
    assert!(open.load_library().unwrap_err().to_string().contains("a trigger `late`"));
}

#[test]
fn check_looks_through_the_whole_file_and_tells_of_damage() {
    let program = Program::new();
    let rows: Vec<String> = (0..400).map(|n| format!("F-{n},ring-{}\n", n % 7)).collect();
    let file = program.file("flywheels.csv", &("id,crank_pattern\n".to_string() + &rows.concat()));
    program.run_args(&["import", &file]);
    assert!(program.run("check").status <= 1);
    // A name changed in its table while its index looked away: no answer would notice.
    let open = || Connection::open(program.catalog()).unwrap();
    let conn = open();
    let sql = "SELECT sql, rootpage FROM sqlite_schema WHERE name = 'face_by_key'";
    let made: (String, i64) =
        conn.query_row(sql, [], |row| Ok((row.get(0)?, row.get(1)?))).unwrap();
    conn.execute_batch(
        "PRAGMA writable_schema = ON; DELETE FROM sqlite_schema WHERE name = 'face_by_key';",
    )
    .unwrap();
    drop(conn);
    open().execute("UPDATE face SET names = 'ring-9' WHERE part = 7", []).unwrap();
    let conn = open();
    conn.execute_batch("PRAGMA writable_schema = ON").unwrap();
    let sql = "INSERT INTO sqlite_schema VALUES ('index', 'face_by_key', 'face', ?2, ?1)";
    conn.execute(sql, made).unwrap();
    drop(conn);
    assert_eq!(program.run("part list").status, 0, "no answer notices");
    let ran = program.run("check");
    assert_eq!((ran.status, ran.out.as_str()), (3, ""));
    assert!(ran.err.contains("is damaged") && ran.err.contains("face"), "{}", ran.err);
}

#[test]
fn a_value_that_changed_without_this_program_is_told() {
    let program = Program::demo();
    for line in [
        "reading add FW-S1000#A thickness 1.251 1.252 in --bar '1/4 in' --condition used",
        "part edit PP-S190 finger_height='2.400 in' finger_height_bar='1/2 in'",
        "job edit tight-slate finger_depth='3.195 in' finger_depth_bar='0.250 in'",
        "window set stroke_margin='0.12 in'",
    ] {
        program.answer(line);
    }
    assert_eq!(program.run("answer keep tight-slate --fit --as today").status, 1);
    let whole = fs::read(program.catalog()).unwrap();
    let of = "part = (SELECT number FROM part WHERE id = 'FW-S1000')";
    let clutch = "part = (SELECT number FROM part WHERE id = 'PP-S190')";
    let job = "(SELECT number FROM job WHERE id = 'tight-slate')";
    for (sql, told) in [
        // Each of these could have been entered, and breaks no rule of the tables.
        (
            format!("UPDATE dimension SET value = value + 1 WHERE key = 'thickness' AND {of}"),
            "the part `FW-S1000` is not as this program stored it",
        ),
        ("UPDATE part SET price_cents = 1 WHERE id = 'FW-S1000'".into(), "the part `FW-S1000` is"),
        (format!("DELETE FROM face WHERE {of}"), "the part `FW-S1000` is not"),
        (format!("DELETE FROM job_reading WHERE job = {job}"), "the job `tight-slate` is not"),
        (
            "DELETE FROM job_part WHERE job IN (SELECT number FROM job WHERE id = 'tight-slate');
             DELETE FROM job WHERE id = 'tight-slate'"
                .into(),
            "is gone",
        ),
        ("UPDATE reading_value SET value = value + 254".into(), "the reading `1` is not"),
        // The length beside a bar is the same, and what was read is not.
        (format!("UPDATE dimension SET bar = bar + 1 WHERE {clutch}"), "the part `PP-S190` is not"),
        (
            format!("UPDATE job_reading SET bar = NULL WHERE job = {job}"),
            "the job `tight-slate` is",
        ),
        ("UPDATE reading SET bar = bar + 1".into(), "the reading `1` is not"),
        ("UPDATE piece SET condition = 'new'".into(), "the piece `FW-S1000#A` is not"),
        (
            "UPDATE instrument_limit SET error = error + 1 WHERE instrument = 1".into(),
            "the instrument `",
        ),
        ("DELETE FROM setting".into(), "the setting `house numbers` is not"),
        ("DELETE FROM seal WHERE of = 'part'".into(), "is not as this program stored it; and "),
    ] {
        fs::write(program.catalog(), &whole).unwrap();
        assert!(program.run("check").status <= 1);
        let conn = Connection::open(program.catalog()).unwrap();
        conn.execute_batch(&sql).unwrap();
        assert!(conn.changes() > 0, "{sql}");
        drop(conn);
        let ran = program.run("check");
        assert_eq!((ran.status, ran.out.as_str()), (3, ""), "{sql}");
        assert!(ran.err.contains("is damaged: ") && ran.err.contains(told), "{sql}: {}", ran.err);
        assert_eq!(program.run("part list").status, 0, "{sql}: no answer notices");
    }
    // What another tool changed on purpose is taken over by an edit.
    fs::write(program.catalog(), &whole).unwrap();
    let conn = Connection::open(program.catalog()).unwrap();
    conn.execute_batch("UPDATE part SET price_cents = 1 WHERE id = 'FW-S1000'").unwrap();
    drop(conn);
    assert_eq!(program.run("check").status, 3);
    program.answer("part edit FW-S1000 notes=seen");
    assert!(program.run("check").status <= 1);
}

#[test]
fn an_older_catalog_is_sealed_as_it_is_and_has_no_bars() {
    const SCRIPTS: [&str; 5] = [
        include_str!("../../catalog/migrations/0001_first.sql"),
        include_str!("../../catalog/migrations/0002_measured.sql"),
        include_str!("../../catalog/migrations/0003_history.sql"),
        include_str!("../../catalog/migrations/0004_kept.sql"),
        include_str!("../../catalog/migrations/0005_seal.sql"),
    ];
    // The last version without seals, and the one whose seals knew of no bars.
    for version in [4, 5] {
        let program = Program::new();
        let conn = Connection::open(program.catalog()).unwrap();
        conn.execute_batch(&SCRIPTS[..version].concat()).unwrap();
        conn.execute_batch(&format!(
            "INSERT INTO part (number, id, kind, maker, description, on_hand, retired, notes)
             VALUES (1, 'F-1', 'flywheel', '', '', 0, 0, '');
             INSERT INTO dimension VALUES (1, 'thickness', 25400000, NULL);
             PRAGMA application_id = 0x42454C53; PRAGMA user_version = {version};"
        ))
        .unwrap();
        if version == 5 {
            conn.execute_batch("INSERT INTO seal VALUES ('part', 1, 1)").unwrap();
        }
        drop(conn);
        assert!(program.answer("part show F-1").contains("1.000 in"), "{version}");
        let ran = program.run("check");
        assert!(ran.status <= 1, "{version}: {}", ran.err);
        let conn = Connection::open(program.catalog()).unwrap();
        conn.execute_batch("UPDATE dimension SET bar = 6350000").unwrap();
        drop(conn);
        let ran = program.run("check");
        assert_eq!(ran.status, 3, "{version}");
        assert!(ran.err.contains("the part `F-1` is not as this program stored it"), "{}", ran.err);
    }
}

#[test]
fn an_answer_of_which_a_digit_changed_is_told() {
    let program = Program::demo();
    program.answer("answer keep worn-slate --fit --as today");
    let conn = Connection::open(program.catalog()).unwrap();
    let trigger = rusqlite::config::DbConfig::SQLITE_DBCONFIG_ENABLE_TRIGGER;
    conn.set_db_config(trigger, false).unwrap();
    conn.execute_batch("UPDATE answer SET stacks = replace(stacks, 'grade', 'grade ')").unwrap();
    conn.execute_batch("UPDATE answer SET stacks = replace(stacks, 'grade ', 'grade')").unwrap();
    assert_eq!(program.run("answer show today").status, 0, "it is as it was");
    conn.execute_batch("UPDATE answer SET stacks = replace(stacks, '1', '2')").unwrap();
    let ran = program.run("answer show today");
    assert_eq!(ran.status, 3);
    assert!(ran.err.contains("row `today`: it is not as it was kept"), "{}", ran.err);
}
