//! A file as tables of typed cells, whatever kind of file it is: a workbook has one for each of its
//! worksheets, a text file one.

use std::path::Path;

use super::decode::decode;
use super::mark::Mark;
use super::source::Source;
use super::table::Table;
use super::text::{Layout, Split, split};
use super::workbook;
use crate::error::Error;

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
