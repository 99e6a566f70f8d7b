//! `sheet`: one stack on one side of paper, or the blank sheet to carry to the car.

use std::fs;

use super::args::{Common, Sheet};
use super::env::Env;
use super::{Reply, fit, place, progress};
use crate::catalog::Access;
use crate::desk::{Bench, cured, one_stack};
use crate::error::{Error, Result};
use crate::report;

pub(super) fn run(common: &Common, args: &Sheet, env: &mut Env<'_>) -> Result<Reply> {
    let catalog = place::open(common, env, Access::Read)?;
    let bench = Bench::of(&catalog, &args.job)?;
    let setup = bench.setup()?;
    let (view, date) = (env.view(common), env.today());
    let (text, holds) = if args.blank {
        (report::blank_sheet(&setup, view, &date), true)
    } else {
        let one = progress::watched(env, |watch| {
            let choice = match args.cure {
                Some(number) => cured(&setup, number, watch)?,
                None => fit::choice(&setup, &args.with, args.machine_to.as_deref())?,
            };
            one_stack(&setup, &choice, true, watch)
        })?;
        (report::sheet(&setup, &one, view, &date), one.judged.fit.holds())
    };
    let Some(path) = &args.out else { return Ok(Reply::good(text).holding(holds)) };
    fs::write(path, text).map_err(|error| {
        Error::storage(format!("`{}` could not be written: {error}", path.display()))
    })?;
    let told = format!("{}: open it in a browser to print it\n", path.display());
    Ok(Reply::good(told).holding(holds))
}
