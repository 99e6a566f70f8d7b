//! Reading parts, jobs and house numbers from one snapshot of the catalog.

use std::path::Path;

use rusqlite::Connection;

use super::fault::Fault;
use super::parts::Wanted;
use super::{jobs, measured, parts};
use crate::error::{Error, Result};
use crate::model::job::Job;
use crate::model::kinds::Kinds;
use crate::model::library::Library;
use crate::model::part::Part;
use crate::model::pieces::{Instrument, Measurements, Specimen, part_and_label};

/// A snapshot of the catalog.
#[derive(Debug)]
pub struct Reader<'c> {
    pub(super) conn: &'c Connection,
    pub(super) path: &'c Path,
    pub(super) kinds: Kinds,
}

impl<'c> Reader<'c> {
    pub(super) fn new(conn: &'c Connection, path: &'c Path, kinds: Kinds) -> Self {
        Self { conn, path, kinds }
    }

    pub(super) fn told<T>(&self, result: Result<T, Fault>) -> Result<T> {
        result.map_err(|fault| fault.at(self.path))
    }

    /// The table of kinds that the parts belong to.
    pub fn kinds(&self) -> Kinds {
        self.kinds
    }

    /// Every part with what was measured, and the house numbers.
    ///
    /// # Errors
    ///
    /// A storage error where the file cannot be read, or holds a kind or dimension that this
    /// program does not know.
    pub fn load_library(&self) -> Result<Library> {
        self.library(&parts::Which::All)
    }

    fn library(&self, which: &parts::Which<'_>) -> Result<Library> {
        let parts = self.told(parts::load(self.conn, self.kinds, which))?;
        let measured = self.load_measured()?;
        Ok(Library { measured, ..Library::new(self.kinds, parts, self.load_house()?) })
    }

    /// Every piece, reading and instrument.
    ///
    /// # Errors
    ///
    /// As [`Reader::load_library`].
    pub fn load_measured(&self) -> Result<Measurements> {
        self.told(measured::load(self.conn, self.kinds))
    }

    /// What a search needs and no more: the parts in use that are `wanted`, and the parts of these
    /// numbers whatever their kind and status, with what was measured and the house numbers.
    /// Numbers of no part are passed over.
    ///
    /// # Errors
    ///
    /// As [`Reader::load_library`].
    pub fn load_candidates(&self, wanted: &[Wanted<'_>], ids: &[&str]) -> Result<Library> {
        self.library(&parts::Which::Needed(wanted, ids))
    }

    /// What the part or piece is called now that has this name or had it once; the name itself where
    /// there is none.
    ///
    /// # Errors
    ///
    /// A storage error where the file cannot be read.
    pub fn current(&self, id: &str) -> Result<String> {
        self.told(parts::current(self.conn, id))
    }

    /// The part of this number, or the one that had it once, if there is one.
    ///
    /// # Errors
    ///
    /// As [`Reader::load_library`].
    pub fn find_part(&self, id: &str) -> Result<Option<Part>> {
        let found = self.told(parts::load(self.conn, self.kinds, &parts::Which::These(&[id])))?;
        Ok(found.into_iter().next())
    }

    /// The part of this number.
    ///
    /// # Errors
    ///
    /// An input error that names the nearest number where there is none of this number.
    pub fn load_part(&self, id: &str) -> Result<Part> {
        match self.find_part(id)? {
            Some(part) => Ok(part),
            None => Err(self.no_part(id)),
        }
    }

    /// Every job, by id, bytewise.
    ///
    /// # Errors
    ///
    /// As [`Reader::load_library`].
    pub fn load_jobs(&self) -> Result<Vec<Job>> {
        self.told(jobs::load(self.conn, self.kinds, None))
    }

    /// The job of this name, if there is one.
    ///
    /// # Errors
    ///
    /// As [`Reader::load_library`].
    pub fn find_job(&self, id: &str) -> Result<Option<Job>> {
        Ok(self.told(jobs::load(self.conn, self.kinds, Some(id)))?.into_iter().next())
    }

    /// The job of this name.
    ///
    /// # Errors
    ///
    /// An input error that names the nearest job where there is none of this name.
    pub fn load_job(&self, id: &str) -> Result<Job> {
        match self.find_job(id)? {
            Some(job) => Ok(job),
            None => Err(self.no_job(id)),
        }
    }

    /// The jobs that name a part, by id.
    ///
    /// # Errors
    ///
    /// A storage error where the file cannot be read.
    pub fn jobs_naming(&self, part: &str) -> Result<Vec<String>> {
        self.told(jobs::naming(self.conn, part))
    }

    /// Whether anything is set aside for a job.
    ///
    /// # Errors
    ///
    /// A storage error where the file cannot be read.
    pub fn has_set_aside(&self) -> Result<bool> {
        self.told(jobs::some_set_aside(self.conn))
    }

    /// The piece of this part number and label.
    ///
    /// # Errors
    ///
    /// An input error that names the nearest piece where there is none of this name.
    pub fn load_piece(&self, part: &str, label: &str) -> Result<Specimen> {
        let part = &self.current(part)?;
        let found = self.told(measured::load_pieces(self.conn, Some(part)))?;
        let found = found.into_iter().find(|piece| piece.label == label);
        found.ok_or_else(|| self.no_piece(part, label))
    }

    /// The pieces of a part.
    ///
    /// # Errors
    ///
    /// A storage error where the file cannot be read.
    pub(super) fn load_pieces(&self, part: &str) -> Result<Vec<Specimen>> {
        self.told(measured::load_pieces(self.conn, Some(part)))
    }

    /// The instrument of this name.
    ///
    /// # Errors
    ///
    /// An input error that names the nearest instrument where there is none of this name.
    pub fn load_instrument(&self, name: &str) -> Result<Instrument> {
        let found = self.told(measured::load_instruments(self.conn, Some(name)))?;
        found.into_iter().next().ok_or_else(|| self.no_instrument(name))
    }

    pub(super) fn no_part(&self, id: &str) -> Error {
        let error = Error::input(format!("there is no part `{id}` in the catalog"));
        self.with_nearest(error, id, "SELECT id FROM part ORDER BY id", "`part list` shows all")
    }

    pub(super) fn no_job(&self, id: &str) -> Error {
        let error = Error::input(format!("there is no job `{id}` in the catalog"));
        let otherwise = "`job list` shows all; `job new` enters one";
        self.with_nearest(error, id, "SELECT id FROM job ORDER BY id", otherwise)
    }

    /// The refusal of what a job names: a part or a piece.
    pub(super) fn no_named(&self, name: &str) -> Error {
        match part_and_label(name) {
            Some((part, label)) => self.no_piece(part, label),
            None => self.no_part(name),
        }
    }

    /// The refusal of a piece that is not there, naming the nearest one.
    pub fn no_piece(&self, part: &str, label: &str) -> Error {
        match (self.told(parts::number(self.conn, part)), self.load_pieces(part)) {
            (Ok(None), _) => self.no_part(part),
            (Ok(Some(_)), Ok(specimens)) => {
                Measurements { specimens, ..Measurements::default() }.no_piece(part, label)
            }
            (Err(failure), _) | (_, Err(failure)) => failure,
        }
    }

    /// The refusal of an instrument that is not there, naming the nearest one.
    pub fn no_instrument(&self, name: &str) -> Error {
        let error = Error::input(format!("there is no instrument `{name}` in the catalog"));
        let names = "SELECT name FROM instrument ORDER BY name";
        self.with_nearest(error, name, names, "`instrument list` shows all")
    }

    /// The refusal with the nearest name that is there, or else with what shows them all.
    pub(super) fn with_nearest(&self, error: Error, id: &str, sql: &str, otherwise: &str) -> Error {
        match self.told(names(self.conn, sql)) {
            Ok(known) => error.near(id, known.iter().map(String::as_str), otherwise),
            Err(failure) => failure,
        }
    }
}

fn names(conn: &Connection, sql: &str) -> Result<Vec<String>, Fault> {
    let mut query = conn.prepare_cached(sql)?;
    let rows = query.query_map([], |row| row.get(0))?;
    Ok(rows.collect::<rusqlite::Result<_>>()?)
}
