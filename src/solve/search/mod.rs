//! The search: every combination of the candidates, the best first, without walking them all.

mod apart;
pub(crate) mod error;
pub(crate) mod key;
pub(crate) mod lists;
pub(crate) mod places;
pub(crate) mod queue;
pub(crate) mod table;
pub(crate) mod tier;

use itertools::iproduct;

use crate::error::Result;
use crate::solve::ask::{Ask, Watch};
use crate::solve::numbers::{Judged, Numbers, Picks};
use crate::stack::cost::ToBuy;
use crate::stack::grade::Grade;
use key::Layout;
use lists::Lists;
use queue::{Accepts, Queue};
use tier::{Aim, LaidOut};

/// Every frame with its lists.
///
/// # Errors
///
/// Only that the search was interrupted.
pub(crate) fn lay_out<'n, 'b, 'a>(
    numbers: &'n Numbers<'b, 'a>,
    layout: &'n Layout,
    watch: &Watch,
) -> Result<Vec<Lists<'n, 'b, 'a>>> {
    let slots = numbers.slots.frame().map(|slot| 0..numbers.candidates.slots[slot].len() as u32);
    let [engines, bells, gearboxes] = slots;
    let frames = iproduct!(engines, bells, gearboxes).map(|(e, b, g)| [e, b, g]);
    frames.filter_map(|frame| Lists::new(numbers, layout, frame, watch).transpose()).collect()
}

/// The best stacks that an ask wants and that are wanted for another reason too, the best first.
///
/// # Errors
///
/// Only that the search was interrupted.
pub(crate) fn wanted(
    numbers: &Numbers<'_, '_>,
    lists: &[Lists<'_, '_, '_>],
    ask: &Ask,
    also: &dyn Fn(&Picks) -> Result<bool>,
    watch: &Watch,
) -> Result<Vec<Picks>> {
    let grades = [Grade::Sure, Grade::Likely, Grade::Marginal];
    let aims: Vec<Aim> =
        grades.into_iter().filter(|grade| *grade <= ask.at_least).map(Aim::Grade).collect();
    let accepts = |picks: &Picks, _: &Judged| {
        let affordable = ask.budget.is_none_or(|budget| {
            let to_buy = to_buy(numbers, picks);
            to_buy.unpriced == 0 && to_buy.amount <= budget
        });
        if affordable { also(picks) } else { Ok(false) }
    };
    find(lists, &aims, !ask.show_failed, &accepts, ask.top, watch)
}

/// The stacks nearest to their windows, the nearest first; those that fail a check where `failing`, else
/// those that do not. The lists are by room.
///
/// # Errors
///
/// Only that the search was interrupted.
pub(crate) fn nearest(
    numbers: &Numbers<'_, '_>,
    lists: &[Lists<'_, '_, '_>],
    failing: bool,
    top: usize,
    watch: &Watch,
) -> Result<Vec<Picks>> {
    let fails = |picks: &Picks, _: &Judged| {
        Ok(!failing || numbers.judge(picks).is_some_and(|(_, fails)| fails))
    };
    find(lists, &[Aim::Anywhere], !failing, &fails, top, watch)
}

/// What is still to be bought of a stack.
fn to_buy(numbers: &Numbers<'_, '_>, picks: &[u32]) -> ToBuy {
    let worth = picks.iter().zip(&numbers.worth).map(|(pick, list)| &list[*pick as usize]);
    worth.fold(ToBuy::default(), |sum, worth| sum + worth.to_buy)
}

fn find(
    lists: &[Lists<'_, '_, '_>],
    aims: &[Aim],
    checked: bool,
    accepts: &Accepts<'_>,
    top: usize,
    watch: &Watch,
) -> Result<Vec<Picks>> {
    let tiers: Vec<LaidOut<'_, '_, '_, '_>> =
        iproduct!(lists, aims).map(|(lists, aim)| LaidOut::new(lists, *aim, checked)).collect();
    Queue::new(&tiers, watch, accepts).best(top)
}
