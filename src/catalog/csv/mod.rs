//! CSV in and out: the columns of parts, jobs, pieces, readings and instruments, read and written by
//! the same forms.
//!
//! A command's `KEY=VALUE` pairs are read as the cells of one row, so that every rule about a
//! column is in one place.

mod asked;
mod cells;
mod differences;
mod edit;
mod edit_measured;
mod export;
mod form;
mod holds;
mod import;
mod instrument_form;
mod job_form;
mod part_form;
mod piece_form;
mod plan;
mod plan_measured;
mod problems;
mod reading_form;
mod sheet;
mod shelf;
mod shown;
mod source;
mod template;
mod text;
mod values;

pub(super) use differences::{filled, of_house, of_instrument, of_job, of_part, of_piece};
pub use edit::{Taken, add_job, add_part, edit_job, edit_part, quoted, tried_job};
pub use edit_measured::{
    add_instrument, add_piece, condition_named, day_named, edit_instrument, edit_piece,
    piece_named, read_set,
};
pub use export::{CsvFile, export, export_one, readings_file, write_files};
pub(super) use import::published_instruments;
pub use import::{FileCount, Imported, Options, Tally, import};
pub use shown::{CellOf, ShownCell, blank_cells, job_cells, part_cells};
pub use source::Source;
pub use template::{ColumnHelp, column_help, templates};
