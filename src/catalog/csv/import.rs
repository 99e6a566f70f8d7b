//! Importing CSV files: all of it is good and stored, or nothing is.

use std::path::Path;

use super::holds::{Forms, Holds};
use super::plan::{Action, Plan, Planned, Planner, Stored as Before};
use super::plan_measured::Readings;
use super::sheet::Sheet;
use super::source::Source;
use crate::catalog::{Catalog, Reader, Stored, Writer};
use crate::error::Result;
use crate::model::bars::Entered;
use crate::model::history::Stamp;
use crate::model::job::Job;
use crate::model::kinds::Kinds;
use crate::model::library::Library;
use crate::model::pieces::Instrument;
use crate::model::usual::Meant;

/// How to import.
#[derive(Debug, Clone, Default)]
pub struct Options<'a> {
    /// What every file holds: a kind, or `jobs`. Where it is not given, each file says so itself.
    pub kind: Option<&'a str>,
    /// A row is all there is to know of its part or job: what has no column is blanked too.
    pub replace: bool,
    /// Nothing is stored.
    pub dry_run: bool,
    /// The values that are meant though they are unusual.
    pub meant: Meant,
    /// A file that is not there yet, into which all that is wrong is written.
    pub problems: Option<&'a Path>,
}

/// What became of the rows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Tally {
    /// New ones.
    pub added: usize,
    /// Ones that were there and changed.
    pub updated: usize,
    /// Ones that were there just like this.
    pub unchanged: usize,
}

/// One file and its rows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FileCount {
    /// The file's name as it was given.
    pub name: String,
    /// How many rows stand under its header.
    pub rows: usize,
}

/// What an import did, or would do.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Imported {
    /// The files, in the order given.
    pub files: Vec<FileCount>,
    /// What became of the parts.
    pub parts: Tally,
    /// What became of the jobs.
    pub jobs: Tally,
    /// What became of the pieces.
    pub pieces: Tally,
    /// What became of the sets of readings: an updated one was struck out, an unchanged one was
    /// there already.
    pub readings: Tally,
    /// What became of the instruments.
    pub instruments: Tally,
    /// What became of the house numbers.
    pub house: Tally,
    /// What is unusual but possible.
    pub warnings: Vec<String>,
    /// Lengths that were entered over a bar or with a side, each with the part or job that it is of.
    pub entered: Vec<(String, Entered)>,
}

/// Imports files into a catalog in one transaction. A number that is in the catalog is updated in
/// the columns given; the parts of all files are taken before their pieces, readings and jobs, which
/// may name them. A set of readings that is there already is passed over, so that one file can be
/// taken again as it grows.
///
/// # Errors
///
/// An input error that lists every bad row of all files, and a storage error where the catalog
/// cannot be written.
pub fn import(
    catalog: &mut Catalog,
    stamp: &Stamp,
    sources: &[Source],
    options: &Options<'_>,
) -> Result<Imported> {
    let kinds = catalog.kinds();
    let asked = options.kind.map(|name| Holds::asked(kinds, name)).transpose()?;
    let forms = Forms::new(kinds);
    let names: Vec<String> =
        sources.iter().map(|source| source.name.display().to_string()).collect();
    let plan = |library: &Library, jobs: &[Job]| {
        let mut planner = Planner::new(&forms, &names, options.replace, &options.meant);
        plan(library, jobs, sources, asked, &mut planner);
        let Planner { problems, plan, .. } = planner;
        if problems.is_empty() {
            Ok(plan)
        } else {
            Err(problems.into_error(&names, options.problems))
        }
    };
    let before = |reader: &Reader<'_>| Ok((reader.load_library()?, reader.load_jobs()?));
    if options.dry_run {
        let (library, jobs) = catalog.read(before)?;
        return Ok(told(&plan(&library, &jobs)?, &names));
    }
    let was_there = catalog.exists();
    catalog.write(stamp, |writer| {
        let (library, jobs) = before(writer.reader())?;
        let plan = plan(&library, &jobs)?;
        if was_there && changes(&plan) {
            writer.keep_copy("import")?;
        }
        store(writer, &plan, &Before::new(&library, &jobs))?;
        Ok(told(&plan, &names))
    })
}

fn plan(
    library: &Library,
    jobs: &[Job],
    sources: &[Source],
    asked: Option<Holds>,
    planner: &mut Planner<'_>,
) {
    let forms = planner.forms;
    let sheets: Vec<Option<Sheet>> = sources
        .iter()
        .enumerate()
        .map(|(file, source)| Sheet::read(source, file, asked, forms, &mut planner.problems))
        .collect();
    let lost = sheets.iter().any(Option::is_none);
    let stored = Before::new(library, jobs);
    let sheets_of = |wanted: fn(Holds) -> bool| {
        sheets.iter().flatten().filter(move |sheet| wanted(sheet.holds))
    };
    for sheet in sheets_of(|holds| holds == Holds::House) {
        planner.house(sheet, &stored);
    }
    for sheet in sheets_of(|holds| matches!(holds, Holds::Parts(_))) {
        planner.parts(sheet, &stored);
    }
    for sheet in sheets_of(|holds| holds == Holds::Pieces) {
        planner.pieces(sheet, &stored);
    }
    for sheet in sheets_of(|holds| holds == Holds::Instruments) {
        planner.instruments(sheet, &stored);
    }
    let mut there = Readings::new(&library.measured);
    for sheet in sheets_of(|holds| holds == Holds::Readings) {
        planner.readings(sheet, &stored, &mut there);
    }
    for sheet in sheets_of(|holds| holds == Holds::Jobs) {
        planner.jobs(sheet, &stored);
    }
    // Where a file could not be read at all, its parts would only be missed once more.
    if !lost {
        planner.check_jobs(library, jobs);
    }
}

/// Whether a plan changes anything.
fn changes(plan: &Plan) -> bool {
    let Tally { added, updated, .. } = plan.numbers;
    let tallies = [tally(&plan.parts), tally(&plan.jobs), tally(&plan.pieces)];
    let more = [tally(&plan.readings), tally(&plan.instruments)];
    let changed = |tally: &Tally| tally.added + tally.updated > 0;
    added + updated > 0 || tallies.iter().chain(&more).any(changed)
}

/// Stores a plan. What a changed thing was before is at hand, so that nothing is read again.
fn store(writer: &Writer<'_>, plan: &Plan, stored: &Before<'_>) -> Result<()> {
    if let Some(house) = &plan.house {
        writer.save_house(house)?;
    }
    each(writer, &plan.parts, |part| stored.parts.get(part.id.as_str()).copied())?;
    each(writer, &plan.pieces, |piece| {
        stored.pieces.get(&(piece.part.as_str(), piece.label.as_str())).copied()
    })?;
    each(writer, &plan.instruments, |instrument| {
        stored.measured.and_then(|measured| measured.instrument(&instrument.name))
    })?;
    for Planned { item: set, action, .. } in &plan.readings {
        match action {
            Action::Add => writer.insert_reading(set).map(|_| ())?,
            Action::Update => {
                writer.strike_reading(set.number, set.struck.as_deref().unwrap_or_default())?;
            }
            Action::Leave => {}
        }
    }
    each(writer, &plan.jobs, |job| stored.jobs.get(job.id.as_str()).copied())
}

fn each<'s, T: Stored + 's>(
    writer: &Writer<'_>,
    planned: &[Planned<T>],
    old: impl Fn(&T) -> Option<&'s T>,
) -> Result<()> {
    planned.iter().try_for_each(|planned| match (planned.action, old(&planned.item)) {
        (Action::Leave, _) => Ok(()),
        (Action::Update, Some(old)) => writer.replace(old, &planned.item),
        (Action::Update, None) => writer.update(&planned.item),
        (Action::Add, _) => writer.insert(&planned.item),
    })
}

fn told(plan: &Plan, names: &[String]) -> Imported {
    let files: Vec<FileCount> = names
        .iter()
        .enumerate()
        .map(|(file, name)| FileCount {
            name: name.clone(),
            rows: plan.rows.get(&file).copied().unwrap_or(0),
        })
        .collect();
    let empty = files.iter().filter(|file| file.rows == 0);
    let empty = empty.map(|file| format!("{}: there is no row under the header", file.name));
    let warnings = plan.warnings.iter().cloned().chain(empty).collect();
    Imported {
        files,
        parts: tally(&plan.parts),
        jobs: tally(&plan.jobs),
        pieces: tally(&plan.pieces),
        readings: tally(&plan.readings),
        instruments: tally(&plan.instruments),
        house: plan.numbers,
        warnings,
        entered: plan.entered.clone(),
    }
}

fn tally<T>(planned: &[Planned<T>]) -> Tally {
    let count = |action| planned.iter().filter(|planned| planned.action == action).count();
    Tally {
        added: count(Action::Add),
        updated: count(Action::Update),
        unchanged: count(Action::Leave),
    }
}

/// The published instruments with which a catalog begins.
///
/// # Errors
///
/// Only where the program's own file were not as it has to be; a test reads it.
pub(crate) fn published_instruments() -> Result<Vec<Instrument>> {
    const NAME: &str = "instruments.csv";
    let source = Source::embedded(NAME, include_str!("../../../catalog/reference/instruments.csv"));
    let (forms, names) = (Forms::new(Kinds::standard()), [NAME.to_string()]);
    let meant = Meant::all();
    let mut planner = Planner::new(&forms, &names, false, &meant);
    if let Some(sheet) = Sheet::read(&source, 0, None, &forms, &mut planner.problems) {
        planner.instruments(&sheet, &Before::default());
    }
    let Planner { problems, plan, .. } = planner;
    if !problems.is_empty() {
        return Err(problems.into_error(&names, None));
    }
    Ok(plan.instruments.into_iter().map(|planned| planned.item).collect())
}
