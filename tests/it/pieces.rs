//! Pieces of a part number: how they are named, kept, changed and refused.

use bellstack::catalog::csv::{Options, Tally};
use bellstack::catalog::{Access, Catalog};
use bellstack::model::kinds::Kinds;
use bellstack::model::pieces::{Condition, Specimen};
use rusqlite::Connection;

use crate::program::Program;
use crate::support::{TestDir, refused, stamp, take, take_with};

const PARTS: &str = "id,kind,thickness,pack_thickness\nF-1,flywheel,1.000 in,\nF-2,flywheel,2 in,\n\
                     S-1,bearing_shim,0.5 mm,\nP-1,pressure_plate,,40 mm\nD-1,disc,8 mm,\n";

/// A catalog with a few parts in it.
fn shop() -> (TestDir, Catalog) {
    TestDir::holding(&[("parts.csv", PARTS)])
}

fn program() -> Program {
    Program::holding("parts.csv", PARTS)
}

fn pieces(catalog: &Catalog) -> Vec<Specimen> {
    catalog.load_library().unwrap().measured.specimens
}

#[test]
fn a_piece_is_added_changed_gone_back_and_removed() {
    let program = program();
    assert_eq!(program.answer("piece list"), "No piece is listed.\n");
    assert_eq!(
        program.answer("piece add F-1#A condition=used notes='from the blue car'"),
        "added the piece F-1#A\n"
    );
    program.answer("piece add F-1#B condition=new");
    program.answer("piece edit F-1#B condition=machined notes='cut at home'");
    assert_eq!(
        program.answer("piece gone F-1#A F-1#B"),
        "F-1#A is gone; what was read on it stays\nF-1#B is gone; what was read on it stays\n"
    );
    let list = program.answer("piece list");
    assert!(list.contains("2 pieces gone and not shown: `bellstack piece list --all`."), "{list}");
    program.answer("piece back F-1#B");
    let list = program.answer("piece list --part F-1");
    assert!(list.contains("F-1#B  flywheel  machined   yes"), "{list}");
    assert!(list.contains("cut at home") && !list.contains("F-1#A"), "{list}");
    let all = program.answer("piece list --all");
    assert!(all.contains("F-1#A  flywheel  used       gone"), "{all}");
    assert_eq!(program.answer("piece remove F-1#A"), "removed F-1#A\n");
    assert!(!program.answer("piece list --all").contains("F-1#A"));
    assert!(program.answer("piece keys").contains("condition"));
}

#[test]
fn what_names_no_piece_or_cannot_be_one_is_refused_with_what_to_write() {
    let program = program();
    program.answer("piece add F-1#A condition=new");
    let refuses = |line: &str, says: &str| program.refuses(line, 2, &format!("error: {says}\n"));
    refuses(
        "piece add F-1 condition=new",
        "`F-1` names no piece\n  hint: write part number and label, such as `F-1#A`",
    );
    refuses(
        "piece add F-1#C",
        "`condition`: the condition of a new piece is not given\n  hint: write `new`, `used` or \
         `machined`",
    );
    refuses(
        "piece add F-1#C condition=old",
        "`condition`: `old` is no condition of a piece\n  hint: write `new`, `used` or `machined`",
    );
    refuses(
        "piece add F-3#A condition=new",
        "there is no part `F-3` in the catalog\n  hint: did you mean `F-1`?",
    );
    refuses(
        "piece add F-1#A condition=new",
        "there is a piece `F-1#A` already\n  hint: change it with `piece edit`, or give the new \
         one another label",
    );
    refuses(
        "piece edit F-1#B notes=x",
        "there is no piece `F-1#B` in the catalog\n  hint: did you mean `F-1#A`?",
    );
    refuses(
        "piece edit F-1#A label=B",
        "`label`: this key is not known\n  hint: the templates list every key",
    );
    refuses("piece edit F-1#A piece=B", "`piece`: it cannot be changed");
    refuses(
        "part add flywheel F#3",
        "`F#3` cannot be a part number: `#` stands between a number and the label of a piece of it",
    );
    let ran = program.run("part remove F-1");
    assert_eq!(ran.status, 0, "a piece that was never measured goes with its part: {}", ran.err);
}

#[test]
fn pieces_come_from_a_file_all_or_nothing() {
    let (_bench, mut catalog) = shop();
    let file = "piece;part;condition;in_hand;notes\nA;F-1;new;;\nA;F-2;Used;no;\"old; worn\"\n";
    let told = take(&mut catalog, &[("x.csv", file)]).unwrap();
    assert_eq!(told.pieces, Tally { added: 2, ..Tally::default() });
    let used = Specimen {
        in_hand: false,
        notes: "old; worn".into(),
        ..Specimen::new("F-2", "A", Condition::Used)
    };
    assert_eq!(pieces(&catalog), [Specimen::new("F-1", "A", Condition::New), used.clone()]);

    // Columns that are not there stay; with --replace they are blanked, but for the condition.
    let told = take(&mut catalog, &[("pieces.csv", "part,piece,in_hand\nF-2,A,yes\n")]).unwrap();
    assert_eq!(told.pieces, Tally { updated: 1, ..Tally::default() });
    assert_eq!(pieces(&catalog)[1].notes, "old; worn");
    let replace = Options { replace: true, ..Options::default() };
    take_with(&mut catalog, &[("pieces.csv", "part,piece\nF-2,A\n")], &replace).unwrap();
    assert_eq!(pieces(&catalog)[1], Specimen::new("F-2", "A", Condition::Used));
    let dry = Options { dry_run: true, ..Options::default() };
    let told = take_with(&mut catalog, &[("pieces.csv", "part,piece\nF-2,A\n")], &dry).unwrap();
    assert_eq!(told.pieces, Tally { unchanged: 1, ..Tally::default() });

    let before = pieces(&catalog);
    let bad = "part,piece,condition,in_hand\nF-1,B,new,yes\nF-9,A,new,\nF-1,A#B,new,\nF-1,C,,\n\
               F-1,D,new,maybe\nF-1,B,new,\n";
    let error = take(&mut catalog, &[("pieces.csv", bad)]).unwrap_err().to_string();
    for says in [
        "5 bad rows",
        "pieces.csv line 3 column `part`: there is no part `F-9` in the catalog; did you mean `F-1`?",
        "line 4 column `piece`: `A#B` cannot be a label",
        "line 5 column `condition`: the condition of a new piece is not given",
        "line 6 column `in_hand`: `maybe` is neither yes nor no",
        "line 7 column `piece`: `F-1#B` was given before, pieces.csv line 2; each piece is given once",
    ] {
        assert!(error.contains(says), "`{says}` is not in: {error}");
    }
    assert_eq!(pieces(&catalog), before);
    let error = refused(&[("pieces.csv", "part,pice\nF-1,A\n")]).to_string();
    assert!(error.contains("there is no column `piece`"), "{error}");
    let error = refused(&[("pieces.csv", "part,piece,conditon\nF-1,A,new\n")]).to_string();
    assert!(error.contains("did you mean `condition`?"), "{error}");
}

#[test]
fn a_job_may_name_a_piece_that_is_there() {
    let (_bench, mut catalog) = shop();
    let files = [
        ("jobs.csv", "job,flywheel,bearing_shims\nJ,F-1#A,S-1#1|S-1\n"),
        ("pieces.csv", "part,piece,condition\nF-1,A,used\nS-1,1,new\nP-1,x,new\n"),
    ];
    take(&mut catalog, &files).unwrap();
    let job = catalog.load_job("J").unwrap();
    let slot = |key: &str| &job.fitted[Kinds::standard().slot_named(key).unwrap()];
    assert_eq!(*slot("flywheel"), ["F-1#A"]);
    assert_eq!(*slot("bearing_shims"), ["S-1", "S-1#1"]);
    assert_eq!(catalog.read(|reader| reader.jobs_naming("F-1")).unwrap(), ["J"]);

    let mut refuses = |row: &str, says: &str| {
        let file = format!("job,flywheel,pressure_plate,disc,bearing_shims\n{row}\n");
        let error = take(&mut catalog, &[("jobs.csv", &file)]).unwrap_err().to_string();
        assert!(error.contains(says), "`{says}` is not in: {error}");
    };
    refuses(
        "K,F-1#B,,,",
        "column `flywheel`: there is no piece `F-1#B` in the catalog; did you mean `F-1#A`?",
    );
    refuses(
        "K,F-2#A,,,",
        "there is no piece `F-2#A` in the catalog; add it with `piece add F-2#A`",
    );
    refuses("K,F-9#A,,,", "there is no flywheel `F-9#A`");
    refuses("K,S-1#1,,,", "`S-1#1` is a bearing_shim, not a flywheel");
    refuses("K,,P-1#x,D-1,", "a matched set brings its own discs");
    refuses("K,,,,S-1#1|S-1#1", "the piece `S-1#1` cannot stand in a stack twice");
    let error = catalog
        .write(&stamp(), |writer| {
            writer.reader().load_piece("F-1", "A").and_then(|it| writer.remove(&it))
        })
        .unwrap_err()
        .to_string();
    assert!(error.contains("`F-1#A` is named by the job `J`"), "{error}");
    let error = catalog
        .write(&stamp(), |writer| {
            writer.reader().load_part("F-1").and_then(|it| writer.remove(&it))
        })
        .unwrap_err()
        .to_string();
    assert!(error.contains("named by the job `J`"), "{error}");
}

#[test]
fn a_catalog_of_the_first_version_is_brought_up_with_everything_in_it() {
    let setup = TestDir::new();
    let path = setup.path("shop.db");
    let conn = Connection::open(&path).unwrap();
    conn.execute_batch(include_str!("../../catalog/migrations/0001_first.sql")).unwrap();
    // Today `#` is refused in a new number; an older catalog may hold it.
    conn.execute_batch(
        "PRAGMA application_id = 0x42454C53; PRAGMA user_version = 1;
         INSERT INTO part VALUES (1, 'F#1', 'flywheel', '', '', NULL, 1, NULL, 0, '');
         INSERT INTO dimension VALUES (1, 'thickness', 25400000, NULL);
         INSERT INTO job VALUES (1, 'J', '', NULL, 0, 0, 'unknown', 'unknown', 'unknown',
                                 NULL, NULL, NULL, NULL);
         INSERT INTO job_part VALUES (1, 'flywheel', 0, 1);",
    )
    .unwrap();
    drop(conn);
    let mut catalog = setup.open(Access::Write).unwrap();
    let library = catalog.load_library().unwrap();
    assert_eq!(library.parts[0].id, "F#1");
    assert_eq!(library.measured.instruments.len(), 6);
    assert!(library.measured.specimens.is_empty() && library.measured.readings.is_empty());
    let job = catalog.load_job("J").unwrap();
    assert_eq!(job.fitted[Kinds::standard().slot_named("flywheel").unwrap()], ["F#1"]);
    assert!(library.check_job(&job).is_ok());
    take(&mut catalog, &[("flywheels.csv", "id,maker\nF#1,Invented\n")]).unwrap();
    take(&mut catalog, &[("pieces.csv", "part,piece,condition\nF#1,A,new\n")]).unwrap();
    take(&mut catalog, &[("jobs.csv", "job,flywheel\nJ,F#1#A\nK,F#1\n")]).unwrap();
    assert_eq!(catalog.load_job("J").unwrap().fitted[1], ["F#1#A"]);
    let error = take(&mut catalog, &[("flywheels.csv", "id\nF#2\n")]).unwrap_err().to_string();
    assert!(error.contains("column `id`: `F#2` cannot be a part number"), "{error}");
}

#[test]
fn instruments_begin_with_the_published_limits_and_are_the_shops_to_change() {
    let program = program();
    // JIS B 7507-1993, a caliper that reads to 0.02 mm, up to 200 mm: 0.03 mm (read in a secondary
    // copy).
    let show = program.answer("instrument show caliper-0.02 --units mm");
    assert!(show.contains("limit of error              +- 0.03 mm up to 200.00 mm"), "{show}");
    assert!(show.contains("JIS B 7507-1993"), "{show}");
    // DIN 862, depth: 0.02 mm more than the 0.02 mm up to 100 mm (read in a secondary copy).
    let show = program.answer("instrument show caliper-depth-0.01");
    assert!(show.contains("+- 0.04 mm up to 100.00 mm"), "{show}");
    program.answer(
        "instrument add depth-1 resolution='0.001 in' limits='0.0005 in to 3 in | 0.0002 in to 1 in'",
    );
    program.answer("instrument set depth-1 description='depth gauge' source='own check'");
    let show = program.answer("instrument show depth-1");
    assert!(
        show.contains("+- 0.0002 in up to 1.000 in\nlimit of error              +- 0.0005 in"),
        "{show}"
    );
    assert!(program.answer("instrument list").contains("7 instruments."));
    let refuses = |line: &str, says: &str| {
        let ran = program.run(line);
        assert_eq!((ran.status, ran.out.as_str()), (2, ""), "{line}");
        assert!(ran.err.contains(says), "`{says}` is not in: {}", ran.err);
    };
    refuses("instrument add depth-1", "there is an instrument `depth-1` already");
    refuses("instrument set dept-1 source=x", "did you mean `depth-1`?");
    refuses("instrument set depth-1 limits='0.02 mm'", "write the limit and up to which length");
    refuses("instrument set depth-1 limits='0.02 to 100 mm'", "`0.02` has no unit");
    refuses(
        "instrument set depth-1 limits='0.02 mm to 1 in | 0.03 mm to 25.4 mm'",
        "there are two limits up to 25.40 mm",
    );
    refuses("instrument set depth-1 resolution='0 mm'", "not above zero");
    program.answer("reading add F-1#A thickness 1 in --condition new --instrument depth-1");
    refuses("instrument remove depth-1", "1 reading was taken with `depth-1`");
    program.answer("instrument remove micrometer");
    let file = program.file("instruments.csv", "instrument;limits\ndepth-1;0,01 mm to 25,4 mm\n");
    let told = program.run_args(&["import", &file]).out;
    assert!(told.contains("instruments: 0 added, 1 updated, 0 unchanged\n"), "{told}");
    let csv = program.answer("export --kind instruments");
    assert!(csv.contains("depth-1,depth gauge,0.001 in,0.01 mm to 1.000 in,own check\n"), "{csv}");
}
