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
    keep(&Program::new(), "demo.txt", "demo", 0);
}

#[test]
fn fit_shows_every_term() {
    let program = Program::demo();
    keep(&program, "fit-tight.txt", "fit tight-slate", 1);
    keep(&program, "fit-worn.txt", "fit worn-slate", 0);
    keep(&program, "fit-unsure-mm.txt", "fit unsure-amber --units mm", 0);
    keep(&program, "fit-with-mm.txt", "fit loose-amber --units mm --with disc=DS-A79", 0);
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
