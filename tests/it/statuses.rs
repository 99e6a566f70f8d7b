//! Exit statuses, refusals, and what happens when the world is not as it should be.

use std::io::{BufRead as _, BufReader, ErrorKind};
use std::process::{Command, Stdio};

use bellstack::solve::ask::Watch;

use crate::program::{Closed, Program};

#[test]
fn an_unknown_name_is_refused_with_the_nearest() {
    let program = Program::demo();
    program.refuses(
        "fit tight-slat",
        2,
        "error: there is no job `tight-slat` in the catalog\n  hint: did you mean `tight-slate`?\n",
    );
    program.refuses(
        "recommend paper-slate --keep flywhel",
        2,
        "error: `--keep`: `flywhel` is no slot of a stack\n  hint: did you mean `flywheel`?\n",
    );
    program.refuses(
        "fit tight-slate --with flywheel=FW-S090",
        2,
        "error: `--with`: there is no flywheel `FW-S090` in the catalog\n  hint: did you mean \
         `FW-S0900`?\n",
    );
    program.refuses(
        "fit tight-slate --with flywheel=DS-S330",
        2,
        "error: `--with`: `DS-S330` is a disc, not a flywheel\n",
    );
    program.refuses(
        "recommend paper-slate --skip BR-S9",
        2,
        "error: `--skip`: there is no part `BR-S9` in the catalog\n  hint: did you mean `BR-S95`?\n",
    );
    program.refuses(
        "part show FW-S100",
        2,
        "error: there is no part `FW-S100` in the catalog\n  hint: did you mean `FW-S1000`?\n",
    );
    program.refuses(
        "part list --kind flywhel",
        2,
        "error: `flywhel` is no kind of part\n  hint: did you mean `flywheel`?\n",
    );
    program.refuses(
        "window set stroke_margn='0.1 in'",
        2,
        "error: `stroke_margn`: `stroke_margn` is no house number\n  hint: did you mean \
         `stroke_margin`?\n",
    );
    program.refuses(
        "window set --job tight-slate preload_mn='0.5 in'",
        2,
        "error: `preload_mn` is no edge of a job's window\n  hint: did you mean `preload_min`?\n",
    );
}

#[test]
fn wrong_use_changes_nothing_and_exits_with_2() {
    let program = Program::demo();
    for line in [
        "fit",
        "fit paper-slate",
        "recommend",
        "recommend paper-slate --top 0",
        "recommend paper-slate --budget much",
        "recommend paper-slate --at-least out",
        "recommend paper-slate --only flywheel",
        "recommend paper-slate --only flywheel=",
        "recommend paper-slate --without flywheel",
        "recommend paper-slate --keep flywheel",
        "recommend tight-slate --keep flywheel --only flywheel=FW-S0900",
        "cure",
        "cure --all tight-slate",
        "cure paper-slate",
        "fit tight-slate --with flywheel",
        "fit tight-slate --with flywheel=FW-S0900|FW-S1000",
        "fit tight-slate --with flywheel=FW-S0900 --with flywheel=FW-S1000",
        "fit tight-slate --with bearing_shims=SH-S030|SH-S030|SH-S030",
        "fit tight-slate --with flywheel=none",
        "fit tight-slate --with bearing_shims=",
        "fit tight-slate --machine-to 1.020",
        "fit tight-slate --format png",
        "sheet",
        "sheet paper-slate",
        "sheet tight-slate --cure 0",
        "sheet tight-slate --cure 1 --with flywheel=FW-S0900",
        "sheet tight-slate --blank --with flywheel=FW-S0900",
        "sheet worn-slate --cure 9999",
        "fit tight-slate --machine-to '1.020 in'",
        "part edit FW-S1000 thickness=1",
        "part edit FW-S1000 id=X",
        "part remove FW-S1000",
        "part add flywheel FW-S1000",
        "job edit tight-slate flywheel=NONE-SUCH",
        "job add tight-slate",
        "window set stroke_margin=1",
        "window set --job tight-slate stroke_margin='1 in'",
        "window set --job tight-slate preload_min='0.9 in' preload_max='0.8 in'",
        "import --kind flywhel x.csv",
        "export --kind flywhel",
        "export --templates",
        "demo --catalog",
        "piece add FW-S1000#A",
        "piece add FW-S1000 condition=new",
        "piece edit FW-S1000#A notes=x",
        "piece gone FW-S1000#A",
        "piece remove FW-S1000#A",
        "reading add FW-S1000#A thickness 1 in",
        "reading add FW-S1000#A thickness 1 --condition new",
        "reading strike 1 --because x",
        "reading strike 1",
        "reading list NONE-SUCH",
        "instrument show none-such",
        "instrument add caliper-0.02",
        "instrument set caliper-0.02 limits=wide",
        "instrument remove none-such",
        "measure NONE-SUCH",
        "measure FW-S1000 --only depth",
        "history --limit 0",
        "history --part NONE-SUCH",
        "answer keep none-such",
        "answer keep tight-slate --as none",
        "answer keep tight-slate --fit --top 3",
        "answer keep paper-slate --fit",
        "answer show none-such",
        "answer compare none-such",
        "nonsense",
        "--units furlong part list",
    ] {
        let before = std::fs::read(program.catalog()).unwrap();
        let ran = program.run(line);
        // A file that is not there is another status, and comes before what is wrong with `--kind`.
        let expected = if line.starts_with("import") { 3 } else { 2 };
        assert_eq!(ran.status, expected, "`{line}`: {}{}", ran.out, ran.err);
        assert_eq!(ran.out, "", "`{line}`");
        assert!(ran.err.starts_with("error: "), "`{line}`: {}", ran.err);
        assert!(
            before == std::fs::read(program.catalog()).unwrap(),
            "`{line}` changed the catalog"
        );
    }
}

#[test]
fn help_is_an_answer() {
    let program = Program::new();
    for line in ["--help", "help", "recommend --help", "part add --help", "--version"] {
        let ran = program.run(line);
        assert_eq!((ran.status, ran.err.as_str()), (0, ""), "{line}");
        assert!(ran.out.lines().all(|line| line.chars().count() <= 100), "{}", ran.out);
    }
}

#[test]
fn a_true_answer_that_holds_none_exits_with_1() {
    let program = Program::demo();
    assert_eq!(program.run("fit tight-slate").status, 1);
    assert_eq!(program.run("fit worn-slate").status, 0);
    assert_eq!(program.run("cure tight-slate").status, 0);
    assert_eq!(program.run("cure worn-slate").status, 0);
    assert_eq!(program.run("cure short-slate --keep bearing").status, 1);
    assert_eq!(program.run("cure tight-slate --budget 0 --at-least sure --on-hand").status, 0);
    let narrow = "recommend tight-slate --keep flywheel,disc,pressure_plate,block_plate,bell_spacer,\
                  gearbox_spacer,bearing,bearing_shims";
    assert_eq!(program.run(narrow).status, 1);
}

#[test]
fn a_catalog_that_is_not_there_exits_with_3() {
    let program = Program::new();
    for line in [
        "part list",
        "part show X",
        "part edit X thickness='1 in'",
        "job list",
        "window show",
        "piece list",
        "piece add X#A condition=new",
        "reading list",
        "reading add X#A thickness 1 in",
        "instrument list",
        "measure X",
        "history",
        "undo",
        "backup copy.db",
        "restore nowhere.db",
        "answer keep X",
        "answer list",
        "answer show X",
        "answer compare X",
        "fit X",
        "recommend X",
        "cure X",
        "cure --all",
        "export",
        "import nowhere.csv",
    ] {
        let ran = program.run(line);
        assert_eq!((ran.status, ran.out.as_str()), (3, ""), "`{line}`: {}", ran.err);
        assert!(!program.catalog().exists(), "`{line}` made a catalog");
    }
    let ran = program.run_in(&["part", "list"], |env| env.var = &|_| None);
    assert_eq!(ran.status, 3);
    assert!(ran.err.contains("--catalog FILE"), "{}", ran.err);
}

#[test]
fn the_catalog_is_where_the_platform_keeps_data_unless_told_otherwise() {
    let program = Program::new();
    let directory = program.dir().join("data/bellstack");
    let in_data = |args: &[&str]| {
        program.run_in(args, |env| {
            env.var = &|_| None;
            env.data_dir = Some(directory.clone());
        })
    };
    assert_eq!(in_data(&["part", "add", "engine", "E-1"]).status, 0);
    assert!(directory.join("catalog.db").exists());
    assert!(in_data(&["part", "list"]).out.contains("E-1"));
    let other = program.dir().join("other.db").display().to_string();
    assert_eq!(in_data(&["--catalog", &other, "part", "list"]).status, 3);
}

#[test]
fn an_empty_catalog_and_a_single_part_are_answered() {
    let program = Program::new();
    let file = program.file("flywheels.csv", "id\n");
    let ran = program.run_args(&["import", &file]);
    assert_eq!(ran.status, 0, "{}", ran.err);
    assert_eq!(program.answer("part list"), "No part is listed.\n");
    assert_eq!(program.answer("job list"), "There is no job in the catalog.\n");
    let all = program.run("cure --all");
    assert_eq!((all.status, all.err.as_str()), (1, ""));
    program.answer("job add bare");
    let ran = program.run("recommend bare");
    assert_eq!(ran.status, 1, "{}", ran.err);
    assert!(ran.out.starts_with("0 of 0 combinations land in the window.\n"), "{}", ran.out);
    assert!(ran.out.contains("the catalog has no part for the slot engine"), "{}", ran.out);
    program.answer("part add engine E-1 crank_protrusion='0.04 in'");
    let ran = program.run("recommend bare --format json");
    let json: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    assert_eq!(json["considered"], "0");
    assert_eq!(json["stacks"].as_array().unwrap().len(), 0);
    assert_eq!(json["nearest"].as_array().unwrap().len(), 0);
}

#[test]
fn a_closed_pipe_is_no_error_and_a_full_disk_is_one() {
    let program = Program::demo();
    let list = |kind: ErrorKind| {
        let closed = Box::leak(Box::new(Closed(kind)));
        program.run_in(&["part", "list"], |env| env.out = closed)
    };
    let ran = list(ErrorKind::BrokenPipe);
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    let ran = list(ErrorKind::StorageFull);
    assert_eq!(ran.status, 3);
    assert!(ran.err.starts_with("error: the answer could not be written: "), "{}", ran.err);
}

#[test]
fn the_program_itself_survives_a_reader_that_goes_away() {
    let program = Program::demo();
    let mut child = Command::new(env!("CARGO_BIN_EXE_bellstack"))
        .args(["--catalog", &program.catalog().display().to_string(), "export"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut line = String::new();
    BufReader::new(child.stdout.take().unwrap()).read_line(&mut line).unwrap();
    assert!(line.starts_with("id,"), "{line}");
    let told = child.wait_with_output().unwrap();
    assert_eq!(told.status.code(), Some(0));
    assert_eq!(String::from_utf8(told.stderr).unwrap(), "");
}

#[test]
fn an_interrupted_search_gives_no_answer() {
    let program = Program::demo();
    for args in
        [&["recommend", "paper-slate"][..], &["cure", "tight-slate"], &["cure", "--all"], &["demo"]]
    {
        let ran = program.run_in(args, |env| env.on_search = &Watch::stop);
        assert_eq!((ran.status, ran.out.as_str()), (130, ""), "{args:?}");
        assert!(ran.err.contains("interrupted: the search was not finished"), "{}", ran.err);
    }
}

#[test]
fn a_short_search_on_a_terminal_shows_nothing_but_its_answer() {
    let program = Program::demo();
    let plain = program.run("cure tight-slate");
    let ran = program.run_in(&["cure", "tight-slate"], |env| env.err_is_terminal = true);
    assert_eq!(ran, plain);
}

#[test]
fn a_narrow_terminal_gets_narrow_pages() {
    let program = Program::demo();
    let ran = program.run_in(&["cure", "tight-slate"], |env| env.width = Some(70));
    assert!(ran.out.lines().all(|line| line.chars().count() <= 70), "{}", ran.out);
}

#[test]
#[cfg(unix)]
fn a_directory_that_cannot_be_written_leaves_the_catalog_readable() {
    use std::os::unix::fs::PermissionsExt as _;
    let program = Program::demo();
    let allow = |mode| {
        std::fs::set_permissions(program.dir(), std::fs::Permissions::from_mode(mode)).unwrap();
    };
    std::fs::set_permissions(program.catalog(), std::fs::Permissions::from_mode(0o444)).unwrap();
    allow(0o555);
    // The superuser writes everywhere; then there is nothing to see here.
    let may_write = std::fs::write(program.dir().join("probe"), "").is_ok();
    let (read, write) = (program.run("cure tight-slate"), program.run("part retire FW-S1000"));
    allow(0o755);
    assert_eq!((read.status, read.err.as_str()), (0, ""));
    if !may_write {
        assert_eq!(write.status, 3, "{}", write.err);
        assert!(write.err.starts_with("error: the catalog "), "{}", write.err);
    }
}

#[test]
fn check_ends_well_where_there_is_nothing_to_look_at() {
    let program = Program::new();
    let file = program.file(
        "bearing_shims.csv",
        "id,price,thickness_in,thickness_tol_in,seat_pattern\nS-1,5,0.030,0.001,seat\n",
    );
    program.answer(&format!("import {file}"));
    program.check("check", 0, "Nothing to look at in 1 part, 0 pieces and 0 jobs.\n", "");
    program.answer("part edit S-1 price=");
    assert_eq!(program.run("check").status, 1);
    assert_eq!(program.run("check --all --top 3").status, 2);
}
