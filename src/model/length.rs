//! Exact lengths in integer nanometres, and how people write them.
//!
//! 1 in = 25.4 mm exactly (the international inch), so 0.001 in = 25 400 nm, 1/64 in = 396 875 nm
//! and 0.01 mm = 10 000 nm are all whole numbers and no verdict hangs on rounding.

use std::fmt;
use std::iter::Sum;
use std::ops::{Add, AddAssign, Neg, Sub, SubAssign};

use crate::error::{Error, Result};
pub use crate::model::number::divide_half_away;
use crate::model::number::{Rational, value_and_tolerance};

/// Nanometres in one inch.
pub const NM_PER_IN: i64 = 25_400_000;
/// Nanometres in one millimetre.
pub const NM_PER_MM: i64 = 1_000_000;
/// The longest length that anybody may enter: 100 in. Sums of entries stay far inside 64 bits.
pub const LONGEST: Length = Length::from_nm(100 * NM_PER_IN);

/// A signed length along the crank axis, in whole nanometres.
///
/// Arithmetic is checked: every build of the program keeps overflow checks on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Length(i64);

impl Length {
    /// No length at all.
    pub const ZERO: Self = Self(0);

    /// A length of `nm` nanometres.
    pub const fn from_nm(nm: i64) -> Self {
        Self(nm)
    }

    /// A length of `thou` thousandths of an inch.
    pub const fn from_thou(thou: i64) -> Self {
        Self(thou * (NM_PER_IN / 1000))
    }

    /// Whole nanometres.
    pub const fn nm(self) -> i64 {
        self.0
    }

    /// A length worked out in wide integers from those of one stack.
    pub(crate) const fn from_wide(nm: i128) -> Self {
        Self(narrowed(nm))
    }

    /// Without its sign.
    #[must_use]
    pub const fn abs(self) -> Self {
        Self(self.0.abs())
    }

    /// As a floating-point number of inches, for output only.
    #[allow(clippy::cast_precision_loss, reason = "entries are far below 2^53 nm")]
    pub fn inches(self) -> f64 {
        self.0 as f64 / NM_PER_IN as f64
    }

    /// As a floating-point number of millimetres, for output only.
    #[allow(clippy::cast_precision_loss, reason = "entries are far below 2^53 nm")]
    pub fn millimetres(self) -> f64 {
        self.0 as f64 / NM_PER_MM as f64
    }

    /// Reads a length with its unit: `0.250 in`, `6.35 mm`, `1/4 in`, `1-1/8"`, `1½ in`, `250 thou`.
    ///
    /// An entry that is no whole number of nanometres is rounded half away from zero, once.
    ///
    /// # Errors
    ///
    /// Refuses a missing unit, a decimal comma, anything that is not a number, and lengths beyond
    /// 100 in.
    pub fn parse(text: &str) -> Result<Self> {
        let text = text.trim();
        if let Some(error) = value_and_tolerance(text) {
            return Err(error);
        }
        let (number, unit) = text.split_at(unit_start(text));
        let Some(scale) = Scale::named(unit.trim()) else {
            let found = unit.trim();
            return Err(if found.is_empty() {
                Error::input(format!("`{text}` has no unit"))
                    .hint("write the unit, such as `0.250 in`, `6.35 mm`, `1/4 in` or `250 thou`")
            } else {
                Error::input(format!("`{found}` is no unit of length in `{text}`"))
                    .hint("units are in, mm and thou")
            });
        };
        Self::parse_in(number, scale)
    }

    /// Reads a bare number in a known unit.
    ///
    /// # Errors
    ///
    /// As [`Length::parse`]; also refuses a unit written again.
    pub fn parse_in(number: &str, scale: Scale) -> Result<Self> {
        let value = Rational::parse(number.trim())?;
        let nm = value.scaled(i128::from(scale.nm_per_unit()))?;
        let length = i64::try_from(nm).ok().map(Self).filter(|length| length.abs() <= LONGEST);
        length.ok_or_else(|| {
            Error::input(format!("`{}` is beyond 100 in", number.trim()))
                .hint("check the unit and the decimal point")
        })
    }

    /// The number in `unit` with the trade's digits, without the unit: thousandths of an inch, or
    /// hundredths of a millimetre; `fine` adds one digit more. Rounded half away from zero.
    pub fn digits(self, unit: Unit, fine: bool) -> String {
        let (per_unit, decimals) = match unit {
            Unit::In => (NM_PER_IN, 3),
            Unit::Mm => (NM_PER_MM, 2),
        };
        fixed(self.0, per_unit, decimals + u32::from(fine))
    }

    /// The length with the trade's digits and its unit.
    pub fn show(self, unit: Unit) -> String {
        format!("{} {}", self.digits(unit, false), unit.name())
    }

    /// The length exactly, in `unit` where five decimals of an inch hold it, else in millimetres.
    pub fn exact(self, unit: Unit) -> String {
        // 0.00001 in is 254 nm; millimetres hold every whole nanometre in six decimals.
        if unit == Unit::In && self.0 % 254 == 0 {
            return format!("{} in", trimmed(&fixed(self.0, NM_PER_IN, 5), 3));
        }
        format!("{} mm", trimmed(&fixed(self.0, NM_PER_MM, 6), 2))
    }
}

/// Cuts trailing zeros of a decimal, keeping at least `keep` decimals.
fn trimmed(number: &str, keep: usize) -> &str {
    let Some(point) = number.find('.') else { return number };
    let end = number.trim_end_matches('0').len().max(point + 1 + keep).min(number.len());
    &number[..end]
}

/// `value / per_unit` with a fixed number of decimals, rounded half away from zero.
pub(crate) fn fixed(value: i64, per_unit: i64, decimals: u32) -> String {
    let scale = 10_i128.pow(decimals);
    let rounded = divide_half_away(i128::from(value) * scale, i128::from(per_unit));
    let sign = if rounded < 0 { "-" } else { "" };
    let rounded = rounded.unsigned_abs();
    let scale = scale.unsigned_abs();
    if decimals == 0 {
        return format!("{sign}{rounded}");
    }
    let width = decimals as usize;
    format!("{sign}{}.{:0width$}", rounded / scale, rounded % scale)
}

/// A whole number that fits into 64 bits, as every sum of lengths does: entries and rows of a catalog
/// are at most 100 in, ratios at most 7, and a stack has a few dozen dimensions, so that its sums
/// stay below 1e13 nm.
///
/// # Panics
///
/// Where it does not fit all the same: a stop is better than a wrong number, as with every sum in a
/// program that keeps its overflow checks.
#[allow(clippy::cast_possible_truncation, reason = "asserted before")]
pub const fn narrowed(value: i128) -> i64 {
    let narrow = value as i64;
    assert!(narrow as i128 == value, "a sum left 64 bits");
    narrow
}

/// Where in a text the unit begins behind its number: at the end where there is none.
pub(crate) fn unit_start(text: &str) -> usize {
    let quotes = ['"', '\'', '\u{2032}', '\u{2033}', '\u{2019}', '\u{201d}'];
    text.find(|c: char| c.is_alphabetic() || quotes.contains(&c)).unwrap_or(text.len())
}

/// The unit in which people read lengths.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Unit {
    /// Inches.
    #[default]
    In,
    /// Millimetres.
    Mm,
}

impl Unit {
    /// Every unit.
    pub const ALL: [Self; 2] = [Self::In, Self::Mm];

    /// The unit of a sign.
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|unit| unit.name() == name)
    }

    /// The unit's sign behind a number.
    pub const fn name(self) -> &'static str {
        match self {
            Self::In => "in",
            Self::Mm => "mm",
        }
    }
}

/// A unit in which a length may be written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Scale {
    /// Inches.
    Inch,
    /// Thousandths of an inch.
    Thou,
    /// Millimetres.
    Millimetre,
}

impl Scale {
    const fn nm_per_unit(self) -> i64 {
        match self {
            Self::Inch => NM_PER_IN,
            Self::Thou => NM_PER_IN / 1000,
            Self::Millimetre => NM_PER_MM,
        }
    }

    fn named(name: &str) -> Option<Self> {
        Some(match name.to_ascii_lowercase().as_str() {
            // The sign for inches is what keyboards and word processors make of it.
            "in" | "in." | "inch" | "inches" | "\"" | "\u{2033}" | "\u{201d}" | "''"
            | "\u{2032}\u{2032}" | "\u{2019}\u{2019}" => Self::Inch,
            "thou" => Self::Thou,
            "mm" => Self::Millimetre,
            _ => return None,
        })
    }
}

impl fmt::Display for Length {
    /// Exactly, in millimetres: for messages that name no unit of their own.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.exact(Unit::Mm))
    }
}

impl Add for Length {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}

impl Sub for Length {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0 - other.0)
    }
}

impl Neg for Length {
    type Output = Self;
    fn neg(self) -> Self {
        Self(-self.0)
    }
}

impl AddAssign for Length {
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

impl SubAssign for Length {
    fn sub_assign(&mut self, other: Self) {
        *self = *self - other;
    }
}

impl Sum for Length {
    fn sum<I: Iterator<Item = Self>>(lengths: I) -> Self {
        lengths.fold(Self::ZERO, Add::add)
    }
}

/// A finger ratio in whole millionths: finger movement per movement of the pressure plate.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Ratio(i64);

impl Ratio {
    /// Millionths in one.
    pub const ONE: i64 = 1_000_000;

    /// A ratio of `millionths` millionths.
    pub const fn from_millionths(millionths: i64) -> Self {
        Self(millionths)
    }

    /// Whole millionths.
    pub const fn millionths(self) -> i64 {
        self.0
    }

    /// Reads a plain number such as `3.85`, rounded half away from zero to a millionth.
    ///
    /// # Errors
    ///
    /// Refuses what is no number and what does not fit.
    pub fn parse(text: &str) -> Result<Self> {
        let millionths = Rational::parse(text.trim())?.scaled(i128::from(Self::ONE))?;
        i64::try_from(millionths)
            .map(Self)
            .map_err(|_| Error::input(format!("`{}` is too large", text.trim())))
    }

    /// The ratio times a length, rounded once, half away from zero.
    #[must_use]
    pub fn times(self, length: Length) -> Length {
        // Nearly all products fit 64 bits, where a division is quick.
        if let Some(product) = self.0.checked_mul(length.nm()) {
            let (whole, left) = (product / Self::ONE, product % Self::ONE);
            let up = i64::from(2 * left.abs() >= Self::ONE) * product.signum();
            return Length::from_nm(whole + up);
        }
        let product = i128::from(self.0) * i128::from(length.nm());
        let nm = divide_half_away(product, i128::from(Self::ONE));
        Length::from_nm(narrowed(nm))
    }
}

impl fmt::Display for Ratio {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(trimmed(&fixed(self.0, Self::ONE, 6), 2))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn nm(text: &str) -> i64 {
        Length::parse(text).unwrap().nm()
    }

    #[test]
    fn every_way_of_writing_a_quarter_inch_is_the_same_length() {
        for text in ["0.250 in", ".25in", "1/4 in", "1/4\"", "250 thou", "6.35 mm", "0 1/4 in"] {
            assert_eq!(nm(text), 6_350_000, "{text}");
        }
        assert_eq!(nm("1-1/8\""), 28_575_000);
        assert_eq!(nm("-0.5 mm"), -500_000);
        assert_eq!(nm("1/64 in"), 396_875);
        assert_eq!(nm("0.0001 in"), 2_540);
    }

    #[test]
    fn fractions_and_inches_are_read_as_people_type_and_paste_them() {
        for text in
            ["\u{bd} in", "\u{bd}\"", "1\u{2044}2 in", "1\u{2215}2\u{2033}", "1/2''", "0.5\u{201d}"]
        {
            assert_eq!(nm(text), 12_700_000, "{text}");
        }
        for text in [
            "1\u{bd}\"",
            "1 \u{bd} in",
            "1-\u{bd} in",
            "1\u{a0}1/2 in",
            "1 1/2''",
            "1-1/2\u{201d}",
            "1\u{2011}1/2\u{2019}\u{2019}",
        ] {
            assert_eq!(nm(text), 38_100_000, "{text}");
        }
        assert_eq!(nm("1\u{2044}8 in"), 3_175_000);
        assert_eq!(nm("2\u{215e} in"), 73_025_000);
        assert_eq!(nm("\u{2013}0.020 in"), -508_000);
        assert_eq!(nm("-1\u{bc} in"), -31_750_000);
        for text in [
            "1\u{bd}\u{bd} in",
            "1.5\u{bd} in",
            "\u{bd}5 in",
            "1 -1/8 in",
            "1 - 1/8 in",
            "1' 2 in",
            "1' in",
            "1'",
        ] {
            assert!(Length::parse(text).is_err(), "{text}: {:?}", Length::parse(text));
        }
    }

    #[test]
    fn a_tolerance_written_behind_its_value_is_told_where_it_goes() {
        for text in ["1.000 \u{b1}0.002 in", "1.000 in +-0.002 in", "1.000 +/- 0.002 in"] {
            let message = Length::parse(text).unwrap_err().to_string();
            assert!(message.contains("a tolerance has a column of its own"), "{text}: {message}");
        }
    }

    #[test]
    fn an_entry_between_nanometres_is_rounded_half_away_from_zero() {
        assert_eq!(nm("0.0000005 mm"), 1);
        assert_eq!(nm("-0.0000005 mm"), -1);
        assert_eq!(nm("0.0000004 mm"), 0);
        assert_eq!(nm("1/3 in"), 8_466_667);
    }

    #[test]
    fn refusals_say_what_was_found() {
        for (text, part) in [
            ("0.250", "no unit"),
            ("0,250 in", "decimal comma"),
            ("3 furlong", "no unit of length"),
            ("101 in", "beyond 100 in"),
            ("abc in", "no unit of length"),
            ("1..2 in", "is no number"),
            ("in", "no number"),
            ("1/0 in", "is no number"),
            ("99999999999999999999 in", "is no number"),
        ] {
            let message = Length::parse(text).unwrap_err().to_string();
            assert!(message.contains(part), "{text}: {message}");
        }
    }

    #[test]
    fn lengths_are_shown_with_the_digits_of_the_trade() {
        let length = Length::from_nm(18_097_500);
        assert_eq!(length.digits(Unit::In, false), "0.713");
        assert_eq!(length.digits(Unit::In, true), "0.7125");
        assert_eq!(length.digits(Unit::Mm, false), "18.10");
        assert_eq!((-length).digits(Unit::Mm, true), "-18.098");
        assert_eq!(Length::ZERO.show(Unit::In), "0.000 in");
        assert_eq!(Length::from_nm(-1).digits(Unit::In, false), "0.000");
    }

    #[test]
    fn what_is_exported_reads_back_to_the_nanometre() {
        for nm in [0, 1, -1, 254, 255, 6_350_000, 396_875, -18_097_501, 2_540_000_000] {
            for unit in [Unit::In, Unit::Mm] {
                let text = Length::from_nm(nm).exact(unit);
                assert_eq!(Length::parse(&text).unwrap().nm(), nm, "{text}");
            }
        }
        assert_eq!(Length::from_thou(250).exact(Unit::In), "0.250 in");
        assert_eq!(Length::from_thou(250).exact(Unit::Mm), "6.35 mm");
    }

    #[test]
    fn a_ratio_times_a_length_is_rounded_once() {
        let ratio = Ratio::parse("3.5").unwrap();
        assert_eq!(ratio.times(Length::from_nm(1)).nm(), 4);
        assert_eq!(ratio.times(Length::from_nm(-1)).nm(), -4);
        assert_eq!(ratio.to_string(), "3.50");
    }
}
