//! Opening a catalog's file, and making a new one so that no half-made one is ever seen.

use std::fs;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};

use rusqlite::config::DbConfig;
use rusqlite::{Connection, OpenFlags, Transaction, TransactionBehavior};

use super::copying::{PATIENCE, beside, connect, copy, keep};
use super::csv::published_instruments;
use super::disk::{Directories, Workshop, around, plain};
use super::fault::Fault;
use super::migrations::{self, FileState, MIGRATIONS};
use super::schema::Schema;
use super::{Access, measured, seal};
use crate::error::{Error, Result};
use crate::model::words::nearest;

/// Statements that one command keeps prepared.
const STATEMENTS: usize = 48;

/// Room for a large catalog's pages, so that each is read from the file once.
const CACHE_KIB: i64 = 16_384;

/// What stands at a catalog's path.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum AtPath {
    /// A file with a catalog in it.
    Catalog,
    /// A file without a byte in it, such as a fresh temporary one.
    Blank,
    /// Nothing.
    Nothing,
}

/// Looks at the path without opening a database.
pub(super) fn find(path: &Path) -> Result<AtPath> {
    match fs::metadata(path) {
        Ok(meta) if meta.is_dir() => {
            Err(Error::storage(format!("`{}` is a directory, not a catalog", path.display()))
                .hint("give a file with --catalog"))
        }
        Ok(meta) if meta.len() == 0 => Ok(AtPath::Blank),
        Ok(_) => Ok(AtPath::Catalog),
        Err(error) if error.kind() == ErrorKind::NotFound => Ok(AtPath::Nothing),
        Err(error) => Err(Error::storage(format!(
            "the catalog `{}` cannot be read: {}",
            path.display(),
            plain(&error)
        ))),
    }
}

/// The error for a command that needs a catalog where none is.
pub(super) fn none_there(path: &Path, found: AtPath) -> Error {
    let name = path.display();
    let message = match found {
        AtPath::Blank => format!("the file `{name}` is empty: there is no catalog in it yet"),
        _ => format!("there is no catalog `{name}` yet"),
    };
    Error::storage(message).hint(match nearest_catalog(path) {
        Some(near) => format!("did you mean `{}`?", near.display()),
        None => {
            "`bellstack import FILE...` makes one from CSV files, `bellstack part add` from one \
                 part"
                .into()
        }
    })
}

/// The catalog beside a name that was perhaps mistyped: the one of the nearest name, or the only one.
fn nearest_catalog(path: &Path) -> Option<PathBuf> {
    let wanted = path.file_name()?.to_string_lossy().into_owned();
    let entries = fs::read_dir(around(path)).ok()?.take(MOST_BESIDE).flatten();
    let names = entries.map(|entry| entry.file_name().to_string_lossy().into_owned());
    let is_catalog = |name: &String| *name != wanted && has_mark(&path.with_file_name(name));
    let mut names: Vec<String> = names.filter(is_catalog).collect();
    names.sort_unstable();
    let near = nearest(&wanted, names.iter().map(String::as_str));
    let near = near.or(match names.as_slice() {
        [only] => Some(only),
        _ => None,
    });
    near.map(|name| path.with_file_name(name))
}

/// How many files of a directory are looked at for a catalog of another name.
const MOST_BESIDE: usize = 1000;

/// Whether a file begins like a catalog of this program. The mark stands at byte 68 (`SQLite`, "Database
/// File Format", section 1.3).
fn has_mark(path: &Path) -> bool {
    use std::io::Read as _;
    let mut head = [0; 72];
    let read = fs::metadata(path).is_ok_and(|meta| meta.is_file())
        && fs::File::open(path).and_then(|mut file| file.read_exact(&mut head)).is_ok();
    read && head.starts_with(b"SQLite format 3\0")
        && head[68..] == migrations::APPLICATION_ID.to_be_bytes()
}

/// Opens a catalog that is there and brings it to the newest version. None where nothing is in the
/// file after all: what an interrupted creation in an empty file left was just taken back.
pub(super) fn existing(path: &Path, access: Access) -> Result<Option<Connection>> {
    let opened = connect(path).and_then(|conn| checked(conn, path));
    let opened = match opened {
        // SQLite wants to write beside the file even to read it. Where the directory or the disk does
        // not allow that, the file is read as one that nobody changes.
        Err(fault) if fault.is_cannot_open() => still(path, fault),
        Err(fault) if access == Access::Read && fault.is_of_the_disk() => still(path, fault),
        other => other,
    };
    let Some(mut conn) = opened.map_err(|fault| fault.at(path))? else { return Ok(None) };
    update(&mut conn, Some(path)).map_err(|fault| fault.at(path))?;
    if access == Access::Read {
        conn.pragma_update(None, "query_only", true).map_err(|e| Fault::from(e).at(path))?;
    }
    Ok(Some(conn))
}

/// What no file may make `SQLite` do, whatever its schema says; beside [`Schema`], which refuses such
/// a schema by name.
const CAUTIONS: &[(DbConfig, bool)] = &[
    (DbConfig::SQLITE_DBCONFIG_TRUSTED_SCHEMA, false),
    (DbConfig::SQLITE_DBCONFIG_DEFENSIVE, true),
    (DbConfig::SQLITE_DBCONFIG_ENABLE_VIEW, false),
    (DbConfig::SQLITE_DBCONFIG_DQS_DML, false),
    (DbConfig::SQLITE_DBCONFIG_DQS_DDL, false),
];

/// The settings that every connection needs, and a look at what the file is.
fn checked(conn: Connection, path: &Path) -> Result<Option<Connection>, Fault> {
    conn.busy_timeout(PATIENCE)?;
    for (caution, on) in CAUTIONS {
        conn.set_db_config(*caution, *on)?;
    }
    conn.pragma_update(None, "cell_size_check", true)?;
    // A log that another program left behind must not be folded into a file that is then refused.
    let log = beside(path, "-wal");
    let pending = fs::metadata(&log).is_ok_and(|meta| meta.len() > 0);
    if pending {
        conn.set_db_config(DbConfig::SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, true)?;
    }
    match migrations::inspect(&conn, MIGRATIONS) {
        Ok(FileState::Version(version)) => Schema::of(version)?.check(&conn)?,
        Ok(FileState::Blank) => return Ok(None),
        Err(Fault::Told(error)) => {
            return Err(error.at(format!("the catalog `{}`", path.display())).into());
        }
        Err(fault) => return Err(fault),
    }
    if pending {
        conn.set_db_config(DbConfig::SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, false)?;
    }
    set_up(&conn)?;
    conn.pragma_update(None, "cache_size", -CACHE_KIB)?;
    Ok(Some(conn))
}

/// Opens a file beside which nothing can be written.
fn still(path: &Path, why: Fault) -> Result<Option<Connection>, Fault> {
    let log = beside(path, "-wal");
    if fs::metadata(&log).is_ok_and(|meta| meta.len() > 0) {
        let message = format!(
            "the catalog `{}` has unfinished writes in `{}`, and its directory cannot be written",
            path.display(),
            log.display()
        );
        return Err(Error::storage(message)
            .hint("copy both files to a directory of your own")
            .into());
    }
    if let Err(error) = fs::File::open(path) {
        let message = format!("the catalog `{}` cannot be read: {}", path.display(), plain(&error));
        return Err(Error::storage(message).into());
    }
    let Some(uri) = uri(path) else { return Err(why) };
    let flags = OpenFlags::SQLITE_OPEN_READ_ONLY
        | OpenFlags::SQLITE_OPEN_NO_MUTEX
        | OpenFlags::SQLITE_OPEN_URI;
    let conn = Connection::open_with_flags(uri, flags)?;
    checked(conn, path)
}

/// The path as a URI that says that nobody changes the file.
fn uri(path: &Path) -> Option<String> {
    use std::fmt::Write as _;
    let path = std::path::absolute(path).ok()?;
    let mut uri = String::from("file://");
    for (index, byte) in path.as_os_str().as_encoded_bytes().iter().enumerate() {
        let byte = if cfg!(windows) && *byte == b'\\' { b'/' } else { *byte };
        if index == 0 && byte != b'/' {
            uri.push('/');
        }
        if byte.is_ascii_alphanumeric() || b"/._-~:".contains(&byte) {
            uri.push(char::from(byte));
        } else {
            write!(uri, "%{byte:02X}").ok()?;
        }
    }
    uri.push_str("?mode=ro&immutable=1");
    Some(uri)
}

/// Another catalog in memory, of the newest version: nothing is written to its file.
pub(super) fn copied(from: &Path) -> Result<Connection> {
    let made = || -> Result<Connection, Fault> {
        let mut conn = Connection::open_in_memory()?;
        copy(&raw(from)?, &mut conn)?;
        conn.pragma_update(None, "foreign_keys", true)?;
        conn.set_prepared_statement_cache_capacity(STATEMENTS);
        update(&mut conn, None)?;
        Ok(conn)
    };
    made().map_err(|fault| fault.at(from))
}

/// Brings a catalog to the newest version; one in a file is copied first.
fn update(conn: &mut Connection, path: Option<&Path>) -> Result<(), Fault> {
    if migrations::inspect(conn, MIGRATIONS)? == FileState::Version(MIGRATIONS.len()) {
        return Ok(());
    }
    let tx = conn.transaction_with_behavior(TransactionBehavior::Immediate)?;
    match migrations::inspect(&tx, MIGRATIONS)? {
        // Another program was faster.
        FileState::Version(version) if version == MIGRATIONS.len() => return Ok(()),
        FileState::Version(version) => {
            Schema::of(version)?.check(&tx)?;
            path.map(|path| keep(path, "migration")).transpose()?;
        }
        FileState::Blank => {}
    }
    bring_up(&tx)?;
    tx.commit()?;
    Ok(())
}

/// Opens another catalog to copy it, whatever its version.
pub(super) fn raw(path: &Path) -> Result<Connection, Fault> {
    let opened = connect(path).and_then(|conn| checked(conn, path));
    let opened = match opened {
        Err(fault) if fault.is_cannot_open() => still(path, fault),
        other => other,
    };
    let conn = opened?
        .ok_or_else(|| Error::storage(format!("there is no catalog in `{}`", path.display())))?;
    conn.pragma_update(None, "query_only", true)?;
    Ok(conn)
}

/// Lets a catalog that was made in a file of its own have readers and one writer at once. Where that
/// cannot be had it keeps the older way.
pub(super) fn with_log(path: &Path) {
    let set = connect(path).and_then(|conn| {
        Ok(conn.pragma_update_and_check(None, "journal_mode", "wal", |_| Ok(()))?)
    });
    let _ = set;
}

/// The first version of a catalog that has instruments.
const WITH_INSTRUMENTS: usize = 2;

/// The first version of a catalog whose things are sealed in all that their rows say today.
const WITH_SEALS: usize = 12;

/// Brings a catalog to the newest version. The published instruments come with the version that
/// first has a place for them; from then on they are the shop's, to change or remove. What was there
/// before there were seals of all its columns is sealed as it is.
fn bring_up(tx: &Transaction<'_>) -> Result<(), Fault> {
    let before = migrations::migrate(tx, MIGRATIONS)?;
    if before < WITH_INSTRUMENTS {
        measured::seed(tx, &published_instruments()?)?;
    }
    if before < WITH_SEALS {
        seal::seal_all(tx)?;
    }
    Ok(())
}

/// What every connection is told.
fn set_up(conn: &Connection) -> rusqlite::Result<()> {
    conn.pragma_update(None, "foreign_keys", true)?;
    // A plan is that of its statement, whatever is bound: else most statements are compiled anew for each
    // row of an import, which takes half of its time.
    conn.set_db_config(DbConfig::SQLITE_DBCONFIG_ENABLE_QPSG, true)?;
    conn.set_prepared_statement_cache_capacity(STATEMENTS);
    Ok(())
}

/// A catalog without a file: what a command sees before the first one is made.
pub(super) fn in_memory() -> Result<Connection, Fault> {
    let mut conn = Connection::open_in_memory()?;
    set_up(&conn)?;
    update(&mut conn, None)?;
    Ok(conn)
}

/// Makes a new catalog beside its place, fills it, and only then puts it there: a command that
/// fails leaves nothing behind. `None` where another one was made in the meantime.
pub(super) fn create<T>(
    path: &Path,
    fill: &mut impl FnMut(&Transaction<'_>) -> Result<T>,
) -> Result<Option<T>> {
    let refuse = |error: std::io::Error| {
        let name = path.display();
        Error::storage(format!("the catalog `{name}` cannot be made: {}", plain(&error)))
    };
    let directories = Directories::make(around(path)).map_err(refuse)?;
    let workshop = Workshop::in_directory(around(path)).map_err(refuse)?;
    let name = Path::new("catalog.db");
    let fresh = workshop.place(name);
    fs::File::create_new(&fresh).map_err(refuse)?;
    let answer = fill_blank(&fresh, path, fill)?;
    let placed = workshop.place_if_free(name, path).map_err(refuse)?;
    drop(workshop);
    directories.keep();
    Ok(placed.then_some(answer))
}

/// Makes a catalog in the file `place`, which has not a byte in it. Errors name the catalog `path`.
pub(super) fn fill_blank<T>(
    place: &Path,
    path: &Path,
    fill: &mut impl FnMut(&Transaction<'_>) -> Result<T>,
) -> Result<T> {
    let mut conn = connect(place).map_err(|fault| fault.at(path))?;
    let told = |error: rusqlite::Error| Fault::from(error).at(path);
    conn.busy_timeout(PATIENCE).map_err(told)?;
    set_up(&conn).map_err(told)?;
    let tx = conn.transaction_with_behavior(TransactionBehavior::Immediate).map_err(told)?;
    bring_up(&tx).map_err(|fault| fault.at(path))?;
    let answer = fill(&tx)?;
    tx.commit().map_err(told)?;
    // Readers and one writer at once from here on. Where that cannot be had the file keeps the older
    // way, which is as safe, only slower: what was stored is stored either way.
    let _ = conn.pragma_update_and_check(None, "journal_mode", "wal", |_| Ok(()));
    Ok(answer)
}
