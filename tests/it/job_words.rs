//! What a shop tells of a job beside its parts and readings: for whom, which car, and how far it is.

use crate::program::Program;

fn told(program: &Program) {
    program.check(
        "job edit tight-slate customer='Kim Invented' contact='k@example.test' \
         vehicle='grey saloon' notes='smells hot' date=2026-03-31 state=waiting",
        0,
        "changed the job tight-slate\n",
        "",
    );
}

#[test]
fn a_job_has_words_that_are_shown_searched_taken_back_and_carried() {
    let program = Program::demo();
    told(&program);
    let shown = program.answer("job show tight-slate");
    for line in [
        "state                       waiting",
        "date                        2026-03-31",
        "customer                    Kim Invented",
        "contact                     k@example.test",
        "vehicle                     grey saloon",
        "notes                       smells hot",
    ] {
        assert!(shown.lines().any(|found| found == line), "{line}\n{shown}");
    }
    assert!(program.answer("job show worn-slate").contains("state                       open\n"));
    let list = program.answer("job list");
    assert!(list.contains("Kim Invented") && list.contains("waiting"), "{list}");
    let list = program.answer("job list kim SALOON");
    assert!(list.contains("tight-slate") && list.contains("1 job."), "{list}");
    let csv = program.answer("job list --customer invented --format csv");
    assert_eq!(csv.lines().count(), 2, "{csv}");
    let (head, row) = csv.split_once('\n').unwrap();
    let cell = |key: &str| {
        let at = head.split(',').position(|column| column == key).unwrap();
        row.split(',').nth(at).unwrap()
    };
    assert_eq!(
        (cell("customer"), cell("state"), cell("date")),
        ("Kim Invented", "waiting", "2026-03-31")
    );
    let json = program.json("job list --customer 'kim inv' --format json");
    let job = &json["jobs"][0];
    assert_eq!((&job["job"], &job["state"]), (&"tight-slate".into(), &"waiting".into()));
    assert_eq!((&job["vehicle"], &job["notes"]), (&"grey saloon".into(), &"smells hot".into()));

    // Out as CSV, into another catalog, and out again.
    let file = program.file("carried.csv", &program.answer("export --kind jobs"));
    let engines = program.answer("export");
    let parts = program.file("parts.csv", &engines);
    let other = Program::new();
    other.answer(&format!("import '{parts}' --agree all"));
    other.answer(&format!("import --kind jobs '{file}'"));
    assert_eq!(other.answer("job show tight-slate"), shown);

    let told = program.answer("undo");
    let told = told.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(told.contains("customer: Kim Invented -> (blank), "), "{told}");
    assert!(told.contains("state: waiting -> open"), "{told}");
    assert!(!program.answer("job list").contains("Kim"));
}

#[test]
fn jobs_are_listed_by_their_state_and_a_wrong_word_or_day_is_refused() {
    let program = Program::demo();
    told(&program);
    program.answer("job edit worn-slate state=done");
    let ids = |line: &str| {
        let json = program.json(&format!("{line} --format json"));
        let jobs = json["jobs"].as_array().unwrap().iter();
        jobs.map(|job| job["job"].as_str().unwrap().to_string()).collect::<Vec<_>>()
    };
    assert_eq!(ids("job list --state waiting"), ["tight-slate"]);
    assert_eq!(ids("job list --state done,waiting"), ["tight-slate", "worn-slate"]);
    assert_eq!(ids("job list --state planned"), Vec::<String>::new());
    assert_eq!(ids("job list --state open").len(), 6);
    assert_eq!(program.answer("job list --state planned"), "No job is listed.\n");
    assert_eq!(program.run("job list --state gone").status, 2);
    program.refuses(
        "job edit tight-slate state=gone",
        2,
        "error: `state`: `gone` is not known here\n  hint: write `planned`, `waiting`, `open`, \
         `done` or leave it blank\n",
    );
    program.refuses(
        "job edit tight-slate date=31.3.2026",
        2,
        "error: `date`: `31.3.2026` is no day of the calendar\n  hint: write year, month and day, \
         such as 2026-03-31\n",
    );
    program.answer("job edit worn-slate state=");
    assert_eq!(ids("job list --state done"), Vec::<String>::new());
}

#[test]
fn jobs_that_are_done_are_no_part_of_a_desks_day() {
    let program = Program::demo();
    let all = |program: &Program| {
        let ran = program.run("cure --all --format json");
        let json: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
        let jobs = json.as_array().unwrap().iter();
        (jobs.map(|job| job["job"].as_str().unwrap().to_string()).collect::<Vec<_>>(), ran.err)
    };
    let (before, err) = all(&program);
    assert!(before.contains(&"tight-slate".into()) && !err.contains("done"), "{err}");
    program.answer("job edit tight-slate state=done");
    let (after, err) = all(&program);
    assert_eq!(after.len(), before.len() - 1);
    assert!(!after.contains(&"tight-slate".into()));
    assert!(err.contains("1 of 8 jobs is done: not looked at\n"), "{err}");
    // Asked for by its name it is answered.
    assert!(program.answer("cure tight-slate").contains("BP-S125"));
}

#[test]
fn jobs_from_before_they_had_words_are_open_and_sealed_anew() {
    let program = Program::new();
    let conn = rusqlite::Connection::open(program.catalog()).unwrap();
    for script in [
        include_str!("../../catalog/migrations/0001_first.sql"),
        include_str!("../../catalog/migrations/0002_measured.sql"),
        include_str!("../../catalog/migrations/0003_history.sql"),
        include_str!("../../catalog/migrations/0004_kept.sql"),
        include_str!("../../catalog/migrations/0005_seal.sql"),
        include_str!("../../catalog/migrations/0006_bars.sql"),
        include_str!("../../catalog/migrations/0007_undo.sql"),
        include_str!("../../catalog/migrations/0008_headings.sql"),
        "INSERT INTO job (number, id, description, crank_over_plate, depth_over_plate, disc_state,
           crank_pushed, starter_on)
         VALUES (1, 'car', 'as it was', 0, 0, 'new', 'unknown', 'unknown');
         INSERT INTO part (number, id, kind, maker, description, on_hand, retired, notes)
         VALUES (1, 'F-1', 'flywheel', '', '', 0, 0, '');
         INSERT INTO seal VALUES ('job', 1, 1), ('part', 1, 1);
         PRAGMA application_id = 0x42454C53; PRAGMA user_version = 8;",
    ] {
        conn.execute_batch(script).unwrap();
    }
    drop(conn);
    let shown = program.answer("job show car");
    assert!(shown.contains("job car: as it was\n\nstate                       open\n"), "{shown}");
    assert!(!shown.contains("customer"), "{shown}");
    let ran = program.run("check");
    assert!(ran.status <= 1, "{}", ran.err);
    let conn = rusqlite::Connection::open(program.catalog()).unwrap();
    conn.execute_batch("UPDATE job SET customer = 'Kim'").unwrap();
    drop(conn);
    let ran = program.run("check");
    assert!(ran.err.contains("the job `car` is not as this program stored it"), "{}", ran.err);
}

#[test]
fn a_sheet_has_customer_and_vehicle_on_its_lines_where_they_are_told() {
    let program = Program::demo();
    let line = |sheet: &str, name: &str| {
        let dt = format!("<dt>{name}</dt><dd>");
        let (_, rest) = sheet.split_once(&dt).unwrap();
        rest.split_once("</dd>").unwrap().0.to_string()
    };
    for sheet in ["sheet tight-slate", "sheet tight-slate --blank"] {
        assert_eq!(line(&program.run(sheet).out, "customer"), "");
    }
    told(&program);
    for sheet in ["sheet tight-slate", "sheet tight-slate --blank"] {
        let sheet = program.run(sheet).out;
        assert_eq!(line(&sheet, "customer"), "Kim Invented");
        assert_eq!(line(&sheet, "vehicle"), "grey saloon");
    }
}
