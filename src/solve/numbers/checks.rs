//! The checks as facts of one candidate, of a pair, or of a partial sum: the rules themselves are the
//! reference's.

use crate::model::length::Length;
use crate::solve::candidates::Candidates;
use crate::stack::checks::inputs::{Input, OF_PARTS, Reader, Values, shift_of_starter};
use crate::stack::checks::rules::{RULES, Rule, Scope};
use crate::stack::choice::{Choice, Setup};

/// Judges candidates by the rules, scope by scope.
pub(crate) struct Checks<'b, 'a> {
    setup: &'b Setup<'a>,
    candidates: &'b Candidates<'a>,
    /// By slot: inputs that are one dimension of a part, with the dimension's place.
    given: Vec<Vec<(Input, usize)>>,
    /// What the job itself gives.
    job: Values,
}

/// Where the starter lets a flywheel be.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(crate) enum Starter {
    /// It meets the ring gear, or nobody can tell.
    Anywhere,
    /// Only where plates and spacers move what hangs on the bell by no less than the one and no more than
    /// the other, nm; where nobody knows how far they move it, nobody can tell.
    Between(i64, i64),
    /// It meets another ring gear.
    Nowhere,
}

/// Beyond any length that may come up in a stack, nm.
const FAR: i64 = 1 << 42;

impl<'b, 'a> Checks<'b, 'a> {
    pub(crate) fn new(setup: &'b Setup<'a>, candidates: &'b Candidates<'a>) -> Self {
        let mut given = vec![Vec::new(); candidates.slots.len()];
        for (input, kind, key) in OF_PARTS {
            let kind = setup.library.kinds.get(kind);
            let place = kind.and_then(|kind| kind.dim_index(key));
            if let Some((slot, place)) = kind.and_then(|kind| setup.slot(kind.key)).zip(place) {
                given[slot].push((*input, place));
            }
        }
        let mut job = Values::default();
        let choice = Choice { fills: setup.fitted.clone() };
        let reader = Reader { setup, choice: &choice, crank: None, preload: None };
        for input in [Input::MasterBore, Input::MasterStroke, Input::Torque] {
            job.set(input, reader.value(input).ok());
        }
        Self { setup, candidates, given, job }
    }

    /// What the job gives, and the dimensions of some candidates.
    pub(crate) fn values(&self, picks: &[(usize, u32)]) -> Values {
        let mut values = self.job;
        for (slot, pick) in picks {
            self.give(&mut values, *slot, *pick);
        }
        values
    }

    /// Adds the dimensions of one candidate.
    pub(crate) fn give(&self, values: &mut Values, slot: usize, pick: u32) {
        let part = self.candidates.slots[slot][pick as usize].parts.first();
        for (input, place) in &self.given[slot] {
            let entry = part.and_then(|part| part.dims[*place]);
            values.set(*input, entry.map(|entry| entry.value));
        }
    }

    /// An input that is worked out of a choice.
    pub(crate) fn read(&self, choice: &Choice<'a>, input: Input) -> Option<i64> {
        let reader = Reader { setup: self.setup, choice, crank: None, preload: None };
        reader.value(input).ok()
    }

    fn rules(scope: Scope) -> impl Iterator<Item = &'static Rule> {
        RULES.iter().filter(move |rule| rule.scope == scope)
    }

    /// The inputs of a scope's checks that are worked out of parts, but for the crank.
    pub(crate) const fn worked_out(scope: Scope) -> &'static [Input] {
        match scope {
            Scope::BearingAndShims => &[Input::ShimTotal],
            Scope::Flywheel => &[Input::Cut, Input::FlywheelLeft],
            Scope::FlywheelAndDisc => &[Input::Cut, Input::Wear],
            Scope::FlywheelAndPlates => &[
                Input::TeethNew,
                Input::TeethOld,
                Input::RingShift,
                Input::StarterShift,
                Input::PlatesShift,
            ],
            Scope::Plates => &[Input::Plates],
            Scope::Shaft => &[Input::Tip],
            Scope::Engine | Scope::Plate | Scope::Preload | Scope::PlateAndBearing => &[],
        }
    }

    /// Whether a check of a scope fails.
    pub(crate) fn fail(&self, scope: Scope, values: &Values) -> bool {
        Self::rules(scope).any(|rule| rule.fails(values, &self.setup.library.house))
    }

    /// The values of an input at which no check of a scope fails, the others as they are. Each of these
    /// checks passes on one side of a limit.
    pub(crate) fn range(&self, scope: Scope, input: Input, values: &Values) -> Option<(i64, i64)> {
        let (mut least, mut most) = (-FAR, FAR);
        for rule in Self::rules(scope) {
            let passes = |value: i64| {
                let mut values = *values;
                values.set(input, Some(value));
                !rule.fails(&values, &self.setup.library.house)
            };
            match (passes(-FAR), passes(FAR)) {
                (true, true) => {}
                (true, false) => most = most.min(last(-FAR, FAR, passes)),
                (false, true) => least = least.max(-last(-FAR, FAR, |value| passes(-value))),
                (false, false) => return None,
            }
        }
        (least <= most).then_some((least, most))
    }

    /// Where the starter lets a flywheel be; `choice` has it with its engine.
    pub(crate) fn starter(&self, choice: &Choice<'a>) -> Starter {
        let mut values = Values::default();
        for input in [Input::TeethNew, Input::TeethOld, Input::RingShift] {
            values.set(input, self.read(choice, input));
        }
        let starter_on = self.setup.job.starter_on;
        let passes = |plates: Option<i64>| {
            let mut values = values;
            let starter = shift_of_starter(starter_on, plates.map(Length::from_nm));
            values.set(Input::PlatesShift, plates);
            values.set(Input::StarterShift, starter.map(Length::nm));
            !self.fail(Scope::FlywheelAndPlates, &values)
        };
        if !passes(None) {
            return Starter::Nowhere;
        }
        let Some(ring) = values.get(Input::RingShift) else { return Starter::Anywhere };
        // Where plates move the starter just as far as the ring gear they meet as before, if they can.
        if !passes(Some(ring)) {
            return Starter::Between(0, -1);
        }
        let more = last(0, FAR, |more| passes(Some(ring + more)));
        let less = last(0, FAR, |less| passes(Some(ring - less)));
        if more == FAR && less == FAR {
            return Starter::Anywhere;
        }
        Starter::Between(ring - less, ring + more)
    }

    /// Facing wear as the checks have it.
    pub(crate) fn set_wear(&self, values: &mut Values, known: Option<i64>) {
        let blank = self.setup.library.house.length(crate::model::house::Number::BlankWear);
        values.set(Input::Wear, Some(known.unwrap_or(blank.nm())));
        values.set(Input::WearAssumed, Some(i64::from(known.is_none())));
    }
}

/// The last number from `first` to `end` at which something holds; it holds at `first`, and no more
/// once it does not.
fn last(first: i64, end: i64, holds: impl Fn(i64) -> bool) -> i64 {
    if holds(end) {
        return end;
    }
    let (mut yes, mut no) = (first, end);
    while no - yes > 1 {
        let middle = yes + (no - yes) / 2;
        if holds(middle) { yes = middle } else { no = middle }
    }
    yes
}
