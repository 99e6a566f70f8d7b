//! Importing CSV files: all of it is good and stored, or nothing is.

use std::collections::HashMap;

use super::plan::{Action, Plan, Planned, Planner};
use super::sheet::{Forms, Holds, Sheet};
use super::source::Source;
use crate::catalog::{Catalog, Reader, Writer};
use crate::error::Result;
use crate::model::job::Job;
use crate::model::part::Part;

/// How to import.
#[derive(Debug, Clone, Copy, Default)]
pub struct Options<'a> {
    /// What every file holds: a kind, or `jobs`. Where it is not given, each file says so itself.
    pub kind: Option<&'a str>,
    /// A row is all there is to know of its part or job: what has no column is blanked too.
    pub replace: bool,
    /// Nothing is stored.
    pub dry_run: bool,
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
    /// What is unusual but possible.
    pub warnings: Vec<String>,
}

/// Imports files into a catalog in one transaction. A number that is in the catalog is updated in
/// the columns given; parts of all files are taken before jobs, so that jobs may name them.
///
/// # Errors
///
/// An input error that lists every bad row of all files, and a storage error where the catalog
/// cannot be written.
pub fn import(
    catalog: &mut Catalog,
    sources: &[Source],
    options: &Options<'_>,
) -> Result<Imported> {
    let kinds = catalog.kinds();
    let asked = options.kind.map(|name| Holds::asked(kinds, name)).transpose()?;
    let forms = Forms::new(kinds);
    let names: Vec<String> =
        sources.iter().map(|source| source.name.display().to_string()).collect();
    let plan = |reader: &Reader<'_>| {
        let mut planner = Planner::new(&forms, &names, options.replace);
        plan(reader, sources, asked, &mut planner)?;
        let Planner { problems, plan, .. } = planner;
        if problems.is_empty() { Ok(plan) } else { Err(problems.into_error(&names)) }
    };
    if options.dry_run {
        return catalog.read(|reader| Ok(told(&plan(reader)?, &names)));
    }
    catalog.write(|writer| {
        let plan = plan(writer.reader())?;
        store(writer, &plan)?;
        Ok(told(&plan, &names))
    })
}

fn plan(
    reader: &Reader<'_>,
    sources: &[Source],
    asked: Option<Holds>,
    planner: &mut Planner<'_>,
) -> Result<()> {
    let forms = planner.forms;
    let sheets: Vec<Option<Sheet>> = sources
        .iter()
        .enumerate()
        .map(|(file, source)| Sheet::read(source, file, asked, forms, &mut planner.problems))
        .collect();
    let lost = sheets.iter().any(Option::is_none);
    let library = reader.load_library()?;
    let stored: HashMap<&str, &Part> =
        library.parts.iter().map(|part| (part.id.as_str(), part)).collect();
    let jobs = reader.load_jobs()?;
    let stored_jobs: HashMap<&str, &Job> = jobs.iter().map(|job| (job.id.as_str(), job)).collect();
    for sheet in sheets.iter().flatten().filter(|sheet| sheet.holds != Holds::Jobs) {
        planner.parts(sheet, &stored);
    }
    for sheet in sheets.iter().flatten().filter(|sheet| sheet.holds == Holds::Jobs) {
        planner.jobs(sheet, &stored_jobs);
    }
    // Where a file could not be read at all, its parts would only be missed once more.
    if !lost {
        planner.check_jobs(&library.parts, &jobs);
    }
    Ok(())
}

fn store(writer: &Writer<'_>, plan: &Plan) -> Result<()> {
    for part in &plan.parts {
        match part.action {
            Action::Add => writer.insert_part(&part.item)?,
            Action::Update => writer.update_part(&part.item)?,
            Action::Leave => {}
        }
    }
    for job in &plan.jobs {
        match job.action {
            Action::Add => writer.insert_job(&job.item)?,
            Action::Update => writer.update_job(&job.item)?,
            Action::Leave => {}
        }
    }
    Ok(())
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
    Imported { parts: tally(&plan.parts), jobs: tally(&plan.jobs), warnings, files }
}

fn tally<T>(planned: &[Planned<T>]) -> Tally {
    let count = |action| planned.iter().filter(|planned| planned.action == action).count();
    Tally {
        added: count(Action::Add),
        updated: count(Action::Update),
        unchanged: count(Action::Leave),
    }
}
