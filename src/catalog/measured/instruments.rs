//! Changing instruments within one transaction.

use rusqlite::{Connection, OptionalExtension as _, params};

use super::store::counted;
use crate::catalog::Writer;
use crate::catalog::csv::of_instrument;
use crate::catalog::fault::Fault;
use crate::catalog::history::Thing;
use crate::catalog::writer::check_id;
use crate::error::{Error, Result};
use crate::model::history::Deed;
use crate::model::pieces::Instrument;

fn instrument_number(conn: &Connection, name: &str) -> Result<Option<i64>, Fault> {
    let mut query = conn.prepare_cached("SELECT number FROM instrument WHERE name = ?1")?;
    Ok(query.query_row([name], |row| row.get(0)).optional()?)
}

/// Puts instruments into a catalog that has none yet.
pub(in crate::catalog) fn seed(conn: &Connection, instruments: &[Instrument]) -> Result<(), Fault> {
    instruments.iter().try_for_each(|instrument| insert_instrument(conn, instrument))
}

fn insert_instrument(conn: &Connection, instrument: &Instrument) -> Result<(), Fault> {
    let mut insert = conn.prepare_cached(
        "INSERT INTO instrument (name, description, resolution, source) VALUES (?1, ?2, ?3, ?4)",
    )?;
    let Instrument { name, description, resolution, source, .. } = instrument;
    insert.execute(params![name, description, resolution, source])?;
    insert_limits(conn, conn.last_insert_rowid(), instrument)
}

fn insert_limits(conn: &Connection, number: i64, instrument: &Instrument) -> Result<(), Fault> {
    let mut insert = conn.prepare_cached("INSERT INTO instrument_limit VALUES (?1, ?2, ?3)")?;
    for limit in &instrument.limits {
        insert.execute(params![number, limit.up_to, limit.limit])?;
    }
    Ok(())
}

fn update_instrument(conn: &Connection, number: i64, instrument: &Instrument) -> Result<(), Fault> {
    let mut update = conn.prepare_cached(
        "UPDATE instrument SET description = ?2, resolution = ?3, source = ?4 WHERE number = ?1",
    )?;
    let Instrument { description, resolution, source, .. } = instrument;
    update.execute(params![number, description, resolution, source])?;
    conn.prepare_cached("DELETE FROM instrument_limit WHERE instrument = ?1")?.execute([number])?;
    insert_limits(conn, number, instrument)
}

impl Writer<'_> {
    pub(super) fn instrument(&self, name: &str) -> Result<i64> {
        let number = self.told(instrument_number(self.conn(), name))?;
        match number {
            Some(number) => Ok(number),
            None => Err(self.reader().no_instrument(name)),
        }
    }

    /// Adds an instrument.
    ///
    /// # Errors
    ///
    /// Refuses a name that is taken or cannot be one.
    pub fn insert_instrument(&self, instrument: &Instrument) -> Result<()> {
        let name = &instrument.name;
        check_id(name)?;
        if self.told(instrument_number(self.conn(), name))?.is_some() {
            return Err(Error::input(format!("there is an instrument `{name}` already"))
                .hint("change it with `instrument set`, or give the new one another name"));
        }
        self.told(insert_instrument(self.conn(), instrument))?;
        self.record(Thing::instrument(name), Deed::Added, &[])
    }

    /// Replaces everything about an instrument but its name.
    ///
    /// # Errors
    ///
    /// Refuses a name that is not there.
    pub fn update_instrument(&self, instrument: &Instrument) -> Result<()> {
        let number = self.instrument(&instrument.name)?;
        let old = self.stored_instrument(&instrument.name)?;
        self.told(update_instrument(self.conn(), number, instrument))?;
        let changes = of_instrument(&old, Some(instrument));
        self.record(Thing::instrument(&instrument.name), Deed::Changed, &changes)
    }

    /// Takes an instrument out of the catalog.
    ///
    /// # Errors
    ///
    /// Refuses a name that is not there, and an instrument that something was read with.
    pub fn remove_instrument(&self, name: &str) -> Result<()> {
        let number = self.instrument(name)?;
        let sql = "SELECT count(*) FROM reading WHERE instrument = ?1";
        let used = self.told(counted(self.conn(), sql, number))?;
        if used > 0 {
            let noun = if used == 1 { "reading was" } else { "readings were" };
            return Err(Error::input(format!("{used} {noun} taken with `{name}`"))
                .hint("it stays with them; change it with `instrument set`"));
        }
        let old = self.stored_instrument(name)?;
        let removed = self.conn().execute("DELETE FROM instrument WHERE number = ?1", [number]);
        self.told(removed.map_err(Fault::from))?;
        self.record(Thing::instrument(name), Deed::Removed, &of_instrument(&old, None))
    }

    fn stored_instrument(&self, name: &str) -> Result<Instrument> {
        let instruments = self.reader().load_measured()?.instruments;
        let found = instruments.into_iter().find(|instrument| instrument.name == name);
        found.ok_or_else(|| self.reader().no_instrument(name))
    }
}
