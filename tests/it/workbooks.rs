//! Workbooks: written by the program and by a library, read back to the nanometre.

use bellstack::catalog::csv::{Options, Source, import, workbook};
use bellstack::model::length::Unit;
use bellstack::model::part::Entry;
use rust_xlsxwriter::{ExcelDateTime, Format, Workbook};

use crate::program::Program;
use crate::support::{Dice, TestDir, part, stamp};

/// A workbook as shops have them, written by the library; `BELLSTACK_REWRITE=1` keeps it among the
/// messy sheets.
fn messy() -> Vec<u8> {
    let mut book = Workbook::new();
    let sheet = book.add_worksheet().set_name("Flywheels").unwrap();
    sheet.write(0, 0, "Stock of flywheels").unwrap();
    for (column, heading) in (0_u16..).zip(["id", "thickness_in", "price", "notes"]) {
        sheet.write(2, column, heading).unwrap();
    }
    let date = Format::new().set_num_format("yyyy-mm-dd");
    let money = Format::new().set_num_format("$#,##0.00");
    sheet.write(3, 0, "FX-1").unwrap();
    sheet.write(3, 1, 0.7125).unwrap();
    sheet.write_with_format(3, 2, 129.5, &money).unwrap();
    let day = ExcelDateTime::from_ymd(2026, 5, 4).unwrap();
    sheet.write_with_format(3, 3, &day, &date).unwrap();
    sheet.write(4, 0, "FX-2").unwrap();
    sheet.write(4, 1, 0.9).unwrap();
    sheet.write(4, 2, 0.1 + 0.2).unwrap();
    let sheet = book.add_worksheet().set_name("Remarks").unwrap();
    sheet.write(0, 0, "Nothing of this is for sale.").unwrap();
    let sheet = book.add_worksheet().set_name("Work").unwrap();
    sheet.write(0, 0, "job").unwrap();
    sheet.write(0, 1, "flywheel").unwrap();
    sheet.write(1, 0, "car one").unwrap();
    sheet.write(1, 1, "FX-1").unwrap();
    let sheet = book.add_worksheet().set_name("Old").unwrap();
    sheet.set_hidden(true);
    sheet.write(0, 0, "id").unwrap();
    sheet.write(0, 1, "kind").unwrap();
    sheet.write(1, 0, "OLD-1").unwrap();
    sheet.write(1, 1, "flywheel").unwrap();
    book.save_to_buffer().unwrap()
}

#[test]
fn the_messy_workbook_is_kept() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/sheets/12-workbook.xlsx");
    if std::env::var_os("BELLSTACK_REWRITE").is_some() {
        std::fs::write(path, messy()).unwrap();
    }
    assert!(std::fs::read(path).unwrap().starts_with(b"PK\x03\x04"));
}

#[test]
fn a_date_and_a_failed_formula_among_lengths_are_refused() {
    let mut book = Workbook::new();
    let sheet = book.add_worksheet();
    sheet.write(0, 0, "id").unwrap();
    sheet.write(0, 1, "thickness").unwrap();
    sheet.write(1, 0, "A").unwrap();
    let date = Format::new().set_num_format("d-mmm");
    let day = ExcelDateTime::from_ymd(2026, 1, 4).unwrap();
    sheet.write_with_format(1, 1, &day, &date).unwrap();
    let formula = rust_xlsxwriter::Formula::new("=1/0").set_result("#DIV/0!");
    sheet.write(2, 0, "B").unwrap();
    sheet.write(2, 1, formula).unwrap();
    let bytes = book.save_to_buffer().unwrap();
    let bench = TestDir::new();
    let source = Source { name: "flywheels.xlsx".into(), bytes };
    let error = import(&mut bench.catalog(), &stamp(), &[source], &Options::default());
    let text = error.unwrap_err().to_string();
    assert!(
        text.contains("line 2 column `thickness`: `2026-01-04` is a date; was it 1/4?"),
        "{text}"
    );
    assert!(text.contains("line 3 column `thickness`"), "{text}");
}

#[test]
fn a_stray_cell_far_outside_is_told_and_takes_no_memory() {
    let mut book = Workbook::new();
    let sheet = book.add_worksheet();
    sheet.write(0, 0, "id").unwrap();
    sheet.write(1_000_000, 16_000, "x").unwrap();
    let bytes = book.save_to_buffer().unwrap();
    let bench = TestDir::new();
    let source = Source { name: "flywheels.xlsx".into(), bytes };
    let error = import(&mut bench.catalog(), &stamp(), &[source], &Options::default());
    assert!(error.unwrap_err().to_string().contains("stands in row 1000001, column 16001"));
}

#[test]
fn an_exported_workbook_reads_back_to_the_nanometre() {
    let bench = TestDir::new();
    let mut catalog = bench.catalog();
    let mut dice = Dice::new(5);
    catalog
        .write(&stamp(), |writer| {
            for number in 0..400 {
                let kind = *dice.pick(&["flywheel", "bearing_shim", "bell_spacer", "engine"]);
                let mut part = part(kind, &format!("00{number}"));
                for dim in part.kind.dims.iter().filter(|dim| dim.needed) {
                    let nm = 1 + i64::try_from(dice.roll(70_000_000)).unwrap();
                    let tol =
                        (dice.roll(2) == 0).then_some(i64::try_from(dice.roll(90_000)).unwrap());
                    part.set(dim.key, Some(Entry::new(nm, tol)));
                }
                writer.insert(&part)?;
            }
            Ok(())
        })
        .unwrap();
    let library = catalog.load_library().unwrap();
    for unit in [Unit::In, Unit::Mm] {
        let (bytes, sheets) = workbook(&library, &[], None, unit).unwrap();
        let names =
            sheets.iter().filter(|(name, _)| !["instruments", "window"].contains(&name.as_str()));
        assert_eq!(names.count(), 4);
        let other = TestDir::new();
        let mut back = other.catalog();
        let source = Source { name: "shop.xlsx".into(), bytes };
        let options =
            Options { meant: bellstack::model::usual::Meant::all(), ..Options::default() };
        import(&mut back, &stamp(), &[source], &options).unwrap();
        let again = back.load_library().unwrap();
        for part in &library.parts {
            assert_eq!(again.find(&part.id), Some(part), "{unit:?}");
        }
        assert_eq!(again.parts.len(), library.parts.len());
    }
}

#[test]
fn house_numbers_go_through_a_workbook() {
    let program = Program::demo();
    for pair in ["reserve_margin=0.061 in", "units=mm", "currency=EUR"] {
        assert_eq!(program.run_args(&["window", "set", pair]).status, 0, "{pair}");
    }
    let path = program.dir().join("shop.xlsx").display().to_string();
    let told = program.run_args(&["export", "--format", "xlsx", "--out", &path]);
    assert!(told.out.contains("worksheet `window`: "), "{}", told.out);
    let other = Program::new();
    let ran = other.run_args(&["import", &path]);
    assert_eq!(ran.status, 0, "{}", ran.err);
    let numbers = |program: &Program| program.answer("window show --format json");
    assert_eq!(numbers(&other), numbers(&program));
    assert!(numbers(&other).contains("1.5494"), "{}", numbers(&other));
    // A worksheet of its own is told by its name, as a file is.
    let path = program.dir().join("window.xlsx").display().to_string();
    let line = ["export", "--format", "xlsx", "--kind", "window", "--out", &path];
    let told = program.run_args(&line);
    assert_eq!(told.out.lines().count(), 1, "{}", told.out);
    let other = Program::new();
    assert_eq!(other.run_args(&["import", &path]).status, 0);
    assert_eq!(numbers(&other), numbers(&program));
}

#[test]
fn the_demo_shop_goes_through_a_workbook() {
    let program = Program::demo();
    let path = program.dir().join("shop.xlsx").display().to_string();
    let told = program.run_args(&["export", "--format", "xlsx", "--out", &path]);
    assert_eq!(told.status, 0, "{}", told.err);
    assert!(told.out.contains("worksheet `flywheels`: "), "{}", told.out);
    let again = program.run_args(&["export", "--format", "xlsx", "--out", &path]);
    assert_eq!(again.status, 2, "a file that is there is asked about");
    let other = Program::new();
    let ran = other.run_args(&["import", &path]);
    assert_eq!(ran.status, 0, "{}", ran.err);
    // What is known of every job is the same; bars alone stay behind, off their lengths.
    let jobs = std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/demo-data/jobs.csv"));
    let jobs = jobs.unwrap();
    let names: Vec<&str> = jobs.lines().skip(1).filter_map(|line| line.split(',').next()).collect();
    assert!(names.len() > 3, "{names:?}");
    for name in names {
        let line = format!("fit {name} --format json");
        let (ran, before) = (other.run(&line), program.run(&line));
        assert_eq!(ran, before, "{name}");
    }
    program.refuses(
        "export --format xlsx",
        2,
        "error: a workbook needs a file of its own\n  hint: give one, such as `--out shop.xlsx`\n",
    );
}

/// An office program writes its own kinds of workbook; `BELLSTACK_OFFICE=required` makes its absence an
/// error.
#[test]
fn workbooks_of_an_office_program_read_back_to_the_nanometre() {
    let program = Program::demo();
    let path = program.dir().join("shop.xlsx").display().to_string();
    assert_eq!(program.run_args(&["export", "--format", "xlsx", "--out", &path]).status, 0);
    // Bars are in CSV alone: the office program is held against a catalog without them.
    let plain = Program::new();
    assert_eq!(plain.run_args(&["import", &path]).status, 0);
    let profile = program.dir().join("profile").display().to_string();
    for ending in ["ods", "xls", "xlsx"] {
        let out = program.dir().join(ending);
        let ran = std::process::Command::new("soffice")
            .args(["--headless", &format!("-env:UserInstallation=file://{profile}")])
            .args(["--convert-to", ending, "--outdir"])
            .arg(&out)
            .arg(&path)
            .output();
        let Ok(ran) = ran else {
            assert!(std::env::var_os("BELLSTACK_OFFICE").is_none(), "there is no `soffice`");
            println!("skipped: there is no `soffice`");
            return;
        };
        assert!(ran.status.success(), "{}", String::from_utf8_lossy(&ran.stderr));
        let other = Program::new();
        let path = out.join(format!("shop.{ending}")).display().to_string();
        let ran = other.run_args(&["import", &path]);
        assert_eq!(ran.status, 0, "{ending}: {}", ran.err);
        let all = |program: &Program| program.answer("export");
        assert_eq!(all(&other), all(&plain), "{ending}");
    }
}
