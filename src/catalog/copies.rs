//! Whole copies of a catalog: one that is asked for, one that takes the catalog's place, and those that
//! are kept beside it before it changes as a whole.
//!
//! All are made by `SQLite`'s own backup interface, page by page from one snapshot, while others read
//! and write; a file that is copied by other means may lack what stands in the log beside it.

use std::fs::{self, File};
use std::path::{Path, PathBuf};

use rusqlite::Connection;
use rusqlite::backup::{Backup, StepResult};

use super::copying::{all_pages, busy, connect, copy_to_file, keep};
use super::disk::{Directories, Workshop, around, plain};
use super::fault::Fault;
use super::{Access, Catalog, Reader, Writer, open};
use crate::error::{Error, Result};
use crate::model::history::{Deed, FieldChange, Held, Stamp, Subject};
use crate::model::kinds::Kinds;

/// What a copy holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Copied {
    /// How many parts.
    pub parts: usize,
    /// How many jobs.
    pub jobs: usize,
    /// The number of the last command on record, zero where there is none.
    pub command: i64,
}

/// What became of a catalog that was restored.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Restored {
    /// What it holds now.
    pub holds: Copied,
    /// The copy of what it held before; none where there was no catalog.
    pub before: Option<PathBuf>,
}

/// Brings a file that was made to the disk.
fn synced(path: &Path) -> std::io::Result<()> {
    File::open(path)?.sync_all()
}

impl Reader<'_> {
    /// What the catalog holds, in numbers.
    fn held(&self) -> Result<Copied, Fault> {
        let count = |sql: &str| -> Result<i64, Fault> {
            Ok(self.conn.query_row(sql, [], |row| row.get(0))?)
        };
        let many = |sql: &str| count(sql).map(|count| usize::try_from(count).unwrap_or_default());
        Ok(Copied {
            parts: many("SELECT count(*) FROM part")?,
            jobs: many("SELECT count(*) FROM job")?,
            command: count("SELECT coalesce(max(number), 0) FROM command")?,
        })
    }
}

impl Writer<'_> {
    /// Keeps a copy of the catalog beside it, as it was before this transaction.
    pub(super) fn keep_copy(&self, why: &str) -> Result<()> {
        keep(self.reader().path, why).map(|_| ())
    }
}

/// Whether two names are of one file.
fn is_same(a: &Path, b: &Path) -> bool {
    matches!((fs::canonicalize(a), fs::canonicalize(b)), (Ok(a), Ok(b)) if a == b)
}

/// Refuses what is no other catalog than one's own: that one itself, and a file without a catalog.
pub(super) fn refuse_as_other(own: &Path, other: &Path, hint: &str) -> Result<()> {
    let told = other.display();
    if is_same(own, other) {
        return Err(Error::input(format!("`{told}` is the catalog itself")).hint(hint));
    }
    if open::find(other)? != open::AtPath::Catalog {
        return Err(Error::storage(format!("there is no catalog in `{told}`")));
    }
    Ok(())
}

impl Catalog {
    /// Writes everything that the catalog holds into a file of its own, and looks through what was
    /// written before it is put in its place.
    ///
    /// # Errors
    ///
    /// Refuses the catalog's own file, one that is there unless it is to be `replaced`, and a catalog
    /// that is damaged. A storage error where the file cannot be written; then nothing is.
    pub fn backup(&self, to: &Path, replaced: bool) -> Result<Copied> {
        let name = to.display();
        if is_same(&self.path, to) {
            return Err(Error::input(format!("`{name}` is the catalog itself"))
                .hint("give the copy another name"));
        }
        if !replaced && to.exists() {
            return Err(Error::input(format!("`{name}` is there already"))
                .hint("`--force` replaces it; or give another name"));
        }
        let refuse = |error: std::io::Error| {
            Error::storage(format!("`{name}` cannot be written: {}", plain(&error)))
        };
        if to.is_dir() {
            return Err(refuse(std::io::ErrorKind::IsADirectory.into()));
        }
        let Some(file) = to.file_name().map(PathBuf::from) else {
            return Err(Error::input(format!("`{name}` is no name of a file")));
        };
        let directories = Directories::make(around(to)).map_err(refuse)?;
        let workshop = Workshop::in_directory(around(to)).map_err(refuse)?;
        let made = workshop.place(&file);
        let held = self.read(|reader| {
            let copied = || -> Result<Copied, Fault> {
                copy_to_file(reader.conn, &made)?;
                reader.held()
            };
            copied().map_err(|fault| fault.at(&self.path))
        })?;
        let checked = looked_through(&made, self.kinds, to)?;
        if checked != held {
            return Err(Error::storage(format!("what was written to `{name}` is not the catalog"))
                .hint("is the disk sound? nothing was put in place"));
        }
        synced(&made).map_err(refuse)?;
        if replaced {
            workshop.place_all().map_err(refuse)?;
        } else if !workshop.place_if_free(&file, to).map_err(refuse)? {
            return Err(refuse(std::io::ErrorKind::AlreadyExists.into()));
        }
        directories.keep();
        Ok(held)
    }

    /// Puts what a copy holds in the place of what the catalog holds, and makes the catalog where there
    /// is none. What it held before is kept beside it, and that it was restored is on record.
    ///
    /// # Errors
    ///
    /// Refuses a file that is no catalog of this program, is damaged, or is the catalog itself. A
    /// storage error where the catalog cannot be written; then it is as it was.
    pub fn restore(path: &Path, kinds: Kinds, stamp: &Stamp, from: &Path) -> Result<Restored> {
        refuse_as_other(path, from, "name the copy that it is to be restored from")?;
        let mut own = match open::find(path)? {
            open::AtPath::Catalog => open::existing(path, Access::Write)?,
            _ => None,
        };
        let refuse = |error: std::io::Error| {
            let name = path.display();
            Error::storage(format!("the catalog `{name}` cannot be written: {}", plain(&error)))
        };
        let directories = Directories::make(around(path)).map_err(refuse)?;
        let workshop = Workshop::in_directory(around(path)).map_err(refuse)?;
        let name = Path::new("catalog.db");
        let made = workshop.place(name);
        // What is restored is worked on in a copy of its own: nothing is written to the one that was
        // named, not even a newer version.
        open::raw(from)
            .and_then(|conn| copy_to_file(&conn, &made))
            .map_err(|fault| fault.at(from))?;
        looked_through(&made, kinds, from)?;
        let last = match &own {
            Some(conn) => Reader::new(conn, path, kinds).held().map_err(|f| f.at(path))?.command,
            None => 0,
        };
        put_on_record(&made, kinds, stamp, from, last)?;
        let holds = looked_through(&made, kinds, from)?;
        #[allow(clippy::single_match_else, reason = "one catalog is there or none")]
        let before = match &mut own {
            Some(own) => Some(put_into(own, &made, path)?),
            None => {
                open::with_log(&made);
                // An empty file that waits for a catalog is none.
                if path.exists() {
                    fs::remove_file(path).map_err(refuse)?;
                }
                if !workshop.place_if_free(name, path).map_err(refuse)? {
                    return Err(Error::storage(format!(
                        "another catalog `{}` was made in the meantime",
                        path.display()
                    )));
                }
                None
            }
        };
        drop(workshop);
        directories.keep();
        Ok(Restored { holds, before })
    }
}

/// Looks through a whole copy; errors name the file `told`.
fn looked_through(made: &Path, kinds: Kinds, told: &Path) -> Result<Copied> {
    let conn = open::existing(made, Access::Read);
    let renamed = |error: Error| {
        let (made, told) = (made.display().to_string(), told.display().to_string());
        error.map(|text| text.replace(&made, &told))
    };
    let conn = conn.map_err(renamed)?;
    let Some(conn) = conn else {
        return Err(Error::storage(format!("there is no catalog in `{}`", told.display())));
    };
    let reader = Reader::new(&conn, told, kinds);
    reader.look_through()?;
    reader.load_library()?;
    reader.load_jobs()?;
    reader.held().map_err(|fault| fault.at(told))
}

/// Writes into a copy that it takes the catalog's place.
fn put_on_record(made: &Path, kinds: Kinds, stamp: &Stamp, from: &Path, last: i64) -> Result<()> {
    let mut copy = Catalog::open(made, kinds, Access::Write)?;
    let text = |text: String| Held::Text(text);
    copy.write(stamp, |writer| {
        let reached = writer.told(writer.reader().held())?.command;
        let changes = [
            FieldChange {
                field: "restored_from".into(),
                from: Held::Blank,
                to: text(from.display().to_string()),
            },
            FieldChange {
                field: "last_command".into(),
                from: text(last.to_string()),
                to: text(reached.to_string()),
            },
        ];
        writer.record_as(Subject::Catalog, "", None, Deed::Changed, &changes)
    })?;
    drop(copy);
    Ok(())
}

/// Puts what a file holds in the place of what the catalog holds, in one transaction. Nobody can write
/// between the copy that is kept and that.
fn put_into(own: &mut Connection, made: &Path, path: &Path) -> Result<PathBuf> {
    let mut put = || -> Result<PathBuf, Fault> {
        let mode: String = own.pragma_query_value(None, "journal_mode", |row| row.get(0))?;
        // Without a log nobody could read once the first page is written.
        let early = if mode == "wal" { None } else { Some(keep(path, "restore")?) };
        let from = connect(made)?;
        let backup = Backup::new(&from, own)?;
        if backup.step(1)? != StepResult::More {
            return Err(busy(rusqlite::ffi::SQLITE_BUSY));
        }
        let kept = early.map_or_else(|| keep(path, "restore"), Ok)?;
        all_pages(&backup)?;
        Ok(kept)
    };
    put().map_err(|fault| fault.at(path))
}
