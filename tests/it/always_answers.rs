//! Whatever the readings, the lengths or the files are: the program answers, and in time.

use std::sync::mpsc;
use std::thread;
use std::time::Duration;

use crate::program::Program;

/// Far more than any of these answers takes on a busy machine, far less than for ever.
const PATIENCE: Duration = Duration::from_mins(1);

/// What is done in the demo shop; fails where it does not end.
fn in_time<T: Send + 'static>(work: impl FnOnce(&Program) -> T + Send + 'static) -> T {
    let (done, ended) = mpsc::channel();
    thread::spawn(move || done.send(work(&Program::demo())));
    ended.recv_timeout(PATIENCE).unwrap_or_else(|told| panic!("no answer: {told}"))
}

#[test]
fn readings_that_agree_to_a_hundred_thousandth_hang_no_answer() {
    let ran = in_time(|program| {
        program.answer(
            "reading add FW-S1000#A thickness 1.00000 1.00001 in --condition used --instrument \
             caliper-0.02",
        );
        program.run("fit tight-slate --with flywheel=FW-S1000#A")
    });
    assert_eq!((ran.status, ran.err.as_str()), (1, ""), "{}", ran.out);
}

#[test]
fn many_sets_that_agree_but_for_one_reading_hang_no_answer() {
    let ran = in_time(|program| {
        let set = |piece: u32| {
            let last = if piece == 35 { "25.41" } else { "25.40" };
            format!("FW-S1000,{piece},new,thickness,25.40 25.40 {last} mm,caliper-0.02\n")
        };
        let rows: String = (1..=35).map(set).collect();
        let head = "part,piece,condition,dimension,value,instrument\n";
        program.answer(&format!(
            "import {}",
            program.file("readings.csv", &(head.to_owned() + &rows))
        ));
        program.run("fit tight-slate --with flywheel=FW-S1000#35")
    });
    assert_eq!((ran.status, ran.err.as_str()), (1, ""), "{}", ran.out);
}

#[test]
fn a_master_cylinder_as_long_and_as_wide_as_a_length_may_be_is_answered() {
    let program = Program::demo();
    program.answer("part edit MC-875 bore='100 in' stroke='100 in' --unusual all");
    for line in ["fit tight-slate", "cure tight-slate", "recommend tight-slate", "check"] {
        let ran = program.run(line);
        assert!(ran.status < 2 && ran.err.is_empty(), "{line}: {}", ran.err);
    }
}

#[test]
fn bores_of_a_bearing_that_differ_by_a_nanometre_are_answered() {
    let program = Program::demo();
    program.answer("part edit MC-875 bore='100 in' stroke='100 in' --unusual all");
    for (outer, inner) in
        [("50.001 mm", "50 mm"), ("50.000001 mm", "50 mm"), ("100 in", "0.000001 mm")]
    {
        program.answer(&format!(
            "part edit BR-S95 bore_outer='{outer}' bore_inner='{inner}' --unusual all"
        ));
        for line in ["fit tight-slate", "cure tight-slate", "recommend tight-slate"] {
            let ran = program.run(line);
            assert!(ran.status < 2 && ran.err.is_empty(), "{line}: {}", ran.err);
        }
    }
}

#[test]
fn torques_and_counts_that_nothing_has_are_refused() {
    let program = Program::demo();
    program.refuses(
        "part edit PP-S190 torque_rating=2540000.001",
        2,
        "error: `torque_rating`: `2540000.001` or its tolerance is beyond 2540000\n",
    );
    program.refuses(
        "job edit tight-slate torque=9000000000000",
        2,
        "error: `torque`: `9000000000000` is beyond 2540000 N m\n",
    );
    program.refuses(
        "part edit FW-S1000 ring_teeth=2540000001",
        2,
        "error: `ring_teeth`: `2540000001` or its tolerance is beyond 2540000000\n",
    );
}
