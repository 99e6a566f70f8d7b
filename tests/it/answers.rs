//! The answers in full, compared with the ones kept in `tests/data`.

use crate::program::{Program, golden};

fn keep(program: &Program, name: &str, line: &str, status: u8) {
    let ran = program.run(line);
    assert_eq!((ran.status, ran.err.as_str()), (status, ""), "`bellstack {line}`");
    golden(name, &ran.out);
    for row in ran.out.lines().filter(|_| !line.contains("json") && !line.contains("csv")) {
        assert!(row.chars().count() <= 100, "too wide: {row}");
        assert!(!row.contains('\u{1b}'), "no colour: {row}");
    }
}

#[test]
fn the_demo() {
    // Without a catalog named by anybody, in a file that goes again.
    let ran = Program::new().run_in(&["demo"], |env| env.var = &|_| None);
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    golden("demo.txt", &ran.out);
    assert!(ran.out.lines().all(|row| row.chars().count() <= 100), "{}", ran.out);
}

#[test]
fn fit_shows_every_term() {
    let program = Program::demo();
    keep(&program, "fit-tight.txt", "fit tight-slate", 1);
    keep(&program, "fit-worn.txt", "fit worn-slate", 0);
    keep(&program, "fit-unsure-mm.txt", "fit unsure-amber --units mm", 0);
    keep(&program, "fit-with-mm.txt", "fit loose-amber --units mm --with disc=DS-A79", 0);
    keep(&program, "fit-measure.txt", "fit tight-slate --with flywheel=FW-S0900 --measure", 0);
    keep(&program, "fit-tight.json", "fit tight-slate --format json", 1);
    keep(&program, "fit-tight.csv", "fit tight-slate --format csv", 1);
}

#[test]
fn recommend_ranks_the_combinations() {
    let program = Program::demo();
    let line = "recommend paper-slate --on-hand";
    keep(&program, "recommend.txt", &format!("{line} --top 4"), 0);
    keep(&program, "recommend-mm.txt", &format!("{line} --top 4 --units mm"), 0);
    keep(&program, "recommend.json", &format!("{line} --top 2 --format json"), 0);
    keep(&program, "recommend.csv", &format!("{line} --top 4 --format csv"), 0);
    let line = "recommend paper-slate --only flywheel=FW-S1125 --only pressure_plate=PP-S200 \
                --only bearing=BR-S95 --without bearing_shims --without block_plate \
                --without bell_spacer --without gearbox_spacer";
    keep(&program, "recommend-none.txt", line, 1);
    keep(&program, "recommend-none.json", &format!("{line} --format json"), 1);
}

#[test]
fn cure_names_the_smallest_changes() {
    let program = Program::demo();
    keep(&program, "cure-tight.txt", "cure tight-slate", 0);
    keep(&program, "cure-loose-mm.txt", "cure loose-amber --units mm", 0);
    keep(&program, "cure-short.txt", "cure short-slate", 0);
    keep(&program, "cure-tight.json", "cure tight-slate --top 2 --format json", 0);
    keep(&program, "cure-tight.csv", "cure tight-slate loose-amber --format csv", 0);
    let none = "cure short-slate --keep bearing";
    keep(&program, "cure-none.txt", none, 1);
}

#[test]
fn check_looks_through_everything() {
    let program = Program::demo();
    keep(&program, "check.txt", "check --top 3", 1);
    keep(&program, "check.json", "check --format json", 1);
    let mm = program.run("check --all --units mm");
    assert_eq!((mm.status, mm.err.as_str()), (1, ""));
    assert!(mm.out.contains("  1.70 mm apart: ") && !mm.out.contains("more: "), "{}", mm.out);
}

#[test]
fn a_desks_day_is_one_table() {
    let program = Program::demo();
    let ran = program.run("cure --all");
    assert_eq!(ran.status, 0);
    golden("cure-all.txt", &ran.out);
    let skipped = "skipped: job `paper-slate`: nothing fitted in `flywheel`, `disc`";
    assert!(ran.err.contains(skipped) && !ran.err.contains("error"), "{}", ran.err);
    assert!(ran.err.contains("\n3 of 8 jobs were skipped: "), "{}", ran.err);
}

#[test]
fn units_change_only_what_people_read() {
    let program = Program::demo();
    for line in [
        "recommend paper-amber --on-hand --format json",
        "fit unsure-amber --format json",
        "cure tight-slate --format json",
    ] {
        let (inches, millimetres) = (program.run(line), program.run(&format!("{line} --units mm")));
        assert_eq!(inches, millimetres, "{line}");
    }
}

#[test]
fn the_printed_sum_adds_up_to_the_last_digit() {
    let program = Program::demo();
    for job in ["tight-slate", "worn-slate", "loose-amber", "unsure-amber", "short-slate"] {
        for units in ["in", "mm"] {
            let text = program.run(&format!("fit {job} --units {units}")).out;
            assert_columns_add_up(&text);
        }
    }
}

/// Adds the last two columns of the sum's table, row by row.
fn assert_columns_add_up(text: &str) {
    let lines: Vec<&str> = text.lines().collect();
    let head = lines.iter().position(|line| line.starts_with("term ")).unwrap();
    let end = lines.iter().position(|line| line.starts_with("sum ")).unwrap();
    // Columns end where the rule under the header has its gaps.
    let rule = lines[head..end].iter().find(|line| line.starts_with("---")).unwrap();
    let starts: Vec<usize> = rule.match_indices(" -").map(|(index, _)| index + 1).collect();
    for column in [starts.len() - 2, starts.len() - 1] {
        let from = starts[column];
        let to = starts.get(column + 1).copied();
        let cell = |line: &str| -> i64 {
            let cell = line.get(from..to.unwrap_or(line.len()).min(line.len())).unwrap_or("");
            let digits: String = cell.chars().filter(|c| !" .+".contains(*c)).collect();
            if digits.is_empty() { 0 } else { digits.parse().unwrap() }
        };
        let body = lines[head + 3..end].iter().map(|line| cell(line)).sum::<i64>();
        assert_eq!(body, cell(lines[end]), "{text}");
    }
}

#[test]
fn json_terms_sum_to_the_preload_exactly() {
    let program = Program::demo();
    for job in ["tight-slate", "worn-slate", "loose-amber", "unsure-amber", "short-slate"] {
        let fit = program.json(&format!("fit {job} --format json"));
        let sum = |key: &str| -> i64 {
            let terms = fit["terms"].as_array().unwrap();
            terms.iter().map(|term| term[key]["nm"].as_i64().unwrap()).sum()
        };
        assert_eq!(sum("adds"), fit["preload"]["nm"].as_i64().unwrap(), "{job}");
        assert_eq!(sum("adds_to_reserve"), fit["reserve"]["nm"].as_i64().unwrap(), "{job}");
    }
}

#[test]
fn what_fails_a_check_is_not_the_change_that_puts_it_right() {
    let program = Program::demo();
    let line = "cure tight-slate --show-failed --order room --top";
    let text = program.run(&format!("{line} 4")).out;
    let first = text.lines().find(|line| line.starts_with("1 ")).unwrap();
    assert!(first.contains("fails hydraulics"), "{text}");
    assert!(text.contains("puts it right: block_plate: none -> BP-S125 (sure"), "{text}");
    let text = program.run(&format!("{line} 1")).out;
    let none = "No change puts it right: each of those below fails a check.";
    assert!(text.contains(none) && !text.contains("The smallest change"), "{text}");
}

#[test]
fn a_cure_says_first_what_is_to_be_measured_first() {
    let ran = Program::demo().run("cure unsure-amber");
    assert_eq!(ran.status, 1, "{}", ran.err);
    let text = ran.out;
    let line = |part: &str| text.lines().position(|line| line.starts_with(part)).unwrap();
    assert!(text.contains("disagree (finger tips by 0.067 in)"), "{text}");
    // Nothing that stands on two ways that cannot both be right is offered as better.
    assert!(line("Nothing better was found") < line("Two ways"), "{text}");
    assert!(line("Two ways") < line("Before any change: measure the job's finger_depth again"));
    assert!(line("Before any change: ") < line("Job unsure-amber"), "{text}");
}

#[test]
fn a_worn_disc_explains_fingers_that_stand_high_and_none_that_stand_low() {
    let program = Program::demo();
    let worn = "a worn disc, 0.020 in of wear over";
    let text = program.answer("fit unsure-amber");
    assert!(text.split_whitespace().collect::<Vec<_>>().join(" ").contains(worn), "{text}");
    // All the wear that there is, 1.00 mm, lifts the fingers by 3.40 mm, and 0.25 mm may be a slip.
    for (depth, named) in [("75.60 mm", true), ("75.70 mm", false), ("70.30 mm", false)] {
        program.answer(&format!("job edit unsure-amber finger_depth='{depth}'"));
        let text = program.run("fit unsure-amber").out;
        assert!(text.contains("they cannot both be right"), "{text}");
        assert_eq!(text.contains("a worn disc, "), named, "{depth}\n{text}");
    }
}

#[test]
fn fit_says_which_readings_it_leaves_aside() {
    let program = Program::demo();
    let with = "fit tight-slate --with flywheel=FW-S0900 --with pressure_plate=PP-S178";
    let text = program.run(&format!("{with} --with disc=DS-S345")).out;
    let unused = "The job's clutch_height is not used: every part it holds was replaced.";
    assert!(text.contains(unused), "{text}");
    assert!(text.contains("finger tips: measured crank protrusion, catalogued clutch"), "{text}");
    assert!(!text.contains("cover_step"), "what is zero and exact is no term: {text}");
    let kept = program.run(with).out;
    assert!(!kept.contains("is not used"), "the disc stays: {kept}");
}

#[test]
fn a_build_on_paper_moves_no_gearbox() {
    let program = Program::demo();
    let parts = "--with flywheel=FW-S1000 --with disc=DS-S330 --with pressure_plate=PP-S190 \
                 --with bearing=BR-S95";
    let text = program.run(&format!("fit paper-slate {parts} --with block_plate=BP-S060")).out;
    let back = "stands 0.060 in further back than without plates";
    assert!(text.replace("\n  ", " ").contains(back), "{text}");
    let text = program.run(&format!("fit tight-slate {parts} --with block_plate=BP-S060")).out;
    assert!(text.replace("\n  ", " ").contains("the gearbox moves 0.060 in to the rear"), "{text}");
}

#[test]
fn a_cure_says_beneath_its_best_change_what_is_not_known_to_bolt_together() {
    let program = Program::demo();
    program.answer(
        "job add three finger_depth='2.945 in' bearing_depth_extended='2.110 in' \
         bearing_depth_retracted='3.060 in' fitted_disc_state=new",
    );
    let ran = program.run("cure three --top 1");
    let lines: Vec<&str> = ran.out.lines().collect();
    assert!(
        lines[1].starts_with("The smallest change that puts it right: gearbox_spacer"),
        "{lines:?}"
    );
    assert!(lines[2].starts_with("Nothing is known to bolt together: none of its 8 "), "{lines:?}");
    let verified = program.answer("cure tight-slate --top 1");
    assert!(
        !verified.contains("bolt together") && !verified.contains("not verified"),
        "{verified}"
    );
}
