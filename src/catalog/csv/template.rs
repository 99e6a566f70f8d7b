//! Empty files to fill in, and what their columns mean.

use super::export::{CsvFile, job_file, part_file};
use super::form::Form;
use super::sheet::Holds;
use super::{job_form, part_form};
use crate::error::Result;
use crate::model::kinds::Kinds;
use crate::model::length::Unit;

/// A file for each kind and one for the jobs, with the header row only: a template that is
/// imported by mistake stores nothing.
pub fn templates(kinds: Kinds) -> Vec<CsvFile> {
    let parts = kinds.iter().map(|kind| part_file(kind, std::iter::empty(), Unit::In));
    parts.chain(std::iter::once(job_file(kinds, &[], Unit::In))).collect()
}

/// Every key of a kind (by its name or plural) or of `jobs`, with what it means.
///
/// # Errors
///
/// An input error that names the nearest kind where there is none of this name.
pub fn column_help(kinds: Kinds, kind: &str) -> Result<Vec<(&'static str, &'static str)>> {
    Ok(match Holds::asked(kinds, kind)? {
        Holds::Parts(Some(kind)) => help(&part_form::form(kind)),
        Holds::Parts(None) => Vec::new(),
        Holds::Jobs => help(&job_form::form(kinds)),
    })
}

fn help<W>(form: &Form<W>) -> Vec<(&'static str, &'static str)> {
    form.fields.iter().map(|field| (field.key, field.about)).collect()
}
