//! The probability that preload and wear reserve both land inside their windows.
//!
//! Every error is rectangular or normal and independent of the others; preload and reserve are
//! each a weighted sum of them. Nearly every error moves one of the two sums alone, or both in one
//! fixed ratio k (a length that preload gains is lost to reserve). The errors of that ratio form
//! one common sum C; once C is known the two sums are independent, so the probability is the
//! integral of `f_C(c) P(A in preload window - c) P(B in reserve window - k c) dc`, with A and B
//! the errors of one sum alone. Each of the three is convolved from its own rectangles and
//! normals, never replaced by one normal. Errors of any other ratio are averaged over outside that
//! integral by a fixed lattice rule.
#![allow(
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "only cell numbers are cast: not negative, and below a few thousand"
)]

use std::f64::consts::{PI, SQRT_2};

use statrs::function::erf::{erf_inv, erfc};

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
/// an edge is not a number. It is repeatable, and off by less than 1e-5 where the errors that move
/// both sums do so in one ratio, by less than 1e-3 otherwise. The distribution of a sum is the
/// convolution of its inputs' (JCGM 101:2008, 9.2, does it for four rectangles).
pub fn chance(errors: &[ErrorTerm], preload: Band, reserve: Band) -> f64 {
    let mut terms: Vec<Term> = errors.iter().map(Term::of).collect();
    let [mut p, mut r] = [preload, reserve].map(|b| (-b.below, b.above.unwrap_or(f64::INFINITY)));
    let sizes = terms.iter().map(|t| t.size(t.a) + t.size(t.b));
    if [p.0, p.1, r.0, r.1].iter().any(|edge| edge.is_nan()) || !sizes.sum::<f64>().is_finite() {
        return f64::NAN;
    }
    let reach_p: f64 = terms.iter().map(|t| t.reach(t.a)).sum();
    let reach_r: f64 = terms.iter().map(|t| t.reach(t.b)).sum();
    let missed = |span: Span, reach| span.0 > span.1 || span.0 > reach || span.1 < -reach;
    if missed(p, reach_p) || missed(r, reach_r) {
        return 0.0;
    }
    // A window that cannot be left asks nothing of its sum. The caller may have added the same
    // extremes in another order, so an edge that equals them up to rounding still holds them.
    let held = |span: Span, reach: f64| (-span.0).min(span.1) >= reach * (1.0 - 1e-12);
    let (held_p, held_r) = (held(p, reach_p), held(r, reach_r));
    if held_p {
        p = EVERYWHERE;
    }
    if held_r {
        r = EVERYWHERE;
    }
    // What asks nothing drops out; so does a share too small to matter, which only costs time.
    let total_p: f64 = terms.iter().map(|t| t.size(t.a)).sum();
    let total_r: f64 = terms.iter().map(|t| t.size(t.b)).sum();
    for t in &mut terms {
        if held_p || t.size(t.a) <= NEGLIGIBLE * total_p {
            t.a = 0.0;
        }
        if held_r || t.size(t.b) <= NEGLIGIBLE * total_r {
            t.b = 0.0;
        }
    }
    let (both, alone): (Vec<Term>, Vec<Term>) =
        terms.iter().partition(|t| t.a != 0.0 && t.b != 0.0);
    // The common ratio is the one whose errors together weigh most.
    let weight = |k: f64| -> f64 { both.iter().filter(|t| t.shares(k)).map(Term::weight).sum() };
    let ratios = both.iter().map(|t| (weight(t.b / t.a), t.b / t.a));
    let heaviest = ratios.max_by(|x, y| x.0.total_cmp(&y.0));
    let ratio = heaviest.map_or(-1.0, |(_, k)| k);
    let (common, mut rest): (Vec<Term>, Vec<Term>) = both.iter().partition(|t| t.shares(ratio));
    rest.sort_by(|x, y| y.weight().total_cmp(&x.weight()));
    let chain = Chain {
        common: Sum::of(&common, |t| t.a),
        ratio,
        preload: Sum::of(&alone, |t| t.a),
        reserve: Sum::of(&alone, |t| t.b),
    };
    chain.averaged(&rest, p, r).clamp(0.0, 1.0)
}

/// Share of a whole under which a part is left out.
const NEGLIGIBLE: f64 = 1e-7;
/// Relative difference under which two ratios of coefficients count as the same.
const SAME_RATIO: f64 = 1e-6;
/// Standard deviations after which a normal tail is nil in double precision.
const TAIL: f64 = 8.3;
/// Cells between zero and the end of a tabulated distribution.
const CELLS: usize = 768;
/// Positive nodes and weights of the ten-point Gauss-Legendre rule (Abramowitz and Stegun,
/// Handbook of Mathematical Functions, table 25.4).
const GAUSS: [(f64, f64); 5] = [
    (0.148_874_338_981_631_22, 0.295_524_224_714_752_9),
    (0.433_395_394_129_247_16, 0.269_266_719_309_996_3),
    (0.679_409_568_299_024_4, 0.219_086_362_515_982_04),
    (0.865_063_366_688_984_5, 0.149_451_349_150_580_6),
    (0.973_906_528_517_171_7, 0.066_671_344_308_688_14),
];

/// Lower and upper end of an interval.
type Span = (f64, f64);

const EVERYWHERE: Span = (f64::NEG_INFINITY, f64::INFINITY);

/// An error: half-width if rectangular, standard deviation if normal, the other of the two zero;
/// and its coefficients to preload and reserve.
#[derive(Clone, Copy)]
struct Term {
    half: f64,
    sd: f64,
    a: f64,
    b: f64,
}

impl Term {
    fn of(error: &ErrorTerm) -> Self {
        let (half, sd) = match error.shape {
            Shape::Rectangular { half_width } => (half_width.abs(), 0.0),
            Shape::Normal { u } => (0.0, u.abs()),
        };
        let (a, b) = (error.to_preload, error.to_reserve);
        Term { half, sd, a, b }
    }

    /// The standard deviation this error gives a sum it enters with this coefficient.
    fn size(&self, factor: f64) -> f64 {
        factor.abs() * (self.half / 3.0_f64.sqrt() + self.sd)
    }

    /// The farthest this error can move a sum it enters with this coefficient.
    fn reach(&self, factor: f64) -> f64 {
        let normal = self.sd * factor != 0.0;
        if normal {
            f64::INFINITY
        } else {
            self.half * factor.abs()
        }
    }

    fn weight(&self) -> f64 {
        self.size(self.a).powi(2) + self.size(self.b).powi(2)
    }

    fn shares(&self, ratio: f64) -> bool {
        (self.b - ratio * self.a).abs() <= SAME_RATIO * self.b.abs()
    }

    /// The value that is not exceeded with probability `q`.
    fn quantile(&self, q: f64) -> f64 {
        self.half * (2.0 * q - 1.0) + self.sd * SQRT_2 * erf_inv(2.0 * q - 1.0)
    }
}

/// The three independent sums of the chain; the common one enters reserve times `ratio`.
struct Chain {
    common: Sum,
    ratio: f64,
    preload: Sum,
    reserve: Sum,
}

impl Chain {
    /// Averages over the errors that move both sums, but not in the common ratio.
    ///
    /// Point j of the lattice has the coordinates `j g^i / n`, which for one or two errors is the
    /// midpoint rule or the Fibonacci lattice. Folding the coordinates (the tent transformation)
    /// makes the integrand periodic; the quarter step keeps folded points apart and off the ends.
    fn averaged(&self, rest: &[Term], p: Span, r: Span) -> f64 {
        let (points, generator): (u32, u32) = match rest.len() {
            0 => return self.inside(p, r),
            1 => (96, 1),
            2 => (987, 610),
            _ => (4093, 1516),
        };
        let mut total = 0.0;
        for j in 0..points {
            let (mut index, mut x, mut y) = (j, 0.0, 0.0);
            for t in rest {
                let u = (f64::from(index) + 0.25) / f64::from(points);
                let e = t.quantile(1.0 - (2.0 * u - 1.0).abs());
                x += t.a * e;
                y += t.b * e;
                index = index * generator % points;
            }
            total += self.inside((p.0 - x, p.1 - x), (r.0 - y, r.1 - y));
        }
        total / f64::from(points)
    }

    /// The integral over the common sum.
    fn inside(&self, p: Span, r: Span) -> f64 {
        let (c, k) = (&self.common, self.ratio);
        if c.reach == 0.0 {
            return self.preload.within(p) * self.reserve.within(r);
        }
        let inside = |x: f64| match self.preload.within((p.0 - x, p.1 - x)) {
            0.0 => 0.0,
            a => a * self.reserve.within((r.0 - k * x, r.1 - k * x)),
        };
        // Between neighbouring bends of the three distributions the integrand is smooth, and a
        // Gauss rule is accurate there however narrow one of them is beside the others.
        let bends_p = self.preload.bends();
        let bends_r = self.reserve.bends().map(|b| b / k);
        let around = |edge: f64, bends: [f64; 6]| bends.into_iter().map(move |b| edge + b);
        let mut cuts = [c.reach; 32];
        let bends = around(0.0, c.bends())
            .chain(around(p.0, bends_p))
            .chain(around(p.1, bends_p))
            .chain(around(r.0 / k, bends_r))
            .chain(around(r.1 / k, bends_r));
        for (cut, bend) in cuts.iter_mut().zip(bends) {
            *cut = bend.clamp(-c.reach, c.reach);
        }
        cuts.sort_unstable_by(f64::total_cmp);
        let mut total = 0.0;
        for (&from, &to) in cuts.iter().zip(&cuts[1..]) {
            let (mid, half) = (f64::midpoint(from, to), (to - from) / 2.0);
            if half <= 0.0 {
                continue;
            }
            // Both factors rise and then fall, so a piece whose ends lose nothing loses nothing.
            let near_end = half * (1.0 - 1e-9);
            if inside(mid - near_end) >= 1.0 && inside(mid + near_end) >= 1.0 {
                total += c.cdf(to) - c.cdf(from);
                continue;
            }
            for (node, weight) in GAUSS {
                let at = |x: f64| c.density(x) * inside(x);
                total += weight * half * (at(mid - node * half) + at(mid + node * half));
            }
        }
        total
    }
}

/// The distribution of a sum of rectangles and normals about zero.
///
/// The widest rectangle stays exact: with J the integral of the other errors' distribution
/// function, the sum has the distribution function `(J(x + w) - J(x - w)) / 2w`.
struct Sum {
    widest: f64,
    sd: f64,
    others: Table,
    reach: f64,
}

impl Sum {
    fn of(terms: &[Term], factor: impl Fn(&Term) -> f64) -> Self {
        let sd = terms
            .iter()
            .map(|t| (t.sd * factor(t)).powi(2))
            .sum::<f64>()
            .sqrt();
        let mut widths: Vec<f64> = terms.iter().map(|t| t.half * factor(t).abs()).collect();
        let least = NEGLIGIBLE * (widths.iter().sum::<f64>() + sd);
        widths.retain(|w| *w > least);
        widths.sort_by(|x, y| y.total_cmp(x));
        let widest = widths.first().copied().unwrap_or(0.0);
        let others = Table::of(widths.split_off(widths.len().min(1)), sd);
        let reach = widest + others.reach;
        Sum {
            widest,
            sd,
            others,
            reach,
        }
    }

    /// Probability of a value not above `x`, for a sum that does vary.
    fn cdf(&self, x: f64) -> f64 {
        let w = self.widest;
        if x.abs() >= self.reach {
            f64::from(u8::from(x > 0.0))
        } else if w == 0.0 {
            normal_cdf(x / self.sd)
        } else {
            0.5 + (self.others.area(x + w) - self.others.area(x - w)) / (2.0 * w)
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

    fn within(&self, span: Span) -> f64 {
        if self.reach == 0.0 {
            f64::from(u8::from(span.0 <= 0.0 && span.1 >= 0.0))
        } else {
            self.cdf(span.1) - self.cdf(span.0)
        }
    }

    /// Where the distribution function starts, bends and ends.
    fn bends(&self) -> [f64; 6] {
        let (inner, outer) = (2.0 * self.widest - self.reach, self.reach);
        [-outer, -self.widest, -inner, inner, self.widest, outer]
    }
}

fn normal_cdf(z: f64) -> f64 {
    0.5 * erfc(-z / SQRT_2)
}

/// A distribution function F about zero, tabulated from zero to its reach in equal steps: the odd
/// part G = F - 1/2, and its integral J from zero. Outside, G is 1/2 and J a straight line.
struct Table {
    reach: f64,
    step: f64,
    end: f64,
    odd: Vec<f64>,
    area: Vec<f64>,
}

/// Entry of a table that stands for zero; the entries before it mirror those after it.
const ZERO: usize = CELLS + 1;

impl Table {
    /// Convolves a normal with rectangles, given from the widest on.
    fn of(mut widths: Vec<f64>, sd: f64) -> Self {
        let reach = widths.iter().sum::<f64>() + TAIL * sd;
        let step = reach / CELLS as f64;
        let (mut odd, mut area) = (Vec::new(), Vec::new());
        if reach > 0.0 {
            let cells = (0..=CELLS).map(|i| i as f64 * step);
            let mut half: Vec<f64>;
            if sd >= 3.0 * step {
                half = cells.map(|x| normal_cdf(x / sd) - 0.5).collect();
            } else {
                // A normal under three cells wide cannot be told from a rectangle of its variance.
                widths.push(sd * 3.0_f64.sqrt());
                let first = widths.remove(0);
                half = cells.map(|x| (x / (2.0 * first)).min(0.5)).collect();
            }
            (odd, area) = mirrored(&half, step);
            for w in widths.into_iter().filter(|w| *w > 0.0) {
                widen(&mut half, &odd, &area, w, step);
                (odd, area) = mirrored(&half, step);
            }
        }
        let end = area.get(ZERO + CELLS).copied().unwrap_or(0.0);
        Table {
            reach,
            step,
            end,
            odd,
            area,
        }
    }

    /// J at `x`, by cubic Hermite interpolation (G is its slope).
    fn area(&self, x: f64) -> f64 {
        let x = x.abs();
        if x >= self.reach {
            return self.end + (x - self.reach) / 2.0;
        }
        let (i, t) = split(x / self.step);
        let [j0, j1, g0, g1] = hermite(t);
        let (area, odd) = (&self.area[ZERO + i..], &self.odd[ZERO + i..]);
        j0 * area[0] + j1 * area[1] + self.step * (g0 * odd[0] + g1 * odd[1])
    }

    /// G at `x`: the slope of J as `area` interpolates it.
    fn odd(&self, x: f64) -> f64 {
        let y = x.abs();
        if y >= self.reach {
            return 0.5 * x.signum();
        }
        let (i, t) = split(y / self.step);
        let (area, odd) = (&self.area[ZERO + i..], &self.odd[ZERO + i..]);
        let rise = 6.0 * t * (1.0 - t) * (area[1] - area[0]) / self.step;
        x.signum() * (rise + (1.0 - t) * (1.0 - 3.0 * t) * odd[0] + t * (3.0 * t - 2.0) * odd[1])
    }
}

/// Cell number and place within the cell, at most one past the last cell.
fn split(cells: f64) -> (usize, f64) {
    let whole = cells.floor().min(CELLS as f64);
    (whole as usize, cells - whole)
}

/// Weights of the two values and of the two slopes (times the step) in a cell, at `t` of 0 to 1.
fn hermite(t: f64) -> [f64; 4] {
    let s = 1.0 - t;
    [
        s * s * (1.0 + 2.0 * t),
        t * t * (3.0 - 2.0 * t),
        t * s * s,
        -t * t * s,
    ]
}

/// G and J on both sides of zero and past the reach, from G on the table's own steps.
fn mirrored(half: &[f64], step: f64) -> (Vec<f64>, Vec<f64>) {
    let mut odd = vec![0.5; ZERO + 2 * CELLS + 3];
    odd[..ZERO].fill(-0.5);
    odd[ZERO..=ZERO + CELLS].copy_from_slice(half);
    for (left, g) in odd[1..ZERO].iter_mut().rev().zip(&half[1..]) {
        *left = -g;
    }
    // Each cell adds the integral of the cubic through the four nodes about it.
    let mut area = vec![0.0; odd.len()];
    let mut sum = 0.0;
    for (cell, g) in area[ZERO + 1..].iter_mut().zip(odd[ZERO - 1..].windows(4)) {
        sum += step / 24.0 * (13.0 * (g[1] + g[2]) - g[0] - g[3]);
        *cell = sum;
    }
    let (left, right) = area.split_at_mut(ZERO);
    for (l, r) in left.iter_mut().rev().zip(&right[1..]) {
        *l = *r;
    }
    (odd, area)
}

/// Convolves with a rectangle of half-width `w`: F becomes its own mean over `x - w` to `x + w`,
/// taken from J by the interpolation of [`Table::area`].
fn widen(half: &mut [f64], odd: &[f64], area: &[f64], w: f64, step: f64) {
    let (k, t) = split(w / step);
    let [j0, j1, g0, g1] = hermite(t).map(|c| c / (2.0 * w));
    let (g0, g1) = (g0 * step, g1 * step);
    let above = area[ZERO + k..].windows(2).zip(odd[ZERO + k..].windows(2));
    let below = area[ZERO - k - 1..]
        .windows(2)
        .zip(odd[ZERO - k - 1..].windows(2));
    for ((g, (j_up, g_up)), (j_down, g_down)) in half.iter_mut().zip(above).zip(below) {
        *g = j0 * (j_up[0] - j_down[1])
            + j1 * (j_up[1] - j_down[0])
            + g0 * (g_up[0] + g_down[1])
            + g1 * (g_up[1] + g_down[0]);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The window that asks nothing.
    const OPEN: Band = Band {
        below: f64::INFINITY,
        above: None,
    };

    fn band(below: f64, above: f64) -> Band {
        Band {
            below,
            above: Some(above),
        }
    }

    fn floor(below: f64) -> Band {
        Band { below, above: None }
    }

    fn rect(half_width: f64, to_preload: f64, to_reserve: f64) -> ErrorTerm {
        ErrorTerm {
            shape: Shape::Rectangular { half_width },
            to_preload,
            to_reserve,
        }
    }

    fn normal(u: f64, to_preload: f64, to_reserve: f64) -> ErrorTerm {
        ErrorTerm {
            shape: Shape::Normal { u },
            to_preload,
            to_reserve,
        }
    }

    #[track_caller]
    fn near(found: f64, expected: f64, within: f64) {
        assert!(
            (found - expected).abs() <= within,
            "{found} is not {expected}"
        );
    }

    /// Shigley's Mechanical Engineering Design, 9th ed., example 1-3, p. 20: w = a - b - c - d with
    /// a = 1.750 +- .003, b = .750 +- .001, c = .120 +- .005, d = .875 +- .001 inch, so that
    /// w = .005 +- .010 inch. The probabilities are not in the book: they are computed from its
    /// figures, exactly, for independent rectangles and for normals of a third of the tolerance.
    #[test]
    fn the_gap_of_shigleys_example_has_its_exact_probabilities() {
        let mil = 25_400.0;
        let chain = [(3.0, 1.0), (1.0, -1.0), (5.0, -1.0), (1.0, -1.0)];
        let rects = chain.map(|(t, a)| rect(t * mil, a, 0.0));
        near(chance(&rects, floor(2.0 * mil), OPEN), 251.0 / 360.0, 1e-6);
        near(
            chance(&rects, band(5.0 * mil, 5.0 * mil), OPEN),
            151.0 / 180.0,
            1e-6,
        );
        near(chance(&rects, band(10.0 * mil, 10.0 * mil), OPEN), 1.0, 0.0);
        let normals = chain.map(|(t, a)| normal(t * mil / 3.0, a, 0.0));
        near(
            chance(&normals, floor(2.0 * mil), OPEN),
            0.841_344_746_1,
            1e-9,
        );
        near(
            chance(&normals, band(5.0 * mil, 5.0 * mil), OPEN),
            0.987_580_669_3,
            1e-9,
        );
    }

    /// JCGM 101:2008, 9.2: four inputs of unit standard deviation have the 95 % interval +-3.8794
    /// if rectangular (9.2.3) and +-3.92 if normal (9.2.2).
    #[test]
    fn four_equal_inputs_have_the_coverage_interval_of_jcgm_101() {
        let rects = [rect(3.0_f64.sqrt(), 1.0, 0.0); 4];
        near(chance(&rects, band(3.8794, 3.8794), OPEN), 0.95, 3e-6);
        near(
            chance(&[normal(1.0, 0.0, 1.0); 4], OPEN, band(3.92, 3.92)),
            0.95,
            1e-5,
        );
    }

    /// Phi(1), Phi(1.96) and Phi(3): NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.1,
    /// to more digits.
    #[test]
    fn one_normal_error_follows_the_normal_table() {
        for (z, phi) in [
            (1.0, 0.841_344_746_1),
            (1.96, 0.975_002_104_9),
            (3.0, 0.998_650_102_0),
        ] {
            near(
                chance(&[normal(2.0, 1.0, 0.0)], floor(2.0 * z), OPEN),
                phi,
                1e-9,
            );
            near(
                chance(&[normal(2.0, 1.0, 0.0)], floor(-2.0 * z), OPEN),
                1.0 - phi,
                1e-9,
            );
        }
    }

    /// C, A and B rectangular within +-1, E_p = C + A within +-1, E_r = B - C at least -1. Given
    /// C = c, the first has probability 1 - |c|/2; the second 1 - c/2 for c > 0 and 1 for c < 0.
    /// So P = 1/2 (int_0^1 (1 - c/2) dc + int_0^1 (1 - c/2)^2 dc) = 1/2 (3/4 + 7/12) = 2/3.
    #[test]
    fn a_common_error_correlates_the_two_windows_as_integrated_by_hand() {
        let errors = [
            rect(1.0, 1.0, -1.0),
            rect(1.0, 1.0, 0.0),
            rect(1.0, 0.0, 1.0),
        ];
        near(chance(&errors, band(1.0, 1.0), floor(1.0)), 2.0 / 3.0, 1e-9);
    }

    /// x and y rectangular within +-1, E_p = x + y >= -1/2, E_r = x - y >= -1/2: the part of the
    /// square with x >= |y| - 1/2 has the area int (3/2 - |y|) dy = 2 of 4.
    #[test]
    fn two_errors_of_different_ratio_share_the_area_of_the_square() {
        let errors = [rect(1.0, 1.0, 1.0), rect(1.0, 1.0, -1.0)];
        near(chance(&errors, floor(0.5), floor(0.5)), 0.5, 1e-4);
    }

    /// Seven normals in seven ratios at equal angles: E_p and E_r are then uncorrelated normals of
    /// variance 7/2, so that the probabilities multiply.
    #[test]
    fn normals_of_many_ratios_give_the_product_of_the_normal_table() {
        let errors: Vec<_> = (0..7)
            .map(|i| (f64::from(i) + 0.3) * PI / 7.0)
            .map(|angle| normal(1.0, angle.cos(), angle.sin()))
            .collect();
        let sd = 3.5_f64.sqrt();
        let expected = 0.841_344_746_1 * (2.0 * 0.975_002_104_9 - 1.0);
        near(
            chance(&errors, floor(sd), band(1.96 * sd, 1.96 * sd)),
            expected,
            5e-4,
        );
    }

    /// A ratio that is off by one in ten thousand is averaged over, and changes next to nothing.
    #[test]
    fn the_general_average_agrees_with_the_common_integral() {
        let (p, r) = (band(1.2, 2.5), floor(0.4));
        for extra in [vec![1.5], vec![1.5, 0.7], vec![1.5, 0.7, 0.6, 0.3]] {
            let with = |tilt: f64| {
                let mut errors = vec![
                    rect(2.0, 1.0, -1.0),
                    rect(0.5, 1.0, 0.0),
                    normal(0.3, 0.0, 1.0),
                ];
                let tilts = [1.0, -1.0, 2.0, -2.0];
                errors.extend(
                    extra
                        .iter()
                        .zip(tilts)
                        .map(|(w, t)| rect(*w, 1.0, -1.0 - tilt * t)),
                );
                chance(&errors, p, r)
            };
            near(with(1e-4), with(0.0), 3e-4);
        }
    }

    #[test]
    fn swapping_the_sums_or_turning_every_error_round_changes_nothing() {
        let errors = [
            rect(3.0, 1.0, -0.8),
            rect(1.0, 1.0, 0.0),
            normal(0.7, 1.0, -0.8),
            rect(2.0, 0.0, 1.0),
        ];
        let (p, r) = (band(1.0, 2.0), band(0.5, 3.0));
        let found = chance(&errors, p, r);
        let swapped = errors.map(|e| ErrorTerm {
            to_preload: e.to_reserve,
            to_reserve: e.to_preload,
            ..e
        });
        near(chance(&swapped, r, p), found, 1e-7);
        near(chance(&errors, band(2.0, 1.0), band(3.0, 0.5)), found, 1e-7);
    }

    /// One rectangle of +-1 and two of +-d: the lower edge at -1 lies on the middle of the ramp.
    #[test]
    fn a_dominating_rectangle_keeps_its_corners() {
        for d in [1e-3, 1e-6, 1e-9] {
            let errors = [rect(d, 1.0, 0.0), rect(1.0, 1.0, -1.0), rect(d, 0.0, 1.0)];
            // E_p > -1 + d and E_r > -1 + d leave |c| < 1 - d, up to terms of d^2.
            near(
                chance(&errors, floor(1.0 - d), floor(1.0 - d)),
                1.0 - d,
                d * d + 1e-9,
            );
            near(chance(&errors, floor(0.5), floor(-0.2)), 0.15, 1e-9);
        }
    }

    #[test]
    fn a_window_around_all_extremes_is_certain_and_one_beyond_them_impossible() {
        let errors = [
            rect(0.1, 1.0, -1.0),
            rect(0.2, 1.0, 0.0),
            rect(0.7, 1.0, -1.0),
            rect(0.3, 0.0, 2.0),
        ];
        assert!((chance(&errors, band(1.0, 1.0), band(1.4, 1.4)) - 1.0).abs() == 0.0);
        assert!(chance(&errors, band(1.0, 1.0), floor(-1.5)) == 0.0);
        assert!(chance(&errors, band(-1.1, 2.0), OPEN) == 0.0);
        // Each window can be met, but E_p + E_r cannot exceed .2 + .6.
        assert!(chance(&errors, floor(-0.45), floor(-0.45)) == 0.0);
        assert!(chance(&errors, band(-0.2, 0.1), OPEN) == 0.0);
    }

    #[test]
    fn without_errors_the_edges_belong_to_the_window() {
        for errors in [vec![], vec![rect(0.0, 1.0, -1.0), normal(0.0, 1.0, 1.0)]] {
            assert!(chance(&errors, band(0.0, 0.0), floor(0.0)) == 1.0);
            assert!(chance(&errors, band(0.0, -1e-9), floor(0.0)) == 0.0);
            assert!(chance(&errors, floor(1.0), floor(-1e-9)) == 0.0);
        }
        assert!(chance(&[rect(f64::NAN, 1.0, 0.0)], OPEN, OPEN).is_nan());
    }
}
