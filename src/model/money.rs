//! Prices in the catalog's one currency, as integer cents.

use std::fmt;
use std::ops::Add;

use crate::error::{Error, Result};
use crate::model::length::{Rational, fixed};

/// An amount of money in whole cents.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Cents(i64);

/// The dearest price that anybody may enter: ten million.
const DEAREST: i64 = 1_000_000_000;

impl Cents {
    /// Nothing to pay.
    pub const ZERO: Self = Self(0);

    /// An amount of `cents` cents.
    pub const fn new(cents: i64) -> Self {
        Self(cents)
    }

    /// An amount that somebody may have entered.
    ///
    /// # Errors
    ///
    /// Refuses a negative amount and one beyond ten million.
    pub fn checked(cents: i64) -> Result<Self> {
        if (0..=DEAREST).contains(&cents) {
            return Ok(Self(cents));
        }
        let why = if cents < 0 { "a negative amount" } else { "beyond ten million" };
        Err(Error::input(format!("`{}` is {why}", Self(cents))))
    }

    /// Whole cents.
    pub const fn get(self) -> i64 {
        self.0
    }

    /// Reads a decimal price such as `129.50`.
    ///
    /// # Errors
    ///
    /// Refuses negative prices, fractions of a cent, and amounts beyond ten million.
    pub fn parse(text: &str) -> Result<Self> {
        let value = Rational::parse(text.trim())?;
        let fine = value.scaled(100_000)?;
        if fine < 0 {
            return Err(Error::input(format!("`{}` is a negative amount", text.trim())));
        }
        if fine % 1000 != 0 {
            return Err(Error::input(format!("`{}` has more than two decimals", text.trim())));
        }
        i64::try_from(fine / 1000)
            .ok()
            .filter(|cents| *cents <= DEAREST)
            .map(Self)
            .ok_or_else(|| Error::input(format!("`{}` is beyond ten million", text.trim())))
    }
}

impl fmt::Display for Cents {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&fixed(self.0, 100, 2))
    }
}

impl Add for Cents {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}

impl std::iter::Sum for Cents {
    fn sum<I: Iterator<Item = Self>>(amounts: I) -> Self {
        amounts.fold(Self::ZERO, Add::add)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn prices_are_whole_cents() {
        assert_eq!(Cents::parse("129.5").unwrap().get(), 12_950);
        assert_eq!(Cents::parse("129.5").unwrap().to_string(), "129.50");
        assert!(Cents::parse("1.005").unwrap_err().to_string().contains("two decimals"));
        assert!(Cents::parse("-1").unwrap_err().to_string().contains("negative"));
        assert!(Cents::parse("1e3").unwrap_err().to_string().contains("no number"));
    }
}
