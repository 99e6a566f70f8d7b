//! The terms of a stack's sum, one by one, as they are shown.

#![allow(
    clippy::cast_precision_loss,
    reason = "floats serve only the coefficients, which are small whole numbers and ratios"
)]

use crate::model::entry::Basis;
use crate::model::length::{Length, Ratio};
use crate::stack::fit::Fit;
use crate::stack::form::{Form, Item, Piece, Product};

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
    let mut terms: Vec<(Piece<'_>, Term)> = Vec::new();
    for (form, is_preload) in [(&fit.preload_form, true), (&fit.reserve_form, false)] {
        for (item, times) in &form.linear {
            let name = format!("{}.{}", item.kind, item.dim);
            let known = terms
                .iter()
                .position(|(piece, term)| *piece == item.piece && term.dimension == name);
            let index = known.unwrap_or_else(|| {
                terms.push((item.piece, term_of(name, item)));
                terms.len() - 1
            });
            apply(&mut terms[index].1, *times as f64, item.value.nm() * times, is_preload);
        }
        for product in &form.products {
            let known = terms.iter().position(|(piece, term)| {
                *piece == product.ratio.piece && term.dimension == "ratio_correction"
            });
            let index = known.unwrap_or_else(|| {
                terms.push((product.ratio.piece, correction_term(product)));
                terms.len() - 1
            });
            let ratio = product.ratio.value.millionths() as f64 / Ratio::ONE as f64;
            let times = ratio * product.sign as f64;
            apply(&mut terms[index].1, times, product.value().nm(), is_preload);
        }
    }
    let order = |piece: &Piece<'_>| match piece {
        Piece::Job => (0, 0),
        Piece::Part { slot, nth, .. } => (slot + 1, *nth),
    };
    terms.sort_by_key(|(piece, _)| order(piece));
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

pub(super) fn part_of(piece: Piece<'_>) -> Option<String> {
    match piece {
        Piece::Job => None,
        Piece::Part { id, cut: false, .. } => Some(id.into()),
        Piece::Part { id, cut: true, .. } => Some(format!("{id} machined")),
    }
}

fn term_of(dimension: String, item: &Item<'_>) -> Term {
    Term {
        dimension,
        part: part_of(item.piece),
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
    let alone = Form { linear: Vec::new(), products: vec![product.clone()] };
    let spread = alone.spread();
    let made_of = product.gap.iter().map(|(item, times)| Term {
        to_preload: *times as f64,
        adds: Length::from_nm(item.value.nm() * times),
        ..term_of(format!("{}.{}", item.kind, item.dim), item)
    });
    Term {
        dimension: "ratio_correction".into(),
        part: part_of(product.ratio.piece),
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
