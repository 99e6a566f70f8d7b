//! A value of the library or of a job, and how closely it is known.

use crate::model::length::{Length, Ratio};

/// A value with its tolerance (limit half-width), both in the base unit of its quantity.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Entry {
    /// The value.
    pub value: i64,
    /// The limit half-width, where one was given.
    pub tol: Option<i64>,
    /// What was measured that it rests on; none where it is as somebody stated it.
    pub evidence: Option<Evidence>,
}

/// What a measured or predicted value rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Evidence {
    /// Readings of the piece itself, or its sisters.
    pub basis: Basis,
    /// The half-width of the rectangle that is as uncertain as the value: the root of three times
    /// its u, rounded up. Never more than the tolerance.
    pub wide: i64,
    /// Whether something that counts in it was assumed: an instrument's limit of error, a scatter
    /// that nobody has measured yet, a tolerance that its maker never stated.
    pub assumed: bool,
}

/// What the tolerance of a value rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Basis {
    /// Stated with the value of a part.
    Listed,
    /// Stated with a reading of the job.
    Read,
    /// The shop's own, in place of a missing one.
    Assumed,
    /// Read on the piece itself.
    Measured {
        /// How many readings count.
        readings: usize,
    },
    /// What the next piece is likely to be, from pieces of the same number.
    Predicted {
        /// How many pieces were measured.
        pieces: usize,
    },
}

impl Basis {
    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Listed => "listed",
            Self::Read => "read",
            Self::Assumed => "assumed",
            Self::Measured { .. } => "measured",
            Self::Predicted { .. } => "predicted",
        }
    }
}

/// How closely a value is known, in its base unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Accuracy {
    /// The limit half-width, which the worst case counts.
    pub tol: i64,
    /// The half-width of the rectangle of its u, which the variance counts: u^2 = wide^2 / 3
    /// (JCGM 100:2008, 4.3.7). A tolerance counts as such a rectangle itself; the errors of what
    /// was measured are normal, and their limit lies further out than that.
    pub wide: i64,
    /// Whether something in it was assumed.
    pub assumed: bool,
    /// What it rests on.
    pub basis: Basis,
}

impl Accuracy {
    /// That of a stated tolerance.
    pub const fn stated(tol: i64) -> Self {
        Self { tol, wide: tol, assumed: false, basis: Basis::Listed }
    }

    /// That of the shop's own tolerance in place of a missing one.
    pub const fn assumed(tol: i64) -> Self {
        Self { tol, wide: tol, assumed: true, basis: Basis::Assumed }
    }

    /// Whether the errors are those of a rectangle that ends at the tolerance; normal otherwise.
    pub const fn is_rectangular(self) -> bool {
        self.wide == self.tol
    }
}

impl Entry {
    /// A value as somebody stated it.
    pub const fn new(value: i64, tol: Option<i64>) -> Self {
        Self { value, tol, evidence: None }
    }

    /// A length without a stated tolerance.
    pub const fn length(value: Length) -> Self {
        Self::new(value.nm(), None)
    }

    /// The value as a length.
    pub const fn as_length(self) -> Length {
        Length::from_nm(self.value)
    }

    /// The value as a ratio.
    pub const fn as_ratio(self) -> Ratio {
        Ratio::from_millionths(self.value)
    }

    /// How closely it is known; the shop's own tolerance stands in for a missing one.
    pub fn accuracy(self, own: impl FnOnce() -> i64) -> Accuracy {
        let basis = self.evidence.map(|evidence| evidence.basis);
        match (self.tol, self.evidence) {
            (Some(tol), Some(Evidence { basis, wide, assumed })) => {
                Accuracy { tol, wide: wide.min(tol), assumed, basis }
            }
            (Some(tol), None) => Accuracy::stated(tol),
            (None, _) => {
                let assumed = Accuracy::assumed(own());
                Accuracy { basis: basis.unwrap_or(assumed.basis), ..assumed }
            }
        }
    }
}
