//! The cells of one thing as a page's form shows them, to be changed and sent back as pairs.

use super::column::{Aspect, column_name};
use super::field::Field;
use super::form::RecordForm;
use super::{job_form, part_form};
use crate::model::job::Job;
use crate::model::kinds::{KindSpec, Kinds};
use crate::model::length::Unit;
use crate::model::part::{OWN, Part};

/// One cell.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ShownCell {
    /// The column, as a pair names it.
    pub column: String,
    /// The field's key: the column without what says that it is a tolerance.
    pub key: &'static str,
    /// What the field means.
    pub about: &'static str,
    /// What stands in it; a length exactly and with its unit.
    pub text: String,
    /// Whether it holds a length.
    pub is_length: bool,
    /// Which of the field's values it is.
    pub holds: CellOf,
}

/// Which value of a field a cell holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CellOf {
    /// The value itself.
    Value,
    /// Its tolerance.
    Tolerance,
    /// The bar that it was read over.
    Bar,
}

/// The cells of a job but its name.
pub fn job_cells(kinds: Kinds, job: &Job, unit: Unit) -> Vec<ShownCell> {
    cells(&job_form::form(kinds), job, unit)
}

/// The cells of a part but its number and kind.
pub fn part_cells(part: &Part, unit: Unit) -> Vec<ShownCell> {
    cells(&part_form::form(part.kind), part, unit)
}

/// The cells of a part of a kind of which nothing is known yet.
pub fn blank_cells(kind: &'static KindSpec) -> Vec<ShownCell> {
    let mut cells = part_cells(&Part::new("", kind), Unit::In);
    for cell in &mut cells {
        cell.text.clear();
    }
    cells
}

/// The cells that an edit may change.
fn cells<T>(form: &RecordForm<T>, thing: &T, unit: Unit) -> Vec<ShownCell> {
    let columns = form.columns().filter(|(field, _)| field.set.is_some());
    let cell = |(field, aspect): (&Field<T>, Aspect)| ShownCell {
        column: column_name(field.key, aspect),
        key: field.key,
        about: field.about,
        text: (field.get)(thing, aspect, unit),
        is_length: field.shape.is_length(),
        holds: match aspect {
            Aspect::Value | Aspect::Own => CellOf::Value,
            Aspect::Tol => CellOf::Tolerance,
            Aspect::Bar => CellOf::Bar,
        },
    };
    let mut cells: Vec<ShownCell> = columns.map(cell).collect();
    let own = form.fields.iter().find_map(|field| Some((field, (field.own?)(thing))));
    if let Some((field, own)) = own {
        cells.extend(own.iter().map(|(name, text)| ShownCell {
            column: format!("{OWN}{name}"),
            key: field.key,
            about: field.about,
            text: text.clone(),
            is_length: false,
            holds: CellOf::Value,
        }));
    }
    cells
}
