//! A look through everything that the shop keeps, its jobs included.

use crate::measure::findings::Findings;
use crate::measure::inspection::{remarks, unusual_readings};
use crate::measure::remark::{Found, Remark, Topic};
use crate::measure::shelf::odd_set_aside;
use crate::model::job::Job;
use crate::model::library::Library;
use crate::stack::agreement::Agreement;
use crate::stack::choice::Setup;

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
        let unusual = unusual_readings(job).into_iter();
        all.extend(unusual.map(|(topic, columns, found)| of_job(job, topic, columns, found)));
        all.extend(contradictions(used, job));
    }
    all.extend(odd_set_aside(stored, jobs));
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

/// The cross-checks of a job as fitted that cannot both be right; a build on paper has none.
fn contradictions(library: &Library, job: &Job) -> Vec<Remark> {
    let Ok(setup) = Setup::new(library, job) else { return Vec::new() };
    let checks = setup.cross_checks().shown().into_iter();
    let wrong = checks.filter(|check| check.agreement == Agreement::CannotBothBeRight);
    let found = wrong.map(|check| {
        let apart = check.difference().abs();
        let [first, second] = check.routes();
        let found = Found::Routes { length: check.length(), first, second, apart };
        of_job(job, Topic::Contradiction, Vec::new(), found)
    });
    found.collect()
}
