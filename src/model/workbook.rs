//! Workbooks as they are written: bold heads in a row that stays in sight, numbers as numbers.

use rust_xlsxwriter::{Format, Workbook, XlsxError};

use crate::error::{Error, Result};

/// What stands in a cell of a worksheet.
#[derive(Debug, Clone, PartialEq)]
pub enum SheetCell {
    /// Nothing.
    Blank,
    /// A number such as a count or a price.
    Number(f64),
    /// A length in the unit of its column.
    Length(f64),
    /// Words.
    Words(String),
}

impl SheetCell {
    /// Words, or nothing where there are none.
    pub fn words(text: impl Into<String>) -> Self {
        let text: String = text.into();
        if text.is_empty() { Self::Blank } else { Self::Words(text) }
    }
}

/// A column of a worksheet: its head and its cells.
pub type SheetColumn = (String, Vec<SheetCell>);

/// The bytes of a workbook of these worksheets, each with its name.
///
/// # Errors
///
/// A storage error that says what to do `instead` where it cannot be made.
pub fn workbook(sheets: Vec<(&str, Vec<SheetColumn>)>, instead: &str) -> Result<Vec<u8>> {
    written(sheets).map_err(|error| {
        Error::storage(format!("the workbook cannot be made: {error}")).hint(instead)
    })
}

fn written(sheets: Vec<(&str, Vec<SheetColumn>)>) -> std::result::Result<Vec<u8>, XlsxError> {
    let (bold, digits) = (Format::new().set_bold(), Format::new().set_num_format("0.000##"));
    let mut book = Workbook::new();
    for (name, columns) in sheets {
        let sheet = book.add_worksheet();
        sheet.set_name(name)?;
        for (column, (head, cells)) in (0_u16..).zip(columns) {
            sheet.write_string_with_format(0, column, head, &bold)?;
            for (row, cell) in (1_u32..).zip(cells) {
                match cell {
                    SheetCell::Blank => continue,
                    SheetCell::Number(number) => sheet.write_number(row, column, number)?,
                    SheetCell::Length(length) => {
                        sheet.write_number_with_format(row, column, length, &digits)?
                    }
                    SheetCell::Words(words) => sheet.write_string(row, column, words)?,
                };
            }
        }
        sheet.set_freeze_panes(1, 0)?;
        sheet.autofit();
    }
    book.save_to_buffer()
}
