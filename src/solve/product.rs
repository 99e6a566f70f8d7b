//! The plain full product: every combination, worked out one by one. It is slow and simple, and
//! the tests hold the search against it.

use itertools::Itertools;

use crate::error::Result;
use crate::solve::ask::{Answer, Ask, Watch};
use crate::solve::candidates::{Candidates, shims_within};
use crate::solve::rank::{NEAREST, closest, rank, rank_nearest, wanted};
use crate::stack::choice::{Choice, Setup};
use crate::stack::fit::{Fit, evaluate};
use crate::stack::joints::joints;
use crate::stack::lengths::Lacks;

/// Why a choice is no combination that can be worked out: the first of these reasons that holds.
pub(crate) enum Unfit {
    /// A slot is empty that has to be filled, or filled that has to be empty.
    Incomplete,
    /// Known faces clash.
    Clashes,
    /// It takes more shim than its bearing.
    TooMuchShim,
    /// Some length can be had by no route.
    Lacks(Lacks),
}

/// Works out a choice whose known faces mate and that can be summed up.
///
/// # Errors
///
/// Why it is none.
pub(crate) fn worked_out<'a>(setup: &Setup<'a>, choice: &Choice<'a>) -> Result<Fit<'a>, Unfit> {
    let fill = |kind| &choice.fills[setup.slot(kind).unwrap_or_default()];
    if setup.complete(choice).is_err() {
        return Err(Unfit::Incomplete);
    }
    if !joints(setup, choice).clashes.is_empty() {
        return Err(Unfit::Clashes);
    }
    if !shims_within(fill("bearing"), fill("bearing_shim")) {
        return Err(Unfit::TooMuchShim);
    }
    evaluate(setup, choice).map_err(Unfit::Lacks)
}

/// Every combination whose known faces mate and that can be summed up, worked out.
///
/// # Errors
///
/// Only that the work was interrupted.
pub fn every_stack<'a>(
    setup: &Setup<'a>,
    candidates: &Candidates<'a>,
    watch: &Watch,
    mut each: impl FnMut(Fit<'a>),
) -> Result<()> {
    let lists = candidates.slots.iter().map(|fills| fills.iter().cloned());
    for fills in lists.multi_cartesian_product() {
        watch.step(1)?;
        if let Ok(fit) = worked_out(setup, &Choice { fills }) {
            each(fit);
        }
    }
    Ok(())
}

/// Answers an ask by the full product.
///
/// # Errors
///
/// Only that the work was interrupted.
pub fn recommend_by_product<'a>(
    setup: &Setup<'a>,
    ask: &Ask,
    candidates: &Candidates<'a>,
    watch: &Watch,
) -> Result<Answer<Fit<'a>>> {
    let (mut considered, mut in_window) = (0_u128, 0_u128);
    let mut good = Vec::new();
    let mut others = Vec::new();
    every_stack(setup, candidates, watch, |fit| {
        considered += 1;
        in_window += u128::from(fit.holds());
        if wanted(ask, &fit) {
            good.push(fit);
            // Memory stays bounded: what is far behind the best is dropped now and then.
            if good.len() > 4096 + 2 * ask.top {
                good = rank(setup, std::mem::take(&mut good), ask.order, ask.top);
            }
        } else {
            others.push(fit);
            if others.len() > 4096 {
                others = closest(setup, std::mem::take(&mut others), NEAREST);
            }
        }
    })?;
    let stacks = rank(setup, good, ask.order, ask.top);
    let nearest = if stacks.is_empty() { rank_nearest(setup, others, NEAREST) } else { Vec::new() };
    Ok(Answer::found((Some(considered), Some(in_window)), stacks, nearest))
}
