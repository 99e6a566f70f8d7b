//! What the next piece of a part number is likely to measure, from the pieces that were measured.

#![allow(
    clippy::cast_precision_loss,
    reason = "an uncertainty needs no more than a float's digits"
)]

use crate::measure::budget::Uncertainty;
use crate::measure::findings::{Family, Findings};
use crate::measure::measured::entry;
use crate::measure::statistics::{Sample, Scatter};
use crate::model::entry::{Basis, Entry, Evidence};

/// The degrees of freedom that the scatter of other part numbers of the kind counts for beside the
/// pieces' own: a house rule without a published source.
const PRIOR: f64 = 6.0;

/// What the next piece is likely to be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Prediction {
    /// The pieces that it rests on.
    pub sample: Sample,
    /// By how much pieces of this number differ from each other.
    pub scatter: Scatter,
    /// How far the next one may be from their mean.
    pub known: Uncertainty,
}

/// Predicts the next piece from its sisters: the scatter of one more value about their mean is
/// `s sqrt(1 + 1/n)`, Student-distributed. `kind` is the scatter within other part numbers of the kind, which
/// counts for six degrees of freedom; `shared` is what all of the readings may be wrong by
/// together. None where one piece is all there is, and nothing says how much pieces differ.
pub fn next_piece(
    sample: Sample,
    kind: Option<Scatter>,
    shared: Option<Uncertainty>,
) -> Option<Prediction> {
    let scatter = pooled_with(sample, kind)?;
    let u = scatter.s() * (1.0 + 1.0 / sample.n()).sqrt();
    let own = Uncertainty { u, nu: scatter.nu };
    let known = Uncertainty::combined(std::iter::once(own).chain(shared));
    Some(Prediction { sample, scatter, known })
}

/// By how much pieces differ, by their own scatter and by that of other part numbers of the kind.
pub(super) fn pooled_with(sample: Sample, kind: Option<Scatter>) -> Option<Scatter> {
    let prior = kind.map(|kind| Scatter { nu: PRIOR, ..kind });
    Scatter::pooled(sample.scatter().into_iter().chain(prior))
}

impl Findings<'_> {
    /// What the next new piece of a number is likely to be in one dimension; none where nothing was
    /// measured, or too little.
    pub fn prediction(&self, family: &Family<'_>, dim: usize) -> Option<Prediction> {
        let coarsest = family.sisters(dim).map(|(_, measured)| measured.systematic);
        let shared = coarsest.max_by(|a, b| a.u.total_cmp(&b.u));
        next_piece(family.values(dim)?, family.kind_scatter(dim), shared)
    }

    /// The entry that stands for a piece that is still to be bought; none where that is the one
    /// that is listed.
    ///
    /// While no piece has fallen outside its maker's tolerance, the next one is taken to keep it
    /// too. Where the maker states none, the shop's assumed one does the same, and is marked.
    pub fn next_entry(&self, family: &Family<'_>, dim: usize) -> Option<Entry> {
        let part = family.part;
        let values = family.values(dim)?;
        let listed = part.dims[dim];
        let mean = values.whole_mean();
        let basis = Basis::Predicted { pieces: values.count() };
        // How readings scatter is part of how pieces differ.
        let assumed = family.sisters(dim).any(|(_, measured)| measured.limit_assumed);
        let Some(prediction) = self.prediction(family, dim) else {
            // One piece, and nothing says how much pieces differ: better than no value at all.
            let evidence = Some(Evidence { basis, wide: 0, assumed: true });
            return listed.is_none().then_some(Entry { value: mean, tol: None, evidence });
        };
        let predicted = entry(mean, prediction.known, basis, assumed);
        let own = || self.library.house.assumed(part.kind.key, &part.kind.dims[dim], mean);
        let named = listed.map_or(mean, |entry| entry.value);
        let stated = listed.and_then(|entry| entry.tol);
        let tol = stated.unwrap_or_else(own);
        let inside = |value: i64| (value - named).abs() <= tol;
        let kept = family.sisters(dim).all(|(_, measured)| inside(measured.sample.whole_mean()));
        // The farther of the two edges, seen from the mean.
        let edge = tol + (mean - named).abs();
        let (Some(limit), Some(evidence)) = (predicted.tol, predicted.evidence) else {
            return None;
        };
        if !kept || limit <= edge {
            return Some(predicted);
        }
        let assumed = assumed || stated.is_none();
        let evidence = Evidence { wide: evidence.wide.min(edge), assumed, ..evidence };
        Some(Entry { tol: Some(edge), evidence: Some(evidence), ..predicted })
    }
}
