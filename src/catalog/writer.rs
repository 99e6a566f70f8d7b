//! Changing the catalog within one transaction. What is common to every kind of thing is here once;
//! the rows of each are its own affair ([`Stored`]).

use std::cell::Cell;
use std::path::Path;

use rusqlite::{Connection, Transaction};

use super::csv::Cells;
use super::fault::Fault;
use super::reader::Reader;
use super::seal::Sealed;
use crate::error::{Error, Result};
use crate::model::history::{Deed, FieldChange, Stamp, Subject};
use crate::model::kinds::Kinds;

/// A kind of thing with a name, rows of its own and a history.
pub trait Stored: Sized + PartialEq {
    /// What the history calls it.
    const SUBJECT: Subject;

    /// What of it is sealed.
    const SEALED: &'static Sealed;

    /// Its name in the history, and the part number that it belongs to.
    fn called(&self) -> (String, Option<&str>);

    /// The row's number of the thing of this name; none where there is none.
    fn number(&self, reader: &Reader<'_>) -> Result<Option<i64>>;

    /// The thing of this name as it is stored; the refusal where there is none names the nearest.
    fn stored(&self, reader: &Reader<'_>) -> Result<Self> {
        Self::named(reader, &self.called().0)
    }

    /// The thing of the name that the history has; the refusal where there is none names the nearest.
    fn named(reader: &Reader<'_>, name: &str) -> Result<Self>;

    /// Refuses a name that cannot be one.
    fn check_name(&self) -> Result<()>;

    /// Refuses what cannot be, or cannot become of the `old` one.
    fn check(&self, _old: Option<&Self>) -> Result<()> {
        Ok(())
    }

    /// The refusal of a new one whose name is taken.
    fn taken(&self) -> Error;

    /// Writes the rows of a new one, or those of one that has this number; returns its number.
    fn write(&self, writer: &Writer<'_>, number: Option<i64>) -> Result<i64>;

    /// Refuses to remove one that others rest on.
    fn check_unused(&self, _writer: &Writer<'_>, _number: i64) -> Result<()> {
        Ok(())
    }

    /// Deletes its rows, and with them what lives only with it.
    fn delete(&self, writer: &Writer<'_>, number: i64) -> Result<()> {
        let table = Self::SEALED.table;
        writer.execute(&format!("DELETE FROM {table} WHERE number = ?1"), [number]).map(|_| ())
    }

    /// What differs from another state of it; without one all that it holds.
    fn differences(&self, kinds: Kinds, to: Option<&Self>) -> Vec<FieldChange>;

    /// What it holds beside its name: the filled columns of its form.
    fn cells(&self, kinds: Kinds) -> Cells;

    /// The same with the parts and pieces that it names called as they are called now.
    ///
    /// # Errors
    ///
    /// A storage error where the file cannot be read.
    fn called_as_now(self, _: &Reader<'_>) -> Result<Self> {
        Ok(self)
    }

    /// The thing of this name that holds what these cells say.
    fn again(kinds: Kinds, name: &str, cells: &Cells) -> Result<Self>;
}

/// An open transaction. Everything that it did is undone where the command fails.
#[derive(Debug)]
pub struct Writer<'c> {
    reader: Reader<'c>,
    pub(super) stamp: &'c Stamp,
    /// The row's number of the command in the history, once it has one.
    pub(super) command: Cell<Option<i64>>,
    /// The number of the next set of readings, once it was looked for.
    pub(super) next_reading: Cell<Option<i64>>,
}

impl<'c> Writer<'c> {
    pub(super) fn new(
        tx: &'c Transaction<'_>,
        path: &'c Path,
        kinds: Kinds,
        stamp: &'c Stamp,
    ) -> Self {
        Self {
            reader: Reader::new(tx, path, kinds),
            stamp,
            command: Cell::new(None),
            next_reading: Cell::new(None),
        }
    }

    /// The catalog as this transaction sees it.
    pub fn reader(&self) -> &Reader<'c> {
        &self.reader
    }

    pub(super) fn conn(&self) -> &'c Connection {
        self.reader.conn
    }

    pub(super) fn told<T>(&self, result: Result<T, Fault>) -> Result<T> {
        self.reader.told(result)
    }

    /// Adds a part, a job, a piece or an instrument.
    ///
    /// # Errors
    ///
    /// Refuses a name that is taken or cannot be one, values that cannot be, and names of others that
    /// are not there.
    pub fn insert<T: Stored>(&self, thing: &T) -> Result<()> {
        thing.check_name()?;
        thing.check(None)?;
        if thing.number(&self.reader)?.is_some() {
            return Err(thing.taken());
        }
        let number = thing.write(self, None)?;
        self.seal(T::SEALED, number)?;
        self.record(thing, Deed::Added, &[])
    }

    /// Replaces everything about a thing but its name.
    ///
    /// # Errors
    ///
    /// Refuses an unknown name, and what [`Writer::insert`] refuses.
    pub fn update<T: Stored>(&self, thing: &T) -> Result<()> {
        self.replace(&thing.stored(&self.reader)?, thing)
    }

    /// The same where the thing as it is stored is at hand.
    ///
    /// # Errors
    ///
    /// As [`Writer::update`].
    pub fn replace<T: Stored>(&self, old: &T, new: &T) -> Result<()> {
        new.check(Some(old))?;
        let number = self.number_of(new)?;
        new.write(self, Some(number))?;
        self.seal(T::SEALED, number)?;
        let changes = old.differences(self.reader.kinds, Some(new));
        self.record(new, Deed::Changed, &changes)
    }

    /// Takes a thing out of the catalog.
    ///
    /// # Errors
    ///
    /// Refuses one that others rest on, such as a part that a job names.
    pub fn remove<T: Stored>(&self, thing: &T) -> Result<()> {
        let number = self.number_of(thing)?;
        thing.check_unused(self, number)?;
        thing.delete(self, number)?;
        self.unseal(T::SEALED, number)?;
        let changes = thing.differences(self.reader.kinds, None);
        self.record(thing, Deed::Removed, &changes)
    }

    fn number_of<T: Stored>(&self, thing: &T) -> Result<i64> {
        match thing.number(&self.reader)? {
            Some(number) => Ok(number),
            // There is none, and its own refusal says so.
            None => Err(match thing.stored(&self.reader) {
                Err(missing) => missing,
                Ok(_) => thing.taken(),
            }),
        }
    }

    /// Writes down what became of a thing.
    pub(super) fn record<T: Stored>(
        &self,
        thing: &T,
        deed: Deed,
        changes: &[FieldChange],
    ) -> Result<()> {
        let (name, part) = thing.called();
        self.record_as(T::SUBJECT, &name, part, deed, changes)
    }

    pub(super) fn execute(&self, sql: &str, params: impl rusqlite::Params) -> Result<usize> {
        let run =
            || -> Result<usize, Fault> { Ok(self.conn().prepare_cached(sql)?.execute(params)?) };
        self.told(run())
    }
}
