//! Lists of jobs, each with where it stands.

use serde::Serialize;

use crate::model::job::{Job, JobState, READINGS, Word as _};
use crate::model::kinds::Kinds;
use crate::model::length::Length;
use crate::model::words::count;
use crate::report::columns::{self, Column};
use crate::report::cure::short;
use crate::report::json::{self, L, Ordered};
use crate::report::page::Page;
use crate::report::shop::words;
use crate::report::units::Units;
use crate::report::{View, cells};
use crate::stack::answer::Trouble;
use crate::stack::fit::Fit;

/// A job with where it stands as it is fitted.
#[derive(Debug)]
pub struct Standing<'a> {
    /// The job.
    pub job: &'a Job,
    /// A grade, or the word for what stands in its way.
    pub verdict: &'static str,
    /// The stack and what is wrong with it, where it could be worked out.
    pub fit: Option<(&'a Fit<'a>, &'a Trouble)>,
    /// Why it could not be.
    pub why: Option<String>,
}

impl Standing<'_> {
    /// What is to be said of it in a few words.
    fn told(&self, say: Units) -> String {
        match (self.fit, &self.why) {
            (Some((_, Trouble::Nothing)), _) => String::new(),
            (Some((_, trouble)), _) => short(trouble, say),
            (None, why) => why.clone().unwrap_or_default(),
        }
    }

    fn length(&self, of: fn(&Fit<'_>) -> Length) -> Option<Length> {
        self.fit.map(|(fit, _)| of(fit))
    }
}

/// As a table.
pub fn table(jobs: &[Standing<'_>], is_filtered: bool, view: View) -> String {
    let mut page = Page::new(view.width);
    if jobs.is_empty() {
        page.line(if is_filtered {
            "No job is listed."
        } else {
            "There is no job in the catalog."
        });
        return page.finish();
    }
    let mut columns = vec![Column::of("job", |row: &Standing<'_>| row.job.id.clone())];
    // What is told of none of them has no column.
    if jobs.iter().any(|row| !row.job.customer.is_empty()) {
        columns.push(Column::of("customer", |row: &Standing<'_>| row.job.customer.clone()));
    }
    columns.push(Column::of("description", |row: &Standing<'_>| row.job.description.clone()));
    if jobs.iter().any(|row| row.job.state != JobState::default()) {
        columns.push(Column::of("state", |row: &Standing<'_>| row.job.state.word().into()));
    }
    columns.extend([
        Column::of("verdict", |row: &Standing<'_>| row.verdict.into()),
        Column::number(format!("room\n{}", view.unit.name()), |row: &Standing<'_>| {
            let room = row.length(|fit| fit.room);
            room.map_or_else(|| "-".into(), |room| room.digits(view.unit, false))
        }),
        Column::of("what is wrong", |row: &Standing<'_>| row.told(Units::One(view.unit))),
    ]);
    columns::table(&mut page, &columns, jobs);
    page.gap();
    page.line(format!("{}.", count(jobs.len() as u128, "job")));
    page.finish()
}

/// As CSV.
pub fn csv(kinds: Kinds, jobs: &[Standing<'_>], view: View) -> String {
    let unit = view.unit.name();
    let length = |head: &str, of: fn(&Fit<'_>) -> Length| {
        Column::of(format!("{head}_{unit}"), move |row: &Standing<'_>| {
            row.length(of).map(|length| length.digits(view.unit, true)).unwrap_or_default()
        })
    };
    let mut columns = vec![
        Column::of("job", |row: &Standing<'_>| row.job.id.clone()),
        Column::of("description", |row: &Standing<'_>| row.job.description.clone()),
        Column::of("verdict", |row: &Standing<'_>| row.verdict.into()),
        length("preload", |fit| fit.preload),
        length("reserve", |fit| fit.reserve),
        length("room", |fit| fit.room),
        Column::of("fails", |row: &Standing<'_>| {
            row.fit.map(|(fit, _)| cells::failed(fit).join("|")).unwrap_or_default()
        }),
        Column::of("why", |row: &Standing<'_>| row.told(Units::One(view.unit))),
    ];
    for (index, (_, slot)) in kinds.slots().enumerate() {
        columns
            .push(Column::of(slot.key, move |row: &Standing<'_>| row.job.fitted[index].join("|")));
    }
    columns.push(Column::of("state", |row: &Standing<'_>| row.job.state.word().into()));
    for at in 0..words(&Job::new("", kinds)).len() {
        let (key, _) = words(&Job::new("", kinds))[at];
        columns.push(Column::of(key, move |row: &Standing<'_>| words(row.job)[at].1.into()));
    }
    columns::csv(&columns, jobs)
}

/// As one JSON object.
pub fn json(kinds: Kinds, jobs: &[Standing<'_>]) -> String {
    json::list("jobs", jobs.iter().map(|standing| JobRow::of(kinds, standing)))
}

#[derive(Serialize)]
struct JobRow<'a> {
    job: &'a str,
    description: &'a str,
    state: &'static str,
    #[serde(flatten)]
    words: Ordered<&'a str>,
    verdict: &'static str,
    why: Option<String>,
    preload: Option<L>,
    reserve: Option<L>,
    room: Option<L>,
    fails: Vec<String>,
    parts: Ordered<&'a [String]>,
    readings: Ordered<JobReading>,
}

/// A reading without its bar, its tolerance, and the bar that was taken off.
#[derive(Serialize)]
pub(super) struct JobReading {
    value: L,
    tol: Option<L>,
    bar: Option<L>,
}

/// The parts that a job names, by their slots.
pub(super) fn parts(kinds: Kinds, job: &Job) -> Ordered<&[String]> {
    let slots = kinds.slots().zip(&job.fitted).filter(|(_, ids)| !ids.is_empty());
    Ordered(slots.map(|((_, slot), ids)| (slot.key, ids.as_slice())).collect())
}

/// What was read on a job.
pub(super) fn readings(job: &Job) -> Ordered<JobReading> {
    let readings = READINGS.iter().zip(&job.readings).enumerate();
    let readings = readings.filter_map(|(index, (spec, entry))| {
        let entry = (*entry)?;
        let row = JobReading {
            value: entry.as_length().into(),
            tol: entry.tol.map(|tol| Length::from_nm(tol).into()),
            bar: job.bars.get(index).map(L::from),
        };
        Some((spec.key, row))
    });
    Ordered(readings.collect())
}

impl<'a> JobRow<'a> {
    fn of(kinds: Kinds, standing: &'a Standing<'_>) -> Self {
        let job = standing.job;
        let length = |of| standing.length(of).map(L::from);
        let why = standing.told(Units::Both);
        Self {
            job: &job.id,
            description: &job.description,
            state: job.state.word(),
            words: Ordered(words(job).to_vec()),
            verdict: standing.verdict,
            why: (!why.is_empty()).then_some(why),
            preload: length(|fit| fit.preload),
            reserve: length(|fit| fit.reserve),
            room: length(|fit| fit.room),
            fails: standing.fit.map(|(fit, _)| cells::failed(fit)).unwrap_or_default(),
            parts: parts(kinds, job),
            readings: readings(job),
        }
    }
}
