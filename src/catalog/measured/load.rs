//! Reading everything that was measured, in the order in which it is used.

use std::collections::HashMap;

use rusqlite::{Connection, Row};

use crate::catalog::fault::Fault;
use crate::catalog::parts::unknown;
use crate::error::Result;
use crate::model::kinds::Kinds;
use crate::model::length::Length;
use crate::model::pieces::{
    Condition, Instrument, LimitOfError, Measurements, ReadingSet, Specimen,
};

/// Loads pieces, readings and instruments.
pub(in crate::catalog) fn load(conn: &Connection, kinds: Kinds) -> Result<Measurements, Fault> {
    Ok(Measurements {
        specimens: specimens(conn)?,
        readings: readings(conn, kinds)?,
        instruments: instruments(conn)?,
    })
}

fn specimens(conn: &Connection) -> Result<Vec<Specimen>, Fault> {
    let mut query = conn.prepare_cached(
        "SELECT id, label, condition, in_hand, piece.notes FROM piece \
         JOIN part ON part.number = piece.part ORDER BY id, label",
    )?;
    let mut rows = query.query([])?;
    let mut specimens = Vec::new();
    while let Some(row) = rows.next()? {
        let word = row.get_ref(2)?.as_str().map_err(rusqlite::Error::from)?;
        let condition = Condition::from_word(word)
            .ok_or_else(|| unknown(&format!("a piece in the condition `{word}`")))?;
        specimens.push(Specimen {
            part: row.get(0)?,
            label: row.get(1)?,
            condition,
            in_hand: row.get(3)?,
            notes: row.get(4)?,
        });
    }
    Ok(specimens)
}

fn readings(conn: &Connection, kinds: Kinds) -> Result<Vec<ReadingSet>, Fault> {
    let mut values: HashMap<i64, Vec<i64>> = HashMap::new();
    let mut query =
        conn.prepare_cached("SELECT reading, value FROM reading_value ORDER BY reading, position")?;
    let mut rows = query.query([])?;
    while let Some(row) = rows.next()? {
        values.entry(row.get(0)?).or_default().push(row.get(1)?);
    }
    let mut query = conn.prepare_cached(
        "SELECT reading.number, id, label, dimension, name, taken_by, taken_on, struck, kind \
         FROM reading JOIN piece ON piece.number = reading.piece \
         JOIN part ON part.number = piece.part \
         LEFT JOIN instrument ON instrument.number = reading.instrument \
         ORDER BY id, label, dimension, reading.number",
    )?;
    let mut rows = query.query([])?;
    let mut readings = Vec::new();
    while let Some(row) = rows.next()? {
        let set = reading(row, &mut values)?;
        let kind = row.get_ref(8)?.as_str().map_err(rusqlite::Error::from)?;
        if kinds.get(kind).is_none_or(|kind| kind.dim_index(&set.dimension).is_none()) {
            let what = format!("a reading of `{}` for the {kind} `{}`", set.dimension, set.part);
            return Err(unknown(&what));
        }
        readings.push(set);
    }
    Ok(readings)
}

fn reading(row: &Row<'_>, values: &mut HashMap<i64, Vec<i64>>) -> rusqlite::Result<ReadingSet> {
    let number = row.get(0)?;
    Ok(ReadingSet {
        number,
        part: row.get(1)?,
        piece: row.get(2)?,
        dimension: row.get(3)?,
        values: values.remove(&number).unwrap_or_default(),
        instrument: row.get(4)?,
        by: row.get(5)?,
        date: row.get(6)?,
        struck: row.get(7)?,
    })
}

fn instruments(conn: &Connection) -> Result<Vec<Instrument>, Fault> {
    let mut query = conn.prepare_cached(
        "SELECT name, description, resolution, source, up_to, error FROM instrument \
         LEFT JOIN instrument_limit ON instrument = number ORDER BY name, up_to",
    )?;
    let mut rows = query.query([])?;
    let mut instruments: Vec<Instrument> = Vec::new();
    while let Some(row) = rows.next()? {
        let name: String = row.get(0)?;
        if instruments.last().is_none_or(|last| last.name != name) {
            instruments.push(Instrument {
                name,
                description: row.get(1)?,
                resolution: row.get::<_, Option<i64>>(2)?.map(Length::from_nm),
                limits: Vec::new(),
                source: row.get(3)?,
            });
        }
        let limit = (row.get::<_, Option<i64>>(4)?, row.get::<_, Option<i64>>(5)?);
        if let (Some(last), (Some(up_to), Some(error))) = (instruments.last_mut(), limit) {
            let (up_to, limit) = (Length::from_nm(up_to), Length::from_nm(error));
            last.limits.push(LimitOfError { up_to, limit });
        }
    }
    Ok(instruments)
}
