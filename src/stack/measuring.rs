//! What to measure next on a stack, and what a part that is still to be bought may measure when it
//! arrives.

#![allow(clippy::cast_precision_loss, reason = "a share is shown with two digits")]

use crate::measure::gauges::Gauges;
use std::cmp::Reverse;

use crate::model::edge::Edge;
use crate::model::entry::Accuracy;
use crate::stack::cap::Cap;
use crate::stack::choice::Setup;
use crate::stack::cost::{pieces_of, pieces_to_buy};
use crate::stack::fit::{EdgeFit, Fit};
use crate::stack::form::{Dim, Effect, Form, Source};
use crate::stack::grade::Grade;
use crate::stack::terms::part_of;
use crate::stack::trial::{Span, Trial};

/// A dimension of a stack.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Dimension {
    /// The kind's key, or `job`.
    pub kind: &'static str,
    /// The part number; none for a reading of the job.
    pub part: Option<String>,
    /// The dimension's key.
    pub key: &'static str,
    /// Its value, in its base unit.
    pub value: i64,
    /// How closely it is known.
    pub known: Accuracy,
}

impl Dimension {
    fn of(effect: &Effect<'_>) -> Self {
        let Effect { dim, value, known, .. } = *effect;
        Self { kind: dim.kind, part: part_of(dim.source), key: dim.key, value, known }
    }

    /// Whether it is a plain ratio; all else in a sum is a length.
    pub fn is_ratio(&self) -> bool {
        self.key == "finger_ratio"
    }

    /// Its name, as a term of the sum has it.
    pub fn name(&self) -> String {
        format!("{}.{}", self.kind, self.key)
    }
}

/// A reading that would decide a stack, and what it would have to be.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Decision {
    /// What is read.
    pub dimension: Dimension,
    /// How closely the reading would make it known.
    pub reading: Accuracy,
    /// Where the stack becomes sure, if it can.
    pub sure: Option<Span>,
    /// Where it becomes likely, or sure.
    pub likely: Option<Span>,
    /// Where it is in its window as computed.
    pub inside: Option<Span>,
    /// Where it is not out yet: beyond that it is.
    pub open: Option<Span>,
}

/// What a dimension of a part may measure when it arrives, everything else as it stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Acceptance {
    /// The slot's index.
    pub slot: usize,
    /// The dimension.
    pub dimension: Dimension,
    /// How closely it counts as measured on arrival.
    pub reading: Accuracy,
    /// Where the stack is likely, or sure.
    pub likely: Option<Span>,
    /// Where it is in its window as computed.
    pub inside: Option<Span>,
}

/// The one thing that would do most for a marginal or undecided stack.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Next {
    /// A reading that would decide it.
    Read(Box<Decision>),
    /// A dimension without which no reading decides it: nobody knows it, or two ways to it disagree.
    FindOut {
        /// The kind's key, or `job`.
        kind: &'static str,
        /// The part number; none for a reading of the job.
        part: Option<String>,
        /// The dimension's key.
        key: &'static str,
        /// Whether it was read, and another way to the same length disagrees.
        again: bool,
    },
}

/// What is to be measured on a stack.
#[derive(Debug, Clone, PartialEq)]
pub struct ToMeasure {
    /// The edge that holds the grade down.
    pub edge: Edge,
    /// The dimensions by the share of u^2 that each holds at that edge, the largest first.
    pub shares: Vec<(Dimension, f64)>,
    /// What to do next about a marginal or undecided stack.
    pub next: Option<Next>,
    /// The limits of what is still to be bought.
    pub accept: Vec<Acceptance>,
}

/// Works out what is to be measured on a stack. A reading counts as a single one of the finest
/// instrument that the shop has used; what is known more closely than that already, as it is known.
pub fn to_measure<'a>(setup: &Setup<'a>, fit: &Fit<'a>) -> Option<ToMeasure> {
    let gauges = Gauges::of(setup.library);
    let (edge, at_edge) = binding_edge(fit)?;
    let effects = by_share(fit, form_at(fit, edge));
    let all = at_edge.spread.three_u_squared as f64;
    let share = |effect: &Effect<'_>| (effect.at_wide() as f64).powi(2) / all;
    let shares = effects.iter().filter(|effect| effect.at_wide() != 0);
    Some(ToMeasure {
        edge,
        shares: shares.map(|effect| (Dimension::of(effect), share(effect))).collect(),
        next: next_of(setup, fit, &gauges, &effects),
        accept: acceptance(setup, fit, &gauges),
    })
}

/// What to do next about a marginal or undecided stack, without the rest.
pub fn next<'a>(setup: &Setup<'a>, fit: &Fit<'a>) -> Option<Next> {
    let gauges = Gauges::of(setup.library);
    let (edge, _) = binding_edge(fit)?;
    next_of(setup, fit, &gauges, &by_share(fit, form_at(fit, edge)))
}

fn next_of<'a>(
    setup: &Setup<'a>,
    fit: &Fit<'a>,
    gauges: &Gauges<'_>,
    effects: &[Effect<'_>],
) -> Option<Next> {
    if !matches!(fit.grade, Grade::Marginal | Grade::Undecided) {
        return None;
    }
    held_back(setup, fit)
        .or_else(|| {
            decision(setup, fit, gauges, effects).map(|decision| Next::Read(Box::new(decision)))
        })
        .or_else(|| effects.iter().find_map(|effect| unknown(effect.dim)))
}

/// What holds a grade back, however much room there is.
fn held_back(setup: &Setup<'_>, fit: &Fit<'_>) -> Option<Next> {
    let of_plate = |key| Next::FindOut {
        kind: "pressure_plate",
        part: setup.part(&fit.choice, "pressure_plate").map(|plate| plate.id.clone()),
        key,
        again: false,
    };
    let of_job = |key| Next::FindOut { kind: "job", part: None, key, again: false };
    // Readings that disagree come first, whether or not the room alone would allow more.
    let disagree = fit.caps.iter().find(|one| one.applies && one.cap.is_cross_check());
    match fit.because.or(disagree.map(|one| one.cap))? {
        Cap::MayBeWorn | Cap::StateUnknown => {
            // Of a disc on the bench nobody knows how thick a new one is: a thickness says nothing.
            let on_bench = setup.facing_slot().is_some_and(|slot| setup.fitted[slot].on_bench);
            let key = if on_bench { "fitted_disc_state" } else { "fitted_disc_thickness" };
            Some(of_job(key))
        }
        Cap::OutsideRange => Some(of_plate("set_gap_min")),
        Cap::Contradiction | Cap::CatalogContradicted | Cap::Doubt | Cap::CatalogDoubted => {
            let apart = setup.cross_checks().apart();
            let reading = apart.first().and_then(|check| check.readings.first())?;
            let key = reading.spec().key;
            Some(Next::FindOut {
                kind: "job",
                part: None,
                key,
                again: setup.job.reading(*reading).is_some(),
            })
        }
    }
}

/// What is to be found out where an error stands for something that nobody knows.
fn unknown(dim: Dim<'_>) -> Option<Next> {
    let key = match dim.key {
        "facing_loss" => "fitted_disc_thickness",
        key @ ("set_gap" | "finger_ratio") => key,
        _ => return None,
    };
    Some(Next::FindOut { kind: dim.kind, part: part_of(dim.source), key, again: false })
}

/// The sum that an edge bounds.
fn form_at<'f, 'a>(fit: &'f Fit<'a>, edge: Edge) -> &'f Form<'a> {
    if edge.is_preload() { &fit.preload_form } else { &fit.reserve_form }
}

/// The edge that holds the grade down.
fn binding_edge<'f>(fit: &'f Fit<'_>) -> Option<(Edge, &'f EdgeFit)> {
    fit.edges.set().max_by_key(|(_, edge)| (edge.grade, Reverse(edge.room)))
}

/// The errors of what is in the stack, those that hold the largest share of u first. What is fitted
/// and leaves may still count in a measured sum, but is not worth a measurement.
fn by_share<'a>(fit: &Fit<'_>, form: &Form<'a>) -> Vec<Effect<'a>> {
    let mut effects = form.effects();
    effects.retain(|effect| match effect.dim.source {
        Source::Job => true,
        Source::Bench { .. } => false,
        Source::Part { slot, id, .. } => {
            fit.choice.fills.get(slot).is_some_and(|fill| fill.ids().contains(&id))
        }
    });
    effects.sort_by_key(|effect| Reverse(effect.at_wide().abs()));
    effects
}

/// The first reading, by its share, that can make the stack likely at a value that it may well have;
/// else the first one that can bring it into its window.
fn decision<'a>(
    setup: &Setup<'a>,
    fit: &Fit<'a>,
    gauges: &Gauges<'_>,
    effects: &[Effect<'_>],
) -> Option<Decision> {
    let trials = effects.iter().filter_map(|effect| {
        let trial = Trial::of(setup, fit, gauges, effect).filter(|trial| trial.narrows)?;
        Some((effect, trial))
    });
    let trials: Vec<_> = trials.collect();
    let first = |wanted: Grade| {
        trials.iter().find(|(effect, trial)| {
            let (least, most) = (trial.now - effect.known.tol, trial.now + effect.known.tol);
            trial.meets(wanted, least, most)
        })
    };
    let (effect, trial) = first(Grade::Likely).or_else(|| first(Grade::Marginal))?;
    Some(Decision {
        dimension: Dimension::of(effect),
        reading: trial.known,
        sure: trial.range(Grade::Sure),
        likely: trial.range(Grade::Likely),
        inside: trial.range(Grade::Marginal),
        open: trial.range(Grade::Undecided),
    })
}

/// The limits of every dimension in the sum of every part that is still to be bought.
fn acceptance<'a>(setup: &Setup<'a>, fit: &Fit<'a>, gauges: &Gauges<'_>) -> Vec<Acceptance> {
    let mut effects = fit.preload_form.effects();
    effects.extend(fit.reserve_form.effects());
    let mut accept = Vec::new();
    for (index, fill) in fit.choice.fills.iter().enumerate() {
        for (at, part) in fill.parts.iter().enumerate() {
            let needed = pieces_of(fill, part);
            let seen = fill.parts[..at].iter().any(|one| one.id == part.id);
            if seen || pieces_to_buy(setup, part, needed) == 0 {
                continue;
            }
            for dim in part.kind.dims {
                let own = |effect: &&Effect<'_>| {
                    let Source::Part { slot, id, nth: 0, .. } = effect.dim.source else {
                        return false;
                    };
                    slot == index && id == part.id && effect.dim.key == dim.key
                };
                // A machined part's dimension stands beside the one that it had before.
                let trial = |effect| Some((effect, Trial::of(setup, fit, gauges, effect)?));
                let Some((effect, trial)) = effects.iter().filter(own).find_map(trial) else {
                    continue;
                };
                accept.push(Acceptance {
                    slot: index,
                    dimension: Dimension::of(effect),
                    reading: trial.known,
                    likely: trial.range(Grade::Likely),
                    inside: trial.range(Grade::Marginal),
                });
            }
        }
    }
    accept
}
