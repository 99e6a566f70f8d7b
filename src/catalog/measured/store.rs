//! Changing pieces and readings within one transaction.

use rusqlite::{Connection, OptionalExtension as _, Row, params};

use crate::catalog::Writer;
use crate::catalog::csv::of_piece;
use crate::catalog::fault::Fault;
use crate::catalog::history::Thing;
use crate::catalog::parts::unknown;
use crate::catalog::writer::{check_label, some_of};
use crate::error::{Error, Result};
use crate::model::history::{Change, Deed, Held};
use crate::model::kinds::KindSpec;
use crate::model::part::{Entry, check_value};
use crate::model::pieces::{PIECE_MARK, ReadingSet, Specimen};

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

fn insert_reading(
    conn: &Connection,
    piece: i64,
    instrument: Option<i64>,
    set: &ReadingSet,
) -> Result<i64, Fault> {
    let mut insert = conn.prepare_cached(
        "INSERT INTO reading (piece, dimension, instrument, taken_by, taken_on, struck, bar) \
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
    )?;
    let (by, date, struck) = (&set.by, &set.date, &set.struck);
    insert.execute(params![piece, set.dimension, instrument, by, date, struck, set.bar])?;
    let number = conn.last_insert_rowid();
    let mut insert = conn.prepare_cached("INSERT INTO reading_value VALUES (?1, ?2, ?3)")?;
    for (position, value) in (0_i64..).zip(&set.values) {
        insert.execute(params![number, position, value])?;
    }
    Ok(number)
}

/// What a set of readings is called in the history.
fn reading_name(number: i64, piece: &str, dimension: &str) -> String {
    format!("{number} of {piece} {dimension}")
}

/// How many rows there are of which this is the number.
pub(super) fn counted(conn: &Connection, sql: &str, number: i64) -> Result<i64, Fault> {
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
            insert.execute(params![part, label, condition, in_hand, notes])?;
            Ok(())
        };
        self.told(insert())?;
        self.record_piece(piece, Deed::Added, &[])
    }

    /// Writes down what became of a piece.
    pub(in crate::catalog) fn record_piece(
        &self,
        piece: &Specimen,
        deed: Deed,
        changes: &[Change],
    ) -> Result<()> {
        self.record(Thing::piece(&piece.id(), &piece.part), deed, changes)
    }

    /// The pieces of a part as they are stored.
    pub(in crate::catalog) fn pieces_of(&self, part: &str) -> Result<Vec<Specimen>> {
        let specimens = self.reader().load_measured()?.specimens;
        Ok(specimens.into_iter().filter(|piece| piece.part == part).collect())
    }

    fn stored_piece(&self, part: &str, label: &str) -> Result<Specimen> {
        let found = self.pieces_of(part)?.into_iter().find(|piece| piece.label == label);
        found.ok_or_else(|| self.reader().no_piece(part, label))
    }

    /// Replaces everything about a piece but its name.
    ///
    /// # Errors
    ///
    /// Refuses a piece that is not there.
    pub fn update_piece(&self, piece: &Specimen) -> Result<()> {
        let old = self.stored_piece(&piece.part, &piece.label)?;
        self.replace_piece(&old, piece)
    }

    /// The same where the piece as it is stored is at hand.
    pub(in crate::catalog) fn replace_piece(&self, old: &Specimen, piece: &Specimen) -> Result<()> {
        let number = self.piece(&piece.part, &piece.label)?;
        let update = || -> Result<(), Fault> {
            let mut update = self.conn().prepare_cached(
                "UPDATE piece SET condition = ?2, in_hand = ?3, notes = ?4 WHERE number = ?1",
            )?;
            update.execute(params![number, piece.condition, piece.in_hand, piece.notes])?;
            Ok(())
        };
        self.told(update())?;
        self.record_piece(piece, Deed::Changed, &of_piece(old, Some(piece)))
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
        let old = self.stored_piece(part, label)?;
        let removed = self.conn().execute("DELETE FROM piece WHERE number = ?1", [number]);
        self.told(removed.map_err(Fault::from))?;
        self.record_piece(&old, Deed::Removed, &of_piece(&old, None))
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
        let number = self.told(insert_reading(self.conn(), piece, instrument, set))?;
        let name = reading_name(number, &set.piece_id(), &set.dimension);
        self.record(Thing::reading(&name, &set.part), Deed::Added, &[])?;
        Ok(number)
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
        let find = || -> Result<Option<(Option<String>, String, String)>, Fault> {
            let mut query = self.conn().prepare_cached(
                "SELECT struck, id, label, dimension FROM reading \
                 JOIN piece ON piece.number = reading.piece \
                 JOIN part ON part.number = piece.part WHERE reading.number = ?1",
            )?;
            let read = |row: &Row<'_>| {
                let (part, label, key): (String, String, String) =
                    (row.get(1)?, row.get(2)?, row.get(3)?);
                let name = reading_name(number, &format!("{part}{PIECE_MARK}{label}"), &key);
                Ok((row.get(0)?, part, name))
            };
            Ok(query.query_row([number], read).optional()?)
        };
        match self.told(find())? {
            None => Err(Error::input(format!("there is no reading {number} in the catalog"))
                .hint("`reading list` shows their numbers")),
            Some((Some(before), ..)) => {
                Err(Error::input(format!("reading {number} was struck out before: {before}")))
            }
            Some((None, part, name)) => {
                let sql = "UPDATE reading SET struck = ?2 WHERE number = ?1";
                let struck = self.conn().execute(sql, params![number, reason]);
                self.told(struck.map_err(Fault::from))?;
                let (field, to) = ("struck".to_string(), Held::Text(reason.into()));
                let change = Change { field, from: Held::Blank, to };
                self.record(Thing::reading(&name, &part), Deed::Changed, &[change])
            }
        }
    }
}
