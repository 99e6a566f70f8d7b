//! Lists of parts.

use std::collections::BTreeSet;

use serde::Serialize;

use crate::model::figure::Figure;
use crate::model::house::House;
use crate::model::kinds::Kinds;
use crate::model::length::Unit;
use crate::model::part::{OWN, OwnColumns, Part};
use crate::model::words::count;
use crate::report::View;
use crate::report::columns::{self, Column};
use crate::report::json::{self, Amount, Ordered};
use crate::report::page::Page;

/// Parts that were sought.
#[derive(Debug)]
pub struct PartList<'a> {
    /// The table of kinds.
    pub kinds: Kinds,
    /// The house numbers.
    pub house: &'a House,
    /// The parts, in their order.
    pub parts: &'a [&'a Part],
    /// The numbers that are shown of each.
    pub figures: &'a [Figure],
    /// The columns of the shop's own that are shown of each, by their names.
    pub own: &'a [String],
    /// How many retired ones were left out.
    pub retired_hidden: usize,
}

/// As a table.
pub fn table(list: &PartList<'_>, view: View) -> String {
    let mut page = Page::new(view.width);
    if list.parts.is_empty() {
        page.line("No part is listed.");
    } else {
        columns::table(&mut page, &shown(list, view.unit), list.parts);
        page.gap();
        page.line(format!("{}.", count(list.parts.len() as u128, "part")));
    }
    if list.retired_hidden > 0 {
        let number = count(list.retired_hidden as u128, "retired part");
        page.line(format!("{number} not shown: `bellstack part list --retired`."));
    }
    page.finish()
}

/// The columns of the table: what a part is, and the numbers that are asked for in the place of what
/// is told of every part where none is.
fn shown<'c>(list: &'c PartList<'_>, unit: Unit) -> Vec<Column<'c, &'c Part>> {
    let mut columns = vec![
        Column::of("kind", |part: &&Part| part.kind.key.into()),
        Column::of("id", |part: &&Part| part.id.clone()),
    ];
    let description = Column::of("description", |part: &&Part| part.description.clone());
    let unknown = |text: String| if text.is_empty() { "unknown".into() } else { text };
    let price = Column::number(format!("price\n{}", list.house.currency), move |part: &&Part| {
        unknown(Figure::Price.shown(part, None, unit))
    });
    let on_hand = Column::number("on\nhand", |part: &&Part| part.on_hand.to_string());
    if list.figures.is_empty() {
        let maker = Column::of("maker", |part: &&Part| part.maker.clone());
        let lacks = Column::of("lacks", |part: &&Part| part.missing().join(", "));
        columns.extend([maker, description, price, on_hand]);
        columns.extend(list.own.iter().map(|name| own(name, name.replace('_', "\n"))));
        columns.push(lacks);
        return columns;
    }
    columns.push(description);
    for figure in list.figures.iter().copied().filter(|figure| is_own(*figure)) {
        let head = figure.key().replace('_', "\n");
        let head = if figure.is_length() { format!("{head}\n{}", unit.name()) } else { head };
        let sides = list.kinds.sides(figure.key());
        columns.push(Column::number(head, move |part: &&Part| match figure {
            Figure::Dim(key, _) if part.kind.dim_index(key).is_none() => "-".into(),
            _ => unknown(figure.shown(part, sides, unit)),
        }));
    }
    columns.extend([price, on_hand]);
    columns.extend(list.own.iter().map(|name| own(name, name.replace('_', "\n"))));
    columns
}

/// A column of the shop's own.
fn own(name: &str, head: String) -> Column<'_, &Part> {
    Column::of(head, move |part: &&Part| part.own.get(name).cloned().unwrap_or_default())
}

/// Whether a number has no column in every list already.
fn is_own(figure: Figure) -> bool {
    !matches!(figure, Figure::Price | Figure::OnHand)
}

/// As CSV; lengths exactly and with their unit, what is unknown is blank.
pub fn csv(list: &PartList<'_>, view: View) -> String {
    let mut columns = vec![
        Column::of("id", |part: &&Part| part.id.clone()),
        Column::of("kind", |part: &&Part| part.kind.key.into()),
        Column::of("maker", |part: &&Part| part.maker.clone()),
        Column::of("description", |part: &&Part| part.description.clone()),
        Column::of("price", |part: &&Part| Figure::Price.shown(part, None, view.unit)),
        Column::of("on_hand", |part: &&Part| part.on_hand.to_string()),
        Column::of("lead_days", |part: &&Part| Figure::LeadDays.shown(part, None, view.unit)),
        Column::of("status", |part: &&Part| status(part).into()),
        Column::of("notes", |part: &&Part| part.notes.clone()),
    ];
    for figure in list.figures.iter().copied() {
        if let Figure::Dim(key, quantity) = figure {
            columns.push(Column::of(key, move |part: &&Part| {
                let value = figure.of(part);
                let shown = |value| crate::model::part::show_value(quantity, value, view.unit);
                value.map(shown).unwrap_or_default()
            }));
        }
    }
    let names: BTreeSet<&str> =
        list.parts.iter().flat_map(|part| part.own.keys()).map(String::as_str).collect();
    columns.extend(names.into_iter().map(|name| own(name, format!("{OWN}{name}"))));
    columns::csv(&columns, list.parts)
}

fn status(part: &Part) -> &'static str {
    if part.retired { "retired" } else { "in use" }
}

/// As one JSON object, with everything that is known of each part.
pub fn json(list: &PartList<'_>) -> String {
    #[derive(Serialize)]
    struct PartsListed<'a> {
        currency: &'a str,
        retired_hidden: usize,
        parts: Vec<PartRow<'a>>,
    }
    json::object(PartsListed {
        currency: &list.house.currency,
        retired_hidden: list.retired_hidden,
        parts: list.parts.iter().map(|part| PartRow::of(part)).collect(),
    })
}

#[derive(Serialize)]
pub(super) struct PartRow<'a> {
    id: &'a str,
    kind: &'a str,
    maker: &'a str,
    description: &'a str,
    price: Option<String>,
    on_hand: u32,
    least_on_hand: Option<u32>,
    lead_days: Option<u32>,
    status: &'a str,
    notes: &'a str,
    formerly: &'a [String],
    own: &'a OwnColumns,
    dimensions: Ordered<EntryRow>,
    faces: Ordered<String>,
    facts: Ordered<&'a str>,
    lacks: Vec<&'static str>,
}

/// A dimension: what it is, its tolerance, and the bar that it was read over and that was taken off.
#[derive(Serialize)]
struct EntryRow {
    value: Amount,
    tol: Option<Amount>,
    bar: Option<Amount>,
}

impl<'a> PartRow<'a> {
    pub(super) fn of(part: &'a Part) -> Self {
        let dims = part.kind.dims.iter().zip(&part.dims).enumerate();
        let dims = dims.filter_map(|(index, (spec, entry))| {
            let entry = (*entry)?;
            let amount = |value| Amount::of(spec.quantity, value);
            let bar = part.bars.get(index).map(|bar| Amount::Length(bar.into()));
            let (value, tol) = (amount(entry.value), entry.tol.map(amount));
            Some((spec.key, EntryRow { value, tol, bar }))
        });
        let faces = part.kind.faces.iter().zip(&part.faces);
        let faces = faces.filter(|(_, names)| !names.is_unknown());
        let facts = part.kind.facts.iter().zip(&part.facts);
        Self {
            id: &part.id,
            kind: part.kind.key,
            maker: &part.maker,
            description: &part.description,
            price: part.price.map(|price| price.to_string()),
            on_hand: part.on_hand,
            least_on_hand: part.least_on_hand,
            lead_days: part.lead_days,
            status: status(part),
            notes: &part.notes,
            formerly: &part.formerly,
            own: &part.own,
            dimensions: Ordered(dims.collect()),
            faces: Ordered(faces.map(|(spec, names)| (spec.key, names.to_string())).collect()),
            facts: Ordered(
                facts.filter_map(|(spec, word)| Some((spec.key, word.as_deref()?))).collect(),
            ),
            lacks: part.missing(),
        }
    }
}
