//! The columns of a part: read from a row, and written again.

use super::asked;
use super::cells::{Change, Row, pointed};
use super::form::{Aspect, Field, Form, Shape, folded};
use crate::catalog::writer::check_id;
use crate::error::{Error, Result};
use crate::model::bars::as_read;
use crate::model::faces::Names;
use crate::model::kinds::{KindSpec, Quantity};
use crate::model::length::Unit;
use crate::model::money::Cents;
use crate::model::part::{Part, show_value};
use crate::model::usual::Meant;

/// What a field of a part is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Of {
    Id,
    Kind,
    Maker,
    Description,
    Price,
    OnHand,
    LeadDays,
    Status,
    Notes,
    /// The dimension of this index.
    Dim(usize),
    /// The face of this index.
    Face(usize),
    /// The fact of this index.
    Fact(usize),
}

const COMMON: &[(&str, Of, &str)] = &[
    ("id", Of::Id, "the shop's own part number"),
    ("kind", Of::Kind, "what kind of part it is"),
    ("maker", Of::Maker, "who makes it"),
    ("description", Of::Description, "what it is"),
    ("price", Of::Price, "what one costs, such as 129.50"),
    ("on_hand", Of::OnHand, "how many lie on the shelf; blank is none"),
    ("lead_days", Of::LeadDays, "how many days one takes to come"),
    ("status", Of::Status, "`in use` or `retired`; blank is in use"),
    ("notes", Of::Notes, "anything else"),
];

/// The form of a kind.
pub(super) fn form(kind: &'static KindSpec) -> Form<Of> {
    let plain = |key, what, about| Field { key, what, shape: Shape::Plain, about };
    let common = COMMON.iter().map(|(key, what, about)| plain(*key, *what, *about));
    let dims = kind.dims.iter().enumerate().map(|(index, dim)| {
        let shape = match dim.quantity {
            Quantity::Length => Shape::length(dim.sides),
            Quantity::Ratio | Quantity::Count | Quantity::Torque => Shape::Number,
        };
        Field { key: dim.key, what: Of::Dim(index), shape, about: dim.about }
    });
    let faces = kind.faces.iter().enumerate().map(|(index, face)| {
        plain(face.key, Of::Face(index), "names of its pattern, `A|B`; `*` fits all")
    });
    let words = kind
        .facts
        .iter()
        .enumerate()
        .map(|(index, fact)| plain(fact.key, Of::Fact(index), fact.about));
    Form { fields: common.chain(dims).chain(faces).chain(words).collect() }
}

/// What a row of a part is read by.
#[derive(Debug, Clone, Copy)]
pub(super) struct Rules<'a> {
    /// The part as the catalog holds it.
    pub(super) old: Option<&'a Part>,
    /// The catalog's currency.
    pub(super) currency: &'a str,
    /// What is meant though it is unusual.
    pub(super) meant: &'a Meant,
}

/// Reads a row onto a part: columns that are not there leave it as it is. Returns warnings about
/// values that are unusual; what is wrong is noted in the row.
pub(super) fn read(
    form: &Form<Of>,
    row: &mut Row<'_>,
    part: &mut Part,
    rules: Rules<'_>,
) -> Vec<String> {
    for (index, field) in form.fields.iter().enumerate() {
        match field.what {
            // Who the part is was read before, to find out which form is its own.
            Of::Id | Of::Kind => {}
            Of::Maker => row.text(index, &mut part.maker),
            Of::Description => row.text(index, &mut part.description),
            Of::Notes => row.text(index, &mut part.notes),
            Of::Price => row
                .change(index, Aspect::Value, |item, comma| {
                    Cents::parse_in(&pointed(item.text, comma)?, rules.currency)
                })
                .onto(&mut part.price),
            Of::OnHand => {
                let change = row.change(index, Aspect::Value, |item, _| whole(item.text));
                if let Change::Set(count) = change {
                    part.on_hand = count.unwrap_or(0);
                }
            }
            Of::LeadDays => row
                .change(index, Aspect::Value, |item, _| whole(item.text))
                .onto(&mut part.lead_days),
            Of::Status => {
                if let Change::Set(retired) =
                    row.change(index, Aspect::Value, |item, _| status(item.text))
                {
                    part.retired = retired.unwrap_or(false);
                }
            }
            Of::Dim(dim) => {
                let quantity = part.kind.dims[dim].quantity;
                let old = (part.dims[dim], part.bars.get(dim));
                let (new, bar) = row.entry((index, field.key, field.shape), quantity, old);
                part.dims[dim] = new;
                part.bars.set(dim, bar);
            }
            Of::Face(face) => {
                if let Change::Set(names) =
                    row.change(index, Aspect::Value, |item, _| Ok(Names::parse(item.text)))
                {
                    part.faces[face] = names.unwrap_or_default();
                }
            }
            Of::Fact(fact) => row
                .change(index, Aspect::Value, |item, _| Ok(item.text.trim().to_ascii_lowercase()))
                .onto(&mut part.facts[fact]),
        }
    }
    match part.validate() {
        Ok(warnings) => {
            asked::of_part(row, part, rules.old, rules.meant);
            warnings
        }
        Err(errors) => {
            for (key, error) in errors {
                let index = form.fields.iter().position(|field| field.key == key);
                let column = index.map_or(key.into(), |index| row.column_of(index, key));
                row.wrong(column, error);
            }
            Vec::new()
        }
    }
}

/// The name of a part or of a piece in a cell.
pub(super) fn id(text: &str) -> Result<&str> {
    let id = text.trim();
    check_id(id)?;
    Ok(id)
}

fn whole(text: &str) -> Result<u32> {
    let text = text.trim();
    text.parse().map_err(|_| {
        Error::input(format!("`{text}` is no whole number")).hint("write a count such as 0 or 12")
    })
}

fn status(text: &str) -> Result<bool> {
    match folded(text).as_str() {
        "in_use" => Ok(false),
        "retired" => Ok(true),
        _ => Err(Error::input(format!("`{}` is no status", text.trim()))
            .hint("write `in use` or `retired`")),
    }
}

/// The cell of a part under one of the form's columns, lengths exactly and with their unit.
pub(super) fn cell(part: &Part, what: Of, aspect: Aspect, unit: Unit) -> String {
    match what {
        Of::Id => part.id.clone(),
        Of::Kind => part.kind.key.into(),
        Of::Maker => part.maker.clone(),
        Of::Description => part.description.clone(),
        Of::Price => part.price.map(|price| price.to_string()).unwrap_or_default(),
        Of::OnHand => part.on_hand.to_string(),
        Of::LeadDays => part.lead_days.map(|days| days.to_string()).unwrap_or_default(),
        Of::Status => if part.retired { "retired" } else { "in use" }.into(),
        Of::Notes => part.notes.clone(),
        Of::Dim(dim) => {
            let Some(entry) = part.dims[dim] else { return String::new() };
            let (spec, bar) = (&part.kind.dims[dim], part.bars.get(dim));
            let shown = |value| show_value(spec.quantity, value, unit);
            match aspect {
                Aspect::Value if spec.quantity == Quantity::Length => {
                    as_read(entry.as_length(), bar, spec.sides, unit)
                }
                Aspect::Value => shown(entry.value),
                Aspect::Tol => entry.tol.map(shown).unwrap_or_default(),
                Aspect::Bar => bar.map(|bar| bar.exact(unit)).unwrap_or_default(),
            }
        }
        Of::Face(face) => part.faces[face].to_string(),
        Of::Fact(fact) => part.facts[fact].clone().unwrap_or_default(),
    }
}
