//! The distribution of a sum of independent errors, and integrals over it.

#![allow(
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "only counts of cells are cast: not negative, and below a few thousand"
)]

use std::f64::consts::PI;

use super::table::Distribution;
use super::term::{Contribution, NEGLIGIBLE, normal_cdf};

/// Positive nodes and weights of the ten-point Gauss-Legendre rule (Abramowitz and Stegun,
/// Handbook of Mathematical Functions, table 25.4).
const GAUSS: [(f64, f64); 5] = [
    (0.148_874_338_981_631_22, 0.295_524_224_714_752_9),
    (0.433_395_394_129_247_16, 0.269_266_719_309_996_3),
    (0.679_409_568_299_024_4, 0.219_086_362_515_982_04),
    (0.865_063_366_688_984_5, 0.149_451_349_150_580_6),
    (0.973_906_528_517_171_7, 0.066_671_344_308_688_14),
];

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

/// The distribution of a sum of rectangles and normals about zero: the widest rectangle, exact,
/// and a table of the other errors.
pub(super) struct Sum {
    widest: f64,
    second: f64,
    sd: f64,
    pub(super) reach: f64,
    others: Distribution,
}

impl Sum {
    /// What these errors give preload or reserve together.
    pub(super) fn of(terms: &[Contribution], axis: usize) -> Self {
        let variance: f64 = terms.iter().map(|t| (t.sd * t.k[axis]).powi(2)).sum();
        let sd = variance.sqrt();
        let mut widths: Vec<f64> = terms.iter().map(|t| t.half * t.k[axis].abs()).collect();
        let least = NEGLIGIBLE * (widths.iter().sum::<f64>() + sd);
        widths.retain(|w| *w > least);
        widths.sort_by(|x, y| y.total_cmp(x));
        let [widest, second] = [0, 1].map(|i| widths.get(i).copied().unwrap_or(0.0));
        let others = Distribution::of(widths.get(1..).unwrap_or_default(), sd);
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
    pub(super) fn within(&self, [low, high]: [f64; 2]) -> f64 {
        if self.reach == 0.0 {
            f64::from(u8::from(low <= 0.0 && high >= 0.0))
        } else {
            self.cdf(high) - self.cdf(low)
        }
    }

    /// Where the distribution function starts, bends and ends.
    pub(super) fn bends(&self) -> [f64; 8] {
        let (w, v, end) = (self.widest, self.second, self.others.reach);
        [w + end, w + v, w - v, w - end, end - w, v - w, -v - w, -end - w]
    }

    /// Mean of a probability that rises and then falls with the value of this sum. Between
    /// neighbouring bends of the two it is smooth, and a Gauss rule is accurate there however
    /// narrow the pieces are.
    pub(super) fn mean(&self, mut bends: Vec<f64>, value: impl Fn(f64) -> f64) -> f64 {
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
    pub(super) fn points(&self, longest: f64) -> Vec<(f64, f64)> {
        let mut bends = self.bends();
        bends.sort_unstable_by(f64::total_cmp);
        let pieces = bends.iter().zip(&bends[1..]).filter(|(from, to)| from < to);
        let nodes = pieces.flat_map(|(from, to)| gauss(*from, *to, longest));
        nodes.map(|(x, w)| (x, w * self.density(x))).collect()
    }
}
