//! Which rows of a sheet are its list: where the headings stand, and what beneath them is no row.

use super::record::Record;
use super::table::Table;
use crate::model::headings::Headings;
use crate::model::kinds::{Kinds, folded};

/// How many rows are looked at for the headings.
pub(super) const LOOKED_AT: usize = 30;

/// The row of the headings: the one whose headings were learned, else the one in which the most are
/// known, and the first where none is.
pub(super) fn header(
    table: &Table,
    learned: &[&Headings],
    given: Option<&Headings>,
    is_known: &dyn Fn(&str) -> bool,
) -> usize {
    let rows = || table.records.iter().take(LOOKED_AT);
    let texts = |record: &Record| -> Vec<String> {
        record.cells.iter().map(|cell| cell.text.clone()).collect()
    };
    let is_learned = |record: &Record| {
        let row = texts(record);
        learned.iter().any(|headings| headings.are_those(&row))
    };
    if given.is_none()
        && let Some(at) = rows().position(is_learned)
    {
        return at;
    }
    let known = |record: &Record| {
        let is_known = |text: &str| {
            is_known(&folded(text)) || given.is_some_and(|given| given.means(text).is_some())
        };
        record.filled().filter(|cell| is_known(&cell.text)).count()
    };
    let first = rows().next().map_or(0, known);
    let mut best = (0, first);
    for (at, record) in rows().enumerate().skip(1) {
        let count = known(record);
        // One word alone may be a title or a value.
        if count > best.1 && count >= 2 {
            best = (at, count);
        }
    }
    if best.1 > 0 {
        return best.0;
    }
    // Headings that nobody knows yet: the first row that is as wide as the list.
    let width = rows().map(|record| record.filled().count()).max().unwrap_or(0);
    rows().position(|record| record.filled().count() * 3 > width * 2).unwrap_or(0)
}

/// Whether none of a table's first rows has a heading that is known.
pub(super) fn has_no_heading(table: &Table, is_known: &dyn Fn(&str) -> bool) -> bool {
    let mut cells = table.records.iter().take(LOOKED_AT).flat_map(Record::filled);
    !cells.any(|cell| is_known(&folded(&cell.text)))
}

/// Words with which a row of sums begins.
const TOTALS: &[&str] = &["total", "totals", "subtotal", "sub-total", "sum", "sums"];

/// What a row under the headings is, where it is none of the list.
pub(super) fn stray(
    record: &Record,
    headings: &[String],
    key: usize,
    is_last: bool,
    kinds: Kinds,
) -> Option<&'static str> {
    let filled: Vec<&str> = record.filled().map(|cell| cell.text.trim()).collect();
    let key = record.cells.get(key).map_or("", |cell| cell.text.trim());
    let folds = |cells: &[String]| cells.iter().map(|cell| folded(cell)).collect::<Vec<_>>();
    let texts: Vec<String> = record.cells.iter().map(|cell| cell.text.clone()).collect();
    if folds(&texts) == folds(headings) {
        return Some("the headings once more");
    }
    let begins = |text: &str| {
        let text = text.to_lowercase();
        let text = text.strip_prefix("grand ").unwrap_or(&text);
        let word = text.split([' ', ':', '=']).next().unwrap_or_default();
        TOTALS.contains(&word)
    };
    if filled.iter().take(2).any(|text| begins(text)) && (key.is_empty() || begins(key)) {
        return Some("a row of totals");
    }
    let columns = headings.iter().filter(|name| !name.trim().is_empty()).count();
    if let ([only], 3..) = (filled.as_slice(), columns) {
        let is_kind = key == *only && kinds.find(&folded(only)).is_some();
        let is_sentence = only.starts_with('*')
            || only.split_whitespace().count() >= 4
            || only.chars().count() > 40
            || (only.ends_with([':', '.']) && only.contains(' '));
        if is_kind {
            return Some("a title");
        }
        if key.is_empty() || is_sentence {
            return Some("a note");
        }
    }
    let is_number = |text: &&str| text.chars().any(|c| c.is_ascii_digit());
    if is_last && columns >= 3 && key.is_empty() && filled.iter().all(is_number) {
        return Some("a row of totals");
    }
    None
}

/// A row in few words.
pub(super) fn shown(record: &Record) -> String {
    let cells: Vec<&str> = record.filled().map(|cell| cell.text.trim()).collect();
    crate::error::cut(&cells.join(" | "), 60)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn found(cells: &[&str], is_last: bool) -> Option<&'static str> {
        let headings = ["id", "thickness", "price", "on_hand"].map(String::from);
        stray(&Record::of_text(2, cells), &headings, 0, is_last, Kinds::standard())
    }

    #[test]
    fn what_is_no_row_of_the_list_is_told() {
        assert_eq!(found(&["FW-1", "1 in", "", ""], true), None);
        assert_eq!(found(&["FW-1", "", "", ""], false), None);
        assert_eq!(found(&["Total-1", "1 in", "", ""], false), None);
        assert_eq!(found(&["TOTAL", "", "1249", "12"], false), Some("a row of totals"));
        assert_eq!(found(&["", "Sum:", "1249", ""], false), Some("a row of totals"));
        assert_eq!(found(&["", "", "1249", "12"], true), Some("a row of totals"));
        assert_eq!(found(&["", "", "1249", "12"], false), None);
        assert_eq!(found(&["* prices without tax", "", "", ""], false), Some("a note"));
        assert_eq!(found(&["all prices are ours"], false), Some("a note"));
        assert_eq!(found(&["Flywheels", "", "", ""], false), Some("a title"));
        let again = Some("the headings once more");
        assert_eq!(found(&["ID", "Thickness", "price", "on hand"], false), again);
    }

    #[test]
    fn the_headings_are_where_the_most_are_known() {
        let table = |rows: &[&[&str]]| {
            let record = |(at, cells): (usize, &&[&str])| Record::of_text(at + 1, cells);
            let records = rows.iter().enumerate().map(record).collect();
            Table { records, ..Table::default() }
        };
        let known = |text: &str| ["id", "price", "thickness"].contains(&text);
        let at = |rows: &[&[&str]]| header(&table(rows), &[], None, &known);
        assert_eq!(at(&[&["id", "price"], &["price", "thickness"]]), 0);
        assert_eq!(at(&[&["Price list"], &["", "May"], &["id", "price"], &["A", "1"]]), 2);
        assert_eq!(at(&[&["Our list"], &["Part", "Thk", "Cost"], &["A", "1", "2"]]), 1);
        let mut headings = Headings::default();
        for text in ["Part", "Cost"] {
            headings.learn(text, crate::model::headings::Meaning::PassedOver);
        }
        let learned = table(&[&["id"], &["cost", "part"], &["id", "price", "thickness"]]);
        assert_eq!(header(&learned, &[&headings], None, &known), 1);
    }
}
