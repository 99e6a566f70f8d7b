//! What an import would do with the house numbers.

use super::plan::Planner;
use super::planned::Before;
use super::sheet::Sheet;
use crate::model::house::House;
use crate::model::length::Unit;

impl Planner<'_> {
    /// Plans the house numbers of a sheet.
    pub(super) fn house(&mut self, sheet: &Sheet, stored: &Before<'_>) {
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
            let before = before.unwrap_or_default();
            let held = |house: &House| {
                let settings = house.settings(kinds, Unit::In);
                settings.into_iter().find(|setting| setting.key == key).map(|found| found.value)
            };
            let mut house = before.clone();
            let set = house.set(kinds, key, value);
            // A default that is written down is none that the shop set.
            let is_same = held(&house) == held(&before);
            match set {
                Ok(()) if is_same => self.plan.numbers.unchanged += 1,
                Ok(()) => self.plan.numbers.updated += 1,
                Err(error) => {
                    let is_known = held(&before).is_some();
                    let column = if is_known { value_column } else { column };
                    self.problems.add(sheet.file, record.line, Some(column), error);
                }
            }
            self.plan.house = Some(if is_same { before } else { house });
        }
        let agrees = self.plan.house.as_ref().map_or(Ok(()), House::validate);
        if let (Err(error), Some(last)) = (agrees, sheet.records.last()) {
            self.problems.add(sheet.file, last.line, None, error);
        }
    }
}
