//! One part, one job, one window and the house numbers, as JSON.

use serde::Serialize;

use super::jobs::{JobReading, parts as parts_of, readings};
use super::parts::PartRow;
use crate::measure::findings::{Family, Findings};
use crate::measure::lessons::lessons;
use crate::measure::shelf::SetAside;
use crate::model::edge::Edge;
use crate::model::house::{House, Limits};
use crate::model::job::{Job, Word as _};
use crate::model::kinds::{Kinds, Quantity};
use crate::model::length::{Length, Unit};
use crate::model::part::Part;
use crate::report::json::{self, Amount, L, Ordered};
use crate::report::shelf::AsideRow;
use crate::report::shop::words;
use crate::stack::window::Window;

/// What new pieces measured in one dimension, and between what the next one lies with 95 %.
#[derive(Serialize)]
struct MeasuredRow {
    pieces: usize,
    mean: Amount,
    s: Option<Amount>,
    next_from: Option<Amount>,
    next_to: Option<Amount>,
}

/// One part, the jobs that name it, and what its new pieces measured.
pub fn part(
    part: &Part,
    house: &House,
    (jobs, aside): (&[String], &[SetAside<'_>]),
    taught: Option<(&Findings<'_>, &Family<'_>)>,
) -> String {
    #[derive(Serialize)]
    struct PartShown<'a> {
        currency: &'a str,
        #[serde(flatten)]
        part: PartRow<'a>,
        jobs: &'a [String],
        set_aside: Vec<AsideRow<'a>>,
        measured: Ordered<MeasuredRow>,
    }
    let lessons = taught.map(|(findings, family)| lessons(findings, family)).unwrap_or_default();
    let measured = lessons.iter().filter_map(|lesson| {
        let sample = lesson.sample.as_ref()?;
        #[allow(clippy::cast_possible_truncation, reason = "it is far below 2^53 of its base unit")]
        let amount = |value: f64| Amount::of(lesson.spec.quantity, value.round() as i64);
        let measured = MeasuredRow {
            pieces: sample.count(),
            mean: amount(sample.mean()),
            s: lesson.s.map(amount),
            next_from: lesson.next.map(|(from, _)| amount(from)),
            next_to: lesson.next.map(|(_, to)| amount(to)),
        };
        Some((lesson.spec.key, measured))
    });
    json::object(PartShown {
        currency: &house.currency,
        part: PartRow::of(part),
        jobs,
        set_aside: aside.iter().map(AsideRow::of).collect(),
        measured: Ordered(measured.collect()),
    })
}

/// One job, as it was entered.
pub fn job(kinds: Kinds, job: &Job) -> String {
    #[derive(Serialize)]
    struct JobShown<'a> {
        job: &'a str,
        description: &'a str,
        state: &'static str,
        #[serde(flatten)]
        words: Ordered<&'a str>,
        parts: Ordered<&'a [String]>,
        master_cylinder: Option<&'a str>,
        set_aside: &'a [String],
        torque: Option<Amount>,
        readings: Ordered<JobReading>,
        crank_protrusion_over_plate: bool,
        finger_depth_over_plate: bool,
        fitted_disc_state: &'static str,
        crank_pushed: &'static str,
        starter_on: &'static str,
        window: Ordered<Option<L>>,
    }
    json::object(JobShown {
        job: &job.id,
        description: &job.description,
        state: job.state.word(),
        words: Ordered(words(job).to_vec()),
        parts: parts_of(kinds, job),
        master_cylinder: job.master_cylinder.as_deref(),
        set_aside: &job.set_aside,
        torque: job.torque.map(|torque| Amount::of(Quantity::Torque, torque)),
        readings: readings(job),
        crank_protrusion_over_plate: job.crank_over_plate,
        finger_depth_over_plate: job.depth_over_plate,
        fitted_disc_state: job.disc_state.word(),
        crank_pushed: job.crank_pushed.word(),
        starter_on: job.starter_on.word(),
        window: own(&job.window),
    })
}

fn own(limits: &Limits) -> Ordered<Option<L>> {
    Ordered(limits.iter().map(|(edge, limit)| (edge.key(), limit.map(L::from))).collect())
}

/// A job's own window, and the edges that are in force with who set them.
pub fn window(job: &Job, in_force: &Window) -> String {
    #[derive(Serialize)]
    struct WindowShown<'a> {
        job: &'a str,
        own: Ordered<Option<L>>,
        in_force: Ordered<Force>,
        ratio_assumed: bool,
    }
    #[derive(Serialize)]
    struct Force {
        limit: L,
        set_by: &'static str,
    }
    let force = |edge: Edge| {
        let set_by = in_force.limits[edge].as_ref().map(|limit| limit.set_by.word())?;
        Some((edge.key(), Force { limit: in_force.limit(edge)?.into(), set_by }))
    };
    json::object(WindowShown {
        job: &job.id,
        own: own(&job.window),
        in_force: Ordered(Edge::ALL.into_iter().filter_map(force).collect()),
        ratio_assumed: in_force.ratio_assumed,
    })
}

/// All house numbers.
pub fn settings(kinds: Kinds, house: &House) -> String {
    #[derive(Serialize)]
    struct NumberRow {
        key: String,
        /// As it is written; null where it is not set.
        value: Option<String>,
        /// The same as a length, where it is one.
        length: Option<L>,
        changed: bool,
        about: String,
    }
    let row = |setting: crate::model::house::Setting| NumberRow {
        length: Length::parse(&setting.value).ok().map(L::from),
        key: setting.key,
        value: Some(setting.value).filter(|value| !value.is_empty()),
        changed: setting.changed,
        about: setting.about,
    };
    json::list("numbers", house.settings(kinds, Unit::In).into_iter().map(row))
}
