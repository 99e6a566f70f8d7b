//! Answers as people and programs read them: tables, JSON and CSV from the same results.
//!
//! Every function here turns a result into text. Nothing is worked out and nothing is printed.

use crate::model::length::Unit;

mod aside;
mod becomes;
mod buying;
mod cells;
mod columns;
mod cure;
mod drawing;
mod fit;
mod history;
pub mod html;
mod inspection;
mod json;
mod kept;
mod lessons;
mod lists;
mod measuring;
mod merge;
mod page;
mod recommend;
mod records;
mod rows;
mod sentences;
mod sheet;
mod shelf;
mod shop;
mod take;
mod travel;
mod units;
mod visible;

pub use becomes::becomes;
pub use buying::{
    csv as buying_csv, json as buying_json, left_out as buying_left_out, table as buying_table,
    workbook as buying_workbook,
};
pub use cure::{brief as cure_brief, table as cure_table};
pub use drawing::{Sketch, reading as reading_sketch, small_bar, svg as fit_svg};
pub use fit::{brief as fit_brief, table as fit_table};
pub use history::{csv as history_csv, json as history_json, table as history_table, taken_back};
pub use inspection::{csv as inspection_csv, json as inspection_json, table as inspection_table};
pub use json::{
    cure as cure_json, cures as cures_json, fit as fit_json, recommend as recommend_json,
};
pub use kept::{
    Comparison, Today, compare_json, compare_table, list as answer_list,
    list_json as answer_list_json, show as answer_show, show_json as answer_show_json, stack_then,
};
pub use lessons::lessons;
pub use lists::{
    PartList, Standing, headings_json, headings_list_json, instrument_list_json,
    instrument_show_json, job_list, job_list_csv, job_list_json, job_show_json, part_list,
    part_list_csv, part_list_json, part_show_json, piece_list_json, reading_list_json,
    settings_json, window_json,
};
pub use merge::{conflict, json as merge_json, table as merge_table};
pub use page::wrapped;
pub use recommend::table as recommend_table;
pub use records::{instrument_list, instrument_show, measured, piece_list, reading_list, set_line};
pub use rows::{cure as cure_csv, fit as fit_csv, recommend as recommend_csv};
pub use sentences::GRADES;
pub use sheet::{blank as blank_sheet, sheet};
pub use shelf::{
    csv as shelf_csv, json as shelf_json, low_csv, low_json, low_table, plan_today,
    table as shelf_table,
};
pub use shop::{
    columns as key_list, entered, entered_of, job_show, kinds, part_show, settings, window,
};
pub use take::taken;
pub use travel::Signs;
pub use visible::visible;

/// For whom a table is made.
#[derive(Debug, Clone, Copy)]
pub struct View {
    /// The unit that people read.
    pub unit: Unit,
    /// How many columns of text there is room for.
    pub width: u16,
    /// The signs that the terminal can show.
    pub signs: Signs,
}

impl View {
    /// For somebody who reads lengths in `unit`, on a page of `width` columns of plain characters.
    pub const fn new(unit: Unit, width: u16) -> Self {
        Self { unit, width, signs: Signs::Ascii }
    }
}
