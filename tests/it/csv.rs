//! CSV in: what is taken, what is refused and how it is told.

use std::fs;

use bellstack::catalog::csv::{
    Options, Source, Tally, add_job, add_part, edit_job, edit_part, import,
};
use bellstack::catalog::{Access, Catalog};
use bellstack::model::edge::Edge;
use bellstack::model::job::{CrankPushed, DiscState, Job, Reading, StarterOn};
use bellstack::model::kinds::Kinds;
use bellstack::model::length::Length;
use bellstack::model::money::Cents;
use bellstack::model::part::{Entry, Part};
use bellstack::model::usual::Meant;

use crate::support::{TestDir, refused, stamp, take, take_with};

fn replacing() -> Options<'static> {
    Options { replace: true, ..Options::default() }
}

fn entry(catalog: &Catalog, id: &str, key: &str) -> Option<(i64, Option<i64>)> {
    catalog.load_part(id).unwrap().entry(key).map(|entry| (entry.value, entry.tol))
}

#[test]
fn lengths_are_read_in_every_way_that_the_contract_names() {
    let setup = TestDir::new();
    let mut catalog = setup.catalog();
    take(
        &mut catalog,
        &[(
            "flywheels.csv",
            "\u{feff}id,thickness,thickness_in,thickness_mm,thickness_tol,thickness_tol_in,thickness_bar_mm\r\n\
             A,0.250 in,,,,,\r\n\
             B,\"1-1/8\"\"\",,,0.05 mm,,\r\n\
             C,250 thou,,,,.002,\r\n\
             D,,1/4,,,,\r\n\
             E,,,6.35,,,\r\n\
             F,30 mm,,,,,5\r\n",
        )],
    )
    .unwrap();
    assert_eq!(entry(&catalog, "A", "thickness"), Some((6_350_000, None)));
    assert_eq!(entry(&catalog, "B", "thickness"), Some((28_575_000, Some(50_000))));
    assert_eq!(entry(&catalog, "C", "thickness"), Some((6_350_000, Some(50_800))));
    assert_eq!(entry(&catalog, "D", "thickness"), Some((6_350_000, None)));
    assert_eq!(entry(&catalog, "E", "thickness"), Some((6_350_000, None)));
    assert_eq!(entry(&catalog, "F", "thickness"), Some((25_000_000, None)));
}

#[test]
fn a_semicolon_file_may_have_decimal_commas() {
    let setup = TestDir::new();
    let mut catalog = setup.catalog();
    let text = "kind;id;price;finger_height;finger_ratio;finger_ratio_tol;torque_rating;set_gap\n\
                pressure_plate;P;129,50;38,1 mm;3,85;0,1;450,5;-0.5 mm\n";
    take(&mut catalog, &[("any.csv", text)]).unwrap();
    let part = catalog.load_part("P").unwrap();
    assert_eq!(part.price, Some(Cents::new(12_950)));
    assert_eq!(entry(&catalog, "P", "finger_height"), Some((38_100_000, None)));
    assert_eq!(entry(&catalog, "P", "finger_ratio"), Some((3_850_000, Some(100_000))));
    assert_eq!(entry(&catalog, "P", "torque_rating"), Some((450_500, None)));
    assert_eq!(entry(&catalog, "P", "set_gap"), Some((-500_000, None)));
}

#[test]
fn an_engine_and_a_job_may_stand_proud_or_recessed() {
    let setup = TestDir::new();
    let mut catalog = setup.catalog();
    take(
        &mut catalog,
        &[
            ("engine.csv", "id,crank_protrusion\nE,0.020 in recessed\n"),
            ("jobs.csv", "job,engine,crank_protrusion\nJ,E,0.5 mm proud\n"),
        ],
    )
    .unwrap();
    assert_eq!(entry(&catalog, "E", "crank_protrusion"), Some((-508_000, None)));
    let reading = catalog.load_job("J").unwrap().reading(Reading::CrankProtrusion);
    assert_eq!(reading, Some(Entry::new(500_000, None)));
}

#[test]
fn a_file_says_what_it_holds_by_column_option_or_name() {
    let setup = TestDir::new();
    let mut catalog = setup.catalog();
    take(
        &mut catalog,
        &[
            ("dir/gearboxes.csv", "id\nG-1\n"),
            ("gearbox.csv", "id\nG-2\n"),
            ("stock.csv", "id,kind,thickness,depth\nX-1,disc,8 mm,\nX-2,Bell Housing,,160 mm\n"),
            ("work.csv", "job,gearbox\nJ-1,G-2\n"),
            ("Jobs.csv", "job\nJ-2\n"),
        ],
    )
    .unwrap();
    let options = Options { kind: Some("bearing_shims"), ..Options::default() };
    take_with(&mut catalog, &[("list.csv", "id,thickness_mm\nS-1,0.5\n")], &options).unwrap();
    let kind = |id: &str| catalog.load_part(id).unwrap().kind.key;
    assert_eq!(
        ["G-1", "G-2", "X-1", "X-2", "S-1"].map(kind),
        ["gearbox", "gearbox", "disc", "bell_housing", "bearing_shim"]
    );
    assert_eq!(catalog.load_jobs().unwrap().len(), 2);
}

const FULL: &str = "id,maker,price,on_hand,lead_days,status,notes,thickness,thickness_tol,crank_pattern\n\
                    F,Invented,10,2,5,retired,old,20 mm,0.1 mm,six\n";

#[test]
fn an_update_leaves_what_has_no_column_and_blanks_what_is_blank() {
    let (_bench, mut catalog) = TestDir::holding(&[("flywheels.csv", FULL)]);
    let before = catalog.load_part("F").unwrap();
    let told = take(&mut catalog, &[("update.csv", "id,thickness,price\nF,21 mm,\n")]).unwrap();
    assert_eq!(told.parts, Tally { added: 0, updated: 1, unchanged: 0 });
    let after = catalog.load_part("F").unwrap();
    assert_eq!(entry(&catalog, "F", "thickness"), Some((21_000_000, Some(100_000))));
    assert_eq!(after.price, None);
    assert_eq!((&after.maker, after.on_hand, after.retired), (&before.maker, 2, true));
    let told = take(&mut catalog, &[("update.csv", "id,thickness\nF,21 mm\n")]).unwrap();
    assert_eq!(told.parts, Tally { added: 0, updated: 0, unchanged: 1 });
    let blank = "id,thickness,on_hand,status,crank_pattern,lead_days,maker\nF,,,,,,\n";
    take(&mut catalog, &[("update.csv", blank)]).unwrap();
    let after = catalog.load_part("F").unwrap();
    assert_eq!((after.entry("thickness"), after.on_hand, after.retired), (None, 0, false));
    assert_eq!((&*after.maker, after.lead_days, &*after.notes), ("", None, "old"));
    assert!(after.faces[0].is_unknown());
}

#[test]
fn a_replacing_row_is_all_there_is_to_know() {
    let (_bench, mut catalog) =
        TestDir::holding(&[("flywheels.csv", FULL), ("jobs.csv", "job,flywheel\nJ,F\n")]);
    take_with(
        &mut catalog,
        &[("flywheels.csv", "id,thickness\nF,21 mm\n"), ("jobs.csv", "job\nJ\n")],
        &replacing(),
    )
    .unwrap();
    let mut expected = Part::new("F", Kinds::standard().get("flywheel").unwrap());
    expected.set("thickness", Some(Entry::new(21_000_000, None)));
    assert_eq!(catalog.load_part("F").unwrap(), expected);
    assert_eq!(catalog.load_job("J").unwrap(), Job::new("J", Kinds::standard()));
}

#[test]
fn a_job_is_read_with_everything_it_may_say() {
    let setup = TestDir::new();
    let mut catalog = setup.catalog();
    let parts =
        "id,kind\nF,flywheel\nB,block_plate\nS,bearing_shim\nT,bearing_shim\nM,master_cylinder\n";
    let jobs = "job,description,flywheel,block_plate,bearing_shims,master_cylinder,torque,\
                crank_protrusion_in,crank_protrusion_tol_mm,crank_protrusion_over_plate,\
                clutch_height,clutch_height_bar,finger_depth_over_plate,fitted_disc_state,\
                crank_pushed,starter_on,preload_min,reserve_max_mm\n\
                J,\"a car, red\",F,B,T | S,M,450.5 N m,-0.5,0.02,Yes,60 mm,5 mm,no,worn,rear,bell,\
                0.55 in,7.5\n";
    take(&mut catalog, &[("jobs.csv", jobs), ("parts.csv", parts)]).unwrap();
    let job = catalog.load_job("J").unwrap();
    let slot = |key: &str| job.fitted[Kinds::standard().slot_named(key).unwrap()].clone();
    assert_eq!(job.description, "a car, red");
    assert_eq!(
        (slot("flywheel"), slot("bearing_shims")),
        (vec!["F".into()], vec!["S".into(), "T".into()])
    );
    assert_eq!((job.master_cylinder.as_deref(), job.torque), (Some("M"), Some(450_500)));
    let crank = Entry::new(-12_700_000, Some(20_000));
    assert_eq!(job.reading(Reading::CrankProtrusion), Some(crank));
    assert_eq!(job.reading(Reading::ClutchHeight), Some(Entry::new(55_000_000, None)));
    assert!(job.crank_over_plate && !job.depth_over_plate);
    assert_eq!(job.disc_state, DiscState::Worn);
    assert_eq!((job.crank_pushed, job.starter_on), (CrankPushed::Rear, StarterOn::Bell));
    assert_eq!(job.window[Edge::PreloadMin], Some(Length::from_thou(550)));
    assert_eq!(job.window[Edge::ReserveMax], Some(Length::from_nm(7_500_000)));
}

/// One bad file, and what has to be said about it.
#[track_caller]
fn bad(name: &str, text: &str, expected: &[&str]) {
    let error = refused(&[(name, text)]);
    assert_eq!(error.exit_status(), 2, "{error}");
    for part in expected {
        assert!(error.to_string().contains(part), "`{part}` is not in: {error}");
    }
}

#[test]
fn headers_that_are_not_known_are_told_with_the_nearest() {
    let text = "id,thicknes\nA,1 mm\n";
    bad(
        "flywheels.csv",
        text,
        &["flywheels.csv line 1 column `thicknes`", "did you mean `thickness`?"],
    );
    bad("x.csv", "id,kind,finger_heigth\nA,disc,\n", &["did you mean `finger_height`?"]);
    bad("jobs.csv", "job,fly_wheel\nA,\n", &["column `fly_wheel`", "did you mean `flywheel`?"]);
    bad(
        "disc.csv",
        "id,depth\nA,\n",
        &["column `depth`", "a disc has none; it belongs to bell_housing"],
    );
    bad("disc.csv", "id,thickness,Thickness\nA,,\n", &["there are two columns of this name"]);
    bad("disc.csv", "number,thickness\nA,\n", &["there is no column `id`", "`number`"]);
    bad("jobs.csv", "id\nA\n", &["there is no column `job`"]);
    bad("parts.csv", "name,thickness\nA,\n", &["cannot be told whether", "flywheels.csv"]);
    bad("parts.csv", "id\tthickness\nA\t1 mm\n", &["line 2: the kind of this part is not given"]);
}

#[test]
fn cells_that_cannot_be_are_told_by_file_line_and_column() {
    bad(
        "discs.csv",
        "id,thickness\nA,8\n",
        &["discs.csv line 2 column `thickness`", "no unit", "6.35 mm"],
    );
    bad("discs.csv", "id,thickness\nA,\"8,5 mm\"\n", &["decimal comma", "semicolon file"]);
    bad(
        "discs.csv",
        "id,thickness_mm\nA,\n\nB,8 mm\n",
        &["line 4 column `thickness_mm`", "in mm already"],
    );
    bad(
        "discs.csv",
        "id,thickness_in\nA,-1/8\n",
        &["column `thickness_in`: `-0.125 in` is not above zero"],
    );
    bad("discs.csv", "id,thickness\nA,101 in\n", &["beyond 100 in"]);
    bad(
        "discs.csv",
        "id,thickness,thickness_tol\nA,8 mm,-1 mm\n",
        &["column `thickness_tol`", "negative"],
    );
    bad(
        "discs.csv",
        "id,thickness,thickness_in\nA,8 mm,1\n",
        &["`thickness` and `thickness_in` are both filled"],
    );
    bad("discs.csv", "id,thickness_bar\nA,8 mm\n", &["no `thickness` to take the bar off"]);
    bad("discs.csv", "id,price\nA,1.005\n", &["column `price`", "two decimals"]);
    bad("discs.csv", "id,on_hand\nA,-1\n", &["column `on_hand`: `-1` is no whole number"]);
    bad("discs.csv", "id,status\nA,sold\n", &["`sold` is no status; write `in use` or `retired`"]);
    bad("discs.csv", "id\nA|B\n", &["`|` separates"]);
    bad("discs.csv", "id,thickness\n,1 mm\n", &["column `id`: the id is blank"]);
    let text = "id,extended_height,retracted_height_mm\nA,40 mm,45\n";
    bad(
        "bearings.csv",
        text,
        &["line 2 column `retracted_height_mm`", "not smaller than extended_height"],
    );
    let text = "id,action\nA,push\nB,pull\n";
    bad("pressure_plates.csv", text, &["line 3 column `action`", "pull-type"]);
    for ratio in ["1.49", "7.01"] {
        let text = format!("id,finger_ratio\nA,{ratio}\n");
        bad("pressure_plates.csv", &text, &["column `finger_ratio`", "outside 1.5 to 7"]);
    }
    bad("flywheels.csv", "id,ring_teeth\nA,1.5\n", &["no whole number"]);
}

#[test]
fn rows_that_cannot_be_are_told() {
    bad(
        "x.csv",
        "id,kind\nA,flywhel\n",
        &["x.csv line 2 column `kind`", "did you mean `flywheel`?"],
    );
    bad("x.csv", "id,kind\nA,\n", &["the kind of this part is not given"]);
    bad("x.csv", "id,kind,depth\nA,disc,1 mm\n", &["column `depth`: a disc has no such column"]);
    bad("disc.csv", "id,kind\nA,flywheel\n", &["the row is a flywheel", "says disc"]);
    bad(
        "discs.csv",
        "id\nA\nB\nA\n",
        &["line 4 column `id`: `A` was given before, discs.csv line 2"],
    );
    bad(
        "discs.csv",
        "id,maker\nA\nB,x,y\n",
        &["2 bad rows", "line 2: the row has 1 cells, the header has 2", "line 3"],
    );
    bad("discs.csv", "id,maker,\nA,x,y\n", &["`y` stands in a column without a name"]);
    bad("discs.csv", "id,notes\nA,\"open\nB,x\n", &["line 2", "never closed"]);
    let error = refused(&[("disc.csv", "id\nA\n"), ("flywheel.csv", "id\nA\n")]).to_string();
    assert!(
        error.contains("flywheel.csv line 2 column `id`: `A` was given before, disc.csv line 2"),
        "{error}"
    );
}

#[test]
fn jobs_that_cannot_be_are_told() {
    bad(
        "jobs.csv",
        "job,flywheel\nJ,F-1\n",
        &["jobs.csv line 2 column `flywheel`: there is no flywheel `F-1`"],
    );
    bad("jobs.csv", "job,crank_protrusion_over_plate\nJ,yes\n", &["needs the block plate"]);
    bad(
        "jobs.csv",
        "job,starter_on\nJ,roof\n",
        &["`roof` is not known here; write `block`, `bell`, `unknown`"],
    );
    bad("jobs.csv", "job,flywheel\nJ,A|B\n", &["names 2 parts, and the slot takes one part"]);
    bad("jobs.csv", "job,bearing_shims\nJ,A|B|C\n", &["two parts at most"]);
    bad("jobs.csv", "job,clutch_height\nJ,-1 mm\n", &["column `clutch_height`", "not above zero"]);
    bad("jobs.csv", "job,torque\nJ,0\n", &["column `torque`", "not above zero"]);
    bad(
        "jobs.csv",
        "job,preload_min,preload_max\nJ,2 in,1 in\n",
        &["preload_min 2.000 in is above"],
    );
    let error = refused(&[
        ("parts.csv", "id,kind,pack_thickness\nP,pressure_plate,40 mm\nD,disc,\n"),
        ("jobs.csv", "job,pressure_plate,disc,flywheel\nJ,P,D,D\n"),
    ]);
    assert!(
        error.to_string().contains("column `flywheel`: `D` is a disc, not a flywheel"),
        "{error}"
    );
    assert!(error.to_string().contains("a matched set brings its own discs"), "{error}");
    let error = refused(&[
        ("flywheels.csv", "id,thickness\nF-12,1\n"),
        ("jobs.csv", "job,flywheel\nJ,F-12\nK,F-13\n"),
    ]);
    assert!(error.to_string().contains("2 bad rows"), "a bad part is no missing one: {error}");
    assert!(error.to_string().contains("did you mean `F-12`?"), "{error}");
}

#[test]
fn files_that_cannot_be_read_are_told() {
    bad("discs.csv", "", &["discs.csv line 1: the file is empty"]);
    bad("discs.csv", "\u{feff}\n\n", &["the file is empty"]);
    bad("discs.csv", "\u{feff}\u{feff}\"id\",maker\r\nA\r\n", &["line 2: the row has 1 cells"]);
    let setup = TestDir::new();
    let none =
        Source { name: "discs.csv".into(), bytes: b"id,maker\nA,x\nB,caf\x00\x01\n".to_vec() };
    let error = import(&mut setup.catalog(), &stamp(), &[none], &Options::default()).unwrap_err();
    assert_eq!(error.exit_status(), 2);
    assert!(
        error.to_string().contains("discs.csv line 3: this is neither text nor a workbook"),
        "{error}"
    );
    let error = Source::read(setup.dir()).unwrap_err();
    assert_eq!(error.exit_status(), 2);
    assert!(error.to_string().contains("is a directory"), "{error}");
    let error = Source::read(&setup.path("gone.csv")).unwrap_err();
    assert_eq!(error.exit_status(), 3);
    assert!(error.to_string().contains("no such file"), "{error}");
}

#[test]
fn a_file_with_a_header_only_is_fine_and_told() {
    let setup = TestDir::new();
    let told = take(&mut setup.catalog(), &[("discs.csv", "id,thickness\n")]).unwrap();
    assert_eq!(told.files[0].rows, 0);
    assert_eq!(told.warnings, ["discs.csv: there is no row under the header"]);
}

#[test]
fn every_bad_row_of_all_files_is_counted_and_nothing_is_stored() {
    let rows: Vec<String> = (0..30).map(|row| format!("A-{row},1\n")).collect();
    let text = format!("id,thickness\n{}", rows.concat());
    let jobs = "job,torque\nJ,x\n";
    let error = refused(&[("discs.csv", &text), ("jobs.csv", jobs)]);
    assert!(error.advice().is_some_and(|hint| hint.contains("--problems")), "{error}");
    let error = error.message();
    assert!(error.starts_with("nothing was stored: 31 bad rows\n"), "{error}");
    assert!(error.contains("line 21 ") && !error.contains("line 22 "), "{error}");
    assert!(error.ends_with("and 11 more bad rows"), "{error}");
    assert_eq!(error.lines().count(), 22);
}

#[test]
fn a_part_keeps_its_kind_and_the_jobs_that_name_it_stay_right() {
    let setup = TestDir::new();
    let mut catalog = setup.catalog();
    take(
        &mut catalog,
        &[
            ("parts.csv", "id,kind\nP,pressure_plate\nD,disc\n"),
            ("jobs.csv", "job,pressure_plate,disc\nJ,P,D\n"),
        ],
    )
    .unwrap();
    let error = take_with(&mut catalog, &[("discs.csv", "id\nP\n")], &replacing()).unwrap_err();
    assert!(
        error.to_string().contains("`P` is a pressure_plate in the catalog, not a disc"),
        "{error}"
    );
    let set = [("pressure_plates.csv", "id,pack_thickness\nP,40 mm\n")];
    let error = take(&mut catalog, &set).unwrap_err().to_string();
    assert!(error.contains("pressure_plates.csv line 2: the job `J` names this part"), "{error}");
    let pairs = ["pack_thickness=40 mm".to_string()];
    let error = catalog
        .write(&stamp(), |writer| edit_part(writer, "P", (&pairs, &Meant::none())))
        .unwrap_err()
        .to_string();
    assert!(error.contains("the job `J` names `P`"), "{error}");
    assert!(!catalog.load_part("P").unwrap().is_matched_set());
    let both = [set[0], ("jobs.csv", "job,disc\nJ,\n")];
    take(&mut catalog, &both).unwrap();
}

#[test]
fn an_unusual_ratio_is_a_warning() {
    let setup = TestDir::new();
    let mut catalog = setup.catalog();
    let text = "id,finger_ratio\nA,3.8\nB,6\n";
    let told = take(&mut catalog, &[("pressure_plates.csv", text)]).unwrap();
    assert_eq!(told.warnings.len(), 1);
    assert!(told.warnings[0].starts_with("pressure_plates.csv line 3: "), "{:?}", told.warnings);
}

#[test]
fn a_dry_run_says_what_would_be_and_stores_nothing() {
    let setup = TestDir::new();
    let mut catalog = setup.catalog();
    let dry = Options { dry_run: true, ..Options::default() };
    let told = take_with(&mut catalog, &[("discs.csv", "id\nA\n")], &dry).unwrap();
    assert_eq!(told.parts.added, 1);
    assert!(setup.files().is_empty());
    take(&mut catalog, &[("discs.csv", "id\nA\n")]).unwrap();
    let before = fs::read(setup.path("shop.db")).unwrap();
    let mut reader = setup.open(Access::Read).unwrap();
    let told = take_with(&mut reader, &[("discs.csv", "id,maker\nA,x\nB,\n")], &dry).unwrap();
    assert_eq!(told.parts, Tally { added: 1, updated: 1, unchanged: 0 });
    assert!(take_with(&mut reader, &[("discs.csv", "id,thickness\nA,1\n")], &dry).is_err());
    assert_eq!(fs::read(setup.path("shop.db")).unwrap(), before);
}

#[test]
fn parts_and_jobs_by_hand_follow_the_rules_of_the_columns() {
    let setup = TestDir::new();
    let mut catalog = setup.catalog();
    let pairs = |list: &[&str]| list.iter().map(|pair| (*pair).to_string()).collect::<Vec<_>>();
    let good =
        pairs(&["thickness_in=0.25", "thickness_tol=2 thou", "notes=a=b", "Maker= Invented "]);
    catalog
        .write(&stamp(), |writer| add_part(writer, "flywheel", "F", (&good, &Meant::none())))
        .unwrap();
    let part = catalog.load_part("F").unwrap();
    assert_eq!(entry(&catalog, "F", "thickness"), Some((6_350_000, Some(50_800))));
    assert_eq!((&*part.notes, &*part.maker), ("a=b", "Invented"));
    let change = pairs(&["thickness=", "status=retired"]);
    catalog.write(&stamp(), |writer| edit_part(writer, "F", (&change, &Meant::none()))).unwrap();
    assert_eq!(entry(&catalog, "F", "thickness"), None);
    assert!(catalog.load_part("F").unwrap().retired);
    catalog
        .write(&stamp(), |writer| {
            add_job(writer, "J", (&pairs(&["flywheel=F", "torque=300"]), &Meant::none()))
        })
        .unwrap();
    catalog
        .write(&stamp(), |writer| {
            edit_job(writer, "J", (&pairs(&["flywheel=", "starter_on=bell"]), &Meant::none()))
        })
        .unwrap();
    let job = catalog.load_job("J").unwrap();
    assert_eq!((job.torque, job.starter_on), (Some(300_000), StarterOn::Bell));
    assert!(job.fitted.iter().all(Vec::is_empty));

    let mut refuses = |pair: &str, expected: &str| {
        let list = pairs(&[pair]);
        let error = if let Some(pair) = pair.strip_prefix("job:") {
            let list = pairs(&[pair]);
            catalog
                .write(&stamp(), |writer| edit_job(writer, "J", (&list, &Meant::none())))
                .unwrap_err()
        } else {
            catalog
                .write(&stamp(), |writer| {
                    edit_part(writer, "F", (&list, &Meant::none())).map(|_| ())
                })
                .unwrap_err()
        };
        assert_eq!(error.exit_status(), 2);
        assert!(error.to_string().contains(expected), "{error}");
    };
    refuses("thicknes=1 in", "did you mean `thickness`?");
    refuses("thickness=1", "`thickness`: `1` has no unit");
    refuses("thickness", "`thickness` is no `KEY=VALUE`");
    refuses("id=G", "cannot be changed");
    refuses("kind=disc", "cannot be changed");
    refuses("job:flywheel=G", "there is no flywheel `G`");
    refuses("job:starteron=bell", "did you mean `starter_on`?");
    let two = pairs(&["thickness=1", "price=x"]);
    let error = catalog
        .write(&stamp(), |writer| edit_part(writer, "F", (&two, &Meant::none())))
        .unwrap_err()
        .to_string();
    assert!(error.starts_with("2 values are wrong\n"), "{error}");
    let error = catalog
        .write(&stamp(), |writer| add_part(writer, "flywhel", "G", (&[], &Meant::none())))
        .unwrap_err()
        .to_string();
    assert!(error.contains("did you mean `flywheel`?"), "{error}");
    let error = catalog
        .write(&stamp(), |writer| add_part(writer, "disc", "F", (&[], &Meant::none())))
        .unwrap_err()
        .to_string();
    assert!(error.contains("there is a part `F` already"), "{error}");
}
