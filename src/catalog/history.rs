//! Who changed what and when: written with each change, in its own transaction, and never again.

use std::collections::BTreeMap;

use rusqlite::{Connection, Row, params};
use serde_json::{Value, json};

use super::believed::believed;
use super::fault::Fault;
use super::{Reader, Writer, parts};
use crate::error::{Error, Result};
use crate::model::history::{About, Deed, Event, FieldChange, Held, Stamp, Subject};
use crate::model::length::Length;
use crate::model::part::LARGEST;

impl Writer<'_> {
    /// Writes down what became of a thing: its kind, its name (blank for the house numbers) and the part
    /// number that it belongs to. A change that changes nothing is none.
    pub(super) fn record_as(
        &self,
        subject: Subject,
        name: &str,
        part: Option<&str>,
        deed: Deed,
        changes: &[FieldChange],
    ) -> Result<()> {
        if deed == Deed::Changed && changes.is_empty() {
            return Ok(());
        }
        let command = self.told(self.command())?;
        let sql = "INSERT INTO event (command, subject, name, part, deed, changes) \
                   VALUES (?1, ?2, ?3, ?4, ?5, ?6)";
        self.execute(sql, params![command, subject, name, part, deed, text(changes)])?;
        Ok(())
    }

    /// The row's number of the command that this transaction belongs to; its row is written with
    /// its first event, so that a command that changes nothing leaves none.
    pub(super) fn command(&self) -> Result<i64, Fault> {
        if let Some(number) = self.command.get() {
            return Ok(number);
        }
        let Stamp { at, by, command } = self.stamp;
        let sql = "INSERT INTO command (at, by, line) VALUES (?1, ?2, ?3)";
        self.conn().execute(sql, params![at, by, command])?;
        let number = self.conn().last_insert_rowid();
        self.command.set(Some(number));
        Ok(number)
    }
}

/// Which events are wanted: of the part of these numbers `?1`, of the job `?2`, or with neither all.
const WANTED: &str = "(?1 IS NULL OR part IN (SELECT value FROM json_each(?1))) AND (?2 IS NULL OR (subject = 'job' AND name = ?2))";

impl Reader<'_> {
    /// The last events of those that are wanted, the newest last, and how many came before them.
    ///
    /// # Errors
    ///
    /// A storage error where the file cannot be read. An input error where a part or a job is asked
    /// for of which nothing is on record and which is not in the catalog.
    pub fn history(&self, of: About<'_>, limit: usize) -> Result<(Vec<Event>, usize)> {
        let (part, job) = match of {
            About::Everything => (None, None),
            About::Part(id) => (Some(id), None),
            About::Job(id) => (None, Some(id)),
        };
        // What was done to it under another number is its history too.
        let numbers = part.map(|id| self.told(parts::numbers(self.conn, id))).transpose()?;
        let numbers = numbers.map(|numbers| Value::from(numbers).to_string());
        let count = || -> Result<usize, Fault> {
            let sql = format!("SELECT count(*) FROM event WHERE {WANTED}");
            Ok(self
                .conn
                .query_row(&sql, params![numbers, job], |row| row.get::<_, i64>(0))?
                .try_into()
                .unwrap_or(0))
        };
        let count = self.told(count())?;
        if count == 0 {
            part.map(|id| self.load_part(id)).transpose()?;
            job.map(|id| self.load_job(id)).transpose()?;
        }
        let wanted = format!("WHERE {WANTED} ORDER BY event.number DESC LIMIT ?3");
        let limit = i64::try_from(limit).unwrap_or(i64::MAX);
        let mut events = self.told(events(self.conn, &wanted, params![numbers, job, limit]))?;
        events.reverse();
        let earlier = count - events.len();
        Ok((events, earlier))
    }

    /// Every event after the one of this number, the newest last.
    ///
    /// # Errors
    ///
    /// A storage error where the file cannot be read.
    pub fn history_since(&self, number: i64) -> Result<Vec<Event>> {
        let wanted = "WHERE event.number > ?1 ORDER BY event.number";
        self.told(events(self.conn, wanted, params![number]))
    }

    /// The number of the last event; zero where there is none.
    pub(super) fn last_event(&self) -> Result<i64, Fault> {
        let sql = "SELECT coalesce(max(number), 0) FROM event";
        Ok(self.conn.query_row(sql, [], |row| row.get(0))?)
    }
}

pub(super) fn events(
    conn: &Connection,
    wanted: &str,
    params: impl rusqlite::Params,
) -> Result<Vec<Event>, Fault> {
    let mut query = conn.prepare(&format!(
        "SELECT event.number, at, by, line, subject, name, part, deed, changes, event.command FROM event \
         LEFT JOIN command ON command.number = event.command {wanted}"
    ))?;
    let mut rows = query.query(params)?;
    let mut events = Vec::new();
    let taken_back = taken_back(conn)?;
    while let Some(row) = rows.next()? {
        let mut event = event(row)?;
        event.taken_back_by = taken_back.get(&event.command).copied();
        events.push(event);
    }
    Ok(events)
}

fn event(row: &Row<'_>) -> Result<Event, Fault> {
    let number: i64 = row.get(0)?;
    believed(
        "event",
        row,
        || number.to_string(),
        || {
            let changes: String = row.get(8)?;
            Ok(Event {
                number,
                command: row.get(9)?,
                taken_back_by: None,
                stamp: Stamp { at: row.get(1)?, by: row.get(2)?, command: row.get(3)? },
                subject: row.get(4)?,
                name: row.get(5)?,
                part: row.get(6)?,
                deed: row.get(7)?,
                changes: read(&changes)
                    .ok_or_else(|| Error::storage(format!("`changes` cannot be `{changes}`")))?,
            })
        },
    )
}

/// Changes as they stand in the catalog.
fn text(changes: &[FieldChange]) -> String {
    let held = |held: &Held| match held {
        Held::Blank => Value::Null,
        Held::Length(length) => length.nm().into(),
        Held::Text(text) => text.as_str().into(),
    };
    let change = |change: &FieldChange| json!([change.field, held(&change.from), held(&change.to)]);
    Value::Array(changes.iter().map(change).collect()).to_string()
}

fn read(text: &str) -> Option<Vec<FieldChange>> {
    let held = |value: Value| match value {
        Value::Null => Some(Held::Blank),
        Value::Number(nm) => {
            let length = nm.as_i64().filter(|nm| nm.unsigned_abs() <= LARGEST.unsigned_abs())?;
            Some(Held::Length(Length::from_nm(length)))
        }
        Value::String(text) => Some(Held::Text(text)),
        _ => None,
    };
    let changes: Vec<(String, Value, Value)> = serde_json::from_str(text).ok()?;
    let change = |(field, from, to)| Some(FieldChange { field, from: held(from)?, to: held(to)? });
    changes.into_iter().map(change).collect()
}

/// The commands that do not count, since one was taken back by the other: each of a pair with its
/// other. A command that took another one back may itself be taken back.
pub(super) fn pairs(conn: &Connection) -> Result<BTreeMap<i64, i64>, Fault> {
    let mut query =
        conn.prepare_cached("SELECT command, undoes FROM undone ORDER BY command DESC")?;
    let mut rows = query.query([])?;
    let mut pairs = BTreeMap::new();
    while let Some(row) = rows.next()? {
        let (by, command): (i64, i64) = (row.get(0)?, row.get(1)?);
        if !pairs.contains_key(&by) {
            pairs.insert(by, command);
            pairs.insert(command, by);
        }
    }
    Ok(pairs)
}

/// The commands that are taken back, each with the one that did it.
fn taken_back(conn: &Connection) -> Result<BTreeMap<i64, i64>, Fault> {
    let mut pairs = pairs(conn)?;
    pairs.retain(|command, by| command < by);
    Ok(pairs)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn changes_are_read_as_they_were_written() {
        let change = |field: &str, from, to| FieldChange { field: field.into(), from, to };
        let thickness = Held::Length(Length::from_nm(25_400_001));
        let changes = vec![
            change("thickness", Held::Blank, thickness),
            change("notes", Held::Text("\"5 in\", he said".into()), Held::Blank),
        ];
        assert_eq!(read(&text(&changes)).as_ref(), Some(&changes));
        assert_eq!(read("[[\"a\", 1.5, null]]"), None);
        assert_eq!(read("{}"), None);
    }
}
