//! One dimension of one piece as it was measured.

use crate::measure::budget::Uncertainty;
use crate::measure::statistics::Sample;
use crate::model::entry::{Basis, Entry, Evidence};

/// What was read of one dimension of one piece.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Measured {
    /// The readings that count: those of the finest instrument.
    pub sample: Sample,
    /// How well their mean is known.
    pub known: Uncertainty,
    /// The share of it that more readings cannot take away: the instrument's limit of error and its
    /// resolution. Sisters read with one instrument share it.
    pub systematic: Uncertainty,
    /// The instrument's limit of error was assumed.
    pub limit_assumed: bool,
    /// Nothing is known yet of how readings scatter: a single one, and none to pool.
    pub scatter_unknown: bool,
}

impl Measured {
    /// Whether something in its uncertainty was assumed.
    pub fn is_assumed(&self) -> bool {
        self.limit_assumed || self.scatter_unknown
    }

    /// The mean as an entry.
    pub fn entry(&self) -> Entry {
        let basis = Basis::Measured { readings: self.sample.count() };
        entry(self.sample.whole_mean(), self.known, basis, self.is_assumed())
    }
}

/// A value with normal errors. Its u and its limit are rounded up to whole base units.
pub(super) fn entry(value: i64, known: Uncertainty, basis: Basis, assumed: bool) -> Entry {
    let tol = rounded_up(known.limit());
    let wide = rounded_up(known.effective() * 3.0_f64.sqrt()).min(tol);
    Entry { value, tol: Some(tol), evidence: Some(Evidence { basis, wide, assumed }) }
}

#[allow(clippy::cast_possible_truncation, reason = "a cast to an integer saturates")]
fn rounded_up(value: f64) -> i64 {
    value.ceil() as i64
}
