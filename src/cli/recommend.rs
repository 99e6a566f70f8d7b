//! `recommend`: every combination, ranked.

use super::args::{Common, Format, Recommend};
use super::env::Env;
use super::{Reply, ask, place, progress};
use crate::catalog::Access;
use crate::desk::Bench;
use crate::error::Result;
use crate::report;
use crate::solve::ask::Order;
use crate::solve::recommend::recommend;

pub(super) fn run(common: &Common, args: &Recommend, env: &mut Env<'_>) -> Result<Reply> {
    // The file is closed before the search begins, which can use the room that its pages took.
    let bench = Bench::of(&place::open(common, env, Access::Read)?, &args.job)?;
    let setup = bench.setup()?;
    let mut ask = ask::ask(&args.search, &bench.library, Order::Grade)?;
    // A CSV answer is rows of stacks: there is no place for counts in it.
    ask.counts = !args.no_counts && args.written.format != Format::Csv;
    ask.explain = args.explain;
    let answer = progress::watched(env, |watch| recommend(&setup, &ask, watch))?;
    let answer = answer.shown(&setup);
    let view = env.view(common);
    let text = match args.written.format {
        Format::Table => report::recommend_table(&setup, &answer, view),
        Format::Json => report::recommend_json(&setup, &answer),
        Format::Csv => report::recommend_csv(&setup, &answer, view),
    };
    let holds = answer.stacks.iter().any(|shown| shown.fit.holds());
    Ok(Reply::in_format(text, args.written.format).holding(holds))
}
