//! Why something is not in an answer: parts with which nothing can be worked out, and what stands in the
//! way where nothing is found. Every reason is tried, none is guessed.

use itertools::Itertools as _;

use crate::error::Result;
use crate::model::edge::Edge;
use crate::model::kinds::Joint;
use crate::model::length::Length;
use crate::solve::ask::{Answer, Ask, Forbidden, LeftOut, Order, Removed, Sieve, Watch};
use crate::solve::candidates::{Candidates, candidates};
use crate::solve::count::considers_any;
use crate::solve::numbers::Numbers;
use crate::solve::product::{Unfit, worked_out};
use crate::solve::ranked::ranked;
use crate::stack::choice::{Choice, Fill, Setup};
use crate::stack::fit::Fit;
use crate::stack::grade::Grade;
use crate::stack::joints::{adapts, joints};
use crate::stack::lengths::Lacks;
use crate::stack::window::{Empty, SetBy};

/// How many combinations are walked at most to find out why none of them works.
const MOST_WALKED: usize = 50_000;

/// The parts with which no combination can be worked out, and what they lack; and, where nothing can
/// take the place of what is fitted or as on the bench for want of its dimension, what that lacks.
pub(crate) fn left_out<'a>(
    setup: &Setup<'a>,
    candidates: &Candidates<'a>,
    answer: &Answer<Fit<'a>>,
    watch: &Watch,
) -> Result<Vec<LeftOut>> {
    let mut left_out = Vec::new();
    for one in &candidates.left_out {
        let Some((slot, id)) = setup.slot(one.kind).zip(one.id.as_deref()) else { continue };
        let holds = |fill: &Fill<'a>| fill.parts.iter().any(|part| part.id == id);
        let mut shown = answer.stacks.iter().chain(&answer.nearest);
        let works = candidates.slots[slot].iter().any(holds)
            && (shown.any(|fit| holds(&fit.choice.fills[slot]))
                || works(setup, &only(candidates, slot, holds), watch)?);
        if !works {
            left_out.push(one.clone());
        }
    }
    for (slot, fitted) in setup.fitted.iter().enumerate() {
        let mut shown = answer.stacks.iter().chain(&answer.nearest);
        // Where something else is seen to take its place nothing need be tried.
        if !shown.any(|fit| takes_its_place(&fit.choice.fills[slot], fitted)) {
            left_out.extend(stuck(setup, candidates, slot, watch)?);
        }
    }
    left_out.sort();
    left_out.dedup();
    Ok(left_out)
}

/// Whether a part stands where another one is fitted.
fn takes_its_place(fill: &Fill<'_>, fitted: &Fill<'_>) -> bool {
    !fill.is_empty() && !fill.same(fitted)
}

/// The same for changes of what is fitted, one slot at a time.
pub(crate) fn left_out_of_changes<'a>(
    setup: &Setup<'a>,
    candidates: &Candidates<'a>,
    watch: &Watch,
) -> Result<Vec<LeftOut>> {
    let is_fitted = |one: &LeftOut| {
        let slot = setup.slot(one.kind);
        let fitted = slot.into_iter().flat_map(|slot| &setup.fitted[slot].parts);
        one.id.as_ref().is_some_and(|id| fitted.into_iter().any(|part| part.id == *id))
    };
    let all = candidates.left_out.iter().filter(|one| !is_fitted(one));
    let mut left_out: Vec<LeftOut> = all.cloned().collect();
    for slot in (0..setup.fitted.len()).filter(|slot| lacks_something(&setup.fitted[*slot])) {
        let mut one = candidates.clone();
        for (other, fills) in one.slots.iter_mut().enumerate().filter(|(other, _)| *other != slot) {
            *fills = vec![setup.fitted[other].clone()];
        }
        left_out.extend(stuck(setup, &one, slot, watch)?);
    }
    left_out.sort();
    left_out.dedup();
    Ok(left_out)
}

/// Whether some dimension of what stands in a slot is not known.
fn lacks_something(fill: &Fill<'_>) -> bool {
    fill.on_bench || fill.parts.iter().any(|part| !part.missing().is_empty())
}

/// What is fitted or as on the bench in a slot and lacks a dimension without which nothing else that
/// mates can take its place.
fn stuck<'a>(
    setup: &Setup<'a>,
    candidates: &Candidates<'a>,
    slot: usize,
    watch: &Watch,
) -> Result<Vec<LeftOut>> {
    let fitted = &setup.fitted[slot];
    let other = |fill: &Fill<'a>| takes_its_place(fill, fitted);
    if !lacks_something(fitted) || !candidates.slots[slot].iter().any(other) {
        return Ok(Vec::new());
    }
    let others = only(candidates, slot, other);
    if works(setup, &others, watch)? {
        return Ok(Vec::new());
    }
    let Walked::Lacks(lacks) = walk(setup, &others, watch)? else { return Ok(Vec::new()) };
    let kind = setup.library.kinds.slots().nth(slot).map_or("", |(kind, _)| kind.key);
    let is_todays = |one: &LeftOut| match &one.id {
        Some(id) => fitted.parts.iter().any(|part| part.id == *id),
        None => one.kind == kind,
    };
    let lengths = [lacks.finger, lacks.bearing].into_iter();
    Ok(lengths.flat_map(LeftOut::gather_any).filter(is_todays).collect())
}

/// The candidates with one slot's narrowed.
fn only<'a>(
    candidates: &Candidates<'a>,
    slot: usize,
    keeps: impl Fn(&Fill<'a>) -> bool,
) -> Candidates<'a> {
    let mut some = candidates.clone();
    some.slots[slot].retain(keeps);
    some
}

/// Whether any combination mates and can be worked out.
fn works(setup: &Setup<'_>, candidates: &Candidates<'_>, watch: &Watch) -> Result<bool> {
    if candidates.empty_slot().is_some() {
        return Ok(false);
    }
    let numbers = Numbers::new(setup, candidates);
    match numbers.map_or(Ok(None), |numbers| considers_any(&numbers, watch))? {
        Some(any) => Ok(any),
        None => Ok(matches!(walk(setup, candidates, watch)?, Walked::Works)),
    }
}

/// How far the combinations of some candidates come.
enum Walked {
    /// One can be worked out.
    Works,
    /// One mates and lacks something.
    Lacks(Lacks),
    /// All that mate take more shim than their bearing.
    TooMuchShim,
    /// All leave a slot empty that has to be filled.
    Incomplete(&'static str),
    /// All that are complete clash.
    Clash,
    /// There are more than were walked, and none of these mates.
    TooMany,
}

fn walk<'a>(setup: &Setup<'a>, candidates: &Candidates<'a>, watch: &Watch) -> Result<Walked> {
    let mut found = Walked::Incomplete("disc");
    let lists = candidates.slots.iter().map(|fills| fills.iter().cloned());
    for (walked, fills) in lists.multi_cartesian_product().enumerate() {
        watch.step(1)?;
        if walked == MOST_WALKED {
            return Ok(match found {
                Walked::Clash | Walked::Incomplete(_) => Walked::TooMany,
                found => found,
            });
        }
        let choice = Choice { fills };
        // What came furthest so far is kept.
        found = match (worked_out(setup, &choice), found) {
            (Ok(_), _) => return Ok(Walked::Works),
            (Err(Unfit::Incomplete), Walked::Incomplete(before)) => {
                Walked::Incomplete(setup.empty_slots(&choice).first().unwrap_or(&before))
            }
            (Err(Unfit::Clashes), Walked::Incomplete(_)) => Walked::Clash,
            (Err(Unfit::TooMuchShim), Walked::Incomplete(_) | Walked::Clash) => Walked::TooMuchShim,
            (Err(Unfit::Lacks(_)), Walked::Lacks(first)) => Walked::Lacks(first),
            (Err(Unfit::Lacks(lacks)), _) => Walked::Lacks(lacks),
            (Err(_), found) => found,
        };
    }
    Ok(found)
}

/// What stands in the way where no stack was found.
pub(crate) fn forbidden<'a>(
    setup: &Setup<'a>,
    ask: &Ask,
    candidates: &Candidates<'a>,
    answer: &Answer<Fit<'a>>,
    watch: &Watch,
) -> Result<Option<Forbidden>> {
    if let Some(slot) = candidates.empty_slot() {
        return Ok(Some(Forbidden::NoCandidate(sieve(setup, ask, slot)?)));
    }
    if let Some(asked) = asked(setup, ask, candidates, watch)? {
        return Ok(Some(asked));
    }
    if let Some(fit) = answer.nearest.first() {
        return Ok(forbidding(setup, fit));
    }
    Ok(match walk(setup, candidates, watch)? {
        Walked::Works => None,
        Walked::Lacks(Lacks { finger, bearing }) => {
            let routes = [finger, bearing].concat();
            Some(Forbidden::NothingAdds(routes.into_iter().map(LeftOut::gather).collect()))
        }
        Walked::TooMuchShim => Some(Forbidden::TooMuchShim),
        Walked::Clash => Some(Forbidden::NothingMates),
        Walked::Incomplete(key) => {
            let slot = setup.library.kinds.slots().position(|(_, slot)| slot.key == key);
            slot.map(|slot| sieve(setup, ask, slot)).transpose()?.map(Forbidden::NoCandidate)
        }
        Walked::TooMany => Some(Forbidden::NothingWorks),
    })
}

/// What became of each slot's parts, those counted that clash with what stays in other slots.
pub(crate) fn with_clashes<'a>(setup: &Setup<'a>, candidates: &Candidates<'a>) -> Vec<Sieve> {
    let stays = |fills: &Vec<Fill<'a>>| match &fills[..] {
        [one] => one.clone(),
        _ => Fill::empty(),
    };
    let staying = Choice { fills: candidates.slots.iter().map(stays).collect() };
    // What may come between two parts may let them meet.
    let open = candidates.slots.iter().filter(|fills| fills.len() > 1).flatten();
    let adapting: Vec<Joint> = open
        .flat_map(|fill| &fill.parts)
        .flat_map(|part| Joint::ALL.into_iter().filter(|joint| adapts(part, *joint)))
        .collect();
    let clashes = |slot: usize, fill: &Fill<'a>| {
        let mut choice = staying.clone();
        choice.fills[slot] = fill.clone();
        let clashes = joints(setup, &choice).clashes;
        let own = fill.ids();
        clashes.iter().any(|(joint, one, other)| {
            let is_own = own.contains(&one.as_str()) || own.contains(&other.as_str());
            is_own && !adapting.contains(joint)
        })
    };
    let mut sieves = candidates.sieves.clone();
    for sieve in &mut sieves {
        let fills = &candidates.slots[sieve.slot];
        if fills.len() < 2 {
            continue;
        }
        let gone: Vec<&Fill<'a>> = fills.iter().filter(|fill| clashes(sieve.slot, fill)).collect();
        let parts = gone.iter().flat_map(|fill| fill.ids()).unique().count();
        sieve.remove(Removed::Clashes, parts);
        sieve.removed.sort_unstable();
        sieve.fills -= gone.len();
    }
    sieves
}

/// What became of the parts of a slot that nothing can take.
fn sieve(setup: &Setup<'_>, ask: &Ask, slot: usize) -> Result<Sieve> {
    let explained = candidates(setup, &Ask { explain: true, ..ask.clone() })?;
    let sieve = explained.sieves.into_iter().find(|sieve| sieve.slot == slot);
    Ok(sieve.unwrap_or(Sieve { slot, ..Sieve::default() }))
}

/// Whether it is the budget or the lowest grade wanted that takes everything out: the answer without them.
fn asked<'a>(
    setup: &Setup<'a>,
    ask: &Ask,
    candidates: &Candidates<'a>,
    watch: &Watch,
) -> Result<Option<Forbidden>> {
    for (any_cost, any_grade) in [(true, false), (false, true), (true, true)] {
        let asks =
            (!any_cost || ask.budget.is_some()) && (!any_grade || ask.at_least < Grade::Marginal);
        if !asks {
            continue;
        }
        let wider = Ask {
            top: 1,
            budget: ask.budget.filter(|_| !any_cost),
            at_least: if any_grade { Grade::Marginal } else { ask.at_least },
            order: if any_cost { Order::Price } else { Order::Grade },
            counts: false,
            explain: false,
            ..ask.clone()
        };
        let found = ranked(setup, &wider, candidates, watch)?;
        if let Some(best) = found.stacks.first() {
            let currency = setup.library.house.currency.clone();
            return Ok(Some(Forbidden::Asked {
                budget: ask.budget.filter(|_| any_cost).map(|budget| (budget, currency)),
                at_least: any_grade.then_some(ask.at_least),
                best: (best.grade, best.to_buy),
            }));
        }
    }
    Ok(None)
}

/// The number that keeps one stack out of its window.
pub(crate) fn forbidding(setup: &Setup<'_>, fit: &Fit<'_>) -> Option<Forbidden> {
    if let Some(forbidden) = empty_window(setup, fit) {
        return Some(forbidden);
    }
    if fit.grade.in_window() {
        let failed = fit.checks.iter().find(|check| check.failed())?;
        return Some(Forbidden::Checks { check: failed.name });
    }
    let (edge, miss) = fit.nearest_edge()?;
    (miss.room < Length::ZERO).then_some(Forbidden::Edge {
        edge,
        set_by: miss.set_by,
        limit: miss.limit,
        by: -miss.room,
    })
}

/// A window that no plate, spacer or shim can reach with this bearing.
pub(crate) fn empty_window(setup: &Setup<'_>, fit: &Fit<'_>) -> Option<Forbidden> {
    let empty = fit.window.empty_for(fit.travel, fit.float)?;
    let by = |edge: Edge| fit.window.limits[edge].map_or(SetBy::House, |limit| limit.set_by);
    let set_by = match empty {
        Empty::TravelShort(_) => (by(Edge::PreloadMin), by(Edge::ReserveMin)),
        Empty::TravelLong(_) => (by(Edge::PreloadMax), by(Edge::ReserveMax)),
    };
    let bearing = setup.part(&fit.choice, "bearing").map(|part| part.id.clone());
    Some(Forbidden::Travel {
        bearing: bearing.unwrap_or_default(),
        travel: fit.travel,
        empty,
        set_by,
    })
}
