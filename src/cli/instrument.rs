//! `instrument`: the instruments, with their limits of error.

use super::args::{Common, Instrument as Args};
use super::env::Env;
use super::{Reply, place};
use crate::catalog::Access;
use crate::catalog::csv::{add_instrument, column_help, edit_instrument};
use crate::error::Result;
use crate::report;

pub(super) fn run(common: &Common, args: Args, env: &mut Env<'_>) -> Result<Reply> {
    let view = env.view(common);
    match args {
        Args::List => {
            let measured = place::open(common, env, Access::Read)?.load_library()?.measured;
            Ok(Reply::good(report::instrument_list(&measured, view)))
        }
        Args::Show { name } => {
            let catalog = place::open(common, env, Access::Read)?;
            let instrument = catalog.read(|reader| {
                let measured = reader.load_measured()?;
                let found = measured.instrument(&name).cloned();
                found.ok_or_else(|| reader.no_instrument(&name))
            })?;
            Ok(Reply::good(report::instrument_show(&instrument, view)))
        }
        Args::Add { name, pairs } => {
            let mut catalog = place::open(common, env, Access::Create)?;
            catalog.write(&place::stamp(common, env), |writer| {
                add_instrument(writer, &name, &pairs)
            })?;
            Ok(Reply::good(format!("added the instrument {name}\n")))
        }
        Args::Set { name, pairs } => {
            let mut catalog = place::open(common, env, Access::Write)?;
            catalog.write(&place::stamp(common, env), |writer| {
                edit_instrument(writer, &name, &pairs)
            })?;
            Ok(Reply::good(format!("changed the instrument {name}\n")))
        }
        Args::Remove { names } => {
            let mut catalog = place::open(common, env, Access::Write)?;
            catalog.write(&place::stamp(common, env), |writer| {
                names.iter().try_for_each(|name| writer.remove_instrument(name))
            })?;
            let lines = names.iter().map(|name| format!("removed the instrument {name}\n"));
            Ok(Reply::good(lines.collect::<String>()))
        }
        Args::Keys => {
            let columns = column_help(env.kinds, "instruments")?;
            Ok(Reply::good(report::key_list("an instrument", &columns, view)))
        }
    }
}
