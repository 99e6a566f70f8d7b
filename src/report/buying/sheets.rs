//! The same as sheets: CSV, or a workbook with numbers as numbers.

use rust_xlsxwriter::{Format, Workbook, XlsxError};

use super::{UNNUMBERED, by_supplier, for_jobs, stands};
use crate::error::{Error, Result};
use crate::model::house::House;
use crate::report::View;
use crate::report::columns;
use crate::report::measuring::{accept_cells, accept_words};
use crate::report::shelf::supplier;
use crate::report::units::Units;
use crate::stack::buying::{Buying, ToOrder};

/// A number, or words.
enum Cell {
    Number(f64),
    Words(String),
}

/// One row a part: the heads of the columns, and the cells.
fn rows(buying: &Buying<'_>, house: &House, view: View) -> (Vec<&'static str>, Vec<Vec<Cell>>) {
    let heads = vec![
        "supplier",
        "part",
        "kind",
        "maker",
        "description",
        "pieces",
        "price",
        "amount",
        "currency",
        "lead_days",
        "for",
        "accept",
    ];
    let words = |text: &str| Cell::Words(text.into());
    #[allow(clippy::cast_precision_loss, reason = "money of a shop is far below 2^53 cents")]
    let money = |cents: crate::model::money::Cents| Cell::Number(cents.get() as f64 / 100.0);
    let blank = || Cell::Words(String::new());
    let row = |order: &&ToOrder<'_>| {
        let (part, cost) = (order.part, order.cost());
        let id = part.map_or("", |part| part.id.as_str());
        let limits = buying.plans.iter().filter_map(|plan| {
            let own = plan.accept.iter().flat_map(|measure| &measure.accept);
            let own = own.filter(|row| row.dimension.part.as_deref() == Some(id));
            let own: Vec<String> = own.map(|row| accept_words(row, view.unit)).collect();
            (!own.is_empty()).then(|| format!("{}: {}", plan.job, own.join("; ")))
        });
        vec![
            words(part.map_or("", supplier)),
            words(if part.is_some() { id } else { UNNUMBERED }),
            words(part.map_or("", |part| part.kind.key)),
            words(part.map_or("", |part| part.maker.as_str())),
            words(part.map_or("", |part| part.description.as_str())),
            Cell::Number(order.pieces().into()),
            part.and_then(|part| part.price).map_or_else(blank, money),
            if cost.unpriced == 0 { money(cost.amount) } else { blank() },
            words(&house.currency),
            part.and_then(|part| part.lead_days)
                .map_or_else(blank, |days| Cell::Number(days.into())),
            words(&for_jobs(&order.jobs)),
            words(&limits.collect::<Vec<_>>().join(" | ")),
        ]
    };
    let orders = by_supplier(buying);
    (heads, orders.values().flatten().map(row).collect())
}

/// As CSV, one row a part; an unknown price is blank.
pub fn csv(buying: &Buying<'_>, house: &House, view: View) -> String {
    let (heads, rows) = rows(buying, house, view);
    let money = ["price", "amount"];
    let cell = |(head, cell): (&&str, Cell)| match cell {
        Cell::Number(number) if money.contains(head) => format!("{number:.2}"),
        Cell::Number(number) => number.to_string(),
        Cell::Words(words) => words,
    };
    let mut all = vec![heads.iter().map(ToString::to_string).collect::<Vec<_>>()];
    all.extend(rows.into_iter().map(|row| heads.iter().zip(row).map(cell).collect()));
    columns::write(all)
}

/// As a workbook: what is to be bought, how the plans stand, and the limits on arrival, numbers as
/// numbers.
///
/// # Errors
///
/// A storage error where it cannot be made.
pub fn workbook(buying: &Buying<'_>, house: &House, view: View) -> Result<Vec<u8>> {
    let (heads, bought) = rows(buying, house, view);
    let heads: Vec<String> = heads.into_iter().map(String::from).collect();
    let words = |text: String| Cell::Words(text);
    let plans = buying.plans.iter().map(|plan| {
        let kept = plan.kept.clone().unwrap_or_default();
        vec![words(plan.job.clone()), words(kept), words(stands(plan, Units::One(view.unit)))]
    });
    let unit = view.unit.name();
    let of_limits = ["job", "part", "dimension"].map(String::from).into_iter();
    let numbers =
        ["counted", "read_to", "likely_from", "likely_to", "in_window_from", "in_window_to"];
    let numbers = numbers.map(|head| format!("{head}_{unit}"));
    let limits = buying.plans.iter().flat_map(|plan| {
        let rows = plan.accept.iter().flat_map(|measure| &measure.accept);
        rows.map(|row| {
            let of = &row.dimension;
            let lead = [plan.job.clone(), of.part.clone().unwrap_or_default(), of.key.into()];
            let cells = accept_cells(row, view.unit).into_iter();
            let number = |cell: String| match cell.parse() {
                Ok(number) => Cell::Number(number),
                Err(_) => Cell::Words(cell),
            };
            lead.into_iter().map(words).chain(cells.map(number)).collect()
        })
    });
    let write = |mut book: Workbook| -> std::result::Result<Vec<u8>, XlsxError> {
        sheet(&mut book, "to buy", &heads, bought)?;
        let of_plans = ["job", "kept_answer", "today"].map(String::from);
        sheet(&mut book, "plans", &of_plans, plans.collect())?;
        let of_limits: Vec<String> = of_limits.chain(numbers).collect();
        sheet(&mut book, "accept", &of_limits, limits.collect())?;
        book.save_to_buffer()
    };
    write(Workbook::new()).map_err(|error| {
        Error::storage(format!("the workbook cannot be made: {error}")).hint("take CSV instead")
    })
}

fn sheet(
    book: &mut Workbook,
    name: &str,
    heads: &[String],
    rows: Vec<Vec<Cell>>,
) -> std::result::Result<(), XlsxError> {
    let sheet = book.add_worksheet();
    sheet.set_name(name)?;
    let bold = Format::new().set_bold();
    for (column, head) in (0_u16..).zip(heads) {
        sheet.write_string_with_format(0, column, head, &bold)?;
    }
    for (at, row) in (1_u32..).zip(rows) {
        for (column, cell) in (0_u16..).zip(row) {
            match cell {
                Cell::Number(number) => sheet.write_number(at, column, number)?,
                Cell::Words(words) if words.is_empty() => continue,
                Cell::Words(words) => sheet.write_string(at, column, words)?,
            };
        }
    }
    sheet.set_freeze_panes(1, 0)?;
    sheet.autofit();
    Ok(())
}
