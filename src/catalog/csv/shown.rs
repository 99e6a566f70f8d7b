//! The cells of one thing as a page's form shows them, to be changed and sent back as pairs.

use super::form::{Aspect, Form, column_name};
use super::{job_form, part_form};
use crate::model::job::Job;
use crate::model::kinds::{KindSpec, Kinds};
use crate::model::length::Unit;
use crate::model::part::Part;

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
    cells(
        &job_form::form(kinds),
        |what| what == job_form::Of::Id,
        |what, aspect| job_form::cell(job, what, aspect, unit),
    )
}

/// The cells of a part but its number and kind.
pub fn part_cells(part: &Part, unit: Unit) -> Vec<ShownCell> {
    let fixed = |what| matches!(what, part_form::Of::Id | part_form::Of::Kind);
    cells(&part_form::form(part.kind), fixed, |what, aspect| {
        part_form::cell(part, what, aspect, unit)
    })
}

/// The cells of a part of a kind of which nothing is known yet.
pub fn blank_cells(kind: &'static KindSpec) -> Vec<ShownCell> {
    let mut cells = part_cells(&Part::new("", kind), Unit::In);
    cells.iter_mut().for_each(|cell| cell.text.clear());
    cells
}

fn cells<W: Copy + PartialEq>(
    form: &Form<W>,
    fixed: impl Fn(W) -> bool,
    text: impl Fn(W, Aspect) -> String,
) -> Vec<ShownCell> {
    let columns = form.columns().filter(|(field, _)| !fixed(field.what));
    let cell = |(field, aspect): (&super::form::Field<W>, Aspect)| ShownCell {
        column: column_name(field.key, aspect),
        key: field.key,
        about: field.about,
        text: text(field.what, aspect),
        is_length: field.shape.is_length(),
        holds: match aspect {
            Aspect::Value => CellOf::Value,
            Aspect::Tol => CellOf::Tolerance,
            Aspect::Bar => CellOf::Bar,
        },
    };
    columns.map(cell).collect()
}
