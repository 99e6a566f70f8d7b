//! `recommend` against every combination, worked out by the judge: members, order, both counts, and which
//! parts nothing could be worked out with.

use std::ops::Range;

use bellstack::model::money::Cents;
use bellstack::solve::ask::{Answer, Ask, Order, Watch};
use bellstack::solve::candidates::candidates;
use bellstack::solve::product::recommend_by_product;
use bellstack::solve::recommend::recommend;
use bellstack::stack::choice::Setup;
use bellstack::stack::fit::{Fit, evaluate};
use bellstack::stack::grade::Grade;
use bellstack::stack::odds::chance_of;

use super::{choice, none_differ, seeds, shown};
use crate::checker::product::{Ranked, size};
use crate::checker::task::OPTIONAL;
use crate::checker::{Fill, Task, Verdict};
use crate::shops::{Dice, RealShop, real};

/// What is asked, at random.
pub(super) fn ask(dice: &mut Dice, task: &Task<'_>, order: Order) -> Ask {
    let kinds = task.library.kinds;
    let mut ask = Ask {
        top: *dice.pick(&[1, 3, 20, 200]),
        order,
        on_hand: dice.chance(10),
        budget: dice.chance(15).then(|| Cents::new(dice.range(0, 4) * 5_000)),
        at_least: *dice.pick(&[Grade::Marginal, Grade::Marginal, Grade::Likely, Grade::Sure]),
        show_failed: dice.chance(40),
        ..Ask::default()
    };
    for (slot, (kind, spec)) in kinds.slots().enumerate() {
        let fitted = !task.fitted[slot].is_empty();
        let optional = OPTIONAL.contains(&kind.key);
        let parts: Vec<_> = task.library.of_kind(kind.key).collect();
        let opens = if task.fitted[slot].bench { 40 } else { 6 };
        if dice.chance(opens) && (spec.fixed || task.fitted[slot].bench) {
            ask.open.push(slot);
        }
        if spec.fixed || parts.is_empty() {
            continue;
        }
        match dice.range(0, 29) {
            0 if fitted && !ask.open.contains(&slot) => ask.keep.push(slot),
            1 if optional || kind.key == "disc" => ask.without.push(slot),
            2 => {
                let mut ids = vec![dice.pick(&parts).id.clone()];
                if optional && dice.chance(50) {
                    ids.push("none".into());
                }
                if dice.chance(30) {
                    ids.push(dice.pick(&parts).id.clone());
                }
                ids.sort();
                ids.dedup();
                ask.only.push((slot, ids));
            }
            3 => ask.skip.push(dice.pick(&parts).id.clone()),
            _ => {}
        }
    }
    ask
}

/// What the shops had to show.
#[derive(Debug, Default)]
pub(super) struct Seen {
    shops: usize,
    refused: usize,
    larger: usize,
    found: usize,
    none: usize,
    counted: usize,
    /// The list is full, and what stands behind the cut ties with its last but for the ids.
    tied: usize,
    failed_shown: usize,
    listed: usize,
    stuck: usize,
    on_bench: usize,
    filtered: usize,
}

pub(super) fn row(stack: &[Fill<'_>], grade: Grade, room: i128, to_buy: (u32, i128)) -> String {
    format!("{grade:?} to buy {to_buy:?} room {room} [{}]", shown(stack))
}

pub(super) fn said(fit: &Fit<'_>) -> String {
    let fills = fit.choice.fills.iter().map(|fill| {
        if fill.on_bench { "as on the bench".to_string() } else { fill.ids().join("|") }
    });
    let fills: Vec<_> = fills.collect();
    let to_buy = (fit.to_buy.unpriced, i128::from(fit.to_buy.amount.get()));
    format!("{:?} to buy {to_buy:?} room {} [{}]", fit.grade, fit.room.nm(), fills.join(", "))
}

/// The first row at which two lists part.
pub(super) fn first_apart(said: &[String], judged: &[String]) -> Option<String> {
    let at = (0..said.len().max(judged.len())).find(|at| said.get(*at) != judged.get(*at))?;
    Some(format!(
        "row {at} of {}/{}: the program {:?}\n    the judge {:?}",
        said.len(),
        judged.len(),
        said.get(at),
        judged.get(at)
    ))
}

/// Nearest ones stand in order of how near they are, those that pass every check at least; and there are
/// some where there can be.
fn nearest(answer: &Answer<Fit<'_>>, ranked: &Ranked<'_>) -> Option<String> {
    let passing = answer.nearest.iter().filter(|fit| !fit.fails());
    let places: Vec<_> = passing.map(|fit| (fit.grade, -fit.room.nm())).collect();
    if !places.is_sorted() {
        return Some(format!("nearest not in order: {places:?}"));
    }
    let any = ranked.others.iter().any(|(_, verdict)| !verdict.fails());
    (ranked.stacks.is_empty() && any && answer.nearest.is_empty())
        .then(|| "nothing is near, though something could be worked out".into())
}

/// Which parts nothing could be worked out with: those named lack what they are said to lack and stand
/// in no stack that works; of those that lack something themselves none is forgotten.
fn left_out(task: &Task<'_>, answer: &Answer<Fit<'_>>, ranked: &Ranked<'_>) -> Option<String> {
    for one in &answer.left_out {
        let Some(id) = &one.id else { continue };
        let part = task.library.find(id).unwrap();
        let lacks = |key: &&'static str| part.entry(key).is_none();
        let all = one.needs.iter().chain(&one.needs_any);
        if !all.clone().all(lacks) || all.count() == 0 {
            return Some(format!("{id} is said to lack what it has: {one:?}"));
        }
        // What is fitted is named too where it works only as long as it stays: nothing else that it could
        // be compared with can be summed up.
        let is_fitted = task.fitted.iter().any(|fill| fill.holds(id) > 0);
        let others = task.library.of_kind(one.kind).filter(|other| {
            let fitted = task.fitted.iter().any(|fill| fill.holds(&other.id) > 0);
            !fitted && ranked.works.contains(&other.id)
        });
        let only_stays = is_fitted && others.count() == 0;
        if !ranked.stuck.contains(id) && ranked.works.contains(id) && !only_stays {
            return Some(format!("{id} is left out, and stands in a stack that works: {one:?}"));
        }
    }
    let forgotten = ranked.stuck.iter().find(|id| {
        let part = task.library.find(id).unwrap();
        let named = answer.left_out.iter().any(|one| one.id.as_ref() == Some(*id));
        !part.missing().is_empty() && !named
    });
    forgotten.map(|id| format!("nothing works with {id}, and it is not named"))
}

/// One shop, one question.
pub(super) fn compare(seed: u64, order: Order, largest: u128, seen: &mut Seen) -> Option<String> {
    let RealShop { library, job, changed } = &real(seed);
    let task = Task::new(library, job, changed.clone());
    let setup = Setup::new(library, job).unwrap();
    let mut dice = Dice::new(seed ^ 0xa5c);
    let ask = ask(&mut dice, &task, order);
    if size(&task.candidates(&ask)) > largest {
        seen.larger += 1;
        return None;
    }
    let Ok(answer) = recommend(&setup, &ask, &Watch::default()) else {
        seen.refused += 1;
        return None;
    };
    let chance = |stack: &[Fill<'_>]| {
        // From 0.999 on chances count as equal.
        let thousandths = |fit: Fit<'_>| chance_of(&fit).thousandths().min(999);
        evaluate(&setup, &choice(stack)).map_or(-1, thousandths)
    };
    let ranked = task.recommend(&ask, &task.cross_checks(), chance);
    let judged_row = |(stack, verdict): &(Vec<Fill<'_>>, Verdict)| {
        row(stack, verdict.grade, verdict.least_room, verdict.to_buy)
    };
    let judged: Vec<String> = ranked.stacks.iter().take(ask.top).map(judged_row).collect();
    let listed: Vec<String> = answer.stacks.iter().map(said).collect();
    let counts = (answer.considered.unwrap(), answer.in_window.unwrap());
    let judged_counts = (ranked.considered, ranked.in_window);
    // The full product that stands in where numbers cannot follow says the same.
    let all = candidates(&setup, &ask).unwrap();
    let product = recommend_by_product(&setup, &ask, &all, &Watch::default()).unwrap();
    let by_product: Vec<String> = product.stacks.iter().map(said).collect();
    let product_counts = (product.considered.unwrap(), product.in_window.unwrap());
    let found = (counts != judged_counts)
        .then(|| format!("counts: the program {counts:?}, the judge {judged_counts:?}"))
        .or_else(|| {
            (counts != product_counts)
                .then(|| format!("counts: {counts:?}, by the product {product_counts:?}"))
        })
        .or_else(|| first_apart(&listed, &judged))
        .or_else(|| first_apart(&listed, &by_product))
        .or_else(|| nearest(&answer, &ranked))
        .or_else(|| left_out(&task, &answer, &ranked));
    seen.shops += 1;
    seen.found += usize::from(!judged.is_empty());
    seen.none += usize::from(judged.is_empty());
    seen.counted += usize::from(ranked.in_window > 0);
    if let [.., last, next] = &ranked.stacks[..ranked.stacks.len().min(ask.top + 1)] {
        let full = ranked.stacks.len() > ask.top;
        let key = |verdict: &Verdict| {
            let room = verdict.least_room.min(task.house.length("enough_room"));
            let faces = verdict.not_verified.count_ones();
            (verdict.grade, faces, verdict.to_buy, room, verdict.parts)
        };
        seen.tied += usize::from(full && key(&last.1) == key(&next.1));
    }
    seen.failed_shown += ranked.stacks.iter().filter(|(_, verdict)| verdict.fails()).count();
    seen.listed += listed.len();
    seen.stuck += usize::from(!ranked.stuck.is_empty());
    seen.on_bench += usize::from(task.fitted.iter().any(|fill| fill.bench));
    seen.filtered += usize::from(!ask.only.is_empty() || !ask.keep.is_empty());
    found.map(|found| format!("seed {seed} {order:?}: {found}\n    {ask:?}"))
}

impl Seen {
    /// Shares far below what was seen when this was written.
    pub(super) fn is_enough(&self) -> bool {
        let share = |count: usize, percent: usize| count * 100 >= self.shops * percent;
        share(self.found, 12)
            && share(self.none, 20)
            && share(self.counted, 18)
            && share(self.tied, 1)
            && share(self.failed_shown, 10)
            && share(self.listed, 80)
            && share(self.stuck, 8)
            && share(self.on_bench, 8)
            && share(self.filtered, 15)
            && self.refused * 10 < self.shops
    }
}

pub(super) const ORDERS: [Order; 5] =
    [Order::Grade, Order::Price, Order::Room, Order::Changes, Order::Chance];

/// Shops with one question each, the order by their number.
pub(super) fn differing(seeds: Range<u64>, largest: u128, seen: &mut Seen) -> Vec<String> {
    let order = |seed: u64| ORDERS[usize::try_from(seed % 5).unwrap()];
    seeds.filter_map(|seed| compare(seed, order(seed), largest, seen)).collect()
}

#[test]
fn recommendations_are_the_judges_full_product() {
    let mut seen = Seen::default();
    let found = differing(seeds(1_000_000, 250), 600, &mut seen);
    none_differ(&found, &seen);
    assert!(seen.is_enough(), "{seen:?}");
}

#[test]
fn of_two_shims_alike_one_with_an_assumed_tolerance_is_judged_by_its_own() {
    // A shim and a measured piece of it are as thick and known with the same u, and grades differ.
    assert_eq!(compare(62_001_742, Order::Room, 2_000, &mut Seen::default()), None);
}
