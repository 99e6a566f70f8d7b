//! Columns of tables and of CSV: the head of each stands beside what makes its cells.

use super::page::{Grid, Page};

/// One column of a table whose rows are `R`.
pub(super) struct Column<'c, R: ?Sized> {
    head: String,
    cell: Box<dyn Fn(&R) -> String + 'c>,
}

impl<'c, R: ?Sized> Column<'c, R> {
    /// A column of words, or one of a CSV.
    pub(super) fn of(head: impl Into<String>, cell: impl Fn(&R) -> String + 'c) -> Self {
        Self { head: head.into(), cell: Box::new(cell) }
    }

    /// A column of numbers, which stand at its right.
    pub(super) fn number(head: impl AsRef<str>, cell: impl Fn(&R) -> String + 'c) -> Self {
        Self::of(format!(">{}", head.as_ref()), cell)
    }
}

/// Puts a table on a page.
pub(super) fn table<R>(page: &mut Page, columns: &[Column<'_, R>], rows: &[R]) {
    let mut grid = Grid::new(columns.iter().map(|column| &column.head));
    for row in rows {
        grid.row(columns.iter().map(|column| (column.cell)(row)));
    }
    page.grid(grid);
}

/// The same as CSV, a header row first.
pub(super) fn csv<R>(columns: &[Column<'_, R>], rows: &[R]) -> String {
    let mut all = vec![columns.iter().map(|column| column.head.clone()).collect()];
    all.extend(rows.iter().map(|row| columns.iter().map(|column| (column.cell)(row)).collect()));
    write(all)
}

/// Rows of cells as CSV.
pub(super) fn write(rows: Vec<Vec<String>>) -> String {
    let mut writer = csv::Writer::from_writer(Vec::new());
    for row in rows {
        // Writing into memory does not fail.
        let _ = writer.write_record(row);
    }
    writer.into_inner().ok().and_then(|bytes| String::from_utf8(bytes).ok()).unwrap_or_default()
}
