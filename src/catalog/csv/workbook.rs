//! Workbooks: each worksheet is a table, each number exactly what the sheet shows at its full length.

use std::io::Cursor;

use calamine::{
    Data, ExcelDateTime, Reader as _, SheetType, SheetVisible, Sheets, open_workbook_auto_from_rs,
};

use super::mark::Mark;
use super::record::{Record, Sort, Typed};
use super::table::Table;
use crate::error::{Error, Result};

/// How files begin that are workbooks: those of XML in an archive, and the older ones.
const BEGINNINGS: [&[u8]; 2] = [b"PK\x03\x04", b"\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1"];

/// Whether a file begins like a workbook.
pub(super) fn is_one(bytes: &[u8]) -> bool {
    BEGINNINGS.iter().any(|beginning| bytes.starts_with(beginning))
}

/// More rows and more columns than any shop's list has; a stray cell far outside is told as such.
const MOST_ROWS: u32 = 200_000;
const MOST_COLUMNS: u32 = 5_000;

/// How many cells of one worksheet are taken, filled or not.
const MOST_CELLS: u64 = 20_000_000;

type OpenBook<'b> = Sheets<Cursor<&'b [u8]>>;

/// The tables of a workbook: its worksheets in which something is written.
///
/// # Errors
///
/// Refuses what is no workbook, one that is locked with a password, and worksheets beyond all measure.
pub(super) fn tables(bytes: &[u8], name: &str, stem: &str) -> Result<Vec<Table>> {
    let mut book = open_workbook_auto_from_rs(Cursor::new(bytes)).map_err(|e| unreadable(&e))?;
    let sheets = book.sheets_metadata().to_vec();
    let mut tables = Vec::new();
    for sheet in sheets.iter().filter(|sheet| sheet.typ == SheetType::WorkSheet) {
        let mut records = records(&mut book, &sheet.name)?;
        records.retain(|record| !record.is_blank());
        if records.is_empty() {
            continue;
        }
        let mark = Mark::of(&records);
        tables.push(Table {
            name: format!("{name} worksheet `{}`", sheet.name),
            stem: sheet.name.clone(),
            is_of_many: sheets.len() > 1,
            is_hidden: sheet.visible != SheetVisible::Visible,
            mark,
            records,
            ..Table::default()
        });
    }
    if tables.is_empty() {
        return Err(Error::input("nothing is written in the workbook"));
    }
    // A lone worksheet is called as its program calls every first one: the file's name says more.
    if let [only] = tables.as_mut_slice()
        && sheets.len() == 1
    {
        only.name = name.into();
        only.stem = stem.into();
    }
    for table in &mut tables {
        if table.mark == Mark::Comma {
            table.notes.push(format!("{}: its decimal mark is a comma", table.name));
        }
    }
    Ok(tables)
}

fn unreadable(error: &dyn std::fmt::Display) -> Error {
    let told = error.to_string();
    if told.to_lowercase().contains("password") {
        return Error::input("the workbook is locked with a password")
            .hint("save a copy of it without one");
    }
    Error::input(format!("the workbook cannot be read: {told}"))
        .hint("save it once more as xlsx or ods, or as CSV UTF-8")
}

/// The rows of a worksheet, each as wide as the widest.
fn records(book: &mut OpenBook<'_>, sheet: &str) -> Result<Vec<Record>> {
    let mut cells: Vec<(u32, u32, Typed)> = Vec::new();
    let mut add = |row: u32, column: u32, typed: Typed| {
        if typed.is_blank() {
            return Ok(());
        }
        if row >= MOST_ROWS || column >= MOST_COLUMNS {
            let message = format!("a cell of the worksheet `{sheet}` stands in row {}", row + 1);
            return Err(Error::input(format!("{message}, column {}", column + 1))
                .hint("clear it: a list has fewer rows and columns"));
        }
        cells.push((row, column, typed));
        Ok(())
    };
    if let Sheets::Xlsx(book) = book {
        // Cell by cell: a stray one far outside must not make a table of that size in memory.
        let mut reader = book.worksheet_cells_reader(sheet).map_err(|e| unreadable(&e))?;
        while let Some(cell) = reader.next_cell().map_err(|e| unreadable(&e))? {
            let (row, column) = cell.get_position();
            add(row, column, typed(&Data::from(cell.get_value().clone())))?;
        }
    } else {
        let range = book.worksheet_range(sheet).map_err(|e| unreadable(&e))?;
        let (top, left) = range.start().unwrap_or_default();
        for (row, column, data) in range.used_cells() {
            let at = |first: u32, more: usize| {
                u32::try_from(more).map_or(u32::MAX, |more| first.saturating_add(more))
            };
            add(at(top, row), at(left, column), typed(data))?;
        }
    }
    let rows = cells.iter().map(|(row, ..)| row + 1).max().unwrap_or(0);
    let width = cells.iter().map(|(_, column, _)| column + 1).max().unwrap_or(0);
    if u64::from(rows) * u64::from(width) > MOST_CELLS {
        let message = format!("the worksheet `{sheet}` has {rows} rows of {width} columns");
        return Err(Error::input(message).hint("is a stray cell far outside the list?"));
    }
    let mut records: Vec<Record> = Vec::new();
    // A reader may give cells in any order; rows are told by their numbers.
    cells.sort_by_key(|(row, column, _)| (*row, *column));
    for (row, column, typed) in cells {
        let line = row as usize + 1;
        if records.last().is_none_or(|record| record.line != line) {
            records.push(Record { line, cells: vec![Typed::default(); width as usize] });
        }
        if let Some(record) = records.last_mut() {
            record.cells[column as usize] = typed;
        }
    }
    Ok(records)
}

fn typed(data: &Data) -> Typed {
    let of = |text: String, sort| Typed { text, sort, was: None };
    match data {
        Data::Empty => Typed::default(),
        Data::Int(number) => of(number.to_string(), Sort::Number),
        Data::Float(number) => of(shown(*number), Sort::Number),
        Data::String(text) => Typed::text(text.trim()),
        Data::Bool(yes) => Typed::text(if *yes { "yes" } else { "no" }),
        Data::DateTime(when) => of(day(when), Sort::Date),
        Data::DateTimeIso(text) => of(text.split('T').next().unwrap_or(text).into(), Sort::Date),
        Data::DurationIso(text) => of(text.clone(), Sort::Date),
        Data::Error(error) => of(error.to_string(), Sort::Fault),
    }
}

/// A number with the fifteen digits that workbooks keep: what is behind them is how the machine rounded.
fn shown(number: f64) -> String {
    let rounded = format!("{number:.14e}").parse().unwrap_or(number);
    // Written out without an exponent, and never as minus zero.
    let text = format!("{}", rounded + 0.0);
    let decimals = text.split_once('.').map_or(0, |(_, decimals)| decimals.len());
    if decimals <= MOST_DECIMALS {
        return text;
    }
    let text = format!("{rounded:.MOST_DECIMALS$}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".into() } else { text.to_string() }
}

/// A thousandth of a nanometre, in inches, has fewer.
const MOST_DECIMALS: usize = 15;

fn day(date: &ExcelDateTime) -> String {
    if date.is_duration() {
        return format!("{} h", shown(date.as_f64() * 24.0));
    }
    let (year, month, day, ..) = date.to_ymd_hms_milli();
    format!("{year:04}-{month:02}-{day:02}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_is_shown_as_the_sheet_shows_it() {
        for (number, text) in [
            (0.1 + 0.2, "0.3"),
            (0.7125, "0.7125"),
            (1249.0, "1249"),
            (-0.5, "-0.5"),
            (-0.0, "0"),
            (18.0975, "18.0975"),
            (1e-7, "0.0000001"),
            (1.0 / 25_400_000.0, "0.000000039370079"),
            (1e-30, "0"),
            (123_456_789_012.0, "123456789012"),
        ] {
            assert_eq!(shown(number), text);
        }
    }
}
