//! Slips are refused where they are entered, unless they are meant; what is stored is not asked again.

use bellstack::model::job::READINGS;
use bellstack::model::kinds::{Kinds, Quantity};

use crate::program::Program;

/// Runs a command line that has to be refused, and gives the reason.
fn refusal(program: &Program, args: &[&str]) -> String {
    let before = program.answer("export");
    let ran = program.run_args(args);
    assert_eq!((ran.status, ran.out.as_str()), (2, ""), "{args:?}: {}", ran.err);
    assert_eq!(program.answer("export"), before, "{args:?} changed something");
    ran.err
}

#[test]
fn every_length_has_a_usual_range_and_it_holds_what_the_demo_shop_has() {
    for kind in Kinds::standard().iter() {
        for dim in kind.dims {
            assert_eq!(dim.usual.is_some(), dim.quantity == Quantity::Length, "{}", dim.key);
            let ends = dim.usual.map(|usual| usual.low < usual.high);
            assert_ne!(ends, Some(false), "{}", dim.key);
        }
    }
    assert!(READINGS.iter().all(|spec| spec.usual.low < spec.usual.high));
    let checked = Program::demo().json("check --format json");
    let topics = checked["topics"].as_array().unwrap();
    assert!(topics.iter().all(|topic| topic["topic"] != "unusual"), "{topics:?}");
}

#[test]
fn slips_are_refused_with_what_they_look_like() {
    let program = Program::demo();
    for (pairs, told) in [
        (
            &["part", "edit", "FW-S1000", "thickness=28.6 in"][..],
            "`28.600 in` is no usual `thickness` of a flywheel, which is 0.200 in to 3.000 in\n  hint: 28.60 mm is, or 2.860 in, or 0.286 in; `--unusual thickness` keeps it",
        ),
        (&["part", "edit", "FW-S1000", "thickness=254 mm"], "hint: 10.00 mm is, or 1.000 in; "),
        (&["part", "edit", "FW-S1000", "thickness=10.05 in"], "hint: 10.05 mm is, or 1.005 in; "),
        (
            &["part", "edit", "FW-S1000", "thickness_tol=3 mm"],
            "`3.00 mm` is no usual tolerance: they are 0.080 in at most",
        ),
        (
            &["part", "edit", "BR-S95", "extended_height=3.7 in"],
            "is no usual `extended_height` less `retracted_height` of a bearing, which is 0.200 in to 1.800 in",
        ),
        (
            &["part", "add", "engine", "E", "crank_protrusion=25.4 in"],
            "is no usual `crank_protrusion` of an engine",
        ),
        (
            &["part", "edit", "PP-S190", "set_gap=", "set_gap_min=0.4 in", "set_gap_max=0.3 in"],
            "set_gap_min 0.400 in is not below set_gap_max 0.300 in",
        ),
        (
            &[
                "job",
                "edit",
                "tight-slate",
                "bearing_depth_extended=3.060 in",
                "bearing_depth_retracted=2.110 in",
            ],
            "bearing_depth_extended 3.060 in is not below bearing_depth_retracted 2.110 in\n  hint: were the two swapped?",
        ),
        (
            &["job", "edit", "tight-slate", "crank_protrusion=25.4 in"],
            "`25.400 in proud` is no usual `crank_protrusion`, which is -2.000 in to 2.000 in\n  hint: 25.40 mm proud is, or 0.254 in proud, or 0.0254 in proud; ",
        ),
        (&["job", "edit", "tight-slate", "finger_depth=294.5 in"], "beyond 100 in"),
        (
            &["job", "edit", "tight-slate", "finger_depth=29.45 in"],
            "hint: 29.45 mm is, or 2.945 in; ",
        ),
        (&["job", "add", "j", "clutch_height=0.3 in"], "hint: 7.620 in is, or 3.000 in; "),
        (
            &["reading", "add", "FW-S1000#A", "cover_step", "25.4", "in", "--condition", "new"],
            "`25.400 in (friction face recessed)` is no usual `cover_step`",
        ),
    ] {
        let refused = refusal(&program, pairs);
        assert!(refused.contains(told), "{pairs:?}: {refused}");
    }
}

#[test]
fn a_bar_that_was_not_taken_off_is_named() {
    let program = Program::demo();
    let refused = refusal(
        &program,
        &[
            "part",
            "edit",
            "PP-S190",
            "finger_height=1.9 in",
            "finger_height_bar=1 in",
            "wear_allowance=1.02 in",
        ],
    );
    assert!(refused.contains("0.020 in, with the bar of 1.000 in taken off"), "{refused}");
}

#[test]
fn what_is_meant_is_kept_and_listed() {
    let program = Program::demo();
    program.answer("part edit FW-S1000 thickness='3.5 in' --unusual thickness");
    program.answer("part edit FW-S0900 thickness='3.5 in' thickness_tol='0.1 in' --unusual all");
    program.answer("job edit tight-slate finger_depth='0.4 in' --unusual finger_depth,cover_step");
    program.answer("reading add DS-S330#A thickness 0.9 in --condition new --unusual thickness");
    let file = program.file("discs.csv", "id,thickness\nD-1,0.05 in\n");
    assert_eq!(program.run_args(&["import", &file]).status, 2);
    program.answer(&format!("import {file} --unusual thickness"));
    let checked = program.json("check --format json");
    let topics = checked["topics"].as_array().unwrap();
    let unusual = topics.iter().find(|topic| topic["topic"] == "unusual").unwrap();
    let ids: Vec<&str> = unusual["remarks"]
        .as_array()
        .unwrap()
        .iter()
        .map(|remark| remark["id"].as_str().unwrap())
        .collect();
    assert_eq!(ids, ["FW-S0900", "FW-S0900", "FW-S1000", "D-1", "DS-S330#A", "tight-slate"]);
    let table = program.run("check").out;
    assert!(
        table.contains("3.500 in, and such a length is usually 0.200 in to 3.000 in"),
        "{table}"
    );
}

#[test]
fn what_the_catalog_holds_already_is_not_asked_again() {
    let program = Program::demo();
    program.answer("part edit FW-S1000 thickness='3.5 in' thickness_tol='0.1 in' --unusual all");
    program.answer("part edit FW-S1000 maker='Own shelf' thickness='3.5 in'");
    let exported = program.answer("export --kind flywheel");
    let file = program.file("flywheels.csv", &exported);
    program.answer(&format!("import {file}"));
    program.answer(&format!("import {file} --replace"));
    // In another catalog it is new.
    let other = Program::new();
    let file = other.file("flywheels.csv", &exported);
    assert!(other.run_args(&["import", &file]).err.contains("is no usual `thickness`"));
}

#[test]
fn a_piece_does_not_contradict_itself() {
    let program = Program::demo();
    program.answer("reading add FW-S1000#A thickness 1.001 in --condition new");
    let refused = refusal(&program, &["reading", "add", "FW-S1000#A", "thickness", "1.101", "in"]);
    assert!(
        refused.contains("`1.101 in` is far from what was read on it before, 1.001 in"),
        "{refused}"
    );
    let refused =
        refusal(&program, &["reading", "add", "FW-S1000#A", "thickness", "1.001", "1.101", "in"]);
    assert!(refused.contains("`1.101 in` is far from"), "{refused}");
    let rows = "part,piece,condition,dimension,value\nFW-S1000,B,new,thickness,1.001 in\n\
                FW-S1000,B,new,thickness,1.101 in\n";
    let file = program.file("readings.csv", rows);
    let refused = refusal(&program, &["import", &file]);
    assert!(refused.contains("line 3 column `value`: `1.101 in` is far from"), "{refused}");
    // What is meant is stored, and said to be suspicious all the same.
    let ran = program.run(&format!("import {file} --unusual thickness"));
    assert_eq!(ran.status, 0, "{}", ran.err);
    assert!(program.answer(&format!("import {file}")).contains("2 there already"));
}

#[test]
fn a_price_far_from_those_of_its_kind_is_listed() {
    let program = Program::demo();
    let row = |n: u32| format!("F-{n},1.000 in,{}\n", 300 + 10 * n);
    let rows: String = (0..9).map(row).collect();
    let file =
        program.file("flywheels.csv", &format!("id,thickness,price\n{rows}F-9,1.000 in,31100\n"));
    program.answer(&format!("import {file}"));
    let table = program.run("check --all").out;
    assert!(table.contains("31100.00, where half of the prices of its kind are "), "{table}");
    assert_eq!(table.matches("where half of the prices").count(), 1, "{table}");
}

#[test]
fn a_flag_with_an_unknown_key_is_refused() {
    let program = Program::demo();
    program.refuses(
        "part edit FW-S1000 thickness='3.5 in' --unusual thicknes",
        2,
        "error: `--unusual`: `thicknes` is no length\n  hint: did you mean `thickness`?\n",
    );
}

#[test]
fn at_the_bench_somebody_is_asked_instead() {
    let program = Program::demo();
    let ran = program
        .asked("measure DS-A84#A --only hub_front", &["new", "", "40 mm", "no", "1.6 in", "yes"]);
    assert_eq!(ran.status, 0, "{}", ran.err);
    assert!(ran.err.contains("is no usual `hub_front` of a disc"), "{}", ran.err);
    assert!(!ran.err.contains("--unusual"), "{}", ran.err);
    assert!(program.answer("export --kind readings").contains("hub_front,1.600 in"));
}
