//! Prices in the catalog's one currency, as integer cents.

use std::fmt;
use std::ops::Add;

use crate::error::{Error, Result};
use crate::model::length::fixed;
use crate::model::number::Rational;

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

    /// Reads a price in the catalog's currency: `129.50`, `129.50 USD`, `$129.50`.
    ///
    /// # Errors
    ///
    /// As [`Cents::parse`]; also refuses a price in another currency by its name.
    pub fn parse_in(text: &str, currency: &str) -> Result<Self> {
        let text = text.trim();
        let is_number = |c: char| c.is_ascii_digit() || "+-.,/\u{2212}".contains(c);
        let before = text.find(is_number).unwrap_or(text.len());
        let (lead, rest) = text.split_at(before);
        let end = rest
            .rfind(is_number)
            .map_or(0, |at| at + rest[at..].chars().next().map_or(0, char::len_utf8));
        let (number, tail) = rest.split_at(end);
        for named in [lead.trim(), tail.trim()].into_iter().filter(|named| !named.is_empty()) {
            is_of(named, currency, text)?;
        }
        Self::parse(number)
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

/// The signs of currencies, with those that have it.
const SIGNS: &[(&str, &[&str])] = &[
    ("$", &["USD", "CAD", "AUD", "NZD", "HKD", "SGD", "MXN", "ARS", "CLP", "COP"]),
    ("\u{20ac}", &["EUR"]),
    ("\u{a3}", &["GBP"]),
    ("\u{a5}", &["JPY", "CNY"]),
    ("kr", &["SEK", "NOK", "DKK"]),
    ("Fr.", &["CHF"]),
    ("z\u{142}", &["PLN"]),
    ("K\u{10d}", &["CZK"]),
    ("\u{20b9}", &["INR"]),
    ("R", &["ZAR"]),
    ("R$", &["BRL"]),
];

/// Checks that a currency's name or sign is that of the catalog's currency.
fn is_of(named: &str, currency: &str, text: &str) -> Result<()> {
    let sign = SIGNS.iter().find(|(sign, _)| *sign == named);
    let same = match sign {
        Some((_, of)) => of.contains(&currency),
        None => named.eq_ignore_ascii_case(currency),
    };
    if same {
        return Ok(());
    }
    let is_code = named.len() == 3 && named.bytes().all(|byte| byte.is_ascii_alphabetic());
    if sign.is_none() && !is_code {
        return Err(Error::input(format!("`{text}` is no price"))
            .hint(format!("write an amount in {currency}, such as `129.50`")));
    }
    Err(Error::input(format!("`{text}` is in another currency than the catalog's {currency}"))
        .hint(format!(
            "write what it is in {currency}; `window set currency=` names another one for \
                       the whole catalog"
        )))
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

    #[test]
    fn a_price_may_name_the_catalog_s_currency_and_no_other() {
        for text in ["180", "$180", "$ 180.00", "180 USD", "180usd", "USD 180", "180 $"] {
            assert_eq!(Cents::parse_in(text, "USD").unwrap().get(), 18_000, "{text}");
        }
        assert_eq!(Cents::parse_in("\u{20ac}180", "EUR").unwrap().get(), 18_000);
        assert_eq!(Cents::parse_in("$180", "CAD").unwrap().get(), 18_000);
        let refused = |text, currency| Cents::parse_in(text, currency).unwrap_err().to_string();
        assert!(refused("180 EUR", "USD").contains("another currency than the catalog's USD"));
        assert!(refused("\u{20ac}180", "USD").contains("another currency than the catalog's USD"));
        assert!(refused("$180", "EUR").contains("another currency than the catalog's EUR"));
        assert!(refused("180 each", "USD").contains("is no price"));
        assert!(refused("call", "USD").contains("is no price"));
        assert!(refused("$1,800.00", "USD").contains("comma"));
        assert!(refused("-$180", "USD").contains("no number"));
        assert!(refused("$-180", "USD").contains("negative"));
    }
}
