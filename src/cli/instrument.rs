//! `instrument`: the instruments, with their limits of error.

use super::args::{As, Common, Instrument as Args, Shape};
use super::env::Env;
use super::{Reply, place};
use crate::catalog::csv::{add_instrument, column_help, edit_instrument};
use crate::catalog::{Access, Writer};
use crate::error::Result;
use crate::report;

pub(super) fn run(common: &Common, args: Args, env: &mut Env<'_>) -> Result<Reply> {
    let view = env.view(common);
    match args {
        Args::List { written: As { format } } => {
            let measured = place::open(common, env, Access::Read)?.load_library()?.measured;
            Ok(Reply::good(match format {
                Shape::Table => report::instrument_list(&measured, view),
                Shape::Json => report::instrument_list_json(&measured),
            }))
        }
        Args::Show { name, written: As { format } } => {
            let catalog = place::open(common, env, Access::Read)?;
            let instrument = catalog.read(|reader| {
                let measured = reader.load_measured()?;
                let found = measured.instrument(&name).cloned();
                found.ok_or_else(|| reader.no_instrument(&name))
            })?;
            Ok(Reply::good(match format {
                Shape::Table => report::instrument_show(&instrument, view),
                Shape::Json => report::instrument_show_json(&instrument),
            }))
        }
        Args::Add { name, pairs } => {
            let add = |writer: &Writer<'_>| add_instrument(writer, &name, &pairs);
            place::change(common, env, Access::Write, add)?;
            Ok(Reply::stored(format!("added the instrument {name}\n")))
        }
        Args::Set { name, pairs } => {
            let edit = |writer: &Writer<'_>| edit_instrument(writer, &name, &pairs);
            place::change(common, env, Access::Write, edit)?;
            Ok(Reply::stored(format!("changed the instrument {name}\n")))
        }
        Args::Remove { names } => place::change_each(common, env, &names, |writer, name| {
            writer.remove(&writer.reader().load_instrument(name)?)?;
            Ok(format!("removed the instrument {name}\n"))
        }),
        Args::Keys => {
            let columns = column_help(env.kinds, "instruments")?;
            Ok(Reply::good(report::key_list("an instrument", &columns, view)))
        }
    }
}
