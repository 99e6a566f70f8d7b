//! The shop's catalog: one database file with parts, jobs and house numbers, and CSV in and out.
//!
//! Every command reads from one snapshot and writes in one transaction: it is stored as a whole or
//! not at all. All SQL of the program is in this directory.

use std::path::{Path, PathBuf};

use rusqlite::{Connection, Transaction, TransactionBehavior};

use crate::error::Result;
use crate::model::headings::Headings;
use crate::model::history::Stamp;
use crate::model::job::Job;
use crate::model::kinds::Kinds;
use crate::model::library::Library;
use crate::model::part::Part;

mod answers;
mod believed;
mod copies;
mod copying;
pub mod csv;
mod disk;
mod fault;
mod headings;
mod history;
mod house;
mod integrity;
mod jobs;
mod measured;
mod merge;
mod migrations;
mod names;
mod open;
mod parts;
mod reader;
mod renamed;
mod schema;
mod seal;
mod shelf;
mod undo;
mod values;
mod writer;

pub use answers::Named as NamedAnswer;
pub use copies::{Copied, Restored};
pub use disk::{plain, write_files};
use fault::Fault;
use migrations::MIGRATIONS;
use open::AtPath;
pub use parts::Wanted;
pub use reader::Reader;
pub use renamed::Followed;
use schema::Schema;
pub use shelf::{OnShelf, TakenOut, aside_words};
pub use writer::{Stored, Writer};

/// What a command wants with the catalog.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Access {
    /// To read one that is there.
    Read,
    /// To change one that is there.
    Write,
    /// To change one, and to make it first where there is none. It is made by the first
    /// [`Catalog::write`] that succeeds; until then it reads as empty.
    Create,
}

/// An open catalog.
#[derive(Debug)]
pub struct Catalog {
    path: PathBuf,
    kinds: Kinds,
    conn: Connection,
    /// What stood at the path. Unless it was a catalog, `conn` is an empty one in memory.
    found: AtPath,
    /// What the file's schema has to be.
    schema: Schema,
    /// Whether the first [`Catalog::write`] made it.
    is_new: bool,
}

impl Catalog {
    /// Opens the catalog at `path`.
    ///
    /// # Errors
    ///
    /// A storage error where there is none (unless `access` may make one), where it cannot be
    /// read, is damaged or another program's, or was written by a newer version of this program
    /// (it is left unchanged).
    pub fn open(path: &Path, kinds: Kinds, access: Access) -> Result<Self> {
        if access != Access::Read {
            disk::clear(disk::around(path));
        }
        let mut found = open::find(path)?;
        let opened = match found {
            AtPath::Catalog => open::existing(path, access)?,
            AtPath::Blank | AtPath::Nothing => None,
        };
        if opened.is_none() && found == AtPath::Catalog {
            found = AtPath::Blank;
        }
        let conn = match opened {
            Some(conn) => conn,
            None if access == Access::Create => {
                open::in_memory().map_err(|fault| fault.at(path))?
            }
            None => return Err(open::none_there(path, found)),
        };
        let schema = Schema::of(MIGRATIONS.len()).map_err(|fault| fault.at(path))?;
        Ok(Self { path: path.into(), kinds, conn, found, schema, is_new: false })
    }

    /// The file.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// The table of kinds that its parts belong to.
    pub fn kinds(&self) -> Kinds {
        self.kinds
    }

    /// Whether the file holds a catalog already; if not, the first write makes it.
    pub fn exists(&self) -> bool {
        self.found == AtPath::Catalog
    }

    /// Whether this command made it.
    pub fn is_new(&self) -> bool {
        self.is_new
    }

    /// What the headings of the shop's own sheets mean, as far as that was learned.
    ///
    /// # Errors
    ///
    /// A storage error where the file is damaged or cannot be read.
    pub fn load_headings(&self) -> Result<Vec<Headings>> {
        #[allow(
            clippy::redundant_closure_for_method_calls,
            reason = "the method's own lifetime is not general enough"
        )]
        self.read(|reader| reader.load_headings())
    }

    /// Reads from one snapshot, whatever others write in the meantime.
    ///
    /// # Errors
    ///
    /// Those of `f`, and a storage error where the file cannot be read.
    pub fn read<T>(&self, f: impl FnOnce(&Reader<'_>) -> Result<T>) -> Result<T> {
        let begin = || -> Result<_, Fault> {
            let tx = self.conn.unchecked_transaction()?;
            recognise(&self.schema, &tx)?;
            Ok(tx)
        };
        let tx = begin().map_err(|fault| fault.at(&self.path))?;
        f(&Reader::new(&tx, &self.path, self.kinds))
    }

    /// Changes the catalog in one transaction: all of it is stored, or nothing where `f` fails. What
    /// changes is written into the history under the stamp.
    ///
    /// `f` may run twice where two programs make the same new catalog at once.
    ///
    /// # Errors
    ///
    /// Those of `f`, and a storage error where the file cannot be written or another program
    /// keeps it busy for five seconds.
    pub fn write<T>(
        &mut self,
        stamp: &Stamp,
        mut f: impl FnMut(&Writer<'_>) -> Result<T>,
    ) -> Result<T> {
        if self.found != AtPath::Catalog {
            let mut f = |tx: &Transaction<'_>| f(&Writer::new(tx, &self.path, self.kinds, stamp));
            let made = match self.found {
                AtPath::Blank => Some(open::fill_blank(&self.path, &self.path, &mut f)?),
                _ => open::create(&self.path, &mut f)?,
            };
            self.is_new = made.is_some();
            self.found = AtPath::Catalog;
            self.conn = match open::existing(&self.path, Access::Write) {
                Ok(Some(conn)) => conn,
                opened => {
                    let why =
                        opened.err().unwrap_or_else(|| open::none_there(&self.path, self.found));
                    return Err(if self.is_new {
                        why.at("everything is stored in a new catalog, which now fails")
                    } else {
                        why
                    });
                }
            };
            if let Some(answer) = made {
                return Ok(answer);
            }
        }
        let told = |error: rusqlite::Error| Fault::from(error).at(&self.path);
        let begun = self.conn.transaction_with_behavior(TransactionBehavior::Immediate);
        let tx = begun.map_err(told)?;
        // Whatever happened to the file since it was opened, this transaction is the only writer.
        recognise(&self.schema, &tx).map_err(|fault| fault.at(&self.path))?;
        let answer = f(&Writer::new(&tx, &self.path, self.kinds, stamp))?;
        tx.commit().map_err(told)?;
        Ok(answer)
    }

    /// Every part and the house numbers.
    ///
    /// # Errors
    ///
    /// A storage error where the file cannot be read.
    #[allow(
        clippy::redundant_closure_for_method_calls,
        reason = "the method itself is not general enough over the reader's lifetime"
    )]
    pub fn load_library(&self) -> Result<Library> {
        self.read(|reader| reader.load_library())
    }

    /// Every job, by id.
    ///
    /// # Errors
    ///
    /// A storage error where the file cannot be read.
    #[allow(
        clippy::redundant_closure_for_method_calls,
        reason = "the method itself is not general enough over the reader's lifetime"
    )]
    pub fn load_jobs(&self) -> Result<Vec<Job>> {
        self.read(|reader| reader.load_jobs())
    }

    /// The job of this name.
    ///
    /// # Errors
    ///
    /// An input error that names the nearest job where there is none of this name.
    pub fn load_job(&self, id: &str) -> Result<Job> {
        self.read(|reader| reader.load_job(id))
    }

    /// The part of this number.
    ///
    /// # Errors
    ///
    /// An input error that names the nearest number where there is none of this number.
    pub fn load_part(&self, id: &str) -> Result<Part> {
        self.read(|reader| reader.load_part(id))
    }
}

/// Refuses a file that another hand changed since it was opened.
fn recognise(schema: &Schema, tx: &Transaction<'_>) -> Result<(), Fault> {
    migrations::inspect(tx, MIGRATIONS)?;
    schema.check(tx)
}
