//! `fit`: one stack with every term of its sum.

use super::args::{Common, Fit, Format};
use super::env::Env;
use super::{Reply, place, progress};
use crate::catalog::Access;
use crate::desk::{Bench, Swap, fill, one_stack, slot_pair, swapped};
use crate::error::{Error, Result};
use crate::model::length::Length;
use crate::report;
use crate::stack::choice::{Choice, Setup};

pub(super) fn run(common: &Common, args: &Fit, env: &mut Env<'_>) -> Result<Reply> {
    let catalog = place::open(common, env, Access::Read)?;
    let bench = Bench::of(&catalog, &args.job)?;
    let setup = bench.setup()?;
    let choice = choice(&setup, args)?;
    let measure = args.measure || args.format == Format::Json;
    let report = progress::watched(env, |watch| one_stack(&setup, &choice, measure, watch))?;
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
    let with = |error: Error| error.at("`--with`");
    let mut swaps: Vec<Swap> = Vec::new();
    for text in &args.with {
        let (slot, ids) = slot_pair(kinds, text, "--with SLOT=ID").map_err(with)?;
        if swaps.iter().any(|swap| swap.slot == slot) {
            let key = kinds.slot_key(slot);
            return Err(Error::input(format!("`--with {key}` is given twice"))
                .hint("two shims are written `bearing_shims=A|B`"));
        }
        fill(setup, slot, ids).map_err(with)?;
        swaps.push(Swap { slot, ids: ids.into() });
    }
    let machine_to = args.machine_to.as_deref().map(Length::parse).transpose();
    swapped(setup, &swaps, machine_to.map_err(|error| error.at("`--machine-to`"))?)
}
