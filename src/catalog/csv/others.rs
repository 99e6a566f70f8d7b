//! The rows that were not taken, as sheets to be put right and imported again.

use std::collections::BTreeMap;
use std::path::Path;

use super::export::{CsvFile, write_files};
use super::mark::Mark;
use super::record::{Record, Sort};
use super::sheet::Sheet;
use super::text::join_with;
use crate::error::{Error, Result};
use crate::model::headings::REASONS;

/// Why rows are not taken, by table and line.
pub(super) type Reasons = BTreeMap<(usize, usize), Vec<String>>;

/// The sheets of the rows that were not taken: one for each table, called so that it is known again
/// what it holds, with the reasons in a column of their own.
pub(super) fn sheets(sheets: &[Option<Sheet>], reasons: &Reasons) -> Vec<CsvFile> {
    let mut files: Vec<CsvFile> = Vec::new();
    for sheet in sheets.iter().flatten() {
        let of_row = |record: &Record| {
            let why = reasons.get(&(sheet.file, record.line))?;
            let mut cells: Vec<String> = cells(sheet, record);
            cells.push(why.join("; "));
            Some(cells)
        };
        let rows: Vec<Vec<String>> = sheet.records.iter().filter_map(of_row).collect();
        if rows.is_empty() {
            continue;
        }
        let mut header = sheet.names.clone();
        header.push(REASONS.into());
        let stem: String = sheet.stem.chars().map(|c| if is_plain(c) { c } else { '_' }).collect();
        let taken = |name: &str| files.iter().any(|file| file.name == name);
        let names = (1_u32..).map(|nth| match nth {
            1 => format!("{stem}.csv"),
            nth => format!("{stem}-{nth}.csv"),
        });
        let name = names.into_iter().find(|name| !taken(name)).unwrap_or_default();
        let count = rows.len();
        let separator = if sheet.mark == Mark::Point { b',' } else { b';' };
        let text = join_with(separator, std::iter::once(header).chain(rows));
        files.push(CsvFile { name, text, rows: count });
    }
    files
}

fn is_plain(c: char) -> bool {
    c.is_alphanumeric() || "-_. ".contains(c)
}

/// The cells as they were typed, as many as there are headings.
fn cells(sheet: &Sheet, record: &Record) -> Vec<String> {
    let typed = |cell: &super::record::Typed| match (cell.sort, sheet.mark) {
        (Sort::Number, Mark::Comma) => cell.typed().replace('.', ","),
        _ => cell.typed().to_string(),
    };
    let mut cells: Vec<String> = record.cells.iter().map(typed).collect();
    // What is more than the headings stays together in the last cell, for somebody to look at.
    if cells.len() > sheet.names.len() && !sheet.names.is_empty() {
        let more = cells.split_off(sheet.names.len() - 1).join(" ");
        cells.push(more);
    }
    cells.resize(sheet.names.len(), String::new());
    cells
}

/// Writes the sheets into a directory in which none of them is yet.
///
/// # Errors
///
/// Refuses to write over a file, and says where one cannot be written.
pub(super) fn write(files: &[CsvFile], directory: &Path) -> Result<()> {
    if let Some(there) =
        files.iter().map(|file| directory.join(&file.name)).find(|path| path.exists())
    {
        return Err(Error::input(format!("`{}` is there already", there.display()))
            .hint("nothing was stored: give `--good-rows` another directory"));
    }
    write_files(&files.iter().collect::<Vec<_>>(), directory)
}
