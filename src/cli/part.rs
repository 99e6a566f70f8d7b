//! `part`: the library by hand.

use super::args::{Common, Part as Args};
use super::env::Env;
use super::{Reply, list, names, place};
use crate::catalog::csv::{add_part, column_help, edit_part};
use crate::catalog::{Access, Writer};
use crate::error::Result;
use crate::measure::findings::Findings;
use crate::report;

pub(super) fn run(common: &Common, args: Args, env: &mut Env<'_>) -> Result<Reply> {
    match args {
        Args::List(args) => list::parts(common, &args, env),
        Args::Show { id } => show(common, &id, env),
        Args::Add { kind, id, pairs, unusual } => {
            let meant = names::meant(env.kinds, &unusual)?;
            let add = |writer: &Writer<'_>| add_part(writer, &kind, &id, &pairs, &meant);
            let taken = place::change(common, env, Access::Create, add)?;
            env.warn(&taken.warnings);
            let entered = report::entered(&taken.entered, env.view(common));
            Ok(Reply::stored(format!("added the part {id}\n{entered}")))
        }
        Args::Edit { id, pairs, unusual } => {
            let meant = names::meant(env.kinds, &unusual)?;
            let edit = |writer: &Writer<'_>| edit_part(writer, &id, &pairs, &meant);
            let taken = place::change(common, env, Access::Write, edit)?;
            env.warn(&taken.warnings);
            let entered = report::entered(&taken.entered, env.view(common));
            Ok(Reply::stored(format!("changed the part {id}\n{entered}")))
        }
        Args::Retire { ids } => place::change_each(common, env, &ids, |writer, id| {
            let changed = writer.set_retired(id, true)?;
            Ok(if changed {
                format!("retired {id}\n")
            } else {
                format!("{id} was retired already\n")
            })
        }),
        Args::Restore { ids } => place::change_each(common, env, &ids, |writer, id| {
            let changed = writer.set_retired(id, false)?;
            Ok(if changed {
                format!("{id} is in use again\n")
            } else {
                format!("{id} was in use already\n")
            })
        }),
        Args::Remove { ids } => place::change_each(common, env, &ids, |writer, id| {
            writer.remove(&writer.reader().load_part(id)?)?;
            Ok(format!("removed {id}\n"))
        }),
        Args::Keys { kind: None } => Ok(Reply::good(report::kinds(env.kinds, env.view(common)))),
        Args::Keys { kind: Some(kind) } => {
            let kind = env.kinds.named(&kind)?;
            let columns = column_help(env.kinds, kind.key)?;
            Ok(Reply::good(report::key_list(kind.name, &columns, env.view(common))))
        }
    }
}

fn show(common: &Common, id: &str, env: &Env<'_>) -> Result<Reply> {
    let catalog = place::open(common, env, Access::Read)?;
    let (part, library, jobs) = catalog.read(|reader| {
        Ok((reader.load_part(id)?, reader.load_library()?, reader.jobs_naming(id)?))
    })?;
    let view = env.view(common);
    let shown = report::part_show(&part, &library.house, &jobs, view);
    let findings = Findings::of(&library);
    let taught = findings.family(&part.id).map(|family| report::lessons(&findings, family, view));
    Ok(Reply::good(shown + &taught.unwrap_or_default()))
}
