//! The same as JSON.

use serde::Serialize as Derive;

use super::{UNNUMBERED, by_supplier, days};
use crate::model::house::House;
use crate::model::kinds::Kinds;
use crate::report::json::{Accept, accept, object};
use crate::stack::buying::{Buying, Plan, PlanStands, ToOrder};
use crate::stack::cost::ToBuy;

#[derive(Derive)]
struct BoughtRow<'a> {
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
    parts: Vec<BoughtRow<'a>>,
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
struct BuyingListed<'a> {
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
    object(BuyingListed {
        currency: &house.currency,
        amount: cost.amount.to_string(),
        unpriced: cost.unpriced,
        suppliers: suppliers.collect(),
        jobs: buying.plans.iter().map(plan).collect(),
    })
}

fn part_row<'a>(order: &'a ToOrder<'_>) -> BoughtRow<'a> {
    let (part, cost) = (order.part, order.cost());
    BoughtRow {
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
