//! Cells as people type them, before a form reads them: words for a blank, dates that were fractions,
//! two patterns in one cell.

use super::column::ColumnShape;
use super::field::Content;
use super::record::{Sort, Typed};
use crate::error::{Error, Result};
use crate::model::agreed::AskedTopic;

/// What people write for a value that they do not know.
const BLANKS: &[&str] = &[
    "?",
    "??",
    "???",
    "-",
    "--",
    "---",
    "\u{2013}",
    "\u{2014}",
    "n/a",
    "n.a.",
    "na",
    "#n/a",
    "call",
    "ask",
    "tba",
    "tbd",
    "tbc",
    "poa",
    "not known",
];

/// What a cell may be taken for.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct TakenFor {
    pub(super) topic: AskedTopic,
    /// What was found and how it is taken.
    pub(super) text: String,
    /// What is taken in its place.
    pub(super) taken: String,
}

/// Looks at a filled cell. What it may be taken for is asked about; `splits` takes names apart.
///
/// # Errors
///
/// Refuses a date in the place of a value, and what a failed formula left.
pub(super) fn doubt(
    cell: &Typed,
    (content, shape): (Content, ColumnShape),
    splits: bool,
) -> Result<Option<TakenFor>> {
    let text = cell.text.trim();
    match cell.sort {
        Sort::Fault => {
            return Err(Error::input(format!("the cell shows `{text}`: its formula failed"))
                .hint("put the sheet right, or write the value"));
        }
        Sort::Date if !matches!(content, Content::Words | Content::Day) => {
            return Err(was_fraction(text, content));
        }
        Sort::Text if shape.is_length() && day_and_month(text).is_some() => {
            return Err(was_fraction(text, content));
        }
        _ => {}
    }
    let is_blank = BLANKS.contains(&text.to_lowercase().as_str());
    match content {
        Content::Value | Content::Day | Content::Pattern if is_blank => Ok(Some(TakenFor {
            topic: AskedTopic::Blanks,
            text: format!("`{text}` is no value, and is taken as a blank"),
            taken: String::new(),
        })),
        Content::Pattern if splits => Ok(taken_apart(text)),
        _ => Ok(None),
    }
}

/// The names in a pattern's one name that looks like several.
pub(super) fn names_in(name: &str) -> Option<String> {
    let names: Vec<&str> =
        name.split([',', '/', '&', ';']).map(str::trim).filter(|name| !name.is_empty()).collect();
    (names.len() > 1).then(|| names.join("|"))
}

/// A cell of one name taken apart. Whether it is to be is asked where the catalog's names are known.
fn taken_apart(text: &str) -> Option<TakenFor> {
    let split = names_in(text).filter(|_| !text.contains('|'))?;
    let told = format!("`{text}` is taken apart as `{split}`");
    Some(TakenFor { topic: AskedTopic::SplitFaces, text: told, taken: split })
}

fn was_fraction(text: &str, content: Content) -> Error {
    let error = Error::input(format!("`{text}` is a date"));
    if content == Content::Name {
        return error.hint("the sheet's program made it of a number: format the column as text");
    }
    match day_and_month(text) {
        Some((one, other)) => {
            let is_of_inch = |over: u32| matches!(over, 2 | 4 | 8 | 16 | 32 | 64);
            let (over, under) =
                if one < other && is_of_inch(other) { (one, other) } else { (other, one) };
            let (over, under) =
                if over < under && is_of_inch(under) { (over, under) } else { (one, other) };
            error.hint(format!(
                "was it {over}/{under}? the sheet's program made a date of it: format the column as \
                 text and write it once more"
            ))
        }
        None => error.hint("write the value as text"),
    }
}

const MONTHS: [&str; 12] =
    ["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"];

/// The month and the day of a date, in the order in which they were probably typed; none where the text
/// is no date.
fn day_and_month(text: &str) -> Option<(u32, u32)> {
    // A time of midnight says nothing.
    let text = text.trim().split([' ', 'T']).next().unwrap_or_default();
    let text = text.trim_end_matches('.');
    let parts: Vec<&str> = text.split(['-', '/', '.']).collect();
    let mut between = text.chars().filter(|c| matches!(c, '-' | '/' | '.'));
    let first = between.next();
    // `1-1/16` has two kinds of mark: it is a fraction.
    if between.any(|other| Some(other) != first) {
        return None;
    }
    let number = |text: &str| {
        (!text.is_empty() && text.len() <= 2 && text.bytes().all(|byte| byte.is_ascii_digit()))
            .then(|| text.parse::<u32>().ok())
            .flatten()
    };
    let is_year =
        |text: &str| matches!(text.len(), 2 | 4) && text.bytes().all(|byte| byte.is_ascii_digit());
    let month = |text: &str| {
        let text = text.to_lowercase();
        let short = text.get(..3)?;
        let at = MONTHS.iter().position(|month| *month == short)?;
        text.bytes().all(|byte| byte.is_ascii_alphabetic()).then_some(u32::try_from(at).ok()? + 1)
    };
    match parts.as_slice() {
        [one, other] => match (number(one), month(one), number(other), month(other)) {
            (Some(day), _, _, Some(month)) | (_, Some(month), Some(day), _) => Some((month, day)),
            _ => None,
        },
        [year, one, other] if year.len() == 4 && is_year(year) => {
            Some((number(one)?, number(other)?))
        }
        [one, other, year] if is_year(year) => match (number(one), month(one), month(other)) {
            (Some(day), _, Some(month)) => Some((month, day)),
            (_, Some(month), _) => Some((month, number(other)?)),
            (Some(one), ..) => Some((one, number(other)?)),
            _ => None,
        },
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const LENGTH: (Content, ColumnShape) = (Content::Value, ColumnShape::Length);
    const FACE: (Content, ColumnShape) = (Content::Pattern, ColumnShape::Plain);

    fn refused(text: &str, sort: Sort) -> String {
        doubt(&Typed { sort, ..Typed::text(text) }, LENGTH, false).unwrap_err().to_string()
    }

    #[test]
    fn a_date_in_the_place_of_a_length_is_asked_back_as_a_fraction() {
        for text in ["1/4/2026", "2026-01-04", "4-Jan", "Jan-04", "04-Jan-26", "1/4/26"] {
            assert!(refused(text, Sort::Text).contains("was it 1/4?"), "{text}");
        }
        assert!(refused("2026-01-04", Sort::Date).contains("was it 1/4?"));
        assert!(refused("2026-08-03", Sort::Date).contains("was it 3/8?"));
        assert!(refused("2026-03-16 00:00:00", Sort::Text).contains("was it 3/16?"));
        for text in [
            "1/4 in",
            "1-1/8",
            "1-1/16 in",
            "2-5/64",
            "0.250 in",
            "1/4",
            "6.35 mm",
            "1-1/8\"",
            "1.5-2",
        ] {
            assert_eq!(doubt(&Typed::text(text), LENGTH, false).unwrap(), None, "{text}");
        }
    }

    #[test]
    fn a_date_may_stand_where_words_or_days_do() {
        let date = Typed { sort: Sort::Date, ..Typed::text("2026-01-04") };
        for content in [Content::Words, Content::Day] {
            assert_eq!(doubt(&date, (content, ColumnShape::Plain), false).unwrap(), None);
        }
        let id = doubt(&date, (Content::Name, ColumnShape::Plain), false).unwrap_err();
        assert!(id.to_string().contains("format the column as text"), "{id}");
    }

    #[test]
    fn words_for_a_blank_are_asked_about_where_a_value_is_expected() {
        for text in ["call", "N/A", "?", "-", "\u{2014}", "TBA"] {
            let doubt = doubt(&Typed::text(text), LENGTH, false).unwrap().unwrap();
            assert_eq!((doubt.topic, doubt.taken.as_str()), (AskedTopic::Blanks, ""), "{text}");
        }
        let words = (Content::Words, ColumnShape::Plain);
        assert_eq!(doubt(&Typed::text("-"), words, false).unwrap(), None);
        let fault = Typed { sort: Sort::Fault, ..Typed::text("#DIV/0!") };
        assert!(doubt(&fault, words, false).unwrap_err().to_string().contains("formula failed"));
    }

    #[test]
    fn two_patterns_in_one_cell_are_taken_apart_where_that_is_agreed() {
        let read = |text: &str, splits| doubt(&Typed::text(text), FACE, splits).unwrap();
        assert_eq!(read("six, eight", false), None);
        let two = read("six/eight", true).unwrap();
        assert_eq!((two.topic, two.taken.as_str()), (AskedTopic::SplitFaces, "six|eight"));
        assert_eq!(read("six|eight", true), None);
        assert_eq!(names_in("six, eight").as_deref(), Some("six|eight"));
        assert_eq!(names_in("six"), None);
    }
}
