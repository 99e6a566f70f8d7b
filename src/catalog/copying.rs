//! Copies of a catalog's file, page by page, and those that are kept beside it.

use std::fs;
use std::path::{Path, PathBuf};
use std::time::Duration;

use rusqlite::backup::{Backup, StepResult};
use rusqlite::{Connection, OpenFlags};

use super::disk::{Directories, Workshop, plain};
use super::fault::Fault;
use crate::error::{Error, Result};

/// How long a command waits for another one that is writing.
pub(super) const PATIENCE: Duration = Duration::from_secs(5);

pub(super) fn connect(path: &Path) -> Result<Connection, Fault> {
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    // As the whole path every name is a plain one: `:memory:` and `file:` would be none.
    let path = std::path::absolute(path).unwrap_or_else(|_| path.into());
    Ok(Connection::open_with_flags(path, flags)?)
}

/// The file that is kept beside another one while it is open.
pub(super) fn beside(path: &Path, suffix: &str) -> PathBuf {
    let mut name = path.as_os_str().to_os_string();
    name.push(suffix);
    PathBuf::from(name)
}

/// Copies everything that a connection sees into another one, in one transaction there.
pub(super) fn copy(from: &Connection, to: &mut Connection) -> Result<(), Fault> {
    let backup = Backup::new(from, to)?;
    all_pages(&backup)
}

pub(super) fn all_pages(backup: &Backup<'_, '_>) -> Result<(), Fault> {
    match backup.step(-1)? {
        StepResult::Done => Ok(()),
        StepResult::Locked => Err(busy(rusqlite::ffi::SQLITE_LOCKED)),
        // A copy that is not whole is none.
        _ => Err(busy(rusqlite::ffi::SQLITE_BUSY)),
    }
}

pub(super) fn busy(code: i32) -> Fault {
    rusqlite::Error::SqliteFailure(rusqlite::ffi::Error::new(code), None).into()
}

/// Copies into a new file, which needs nothing beside it.
pub(super) fn copy_to_file(from: &Connection, path: &Path) -> Result<(), Fault> {
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE
        | OpenFlags::SQLITE_OPEN_CREATE
        | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let mut to = Connection::open_with_flags(path, flags)?;
    to.busy_timeout(PATIENCE)?;
    copy(from, &mut to)?;
    to.pragma_update_and_check(None, "journal_mode", "delete", |_| Ok(()))?;
    to.close().map_err(|(_, error)| error)?;
    Ok(())
}

/// Where the copies of a catalog are kept.
fn directory(catalog: &Path) -> PathBuf {
    beside(catalog, ".copies")
}

/// Keeps a copy of a catalog beside it, as it is stored by now, and lets the oldest ones go.
pub(super) fn keep(catalog: &Path, why: &str) -> Result<PathBuf> {
    let directory = directory(catalog);
    let refuse = |why: String| {
        let name = directory.display();
        Error::storage(format!("no copy of the catalog can be kept in `{name}`: {why}"))
            .hint("nothing was changed: see that something can be written there")
    };
    let of_disk = |error: std::io::Error| refuse(plain(&error));
    let directories = Directories::make(&directory).map_err(of_disk)?;
    let workshop = Workshop::in_directory(&directory).map_err(of_disk)?;
    let kept = numbered(&directory);
    let next = kept.last().map_or(1, |(number, _)| number + 1);
    let name = PathBuf::from(format!("{next:06}-{why}.db"));
    let to = directory.join(&name);
    let made = || -> Result<(), Fault> {
        let from = connect(catalog)?;
        from.busy_timeout(PATIENCE)?;
        from.pragma_update(None, "query_only", true)?;
        copy_to_file(&from, &workshop.place(&name))
    };
    made().map_err(|fault| refuse(fault.at(catalog).one_line()))?;
    if !workshop.place_if_free(&name, &to).map_err(of_disk)? {
        return Err(refuse("another program keeps one at the same time".into()));
    }
    directories.keep();
    let most = kept.len().saturating_sub(KEPT - 1);
    for (_, old) in kept.into_iter().take(most) {
        // One that cannot be removed is one too many, and no harm.
        let _ = fs::remove_file(old);
    }
    Ok(to)
}

/// The copies in a directory by their numbers, the oldest first.
fn numbered(directory: &Path) -> Vec<(u64, PathBuf)> {
    let entries = fs::read_dir(directory).into_iter().flatten().flatten();
    let number = |path: &Path| -> Option<u64> {
        let name = path.file_name()?.to_str()?;
        name.strip_suffix(".db")?.split_once('-')?.0.parse().ok()
    };
    let paths = entries.map(|entry| entry.path());
    let mut found: Vec<(u64, PathBuf)> =
        paths.filter_map(|path| number(&path).map(|number| (number, path))).collect();
    found.sort();
    found
}

/// How many copies are kept beside a catalog.
const KEPT: usize = 5;
