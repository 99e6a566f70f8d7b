//! The columns of a part.

use super::asked;
use super::cells::{Cell, OverBar, Row, counted};
use super::column::Aspect;
use super::field::{Content, Field, Member, member};
use super::form::RecordForm;
use super::mark::{Mark, ungrouped};
use crate::catalog::names::check_part_id;
use crate::error::{Error, Result};
use crate::model::faces::Names;
use crate::model::kinds::{KindSpec, folded};
use crate::model::money::Cents;
use crate::model::part::Part;
use crate::model::usual::Meant;

/// The form of a kind.
pub(in crate::catalog) fn form(kind: &'static KindSpec) -> RecordForm<Part> {
    let mut fields = vec![
        Field::name("id", "the shop's own part number", |part: &Part| part.id.clone()),
        Field::fixed("kind", "what kind of part it is", |part: &Part| part.kind.key.into()),
        Field::text("maker", "who makes it", member!(Part, maker)),
        Field::text("description", "what it is", member!(Part, description)),
        price(),
        Field::or(
            "on_hand",
            "how many lie on the shelf; blank is none",
            member!(Part, on_hand),
            Some(0),
            whole,
            |count, _| count.to_string(),
        ),
        Field::optional(
            "least_on_hand",
            "the least number that is to lie on the shelf; `low` lists what is below it",
            member!(Part, least_on_hand),
            |cell, mark| match whole(cell, mark)? {
                0 => Err(Error::input("it is not above zero").hint("leave it blank for none")),
                least => Ok(least),
            },
            |least, _| least.to_string(),
        )
        .seldom(),
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
            Some(false),
            is_retired,
            |retired, _| if retired { "retired" } else { "in use" }.into(),
        ),
        Field::text("notes", "anything else", member!(Part, notes)),
        Field::or(
            "formerly",
            "numbers that it had before, `A|B`; it is found by them",
            member!(Part, formerly),
            Some(Vec::new()),
            |cell, _| former(cell.text),
            |numbers, _| numbers.join("|"),
        )
        .of(Content::Name)
        .seldom(),
    ];
    fields.extend(kind.dims.iter().enumerate().map(|(index, dim)| {
        let get = move |part: &Part| OverBar { entry: part.dims[index], bar: part.bars.get(index) };
        let put = move |part: &mut Part, new: OverBar| {
            part.dims[index] = new.entry;
            part.bars.set(index, new.bar);
        };
        // What a value may be is checked with the whole part.
        Field::entry(dim.key, dim.about, (dim.quantity, dim.sides), get, put, |_| Ok(()))
    }));
    fields.extend(kind.faces.iter().enumerate().map(|(index, face)| {
        let member = Member::new(
            move |part: &Part| part.faces[index].clone(),
            move |part: &mut Part| &mut part.faces[index],
        );
        let about = "names of its pattern, `A|B`; `*` fits all";
        let read = |cell: &Cell<'_>, _: Mark| Ok(Names::parse(cell.text));
        Field::or(face.key, about, member, Some(Names::Unknown), read, |names, _| names.to_string())
            .of(Content::Pattern)
    }));
    fields.extend(kind.facts.iter().enumerate().map(|(index, fact)| {
        let member = Member::new(
            move |part: &Part| part.facts[index].clone(),
            move |part: &mut Part| &mut part.facts[index],
        );
        let read = |cell: &Cell<'_>, _: Mark| Ok(cell.text.trim().to_ascii_lowercase());
        Field::optional(fact.key, fact.about, member, read, |word, _| word)
    }));
    fields.push(Field::own(
        "own_NAME",
        "a column of the shop's own, such as own_shelf: kept, and never computed with",
        |part: &Part| &part.own,
        |part: &mut Part| &mut part.own,
    ));
    RecordForm { fields }
}

/// What one costs, in the currency of the row's catalog.
fn price() -> Field<Part> {
    let shown = |part: &Part| part.price.as_ref().map(ToString::to_string).unwrap_or_default();
    Field {
        set: Some(Box::new(|part, row, at| {
            let currency = row.currency;
            row.change(at, Aspect::Value, |cell, mark| {
                Cents::parse_in(&ungrouped(cell.text, mark)?, currency)
            })
            .onto(&mut part.price);
        })),
        ..Field::fixed("price", "what one costs, such as 129.50", shown)
    }
}

/// What a row of a part is read by.
#[derive(Debug, Clone, Copy)]
pub(super) struct PartRules<'a> {
    /// The part as the catalog holds it.
    pub(super) old: Option<&'a Part>,
    /// The catalog's currency.
    pub(super) currency: &'a str,
    /// What is meant though it is unusual.
    pub(super) meant: &'a Meant,
}

/// Reads a row onto a part, and checks the part as a whole. Returns warnings about values that are
/// unusual; what is wrong is noted in the row.
pub(super) fn read<'a>(
    form: &RecordForm<Part>,
    row: &mut Row<'a>,
    part: &mut Part,
    rules: PartRules<'a>,
) -> Vec<String> {
    row.currency = rules.currency;
    form.read(row, part);
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

/// Part numbers with `|` between them.
fn former(text: &str) -> Result<Vec<String>> {
    let mut numbers: Vec<String> = text.split('|').map(|id| id.trim().to_string()).collect();
    numbers.retain(|id| !id.is_empty());
    numbers.iter().try_for_each(|id| check_part_id(id))?;
    numbers.sort_unstable();
    numbers.dedup();
    Ok(numbers)
}

fn whole(cell: &Cell<'_>, mark: Mark) -> Result<u32> {
    let text = cell.text.trim();
    counted(text, mark)?.parse().map_err(|_| {
        Error::input(format!("`{text}` is no whole number")).hint("write a count such as 0 or 12")
    })
}

fn is_retired(cell: &Cell<'_>, _: Mark) -> Result<bool> {
    match folded(cell.text).as_str() {
        "in_use" => Ok(false),
        "retired" => Ok(true),
        _ => Err(Error::input(format!("`{}` is no status", cell.text.trim()))
            .hint("write `in use` or `retired`")),
    }
}
