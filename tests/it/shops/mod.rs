//! Small random shops as real ones are, each with a job, by their numbers.

#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_possible_wrap,
    clippy::cast_sign_loss,
    reason = "only small numbers are drawn, and none below zero is cast"
)]

mod car;
mod parts;
mod seen;

pub(crate) use parts::{RealShop, real};

/// A small seeded generator of numbers (splitmix64), so that every failure can be repeated.
pub(crate) struct Dice(u64);

impl Dice {
    pub(crate) fn new(seed: u64) -> Self {
        Self(seed)
    }

    pub(crate) fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A number from `low` to `high`, both included.
    pub(crate) fn range(&mut self, low: i64, high: i64) -> i64 {
        low + (self.next() % (high - low + 1) as u64) as i64
    }

    /// True in `percent` of cases.
    pub(crate) fn chance(&mut self, percent: i64) -> bool {
        self.range(0, 99) < percent
    }

    pub(crate) fn pick<'t, T>(&mut self, from: &'t [T]) -> &'t T {
        &from[self.range(0, from.len() as i64 - 1) as usize]
    }
}
