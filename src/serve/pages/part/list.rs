//! Parts found by what they are.

use maud::{Markup, html};

use crate::desk::{Sought, sought, with_unit};
use crate::error::{Error, Result};
use crate::model::figure::{Figure, FigureRange};
use crate::model::kinds::{DimSpec, KindSpec, Quantity};
use crate::model::length::Length;
use crate::model::library::Library;
use crate::model::part::{Part, read_plain, show_value};
use crate::report::html::text;
use crate::serve::form::asked;
use crate::serve::shell::wrong;
use crate::serve::visit::{Reply, Visit};

/// How many parts one page shows.
const SHOWN: usize = 50;

pub(in crate::serve::pages) fn page(visit: &Visit) -> Result<Reply> {
    let library = visit.catalog()?.load_library()?;
    let query = Query::read(visit, &library);
    let (found, error) = match &query {
        Ok(query) => (sought(&library, &query.sought), None),
        Err(error) => (Vec::new(), Some(error)),
    };
    let from = visit.query.number("from").unwrap_or(0_usize).min(found.len());
    let kind = kind(visit, &library);
    Reply::page(
        "Parts",
        html! {
            div.head {
                h1 { "Parts" }
                @if let Some(kind) = kind { a.button href=(asked("/part/new", [("kind", kind.key)])) { "New " (kind.name) } }
            }
            @if let Some(job) = visit.query.one("job") {
                p.tried { span { "To be tried on " a href=(asked("/car", [("job", job)])) { (text(job)) } } }
            }
            (form(visit, &library, kind))
            @match error {
                Some(error) => { (wrong(error)) }
                None => {
                    p.count role="status" { (found.len()) @if found.len() == 1 { " part." } @else { " parts." } }
                    (table(visit, &library, kind, &found[from..found.len().min(from + SHOWN)]))
                    (more(visit, from, found.len()))
                }
            }
        },
    )
}

/// The kind that is asked for.
fn kind(visit: &Visit, library: &Library) -> Option<&'static KindSpec> {
    visit.query.one("kind").and_then(|name| library.kinds.find(name))
}

struct Query<'a> {
    sought: Sought<'a>,
}

impl<'a> Query<'a> {
    fn read(visit: &'a Visit, library: &'a Library) -> Result<Self> {
        let query = &visit.query;
        let kind = kind(visit, library);
        let dim = match (kind, query.one("dimension")) {
            (Some(kind), Some(key)) => kind.dims.iter().find(|dim| dim.key == key),
            _ => None,
        };
        let end = |name: &str| -> Result<Option<i64>> {
            let Some((typed, dim)) = query.one(name).zip(dim) else { return Ok(None) };
            let value = match dim.quantity {
                Quantity::Length => Length::parse(&with_unit(typed, visit.unit())).map(Length::nm),
                quantity => read_plain(quantity, typed),
            };
            value.map(Some).map_err(|error| error.at(name))
        };
        let mates = match query.one("mates") {
            Some(id) => Some(library.find(id).ok_or_else(|| {
                Error::input(format!("there is no part `{id}` in the catalog"))
                    .hint("write the number of the part with which it is to mate")
            })?),
            None => None,
        };
        let range = |dim: &'static DimSpec| {
            let figure = Figure::Dim(dim.key, dim.quantity);
            Ok::<_, Error>(FigureRange { figure, from: end("least")?, to: end("most")? })
        };
        Ok(Self {
            sought: Sought {
                kind,
                ranges: dim.map(range).transpose()?.into_iter().collect(),
                mates,
                on_hand: query.has("on_hand"),
                retired: query.has("retired"),
                words: query.text("words"),
                ..Sought::default()
            },
        })
    }
}

fn form(visit: &Visit, library: &Library, kind: Option<&'static KindSpec>) -> Markup {
    let query = &visit.query;
    let unit = visit.unit().name();
    html! {
        form.search.parts method="get" action="/parts" role="search" {
            @if let Some(job) = query.one("job") { input type="hidden" name="job" value=(job); }
            label.field {
                span { "Kind" }
                select name="kind" {
                    option value="" { "every kind" }
                    @for one in library.kinds.iter() {
                        option value=(one.key) selected[kind == Some(one)] { (one.name) }
                    }
                }
            }
            label.field { span { "Words" } input type="search" name="words" value=(query.text("words")); }
            @if let Some(kind) = kind {
                label.field {
                    span { "Dimension" }
                    select name="dimension" {
                        option value="" { "any" }
                        @for dim in kind.dims {
                            option value=(dim.key) selected[query.one("dimension") == Some(dim.key)] { (dim.key.replace('_', " ")) }
                        }
                    }
                }
                label.field.short { span { "At least, " (unit) } input type="text" inputmode="decimal" name="least" value=(query.text("least")); }
                label.field.short { span { "At most, " (unit) } input type="text" inputmode="decimal" name="most" value=(query.text("most")); }
            }
            label.field { span { "Mates with" } input type="text" name="mates" placeholder="part number" value=(query.text("mates")); }
            label.choice { input type="checkbox" name="on_hand" value="yes" checked[query.has("on_hand")]; span { "on hand" } }
            label.choice { input type="checkbox" name="retired" value="yes" checked[query.has("retired")]; span { "retired too" } }
            button.main { "Find" }
        }
    }
}

/// The dimensions that a list shows: those that a stack needs, and the one that was asked for.
fn columns(visit: &Visit, kind: Option<&'static KindSpec>) -> Vec<&'static DimSpec> {
    let Some(kind) = kind else { return Vec::new() };
    let asked = visit.query.one("dimension");
    kind.dims.iter().filter(|dim| dim.needed || asked == Some(dim.key)).collect()
}

fn table(
    visit: &Visit,
    library: &Library,
    kind: Option<&'static KindSpec>,
    parts: &[&Part],
) -> Markup {
    let dims = columns(visit, kind);
    let slot = kind.and_then(|kind| kind.slot.as_ref());
    let job = visit.query.one("job").filter(|_| slot.is_some());
    html! {
        @if !parts.is_empty() {
            div.wide role="region" aria-label="Parts" tabindex="0" {
                table {
                    thead { tr {
                        th scope="col" { "part" }
                        @if kind.is_none() { th scope="col" { "kind" } }
                        th scope="col" { "description" }
                        @for dim in &dims { th.number scope="col" { (dim.key.replace('_', " ")) } }
                        th.number scope="col" { "on hand" }
                        th.number scope="col" { "price, " (library.house.currency) }
                        @if job.is_some() { th scope="col" { "what if" } }
                    } }
                    tbody {
                        @for part in parts {
                            tr {
                                td { a.tall href=(asked("/part", [("id", part.id.as_str())])) { (text(&part.id)) } @if part.retired { " (retired)" } }
                                @if kind.is_none() { td { (part.kind.name) } }
                                td { (text(&part.description)) }
                                @for dim in &dims { td.number { (value(visit, part, dim)) } }
                                td.number { (part.on_hand) }
                                td.number { @match part.price { Some(price) => { (price.to_string()) } None => { "unknown" } } }
                                @if let Some((job, slot)) = job.zip(slot) {
                                    td { a.button href=(asked("/car", [("job", job), (slot.key, part.id.as_str())])) { "Try" span.unseen { " " (text(&part.id)) } } }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// A dimension of a part; what nobody knows is shown as such.
fn value(visit: &Visit, part: &Part, dim: &DimSpec) -> String {
    let known = part.entry(dim.key);
    let shown = known.map(|entry| match dim.quantity {
        Quantity::Length => entry.as_length().show(visit.unit()),
        quantity => show_value(quantity, entry.value, visit.unit()),
    });
    shown.unwrap_or_else(|| "unknown".into())
}

fn more(visit: &Visit, from: usize, found: usize) -> Markup {
    let way = |from: usize| {
        let from = from.to_string();
        let kept: Vec<(&str, &str)> =
            visit.query.iter().filter(|(name, _)| *name != "from").collect();
        asked("/parts", kept.into_iter().chain([("from", from.as_str())]))
    };
    html! {
        @if found > SHOWN {
            nav.more aria-label="More parts" {
                @if from > 0 { a.button href=(way(from.saturating_sub(SHOWN))) { "Before" } }
                @if from + SHOWN < found { a.button href=(way(from + SHOWN)) { "Behind" } }
            }
        }
    }
}
