//! A car entered at the terminal, one question after another, and pieces measured likewise.

use crate::program::Program;

/// The readings of the demo's car that is too tight: finger depth, and the bearing's two depths.
const READINGS: [&str; 3] = ["3.195 over 1/4", "2.110", "3.060"];

#[test]
fn three_readings_lead_to_a_verdict_without_one_part_number() {
    let program = Program::new();
    let [finger, extended, retracted] = READINGS;
    let ran = program.asked(
        "job new my-car",
        &["a grey saloon", "in", "none", finger, "new", extended, retracted, "front", "0.550", ""],
    );
    assert!(ran.err.contains("a new catalog was made: "), "{}", ran.err);
    for told in [
        "Question 1 of 7. Is there a plate between block and bell housing?",
        "Question 2 of 7. Finger depth",
        "Still to be read for a verdict: bearing depth extended, bearing depth retracted.",
        "So far: Preload 0.835 in: ",
        "So far: ",
        "Question 7 of 7. What does the clutch ask for?",
    ] {
        assert!(ran.err.contains(told), "{told}\n{}", ran.err);
    }
    let fit = program.run("fit my-car");
    assert_eq!((ran.out, ran.status), (fit.out, fit.status), "the verdict is that of `fit`");
    let shown = program.answer("job show my-car");
    for line in [
        "job my-car: a grey saloon",
        "finger_depth                2.945 in (3.195 less the bar's 0.250)",
        "fitted_disc_state           new",
        "crank_pushed                front",
        "preload_min                 0.550 in",
    ] {
        assert!(shown.lines().any(|found| found == line), "{line}\n{shown}");
    }
    // Each answer is a command of its own, and says what would do the same.
    let history = program.answer("history --job my-car");
    assert!(
        history.contains("job edit my-car 'finger_depth=3.195 in' 'finger_depth_bar=1/4 in'"),
        "{history}"
    );
    assert!(program.answer("undo").contains("preload_min: 0.550 in -> (blank)"));
}

#[test]
fn a_car_is_left_and_gone_on_with_and_words_lead_back_and_out() {
    let program = Program::new();
    let ran = program.asked("job new", &["my-car", "", "in", "none", "2.945", "quit"]);
    assert_eq!(ran.status, 0);
    assert_eq!(
        ran.out,
        "The job my-car is stored as far as it was told. `bellstack job new my-car` goes on with it.\n"
    );
    let ran = program.asked("job new my-car", &["in", "back", "back", "2.950", "", "", "done"]);
    assert!(ran.err.contains("There is a job `my-car`: it is gone on with."), "{}", ran.err);
    assert!(ran.err.contains("so far 2.945 in; a blank line leaves it"), "{}", ran.err);
    assert!(
        ran.out.starts_with(
            "The job my-car is stored. Still to be read for a verdict: bearing depth extended, \
             bearing depth retracted."
        ),
        "{}",
        ran.out
    );
    assert!(program.answer("job show my-car").contains("finger_depth                2.950 in\n"));
    // The end of the input is as good as `quit`; before anything was answered nothing is stored.
    let ran = program.asked("job new my-car", &["", "2.110 in"]);
    assert!(ran.out.contains("`bellstack job new my-car` goes on"), "{}", ran.out);
    assert!(program.answer("job show my-car").contains("bearing_depth_extended      2.110 in\n"));
    let ran = program.asked("job new other", &[]);
    assert_eq!(ran.out, "Nothing was entered, so nothing was stored.\n");
    assert_eq!(program.run("job show other").status, 2);
}

#[test]
fn slips_are_questioned_as_they_come_and_units_are_set_once() {
    let program = Program::new();
    let ran = program.asked(
        "job new my-car",
        &[
            "", "", "none", "2.945", "mm", "2.945", "no", "74.803", "new", "53.594", "yes",
            "77.724", "", "", "",
        ],
    );
    assert!(ran.err.contains("`2.945` has no unit"), "nobody guesses one: {}", ran.err);
    assert!(ran.err.contains("Bare lengths are in millimetres"), "{}", ran.err);
    assert!(ran.err.contains("Keep it, yes or no? "), "{}", ran.err);
    assert!(program.answer("job show my-car").contains("finger_depth                2.945 in\n"));
    // What cannot be is told, and asked again.
    let ran = program.asked(
        "job new my-car",
        &["in", "back", "back", "back", "none-such", "none", "-3", "", "quit"],
    );
    assert!(ran.err.contains("there is no block_plate `none-such`"), "{}", ran.err);
}

#[test]
fn a_plate_is_named_or_is_another_one_and_readings_say_whether_they_were_over_it() {
    let program = Program::demo();
    let ran = program.asked(
        "job new my-car",
        &["", "in", "another", "1/16", "apart", "0.102 proud", "yes", "quit"],
    );
    assert_eq!(ran.status, 0, "{}", ran.err);
    assert!(ran.err.contains("BP-S060, 0.060 in, Invented dust plate"), "{}", ran.err);
    let shown = program.answer("job show my-car");
    for line in [
        "block_plate                 my-car plate",
        "crank_protrusion            0.102 in proud",
        "crank_protrusion_over_plate yes",
    ] {
        let words = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(shown.lines().any(|found| words(found) == words(line)), "{line}\n{shown}");
    }
    assert!(
        program
            .answer("part show 'my-car plate'")
            .contains("thickness                   0.0625 in")
    );
    program.asked("job new my-car", &["", "back", "back", "BP-S060", "quit"]);
    assert!(program.answer("job show my-car").contains("block_plate                 BP-S060\n"));
}

#[test]
fn a_piece_is_measured_with_words_back_and_out_and_a_unit_set_once() {
    let program = Program::demo();
    program.answer("piece add FW-S1000#A condition=used");
    let line = "measure FW-S1000#A --instrument caliper-0.02 --only thickness,cover_step";
    let ran = program.asked(line, &["1.001 1.002 in", "back", "mm", "25.43 25.44", "", ""]);
    assert!(ran.err.contains("Bare lengths are in millimetres"), "{}", ran.err);
    assert!(ran.out.starts_with("Stored 1 set of readings on FW-S1000#A"), "{}", ran.out);
    assert!(program.answer("reading list --units mm").contains("25.43  25.44"));
    let ran = program.asked(line, &["in", "1.251 over 1/4", "quit"]);
    assert_eq!(ran.out, "Nothing was read, so nothing was stored.\n");
    let ran = program.asked(line, &["1.0015", "in", "1.0015", "done"]);
    assert!(ran.out.starts_with("Stored 1 set"), "{}", ran.out);
}
