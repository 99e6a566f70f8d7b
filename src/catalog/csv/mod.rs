//! CSV in and out: the columns of parts, jobs, pieces, readings and instruments, read and written by
//! the same forms.
//!
//! A command's `KEY=VALUE` pairs are read as the cells of one row, so that every rule about a
//! column is in one place.

mod again;
mod amend;
mod asked;
mod becomes;
mod cells;
mod column;
mod decode;
mod edit;
mod export;
mod field;
mod files;
mod form;
mod holds;
mod house_form;
mod import;
mod instrument_form;
mod job_checker;
mod job_form;
mod likely;
mod mark;
mod opened;
mod others;
mod part_form;
mod piece_form;
mod plan;
mod plan_house;
mod plan_jobs;
mod plan_measured;
mod planned;
mod problems;
mod reading_form;
mod record;
mod rows;
mod sheet;
mod shown;
mod source;
mod table;
mod template;
mod text;
mod values;
mod workbook;
mod workbook_out;

pub(super) use again::{Cells, written};
pub(super) use edit::check_job;
pub use edit::{
    Pairs, PairsTaken, add_instrument, add_job, add_part, add_piece, condition_named, copy_job,
    copy_part, day_named, edit_instrument, edit_job, edit_part, edit_piece, piece_named, quoted,
    read_set, tried_job,
};
pub use export::{CsvFile, export, export_one, readings_file, to_write, write_files};
pub use form::ColumnHelp;
pub(super) use import::published_instruments;
pub use import::{FileCount, Imported, Options, import, strange};
pub(super) use instrument_form::form as instrument_columns;
pub(super) use job_form::form as job_columns;
pub use likely::{column_named, holds_named, likely};
pub use opened::Strange;
pub(super) use part_form::form as part_columns;
pub(super) use piece_form::form as piece_columns;
pub use planned::Tally;
pub(super) use reading_form::{ReadingRow, form as reading_columns, read_again as reading_again};
pub use shown::{CellOf, ShownCell, blank_cells, job_cells, part_cells};
pub use source::Source;
pub use template::{column_help, templates};
pub use workbook_out::{workbook, write_workbook};
