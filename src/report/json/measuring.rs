//! What to measure next, as JSON.

use serde::Serialize as Derive;

use super::length::L;
use crate::model::kinds::{Kinds, Quantity};
use crate::model::length::{Length, Ratio};
use crate::stack::measuring::{Decision, Dimension, Next, ToMeasure};
use crate::stack::trial::Span;

/// A value of a dimension: a length, a plain ratio, a count, or a torque in newton metres.
#[derive(Derive)]
#[serde(untagged)]
pub(in crate::report) enum Amount {
    Length(L),
    Ratio(f64),
    Count(i64),
}

impl Amount {
    /// A value in the base unit of its quantity.
    #[allow(clippy::cast_precision_loss, reason = "no value has more than fifteen digits")]
    pub(in crate::report) fn of(quantity: Quantity, value: i64) -> Self {
        match quantity {
            Quantity::Length => Self::Length(Length::from_nm(value).into()),
            Quantity::Ratio => Self::Ratio(value as f64 / Ratio::ONE as f64),
            Quantity::Count => Self::Count(value),
            Quantity::Torque => Self::Ratio(value as f64 / 1000.0),
        }
    }
}

#[derive(Derive)]
pub(super) struct Between {
    from: Option<Amount>,
    to: Option<Amount>,
}

#[derive(Derive)]
pub(super) struct HeldDimension {
    dimension: String,
    part: String,
    value: Amount,
    tol: Amount,
    assumed: bool,
    basis: &'static str,
    share: f64,
}

#[derive(Derive)]
pub(super) struct Decides {
    dimension: String,
    part: String,
    value: Amount,
    reading_tol: Amount,
    reading_assumed: bool,
    sure: Option<Between>,
    likely: Option<Between>,
    in_window: Option<Between>,
    /// Beyond this the stack is out.
    not_out: Option<Between>,
}

#[derive(Derive)]
pub(super) struct MeasureNext {
    edge: &'static str,
    shares: Vec<HeldDimension>,
}

/// What would do most for a stack.
#[derive(Derive)]
#[serde(rename_all = "snake_case")]
pub(super) enum NextRow {
    /// The one reading that would decide it.
    Decides(Box<Decides>),
    /// What has to be known before any reading decides.
    FindOut { dimension: String, part: String, again: bool },
}

impl NextRow {
    pub(super) fn of(next: &Next) -> Self {
        match next {
            Next::Read(decision) => Self::Decides(Box::new(decides(decision))),
            Next::FindOut { kind, part, key, again } => Self::FindOut {
                dimension: format!("{kind}.{key}"),
                part: part.clone().unwrap_or_else(|| "job".into()),
                again: *again,
            },
        }
    }
}

#[derive(Derive)]
pub(in crate::report) struct Accept {
    slot: &'static str,
    part: String,
    dimension: String,
    value: Amount,
    reading_tol: Amount,
    reading_assumed: bool,
    likely: Option<Between>,
    in_window: Option<Between>,
}

fn amount(dimension: &Dimension, value: i64) -> Amount {
    let is_ratio = dimension.is_ratio();
    Amount::of(if is_ratio { Quantity::Ratio } else { Quantity::Length }, value)
}

fn between(dimension: &Dimension, span: Option<Span>) -> Option<Between> {
    let end = |end: Option<i64>| end.map(|value| amount(dimension, value));
    span.map(|span| Between { from: end(span.from), to: end(span.to) })
}

fn part(dimension: &Dimension) -> String {
    dimension.part.clone().unwrap_or_else(|| "job".into())
}

impl MeasureNext {
    pub(super) fn of(measure: &ToMeasure) -> Self {
        let held = |(dimension, share): &(Dimension, f64)| HeldDimension {
            dimension: dimension.name(),
            part: part(dimension),
            value: amount(dimension, dimension.value),
            tol: amount(dimension, dimension.known.tol),
            assumed: dimension.known.assumed,
            basis: dimension.known.basis.word(),
            share: (share * 1e4).round() / 1e4,
        };
        Self { edge: measure.edge.key(), shares: measure.shares.iter().map(held).collect() }
    }
}

fn decides(decision: &Decision) -> Decides {
    let of = &decision.dimension;
    Decides {
        dimension: of.name(),
        part: part(of),
        value: amount(of, of.value),
        reading_tol: amount(of, decision.reading.tol),
        reading_assumed: decision.reading.assumed,
        sure: between(of, decision.sure),
        likely: between(of, decision.likely),
        in_window: between(of, decision.inside),
        not_out: between(of, decision.open),
    }
}

/// The limits of what is still to be bought.
pub(in crate::report) fn accept(kinds: Kinds, measure: &ToMeasure) -> Vec<Accept> {
    let rows = measure.accept.iter().map(|accept| {
        let of = &accept.dimension;
        Accept {
            slot: kinds.slot_key(accept.slot),
            part: part(of),
            dimension: of.name(),
            value: amount(of, of.value),
            reading_tol: amount(of, accept.reading.tol),
            reading_assumed: accept.reading.assumed,
            likely: between(of, accept.likely),
            in_window: between(of, accept.inside),
        }
    });
    rows.collect()
}
