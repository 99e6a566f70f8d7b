//! Reading everything that was measured, in the order in which it is used.

use std::collections::HashMap;

use rusqlite::{Connection, Row};

use crate::catalog::believed::{believed, entry, in_row};
use crate::catalog::fault::Fault;
use crate::catalog::parts::unknown;
use crate::error::{Error, Result};
use crate::model::kinds::Kinds;
use crate::model::length::Length;
use crate::model::pieces::{
    Instrument, LimitOfError, Measurements, PIECE_MARK, ReadingSet, Specimen, above_zero,
};

/// Loads pieces, readings and instruments.
pub(in crate::catalog) fn load(conn: &Connection, kinds: Kinds) -> Result<Measurements, Fault> {
    Ok(Measurements {
        specimens: load_pieces(conn, None)?,
        readings: readings(conn, kinds)?,
        instruments: load_instruments(conn, None)?,
    })
}

/// Loads the pieces, or those of one part.
pub(in crate::catalog) fn load_pieces(
    conn: &Connection,
    part: Option<&str>,
) -> Result<Vec<Specimen>, Fault> {
    let mut query = conn.prepare_cached(
        "SELECT id, label, condition, in_hand, piece.notes, piece.number FROM piece \
         LEFT JOIN part ON part.number = piece.part WHERE ?1 IS NULL OR id = ?1 \
         ORDER BY id, label",
    )?;
    let mut rows = query.query([part])?;
    let mut specimens = Vec::new();
    while let Some(row) = rows.next()? {
        specimens.push(believed("piece", row, || named(row, 5), || specimen(row))?);
    }
    Ok(specimens)
}

fn specimen(row: &Row<'_>) -> Result<Specimen, Fault> {
    let part: Option<String> = row.get(0)?;
    Ok(Specimen {
        part: part.ok_or_else(|| Error::storage("its part is not there"))?,
        label: row.get(1)?,
        condition: row.get(2)?,
        in_hand: row.get(3)?,
        notes: row.get(4)?,
    })
}

/// What a row whose first columns are a part number and a label is called; without them by the number
/// in this column.
fn named(row: &Row<'_>, number: usize) -> String {
    match (row.get::<_, String>(0), row.get::<_, String>(1)) {
        (Ok(part), Ok(label)) => format!("{part}{PIECE_MARK}{label}"),
        _ => row.get::<_, i64>(number).map(|number| number.to_string()).unwrap_or_default(),
    }
}

fn readings(conn: &Connection, kinds: Kinds) -> Result<Vec<ReadingSet>, Fault> {
    let mut values: HashMap<i64, Vec<i64>> = HashMap::new();
    let mut query =
        conn.prepare_cached("SELECT reading, value FROM reading_value ORDER BY reading, position")?;
    let mut rows = query.query([])?;
    while let Some(row) = rows.next()? {
        let reading: i64 = row.get(0)?;
        let value = believed("reading_value", row, || reading.to_string(), || Ok(row.get(1)?))?;
        values.entry(reading).or_default().push(value);
    }
    let mut query = conn.prepare_cached(
        "SELECT reading.number, id, label, dimension, name, taken_by, taken_on, struck, kind, \
         reading.instrument, bar FROM reading LEFT JOIN piece ON piece.number = reading.piece \
         LEFT JOIN part ON part.number = piece.part \
         LEFT JOIN instrument ON instrument.number = reading.instrument \
         ORDER BY id, label, dimension, reading.number",
    )?;
    let mut rows = query.query([])?;
    let mut readings = Vec::new();
    while let Some(row) = rows.next()? {
        let number: i64 = row.get(0)?;
        let mut read = || {
            let set = reading(row, number, &mut values)?;
            let kind: String = row.get(8)?;
            let spec = kinds.get(&kind).and_then(|kind| kind.dim(&set.dimension).ok());
            let spec = spec.ok_or_else(|| {
                let (dimension, part) = (&set.dimension, &set.part);
                unknown(&format!("a reading of `{dimension}` for the {kind} `{part}`"))
            })?;
            for value in &set.values {
                entry(spec, *value, None)?;
            }
            Ok(set)
        };
        match read() {
            Ok(set) => readings.push(set),
            Err(fault) => return Err(in_row("reading", row, &number.to_string(), fault)),
        }
    }
    match values.keys().min() {
        None => Ok(readings),
        Some(number) => Err(Fault::damaged(format!(
            "the table `reading_value` has values of the reading {number}, which is not there"
        ))),
    }
}

fn reading(
    row: &Row<'_>,
    number: i64,
    values: &mut HashMap<i64, Vec<i64>>,
) -> Result<ReadingSet, Fault> {
    let gone = |what: &str| Error::storage(format!("{what} is not there"));
    let (part, piece): (Option<String>, Option<String>) = (row.get(1)?, row.get(2)?);
    let (part, piece) = part.zip(piece).ok_or_else(|| gone("its piece"))?;
    let instrument: Option<String> = row.get(4)?;
    if instrument.is_none() && row.get::<_, Option<i64>>(9)?.is_some() {
        return Err(gone("its instrument").into());
    }
    let values = values.remove(&number).ok_or_else(|| gone("what was read"))?;
    Ok(ReadingSet {
        number,
        part,
        piece,
        dimension: row.get(3)?,
        values,
        bar: row.get::<_, Option<Length>>(10)?.map(above_zero).transpose()?,
        instrument,
        by: row.get(5)?,
        date: row.get(6)?,
        struck: row.get(7)?,
    })
}

/// Loads the instruments, or the one of this name.
pub(in crate::catalog) fn load_instruments(
    conn: &Connection,
    name: Option<&str>,
) -> Result<Vec<Instrument>, Fault> {
    let mut query = conn.prepare_cached(
        "SELECT name, description, resolution, source, up_to, error FROM instrument \
         LEFT JOIN instrument_limit ON instrument = number WHERE ?1 IS NULL OR name = ?1 \
         ORDER BY name, up_to",
    )?;
    let mut rows = query.query([name])?;
    let mut instruments: Vec<Instrument> = Vec::new();
    while let Some(row) = rows.next()? {
        let name: String = row.get(0)?;
        if instruments.last().is_none_or(|last| last.name != name) {
            let read = || instrument(row, name.clone());
            instruments.push(believed("instrument", row, || name.clone(), read)?);
        }
        let limit = believed("instrument_limit", row, || name.clone(), || limit(row))?;
        if let Some(last) = instruments.last_mut() {
            last.limits.extend(limit);
        }
    }
    Ok(instruments)
}

fn instrument(row: &Row<'_>, name: String) -> Result<Instrument, Fault> {
    Ok(Instrument {
        name,
        description: row.get(1)?,
        resolution: row.get::<_, Option<Length>>(2)?.map(above_zero).transpose()?,
        limits: Vec::new(),
        source: row.get(3)?,
    })
}

/// One of an instrument's limits of error; none where it has none.
fn limit(row: &Row<'_>) -> Result<Option<LimitOfError>, Fault> {
    let (up_to, limit): (Option<Length>, Option<Length>) = (row.get(4)?, row.get(5)?);
    let Some((up_to, limit)) = up_to.zip(limit) else { return Ok(None) };
    Ok(Some(LimitOfError { up_to: above_zero(up_to)?, limit: above_zero(limit)? }))
}
