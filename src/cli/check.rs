//! `check`: a look through everything that the shop keeps.

use super::args::{Check, Common, Format};
use super::env::Env;
use super::{Reply, place};
use crate::catalog::Access;
use crate::error::Result;
use crate::measure::applied::applied;
use crate::model::history::Of;
use crate::report;
use crate::stack::inspection::inspect;

pub(super) fn run(common: &Common, args: &Check, env: &mut Env<'_>) -> Result<Reply> {
    let catalog = place::open(common, env, Access::Read)?;
    let (library, jobs, answers) = catalog.read(|reader| {
        reader.look_through()?;
        reader.history(Of::Everything, usize::MAX)?;
        Ok((reader.load_library()?, reader.load_jobs()?, reader.load_answers()?))
    })?;
    // A kept answer is never changed, so it stays damaged, and everything else can be looked at.
    let damaged = answers.into_iter().filter_map(|(_, kept)| kept.err());
    let damaged: Vec<String> = damaged.map(|error| error.message().to_string()).collect();
    env.warn(&damaged);
    let inspection = inspect(&library, &applied(library.clone(), &jobs), &jobs);
    let view = env.view(common);
    let most = if args.all { usize::MAX } else { args.top };
    let text = match args.format {
        Format::Table => report::inspection_table(&inspection, most, view),
        Format::Json => report::inspection_json(&inspection, view),
        Format::Csv => report::inspection_csv(&inspection, view),
    };
    Ok(Reply::answer(text, inspection.remarks.is_empty() && damaged.is_empty()))
}
