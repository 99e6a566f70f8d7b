//! Numbers drawn from a seed, for the tests of single modules.

#![allow(clippy::cast_possible_wrap, reason = "31 bits are drawn")]

/// A seed, and what comes after it.
pub(crate) struct Drawn(pub(crate) u64);

impl Drawn {
    /// From zero on, less than `most`.
    pub(crate) fn below(&mut self, most: i64) -> i64 {
        self.0 =
            self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as i64 % most
    }

    /// From `low` to `high`, both included.
    pub(crate) fn from(&mut self, low: i64, high: i64) -> i64 {
        low + self.below(high - low + 1)
    }
}
