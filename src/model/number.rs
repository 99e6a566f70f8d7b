//! Decimals and fractions as people type them.

use std::borrow::Cow;

use crate::error::{Error, Result};

/// A decimal or a fraction as written, before it is given a unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Rational {
    numerator: i128,
    denominator: i128,
}

impl Rational {
    /// Reads `-0.25`, `.250`, `1/4`, `1-1/8`, `1 1/8` or `1½`.
    pub(crate) fn parse(text: &str) -> Result<Self> {
        let (sign, body) = match text.strip_prefix(is_minus) {
            Some(rest) => (-1, rest.trim_start()),
            None => (1, text.strip_prefix('+').unwrap_or(text)),
        };
        let body = spelled_out(body);
        let value = if body.contains('/') { fraction(&body) } else { decimal(&body) };
        let (numerator, denominator) = value.ok_or_else(|| refusal(text))?;
        Ok(Self { numerator: sign * numerator, denominator })
    }

    /// The value times `unit`, rounded half away from zero.
    pub(crate) fn scaled(self, unit: i128) -> Result<i128> {
        let product = self.numerator.checked_mul(unit);
        let product = product.ok_or_else(|| Error::input("the number is too large"))?;
        Ok(divide_half_away(product, self.denominator))
    }
}

fn refusal(text: &str) -> Error {
    if text.is_empty() {
        return Error::input("there is no number");
    }
    if let Some(error) = value_and_tolerance(text) {
        return error;
    }
    if text.contains(',') && text.contains('.') {
        return Error::input(format!("`{text}` has both a point and a comma"))
            .hint("write no separator between thousands");
    }
    if text.contains(',') {
        return Error::input(format!("`{text}` has a decimal comma"))
            .hint("write a decimal point; a comma is read only in a semicolon file");
    }
    Error::input(format!("`{text}` is no number"))
        .hint("numbers are written `0.250`, `1/4` or `1-1/8`")
}

/// What people write before a tolerance.
const PLUS_MINUS: [&str; 3] = ["\u{b1}", "+/-", "+-"];

/// The refusal of a text that holds a value and its tolerance.
pub(crate) fn value_and_tolerance(text: &str) -> Option<Error> {
    let sign = PLUS_MINUS.iter().find(|sign| text.contains(**sign))?;
    Some(
        Error::input(format!("`{text}` has a `{sign}` in it"))
            .hint("a tolerance has a column of its own, such as `thickness_tol`"),
    )
}

/// What stands before and behind the plus and minus of a text that has one.
pub(crate) fn at_plus_minus(text: &str) -> Option<(&str, &str)> {
    let parts = PLUS_MINUS.iter().find_map(|sign| text.split_once(sign))?;
    Some((parts.0.trim(), parts.1.trim()))
}

/// A tolerance's text without the plus and minus that may stand before it.
pub(crate) fn without_plus_minus(text: &str) -> &str {
    let text = text.trim_start();
    PLUS_MINUS.iter().find_map(|sign| text.strip_prefix(sign)).map_or(text, str::trim_start)
}

/// The hyphen, the minus, and the dashes that word processors make of them.
pub(crate) const fn is_minus(c: char) -> bool {
    matches!(c, '-' | '\u{2212}' | '\u{2010}'..='\u{2013}')
}

/// Fractions that are one character.
const ONE_CHARACTER: &[(char, &str)] = &[
    ('\u{bd}', "1/2"),
    ('\u{bc}', "1/4"),
    ('\u{be}', "3/4"),
    ('\u{2153}', "1/3"),
    ('\u{2154}', "2/3"),
    ('\u{215b}', "1/8"),
    ('\u{215c}', "3/8"),
    ('\u{215d}', "5/8"),
    ('\u{215e}', "7/8"),
];

/// The text with ordinary digits, hyphens, blanks and slashes for all that look like them.
fn spelled_out(text: &str) -> Cow<'_, str> {
    if text.is_ascii() {
        return text.into();
    }
    let mut spelled = String::with_capacity(text.len());
    for c in text.chars() {
        let fraction = ONE_CHARACTER.iter().find(|(one, _)| *one == c);
        match (c, fraction) {
            (_, Some((_, digits))) => {
                if spelled.ends_with(|before: char| before.is_ascii_digit()) {
                    spelled.push(' ');
                }
                spelled.push_str(digits);
                // A digit behind it is none of its denominator.
                spelled.push(' ');
            }
            ('\u{2044}' | '\u{2215}', _) => spelled.push('/'),
            _ if is_minus(c) => spelled.push('-'),
            _ if c.is_whitespace() => spelled.push(' '),
            _ => spelled.push(c),
        }
    }
    spelled.into()
}

/// Whether a word is a fraction without a whole number before it.
pub(crate) fn is_bare_fraction(word: &str) -> bool {
    let word = spelled_out(word);
    word.contains('/') && !word.trim_end().contains(['-', ' '])
}

/// Digits that still multiply into 128 bits without overflow.
const MOST_DIGITS: usize = 18;

fn whole(text: &str) -> Option<i128> {
    let digits = !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    (digits && text.len() <= MOST_DIGITS).then(|| text.parse().ok()).flatten()
}

fn decimal(body: &str) -> Option<(i128, i128)> {
    let (before, after) = body.split_once('.').unwrap_or((body, ""));
    if before.is_empty() && after.is_empty() {
        return None;
    }
    let before = if before.is_empty() { 0 } else { whole(before)? };
    if after.is_empty() {
        return Some((before, 1));
    }
    let scale = 10_i128.pow(u32::try_from(after.len()).ok().filter(|n| *n <= 18)?);
    Some((before * scale + whole(after)?, scale))
}

/// A fraction, with a whole number before it or without: one hyphen or blanks lie between.
fn fraction(body: &str) -> Option<(i128, i128)> {
    let (before, denominator) = body.split_once('/')?;
    let denominator = whole(denominator.trim()).filter(|d| *d > 0)?;
    let before = before.trim();
    let (units, numerator) = match before.split_once(['-', ' ']) {
        Some((units, numerator)) => (whole(units)?, whole(numerator.trim_start())?),
        None => (0, whole(before)?),
    };
    Some((units * denominator + numerator, denominator))
}

/// Division rounded to the nearest whole number, halves away from zero. `divisor` is positive.
pub const fn divide_half_away(dividend: i128, divisor: i128) -> i128 {
    let magnitude = (dividend.abs() + divisor / 2) / divisor;
    // An odd divisor has no exact half, an even one rounds its half up in magnitude: both right.
    if dividend < 0 { -magnitude } else { magnitude }
}
