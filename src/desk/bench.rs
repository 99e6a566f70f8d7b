//! One job and the library that its answers are computed with.

use crate::catalog::{Catalog, Reader};
use crate::error::Result;
use crate::measure::applied::applied;
use crate::model::job::Job;
use crate::model::library::Library;
use crate::stack::choice::Setup;

/// The library that answers are computed with. A piece that any job of the catalog has fitted is
/// on no shelf, and what is set aside for one is known.
///
/// # Errors
///
/// A storage error where the file cannot be read.
pub fn applied_library(reader: &Reader<'_>) -> Result<Library> {
    let library = reader.load_library()?;
    let needs_jobs = !library.measured.specimens.is_empty() || reader.has_set_aside()?;
    let jobs = if needs_jobs { reader.load_jobs()? } else { vec![] };
    Ok(applied(library, &jobs))
}

/// The same with every job of the catalog, each read once.
///
/// # Errors
///
/// A storage error where the file cannot be read.
pub fn library_and_jobs(reader: &Reader<'_>) -> Result<(Library, Vec<Job>)> {
    let jobs = reader.load_jobs()?;
    Ok((applied(reader.load_library()?, &jobs), jobs))
}

/// A job with the library that its answers are computed with, from one snapshot of the catalog.
#[derive(Debug)]
pub struct Bench {
    /// The library as it is used.
    pub library: Library,
    /// The job.
    pub job: Job,
}

impl Bench {
    /// The job of this name.
    ///
    /// # Errors
    ///
    /// An input error that names the nearest job where there is none of this name.
    pub fn of(catalog: &Catalog, job: &str) -> Result<Self> {
        catalog.read(|reader| Self::read(reader, job))
    }

    /// The same within a snapshot that is open already.
    ///
    /// # Errors
    ///
    /// As [`Bench::of`].
    pub fn read(reader: &Reader<'_>, job: &str) -> Result<Self> {
        Ok(Self { library: applied_library(reader)?, job: reader.load_job(job)? })
    }

    /// The job with everything that it names looked up.
    ///
    /// # Errors
    ///
    /// Refuses a job that names a part that is not there.
    pub fn setup(&self) -> Result<Setup<'_>> {
        Setup::new(&self.library, &self.job)
    }
}
