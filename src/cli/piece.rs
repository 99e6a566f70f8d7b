//! `piece`: the pieces of a part number.

use super::args::{Common, Piece as Args};
use super::env::Env;
use super::{Reply, place};
use crate::catalog::csv::{add_piece, column_help, edit_piece, piece_named};
use crate::catalog::{Access, Writer};
use crate::error::Result;
use crate::model::pieces::Specimen;
use crate::report;

pub(super) fn run(common: &Common, args: Args, env: &mut Env<'_>) -> Result<Reply> {
    match args {
        Args::List { part, all } => list(common, part.as_deref(), all, env),
        Args::Add { piece, pairs } => {
            let mut catalog = place::open(common, env, Access::Write)?;
            catalog
                .write(&place::stamp(common, env), |writer| add_piece(writer, &piece, &pairs))?;
            Ok(Reply::good(format!("added the piece {piece}\n")))
        }
        Args::Edit { piece, pairs } => {
            let mut catalog = place::open(common, env, Access::Write)?;
            let warnings = catalog
                .write(&place::stamp(common, env), |writer| edit_piece(writer, &piece, &pairs))?;
            env.warn(&warnings);
            Ok(Reply::good(format!("changed the piece {piece}\n")))
        }
        Args::Gone { pieces } => each(common, &pieces, env, |writer, name| {
            edit_piece(writer, name, &["in_hand=no".into()])?;
            Ok(format!("{name} is gone; what was read on it stays\n"))
        }),
        Args::Back { pieces } => each(common, &pieces, env, |writer, name| {
            edit_piece(writer, name, &["in_hand=yes".into()])?;
            Ok(format!("{name} is in hand\n"))
        }),
        Args::Remove { pieces } => each(common, &pieces, env, |writer, name| {
            let (part, label) = piece_named(name)?;
            writer.remove_piece(part, label)?;
            Ok(format!("removed {name}\n"))
        }),
        Args::Keys => {
            let columns = column_help(env.kinds, "pieces")?;
            Ok(Reply::good(report::key_list("a piece", &columns, env.view(common))))
        }
    }
}

/// Does the same to each piece, all in one transaction.
fn each(
    common: &Common,
    names: &[String],
    env: &Env<'_>,
    change: impl Fn(&Writer<'_>, &str) -> Result<String>,
) -> Result<Reply> {
    let mut catalog = place::open(common, env, Access::Write)?;
    let lines: Result<Vec<String>> = catalog.write(&place::stamp(common, env), |writer| {
        names.iter().map(|name| change(writer, name)).collect()
    });
    Ok(Reply::good(lines?.concat()))
}

fn list(common: &Common, part: Option<&str>, all: bool, env: &Env<'_>) -> Result<Reply> {
    let catalog = place::open(common, env, Access::Read)?;
    // Only to refuse a part that is not there.
    let library = catalog.read(|reader| {
        part.map(|id| reader.load_part(id)).transpose()?;
        reader.load_library()
    })?;
    let wanted = |piece: &&Specimen| part.is_none_or(|part| piece.part == part);
    let (shown, hidden): (Vec<&Specimen>, Vec<&Specimen>) =
        library.measured.specimens.iter().filter(wanted).partition(|piece| all || piece.in_hand);
    Ok(Reply::good(report::piece_list(&library, &shown, hidden.len(), env.view(common))))
}
