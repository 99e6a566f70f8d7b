//! Every combination, ranked: which parts land the bearing in its window.

use std::cell::RefCell;

use crate::error::{Error, Result};
use crate::model::edge::Edge;
use crate::model::length::Length;
use crate::solve::ask::{Answer, Ask, Forbidden, Order, Watch};
use crate::solve::candidates::{Candidates, candidates};
use crate::solve::count::{How, count_in};
use crate::solve::numbers::{Numbers, Picks};
use crate::solve::product::recommend_by_product;
use crate::solve::rank::{SURE_ENOUGH, chance_in_rank, rank, rank_nearest};
use crate::solve::reasons;
use crate::solve::search;
use crate::solve::search::key::Layout;
use crate::solve::search::lists::Lists;
use crate::stack::choice::Setup;
use crate::stack::fit::{Fit, evaluate};
use crate::stack::window::{Empty, SetBy};

/// How many near misses are shown where nothing lands.
pub const NEAREST: usize = 3;

/// How many stacks that are not as good as certain are worked out at most to rank them by chance.
pub const MOST_CHANCES: usize = 20_000;

/// Ranks every combination of the candidates.
///
/// # Errors
///
/// Refuses an ask that contradicts itself, and says when the work was interrupted.
pub fn recommend<'a>(setup: &Setup<'a>, ask: &Ask, watch: &Watch) -> Result<Answer<Fit<'a>>> {
    let candidates = candidates(setup, ask)?;
    recommend_among(setup, ask, &candidates, watch)
}

/// Ranks every combination of these candidates.
///
/// # Errors
///
/// Says when the work was interrupted.
pub fn recommend_among<'a>(
    setup: &Setup<'a>,
    ask: &Ask,
    candidates: &Candidates<'a>,
    watch: &Watch,
) -> Result<Answer<Fit<'a>>> {
    let mut answer = ranked(setup, ask, candidates, watch)?;
    if ask.explain {
        answer.sieves = reasons::with_clashes(setup, candidates);
    }
    answer.left_out = reasons::left_out(setup, candidates, &answer, watch)?;
    if answer.stacks.is_empty() {
        answer.forbidden = reasons::forbidden(setup, ask, candidates, &answer, watch)?;
    }
    Ok(answer)
}

/// The stacks and counts of an answer; the reasons for what is not among them are left blank.
pub(crate) fn ranked<'a>(
    setup: &Setup<'a>,
    ask: &Ask,
    candidates: &Candidates<'a>,
    watch: &Watch,
) -> Result<Answer<Fit<'a>>> {
    match by_search(setup, ask, candidates, watch)? {
        Some(searched) => Ok(searched),
        None => recommend_by_product(setup, ask, candidates, watch),
    }
}

/// Answers by the search; none where it cannot add the stacks up.
fn by_search<'a>(
    setup: &Setup<'a>,
    ask: &Ask,
    candidates: &Candidates<'a>,
    watch: &Watch,
) -> Result<Option<Answer<Fit<'a>>>> {
    if candidates.empty_slot().is_some() {
        return Ok(None);
    }
    let Some(numbers) = Numbers::new(setup, candidates) else { return Ok(None) };
    let keys = Layout::new(&numbers, ask.order, ask.budget);
    let by_room = Layout::new(&numbers, Order::Room, None);
    let (Some(keys), Some(by_room)) = (keys, by_room) else {
        return Ok(None);
    };
    let lists = search::lay_out(&numbers, &keys);
    let stack = |picks: &Picks| evaluate(setup, &candidates.choice(picks)).ok();
    let stacks: Vec<Fit<'a>> = if ask.order == Order::Chance {
        by_chance(setup, &numbers, &lists, ask, watch)?
    } else {
        let found = search::wanted(&numbers, &lists, ask, &|_| Ok(true), watch)?;
        found.iter().filter_map(stack).collect()
    };
    let mut nearest = Vec::new();
    if stacks.is_empty() {
        let lists = search::lay_out(&numbers, &by_room);
        for failing in [false, true] {
            let top = NEAREST - nearest.len();
            let found = search::nearest(&numbers, &lists, failing, top, watch)?;
            nearest.extend(found.iter().filter_map(stack));
        }
        nearest = rank_nearest(setup, nearest, NEAREST);
    }
    // Where nothing at all was found, only the count tells whether anything mates.
    let counted = ask.counts || (stacks.is_empty() && nearest.is_empty());
    let tally = if counted { Some(count_in(&lists, How::default(), watch)?) } else { None };
    if numbers.are_unsupported() {
        return Ok(None);
    }
    let considered = tally.map(|tally| tally.considered);
    let in_window = tally.and_then(|tally| tally.in_window);
    Ok(Some(Answer {
        considered,
        in_window,
        stacks,
        nearest,
        sieves: Vec::new(),
        left_out: Vec::new(),
        forbidden: None,
    }))
}

/// The stacks that are likeliest in their windows. A chance cannot be bounded by parts of a stack: where
/// enough stacks are as good as certain, they are the first of them in the default order, else all are
/// worked out.
fn by_chance<'a>(
    setup: &Setup<'a>,
    numbers: &Numbers<'_, 'a>,
    lists: &[Lists<'_, '_, 'a>],
    ask: &Ask,
    watch: &Watch,
) -> Result<Vec<Fit<'a>>> {
    let stack = |picks: &Picks| evaluate(setup, &numbers.candidates.choice(picks)).ok();
    let others = RefCell::new(Vec::new());
    let is_certain = |picks: &Picks| {
        let Some(fit) = stack(picks) else { return Ok(false) };
        let certain = chance_in_rank(&fit) >= SURE_ENOUGH;
        let mut others = others.borrow_mut();
        if !certain {
            others.push(picks.clone());
        }
        if others.len() < MOST_CHANCES {
            return Ok(certain);
        }
        let found = format!(
            "`--order chance`: fewer than {} stacks are as good as certain, and there are more than \
             {MOST_CHANCES} others",
            ask.top
        );
        let hint = "ask for fewer with `--top`, or narrow the question with `--keep`, `--only`, \
                    `--on-hand` or `--at-least`";
        Err(Error::input(found).hint(hint))
    };
    let found = search::wanted(numbers, lists, ask, &is_certain, watch)?;
    let mut fits: Vec<Fit<'a>> = found.iter().filter_map(stack).collect();
    if fits.len() < ask.top {
        fits.extend(others.borrow().iter().filter_map(stack));
    }
    Ok(rank(setup, fits, ask.order, ask.top))
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

/// The number that keeps one stack out of its window.
pub fn forbidding(setup: &Setup<'_>, fit: &Fit<'_>) -> Option<Forbidden> {
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
pub fn empty_window(setup: &Setup<'_>, fit: &Fit<'_>) -> Option<Forbidden> {
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
