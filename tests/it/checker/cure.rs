//! Every single change of a job and every pair of changes, one by one.

use bellstack::model::edge::Edge;
use bellstack::model::part::Part;
use bellstack::solve::ask::{Ask, Order};
use bellstack::stack::grade::Grade;

use super::product::size;
use super::task::{Fill, Task};
use super::{CrossCheck, Said, Verdict, Why, judge};

/// What an answer to "the smallest change" holds.
pub(crate) struct Cured<'a> {
    pub(crate) now: Verdict,
    /// Changes, and pairs where pairs were looked at, that mate and could be worked out.
    pub(crate) considered: u128,
    /// Those that are better than the job as it is, best first.
    pub(crate) remedies: Vec<(Vec<Fill<'a>>, Verdict)>,
    pub(crate) looked_at_pairs: bool,
}

/// What is wrong with a job, in a word.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Trouble {
    Nothing,
    /// An edge is missed by so much, nm.
    Missed(Edge, i128),
    /// Whatever stands where: the minimums take so much more than the bearing's travel, or the maxima
    /// so much less, nm.
    Empty(i128),
    NotCertain,
    FailsCheck(&'static str),
}

/// What an answer opens with.
pub(crate) fn trouble(task: &Task<'_>, now: &Verdict) -> Trouble {
    let travel = now.preload.value + now.reserve.value;
    let sum = |edges: [Edge; 2], sign: i128| {
        let limits = edges.map(|edge| {
            let float = task.end_float(&task.fitted, now.fingers.reads_crank(), edge);
            now.window.edges[edge].map(|(limit, _)| limit + sign * float)
        });
        Some(limits[0]? + limits[1]?)
    };
    let short = sum([Edge::PreloadMin, Edge::ReserveMin], 1).map(|least| least - travel);
    let long = sum([Edge::PreloadMax, Edge::ReserveMax], -1).map(|most| travel - most);
    let missed = now.room.set().min_by_key(|(_, room)| **room).filter(|(_, room)| **room < 0);
    if let Some((edge, room)) = missed {
        let empty = short.into_iter().chain(long).find(|by| *by > 0);
        return empty.map_or(Trouble::Missed(edge, -room), Trouble::Empty);
    }
    match now.checks.iter().find(|(_, said)| *said == Said::Fail) {
        Some((name, _)) => Trouble::FailsCheck(name),
        None if now.grade == Grade::Marginal => Trouble::NotCertain,
        None => Trouble::Nothing,
    }
}

/// One change: a slot and what stands there then. A set that replaces the plate takes its disc out.
type Change<'a> = (usize, Fill<'a>);

impl<'a> Task<'a> {
    /// Nothing where the job as it stands cannot be worked out.
    pub(crate) fn cure(&self, ask: &Ask, cross_checks: &[CrossCheck]) -> Option<Cured<'a>> {
        // More shim than the bearing takes is a check that fails today, and may be what has to be cured.
        if !self.is_filled(&self.fitted) {
            return None;
        }
        let now = judge(self, &self.fitted, cross_checks).ok()?;
        let changes = self.single_changes(ask);
        let sets = self.candidates(ask)[self.slot("disc")].iter().any(Fill::is_empty);
        let mut cured = Cured { now, considered: 0, remedies: Vec::new(), looked_at_pairs: false };
        let mut does = Vec::new();
        for change in &changes {
            let found = self.look(&[change], sets, cross_checks);
            cured.considered += u128::from(found.is_some());
            let found = found.filter(|(_, verdict)| self.is_better(ask, &cured.now, verdict));
            does.push(found.is_some());
            cured.remedies.extend(found);
        }
        // Two changes never come before one where the fewest come first; in another order they may.
        if cured.remedies.len() < ask.top || ask.order != Order::Changes {
            cured.looked_at_pairs = true;
            for (index, one) in changes.iter().enumerate() {
                for (other_index, other) in changes.iter().enumerate().skip(index + 1) {
                    if one.0 == other.0 || does[index] || does[other_index] {
                        continue;
                    }
                    let Some(found) = self.look(&[one, other], sets, cross_checks) else {
                        continue;
                    };
                    cured.considered += 1;
                    if self.is_better(ask, &cured.now, &found.1) {
                        cured.remedies.push(found);
                    }
                }
            }
        }
        cured.remedies.sort_by(|(one, a), (other, b)| self.order(ask.order, (one, a), (other, b)));
        Some(cured)
    }

    fn single_changes(&self, ask: &Ask) -> Vec<Change<'a>> {
        let slots = self.candidates(ask).into_iter().enumerate();
        let changes =
            slots.flat_map(|(slot, fills)| fills.into_iter().map(move |fill| (slot, fill)));
        // A disc leaves with a set that takes its place, and is no change of its own.
        let disc = self.slot("disc");
        let changes = changes.filter(|(slot, fill)| *slot != disc || !fill.is_empty());
        changes.filter(|(slot, fill)| *fill != self.fitted[*slot]).collect()
    }

    /// How many pairs of changes there are at most.
    pub(crate) fn pairs(&self, ask: &Ask) -> u128 {
        let changes = self
            .candidates(ask)
            .iter()
            .map(|fills| size(std::slice::from_ref(fills)))
            .sum::<u128>();
        changes * changes / 2
    }

    /// The job with some changes, where they make a stack that mates and can be worked out.
    fn look(
        &self,
        changes: &[&Change<'a>],
        sets: bool,
        cross_checks: &[CrossCheck],
    ) -> Option<(Vec<Fill<'a>>, Verdict)> {
        let mut stack = self.fitted.clone();
        for (slot, fill) in changes {
            stack[*slot] = fill.clone();
        }
        let (plate, disc) = (self.slot("pressure_plate"), self.slot("disc"));
        let changed = |slot| changes.iter().any(|(changed, _)| *changed == slot);
        let set = stack[plate].part().is_some_and(Part::is_matched_set);
        if changed(plate) && set && !changed(disc) {
            // Where the disc has to stay, or to be one of some, there is no place for a set.
            if !sets {
                return None;
            }
            stack[disc] = Fill::default();
        }
        if !self.is_whole(&stack) || self.faces(&stack).clash {
            return None;
        }
        judge(self, &stack, cross_checks).ok().map(|verdict| (stack, verdict))
    }

    /// Better than the job as it is: a better grade, or any where a check fails today; and wanted. A
    /// diaphragm beyond its working range is never offered, nor anything to a job that needs nothing:
    /// one that is better than marginal and passes its checks.
    pub(crate) fn is_better(&self, ask: &Ask, now: &Verdict, verdict: &Verdict) -> bool {
        let passes_now = now.fails() && !verdict.fails();
        let needs_none = now.grade < Grade::Marginal && !now.fails();
        self.wants(ask, verdict)
            && !needs_none
            && !verdict.caps.contains(&Why::OutsideRange)
            && (passes_now || verdict.grade < now.grade)
    }
}
