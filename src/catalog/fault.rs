//! What can go wrong with the catalog's file, in one line that a shop understands.

use std::path::Path;

use rusqlite::ErrorCode;

use super::disk::{around, refusal};
use crate::error::Error;

/// A failure inside this module: the database's own, or a refusal that is already worded.
#[derive(Debug)]
pub(super) enum Fault {
    /// The database could not do it.
    Sql(rusqlite::Error),
    /// Already worded for people.
    Told(Error),
    /// Something in the file that this program would not have written.
    Strange {
        /// Said behind the file's name, as in `is damaged: ...`.
        what: String,
        /// What to do about it.
        hint: &'static str,
    },
}

/// What to do about a damaged file.
const RESTORE: &str = "restore it from a copy or from exported CSV files";

impl From<rusqlite::Error> for Fault {
    fn from(error: rusqlite::Error) -> Self {
        Self::Sql(error)
    }
}

impl From<Error> for Fault {
    fn from(error: Error) -> Self {
        Self::Told(error)
    }
}

impl Fault {
    /// The file is damaged: where, and what was found there.
    pub(super) fn damaged(what: impl std::fmt::Display) -> Self {
        Self::Strange { what: format!("is damaged: {what}"), hint: RESTORE }
    }

    /// The error for people, naming the catalog's file.
    pub(super) fn at(self, path: &Path) -> Error {
        match self {
            Self::Told(error) => error,
            Self::Sql(error) => worded(path, &error),
            Self::Strange { what, hint } => {
                Error::storage(format!("the catalog `{}` {what}", path.display())).hint(hint)
            }
        }
    }

    /// Whether the file could not be opened, as happens where nothing may be written beside it.
    pub(super) fn is_cannot_open(&self) -> bool {
        matches!(self.code(), Some(ErrorCode::CannotOpen | ErrorCode::ReadOnly))
    }

    /// Whether the disk could not do it, as happens where it is full.
    pub(super) fn is_of_the_disk(&self) -> bool {
        matches!(self.code(), Some(ErrorCode::DiskFull | ErrorCode::SystemIoFailure))
    }

    fn code(&self) -> Option<ErrorCode> {
        if let Self::Sql(error) = self { error.sqlite_error_code() } else { None }
    }
}

fn worded(path: &Path, error: &rusqlite::Error) -> Error {
    let name = path.display();
    let Some(code) = error.sqlite_error_code() else {
        // A column of another type than the tables say: only a damaged file holds that.
        return Error::storage(format!("the catalog `{name}` is damaged: {error}")).hint(RESTORE);
    };
    match code {
        ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked => {
            Error::storage(format!("the catalog `{name}` is in use by another program"))
                .hint("try again when the other one has finished")
        }
        ErrorCode::NotADatabase => {
            Error::storage(format!("`{name}` is no catalog of this program"))
                .hint("give another file with --catalog, or restore a damaged one from a copy")
        }
        ErrorCode::DatabaseCorrupt => {
            Error::storage(format!("the catalog `{name}` is damaged: {error}")).hint(RESTORE)
        }
        ErrorCode::ReadOnly => {
            Error::storage(format!("the catalog `{name}` cannot be written: it is read-only"))
        }
        ErrorCode::DiskFull => {
            Error::storage(format!("the catalog `{name}` cannot be written: the disk is full"))
        }
        ErrorCode::CannotOpen
        | ErrorCode::PermissionDenied
        | ErrorCode::AuthorizationForStatementDenied => match refusal(around(path)) {
            // Even a reader writes beside the file.
            Some(why) => Error::storage(format!(
                "the catalog `{name}` cannot be opened: beside it nothing can be written: {why}"
            )),
            None => Error::storage(format!("the catalog `{name}` cannot be opened: {error}"))
                .hint("check the file's and its directory's permissions"),
        },
        ErrorCode::SystemIoFailure => match refusal(around(path)) {
            Some(why) => Error::storage(format!("the catalog `{name}` cannot be written: {why}")),
            None => Error::storage(format!("the catalog `{name}` failed: {error}"))
                .hint("is the disk sound? `bellstack check` looks through the file"),
        },
        _ => Error::storage(format!("the catalog `{name}` failed: {error}")),
    }
}
