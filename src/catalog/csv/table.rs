//! A file as tables of typed cells, whatever kind of file it is: a workbook has one for each of its
//! worksheets, a text file one.

use std::path::Path;

use super::decode::decode;
use super::mark::Mark;
use super::source::Source;
use super::text::{Layout, Split, split};
use super::workbook;
use crate::error::Error;

/// What a cell is, beside its text.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) enum Sort {
    /// Text, as it was typed.
    #[default]
    Text,
    /// A number of a workbook, written with a decimal point.
    Number,
    /// A date of a workbook, written as year, month and day.
    Date,
    /// What a workbook shows where its own formula failed.
    Fault,
}

/// One cell.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(super) struct Typed {
    pub(super) text: String,
    pub(super) sort: Sort,
    /// As it was typed, where it is taken for something else.
    pub(super) was: Option<String>,
}

impl Typed {
    pub(super) fn text(text: impl Into<String>) -> Self {
        Self { text: text.into(), ..Self::default() }
    }

    /// The text as it was typed.
    pub(super) fn typed(&self) -> &str {
        self.was.as_deref().unwrap_or(&self.text)
    }

    /// Takes it for another text.
    pub(super) fn take(&mut self, text: String) {
        let typed = std::mem::replace(&mut self.text, text);
        self.was.get_or_insert(typed);
    }

    pub(super) fn is_text(&self) -> bool {
        self.sort == Sort::Text
    }

    pub(super) fn is_blank(&self) -> bool {
        self.text.trim().is_empty()
    }
}

/// One row and the line on which it begins.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Record {
    /// The line, from 1.
    pub(super) line: usize,
    /// The cells: as they were quoted, or without surrounding spaces where they were not.
    pub(super) cells: Vec<Typed>,
}

impl Record {
    /// Whether nothing is written in it.
    pub(super) fn is_blank(&self) -> bool {
        self.cells.iter().all(Typed::is_blank)
    }

    /// The cells in which something is written.
    pub(super) fn filled(&self) -> impl Iterator<Item = &Typed> {
        self.cells.iter().filter(|cell| !cell.is_blank())
    }

    #[cfg(test)]
    pub(super) fn of_text(line: usize, cells: &[&str]) -> Self {
        Self { line, cells: cells.iter().map(|cell| Typed::text(*cell)).collect() }
    }
}

/// A table.
#[derive(Debug, Default)]
pub(super) struct Table {
    /// How it is called where something is told of it: the file, and the worksheet where there are
    /// several.
    pub(super) name: String,
    /// The name that may tell what it holds: the worksheet's, or the file's without its ending.
    pub(super) stem: String,
    /// Whether it is one worksheet of several.
    pub(super) is_of_many: bool,
    /// Whether somebody hid the worksheet.
    pub(super) is_hidden: bool,
    pub(super) mark: Mark,
    /// The rows in which something is written.
    pub(super) records: Vec<Record>,
    /// The lines that could not be read.
    pub(super) errors: Vec<(usize, Error)>,
    /// How it was read, where that could be read otherwise.
    pub(super) notes: Vec<String>,
}

/// Reads a file. One that cannot be read at all is a table with an error in it.
pub(super) fn tables(source: &Source) -> Vec<Table> {
    let name = source.name.display().to_string();
    let stem = stem(&source.name);
    let failed = |line: usize, error: Error| {
        let (name, stem) = (name.clone(), stem.clone());
        vec![Table { name, stem, errors: vec![(line, error)], ..Table::default() }]
    };
    if workbook::is_one(&source.bytes) {
        return match workbook::tables(&source.bytes, &name, &stem) {
            Ok(tables) => tables,
            Err(error) => failed(1, error),
        };
    }
    let decoded = match decode(&source.bytes) {
        Ok(decoded) => decoded,
        Err((line, error)) => return failed(line, error),
    };
    let layout = Layout::of(&decoded.text);
    let split = split(layout.rest(&decoded.text), layout);
    let mark = match layout.separator {
        // Between commas only a point can be a decimal mark.
        ',' => Mark::Point,
        _ => Mark::of(&split.records),
    };
    let mut notes = Vec::new();
    if let Some(encoding) = decoded.guessed {
        notes.push(format!("{name}: its letters were read as {encoding}"));
    }
    if mark == Mark::Comma && layout.separator != ';' {
        notes.push(format!("{name}: its decimal mark is a comma"));
    }
    let Split { records, errors, .. } = split;
    vec![Table { name, stem, mark, records, errors, notes, ..Table::default() }]
}

/// A file's name without directory and ending; none of standard input.
fn stem(path: &Path) -> String {
    path.file_stem().map(|stem| stem.to_string_lossy().into_owned()).unwrap_or_default()
}
