//! `import`: parts and jobs from CSV, all or nothing.

use super::args::{Common, Import};
use super::env::Env;
use super::names::meant;
use super::{Reply, place};
use crate::catalog::Access;
use crate::catalog::csv::{FileCount, Imported, Options, Source, Tally, import};
use crate::error::Result;
use crate::model::words::count;
use crate::report;

pub(super) fn run(common: &Common, args: &Import, env: &mut Env<'_>) -> Result<Reply> {
    let sources = args.files.iter().map(|path| Source::read(path)).collect::<Result<Vec<_>>>()?;
    let mut catalog = place::open(common, env, Access::Create)?;
    let options = Options {
        kind: args.kind.as_deref(),
        replace: args.replace,
        dry_run: args.dry_run,
        meant: meant(env.kinds, &args.unusual)?,
        problems: args.problems.as_deref(),
    };
    let imported = import(&mut catalog, &place::stamp(common, env), &sources, &options)?;
    place::tell_of_new(&catalog, env);
    env.warn(&imported.warnings);
    let rows = |file: &FileCount| format!("{}: {}\n", file.name, count(file.rows as u128, "row"));
    let files: String = imported.files.iter().map(rows).collect();
    let (parts, jobs) = (tally(&imported.parts), tally(&imported.jobs));
    let measured = measured(&imported);
    let told = report::entered_of(&imported.entered, env.view(common));
    let dry = if args.dry_run { "Nothing was stored: that was a dry run.\n" } else { "" };
    let text = format!("{files}parts: {parts}\njobs: {jobs}\n{measured}{told}{dry}");
    Ok(Reply { changed: !args.dry_run, ..Reply::good(text) })
}

/// What became of pieces, readings and instruments, where the files held any.
fn measured(imported: &Imported) -> String {
    let Tally { added, updated, unchanged } = imported.readings;
    let lines = [
        (imported.pieces, format!("pieces: {}\n", tally(&imported.pieces))),
        (
            imported.readings,
            format!(
                "sets of readings: {added} added, {updated} struck out, {unchanged} there already\n"
            ),
        ),
        (imported.instruments, format!("instruments: {}\n", tally(&imported.instruments))),
        (imported.house, format!("house numbers: {}\n", tally(&imported.house))),
    ];
    lines.into_iter().filter(|(told, _)| *told != Tally::default()).map(|(_, line)| line).collect()
}

fn tally(tally: &Tally) -> String {
    format!("{} added, {} updated, {} unchanged", tally.added, tally.updated, tally.unchanged)
}
