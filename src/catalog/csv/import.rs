//! Importing CSV files: all of it is good and stored, or nothing is.

use std::collections::HashSet;
use std::path::Path;

use super::becomes;
use super::export::CsvFile;
use super::files::tables;
use super::holds::{Forms, Holds};
use super::opened::{SheetRules, SheetsFound, Strange};
use super::others::{self, Reasons};
use super::plan::Planner;
use super::plan_measured::StoredReadings;
use super::planned::{Action, Before, ImportPlan, Planned, Tally};
use super::problems::Problems;
use super::sheet::Sheet;
use super::source::Source;
use super::table::Table;
use crate::catalog::{Catalog, Reader, Stored, Writer};
use crate::error::{Error, Result};
use crate::model::agreed::{Agreed, AskedTopic, Doubt};
use crate::model::bars::Entered;
use crate::model::headings::Headings;
use crate::model::history::{Becomes, Stamp};
use crate::model::job::Job;
use crate::model::kinds::Kinds;
use crate::model::library::Library;
use crate::model::pieces::Instrument;
use crate::model::usual::Meant;

/// How to import.
#[allow(clippy::struct_excessive_bools, reason = "each is a flag of the command")]
#[derive(Debug, Clone, Default)]
pub struct Options<'a> {
    /// What every file holds: a kind, or `jobs`. Where it is not given, each file says so itself.
    pub kind: Option<&'a str>,
    /// A row is all there is to know of its part or job: what has no column is blanked too.
    pub replace: bool,
    /// Nothing is stored, and what would become of each thing is told field by field.
    pub dry_run: bool,
    /// The values that are meant though they are unusual.
    pub meant: Meant,
    /// A file that is not there yet, into which all that is wrong is written.
    pub problems: Option<&'a Path>,
    /// What was agreed to.
    pub agreed: Agreed,
    /// The files are lists of prices: known parts alone are changed, in their prices and lead days.
    pub prices: bool,
    /// Where the rows go that are not good, so that the others are taken without them.
    pub good_rows: Option<&'a Path>,
    /// What the headings mean, where that is given for this run.
    pub headings: Option<&'a Headings>,
    /// Whether these headings are kept in the catalog, under their name.
    pub learn: bool,
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
    /// What is passed over, and how files were read that could be read otherwise.
    pub notes: Vec<String>,
    /// What may be meant in two ways and was not agreed to: nothing is stored before.
    pub questions: Vec<Doubt>,
    /// In a dry run what becomes of each thing, field by field.
    pub becomes: Vec<Becomes>,
    /// The rows of lists of prices whose part is not in the catalog.
    pub unpriced: usize,
    /// The sheets of rows that were not taken.
    pub others: Vec<FileCount>,
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
    let forms = Forms::new(kinds);
    let learned = catalog.load_headings()?;
    let rules = rules(&forms, &learned, options)?;
    let read = SheetsRead::of(sources, &rules);
    let before = |reader: &Reader<'_>| Ok((reader.load_library()?, reader.load_jobs()?));
    if options.dry_run {
        let (library, jobs) = catalog.read(before)?;
        let settled = read.settled(&library, &jobs, &rules, options)?;
        let mut told = read.told(&settled);
        told.becomes = becomes::all(&settled.plan, &Before::new(&library, &jobs), kinds);
        return Ok(told);
    }
    let was_there = catalog.exists();
    catalog.write(stamp, |writer| {
        let (library, jobs) = before(writer.reader())?;
        let settled = read.settled(&library, &jobs, &rules, options)?;
        if was_there && changes(&settled.plan) {
            writer.keep_copy("import")?;
        }
        if let Some(directory) = options.good_rows {
            others::write(&settled.others, directory)?;
        }
        if let Some(headings) = options.headings.filter(|_| options.learn) {
            writer.learn(headings)?;
        }
        store(writer, &settled.plan, &Before::new(&library, &jobs))?;
        Ok(read.told(&settled))
    })
}

/// The tables whose headings are not all known, to be asked about.
///
/// # Errors
///
/// Refuses an unknown kind.
pub fn strange(
    catalog: &Catalog,
    sources: &[Source],
    options: &Options<'_>,
) -> Result<Vec<Strange>> {
    let forms = Forms::new(catalog.kinds());
    let learned = catalog.load_headings()?;
    Ok(SheetsRead::of(sources, &rules(&forms, &learned, options)?).found.strange)
}

fn rules<'a>(
    forms: &'a Forms,
    learned: &'a [Headings],
    options: &'a Options<'a>,
) -> Result<SheetRules<'a>> {
    Ok(SheetRules {
        forms,
        asked: options.kind.map(|name| Holds::asked(forms.kinds, name)).transpose()?,
        learned,
        given: options.headings,
        agreed: &options.agreed,
        prices: options.prices,
    })
}

/// The files as sheets, before anything is known of the catalog.
struct SheetsRead {
    names: Vec<String>,
    sheets: Vec<Option<Sheet>>,
    found: SheetsFound,
    /// Whether a table could not be read at all.
    lost: bool,
}

/// A plan in which nothing is wrong.
struct Settled {
    plan: ImportPlan,
    questions: Vec<Doubt>,
    others: Vec<CsvFile>,
}

impl SheetsRead {
    fn of(sources: &[Source], rules: &SheetRules<'_>) -> Self {
        let tables: Vec<Table> = sources.iter().flat_map(tables).collect();
        let names: Vec<String> = tables.iter().map(|table| table.name.clone()).collect();
        let mut found = SheetsFound::default();
        let sheets = tables.into_iter().enumerate();
        let sheets: Vec<Option<Sheet>> =
            sheets.map(|(file, table)| Sheet::read(table, file, rules, &mut found)).collect();
        let lost = sheets.iter().any(Option::is_none) && !found.problems.is_empty();
        Self { names, sheets, found, lost }
    }

    /// The plan of all rows, or of the good ones where the others may be left out.
    fn settled(
        &self,
        library: &Library,
        jobs: &[Job],
        rules: &SheetRules<'_>,
        options: &Options<'_>,
    ) -> Result<Settled> {
        let mut reasons = Reasons::new();
        let mut left_out = HashSet::new();
        loop {
            let mut planner =
                Planner::new(rules, &self.names, options.replace, &options.meant, &left_out);
            self.plan(library, jobs, &mut planner);
            let Planner { problems: found, plan, questions, .. } = planner;
            let mut problems = self.found.problems.clone();
            problems.extend(found);
            let mut asked = self.found.questions.clone();
            asked.extend(questions);
            if options.good_rows.is_none() {
                if !options.dry_run {
                    problems.ask(&asked);
                }
                if problems.is_empty() {
                    return Ok(Settled { plan, questions: asked, others: Vec::new() });
                }
                return Err(self.refused(problems, options));
            }
            // What is passed over is no row: it is told, and there is nothing to put right.
            asked.retain(|question| question.topic != AskedTopic::Rows);
            problems.ask(&asked);
            let of_row = |(file, line): &(usize, usize)| {
                let sheet = self.sheets.get(*file).and_then(Option::as_ref);
                sheet.is_some_and(|sheet| sheet.records.iter().any(|record| record.line == *line))
            };
            let new = problems.reasons();
            if !new.keys().all(of_row) {
                return Err(self.refused(problems, options));
            }
            let more: Vec<_> = new.into_iter().filter(|(row, _)| !left_out.contains(row)).collect();
            if more.is_empty() {
                let others = others::sheets(&self.sheets, &reasons);
                return Ok(Settled { plan, questions: Vec::new(), others });
            }
            for (row, why) in more {
                left_out.insert(row);
                reasons.insert(row, why);
            }
        }
    }

    fn refused(&self, problems: Problems, options: &Options<'_>) -> Error {
        let error = problems.into_error(&self.names, options.problems);
        let unknown = self.found.strange.iter().flat_map(|table| &table.headings);
        let unknown = unknown.filter(|(.., is_known)| !is_known).count();
        if unknown < 2 || error.advice().is_some() {
            return error;
        }
        error.hint(
            "at a terminal `import` asks what the headings mean, and keeps the answers; \
             `--headings FILE` takes them from a file",
        )
    }

    fn plan(&self, library: &Library, jobs: &[Job], planner: &mut Planner<'_>) {
        let stored = Before::new(library, jobs);
        planner.know(library, jobs);
        let sheets_of = |wanted: fn(Holds) -> bool| {
            self.sheets.iter().flatten().filter(move |sheet| wanted(sheet.holds))
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
        let mut there = StoredReadings::new(&library.measured);
        for sheet in sheets_of(|holds| holds == Holds::Readings) {
            planner.readings(sheet, &stored, &mut there);
        }
        for sheet in sheets_of(|holds| holds == Holds::Jobs) {
            planner.jobs(sheet, &stored);
        }
        // Where a file could not be read at all, its parts would only be missed once more.
        if !self.lost {
            planner.check_jobs(library, jobs);
        }
    }

    fn told(&self, settled: &Settled) -> Imported {
        let plan = &settled.plan;
        let files = self.names.iter().enumerate().map(|(file, name)| FileCount {
            name: name.clone(),
            rows: plan.rows.get(&file).copied().unwrap_or(0),
        });
        let is_read = |file: &usize| self.sheets.get(*file).is_some_and(Option::is_some);
        let files: Vec<FileCount> =
            files.enumerate().filter(|(file, _)| is_read(file)).map(|(_, count)| count).collect();
        let empty = files.iter().filter(|file| file.rows == 0 && settled.others.is_empty());
        let empty = empty.map(|file| format!("{}: there is no row under the header", file.name));
        let warnings = plan.warnings.iter().cloned().chain(empty).collect();
        let others = settled.others.iter();
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
            notes: self.found.notes.clone(),
            questions: settled.questions.clone(),
            becomes: Vec::new(),
            unpriced: plan.unpriced,
            others: others
                .map(|file| FileCount { name: file.name.clone(), rows: file.rows })
                .collect(),
        }
    }
}

/// Whether a plan changes anything.
fn changes(plan: &ImportPlan) -> bool {
    let Tally { added, updated, .. } = plan.numbers;
    let tallies = [tally(&plan.parts), tally(&plan.jobs), tally(&plan.pieces)];
    let more = [tally(&plan.readings), tally(&plan.instruments)];
    let changed = |tally: &Tally| tally.added + tally.updated > 0;
    added + updated > 0 || tallies.iter().chain(&more).any(changed)
}

/// Stores a plan. What a changed thing was before is at hand, so that nothing is read again.
fn store(writer: &Writer<'_>, plan: &ImportPlan, stored: &Before<'_>) -> Result<()> {
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
    let forms = Forms::new(Kinds::standard());
    let options = Options { meant: Meant::all(), ..Options::default() };
    let rules = rules(&forms, &[], &options)?;
    let read = SheetsRead::of(&[source], &rules);
    let none = HashSet::new();
    let mut planner = Planner::new(&rules, &read.names, false, &options.meant, &none);
    for sheet in read.sheets.iter().flatten() {
        planner.instruments(sheet, &Before::default());
    }
    let Planner { mut problems, plan, .. } = planner;
    problems.extend(read.found.problems);
    if !problems.is_empty() {
        return Err(problems.into_error(&read.names, None));
    }
    Ok(plan.instruments.into_iter().map(|planned| planned.item).collect())
}
