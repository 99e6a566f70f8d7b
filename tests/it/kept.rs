//! Answers that are kept: as they were given, and beside those of today.

use rusqlite::Connection;
use rusqlite::config::DbConfig;
use serde_json::Value;

use crate::program::Program;

/// Marks the catalog as written by a later `SQLite` whose writing this one does not know: it can be
/// read and not written, whoever runs the test. The write version is byte 18 of the header (`SQLite`,
/// "Database File Format", section 1.3.3: a value above 2 makes a database read-only).
fn make_read_only(program: &Program) {
    let mut bytes = std::fs::read(program.catalog()).unwrap();
    bytes[18] = 3;
    std::fs::write(program.catalog(), bytes).unwrap();
}

const KEEP: &str =
    "answer keep tight-slate --keep flywheel,disc,pressure_plate --top 3 --as plates";

fn kept() -> Program {
    let program = Program::demo();
    program.check(KEEP, 0, "kept the answer plates\n", "");
    program
}

#[test]
fn an_answer_is_kept_as_it_was_given_with_the_job_and_the_house_numbers() {
    let program = Program::demo();
    program.answer("window set reserve_margin='0.035 in'");
    program.answer(KEEP);
    let given = program
        .json("recommend tight-slate --keep flywheel,disc,pressure_plate --top 3 --format json");
    program.answer("window set reserve_margin=");
    program.answer("job edit tight-slate torque=300");
    program.answer("part edit PP-S190 finger_height='1.500 in'");
    let shown = program.json("answer show plates --format json");
    assert_eq!(shown["answer"], given, "what is kept is what was said");
    assert_eq!(shown["job_then"]["torque"], "550");
    assert_eq!(shown["job_then"]["clutch_height"], "3.405 in");
    assert_eq!(shown["job_then"]["clutch_height_bar"], "0.500 in");
    assert_eq!(shown["house_then"]["reserve_margin"], "0.035 in");
    assert_eq!(shown["house_then"]["stroke_margin"], "0.100 in");
    assert_eq!(shown["command"], KEEP);
    let table = program.answer("answer show plates");
    for line in ["torque                      550", "reserve_margin              0.035 in"] {
        assert!(table.lines().any(|found| found == line), "{line}\n{table}");
    }
    assert!(table.lines().all(|line| line.chars().count() <= 100), "{table}");
}

#[test]
fn kept_answers_are_listed_and_named_for_job_and_day() {
    let program = Program::demo();
    assert_eq!(program.answer("answer list"), "No answer is kept.\n");
    program.check("answer keep worn-slate --fit", 0, "kept the answer worn-slate-1970-01-01\n", "");
    program.check(
        "answer keep worn-slate --fit",
        0,
        "kept the answer worn-slate-1970-01-01-2\n",
        "",
    );
    assert_eq!(program.run("answer keep tight-slate --fit --as tight").status, 1, "it is out");
    let list = program.answer("answer list");
    assert!(list.contains("\ntight ") && list.ends_with("\n3 answers.\n"), "{list}");
    let json = program.json("answer list --job tight-slate --format json");
    assert_eq!(
        (json["answers"].as_array().unwrap().len(), &json["answers"][0]["name"]),
        (1, &"tight".into())
    );
    program.refuses(
        "answer keep worn-slate --fit --as tight",
        2,
        "error: there is a kept answer `tight` already\n  hint: it stays as it is: give the new one \
         another name\n",
    );
    program.refuses(
        "answer show tigh",
        2,
        "error: there is no kept answer `tigh` in the catalog\n  hint: did you mean `tight`?\n",
    );
}

#[test]
fn while_nothing_changes_an_answer_is_todays() {
    let program = kept();
    let table = program.answer("answer compare plates");
    let rows: Vec<&str> = table.lines().collect();
    assert!(rows[0].starts_with("The best stack then is today what it was: sure with "), "{table}");
    assert_eq!(rows[1], "The best today is number 1 of that day.");
    assert!(table.contains("\nSince then nothing on record has changed"), "{table}");
    let json = program.json("answer compare plates --format json");
    for stack in json["stacks"].as_array().unwrap() {
        assert_eq!(stack["then"], stack["now"]);
    }
    assert_eq!((&json["holds"], &json["best_is"]), (&true.into(), &1.into()));
    assert_eq!(json["since"], Value::Array(Vec::new()));
}

#[test]
fn each_stack_of_an_answer_is_worked_out_once_more_with_what_is_known_today() {
    let program = kept();
    let before = program.json("answer show plates --format json");
    program.answer("part edit BP-S125 thickness='0.200 in'");
    program.answer("window set reserve_margin='0.040 in'");
    program.answer("part edit DS-A84 notes='of no stack here'");
    let told = program.json("answer compare plates --format json");
    let stacks = told["stacks"].as_array().unwrap();
    assert_eq!(stacks.len(), 3);
    for (index, stack) in stacks.iter().enumerate() {
        let given = &before["answer"]["stacks"][index];
        for key in ["grade", "preload", "reserve", "room"] {
            assert_eq!(stack["then"][key], given[key], "{key} then");
        }
        // The same stack by the command that works out one.
        let parts = stack["parts"].as_object().unwrap().iter().map(|(slot, ids)| {
            let ids: Vec<&str> =
                ids.as_array().unwrap().iter().map(|id| id.as_str().unwrap()).collect();
            let ids = if ids.is_empty() { "none".to_string() } else { ids.join("|") };
            format!("--with '{slot}={ids}'")
        });
        let line = format!("fit tight-slate {}", parts.collect::<Vec<_>>().join(" "));
        let fit = program.json(&format!("{line} --format json"));
        for key in ["grade", "preload", "reserve", "room"] {
            assert_eq!(stack["now"][key], fit[key], "{line}: {key} now");
        }
    }
    assert!(stacks.iter().any(|stack| stack["then"]["reserve"] != stack["now"]["reserve"]));
    let since: Vec<(&str, &str)> = told["since"]
        .as_array()
        .unwrap()
        .iter()
        .map(|event| (event["subject"].as_str().unwrap(), event["name"].as_str().unwrap()))
        .collect();
    assert_eq!(since, [("part", "BP-S125"), ("house", "")], "and nothing of other parts");
    let best = program
        .json("recommend tight-slate --keep flywheel,disc,pressure_plate --top 1 --format json");
    assert_eq!(told["best_today"]["parts"], best["stacks"][0]["parts"], "the same question");
    let table = program.run("answer compare plates --units mm");
    assert!(table.out.contains("part BP-S125, thickness: 3.175 mm -> 5.08 mm"), "{}", table.out);
    assert!(table.out.lines().all(|line| line.chars().count() <= 100), "{}", table.out);
}

#[test]
fn a_stack_whose_part_is_gone_says_so_and_the_others_are_compared() {
    let program = kept();
    let json = program.json("answer compare plates --format json");
    let plate = json["stacks"][0]["parts"]["block_plate"][0].as_str().unwrap().to_string();
    program.answer(&format!("part remove {plate}"));
    let ran = program.run("answer compare plates");
    assert_eq!(ran.status, 1, "the best stack of that day cannot be had: {}", ran.err);
    assert!(ran.out.contains("; today it cannot be had."), "{}", ran.out);
    let why = format!("1: there is no block_plate `{plate}` in the catalog");
    assert!(ran.out.lines().any(|line| line == why), "{why}\n{}", ran.out);
    assert!(ran.out.contains(&format!("part {plate} removed")), "{}", ran.out);
    let json = program.json("answer compare plates --format json");
    assert_eq!((&json["holds"], &json["stacks"][0]["now"]), (&false.into(), &Value::Null));
    let kept = json["stacks"].as_array().unwrap();
    assert!(kept.iter().any(|stack| stack["now"] != Value::Null));
}

#[test]
fn a_fit_that_was_kept_is_compared_with_the_same_parts_and_with_what_is_fitted() {
    let program = Program::demo();
    program.answer("answer keep worn-slate --fit --as before");
    let told = program.answer("answer compare before");
    assert!(told.contains("\nThe same parts are fitted today.\n"), "{told}");
    program.answer("job edit worn-slate bearing_shims=SH-S030 description=changed");
    let told = program.run("answer compare before");
    assert!(told.out.contains("\nOther parts are fitted today: "), "{}", told.out);
    let changes = "  job worn-slate, description: ";
    assert!(told.out.lines().any(|line| line.starts_with(changes)), "{}", told.out);
    let json = program.json("answer compare before --format json");
    let fit = program.json("fit worn-slate --format json");
    assert_eq!(json["best_today"]["preload"], fit["preload"]);
    // A job that is gone cannot be worked out; the answer can still be shown.
    program.answer("job remove worn-slate");
    assert_eq!(program.run("answer compare before").status, 2);
    assert!(
        program.answer("answer show before").starts_with("Answer before to the job worn-slate")
    );
}

#[test]
fn readings_that_were_taken_since_are_among_what_changed() {
    let program = kept();
    program.answer("reading add FW-S1000#A thickness 1.001 1.0012 in --condition used");
    program.answer("reading add FW-A20#A thickness 1.001 in --condition used");
    let told = program.run("answer compare plates");
    assert!(told.out.contains("  reading 1 of FW-S1000#A thickness added\n"), "{}", told.out);
    assert!(!told.out.contains("FW-A20"), "{}", told.out);
}

#[test]
fn a_read_only_catalog_shows_answers_and_refuses_to_keep_one() {
    let program = kept();
    make_read_only(&program);
    let ran = program.run("answer keep worn-slate --as other");
    assert_eq!((ran.status, ran.out.as_str()), (3, ""));
    assert!(ran.err.ends_with("cannot be written: it is read-only\n"), "{}", ran.err);
    assert!(program.answer("answer list").contains("plates"));
    assert_eq!(program.run("answer compare plates").status, 0);
    assert_eq!(program.run("history").status, 0);
    assert_eq!(program.run("part retire FW-S1000").status, 3);
}

#[test]
fn an_interrupted_search_keeps_nothing() {
    let program = Program::demo();
    let ran = program.run_in(&["answer", "keep", "paper-slate"], |env| {
        env.on_search = &bellstack::solve::ask::Watch::stop;
    });
    assert_eq!((ran.status, ran.out.as_str()), (130, ""));
    assert_eq!(program.answer("answer list"), "No answer is kept.\n");
}

#[test]
fn an_answer_that_holds_none_is_kept_with_its_nearest_stacks() {
    let program = Program::demo();
    let narrow = "answer keep tight-slate --as nothing --keep flywheel,disc,pressure_plate,block_plate,\
                  bell_spacer,gearbox_spacer,bearing,bearing_shims";
    assert_eq!(program.run(narrow).status, 1);
    let shown = program.answer("answer show nothing");
    assert!(shown.contains("\nNothing landed in the window. The nearest:\n"), "{shown}");
    let told = program.run("answer compare nothing");
    assert_eq!(told.status, 1);
    assert!(told.out.contains("Today no stack is an answer to the same question."), "{}", told.out);
}

/// Changes kept answers as a damaged disk would, past the triggers that hold them.
fn damaged(program: &Program, sql: &str) {
    let conn = Connection::open(program.catalog()).unwrap();
    conn.set_db_config(DbConfig::SQLITE_DBCONFIG_ENABLE_TRIGGER, false).unwrap();
    assert_eq!(conn.execute(sql, []).unwrap(), 1, "{sql}");
}

#[test]
fn an_answer_that_is_damaged_is_told_and_hides_no_other() {
    for set in [
        "answer = '{'",
        "answer = ''",
        "stacks = NULL",
        "stacks = '{\"kind\":\"ranking\"}'",
        "stacks = replace(stacks, '\"room\":', '\"room\":9999999999999999')",
        "question = '{\"top\":\"x\"}'",
        "job_then = 'x'",
        "house_then = '{}'",
    ] {
        let program = kept();
        program.answer("answer keep worn-slate --fit --as other");
        damaged(&program, &format!("UPDATE answer SET {set} WHERE name = 'plates'"));
        let list = program.answer("answer list");
        assert!(list.contains("\nother ") && list.contains("plates cannot be read: "), "{list}");
        let json = program.json("answer list --format json");
        let json = &json["answers"];
        assert!(json[0]["cannot_be_read"].as_str().unwrap().contains("is damaged"), "{json}");
        assert_eq!(json[1]["name"], "other");
        assert!(program.answer("answer show other").starts_with("Answer other to the job"));
        for line in
            ["answer show plates", "answer show plates --format json", "answer compare plates"]
        {
            let ran = program.run(line);
            assert_eq!((ran.status, ran.out.as_str()), (3, ""), "{set}: `{line}`");
            let told = "is damaged: the table `answer`, row `plates`: ";
            assert!(ran.err.contains(told), "{set}: `{line}`: {}", ran.err);
        }
        let ran = program.run("check");
        assert_eq!(ran.status, 1, "{}", ran.err);
        assert!(ran.err.starts_with("warning: the catalog "), "{}", ran.err);
        assert!(ran.err.contains("row `plates`"), "{}", ran.err);
    }
}

#[test]
fn answers_of_an_older_catalog_are_read_back_and_their_question_is_not_guessed() {
    let new = kept();
    let narrow = "answer keep tight-slate --as nothing --keep flywheel,disc,pressure_plate,block_plate,\
                  bell_spacer,gearbox_spacer,bearing,bearing_shims";
    assert_eq!(new.run(narrow).status, 1);
    assert_eq!(new.run("answer keep tight-slate --fit --as out").status, 1);
    assert_eq!(new.run("answer keep worn-slate --fit --as fine").status, 0);
    new.answer("job edit worn-slate bearing_shims=SH-S030|SH-S030");
    new.run("answer keep worn-slate --fit --as shims");

    let old = Program::new();
    let conn = Connection::open(old.catalog()).unwrap();
    for script in [
        include_str!("../../catalog/migrations/0001_first.sql"),
        include_str!("../../catalog/migrations/0002_measured.sql"),
        include_str!("../../catalog/migrations/0003_history.sql"),
    ] {
        conn.execute_batch(script).unwrap();
    }
    let from = new.catalog().display().to_string();
    conn.execute("ATTACH ?1 AS new", [from]).unwrap();
    conn.execute_batch(
        "PRAGMA main.application_id = 0x42454C53; PRAGMA main.user_version = 3;
         INSERT INTO answer SELECT number, name, job, at, by, line, asked, job_then, house_then,
           last_event, answer FROM new.answer;
         INSERT INTO answer SELECT 99, 'torn', job, at, by, line, asked, job_then, house_then,
           last_event, substr(answer, 1, 100) FROM new.answer LIMIT 1;
         INSERT INTO job SELECT number, id, description, torque, crank_over_plate, depth_over_plate,
           disc_state, crank_pushed, starter_on, preload_min, preload_max, reserve_min, reserve_max
           FROM new.job WHERE id = 'worn-slate';",
    )
    .unwrap();
    drop(conn);
    let list = old.answer("answer list");
    assert!(list.contains("torn cannot be read: "), "{list}");
    let stacks = |program: &Program| -> Vec<Value> {
        let conn = Connection::open(program.catalog()).unwrap();
        let sql = "SELECT stacks FROM answer WHERE name <> 'torn' ORDER BY number";
        let mut query = conn.prepare(sql).unwrap();
        let rows = query.query_map([], |row| row.get::<_, String>(0)).unwrap();
        rows.map(|row| serde_json::from_str(&row.unwrap()).unwrap()).collect()
    };
    let (then, now) = (stacks(&old), stacks(&new));
    assert_eq!(then.len(), 5);
    assert_eq!(then, now, "the stacks are read out of the old JSON as they would be kept today");
    let ran = old.run("answer compare fine");
    let told = "The same question cannot be answered today: an older program kept this answer \
                without its question";
    let one_line = ran.out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(one_line.contains(told), "{}{}", ran.out, ran.err);
}

#[test]
fn what_was_read_at_the_bench_is_not_lost_where_it_cannot_be_stored() {
    let program = Program::new();
    program.answer("part add flywheel F-1 thickness='1.000 in'");
    let whole = std::fs::read(program.catalog()).unwrap();
    make_read_only(&program);
    let answers = ["A", "used", "caliper-0.02", "1.001 1.0015 in", "0.010 in", "", ""];
    let ran = program.asked("measure F-1 --by Kim --date 2026-02-03", &answers);
    assert_eq!(ran.status, 3);
    assert!(ran.err.contains("error: nothing was stored: the catalog "), "{}", ran.err);
    std::fs::write(program.catalog(), whole).unwrap();
    assert_eq!(program.answer("reading list"), "No reading is listed.\n");

    // What was printed is a file that the same catalog takes once it can be written again.
    let file = program.file("readings.csv", &ran.out);
    assert_eq!(program.run_args(&["import", &file]).status, 0);
    let conn = Connection::open(program.catalog()).unwrap();
    let values: Vec<i64> = conn
        .prepare("SELECT value FROM reading_value ORDER BY reading, position")
        .unwrap()
        .query_map([], |row| row.get(0))
        .unwrap()
        .map(Result::unwrap)
        .collect();
    assert_eq!(values, [25_425_400, 25_438_100, 254_000]);
    let list = program.answer("reading list F-1#A");
    assert!(list.contains("Kim") && list.contains("caliper-0.02"), "{list}");
}
