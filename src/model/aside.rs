//! What is set aside for jobs: it lies on the shelf and is not to be had for any other one.

use std::collections::BTreeMap;

/// How many pieces of a part are set aside for a job.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ForJob {
    /// The job's name.
    pub job: String,
    /// How many pieces.
    pub pieces: u32,
}

/// What is set aside, by part number; a measured piece by its own name.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Aside(BTreeMap<String, Vec<ForJob>>);

impl Aside {
    /// Sets one more piece of a part aside for a job.
    pub fn add(&mut self, part: &str, job: &str) {
        let jobs = self.0.entry(part.into()).or_default();
        match jobs.iter_mut().find(|known| known.job == job) {
            Some(known) => known.pieces = known.pieces.saturating_add(1),
            None => jobs.push(ForJob { job: job.into(), pieces: 1 }),
        }
    }

    /// Whether nothing is set aside at all.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// For whom pieces of a part are set aside.
    pub fn of(&self, part: &str) -> &[ForJob] {
        self.0.get(part).map_or(&[], Vec::as_slice)
    }

    /// How many pieces of a part are set aside for other jobs than this one.
    pub fn for_others(&self, part: &str, job: &str) -> u32 {
        let others = self.of(part).iter().filter(|known| known.job != job);
        others.fold(0, |sum, known| sum.saturating_add(known.pieces))
    }

    /// How many pieces of a part are set aside for any job.
    pub fn pieces(&self, part: &str) -> u32 {
        self.of(part).iter().fold(0, |sum, known| sum.saturating_add(known.pieces))
    }

    /// Everything that is set aside, by part.
    pub fn iter(&self) -> impl Iterator<Item = (&str, &ForJob)> {
        self.0.iter().flat_map(|(part, jobs)| jobs.iter().map(move |job| (part.as_str(), job)))
    }
}
