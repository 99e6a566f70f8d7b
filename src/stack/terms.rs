//! The terms of a stack's sum, one by one, as they are shown.

#![allow(
    clippy::cast_precision_loss,
    reason = "floats serve only the coefficients, which are small whole numbers and ratios"
)]

use crate::model::entry::Basis;
use crate::model::length::{Length, Ratio};
use crate::stack::fit::Fit;
use crate::stack::form::{Form, Item, Product, Source};

/// One term of the sum, as it is shown.
#[derive(Debug, Clone, PartialEq)]
pub struct Term {
    /// `kind.dimension`, `job.reading`, or `ratio_correction`.
    pub dimension: String,
    /// The part number; none for a reading of the job.
    pub part: Option<String>,
    /// Its value; for the ratio correction the difference of gaps.
    pub value: Length,
    /// Its limit half-width.
    pub tol: Length,
    /// Whether something in that was assumed.
    pub assumed: bool,
    /// What the value rests on; none for the ratio correction, which is made of several.
    pub basis: Option<Basis>,
    /// What one unit of it does to the preload.
    pub to_preload: f64,
    /// What one unit of it does to the reserve.
    pub to_reserve: f64,
    /// What it adds to the preload.
    pub adds: Length,
    /// What it adds to the reserve.
    pub adds_to_reserve: Length,
    /// For the ratio correction: the ratio and the gap's own terms.
    pub made_of: Vec<Term>,
}

/// Every term of the sum. The `adds` add up to the preload, the `adds_to_reserve` to the reserve.
pub fn terms(fit: &Fit<'_>) -> Vec<Term> {
    let mut terms: Vec<(Source<'_>, Term)> = Vec::new();
    for (form, is_preload) in [(&fit.preload_form, true), (&fit.reserve_form, false)] {
        for (item, times) in &form.linear {
            let name = format!("{}.{}", item.dim.kind, item.dim.key);
            let known = terms
                .iter()
                .position(|(source, term)| *source == item.dim.source && term.dimension == name);
            let index = known.unwrap_or_else(|| {
                terms.push((item.dim.source, term_of(name, item)));
                terms.len() - 1
            });
            apply(&mut terms[index].1, *times as f64, item.value.nm() * times, is_preload);
        }
        for product in &form.products {
            let known = terms.iter().position(|(source, term)| {
                *source == product.ratio.source && term.dimension == "ratio_correction"
            });
            let index = known.unwrap_or_else(|| {
                terms.push((product.ratio.source, correction_term(product)));
                terms.len() - 1
            });
            let ratio = product.ratio.value.millionths() as f64 / Ratio::ONE as f64;
            let times = ratio * product.sign as f64;
            apply(&mut terms[index].1, times, product.value().nm(), is_preload);
        }
    }
    let order = |source: &Source<'_>| match source {
        Source::Job => (0, 0),
        Source::Bench { slot } => (slot + 1, 0),
        Source::Part { slot, nth, .. } => (slot + 1, *nth),
    };
    terms.sort_by_key(|(source, _)| order(source));
    terms.into_iter().map(|(_, term)| term).collect()
}

fn apply(term: &mut Term, times: f64, adds: i64, is_preload: bool) {
    if is_preload {
        term.to_preload = times;
        term.adds = Length::from_nm(adds);
    } else {
        term.to_reserve = times;
        term.adds_to_reserve = Length::from_nm(adds);
    }
}

/// The part number behind a term; none of what the job itself says and of what is on the bench.
pub(super) fn part_of(source: Source<'_>) -> Option<String> {
    match source {
        Source::Job | Source::Bench { .. } => None,
        Source::Part { id, cut: false, .. } => Some(id.into()),
        Source::Part { id, cut: true, .. } => Some(format!("{id} machined")),
    }
}

fn term_of(dimension: String, item: &Item<'_>) -> Term {
    Term {
        dimension,
        part: part_of(item.dim.source),
        value: item.value,
        tol: Length::from_nm(item.known.tol),
        assumed: item.known.assumed,
        basis: Some(item.known.basis),
        to_preload: 0.0,
        to_reserve: 0.0,
        adds: Length::ZERO,
        adds_to_reserve: Length::ZERO,
        made_of: Vec::new(),
    }
}

fn correction_term(product: &Product<'_>) -> Term {
    let alone = Form { products: vec![product.clone()], ..Form::default() };
    let spread = alone.spread();
    let made_of = product.gap.iter().map(|(item, times)| Term {
        to_preload: *times as f64,
        adds: Length::from_nm(item.value.nm() * times),
        ..term_of(format!("{}.{}", item.dim.kind, item.dim.key), item)
    });
    Term {
        dimension: "ratio_correction".into(),
        part: part_of(product.ratio.source),
        value: product.gap_value(),
        tol: spread.worst_case_length(),
        assumed: spread.assumed,
        basis: None,
        to_preload: 0.0,
        to_reserve: 0.0,
        adds: Length::ZERO,
        adds_to_reserve: Length::ZERO,
        made_of: made_of.collect(),
    }
}
