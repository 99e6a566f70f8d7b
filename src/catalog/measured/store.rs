//! Changing pieces, readings and instruments within one transaction.

use rusqlite::{Connection, OptionalExtension as _, params};

use crate::catalog::Writer;
use crate::catalog::fault::Fault;
use crate::catalog::parts::unknown;
use crate::catalog::writer::{check_id, check_label, some_of};
use crate::error::{Error, Result};
use crate::model::kinds::KindSpec;
use crate::model::length::Length;
use crate::model::part::{Entry, check_value};
use crate::model::pieces::{Instrument, ReadingSet, Specimen};

/// The row's number of a piece.
pub(in crate::catalog) fn piece_number(
    conn: &Connection,
    part: &str,
    label: &str,
) -> Result<Option<i64>, Fault> {
    let mut query = conn.prepare_cached(
        "SELECT piece.number FROM piece JOIN part ON part.number = piece.part \
         WHERE id = ?1 AND label = ?2",
    )?;
    Ok(query.query_row([part, label], |row| row.get(0)).optional()?)
}

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
    insert.execute(params![name, description, resolution.map(Length::nm), source])?;
    insert_limits(conn, conn.last_insert_rowid(), instrument)
}

fn insert_limits(conn: &Connection, number: i64, instrument: &Instrument) -> Result<(), Fault> {
    let mut insert = conn.prepare_cached("INSERT INTO instrument_limit VALUES (?1, ?2, ?3)")?;
    for limit in &instrument.limits {
        insert.execute(params![number, limit.up_to.nm(), limit.limit.nm()])?;
    }
    Ok(())
}

fn update_instrument(conn: &Connection, number: i64, instrument: &Instrument) -> Result<(), Fault> {
    let mut update = conn.prepare_cached(
        "UPDATE instrument SET description = ?2, resolution = ?3, source = ?4 WHERE number = ?1",
    )?;
    let Instrument { description, resolution, source, .. } = instrument;
    update.execute(params![number, description, resolution.map(Length::nm), source])?;
    conn.prepare_cached("DELETE FROM instrument_limit WHERE instrument = ?1")?.execute([number])?;
    insert_limits(conn, number, instrument)
}

fn insert_reading(
    conn: &Connection,
    piece: i64,
    instrument: Option<i64>,
    set: &ReadingSet,
) -> Result<i64, Fault> {
    let mut insert = conn.prepare_cached(
        "INSERT INTO reading (piece, dimension, instrument, taken_by, taken_on, struck) \
         VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
    )?;
    insert.execute(params![piece, set.dimension, instrument, set.by, set.date, set.struck])?;
    let number = conn.last_insert_rowid();
    let mut insert = conn.prepare_cached("INSERT INTO reading_value VALUES (?1, ?2, ?3)")?;
    for (position, value) in (0_i64..).zip(&set.values) {
        insert.execute(params![number, position, value])?;
    }
    Ok(number)
}

/// How many rows there are of which this is the number.
fn counted(conn: &Connection, sql: &str, number: i64) -> Result<i64, Fault> {
    Ok(conn.prepare_cached(sql)?.query_row([number], |row| row.get(0))?)
}

impl Writer<'_> {
    fn piece(&self, part: &str, label: &str) -> Result<i64> {
        let number = self.told(piece_number(self.conn(), part, label))?;
        match number {
            Some(number) => Ok(number),
            None => Err(self.reader().no_piece(part, label)),
        }
    }

    fn kind_of_piece(&self, piece: i64) -> Result<&'static KindSpec> {
        let find = || -> Result<&'static KindSpec, Fault> {
            let mut query = self.conn().prepare_cached(
                "SELECT kind FROM part JOIN piece ON piece.part = part.number \
                 WHERE piece.number = ?1",
            )?;
            let key: String = query.query_row([piece], |row| row.get(0))?;
            let kind = self.reader().kinds().get(&key);
            kind.ok_or_else(|| unknown(&format!("a part of the kind `{key}`")))
        };
        self.told(find())
    }

    /// Adds a piece of a part.
    ///
    /// # Errors
    ///
    /// Refuses an unknown part, and a label that is taken or cannot be one.
    pub fn insert_piece(&self, piece: &Specimen) -> Result<()> {
        check_label(&piece.label)?;
        let part = self.part_number(&piece.part)?;
        if self.told(piece_number(self.conn(), &piece.part, &piece.label))?.is_some() {
            return Err(Error::input(format!("there is a piece `{}` already", piece.id()))
                .hint("change it with `piece edit`, or give the new one another label"));
        }
        let insert = || -> Result<(), Fault> {
            let mut insert = self.conn().prepare_cached(
                "INSERT INTO piece (part, label, condition, in_hand, notes) \
                 VALUES (?1, ?2, ?3, ?4, ?5)",
            )?;
            let Specimen { label, condition, in_hand, notes, .. } = piece;
            insert.execute(params![part, label, condition.word(), in_hand, notes])?;
            Ok(())
        };
        self.told(insert())
    }

    /// Replaces everything about a piece but its name.
    ///
    /// # Errors
    ///
    /// Refuses a piece that is not there.
    pub fn update_piece(&self, piece: &Specimen) -> Result<()> {
        let number = self.piece(&piece.part, &piece.label)?;
        let update = || -> Result<(), Fault> {
            let mut update = self.conn().prepare_cached(
                "UPDATE piece SET condition = ?2, in_hand = ?3, notes = ?4 WHERE number = ?1",
            )?;
            update.execute(params![number, piece.condition.word(), piece.in_hand, piece.notes])?;
            Ok(())
        };
        self.told(update())
    }

    /// Takes a piece out of the catalog that was entered by mistake.
    ///
    /// # Errors
    ///
    /// Refuses a piece that is not there, was measured, or is named by a job.
    pub fn remove_piece(&self, part: &str, label: &str) -> Result<()> {
        let number = self.piece(part, label)?;
        let sql = "SELECT count(*) FROM reading WHERE piece = ?1";
        if self.told(counted(self.conn(), sql, number))? > 0 {
            return Err(Error::input(format!("`{part}#{label}` was measured"))
                .hint("readings are kept: use `piece gone`, and strike out what is wrong"));
        }
        let jobs = self.told(self.jobs_of_piece(number))?;
        if !jobs.is_empty() {
            let list = some_of(&jobs);
            return Err(Error::input(format!("`{part}#{label}` is named by the job {list}"))
                .hint("edit the job first"));
        }
        let removed = self.conn().execute("DELETE FROM piece WHERE number = ?1", [number]);
        self.told(removed.map_err(Fault::from)).map(|_| ())
    }

    fn jobs_of_piece(&self, number: i64) -> Result<Vec<String>, Fault> {
        let mut query = self.conn().prepare_cached(
            "SELECT DISTINCT id FROM job_part JOIN job ON job.number = job_part.job \
             WHERE piece = ?1 ORDER BY id",
        )?;
        let rows = query.query_map([number], |row| row.get(0))?;
        Ok(rows.collect::<rusqlite::Result<_>>()?)
    }

    /// Adds a set of readings, and returns the number by which the catalog knows it.
    ///
    /// # Errors
    ///
    /// Refuses a piece, dimension or instrument that is not there, and values that cannot be.
    pub fn insert_reading(&self, set: &ReadingSet) -> Result<i64> {
        let piece = self.piece(&set.part, &set.piece)?;
        let spec = self.kind_of_piece(piece)?.dim(&set.dimension)?;
        if set.values.is_empty() {
            return Err(Error::input(format!("there is no reading of `{}`", spec.key)));
        }
        for value in &set.values {
            check_value(spec, Entry::new(*value, None))
                .map_err(|error| error.at(format!("`{}` {}", set.piece_id(), spec.key)))?;
        }
        let instrument = match &set.instrument {
            Some(name) => Some(self.instrument(name)?),
            None => None,
        };
        self.told(insert_reading(self.conn(), piece, instrument, set))
    }

    /// Strikes out a set of readings: it stays in the catalog and counts no more.
    ///
    /// # Errors
    ///
    /// Refuses a number that is not there, a set that was struck before, and a blank reason.
    pub fn strike_reading(&self, number: i64, reason: &str) -> Result<()> {
        let reason = reason.trim();
        if reason.is_empty() {
            return Err(Error::input("the reason is blank").hint("say why it counts no more"));
        }
        let find = || -> Result<Option<Option<String>>, Fault> {
            let mut query =
                self.conn().prepare_cached("SELECT struck FROM reading WHERE number = ?1")?;
            Ok(query.query_row([number], |row| row.get(0)).optional()?)
        };
        match self.told(find())? {
            None => Err(Error::input(format!("there is no reading {number} in the catalog"))
                .hint("`reading list` shows their numbers")),
            Some(Some(before)) => {
                Err(Error::input(format!("reading {number} was struck out before: {before}")))
            }
            Some(None) => {
                let sql = "UPDATE reading SET struck = ?2 WHERE number = ?1";
                let struck = self.conn().execute(sql, params![number, reason]);
                self.told(struck.map_err(Fault::from)).map(|_| ())
            }
        }
    }

    fn instrument(&self, name: &str) -> Result<i64> {
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
        self.told(insert_instrument(self.conn(), instrument))
    }

    /// Replaces everything about an instrument but its name.
    ///
    /// # Errors
    ///
    /// Refuses a name that is not there.
    pub fn update_instrument(&self, instrument: &Instrument) -> Result<()> {
        let number = self.instrument(&instrument.name)?;
        self.told(update_instrument(self.conn(), number, instrument))
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
        let removed = self.conn().execute("DELETE FROM instrument WHERE number = ?1", [number]);
        self.told(removed.map_err(Fault::from)).map(|_| ())
    }
}
