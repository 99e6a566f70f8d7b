//! `cure` against every single change and every pair of them, worked out by the judge.

use std::ops::Range;

use bellstack::model::length::Length;
use bellstack::solve::ask::{Ask, Order, Watch};
use bellstack::solve::cure::{Cure, cure, cure_by_walking, cure_in_brief};
use bellstack::stack::answer::{self, Change, Forbidden};
use bellstack::stack::choice::Setup;
use bellstack::stack::fit::Fit;
use bellstack::stack::grade::Grade;
use bellstack::stack::window::Empty;

use super::ranked::{ask, first_apart, row, said};
use super::{choice, differences, none_differ, seeds};
use crate::checker::cure::{Cured, Trouble, trouble};
use crate::checker::{CrossCheck, Fill, Task, judge};
use crate::shops::{Dice, RealShop, real};

/// What the shops had to show.
#[derive(Debug, Default)]
pub(super) struct Seen {
    shops: usize,
    refused: usize,
    larger: usize,
    singles: usize,
    pairs: usize,
    machined: usize,
    needs_none: usize,
    fails_today: usize,
}

/// Whether some cut of the fitted flywheel in whole steps of 0.001 in, as it is machined, down to its least
/// thickness, is one that is wanted.
fn some_cut_does<'a>(
    task: &Task<'a>,
    ask: &Ask,
    checks: &[CrossCheck],
    cured: &Cured<'a>,
) -> Option<i128> {
    let slot = task.slot("flywheel");
    let flywheel = task.fitted[slot].part().filter(|part| !ask.skip.contains(&part.id))?;
    let value = |key: &str| flywheel.entry(key).map(|entry| i128::from(entry.value));
    let most = value("thickness")? - value("min_thickness")?;
    let whole = |cut: i128| cut / 25_400 * 25_400;
    (1..=40).map(|step| whole(most * step / 40)).filter(|cut| *cut > 0).find(|cut| {
        let mut stack = task.fitted.clone();
        stack[slot].cut = *cut;
        let verdict = judge(task, &stack, checks);
        !task.faces_clash(&stack)
            && verdict
                .is_ok_and(|verdict| !verdict.fails() && task.is_better(ask, &cured.now, &verdict))
    })
}

/// One shop, one question.
pub(super) fn compare(seed: u64, order: Order, seen: &mut Seen) -> Option<String> {
    let RealShop { library, job, changed } = &real(seed);
    let task = Task::new(library, job, changed.clone());
    let setup = Setup::new(library, job).unwrap();
    let mut dice = Dice::new(seed ^ 0xc03e);
    let mut ask = ask(&mut dice, &task, order);
    if task.pairs(&ask) > 700 {
        seen.larger += 1;
        return None;
    }
    let slot = task.slot("flywheel");
    let machinable = task.fitted[slot].part().is_some_and(|f| f.entry("min_thickness").is_some());
    if machinable {
        // The program chooses how far to machine: then lists are compared without such rows.
        ask.top = 200;
    }
    let checks = task.cross_checks();
    let (said_cure, judged) = (cure(&setup, &ask, &Watch::default()), task.cure(&ask, &checks));
    let (said_cure, judged) = match (said_cure, judged) {
        (Ok(said), Some(judged)) => (said, judged),
        (Err(_), None) => {
            seen.refused += 1;
            return None;
        }
        (said, judged) => {
            let said = said.map(|_| ()).map_err(|error| error.to_string());
            return Some(format!("seed {seed}: {said:?}, judged {}", judged.is_some()));
        }
    };
    let mut found = Vec::new();
    // The walk that stands in where numbers cannot follow says the same.
    let walked = cure_by_walking(&setup, &ask, &Watch::default()).unwrap();
    let rows =
        |cure: &Cure<Fit<'_>>| cure.remedies.iter().map(|one| said(&one.fit)).collect::<Vec<_>>();
    found.extend(first_apart(&rows(&said_cure), &rows(&walked)));
    let counts = |cure: &Cure<Fit<'_>>| (cure.considered, cure.in_window);
    if counts(&said_cure) != counts(&walked) {
        found.push(format!("counts: {:?}, walked {:?}", counts(&said_cure), counts(&walked)));
    }
    found.extend(differences(&said_cure.now, &judged.now).into_iter().map(|d| format!("now: {d}")));
    // One row of a desk's table is the first remedy that holds.
    let brief = cure_in_brief(&setup, &ask, &Watch::default()).unwrap();
    let first = |cure: &Cure<Fit<'_>>| {
        let one = cure.remedies.iter().find(|remedy| remedy.fit.holds());
        (cure.trouble.clone(), one.map(|one| (said(&one.fit), one.changes.clone())))
    };
    if first(&brief) != first(&said_cure) {
        found.push(format!("in brief {:?}, in full {:?}", first(&brief), first(&said_cure)));
    }
    let opened = opening(&said_cure.trouble);
    let judged_opening = trouble(&task, &judged.now);
    if opened != judged_opening {
        found.push(format!("trouble: the program {opened:?}, the judge {judged_opening:?}"));
    }
    let is_machined = |changes: &[Change]| changes.iter().any(|change| change.machine_to.is_some());
    let plain = said_cure.remedies.iter().filter(|remedy| !is_machined(&remedy.changes));
    let listed: Vec<String> = plain.map(|remedy| said(&remedy.fit)).collect();
    let rows = judged
        .remedies
        .iter()
        .take(ask.top)
        .map(|(stack, verdict)| row(stack, verdict.grade, verdict.least_room, verdict.to_buy));
    let rows: Vec<String> = rows.collect();
    found.extend(first_apart(&listed, &rows));
    let machined: Vec<_> =
        said_cure.remedies.iter().filter(|remedy| is_machined(&remedy.changes)).collect();
    // A flywheel that may be machined is one more change, which the judge does not count.
    let counts = (said_cure.considered, said_cure.in_window);
    let needs_none = judged_opening == Trouble::Nothing;
    let judged_counts =
        if needs_none { (0, 0) } else { (judged.considered, judged.remedies.len() as u128) };
    let judged_counts = (Some(judged_counts.0), Some(judged_counts.1));
    if !machinable && counts != judged_counts {
        found.push(format!("counts: the program {counts:?}, the judge {judged_counts:?}"));
    }
    for remedy in &machined {
        found.extend(machined_is_real(&task, &ask, &checks, &judged, &remedy.fit));
    }
    let alone = machined.iter().any(|remedy| remedy.changes.len() == 1);
    if machinable && !alone && ask.only.is_empty() && ask.keep.is_empty() {
        let cut = some_cut_does(&task, &ask, &checks, &judged);
        found.extend(cut.map(|cut| format!("machining {cut} nm off does, and is not offered")));
    }
    seen.shops += 1;
    seen.singles += said_cure.remedies.iter().filter(|one| one.changes.len() == 1).count();
    seen.pairs += said_cure.remedies.iter().filter(|one| one.changes.len() == 2).count();
    seen.machined += machined.len();
    seen.needs_none += usize::from(judged.now.grade < Grade::Marginal);
    seen.fails_today += usize::from(judged.now.fails());
    let found = found.join("\n  ");
    (!found.is_empty()).then(|| format!("seed {seed} {order:?}:\n  {found}\n    {ask:?}"))
}

/// What an answer opens with, as the judge has it.
fn opening(said: &answer::Trouble) -> Trouble {
    let nm = |length: Length| i128::from(length.nm());
    match said {
        answer::Trouble::Nothing => Trouble::Nothing,
        answer::Trouble::TooTight { edge, by, .. } => {
            assert!(!edge.is_missed_when_loose());
            Trouble::Missed(*edge, nm(*by))
        }
        answer::Trouble::TooLoose { edge, by, .. } => {
            assert!(edge.is_missed_when_loose());
            Trouble::Missed(*edge, nm(*by))
        }
        answer::Trouble::EmptyWindow(Forbidden::Travel { empty, .. }) => match empty {
            Empty::TravelShort(by) | Empty::TravelLong(by) => Trouble::Empty(nm(*by)),
        },
        answer::Trouble::EmptyWindow(other) => panic!("{other:?}"),
        answer::Trouble::NotCertain => Trouble::NotCertain,
        answer::Trouble::FailsCheck(name) => Trouble::FailsCheck(name),
    }
}

/// A machined flywheel that is offered is better than today's, no thinner than it may be, and what the
/// judge makes of it.
fn machined_is_real<'a>(
    task: &Task<'a>,
    ask: &Ask,
    checks: &[CrossCheck],
    judged: &Cured<'a>,
    fit: &Fit<'_>,
) -> Vec<String> {
    let place = |id: &str| {
        let at = task.library.parts.iter().position(|part| part.id == id).unwrap();
        (u32::try_from(at).unwrap(), &task.library.parts[at])
    };
    let fills = fit.choice.fills.iter().map(|fill| Fill {
        parts: fill.ids().into_iter().map(place).collect(),
        bench: fill.on_bench,
        cut: fill.cut.nm().into(),
    });
    let stack: Vec<Fill<'a>> = fills.collect();
    let Ok(verdict) = judge(task, &stack, checks) else { return vec!["machined: no sum".into()] };
    let mut all = differences(fit, &verdict);
    if !task.is_better(ask, &judged.now, &verdict) {
        all.push("it is no better than today".into());
    }
    if choice(&stack).fills[task.slot("flywheel")].cut == Length::ZERO {
        all.push("nothing is machined off".into());
    }
    all.into_iter().map(|one| format!("machined: {one}")).collect()
}

impl Seen {
    /// Shares far below what was seen when this was written.
    pub(super) fn is_enough(&self) -> bool {
        let share = |count: usize, percent: usize| count * 100 >= self.shops * percent;
        share(self.singles, 8)
            && share(self.pairs, 8)
            && self.machined > self.shops / 200
            && share(self.needs_none, 3)
            && share(self.fails_today, 20)
    }
}

/// Shops with one question each, the order by their number.
pub(super) fn differing(seeds: Range<u64>, seen: &mut Seen) -> Vec<String> {
    let orders = [Order::Changes, Order::Changes, Order::Grade, Order::Price];
    let order = |seed: u64| orders[usize::try_from(seed % 4).unwrap()];
    seeds.filter_map(|seed| compare(seed, order(seed), seen)).collect()
}

#[test]
fn cures_are_the_judges_single_changes_and_pairs() {
    let mut seen = Seen::default();
    let found = differing(seeds(2_000_000, 1_000), &mut seen);
    none_differ(&found, &seen);
    assert!(seen.is_enough(), "{seen:?}");
}

#[test]
fn a_machined_flywheel_stands_at_its_own_number_among_equals() {
    // Two remedies are equal but for the parts: one machines the fitted flywheel, one changes the plate.
    assert_eq!(compare(63_002_099, Order::Price, &mut Seen::default()), None);
}

#[test]
fn a_pair_of_changes_that_is_cheaper_than_the_last_single_change_listed_is_not_lost() {
    // Three single changes fill the list, the worst of them found first, and a pair costs less.
    assert_eq!(compare(10_001_263, Order::Price, &mut Seen::default()), None);
}
