//! What differs between two states of a thing, column by column, as history writes it down.

use super::form::{Aspect, Form, column_name};
use super::{instrument_form, job_form, part_form, piece_form};
use crate::model::history::{Change, Held};
use crate::model::house::House;
use crate::model::job::Job;
use crate::model::kinds::Kinds;
use crate::model::length::Unit;
use crate::model::part::Part;
use crate::model::pieces::{Instrument, Specimen};

/// What differs between two states of a part; without a `to` all that it held.
pub(in crate::catalog) fn of_part(from: &Part, to: Option<&Part>) -> Vec<Change> {
    let form = part_form::form(from.kind);
    let named = |what| what == part_form::Of::Id;
    changes(&form, named, from, to, |part, what, aspect| {
        part_form::cell(part, what, aspect, Unit::In)
    })
}

/// The same of a job.
pub(in crate::catalog) fn of_job(kinds: Kinds, from: &Job, to: Option<&Job>) -> Vec<Change> {
    let form = job_form::form(kinds);
    let named = |what| what == job_form::Of::Id;
    changes(&form, named, from, to, |job, what, aspect| job_form::cell(job, what, aspect, Unit::In))
}

/// The same of a piece.
pub(in crate::catalog) fn of_piece(from: &Specimen, to: Option<&Specimen>) -> Vec<Change> {
    let named = |what| matches!(what, piece_form::Of::Part | piece_form::Of::Label);
    changes(&piece_form::form(), named, from, to, |piece, what, _| piece_form::cell(piece, what))
}

/// The same of an instrument.
pub(in crate::catalog) fn of_instrument(from: &Instrument, to: Option<&Instrument>) -> Vec<Change> {
    let named = |what| what == instrument_form::Of::Name;
    changes(&instrument_form::form(), named, from, to, |instrument, what, _| {
        instrument_form::cell(instrument, what, Unit::In)
    })
}

/// The house numbers that are others than before.
pub(in crate::catalog) fn of_house(kinds: Kinds, from: &House, to: &House) -> Vec<Change> {
    let (from, to) = (from.settings(kinds, Unit::In), to.settings(kinds, Unit::In));
    let pairs = from.into_iter().zip(to).filter(|(from, to)| from.value != to.value);
    let held = |text| Held::of(text, true);
    pairs
        .map(|(from, to)| Change { field: to.key, from: held(from.value), to: held(to.value) })
        .collect()
}

/// The columns of a job that are filled, but its name.
pub(in crate::catalog) fn filled(kinds: Kinds, job: &Job) -> Vec<(String, String)> {
    let form = job_form::form(kinds);
    let columns = form.columns().filter(|(field, _)| field.what != job_form::Of::Id);
    let cells = columns.map(|(field, aspect)| {
        let cell = job_form::cell(job, field.what, aspect, Unit::In);
        (column_name(field.key, aspect), cell)
    });
    cells.filter(|(_, cell)| !cell.is_empty()).collect()
}

fn changes<T, W: Copy + PartialEq>(
    form: &Form<W>,
    named: impl Fn(W) -> bool,
    from: &T,
    to: Option<&T>,
    cell: impl Fn(&T, W, Aspect) -> String,
) -> Vec<Change> {
    let mut changes = Vec::new();
    for (field, aspect) in form.columns().filter(|(field, _)| !named(field.what)) {
        let from = cell(from, field.what, aspect);
        let to = to.map(|to| cell(to, field.what, aspect)).unwrap_or_default();
        if from != to {
            let is_length = field.shape.is_length();
            let (from, to) = (Held::of(from, is_length), Held::of(to, is_length));
            changes.push(Change { field: column_name(field.key, aspect), from, to });
        }
    }
    changes
}
