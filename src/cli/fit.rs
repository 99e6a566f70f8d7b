//! `fit`: one stack with every term of its sum.

use super::args::{Common, Fit, Format};
use super::env::Env;
use super::names::slot_pair;
use super::{Reply, place, progress};
use crate::catalog::Access;
use crate::catalog::csv::tried_job;
use crate::error::{Error, Result};
use crate::model::kinds::Takes;
use crate::model::length::Length;
use crate::model::part::Part;
use crate::report;
use crate::solve::cure::lacks;
use crate::solve::in_hand::with_pieces;
use crate::stack;
use crate::stack::choice::{Choice, Fill, Setup};
use crate::stack::fit::evaluate;
use crate::stack::shown::OneStack;

pub(super) fn run(common: &Common, args: &Fit, env: &mut Env<'_>) -> Result<Reply> {
    let catalog = place::open(common, env, Access::Read)?;
    let (library, job) = catalog
        .read(|reader| Ok((place::applied_library(reader)?, reader.load_job(&args.job)?)))?;
    let job = if args.set.is_empty() {
        job
    } else {
        tried_job(&library, &job, &args.set).map_err(|error| error.at("`--set`"))?
    };
    let setup = Setup::new(&library, &job)?;
    let choice = choice(&setup, args)?;
    let fit = evaluate(&setup, &choice).map_err(|lack| lacks(&setup, &lack))?;
    let in_hand = progress::watched(env, |watch| with_pieces(&setup, &choice, watch))?;
    let measure = args.measure || args.format == Format::Json;
    let report = OneStack::of(&setup, fit, in_hand, measure);
    let holds = report.judged.fit.holds();
    let view = env.view(common);
    let text = match args.format {
        Format::Table => report::fit_table(&setup, &report, view),
        Format::Json => report::fit_json(&setup, &report),
        Format::Csv => report::fit_csv(&report, view),
    };
    Ok(Reply::in_format(text, args.format).holding(holds))
}

/// The fitted parts, but for what was asked for instead.
fn choice<'a>(setup: &Setup<'a>, args: &Fit) -> Result<Choice<'a>> {
    let kinds = setup.library.kinds;
    let mut choice = Choice { fills: setup.fitted.clone() };
    let mut named = Vec::new();
    for text in &args.with {
        let place = |error: Error| error.at("`--with`");
        let (slot, ids) = slot_pair(kinds, text, "--with SLOT=ID").map_err(place)?;
        if named.contains(&slot) {
            let key = kinds.slot_key(slot);
            return Err(Error::input(format!("`--with {key}` is given twice"))
                .hint("two shims are written `bearing_shims=A|B`"));
        }
        named.push(slot);
        choice.fills[slot] = fill(setup, slot, ids).map_err(place)?;
    }
    // A matched set brings its own discs, so the fitted one leaves with the old plate.
    let disc = setup.slot("disc").filter(|slot| !named.contains(slot));
    let set = setup.part(&choice, "pressure_plate").is_some_and(Part::is_matched_set);
    if let Some(disc) = disc.filter(|_| set) {
        choice.fills[disc] = Fill::empty();
    }
    if let Some(text) = &args.machine_to {
        machine(setup, &mut choice, text).map_err(|error| error.at("`--machine-to`"))?;
    }
    setup.complete(&choice)?;
    Ok(choice)
}

/// What stands in a slot by these part numbers.
pub(super) fn fill<'a>(setup: &Setup<'a>, slot: usize, ids: &str) -> Result<Fill<'a>> {
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

fn machine(setup: &Setup<'_>, choice: &mut Choice<'_>, text: &str) -> Result<()> {
    let length = Length::parse(text)?;
    let slot = setup.slot("flywheel");
    let flywheel = setup.part(choice, "flywheel");
    let now = flywheel.and_then(|part| Some((part, part.length("thickness")?)));
    let (Some(slot), Some((part, now))) = (slot, now) else {
        return Err(Error::input("there is no flywheel of a known thickness to machine"));
    };
    if length <= Length::ZERO || length >= now {
        let (unit, id) = (crate::model::length::Unit::In, &part.id);
        let (asked, now) = (length.exact(unit), now.exact(unit));
        return Err(Error::input(format!(
            "`{id}` is {now} thick and cannot be machined to {asked}"
        ))
        .hint("give the thickness that is left, above zero and below that of today"));
    }
    choice.fills[slot].cut = now - length;
    Ok(())
}

/// The stack that is fitted.
pub(super) fn fitted<'a>(setup: &Setup<'a>) -> Result<stack::fit::Fit<'a>> {
    evaluate(setup, &setup.fitted_choice()?).map_err(|lack| lacks(setup, &lack))
}
