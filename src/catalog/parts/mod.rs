//! Parts in the catalog, and by what numbers they are found.

use rusqlite::Connection;

use super::fault::Fault;
use crate::model::pieces::{PIECE_MARK, part_and_label};

mod load;
mod store;

pub use load::Wanted;
pub(super) use load::{Which, load, unknown};

/// The row's number of a part.
pub(super) fn number(conn: &Connection, id: &str) -> Result<Option<i64>, Fault> {
    use rusqlite::OptionalExtension as _;
    let mut query = conn.prepare_cached("SELECT number FROM part WHERE id = ?1")?;
    Ok(query.query_row([id], |row| row.get(0)).optional()?)
}

/// The row's number of the part that was called so once.
fn formerly(conn: &Connection, id: &str) -> Result<Option<i64>, Fault> {
    use rusqlite::OptionalExtension as _;
    let mut query = conn.prepare_cached("SELECT part FROM former_number WHERE key = ?1")?;
    Ok(query.query_row([id], |row| row.get(0)).optional()?)
}

/// The row's number of the part of this number, or of the one that was called so once.
pub(super) fn called(conn: &Connection, id: &str) -> Result<Option<i64>, Fault> {
    match number(conn, id)? {
        None => formerly(conn, id),
        known => Ok(known),
    }
}

/// Every number that a part has and had, by any of them.
pub(super) fn numbers(conn: &Connection, id: &str) -> Result<Vec<String>, Fault> {
    let mut query = conn.prepare_cached("SELECT key FROM former_number WHERE part = ?1")?;
    let mut numbers = vec![current(conn, id)?];
    if let Some(number) = called(conn, id)? {
        let rows = query.query_map([number], |row| row.get(0))?;
        numbers.extend(rows.collect::<rusqlite::Result<Vec<String>>>()?);
    }
    Ok(numbers)
}

/// What the part or piece is called now that has this name or had it; the name itself where there is
/// none.
pub(super) fn current(conn: &Connection, name: &str) -> Result<String, Fault> {
    if let Some(number) = called(conn, name)? {
        let mut query = conn.prepare_cached("SELECT id FROM part WHERE number = ?1")?;
        return Ok(query.query_row([number], |row| row.get(0))?);
    }
    match part_and_label(name) {
        Some((part, label)) => Ok(format!("{}{PIECE_MARK}{label}", current(conn, part)?)),
        None => Ok(name.into()),
    }
}
