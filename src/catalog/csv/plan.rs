//! What an import would do, worked out in full before anything is stored.

use std::collections::{BTreeMap, HashMap, HashSet};

use super::cells::{Row, Wrongs};
use super::job_form;
use super::part_form;
use super::problems::Problems;
use super::sheet::{Forms, Holds, Sheet, unknown_kind};
use super::shelf::{Shelf, names};
use super::text::Record;
use crate::catalog::writer::{check_id, check_part_id};
use crate::error::{Error, Result};
use crate::model::job::Job;
use crate::model::kinds::KindSpec;
use crate::model::part::Part;

/// What happens to a part or job.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Action {
    Add,
    Update,
    /// It is in the catalog just like this.
    Leave,
}

/// A part or job of one row.
#[derive(Debug)]
pub(super) struct Planned<T> {
    pub(super) item: T,
    pub(super) action: Action,
    file: usize,
    line: usize,
}

/// Everything that an import would do.
#[derive(Debug, Default)]
pub(super) struct Plan {
    pub(super) parts: Vec<Planned<Part>>,
    pub(super) jobs: Vec<Planned<Job>>,
    pub(super) warnings: Vec<String>,
    /// The rows of each file.
    pub(super) rows: BTreeMap<usize, usize>,
}

/// Works out a plan from sheets, noting everything that is wrong.
pub(super) struct Planner<'a> {
    pub(super) forms: &'a Forms,
    pub(super) files: &'a [String],
    pub(super) replace: bool,
    pub(super) problems: Problems,
    pub(super) plan: Plan,
    /// Where each number or name of this run was read, parts and jobs apart.
    seen: HashMap<(bool, String), (usize, usize)>,
}

impl<'a> Planner<'a> {
    pub(super) fn new(forms: &'a Forms, files: &'a [String], replace: bool) -> Self {
        Self {
            forms,
            files,
            replace,
            problems: Problems::default(),
            plan: Plan::default(),
            seen: HashMap::new(),
        }
    }

    /// Plans the parts of a sheet.
    pub(super) fn parts(&mut self, sheet: &Sheet, stored: &HashMap<&str, &Part>) {
        for record in &sheet.records {
            let Some(id) = self.start(sheet, record) else { continue };
            let old = stored.get(id).copied();
            let kind = match self.kind(sheet, record, old) {
                Ok(kind) => kind,
                Err((column, error)) => {
                    self.problems.add(sheet.file, record.line, column, error);
                    continue;
                }
            };
            let Some((form_index, form)) = self.forms.of(kind) else { continue };
            let (items, strange) = sheet.items(record, form_index);
            let mut row = Row::new(items, sheet.decimal_comma);
            for column in strange {
                row.wrong(column, Error::input(format!("a {} has no such column", kind.name)));
            }
            let mut part = match old {
                Some(old) if !self.replace => old.clone(),
                _ => Part::new(id, kind),
            };
            let warnings = part_form::read(form, &mut row, &mut part);
            self.wrongs(sheet, record, row.into_wrongs());
            let place = self.place(sheet, record);
            self.plan.warnings.extend(warnings.iter().map(|text| format!("{place}: {text}")));
            let action = action(&part, old);
            let (file, line) = (sheet.file, record.line);
            self.plan.parts.push(Planned { item: part, action, file, line });
        }
    }

    /// Plans the jobs of a sheet; what they name is checked by [`Planner::check_jobs`].
    pub(super) fn jobs(&mut self, sheet: &Sheet, stored: &HashMap<&str, &Job>) {
        for record in &sheet.records {
            let Some(id) = self.start(sheet, record) else { continue };
            let old = stored.get(id).copied();
            let (items, _) = sheet.items(record, 0);
            let mut row = Row::new(items, sheet.decimal_comma);
            let mut job = match old {
                Some(old) if !self.replace => old.clone(),
                _ => Job::new(id, self.forms.kinds),
            };
            job_form::read(&self.forms.job, &mut row, &mut job);
            self.wrongs(sheet, record, row.into_wrongs());
            let action = action(&job, old);
            let (file, line) = (sheet.file, record.line);
            self.plan.jobs.push(Planned { item: job, action, file, line });
        }
    }

    /// Checks the planned jobs against the parts as they will be, and the stored ones that name
    /// a part which changes.
    pub(super) fn check_jobs(&mut self, parts: &[Part], jobs: &[Job]) {
        let new = self.plan.parts.iter().map(|part| &part.item);
        let library = Shelf::new(self.forms.kinds, parts.iter().chain(new));
        for planned in &self.plan.jobs {
            for (column, error) in library.check(&planned.item).err().unwrap_or_default() {
                self.problems.add(planned.file, planned.line, Some(column), error);
            }
        }
        let replaced: HashSet<&str> =
            self.plan.jobs.iter().map(|planned| planned.item.id.as_str()).collect();
        let changed: HashMap<&str, (usize, usize)> = self
            .plan
            .parts
            .iter()
            .filter(|planned| planned.action == Action::Update)
            .map(|planned| (planned.item.id.as_str(), (planned.file, planned.line)))
            .collect();
        for job in jobs.iter().filter(|job| !replaced.contains(job.id.as_str())) {
            let Some((file, line)) = names(job).find_map(|id| changed.get(id.as_str())) else {
                continue;
            };
            for (column, error) in library.check(job).err().unwrap_or_default() {
                let error =
                    error.at(format!("the job `{}` names this part, column {column}", job.id));
                self.problems.add(*file, *line, None, error);
            }
        }
    }

    /// Counts a row, checks its width and its id. `None` where it cannot be read on.
    fn start<'r>(&mut self, sheet: &'r Sheet, record: &'r Record) -> Option<&'r str> {
        *self.plan.rows.entry(sheet.file).or_default() += 1;
        if let Err(error) = sheet.check_width(record) {
            self.problems.add(sheet.file, record.line, None, error);
            return None;
        }
        let (column, cell) = sheet.key(record);
        let id = cell.trim();
        let is_job = sheet.holds == Holds::Jobs;
        if let Err(error) = if is_job { check_id(id) } else { check_part_id(id) } {
            self.problems.add(sheet.file, record.line, Some(column), error);
            return None;
        }
        let here = (sheet.file, record.line);
        let key = (is_job, id.to_string());
        if let Some((file, line)) = self.seen.insert(key, here) {
            let place = format!("{} line {line}", self.files[file]);
            let error = Error::input(format!("`{id}` was given before, {place}"))
                .hint("each part and each job is given once");
            self.problems.add(sheet.file, record.line, Some(column), error);
            return None;
        }
        Some(id)
    }

    fn kind<'r>(
        &self,
        sheet: &'r Sheet,
        record: &'r Record,
        old: Option<&Part>,
    ) -> Result<&'static KindSpec, (Option<&'r str>, Error)> {
        let kinds = self.forms.kinds;
        let default = if let Holds::Parts(default) = sheet.holds { default } else { None };
        let given = match sheet.kind(record) {
            Some((column, name)) => {
                let Some(Holds::Parts(Some(kind))) = Holds::named(kinds, name) else {
                    return Err((Some(column), unknown_kind(kinds, name)));
                };
                if default.is_some_and(|default| default != kind) {
                    let expected = default.map_or("", |default| default.key);
                    let error = Error::input(format!(
                        "the row is a {}, and the file or --kind says {expected}",
                        kind.key
                    ));
                    return Err((Some(column), error));
                }
                Some(kind)
            }
            None => default,
        };
        match (given, old) {
            (Some(kind), Some(old)) if old.kind != kind => {
                let (id, found, new) = (&old.id, old.kind.key, kind.key);
                let error =
                    Error::input(format!("`{id}` is a {found} in the catalog, not a {new}"))
                        .hint("give the new part another number, or remove the old one first");
                Err((None, error))
            }
            (Some(kind), _) => Ok(kind),
            (None, Some(old)) => Ok(old.kind),
            (None, None) => Err((
                None,
                Error::input("the kind of this part is not given").hint(
                    "add a column `kind`, give --kind, or name the file for its kind, such as \
                     `flywheels.csv`",
                ),
            )),
        }
    }

    fn wrongs(&mut self, sheet: &Sheet, record: &Record, wrongs: Wrongs) {
        for (column, error) in wrongs {
            self.problems.add(sheet.file, record.line, Some(&column), error);
        }
    }

    fn place(&self, sheet: &Sheet, record: &Record) -> String {
        format!("{} line {}", self.files[sheet.file], record.line)
    }
}

fn action<T: PartialEq>(new: &T, old: Option<&T>) -> Action {
    match old {
        None => Action::Add,
        Some(old) if old == new => Action::Leave,
        Some(_) => Action::Update,
    }
}
