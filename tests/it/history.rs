//! Who changed what and when: written with each change, and never changed or deleted.

use bellstack::catalog::Access;
use bellstack::catalog::csv::Options;
use bellstack::model::history::{About, Deed, Event, Stamp, Subject};
use rusqlite::Connection;

use crate::program::{Program, Ran, words};
use crate::support::{TestDir, stamp, take, take_with};

/// Runs a command line at a time of day and under a name.
fn at(program: &Program, time: &str, by: &str, line: &str) -> Ran {
    let clock: jiff::Timestamp = time.parse().unwrap();
    // A shop two hours east of Greenwich; what is written down does not depend on that.
    let now = move || clock.to_zoned_datetime(jiff::tz::offset(2).to_time_zone());
    let (catalog, by) = (program.catalog().into_os_string(), by.to_string());
    let words = words(line);
    program.run_in(&words.iter().map(String::as_str).collect::<Vec<_>>(), |env| {
        env.clock = std::sync::Arc::new(now);
        env.var = Box::leak(Box::new(move |name: &str| match name {
            "BELLSTACK_CATALOG" => Some(catalog.clone()),
            "BELLSTACK_BY" => Some(by.clone().into()),
            _ => None,
        }));
    })
}

fn events(setup: &TestDir) -> Vec<Event> {
    let catalog = setup.open(Access::Read).unwrap();
    catalog.read(|reader| reader.history(About::Everything, 1000)).unwrap().0
}

#[test]
fn each_change_says_who_made_it_when_and_with_which_command() {
    let program = Program::new();
    for (time, by, line) in [
        ("2026-03-31T23:30:00.75Z", "Kim", "part add flywheel F-1 'thickness=1.000 in' price=310"),
        ("2026-04-01T08:00:00Z", "Lou", "part edit F-1 'thickness=0.995 in' 'notes=5 in' price="),
        ("2026-04-01T08:00:01Z", "Lou", "part retire F-1"),
        ("2026-04-01T08:00:02Z", "", "job add car flywheel=F-1"),
        ("2026-04-01T08:00:03Z", "Kim", "window set --job car 'preload_min=0.6 in'"),
        ("2026-04-01T08:00:04Z", "Kim", "window set 'stroke_margin=0.12 in' currency=EUR"),
        ("2026-04-01T08:00:05Z", "Kim", "job remove car"),
        ("2026-04-01T08:00:06Z", "Kim", "part remove F-1"),
    ] {
        let ran = at(&program, time, by, line);
        assert_eq!(ran.status, 0, "{line}: {}", ran.err);
    }
    let told = "\
1. 2026-03-31T23:30:00Z, Kim: part add flywheel F-1 'thickness=1.000 in' price=310
  part F-1 added
2. 2026-04-01T08:00:00Z, Lou: part edit F-1 'thickness=0.995 in' 'notes=5 in' price=
  part F-1, price: 310.00 -> (blank), notes: (blank) -> 5 in, thickness: 1.000 in -> 0.995 in
3. 2026-04-01T08:00:01Z, Lou: part retire F-1
  part F-1, status: in use -> retired
4. 2026-04-01T08:00:02Z, unknown: job add car flywheel=F-1
  job car added
5. 2026-04-01T08:00:03Z, Kim: window set --job car 'preload_min=0.6 in'
  job car, preload_min: (blank) -> 0.600 in
6. 2026-04-01T08:00:04Z, Kim: window set 'stroke_margin=0.12 in' currency=EUR
  house numbers, stroke_margin: 0.100 in -> 0.120 in, currency: USD -> EUR
7. 2026-04-01T08:00:05Z, Kim: job remove car
  job car removed; it had state open, flywheel F-1, crank_protrusion_over_plate no,
    finger_depth_over_plate no, fitted_disc_state unknown, crank_pushed unknown, starter_on unknown,
    preload_min 0.600 in
8. 2026-04-01T08:00:06Z, Kim: part remove F-1
  part F-1 removed; it had kind flywheel, on_hand 0, status retired, notes 5 in, thickness 0.995 in
";
    program.check("history --width 101", 0, told, "");
}

#[test]
fn a_part_and_a_job_have_a_history_of_their_own_even_when_they_are_gone() {
    let program = Program::new();
    for line in [
        "part add flywheel F-1 thickness='1.000 in'",
        "part add flywheel F-2 thickness='1.000 in'",
        "piece add F-1#A condition=new",
        "piece edit F-1#A condition=used",
        "reading add F-1#A thickness 1.001 1.002 in --date 2026-02-03",
        "reading strike 1 --because 'over burrs'",
        "job add F-1 flywheel=F-2",
        "piece add F-2#A condition=new",
        "job remove F-1",
        "part remove F-2",
        "instrument set caliper-0.02 resolution='0.01 mm'",
    ] {
        program.answer(line);
    }
    let lines = |line: &str| -> Vec<String> {
        let told = program.answer(&format!("{line} --width 200"));
        told.lines().filter(|line| line.starts_with("  ")).map(|line| line.trim().into()).collect()
    };
    let of_part = [
        "part F-1 added",
        "piece F-1#A added",
        "piece F-1#A, condition: new -> used",
        "reading 1 of F-1#A thickness added",
        "reading 1 of F-1#A thickness, struck: (blank) -> over burrs",
    ];
    assert_eq!(lines("history --part F-1"), of_part);
    let gone = lines("history --part F-2");
    assert_eq!(gone[..2], ["part F-2 added", "piece F-2#A added"]);
    assert!(gone[2].starts_with("piece F-2#A removed; it had condition new"), "{gone:?}");
    assert!(gone[3].starts_with("part F-2 removed"), "{gone:?}");
    let of_job = lines("history --job F-1");
    assert_eq!(of_job[0], "job F-1 added", "a job may be called like a part");
    assert!(
        of_job[1].starts_with("job F-1 removed; it had state open, flywheel F-2"),
        "{of_job:?}"
    );
    let last = lines("history --limit 1");
    assert_eq!(last, ["instrument caliper-0.02, resolution: 0.02 mm -> 0.01 mm"]);
    let told = program.answer("history --limit 2");
    assert!(told.starts_with("10 earlier changes not shown: `--limit N` shows more.\n"), "{told}");
    program.refuses(
        "history --part F-3",
        2,
        "error: there is no part `F-3` in the catalog\n  hint: did you mean `F-1`?\n",
    );
    assert_eq!(program.run("history --job F-2").status, 2);
    assert_eq!(program.run("history --job F-1 --part F-1").status, 2);
}

#[test]
fn lengths_are_told_in_the_readers_unit_and_words_as_they_were_written() {
    let program = Program::new();
    program.answer("part add flywheel F-1 thickness='1.000 in'");
    program.answer("part edit F-1 thickness='0.995 in' notes='5 in'");
    let told = program.answer("history --units mm");
    let changed = "notes: (blank) -> 5 in, thickness: 25.40 mm -> 25.273 mm";
    assert!(told.contains(changed), "{told}");
    let csv = program.answer("history --format csv --units mm");
    let rows: Vec<&str> = csv.lines().collect();
    assert_eq!(rows[0], "number,at,by,command,subject,name,part,deed,field,from,to,taken_back_by");
    assert!(rows[1].ends_with(",part,F-1,F-1,added,,,,"), "{csv}");
    assert!(rows[2].ends_with(",part,F-1,F-1,changed,notes,,5 in,"), "{csv}");
    assert!(rows[3].ends_with(",part,F-1,F-1,changed,thickness,25.40 mm,25.273 mm,"), "{csv}");
    let json = program.json("history --limit 1 --format json");
    assert_eq!(json["earlier"], 1);
    let change = &json["changes"][0];
    assert_eq!((&change["subject"], &change["name"]), (&"part".into(), &"F-1".into()));
    assert_eq!(change["at"], "1970-01-01T00:00:00Z");
    let [notes, thickness] = [&change["fields"][0], &change["fields"][1]];
    assert_eq!((&notes["from"], &notes["to"]), (&serde_json::Value::Null, &"5 in".into()));
    assert_eq!(
        (&thickness["from"]["nm"], &thickness["to"]["nm"]),
        (&25_400_000.into(), &25_273_000.into())
    );
}

#[test]
fn an_import_tells_of_each_part_and_job_only_what_changed() {
    let setup = TestDir::new();
    let mut catalog = setup.catalog();
    let parts = "id,kind,thickness,price\nF-1,flywheel,1.000 in,10\nF-2,flywheel,1.000 in,10\n";
    take(&mut catalog, &[("parts.csv", parts), ("jobs.csv", "job,flywheel\nJ,F-1\n")]).unwrap();
    let before = events(&setup);
    let told: Vec<(Subject, &str, Deed)> =
        before.iter().map(|event| (event.subject, event.name.as_str(), event.deed)).collect();
    let (part, job) = (Subject::Part, Subject::Job);
    let added = Deed::Added;
    assert_eq!(told, [(part, "F-1", added), (part, "F-2", added), (job, "J", added)]);
    assert!(before.iter().all(|event| event.stamp == stamp()));

    let files = [
        ("parts.csv", "id,thickness,price\nF-1,25.4 mm,11\nF-2,1.000 in,10\n"),
        ("jobs.csv", "job,flywheel,torque\nJ,F-2,400\n"),
    ];
    let dry = Options { dry_run: true, ..Options::default() };
    take_with(&mut catalog, &files, &dry).unwrap();
    assert_eq!(events(&setup), before, "a dry run changes nothing");
    take(&mut catalog, &files).unwrap();
    let after = events(&setup);
    assert_eq!(after[..3], before[..]);
    let fields = |event: &Event| -> Vec<String> {
        event.changes.iter().map(|change| change.field.clone()).collect()
    };
    // One inch is 25.4 mm exactly, so the thickness is what it was.
    assert_eq!((after[3].name.as_str(), fields(&after[3])), ("F-1", vec!["price".into()]));
    let of_job = vec!["flywheel".into(), "torque".into()];
    assert_eq!((after[4].name.as_str(), fields(&after[4])), ("J", of_job));
    assert_eq!(after.len(), 5);
    take(&mut catalog, &files).unwrap();
    assert_eq!(events(&setup).len(), 5, "the same file once more changes nothing");
}

#[test]
fn what_is_refused_or_changes_nothing_leaves_no_trace() {
    let program = Program::new();
    program.answer("part add flywheel F-1 thickness='1.000 in'");
    program.answer("part edit F-1 thickness='25.4 mm'");
    program.answer("part restore F-1");
    program.answer("window set reserve_margin='0.030 in'");
    for line in ["part edit F-1 thickness=1", "part retire F-1 F-2", "job add J flywheel=F-2"] {
        assert_eq!(program.run(line).status, 2);
    }
    let json = program.json("history --format json");
    assert_eq!(json["changes"].as_array().unwrap().len(), 1);
    let commands: i64 = Connection::open(program.catalog())
        .unwrap()
        .query_row("SELECT count(*) FROM command", [], |row| row.get(0))
        .unwrap();
    assert_eq!(commands, 1);
}

#[test]
fn no_hand_changes_or_deletes_what_is_on_record() {
    let program = Program::demo();
    assert_eq!(program.run("answer keep tight-slate --fit --as today").status, 1);
    let conn = Connection::open(program.catalog()).unwrap();
    let whole = |table: &str| -> Vec<String> {
        let mut query = conn.prepare(&format!("SELECT * FROM {table} ORDER BY number")).unwrap();
        let columns = query.column_count();
        let rows = query.query_map([], |row| {
            (0..columns).map(|column| Ok(format!("{:?}", row.get_ref(column)?))).collect()
        });
        rows.unwrap().collect::<rusqlite::Result<Vec<String>>>().unwrap()
    };
    for table in ["command", "event", "answer"] {
        let before = whole(table);
        assert!(!before.is_empty(), "{table}");
        for sql in [
            format!("DELETE FROM {table}"),
            format!("UPDATE {table} SET number = number + 1000"),
            format!("INSERT OR REPLACE INTO {table} SELECT * FROM {table} LIMIT 1"),
        ] {
            let error = conn.execute(&sql, []).unwrap_err().to_string();
            assert!(error.contains("is never changed"), "{sql}: {error}");
        }
        let by_name = "INSERT OR REPLACE INTO answer SELECT 99, name, job, 'later', by, line, asked, \
                       job_then, house_then, last_event, answer FROM answer";
        assert!(conn.execute(by_name, []).is_err());
        assert_eq!(whole(table), before, "{table}");
    }
}

#[test]
fn a_catalog_from_before_there_was_a_history_begins_one() {
    let setup = TestDir::new();
    let conn = Connection::open(setup.path("shop.db")).unwrap();
    conn.execute_batch(include_str!("../../catalog/migrations/0001_first.sql")).unwrap();
    conn.execute_batch(include_str!("../../catalog/migrations/0002_measured.sql")).unwrap();
    conn.execute_batch(
        "PRAGMA application_id = 0x42454C53; PRAGMA user_version = 2;
         INSERT INTO part VALUES (1, 'F-1', 'flywheel', '', '', NULL, 1, NULL, 0, '');",
    )
    .unwrap();
    drop(conn);
    let mut catalog = setup.open(Access::Write).unwrap();
    let (none, earlier) = catalog.read(|reader| reader.history(About::Part("F-1"), 9)).unwrap();
    assert!(none.is_empty() && earlier == 0);
    let stamp = Stamp { at: "2026-05-06T07:08:09Z".into(), by: String::new(), command: "x".into() };
    catalog.write(&stamp, |writer| writer.set_retired("F-1", true)).unwrap();
    let events = events(&setup);
    assert_eq!((events.len(), &events[0].stamp), (1, &stamp));
    // Before it was brought up a copy was kept.
    assert_eq!(setup.files(), ["shop.db", "shop.db.copies"]);
}
