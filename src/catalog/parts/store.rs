//! What is written of a part, and what refuses to be.

use rusqlite::{Connection, params};

use super::load::TABLES;
use super::{called, formerly, number};
use crate::catalog::csv::{Cells, part_columns};
use crate::catalog::fault::Fault;
use crate::catalog::names::check_part_id;
use crate::catalog::seal::{self, Sealed};
use crate::catalog::{Reader, Stored, Writer};
use crate::error::{Error, Result};
use crate::model::history::{FieldChange, Subject};
use crate::model::kinds::Kinds;
use crate::model::part::Part;
use crate::model::words::{plural, quoted};

impl Stored for Part {
    const SUBJECT: Subject = Subject::Part;

    const SEALED: &'static Sealed = &seal::PART;

    fn called(&self) -> (String, Option<&str>) {
        (self.id.clone(), Some(&self.id))
    }

    fn number(&self, reader: &Reader<'_>) -> Result<Option<i64>> {
        reader.told(number(reader.conn, &self.id))
    }

    fn named(reader: &Reader<'_>, name: &str) -> Result<Self> {
        reader.load_part(name)
    }

    fn check_name(&self) -> Result<()> {
        check_part_id(&self.id)
    }

    fn check(&self, old: Option<&Self>) -> Result<()> {
        if let Some((key, error)) = self.validate().err().into_iter().flatten().next() {
            return Err(error.at(format!("`{}` {key}", self.id)));
        }
        match old {
            Some(old) if old.kind != self.kind => {
                let (id, kind, new) = (&self.id, old.kind.key, self.kind.key);
                Err(Error::input(format!("`{id}` is a {kind}: it cannot become a {new}"))
                    .hint("give the new part another number, or remove the old one first"))
            }
            _ => Ok(()),
        }
    }

    fn taken(&self) -> Error {
        Error::input(format!("there is a part `{}` already", self.id))
            .hint("change it with `part edit`, or give the new one another number")
    }

    fn write(&self, writer: &Writer<'_>, number: Option<i64>) -> Result<i64> {
        self.check_numbers(writer, number)?;
        writer.told(write(writer.conn(), number, self))
    }

    fn check_unused(&self, writer: &Writer<'_>, number: i64) -> Result<()> {
        let id = &self.id;
        let jobs = writer.reader().jobs_naming(id)?;
        if !jobs.is_empty() {
            let noun = plural(jobs.len() as u128, "job");
            let message = format!("`{id}` is named by the {noun} {}", quoted(&jobs));
            return Err(Error::input(message)
                .hint("edit the job first, or use `part retire`: retired parts leave the search"));
        }
        if writer.told(was_measured(writer.conn(), number))? {
            return Err(Error::input(format!("pieces of `{id}` were measured"))
                .hint("readings are kept: use `part retire`, retired parts leave the search"));
        }
        Ok(())
    }

    fn delete(&self, writer: &Writer<'_>, number: i64) -> Result<()> {
        for piece in writer.reader().load_pieces(&self.id)? {
            writer.remove(&piece)?;
        }
        writer.execute("DELETE FROM part WHERE number = ?1", [number])?;
        Ok(())
    }

    fn differences(&self, _: Kinds, to: Option<&Self>) -> Vec<FieldChange> {
        part_columns(self.kind).differences(self, to)
    }

    fn cells(&self, _: Kinds) -> Cells {
        part_columns(self.kind).filled(self)
    }

    fn again(kinds: Kinds, name: &str, cells: &Cells) -> Result<Self> {
        let kind = cells.iter().find(|(column, _)| column == "kind");
        let kind = kinds.named(kind.map_or("", |(_, kind)| kind))?;
        part_columns(kind).again(Self::new(name, kind), cells)
    }
}

impl Part {
    /// Refuses a number that was another part's once, and former ones that are or were another part's.
    fn check_numbers(&self, writer: &Writer<'_>, own: Option<i64>) -> Result<()> {
        let conn = writer.conn();
        let now = |number: Option<i64>| -> Result<Option<String>, Fault> {
            let Some(number) = number.filter(|number| Some(*number) != own) else {
                return Ok(None);
            };
            let mut query = conn.prepare_cached("SELECT id FROM part WHERE number = ?1")?;
            Ok(Some(query.query_row([number], |row| row.get(0))?))
        };
        let id = &self.id;
        if let Some(other) = writer.told(formerly(conn, id).and_then(now))? {
            return Err(Error::input(format!("`{id}` is what `{other}` was called before"))
                .hint(format!("change `{other}`, or give the new one another number")));
        }
        for former in &self.formerly {
            if former == id {
                return Err(Error::input(format!("`formerly`: `{id}` is its number today"))
                    .hint("name the numbers that it had before"));
            }
            if let Some(other) = writer.told(called(conn, former).and_then(now))? {
                return Err(Error::input(format!("`formerly`: `{former}` is or was `{other}`"))
                    .hint("a number leads to one part"));
            }
        }
        Ok(())
    }
}

fn was_measured(conn: &Connection, part: i64) -> Result<bool, Fault> {
    let mut query = conn.prepare_cached(
        "SELECT EXISTS (SELECT 1 FROM piece JOIN reading ON reading.piece = piece.number \
         WHERE part = ?1)",
    )?;
    Ok(query.query_row([part], |row| row.get(0))?)
}

impl Writer<'_> {
    /// Retires a part, or takes it back into use. True where that changed it.
    ///
    /// # Errors
    ///
    /// Refuses an unknown number.
    pub fn set_retired(&self, id: &str, retired: bool) -> Result<bool> {
        let old = self.reader().load_part(id)?;
        self.replace(&old, &Part { retired, ..old.clone() })?;
        Ok(old.retired != retired)
    }
}

/// Writes a part's rows; one that has a number keeps it, with its kind.
fn write(conn: &Connection, number: Option<i64>, part: &Part) -> Result<i64, Fault> {
    let mut write = conn.prepare_cached(
        "INSERT INTO part (number, id, kind, maker, description, price_cents, on_hand, lead_days, \
         retired, notes, least_on_hand) \
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11) \
         ON CONFLICT (number) DO UPDATE SET id = excluded.id, maker = excluded.maker, \
         description = excluded.description, price_cents = excluded.price_cents, \
         on_hand = excluded.on_hand, lead_days = excluded.lead_days, \
         retired = excluded.retired, notes = excluded.notes, \
         least_on_hand = excluded.least_on_hand",
    )?;
    write.execute(params![
        number,
        part.id,
        part.kind.key,
        part.maker,
        part.description,
        part.price,
        part.on_hand,
        part.lead_days,
        part.retired,
        part.notes,
        part.least_on_hand
    ])?;
    let Some(number) = number else {
        let number = conn.last_insert_rowid();
        return insert_children(conn, number, part).map(|()| number);
    };
    for (table, _, _) in TABLES {
        conn.prepare_cached(&format!("DELETE FROM {table} WHERE part = ?1"))?.execute([number])?;
    }
    insert_children(conn, number, part).map(|()| number)
}

fn insert_children(conn: &Connection, number: i64, part: &Part) -> Result<(), Fault> {
    let mut insert = conn.prepare_cached("INSERT INTO dimension VALUES (?1, ?2, ?3, ?4, ?5)")?;
    for (index, (spec, entry)) in part.kind.dims.iter().zip(&part.dims).enumerate() {
        if let Some(entry) = entry {
            let bar = part.bars.get(index);
            insert.execute(params![number, spec.key, entry.value, entry.tol, bar])?;
        }
    }
    let mut insert = conn.prepare_cached("INSERT INTO face VALUES (?1, ?2, ?3)")?;
    for (spec, names) in part.kind.faces.iter().zip(&part.faces) {
        if !names.is_unknown() {
            insert.execute(params![number, spec.key, names.to_string()])?;
        }
    }
    let mut insert = conn.prepare_cached("INSERT INTO fact VALUES (?1, ?2, ?3)")?;
    for (spec, word) in part.kind.facts.iter().zip(&part.facts) {
        if let Some(word) = word {
            insert.execute(params![number, spec.key, word])?;
        }
    }
    let mut insert =
        conn.prepare_cached("INSERT INTO former_number (key, part) VALUES (?1, ?2)")?;
    for former in &part.formerly {
        insert.execute(params![former, number])?;
    }
    let mut insert = conn.prepare_cached("INSERT INTO own_column VALUES (?1, ?2, ?3)")?;
    for (key, text) in &part.own {
        insert.execute(params![number, key, text])?;
    }
    Ok(())
}
