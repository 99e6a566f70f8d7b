//! Every combination, ranked: which parts land the bearing in its window.

use crate::error::{Error, Result};
use crate::model::kinds::Joint;
use crate::model::length::Length;
use crate::solve::ask::{Answer, Ask, Forbidden, Order, Removed, Sieve, Watch};
use crate::solve::candidates::{Candidates, candidates};
use crate::solve::compact::Compact;
use crate::solve::count::count;
use crate::solve::product::recommend_by_product;
use crate::solve::rank::{rank, rank_nearest};
use crate::solve::search::{Goal, search};
use crate::solve::verdict::NONE;
use crate::stack::choice::{Bench, Choice, Fill};
use crate::stack::fit::{Fit, evaluate};
use crate::stack::window::{Empty, SetBy};

/// How many near misses are shown where nothing lands.
pub const NEAREST: usize = 3;

/// How many stacks are worked out at most to rank them by chance.
pub const MOST_CHANCES: usize = 20_000;

/// Ranks every combination of the candidates.
///
/// # Errors
///
/// Refuses an ask that contradicts itself, and says when the work was interrupted.
pub fn recommend<'a>(bench: &Bench<'a>, ask: &Ask, watch: &Watch) -> Result<Answer<'a>> {
    let candidates = candidates(bench, ask)?;
    recommend_by_search(bench, ask, &candidates, watch)
}

/// Answers by the search; by the full product where the search cannot add the stack up.
///
/// # Errors
///
/// Says when the work was interrupted.
pub fn recommend_by_search<'a>(
    bench: &Bench<'a>,
    ask: &Ask,
    candidates: &Candidates<'a>,
    watch: &Watch,
) -> Result<Answer<'a>> {
    let Some(compact) = Compact::new(bench, candidates) else {
        return recommend_by_product(bench, ask, candidates, watch);
    };
    let find = |goal, top| -> Result<Vec<Fit<'a>>> {
        let picks = search(&compact, ask, &goal, top, true, watch)?;
        Ok(picks.iter().filter_map(|picks| stack(bench, candidates, picks)).collect())
    };
    let stacks = if ask.order == Order::Chance {
        // A chance cannot be bounded from parts, so every stack in the window is worked out.
        let plain = Ask { order: Order::Grade, ..ask.clone() };
        let picks = search(&compact, &plain, &Goal::Wanted, MOST_CHANCES + 1, true, watch)?;
        if picks.len() > MOST_CHANCES {
            let message = format!(
                "`--order chance` works every stack in the window out, and there are more than \
                 {MOST_CHANCES}"
            );
            return Err(Error::input(message).hint(
                "narrow the question with `--keep`, `--only`, `--on-hand`, `--budget` or `--at-least`",
            ));
        }
        let mut fits = Vec::new();
        for picks in &picks {
            watch.step(1)?;
            fits.extend(stack(bench, candidates, picks));
        }
        rank(bench, fits, ask.order, ask.top)
    } else {
        find(Goal::Wanted, ask.top)?
    };
    let mut nearest = Vec::new();
    if stacks.is_empty() {
        nearest = find(Goal::Nearest { failing: false }, NEAREST)?;
        if nearest.len() < NEAREST {
            nearest.extend(find(Goal::Nearest { failing: true }, NEAREST - nearest.len())?);
        }
        nearest = rank_nearest(bench, nearest, NEAREST);
    }
    // Where nothing at all was found, only the count tells whether anything mates.
    let tally = if ask.counts || (stacks.is_empty() && nearest.is_empty()) {
        Some(count(&compact, watch)?)
    } else {
        None
    };
    let (considered, in_window) =
        (tally.map(|tally| tally.considered), tally.map(|tally| tally.in_window));
    let sieves = if ask.explain { clashing(&compact, &candidates.sieves) } else { Vec::new() };
    let forbidden = forbidden(bench, candidates, considered, &stacks, &nearest);
    let left_out = candidates.left_out.clone();
    Ok(Answer { considered, in_window, sieves, left_out, stacks, nearest, forbidden })
}

/// The sieves with the parts that clash with what stays in the slots that have one fill only.
fn clashing(compact: &Compact<'_, '_>, sieves: &[Sieve]) -> Vec<Sieve> {
    let slots = &compact.candidates.slots;
    let stays = |fills: &Vec<Fill<'_>>| if fills.len() == 1 { 0 } else { NONE };
    let staying: Vec<u32> = slots.iter().map(stays).collect();
    let mut sieves = sieves.to_vec();
    for (slot, sieve) in sieves.iter_mut().enumerate() {
        let mut picks = staying.clone();
        let mut clash = |pick: u32| {
            picks[slot] = pick;
            Joint::ALL.iter().any(|joint| compact.clashes(&picks, *joint))
        };
        let clashing: Vec<&Fill<'_>> = (0..)
            .zip(&slots[slot])
            .filter(|(pick, _)| clash(*pick))
            .map(|(_, fill)| fill)
            .collect();
        sieve.fills -= clashing.len();
        sieve
            .remove(Removed::Clashes, clashing.iter().filter(|fill| fill.parts.len() == 1).count());
    }
    sieves
}

/// The stack that some picks stand for, worked out in full.
pub(crate) fn stack<'a>(
    bench: &Bench<'a>,
    candidates: &Candidates<'a>,
    picks: &[u32],
) -> Option<Fit<'a>> {
    let fills = picks.iter().zip(&candidates.slots);
    let fills = fills.map(|(pick, fills)| fills[*pick as usize].clone()).collect();
    evaluate(bench, &Choice { fills }).ok()
}

/// Whether a stack is one that was asked for.
pub fn wanted(ask: &Ask, fit: &Fit<'_>) -> bool {
    let affordable =
        ask.budget.is_none_or(|budget| fit.to_buy.unpriced == 0 && fit.to_buy.amount <= budget);
    fit.grade.in_window()
        && fit.grade <= ask.at_least
        && affordable
        && (ask.show_failed || !fit.fails())
}

/// What stands in the way where no stack was found.
pub fn forbidden(
    bench: &Bench<'_>,
    candidates: &Candidates<'_>,
    considered: Option<u128>,
    stacks: &[Fit<'_>],
    nearest: &[Fit<'_>],
) -> Option<Forbidden> {
    if !stacks.is_empty() {
        return None;
    }
    if let Some(slot) = candidates.empty_slot() {
        return Some(Forbidden::NoCandidate { slot });
    }
    match nearest.first() {
        None if considered == Some(0) => Some(Forbidden::NothingMates),
        None => None,
        Some(fit) => forbidding(bench, fit),
    }
}

/// The number that keeps one stack out of its window.
pub fn forbidding(bench: &Bench<'_>, fit: &Fit<'_>) -> Option<Forbidden> {
    if let Some(forbidden) = empty_window(bench, fit) {
        return Some(forbidden);
    }
    if fit.grade.in_window() {
        let failed = fit.checks.iter().find(|check| check.failed())?;
        return Some(Forbidden::Checks { check: failed.name });
    }
    let (edge, miss) = fit.nearest_edge()?;
    (miss.room < Length::ZERO).then_some(Forbidden::Edge {
        edge,
        set_by: miss.edge.set_by,
        limit: miss.edge.limit,
        by: -miss.room,
    })
}

/// A window that no plate, spacer or shim can reach with this bearing.
pub fn empty_window(bench: &Bench<'_>, fit: &Fit<'_>) -> Option<Forbidden> {
    let allowance = bench.float_allowance(bench.part(&fit.choice, "engine"));
    let empty = fit.window.empty_for(fit.travel, allowance)?;
    let by = |edge: Option<crate::stack::window::Edge>| edge.map_or(SetBy::House, |e| e.set_by);
    let set_by = match empty {
        Empty::TravelShort(_) => (fit.window.preload_min.set_by, fit.window.reserve_min.set_by),
        Empty::TravelLong(_) => (by(fit.window.preload_max), by(fit.window.reserve_max)),
    };
    let bearing = bench.part(&fit.choice, "bearing").map(|part| part.id.clone());
    Some(Forbidden::Travel {
        bearing: bearing.unwrap_or_default(),
        travel: fit.travel,
        empty,
        set_by,
    })
}
