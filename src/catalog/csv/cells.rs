//! The cells of one row as a form's fields see them: lengths, numbers and words.

use super::column::{Aspect, ColumnRef, ColumnShape, column_name};
use super::mark::{Mark, pointed, ungrouped};
use super::record::Sort;
use crate::error::{Error, Result};
use crate::model::bars::Entered;
use crate::model::kinds::{Quantity, folded};
use crate::model::length::{Length, Scale, unit_start};
use crate::model::number::{at_plus_minus, without_plus_minus};
use crate::model::part::{Entry, own_name, read_plain};
use crate::model::sides::{Side, Sides, less_bar};

/// One cell with the column it stands in.
#[derive(Debug, Clone, Copy)]
pub(super) struct Cell<'a> {
    pub(super) at: ColumnRef,
    /// The column's name as it was written.
    pub(super) column: &'a str,
    pub(super) text: &'a str,
    pub(super) sort: Sort,
}

/// What a row says about one value.
#[derive(Debug, Clone, Copy)]
pub(super) enum CellState<'a> {
    /// There is no such column: the value stays.
    Nothing,
    /// The cell is blank: the value goes.
    Blank,
    /// The cell is filled.
    Filled(Cell<'a>),
}

/// A value that a row sets, blanks or leaves.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Given<T> {
    /// Left as it is.
    Keep,
    /// Set, or blanked with `None`.
    Set(Option<T>),
}

impl<T> Given<T> {
    /// Carries the change out.
    pub(super) fn onto(self, value: &mut Option<T>) {
        if let Self::Set(new) = self {
            *value = new;
        }
    }
}

/// A measured value, with the bar that it was read over.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct OverBar {
    /// The value without the bar.
    pub(super) entry: Option<Entry>,
    pub(super) bar: Option<Length>,
}

/// What is wrong in a row, by column.
pub(super) type Wrongs = Vec<(String, Error)>;

/// The cells of one row, or the pairs of one command.
#[derive(Debug)]
pub(super) struct Row<'a> {
    cells: Vec<Cell<'a>>,
    mark: Mark,
    /// The catalog's currency, where the row may have a price.
    pub(super) currency: &'a str,
    wrongs: Wrongs,
    entered: Vec<Entered>,
}

impl<'a> Row<'a> {
    /// A row of these cells, whose numbers have this decimal mark.
    pub(super) fn new(cells: Vec<Cell<'a>>, mark: Mark) -> Self {
        Self { cells, mark, currency: "", wrongs: Vec::new(), entered: Vec::new() }
    }

    /// What is to be told back of it: lengths that were entered over a bar or with a side.
    pub(super) fn take_entered(&mut self) -> Vec<Entered> {
        std::mem::take(&mut self.entered)
    }

    /// What was wrong with it.
    pub(super) fn into_wrongs(self) -> Wrongs {
        self.wrongs
    }

    /// Notes something wrong.
    pub(super) fn wrong(&mut self, column: impl Into<String>, error: Error) {
        self.wrongs.push((column.into(), error));
    }

    /// What the row says about one value of a field.
    pub(super) fn state(&mut self, field: usize, aspect: Aspect) -> CellState<'a> {
        let mut state = CellState::Nothing;
        let mut twice = None;
        for cell in &self.cells {
            if cell.at.field != field || cell.at.aspect != aspect {
                continue;
            }
            match state {
                _ if cell.text.trim().is_empty() => {
                    if matches!(state, CellState::Nothing) {
                        state = CellState::Blank;
                    }
                }
                CellState::Filled(first) => twice = Some((first.column, cell.column)),
                CellState::Nothing | CellState::Blank => state = CellState::Filled(*cell),
            }
        }
        if let Some((first, second)) = twice {
            let error = Error::input(format!("`{first}` and `{second}` are both filled"))
                .hint("they say the same thing: leave one of them blank");
            self.wrong(second, error);
        }
        state
    }

    /// What the row's columns of the shop's own say, by their names.
    pub(super) fn own(&mut self, field: usize) -> Vec<(String, String)> {
        let mut said: Vec<(String, String)> = Vec::new();
        let own = self.cells.iter().filter(|cell| cell.at.field == field);
        let mut twice = Vec::new();
        for cell in own {
            let column = folded(cell.column);
            let Some(name) = own_name(&column) else { continue };
            if said.iter().any(|(known, _)| known == name) {
                twice.push(column);
            } else {
                said.push((name.into(), cell.text.trim().into()));
            }
        }
        for column in twice {
            self.wrong(column, Error::input("it is given twice").hint("leave one of them out"));
        }
        said
    }

    /// Whether something is wrong with the value of a key, whatever the unit in its column's name.
    pub(super) fn is_wrong(&self, key: &str) -> bool {
        let of_key = |column: &str| {
            let rest = folded(column).strip_prefix(key).map(String::from);
            rest.is_some_and(|rest| ["", "_in", "_mm"].contains(&rest.as_str()))
        };
        self.wrongs.iter().any(|(column, _)| of_key(column))
    }

    /// How much was wrong so far.
    pub(super) fn wrong_count(&self) -> usize {
        self.wrongs.len()
    }

    /// Whether a field's cell is filled, with whatever.
    pub(super) fn fills(&self, field: usize) -> bool {
        self.cells.iter().any(|cell| cell.at.field == field && !cell.text.trim().is_empty())
    }

    /// The column that filled a field, for a complaint about its value.
    pub(super) fn column_of(&self, field: usize, key: &str) -> String {
        let filled = |cell: &&Cell<'_>| cell.at.field == field && !cell.text.trim().is_empty();
        self.cells.iter().find(filled).map_or(key, |cell| cell.column).to_string()
    }

    /// The decimal mark of a cell: a workbook's own numbers have points.
    fn mark_of(&self, cell: &Cell<'_>) -> Mark {
        if cell.sort == Sort::Number { Mark::Point } else { self.mark }
    }

    /// Reads one value with `read`; what it refuses is noted, and the value kept.
    pub(super) fn change<T>(
        &mut self,
        field: usize,
        aspect: Aspect,
        read: impl FnOnce(&Cell<'_>, Mark) -> Result<T>,
    ) -> Given<T> {
        match self.state(field, aspect) {
            CellState::Nothing => Given::Keep,
            CellState::Blank => Given::Set(None),
            CellState::Filled(cell) => match read(&cell, self.mark_of(&cell)) {
                Ok(value) => Given::Set(Some(value)),
                Err(error) => {
                    self.wrong(cell.column, error);
                    Given::Keep
                }
            },
        }
    }

    /// A measured value with its tolerance, and the bar that it was read over.
    pub(super) fn entry(
        &mut self,
        (field, key, shape): (usize, &'static str, ColumnShape),
        quantity: Quantity,
        old: OverBar,
    ) -> OverBar {
        let before = self.wrongs.len();
        let sides = shape.sides();
        let mut side = Side::Unsaid;
        let mut within = None;
        let value = self.change(field, Aspect::Value, |cell, mark| {
            if quantity != Quantity::Length {
                return plain(quantity, cell, mark);
            }
            let (text, tol) = tolerance_apart(cell.text, sides)?;
            let (length, said) = sided_length(&Cell { text: &text, ..*cell }, mark, sides)?;
            side = said;
            if let Some(tol) = tol {
                within = Some(amount(&Cell { text: &tol, ..*cell }, mark)?);
            }
            Ok(length.nm())
        });
        let tol = self.change(field, Aspect::Tol, |cell, mark| {
            let cell = &Cell { text: without_plus_minus(cell.text), ..*cell };
            match quantity {
                Quantity::Length => amount(cell, mark),
                _ => not_negative(cell, plain(quantity, cell, mark)?),
            }
        });
        let tol = match (within, tol) {
            (Some(within), Given::Set(Some(tol))) if tol != within => {
                let error = Error::input(format!("`{key}` has another tolerance in its own cell"));
                self.wrong(column_name(key, Aspect::Tol), error.hint("leave one of them blank"));
                Given::Keep
            }
            (Some(within), _) => Given::Set(Some(within)),
            (None, tol) => tol,
        };
        let bar = self.change(field, Aspect::Bar, amount);
        let failed = self.wrongs.len() > before;
        let mut entry = match value {
            Given::Keep => old.entry,
            Given::Set(None) => None,
            Given::Set(Some(value)) => Some(Entry::new(value, old.entry.and_then(|old| old.tol))),
        };
        // A new value says anew over which bar it was read.
        let mut kept_bar = if value == Given::Keep { old.bar } else { None };
        if let Given::Set(Some(bar)) = bar {
            let over = Length::from_nm(bar);
            match (&mut entry, value) {
                (Some(entry), Given::Set(Some(_))) => {
                    match less_bar(entry.as_length(), side, over, sides) {
                        Ok(rest) => {
                            entry.value = rest.nm();
                            kept_bar = (over > Length::ZERO).then_some(over);
                        }
                        Err(error) => self.wrong(column_name(key, Aspect::Bar), error),
                    }
                }
                _ if failed => {}
                _ => {
                    let error = Error::input(format!("there is no `{key}` to take the bar off"))
                        .hint("give the reading in the same row as the bar it was taken over");
                    self.wrong(column_name(key, Aspect::Bar), error);
                }
            }
        }
        if let Given::Set(tol) = tol {
            match &mut entry {
                Some(entry) => entry.tol = tol,
                None if tol.is_some() && !failed => {
                    let error =
                        Error::input(format!("there is no `{key}` that it could belong to"));
                    self.wrong(column_name(key, Aspect::Tol), error);
                }
                None => {}
            }
        }
        if let (Some(entry), Given::Set(_)) = (entry, value)
            && self.wrongs.len() == before
            && (sides.is_some() || kept_bar.is_some())
        {
            let length = entry.as_length();
            self.entered.push(Entered { key, length, bar: kept_bar, sides });
        }
        OverBar { entry, bar: kept_bar }
    }
}

/// A length in a cell.
pub(super) fn signed_length(cell: &Cell<'_>, mark: Mark) -> Result<Length> {
    sided_length(cell, mark, None).map(|(length, _)| length)
}

fn plain(quantity: Quantity, cell: &Cell<'_>, mark: Mark) -> Result<i64> {
    match quantity {
        Quantity::Count => read_plain(quantity, &counted(cell.text, mark)?),
        _ => read_plain(quantity, &pointed(cell.text, mark)?),
    }
}

/// What people write behind a number of things.
const PIECES: &[&str] = &[
    "pc", "pcs", "pc.", "pcs.", "piece", "pieces", "ea", "ea.", "each", "off", "unit", "units", "x",
];

/// The text of a number of things as a whole number: `2 pcs`, `1,200` and `1.0` are such.
pub(super) fn counted(text: &str, mark: Mark) -> Result<String> {
    let text = text.trim();
    let end = text.rfind(|c: char| c.is_ascii_digit()).map_or(0, |at| at + 1);
    let word = text[end..].trim_start_matches(['.', ',']).trim().to_lowercase();
    let number = if PIECES.contains(&word.as_str()) { &text[..end] } else { text };
    let number = ungrouped(number, mark)?;
    let whole = number.split_once('.').filter(|(_, rest)| rest.bytes().all(|byte| byte == b'0'));
    Ok(whole.map_or(&*number, |(whole, _)| whole).to_string())
}

fn sided_length(cell: &Cell<'_>, mark: Mark, sides: Option<&Sides>) -> Result<(Length, Side)> {
    let text = pointed(cell.text.trim(), mark)?;
    let parse = |number: &str| match cell.at.scale {
        None => Length::parse(number),
        Some(scale) => in_column(number, scale),
    };
    match sides {
        Some(sides) => sides.read(&text, parse),
        None => Ok((parse(&text)?, Side::Unsaid)),
    }
}

/// A value without the tolerance that may be written behind it, and that tolerance: `1.000 +/-.002 in`.
/// One unit counts for both, and so does the word for a side behind them.
fn tolerance_apart(text: &str, sides: Option<&Sides>) -> Result<(String, Option<String>)> {
    let Some((value, tol)) = at_plus_minus(text).filter(|(value, _)| !value.is_empty()) else {
        return Ok((text.to_string(), None));
    };
    let (tol, word) = match sides {
        Some(sides) => tol.split_at(sides.split(tol)?.0.len()),
        None => (tol, ""),
    };
    let unit = |text: &str| text[unit_start(text)..].trim().to_string();
    let (of_value, of_tol) = (unit(value), unit(tol));
    let value = if of_value.is_empty() { format!("{value} {of_tol}") } else { value.to_string() };
    let tol = if of_tol.is_empty() { format!("{tol} {of_value}") } else { tol.to_string() };
    let (value, word) = (value.trim(), word.trim());
    Ok((format!("{value} {word}").trim().to_string(), Some(tol.trim().to_string())))
}

/// A bare number under a column that names the unit.
pub(super) fn in_column(number: &str, scale: Scale) -> Result<Length> {
    Length::parse_in(number, scale).map_err(|error| {
        if Length::parse(number).is_err() {
            return error;
        }
        let unit = if scale == Scale::Inch { "in" } else { "mm" };
        Error::input(format!("`{number}` has a unit, and the column is in {unit} already"))
            .hint("write the bare number, or drop the unit from the column's name")
    })
}

/// A length that is not negative, such as the thickness of a bar.
pub(super) fn amount(cell: &Cell<'_>, mark: Mark) -> Result<i64> {
    not_negative(cell, sided_length(cell, mark, None)?.0.nm())
}

fn not_negative(cell: &Cell<'_>, value: i64) -> Result<i64> {
    if value < 0 {
        return Err(Error::input(format!("`{}` is negative", cell.text)));
    }
    Ok(value)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::sides::CRANK;

    fn cell(text: &str, aspect: Aspect, scale: Option<Scale>) -> Cell<'_> {
        Cell { at: ColumnRef { field: 0, aspect, scale }, column: "x", text, sort: Sort::Text }
    }

    fn length(cell: &Cell<'_>, mark: Mark, sides: Option<&Sides>) -> Result<i64> {
        sided_length(cell, mark, sides).map(|(length, _)| length.nm())
    }

    #[test]
    fn a_crank_stands_proud_or_recessed() {
        let read = |text: &str| length(&cell(text, Aspect::Value, None), Mark::Point, Some(&CRANK));
        assert_eq!(read("0.020 in proud").unwrap(), 508_000);
        assert_eq!(read("0.5 mm Recessed").unwrap(), -500_000);
        assert!(read("-0.020 in proud").unwrap_err().to_string().contains("a sign and the word"));
        assert!(read("0.020 recessed").unwrap_err().to_string().contains("no unit"));
    }

    #[test]
    fn a_mark_is_read_only_where_it_is_allowed() {
        let comma = |text: &str, allowed| length(&cell(text, Aspect::Value, None), allowed, None);
        assert_eq!(comma("6,35 mm", Mark::Either).unwrap(), 6_350_000);
        assert!(comma("6,35 mm", Mark::Point).unwrap_err().to_string().contains("decimal comma"));
        assert!(
            comma("1.006,35 mm", Mark::Either).unwrap_err().to_string().contains("decimal mark")
        );
    }

    #[test]
    fn a_unit_in_a_column_that_has_one_is_named() {
        let found = cell("0.25 in", Aspect::Value, Some(Scale::Millimetre));
        assert!(
            length(&found, Mark::Point, None).unwrap_err().to_string().contains("in mm already")
        );
    }

    fn entry(cells: Vec<Cell<'_>>, old: Option<Entry>) -> (Option<Entry>, Wrongs) {
        let mut row = Row::new(cells, Mark::Point);
        let old = OverBar { entry: old, bar: None };
        let new = row.entry((0, "x", ColumnShape::Length), Quantity::Length, old);
        (new.entry, row.into_wrongs())
    }

    #[test]
    fn a_bar_is_taken_off_the_reading_and_a_tolerance_stays_until_it_is_given() {
        let old = Some(Entry::new(1, Some(7)));
        let bar = Some(Scale::Millimetre);
        let (new, wrongs) =
            entry(vec![cell("30 mm", Aspect::Value, None), cell("5", Aspect::Bar, bar)], old);
        assert!(wrongs.is_empty());
        assert_eq!(new, Some(Entry::new(25_000_000, Some(7))));
        let (new, _) = entry(vec![cell("", Aspect::Tol, None)], old);
        assert_eq!(new, Some(Entry::new(1, None)));
        assert_eq!(entry(vec![cell("", Aspect::Value, None)], old).0, None);
        assert_eq!(entry(vec![], old).0, old);
    }

    #[test]
    fn a_bar_or_tolerance_without_its_reading_is_wrong() {
        let (_, wrongs) = entry(vec![cell("1 mm", Aspect::Bar, None)], None);
        assert!(wrongs[0].1.to_string().contains("no `x` to take the bar off"));
        let (_, wrongs) = entry(vec![cell("1 mm", Aspect::Tol, None)], None);
        assert!(wrongs[0].1.to_string().contains("no `x` that it could belong to"));
        let (_, wrongs) =
            entry(vec![cell("1 mm", Aspect::Value, None), cell("-1 mm", Aspect::Tol, None)], None);
        assert!(wrongs[0].1.to_string().contains("negative"));
    }

    #[test]
    fn a_tolerance_may_be_written_with_plus_and_minus() {
        for text in ["\u{b1}0.002 in", "+-0.002 in", "+/- 0.002 in", "0.002 in"] {
            let cells = vec![cell("1 in", Aspect::Value, None), cell(text, Aspect::Tol, None)];
            let (new, wrongs) = entry(cells, None);
            assert!(wrongs.is_empty(), "{text}");
            assert_eq!(new, Some(Entry::new(25_400_000, Some(50_800))), "{text}");
        }
    }

    #[test]
    fn a_tolerance_may_stand_in_the_cell_of_its_length() {
        for text in [
            "1.000 +/-.002 in",
            "1.000 in \u{b1}.002",
            "1.000 in +- 2 thou",
            "25.4 \u{b1} 0.0508 mm",
        ] {
            let (new, wrongs) = entry(vec![cell(text, Aspect::Value, None)], None);
            assert!(wrongs.is_empty(), "{text}: {wrongs:?}");
            assert_eq!(new, Some(Entry::new(25_400_000, Some(50_800))), "{text}");
        }
        let (new, _) = entry(vec![cell("1 \u{b1}.002", Aspect::Value, Some(Scale::Inch))], None);
        assert_eq!(new, Some(Entry::new(25_400_000, Some(50_800))));
        let both =
            vec![cell("1 \u{b1}.002 in", Aspect::Value, None), cell("1 mm", Aspect::Tol, None)];
        assert!(entry(both, None).1[0].1.to_string().contains("another tolerance in its own cell"));
        for text in ["1.000 \u{b1}.002", "1 +.002/-.001 in", "1 \u{b1}x in", "1 in \u{b1}"] {
            assert!(!entry(vec![cell(text, Aspect::Value, None)], None).1.is_empty(), "{text}");
        }
        let apart = tolerance_apart("0.020 \u{b1}.001 in proud", Some(&CRANK)).unwrap();
        assert_eq!(apart, ("0.020 in proud".into(), Some(".001 in".into())));
    }

    #[test]
    fn a_number_of_things_is_read_as_people_write_it() {
        for (text, mark) in [
            ("2 pcs", Mark::Point),
            ("2.0", Mark::Point),
            ("2,0", Mark::Comma),
            ("2pc.", Mark::Point),
            (" 2 ", Mark::Point),
            ("2", Mark::Comma),
        ] {
            assert_eq!(counted(text, mark).unwrap(), "2", "{text}");
        }
        assert_eq!(counted("1,200 ea", Mark::Point).unwrap(), "1200");
        assert_eq!(counted("2.5", Mark::Point).unwrap(), "2.5");
        assert_eq!(counted("2 boxes", Mark::Point).unwrap(), "2 boxes");
    }
}
