//! `merge`: another copy of the catalog brought together with it.

use super::args::{Common, Merge as Args, Shape};
use super::env::Env;
use super::{Reply, place};
use crate::catalog::Access;
use crate::error::{Error, Result};
use crate::model::merge::{Decided, Merged, Whose};
use crate::model::words::count;
use crate::report;

pub(super) fn run(common: &Common, args: &Args, env: &mut Env<'_>) -> Result<Reply> {
    let mut catalog = place::open(common, env, Access::Write)?;
    let all = match (args.ours, args.theirs) {
        (true, _) => Some(Whose::Ours),
        (_, true) => Some(Whose::Theirs),
        _ => None,
    };
    let mut decided = Decided { all, ..Decided::default() };
    let stamp = place::stamp(common, env);
    let mut merged = catalog.merge(&stamp, &args.file, (&decided, args.dry_run))?;
    let unit = common.unit();
    if !merged.conflicts.is_empty() && !args.dry_run {
        if !env.input_is_terminal {
            let lines: Vec<String> = merged
                .conflicts
                .iter()
                .map(|one| format!("\n  {}", report::conflict(one, env.kinds, unit)))
                .collect();
            let number = count(lines.len() as u128, "value");
            let message = format!("nothing was stored: both changed {number}{}", lines.concat());
            return Err(Error::input(message)
                .hint("`--ours` keeps what is here, `--theirs` takes what is there"));
        }
        ask(&merged, &mut decided, env, unit)?;
        merged = catalog.merge(&stamp, &args.file, (&decided, false))?;
        if !merged.conflicts.is_empty() {
            return Err(Error::input("the catalog was changed meanwhile")
                .hint("nothing was stored: merge again"));
        }
    }
    let stored = !args.dry_run && !merged.is_nothing();
    let other = args.file.display().to_string();
    let text = match args.written.format {
        Shape::Table => report::merge_table(&merged, (&other, stored), env.kinds, env.view(common)),
        Shape::Json => report::merge_json(&merged, stored, env.kinds),
    };
    let reply = if stored { Reply::stored(text) } else { Reply::good(text) };
    Ok(reply.holding(merged.conflicts.is_empty()))
}

/// Asks of each thing that both changed whose it is to be.
fn ask(
    merged: &Merged,
    decided: &mut Decided,
    env: &mut Env<'_>,
    unit: crate::model::length::Unit,
) -> Result<()> {
    for conflict in &merged.conflicts {
        let line = report::conflict(conflict, env.kinds, unit);
        env.tell(&line);
        let side = loop {
            match env.ask("Ours (here), theirs (there) or quit? ")?.as_deref() {
                Some("ours" | "here" | "o") => break Whose::Ours,
                Some("theirs" | "there" | "t") => break Whose::Theirs,
                Some("quit") | None => return Err(Error::input("nothing was stored")),
                Some(_) => env.tell("  write ours, theirs or quit"),
            }
        };
        decided.each.insert(conflict.key(), side);
    }
    Ok(())
}
