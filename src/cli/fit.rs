//! `fit`: one stack with every term of its sum.

use super::args::{Common, Fit, Format};
use super::env::Env;
use super::names::slot_pair;
use super::{Reply, place};
use crate::catalog::Access;
use crate::error::{Error, Result};
use crate::model::kinds::Takes;
use crate::model::length::Length;
use crate::model::part::Part;
use crate::report::{self, FitReport};
use crate::solve::cure::lacks;
use crate::stack::choice::{Bench, Choice, Fill};
use crate::stack::fit::{evaluate, evaluate_as_it_stands};
use crate::stack::grade::Grade;
use crate::stack::measuring::to_measure;

pub(super) fn run(common: &Common, args: &Fit, env: &mut Env<'_>) -> Result<Reply> {
    let catalog = place::open(common, env, Access::Read)?;
    let (library, job) = catalog
        .read(|reader| Ok((place::applied_library(reader)?, reader.load_job(&args.job)?)))?;
    let bench = Bench::new(&library, &job)?;
    let choice = choice(&bench, args)?;
    let fit = evaluate(&bench, &choice).map_err(|missing| lacks(&bench, missing))?;
    let disc = bench.slot("disc");
    let disc_stays = disc.is_some_and(|slot| choice.fills[slot].same(&bench.fitted[slot]));
    let measured = bench.disc_is_replaced() && bench.job.measures_clutch() && disc_stays;
    let as_it_stands = if measured { evaluate_as_it_stands(&bench, &choice).ok() } else { None };
    let holds = fit.holds();
    let asked = args.measure || args.format == Format::Json;
    let needed = asked || matches!(fit.grade, Grade::Marginal | Grade::Undecided);
    let to_measure =
        if needed && args.format != Format::Csv { to_measure(&bench, &fit) } else { None };
    let report = FitReport { fit, as_it_stands, to_measure };
    let view = env.view(common);
    let text = match args.format {
        Format::Table => report::fit_table(&bench, &report, view),
        Format::Json => report::fit_json(&bench, &report),
        Format::Csv => report::fit_csv(&report, view),
    };
    Ok(Reply::answer(text, holds))
}

/// The fitted parts, but for what was asked for instead.
fn choice<'a>(bench: &Bench<'a>, args: &Fit) -> Result<Choice<'a>> {
    let kinds = bench.library.kinds;
    let mut choice = Choice { fills: bench.fitted.clone() };
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
        choice.fills[slot] = fill(bench, slot, ids).map_err(place)?;
    }
    // A matched set brings its own discs, so the fitted one leaves with the old plate.
    let disc = bench.slot("disc").filter(|slot| !named.contains(slot));
    let set = bench.part(&choice, "pressure_plate").is_some_and(Part::is_matched_set);
    if let Some(disc) = disc.filter(|_| set) {
        choice.fills[disc] = Fill::empty();
    }
    if let Some(text) = &args.machine_to {
        machine(bench, &mut choice, text).map_err(|error| error.at("`--machine-to`"))?;
    }
    bench.complete(&choice)?;
    Ok(choice)
}

/// What stands in a slot by these part numbers.
pub(super) fn fill<'a>(bench: &Bench<'a>, slot: usize, ids: &str) -> Result<Fill<'a>> {
    if ids == "none" {
        return Ok(Fill::empty());
    }
    let Some((kind, spec)) = bench.library.kinds.slots().nth(slot) else {
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
    let parts = ids.into_iter().map(|id| bench.library.part_of_kind(id, kind.key));
    Ok(Fill::several(parts.collect::<Result<Vec<_>>>()?))
}

fn machine(bench: &Bench<'_>, choice: &mut Choice<'_>, text: &str) -> Result<()> {
    let length = Length::parse(text)?;
    let slot = bench.slot("flywheel");
    let flywheel = bench.part(choice, "flywheel");
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
