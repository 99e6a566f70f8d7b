//! What the pieces of a part number teach of it: listed, measured and predicted side by side.

use crate::measure::findings::{Family, Findings};
use crate::measure::prediction::pooled_with;
use crate::measure::statistics::{Sample, Scatter};
use crate::model::entry::Entry;
use crate::model::kinds::DimSpec;

/// The probability of the range in which the next piece is shown.
const SHOWN: f64 = 0.95;

/// Beyond so many of the scatter a piece stands apart: a house rule without a published source.
const APART: f64 = 3.5;

/// What is known of one dimension of a part number.
#[derive(Debug, Clone)]
pub struct Lesson {
    /// The dimension.
    pub spec: &'static DimSpec,
    /// What its maker states.
    pub listed: Option<Entry>,
    /// What its new pieces measured.
    pub sample: Option<Sample>,
    /// By how much they differ from each other.
    pub s: Option<f64>,
    /// Between what the next piece lies, with 95 % probability.
    pub next: Option<(f64, f64)>,
    /// The pieces that do not look like their sisters.
    pub apart: Vec<Apart>,
    /// Readings that were struck.
    pub struck: usize,
}

/// A piece that does not look like its sisters: of another revision, or misread.
#[derive(Debug, Clone, PartialEq)]
pub struct Apart {
    /// What the piece is called.
    pub piece: String,
    /// What it measured.
    pub value: i64,
    /// The mean of its sisters.
    pub sisters: i64,
    /// How many times their scatter lie between.
    pub times: f64,
}

impl Family<'_> {
    /// The pieces that stand apart from the mean of their sisters. The scatter is that of the sisters
    /// alone, so that a piece does not hide itself, and no less than what a reading may be off.
    #[allow(clippy::cast_precision_loss, reason = "a quotient needs no more than a float's digits")]
    pub fn apart(&self, dim: usize) -> Vec<Apart> {
        let Some(all) = self.values(dim) else { return Vec::new() };
        let stands = self.sisters(dim).filter_map(|(specimen, measured)| {
            let value = measured.sample.whole_mean();
            let sisters = all.without(value)?;
            let scatter = pooled_with(sisters, self.kind_scatter(dim))?.s().max(measured.known.u);
            let times = (value as f64 - sisters.mean()).abs() / scatter;
            let piece = specimen.id();
            let sisters = sisters.whole_mean();
            (times > APART).then_some(Apart { piece, value, sisters, times })
        });
        stands.collect()
    }
}

/// What a part number's pieces teach, dimension by dimension; nothing of what was never read.
pub fn lessons(findings: &Findings<'_>, family: &Family<'_>) -> Vec<Lesson> {
    let part = family.part;
    let readings = findings.library.measured.readings.iter();
    let own: Vec<_> = readings.filter(|set| set.part == part.id).collect();
    let lesson = |(dim, spec): (usize, &'static DimSpec)| {
        let struck = own.iter().filter(|set| set.struck.is_some() && set.dimension == spec.key);
        let sample = family.values(dim);
        let prediction = findings.prediction(family, dim);
        let range = |mean: f64, half: f64| (mean - half, mean + half);
        let lesson = Lesson {
            spec,
            listed: part.dims[dim],
            sample,
            s: sample.and_then(|sample| sample.scatter()).map(Scatter::s),
            next: prediction.map(|next| range(next.sample.mean(), next.known.expanded(SHOWN))),
            apart: family.apart(dim),
            struck: struck.map(|set| set.values.len()).sum(),
        };
        (sample.is_some() || lesson.struck > 0).then_some(lesson)
    };
    part.kind.dims.iter().enumerate().filter_map(lesson).collect()
}
