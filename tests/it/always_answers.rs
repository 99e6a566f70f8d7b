//! Whatever the readings, the lengths or the files are: the program answers, and in time.

use std::sync::mpsc;
use std::thread;
use std::time::Duration;

use crate::program::Program;

/// Far more than any of these answers takes on a busy machine, far less than for ever.
const PATIENCE: Duration = Duration::from_secs(60);

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
