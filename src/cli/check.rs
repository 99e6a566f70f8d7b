//! `check`: a look through everything that the shop keeps.

use itertools::Itertools as _;

use super::args::{Check, Common, Format};
use super::env::Env;
use super::{Reply, place, progress};
use crate::catalog::Access;
use crate::desk::changed_in_hand;
use crate::error::{Error, Result};
use crate::measure::applied::applied;
use crate::model::history::About;
use crate::model::kept::KeptAnswer;
use crate::report;
use crate::stack::inspection::inspect;

pub(super) fn run(common: &Common, args: &Check, env: &mut Env<'_>) -> Result<Reply> {
    let catalog = place::open(common, env, Access::Read)?;
    let (library, jobs, answers) = catalog.read(|reader| {
        reader.look_through()?;
        reader.history(About::Everything, usize::MAX)?;
        Ok((reader.load_library()?, reader.load_jobs()?, reader.load_answers()?))
    })?;
    // A kept answer is never changed, so it stays damaged, and everything else can be looked at.
    let (kept, damaged): (Vec<KeptAnswer>, Vec<Error>) =
        answers.into_iter().map(|(_, kept)| kept).partition_result();
    let damaged: Vec<String> = damaged.iter().map(|error| error.message().to_string()).collect();
    env.warn(&damaged);
    let used = applied(library.clone(), &jobs);
    let mut inspection = inspect(&library, &used, &jobs);
    let in_hand = progress::watched(env, |watch| changed_in_hand(&used, &jobs, &kept, watch))?;
    inspection.remarks.extend(in_hand);
    inspection.remarks.sort_by_key(|remark| remark.topic);
    let view = env.view(common);
    let most = if args.all { usize::MAX } else { args.top };
    let text = match args.written.format {
        Format::Table => report::inspection_table(&inspection, most, view),
        Format::Json => report::inspection_json(&inspection, view),
        Format::Csv => report::inspection_csv(&inspection, view),
    };
    let holds = inspection.remarks.is_empty() && damaged.is_empty();
    Ok(Reply::in_format(text, args.written.format).holding(holds))
}
