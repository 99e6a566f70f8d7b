//! What is to be bought over the plans of several jobs: what each takes from the shelf is gone for the
//! next one.

use std::collections::BTreeMap;

use super::plan::{newest, planned};
use crate::catalog::NamedAnswer;
use crate::error::{Class, Result};
use crate::measure::applied::applied;
use crate::model::aside::{Aside, ForJob};
use crate::model::job::Job;
use crate::model::library::Library;
use crate::model::part::Part;
use crate::solve::ask::Watch;
use crate::stack::buying::{Buying, Plan, PlanStands, ToOrder};
use crate::stack::choice::Setup;
use crate::stack::cost::{pieces_of, pieces_to_buy, purchases, reusable};
use crate::stack::fit::Fit;
use crate::stack::measuring::to_measure;

/// Works out what is to be bought for the `wanted` jobs, which take from the shelf in their order: first
/// what is set aside for them, then what is set aside for nobody. `stored` is the library as it is
/// stored, `jobs` are all of the catalog.
///
/// # Errors
///
/// Only that the work was interrupted: what is wrong with a job is told with its plan.
pub fn buying<'a>(
    stored: &'a Library,
    (wanted, jobs): (&[Job], &[Job]),
    answers: &[NamedAnswer],
    watch: &Watch,
) -> Result<Buying<'a>> {
    let mut used = applied(stored.clone(), jobs);
    let mut plans = Vec::new();
    let mut needs: BTreeMap<Option<String>, Vec<ForJob>> = BTreeMap::new();
    for job in wanted {
        let Needs { plan, bought, taken } = needs_of(&used, job, answers, watch)?;
        for (part, pieces) in bought {
            needs.entry(part).or_default().push(ForJob { job: job.id.clone(), pieces });
        }
        for (part, pieces) in taken {
            (0..pieces).for_each(|_| used.aside.add(&part, &job.id));
        }
        plans.push(plan);
    }
    let order = |part: &'a Part| {
        needs.remove(&Some(part.id.clone())).map(|jobs| ToOrder { part: Some(part), jobs })
    };
    let mut orders: Vec<ToOrder<'a>> = stored.parts.iter().filter_map(order).collect();
    orders.extend(needs.remove(&None).map(|jobs| ToOrder { part: None, jobs }));
    Ok(Buying { plans, orders })
}

/// What one job needs.
struct Needs {
    plan: Plan,
    /// What is to be bought, by part number.
    bought: Vec<(Option<String>, u32)>,
    /// What it takes from the shelf beyond what is set aside for it.
    taken: Vec<(String, u32)>,
}

fn needs_of(used: &Library, job: &Job, answers: &[NamedAnswer], watch: &Watch) -> Result<Needs> {
    let kept = newest(answers, &job.id);
    let fit = Setup::new(used, job)
        .and_then(|setup| planned(&setup, kept, watch).map(|fit| (setup, fit)));
    let (setup, fit) = match fit {
        Ok(known) => known,
        Err(error) if error.class() == Class::Interrupted => return Err(error),
        Err(error) => {
            let plan = Plan {
                job: job.id.clone(),
                kept: kept.map(|kept| kept.name.clone()),
                stands: PlanStands::Untold(error.message().to_string()),
                lacking: Vec::new(),
                accept: None,
            };
            return Ok(Needs { plan, bought: Vec::new(), taken: Vec::new() });
        }
    };
    let (mut bought, mut lacking) = (Vec::new(), Vec::new());
    for purchase in purchases(&setup, &fit.choice) {
        match purchase.part {
            Some(piece) if piece.piece_of.is_some() => {
                let others = used.aside.for_others(&piece.id, &job.id) > 0;
                let why = if others { "it is kept for another job" } else { "it is not in hand" };
                lacking.push((piece.id.clone(), why));
            }
            part => bought.push((part.map(|part| part.id.clone()), purchase.pieces)),
        }
    }
    let accept = if bought.is_empty() { None } else { to_measure(&setup, &fit) };
    let plan = Plan {
        job: job.id.clone(),
        kept: kept.map(|kept| kept.name.clone()),
        stands: stands(&fit),
        lacking,
        accept: accept.filter(|measure| !measure.accept.is_empty()),
    };
    Ok(Needs { plan, bought, taken: taken(&setup, &fit, &used.aside) })
}

fn stands(fit: &Fit<'_>) -> PlanStands {
    let (grade, room) = (fit.grade.word(), fit.room);
    if fit.holds() {
        return PlanStands::Holds { grade, room };
    }
    let checks = fit.checks.iter().filter(|check| check.failed()).map(|check| check.name);
    PlanStands::Fails { grade, checks: checks.collect() }
}

/// What a stack takes from the shelf beyond what is set aside for its job.
fn taken(setup: &Setup<'_>, fit: &Fit<'_>, aside: &Aside) -> Vec<(String, u32)> {
    let mut taken = Vec::new();
    for fill in &fit.choice.fills {
        for (at, part) in fill.parts.iter().enumerate() {
            if fill.parts[..at].iter().any(|other| other.id == part.id) {
                continue;
            }
            let needed = pieces_of(fill, part).saturating_sub(reusable(setup, part));
            let bought = pieces_to_buy(setup, part, pieces_of(fill, part));
            let own = aside.of(&part.id).iter().find(|known| known.job == setup.job.id);
            let own = own.map_or(0, |known| known.pieces);
            let from_shelf = needed.saturating_sub(bought).saturating_sub(own);
            if from_shelf > 0 {
                taken.push((part.id.clone(), from_shelf));
            }
        }
    }
    taken
}
