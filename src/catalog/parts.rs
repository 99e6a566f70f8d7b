//! Parts in their tables: one row of their own, and one for each thing known about them.

use std::collections::HashMap;

use rusqlite::{Connection, Rows, params};

use super::believed::{believed, entry, in_row};
use super::csv::{Cells, part_columns};
use super::fault::Fault;
use super::names::check_part_id;
use super::seal::{self, Sealed};
use super::{Reader, Stored, Writer};
use crate::error::{Error, Result};
use crate::model::faces::Names;
use crate::model::history::{FieldChange, Subject};
use crate::model::kinds::{Kinds, folded};
use crate::model::length::Length;
use crate::model::part::{OWN, Part, own_name};
use crate::model::pieces::{PIECE_MARK, above_zero, part_and_label};
use crate::model::words::{plural, quoted};

/// Which parts are loaded.
pub(super) enum Which<'a> {
    /// Every part.
    All,
    /// The parts of these numbers.
    These(&'a [&'a str]),
    /// Parts in use, and the parts of these numbers.
    Needed(&'a [Wanted<'a>], &'a [&'a str]),
}

/// Parts that a search needs: those in use of one kind that fit at some faces.
#[derive(Debug, Clone)]
pub struct Wanted<'a> {
    /// The kind.
    pub kind: &'a str,
    /// A face of the kind, and the patterns of what it has to fit. A part that is unknown there
    /// fits, as it does everywhere.
    pub mates: Vec<(&'a str, &'a Names)>,
}

/// Loads parts in the order of their rows.
pub(super) fn load(conn: &Connection, kinds: Kinds, which: &Which<'_>) -> Result<Vec<Part>, Fault> {
    match which {
        Which::All => load_where(conn, kinds, None),
        Which::These(ids) => load_where(conn, kinds, Some(&these(conn, ids)?)),
        Which::Needed(wanted, ids) => {
            let mut numbers = these(conn, ids)?;
            for wanted in *wanted {
                numbers.extend(wanted_numbers(conn, wanted)?);
            }
            load_where(conn, kinds, Some(&numbers))
        }
    }
}

/// The rows' numbers of the parts of these ids; ids of no part are passed over.
fn these(conn: &Connection, ids: &[&str]) -> Result<Vec<i64>, Fault> {
    let found = ids.iter().map(|id| called(conn, id)).collect::<Result<Vec<_>, _>>()?;
    Ok(found.into_iter().flatten().collect())
}

/// The rows' numbers of the parts that are wanted. Two narrow indexes are read for that; the parts
/// that clash are then never looked up.
fn wanted_numbers(conn: &Connection, wanted: &Wanted<'_>) -> Result<Vec<i64>, Fault> {
    let mut clashing = Vec::new();
    for (key, mate) in &wanted.mates {
        let mut query = conn.prepare_cached(
            "SELECT names, part FROM face INDEXED BY face_by_key WHERE key = ?1 ORDER BY names",
        )?;
        let mut rows = query.query([key])?;
        // The patterns come in order, so each is compared once for all the parts that have it.
        let (mut pattern, mut fits) = (String::new(), true);
        while let Some(row) = rows.next()? {
            let names = row.get_ref(0)?.as_str().map_err(rusqlite::Error::from)?;
            if names != pattern {
                pattern = names.into();
                fits = Names::parse(names).mates(mate);
            }
            if !fits {
                clashing.push(row.get::<_, i64>(1)?);
            }
        }
    }
    clashing.sort_unstable();
    let mut query =
        conn.prepare_cached("SELECT number FROM part WHERE kind = ?1 AND retired = 0")?;
    let rows = query.query_map([wanted.kind], |row| row.get(0))?;
    let numbers = rows.collect::<rusqlite::Result<Vec<i64>>>()?;
    Ok(numbers.into_iter().filter(|number| clashing.binary_search(number).is_err()).collect())
}

/// Loads every part, or the ones of these rows.
fn load_where(conn: &Connection, kinds: Kinds, only: Option<&[i64]>) -> Result<Vec<Part>, Fault> {
    // Numbers are bound as one list. SQLite then looks each of them up in its tables' order, and
    // without a list it passes over the tables once.
    let list = only.map(|only| serde_json::Value::from(only).to_string());
    let params = rusqlite::params_from_iter(&list);
    let among = |column: &str| match only {
        Some(_) => format!("WHERE {column} IN (SELECT value FROM json_each(?1))"),
        None => String::new(),
    };
    let mut parts = Vec::new();
    let mut numbers = Vec::new();
    let mut query = conn.prepare_cached(&format!(
        "SELECT number, id, kind, maker, description, price_cents, on_hand, lead_days, retired, \
         notes, least_on_hand FROM part {} ORDER BY number",
        among("number")
    ))?;
    let mut rows = query.query(params.clone())?;
    while let Some(row) = rows.next()? {
        let number: i64 = row.get(0)?;
        let name = || row.get(1).unwrap_or_else(|_| number.to_string());
        let part = believed("part", row, name, || {
            let key = row.get_ref(2)?.as_str().map_err(rusqlite::Error::from)?;
            let kind = kinds.get(key);
            let kind = kind.ok_or_else(|| unknown(&format!("a part of the kind `{key}`")))?;
            let mut part = Part::new(row.get::<_, String>(1)?, kind);
            part.maker = row.get(3)?;
            part.description = row.get(4)?;
            part.price = row.get(5)?;
            part.on_hand = row.get(6)?;
            part.lead_days = row.get(7)?;
            part.retired = row.get(8)?;
            part.notes = row.get(9)?;
            part.least_on_hand = row.get(10)?;
            if part.least_on_hand == Some(0) {
                return Err(Error::storage("`least_on_hand` cannot be 0").into());
            }
            Ok(part)
        })?;
        numbers.push(number);
        parts.push(part);
    }
    let patterns = HashMap::new();
    let mut children = Children { parts: &mut parts, numbers: &numbers, patterns };
    for (table, columns, take) in TABLES {
        let among = among("part");
        let sql = format!("SELECT part, key, {columns} FROM {table} {among} ORDER BY part, key");
        let mut query = conn.prepare_cached(&sql)?;
        children.read(table, query.query(params.clone())?, *take)?;
    }
    Ok(parts)
}

/// Takes what one row of a child table says into the part; false where the kind has no such key.
type TakeRow = fn(&mut Part, &str, &rusqlite::Row<'_>, &mut Patterns) -> Result<bool, Fault>;

/// Patterns by their text: a library has few, and its parts share them.
type Patterns = HashMap<String, Names>;

const TABLES: &[(&str, &str, TakeRow)] = &[
    ("dimension", "value, tol, bar", |part, key, row, _| {
        let Some(index) = part.kind.dim_index(key) else { return Ok(false) };
        part.dims[index] = Some(entry(&part.kind.dims[index], row.get(2)?, row.get(3)?)?);
        if let Some(bar) = row.get::<_, Option<Length>>(4)? {
            part.bars.set(index, Some(above_zero(bar).map_err(|error| error.at("`bar`"))?));
        }
        Ok(true)
    }),
    ("face", "names", |part, key, row, patterns| {
        let Some(index) = part.kind.face_index(key) else { return Ok(false) };
        let text = row.get_ref(2)?.as_str().map_err(rusqlite::Error::from)?;
        part.faces[index] = if let Some(names) = patterns.get(text) {
            names.clone()
        } else {
            let names = Names::parse(text);
            patterns.insert(text.into(), names.clone());
            names
        };
        Ok(true)
    }),
    ("fact", "word", |part, key, row, _| {
        let found = part.kind.facts.iter().position(|fact| fact.key == key);
        let Some(index) = found else { return Ok(false) };
        part.facts[index] = Some(row.get(2)?);
        Ok(true)
    }),
    ("former_number", "key", |part, key, _, _| {
        check_part_id(key).map_err(|error| error.at("`key`"))?;
        part.formerly.push(key.into());
        Ok(true)
    }),
    ("own_column", "text", |part, key, row, _| {
        if own_name(&format!("{OWN}{key}")).is_none() || folded(key) != key {
            return Err(Error::storage(format!("`{key}` is no name of a column")).into());
        }
        part.own.insert(key.into(), row.get(2)?);
        Ok(true)
    }),
];

/// Parts and their rows' numbers side by side, both ascending, so that a child table in the same
/// order is merged in one pass.
struct Children<'a> {
    parts: &'a mut [Part],
    numbers: &'a [i64],
    patterns: Patterns,
}

impl Children<'_> {
    fn read(&mut self, table: &str, mut rows: Rows<'_>, take: TakeRow) -> Result<(), Fault> {
        let mut at = 0;
        while let Some(row) = rows.next()? {
            let number: i64 = row.get(0)?;
            while self.numbers.get(at).is_some_and(|known| *known < number) {
                at += 1;
            }
            let Some(part) =
                self.parts.get_mut(at).filter(|_| self.numbers.get(at) == Some(&number))
            else {
                let message = format!("the table `{table}` has a row of a part that is not there");
                return Err(Fault::damaged(message));
            };
            let mut read = || {
                let key = row.get_ref(1)?.as_str().map_err(rusqlite::Error::from)?;
                if take(part, key, row, &mut self.patterns)? {
                    return Ok(());
                }
                let (id, kind) = (&part.id, part.kind.name);
                Err(unknown(&format!("a `{key}` for the {kind} `{id}`")))
            };
            if let Err(fault) = read() {
                return Err(in_row(table, row, &part.id, fault));
            }
        }
        Ok(())
    }
}

pub(super) fn unknown(what: &str) -> Fault {
    Fault::Strange {
        what: format!("holds {what}, which this program does not know"),
        hint: "was it written by a newer program?",
    }
}

/// The row's number of a part.
pub(super) fn number(conn: &Connection, id: &str) -> Result<Option<i64>, Fault> {
    use rusqlite::OptionalExtension as _;
    let mut query = conn.prepare_cached("SELECT number FROM part WHERE id = ?1")?;
    Ok(query.query_row([id], |row| row.get(0)).optional()?)
}

/// The row's number of the part that was called so once.
fn formerly(conn: &Connection, id: &str) -> Result<Option<i64>, Fault> {
    use rusqlite::OptionalExtension as _;
    let mut query = conn.prepare_cached("SELECT part FROM former_number WHERE key = ?1")?;
    Ok(query.query_row([id], |row| row.get(0)).optional()?)
}

/// The row's number of the part of this number, or of the one that was called so once.
pub(super) fn called(conn: &Connection, id: &str) -> Result<Option<i64>, Fault> {
    match number(conn, id)? {
        None => formerly(conn, id),
        known => Ok(known),
    }
}

/// Every number that a part has and had, by any of them.
pub(super) fn numbers(conn: &Connection, id: &str) -> Result<Vec<String>, Fault> {
    let mut query = conn.prepare_cached("SELECT key FROM former_number WHERE part = ?1")?;
    let mut numbers = vec![current(conn, id)?];
    if let Some(number) = called(conn, id)? {
        let rows = query.query_map([number], |row| row.get(0))?;
        numbers.extend(rows.collect::<rusqlite::Result<Vec<String>>>()?);
    }
    Ok(numbers)
}

/// What the part or piece is called now that has this name or had it; the name itself where there is
/// none.
pub(super) fn current(conn: &Connection, name: &str) -> Result<String, Fault> {
    if let Some(number) = called(conn, name)? {
        let mut query = conn.prepare_cached("SELECT id FROM part WHERE number = ?1")?;
        return Ok(query.query_row([number], |row| row.get(0))?);
    }
    match part_and_label(name) {
        Some((part, label)) => Ok(format!("{}{PIECE_MARK}{label}", current(conn, part)?)),
        None => Ok(name.into()),
    }
}

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
