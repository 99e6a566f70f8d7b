//! Readings: taken from files, by hand and one question after another; struck out, never deleted.

use std::fmt::Write as _;

use bellstack::catalog::Catalog;
use bellstack::catalog::csv::{Options, Tally};
use bellstack::model::pieces::ReadingSet;

use crate::program::{Program, Ran};
use crate::support::{TestDir, take, take_with};

const PARTS: &str = "id,kind,thickness,thickness_tol,finger_ratio,crank_protrusion\n\
                     F-1,flywheel,1.000 in,0.002 in,,\nP-1,pressure_plate,,,3.5,\n\
                     E-1,engine,,,,0.020 in recessed\n";

fn shop() -> (TestDir, Catalog) {
    TestDir::holding(&[("parts.csv", PARTS)])
}

fn program() -> Program {
    Program::holding("parts.csv", PARTS)
}

fn readings(catalog: &Catalog) -> Vec<ReadingSet> {
    catalog.load_library().unwrap().measured.readings
}

fn thou(values: &[i64]) -> Vec<i64> {
    values.iter().map(|value| value * 25_400).collect()
}

#[test]
fn a_file_of_readings_makes_the_pieces_whose_condition_it_tells() {
    let (_bench, mut catalog) = shop();
    let file = "part,piece,condition,dimension,value,value_mm,bar,instrument,by,date,struck\n\
                F-1,A,new,thickness,\"1.001, 1.002 in\",,,caliper-0.02,J,2026-02-28,\n\
                F-1,A,,thickness,,37.9 38.1,1/2 in,,,,dropped\n\
                P-1,A,used,finger_ratio,3.5 3.6,,,,,,\n\
                E-1,A,used,crank_protrusion,0.020 0.021 in recessed,,,,,,\n";
    let told = take(&mut catalog, &[("readings.csv", file)]).unwrap();
    assert_eq!(told.pieces, Tally { added: 3, ..Tally::default() });
    assert_eq!(told.readings, Tally { added: 4, ..Tally::default() });
    let found = readings(&catalog);
    let values: Vec<&[i64]> = found.iter().map(|set| set.values.as_slice()).collect();
    let barred = [37_900_000 - 12_700_000, 38_100_000 - 12_700_000];
    assert_eq!(
        values,
        [&thou(&[-20, -21])[..], &thou(&[1001, 1002]), &barred, &[3_500_000, 3_600_000]]
    );
    let first = &found[1];
    assert_eq!((first.number, &*first.by, &*first.date), (1, "J", "2026-02-28"));
    assert_eq!(first.instrument.as_deref(), Some("caliper-0.02"));
    assert_eq!(found[2].struck.as_deref(), Some("dropped"));
}

#[test]
fn the_same_file_once_more_changes_nothing_and_a_longer_one_adds_what_is_new() {
    let (_bench, mut catalog) = shop();
    let rows = "part,piece,condition,dimension,value,struck\nF-1,A,new,thickness,1.001 in,\n\
                F-1,A,new,thickness,1.001 in,\n";
    let twice = take(&mut catalog, &[("readings.csv", rows)]).unwrap();
    assert_eq!(twice.readings.added, 2, "a place that was read twice has two readings");
    let again = take(&mut catalog, &[("readings.csv", rows)]).unwrap();
    assert_eq!(again.readings, Tally { unchanged: 2, ..Tally::default() });
    let longer = format!("{rows}F-1,A,new,thickness,1.001 in,over burrs\n");
    let told = take(&mut catalog, &[("readings.csv", &longer)]).unwrap();
    assert_eq!(told.readings, Tally { added: 1, unchanged: 2, ..Tally::default() });
    assert_eq!(readings(&catalog).len(), 3);

    // A reason in the file strikes out the set that is there, and a file from before keeps it so.
    let struck = rows.replace("1.001 in,\n", "1.001 in,over burrs\n");
    let told = take(&mut catalog, &[("readings.csv", &struck)]).unwrap();
    assert_eq!(told.readings, Tally { updated: 1, unchanged: 1, ..Tally::default() });
    let told = take(&mut catalog, &[("readings.csv", &longer)]).unwrap();
    assert_eq!(told.readings, Tally { unchanged: 3, ..Tally::default() });
    let struck = readings(&catalog).iter().filter(|set| set.struck.is_some()).count();
    assert_eq!((readings(&catalog).len(), struck), (3, 2));
}

#[test]
fn parts_pieces_readings_and_jobs_of_one_run_are_stored_together_or_not_at_all() {
    let setup = TestDir::new();
    let mut catalog = setup.catalog();
    let jobs = "job,flywheel\nJ,F-1#A\n";
    let readings_of =
        |value: &str| format!("part,piece,dimension,value\nF-1,A,thickness,{value}\n");
    let pieces = "part,piece,condition\nF-1,A,new\n";
    let (good, bad) = (readings_of("1.001 in"), readings_of("1.001"));
    let files = |readings| {
        [
            ("jobs.csv", jobs),
            ("readings.csv", readings),
            ("pieces.csv", pieces),
            ("parts.csv", PARTS),
        ]
    };
    let error = take(&mut catalog, &files(bad.as_str())).unwrap_err().to_string();
    assert_eq!(
        error,
        "nothing was stored: readings.csv line 2 column `value`: `1.001` has no unit; write the \
         unit, such as `0.250 in`, `6.35 mm`, `1/4 in` or `250 thou`"
    );
    assert!(!catalog.exists() && setup.files().is_empty());
    let dry = Options { dry_run: true, ..Options::default() };
    assert_eq!(take_with(&mut catalog, &files(good.as_str()), &dry).unwrap().readings.added, 1);
    assert!(!catalog.exists());
    take(&mut catalog, &files(good.as_str())).unwrap();
    assert_eq!(readings(&catalog)[0].values, thou(&[1001]));
    assert_eq!(catalog.load_job("J").unwrap().fitted[1], ["F-1#A"]);
}

#[test]
fn rows_of_readings_that_cannot_be_are_told_by_line_and_column() {
    let (_bench, mut catalog) = shop();
    take(&mut catalog, &[("pieces.csv", "part,piece,condition\nF-1,A,new\n")]).unwrap();
    let mut refuses = |row: &str, says: &[&str]| {
        let file =
            format!("part,piece,condition,dimension,value,value_in,bar,instrument,date\n{row}\n");
        let error = take(&mut catalog, &[("readings.csv", &file)]).unwrap_err().to_string();
        for says in says {
            assert!(error.contains(says), "`{says}` is not in: {error}");
        }
    };
    let piece = "readings.csv line 2 column `piece`: there is no piece `F-1#B` in the catalog";
    refuses("F-1,B,,thickness,1 in,,,,", &[piece, "a column `condition`, which makes it"]);
    refuses(
        "F-1,A,used,thickness,1 in,,,,",
        &["column `condition`: `F-1#A` is new in the catalog, not used"],
    );
    refuses("F-9,A,,thickness,1 in,,,,", &["column `part`: there is no part `F-9`"]);
    refuses(
        "F-1,A,,depth,1 in,,,,",
        &["column `dimension`: `depth` is no dimension of a flywheel"],
    );
    refuses("F-1,A,,thicknes,1 in,,,,", &["did you mean `thickness`?"]);
    refuses("F-1,A,,thickness,,,,,", &["column `value`: there is no reading of `thickness`"]);
    refuses("F-1,A,,thickness,1 in,1,,,", &["`value` and `value_in` are both filled"]);
    refuses(
        "F-1,A,,thickness,,1 1/32,,,",
        &["column `value_in`: `1 1/32` may be one reading or two"],
    );
    refuses("F-1,A,,thickness,1 in,,2 in,,", &["`-1.000 in` is not above zero"]);
    refuses("F-1,A,,thickness,1 in,,-2 in,,", &["column `bar`: `-2 in` is negative"]);
    refuses("P-1,A,new,finger_ratio,3.5,,1 in,,", &["column `bar`: `finger_ratio` is no length"]);
    refuses("P-1,A,new,finger_ratio,8,,,,", &["outside 1.5 to 7"]);
    refuses("F-1,A,,thickness,1 in,,,calipr-0.02,", &["did you mean `caliper-0.02`?"]);
    refuses("F-1,A,,thickness,1 in,,,,2026-02-29", &["column `date`: `2026-02-29` is no day"]);
    refuses("F-1,A,,thickness,1 in,,,,28.2.2026", &["such as 2026-03-31"]);
    assert!(readings(&catalog).is_empty());
    let file = "part,piece,dimension,valu\nF-1,A,thickness,1 in\n";
    let error = take(&mut catalog, &[("readings.csv", file)]).unwrap_err().to_string();
    assert!(
        error.contains("column `valu`: this column is not known; did you mean `value`?"),
        "{error}"
    );
}

#[test]
fn a_semicolon_file_has_decimal_commas_in_readings_too() {
    let (_bench, mut catalog) = shop();
    let file = "\u{feff}Part;Piece;Condition;Dimension;Value_mm\nF-1;A;new;thickness;25,41 25,42\n";
    take(&mut catalog, &[("r.csv", file)]).unwrap();
    assert_eq!(readings(&catalog)[0].values, [25_410_000, 25_420_000]);
}

#[test]
fn readings_by_hand_are_added_listed_and_struck_out() {
    let program = program();
    assert_eq!(
        program.answer(
            "reading add F-1#A thickness 1.251 1.252 in --bar '1/4 in' --condition used --by Kim \
             --date 2026-02-03 --instrument caliper-0.02"
        ),
        "added reading 1: F-1#A thickness, mean 1.0015 in, scatter 0.0007 in, 2 readings, \
         less the bar's 0.250 in\n"
    );
    let ran = program.run("reading add F-1#A thickness 25.42 mm");
    assert_eq!(ran.out, "added reading 2: F-1#A thickness, one reading: 1.0008 in\n");
    assert_eq!(
        program.answer("reading list F-1#A"),
        "\
no.  piece  dimension  readings              mean  scatter  taken                            counts
                       in                      in       in
---- ------ ---------- ------------------- ------- -------- -------------------------------- -------
  1  F-1#A  thickness  1.001  1.002  (bar  1.0015   0.0007  2026-02-03, Kim, caliper-0.02    yes
                       0.250)
  2  F-1#A  thickness  25.42 mm            1.0008        -  1970-01-01                       yes

2 sets of readings.
"
    );
    assert_eq!(program.answer("reading strike 2 --because 'over burrs'"), "struck out reading 2\n");
    let list = program.answer("reading list F-1 --dimension thickness");
    assert!(list.contains("no: over burrs"), "{list}");
    let refuses = |line: &str, says: &str| {
        let ran = program.run(line);
        assert_eq!((ran.status, ran.out.as_str()), (2, ""), "{line}");
        assert!(ran.err.contains(says), "`{says}` is not in: {}", ran.err);
    };
    refuses("reading strike 2 --because again", "reading 2 was struck out before: over burrs");
    refuses("reading strike 1 3 --because x", "there is no reading 3 in the catalog");
    refuses("reading strike 1 --because ' '", "the reason is blank");
    refuses("reading add F-1#B thickness 1 in", "there is no piece `F-1#B`");
    refuses("reading add F-1#A thickness 1", "`value`: `1` has no unit");
    refuses("reading add F-1#A thickness 1 in --instrument x", "there is no instrument `x`");
    refuses("reading add F-1#A thickness 1 in --date today", "`date`: `today` is no day");
    refuses("reading add F-1#B thickness 1 in --condition old", "`old` is no condition");
    refuses("reading list F-1#B", "did you mean `F-1#A`?");
    refuses("reading list G", "there is no part `G`");
    refuses("part remove F-1", "pieces of `F-1` were measured");
    refuses("piece remove F-1#A", "`F-1#A` was measured");
    assert!(program.answer("reading list F-1").contains("1.0015"), "a refused strike strikes none");
    let warned = program.run("piece edit F-1#A condition=machined");
    let says = "warning: `F-1#A` was used; its 1 set of readings counts as machined from now on\n";
    assert_eq!((warned.status, warned.err.as_str()), (0, says));
}

#[test]
fn who_measured_comes_from_the_flag_else_from_the_environment() {
    let program = program();
    let catalog = program.catalog().into_os_string();
    let by = |vars: &'static [(&str, &str)], flag: &[&str]| {
        let args = ["reading", "add", "F-1#A", "thickness", "1 in", "--condition", "new"];
        let args: Vec<&str> = args.iter().chain(flag).copied().collect();
        let catalog = catalog.clone();
        let var = Box::leak(Box::new(move |name: &str| {
            let told = vars.iter().find(|(key, _)| *key == name).map(|(_, value)| value.into());
            told.or_else(|| (name == "BELLSTACK_CATALOG").then(|| catalog.clone()))
        }));
        let ran = program.run_in(&args, |env| env.var = var);
        assert_eq!(ran.status, 0, "{}", ran.err);
        let csv = program.answer("export --kind readings");
        let row = csv.lines().last().unwrap().to_string();
        // One piece a time.
        program.run("reading strike 1 --because x");
        std::fs::remove_file(program.catalog()).unwrap();
        let parts = program.file("parts.csv", PARTS);
        program.run_args(&["import", &parts]);
        row.split(',').nth(7).unwrap().to_string()
    };
    assert_eq!(by(&[], &[]), "");
    assert_eq!(by(&[("USERNAME", "win")], &[]), "win");
    assert_eq!(by(&[("USER", "unix"), ("USERNAME", "win")], &[]), "unix");
    assert_eq!(by(&[("BELLSTACK_BY", "Kim"), ("USER", "unix")], &[]), "Kim");
    assert_eq!(by(&[("BELLSTACK_BY", "Kim")], &["--by", "Lee"]), "Lee");
}

#[test]
fn measuring_asks_for_one_dimension_after_another_and_stores_all_of_it_at_the_end() {
    let program = program();
    let ran = program.asked(
        "measure F-1 --by Kim --date 2026-02-03",
        &[
            "A",
            "old",
            "new",
            "ruler",
            "caliper-0.02",
            "1.001 1.002",
            "1.001 1.002 in",
            "",
            "3/4 in",
        ],
    );
    let out = "\
Stored 2 sets of readings on F-1#A (new).

dimension      readings        mean  scatter
               in                in       in
-------------- ------------- ------- --------
thickness      1.001  1.002  1.0015   0.0007
min_thickness  0.750         0.7500        -
";
    assert_eq!((ran.status, ran.out.as_str()), (0, out), "{}", ran.err);
    for says in [
        "F-1#A is not known yet. New, used or machined? `old` is no condition of a piece",
        "there is no instrument `ruler`",
        "thickness (needed in a stack): crank flange to friction face\n  the listed 1.000 in\n>",
        "`value`: `1.001` has no unit",
        "  mean 1.0015 in, scatter 0.0007 in, 2 readings\n",
        "  one reading: 0.7500 in\n",
    ] {
        assert!(ran.err.contains(says), "`{says}` is not in: {}", ran.err);
    }
    let csv = program.answer("export --kind readings");
    assert!(
        csv.contains("F-1,A,new,thickness,1.001 1.002 in,,caliper-0.02,Kim,2026-02-03,\n"),
        "{csv}"
    );

    // The next piece is held against its sister too.
    let ran = program.asked("measure F-1#B --only thickness", &["new", "", "1.003 in"]);
    assert!(ran.err.contains("  1 new piece's 1.0015 in\n"), "{}", ran.err);
    let ran = program.asked("measure F-1 --only thickness", &["A", "", "1.000 in"]);
    assert!(ran.err.contains("Known pieces: A (new), B (new)\n"), "{}", ran.err);
    assert!(program.answer("reading list F-1#A").contains("3 sets of readings."));
}

/// Measures the thickness of a new piece; what was said, and what is stored.
fn measured(answers: &[&str]) -> (Ran, String) {
    let program = program();
    let answers: Vec<&str> = ["new", ""].iter().chain(answers).copied().collect();
    let ran = program.asked("measure F-1#A --only thickness", &answers);
    assert_eq!(ran.status, 0, "{}", ran.err);
    let csv = program.answer("export --kind readings");
    (ran, csv.lines().nth(1).and_then(|row| row.split(',').nth(4)).unwrap_or_default().into())
}

#[test]
fn a_slip_is_questioned_before_it_is_kept() {
    for (read, says) in [
        ("1.101 in", "1.101 in is a tenth of an inch off the listed 1.000 in."),
        ("1.001 mm", "1.001 mm is 25.4 times off the listed 1.000 in, as in the other unit."),
        ("25.4 in", "25.400 in is 25.4 times off the listed 1.000 in, as in the other unit."),
        (
            "1.500 in over 1/4 in",
            "1.250 in is off the listed 1.000 in by just the bar of 0.250 in.",
        ),
        ("1.001 1.101 in", "1.101 in is a tenth of an inch off"),
    ] {
        let (ran, stored) = measured(&[read, "no", "1.001 in"]);
        assert!(ran.err.contains(says), "`{says}` is not in: {}", ran.err);
        assert_eq!(stored, "1.001 in", "{read}");
        assert_ne!(measured(&[read, "what", "yes"]).1, "", "{read} is kept where it is meant");
        assert_ne!(measured(&[read]).1, "", "{read} is not lost where nobody answers");
    }
    let (ran, stored) = measured(&["1.254 1.251 in over 1/4 in"]);
    assert!(!ran.err.contains("Keep it"), "{}", ran.err);
    assert_eq!(stored, "1.254 1.251 in");
}

#[test]
fn a_slip_that_nobody_confirmed_is_kept_struck_out() {
    let program = program();
    let ran = program.asked("measure F-1#A --only thickness", &["new", "", "1.101 in"]);
    assert_eq!(ran.status, 0, "{}", ran.err);
    let list = program.answer("reading list");
    let why = "not confirmed: 1.101 in is a tenth of an inch off the listed 1.000 in";
    let list = list.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(list.contains("1.101"), "{list}");
    let csv = program.answer("export --kind readings");
    assert!(csv.contains(why), "{csv}");
    assert!(ran.out.contains("struck out"), "{}", ran.out);
    assert!(!program.answer("part show F-1").contains("1.1010"), "it counts nowhere");
}

#[test]
fn a_slip_in_a_file_or_by_hand_is_stored_with_a_warning() {
    let program = program();
    let rows = "part,piece,condition,dimension,value\nF-1,A,new,thickness,1.101 in\n";
    let file = program.file("readings.csv", rows);
    let ran = program.run_args(&["import", &file]);
    let says =
        format!("warning: {file} line 2: 1.101 in is a tenth of an inch off the listed 1.000 in\n");
    assert_eq!((ran.status, ran.err.as_str()), (0, says.as_str()));
    let again = program.run_args(&["import", &file]);
    assert_eq!(again.err, "", "what is there already is no news");
    let ran = program.run("reading add F-1#B thickness 0.901 in --condition new");
    assert_eq!(ran.err, "warning: 0.901 in is a tenth of an inch off the listed 1.000 in\n");
}

#[test]
fn measuring_nothing_stores_nothing_and_wrong_use_is_refused() {
    let program = program();
    let nothing = "Nothing was read, so nothing was stored.\n";
    for answers in [&[][..], &[""], &["A"], &["A", "new"], &["A", "new", "", "", "", ""]] {
        let ran = program.asked("measure F-1", answers);
        assert_eq!((ran.status, ran.out.as_str()), (0, nothing), "{answers:?}: {}", ran.err);
    }
    assert_eq!(program.answer("piece list --all"), "No piece is listed.\n");
    assert_eq!(program.run("measure G-1").status, 2);
    assert_eq!(program.run("measure F-1 --only depth").status, 2);
    let ran = program.asked("measure F-1#A --only thickness --date never", &["new", "", "1 in"]);
    assert_eq!((ran.status, ran.out.as_str()), (2, ""), "{}", ran.err);
    let ran = program.asked("measure F-1#A --only thickness --instrument x", &["new", "1 in"]);
    assert_eq!(ran.status, 2, "{}", ran.err);
    assert_eq!(program.answer("piece list --all"), "No piece is listed.\n");
}

#[test]
fn a_library_of_five_hundred_parts_with_three_thousand_readings_is_imported_and_found_again() {
    let mut parts = String::from("id,kind,thickness\n");
    let mut rows = String::from("part,piece,condition,dimension,value\n");
    for n in 0..500 {
        writeln!(parts, "F-{n},flywheel,1 in").unwrap();
        for label in ["A", "B", "C"] {
            writeln!(rows, "F-{n},{label},new,thickness,1.00{} 1.001 in", n % 10).unwrap();
            writeln!(rows, "F-{n},{label},new,min_thickness,0.9{} in", n % 10).unwrap();
        }
    }
    let setup = TestDir::new();
    let mut catalog = setup.catalog();
    let files = [("parts.csv", parts.as_str()), ("readings.csv", rows.as_str())];
    let told = take(&mut catalog, &files).unwrap();
    assert_eq!((told.parts.added, told.pieces.added, told.readings.added), (500, 1500, 3000));
    let told = take(&mut catalog, &files).unwrap();
    assert_eq!((told.parts.unchanged, told.readings.unchanged), (500, 3000));
    let library = catalog.load_library().unwrap();
    assert_eq!(library.measured.readings.len(), 3000);
    assert_eq!(library.measured.pieces_of(library.find("F-7").unwrap()).count(), 3);
}
