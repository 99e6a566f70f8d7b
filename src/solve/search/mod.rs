//! The search: every combination of the candidates, the best first, without walking them all.

pub(crate) mod key;
pub(crate) mod lists;
pub(crate) mod places;
pub(crate) mod plates;
pub(crate) mod queue;
pub(crate) mod table;
pub(crate) mod tier;

use itertools::iproduct;

use crate::error::Result;
use crate::solve::ask::{Ask, Order, Watch};
use crate::solve::numbers::{Judged, Numbers, Picks};
use crate::stack::cost::ToBuy;
use crate::stack::grade::Grade;
use key::Layout;
use lists::Lists;
use queue::Queue;
use tier::{Aim, Tier};

/// The best stacks that an ask wants, the best first; none where no key is wide enough for them.
///
/// # Errors
///
/// Only that the search was interrupted.
pub(crate) fn wanted(
    numbers: &Numbers<'_, '_>,
    ask: &Ask,
    watch: &Watch,
) -> Result<Option<Vec<Picks>>> {
    let grades = [Grade::Sure, Grade::Likely, Grade::Marginal];
    let aims: Vec<Aim> =
        grades.into_iter().filter(|grade| *grade <= ask.at_least).map(Aim::Grade).collect();
    let affordable = |picks: &Picks, _: &Judged| {
        ask.budget.is_none_or(|budget| {
            let to_buy = to_buy(numbers, picks);
            to_buy.unpriced == 0 && to_buy.amount <= budget
        })
    };
    find(numbers, ask.order, &aims, !ask.show_failed, &affordable, ask.top, watch)
}

/// The stacks nearest to their windows, the nearest first; those that fail a check where `failing`, else
/// those that do not.
///
/// # Errors
///
/// Only that the search was interrupted.
pub(crate) fn nearest(
    numbers: &Numbers<'_, '_>,
    failing: bool,
    top: usize,
    watch: &Watch,
) -> Result<Option<Vec<Picks>>> {
    let fails = |picks: &Picks, _: &Judged| {
        !failing || numbers.judge(picks).is_some_and(|(_, fails)| fails)
    };
    find(numbers, Order::Room, &[Aim::Anywhere], !failing, &fails, top, watch)
}

/// What is still to be bought of a stack.
fn to_buy(numbers: &Numbers<'_, '_>, picks: &[u32]) -> ToBuy {
    let worth = picks.iter().zip(&numbers.worth).map(|(pick, list)| &list[*pick as usize]);
    worth.fold(ToBuy::default(), |sum, worth| sum + worth.to_buy)
}

fn find(
    numbers: &Numbers<'_, '_>,
    order: Order,
    aims: &[Aim],
    checked: bool,
    accepts: &dyn Fn(&Picks, &Judged) -> bool,
    top: usize,
    watch: &Watch,
) -> Result<Option<Vec<Picks>>> {
    let Some(layout) = Layout::new(numbers, order, numbers.span_before()) else {
        return Ok(None);
    };
    let slots = numbers.slots.frame().map(|slot| 0..numbers.candidates.slots[slot].len() as u32);
    let [engines, bells, gearboxes] = slots;
    let frames = iproduct!(engines, bells, gearboxes).map(|(e, b, g)| [e, b, g]);
    let lists: Vec<Lists<'_, '_, '_>> =
        frames.filter_map(|frame| Lists::new(numbers, &layout, frame, checked)).collect();
    let tiers: Vec<Tier<'_, '_, '_, '_>> =
        iproduct!(&lists, aims).map(|(lists, aim)| Tier::new(lists, *aim)).collect();
    let found = Queue::new(&tiers, watch, accepts).best(top)?;
    Ok((!numbers.are_unsupported()).then_some(found))
}
