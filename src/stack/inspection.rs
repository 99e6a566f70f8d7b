//! A look through everything that the shop keeps, its jobs included.

use crate::measure::findings::Findings;
use crate::measure::inspection::{Found, Remark, Topic, remarks};
use crate::model::job::Job;
use crate::model::library::Library;
use crate::stack::choice::Bench;
use crate::stack::crosscheck::Agreement;
use crate::stack::fit::evaluate;

/// What was looked through, and what is to be said of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Inspection {
    /// How many parts.
    pub parts: usize,
    /// How many pieces.
    pub pieces: usize,
    /// How many jobs.
    pub jobs: usize,
    /// What was found, the gravest first.
    pub remarks: Vec<Remark>,
}

/// Looks through a library as it is stored, and through its jobs with the library as it is `used`.
pub fn inspect(stored: &Library, used: &Library, jobs: &[Job]) -> Inspection {
    let mut all = remarks(&Findings::of(stored));
    for job in jobs {
        for (column, error) in stored.check_job(job).err().into_iter().flatten() {
            let found = Found::Words(error.one_line());
            all.push(of_job(job, Topic::Impossible, vec![column], found));
        }
        all.extend(contradictions(used, job));
    }
    all.sort_by_key(|remark| remark.topic);
    Inspection {
        parts: stored.parts.len(),
        pieces: stored.measured.specimens.len(),
        jobs: jobs.len(),
        remarks: all,
    }
}

fn of_job(job: &Job, topic: Topic, columns: Vec<&'static str>, found: Found) -> Remark {
    Remark { topic, kind: "job", id: job.id.clone(), columns, found }
}

/// The cross-checks of a job as fitted that cannot both be right; none of a build on paper, and of
/// one that cannot be summed up.
fn contradictions(library: &Library, job: &Job) -> Vec<Remark> {
    let Ok(bench) = Bench::new(library, job) else { return Vec::new() };
    let fit = bench.fitted_choice().ok().and_then(|choice| evaluate(&bench, &choice).ok());
    let checks = fit.map(|fit| fit.cross_checks(&bench)).unwrap_or_default();
    let wrong = checks.iter().filter(|check| check.agreement == Agreement::CannotBothBeRight);
    let found = wrong.map(|check| {
        let apart = check.difference().abs();
        let (length, used, other) = (check.length, check.used, check.other);
        let found = Found::Routes { length, used, other, apart };
        of_job(job, Topic::Contradiction, Vec::new(), found)
    });
    found.collect()
}
