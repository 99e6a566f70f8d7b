//! The columns of a part.

use super::cells::{Cell, Row, pointed};
use super::field::{Field, Member, member};
use super::form::Form;
use crate::error::{Error, Result};
use crate::model::faces::Names;
use crate::model::kinds::{KindSpec, folded};
use crate::model::money::Cents;
use crate::model::part::Part;

/// The form of a kind.
pub(in crate::catalog) fn form(kind: &'static KindSpec) -> Form<Part> {
    let mut fields = vec![
        Field::name("id", "the shop's own part number", |part: &Part| part.id.clone()),
        Field::fixed("kind", "what kind of part it is", |part: &Part| part.kind.key.into()),
        Field::text("maker", "who makes it", member!(Part, maker)),
        Field::text("description", "what it is", member!(Part, description)),
        Field::optional(
            "price",
            "what one costs, such as 129.50",
            member!(Part, price),
            |cell, comma| Cents::parse(&pointed(cell.text, comma)?),
            |price, _| price.to_string(),
        ),
        Field::or(
            "on_hand",
            "how many lie on the shelf; blank is none",
            member!(Part, on_hand),
            0,
            whole,
            |count, _| count.to_string(),
        ),
        Field::optional(
            "lead_days",
            "how many days one takes to come",
            member!(Part, lead_days),
            whole,
            |days, _| days.to_string(),
        ),
        Field::or(
            "status",
            "`in use` or `retired`; blank is in use",
            member!(Part, retired),
            false,
            is_retired,
            |retired, _| if retired { "retired" } else { "in use" }.into(),
        ),
        Field::text("notes", "anything else", member!(Part, notes)),
    ];
    fields.extend(kind.dims.iter().enumerate().map(|(index, dim)| {
        let member = Member::new(
            move |part: &Part| part.dims[index],
            move |part: &mut Part| &mut part.dims[index],
        );
        // What a value may be is checked with the whole part.
        Field::entry(dim.key, dim.about, dim.quantity, member, |_| Ok(()))
    }));
    fields.extend(kind.faces.iter().enumerate().map(|(index, face)| {
        let member = Member::new(
            move |part: &Part| part.faces[index].clone(),
            move |part: &mut Part| &mut part.faces[index],
        );
        let about = "names of its pattern, `A|B`; `*` fits all";
        let read = |cell: &Cell<'_>, _| Ok(Names::parse(cell.text));
        Field::or(face.key, about, member, Names::Unknown, read, |names, _| names.to_string())
    }));
    fields.extend(kind.facts.iter().enumerate().map(|(index, fact)| {
        let member = Member::new(
            move |part: &Part| part.facts[index].clone(),
            move |part: &mut Part| &mut part.facts[index],
        );
        let read = |cell: &Cell<'_>, _| Ok(cell.text.trim().to_ascii_lowercase());
        Field::optional(fact.key, fact.about, member, read, |word, _| word)
    }));
    Form { fields }
}

/// Reads a row onto a part, and checks the part as a whole. Returns warnings about values that are
/// unusual; what is wrong is noted in the row.
pub(super) fn read(form: &Form<Part>, row: &mut Row<'_>, part: &mut Part) -> Vec<String> {
    form.read(row, part);
    match part.validate() {
        Ok(warnings) => warnings,
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

fn whole(cell: &Cell<'_>, _: bool) -> Result<u32> {
    let text = cell.text.trim();
    text.parse().map_err(|_| {
        Error::input(format!("`{text}` is no whole number")).hint("write a count such as 0 or 12")
    })
}

fn is_retired(cell: &Cell<'_>, _: bool) -> Result<bool> {
    match folded(cell.text).as_str() {
        "in_use" => Ok(false),
        "retired" => Ok(true),
        _ => Err(Error::input(format!("`{}` is no status", cell.text.trim()))
            .hint("write `in use` or `retired`")),
    }
}
