//! The same as sheets: CSV, or a workbook with numbers as numbers.

use super::{UNNUMBERED, by_supplier, for_jobs, stands};
use crate::error::Result;
use crate::model::house::House;
use crate::model::workbook::{self, SheetCell, SheetColumn};
use crate::report::View;
use crate::report::columns::write;
use crate::report::measuring::{accept_cells, accept_words};
use crate::report::shelf::supplier;
use crate::report::units::Units;
use crate::stack::buying::{Buying, ToOrder};

/// One row a part: the heads of the columns, and the cells.
fn rows(
    buying: &Buying<'_>,
    house: &House,
    view: View,
) -> (Vec<&'static str>, Vec<Vec<SheetCell>>) {
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
    let words = |text: &str| SheetCell::words(text);
    #[allow(clippy::cast_precision_loss, reason = "money of a shop is far below 2^53 cents")]
    let money = |cents: crate::model::money::Cents| SheetCell::Number(cents.get() as f64 / 100.0);
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
            SheetCell::Number(order.pieces().into()),
            part.and_then(|part| part.price).map_or(SheetCell::Blank, money),
            if cost.unpriced == 0 { money(cost.amount) } else { SheetCell::Blank },
            words(&house.currency),
            part.and_then(|part| part.lead_days)
                .map_or(SheetCell::Blank, |days| SheetCell::Number(days.into())),
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
    let cell = |(head, cell): (&&str, SheetCell)| match cell {
        SheetCell::Number(number) if money.contains(head) => format!("{number:.2}"),
        SheetCell::Number(number) | SheetCell::Length(number) => number.to_string(),
        SheetCell::Words(words) => words,
        SheetCell::Blank => String::new(),
    };
    let mut all = vec![heads.iter().map(ToString::to_string).collect::<Vec<_>>()];
    all.extend(rows.into_iter().map(|row| heads.iter().zip(row).map(cell).collect()));
    write(all)
}

/// As a workbook: what is to be bought, how the plans stand, and the limits on arrival, numbers as
/// numbers.
///
/// # Errors
///
/// A storage error where it cannot be made.
pub fn workbook(buying: &Buying<'_>, house: &House, view: View) -> Result<Vec<u8>> {
    let (heads, bought) = rows(buying, house, view);
    let words = |text: String| SheetCell::words(text);
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
                Ok(number) => SheetCell::Number(number),
                Err(_) => SheetCell::Words(cell),
            };
            lead.into_iter().map(words).chain(cells.map(number)).collect()
        })
    });
    let of_plans = ["job", "kept_answer", "today"].map(String::from);
    let sheets = vec![
        ("to buy", columns(heads.into_iter().map(String::from), &bought)),
        ("plans", columns(of_plans.into_iter(), &plans.collect::<Vec<_>>())),
        ("accept", columns(of_limits.chain(numbers), &limits.collect::<Vec<_>>())),
    ];
    workbook::workbook(sheets, "take CSV instead")
}

/// The columns under these heads, of cells that stand row by row.
fn columns(heads: impl Iterator<Item = String>, rows: &[Vec<SheetCell>]) -> Vec<SheetColumn> {
    let cells = |at: usize| rows.iter().map(|row| row[at].clone()).collect();
    heads.enumerate().map(|(at, head)| (head, cells(at))).collect()
}
