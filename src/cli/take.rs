//! `job take`: a row of an answer put on its job.

use super::args::{Common, Take};
use super::env::Env;
use super::{Reply, ask, place, progress};
use crate::catalog::Access;
use crate::catalog::csv::edit_job;
use crate::desk::{
    Bench, Listing, Taken, Thing, Version, Written, one_stack, row, taken, unless_changed,
};
use crate::error::{Error, Result};
use crate::model::usual::Meant;
use crate::report;
use crate::solve::ask::Order;

pub(super) fn run(common: &Common, args: &Take, env: &mut Env<'_>) -> Result<Reply> {
    let mut catalog = place::open(common, env, Access::Write)?;
    let id = &args.job;
    let (bench, seen) = catalog
        .read(|reader| Ok((Bench::read(reader, id)?, Version::of(reader, Thing::Job(id))?)))?;
    let setup = bench.setup()?;
    let (of, number, order) = match (args.row, args.cure) {
        (Some(number), _) => (Listing::Ranking, number, Order::Grade),
        (None, cure) => (Listing::Cure, cure.unwrap_or_default(), Order::Changes),
    };
    let ask = ask::ask(&args.search, &bench.library, order)?;
    let one = progress::watched(env, |watch| {
        let choice = row(&setup, of, number, &ask, watch)?;
        one_stack(&setup, &choice, false, watch)
    })?;
    let fit = &one.judged.fit;
    let mut taken = taken(&setup, fit)?;
    if args.built {
        taken = Taken { pairs: taken.pairs, ..Taken::default() };
    }
    let text = report::taken(&setup, &one, (&taken.pairs, &taken.stale), env.view(common));
    let holds = fit.holds();
    if args.dry_run {
        return Ok(
            Reply::good(format!("{text}Nothing was stored: that was a dry run.\n")).holding(holds)
        );
    }
    let pairs = [taken.pairs, taken.blanks].concat();
    let written = catalog.write(&place::stamp(common, env), |writer| {
        // The parts and readings are the catalog's own: nobody types them here.
        let keep = || edit_job(writer, id, (&pairs, &Meant::all()));
        unless_changed(writer, Thing::Job(id), seen, keep)
    })?;
    match written {
        Written::Done(_) => Ok(Reply::stored(text).holding(holds)),
        Written::Meanwhile(_) => Err(Error::input(format!("the job `{id}` was changed meanwhile"))
            .hint(format!("nothing was stored; `bellstack history --job {id}` shows the change"))),
    }
}
