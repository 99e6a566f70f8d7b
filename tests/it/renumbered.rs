//! Part numbers that change: what refers to a part follows, and it is still found by the old number.

use crate::program::Program;
use crate::support::Dice;

/// The demo shop with a measured piece and a kept answer.
fn shop() -> Program {
    let program = Program::demo();
    for line in [
        "piece add FW-S1000#A condition=used",
        "reading add FW-S1000#A thickness 1.0012 1.0010 in --by Kim --date 2026-02-03",
        "job edit worn-slate flywheel=FW-S1000#A",
        "answer keep worn-slate --fit --as before",
    ] {
        program.answer(line);
    }
    program
}

fn out(program: &Program, line: &str) -> String {
    program.run(line).out
}

#[test]
fn a_part_that_is_renamed_takes_everything_along_and_is_found_by_its_old_number() {
    let program = shop();
    let before = out(&program, "fit tight-slate");
    program.check(
        "part rename FW-S1000 DF-1000",
        0,
        "FW-S1000 is called DF-1000 now, in 2 jobs and 1 piece too\n",
        "",
    );
    assert_eq!(out(&program, "fit tight-slate"), before.replace("FW-S1000", "DF-1000"));
    assert!(
        program.answer("job show tight-slate").contains("flywheel                    DF-1000\n")
    );
    assert!(
        program.answer("job show worn-slate").contains("flywheel                    DF-1000#A\n")
    );
    assert!(program.answer("reading list DF-1000").contains("DF-1000#A"));
    // By the old number.
    let shown = program.answer("part show FW-S1000");
    assert!(shown.starts_with("FW-S1000 is called DF-1000 now.\n\nflywheel DF-1000"), "{shown}");
    assert!(shown.contains("formerly                    FW-S1000\n"), "{shown}");
    assert!(program.answer("part list FW-S1000").contains("DF-1000"));
    assert_eq!(program.answer("reading list FW-S1000#A"), program.answer("reading list DF-1000#A"));
    let with = "fit tight-slate --with flywheel=";
    assert_eq!(out(&program, &format!("{with}FW-S1000")), out(&program, &format!("{with}DF-1000")));
    assert_eq!(
        out(&program, &format!("{with}FW-S1000#A")),
        out(&program, &format!("{with}DF-1000#A"))
    );
    let only = "recommend paper-slate --on-hand --top 2 --only flywheel=";
    assert_eq!(out(&program, &format!("{only}FW-S1000")), out(&program, &format!("{only}DF-1000")));
    let changes = program.answer("history").lines().count();
    program.answer("job edit tight-slate flywheel=FW-S1000");
    assert_eq!(program.answer("history").lines().count(), changes, "it is the same part");
    program.answer("job edit short-slate flywheel=FW-S1000");
    assert!(
        program.answer("job show short-slate").contains("flywheel                    DF-1000\n")
    );
    // Its whole history, and the answer that was kept before.
    let history = program.answer("history --part DF-1000");
    assert!(history.contains("piece FW-S1000#A added"), "{history}");
    assert!(history.contains("id: FW-S1000 -> DF-1000"), "{history}");
    assert_eq!(history, program.answer("history --part FW-S1000"));
    let compared = program.run("answer compare before");
    assert!(!compared.out.contains("there is no"), "{}", compared.out);
    let json = program.json("part list DF-1000 --format json");
    assert_eq!(json["parts"][0]["formerly"], serde_json::json!(["FW-S1000"]));
    assert_eq!(program.run("check").status, 1);
}

#[test]
fn a_number_leads_to_one_part() {
    let program = shop();
    program.answer("part rename FW-S1000 DF-1000");
    program.refuses(
        "part add flywheel FW-S1000",
        2,
        "error: `FW-S1000` is what `DF-1000` was called before\n  hint: change `DF-1000`, or give the \
         new one another number\n",
    );
    program.refuses(
        "part rename FW-S0900 FW-S1000",
        2,
        "error: `FW-S1000` is what `DF-1000` was called before\n  hint: change `DF-1000`, or give the \
         new one another number\n",
    );
    program.refuses(
        "part rename FW-S0900 FW-S1125",
        2,
        "error: there is a part `FW-S1125` already\n  hint: `part supersede FW-S0900 FW-S1125` lets \
         it take the place of `FW-S0900`\n",
    );
    program.refuses(
        "part rename FW-S1000 FW-2",
        2,
        "error: `FW-S1000` is called `DF-1000` now\n  hint: write `DF-1000`\n",
    );
    program.refuses(
        "part edit FW-S0900 formerly=FW-S1125",
        2,
        "error: `formerly`: `FW-S1125` is or was `FW-S1125`\n  hint: a number leads to one part\n",
    );
    program.refuses(
        "part supersede FW-S0900 DS-S330",
        2,
        "error: `FW-S0900` is a flywheel, and `DS-S330` a disc\n  hint: one takes the place of \
         another one of its kind\n",
    );
    assert_eq!(program.run("part rename FW-S0900 'a|b'").status, 2);
    assert_eq!(program.run("part rename DF-1000 DF-1000").status, 2);
    // And back to its own old number.
    program.answer("part rename DF-1000 FW-S1000");
    let shown = program.answer("part show DF-1000");
    assert!(shown.contains("formerly                    DF-1000\n"), "{shown}");
}

#[test]
fn a_part_takes_the_place_of_another_one() {
    let program = shop();
    program.answer("answer keep worn-slate --fit --as then");
    program.check(
        "part supersede FW-S1000 FW-S1125",
        0,
        "FW-S1125 has taken the place of FW-S1000, in 2 jobs and 1 piece too; 1 more of it on the \
         shelf\n",
        "",
    );
    assert!(
        program.answer("job show tight-slate").contains("flywheel                    FW-S1125\n")
    );
    assert!(program.answer("job show worn-slate").contains("FW-S1125#A\n"));
    assert!(program.answer("reading list FW-S1125").contains("FW-S1125#A"));
    let shown = program.answer("part show FW-S1000");
    assert!(shown.starts_with("FW-S1000 is called FW-S1125 now.\n"), "{shown}");
    assert!(shown.contains("thickness                   1.125 in"), "{shown}");
    assert!(shown.contains("on_hand                     2\n"), "{shown}");
    let compared = program.run("answer compare then");
    assert!(!compared.out.contains("there is no"), "{}", compared.out);
    // A piece of both.
    program.answer("piece add FW-S0900#A condition=new");
    let ran = program.run("part supersede FW-S0900 FW-S1125");
    assert!(ran.err.starts_with("error: there is a piece `A` of both\n"), "{}", ran.err);
}

/// Everything that the catalog holds but its history.
fn state(program: &Program) -> String {
    let kinds = ["flywheels", "jobs", "pieces", "readings"];
    kinds.map(|kind| out(program, &format!("export --kind {kind}"))).concat()
}

#[test]
fn renamed_superseded_and_copied_is_taken_back_and_done_again() {
    let program = shop();
    program.answer("part rename FW-S1125 OLDER");
    for line in [
        "part rename FW-S1000 DF-1000",
        "part supersede FW-S1000 FW-S0900",
        "part supersede OLDER FW-S0900",
        "part copy FW-S1000 FW-S0950 thickness='0.950 in'",
        "job copy tight-slate next flywheel=FW-S0900 customer=Kim",
    ] {
        let before = state(&program);
        program.answer(line);
        let after = state(&program);
        assert_ne!(before, after, "{line}");
        let told = program.answer("undo");
        assert_eq!(state(&program), before, "{line}");
        let check = program.run("check --format json");
        assert!(check.status <= 1, "{line}: {}", check.err);
        let again = told.rsplit("`bellstack undo ").next().unwrap().split('`').next().unwrap();
        program.answer(&format!("undo {again}"));
        assert_eq!(state(&program), after, "{line}, done again");
        let check = program.run("check --format json");
        assert!(check.status <= 1, "{line}: {}", check.err);
        program.answer(&format!("undo {}", again.parse::<i64>().unwrap() + 1));
        assert_eq!(state(&program), before, "{line}, taken back once more");
    }
}

#[test]
fn what_was_done_under_the_old_number_is_taken_back_under_the_new_one() {
    let program = Program::new();
    for line in [
        "part add flywheel F-1 thickness='1.000 in'",
        "part edit F-1 price=100",
        "piece add F-1#A condition=new",
        "job add car flywheel=F-1#A",
        "job edit car flywheel=F-1",
        "reading add F-1#A thickness 1.001 in",
        "part rename F-1 G-1",
    ] {
        program.answer(line);
    }
    program.answer("undo 6");
    assert_eq!(program.answer("reading list"), "No reading is listed.\n");
    program.answer("undo 5");
    assert!(program.answer("job show car").contains("flywheel                    G-1#A\n"));
    program.answer("undo 2");
    assert!(program.answer("part show G-1").contains("price                       unknown\n"));
    // What came later under the new number stands on the new number.
    program.answer("part edit G-1 price=90");
    let ran = program.run("undo 7");
    assert_eq!(ran.status, 2, "{}", ran.out);
    assert!(ran.err.contains("`part edit G-1 price=90`"), "{}", ran.err);
    let ran = program.run("undo 1");
    assert!(ran.err.contains("`part rename F-1 G-1`"), "{}", ran.err);
    for _ in 0..2 {
        program.answer("undo");
    }
    assert!(program.answer("part show F-1").starts_with("flywheel F-1\n"));
    assert_eq!(program.run("part show G-1").status, 2);
}

#[test]
fn a_sheet_with_the_old_number_is_read_onto_the_part_and_that_is_said() {
    let program = shop();
    program.answer("part rename FW-S1000 DF-1000");
    let sheet = program.file("flywheels.csv", "id,price\nFW-S1000,300\n");
    for flags in ["", "--replace"] {
        let ran = program.run(&format!("import '{sheet}' {flags}"));
        assert_eq!(ran.status, 0, "{}", ran.err);
        assert!(ran.err.contains("`FW-S1000` is called `DF-1000` now"), "{}", ran.err);
        assert!(
            program.answer("part show FW-S1000").contains("price                       300.00 USD")
        );
    }
    let sheet = program.file("flywheels.csv", "id,price\nFW-S1000,300\nDF-1000,301\n");
    let ran = program.run(&format!("import '{sheet}'"));
    assert!(ran.err.contains("`DF-1000` was given before"), "{}", ran.err);
    let sheet = program.file("jobs.csv", "job,flywheel\nshort-slate,FW-S1000\n");
    assert_eq!(program.run(&format!("import '{sheet}'")).status, 0);
    assert!(
        program.answer("job show short-slate").contains("flywheel                    DF-1000\n")
    );
    // Readings that are there already are known again under the old number, and new ones are its own.
    let readings = "part,piece,condition,dimension,value,by,date\n\
                    FW-S1000,A,used,thickness,1.0012 1.0010 in,Kim,2026-02-03\n\
                    FW-S1000,B,new,thickness,1.0001 in,Kim,2026-02-04\n";
    let sheet = program.file("readings.csv", readings);
    let told = program.run(&format!("import '{sheet}'"));
    assert_eq!(told.status, 0, "{}", told.err);
    assert!(told.out.contains("readings: 1 added"), "{}", told.out);
    let pieces = program.file("pieces.csv", "part,piece,notes\nFW-S1000,B,seen\n");
    assert_eq!(program.run(&format!("import '{pieces}'")).status, 0);
    let list = program.answer("piece list --part DF-1000");
    assert!(list.contains("DF-1000#B") && list.contains("seen"), "{list}");
    // Carried to another catalog, it is found by both there.
    let parts = program.file("parts.csv", &program.answer("export"));
    let other = Program::new();
    other.answer(&format!("import '{parts}'"));
    assert!(other.answer("part show FW-S1000").starts_with("FW-S1000 is called DF-1000 now.\n"));
}

#[test]
fn a_copied_part_lies_on_no_shelf_and_a_copied_job_is_open() {
    let program = shop();
    program.check(
        "part copy FW-S1000 FW-S0950 thickness='0.950 in'",
        0,
        "added the part FW-S0950 like FW-S1000\n",
        "",
    );
    let shown = program.answer("part show FW-S0950");
    for line in
        ["on_hand                     0", "thickness                   0.950 in +- 0.002 in"]
    {
        assert!(shown.lines().any(|found| found == line), "{line}\n{shown}");
    }
    program.answer("job edit tight-slate state=done date=2026-01-02 customer=Kim");
    program.check(
        "job copy tight-slate next vehicle=van",
        0,
        "added the job next like tight-slate\n",
        "",
    );
    let shown = program.answer("job show next");
    for line in ["state                       open", "customer                    Kim"] {
        assert!(shown.lines().any(|found| found == line), "{line}\n{shown}");
    }
    assert!(!shown.contains("2026-01-02"), "{shown}");
    assert_eq!(program.run("part copy FW-S1000 FW-S0950").status, 2);
    assert_eq!(program.run("job copy none-such x").status, 2);
}

/// A command of a shop in which numbers change all the time; it may be refused.
fn any_command(dice: &mut Dice) -> String {
    const NUMBERS: &[&str] = &["F-1", "F-2", "F-3", "F-4", "F-5"];
    const LABELS: &[&str] = &["A", "B"];
    const JOBS: &[&str] = &["car", "van"];
    let mut number = || *dice.pick(NUMBERS);
    let (one, other) = (number(), number());
    let (label, job) = (*dice.pick(LABELS), *dice.pick(JOBS));
    match dice.roll(13) {
        0..=2 => format!("part rename {one} {other}"),
        3 | 4 => format!("part supersede {one} {other}"),
        5 => format!("part copy {one} {other} price={}", dice.roll(9)),
        6 => format!("part edit {one} on_hand={} own_shelf=B{}", dice.roll(3), dice.roll(3)),
        7 => format!("piece add {one}#{label} condition=used"),
        8 => format!("reading add {one}#{label} thickness 1.00{} in", dice.roll(9)),
        9 => format!("job edit {job} flywheel={one}"),
        10 => format!("job edit {job} flywheel={one}#{label}"),
        11 => format!("job copy {job} {job}{} customer=Kim", dice.roll(2)),
        _ => format!("part remove {one}"),
    }
}

#[test]
fn any_row_of_commands_is_taken_back_step_by_step_with_numbers_changing_all_the_time() {
    let mut renamed = 0;
    for seed in 0..4 {
        let program = Program::new();
        for line in [
            "part add flywheel F-1 thickness='1.000 in'",
            "part add flywheel F-2 thickness='1.100 in'",
            "part add flywheel F-3 thickness='1.200 in' on_hand=1",
            "piece add F-1#A condition=new",
            "job add car flywheel=F-1#A",
            "job add van flywheel=F-2",
        ] {
            program.answer(line);
        }
        let mut dice = Dice::new(seed + 77);
        let mut done = vec![(String::new(), state(&program))];
        while done.len() < 14 {
            let line = any_command(&mut dice);
            let ran = program.run(&line);
            assert!(ran.status <= 2, "seed {seed}: {line}: {}", ran.err);
            let after = state(&program);
            let before = &done[done.len() - 1].1;
            assert!(ran.status == 0 || after == *before, "seed {seed}: {line} was refused");
            if after != *before {
                renamed += usize::from(line.contains("rename") || line.contains("supersede"));
                done.push((line, after));
            }
        }
        let check = program.run("check --format json");
        assert!(check.status <= 1, "seed {seed}: {}", check.err);
        while let Some((line, _)) = done.pop().filter(|_| !done.is_empty()) {
            let ran = program.run("undo");
            assert_eq!(ran.status, 0, "seed {seed}: {line}: {}", ran.err);
            let before = &done[done.len() - 1].1;
            assert_eq!(state(&program), *before, "seed {seed}: {line}");
        }
        let check = program.run("check --format json");
        assert!(check.status <= 1, "seed {seed}: {}", check.err);
    }
    assert!(renamed > 6, "numbers did change: {renamed}");
}
