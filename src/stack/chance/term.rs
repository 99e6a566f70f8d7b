//! One error with what it does to preload and reserve.

use std::f64::consts::SQRT_2;

use statrs::function::erf::erfc;

use super::{Distribution, ErrorTerm};

/// Share of a whole under which a part is left out.
pub(super) const NEGLIGIBLE: f64 = 1e-7;
/// Relative difference under which two ratios of coefficients count as the same.
const SAME_RATIO: f64 = 1e-6;

/// An error: half-width if rectangular, standard deviation if normal, the other of the two zero;
/// and its coefficients to preload (axis 0) and reserve (axis 1).
#[derive(Clone, Copy)]
pub(super) struct Contribution {
    pub(super) half: f64,
    pub(super) sd: f64,
    pub(super) k: [f64; 2],
}

impl Contribution {
    pub(super) fn new(half: f64, sd: f64, k: [f64; 2]) -> Self {
        Contribution { half, sd, k }
    }

    pub(super) fn of(error: &ErrorTerm) -> Self {
        let k = [error.to_preload, error.to_reserve];
        match error.shape {
            Distribution::Rectangular { half_width } => Contribution::new(half_width.abs(), 0.0, k),
            Distribution::Normal { u } => Contribution::new(0.0, u.abs(), k),
        }
    }

    /// The standard deviation this error alone gives preload or reserve.
    pub(super) fn size(&self, axis: usize) -> f64 {
        self.k[axis].abs() * self.sd.hypot(self.half / 3.0_f64.sqrt())
    }

    /// The farthest this error can move preload or reserve.
    pub(super) fn reach(&self, axis: usize) -> f64 {
        let unlimited = if self.sd * self.k[axis] == 0.0 { 0.0 } else { f64::INFINITY };
        unlimited + self.half * self.k[axis].abs()
    }

    pub(super) fn weight(&self) -> f64 {
        self.size(0) * self.size(1)
    }

    pub(super) fn shares(&self, ratio: f64) -> bool {
        (self.k[1] - ratio * self.k[0]).abs() <= SAME_RATIO * self.k[1].abs()
    }
}

/// Standard deviations of preload and of reserve.
pub(super) fn deviations(terms: &[Contribution]) -> [f64; 2] {
    [0, 1].map(|axis| terms.iter().map(|t| t.size(axis).powi(2)).sum::<f64>().sqrt())
}

/// The ratio of reserve to preload whose errors together do most to smooth both.
pub(super) fn heaviest_ratio(both: &[Contribution]) -> Option<f64> {
    let weight =
        |k: f64| -> f64 { both.iter().filter(|t| t.shares(k)).map(Contribution::weight).sum() };
    let ratios = both.iter().map(|t| t.k[1] / t.k[0]);
    ratios.max_by(|x, y| weight(*x).total_cmp(&weight(*y)))
}

/// The distribution function of the standard normal.
pub(super) fn normal_cdf(z: f64) -> f64 {
    0.5 * erfc(-z / SQRT_2)
}
