//! `part`: the library by hand.

use super::args::{As, Common, Part as Args, Shape};
use super::env::Env;
use super::{Reply, list, names, place, shelf};
use crate::catalog::csv::{add_part, column_help, copy_part, edit_part};
use crate::catalog::{Access, Followed, Writer};
use crate::error::{Error, Result};
use crate::measure::findings::Findings;
use crate::measure::shelf::set_aside;
use crate::model::part::Part;
use crate::model::words::count;
use crate::report;

pub(super) fn run(common: &Common, args: Args, env: &mut Env<'_>) -> Result<Reply> {
    match args {
        Args::List(args) => list::parts(common, &args, env),
        Args::Show { id, written: As { format } } => show(common, &id, format, env),
        Args::Add { kind, id, pairs, unusual } => {
            let meant = names::meant(env.kinds, &unusual)?;
            let add = |writer: &Writer<'_>| add_part(writer, &kind, &id, (&pairs, &meant));
            let taken = place::change(common, env, Access::Create, add)?;
            env.warn(&taken.warnings);
            let entered = report::entered(&taken.entered, env.view(common));
            Ok(Reply::stored(format!("added the part {id}\n{entered}")))
        }
        Args::Edit { id, pairs, unusual } => {
            let meant = names::meant(env.kinds, &unusual)?;
            let edit = |writer: &Writer<'_>| edit_part(writer, &id, (&pairs, &meant));
            let taken = place::change(common, env, Access::Write, edit)?;
            env.warn(&taken.warnings);
            let entered = report::entered(&taken.entered, env.view(common));
            Ok(Reply::stored(format!("changed the part {id}\n{entered}")))
        }
        Args::Copy { id, new, pairs, unusual } => {
            let meant = names::meant(env.kinds, &unusual)?;
            let copy = |writer: &Writer<'_>| copy_part(writer, &id, &new, (&pairs, &meant));
            let taken = place::change(common, env, Access::Write, copy)?;
            env.warn(&taken.warnings);
            let entered = report::entered(&taken.entered, env.view(common));
            Ok(Reply::stored(format!("added the part {new} like {id}\n{entered}")))
        }
        Args::Rename { id, new } => {
            let followed = place::change(common, env, Access::Write, |writer| {
                let old = exactly(writer, &id)?;
                writer.rename_part(&old, new.trim())
            })?;
            let new = new.trim();
            Ok(Reply::stored(format!("{id} is called {new} now{}\n", following(&followed))))
        }
        Args::Supersede { old, new } => {
            let followed = place::change(common, env, Access::Write, |writer| {
                writer.supersede_part(&exactly(writer, &old)?, &exactly(writer, &new)?)
            })?;
            let shelf = match followed.on_hand {
                0 => String::new(),
                count => format!("; {count} more of it on the shelf"),
            };
            let following = following(&followed);
            Ok(Reply::stored(format!("{new} has taken the place of {old}{following}{shelf}\n")))
        }
        Args::SetAside(args) => shelf::set_aside(common, &args, env),
        Args::PutBack(args) => shelf::put_back(common, &args, env),
        Args::TakeOut(args) => shelf::take_out(common, &args, env),
        Args::Receive(args) => shelf::receive(common, &args, env),
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

/// The part of this number today: what it was called once is no name to give or to take.
fn exactly(writer: &Writer<'_>, id: &str) -> Result<Part> {
    let part = writer.reader().load_part(id.trim())?;
    if part.id == id.trim() {
        return Ok(part);
    }
    let now = &part.id;
    Err(Error::input(format!("`{id}` is called `{now}` now")).hint(format!("write `{now}`")))
}

/// What followed a part number, behind what was done.
fn following(followed: &Followed) -> String {
    let of = |names: &[String], one| count(names.len() as u128, one);
    let (jobs, pieces) = (&followed.jobs, &followed.pieces);
    match (jobs.is_empty(), pieces.is_empty()) {
        (true, true) => String::new(),
        (false, true) => format!(", in {} too", of(jobs, "job")),
        (true, false) => format!(", and so are {}", of(pieces, "piece")),
        (false, false) => format!(", in {} and {} too", of(jobs, "job"), of(pieces, "piece")),
    }
}

fn show(common: &Common, id: &str, format: Shape, env: &Env<'_>) -> Result<Reply> {
    let catalog = place::open(common, env, Access::Read)?;
    let (part, library, naming) = catalog.read(|reader| {
        let part = reader.load_part(id)?;
        let jobs = reader.jobs_naming(&part.id)?;
        let jobs = jobs.iter().map(|job| reader.load_job(job)).collect::<Result<Vec<_>>>()?;
        Ok((part, reader.load_library()?, jobs))
    })?;
    let jobs: Vec<String> = naming.iter().map(|job| job.id.clone()).collect();
    let mut aside = set_aside(&library, &naming);
    aside.retain(|row| row.part.id == part.id);
    let findings = Findings::of(&library);
    let family = findings.family(&part.id);
    if format == Shape::Json {
        let taught = family.map(|family| (&findings, family));
        return Ok(Reply::good(report::part_show_json(
            &part,
            &library.house,
            (&jobs, &aside),
            taught,
        )));
    }
    let view = env.view(common);
    let now =
        if part.id == id { String::new() } else { format!("{id} is called {} now.\n\n", part.id) };
    let shown = now + &report::part_show(&part, &library.house, (&jobs, &aside), view);
    let taught = family.map(|family| report::lessons(&findings, family, view));
    Ok(Reply::good(shown + &taught.unwrap_or_default()))
}
