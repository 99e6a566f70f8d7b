//! Rows are believed only as far as this program could have written them.
//!
//! A file may be damaged, or changed by another hand. What could not have been entered, so that a sum
//! might overflow or a rule be broken that the rest of the program relies on, is refused with the table
//! and the row. What is only unusual is not: that belongs to entry.

use rusqlite::Row;

use super::fault::Fault;
use crate::error::Result;
use crate::model::kinds::DimSpec;
use crate::model::part::{Entry, check_value};

/// Reads a row of a table; `name` says which row it is where something in it cannot be.
///
/// # Errors
///
/// The file is damaged where `read` refuses a value or finds one of another type.
pub(super) fn believed<T>(
    table: &str,
    row: &Row<'_>,
    name: impl FnOnce() -> String,
    read: impl FnOnce() -> Result<T, Fault>,
) -> Result<T, Fault> {
    read().map_err(|fault| in_row(table, row, &name(), fault))
}

/// A failure in a row of a table: the file is damaged there where it is a value's.
pub(super) fn in_row(table: &str, row: &Row<'_>, name: &str, fault: Fault) -> Fault {
    let what = match fault {
        Fault::Told(error) => error.one_line(),
        Fault::Sql(error) => match of_value(row, &error) {
            Some(what) => what,
            None => return Fault::Sql(error),
        },
        strange @ Fault::Strange { .. } => return strange,
    };
    Fault::damaged(format!("the table `{table}`, row `{name}`: {what}"))
}

/// What is wrong with a value; none where the failure is no value's.
fn of_value(row: &Row<'_>, error: &rusqlite::Error) -> Option<String> {
    use rusqlite::Error as E;
    let column = |index: usize| match row.as_ref().column_name(index) {
        Ok(name) => format!("`{name}`"),
        Err(_) => "a value".into(),
    };
    Some(match error {
        E::FromSqlConversionFailure(index, _, why) => format!("{}: {why}", column(*index)),
        E::IntegralValueOutOfRange(index, value) => {
            format!("{} cannot be {value}", column(*index))
        }
        E::InvalidColumnType(index, _, found) => {
            format!("{} cannot be of the type {found}", column(*index))
        }
        E::Utf8Error(index, _) => format!("{} is no text", column(*index)),
        _ => return None,
    })
}

/// The entry of a dimension, if it can be one.
///
/// # Errors
///
/// Says why it cannot be.
pub(super) fn entry(spec: &DimSpec, value: i64, tol: Option<i64>) -> Result<Entry> {
    let entry = Entry::new(value, tol);
    check_value(spec, entry).map(|_| entry).map_err(|error| error.at(format!("`{}`", spec.key)))
}
