//! One stack at a time: every field of what is said of it.

use std::collections::BTreeSet;
use std::ops::Range;

use bellstack::stack::agreement;
use bellstack::stack::choice::Setup;
use bellstack::stack::fit::{evaluate, evaluate_as_it_stands};
use bellstack::stack::lengths::Lacks;

use super::{choice, differences, end, fingers, none_differ, seeds, shown};
use crate::checker::task::OPTIONAL;
use crate::checker::{
    Agreement, Compared, Dim, End, Fill, Fingers, Missing, Rear, Task, Verdict, Who, as_it_stands,
    judge,
};
use crate::shops::{Dice, RealShop, real};

/// A stack at random: mostly near what is fitted.
pub(super) fn draw<'a>(dice: &mut Dice, task: &Task<'a>) -> Vec<Fill<'a>> {
    let kinds = task.library.kinds;
    let change = *dice.pick(&[0, 15, 15, 40, 100]);
    let mut stack = task.fitted.clone();
    for (slot, (kind, _)) in kinds.slots().enumerate() {
        let needs = !OPTIONAL.contains(&kind.key) && stack[slot].is_empty();
        if !needs && !dice.chance(change) {
            continue;
        }
        let all =
            task.library.parts.iter().enumerate().filter(|(_, part)| part.kind.key == kind.key);
        let all: Vec<_> = all.map(|(at, part)| (u32::try_from(at).unwrap(), part)).collect();
        // Everything replaced, where that can be: then no reading says anything.
        let others: Vec<_> = all
            .iter()
            .copied()
            .filter(|(_, part)| task.fitted[slot].ids() != [part.id.as_str()])
            .collect();
        let all = if change == 100 && !others.is_empty() { others } else { all };
        stack[slot] = Fill::default();
        if all.is_empty() || (OPTIONAL.contains(&kind.key) && dice.chance(30)) {
            continue;
        }
        let one = *dice.pick(&all);
        stack[slot].parts.push(one);
        let other = *dice.pick(&all);
        let twice = one.0 == other.0 && one.1.piece_of.is_some();
        if kind.key == "bearing_shim" && !twice && dice.chance(30) {
            stack[slot].parts.push(other);
            stack[slot].parts.sort_by(|a, b| a.1.id.cmp(&b.1.id));
        }
    }
    let plate = stack[task.slot("pressure_plate")].part();
    if plate.is_some_and(bellstack::model::part::Part::is_matched_set) {
        stack[task.slot("disc")] = Fill::default();
    }
    let slot = task.slot("flywheel");
    let known = stack[slot].part().is_some_and(|part| part.entry("thickness").is_some());
    if known && dice.chance(5) {
        stack[slot].cut = i128::from(dice.range(1, 120)) * 25_400;
    }
    stack
}

/// What the stacks had to show, so that no comparison is of nothing with nothing.
#[derive(Debug, Default)]
pub(super) struct Seen {
    stacks: usize,
    missing: usize,
    grades: [usize; 5],
    fingers: [usize; 5],
    rears: [usize; 4],
    caps: [usize; 5],
    fails: usize,
    passes: usize,
    on_bench: usize,
    assumed: usize,
    edges_met: usize,
    checks: [[usize; 3]; 13],
    cross: [usize; 3],
    /// Jobs that stand otherwise with their facings as they are than with new ones.
    stands_otherwise: usize,
}

impl Seen {
    fn count(&mut self, stack: &[Fill<'_>], verdict: &Verdict) {
        self.grades[verdict.grade as usize] += 1;
        let route = Fingers::ALL.iter().position(|route| *route == verdict.fingers).unwrap();
        self.fingers[route] += 1;
        self.rears[match verdict.rear {
            Rear::BothDepths => 0,
            Rear::OneDepth(End::Extended) => 1,
            Rear::OneDepth(End::Retracted) => 2,
            Rear::Catalogue => 3,
        }] += 1;
        for cap in &verdict.caps {
            self.caps[*cap as usize] += 1;
        }
        *(if verdict.fails() { &mut self.fails } else { &mut self.passes }) += 1;
        self.on_bench += usize::from(stack.iter().any(|fill| fill.bench));
        self.assumed += usize::from(verdict.preload.assumed || verdict.reserve.assumed);
        self.edges_met += usize::from(verdict.least_room == 0);
        for (tally, (_, said)) in self.checks.iter_mut().zip(&verdict.checks) {
            tally[*said as usize] += 1;
        }
    }
}

/// What each route of a length lacks: kind, part number (none of what nobody named), dimension.
type Lacking = BTreeSet<BTreeSet<(String, Option<String>, String)>>;

/// What a stack lacks that cannot be worked out, compared.
fn lacking(task: &Task<'_>, said: &Lacks, judged: &Missing) -> Vec<String> {
    let kinds: Vec<&str> = task.library.kinds.slots().map(|(kind, _)| kind.key).collect();
    let theirs = |routes: &[Vec<bellstack::stack::lengths::Missing>]| -> Lacking {
        let one = |lack: &bellstack::stack::lengths::Missing| {
            (lack.kind.to_string(), lack.id.clone(), lack.dim.to_string())
        };
        routes.iter().map(|route| route.iter().map(one).collect()).collect()
    };
    let ours = |routes: &[Vec<Dim>]| -> Lacking {
        let one = |dim: &Dim| {
            let id = match dim.who {
                Who::Part(place) => Some(task.library.parts[place as usize].id.clone()),
                _ => None,
            };
            (kinds[dim.slot].to_string(), id, dim.key.to_string())
        };
        routes.iter().map(|route| route.iter().map(one).collect()).collect()
    };
    let known = |(_, id, key): &(String, Option<String>, String)| {
        let part = id.as_ref().map(|id| task.library.find(id).unwrap());
        part.is_some_and(|part| part.entry(key).is_some())
    };
    let mut all = Vec::new();
    for (length, said, judged) in [
        ("fingers", theirs(&said.finger), ours(&judged.fingers)),
        ("bearing", theirs(&said.bearing), ours(&judged.bearing)),
    ] {
        // Nothing is named that is known, and of every route all that it lacks; but for a route that lacks
        // what another one lacks, and more.
        let longer = |route: &BTreeSet<_>| {
            judged.iter().any(|other| other.is_subset(route) && other != route)
        };
        let judged: Lacking = judged.iter().filter(|route| !longer(route)).cloned().collect();
        if said.iter().flatten().any(known) || said != judged {
            all.push(format!("{length} lacks: the program {said:?}, the judge {judged:?}"));
        }
    }
    all
}

/// Judges some stacks of a shop; says what differs.
fn compare(seed: u64, stacks: usize, seen: &mut Seen) -> Vec<String> {
    let RealShop { library, job, changed } = &real(seed);
    let task = Task::new(library, job, changed.clone());
    let setup = Setup::new(library, job).unwrap();
    let mut dice = Dice::new(seed ^ 0x5eed);
    let mut all = Vec::new();
    let checks = task.cross_checks();
    let compared = |compared: agreement::Compared| match compared {
        agreement::Compared::Fingers(a, b) => Compared::Fingers(fingers(a), fingers(b)),
        agreement::Compared::Depth(one) => Compared::Depth(end(one)),
        agreement::Compared::Travel => Compared::Travel,
    };
    let said = setup.cross_checks().all.iter().map(|check| {
        let agreement = match check.agreement {
            agreement::Agreement::Agree => Agreement::Agree,
            agreement::Agreement::Doubtful => Agreement::Doubtful,
            agreement::Agreement::CannotBothBeRight => Agreement::CannotBothBeRight,
        };
        (compared(check.compared), i128::from(check.difference().nm()), agreement)
    });
    let mut said: Vec<_> = said.collect();
    let judged = checks.iter().map(|check| (check.compared, check.difference, check.agreement));
    let mut judged: Vec<_> = judged.collect();
    said.sort();
    judged.sort();
    for (_, _, agreement) in &judged {
        seen.cross[*agreement as usize] += 1;
    }
    if said != judged {
        all.push(format!("seed {seed} cross-checks: the program {said:?}\n  the judge {judged:?}"));
    }
    if let Ok(fitted) = setup.fitted_choice() {
        let said = evaluate_as_it_stands(&setup, &fitted).ok();
        let said = said.map(|fit| [fit.preload, fit.reserve].map(|length| i128::from(length.nm())));
        let judged = as_it_stands(&task);
        if said != judged {
            all.push(format!(
                "seed {seed} as it stands: the program {said:?}, the judge {judged:?}"
            ));
        }
        let new = judge(&task, &task.fitted, &checks).ok();
        let new = new.map(|verdict| [verdict.preload.value, verdict.reserve.value]);
        seen.stands_otherwise += usize::from(judged.is_some() && judged != new);
    }
    for _ in 0..stacks {
        let stack = draw(&mut dice, &task);
        let choice = choice(&stack);
        if setup.complete(&choice).is_err() {
            continue;
        }
        seen.stacks += 1;
        let differs = match (evaluate(&setup, &choice), judge(&task, &stack, &checks)) {
            (Ok(fit), Ok(verdict)) => {
                seen.count(&stack, &verdict);
                differences(&fit, &verdict)
            }
            (Err(said), Err(judged)) => {
                seen.missing += 1;
                lacking(&task, &said, &judged)
            }
            (said, judged) => {
                vec![format!("whether it can be worked out: {:?}; {:?}", said.err(), judged.err())]
            }
        };
        if !differs.is_empty() {
            all.push(format!("seed {seed} [{}]\n  {}", shown(&stack), differs.join("\n  ")));
        }
    }
    all
}

impl Seen {
    /// Shares far below what was seen when this was written.
    pub(super) fn is_enough(&self) -> bool {
        let share = |count: usize, permille: usize| count * 1000 >= self.stacks * permille;
        let all = |counts: &[usize], permille| counts.iter().all(|count| share(*count, permille));
        all(&self.grades, 10)
            && all(&self.fingers, 20)
            && all(&self.rears, 30)
            && all(&self.caps, 5)
            && share(self.fails, 100)
            && share(self.passes, 100)
            && share(self.on_bench, 30)
            && share(self.assumed, 200)
            && share(self.missing, 30)
            && share(self.edges_met, 1)
            && all(&self.cross, 2)
            && share(self.stands_otherwise, 4)
            && self.checks.iter().enumerate().all(|(index, said)| all(said, 2) || index == 10)
    }
}

/// Some stacks of each shop.
pub(super) fn differing(seeds: Range<u64>, seen: &mut Seen) -> Vec<String> {
    seeds.flat_map(|seed| compare(seed, 6, seen)).collect()
}

#[test]
fn one_stack_is_what_the_judge_says_field_by_field() {
    let mut seen = Seen::default();
    let found = differing(seeds(0, 3_000), &mut seen);
    none_differ(&found, &seen);
    assert!(seen.is_enough(), "{seen:?}");
}
