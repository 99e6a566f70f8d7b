//! The probability that preload and wear reserve both land inside their windows.
//!
//! Every error is rectangular or normal and independent of the others; preload and reserve are
//! each a weighted sum of them. Nearly every error moves one of the two sums alone, or both in one
//! fixed ratio k (a length that preload gains is lost to reserve). The errors of that ratio form
//! one common sum C; once C is known the two sums are independent, so the probability is the
//! integral of `f_C(c) P(A in preload window - c) P(B in reserve window - k c) dc`, with A and B
//! the errors of one sum alone. Each of the three is convolved from its own rectangles and
//! normals, never replaced by one normal. Errors of other ratios shift both windows; the integral
//! is averaged over them, on a grid of shifts where there are several such ratios.

mod grid;
mod sum;
mod table;
mod term;
#[cfg(test)]
mod tests;

use grid::ShiftGrid;
use sum::Sum;
use term::{Contribution, NEGLIGIBLE, deviations, heaviest_ratio};

/// How one error is distributed about zero.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Distribution {
    /// Rectangular: all values within the half-width are equally likely, none lies outside.
    Rectangular {
        /// Half the width of the rectangle, nm.
        half_width: f64,
    },
    /// Normal (Gaussian).
    Normal {
        /// Standard deviation, nm.
        u: f64,
    },
}

/// One independent error of the chain, in nanometres, with its (signed) coefficients.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ErrorTerm {
    /// Distribution of the error.
    pub shape: Distribution,
    /// Change of preload per unit of the error.
    pub to_preload: f64,
    /// Change of reserve per unit of the error.
    pub to_reserve: f64,
}

/// Distances from the computed value to the edges of its window, nm; positive means inside.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    /// Distance down to the lower edge.
    pub below: f64,
    /// Distance up to the upper edge; `None` where there is no upper edge.
    pub above: Option<f64>,
}

/// Probability that preload and reserve both stay within their windows, edges included.
///
/// That is `-preload.below <= E_p <= preload.above` together with
/// `-reserve.below <= E_r <= reserve.above`, where `E_p` is the sum of `to_preload * e` and `E_r`
/// the sum of `to_reserve * e`. The result is exactly 1 where no combination of errors leaves a
/// window, exactly 0 where every combination misses one, and NaN where an error is not finite or
/// an edge is not a number. It is repeatable, and good to about 1e-5 where the errors that move
/// both sums do so in one ratio, to 1e-3 otherwise. The distribution of a sum is the convolution
/// of its inputs' (JCGM 101:2008, 9.2, does it for four rectangles).
pub fn chance(errors: &[ErrorTerm], preload: Band, reserve: Band) -> f64 {
    let mut terms: Vec<Contribution> = errors.iter().map(Contribution::of).collect();
    let mut windows = [preload, reserve].map(|b| [-b.below, b.above.unwrap_or(f64::INFINITY)]);
    let spreads = deviations(&terms);
    if windows.concat().iter().any(|x| x.is_nan()) || !spreads.iter().all(|x| x.is_finite()) {
        return f64::NAN;
    }
    for (axis, window) in windows.iter_mut().enumerate() {
        let reach: f64 = terms.iter().map(|t| t.reach(axis)).sum();
        let [low, high] = *window;
        if low > high || low > reach || high < -reach {
            return 0.0;
        }
        // A window that cannot be left asks nothing of its sum. The caller may have added the same
        // extremes in another order, so an edge that equals them up to rounding still holds them.
        let held = high.min(-low) >= reach * (1.0 - 1e-12);
        if held {
            *window = [f64::NEG_INFINITY, f64::INFINITY];
        }
        // What is not asked drops out; so does a share too small to matter, which only costs time.
        for t in &mut terms {
            if held || t.size(axis) <= NEGLIGIBLE * spreads[axis] {
                t.k[axis] = 0.0;
            }
        }
    }
    let (both, mut alone): (Vec<_>, Vec<_>) = terms.iter().partition(|t| t.weight() > 0.0);
    let ratio = heaviest_ratio(&both).unwrap_or(-1.0);
    let (common, mut others): (Vec<_>, Vec<_>) = both.iter().partition(|t| t.shares(ratio));
    let mut grid = ShiftGrid::around(deviations(&others), spreads);
    let mut rest = Vec::new();
    while let Some(k) = heaviest_ratio(&others) {
        let (same, left): (Vec<_>, Vec<_>) = others.iter().partition(|t| t.shares(k));
        rest.push((Sum::of(&same, 0), k));
        others = left;
    }
    if rest.len() > 1 {
        // A point of the grid stands for its cell: a rectangle as wide as the cell, added to each
        // sum, makes the integral the mean over the cell, however sharp the windows' edges are.
        let [x, y] = grid.steps.map(|step| step / 2.0);
        alone.extend([(x, [1.0, 0.0]), (y, [0.0, 1.0])].map(|(w, k)| Contribution::new(w, 0.0, k)));
    }
    let chain = Errors {
        common: Sum::of(&common, 0),
        ratio,
        alone: [0, 1].map(|axis| Sum::of(&alone, axis)),
        windows,
    };
    let found = match rest.as_slice() {
        [] => chain.inside([0.0, 0.0]),
        [(sum, k)] => sum.mean(chain.bends_over(*k), |e| chain.inside([e, k * e])),
        several => {
            grid = grid.filled(|shift| chain.inside(shift));
            for (sum, k) in several {
                let points = sum.points(8.0 * grid.steps[0].min(grid.steps[1] / k.abs()));
                let value = |[x, y]: [f64; 2], e: f64| grid.at([x + e, y + k * e]);
                let mean = |shift| points.iter().map(|(e, w)| w * value(shift, *e)).sum();
                grid = grid.filled(mean);
            }
            grid.at_zero()
        }
    };
    found.clamp(0.0, 1.0)
}

/// The sum of the errors that enter preload as they are and reserve times `ratio`, and the sums of
/// the errors of preload alone and of reserve alone.
struct Errors {
    common: Sum,
    ratio: f64,
    alone: [Sum; 2],
    windows: [[f64; 2]; 2],
}

impl Errors {
    /// The probability where other errors have shifted preload and reserve: the integral over the
    /// common sum.
    fn inside(&self, shift: [f64; 2]) -> f64 {
        let [p, r] = [0, 1].map(|axis| self.windows[axis].map(|edge| edge - shift[axis]));
        let given = |c: f64| match self.alone[0].within(p.map(|edge| edge - c)) {
            0.0 => 0.0,
            preload => preload * self.alone[1].within(r.map(|edge| edge - self.ratio * c)),
        };
        let bends_p = p.map(|edge| self.alone[0].bends().map(|b| edge + b));
        let bends_r = r.map(|edge| self.alone[1].bends().map(|b| (edge + b) / self.ratio));
        self.common.mean([bends_p, bends_r].concat().concat(), given)
    }

    /// Where [`Errors::inside`] bends as a function of one more error, of another ratio.
    fn bends_over(&self, ratio: f64) -> Vec<f64> {
        let axes = [(0, 1.0, 1.0), (1, self.ratio.abs(), ratio)];
        let bends = axes.map(|(axis, common, k)| {
            let (wide, narrow) = (self.common.reach * common, self.alone[axis].reach);
            let ramp = [-wide - narrow, narrow - wide, wide - narrow, wide + narrow];
            self.windows[axis].map(|edge| ramp.map(|b| (edge + b) / k))
        });
        bends.concat().concat()
    }
}
