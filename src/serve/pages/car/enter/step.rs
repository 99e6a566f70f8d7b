//! The questions about a new car, in the order in which it comes apart.

use crate::model::job::{CrankPushed, DiscState, Job, Reading};
use crate::serve::form::Fields;

/// One question.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Step {
    /// Is there a plate between block and bell housing?
    Plate,
    /// A reading.
    Read(Reading),
    /// Is the fitted disc worn?
    Disc,
    /// Where did the crank stand?
    Crank,
    /// What does the clutch's maker ask for?
    Window,
}

/// The shortest way: three readings and what goes with them.
const SHORT: &[Step] = &[
    Step::Plate,
    Step::Read(Reading::FingerDepth),
    Step::Disc,
    Step::Read(Reading::BearingDepthExtended),
    Step::Read(Reading::BearingDepthRetracted),
    Step::Crank,
    Step::Window,
];

/// The same where the fingers are read in two steps, on the bench.
const APART: &[Step] = &[
    Step::Plate,
    Step::Read(Reading::CrankProtrusion),
    Step::Read(Reading::ClutchHeight),
    Step::Disc,
    Step::Read(Reading::BearingDepthExtended),
    Step::Read(Reading::BearingDepthRetracted),
    Step::Crank,
    Step::Window,
];

impl Step {
    /// Its name in an address.
    pub(super) fn key(self) -> &'static str {
        match self {
            Self::Plate => "block_plate",
            Self::Read(reading) => reading.spec().key,
            Self::Disc => "fitted_disc_state",
            Self::Crank => "crank_pushed",
            Self::Window => "window",
        }
    }

    /// The step of a name.
    pub(super) fn named(key: &str) -> Option<Self> {
        SHORT.iter().chain(APART).copied().find(|step| step.key() == key)
    }

    /// The steps of a car: the short way, or in two steps where that was begun or is asked for.
    pub(super) fn all(job: &Job, asked: Option<Self>) -> &'static [Self] {
        let apart = [Reading::CrankProtrusion, Reading::ClutchHeight];
        let has = |reading: Reading| job.reading(reading).is_some();
        let is_apart = |step: Self| apart.iter().any(|reading| step == Self::Read(*reading));
        let begun = apart.into_iter().any(has) && !has(Reading::FingerDepth);
        match asked {
            Some(step) if is_apart(step) => APART,
            Some(Self::Read(Reading::FingerDepth)) => SHORT,
            _ if begun => APART,
            _ => SHORT,
        }
    }

    /// Whether it asks for a reading.
    pub(super) fn is_reading(self) -> bool {
        matches!(self, Self::Read(_))
    }

    /// Whether a reading was typed into its form.
    pub(super) fn is_typed(self, form: &Fields) -> bool {
        matches!(self, Self::Read(reading) if form.one(reading.spec().key).is_some())
    }

    /// The one behind it; none behind the last.
    pub(super) fn next(self, steps: &[Self]) -> Option<Self> {
        let at = steps.iter().position(|step| *step == self)?;
        steps.get(at + 1).copied()
    }

    /// The one before it.
    pub(super) fn before(self, steps: &[Self]) -> Option<Self> {
        let at = steps.iter().position(|step| *step == self)?;
        steps.get(at.checked_sub(1)?).copied()
    }

    /// Its name in the list of all of them.
    pub(super) fn name(self) -> String {
        match self {
            Self::Plate => "plate behind the block".into(),
            Self::Read(reading) => reading.spec().key.replace('_', " "),
            Self::Disc => "state of the disc".into(),
            Self::Crank => "where the crank stood".into(),
            Self::Window => "what the clutch asks for".into(),
        }
    }

    /// Whether a job answers it.
    pub(super) fn is_answered(self, job: &Job, plate: Option<usize>) -> bool {
        match self {
            Self::Plate => plate.is_some_and(|slot| !job.fitted[slot].is_empty()),
            Self::Read(reading) => job.reading(reading).is_some(),
            Self::Disc => job.disc_state != DiscState::Unknown,
            Self::Crank => job.crank_pushed != CrankPushed::Unknown,
            Self::Window => job.window.iter().any(|(_, limit)| limit.is_some()),
        }
    }

    /// The first that is not answered yet of those that a verdict needs; else the first of all.
    pub(super) fn first_open(job: &Job, steps: &'static [Self]) -> Self {
        let is_open = |step: &&Self| matches!(step, Self::Read(_)) && !step.is_answered(job, None);
        let begun = job.readings.iter().any(Option::is_some);
        let open = steps.iter().find(is_open).filter(|_| begun);
        open.or(steps.first()).copied().unwrap_or(Self::Plate)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::entry::Entry;
    use crate::model::kinds::Kinds;

    #[test]
    fn every_question_is_found_by_its_name_and_leads_to_the_next() {
        for steps in [SHORT, APART] {
            let mut step = steps[0];
            assert_eq!(step.before(steps), None);
            for next in &steps[1..] {
                assert_eq!((step.next(steps), next.before(steps)), (Some(*next), Some(step)));
                step = *next;
            }
            assert_eq!(step.next(steps), None);
            assert!(steps.iter().all(|step| Step::named(step.key()) == Some(*step)));
        }
        assert_eq!(Step::named("no such"), None);
    }

    #[test]
    fn a_car_is_come_back_to_at_the_first_reading_that_lacks() {
        let mut job = Job::new("x", Kinds::standard());
        assert_eq!(Step::first_open(&job, SHORT), Step::Plate);
        job.readings[Reading::FingerDepth as usize] = Some(Entry::new(70_000_000, None));
        let open = Step::first_open(&job, Step::all(&job, None));
        assert_eq!(open, Step::Read(Reading::BearingDepthExtended));
    }
}
