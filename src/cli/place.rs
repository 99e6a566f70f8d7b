//! Where the catalog is.

use std::path::PathBuf;

use super::Reply;
use super::args::Common;
use super::env::Env;
use crate::catalog::{Access, Catalog, Writer};
use crate::error::{Error, Result};
use crate::model::history::Stamp;

/// The catalog's file: as asked, else as the environment says, else in the platform's data
/// directory.
pub(super) fn path(common: &Common, env: &Env<'_>) -> Result<PathBuf> {
    if let Some(path) = named(common, env) {
        return Ok(path);
    }
    let directory = env.data_dir.as_ref().map(|directory| directory.join("catalog.db"));
    directory.ok_or_else(|| {
        Error::storage("this platform has no data directory for the catalog")
            .hint("give a file with --catalog FILE or in BELLSTACK_CATALOG")
    })
}

/// The catalog's file as it was asked for, or as the environment says.
pub(super) fn named(common: &Common, env: &Env<'_>) -> Option<PathBuf> {
    let told = || (env.var)("BELLSTACK_CATALOG").filter(|path| !path.is_empty());
    common.catalog.clone().or_else(|| told().map(PathBuf::from))
}

/// Who changes the catalog, when, and with which command.
pub(super) fn stamp(common: &Common, env: &Env<'_>) -> Stamp {
    let words: Vec<String> = common.words.iter().map(|word| quoted(word)).collect();
    Stamp { at: env.now(), by: env.by(), command: words.join(" ") }
}

/// A word as it can be typed again.
pub(super) fn quoted(word: &str) -> String {
    let is_plain = |c: char| c.is_alphanumeric() || "-_=./,:#|%+@".contains(c);
    if !word.is_empty() && word.chars().all(is_plain) {
        return word.into();
    }
    if word.contains('\'') { format!("\"{word}\"") } else { format!("'{word}'") }
}

/// Opens the catalog.
pub(super) fn open(common: &Common, env: &Env<'_>, access: Access) -> Result<Catalog> {
    let catalog = Catalog::open(&path(common, env)?, env.kinds, access)?;
    common.remember(&catalog);
    Ok(catalog)
}

/// Changes the catalog in one transaction.
pub(super) fn change<T>(
    common: &Common,
    env: &mut Env<'_>,
    access: Access,
    f: impl FnMut(&Writer<'_>) -> Result<T>,
) -> Result<T> {
    let mut catalog = open(common, env, access)?;
    let answer = catalog.write(&stamp(common, env), f)?;
    tell_of_new(&catalog, env);
    Ok(answer)
}

/// Does the same to each thing of these names, all in one transaction; each says what was done.
pub(super) fn change_each(
    common: &Common,
    env: &mut Env<'_>,
    names: &[String],
    change_one: impl Fn(&Writer<'_>, &str) -> Result<String>,
) -> Result<Reply> {
    let lines: Vec<String> = change(common, env, Access::Write, |writer| {
        names.iter().map(|name| change_one(writer, name)).collect()
    })?;
    Ok(Reply::stored(lines.concat()))
}

/// Says that a catalog was made, since a mistyped name makes one too.
pub(super) fn tell_of_new(catalog: &Catalog, env: &mut Env<'_>) {
    if catalog.is_new() {
        env.tell(&format!("a new catalog was made: {}", catalog.path().display()));
    }
}
