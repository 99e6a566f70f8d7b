//! Where the catalog is.

use std::path::PathBuf;

use super::args::Common;
use super::env::Env;
use crate::catalog::{Access, Catalog};
use crate::error::{Error, Result};
use crate::model::history::Stamp;

/// The catalog's file: as asked, else as the environment says, else in the platform's data
/// directory.
pub(super) fn path(common: &Common, env: &Env<'_>) -> Result<PathBuf> {
    if let Some(path) = &common.catalog {
        return Ok(path.clone());
    }
    if let Some(path) = (env.var)("BELLSTACK_CATALOG").filter(|path| !path.is_empty()) {
        return Ok(path.into());
    }
    let directory = env.data_dir.as_ref().map(|directory| directory.join("catalog.db"));
    directory.ok_or_else(|| {
        Error::storage("this platform has no data directory for the catalog")
            .hint("give a file with --catalog FILE or in BELLSTACK_CATALOG")
    })
}

/// Who changes the catalog, when, and with which command.
pub(super) fn stamp(common: &Common, env: &Env<'_>) -> Stamp {
    let words: Vec<String> = common.words.iter().map(|word| quoted(word)).collect();
    Stamp { at: env.now(), by: env.by(), command: words.join(" ") }
}

/// A word as it can be typed again.
fn quoted(word: &str) -> String {
    let is_plain = |c: char| c.is_alphanumeric() || "-_=./,:#|%+@".contains(c);
    if !word.is_empty() && word.chars().all(is_plain) {
        return word.into();
    }
    if word.contains('\'') { format!("\"{word}\"") } else { format!("'{word}'") }
}

/// Opens the catalog.
pub(super) fn open(common: &Common, env: &Env<'_>, access: Access) -> Result<Catalog> {
    Catalog::open(&path(common, env)?, env.kinds, access)
}
