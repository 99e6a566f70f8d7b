//! Empty files to fill in, and what their columns mean.

use super::export::{CsvFile, job_file, measured_files, part_file};
use super::form::ColumnHelp;
use super::holds::{Forms, Holds};
use crate::error::Result;
use crate::model::kinds::Kinds;
use crate::model::length::Unit;
use crate::model::pieces::Measurements;

/// A file for each kind and for each other thing that a file may hold, with the header row only: a template that is
/// imported by mistake stores nothing.
pub fn templates(kinds: Kinds) -> Vec<CsvFile> {
    let parts = kinds.iter().map(|kind| part_file(kind, std::iter::empty(), Unit::In));
    let jobs = std::iter::once(job_file(kinds, &[], Unit::In));
    let measured = measured_files(&[], &Measurements::default(), Unit::In);
    parts.chain(jobs).chain(measured.into_iter().map(|(_, file)| file)).collect()
}

/// Every key of a kind (by its name or plural) or of another thing such as `jobs`, with the endings
/// that make further columns of it, and what it means.
///
/// # Errors
///
/// An input error that names the nearest kind where there is none of this name.
pub fn column_help(kinds: Kinds, kind: &str) -> Result<Vec<ColumnHelp>> {
    let forms = Forms::new(kinds);
    let holds = Holds::asked(kinds, kind)?;
    let at = if let Holds::Parts(Some(kind)) = holds { forms.of_kind(kind) } else { Some(0) };
    let of = forms.of(holds);
    Ok(at.and_then(|at| of.get(at)).map(|form| form.help()).unwrap_or_default())
}
