//! What was read over a bar, and to which side a signed length lies: told back, shown and kept.

use crate::program::Program;

/// The line of an answer that begins with this word.
fn line<'a>(answer: &'a str, word: &str) -> &'a str {
    answer.lines().find(|line| line.trim_start().starts_with(word)).unwrap_or_default()
}

#[test]
fn a_reading_over_a_bar_is_told_back_and_kept_as_it_was_read() {
    let program = Program::demo();
    program.check(
        "job edit tight-slate finger_depth='3.195 in' finger_depth_bar='0.250 in'",
        0,
        "changed the job tight-slate\n  finger_depth: 2.945 in (3.195 less the bar's 0.250)\n",
        "",
    );
    let shown = program.answer("job show tight-slate");
    assert_eq!(
        line(&shown, "finger_depth "),
        "finger_depth                2.945 in (3.195 less the bar's 0.250)"
    );
    let shown = program.answer("job show tight-slate --units mm");
    assert!(line(&shown, "finger_depth ").ends_with("74.803 mm (81.153 less the bar's 6.35)"));
    // A tolerance beside it leaves the bar, a new reading does not.
    program.answer("job edit tight-slate finger_depth_tol='0.004 in'");
    let shown = program.answer("job show tight-slate");
    assert!(line(&shown, "finger_depth ").contains("less the bar's 0.250) +- 0.004 in"), "{shown}");
    program.answer("job edit tight-slate finger_depth='2.945 in'");
    assert!(
        line(&program.answer("job show tight-slate"), "finger_depth ")
            .ends_with("2.945 in +- 0.004 in")
    );
}

#[test]
fn a_bar_under_a_part_and_under_a_piece_is_kept_too() {
    let program = Program::demo();
    let told =
        program.answer("part edit PP-S190 finger_height='2.400 in' finger_height_bar='1/2 in'");
    assert!(told.ends_with("  finger_height: 1.900 in (2.400 less the bar's 0.500)\n"), "{told}");
    let shown = program.answer("part show PP-S190");
    assert!(
        line(&shown, "finger_height").contains("1.900 in (2.400 less the bar's 0.500) +- "),
        "{shown}"
    );
    let told = program
        .answer("reading add FW-S1000#A thickness 1.251 1.252 in --bar '1/4 in' --condition new");
    assert!(told.ends_with("2 readings, less the bar's 0.250 in\n"), "{told}");
    let list = program.answer("reading list");
    assert!(list.contains("1.001  1.002  (bar 0.250)"), "{list}");
}

#[test]
fn an_exported_bar_imports_again_to_the_same_reading() {
    let program = Program::demo();
    program.answer(
        "job edit tight-slate crank_protrusion='0.270 in sunk' crank_protrusion_bar='0.250 in'",
    );
    program.answer("part edit PP-S190 finger_height='2.400 in' finger_height_bar='1/2 in'");
    program
        .answer("reading add FW-S1000#A thickness 1.251 1.252 in --bar '1/4 in' --condition new");
    let exported = ["jobs", "pressure_plate", "readings"]
        .map(|kind| (kind, program.answer(&format!("export --kind {kind}"))));
    for (kind, text) in &exported {
        assert!(text.lines().next().unwrap().contains("bar"), "{kind}: {text}");
    }
    assert!(exported[0].1.contains(",0.270 in recessed,"), "{}", exported[0].1);
    let other = Program::demo();
    for (kind, text) in &exported {
        let file = other.file(&format!("{kind}.csv"), text);
        other.answer(&format!("import --kind {kind} {file}"));
    }
    for (kind, text) in &exported {
        assert_eq!(&other.answer(&format!("export --kind {kind}")), text);
    }
    // The same file once more is no new reading.
    let file = other.file("readings.csv", &exported[2].1);
    assert!(
        other.answer(&format!("import {file}")).contains("0 added, 0 struck out, 1 there already")
    );
}

#[test]
fn a_side_under_a_bar_is_a_word_and_never_a_sign() {
    let program = Program::demo();
    let edit = |value: &str| {
        let pair = format!("crank_protrusion={value}");
        program.run_args(&["job", "edit", "tight-slate", &pair, "crank_protrusion_bar=0.250 in"])
    };
    assert!(
        edit("0.270 in recessed")
            .out
            .contains("crank_protrusion: 0.020 in recessed (0.270 less the bar's 0.250)")
    );
    assert!(edit("0.270 in").out.contains("crank_protrusion: 0.020 in proud (0.270 less"));
    let told = edit("0.230 in recessed");
    assert_eq!(told.status, 2);
    assert!(
        told.err.contains("that is 0.020 in proud, if it was read from a bridge"),
        "{}",
        told.err
    );
    let told = edit("-0.270 in");
    assert_eq!(told.status, 2);
    assert!(told.err.contains("has a sign, and was taken over a bar"), "{}", told.err);
    let told = edit("0.230 in");
    assert_eq!(told.status, 2);
    assert!(told.err.contains("write the side behind it"), "{}", told.err);
}

#[test]
fn a_signed_length_is_shown_with_its_word_everywhere() {
    let program = Program::demo();
    assert!(
        program
            .answer("job edit tight-slate crank_protrusion='-0.020 in'")
            .contains("crank_protrusion: 0.020 in recessed\n")
    );
    let shown = |line: &str, part: &str| {
        let answer = program.run(line).out;
        assert!(answer.contains(part), "{line}: {answer}");
    };
    shown("job show tight-slate", "crank_protrusion            0.020 in recessed +- 0.002 in");
    shown("fit tight-slate", "crank_protrusion (recessed)");
    shown("history --job tight-slate", "crank_protrusion: 0.040 in proud -> 0.020 in recessed");
    shown("part show ENG-S1", "crank_protrusion            0.040 in proud");
    shown("part show FW-S0900", "cover_step                  flat (blank)");
    shown("part show GB-C1", "seat_height                 ");
    assert!(program.run("answer keep tight-slate --fit --as then").err.is_empty());
    shown("answer show then", "crank_protrusion            0.020 in recessed");
    program.answer("reading add ENG-S1#A crank_protrusion -0.020 -0.021 in --condition used");
    shown("reading list", "0.0205 recessed");
}

#[test]
fn keys_and_templates_name_the_bars() {
    let program = Program::new();
    let keys = program.answer("job keys");
    assert!(line(&keys, "finger_depth ").contains("_tol _bar"), "{keys}");
    let kinds = program.answer("part keys");
    assert!(kinds.contains("pressure_plate") && kinds.contains("part keys KIND"), "{kinds}");
    let keys = program.answer("part keys pressure_plate");
    assert!(line(&keys, "finger_height ").contains("_tol _bar"), "{keys}");
    let ratio = line(&keys, "finger_ratio ");
    assert!(ratio.contains("_tol") && !ratio.contains("_bar"), "{ratio}");
    let template = program.answer("export --templates --kind jobs");
    assert!(template.contains(",finger_depth,finger_depth_tol,finger_depth_bar,"), "{template}");
    assert!(!template.contains("preload_min_bar"), "{template}");
}
