//! What is to be bought over the plans of several jobs. How it is found out is of no matter here.

use crate::model::aside::ForJob;
use crate::model::length::Length;
use crate::model::part::Part;
use crate::stack::cost::{Purchase, ToBuy};
use crate::stack::measuring::ToMeasure;

/// How a plan stands today.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PlanStands {
    /// It is in its window and fails no check.
    Holds {
        /// The grade's word.
        grade: &'static str,
        /// The distance to the nearest edge of the window.
        room: Length,
    },
    /// It is not, or fails a check.
    Fails {
        /// The grade's word.
        grade: &'static str,
        /// The checks that it fails.
        checks: Vec<&'static str>,
    },
    /// It cannot be worked out, and why: nothing is bought for it.
    Untold(String),
}

/// One job, and what is to be built on it.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// The job.
    pub job: String,
    /// The kept answer whose best stack is to be built; none where that is what the job has fitted.
    pub kept: Option<String>,
    /// How it stands today.
    pub stands: PlanStands,
    /// Pieces that it names and that cannot be had: each with why.
    pub lacking: Vec<(String, &'static str)>,
    /// The limits within which to accept what is bought for it; none where nothing is.
    pub accept: Option<ToMeasure>,
}

impl Plan {
    /// Whether it can be bought by as it stands.
    pub fn holds(&self) -> bool {
        matches!(self.stands, PlanStands::Holds { .. }) && self.lacking.is_empty()
    }
}

/// A part that is to be bought.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ToOrder<'a> {
    /// The part; none for facings like the worn ones on a bench, whose number nobody told.
    pub part: Option<&'a Part>,
    /// For which jobs, and how many pieces for each.
    pub jobs: Vec<ForJob>,
}

impl ToOrder<'_> {
    /// How many pieces.
    pub fn pieces(&self) -> u32 {
        self.jobs.iter().fold(0, |sum, job| sum.saturating_add(job.pieces))
    }

    /// What they cost.
    pub fn cost(&self) -> ToBuy {
        Purchase { part: self.part, pieces: self.pieces() }.cost()
    }
}

/// Everything that is to be bought.
#[derive(Debug, Clone, PartialEq)]
pub struct Buying<'a> {
    /// The jobs in the order in which the shelf was shared out among them.
    pub plans: Vec<Plan>,
    /// The parts in the library's order, those without a number last.
    pub orders: Vec<ToOrder<'a>>,
}

impl Buying<'_> {
    /// What all of it costs.
    pub fn cost(&self) -> ToBuy {
        self.orders.iter().fold(ToBuy::default(), |sum, order| sum + order.cost())
    }

    /// Whether every plan can be bought by as it stands. A car that is out as it is fitted, and for
    /// which nothing is bought, has no plan.
    pub fn holds(&self) -> bool {
        let buys = |plan: &Plan| {
            let jobs = || self.orders.iter().flat_map(|order| &order.jobs);
            jobs().any(|of| of.job == plan.job)
        };
        let counts = |plan: &&Plan| {
            plan.kept.is_some() || matches!(plan.stands, PlanStands::Untold(_)) || buys(plan)
        };
        self.plans.iter().filter(counts).all(Plan::holds)
    }
}
