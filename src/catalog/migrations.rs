//! The catalog's versions: ordered scripts of which none is ever changed again.

use rusqlite::{Connection, Transaction};

use super::fault::Fault;
use crate::error::Error;

/// Marks a file as a catalog of this program: the letters `BELS`.
pub(super) const APPLICATION_ID: i32 = 0x4245_4C53;

/// Each script brings a catalog from the version of its index to the next one.
pub(super) const MIGRATIONS: &[&str] = &[
    include_str!("../../catalog/migrations/0001_first.sql"),
    include_str!("../../catalog/migrations/0002_measured.sql"),
    include_str!("../../catalog/migrations/0003_history.sql"),
    include_str!("../../catalog/migrations/0004_kept.sql"),
    include_str!("../../catalog/migrations/0005_seal.sql"),
    include_str!("../../catalog/migrations/0006_bars.sql"),
    include_str!("../../catalog/migrations/0007_undo.sql"),
    include_str!("../../catalog/migrations/0008_headings.sql"),
    include_str!("../../catalog/migrations/0009_job_words.sql"),
    include_str!("../../catalog/migrations/0010_former_numbers.sql"),
    include_str!("../../catalog/migrations/0011_own_columns.sql"),
    include_str!("../../catalog/migrations/0012_shelf.sql"),
];

/// What a file turned out to be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum FileState {
    /// A database without anything in it.
    Blank,
    /// A catalog of this version.
    Version(usize),
}

/// Finds out what a file is, reading nothing but its marks.
///
/// # Errors
///
/// Refuses another program's database, and a catalog that a newer version of this program wrote.
pub(super) fn inspect(conn: &Connection, migrations: &[&str]) -> Result<FileState, Fault> {
    let application: i32 = conn.query_row("PRAGMA application_id", [], |row| row.get(0))?;
    let version: i64 = conn.query_row("PRAGMA user_version", [], |row| row.get(0))?;
    if application != APPLICATION_ID {
        let objects: i64 =
            conn.query_row("SELECT count(*) FROM sqlite_schema", [], |row| row.get(0))?;
        if application == 0 && version == 0 && objects == 0 {
            return Ok(FileState::Blank);
        }
        return Err(Error::storage("it is another program's database, not a catalog")
            .hint("give another file with --catalog")
            .into());
    }
    match usize::try_from(version) {
        Ok(version) if version <= migrations.len() => Ok(FileState::Version(version)),
        _ => {
            let known = migrations.len();
            let message =
                format!("it has version {version}, and this program knows versions up to {known}");
            Err(Error::storage(message)
                .hint("use a newer program; the file was not changed")
                .into())
        }
    }
}

/// Brings a catalog to the newest version within the caller's transaction, so that a script that
/// fails half-way leaves the old version. Returns the version that it was of before.
pub(super) fn migrate(tx: &Transaction<'_>, migrations: &[&str]) -> Result<usize, Fault> {
    let done = match inspect(tx, migrations)? {
        FileState::Blank => {
            tx.pragma_update(None, "application_id", APPLICATION_ID)?;
            0
        }
        FileState::Version(version) => version,
    };
    for (version, script) in (1_i64..).zip(migrations).skip(done) {
        tx.execute_batch(script)?;
        tx.pragma_update(None, "user_version", version)?;
    }
    Ok(done)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn run(conn: &mut Connection, migrations: &[&str]) -> Result<(), Fault> {
        let tx = conn.transaction()?;
        migrate(&tx, migrations)?;
        tx.commit()?;
        Ok(())
    }

    #[test]
    fn scripts_are_applied_once_and_in_order() {
        let mut conn = Connection::open_in_memory().unwrap();
        run(&mut conn, &["CREATE TABLE a (x)"]).unwrap();
        run(&mut conn, &["CREATE TABLE a (x)", "ALTER TABLE a ADD COLUMN y"]).unwrap();
        run(&mut conn, &["CREATE TABLE a (x)", "ALTER TABLE a ADD COLUMN y"]).unwrap();
        assert_eq!(inspect(&conn, &["", ""]).unwrap(), FileState::Version(2));
    }

    #[test]
    fn a_script_that_fails_leaves_the_old_version() {
        let mut conn = Connection::open_in_memory().unwrap();
        run(&mut conn, &["CREATE TABLE a (x)"]).unwrap();
        let scripts = ["CREATE TABLE a (x)", "CREATE TABLE b (x); CREATE TABLE a (x)"];
        assert!(run(&mut conn, &scripts).is_err());
        assert_eq!(inspect(&conn, &scripts).unwrap(), FileState::Version(1));
        let tables: i64 =
            conn.query_row("SELECT count(*) FROM sqlite_schema", [], |row| row.get(0)).unwrap();
        assert_eq!(tables, 1);
    }

    #[test]
    fn a_newer_version_and_another_programs_database_are_refused() {
        let mut conn = Connection::open_in_memory().unwrap();
        run(&mut conn, &["CREATE TABLE a (x)", "CREATE TABLE b (x)"]).unwrap();
        let Err(Fault::Told(error)) = inspect(&conn, &["CREATE TABLE a (x)"]) else { panic!() };
        assert!(error.to_string().contains("version 2"), "{error}");

        let conn = Connection::open_in_memory().unwrap();
        conn.execute_batch("CREATE TABLE other (x)").unwrap();
        let Err(Fault::Told(error)) = inspect(&conn, MIGRATIONS) else { panic!() };
        assert!(error.to_string().contains("another program"), "{error}");
    }
}
