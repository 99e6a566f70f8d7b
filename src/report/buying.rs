//! What is to be bought over the plans of several jobs: a table, JSON, CSV or a workbook.

use std::collections::BTreeMap;

use rust_xlsxwriter::{Format, Workbook, XlsxError};
use serde::Serialize as Derive;

use super::View;
use super::columns::{self, Column};
use super::json::{Accept, FORMAT, accept, text};
use super::measuring::{ACCEPT_NOTE, accept_cells, accept_grid, accept_words};
use super::page::Page;
use super::shelf::supplier;
use super::units::Units;
use crate::error::{Error, Result};
use crate::model::aside::ForJob;
use crate::model::house::House;
use crate::model::kinds::Kinds;
use crate::model::words::{count, list};
use crate::stack::buying::{Buying, Plan, PlanStands, ToOrder};
use crate::stack::cost::ToBuy;

/// Orders of one supplier, blank where none is told.
type BySupplier<'b, 'a> = BTreeMap<(bool, String), Vec<&'b ToOrder<'a>>>;

/// The orders by supplier, those of which none is told last.
fn by_supplier<'b, 'a>(buying: &'b Buying<'a>) -> BySupplier<'b, 'a> {
    let mut all: BySupplier<'b, 'a> = BTreeMap::new();
    for order in &buying.orders {
        let name = order.part.map_or("", supplier).trim();
        all.entry((name.is_empty(), name.into())).or_default().push(order);
    }
    all
}

/// The longest of the days that orders take, and how many of them say none.
fn days(orders: &[&ToOrder<'_>]) -> (Option<u32>, usize) {
    let days = || orders.iter().map(|order| order.part.and_then(|part| part.lead_days));
    (days().flatten().max(), days().filter(Option::is_none).count())
}

/// A sum with what of it has no price.
fn sum(cost: ToBuy, house: &House) -> String {
    let (amount, currency) = (cost.amount, &house.currency);
    match cost.unpriced {
        0 => format!("{amount} {currency}"),
        more => format!("{amount} {currency} and {} whose price is unknown", pieces(more)),
    }
}

fn pieces(number: u32) -> String {
    count(number.into(), "piece")
}

/// What stands for a part without a number.
const UNNUMBERED: &str = "facings like the worn ones";

/// For which jobs, as in `tight-slate, 2 for worn-slate`.
fn for_jobs(jobs: &[ForJob]) -> String {
    let one = |of: &ForJob| match of.pieces {
        1 => of.job.clone(),
        more => format!("{more} for {}", of.job),
    };
    jobs.iter().map(one).collect::<Vec<_>>().join(", ")
}

/// As a table for each supplier, with the limits within which to accept what arrives.
pub fn table(buying: &Buying<'_>, house: &House, view: View) -> String {
    let mut page = Page::new(view.width);
    let jobs = count(buying.plans.len() as u128, "job");
    if buying.orders.is_empty() {
        page.line(format!("Nothing is to be bought for {jobs}."));
    } else {
        let number = buying.orders.iter().map(ToOrder::pieces).fold(0_u32, u32::saturating_add);
        let parts = count(buying.orders.len() as u128, "part number");
        page.line(format!(
            "To buy for {jobs}: {} of {parts}, {}.",
            pieces(number),
            sum(buying.cost(), house)
        ));
    }
    for ((_, name), orders) in by_supplier(buying) {
        page.gap();
        page.line(if name.is_empty() {
            "No supplier told (`own_supplier` of the part):".into()
        } else {
            format!("From {name}:")
        });
        columns::table(&mut page, &of_supplier(house), &orders);
        let cost = orders.iter().fold(ToBuy::default(), |sum, order| sum + order.cost());
        let come = match days(&orders) {
            (None, _) => "how long it takes is unknown".into(),
            (Some(most), 0) => format!("all of it is there in {}", count(most.into(), "day")),
            (Some(most), some) => {
                let known = count(most.into(), "day");
                format!("{known} as far as told, unknown for {some}")
            }
        };
        page.line(format!("In all {}; {come}.", sum(cost, house)));
    }
    page.gap();
    plans(&mut page, buying, view);
    let accepted: Vec<_> =
        buying.plans.iter().filter_map(|plan| Some((plan, plan.accept.as_ref()?))).collect();
    for (plan, measure) in &accepted {
        page.gap();
        page.line(format!(
            "For {} accept on arrival what measures so, everything else as it stands:",
            plan.job
        ));
        page.grid(accept_grid(measure, view.unit));
    }
    if !accepted.is_empty() {
        page.line(ACCEPT_NOTE);
        page.line(ONE_BY_ONE);
    }
    page.finish()
}

/// What limits of several parts of one stack do not say.
const ONE_BY_ONE: &str = "Each range holds while all other parts are as they are listed: of several \
    parts of one car, measure one, enter it, and ask again before the next one is judged.";

fn of_supplier(house: &House) -> Vec<Column<'_, &ToOrder<'_>>> {
    let unknown = |text: Option<String>| text.unwrap_or_else(|| "unknown".into());
    let currency = &house.currency;
    vec![
        Column::number("pieces", |order: &&ToOrder<'_>| order.pieces().to_string()),
        Column::of("part", |order: &&ToOrder<'_>| {
            order.part.map_or(UNNUMBERED, |part| part.id.as_str()).into()
        }),
        Column::of("description", |order: &&ToOrder<'_>| {
            order.part.map_or("", |part| part.description.as_str()).into()
        }),
        Column::number(format!("price\n{currency}"), move |order: &&ToOrder<'_>| {
            unknown(order.part.and_then(|part| part.price).map(|price| price.to_string()))
        }),
        Column::number(format!("sum\n{currency}"), move |order: &&ToOrder<'_>| {
            let cost = order.cost();
            unknown((cost.unpriced == 0).then(|| cost.amount.to_string()))
        }),
        Column::number("days", move |order: &&ToOrder<'_>| {
            unknown(order.part.and_then(|part| part.lead_days).map(|days| days.to_string()))
        }),
        Column::of("for", |order: &&ToOrder<'_>| for_jobs(&order.jobs)),
    ]
}

/// What is to be built on each job, and how that stands today.
fn plans(page: &mut Page, buying: &Buying<'_>, view: View) {
    let say = Units::One(view.unit);
    let columns = [
        Column::of("job", |plan: &Plan| plan.job.clone()),
        Column::of("to be built", |plan: &Plan| {
            plan.kept.as_ref().map_or("what is fitted".into(), |kept| format!("the answer {kept}"))
        }),
        Column::of("today", move |plan: &Plan| stands(plan, say)),
    ];
    columns::table(page, &columns, &buying.plans);
}

fn stands(plan: &Plan, say: Units) -> String {
    let told = match &plan.stands {
        PlanStands::Holds { grade, room } => format!("{grade}, {} of room", say.length(*room)),
        PlanStands::Fails { grade, checks } if checks.is_empty() => (*grade).into(),
        PlanStands::Fails { grade, checks } => format!("{grade}, fails {}", checks.join(", ")),
        PlanStands::Untold(why) => format!("cannot be told: {why}"),
    };
    let lacking = plan.lacking.iter().map(|(piece, why)| format!("{piece} cannot be had: {why}"));
    std::iter::once(told).chain(lacking).collect::<Vec<_>>().join("; ")
}

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

#[derive(Derive)]
struct PartRow<'a> {
    part: Option<&'a str>,
    kind: Option<&'static str>,
    maker: &'a str,
    description: &'a str,
    pieces: u32,
    price: Option<String>,
    amount: Option<String>,
    lead_days: Option<u32>,
    #[serde(rename = "for")]
    jobs: Vec<ForRow<'a>>,
}

#[derive(Derive)]
struct ForRow<'a> {
    job: &'a str,
    pieces: u32,
}

#[derive(Derive)]
struct SupplierRow<'a> {
    supplier: Option<String>,
    amount: String,
    unpriced: u32,
    lead_days: Option<u32>,
    parts: Vec<PartRow<'a>>,
}

#[derive(Derive)]
struct LackingRow<'a> {
    piece: &'a str,
    why: &'a str,
}

#[derive(Derive)]
struct PlanRow<'a> {
    job: &'a str,
    kept_answer: Option<&'a str>,
    holds: bool,
    grade: Option<&'static str>,
    fails: &'a [&'static str],
    untold: Option<&'a str>,
    lacking: Vec<LackingRow<'a>>,
    accept: Vec<Accept>,
}

#[derive(Derive)]
struct All<'a> {
    format: u32,
    currency: &'a str,
    amount: String,
    unpriced: u32,
    suppliers: Vec<SupplierRow<'a>>,
    jobs: Vec<PlanRow<'a>>,
}

/// As one JSON object.
pub fn json(buying: &Buying<'_>, kinds: Kinds, house: &House) -> String {
    let orders = by_supplier(buying);
    let supplier = |((_, name), orders): (&(bool, String), &Vec<&'_ ToOrder<'_>>)| {
        let cost = orders.iter().fold(ToBuy::default(), |sum, order| sum + order.cost());
        (name.clone(), cost, days(orders).0)
    };
    let suppliers = orders.iter().map(|one| {
        let (name, cost, lead_days) = supplier(one);
        SupplierRow {
            supplier: (!name.is_empty()).then_some(name),
            amount: cost.amount.to_string(),
            unpriced: cost.unpriced,
            lead_days,
            parts: one.1.iter().map(|order| part_row(order)).collect(),
        }
    });
    let plan = |plan| plan_row(kinds, plan);
    let cost = buying.cost();
    text(&All {
        format: FORMAT,
        currency: &house.currency,
        amount: cost.amount.to_string(),
        unpriced: cost.unpriced,
        suppliers: suppliers.collect(),
        jobs: buying.plans.iter().map(plan).collect(),
    })
}

fn part_row<'a>(order: &'a ToOrder<'_>) -> PartRow<'a> {
    let (part, cost) = (order.part, order.cost());
    PartRow {
        part: part.map(|part| part.id.as_str()),
        kind: part.map(|part| part.kind.key),
        maker: part.map_or("", |part| &part.maker),
        description: part.map_or(UNNUMBERED, |part| &part.description),
        pieces: order.pieces(),
        price: part.and_then(|part| part.price).map(|price| price.to_string()),
        amount: (cost.unpriced == 0).then(|| cost.amount.to_string()),
        lead_days: part.and_then(|part| part.lead_days),
        jobs: order.jobs.iter().map(|of| ForRow { job: &of.job, pieces: of.pieces }).collect(),
    }
}

fn plan_row(kinds: Kinds, plan: &Plan) -> PlanRow<'_> {
    let (grade, fails, untold) = match &plan.stands {
        PlanStands::Holds { grade, .. } => (Some(*grade), &[][..], None),
        PlanStands::Fails { grade, checks } => (Some(*grade), checks.as_slice(), None),
        PlanStands::Untold(why) => (None, &[][..], Some(why.as_str())),
    };
    let lacking = plan.lacking.iter().map(|(piece, why)| LackingRow { piece, why });
    PlanRow {
        job: &plan.job,
        kept_answer: plan.kept.as_deref(),
        holds: plan.holds(),
        grade,
        fails,
        untold,
        lacking: lacking.collect(),
        accept: plan.accept.as_ref().map_or_else(Vec::new, |measure| accept(kinds, measure)),
    }
}

/// The names of jobs that are left out, in a note.
pub fn left_out(paper: &[String]) -> String {
    let number = count(paper.len() as u128, "build");
    let (verb, its) = if paper.len() == 1 { ("is", "its") } else { ("are", "their") };
    format!(
        "{number} on paper without a kept answer {verb} left out, as {its} parts are not chosen yet: \
         {}; `answer keep JOB` keeps a plan",
        list(paper, 5)
    )
}
