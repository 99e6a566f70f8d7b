//! A tabulated distribution function, and its convolution with rectangles.

#![allow(
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "only counts of cells are cast: not negative, and below a few thousand"
)]

use super::term::normal_cdf;

/// Standard deviations after which a normal tail is nil in double precision.
const TAIL: f64 = 8.3;
/// Cells between zero and the end of a tabulated distribution.
const CELLS: usize = 256;

/// A distribution function F about zero, as G = F - 1/2 and the integral J of G from zero, in equal
/// steps from zero to the reach of F. G is odd and J even; beyond the reach G is 1/2.
pub(super) struct Distribution {
    pub(super) reach: f64,
    step: f64,
    odd: Vec<f64>,
    area: Vec<f64>,
}

impl Distribution {
    /// The sum of a normal and of rectangles, given from the widest on.
    pub(super) fn of(widths: &[f64], sd: f64) -> Self {
        let reach = widths.iter().sum::<f64>() + TAIL * sd;
        // A normal under three cells wide cannot be told from a rectangle of its variance.
        let narrow = sd * CELLS as f64 <= 3.0 * reach;
        let (first, rest) = widths.split_at(usize::from(narrow).min(widths.len()));
        let mut table = match first {
            [] => Distribution::tabulated(reach, |x| normal_cdf(x / sd) - 0.5),
            [w, ..] => Distribution::tabulated(reach, |x| (x / (2.0 * w)).min(0.5)),
        };
        // The corner of a rectangle lies within a cell, so that its J is not left to the table.
        if let [w, ..] = first {
            for (i, area) in table.area.iter_mut().enumerate() {
                let x = i as f64 * table.step;
                *area = x.min(*w).powi(2) / (4.0 * w) + (x - w).max(0.0) / 2.0;
            }
        }
        let last = (narrow && sd > 0.0).then(|| sd * 3.0_f64.sqrt());
        for w in rest.iter().copied().chain(last) {
            table = Distribution::tabulated(reach, |x| table.mean(x, w));
        }
        table
    }

    fn tabulated(reach: f64, odd: impl Fn(f64) -> f64) -> Self {
        let cells = if reach > 0.0 { CELLS } else { 0 };
        let step = reach / CELLS as f64;
        let mut odd: Vec<f64> = (0..=cells).map(|i| odd(i as f64 * step)).collect();
        odd.push(0.5);
        // Each cell adds the integral of the cubic through the four nodes about it.
        let (mut area, mut before) = (vec![0.0], -odd[1]);
        for g in odd.windows(3) {
            area.push(area[area.len() - 1] + step / 24.0 * (13.0 * (g[0] + g[1]) - before - g[2]));
            before = g[0];
        }
        Distribution { reach, step, odd, area }
    }

    /// G after convolution with a rectangle of half-width `w`: its mean over `x - w` to `x + w`.
    pub(super) fn mean(&self, x: f64, w: f64) -> f64 {
        (self.area(x + w) - self.area(x - w)) / (2.0 * w)
    }

    /// The cell of the table that `x` lies in, and the place within it from 0 to 1.
    fn cell(&self, x: f64) -> Option<(usize, f64)> {
        let cells = x.abs() / self.step;
        let whole = cells.floor().min(CELLS as f64 - 1.0);
        (x.abs() < self.reach).then_some((whole as usize, cells - whole))
    }

    /// J at `x`, by cubic Hermite interpolation (G is its slope).
    fn area(&self, x: f64) -> f64 {
        let Some((i, t)) = self.cell(x) else {
            return self.area[self.area.len() - 1] + (x.abs() - self.reach) / 2.0;
        };
        let s = 1.0 - t;
        let slopes = t * s * (s * self.odd[i] - t * self.odd[i + 1]);
        s * s * (1.0 + 2.0 * t) * self.area[i]
            + t * t * (1.0 + 2.0 * s) * self.area[i + 1]
            + self.step * slopes
    }

    /// G at `x`, as the slope of J.
    pub(super) fn odd(&self, x: f64) -> f64 {
        let Some((i, t)) = self.cell(x) else {
            return 0.5 * x.signum();
        };
        let s = 1.0 - t;
        let rise = 6.0 * t * s * (self.area[i + 1] - self.area[i]) / self.step;
        x.signum() * (rise + s * (s - 2.0 * t) * self.odd[i] + t * (t - 2.0 * s) * self.odd[i + 1])
    }
}
