//! Error limits as bounds need them.

use crate::stack::form::{MICRO, Spread};

/// Error limits that are never more than they are in truth.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
pub(crate) struct Error {
    /// Every tolerance at its limit, nm.
    pub(crate) worst_case: i64,
    /// Three times the variance, nm^2.
    pub(crate) three_u_squared: f64,
}

impl Error {
    pub(crate) fn of(spread: &Spread) -> Self {
        let micro = MICRO as f64;
        Self {
            worst_case: (spread.worst_case / MICRO) as i64,
            three_u_squared: spread.three_u_squared as f64 / (micro * micro),
        }
    }

    #[must_use]
    pub(crate) fn plus(self, other: Self) -> Self {
        Self {
            worst_case: self.worst_case + other.worst_case,
            three_u_squared: self.three_u_squared + other.three_u_squared,
        }
    }

    #[must_use]
    pub(crate) fn least(self, other: Self) -> Self {
        Self {
            worst_case: self.worst_case.min(other.worst_case),
            three_u_squared: self.three_u_squared.min(other.three_u_squared),
        }
    }

    /// The least of several.
    pub(crate) fn least_of(all: impl Iterator<Item = Self>) -> Self {
        all.reduce(Self::least).unwrap_or_default()
    }
}
