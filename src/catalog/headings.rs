//! What the headings of the shop's own sheets mean: learned once, kept under a name.

use rusqlite::{Connection, OptionalExtension as _, params};

use super::believed::believed;
use super::csv::Cells;
use super::fault::Fault;
use super::names::check_id;
use super::seal::{self, Sealed};
use super::{Reader, Stored, Writer};
use crate::error::{Error, Result};
use crate::model::headings::{Headings, Meaning};
use crate::model::history::{FieldChange, Held, Subject};
use crate::model::kinds::Kinds;

/// Loads all headings, or those of one name, in the order of their names.
fn load(conn: &Connection, only: Option<&str>) -> Result<Vec<Headings>, Fault> {
    let mut query = conn.prepare_cached(
        "SELECT number, name, holds FROM headings WHERE ?1 IS NULL OR name = ?1 ORDER BY name",
    )?;
    let mut rows = query.query([only])?;
    let mut all = Vec::new();
    while let Some(row) = rows.next()? {
        let name = || row.get(1).unwrap_or_default();
        all.push(believed("headings", row, name, || {
            let number: i64 = row.get(0)?;
            let (columns, kinds) = (columns(conn, number)?, words(conn, number)?);
            Ok(Headings { name: row.get(1)?, holds: row.get(2)?, columns, kinds })
        })?);
    }
    Ok(all)
}

fn columns(conn: &Connection, number: i64) -> Result<Vec<(String, Meaning)>, Fault> {
    let mut query = conn.prepare_cached(
        "SELECT heading, means FROM heading WHERE headings = ?1 ORDER BY heading",
    )?;
    let read = |row: &rusqlite::Row<'_>| {
        let means: Option<String> = row.get(1)?;
        Ok((row.get(0)?, means.map_or(Meaning::PassedOver, Meaning::Column)))
    };
    Ok(query.query_map([number], read)?.collect::<rusqlite::Result<_>>()?)
}

fn words(conn: &Connection, number: i64) -> Result<Vec<(String, String)>, Fault> {
    let mut query =
        conn.prepare_cached("SELECT word, kind FROM kind_word WHERE headings = ?1 ORDER BY word")?;
    let read = |row: &rusqlite::Row<'_>| Ok((row.get(0)?, row.get(1)?));
    Ok(query.query_map([number], read)?.collect::<rusqlite::Result<_>>()?)
}

fn number(conn: &Connection, name: &str) -> Result<Option<i64>, Fault> {
    let mut query = conn.prepare_cached("SELECT number FROM headings WHERE name = ?1")?;
    Ok(query.query_row([name], |row| row.get(0)).optional()?)
}

fn write(conn: &Connection, number: Option<i64>, headings: &Headings) -> Result<i64, Fault> {
    let mut write = conn.prepare_cached(
        "INSERT INTO headings (number, name, holds) VALUES (?1, ?2, ?3) \
         ON CONFLICT (number) DO UPDATE SET holds = excluded.holds",
    )?;
    write.execute(params![number, headings.name, headings.holds])?;
    let number = number.unwrap_or_else(|| conn.last_insert_rowid());
    conn.prepare_cached("DELETE FROM heading WHERE headings = ?1")?.execute([number])?;
    conn.prepare_cached("DELETE FROM kind_word WHERE headings = ?1")?.execute([number])?;
    let mut insert = conn.prepare_cached("INSERT INTO heading VALUES (?1, ?2, ?3)")?;
    for (heading, meaning) in &headings.columns {
        let means = match meaning {
            Meaning::Column(column) => Some(column),
            Meaning::PassedOver => None,
        };
        insert.execute(params![number, heading, means])?;
    }
    let mut insert = conn.prepare_cached("INSERT INTO kind_word VALUES (?1, ?2, ?3)")?;
    for (word, kind) in &headings.kinds {
        insert.execute(params![number, word, kind])?;
    }
    Ok(number)
}

impl Reader<'_> {
    /// All headings that were learned, in the order of their names.
    ///
    /// # Errors
    ///
    /// A storage error where the file is damaged or cannot be read.
    pub fn load_headings(&self) -> Result<Vec<Headings>> {
        self.told(load(self.conn, None))
    }

    /// The headings of a name.
    ///
    /// # Errors
    ///
    /// An input error that names the nearest where there are none of this name.
    pub fn headings_named(&self, name: &str) -> Result<Headings> {
        let found = self.told(load(self.conn, Some(name)))?.into_iter().next();
        if let Some(headings) = found {
            return Ok(headings);
        }
        let known: Vec<String> =
            self.load_headings()?.into_iter().map(|headings| headings.name).collect();
        let error = Error::input(format!("no headings are kept as `{name}`"));
        let hint = "`headings list` lists those that are";
        Err(error.near(name, known.iter().map(String::as_str), hint))
    }
}

impl Writer<'_> {
    /// Keeps headings under their name, in the place of what was kept there.
    ///
    /// # Errors
    ///
    /// Refuses a name that cannot be one.
    pub fn learn(&self, headings: &Headings) -> Result<()> {
        match headings.number(self.reader())? {
            Some(_) => self.update(headings),
            None => self.insert(headings),
        }
    }
}

impl Stored for Headings {
    const SUBJECT: Subject = Subject::Headings;

    const SEALED: &'static Sealed = &seal::HEADINGS;

    fn called(&self) -> (String, Option<&str>) {
        (self.name.clone(), None)
    }

    fn number(&self, reader: &Reader<'_>) -> Result<Option<i64>> {
        reader.told(number(reader.conn, &self.name))
    }

    fn named(reader: &Reader<'_>, name: &str) -> Result<Self> {
        reader.headings_named(name)
    }

    fn cells(&self, _: Kinds) -> Cells {
        said(self)
    }

    fn again(_: Kinds, name: &str, cells: &Cells) -> Result<Self> {
        let mut headings = Self { name: name.into(), ..Self::default() };
        for (cell, means) in cells {
            if let Some(word) = cell.strip_prefix(KIND).and_then(unquoted) {
                headings.kinds.push((word.into(), means.clone()));
            } else if let Some(heading) = unquoted(cell) {
                let meaning = match means.as_str() {
                    PASSED_OVER => Meaning::PassedOver,
                    column => Meaning::Column(column.into()),
                };
                headings.columns.push((heading.into(), meaning));
            } else {
                headings.holds.clone_from(means);
            }
        }
        headings.columns.sort_by(|one, other| one.0.cmp(&other.0));
        headings.kinds.sort();
        Ok(headings)
    }

    fn check_name(&self) -> Result<()> {
        check_id(&self.name).map_err(|error| error.at("the name of the headings"))
    }

    fn taken(&self) -> Error {
        Error::input(format!("headings are kept as `{}` already", self.name))
            .hint("give them another name, or take the old ones out with `headings remove`")
    }

    fn write(&self, writer: &Writer<'_>, number: Option<i64>) -> Result<i64> {
        writer.told(write(writer.conn(), number, self))
    }

    fn differences(&self, _: Kinds, to: Option<&Self>) -> Vec<FieldChange> {
        let (from, to) = (said(self), to.map(said).unwrap_or_default());
        let of = |all: &[(String, String)], key: &str| {
            let found = all.iter().find(|(known, _)| known == key);
            Held::of(found.map(|(_, text)| text.clone()).unwrap_or_default(), false)
        };
        let mut keys: Vec<&String> = from.iter().chain(&to).map(|(key, _)| key).collect();
        keys.sort_unstable();
        keys.dedup();
        keys.into_iter()
            .map(|key| FieldChange { field: key.clone(), from: of(&from, key), to: of(&to, key) })
            .filter(|change| change.from != change.to)
            .collect()
    }
}

/// Everything that headings say, in words.
/// How the history writes a heading that stands for nothing, and before a word for a kind.
const PASSED_OVER: &str = "passed over";
const KIND: &str = "kind ";

/// What stands between back-ticks.
fn unquoted(text: &str) -> Option<&str> {
    text.strip_prefix('`')?.strip_suffix('`')
}

/// What headings say, each with its meaning, as the history keeps it.
fn said(headings: &Headings) -> Vec<(String, String)> {
    let holds = (!headings.holds.is_empty()).then(|| ("holds".to_string(), headings.holds.clone()));
    let columns = headings.columns.iter().map(|(heading, meaning)| {
        let means = match meaning {
            Meaning::Column(column) => column.clone(),
            Meaning::PassedOver => PASSED_OVER.into(),
        };
        (format!("`{heading}`"), means)
    });
    let kinds = headings.kinds.iter().map(|(word, kind)| (format!("{KIND}`{word}`"), kind.clone()));
    holds.into_iter().chain(columns).chain(kinds).collect()
}
