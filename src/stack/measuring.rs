//! What to measure next on a stack, and what a part that is still to be bought may measure when it
//! arrives.

#![allow(clippy::cast_precision_loss, reason = "a share is shown with two digits")]

use crate::measure::gauges::Gauges;
use crate::model::entry::Accuracy;
use crate::stack::choice::Bench;
use crate::stack::cost::{pieces_to_buy, reusable};
use crate::stack::fit::Fit;
use crate::stack::form::{Effect, Piece};
use crate::stack::grade::Grade;
use crate::stack::nextstep::{binding_edge, by_share};
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
        let Effect { piece, kind, dim, value, known, .. } = *effect;
        Self { kind, part: part_of(piece), key: dim, value, known }
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

/// What is to be measured on a stack.
#[derive(Debug, Clone, PartialEq)]
pub struct ToMeasure {
    /// The edge that holds the grade down: an index into the four.
    pub edge: usize,
    /// The dimensions by the share of u^2 that each holds at that edge, the largest first.
    pub shares: Vec<(Dimension, f64)>,
    /// The one reading that would decide a marginal or undecided stack.
    pub decision: Option<Decision>,
    /// The limits of what is still to be bought.
    pub accept: Vec<Acceptance>,
}

/// Works out what is to be measured on a stack. A reading counts as a single one of the finest
/// instrument that the shop has used; what is known more closely than that already, as it is known.
pub fn to_measure<'a>(bench: &Bench<'a>, fit: &Fit<'a>) -> Option<ToMeasure> {
    let gauges = Gauges::of(bench.library);
    let (edge, at_edge) = binding_edge(fit)?;
    let form = if edge < 2 { &fit.preload_form } else { &fit.reserve_form };
    let effects = by_share(fit, form);
    let all = at_edge.spread.three_u_squared as f64;
    let share = |effect: &Effect<'_>| (effect.at_wide() as f64).powi(2) / all;
    let shares = effects.iter().filter(|effect| effect.at_wide() != 0);
    Some(ToMeasure {
        edge,
        shares: shares.map(|effect| (Dimension::of(effect), share(effect))).collect(),
        decision: decision(bench, fit, &gauges, &effects),
        accept: acceptance(bench, fit, &gauges),
    })
}

/// The first reading, by its share, that can make the stack likely at a value that it may well have;
/// else the first one that can bring it into its window.
fn decision<'a>(
    bench: &Bench<'a>,
    fit: &Fit<'a>,
    gauges: &Gauges<'_>,
    effects: &[Effect<'_>],
) -> Option<Decision> {
    if !matches!(fit.grade, Grade::Marginal | Grade::Undecided) {
        return None;
    }
    let trials = effects.iter().filter_map(|effect| {
        let trial = Trial::of(bench, fit, gauges, effect).filter(|trial| trial.narrows)?;
        Some((effect, trial))
    });
    let trials: Vec<_> = trials.collect();
    let first = |wanted: Grade| {
        trials.iter().find(|(effect, trial)| {
            let (least, most) = (trial.now - effect.known.tol, trial.now + effect.known.tol);
            trial.range(wanted).is_some_and(|range| range.meets(least, most))
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
fn acceptance<'a>(bench: &Bench<'a>, fit: &Fit<'a>, gauges: &Gauges<'_>) -> Vec<Acceptance> {
    let mut effects = fit.preload_form.effects();
    effects.extend(fit.reserve_form.effects());
    let mut accept = Vec::new();
    for (index, fill) in fit.choice.fills.iter().enumerate() {
        for (at, part) in fill.parts.iter().enumerate() {
            let pieces = fill.parts.iter().filter(|one| one.id == part.id).count();
            let needed = u32::try_from(pieces).unwrap_or(u32::MAX);
            let seen = fill.parts[..at].iter().any(|one| one.id == part.id);
            if seen || pieces_to_buy(part, needed, reusable(bench, part)) == 0 {
                continue;
            }
            for dim in part.kind.dims {
                let own = |effect: &&Effect<'_>| {
                    let Piece::Part { slot, id, nth: 0, .. } = effect.piece else { return false };
                    slot == index && id == part.id && effect.dim == dim.key
                };
                // A machined part's dimension stands beside the one that it had before.
                let trial = |effect| Some((effect, Trial::of(bench, fit, gauges, effect)?));
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
