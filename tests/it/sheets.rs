//! Sheets as shops have them: what is taken, what is asked about, what is refused. The sheets are in
//! `tests/data/sheets`.

use std::path::{Path, PathBuf};

use bellstack::catalog::Catalog;
use bellstack::catalog::csv::{Imported, Options, Source, import};
use bellstack::error::Error;
use bellstack::model::agreed::{Agreed, AskedTopic};
use bellstack::model::money::Cents;
use bellstack::model::part::Part;

use crate::program::Program;
use crate::support::{TestDir, stamp};

fn sheet(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/sheets").join(name)
}

fn agreed(words: &[&str]) -> Agreed {
    Agreed::read(&words.iter().map(ToString::to_string).collect::<Vec<_>>()).unwrap()
}

fn take(catalog: &mut Catalog, name: &str, options: &Options<'_>) -> Result<Imported, Error> {
    import(catalog, &stamp(), &[Source::read(&sheet(name)).unwrap()], options)
}

fn part(catalog: &Catalog, id: &str) -> Part {
    catalog.load_part(id).unwrap()
}

fn entry(catalog: &Catalog, id: &str, key: &str) -> Option<(i64, Option<i64>)> {
    part(catalog, id).entry(key).map(|entry| (entry.value, entry.tol))
}

/// The import without consent is refused and leaves nothing; with it the sheet is taken.
fn after_agreeing(
    name: &str,
    topics: &[AskedTopic],
    words: &[&str],
) -> (TestDir, Catalog, Imported) {
    let bench = TestDir::new();
    let mut catalog = bench.catalog();
    let error = take(&mut catalog, name, &Options::default()).unwrap_err();
    assert!(error.to_string().contains("nothing was stored"), "{error}");
    assert!(catalog.load_library().unwrap().parts.is_empty());
    let dry = Options { dry_run: true, ..Options::default() };
    let would = take(&mut catalog, name, &dry).unwrap();
    let mut asked: Vec<AskedTopic> =
        would.questions.iter().map(|question| question.topic).collect();
    asked.sort_unstable();
    assert_eq!(asked, topics, "{:?}", would.questions);
    let options = Options { agreed: agreed(words), ..Options::default() };
    let told = take(&mut catalog, name, &options).unwrap();
    assert_eq!(told.questions, []);
    (bench, catalog, told)
}

#[test]
fn titles_totals_and_footnotes_are_passed_over_with_consent_and_told() {
    let (_bench, catalog, told) =
        after_agreeing("01-titles-and-totals.csv", &[AskedTopic::Rows; 4], &["rows"]);
    assert_eq!((told.parts.added, told.notes.len()), (3, 4), "{:?}", told.notes);
    assert!(told.notes[2].contains("line 9: `Total | 3` looks like a row of totals"), "{told:?}");
    assert_eq!(entry(&catalog, "FW-103", "thickness"), Some((22_860_000, None)));
    let error = {
        let bench = TestDir::new();
        take(&mut bench.catalog(), "01-titles-and-totals.csv", &Options::default()).unwrap_err()
    };
    let text = error.to_string();
    assert!(text.starts_with("nothing was stored: 4 doubtful rows"), "{text}");
    assert!(text.contains("line 1: `Stock of flywheels` stands above the headings"), "{text}");
    assert!(text.contains("`--agree rows` passes over what is no row of the list"), "{text}");
}

#[test]
fn a_shops_own_headings_and_kinds_are_read_by_a_file_of_headings() {
    let program = Program::new();
    let (sheet_, toml) = (sheet("02-own-headings.csv"), sheet("02-own-headings.toml"));
    let ran = program.run_args(&["import", &sheet_.display().to_string()]);
    assert_eq!(ran.status, 2);
    assert!(ran.err.contains("asks what the headings mean"), "{}", ran.err);
    let (sheet_, toml) = (sheet_.display().to_string(), toml.display().to_string());
    let ran = program.run_args(&["import", &sheet_, "--headings", &toml]);
    assert_eq!(ran.status, 0, "{}", ran.err);
    let shown = program.answer("part show WH-8");
    assert!(shown.contains("0.875 in") && shown.contains("flywheel"), "{shown}");
    assert!(program.answer("part show DS-1").contains("0.330 in"));
    assert_eq!(program.answer("headings list"), "No headings are kept: `import` learns them.\n");
}

#[test]
fn headings_are_asked_once_at_a_terminal_and_known_again_by_their_set() {
    let program = Program::new();
    let first = sheet("02-own-headings.csv").display().to_string();
    let answers = [
        "parts",
        "1",
        "kind",
        "1",
        "no such",
        "1",
        "1",
        "1",
        "-", // the headings
        "flywheel",
        "spoon",
        "disc",       // the kinds
        "wheel list", // the name
        "yes",
    ];
    let lines = answers.iter().flat_map(|answer| [*answer, "\n"]).collect::<String>();
    let ran = program.run_in(&["import", &first], |env| {
        env.input = Some(Box::leak(Box::new(std::io::Cursor::new(lines.into_bytes()))));
        env.input_is_terminal = true;
    });
    assert_eq!(ran.status, 0, "{}", ran.err);
    assert!(ran.err.contains("`Thk (in)`: .850 | 7/8 | 0.330"), "{}", ran.err);
    assert!(ran.err.contains("1 thickness_in, "), "{}", ran.err);
    assert!(ran.err.contains("`no such` is no column that is known"), "{}", ran.err);
    assert!(ran.out.contains("The headings are kept as wheel list."), "{}", ran.out);
    let again = program.file(
        "later.csv",
        "THK (IN),part no.,type,bin,qty,mfr,list price\n.900,WH-9,rings & wheels,B1,1,,\n",
    );
    let ran = program.run_args(&["import", &again]);
    assert_eq!(ran.status, 0, "{}", ran.err);
    assert!(ran.err.contains("read by the headings `wheel list`"), "{}", ran.err);
    assert!(program.answer("part show WH-9").contains("0.900 in"));
    assert_eq!(program.answer("headings list"), "wheel list: 7 headings of parts\n");
    let shown = program.answer("headings show \"wheel list\"");
    assert!(shown.contains("\"thk_(in)\" = \"thickness_in\"\n"), "{shown}");
    let kept = program.file("kept.toml", &shown);
    let other = program.file("other.csv", "Part No.,Type,Thk (in)\nWH-10,Rings & wheels,.9\n");
    let ran = program.run_args(&["import", &other, "--headings", &kept]);
    assert_eq!(ran.status, 0, "{}", ran.err);
    assert_eq!(program.run_args(&["import", &other]).status, 2);
    assert_eq!(program.run_args(&["import", &other, "--headings", "wheel list"]).status, 0);
    assert!(program.answer("history").contains("wheel list"));
    assert_eq!(program.answer("headings remove 'wheel list'"), "removed the headings wheel list\n");
    program.refuses(
        "headings show wheels",
        2,
        "error: no headings are kept as `wheels`\n  hint: `headings list` lists those that are\n",
    );
    let looked = program.run("check");
    assert!(looked.status <= 1 && looked.err.is_empty(), "the seals hold: {}", looked.err);
}

#[test]
fn whoever_leaves_the_questions_has_stored_nothing() {
    let program = Program::new();
    let first = sheet("02-own-headings.csv").display().to_string();
    let ran = program.run_in(&["import", &first], |env| {
        env.input = Some(Box::leak(Box::new(std::io::Cursor::new(b"1\n".to_vec()))));
        env.input_is_terminal = true;
    });
    assert_eq!(ran.status, 2);
    assert!(ran.err.contains("nothing was stored"), "{}", ran.err);
    assert!(!program.catalog().exists());
}

#[test]
fn money_and_counts_are_read_as_people_type_them() {
    let bench = TestDir::new();
    let mut catalog = bench.catalog();
    take(&mut catalog, "03-money-and-counts.csv", &Options::default()).unwrap();
    let held = |id: &str| (part(&catalog, id).price.map(Cents::get), part(&catalog, id).on_hand);
    assert_eq!(held("DC-1"), (Some(124_900), 2));
    assert_eq!(held("DC-2"), (Some(8_890), 1));
    assert_eq!(held("DC-3"), (Some(125_000), 3));
    assert_eq!(held("DC-4"), (None, 1200));
}

#[test]
fn an_old_encoding_and_a_decimal_comma_are_found_out_and_told() {
    let bench = TestDir::new();
    let mut catalog = bench.catalog();
    let told = take(&mut catalog, "04-decimal-comma-1252.txt", &Options::default()).unwrap();
    assert!(told.notes[0].ends_with("its letters were read as windows-1252"), "{told:?}");
    assert!(told.notes[1].ends_with("its decimal mark is a comma"), "{told:?}");
    let first = part(&catalog, "DK-1");
    assert_eq!(first.maker, "M\u{fc}ller & S\u{f6}hne (erfunden)");
    assert_eq!(first.price.map(Cents::get), Some(124_900));
    assert_eq!(entry(&catalog, "DK-1", "thickness"), Some((8_380_000, None)));
}

#[test]
fn wide_letters_tabs_and_a_told_separator_are_read() {
    let bench = TestDir::new();
    let mut catalog = bench.catalog();
    let told = take(&mut catalog, "05-utf-16-tabs.csv", &Options::default()).unwrap();
    assert_eq!((told.parts.added, told.notes), (2, vec![]));
    assert_eq!(part(&catalog, "BR-1").notes, "\u{201c}our own\u{201d}");
    assert_eq!(entry(&catalog, "BR-2", "extended_height"), Some((58_470_800, None)));
    take(&mut catalog, "06-separator-told.csv", &Options::default()).unwrap();
    assert_eq!(entry(&catalog, "BS-2", "thickness"), Some((250_000, None)));
    assert_eq!(part(&catalog, "BS-1").price.map(Cents::get), Some(420));
}

#[test]
fn words_for_a_blank_are_blanks_once_that_is_agreed() {
    let (_bench, catalog, _) =
        after_agreeing("07-words-for-blanks.csv", &[AskedTopic::Blanks; 6], &["blanks"]);
    let first = part(&catalog, "FN-1");
    assert_eq!((first.price, first.notes.as_str()), (None, "-"));
    assert_eq!(entry(&catalog, "FN-1", "min_thickness"), None);
    assert!(part(&catalog, "FN-2").faces.iter().all(bellstack::model::faces::Names::is_unknown));
    assert_eq!(part(&catalog, "FN-2").notes, "call us first");
    assert_eq!(entry(&catalog, "FN-3", "thickness"), None);
}

#[test]
fn a_date_among_lengths_is_refused_with_the_fraction_that_it_was() {
    let bench = TestDir::new();
    let mut catalog = bench.catalog();
    let options = Options { agreed: agreed(&["all"]), ..Options::default() };
    let text = take(&mut catalog, "08-dates-for-fractions.csv", &options).unwrap_err().to_string();
    assert!(text.starts_with("nothing was stored: 3 bad rows"), "{text}");
    for (line, fraction) in [(2, "1/4"), (3, "3/8"), (5, "1/16")] {
        let row = text.lines().find(|row| row.contains(&format!("line {line} "))).unwrap();
        assert!(row.contains(&format!("was it {fraction}?")), "{row}");
    }
}

#[test]
fn a_tolerance_in_the_cell_of_its_length_is_its_tolerance() {
    let bench = TestDir::new();
    let mut catalog = bench.catalog();
    take(&mut catalog, "09-tolerances-in-cells.csv", &Options::default()).unwrap();
    assert_eq!(entry(&catalog, "FT-1", "thickness"), Some((21_590_000, Some(50_800))));
    assert_eq!(entry(&catalog, "FT-2", "thickness"), Some((22_987_000, Some(76_200))));
    assert_eq!(entry(&catalog, "FT-3", "thickness"), Some((22_860_000, Some(50_000))));
    assert_eq!(entry(&catalog, "FT-4", "thickness"), Some((22_352_000, Some(25_400))));
    assert_eq!(entry(&catalog, "EN-T", "crank_protrusion"), Some((-508_000, Some(25_400))));
}

#[test]
fn two_patterns_in_one_cell_are_one_name_or_are_taken_apart() {
    let name = "10-patterns-in-one-cell.csv";
    let faces = |catalog: &Catalog| {
        ["FP-1", "FP-2", "FP-3"].map(|id| part(catalog, id).faces[0].to_string())
    };
    let (_bench, catalog, _) = after_agreeing(name, &[AskedTopic::Faces; 2], &["faces"]);
    assert_eq!(faces(&catalog), ["six, eight", "six/eight", "eight|six"]);
    let (_bench, catalog, _) = after_agreeing(name, &[AskedTopic::Faces; 2], &["split-faces"]);
    assert_eq!(faces(&catalog), ["eight|six"; 3]);
}

#[test]
fn a_list_of_prices_changes_known_parts_alone_and_asks_about_jumps() {
    let bench = TestDir::new();
    let mut catalog = bench.catalog();
    let options = Options { agreed: agreed(&["rows"]), ..Options::default() };
    take(&mut catalog, "01-titles-and-totals.csv", &options).unwrap();
    let before = part(&catalog, "FW-101");
    let name = "11-price-list.csv";
    let prices = Options { prices: true, replace: true, ..options.clone() };
    let text = take(&mut catalog, name, &prices).unwrap_err().to_string();
    assert!(text.contains("the price goes from 335.50 to 535.50, by +60 %"), "{text}");
    assert!(text.contains("`call` is no value"), "{text}");
    assert!(!text.contains("325.00"), "less than a quarter is not asked about: {text}");
    let dry = Options { dry_run: true, ..prices.clone() };
    let would = take(&mut catalog, name, &dry).unwrap();
    assert_eq!(
        would.becomes.iter().map(bellstack::model::history::Becomes::blanked).sum::<usize>(),
        1
    );
    let all = Options { agreed: agreed(&["all"]), ..prices };
    let told = take(&mut catalog, name, &all).unwrap();
    assert_eq!((told.parts.updated, told.parts.added, told.unpriced), (3, 0, 1));
    let after = part(&catalog, "FW-101");
    assert_eq!(after.price.map(Cents::get), Some(32_500));
    assert_eq!(Part { price: before.price, ..after }, before, "nothing else is changed");
    assert_eq!(part(&catalog, "FW-103").price, None);
}

#[test]
fn a_workbook_of_several_worksheets_is_several_tables() {
    let (_bench, catalog, told) =
        after_agreeing("12-workbook.xlsx", &[AskedTopic::Rows; 3], &["rows"]);
    assert_eq!(told.files.len(), 2, "{:?}", told.files);
    assert!(told.files[0].name.ends_with("12-workbook.xlsx worksheet `Flywheels`"), "{told:?}");
    assert_eq!((told.parts.added, told.jobs.added), (2, 1));
    assert_eq!(entry(&catalog, "FX-1", "thickness"), Some((18_097_500, None)));
    assert_eq!(entry(&catalog, "FX-2", "thickness"), Some((22_860_000, None)));
    assert_eq!(part(&catalog, "FX-1").price.map(Cents::get), Some(12_950));
    assert!(catalog.load_part("OLD-1").is_err(), "a hidden worksheet is passed over");
    assert_eq!(catalog.load_jobs().unwrap()[0].id, "car one");
}

#[test]
fn good_rows_are_taken_and_the_others_written_to_be_put_right() {
    let program = Program::new();
    let text = "id,thickness,price\nA,0.850 in,10\nB,0.9,11\nC,0.905 in,call\n";
    let file = program.file("flywheels.csv", text);
    let others = program.dir().join("others");
    let others = others.display().to_string();
    let ran = program.run_args(&["import", &file, "--good-rows", &others]);
    assert_eq!(ran.status, 0, "{}", ran.err);
    assert!(ran.out.contains("parts: 1 added"), "{}", ran.out);
    assert!(ran.out.contains("not taken: 2 rows, in "), "{}", ran.out);
    let path = format!("{others}/flywheels.csv");
    let written = std::fs::read_to_string(&path).unwrap();
    assert!(written.starts_with("id,thickness,price,problem\nB,0.9,11,"), "{written}");
    assert!(written.contains("\nC,0.905 in,call,"), "as it was typed: {written}");
    let again = program.run_args(&["import", &file, "--good-rows", &others]);
    assert_eq!(again.status, 2);
    assert!(again.err.contains("is there already"), "{}", again.err);
    // Put right, it is imported with the reasons still in it.
    let right = written.replace("B,0.9,", "B,0.9 in,").replace("call", "");
    std::fs::write(&path, right).unwrap();
    assert!(program.answer(&format!("import {path}")).contains("parts: 2 added"));
}

#[test]
fn what_rests_on_a_row_that_is_left_out_is_left_out_too() {
    let program = Program::new();
    let parts = program.file("flywheels.csv", "id,thickness\nA,0.850 in\nB,0.9\n");
    let jobs = program.file("jobs.csv", "job,flywheel\none,A\ntwo,B\n");
    let others = program.dir().join("others").display().to_string();
    let ran = program.run_args(&["import", &parts, &jobs, "--good-rows", &others]);
    assert_eq!(ran.status, 0, "{}", ran.err);
    assert!(ran.out.contains("parts: 1 added") && ran.out.contains("jobs: 1 added"), "{}", ran.out);
    let left = std::fs::read_to_string(format!("{others}/jobs.csv")).unwrap();
    assert!(left.contains("two,B,") && left.contains("there is no flywheel `B`"), "{left}");
    let header = program.file("disc.csv", "id,thicknes\nA,0.3 in\n");
    let ran = program.run_args(&["import", &header, "--good-rows", &others]);
    assert_eq!(ran.status, 2, "a column that nobody knows is no bad row");
}

#[test]
fn a_dry_run_says_field_by_field_what_becomes_what_and_what_is_blanked_first() {
    let program = Program::new();
    let first = program
        .file("flywheels.csv", "id,thickness,price,notes\nA,0.850 in,10,old\nB,0.900 in,12,\n");
    program.answer(&format!("import {first}"));
    let second = program.file(
        "later.csv",
        "id,kind,thickness,price,notes\nB,flywheel,0.910 in,12,\nA,flywheel,0.850 in,,new\n\
         C,flywheel,0.800 in,,\n",
    );
    let told = program.answer(&format!("import {second} --dry-run"));
    let shown = "Blanked: 1 value of what is in the catalog, in 1 of them.\n\
                 Changed:\n  part A\n    price: 10.00 -> blank\n    notes: old -> new\n  part B\n    \
                 thickness: 0.900 in -> 0.910 in\nNew:\n  flywheel C: on_hand 0, status in use, \
                 thickness 0.800 in\nNothing was stored: that was a dry run.\n";
    assert!(told.ends_with(shown), "{told}");
    assert!(program.answer("part show A").contains("10.00"));
    let ran = program.run_in(&["import", &second], |env| {
        env.input = Some(Box::leak(Box::new(std::io::Cursor::new(b"no\n".to_vec()))));
        env.input_is_terminal = true;
    });
    assert_eq!(ran.status, 2);
    assert!(ran.err.contains("price: 10.00 -> blank"), "{}", ran.err);
    assert!(ran.err.contains("Store this, yes or no?"), "{}", ran.err);
    assert!(program.answer("part show A").contains("10.00"));
}

#[test]
fn standard_input_is_a_sheet_like_any_other() {
    let program = Program::new();
    let bytes = std::fs::read(sheet("06-separator-told.csv")).unwrap();
    let ran = program.run_in(&["import", "-"], |env| {
        env.input = Some(Box::leak(Box::new(std::io::Cursor::new(bytes))));
    });
    assert_eq!(ran.status, 0, "{}", ran.err);
    assert!(ran.out.starts_with("standard input: 2 rows\n"), "{}", ran.out);
    let ran = program.run_in(&["import", "-"], |env| {
        let bytes = b"PK\x03\x04 no workbook".to_vec();
        env.input = Some(Box::leak(Box::new(std::io::Cursor::new(bytes))));
    });
    assert_eq!(ran.status, 2);
    assert!(ran.err.contains("the workbook cannot be read"), "{}", ran.err);
}

#[test]
fn a_number_or_a_pattern_typed_in_another_way_is_asked_about_and_listed_by_check() {
    let program = Program::new();
    let first =
        program.file("a.csv", "id,kind,crank_pattern\nHW-1,flywheel,six-a\n123,flywheel,\n");
    program.answer(&format!("import {first}"));
    let text = "id,kind,crank_pattern\nHW 1,flywheel,\n00123,flywheel,\nHW-2,flywheel,SIX A\n";
    let second = program.file("b.csv", text);
    let ran = program.run_args(&["import", &second]);
    assert_eq!(ran.status, 2);
    for found in [
        "`HW 1` is new, and there is `HW-1`: is it another part?",
        "`00123` is new, and there is `123`",
        "`SIX A` fits no `six-a`, which others have; `--agree faces`",
        "3 doubtful rows",
    ] {
        assert!(ran.err.contains(found), "{found}: {}", ran.err);
    }
    assert_eq!(program.run_args(&["import", &second, "--agree", "ids,faces"]).status, 0);
    assert_eq!(
        program.run_args(&["import", &second]).status,
        0,
        "what is known is not asked again"
    );
    let ran = program.run("check --all");
    assert!(ran.out.contains("Numbers that differ only by how they are typed (4)"), "{}", ran.out);
    assert!(ran.out.contains("A pattern that no other part has (2)"), "{}", ran.out);
    let ran = program.run("check --format csv");
    assert!(ran.out.contains("no other part has `SIX A`; others have `six-a`"), "{}", ran.out);
}
