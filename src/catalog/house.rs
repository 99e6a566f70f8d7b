//! The house numbers in their table: the ones that the shop changed, as they are written.

use rusqlite::Connection;

use super::fault::Fault;
use super::{Reader, Writer, seal};
use crate::error::Result;
use crate::model::history::{Deed, FieldChange, Held, Subject};
use crate::model::house::House;
use crate::model::kinds::Kinds;
use crate::model::length::Unit;

impl Reader<'_> {
    /// The house numbers: the defaults with what the shop changed.
    ///
    /// # Errors
    ///
    /// A storage error where the file cannot be read or holds a setting that cannot be.
    pub fn load_house(&self) -> Result<House> {
        let mut house = House::default();
        for (key, value) in self.told(settings(self.conn))? {
            house.set(self.kinds, &key, &value).map_err(|error| {
                let why = error.one_line();
                Fault::damaged(format!("the table `setting`, row `{key}`: {why}")).at(self.path)
            })?;
        }
        house.validate().map_err(|error| {
            Fault::damaged(format!("the table `setting`: {}", error.one_line())).at(self.path)
        })?;
        Ok(house)
    }
}

fn settings(conn: &Connection) -> Result<Vec<(String, String)>, Fault> {
    let mut query = conn.prepare_cached("SELECT key, value FROM setting ORDER BY key")?;
    let rows = query.query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?;
    Ok(rows.collect::<rusqlite::Result<_>>()?)
}

impl Writer<'_> {
    /// Stores the house numbers that differ from the defaults.
    ///
    /// # Errors
    ///
    /// A storage error where the file cannot be written.
    pub fn save_house(&self, house: &House) -> Result<()> {
        let kinds = self.reader().kinds();
        let changes = differences(kinds, &self.reader().load_house()?, house);
        self.execute("DELETE FROM setting", [])?;
        for setting in house.settings(kinds, Unit::In) {
            if setting.changed {
                let values = [setting.key, setting.value];
                self.execute("INSERT INTO setting VALUES (?1, ?2)", values)?;
            }
        }
        self.seal(&seal::HOUSE, 0)?;
        self.record_as(Subject::House, "", None, Deed::Changed, &changes)
    }
}

/// The house numbers that are others than before.
fn differences(kinds: Kinds, from: &House, to: &House) -> Vec<FieldChange> {
    let (from, to) = (from.settings(kinds, Unit::In), to.settings(kinds, Unit::In));
    let pairs = from.into_iter().zip(to).filter(|(from, to)| from.value != to.value);
    let held = |text| Held::of(text, true);
    pairs
        .map(|(from, to)| FieldChange { field: to.key, from: held(from.value), to: held(to.value) })
        .collect()
}
