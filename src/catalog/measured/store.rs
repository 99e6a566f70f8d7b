//! Changing pieces and readings within one transaction.

use rusqlite::{Connection, OptionalExtension as _, Row, params};

use super::instruments::{counted, instrument_number};
use crate::catalog::csv::{
    Cells, ReadingRow, piece_columns, reading_again, reading_columns, written,
};
use crate::catalog::fault::Fault;
use crate::catalog::names::check_label;
use crate::catalog::parts::{self, unknown};
use crate::catalog::seal::{self, Sealed};
use crate::catalog::{Reader, Stored, Writer};
use crate::error::{Error, Result};
use crate::model::history::{Deed, Event, FieldChange, Held, Subject};
use crate::model::kinds::{KindSpec, Kinds};
use crate::model::part::{Entry, check_value};
use crate::model::pieces::{Condition, PIECE_MARK, ReadingSet, Specimen, part_and_label};
use crate::model::words::{plural, quoted};

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
    number: i64,
    piece: i64,
    instrument: Option<i64>,
    set: &ReadingSet,
) -> Result<(), Fault> {
    let mut insert = conn.prepare_cached(
        "INSERT INTO reading (number, piece, dimension, instrument, taken_by, taken_on, struck, bar) \
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
    )?;
    let (by, date, struck) = (&set.by, &set.date, &set.struck);
    insert.execute(params![number, piece, set.dimension, instrument, by, date, struck, set.bar])?;
    let mut insert = conn.prepare_cached("INSERT INTO reading_value VALUES (?1, ?2, ?3)")?;
    for (position, value) in (0_i64..).zip(&set.values) {
        insert.execute(params![number, position, value])?;
    }
    Ok(())
}

/// What a set of readings is called in the history.
fn reading_name(number: i64, piece: &str, dimension: &str) -> String {
    format!("{number} of {piece} {dimension}")
}

/// A piece that was never measured can be taken out; what was read on one stays.
impl Stored for Specimen {
    const SUBJECT: Subject = Subject::Piece;

    const SEALED: &'static Sealed = &seal::PIECE;

    fn called(&self) -> (String, Option<&str>) {
        (self.id(), Some(&self.part))
    }

    fn number(&self, reader: &Reader<'_>) -> Result<Option<i64>> {
        reader.told(piece_number(reader.conn, &self.part, &self.label))
    }

    fn stored(&self, reader: &Reader<'_>) -> Result<Self> {
        reader.load_piece(&self.part, &self.label)
    }

    fn named(reader: &Reader<'_>, name: &str) -> Result<Self> {
        let (part, label) = part_and_label(name).unwrap_or((name, ""));
        reader.load_piece(part, label)
    }

    fn check_name(&self) -> Result<()> {
        check_label(&self.label)
    }

    fn taken(&self) -> Error {
        Error::input(format!("there is a piece `{}` already", self.id()))
            .hint("change it with `piece edit`, or give the new one another label")
    }

    fn write(&self, writer: &Writer<'_>, number: Option<i64>) -> Result<i64> {
        let reader = writer.reader();
        let part = writer.told(parts::number(reader.conn, &self.part))?;
        let part = part.ok_or_else(|| reader.no_part(&self.part))?;
        let Self { label, condition, in_hand, notes, .. } = self;
        writer.execute(
            "INSERT INTO piece (number, part, label, condition, in_hand, notes) \
             VALUES (?1, ?2, ?3, ?4, ?5, ?6) ON CONFLICT (number) DO UPDATE SET \
             condition = excluded.condition, in_hand = excluded.in_hand, notes = excluded.notes",
            params![number, part, label, condition, in_hand, notes],
        )?;
        Ok(number.unwrap_or_else(|| writer.conn().last_insert_rowid()))
    }

    fn check_unused(&self, writer: &Writer<'_>, number: i64) -> Result<()> {
        let name = self.id();
        let sql = "SELECT count(*) FROM reading WHERE piece = ?1";
        if writer.told(counted(writer.conn(), sql, number))? > 0 {
            return Err(Error::input(format!("`{name}` was measured"))
                .hint("readings are kept: use `piece gone`, and strike out what is wrong"));
        }
        let jobs = writer.told(jobs_of_piece(writer.conn(), number))?;
        if jobs.is_empty() {
            return Ok(());
        }
        let (noun, jobs) = (plural(jobs.len() as u128, "job"), quoted(&jobs));
        Err(Error::input(format!("`{name}` is named by the {noun} {jobs}"))
            .hint("edit the job first"))
    }

    fn differences(&self, _: Kinds, to: Option<&Self>) -> Vec<FieldChange> {
        piece_columns().differences(self, to)
    }

    fn cells(&self, _: Kinds) -> Cells {
        piece_columns().filled(self)
    }

    fn called_as_now(self, reader: &Reader<'_>) -> Result<Self> {
        let part = reader.current(&self.part)?;
        Ok(Self { part, ..self })
    }

    fn again(_: Kinds, name: &str, cells: &Cells) -> Result<Self> {
        let (part, label) = part_and_label(name).unwrap_or((name, ""));
        piece_columns().again(Self::new(part, label, Condition::default()), cells)
    }
}

fn jobs_of_piece(conn: &Connection, number: i64) -> Result<Vec<String>, Fault> {
    let mut query = conn.prepare_cached(
        "SELECT DISTINCT id FROM job_part JOIN job ON job.number = job_part.job \
         WHERE piece = ?1 ORDER BY id",
    )?;
    let rows = query.query_map([number], |row| row.get(0))?;
    Ok(rows.collect::<rusqlite::Result<_>>()?)
}

impl Writer<'_> {
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

    /// Adds a set of readings, and returns the number by which the catalog knows it.
    ///
    /// # Errors
    ///
    /// Refuses a piece, dimension or instrument that is not there, and values that cannot be.
    pub fn insert_reading(&self, set: &ReadingSet) -> Result<i64> {
        let number = self.told(self.next_reading())?;
        self.store_reading(number, set)
    }

    /// The number of the next set. That of one that was taken back is not given to another one: the
    /// history speaks of it by that.
    fn next_reading(&self) -> Result<i64, Fault> {
        let next = if let Some(next) = self.next_reading.get() {
            next
        } else {
            let sql = "SELECT 1 + max( \
                       (SELECT coalesce(max(number), 0) FROM reading), \
                       (SELECT coalesce(max(CAST(name AS INTEGER)), 0) FROM event \
                        WHERE subject = 'reading' AND deed = 'removed'))";
            self.conn().query_row(sql, [], |row| row.get(0))?
        };
        self.next_reading.set(Some(next + 1));
        Ok(next)
    }

    fn store_reading(&self, number: i64, set: &ReadingSet) -> Result<i64> {
        let piece = self.told(piece_number(self.conn(), &set.part, &set.piece))?;
        let piece = piece.ok_or_else(|| self.reader().no_piece(&set.part, &set.piece))?;
        let spec = self.kind_of_piece(piece)?.dim(&set.dimension)?;
        if set.values.is_empty() {
            return Err(Error::input(format!("there is no reading of `{}`", spec.key)));
        }
        for value in &set.values {
            check_value(spec, Entry::new(*value, None))
                .map_err(|error| error.at(format!("`{}` {}", set.piece_id(), spec.key)))?;
        }
        let instrument = match &set.instrument {
            Some(name) => {
                let number = self.told(instrument_number(self.conn(), name))?;
                Some(number.ok_or_else(|| self.reader().no_instrument(name))?)
            }
            None => None,
        };
        self.told(insert_reading(self.conn(), number, piece, instrument, set))?;
        self.seal(&seal::READING, number)?;
        let name = reading_name(number, &set.piece_id(), &set.dimension);
        self.record_as(Subject::Reading, &name, Some(&set.part), Deed::Added, &[])?;
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
                self.execute(sql, params![number, reason])?;
                self.seal(&seal::READING, number)?;
                let (field, to) = ("struck".to_string(), Held::Text(reason.into()));
                let change = FieldChange { field, from: Held::Blank, to };
                let part = Some(part.as_str());
                self.record_as(Subject::Reading, &name, part, Deed::Changed, &[change])
            }
        }
    }

    /// Takes a set of readings out that should never have been stored; the history keeps all that it
    /// said.
    pub(in crate::catalog) fn take_reading_out(&self, set: &ReadingSet) -> Result<()> {
        let number = set.number;
        let name = reading_name(number, &set.piece_id(), &set.dimension);
        let spec = self.reader().load_part(&set.part)?.kind.dim(&set.dimension)?;
        let row = ReadingRow::new(set.clone(), spec, None);
        self.execute("DELETE FROM reading_value WHERE reading = ?1", [number])?;
        self.execute("DELETE FROM reading WHERE number = ?1", [number])?;
        self.unseal(&seal::READING, number)?;
        let changes = reading_columns().differences(&row, None);
        self.record_as(Subject::Reading, &name, Some(&set.part), Deed::Removed, &changes)
    }

    /// Puts a set of readings back that was taken out, under its own number.
    pub(in crate::catalog) fn put_reading_back(&self, event: &Event) -> Result<()> {
        let (number, piece, dimension) = self.reading_named(&event.name)?;
        let (part, label) = part_and_label(&piece).unwrap_or((&piece, ""));
        let spec = self.reader().load_part(part)?.kind.dim(&dimension)?;
        let cells: Cells = event
            .changes
            .iter()
            .map(|change| (change.field.clone(), written(&change.from)))
            .collect();
        let set = reading_again(ReadingSet::new(part, label, spec.key), spec, &cells)?;
        self.store_reading(number, &set).map(|_| ())
    }

    /// Lets a set of readings that was struck out count again, or strikes it out again.
    pub(in crate::catalog) fn restrike_reading(&self, event: &Event) -> Result<()> {
        let (number, ..) = self.reading_named(&event.name)?;
        let change = event.changes.iter().find(|change| change.field == "struck");
        let change = change.ok_or_else(|| Error::input("nothing was struck out"))?;
        let struck = match &change.from {
            Held::Blank => None,
            held => Some(written(held)),
        };
        self.execute("UPDATE reading SET struck = ?2 WHERE number = ?1", params![number, struck])?;
        self.seal(&seal::READING, number)?;
        let FieldChange { field, from, to } = change.clone();
        let back = FieldChange { field, from: to, to: from };
        let part = event.part.as_deref();
        self.record_as(Subject::Reading, &event.name, part, Deed::Changed, &[back])
    }

    /// Strikes a set of readings out, or lets one count again.
    pub(in crate::catalog) fn set_struck(
        &self,
        set: &ReadingSet,
        struck: Option<&str>,
    ) -> Result<()> {
        let sql = "UPDATE reading SET struck = ?2 WHERE number = ?1";
        self.execute(sql, params![set.number, struck])?;
        self.seal(&seal::READING, set.number)?;
        let held = |struck: Option<&str>| Held::of(struck.unwrap_or_default().into(), false);
        let (from, to) = (held(set.struck.as_deref()), held(struck));
        let change = FieldChange { field: "struck".into(), from, to };
        let name = reading_name(set.number, &set.piece_id(), &set.dimension);
        self.record_as(Subject::Reading, &name, Some(&set.part), Deed::Changed, &[change])
    }

    /// The number, the piece and the dimension of a set as the history calls it.
    fn reading_named(&self, name: &str) -> Result<(i64, String, String)> {
        let parts = || {
            let (number, rest) = name.split_once(" of ")?;
            let (piece, dimension) = rest.rsplit_once(' ')?;
            Some((number.parse().ok()?, piece.to_string(), dimension.to_string()))
        };
        let damaged = || Fault::damaged(format!("the table `event` names the reading `{name}`"));
        self.told(parts().ok_or_else(damaged))
    }
}
