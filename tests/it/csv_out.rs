//! CSV out: what is exported reads back, and files follow from the table of kinds.

use std::fs;

use bellstack::catalog::csv::{
    CsvFile, Options, column_help, export, export_one, templates, to_write, write_files,
};
use bellstack::catalog::{Access, Catalog};
use bellstack::model::agreed::Agreed;
use bellstack::model::edge::Edge;
use bellstack::model::faces::Names;
use bellstack::model::job::{CrankPushed, DiscState, Job, READINGS, StarterOn};
use bellstack::model::kinds::{Assumed, DimSpec, KindSpec, Kinds, Quantity, Sign};
use bellstack::model::length::{Length, Unit};
use bellstack::model::money::Cents;
use bellstack::model::part::{Entry, Part};
use bellstack::model::pieces::{
    Condition, Instrument, LimitOfError, Measurements, ReadingSet, Specimen,
};

use bellstack::model::usual::Meant;

use crate::support::{Dice, TestDir, stamp, take, take_with};

const FULL: &str = "id,maker,price,on_hand,lead_days,status,notes,thickness,thickness_tol,crank_pattern\n\
                    F,Invented,10,2,5,retired,old,20 mm,0.1 mm,six\n";

fn text(dice: &mut Dice) -> String {
    let bits = [
        "=1+1",
        "a",
        ",",
        ";",
        "\"",
        "\n",
        "\r\n",
        " ",
        "\u{e9}\u{1F527}",
        "1/4\"",
        "|",
        "'",
        "\t",
        "x",
    ];
    (0..dice.roll(6))
        .map(|_| *dice.pick(&bits))
        .collect::<String>()
        .trim_matches([' ', '\t', '\r', '\n'])
        .to_string()
}

fn nanometres(dice: &mut Dice, sign: Sign) -> i64 {
    let size = *dice.pick(&[100, 1_000_000, 60_000_000, 2_540_000_000]);
    let value = i64::try_from(dice.roll(size)).unwrap() + 1;
    let value = if dice.roll(3) == 0 { value / 25_400 * 25_400 + 25_400 } else { value };
    let value = value.min(2_540_000_000);
    if sign == Sign::Any && dice.roll(2) == 0 { -value } else { value }
}

fn random_part(dice: &mut Dice, kind: &'static KindSpec, id: &str) -> Part {
    loop {
        let mut part = Part::new(id, kind);
        part.maker = text(dice);
        part.description = text(dice);
        part.notes = text(dice);
        part.price =
            (dice.roll(2) == 0).then(|| Cents::new(i64::try_from(dice.roll(1_000_000)).unwrap()));
        part.on_hand = u32::try_from(dice.roll(4)).unwrap();
        part.lead_days = (dice.roll(2) == 0).then_some(7);
        part.retired = dice.roll(5) == 0;
        for (index, dim) in kind.dims.iter().enumerate() {
            if dice.roll(3) == 0 {
                continue;
            }
            let value = match dim.quantity {
                Quantity::Length => nanometres(dice, dim.sign),
                Quantity::Ratio => 1_500_000 + i64::try_from(dice.roll(5_500_000)).unwrap(),
                Quantity::Count => 1 + i64::try_from(dice.roll(200)).unwrap(),
                Quantity::Torque => 1 + i64::try_from(dice.roll(1_000_000)).unwrap(),
            };
            let tol = (dice.roll(2) == 0).then(|| i64::try_from(dice.roll(100_001)).unwrap());
            part.dims[index] = Some(Entry::new(value, tol));
        }
        for face in &mut part.faces {
            let names = ["", "*", "six", "six|eight", "a \"b\",c"];
            *face = Names::parse(dice.pick::<&str>(&names));
        }
        for (fact, word) in kind.facts.iter().zip(&mut part.facts) {
            *word = (dice.roll(2) == 0).then(|| fact.accepted[0].to_string());
        }
        if part.validate().is_ok() {
            return part;
        }
    }
}

fn random_job(dice: &mut Dice, parts: &[Part], id: String) -> Job {
    let kinds = Kinds::standard();
    let mut job = Job::new(id, kinds);
    job.description = text(dice);
    let mut of = |kind: &str| -> Option<String> {
        let some: Vec<&Part> = parts.iter().filter(|part| part.kind.key == kind).collect();
        (!some.is_empty() && dice.roll(2) == 0).then(|| dice.pick(&some).id.clone())
    };
    for (index, (kind, _)) in kinds.slots().enumerate() {
        job.fitted[index].extend(of(kind.key));
        if kind.key == "bearing_shim" {
            job.fitted[index].extend(of(kind.key));
            job.fitted[index].sort_unstable();
        }
    }
    job.master_cylinder = of("master_cylinder");
    let plate = job.fitted[kinds.slot_named("pressure_plate").unwrap()].first();
    if parts.iter().any(|part| Some(&part.id) == plate && part.is_matched_set()) {
        job.fitted[kinds.slot_named("disc").unwrap()].clear();
    }
    for (spec, reading) in READINGS.iter().zip(&mut job.readings) {
        let sign = if spec.signed { Sign::Any } else { Sign::Positive };
        let tol = (dice.roll(2) == 0).then_some(25_401);
        *reading = (dice.roll(2) == 0).then(|| Entry::new(nanometres(dice, sign), tol));
    }
    let has_plate = !job.fitted[kinds.slot_named("block_plate").unwrap()].is_empty();
    job.crank_over_plate = has_plate && dice.roll(2) == 0;
    job.depth_over_plate = has_plate && dice.roll(2) == 0;
    job.disc_state = *dice.pick(&[DiscState::New, DiscState::Worn, DiscState::Unknown]);
    job.crank_pushed = *dice.pick(&[CrankPushed::Front, CrankPushed::Unknown]);
    job.starter_on = *dice.pick(&[StarterOn::Block, StarterOn::Bell]);
    job.torque = (dice.roll(2) == 0).then_some(450_501);
    job.window[Edge::PreloadMin] =
        (dice.roll(2) == 0).then(|| Length::from_nm(nanometres(dice, Sign::Any)));
    job.window[Edge::ReserveMax] =
        (dice.roll(2) == 0).then(|| Length::from_nm(nanometres(dice, Sign::Any)));
    job
}

/// Pieces of the parts, readings on them and instruments, in the order in which they are stored.
fn random_measurements(dice: &mut Dice, parts: &[Part]) -> Measurements {
    let nm = |dice: &mut Dice| Length::from_nm(nanometres(dice, Sign::Positive));
    let instruments: Vec<Instrument> = (0..dice.roll(3))
        .map(|n| Instrument {
            name: format!("gauge {n}"),
            description: text(dice),
            resolution: (dice.roll(2) == 0).then(|| nm(dice)),
            limits: (1..=i64::try_from(dice.roll(3)).unwrap())
                .map(|n| LimitOfError { up_to: Length::from_nm(n * 25_400_001), limit: nm(dice) })
                .collect(),
            source: text(dice),
        })
        .collect();
    let mut measured = Measurements { instruments, ..Measurements::default() };
    for part in parts.iter().filter(|part| !part.kind.dims.is_empty()) {
        for label in ["1", "two \"b\",c"].into_iter().take(usize::try_from(dice.roll(3)).unwrap()) {
            let mut piece = Specimen::new(&part.id, label, *dice.pick(&Condition::ALL));
            piece.in_hand = dice.roll(3) > 0;
            piece.notes = text(dice);
            for _ in 0..dice.roll(4) {
                let spec = dice.pick(part.kind.dims);
                let mut set = ReadingSet::new(&part.id, label, spec.key);
                let value = |dice: &mut Dice| match spec.quantity {
                    Quantity::Length => nanometres(dice, spec.sign),
                    Quantity::Ratio => 1_500_000 + i64::try_from(dice.roll(5_500_000)).unwrap(),
                    Quantity::Count | Quantity::Torque => {
                        1 + i64::try_from(dice.roll(200)).unwrap()
                    }
                };
                set.values = (0..=dice.roll(3)).map(|_| value(dice)).collect();
                let gauge = measured.instruments.first().map(|gauge| gauge.name.clone());
                set.instrument = gauge.filter(|_| dice.roll(2) == 0);
                set.by = text(dice);
                set.date = (*dice.pick(&["", "2026-02-28"])).into();
                set.struck = (dice.roll(3) == 0).then(|| "read over burrs".into());
                set.number = i64::try_from(measured.readings.len()).unwrap() + 1;
                // Two sets may be alike, as where somebody reads the same place twice.
                if dice.roll(4) == 0 {
                    measured.readings.push(set.clone());
                    set.number += 1;
                }
                measured.readings.push(set);
            }
            measured.specimens.push(piece);
        }
    }
    measured
}

fn take_files(catalog: &mut Catalog, files: &[CsvFile]) {
    let files: Vec<(&str, &str)> =
        files.iter().map(|f| (f.name.as_str(), f.text.as_str())).collect();
    // A pattern's name may have a comma in it.
    let agreed = Agreed::read(&["faces".to_string()]).unwrap();
    let options = Options { meant: Meant::all(), agreed, ..Options::default() };
    take_with(catalog, &files, &options).unwrap();
}

#[test]
fn an_exported_catalog_imports_to_the_same_catalog_to_the_nanometre() {
    let ids = ["=A 1", "B,2", "C;\"3\"", "\u{e4}\u{df} 4", "-5", "6'"];
    for seed in 0..16 {
        let mut dice = Dice::new(seed);
        let mut parts = Vec::new();
        for kind in Kinds::standard().iter() {
            for _ in 0..dice.roll(4) {
                let id = format!("{}{}", dice.pick(&ids), parts.len());
                parts.push(random_part(&mut dice, kind, &id));
            }
        }
        let measured = random_measurements(&mut dice, &parts);
        let mut jobs: Vec<Job> =
            (0..3).map(|n| random_job(&mut dice, &parts, format!("{n} {}", ids[n]))).collect();
        for id in jobs.iter_mut().flat_map(|job| job.fitted.iter_mut().flatten()) {
            let piece = measured.specimens.iter().find(|piece| piece.part == *id);
            if let Some(piece) = piece.filter(|_| dice.roll(2) == 0) {
                *id = piece.id();
            }
        }
        // One piece does not stand in two places.
        for ids in jobs.iter_mut().flat_map(|job| job.fitted.iter_mut()) {
            ids.dedup_by(|a, b| a == b && a.contains('#'));
            ids.sort_unstable();
        }
        let setup = TestDir::new();
        let mut catalog = setup.catalog();
        catalog
            .write(&stamp(), |writer| {
                parts.iter().try_for_each(|part| writer.insert(part))?;
                let Measurements { specimens, readings, instruments } = &measured;
                instruments.iter().try_for_each(|gauge| writer.insert(gauge))?;
                specimens.iter().try_for_each(|piece| writer.insert(piece))?;
                for set in readings {
                    assert_eq!(writer.insert_reading(set)?, set.number);
                }
                jobs.iter().try_for_each(|job| writer.insert(job))
            })
            .unwrap();
        let library = catalog.load_library().unwrap();
        let stored = catalog.load_jobs().unwrap();
        for unit in [Unit::In, Unit::Mm] {
            let again = TestDir::new();
            let mut copy = again.catalog();
            take_files(&mut copy, &export(&library, &stored, None, unit).unwrap());
            let taken = copy.load_library().unwrap();
            assert_eq!(taken.parts, library.parts, "seed {seed}");
            assert_eq!(taken.measured, library.measured, "seed {seed}");
            assert_eq!(copy.load_jobs().unwrap(), stored, "seed {seed}");
            assert_eq!(taken.measured.readings.len(), measured.readings.len());

            // The same files once more change nothing.
            take_files(&mut copy, &export(&library, &stored, None, unit).unwrap());
            assert_eq!(copy.load_library().unwrap().measured, library.measured, "seed {seed}");

            let again = TestDir::new();
            let mut copy = again.catalog();
            take_files(&mut copy, &[export_one(&library, &stored, None, unit).unwrap()]);
            assert_eq!(copy.load_library().unwrap().parts, library.parts, "seed {seed}");
        }
    }
}

#[test]
fn an_export_is_one_file_for_each_kind_or_one_stream() {
    let (bench, mut catalog) =
        TestDir::holding(&[("flywheels.csv", FULL), ("jobs.csv", "job,flywheel\nJ,F\n")]);
    let library = catalog.load_library().unwrap();
    let jobs = catalog.load_jobs().unwrap();
    let files = export(&library, &jobs, None, Unit::In).unwrap();
    assert_eq!(files.len(), Kinds::standard().iter().count() + 5);
    let out = bench.path("out/deep");
    let written = to_write(&files, &out, false);
    write_files(&written, &out).unwrap();
    let names: Vec<&str> = written.iter().map(|file| file.name.as_str()).collect();
    assert_eq!(names, ["flywheels.csv", "jobs.csv", "instruments.csv", "window.csv"]);
    let text = fs::read_to_string(out.join("flywheels.csv")).unwrap();
    assert!(
        text.contains("\nF,flywheel,Invented,,10.00,2,5,retired,old,20.00 mm,0.10 mm,"),
        "{text}"
    );

    // A kind that has no part any more leaves no old parts behind.
    catalog
        .write(&stamp(), |w| {
            w.reader()
                .load_job("J")
                .and_then(|it| w.remove(&it))
                .and_then(|()| w.reader().load_part("F").and_then(|it| w.remove(&it)))
        })
        .unwrap();
    let library = catalog.load_library().unwrap();
    let now = export(&library, &[], None, Unit::In).unwrap();
    write_files(&to_write(&now, &out, false), &out).unwrap();
    let text = fs::read_to_string(out.join("flywheels.csv")).unwrap();
    assert_eq!(text.lines().count(), 1);

    let one = export_one(&library, &jobs, Some("jobs"), Unit::In).unwrap();
    assert_eq!((one.name.as_str(), one.rows), ("jobs.csv", 1));
    let error = export_one(&library, &jobs, Some("flywhels"), Unit::In).unwrap_err();
    assert!(error.to_string().contains("did you mean `flywheel`?"), "{error}");
    fs::write(bench.path("file"), "").unwrap();
    let all: Vec<&CsvFile> = files.iter().collect();
    assert_eq!(write_files(&all, &bench.path("file")).unwrap_err().exit_status(), 3);
}

#[test]
fn the_templates_in_the_repository_follow_from_the_table_of_kinds() {
    let directory = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("catalog/templates");
    let templates = templates(Kinds::standard());
    if std::env::var_os("BELLSTACK_REWRITE").is_some() {
        for file in &templates {
            fs::write(directory.join(&file.name), &file.text).unwrap();
        }
    }
    let mut names: Vec<String> = fs::read_dir(&directory)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort_unstable();
    let mut expected: Vec<&str> = templates.iter().map(|file| file.name.as_str()).collect();
    expected.sort_unstable();
    assert_eq!(names, expected, "BELLSTACK_REWRITE=1 writes them anew");
    for file in &templates {
        let found = fs::read_to_string(directory.join(&file.name)).unwrap();
        assert_eq!(found, file.text, "{}: BELLSTACK_REWRITE=1 writes it anew", file.name);
    }
}

/// The standard table with one kind more.
fn with_heat_shield() -> Kinds {
    const THICKNESS: DimSpec = DimSpec {
        key: "thickness",
        quantity: Quantity::Length,
        needed: true,
        sign: Sign::Positive,
        enters: &[],
        assumed: Assumed::Unneeded,
        stand_in: &[],
        blank: None,
        usual: None,
        usual_less: None,
        sides: None,
        about: "face to face",
    };
    let mut table: Vec<KindSpec> = Kinds::standard().iter().copied().collect();
    table.push(KindSpec {
        key: "heat_shield",
        plural: "heat_shields",
        name: "heat shield",
        slot: None,
        dims: &[THICKNESS],
        faces: &[],
        facts: &[],
    });
    Kinds::new(Vec::leak(table))
}

#[test]
fn a_kind_that_is_added_to_the_table_goes_through_every_file() {
    let kinds = with_heat_shield();
    let setup = TestDir::new();
    let path = setup.path("shop.db");
    let mut catalog = Catalog::open(&path, kinds, Access::Create).unwrap();
    let template =
        templates(kinds).into_iter().find(|file| file.name == "heat_shields.csv").unwrap();
    assert!(
        template.text.ends_with("notes,formerly,thickness,thickness_tol,thickness_bar\n"),
        "{}",
        template.text
    );
    assert!(column_help(kinds, "heat_shields").unwrap().contains(&(
        "thickness",
        "_tol _bar".to_string(),
        "face to face"
    )));
    let file = format!("{}H-1,,,,,,,,,,,1/8 in,0.1 mm,\n", template.text);
    take(&mut catalog, &[("heat_shields.csv", &file)]).unwrap();
    let error =
        take(&mut catalog, &[("heat_shield.csv", "id,thickness\nH-2,-1 mm\n")]).unwrap_err();
    assert!(error.to_string().contains("not above zero"), "{error}");
    let library = catalog.load_library().unwrap();
    let part = library.find("H-1").unwrap();
    assert_eq!(part.entry("thickness"), Some(Entry::new(3_175_000, Some(100_000))));
    let file = export_one(&library, &[], Some("heat_shield"), Unit::In).unwrap();
    assert!(
        file.text.ends_with("H-1,heat_shield,,,,0,,in use,,0.125 in,0.10 mm\n"),
        "{}",
        file.text
    );
    let error = setup.open(Access::Read).unwrap().load_library().unwrap_err();
    assert!(error.to_string().contains("kind `heat_shield`"), "{error}");
}
