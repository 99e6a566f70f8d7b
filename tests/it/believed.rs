//! Rows that this program could not have written are refused with their table and row, and nothing
//! panics on them.

use std::sync::OnceLock;

use rusqlite::Connection;
use rusqlite::config::DbConfig;

use crate::program::Program;

/// A catalog with a part, a piece, a reading, an instrument, a job, house numbers and an answer.
fn shop() -> Program {
    static MADE: OnceLock<Vec<u8>> = OnceLock::new();
    let program = Program::new();
    std::fs::write(program.catalog(), MADE.get_or_init(made)).unwrap();
    program
}

fn made() -> Vec<u8> {
    let program = Program::demo();
    for line in [
        "part edit FW-S1000 price=310 lead_days=4",
        "reading add FW-S1000#A thickness 1.001 1.002 in --condition used --instrument caliper-0.02",
        "window set stroke_margin='0.12 in'",
        "job edit tight-slate torque=400",
    ] {
        program.answer(line);
    }
    assert_eq!(program.run("answer keep tight-slate --fit --as today").status, 1);
    std::fs::read(program.catalog()).unwrap()
}

/// Changes rows as a damaged disk or another hand would, past every rule of the tables.
fn tampered(sql: &str) -> Program {
    let program = shop();
    let conn = Connection::open(program.catalog()).unwrap();
    conn.execute_batch("PRAGMA foreign_keys = OFF; PRAGMA ignore_check_constraints = ON").unwrap();
    // What is on record is held by triggers, which a damaged disk does not ask.
    conn.set_db_config(DbConfig::SQLITE_DBCONFIG_ENABLE_TRIGGER, false).unwrap();
    conn.execute_batch(sql).unwrap();
    assert!(conn.changes() > 0, "`{sql}` changed something");
    program
}

/// Commands that read everything, between them.
const EVERYTHING: &[&str] = &[
    "check --format json",
    "fit tight-slate --measure",
    "recommend paper-slate --order chance --top 3",
    "cure tight-slate --format json",
    "part show FW-S1000",
    "job show tight-slate",
    "window show",
    "reading list",
    "instrument list",
    "export",
    "history",
    "answer compare today",
    "part edit FW-S1000 notes=x",
    "job edit tight-slate description=x",
];

/// `sql` makes at least one command say `told` with status 3, and none panics or says less.
fn refused(sql: &str, told: &str) {
    let program = tampered(sql);
    let mut seen = 0;
    for line in EVERYTHING {
        let ran = program.run(line);
        if ran.err.contains(told) {
            assert_eq!((ran.status, ran.out.as_str()), (3, ""), "`{line}`: {}", ran.err);
            assert!(ran.err.contains("shop.db` is damaged: the table `"), "`{line}`: {}", ran.err);
            seen += 1;
        }
    }
    assert!(seen > 0, "{sql}: no command says `{told}`");
    let ran = program.run("check");
    assert_eq!(ran.status, 3, "{sql}: {}", ran.out);
}

const MOST: i64 = i64::MAX;
const LEAST: i64 = i64::MIN;

#[test]
fn a_part_that_could_not_have_been_entered_is_refused() {
    for (set, told) in [
        ("price_cents = -1", "`part`, row `FW-S1000`: `price_cents`: `-0.01` is a negative amount"),
        (&format!("price_cents = {MOST}"), "`price_cents`: `92233720368547758.07` is beyond ten"),
        ("on_hand = -1", "`part`, row `FW-S1000`: `on_hand` cannot be -1"),
        ("on_hand = 4294967296", "`on_hand` cannot be 4294967296"),
        (&format!("lead_days = {LEAST}"), "`lead_days` cannot be -9223372036854775808"),
    ] {
        refused(&format!("UPDATE part SET {set} WHERE id = 'FW-S1000'"), told);
    }
}

#[test]
fn a_dimension_that_could_not_have_been_entered_is_refused() {
    let of = "WHERE key = 'thickness' AND part = (SELECT number FROM part WHERE id = 'FW-S1000')";
    for (set, told) in [
        ("value = 0".to_string(), "row `FW-S1000`: `thickness`: `0.000 in` is not above zero"),
        (format!("value = {MOST}"), "is beyond 100 in"),
        (format!("value = {LEAST}"), "is not above zero"),
        ("tol = -1".into(), "`thickness`: its tolerance is negative"),
        (format!("tol = {MOST}"), "or its tolerance is beyond 100 in"),
    ] {
        refused(&format!("UPDATE dimension SET {set} {of}"), told);
    }
    let of = "WHERE key = 'crank_protrusion'";
    for value in [MOST, LEAST] {
        refused(&format!("UPDATE dimension SET value = {value} {of}"), "is beyond 100 in");
    }
    let of = "WHERE key = 'finger_ratio'";
    for value in [0, 1_000_000, MOST] {
        let sql = format!("UPDATE dimension SET value = {value} {of}");
        refused(&sql, if value == 0 { "is not above zero" } else { "`finger_ratio`: " });
    }
    let of = "WHERE key = 'torque_rating'";
    refused(&format!("UPDATE dimension SET value = {MOST} {of}"), "is beyond 2540000");
    refused("UPDATE dimension SET part = 9999 WHERE part = 3", "a row of a part that is not there");
}

#[test]
fn a_job_that_could_not_have_been_entered_is_refused() {
    let of = "WHERE id = 'tight-slate'";
    for (set, told) in [
        ("torque = -5", "`job`, row `tight-slate`: `torque`: `-0.005` is not above zero"),
        (&format!("torque = {MOST}"), "`torque`: `9223372036854775.807` is beyond 2540000 N m"),
        (&format!("preload_min = {LEAST}"), "`preload_min`: `-9223372036854.775808 mm` is beyond"),
        ("disc_state = 'gone'", "`disc_state`: `gone` is a word that this program does not know"),
    ] {
        refused(&format!("UPDATE job SET {set} {of}"), told);
    }
    let of = "WHERE job = (SELECT number FROM job WHERE id = 'tight-slate')";
    for (set, told) in [
        (format!("value = {LEAST}"), "`job_reading`, row `tight-slate`: `"),
        (format!("value = {MOST}"), "is beyond 100 in"),
        ("tol = -1".into(), "its tolerance is negative"),
    ] {
        refused(&format!("UPDATE job_reading SET {set} {of}"), told);
    }
    let named = |what: &str| format!("(SELECT number FROM part WHERE id = '{what}')");
    let (flywheel, disc) = (named("FW-S0900"), named("DS-S330"));
    refused(
        &format!("UPDATE job_part SET part = {disc} {of} AND slot = 'flywheel'"),
        "`job_part`, row `tight-slate`: `flywheel` names `DS-S330`, which is a disc",
    );
    refused(
        &format!("UPDATE job_part SET part = 9999 {of} AND slot = 'flywheel'"),
        "`flywheel` names what is not there",
    );
    refused(
        &format!(
            "INSERT INTO job_part SELECT number, 'flywheel', 1, {flywheel}, NULL FROM job WHERE id \
             = 'tight-slate'"
        ),
        "`flywheel` names more than 1",
    );
    refused(
        &format!("UPDATE job_part SET piece = 1 {of} AND slot = 'disc'"),
        "`disc` names what is not there",
    );
}

#[test]
fn what_was_measured_and_could_not_have_been_is_refused() {
    for (sql, told) in [
        ("UPDATE piece SET condition = 'odd'".into(), "`piece`, row `FW-S1000#A`: `condition`: "),
        ("UPDATE piece SET part = 9999".into(), "its part is not there"),
        (format!("UPDATE reading_value SET value = {MOST}"), "row `1`: `thickness`: "),
        (format!("UPDATE reading_value SET value = {LEAST}"), "is not above zero"),
        ("UPDATE reading_value SET reading = 77".into(), "what was read is not there"),
        (
            "INSERT INTO reading_value VALUES (77, 0, 1)".into(),
            "values of the reading 77, which is not there",
        ),
        ("UPDATE reading SET piece = 77".into(), "its piece is not there"),
        ("UPDATE reading SET instrument = 77".into(), "its instrument is not there"),
        ("UPDATE instrument SET resolution = 0".into(), "`instrument`, row `"),
        (format!("UPDATE instrument SET resolution = {MOST}"), "`resolution`: "),
        ("UPDATE instrument_limit SET error = -1".into(), "`instrument_limit`, row `"),
        (
            format!(
                "UPDATE instrument_limit SET up_to = {MOST} WHERE (instrument, up_to) = \
                (SELECT instrument, up_to FROM instrument_limit LIMIT 1)"
            ),
            "`up_to`: ",
        ),
    ] {
        refused(&sql, told);
    }
}

#[test]
fn a_house_number_or_an_event_that_could_not_have_been_is_refused() {
    for value in ["much", "-1 in", "101 in", "0.1"] {
        refused(&format!("UPDATE setting SET value = '{value}'"), "`setting`, row `stroke_margin`");
    }
    refused("UPDATE setting SET key = 'none_such'", "`setting`, row `none_such`");
    for (set, told) in [
        ("subject = 'odd'".to_string(), "`subject`: `odd` is a word"),
        ("deed = 'odd'".into(), "`deed`: `odd` is a word"),
        ("changes = '{}'".into(), "`changes` cannot be `{}`"),
        (format!("changes = '[[\"a\", {LEAST}, null]]'"), "`changes` cannot be `[["),
        ("command = 777".into(), "`at` cannot be of the type Null"),
    ] {
        refused(
            &format!("UPDATE event SET {set} WHERE number = (SELECT max(number) FROM event)"),
            told,
        );
    }
}

#[test]
fn a_value_of_another_type_is_refused() {
    let program = shop();
    let retyped = |strict: bool| {
        let conn = Connection::open(program.catalog()).unwrap();
        let (from, to) = if strict { (") ", ") STRICT") } else { (") STRICT", ") ") };
        conn.execute_batch("PRAGMA writable_schema = ON").unwrap();
        let sql = "UPDATE sqlite_schema SET sql = replace(sql, ?1, ?2) WHERE name = 'part'";
        assert_eq!(conn.execute(sql, [from, to]).unwrap(), 1);
    };
    retyped(false);
    let conn = Connection::open(program.catalog()).unwrap();
    let sql = "UPDATE part SET price_cents = 'dear' WHERE id = 'FW-S1000'";
    conn.execute_batch(&format!("PRAGMA ignore_check_constraints = ON; {sql}")).unwrap();
    drop(conn);
    retyped(true);
    let ran = program.run("part list");
    assert_eq!((ran.status, ran.out.as_str()), (3, ""));
    let told = "the table `part`, row `FW-S1000`: `price_cents` cannot be of the type Text";
    assert!(ran.err.contains(told), "{}", ran.err);
}
