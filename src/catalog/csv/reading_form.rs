//! The columns of a set of readings: read from a row, and written again.

use jiff::civil::Date;

use super::cells::{Change, Row, amount};
use super::form::{Aspect, Field, Form, Shape};
use super::values::{read_values, show_values};
use crate::error::{Error, Result};
use crate::model::kinds::{DimSpec, Quantity};
use crate::model::length::{Length, Unit};
use crate::model::part::{Entry, check_value};
use crate::model::pieces::{Condition, ReadingSet};
use crate::model::sides::{Side, Sides, less_bar};

/// What a field of a set of readings is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Of {
    Part,
    Label,
    Condition,
    Dimension,
    Value,
    Bar,
    Instrument,
    By,
    Date,
    Struck,
}

/// The form of a set of readings.
pub(super) fn form() -> Form<Of> {
    let plain = |key, what, about| Field { key, what, shape: Shape::Plain, about };
    // A value without a tolerance: what it is worth follows from the instrument and the scatter.
    let edge = |key, what, about| Field { key, what, shape: Shape::Edge, about };
    Form {
        fields: vec![
            plain("part", Of::Part, "the part number"),
            plain("piece", Of::Label, "the piece's label"),
            plain(
                "condition",
                Of::Condition,
                "new, used or machined: of a piece that is not there yet, which it makes",
            ),
            plain("dimension", Of::Dimension, "the dimension's key, such as `thickness`"),
            edge("value", Of::Value, "one reading, or several such as `2.394 2.396 2.395 in`"),
            edge("bar", Of::Bar, "thickness of the bar or hub that it was taken over: taken off"),
            plain("instrument", Of::Instrument, "the instrument's name"),
            plain("by", Of::By, "who measured"),
            plain("date", Of::Date, "the day, such as 2026-03-31"),
            plain("struck", Of::Struck, "why the readings count no more; blank: they count"),
        ],
    }
}

/// What a row says of the piece's condition.
pub(super) fn condition(form: &Form<Of>, row: &mut Row<'_>) -> Option<Condition> {
    let index = form.fields.iter().position(|field| field.what == Of::Condition)?;
    match row.change(index, Aspect::Value, |item, _| super::piece_form::condition(item.text)) {
        Change::Set(condition) => condition,
        Change::Keep => None,
    }
}

/// Reads a row of readings of a dimension onto a set that says where they belong. What is unusual
/// but possible is returned, what is wrong is noted in the row.
pub(super) fn read(
    form: &Form<Of>,
    row: &mut Row<'_>,
    spec: &DimSpec,
    set: &mut ReadingSet,
) -> Vec<String> {
    let before = row.wrong_count();
    let mut value_field = 0;
    let (mut bar, mut side) = (None, Side::Unsaid);
    for (index, field) in form.fields.iter().enumerate() {
        match field.what {
            // Which piece and dimension it is was read before.
            Of::Part | Of::Label | Of::Condition | Of::Dimension => {}
            Of::Value => {
                value_field = index;
                let read =
                    row.change(index, Aspect::Value, |item, comma| read_values(spec, item, comma));
                if let Change::Set(values) = read {
                    (set.values, side) = values.unwrap_or((Vec::new(), Side::Unsaid));
                }
            }
            Of::Bar => row.change(index, Aspect::Value, amount).onto(&mut bar),
            Of::Instrument => row
                .change(index, Aspect::Value, |item, _| Ok(item.text.trim().to_string()))
                .onto(&mut set.instrument),
            Of::By => row.text(index, &mut set.by),
            Of::Date => {
                if let Change::Set(date) =
                    row.change(index, Aspect::Value, |item, _| day(item.text))
                {
                    set.date = date.unwrap_or_default();
                }
            }
            Of::Struck => row
                .change(index, Aspect::Value, |item, _| Ok(item.text.trim().to_string()))
                .onto(&mut set.struck),
        }
    }
    if row.wrong_count() > before {
        return Vec::new();
    }
    if set.values.is_empty() {
        let error = Error::input(format!("there is no reading of `{}`", spec.key))
            .hint("write one, or several such as `2.394 2.396 2.395 in`");
        row.wrong("value", error);
    }
    if let Some(bar) = bar {
        if spec.quantity == Quantity::Length {
            let less = |value: &i64| {
                let read = Length::from_nm(*value);
                less_bar(read, side, Length::from_nm(bar), spec.sides).map(Length::nm)
            };
            match set.values.iter().map(less).collect() {
                Ok(values) => {
                    set.values = values;
                    set.bar = (bar > 0).then(|| Length::from_nm(bar));
                }
                Err(error) => row.wrong("bar", error),
            }
        } else {
            row.wrong("bar", Error::input(format!("`{}` is no length", spec.key)));
        }
    }
    let mut warnings = Vec::new();
    for value in &set.values {
        match check_value(spec, Entry::new(*value, None)) {
            Ok(warning) => warnings.extend(warning),
            Err(error) => row.wrong(row.column_of(value_field, "value"), error),
        }
    }
    warnings
}

/// A day of the calendar, written the one way in which days sort.
pub(super) fn day(text: &str) -> Result<String> {
    let text = text.trim();
    match text.parse::<Date>() {
        Ok(date) if date.to_string() == text => Ok(date.to_string()),
        _ => Err(Error::input(format!("`{text}` is no day of the calendar"))
            .hint("write year, month and day, such as 2026-03-31")),
    }
}

/// The cell of a set of readings under one of the form's columns. The piece's condition stands
/// beside them so that the file can be taken into a catalog that has not seen the piece.
pub(super) fn cell(
    set: &ReadingSet,
    (quantity, sides): (Quantity, Option<&Sides>),
    condition: Condition,
    what: Of,
    unit: Unit,
) -> String {
    match what {
        Of::Part => set.part.clone(),
        Of::Label => set.piece.clone(),
        Of::Condition => condition.word().into(),
        Of::Dimension => set.dimension.clone(),
        Of::Value => show_values(quantity, &set.values, set.bar, sides, unit),
        Of::Bar => set.bar.map(|bar| bar.exact(unit)).unwrap_or_default(),
        Of::Instrument => set.instrument.clone().unwrap_or_default(),
        Of::By => set.by.clone(),
        Of::Date => set.date.clone(),
        Of::Struck => set.struck.clone().unwrap_or_default(),
    }
}
