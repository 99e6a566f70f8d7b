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
#![allow(
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "only counts of cells are cast: not negative, and below a few thousand"
)]

use std::f64::consts::{PI, SQRT_2};

use statrs::function::erf::erfc;

/// How one error is distributed about zero.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Shape {
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
    pub shape: Shape,
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
    let mut terms: Vec<Term> = errors.iter().map(Term::of).collect();
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
    let mut grid = Grid::around(deviations(&others), spreads);
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
        alone.extend([(x, [1.0, 0.0]), (y, [0.0, 1.0])].map(|(w, k)| Term::new(w, 0.0, k)));
    }
    let chain = Chain {
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

/// Share of a whole under which a part is left out.
const NEGLIGIBLE: f64 = 1e-7;
/// Relative difference under which two ratios of coefficients count as the same.
const SAME_RATIO: f64 = 1e-6;
/// Standard deviations after which a normal tail is nil in double precision.
const TAIL: f64 = 8.3;
/// Cells between zero and the end of a tabulated distribution.
const CELLS: usize = 256;
/// Positive nodes and weights of the ten-point Gauss-Legendre rule (Abramowitz and Stegun,
/// Handbook of Mathematical Functions, table 25.4).
const GAUSS: [(f64, f64); 5] = [
    (0.148_874_338_981_631_22, 0.295_524_224_714_752_9),
    (0.433_395_394_129_247_16, 0.269_266_719_309_996_3),
    (0.679_409_568_299_024_4, 0.219_086_362_515_982_04),
    (0.865_063_366_688_984_5, 0.149_451_349_150_580_6),
    (0.973_906_528_517_171_7, 0.066_671_344_308_688_14),
];

fn normal_cdf(z: f64) -> f64 {
    0.5 * erfc(-z / SQRT_2)
}

/// Points and weights of the Gauss-Legendre rule, over equal pieces no longer than `longest`.
fn gauss(from: f64, to: f64, longest: f64) -> impl Iterator<Item = (f64, f64)> {
    let pieces = ((to - from) / longest).ceil();
    let half = (to - from) / (2.0 * pieces);
    (0..pieces as usize).flat_map(move |i| {
        let mid = from + (2.0 * i as f64 + 1.0) * half;
        let pair = move |(x, w)| [(mid - half * x, half * w), (mid + half * x, half * w)];
        GAUSS.into_iter().flat_map(pair)
    })
}

/// Standard deviations of preload and of reserve.
fn deviations(terms: &[Term]) -> [f64; 2] {
    [0, 1].map(|axis| terms.iter().map(|t| t.size(axis).powi(2)).sum::<f64>().sqrt())
}

/// The ratio of reserve to preload whose errors together do most to smooth both.
fn heaviest_ratio(both: &[Term]) -> Option<f64> {
    let weight = |k: f64| -> f64 { both.iter().filter(|t| t.shares(k)).map(Term::weight).sum() };
    let ratios = both.iter().map(|t| t.k[1] / t.k[0]);
    ratios.max_by(|x, y| weight(*x).total_cmp(&weight(*y)))
}

/// An error: half-width if rectangular, standard deviation if normal, the other of the two zero;
/// and its coefficients to preload (axis 0) and reserve (axis 1).
#[derive(Clone, Copy)]
struct Term {
    half: f64,
    sd: f64,
    k: [f64; 2],
}

impl Term {
    fn new(half: f64, sd: f64, k: [f64; 2]) -> Self {
        Term { half, sd, k }
    }

    fn of(error: &ErrorTerm) -> Self {
        let k = [error.to_preload, error.to_reserve];
        match error.shape {
            Shape::Rectangular { half_width } => Term::new(half_width.abs(), 0.0, k),
            Shape::Normal { u } => Term::new(0.0, u.abs(), k),
        }
    }

    /// The standard deviation this error alone gives preload or reserve.
    fn size(&self, axis: usize) -> f64 {
        self.k[axis].abs() * self.sd.hypot(self.half / 3.0_f64.sqrt())
    }

    /// The farthest this error can move preload or reserve.
    fn reach(&self, axis: usize) -> f64 {
        let unlimited = if self.sd * self.k[axis] == 0.0 { 0.0 } else { f64::INFINITY };
        unlimited + self.half * self.k[axis].abs()
    }

    fn weight(&self) -> f64 {
        self.size(0) * self.size(1)
    }

    fn shares(&self, ratio: f64) -> bool {
        (self.k[1] - ratio * self.k[0]).abs() <= SAME_RATIO * self.k[1].abs()
    }
}

/// The sum of the errors that enter preload as they are and reserve times `ratio`, and the sums of
/// the errors of preload alone and of reserve alone.
struct Chain {
    common: Sum,
    ratio: f64,
    alone: [Sum; 2],
    windows: [[f64; 2]; 2],
}

impl Chain {
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

    /// Where [`Chain::inside`] bends as a function of one more error, of another ratio.
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

/// The distribution of a sum of rectangles and normals about zero: the widest rectangle, exact,
/// and a table of the other errors.
struct Sum {
    widest: f64,
    second: f64,
    sd: f64,
    reach: f64,
    others: Table,
}

impl Sum {
    /// What these errors give preload or reserve together.
    fn of(terms: &[Term], axis: usize) -> Self {
        let variance: f64 = terms.iter().map(|t| (t.sd * t.k[axis]).powi(2)).sum();
        let sd = variance.sqrt();
        let mut widths: Vec<f64> = terms.iter().map(|t| t.half * t.k[axis].abs()).collect();
        let least = NEGLIGIBLE * (widths.iter().sum::<f64>() + sd);
        widths.retain(|w| *w > least);
        widths.sort_by(|x, y| y.total_cmp(x));
        let [widest, second] = [0, 1].map(|i| widths.get(i).copied().unwrap_or(0.0));
        let others = Table::of(widths.get(1..).unwrap_or_default(), sd);
        let reach = widest + others.reach;
        Sum { widest, second, sd, reach, others }
    }

    /// Probability of a value not above `x`, for a sum that does vary.
    fn cdf(&self, x: f64) -> f64 {
        if x.abs() >= self.reach {
            f64::from(u8::from(x > 0.0))
        } else if self.widest == 0.0 {
            normal_cdf(x / self.sd)
        } else {
            0.5 + self.others.mean(x, self.widest)
        }
    }

    fn density(&self, x: f64) -> f64 {
        let w = self.widest;
        if w == 0.0 {
            (-(x / self.sd).powi(2) / 2.0).exp() / ((2.0 * PI).sqrt() * self.sd)
        } else {
            (self.others.odd(x + w) - self.others.odd(x - w)) / (2.0 * w)
        }
    }

    /// Probability of a value in the interval, ends included.
    fn within(&self, [low, high]: [f64; 2]) -> f64 {
        if self.reach == 0.0 {
            f64::from(u8::from(low <= 0.0 && high >= 0.0))
        } else {
            self.cdf(high) - self.cdf(low)
        }
    }

    /// Where the distribution function starts, bends and ends.
    fn bends(&self) -> [f64; 8] {
        let (w, v, end) = (self.widest, self.second, self.others.reach);
        [w + end, w + v, w - v, w - end, end - w, v - w, -v - w, -end - w]
    }

    /// Mean of a probability that rises and then falls with the value of this sum. Between
    /// neighbouring bends of the two it is smooth, and a Gauss rule is accurate there however
    /// narrow the pieces are.
    fn mean(&self, mut bends: Vec<f64>, value: impl Fn(f64) -> f64) -> f64 {
        if self.reach == 0.0 {
            return value(0.0);
        }
        bends.extend(self.bends());
        for x in &mut bends {
            *x = x.clamp(-self.reach, self.reach);
        }
        bends.sort_unstable_by(f64::total_cmp);
        let mut mean = 0.0;
        for (&from, &to) in bends.iter().zip(&bends[1..]).filter(|(from, to)| from < to) {
            // A piece at whose ends the value is certain is certain throughout.
            let margin = 1e-9 * (to - from);
            if value(from + margin) >= 1.0 && value(to - margin) >= 1.0 {
                mean += self.cdf(to) - self.cdf(from);
            } else {
                let points = gauss(from, to, self.reach / 3.0);
                mean += points.map(|(x, w)| w * self.density(x) * value(x)).sum::<f64>();
            }
        }
        mean
    }

    /// Values that stand for the distribution, with their probabilities, from Gauss rules over
    /// pieces no longer than `longest`.
    fn points(&self, longest: f64) -> Vec<(f64, f64)> {
        let mut bends = self.bends();
        bends.sort_unstable_by(f64::total_cmp);
        let pieces = bends.iter().zip(&bends[1..]).filter(|(from, to)| from < to);
        let nodes = pieces.flat_map(|(from, to)| gauss(*from, *to, longest));
        nodes.map(|(x, w)| (x, w * self.density(x))).collect()
    }
}

/// A distribution function F about zero, as G = F - 1/2 and the integral J of G from zero, in equal
/// steps from zero to the reach of F. G is odd and J even; beyond the reach G is 1/2.
struct Table {
    reach: f64,
    step: f64,
    odd: Vec<f64>,
    area: Vec<f64>,
}

impl Table {
    /// The sum of a normal and of rectangles, given from the widest on.
    fn of(widths: &[f64], sd: f64) -> Self {
        let reach = widths.iter().sum::<f64>() + TAIL * sd;
        // A normal under three cells wide cannot be told from a rectangle of its variance.
        let narrow = sd * CELLS as f64 <= 3.0 * reach;
        let (first, rest) = widths.split_at(usize::from(narrow).min(widths.len()));
        let mut table = match first {
            [] => Table::tabulated(reach, |x| normal_cdf(x / sd) - 0.5),
            [w, ..] => Table::tabulated(reach, |x| (x / (2.0 * w)).min(0.5)),
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
            table = Table::tabulated(reach, |x| table.mean(x, w));
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
        Table { reach, step, odd, area }
    }

    /// G after convolution with a rectangle of half-width `w`: its mean over `x - w` to `x + w`.
    fn mean(&self, x: f64, w: f64) -> f64 {
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
    fn odd(&self, x: f64) -> f64 {
        let Some((i, t)) = self.cell(x) else {
            return 0.5 * x.signum();
        };
        let s = 1.0 - t;
        let rise = 6.0 * t * s * (self.area[i + 1] - self.area[i]) / self.step;
        x.signum() * (rise + s * (s - 2.0 * t) * self.odd[i] + t * (t - 2.0 * s) * self.odd[i + 1])
    }
}

/// A function of the shifts of preload and reserve, on a grid about zero.
struct Grid {
    steps: [f64; 2],
    cells: [usize; 2],
    values: Vec<f64>,
}

impl Grid {
    /// A grid for shifts of these standard deviations, in steps of a twelfth of the standard
    /// deviations of preload and reserve. Shifts beyond five of their own do not count.
    fn around(shifts: [f64; 2], spreads: [f64; 2]) -> Self {
        let cells = [0, 1].map(|i| (120.0 * shifts[i] / spreads[i]).ceil().max(40.0));
        let steps = [0, 1].map(|i| 10.0 * shifts[i] / cells[i]);
        let (cells, values) = (cells.map(|n| n as usize), Vec::new());
        Grid { steps, cells, values }
    }

    fn filled(&self, value: impl Fn([f64; 2]) -> f64) -> Grid {
        let node = |axis: usize, i| (i as f64 - self.cells[axis] as f64 / 2.0) * self.steps[axis];
        let columns = self.cells[1] + 1;
        let all = 0..(self.cells[0] + 1) * columns;
        let values = all.map(|i| value([node(0, i / columns), node(1, i % columns)]));
        Grid { values: values.collect(), ..*self }
    }

    /// The value at a shift, by cubic interpolation; beyond the grid, that at its edge.
    fn at(&self, shift: [f64; 2]) -> f64 {
        let [(i, in_x), (j, in_y)] = [0, 1].map(|axis| {
            let cells = self.cells[axis] as f64;
            let place = (shift[axis] / self.steps[axis] + cells / 2.0).clamp(0.0, cells);
            let first = (place.floor() - 1.0).clamp(0.0, cells - 3.0);
            let [a, b, c, d] = [0.0, 1.0, 2.0, 3.0].map(|node| place - first - node);
            let weights = [b * c * d / -6.0, a * c * d / 2.0, a * b * d / -2.0, a * b * c / 6.0];
            (first as usize, weights)
        });
        let rows = self.values.chunks(self.cells[1] + 1).skip(i);
        let row = |row: &[f64]| -> f64 { in_y.iter().zip(&row[j..]).map(|(w, q)| w * q).sum() };
        rows.zip(in_x).map(|(values, w)| w * row(values)).sum()
    }

    /// The value at no shift, where each point holds the mean over its cell. That mean exceeds the
    /// value by a 24th of the second differences, to the fourth order of the step.
    fn at_zero(&self) -> f64 {
        let [x, y] = self.steps;
        let about = [[x, 0.0], [-x, 0.0], [0.0, y], [0.0, -y]].map(|shift| self.at(shift));
        (28.0 * self.at([0.0, 0.0]) - about.iter().sum::<f64>()) / 24.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const NONE: f64 = f64::INFINITY;

    fn rect(half_width: f64, to_preload: f64, to_reserve: f64) -> ErrorTerm {
        let shape = Shape::Rectangular { half_width };
        ErrorTerm { shape, to_preload, to_reserve }
    }

    fn normal(u: f64, to_preload: f64, to_reserve: f64) -> ErrorTerm {
        let shape = Shape::Normal { u };
        ErrorTerm { shape, ..rect(0.0, to_preload, to_reserve) }
    }

    fn within(errors: &[ErrorTerm], p: [f64; 2], r: [f64; 2]) -> f64 {
        let band =
            |[below, above]: [f64; 2]| Band { below, above: (above < NONE).then_some(above) };
        chance(errors, band(p), band(r))
    }

    fn alone(errors: &[ErrorTerm], below: f64, above: f64) -> f64 {
        within(errors, [below, above], [NONE, NONE])
    }

    #[track_caller]
    fn near(found: f64, expected: f64, error: f64) {
        assert!((found - expected).abs() <= error, "{found}, not {expected}");
    }

    /// Shigley's Mechanical Engineering Design, 9th ed., example 1-3, p. 20: w = a - b - c - d with
    /// a = 1.750 +- .003, b = .750 +- .001, c = .120 +- .005, d = .875 +- .001 inch, so that
    /// w = .005 +- .010 inch. The probabilities are not in the book; they are computed from these
    /// figures, exactly for rectangles, and for normals of a third of the tolerance.
    #[test]
    fn the_gap_of_shigleys_example_has_its_exact_probabilities() {
        let chain = [(3.0, 1.0), (1.0, -1.0), (5.0, -1.0), (1.0, -1.0)];
        let rects = chain.map(|(mils, a)| rect(mils * 25_400.0, a, 0.0));
        near(alone(&rects, 50_800.0, NONE), 251.0 / 360.0, 1e-6);
        near(alone(&rects, 127_000.0, 127_000.0), 151.0 / 180.0, 1e-6);
        near(alone(&rects, 254_000.0, 254_000.0), 1.0, 0.0);
        let normals = chain.map(|(mils, a)| normal(mils * 25_400.0 / 3.0, a, 0.0));
        near(alone(&normals, 50_800.0, NONE), 0.841_344_746_1, 1e-9);
        near(alone(&normals, 127_000.0, 127_000.0), 0.987_580_669_3, 1e-9);
    }

    /// JCGM 101:2008, 9.2: the 95 % interval of four inputs of unit standard deviation is +-3.8794
    /// if they are rectangular, +-3.92 if they are normal.
    #[test]
    fn four_equal_inputs_have_the_coverage_interval_of_jcgm_101() {
        let rects = [rect(3.0_f64.sqrt(), 1.0, 0.0); 4];
        near(alone(&rects, 3.8794, 3.8794), 0.95, 3e-6);
        near(alone(&[normal(1.0, 1.0, 0.0); 4], 3.92, 3.92), 0.95, 1e-5);
    }

    /// Phi(1), Phi(1.96) and Phi(3) of the normal table (NIST/SEMATECH e-Handbook of Statistical
    /// Methods, 1.3.6.7.1), to more digits.
    #[test]
    fn one_normal_error_follows_the_normal_table() {
        let table = [(1.0, 0.841_344_746_1), (1.96, 0.975_002_104_9), (3.0, 0.998_650_102_0)];
        for (z, phi) in table {
            near(alone(&[normal(2.0, 1.0, 0.0)], 2.0 * z, NONE), phi, 1e-9);
            near(alone(&[normal(2.0, 1.0, 0.0)], -2.0 * z, NONE), 1.0 - phi, 1e-9);
        }
    }

    /// C, A, B rectangular within +-1, C + A within +-1, B - C at least -1. At C = c the first has
    /// the probability 1 - |c|/2, the second 1 - c/2 where c > 0 and 1 where c < 0. Half the
    /// integrals of (1 - c/2) and (1 - c/2)^2 from 0 to 1 is 1/2 (3/4 + 7/12) = 2/3.
    #[test]
    fn a_common_error_ties_the_windows_as_integrated_by_hand() {
        let errors = [rect(1.0, 1.0, -1.0), rect(1.0, 1.0, 0.0), rect(1.0, 0.0, 1.0)];
        near(within(&errors, [1.0, 1.0], [1.0, NONE]), 2.0 / 3.0, 1e-9);
    }

    /// x and y rectangular within +-1, x + y and x - y at least -1/2: the part of the square with
    /// x >= |y| - 1/2 has the area 2 of 4, the integral of 3/2 - |y| from -1 to 1.
    #[test]
    fn two_errors_of_different_ratio_share_the_square_as_integrated_by_hand() {
        let errors = [rect(1.0, 1.0, 1.0), rect(1.0, 1.0, -1.0)];
        near(within(&errors, [0.5, NONE], [0.5, NONE]), 0.5, 1e-4);
    }

    /// Seven normals at equal angles: preload and reserve are uncorrelated, of variance 7/2 each,
    /// so that their probabilities multiply.
    #[test]
    fn normals_of_many_ratios_give_the_product_of_the_normal_table() {
        let angles = [0.3, 1.3, 2.3, 3.3, 4.3, 5.3, 6.3].map(|i| i * PI / 7.0);
        let errors = angles.map(|angle| normal(1.0, angle.cos(), angle.sin()));
        let sd = 3.5_f64.sqrt();
        let expected = 0.841_344_746_1 * (2.0 * 0.975_002_104_9 - 1.0);
        near(within(&errors, [sd, NONE], [1.96 * sd, 1.96 * sd]), expected, 1e-4);
    }

    /// Ratios that differ by parts in ten thousand are averaged over, and change next to nothing.
    #[test]
    fn the_average_over_other_ratios_agrees_with_the_common_integral() {
        let alone = [rect(0.5, 1.0, 0.0), normal(0.3, 0.0, 1.0)];
        let widths = [2.0, 1.5, 0.7, 0.6, 0.3];
        for count in 2..=5 {
            let found = [0.0, 1e-4].map(|tilt| {
                let ratios = (0..count).map(|i| -1.0 - tilt * f64::from(i));
                let tilted = ratios.zip(widths).map(|(ratio, w)| rect(w, 1.0, ratio));
                let errors: Vec<_> = alone.into_iter().chain(tilted).collect();
                within(&errors, [1.2, 2.5], [0.4, NONE])
            });
            near(found[1], found[0], 3e-4);
        }
    }

    #[test]
    fn swapping_the_sums_or_turning_every_error_round_changes_nothing() {
        let common = [rect(3.0, 1.0, -0.8), normal(0.7, 1.0, -0.8)];
        let errors = [common.to_vec(), vec![rect(1.0, 1.0, 0.0), rect(2.0, 0.0, 1.0)]].concat();
        let found = within(&errors, [1.0, 2.0], [0.5, 3.0]);
        near(within(&errors, [2.0, 1.0], [3.0, 0.5]), found, 1e-7);
        let mut swapped = errors;
        for e in &mut swapped {
            (e.to_preload, e.to_reserve) = (e.to_reserve, e.to_preload);
        }
        near(within(&swapped, [0.5, 3.0], [1.0, 2.0]), found, 1e-7);
    }

    /// C within +-1, A and B within +-d: edges at d - 1 cut the length d on average off either end
    /// of C, of 2; well inside, C alone decides.
    #[test]
    fn a_dominating_rectangle_keeps_its_corners() {
        for d in [1e-3, 1e-6, 1e-9] {
            let errors = [rect(d, 1.0, 0.0), rect(1.0, 1.0, -1.0), rect(d, 0.0, 1.0)];
            let edge = [1.0 - d, NONE];
            near(within(&errors, edge, edge), 1.0 - d, 1e-9);
            near(within(&errors, [0.5, NONE], [-0.2, NONE]), 0.15, 1e-9);
        }
    }

    #[test]
    fn a_window_around_all_extremes_is_certain_and_one_beyond_them_impossible() {
        let common = [rect(0.1, 1.0, -1.0), rect(0.7, 1.0, -1.0)];
        let errors = [common.to_vec(), vec![rect(0.2, 1.0, 0.0), rect(0.3, 0.0, 2.0)]].concat();
        near(within(&errors, [1.0, 1.0], [1.4, 1.4]), 1.0, 0.0);
        near(within(&errors, [1.0, 1.0], [-1.5, NONE]), 0.0, 0.0);
        near(alone(&errors, -1.1, 2.0), 0.0, 0.0);
        near(alone(&errors, -0.2, 0.1), 0.0, 0.0);
        // Each window can be met alone, but the sum of both errors cannot exceed .2 + .6.
        near(within(&errors, [-0.45, NONE], [-0.45, NONE]), 0.0, 0.0);
    }

    #[test]
    fn without_errors_the_edges_belong_to_the_window() {
        for errors in [vec![], vec![rect(0.0, 1.0, -1.0), normal(0.0, 1.0, 1.0)]] {
            near(within(&errors, [0.0, 0.0], [0.0, NONE]), 1.0, 0.0);
            near(within(&errors, [0.0, -1e-9], [0.0, NONE]), 0.0, 0.0);
            near(within(&errors, [1.0, NONE], [-1e-9, NONE]), 0.0, 0.0);
        }
        assert!(alone(&[rect(f64::NAN, 1.0, 0.0)], 1.0, 1.0).is_nan());
    }
}
