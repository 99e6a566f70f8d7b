//! The travel bar as text: at every width, in both alphabets and both units, wherever the fingers hold
//! the bearing.

use std::ffi::OsString;

use crate::program::{Program, golden};

/// Where the fingers hold the bearing: the command that shows it, and the reading that makes it so.
const STATES: &[(&str, &str, &str)] = &[
    ("in", "fit tight-slate --with block_plate=BP-S125", "2.905 in"),
    ("tight", "fit tight-slate", "2.905 in"),
    ("loose", "fit tight-slate", "2.600 in"),
    ("bottomed", "fit tight-slate", "3.050 in"),
    ("bottomed by far", "fit tight-slate", "5.000 in"),
    ("not reaching", "fit tight-slate", "2.000 in"),
    ("not reaching by far", "fit tight-slate", "1.000 in"),
    ("both", "fit short-slate", "2.905 in"),
];

/// A locale, and whether it has more than plain characters.
const LOCALES: &[(&str, bool)] = &[("C", false), ("en_US.UTF-8", true)];

fn run(program: &Program, line: &str, width: u16, locale: &'static str) -> String {
    let catalog = program.catalog().into_os_string();
    let var = move |name: &str| match name {
        "BELLSTACK_CATALOG" => Some(catalog.clone()),
        "LANG" => Some(OsString::from(locale)),
        _ => None,
    };
    let var: &'static _ = Box::leak(Box::new(var));
    let words: Vec<&str> = line.split(' ').collect();
    let ran = program.run_in(&words, |env| {
        env.width = Some(width);
        env.var = var;
    });
    assert!(ran.status <= 1 && ran.err.is_empty(), "`{line}`: {}", ran.err);
    ran.out
}

fn set_clutch_height(program: &Program, height: &str) {
    let ran = program.run(&format!("job edit tight-slate \"clutch_height={height}\""));
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
}

/// The lines of the bar in an answer: numbers, bar and names.
fn bar(answer: &str) -> Vec<&str> {
    let lines: Vec<&str> = answer.lines().collect();
    let first = lines.iter().position(|line| line.starts_with("preload ")).unwrap();
    let block = lines[first..].iter().take_while(|line| !line.is_empty());
    block.copied().collect()
}

/// Where a sign stands, from the left, in characters.
fn column(line: &str, signs: &[char]) -> Option<usize> {
    line.chars().position(|c| signs.contains(&c))
}

#[test]
fn the_bar_fits_every_width_in_both_alphabets_and_both_units() {
    let program = Program::demo();
    let mut all = String::new();
    for (state, line, height) in STATES {
        set_clutch_height(&program, height);
        for units in ["in", "mm"] {
            for (locale, rich) in LOCALES {
                for width in [40, 60, 80, 100] {
                    let answer = run(&program, &format!("{line} --units {units}"), width, locale);
                    let shown = bar(&answer);
                    all += &format!("{state}, {units}, {locale}, {width} columns\n");
                    for row in &shown {
                        let count = row.chars().count();
                        assert!(count <= usize::from(width), "{count} of {width}: {row}");
                        assert!(*rich || row.is_ascii(), "{row}");
                        all += &format!("{row}\n");
                    }
                    all += "\n";
                }
            }
        }
    }
    golden("travel-bars.txt", &all);
}

#[test]
fn the_mark_stands_to_scale_between_the_ends_and_beyond_them_where_the_bearing_is() {
    let program = Program::demo();
    // The bearing of this job travels 0.950 in, and the preload is the clutch's height less 2.070 in.
    for thou in (1_900..3_300).step_by(35) {
        set_clutch_height(&program, &format!("{}.{:03} in", thou / 1000, thou % 1000));
        for width in [40_u16, 61, 100] {
            let answer = run(&program, "fit tight-slate", width, "C");
            let shown = bar(&answer);
            let row = shown.iter().find(|line| line.trim_start().starts_with(['|', 'o', '<', '[']));
            let row = row.unwrap();
            let ends: Vec<usize> =
                row.chars().enumerate().filter(|(_, c)| *c == '|').map(|(at, _)| at).collect();
            let [out, bottomed] = ends[..] else { panic!("both ends are seen: {row}") };
            let mark = column(row, &['o', '<', '>']).unwrap();
            let (preload, travel) = (f64::from(thou - 2_070), 950.0);
            #[allow(clippy::cast_precision_loss, reason = "columns are few")]
            let [mark, out, bottomed] = [mark, out, bottomed].map(|at| at as f64);
            if preload < 0.0 {
                assert!(mark < out, "{thou}: {row}");
            } else if preload > travel {
                assert!(mark > bottomed, "{thou}: {row}");
            } else {
                let scaled = out + preload / travel * (bottomed - out);
                assert!((mark - scaled).abs() <= 1.0, "{thou}: {row}");
            }
        }
    }
}

#[test]
fn the_bar_stands_in_one_line_beside_each_cure_and_each_combination() {
    let program = Program::demo();
    let line = "recommend paper-slate --only flywheel=FW-S1000 --only pressure_plate=PP-S190 \
                --only bearing=BR-S95 --on-hand --top 2";
    for (line, least) in [("cure tight-slate --top 3", 4), (line, 2)] {
        for width in [40, 60, 80, 100] {
            for (locale, end) in [("C", '|'), ("de_DE.utf8", '\u{2503}')] {
                let answer = run(&program, line, width, locale);
                let bars: Vec<&str> = answer
                    .lines()
                    .filter(|row| row.contains(&format!("out {end}")) && row.contains("bottomed"))
                    .collect();
                assert_eq!(bars.len(), least, "{width}: {answer}");
                for row in bars {
                    assert!(row.chars().count() <= usize::from(width), "{row}");
                }
            }
        }
    }
}

#[test]
fn the_first_of_three_variables_says_which_signs_a_terminal_has() {
    let program = Program::demo();
    let said = |told: &'static [(&'static str, &'static str)]| {
        let catalog = program.catalog().into_os_string();
        let var = move |name: &str| {
            let told = told.iter().find(|(key, _)| *key == name);
            let told = told.map(|(_, value)| OsString::from(*value));
            told.or_else(|| (name == "BELLSTACK_CATALOG").then(|| catalog.clone()))
        };
        let var: &'static _ = Box::leak(Box::new(var));
        let ran = program.run_in(&["fit", "tight-slate"], |env| env.var = var);
        !ran.out.is_ascii()
    };
    assert!(!said(&[]));
    assert!(said(&[("LANG", "en_US.UTF-8")]));
    assert!(!said(&[("LANG", "en_US.UTF-8"), ("LC_ALL", "C")]));
    assert!(said(&[("LANG", "C"), ("LC_CTYPE", "de_DE.utf8"), ("LC_ALL", "")]));
    assert!(!said(&[("LANG", "de_DE.ISO-8859-1")]));
}
