//! What the shop knows: lengths, kinds of part, parts, mating faces, jobs and windows.
//!
//! Nothing here does I/O or arithmetic beyond single values.

pub mod agreed;
pub mod aside;
pub mod bars;
#[cfg(test)]
pub(crate) mod drawn;
pub mod edge;
pub mod entry;
pub mod faces;
pub mod figure;
pub mod headings;
pub mod history;
pub mod house;
pub mod job;
pub mod kept;
pub mod kinds;
pub mod length;
pub mod library;
pub mod merge;
pub mod money;
pub(crate) mod number;
pub mod ordered;
pub mod part;
pub mod pieces;
pub mod sides;
pub mod typed;
pub mod usual;
pub mod words;
pub mod workbook;
