//! A table of typed cells, as a file or a worksheet holds it.

use super::mark::Mark;
use super::record::Record;
use crate::error::Error;

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
