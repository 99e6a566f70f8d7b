//! What is to be bought over the plans of several jobs: a table, JSON, CSV or a workbook.

use std::collections::BTreeMap;

use super::View;
use super::columns::{self, Column};
use super::measuring::{ACCEPT_NOTE, accept_grid};
use super::page::Page;
use super::shelf::supplier;
use super::units::Units;
use crate::model::aside::ForJob;
use crate::model::house::House;
use crate::model::words::{count, list};
use crate::stack::buying::{Buying, Plan, PlanStands, ToOrder};
use crate::stack::cost::ToBuy;

mod json;
mod sheets;

pub use json::json;
pub use sheets::{csv, workbook};

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
