//! A thing made again from the cells that the history has of it, without a question: what was stored
//! once is meant.

use super::cells::Wrongs;
use super::cells::{Cell, Row};
use super::form::{Columns as _, RecordForm};
use super::mark::Mark;
use super::record::Sort;
use crate::error::{Error, Result};
use crate::model::history::Held;
use crate::model::length::Unit;

/// The filled columns of a thing, each with its cell.
pub(in crate::catalog) type Cells = Vec<(String, String)>;

impl<T> RecordForm<T> {
    /// A thing of which nothing but its name is known, with what these cells say.
    ///
    /// # Errors
    ///
    /// Names the columns that this program does not know any more, and values that cannot be.
    pub(in crate::catalog) fn again(&self, mut blank: T, cells: &Cells) -> Result<T> {
        let cell = |(column, text): &'_ (String, String)| match self.column(column) {
            Some(_) => None,
            None => Some((column.clone(), Error::input(format!("`{text}` has no place any more")))),
        };
        agree(cells.iter().filter_map(cell).collect())?;
        let known = cells.iter().filter_map(|(column, text)| {
            Some(Cell { at: self.column(column)?, column, text: text.as_str(), sort: Sort::Text })
        });
        let mut row = Row::new(known.collect(), Mark::Point);
        self.read(&mut row, &mut blank);
        agree(row.into_wrongs())?;
        Ok(blank)
    }
}

/// What a cell held, as it is written in it.
pub(in crate::catalog) fn written(held: &Held) -> String {
    match held {
        Held::Blank => String::new(),
        Held::Length(length) => length.exact(Unit::In),
        Held::Text(text) => text.clone(),
    }
}

/// One error for everything that is wrong.
pub(super) fn agree(mut wrongs: Wrongs) -> Result<()> {
    if wrongs.len() > 1 {
        let lines: Vec<String> = wrongs
            .iter()
            .map(|(column, error)| format!("\n  `{column}`: {}", error.one_line()))
            .collect();
        let message = format!("{} values are wrong{}", lines.len(), lines.concat());
        return Err(Error::input(message));
    }
    match wrongs.pop() {
        None => Ok(()),
        Some((column, error)) => Err(error.at(format!("`{column}`"))),
    }
}
