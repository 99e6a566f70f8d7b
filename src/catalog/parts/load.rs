//! Parts as the catalog holds them.

use std::collections::HashMap;

use rusqlite::{Connection, Rows};

use super::called;
use crate::catalog::believed::{believed, entry, in_row};
use crate::catalog::fault::Fault;
use crate::catalog::names::check_part_id;
use crate::error::{Error, Result};
use crate::model::faces::Names;
use crate::model::kinds::{Kinds, folded};
use crate::model::length::Length;
use crate::model::part::{OWN, Part, own_name};
use crate::model::pieces::above_zero;

/// Which parts are loaded.
pub(in crate::catalog) enum Which<'a> {
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
pub(in crate::catalog) fn load(
    conn: &Connection,
    kinds: Kinds,
    which: &Which<'_>,
) -> Result<Vec<Part>, Fault> {
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
pub(super) type TakeRow =
    fn(&mut Part, &str, &rusqlite::Row<'_>, &mut Patterns) -> Result<bool, Fault>;

/// Patterns by their text: a library has few, and its parts share them.
pub(super) type Patterns = HashMap<String, Names>;

pub(super) const TABLES: &[(&str, &str, TakeRow)] = &[
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

pub(in crate::catalog) fn unknown(what: &str) -> Fault {
    Fault::Strange {
        what: format!("holds {what}, which this program does not know"),
        hint: "was it written by a newer program?",
    }
}
