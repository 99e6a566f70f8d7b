//! The plain full product: every combination, worked out one by one. It is slow and simple, and
//! the tests hold the search against it.

use itertools::Itertools;

use crate::error::Result;
use crate::solve::ask::{Answer, Ask, Watch};
use crate::solve::candidates::{Candidates, shims_within};
use crate::solve::rank::{closest, rank, rank_nearest};
use crate::solve::recommend::{NEAREST, wanted};
use crate::stack::choice::{Choice, Setup};
use crate::stack::fit::{Fit, evaluate};
use crate::stack::joints::joints;

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
    let slot = |kind| setup.slot(kind).unwrap_or_default();
    let (bearing, shims) = (slot("bearing"), slot("bearing_shim"));
    let lists = candidates.slots.iter().map(|fills| fills.iter().cloned());
    for fills in lists.multi_cartesian_product() {
        watch.step(1)?;
        let choice = Choice { fills };
        if setup.complete(&choice).is_err()
            || !shims_within(&choice.fills[bearing], &choice.fills[shims])
            || !joints(setup, &choice).clashes.is_empty()
        {
            continue;
        }
        if let Ok(fit) = evaluate(setup, &choice) {
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
    let left_out = candidates.left_out.clone();
    let stacks = rank(setup, good, ask.order, ask.top);
    let nearest = if stacks.is_empty() { rank_nearest(setup, others, NEAREST) } else { Vec::new() };
    let sieves = if ask.explain { candidates.sieves.clone() } else { Vec::new() };
    let (considered, in_window) = (Some(considered), Some(in_window));
    Ok(Answer { considered, in_window, sieves, left_out, stacks, nearest, forbidden: None })
}
