//! `piece`: the pieces of a part number.

use super::args::{As, Common, Piece as Args, Shape};
use super::env::Env;
use super::{Reply, place};
use crate::catalog::csv::{add_piece, column_help, edit_piece, piece_named};
use crate::catalog::{Access, Writer};
use crate::error::Result;
use crate::model::pieces::Specimen;
use crate::report;

pub(super) fn run(common: &Common, args: Args, env: &mut Env<'_>) -> Result<Reply> {
    match args {
        Args::List { part, all, written: As { format } } => {
            list(common, part.as_deref(), (all, format), env)
        }
        Args::Add { piece, pairs } => {
            let add = |writer: &Writer<'_>| add_piece(writer, &piece, &pairs);
            place::change(common, env, Access::Write, add)?;
            Ok(Reply::stored(format!("added the piece {piece}\n")))
        }
        Args::Edit { piece, pairs } => {
            let edit = |writer: &Writer<'_>| edit_piece(writer, &piece, &pairs);
            let warnings = place::change(common, env, Access::Write, edit)?;
            env.warn(&warnings);
            Ok(Reply::stored(format!("changed the piece {piece}\n")))
        }
        Args::Gone { pieces } => place::change_each(common, env, &pieces, |writer, name| {
            edit_piece(writer, name, &["in_hand=no".into()])?;
            Ok(format!("{name} is gone; what was read on it stays\n"))
        }),
        Args::Back { pieces } => place::change_each(common, env, &pieces, |writer, name| {
            edit_piece(writer, name, &["in_hand=yes".into()])?;
            Ok(format!("{name} is in hand\n"))
        }),
        Args::Remove { pieces } => place::change_each(common, env, &pieces, |writer, name| {
            let (part, label) = piece_named(name)?;
            writer.remove(&writer.reader().load_piece(part, label)?)?;
            Ok(format!("removed {name}\n"))
        }),
        Args::Keys => {
            let columns = column_help(env.kinds, "pieces")?;
            Ok(Reply::good(report::key_list("a piece", &columns, env.view(common))))
        }
    }
}

fn list(
    common: &Common,
    part: Option<&str>,
    (all, format): (bool, Shape),
    env: &Env<'_>,
) -> Result<Reply> {
    let catalog = place::open(common, env, Access::Read)?;
    let (part, library) = catalog.read(|reader| {
        let part = part.map(|id| reader.load_part(id)).transpose()?;
        Ok((part, reader.load_library()?))
    })?;
    let wanted = |piece: &&Specimen| part.as_ref().is_none_or(|part| piece.part == part.id);
    let (shown, hidden): (Vec<&Specimen>, Vec<&Specimen>) =
        library.measured.specimens.iter().filter(wanted).partition(|piece| all || piece.in_hand);
    Ok(Reply::good(match format {
        Shape::Table => report::piece_list(&library, &shown, hidden.len(), env.view(common)),
        Shape::Json => report::piece_list_json(&library, &shown, hidden.len()),
    }))
}
