//! `recommend`: every combination, ranked.

use super::args::{Common, Format, Recommend};
use super::env::Env;
use super::{Reply, ask, place, progress};
use crate::catalog::Access;
use crate::error::Result;
use crate::report;
use crate::solve::ask::Order;
use crate::solve::recommend::recommend;
use crate::stack::choice::Bench;
use crate::stack::fit::Fit;

pub(super) fn run(common: &Common, args: &Recommend, env: &mut Env<'_>) -> Result<Reply> {
    let catalog = place::open(common, env, Access::Read)?;
    let (library, job) = catalog
        .read(|reader| Ok((place::applied_library(reader)?, reader.load_job(&args.job)?)))?;
    let bench = Bench::new(&library, &job)?;
    let mut ask = ask::ask(&args.search, &library, Order::Grade)?;
    // A CSV answer is rows of stacks: there is no place for counts in it.
    ask.counts = !args.no_counts && args.format != Format::Csv;
    ask.explain = args.explain;
    let answer = progress::watched(env, |watch| recommend(&bench, &ask, watch))?;
    let view = env.view(common);
    let text = match args.format {
        Format::Table => report::recommend_table(&bench, &answer, view),
        Format::Json => report::recommend_json(&bench, &answer),
        Format::Csv => report::recommend_csv(&bench, &answer, view),
    };
    Ok(Reply::answer(text, answer.stacks.iter().any(Fit::holds)))
}
