//! Where the catalog is.

use std::path::PathBuf;

use super::args::Common;
use super::env::Env;
use crate::catalog::{Access, Catalog, Reader};
use crate::error::{Error, Result};
use crate::measure::applied::applied;
use crate::model::library::Library;

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

/// The library that answers are computed with. A piece that any job of the catalog has fitted is
/// on no shelf.
pub(super) fn applied_library(reader: &Reader<'_>) -> Result<Library> {
    let library = reader.load_library()?;
    let jobs = if library.measured.specimens.is_empty() { vec![] } else { reader.load_jobs()? };
    Ok(applied(library, &jobs))
}

/// Opens the catalog.
pub(super) fn open(common: &Common, env: &Env<'_>, access: Access) -> Result<Catalog> {
    Catalog::open(&path(common, env)?, env.kinds, access)
}
