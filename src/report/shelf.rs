//! What is set aside for jobs, what is running out, and whether a plan still holds.

use serde::Serialize as Derive;

use super::columns::{self, Column};
use super::json;
use super::page::Page;
use super::units::Units;
use super::{View, sentences};
use crate::error::Error;
use crate::measure::shelf::{LowPart, SetAside};
use crate::model::job::Word as _;
use crate::model::kept::KeptAnswer;
use crate::model::library::Library;
use crate::model::part::Part;
use crate::model::words::count;
use crate::stack::fit::Fit;

/// What is set aside, as a table.
pub fn table(rows: &[SetAside<'_>], view: View) -> String {
    let mut page = Page::new(view.width);
    if rows.is_empty() {
        page.line("Nothing is set aside.");
        return page.finish();
    }
    let columns = [
        Column::of("job", |row: &SetAside<'_>| row.job.id.clone()),
        Column::of("state", |row: &SetAside<'_>| row.job.state.word().into()),
        Column::number("pieces", |row: &SetAside<'_>| row.pieces.to_string()),
        Column::of("of", |row: &SetAside<'_>| row.name.into()),
        Column::of("kind", |row: &SetAside<'_>| row.part.kind.key.into()),
        Column::of("description", |row: &SetAside<'_>| row.part.description.clone()),
    ];
    columns::table(&mut page, &columns, rows);
    page.gap();
    let pieces: u128 = rows.iter().map(|row| u128::from(row.pieces)).sum();
    page.line(format!("{} set aside.", count(pieces, "piece")));
    page.finish()
}

/// The same as CSV.
pub fn csv(rows: &[SetAside<'_>]) -> String {
    let columns = [
        Column::of("job", |row: &SetAside<'_>| row.job.id.clone()),
        Column::of("state", |row: &SetAside<'_>| row.job.state.word().into()),
        Column::of("part", |row: &SetAside<'_>| row.part.id.clone()),
        Column::of("piece", |row: &SetAside<'_>| piece(row).unwrap_or_default().into()),
        Column::of("pieces", |row: &SetAside<'_>| row.pieces.to_string()),
        Column::of("kind", |row: &SetAside<'_>| row.part.kind.key.into()),
    ];
    columns::csv(&columns, rows)
}

/// The same as JSON.
pub fn json(rows: &[SetAside<'_>]) -> String {
    json::list("set_aside", rows.iter().map(AsideRow::of))
}

/// What is set aside, for programs.
#[derive(Derive)]
pub(super) struct AsideRow<'a> {
    job: &'a str,
    state: &'static str,
    part: &'a str,
    piece: Option<&'a str>,
    pieces: u32,
    kind: &'static str,
}

impl<'a> AsideRow<'a> {
    pub(super) fn of(row: &SetAside<'a>) -> Self {
        Self {
            job: &row.job.id,
            state: row.job.state.word(),
            part: &row.part.id,
            piece: piece(row),
            pieces: row.pieces,
            kind: row.part.kind.key,
        }
    }
}

/// The name of a piece, where it is one.
fn piece<'a>(row: &SetAside<'a>) -> Option<&'a str> {
    (row.name != row.part.id).then_some(row.name)
}

/// What is running out, as a table.
pub fn low_table(library: &Library, rows: &[LowPart<'_>], view: View) -> String {
    let mut page = Page::new(view.width);
    if rows.is_empty() {
        page.line(
            "Nothing is running out: no part has fewer on the shelf than its `least_on_hand`.",
        );
        return page.finish();
    }
    let currency = &library.house.currency;
    let unknown = |text: Option<String>| text.unwrap_or_else(|| "unknown".into());
    let mut columns = vec![
        Column::of("kind", |row: &LowPart<'_>| row.part.kind.key.into()),
        Column::of("id", |row: &LowPart<'_>| row.part.id.clone()),
        Column::of("description", |row: &LowPart<'_>| row.part.description.clone()),
        Column::number("at\nleast", |row: &LowPart<'_>| row.least.to_string()),
        Column::number("on\nhand", |row: &LowPart<'_>| row.part.on_hand.to_string()),
        Column::number("set\naside", |row: &LowPart<'_>| row.set_aside.to_string()),
        Column::number("lacking", |row: &LowPart<'_>| (row.least - row.free).to_string()),
        Column::number(format!("price\n{currency}"), move |row: &LowPart<'_>| {
            unknown(row.part.price.map(|price| price.to_string()))
        }),
        Column::number("days", move |row: &LowPart<'_>| {
            unknown(row.part.lead_days.map(|days| days.to_string()))
        }),
    ];
    if rows.iter().any(|row| row.part.own.contains_key(SUPPLIER)) {
        columns.push(Column::of("supplier", |row: &LowPart<'_>| supplier(row.part).into()));
    }
    columns::table(&mut page, &columns, rows);
    page.gap();
    page.line(format!(
        "{} of which fewer lie on the shelf for everybody than are to.",
        count(rows.len() as u128, "part")
    ));
    page.finish()
}

/// The same as CSV.
pub fn low_csv(library: &Library, rows: &[LowPart<'_>]) -> String {
    let columns = [
        Column::of("id", |row: &LowPart<'_>| row.part.id.clone()),
        Column::of("kind", |row: &LowPart<'_>| row.part.kind.key.into()),
        Column::of("description", |row: &LowPart<'_>| row.part.description.clone()),
        Column::of("least_on_hand", |row: &LowPart<'_>| row.least.to_string()),
        Column::of("on_hand", |row: &LowPart<'_>| row.part.on_hand.to_string()),
        Column::of("set_aside", |row: &LowPart<'_>| row.set_aside.to_string()),
        Column::of("lacking", |row: &LowPart<'_>| (row.least - row.free).to_string()),
        Column::of("price", |row: &LowPart<'_>| {
            row.part.price.map(|price| price.to_string()).unwrap_or_default()
        }),
        Column::of("currency", |_: &LowPart<'_>| library.house.currency.clone()),
        Column::of("lead_days", |row: &LowPart<'_>| {
            row.part.lead_days.map(|days| days.to_string()).unwrap_or_default()
        }),
        Column::of("supplier", |row: &LowPart<'_>| supplier(row.part).into()),
    ];
    columns::csv(&columns, rows)
}

/// The same as JSON.
pub fn low_json(library: &Library, rows: &[LowPart<'_>]) -> String {
    #[derive(Derive)]
    struct LowRow<'a> {
        id: &'a str,
        kind: &'static str,
        description: &'a str,
        least_on_hand: u32,
        on_hand: u32,
        set_aside: u32,
        lacking: u32,
        price: Option<String>,
        lead_days: Option<u32>,
        supplier: Option<&'a str>,
    }
    #[derive(Derive)]
    struct LowListed<'a> {
        currency: &'a str,
        low: Vec<LowRow<'a>>,
    }
    let rows = rows.iter().map(|row| LowRow {
        id: &row.part.id,
        kind: row.part.kind.key,
        description: &row.part.description,
        least_on_hand: row.least,
        on_hand: row.part.on_hand,
        set_aside: row.set_aside,
        lacking: row.least - row.free,
        price: row.part.price.map(|price| price.to_string()),
        lead_days: row.part.lead_days,
        supplier: row.part.own.get(SUPPLIER).map(String::as_str),
    });
    json::object(LowListed { currency: &library.house.currency, low: rows.collect() })
}

/// The shop's own column in which the supplier of a part is looked for.
pub(super) const SUPPLIER: &str = "supplier";

/// The supplier of a part, blank where none is told.
pub(super) fn supplier(part: &Part) -> &str {
    part.own.get(SUPPLIER).map_or("", String::as_str)
}

/// Whether the best stack of a kept answer still holds, in one sentence.
pub fn plan_today(kept: &KeptAnswer, today: Result<&Fit<'_>, &Error>, view: View) -> String {
    let mut page = Page::new(view.width);
    let (name, job) = (&kept.name, &kept.job);
    let plan = format!("The plan of {job}, its kept answer {name},");
    match today {
        Ok(fit) if fit.holds() => {
            let verdict = sentences::verdict(fit, Units::One(view.unit));
            page.line(format!("{plan} still holds. {verdict}"));
        }
        Ok(fit) => {
            let verdict = sentences::verdict(fit, Units::One(view.unit));
            page.line(format!("{plan} holds no longer. {verdict}"));
            page.line(format!("What has changed since: `bellstack answer compare {name}`."));
        }
        Err(error) => page.line(format!("{plan} cannot be worked out today: {}.", error.message())),
    }
    page.finish()
}
