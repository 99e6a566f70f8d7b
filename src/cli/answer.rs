//! `answer`: answers that are kept with what they were an answer to.

use super::args::{Answer as Args, As, Common, Keep, Shape};
use super::env::Env;
use super::{Reply, ask, compare, place, progress};
use crate::catalog::Access;
use crate::desk::{Asked, Bench, keep as keep_answer};
use crate::error::Result;
use crate::report;
use crate::solve::ask::Order;

pub(super) fn run(common: &Common, args: Args, env: &mut Env<'_>) -> Result<Reply> {
    let view = env.view(common);
    match args {
        Args::Keep(args) => keep(common, &args, env),
        Args::List { job, written: As { format } } => {
            let catalog = place::open(common, env, Access::Read)?;
            let kept = catalog.read(|reader| {
                let mut kept = reader.load_answers()?;
                // One that cannot be read is shown whatever job it may be of.
                kept.retain(|(_, kept)| match (&job, kept) {
                    (Some(job), Ok(kept)) => kept.job == *job,
                    _ => true,
                });
                Ok(kept)
            })?;
            Ok(Reply::good(match format {
                Shape::Table => report::answer_list(&kept, view),
                Shape::Json => report::answer_list_json(&kept),
            }))
        }
        Args::Show { name, written: As { format } } => {
            let catalog = place::open(common, env, Access::Read)?;
            let kept = catalog.read(|reader| reader.load_answer(&name))?;
            Ok(Reply::good(match format {
                Shape::Table => report::answer_show(&kept, env.kinds, view),
                Shape::Json => report::answer_show_json(&kept)?,
            }))
        }
        Args::Compare { name, written: As { format } } => compare::run(common, &name, format, env),
    }
}

fn keep(common: &Common, args: &Keep, env: &mut Env<'_>) -> Result<Reply> {
    let (stamp, day) = (place::stamp(common, env), env.today());
    let mut catalog = place::open(common, env, Access::Write)?;
    let asked = |bench: &Bench| {
        if args.fit {
            return Ok(Asked::Fitted);
        }
        if args.cure {
            return ask::ask(&args.search, &bench.library, Order::Changes).map(Asked::Cure);
        }
        ask::ask(&args.search, &bench.library, Order::Grade).map(Asked::Ranking)
    };
    let (name, holds) = progress::watched(env, |watch| {
        let name = args.name.as_deref();
        keep_answer(&mut catalog, (&args.job, name), (&stamp, &day), asked, watch)
    })?;
    Ok(Reply::stored(format!("kept the answer {name}\n")).holding(holds))
}
