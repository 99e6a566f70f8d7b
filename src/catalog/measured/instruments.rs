//! Changing instruments within one transaction.

use rusqlite::{Connection, OptionalExtension as _, params};

use crate::catalog::csv::{Cells, instrument_columns};
use crate::catalog::fault::Fault;
use crate::catalog::names::check_id;
use crate::catalog::seal::{self, Sealed};
use crate::catalog::{Reader, Stored, Writer};
use crate::error::{Error, Result};
use crate::model::history::{FieldChange, Subject};
use crate::model::kinds::Kinds;
use crate::model::pieces::Instrument;

/// How many rows there are of which this is the number.
pub(super) fn counted(conn: &Connection, sql: &str, number: i64) -> Result<i64, Fault> {
    Ok(conn.prepare_cached(sql)?.query_row([number], |row| row.get(0))?)
}

pub(super) fn instrument_number(conn: &Connection, name: &str) -> Result<Option<i64>, Fault> {
    let mut query = conn.prepare_cached("SELECT number FROM instrument WHERE name = ?1")?;
    Ok(query.query_row([name], |row| row.get(0)).optional()?)
}

/// Puts instruments into a catalog that has none yet.
pub(in crate::catalog) fn seed(conn: &Connection, instruments: &[Instrument]) -> Result<(), Fault> {
    instruments.iter().try_for_each(|instrument| write(conn, None, instrument).map(|_| ()))
}

/// Writes an instrument's rows; one that has a number keeps it, with its name.
fn write(conn: &Connection, number: Option<i64>, instrument: &Instrument) -> Result<i64, Fault> {
    let Instrument { name, description, resolution, source, limits } = instrument;
    let mut write = conn.prepare_cached(
        "INSERT INTO instrument (number, name, description, resolution, source) \
         VALUES (?1, ?2, ?3, ?4, ?5) ON CONFLICT (number) DO UPDATE SET \
         description = excluded.description, resolution = excluded.resolution, \
         source = excluded.source",
    )?;
    write.execute(params![number, name, description, resolution, source])?;
    let number = number.unwrap_or_else(|| conn.last_insert_rowid());
    conn.prepare_cached("DELETE FROM instrument_limit WHERE instrument = ?1")?.execute([number])?;
    let mut insert = conn.prepare_cached("INSERT INTO instrument_limit VALUES (?1, ?2, ?3)")?;
    for limit in limits {
        insert.execute(params![number, limit.up_to, limit.limit])?;
    }
    Ok(number)
}

impl Stored for Instrument {
    const SUBJECT: Subject = Subject::Instrument;

    const SEALED: &'static Sealed = &seal::INSTRUMENT;

    fn called(&self) -> (String, Option<&str>) {
        (self.name.clone(), None)
    }

    fn number(&self, reader: &Reader<'_>) -> Result<Option<i64>> {
        reader.told(instrument_number(reader.conn, &self.name))
    }

    fn named(reader: &Reader<'_>, name: &str) -> Result<Self> {
        reader.load_instrument(name)
    }

    fn check_name(&self) -> Result<()> {
        check_id(&self.name)
    }

    fn taken(&self) -> Error {
        Error::input(format!("there is an instrument `{}` already", self.name))
            .hint("change it with `instrument set`, or give the new one another name")
    }

    fn write(&self, writer: &Writer<'_>, number: Option<i64>) -> Result<i64> {
        writer.told(write(writer.conn(), number, self))
    }

    fn check_unused(&self, writer: &Writer<'_>, number: i64) -> Result<()> {
        let sql = "SELECT count(*) FROM reading WHERE instrument = ?1";
        let used = writer.told(counted(writer.conn(), sql, number))?;
        if used == 0 {
            return Ok(());
        }
        let noun = if used == 1 { "reading was" } else { "readings were" };
        Err(Error::input(format!("{used} {noun} taken with `{}`", self.name))
            .hint("it stays with them; change it with `instrument set`"))
    }

    fn differences(&self, _: Kinds, to: Option<&Self>) -> Vec<FieldChange> {
        instrument_columns().differences(self, to)
    }

    fn cells(&self, _: Kinds) -> Cells {
        instrument_columns().filled(self)
    }

    fn again(_: Kinds, name: &str, cells: &Cells) -> Result<Self> {
        instrument_columns().again(Self { name: name.into(), ..Self::default() }, cells)
    }
}
