//! One stack of a job: what is fitted, but for what is put in its place.

use crate::error::{Error, Result};
use crate::model::kinds::Takes;
use crate::model::length::{Length, Unit};
use crate::model::part::Part;
use crate::solve::ask::{Ask, Order, Watch};
use crate::solve::cure::{cure, lacks};
use crate::solve::in_hand::with_pieces;
use crate::solve::recommend::recommend;
use crate::stack::choice::{Choice, Fill, Setup};
use crate::stack::fit::evaluate;
use crate::stack::shown::OneStack;

/// What takes the place of what is fitted in one slot.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Swap {
    /// The slot's index.
    pub slot: usize,
    /// A part number; two of shims with `|` between them; `none` empties the slot.
    pub ids: String,
}

/// What is fitted, but for the swaps and for a flywheel machined to a thickness.
///
/// # Errors
///
/// Refuses parts that are not there, a stack that lacks a part, and a flywheel that cannot be
/// machined so far.
pub fn swapped<'a>(
    setup: &Setup<'a>,
    swaps: &[Swap],
    machine_to: Option<Length>,
) -> Result<Choice<'a>> {
    let mut choice = Choice { fills: setup.fitted.clone() };
    for swap in swaps {
        choice.fills[swap.slot] = fill(setup, swap.slot, &swap.ids)?;
    }
    // A matched set brings its own discs, so the fitted one leaves with the old plate.
    let is_named = |slot: usize| swaps.iter().any(|swap| swap.slot == slot);
    let disc = setup.slot("disc").filter(|slot| !is_named(*slot));
    let set = setup.part(&choice, "pressure_plate").is_some_and(Part::is_matched_set);
    if let Some(disc) = disc.filter(|_| set) {
        choice.fills[disc] = Fill::empty();
    }
    if let Some(length) = machine_to {
        machine(setup, &mut choice, length)?;
    }
    setup.complete(&choice)?;
    Ok(choice)
}

/// What stands in a slot by these part numbers.
///
/// # Errors
///
/// Refuses parts that are not there, and more of them than the slot takes.
pub fn fill<'a>(setup: &Setup<'a>, slot: usize, ids: &str) -> Result<Fill<'a>> {
    if ids == "none" {
        return Ok(Fill::empty());
    }
    let Some((kind, spec)) = setup.library.kinds.slots().nth(slot) else {
        return Ok(Fill::empty());
    };
    let ids: Vec<&str> = ids.split('|').map(str::trim).filter(|id| !id.is_empty()).collect();
    let most = if spec.takes == Takes::UpToTwo { 2 } else { 1 };
    let key = spec.key;
    if ids.is_empty() {
        return Err(Error::input(format!("`{key}=` names no part"))
            .hint(format!("`{key}=none` empties the slot")));
    }
    if ids.len() > most {
        let found = ids.len();
        return Err(Error::input(format!("`{key}` takes {most} at most, not {found}")));
    }
    let parts = ids.into_iter().map(|id| setup.library.part_of_kind(id, kind.key));
    Ok(Fill::several(parts.collect::<Result<Vec<_>>>()?))
}

fn machine(setup: &Setup<'_>, choice: &mut Choice<'_>, length: Length) -> Result<()> {
    let slot = setup.slot("flywheel");
    let flywheel = setup.part(choice, "flywheel");
    let now = flywheel.and_then(|part| Some((part, part.length("thickness")?)));
    let (Some(slot), Some((part, now))) = (slot, now) else {
        return Err(Error::input("there is no flywheel of a known thickness to machine"));
    };
    if length <= Length::ZERO || length >= now {
        let id = &part.id;
        let (asked, now) = (length.exact(Unit::In), now.exact(Unit::In));
        return Err(Error::input(format!(
            "`{id}` is {now} thick and cannot be machined to {asked}"
        ))
        .hint("give the thickness that is left, above zero and below that of today"));
    }
    choice.fills[slot].cut = now - length;
    Ok(())
}

/// A stack with everything that is shown of it, judged with what was measured and lies in hand.
/// `measure` asks for what is to be measured, whatever the grade.
///
/// # Errors
///
/// Names the dimensions that its sum lacks, and says when the work was interrupted.
pub fn one_stack<'a>(
    setup: &Setup<'a>,
    choice: &Choice<'a>,
    measure: bool,
    watch: &Watch,
) -> Result<OneStack<'a>> {
    let fit = evaluate(setup, choice).map_err(|lack| lacks(setup, &lack))?;
    let in_hand = with_pieces(setup, choice, watch)?;
    Ok(OneStack::of(setup, fit, in_hand, measure))
}

/// Which answer a row belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Listing {
    /// The ranking of whole stacks.
    Ranking,
    /// The changes to what is fitted.
    Cure,
}

impl Listing {
    /// The command that shows the answer, and the flag that picks a row of it.
    const fn words(self) -> (&'static str, &'static str) {
        match self {
            Self::Ranking => ("recommend", "--row"),
            Self::Cure => ("cure", "--cure"),
        }
    }
}

/// The stack of a row, counted from one, of the answer to a question about a job.
///
/// # Errors
///
/// Refuses a row that the answer does not have, and what [`recommend`] and [`cure`] refuse.
pub fn row<'a>(
    setup: &Setup<'a>,
    of: Listing,
    row: u32,
    ask: &Ask,
    watch: &Watch,
) -> Result<Choice<'a>> {
    let wanted = usize::try_from(row).unwrap_or(usize::MAX);
    let ask = Ask { top: ask.top.max(wanted), counts: false, ..ask.clone() };
    let stacks: Vec<Choice<'a>> = match of {
        Listing::Ranking => {
            recommend(setup, &ask, watch)?.stacks.into_iter().map(|fit| fit.choice).collect()
        }
        Listing::Cure => {
            cure(setup, &ask, watch)?.remedies.into_iter().map(|one| one.fit.choice).collect()
        }
    };
    let count = stacks.len();
    let found = wanted.checked_sub(1).and_then(|at| stacks.into_iter().nth(at));
    found.ok_or_else(|| {
        let (job, (command, flag)) = (&setup.job.id, of.words());
        let rows = if count == 1 { "row" } else { "rows" };
        Error::input(format!("`{flag} {row}`: `{command} {job}` has {count} {rows}"))
            .hint(format!("`bellstack {command} {job}` shows them"))
    })
}

/// The stack of a row of the cure of a job, asked without any wish.
///
/// # Errors
///
/// As [`row`].
pub fn cured<'a>(setup: &Setup<'a>, number: u32, watch: &Watch) -> Result<Choice<'a>> {
    let usual = Ask { order: Order::Changes, ..Ask::default() };
    row(setup, Listing::Cure, number, &usual, watch)
}
