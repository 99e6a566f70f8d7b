//! What an import would do with the house numbers.

use super::plan::{Planner, Stored};
use super::sheet::Sheet;
use crate::model::house::House;
use crate::model::length::Unit;

impl Planner<'_> {
    /// Plans the house numbers of a sheet.
    pub(super) fn house(&mut self, sheet: &Sheet, stored: &Stored<'_>) {
        let kinds = self.forms.kinds;
        for record in &sheet.records {
            if !self.is_whole(sheet, record) {
                continue;
            }
            let (column, key) = sheet.key(record, 0);
            let (value_column, value) = sheet.key(record, 1);
            if !self.is_first(sheet, record, column, key) {
                continue;
            }
            let before = self.plan.house.take().or_else(|| stored.house.cloned());
            let mut house = before.unwrap_or_default();
            let held = |house: &House| {
                let settings = house.settings(kinds, Unit::In);
                settings.into_iter().find(|setting| setting.key == key).map(|found| found.value)
            };
            let old = held(&house);
            match house.set(kinds, key, value) {
                Ok(()) if held(&house) == old => {
                    self.plan.numbers.unchanged += 1;
                }
                Ok(()) => self.plan.numbers.updated += 1,
                Err(error) => {
                    let known = held(&house).is_some();
                    let column = if known { value_column } else { column };
                    self.problems.add(sheet.file, record.line, Some(column), error);
                }
            }
            self.plan.house = Some(house);
        }
    }
}
