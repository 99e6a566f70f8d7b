//! `sheet`: one stack on one side of paper, or the blank sheet to carry to the car.

use std::fs;

use super::args::{Common, Sheet};
use super::env::Env;
use super::{Reply, fit, place, progress};
use crate::catalog::Access;
use crate::error::{Error, Result};
use crate::report;
use crate::solve::ask::{Ask, Order};
use crate::solve::cure::{cure, lacks};
use crate::solve::in_hand::with_pieces;
use crate::stack::choice::{Choice, Setup};
use crate::stack::fit::evaluate;
use crate::stack::shown::OneStack;

pub(super) fn run(common: &Common, args: &Sheet, env: &mut Env<'_>) -> Result<Reply> {
    let catalog = place::open(common, env, Access::Read)?;
    let (library, job) = catalog
        .read(|reader| Ok((place::applied_library(reader)?, reader.load_job(&args.job)?)))?;
    let setup = Setup::new(&library, &job)?;
    let (view, date) = (env.view(common), env.today());
    let (text, holds) = if args.blank {
        (report::blank_sheet(&setup, view, &date), true)
    } else {
        let choice = match args.cure {
            Some(number) => cured(&setup, number, env)?,
            None => fit::choice(&setup, &args.with, args.machine_to.as_deref())?,
        };
        let fit = evaluate(&setup, &choice).map_err(|lack| lacks(&setup, &lack))?;
        let in_hand = progress::watched(env, |watch| with_pieces(&setup, &choice, watch))?;
        let one = OneStack::of(&setup, fit, in_hand, true);
        (report::sheet(&setup, &one, view, &date), one.judged.fit.holds())
    };
    let Some(path) = &args.out else { return Ok(Reply::good(text).holding(holds)) };
    fs::write(path, text).map_err(|error| {
        Error::storage(format!("`{}` could not be written: {error}", path.display()))
    })?;
    let told = format!("{}: open it in a browser to print it\n", path.display());
    Ok(Reply::good(told).holding(holds))
}

/// The stack that a row of `cure` makes.
fn cured<'a>(setup: &Setup<'a>, number: u32, env: &mut Env<'_>) -> Result<Choice<'a>> {
    let wanted = usize::try_from(number).unwrap_or(usize::MAX);
    let usual = Ask { order: Order::Changes, ..Ask::default() };
    let ask = Ask { top: usual.top.max(wanted), ..usual };
    let found = progress::watched(env, |watch| cure(setup, &ask, watch))?;
    let count = found.remedies.len();
    let remedy = found.remedies.into_iter().nth(wanted - 1);
    remedy.map(|remedy| remedy.fit.choice).ok_or_else(|| {
        let job = &setup.job.id;
        Error::input(format!("`--cure {number}`: `cure {job}` has {count} rows"))
            .hint(format!("`bellstack cure {job}` shows them"))
    })
}
