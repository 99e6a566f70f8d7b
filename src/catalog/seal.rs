//! Checksums beside the things of the catalog. A page of the file may change without any rule of the
//! tables being broken; then only the seal tells.

use rusqlite::types::ValueRef;
use rusqlite::{Connection, OptionalExtension as _, Rows, params};

use super::Writer;
use super::fault::Fault;
use crate::error::Result;

/// What is sealed of the things in a table.
#[derive(Debug)]
pub struct Sealed {
    /// The table of their own rows.
    pub(super) table: &'static str,
    /// What they are called, by their number.
    name: &'static str,
    /// Everything that their rows say, by their number and in an order of its own.
    rows: &'static [&'static str],
}

/// A new column or table of a thing belongs here, and the migration that brings it seals anew.
pub(super) const PART: Sealed = Sealed {
    table: "part",
    name: "SELECT id FROM part WHERE number = ?1",
    rows: &[
        "SELECT id, kind, maker, description, price_cents, on_hand, lead_days, retired, notes, \
         least_on_hand FROM part WHERE number = ?1",
        "SELECT key, value, tol, bar FROM dimension WHERE part = ?1 ORDER BY key",
        "SELECT key, names FROM face WHERE part = ?1 ORDER BY key",
        "SELECT key, word FROM fact WHERE part = ?1 ORDER BY key",
        "SELECT key FROM former_number WHERE part = ?1 ORDER BY key",
        "SELECT key, text FROM own_column WHERE part = ?1 ORDER BY key",
    ],
};

pub(super) const JOB: Sealed = Sealed {
    table: "job",
    name: "SELECT id FROM job WHERE number = ?1",
    rows: &[
        "SELECT id, description, torque, crank_over_plate, depth_over_plate, disc_state, \
         crank_pushed, starter_on, preload_min, preload_max, reserve_min, reserve_max, state, date, \
         customer, contact, vehicle, notes FROM job WHERE number = ?1",
        "SELECT slot, position, part, piece FROM job_part WHERE job = ?1 ORDER BY slot, position",
        "SELECT key, value, tol, bar FROM job_reading WHERE job = ?1 ORDER BY key",
    ],
};

pub(super) const PIECE: Sealed = Sealed {
    table: "piece",
    name: "SELECT id || '#' || label FROM piece JOIN part ON part.number = piece.part \
           WHERE piece.number = ?1",
    rows: &["SELECT part, label, condition, in_hand, notes FROM piece WHERE number = ?1"],
};

pub(super) const READING: Sealed = Sealed {
    table: "reading",
    name: "SELECT number || '' FROM reading WHERE number = ?1",
    rows: &[
        "SELECT piece, dimension, instrument, taken_by, taken_on, struck, bar FROM reading \
         WHERE number = ?1",
        "SELECT position, value FROM reading_value WHERE reading = ?1 ORDER BY position",
    ],
};

pub(super) const INSTRUMENT: Sealed = Sealed {
    table: "instrument",
    name: "SELECT name FROM instrument WHERE number = ?1",
    rows: &[
        "SELECT name, description, resolution, source FROM instrument WHERE number = ?1",
        "SELECT up_to, error FROM instrument_limit WHERE instrument = ?1 ORDER BY up_to",
    ],
};

pub(super) const HEADINGS: Sealed = Sealed {
    table: "headings",
    name: "SELECT name FROM headings WHERE number = ?1",
    rows: &[
        "SELECT name, holds FROM headings WHERE number = ?1",
        "SELECT heading, means FROM heading WHERE headings = ?1 ORDER BY heading",
        "SELECT word, kind FROM kind_word WHERE headings = ?1 ORDER BY word",
    ],
};

pub(super) const HOUSE: Sealed = Sealed {
    table: "setting",
    name: "SELECT 'house numbers' WHERE ?1 = 0",
    rows: &["SELECT key, value FROM setting WHERE ?1 = 0 ORDER BY key"],
};

pub(super) const ANSWER: Sealed = Sealed {
    table: "answer",
    name: "SELECT name FROM answer WHERE number = ?1",
    rows: &[
        "SELECT name, job, at, by, line, asked, question, job_then, house_then, last_event, stacks, \
         answer FROM answer WHERE number = ?1",
    ],
};

/// Everything that is sealed but the answers, which are looked at one by one.
const ALL: [&Sealed; 7] = [&PART, &JOB, &PIECE, &READING, &INSTRUMENT, &HEADINGS, &HOUSE];

impl Writer<'_> {
    /// Seals a thing as its rows are now.
    pub(super) fn seal(&self, sealed: &Sealed, number: i64) -> Result<()> {
        self.told(seal(self.conn(), sealed, number))
    }

    /// Takes the seal of a thing away that is gone.
    pub(super) fn unseal(&self, sealed: &Sealed, number: i64) -> Result<()> {
        let sql = "DELETE FROM seal WHERE of = ?1 AND number = ?2";
        self.execute(sql, params![sealed.table, number]).map(|_| ())
    }
}

fn seal(conn: &Connection, sealed: &Sealed, number: i64) -> Result<(), Fault> {
    let sum = sum(conn, sealed, number)?;
    let mut write = conn.prepare_cached("INSERT OR REPLACE INTO seal VALUES (?1, ?2, ?3)")?;
    write.execute(params![sealed.table, number, sum])?;
    Ok(())
}

/// Seals everything in a catalog that has no seals yet, or has those of an older version.
pub(super) fn seal_all(conn: &Connection) -> Result<(), Fault> {
    for sealed in ALL.into_iter().chain([&ANSWER]) {
        for number in numbers(conn, sealed)? {
            seal(conn, sealed, number)?;
        }
    }
    Ok(())
}

/// Whether a thing is as it was sealed.
pub(super) fn is_whole(conn: &Connection, sealed: &Sealed, number: i64) -> Result<bool, Fault> {
    let mut query = conn.prepare_cached("SELECT sum FROM seal WHERE of = ?1 AND number = ?2")?;
    let kept: Option<i64> =
        query.query_row(params![sealed.table, number], |row| row.get(0)).optional()?;
    Ok(kept == Some(sum(conn, sealed, number)?))
}

/// What is not as this program stored it, or is gone, in words.
pub(super) fn broken(conn: &Connection, most: usize) -> Result<Vec<String>, Fault> {
    let mut broken = Vec::new();
    for sealed in ALL {
        let mut known = numbers(conn, sealed)?;
        let mut query = conn.prepare_cached("SELECT number FROM seal WHERE of = ?1")?;
        let kept = query.query_map([sealed.table], |row| row.get(0))?;
        known.extend(kept.collect::<rusqlite::Result<Vec<i64>>>()?);
        known.sort_unstable();
        known.dedup();
        for number in known {
            if broken.len() >= most {
                return Ok(broken);
            }
            if is_whole(conn, sealed, number)? {
                continue;
            }
            let mut query = conn.prepare_cached(sealed.name)?;
            let name: Option<String> = query.query_row([number], |row| row.get(0)).optional()?;
            let table = sealed.table;
            broken.push(match name {
                Some(name) => format!("the {table} `{name}` is not as this program stored it"),
                None => format!("the {table} with the number {number} is gone"),
            });
        }
    }
    Ok(broken)
}

fn numbers(conn: &Connection, sealed: &Sealed) -> Result<Vec<i64>, Fault> {
    if sealed.table == HOUSE.table {
        return Ok(vec![0]);
    }
    let mut query = conn.prepare_cached(&format!("SELECT number FROM {}", sealed.table))?;
    let numbers = query.query_map([], |row| row.get(0))?;
    Ok(numbers.collect::<rusqlite::Result<_>>()?)
}

/// The checksum of a thing.
fn sum(conn: &Connection, sealed: &Sealed, number: i64) -> Result<i64, Fault> {
    let mut sum = Checksum::new();
    for sql in sealed.rows {
        let mut query = conn.prepare_cached(sql)?;
        let columns = query.column_count();
        sum.rows(query.query([number])?, columns)?;
    }
    Ok(sum.finish())
}

/// FNV-1a of 64 bits (Fowler, Noll and Vo; draft-eastlake-fnv, section 5, its offset basis and prime,
/// from memory). It guards against damage, not against malice.
struct Checksum(u64);

impl Checksum {
    fn new() -> Self {
        Self(0xCBF2_9CE4_8422_2325)
    }

    fn bytes(&mut self, bytes: &[u8]) {
        for byte in bytes {
            self.0 = (self.0 ^ u64::from(*byte)).wrapping_mul(0x0000_0100_0000_01B3);
        }
    }

    /// Takes in rows, each value with its type and its length, so that none runs into the next.
    fn rows(&mut self, mut rows: Rows<'_>, columns: usize) -> rusqlite::Result<()> {
        while let Some(row) = rows.next()? {
            self.bytes(b"row");
            for column in 0..columns {
                match row.get_ref(column)? {
                    ValueRef::Null => self.bytes(b"n"),
                    ValueRef::Integer(value) => {
                        self.bytes(b"i");
                        self.bytes(&value.to_le_bytes());
                    }
                    ValueRef::Real(value) => {
                        self.bytes(b"r");
                        self.bytes(&value.to_bits().to_le_bytes());
                    }
                    ValueRef::Text(bytes) | ValueRef::Blob(bytes) => {
                        self.bytes(b"t");
                        self.bytes(&(bytes.len() as u64).to_le_bytes());
                        self.bytes(bytes);
                    }
                }
            }
        }
        self.bytes(b"end");
        Ok(())
    }

    fn finish(&self) -> i64 {
        self.0.cast_signed()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_checksum_is_that_of_its_authors() {
        let of = |text: &str| {
            let mut sum = Checksum::new();
            sum.bytes(text.as_bytes());
            sum.0
        };
        // Published test vectors (the authors' `test_fnv.c`, from memory).
        assert_eq!(of(""), 0xCBF2_9CE4_8422_2325);
        assert_eq!(of("a"), 0xAF63_DC4C_8601_EC8C);
        assert_eq!(of("foobar"), 0x8594_4171_F739_67E8);
    }
}
