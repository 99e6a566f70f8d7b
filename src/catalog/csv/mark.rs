//! The decimal mark of a sheet, and numbers with it.

use std::borrow::Cow;

use super::record::Record;
use crate::error::{Error, Result};

/// Which mark stands before the decimals of a sheet's numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) enum Mark {
    /// A point. A comma can only stand between thousands.
    #[default]
    Point,
    /// A comma, as no number of the sheet says otherwise and one says so.
    Comma,
    /// Either: a lone comma is a decimal one, and so is a lone point.
    Either,
}

/// What one number says of the decimal mark.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Says {
    Nothing,
    Point,
    Comma,
}

impl Mark {
    /// The mark of a sheet whose cells may have either, as its numbers show it.
    pub(super) fn of(records: &[Record]) -> Self {
        let cells = records.iter().flat_map(|record| &record.cells).filter(|cell| cell.is_text());
        let (mut points, mut commas) = (false, false);
        for cell in cells {
            // A number is short; what is long is a sentence.
            if cell.text.len() > LONGEST_NUMBER {
                continue;
            }
            match numeral(&cell.text).map_or(Says::Nothing, says) {
                Says::Nothing => {}
                Says::Point => points = true,
                Says::Comma => commas = true,
            }
        }
        match (points, commas) {
            (true, false) => Self::Point,
            (false, true) => Self::Comma,
            _ => Self::Either,
        }
    }
}

const LONGEST_NUMBER: usize = 40;

/// The digits of a text with the marks between them, where they are its only ones.
fn numeral(text: &str) -> Option<&str> {
    let of_number = |c: char| c.is_ascii_digit() || matches!(c, '.' | ',');
    let start = text.find(of_number)?;
    let rest = &text[start..];
    let end = rest.find(|c| !of_number(c)).unwrap_or(rest.len());
    let (number, behind) = rest.split_at(end);
    let number = number.trim_end_matches(['.', ',']);
    let alone = !behind.contains(|c: char| c.is_ascii_digit() || c == '/');
    // `A-1.5` is a name, and so is `v2,5x`.
    let before = &text[..start];
    let opens = before.chars().all(|c| !c.is_alphanumeric() || "EURUSDGBPCHF".contains(c));
    (alone && opens && number.contains(|c: char| c.is_ascii_digit())).then_some(number)
}

fn says(number: &str) -> Says {
    match (number.contains('.'), number.contains(',')) {
        (true, true) if grouped(number, ',', '.') => Says::Point,
        (true, true) if grouped(number, '.', ',') => Says::Comma,
        (false, false) | (true, true) => Says::Nothing,
        (true, false) if grouped(number, '.', ',') => Says::Nothing,
        (true, false) => Says::Point,
        (false, true) if grouped(number, ',', '.') => Says::Nothing,
        (false, true) => Says::Comma,
    }
}

/// Whether a number has `between` its thousands, rightly, and after them at most one `decimal` mark.
fn grouped(number: &str, between: char, decimal: char) -> bool {
    let (whole, _) = number.split_once(decimal).unwrap_or((number, ""));
    if number.matches(decimal).count() > 1 {
        return false;
    }
    let digits = |text: &str| text.bytes().all(|byte| byte.is_ascii_digit());
    let mut groups = whole.split(between);
    let first = groups.next().unwrap_or_default();
    let mut rest = groups.peekable();
    rest.peek().is_some()
        && (1..=3).contains(&first.len())
        && digits(first)
        && !first.starts_with('0')
        && rest.all(|group| group.len() == 3 && digits(group))
}

/// A number's text with a decimal point.
///
/// # Errors
///
/// Refuses two marks in one number, and a lone one that may stand between thousands as well.
pub(super) fn pointed(text: &str, mark: Mark) -> Result<Cow<'_, str>> {
    if mark == Mark::Comma
        && let Some(number) = numeral(text)
        && !number.contains(',')
        && grouped(number, '.', ',')
    {
        let (joined, decimal) = (number.replace('.', ""), number.replacen('.', ",", 1));
        return Err(Error::input(format!("`{text}` may be {joined} or {decimal} in this sheet"))
            .hint(format!("its decimal mark is a comma: write `{decimal}` or `{joined}`")));
    }
    if mark == Mark::Point || !text.contains(',') {
        return Ok(text.into());
    }
    if text.contains('.') || text.matches(',').count() > 1 {
        return Err(Error::input(format!("`{text}` has more than one decimal mark"))
            .hint("write no separator between thousands"));
    }
    Ok(text.replace(',', ".").into())
}

/// The same of an amount of money or of a number of things, between whose thousands marks, blanks and
/// apostrophes may stand.
///
/// # Errors
///
/// As [`pointed`].
pub(super) fn ungrouped(text: &str, mark: Mark) -> Result<Cow<'_, str>> {
    let text = closed_up(text.trim());
    let Some(number) = numeral(&text) else { return Ok(pointed(&text, mark)?.into_owned().into()) };
    let joined = |between: char, decimal: char| {
        let plain = number.replace(between, "").replace(decimal, ".");
        text.replacen(number, &plain, 1)
    };
    let has_both = number.contains('.') && number.contains(',');
    let points = grouped(number, '.', ',');
    let commas = grouped(number, ',', '.');
    // Money has two decimals and a count none, so that three digits behind a mark are thousands
    // wherever the sheet's own decimal mark is the other one.
    match mark {
        Mark::Comma if points => return Ok(joined('.', ',').into()),
        Mark::Point if commas => return Ok(joined(',', '.').into()),
        Mark::Either if points && (has_both || number.matches('.').count() > 1) => {
            return Ok(joined('.', ',').into());
        }
        Mark::Either if commas && (has_both || number.matches(',').count() > 1) => {
            return Ok(joined(',', '.').into());
        }
        _ => {}
    }
    Ok(pointed(&text, mark)?.into_owned().into())
}

/// The text without blanks and apostrophes between three digits and the digits before them.
fn closed_up(text: &str) -> String {
    let chars: Vec<char> = text.chars().collect();
    let digit = |at: usize| chars.get(at).is_some_and(char::is_ascii_digit);
    let between = |at: usize| {
        matches!(chars[at], ' ' | '\u{a0}' | '\u{202f}' | '\'' | '\u{2019}')
            && at > 0
            && digit(at - 1)
            && (at + 1..=at + 3).all(digit)
            && !digit(at + 4)
    };
    (0..chars.len()).filter(|at| !between(*at)).map(|at| chars[at]).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mark(cells: &[&str]) -> Mark {
        Mark::of(&[Record::of_text(1, cells)])
    }

    #[test]
    fn a_sheets_numbers_show_its_decimal_mark() {
        assert_eq!(mark(&["0.250 in", "$1,249.00", "A-1,5"]), Mark::Point);
        assert_eq!(mark(&["6,35 mm", "1.249,00 EUR"]), Mark::Comma);
        assert_eq!(mark(&["1.249,00"]), Mark::Comma);
        assert_eq!(mark(&["1,249.00"]), Mark::Point);
        assert_eq!(mark(&["6,35", "6.35"]), Mark::Either);
        assert_eq!(mark(&["1,249", "2.500", "12", "1/4"]), Mark::Either);
    }

    #[test]
    fn thousands_are_taken_out_of_amounts() {
        let read = |text, mark| ungrouped(text, mark).unwrap().into_owned();
        for (text, mark, plain) in [
            ("$1,249.00", Mark::Point, "$1249.00"),
            ("1.249,00 EUR", Mark::Comma, "1249.00 EUR"),
            ("1.249,00 EUR", Mark::Either, "1249.00 EUR"),
            ("1,249.00", Mark::Either, "1249.00"),
            ("1.249 EUR", Mark::Comma, "1249 EUR"),
            ("1,249", Mark::Point, "1249"),
            ("1 249,50", Mark::Comma, "1249.50"),
            ("1'249.50", Mark::Point, "1249.50"),
            ("1,249,000.50", Mark::Point, "1249000.50"),
            ("129,50", Mark::Comma, "129.50"),
            ("129,50", Mark::Either, "129.50"),
            ("1,249", Mark::Either, "1.249"),
            ("129,50", Mark::Point, "129,50"),
        ] {
            assert_eq!(read(text, mark), plain, "{text} {mark:?}");
        }
    }

    #[test]
    fn a_length_whose_mark_may_be_read_in_two_ways_is_refused() {
        let refused = |text, mark| pointed(text, mark).unwrap_err().to_string();
        assert!(refused("1.249 mm", Mark::Comma).contains("may be 1249 or 1,249"));
        assert!(refused("1.006,35 mm", Mark::Either).contains("more than one decimal mark"));
        assert_eq!(pointed("1.249 mm", Mark::Point).unwrap(), "1.249 mm");
        assert_eq!(pointed("12,5 mm", Mark::Comma).unwrap(), "12.5 mm");
        assert_eq!(pointed("0.5 mm", Mark::Comma).unwrap(), "0.5 mm");
    }
}
