//! Checking jobs against parts by number, without a pass over the library for each job.

use std::cell::OnceCell;
use std::collections::HashMap;

use crate::error::Error;
use crate::model::house::House;
use crate::model::job::Job;
use crate::model::kinds::Kinds;
use crate::model::library::Library;
use crate::model::part::Part;
use crate::model::pieces::{Measurements, Specimen, part_and_label};

/// The parts and pieces that a job may name.
#[derive(Debug)]
pub(super) struct JobChecker<'a> {
    kinds: Kinds,
    parts: HashMap<&'a str, &'a Part>,
    pieces: HashMap<&'a str, Vec<&'a Specimen>>,
    /// All of them, once a refusal is to be worded.
    all: OnceCell<Library>,
}

impl<'a> JobChecker<'a> {
    /// These parts and pieces; of two parts with one number the later one counts.
    pub(super) fn new(
        kinds: Kinds,
        parts: impl Iterator<Item = &'a Part>,
        pieces: impl Iterator<Item = &'a Specimen>,
    ) -> Self {
        let parts = parts.map(|part| (part.id.as_str(), part)).collect();
        let mut of_part: HashMap<&str, Vec<&Specimen>> = HashMap::new();
        for piece in pieces {
            of_part.entry(piece.part.as_str()).or_default().push(piece);
        }
        Self { kinds, parts, pieces: of_part, all: OnceCell::new() }
    }

    /// What [`Library::check_job`] says about a job; where it is only looked at `briefly`, without
    /// the names that were perhaps meant.
    pub(super) fn check(&self, job: &Job, briefly: bool) -> Result<(), Vec<(&'static str, Error)>> {
        let own = numbers(job).filter_map(|id| self.parts.get(id).copied());
        // The check walks the whole library for each name, so it is given the job's own parts
        // first; only to word a refusal it needs all of them.
        let checked = self.library(own).check_job(job);
        if briefly || checked.is_ok() {
            return checked;
        }
        self.all.get_or_init(|| self.library(self.parts.values().copied())).check_job(job)
    }

    fn library<'p>(&self, parts: impl Iterator<Item = &'p Part>) -> Library {
        let parts: Vec<Part> = parts.cloned().collect();
        let pieces = parts.iter().filter_map(|part| self.pieces.get(part.id.as_str()));
        let specimens = pieces.flatten().map(|piece| (*piece).clone()).collect();
        let measured = Measurements { specimens, ..Measurements::default() };
        Library { measured, ..Library::new(self.kinds, parts, House::default()) }
    }
}

/// Every part number that a job names, a piece's too. A name that holds the sign of a piece is given
/// as it stands as well, since an older catalog may have such numbers.
pub(super) fn numbers(job: &Job) -> impl Iterator<Item = &str> {
    job.named().flat_map(|name| {
        let of_piece = part_and_label(name).map(|(part, _)| part);
        std::iter::once(name.as_str()).chain(of_piece)
    })
}
