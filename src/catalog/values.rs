//! The model's own values as they stand in columns. What is read back is held to what can be entered.

use rusqlite::ToSql;
use rusqlite::types::{FromSql, FromSqlError, FromSqlResult, ToSqlOutput, ValueRef};

use crate::error::Error;
use crate::model::history::{Deed, Subject};
use crate::model::job::{CrankPushed, DiscState, JobState, StarterOn, Word};
use crate::model::length::{LONGEST, Length, Unit};
use crate::model::money::Cents;
use crate::model::pieces::Condition;

fn refused(error: Error) -> FromSqlError {
    FromSqlError::Other(Box::new(error))
}

/// Nanometres, within what can be entered.
impl FromSql for Length {
    fn column_result(value: ValueRef<'_>) -> FromSqlResult<Self> {
        let length = Self::from_nm(value.as_i64()?);
        if length.nm().unsigned_abs() <= LONGEST.nm().unsigned_abs() {
            return Ok(length);
        }
        Err(refused(Error::input(format!("`{}` is beyond 100 in", length.exact(Unit::In)))))
    }
}

impl ToSql for Length {
    fn to_sql(&self) -> rusqlite::Result<ToSqlOutput<'_>> {
        Ok(self.nm().into())
    }
}

/// Cents, within what can be entered.
impl FromSql for Cents {
    fn column_result(value: ValueRef<'_>) -> FromSqlResult<Self> {
        Self::checked(value.as_i64()?).map_err(refused)
    }
}

impl ToSql for Cents {
    fn to_sql(&self) -> rusqlite::Result<ToSqlOutput<'_>> {
        Ok(self.get().into())
    }
}

/// Reads and writes a closed list of words.
macro_rules! words {
    ($($type:ty: $known:expr),* $(,)?) => {$(
        impl FromSql for $type {
            fn column_result(value: ValueRef<'_>) -> FromSqlResult<Self> {
                let text = value.as_str()?;
                let known = $known;
                known.into_iter().find(|value: &Self| value.word() == text).ok_or_else(|| {
                    refused(Error::input(format!("`{text}` is a word that this program does not know")))
                })
            }
        }

        impl ToSql for $type {
            fn to_sql(&self) -> rusqlite::Result<ToSqlOutput<'_>> {
                Ok(self.word().into())
            }
        }
    )*};
}

words! {
    Condition: Self::ALL,
    Subject: Self::ALL,
    Deed: Self::ALL,
    DiscState: Self::WORDS.iter().map(|(_, value)| *value),
    CrankPushed: Self::WORDS.iter().map(|(_, value)| *value),
    StarterOn: Self::WORDS.iter().map(|(_, value)| *value),
    JobState: Self::WORDS.iter().map(|(_, value)| *value),
}
