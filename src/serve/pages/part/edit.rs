//! Everything about a part in one form.

use maud::{Markup, html};

use crate::catalog::Writer;
use crate::catalog::csv::{Pairs, ShownCell, add_part, blank_cells, edit_part, part_cells};
use crate::desk::{Thing, Version};
use crate::error::{Error, Result};
use crate::model::kinds::KindSpec;
use crate::serve::cells::{changed, fields, pairs, typed};
use crate::serve::form::asked;
use crate::serve::pages::whole::Whole;
use crate::serve::question;
use crate::serve::shell::{keep_box, signed, wrong};
use crate::serve::visit::{Reply, Visit};

pub(in crate::serve::pages) fn page(visit: &Visit) -> Result<Reply> {
    Reply::page(format!("Edit {}", visit.needed("id")?), form(visit, None)?)
}

fn whole(id: &str) -> Whole<'_> {
    Whole {
        thing: Thing::Part(id),
        named: ("id", id),
        page: ("/part", "The part"),
        command: "part edit",
    }
}

fn form(visit: &Visit, error: Option<&Error>) -> Result<Markup> {
    let id = visit.needed("id")?;
    let (part, seen) = visit
        .catalog()?
        .read(|reader| Ok((reader.load_part(id)?, Version::of(reader, Thing::Part(id))?)))?;
    let cells = part_cells(&part, visit.unit());
    Ok(whole(id).form(visit, (&cells, &choices(part.kind)), seen, error))
}

/// The words that a column of a kind may hold.
fn choices(kind: &'static KindSpec) -> impl Fn(&str) -> Option<Vec<String>> {
    move |column| {
        if column == "status" {
            return Some(vec!["in use".into(), "retired".into()]);
        }
        let fact = kind.facts.iter().find(|fact| fact.key == column)?;
        let blank = std::iter::once(String::new());
        Some(blank.chain(fact.accepted.iter().map(|word| (*word).to_string())).collect())
    }
}

pub(in crate::serve::pages) fn store(visit: &Visit) -> Result<Reply> {
    let id = visit.needed("id")?;
    let cells = part_cells(&visit.catalog()?.load_part(id)?, visit.unit());
    let edit = |writer: &Writer<'_>, pairs: Pairs<'_>| edit_part(writer, id, pairs);
    whole(id).store(visit, &cells, edit, |error| form(visit, Some(error)))
}

/// A part that is not there yet.
pub(in crate::serve::pages) fn new(visit: &Visit) -> Result<Reply> {
    Reply::page("New part", blank(visit, None)?)
}

fn kind(visit: &Visit) -> Result<&'static KindSpec> {
    let name = visit.needed("kind")?;
    let found = visit.shop.kinds.find(name);
    found.ok_or_else(|| Error::input(format!("`{name}` is no kind of part")))
}

fn cells_of(kind: &'static KindSpec) -> Vec<ShownCell> {
    blank_cells(kind)
}

fn blank(visit: &Visit, error: Option<&Error>) -> Result<Markup> {
    let kind = kind(visit)?;
    Ok(html! {
        h1 { "New " (kind.name) }
        @if let Some(error) = error { (wrong(error)) }
        form.whole method="post" action="/part/new" id="whole" data-keep {
            (signed(visit))
            input type="hidden" name="kind" value=(kind.key);
            label.field {
                span { "Part number" }
                input type="text" name="id" required autocomplete="off" value=(visit.form.text("id"));
                small { "the shop's own; leave blank below what is not known" }
            }
            (question::units(visit))
            (fields(visit, &cells_of(kind), &choices(kind)))
            (keep_box(error))
            button.main { "Store" }
        }
    })
}

pub(in crate::serve::pages) fn add(visit: &Visit) -> Result<Reply> {
    let kind = kind(visit)?;
    let id = visit.form.text("id");
    let changed = changed(&visit.form, &cells_of(kind), question::unit(visit));
    let (pairs, meant) = (pairs(&changed), visit.meant());
    let command = format!("part add {} {id} {}", kind.key, typed(&changed));
    match visit.write(command, |writer| add_part(writer, kind.key, id, (&pairs, &meant))) {
        Ok(_) => Ok(Reply::Go(asked("/part", [("id", id)]))),
        Err(error) => Ok(Reply::Again("New part".into(), blank(visit, Some(&error))?)),
    }
}
