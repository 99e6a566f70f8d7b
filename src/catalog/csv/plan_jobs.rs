//! What an import would do with jobs.

use std::collections::{HashMap, HashSet};

use super::cells::Row;
use super::job_checker::{JobChecker, numbers};
use super::job_form;
use super::plan::Planner;
use super::planned::{Action, Before, planned};
use super::sheet::Sheet;
use crate::model::job::Job;
use crate::model::library::Library;

impl Planner<'_> {
    /// Plans the jobs of a sheet; what they name is checked by [`Planner::check_jobs`].
    pub(super) fn jobs(&mut self, sheet: &Sheet, stored: &Before<'_>) {
        for record in &sheet.records {
            let Some(id) = self.start(sheet, record) else { continue };
            let old = stored.jobs.get(id).copied();
            let mut job = self.begun(old, || Job::new(id, self.forms.kinds));
            let mut row = Row::new(sheet.cells(record, 0).0, sheet.mark);
            job_form::read(&self.forms.job, &mut row, &mut job, old, self.meant);
            job.call_parts(|id| stored.parts.get(id).map(|part| part.id.clone()));
            let entered = row.take_entered();
            self.wrongs(sheet, record, row.into_wrongs());
            self.ask_id((sheet, record), id, old.is_none());
            let planned = planned(job, old, sheet, record);
            self.told_back(planned.action, id, entered);
            self.plan.jobs.push(planned);
        }
    }

    /// Checks the planned jobs against the parts as they will be, and the stored ones that name
    /// a part which changes.
    pub(super) fn check_jobs(&mut self, stored: &Library, jobs: &[Job]) {
        let new = self.plan.parts.iter().map(|part| &part.item);
        let new_pieces = self.plan.pieces.iter().map(|piece| &piece.item);
        let checker = JobChecker::new(
            self.forms.kinds,
            stored.parts.iter().chain(new),
            stored.measured.specimens.iter().chain(new_pieces),
        );
        for planned in &self.plan.jobs {
            let found = checker.check(&planned.item, self.problems.are_many());
            for (column, error) in found.err().unwrap_or_default() {
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
            let Some((file, line)) = numbers(job).find_map(|id| changed.get(id)) else {
                continue;
            };
            let found = checker.check(job, self.problems.are_many());
            for (column, error) in found.err().unwrap_or_default() {
                let error =
                    error.at(format!("the job `{}` names this part, column {column}", job.id));
                self.problems.add(*file, *line, None, error);
            }
        }
    }
}
