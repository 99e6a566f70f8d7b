//! Empty files to fill in, and what their columns mean.

use itertools::Itertools as _;

use super::export::{CsvFile, job_file, measured_files, part_file};
use super::form::{Field, Form, column_name};
use super::holds::{Forms, Holds};
use super::part_form;
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
    Ok(match Holds::asked(kinds, kind)? {
        Holds::Parts(Some(kind)) => help(&part_form::form(kind)),
        Holds::Parts(None) => Vec::new(),
        Holds::Jobs => help(&forms.job),
        Holds::Pieces => help(&forms.piece),
        Holds::Readings => help(&forms.reading),
        Holds::Instruments => help(&forms.instrument),
    })
}

/// A key, the endings behind it, and its meaning.
pub type ColumnHelp = (&'static str, String, &'static str);

fn help<W: Copy + PartialEq>(form: &Form<W>) -> Vec<ColumnHelp> {
    let endings = |field: &Field<W>| {
        let of_field = form.columns().filter(|(other, _)| other.key == field.key);
        let endings = of_field.map(|(_, aspect)| column_name("", aspect));
        endings.filter(|ending| !ending.is_empty()).join(" ")
    };
    form.fields.iter().map(|field| (field.key, endings(field), field.about)).collect()
}
