//! The probability that preload and reserve both lie in the window: errors independent, common ones
//! counted once, rectangles added up as rectangles.
//!
//! Every error moves both numbers the same way round (what preload gains, reserve loses), or one of them
//! alone, as the two heights of a bearing do. So the two numbers are `z + e` and `r - z` of three
//! independent sums, and the probability is one integral over `z`.

use super::sum::{Known, MICRO, Sum};

/// Cells of a density, over the whole width that it may have.
const CELLS: usize = 1_600;

/// The sum of independent errors: rectangles by their half-widths, and one normal by its u.
#[derive(Debug, Clone, Default)]
struct Error {
    boxes: Vec<f64>,
    variance: f64,
}

impl Error {
    fn add(&mut self, known: Known, times: i128) {
        let times = (times as f64 / MICRO as f64).abs();
        if known.wide == known.tol {
            self.boxes.push(times * known.tol as f64);
        } else {
            self.variance += (times * known.wide as f64).powi(2) / 3.0;
        }
    }

    /// Its distribution function at cell borders.
    fn spread(&self) -> Spread {
        let mut boxes: Vec<f64> = self.boxes.iter().copied().filter(|half| *half > 0.5).collect();
        boxes.sort_by(|a, b| b.total_cmp(a));
        let u = self.variance.sqrt();
        let most = (boxes.iter().sum::<f64>() + 7.0 * u).max(1.0);
        let step = 2.0 * most / CELLS as f64;
        let at = |cell: usize| step * cell as f64 - most;
        let first = if boxes.is_empty() { 0.0 } else { boxes.remove(0) };
        let mut below: Vec<f64> = (0..=CELLS).map(|cell| first_below(at(cell), first, u)).collect();
        for half in boxes {
            // The mean of the distribution function over the rectangle.
            let sums = Sums::of(&below, most, step);
            let mean = |x: f64| (sums.at(x + half) - sums.at(x - half)) / (2.0 * half);
            below = (0..=CELLS).map(|cell| mean(at(cell))).collect();
        }
        Spread { most, step, below }
    }
}

/// A rectangle with a normal error on it, or either, or neither.
fn first_below(x: f64, half: f64, u: f64) -> f64 {
    let normal = |x: f64| if u > 0.0 { phi(x / u) } else { f64::from(x >= 0.0) };
    if half == 0.0 {
        return normal(x);
    }
    if u == 0.0 {
        return ((x + half) / (2.0 * half)).clamp(0.0, 1.0);
    }
    // The integral of phi is x phi(x) + density(x).
    let upto = |x: f64| {
        let t = x / u;
        u * (t * phi(t) + (-t * t / 2.0).exp() / (2.0 * std::f64::consts::PI).sqrt())
    };
    (upto(x + half) - upto(x - half)) / (2.0 * half)
}

/// The normal distribution function, by Abramowitz and Stegun 7.1.26 (from memory; good to 1.5e-7).
fn phi(x: f64) -> f64 {
    let t = 1.0 / (1.0 + 0.327_591_1 * (x.abs() / std::f64::consts::SQRT_2));
    let poly = t
        * (0.254_829_592
            + t * (-0.284_496_736
                + t * (1.421_413_741 + t * (-1.453_152_027 + t * 1.061_405_429))));
    let tail = poly * (-x * x / 2.0).exp() / 2.0;
    if x < 0.0 { tail } else { 1.0 - tail }
}

/// Running integral of a distribution function.
struct Sums {
    most: f64,
    step: f64,
    upto: Vec<f64>,
}

impl Sums {
    fn of(below: &[f64], most: f64, step: f64) -> Self {
        let mut upto = vec![0.0];
        for pair in below.windows(2) {
            upto.push(upto.last().unwrap() + (pair[0] + pair[1]) / 2.0 * step);
        }
        Self { most, step, upto }
    }

    fn at(&self, x: f64) -> f64 {
        let place = (x + self.most) / self.step;
        let last = self.upto.len() - 1;
        if place <= 0.0 {
            return 0.0;
        }
        if place >= last as f64 {
            return self.upto[last] + (place - last as f64) * self.step;
        }
        let cell = place as usize;
        let part = place - cell as f64;
        self.upto[cell] * (1.0 - part) + self.upto[cell + 1] * part
    }
}

struct Spread {
    most: f64,
    step: f64,
    below: Vec<f64>,
}

impl Spread {
    fn below(&self, x: f64) -> f64 {
        let place = ((x + self.most) / self.step).clamp(0.0, (self.below.len() - 1) as f64);
        let cell = (place as usize).min(self.below.len() - 2);
        let part = place - cell as f64;
        self.below[cell] * (1.0 - part) + self.below[cell + 1] * part
    }

    fn within(&self, least: f64, most: f64) -> f64 {
        (self.below(most) - self.below(least)).max(0.0)
    }
}

/// The probability that preload errs within `preload` and reserve within `reserve`: how far each may
/// go down and up, in nanometres.
pub(crate) fn chance(
    preload_sum: &Sum,
    reserve_sum: &Sum,
    preload: (f64, f64),
    reserve: (f64, f64),
) -> f64 {
    let mut errors: Vec<(super::sum::Dim, Known, i128, i128)> = Vec::new();
    let mut add = |dim, known, to_preload: i128, to_reserve: i128| match errors
        .iter_mut()
        .find(|(known_dim, ..)| *known_dim == dim)
    {
        Some((_, _, a, b)) => (*a, *b) = (*a + to_preload, *b + to_reserve),
        None => errors.push((dim, known, to_preload, to_reserve)),
    };
    for (dim, known, times) in preload_sum.effects() {
        add(dim, known, times, 0);
    }
    for (dim, known, times) in reserve_sum.effects() {
        add(dim, known, 0, times);
    }
    let (mut z, mut e, mut r) = (Error::default(), Error::default(), Error::default());
    for (dim, known, a, b) in errors {
        match (a, b) {
            (a, b) if a == -b => z.add(known, a),
            (a, 0) => e.add(known, a),
            (0, b) => r.add(known, b),
            _ => panic!("{dim:?} moves preload by {a} and reserve by {b}"),
        }
    }
    let (z, e, r) = (z.spread(), e.spread(), r.spread());
    let inside =
        |z: f64| e.within(-preload.0 - z, preload.1 - z) * r.within(z - reserve.0, z + reserve.1);
    let cells = z.below.windows(2).enumerate();
    let weighed = cells.map(|(cell, pair)| {
        let middle = z.step * (cell as f64 + 0.5) - z.most;
        (pair[1] - pair[0]) * inside(middle)
    });
    weighed.sum()
}
