//! Checking jobs against parts by number, without a pass over the library for each job.

use std::collections::HashMap;

use crate::error::Error;
use crate::model::house::House;
use crate::model::job::Job;
use crate::model::kinds::Kinds;
use crate::model::library::Library;
use crate::model::part::Part;

/// The parts that a job may name.
#[derive(Debug)]
pub(super) struct Shelf<'a> {
    kinds: Kinds,
    parts: HashMap<&'a str, &'a Part>,
}

impl<'a> Shelf<'a> {
    /// These parts; of two with one number the later one counts.
    pub(super) fn new(kinds: Kinds, parts: impl Iterator<Item = &'a Part>) -> Self {
        Self { kinds, parts: parts.map(|part| (part.id.as_str(), part)).collect() }
    }

    /// What [`Library::check_job`] says about a job.
    pub(super) fn check(&self, job: &Job) -> Result<(), Vec<(&'static str, Error)>> {
        let named = |id: &String| self.parts.get(id.as_str()).map(|part| (*part).clone());
        let own: Vec<Part> = names(job).filter_map(named).collect();
        // The check walks the whole library for each name, so it is given the job's own parts
        // first; only to word a refusal it needs all of them.
        if library(self.kinds, own).check_job(job).is_ok() {
            return Ok(());
        }
        let all = self.parts.values().map(|part| (*part).clone()).collect();
        library(self.kinds, all).check_job(job)
    }
}

fn library(kinds: Kinds, parts: Vec<Part>) -> Library {
    Library::new(kinds, parts, House::default())
}

/// Every part number that a job names.
pub(super) fn names(job: &Job) -> impl Iterator<Item = &String> {
    job.fitted.iter().flatten().chain(&job.master_cylinder)
}
