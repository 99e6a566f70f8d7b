//! `history`: who changed what and when.

use super::args::{Common, Format, History};
use super::env::Env;
use super::{Reply, place};
use crate::catalog::Access;
use crate::error::Result;
use crate::model::history::About;
use crate::report;

pub(super) fn run(common: &Common, args: &History, env: &mut Env<'_>) -> Result<Reply> {
    let of = match (&args.part, &args.job) {
        (Some(part), _) => About::Part(part),
        (None, Some(job)) => About::Job(job),
        (None, None) => About::Everything,
    };
    let limit = usize::try_from(args.limit).unwrap_or(usize::MAX);
    let catalog = place::open(common, env, Access::Read)?;
    let (events, earlier) = catalog.read(|reader| reader.history(of, limit))?;
    let view = env.view(common);
    let text = match args.written.format {
        Format::Table => report::history_table(env.kinds, &events, earlier, view),
        Format::Json => report::history_json(&events, earlier),
        Format::Csv => report::history_csv(&events, view),
    };
    Ok(Reply::in_format(text, args.written.format))
}
