//! The stacks and counts of an answer: by the search, or by the full product where numbers cannot follow.

use std::cell::RefCell;

use crate::error::{Error, Result};
use crate::solve::ask::{Answer, Ask, Order, Watch};
use crate::solve::candidates::Candidates;
use crate::solve::count::{How, count_in};
use crate::solve::numbers::{Numbers, Picks};
use crate::solve::product::recommend_by_product;
use crate::solve::rank::{NEAREST, SURE_ENOUGH, chance_in_rank, rank, rank_nearest};
use crate::solve::search;
use crate::solve::search::key::Layout;
use crate::solve::search::lists::Lists;
use crate::stack::choice::Setup;
use crate::stack::fit::{Fit, evaluate};

/// How many stacks that are not as good as certain are worked out at most to rank them by chance.
pub(crate) const MOST_CHANCES: usize = 20_000;

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
    let lists = search::lay_out(&numbers, &keys, watch)?;
    let stack = |picks: &Picks| evaluate(setup, &candidates.choice(picks)).ok();
    let stacks: Vec<Fit<'a>> = if ask.order == Order::Chance {
        by_chance(setup, &numbers, &lists, ask, watch)?
    } else {
        let found = search::wanted(&numbers, &lists, ask, &|_| Ok(true), watch)?;
        found.iter().filter_map(stack).collect()
    };
    let mut nearest = Vec::new();
    if stacks.is_empty() {
        let lists = search::lay_out(&numbers, &by_room, watch)?;
        for failing in [false, true] {
            let top = NEAREST - nearest.len();
            let found = search::nearest(&numbers, &lists, failing, top, watch)?;
            nearest.extend(found.iter().filter_map(stack));
        }
        nearest = rank_nearest(setup, nearest, NEAREST);
    }
    // Where nothing at all was found, only the count tells whether anything mates.
    let counted = ask.counts || (stacks.is_empty() && nearest.is_empty());
    let most_work = if ask.counts { How::default().most_work } else { 0.0 };
    let how = How { most_work, ..How::default() };
    let tally = if counted { Some(count_in(&lists, how, watch)?) } else { None };
    if numbers.are_unsupported() {
        return Ok(None);
    }
    let considered = tally.map(|tally| tally.considered);
    let in_window = tally.and_then(|tally| tally.in_window);
    Ok(Some(Answer::found((considered, in_window), stacks, nearest)))
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
