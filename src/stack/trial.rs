//! One dimension of a stack tried at other values, everything else as it stands: where does the
//! grade change?
//!
//! Every value is tried on the whole stack: gap, window, routes and caps follow. A value moves each
//! edge's room along a straight line and its u along a curve that opens upward, so the values that
//! do for a grade lie in one piece, and its ends can be closed in on to the last nanometre. Where far
//! away another route takes over, it is the piece around the value that it has now or next to it.

use crate::measure::gauges::Gauges;
use crate::model::entry::{Accuracy, Entry, Evidence};
use crate::model::job::{Job, READINGS, Reading};
use crate::model::kinds::DimSpec;
use crate::model::length::{LONGEST, Length};
use crate::model::part::{Part, possible};
use crate::stack::along::{Along, At, Seen};
use crate::stack::choice::{Choice, Fill, Setup};
use crate::stack::fit::{Fit, Graded, graded};
use crate::stack::form::{Effect, MICRO, Source};
use crate::stack::grade::Grade;

/// A range of values in a dimension's base unit; an open end is none.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Span {
    /// At least.
    pub from: Option<i64>,
    /// At most.
    pub to: Option<i64>,
}

/// Whose dimension is tried.
enum Target<'a> {
    /// That of a part in a slot, and which of those that stand there.
    Part { slot: usize, nth: usize, part: &'a Part, spec: &'a DimSpec, cut: Length },
    /// That of a reading of the job.
    Reading(Reading),
}

/// One dimension of a stack, to be tried at other values.
pub struct Trial<'t, 'a> {
    setup: &'t Setup<'a>,
    fit: &'t Fit<'a>,
    place: Target<'a>,
    /// Its value as it stands, in its base unit.
    pub now: i64,
    /// How closely it counts: as known, or as a reading of the shop makes it where that is closer.
    pub known: Accuracy,
    /// Whether a reading would make it known more closely than it is.
    pub narrows: bool,
}

impl<'t, 'a> Trial<'t, 'a> {
    /// The dimension behind an error of the stack; none where it stands for something that is not
    /// known, or for a part that leaves.
    pub fn of(
        setup: &'t Setup<'a>,
        fit: &'t Fit<'a>,
        gauges: &Gauges<'_>,
        effect: &Effect<'_>,
    ) -> Option<Self> {
        let mut now = effect.value;
        let (place, reading) = match effect.dim.source {
            Source::Job => {
                let spec = READINGS.iter().find(|spec| spec.key == effect.dim.key)?;
                let reading = gauges.on_a_job(Length::from_nm(effect.value));
                (Target::Reading(spec.reading), reading)
            }
            Source::Bench { .. } => return None,
            Source::Part { slot, id, nth, cut: machined } => {
                let fill = fit.choice.fills.get(slot)?;
                let first = fill.parts.iter().position(|part| part.id == id)?;
                let part = *fill.parts.get(first + nth)?;
                let spec = &part.kind.dims[part.kind.dim_index(effect.dim.key)?];
                if part.entry(spec.key).is_none() {
                    now = unstated(fit, spec, effect.value)?;
                }
                // The thickness that a machined part had before is that of no part in the stack.
                let cut = if machined { fill.cut } else { Length::ZERO };
                if !machined && fill.cut != Length::ZERO && spec.key == "thickness" {
                    return None;
                }
                let reading = gauges.single(part, spec, now);
                (Target::Part { slot, nth: first + nth, part, spec, cut }, reading)
            }
        };
        let narrows = reading.wide < effect.known.wide;
        let known = if narrows { reading } else { effect.known };
        Some(Self { setup, fit, place, now, known, narrows })
    }

    /// The range in which the stack is graded `wanted` or better; none where there is none.
    pub fn range(&self, wanted: Grade) -> Option<Span> {
        let along = self.along(wanted);
        let inner = self.inner(&along, wanted)?;
        Some(Span { from: along.end(inner, false), to: along.end(inner, true) })
    }

    /// Whether the stack is graded `wanted` or better at some value from `least` to `most`. All values at
    /// which it is lie in one piece, so that beside one of them the nearer end tells.
    pub fn meets(&self, wanted: Grade, least: i64, most: i64) -> bool {
        let along = self.along(wanted);
        self.inner(&along, wanted).is_some_and(|inner| match inner.value {
            value if value < least => (along.see)(least).holds,
            value if value > most => (along.see)(most).holds,
            _ => true,
        })
    }

    /// A value that does; none where there is none.
    fn inner(&self, along: &Along<impl Fn(i64) -> Seen>, wanted: Grade) -> Option<At> {
        let mut caps = self.fit.caps.iter().filter(|one| one.cap.grade() > wanted);
        let is_held = caps.any(|one| one.room == f64::NEG_INFINITY);
        if is_held { None } else { along.inner(self.now) }
    }

    /// Looks at the stack with another value of the dimension.
    fn at<T>(&self, value: i64, look: impl FnOnce(&Graded<'_>) -> T) -> Option<T> {
        let Accuracy { tol, wide, assumed, basis } = self.known;
        let evidence = Some(Evidence { basis, wide, assumed });
        let entry = Entry { value, tol: Some(tol), evidence };
        let setup = self.setup;
        match &self.place {
            Target::Reading(reading) => {
                let mut job: Job = setup.job.clone();
                job.readings[*reading as usize] = Some(entry);
                let setup = setup.with(&job, setup.fitted.clone());
                Some(look(&graded(&setup, &self.fit.choice, false).ok()?))
            }
            Target::Part { slot, nth, part, spec, cut } => {
                let mut other: Part = (*part).clone();
                other.set(spec.key, Some(Entry { value: value + cut.nm(), ..entry }));
                let mut choice: Choice<'_> = self.fit.choice.clone();
                choice.fills[*slot].parts[*nth] = &other;
                let before = setup.fitted[*slot].parts.get(*nth);
                // What stays is the same piece before and after; what is machined is not.
                if before.is_none_or(|before| before.id != part.id || *cut != Length::ZERO) {
                    return Some(look(&graded(setup, &choice, false).ok()?));
                }
                let mut fitted: Vec<Fill<'_>> = setup.fitted.clone();
                fitted[*slot].parts[*nth] = &other;
                let setup = setup.with(setup.job, fitted);
                Some(look(&graded(&setup, &choice, false).ok()?))
            }
        }
    }

    /// The least and the largest value that the dimension may have.
    fn possible(&self) -> (i64, i64) {
        match &self.place {
            Target::Part { spec, .. } => possible(spec),
            Target::Reading(reading) => {
                (if reading.spec().signed { -LONGEST.nm() } else { 0 }, LONGEST.nm())
            }
        }
    }

    /// All values that the dimension may have, seen by whether the stack is graded `wanted` or better.
    fn along(&self, wanted: Grade) -> Along<impl Fn(i64) -> Seen> {
        let (least, most) = self.possible();
        let see = move |value: i64| {
            let seen = self.at(value, |stack| Seen {
                holds: stack.grade <= wanted,
                spare: slack(stack, wanted),
            });
            seen.unwrap_or(Seen { holds: false, spare: f64::MIN })
        };
        Along { least, most, see }
    }
}

/// The value that stands for a dimension that is not stated on its part: a set gap or a finger ratio
/// that was assumed.
fn unstated(fit: &Fit<'_>, spec: &DimSpec, value: i64) -> Option<i64> {
    match spec.key {
        "finger_ratio" => Some(value),
        "set_gap" => {
            let product = fit.preload_form.products.first()?;
            Some((fit.lengths.gap_now? - product.gap_value()).nm())
        }
        _ => None,
    }
}

/// By how much a stack is inside what a grade asks for, in nanometres; negative outside.
#[allow(
    clippy::cast_precision_loss,
    reason = "it only shows the way: whether a value does is asked of the grade itself"
)]
fn slack(stack: &Graded<'_>, wanted: Grade) -> f64 {
    let edges = stack.edges.set().map(|(_, edge)| {
        let room = edge.room.nm() as f64;
        match wanted {
            Grade::Sure if edge.spread.assumed => f64::NEG_INFINITY,
            Grade::Sure => room - edge.spread.worst_case as f64 / MICRO as f64,
            Grade::Likely => room - 2.0 * edge.spread.u(),
            Grade::Marginal => room,
            Grade::Undecided | Grade::Out => room + 2.0 * edge.spread.u(),
        }
    });
    let caps = stack.caps.iter().filter(|one| one.cap.grade() > wanted).map(|one| one.room);
    edges.chain(caps).fold(f64::INFINITY, f64::min)
}
