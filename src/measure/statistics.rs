//! Mean and scatter of readings, from exact sums.

#![allow(
    clippy::cast_precision_loss,
    reason = "sums are exact; only their last quotient is a float"
)]

use crate::model::length::{divide_half_away, narrowed};

/// Readings of one thing, summed up. The sums are of differences from the first reading, in whole
/// numbers, so that no digit is lost however large the readings are beside their scatter.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Sample {
    count: usize,
    first: i64,
    sum: i128,
    squares: i128,
}

impl Sample {
    /// The readings' sums; none where there is no reading.
    pub fn of(values: impl IntoIterator<Item = i64>) -> Option<Self> {
        let mut values = values.into_iter();
        let first = values.next()?;
        let alone = Self { count: 1, first, sum: 0, squares: 0 };
        Some(values.fold(alone, |known, value| {
            let apart = i128::from(value) - i128::from(first);
            Self {
                count: known.count + 1,
                sum: known.sum + apart,
                squares: known.squares + apart * apart,
                ..known
            }
        }))
    }

    /// The readings without one of them; none where it is the only one.
    pub fn without(self, value: i64) -> Option<Self> {
        let apart = i128::from(value) - i128::from(self.first);
        (self.count > 1).then(|| Self {
            count: self.count - 1,
            sum: self.sum - apart,
            squares: self.squares - apart * apart,
            ..self
        })
    }

    /// How many they are.
    pub const fn count(&self) -> usize {
        self.count
    }

    /// How many, as a number to reckon with.
    pub fn n(&self) -> f64 {
        self.count as f64
    }

    /// The mean.
    pub fn mean(&self) -> f64 {
        self.first as f64 + self.sum as f64 / self.n()
    }

    /// The mean as a whole number, rounded once, half away from zero.
    pub fn whole_mean(&self) -> i64 {
        let n = self.count as i128;
        // Between the least and the largest of them, so it fits as they do.
        narrowed(divide_half_away(self.sum + i128::from(self.first) * n, n))
    }

    /// What the readings say of their scatter; none of a single one.
    pub fn scatter(&self) -> Option<Scatter> {
        let n = self.count as i128;
        // n times the sum of squares about the mean: exact.
        let about_mean = n * self.squares - self.sum * self.sum;
        let variance = about_mean as f64 / (self.n() * (self.n() - 1.0));
        (n > 1).then_some(Scatter { variance, nu: self.n() - 1.0 })
    }
}

/// A variance with the degrees of freedom behind it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scatter {
    /// The variance of a single reading.
    pub variance: f64,
    /// Degrees of freedom.
    pub nu: f64,
}

impl Scatter {
    /// The standard deviation.
    pub fn s(self) -> f64 {
        self.variance.sqrt()
    }

    /// The pooled scatter, `s_p^2 = sum of nu s^2 / sum of nu`; none of nothing.
    pub fn pooled(all: impl IntoIterator<Item = Self>) -> Option<Self> {
        let (squares, nu) = all
            .into_iter()
            .fold((0.0, 0.0), |(squares, nu), one| (squares + one.nu * one.variance, nu + one.nu));
        (nu > 0.0).then(|| Self { variance: squares / nu, nu })
    }
}
