//! `fit`: one stack with every term of its sum.

use super::args::{Common, Fit, FitFormat, Format};
use super::env::Env;
use super::names::meant;
use super::{Reply, place, progress};
use crate::catalog::Access;
use crate::catalog::csv::tried_job;
use crate::desk::{Bench, Swap, fill, one_stack, slot_pair, swapped};
use crate::error::{Error, Result};
use crate::model::length::Length;
use crate::report;
use crate::stack::choice::{Choice, Setup};

pub(super) fn run(common: &Common, args: &Fit, env: &mut Env<'_>) -> Result<Reply> {
    let catalog = place::open(common, env, Access::Read)?;
    let mut bench = Bench::of(&catalog, &args.job)?;
    if !args.set.is_empty() {
        let meant = meant(env.kinds, &args.unusual)?;
        bench.job = tried_job(&bench.library, &bench.job, (&args.set, &meant))
            .map_err(|error| error.at("`--set`"))?;
    }
    let setup = bench.setup()?;
    let choice = choice(&setup, &args.with, args.machine_to.as_deref())?;
    let measure = args.measure || args.written.format == FitFormat::Json;
    let report = progress::watched(env, |watch| one_stack(&setup, &choice, measure, watch))?;
    let holds = report.judged.fit.holds();
    let view = env.view(common);
    let text = match args.written.format {
        FitFormat::Table => report::fit_table(&setup, &report, view),
        FitFormat::Json => report::fit_json(&setup, &report),
        FitFormat::Csv => report::fit_csv(&report, view),
        FitFormat::Svg => report::fit_svg(&setup, &report, view),
    };
    let csv = if args.written.format == FitFormat::Csv { Format::Csv } else { Format::Table };
    Ok(Reply::in_format(text, csv).holding(holds))
}

/// The fitted parts, but for what was asked for instead.
pub(super) fn choice<'a>(
    setup: &Setup<'a>,
    with: &[String],
    machine_to: Option<&str>,
) -> Result<Choice<'a>> {
    let kinds = setup.library.kinds;
    let place = |error: Error| error.at("`--with`");
    let mut swaps: Vec<Swap> = Vec::new();
    for text in with {
        let (slot, ids) = slot_pair(kinds, text, "--with SLOT=ID").map_err(place)?;
        if swaps.iter().any(|swap| swap.slot == slot) {
            let key = kinds.slot_key(slot);
            return Err(Error::input(format!("`--with {key}` is given twice"))
                .hint("two shims are written `bearing_shims=A|B`"));
        }
        fill(setup, slot, ids).map_err(place)?;
        swaps.push(Swap { slot, ids: ids.into() });
    }
    let machined = |error: Error| error.at("`--machine-to`");
    let machine_to = machine_to.map(Length::parse).transpose().map_err(machined)?;
    swapped(setup, &swaps, machine_to)
}
