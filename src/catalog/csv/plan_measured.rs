//! What an import would do with pieces and readings.

use std::collections::HashMap;

use itertools::Itertools as _;

use super::asked;
use super::cells::Row;
use super::plan::Planner;
use super::planned::{Action, Before, Planned, planned};
use super::reading_form::ReadingRow;
use super::record::Record;
use super::sheet::Sheet;
use super::{piece_form, reading_form};
use crate::catalog::names::check_label;
use crate::error::{Error, Result};
use crate::measure::slips::{Expected, suspicion};
use crate::model::kinds::DimSpec;
use crate::model::length::{Length, Unit, divide_half_away, narrowed};
use crate::model::part::Part;
use crate::model::pieces::{Condition, Measurements, ReadingSet, Specimen};

/// The sets of readings in the catalog that no row of this run has been found to be yet. Two rows
/// that are alike are two sets, and each stored set answers for one row.
#[derive(Debug)]
pub(super) struct StoredReadings<'a> {
    sets: HashMap<ReadingSet, Vec<&'a ReadingSet>>,
    /// The sum and the number of the readings of each dimension of each piece, by part, label and
    /// key, those of this run among them.
    sums: HashMap<[String; 3], (i128, i128)>,
}

impl<'a> StoredReadings<'a> {
    pub(super) fn new(measured: &'a Measurements) -> Self {
        let mut known = Self { sets: HashMap::new(), sums: HashMap::new() };
        for set in &measured.readings {
            known.sets.entry(set.as_read()).or_default().push(set);
            known.add(set);
        }
        known
    }

    /// Counts what was read; what is struck out does not count.
    fn add(&mut self, set: &ReadingSet) {
        if set.struck.is_none() {
            let (sum, count) = self.sums.entry(place(set)).or_default();
            *sum += set.values.iter().map(|value| i128::from(*value)).sum::<i128>();
            *count += set.values.len() as i128;
        }
    }

    /// The mean of what was read before where a set belongs.
    fn mean(&self, set: &ReadingSet) -> Option<Length> {
        let (sum, count) = *self.sums.get(&place(set))?;
        (count > 0).then(|| Length::from_nm(narrowed(divide_half_away(sum, count))))
    }

    /// Takes out the stored set that a row is, one that was struck like it before another.
    fn take(&mut self, set: &ReadingSet) -> Option<&'a ReadingSet> {
        let alike = self.sets.get_mut(&set.as_read()).filter(|alike| !alike.is_empty())?;
        let like_it = alike.iter().position(|old| old.struck.is_some() == set.struck.is_some());
        Some(alike.remove(like_it.unwrap_or(0)))
    }
}

/// Where a set belongs: part, label and dimension.
fn place(set: &ReadingSet) -> [String; 3] {
    [&set.part, &set.piece, &set.dimension].map(String::clone)
}

impl Planner<'_> {
    /// Plans the pieces of a sheet.
    pub(super) fn pieces(&mut self, sheet: &Sheet, stored: &Before<'_>) {
        for record in &sheet.records {
            if !self.is_whole(sheet, record) {
                continue;
            }
            let ((part_column, part), (column, label)) =
                (sheet.key(record, 0), sheet.key(record, 1));
            // A part may be named by a number that it had.
            let part = match self.part(part, stored).map(|part| part.id.clone()) {
                Ok(part) => part,
                Err(error) => {
                    self.problems.add(sheet.file, record.line, Some(part_column), error);
                    continue;
                }
            };
            let part = part.as_str();
            if let Err(error) = check_label(label) {
                self.problems.add(sheet.file, record.line, Some(column), error);
                continue;
            }
            if !self.is_first(sheet, record, column, &format!("{part}#{label}")) {
                continue;
            }
            let old = stored.pieces.get(&(part, label)).copied();
            // A condition is never blanked: there is none that could stand for unknown.
            let condition = old.map(|old| old.condition).unwrap_or_default();
            let mut piece = self.begun(old, || Specimen::new(part, label, condition));
            let mut row = Row::new(sheet.cells(record, 0).0, sheet.mark);
            piece_form::read(&self.forms.piece, &mut row, &mut piece, old.is_some());
            self.wrongs(sheet, record, row.into_wrongs());
            self.warn(sheet, record, old.and_then(|old| recounted(old, &piece, stored.measured)));
            self.plan_piece(sheet, record, piece, old);
        }
    }

    fn plan_piece(
        &mut self,
        sheet: &Sheet,
        record: &Record,
        piece: Specimen,
        old: Option<&Specimen>,
    ) {
        self.conditions.insert((piece.part.clone(), piece.label.clone()), piece.condition);
        self.plan.pieces.push(planned(piece, old, sheet, record));
    }

    /// Plans the readings of a sheet, whose pieces and instruments are planned by then.
    pub(super) fn readings(
        &mut self,
        sheet: &Sheet,
        stored: &Before<'_>,
        there: &mut StoredReadings<'_>,
    ) {
        for record in &sheet.records {
            if !self.is_whole(sheet, record) {
                continue;
            }
            let about = self.dimension(sheet, record, stored);
            let about = about.map(|(part, spec)| {
                (part.id.clone(), part.kind, spec, Expected::listed(part, spec))
            });
            let (part, kind, spec, listed) = match about {
                Ok(about) => about,
                Err((column, error)) => {
                    self.problems.add(sheet.file, record.line, Some(column), error);
                    continue;
                }
            };
            let part = part.as_str();
            let [label, dimension] = [1, 2].map(|which| sheet.key(record, which).1);
            let mut row = Row::new(sheet.cells(record, 0).0, sheet.mark);
            let mut read = ReadingRow::new(ReadingSet::new(part, label, dimension), spec, None);
            let mut unusual = reading_form::read(&self.forms.reading, &mut row, &mut read);
            let ReadingRow { mut set, condition, .. } = read;
            let made =
                self.piece_of(part, label, condition, stored).unwrap_or_else(|(key, error)| {
                    row.wrong(key, error);
                    None
                });
            unusual.extend(listed.and_then(|at| suspicion(&set.values, &[at], &[], Unit::In)));
            if let Some(Err(error)) = set.instrument.as_deref().map(|name| self.known(name, stored))
            {
                row.wrong("instrument", error);
            }
            let known = there.take(&set);
            if known.is_none() && row.wrong_count() == 0 {
                let own = there.mean(&set);
                asked::of_readings(&mut row, (kind, spec), &set, own, self.meant);
            }
            let wrongs = row.into_wrongs();
            if !wrongs.is_empty() {
                self.wrongs(sheet, record, wrongs);
                continue;
            }
            if let Some(piece) = made {
                self.plan_piece(sheet, record, piece, None);
            }
            let action = match known {
                None => Action::Add,
                Some(old) if old.struck.is_none() && set.struck.is_some() => {
                    set.number = old.number;
                    Action::Update
                }
                // What was struck out stays so, whatever an older file says.
                Some(_) => Action::Leave,
            };
            if action == Action::Add {
                there.add(&set);
                self.warn(sheet, record, unusual);
            }
            let (file, line) = (sheet.file, record.line);
            self.plan.readings.push(Planned { item: set, action, file, line });
        }
    }

    /// The part and the dimension that a row of readings is about.
    fn dimension<'r, 'p>(
        &'p self,
        sheet: &'r Sheet,
        record: &'r Record,
        stored: &Before<'p>,
    ) -> Result<(&'p Part, &'static DimSpec), (&'r str, Error)> {
        let [(column, part), _, (dimension_column, dimension)] =
            [0, 1, 2].map(|which| sheet.key(record, which));
        let part = self.part(part, stored).map_err(|error| (column, error))?;
        let spec = part.kind.dim(dimension).map_err(|error| (dimension_column, error))?;
        Ok((part, spec))
    }

    /// A part as it will be after this run.
    fn part<'p>(&'p self, id: &str, stored: &Before<'p>) -> Result<&'p Part> {
        let new = self.part_places.get(id).map(|place| &self.plan.parts[*place].item);
        if let Some(part) = new.or_else(|| stored.parts.get(id).copied()) {
            return Ok(part);
        }
        let error = Error::input(format!("there is no part `{id}` in the catalog"));
        if self.problems.are_many() {
            return Err(error);
        }
        let new = self.part_places.keys().map(String::as_str);
        let known = stored.parts.keys().copied().merge(new);
        Err(error.near(id, known, "add it, or name its file in the same import"))
    }

    /// Checks the piece of a row of readings; returns it where the row makes it.
    fn piece_of(
        &self,
        part: &str,
        label: &str,
        told: Option<Condition>,
        stored: &Before<'_>,
    ) -> Result<Option<Specimen>, (&'static str, Error)> {
        let planned = self.conditions.get(&(part.to_string(), label.to_string())).copied();
        let old = stored.pieces.get(&(part, label)).map(|piece| piece.condition);
        match (planned.or(old), told) {
            (Some(known), Some(told)) if known != told => {
                let (known, told) = (known.word(), told.word());
                let message = format!("`{part}#{label}` is {known} in the catalog, not {told}");
                let hint = "give a piece that was machined or run in since another label";
                Err(("condition", Error::input(message).hint(hint)))
            }
            (Some(_), _) => Ok(None),
            (None, Some(told)) => {
                check_label(label).map_err(|error| ("piece", error))?;
                Ok(Some(Specimen::new(part, label, told)))
            }
            (None, None) => {
                let message = format!("there is no piece `{part}#{label}` in the catalog");
                let hint = "add it by `pieces.csv`, or write `new`, `used` or `machined` into a \
                            column `condition`, which makes it";
                Err(("piece", Error::input(message).hint(hint)))
            }
        }
    }

    fn known(&self, name: &str, stored: &Before<'_>) -> Result<()> {
        let old = stored.measured.iter().flat_map(|measured| &measured.instruments);
        let new = self.plan.instruments.iter().map(|planned| &planned.item);
        let names: Vec<&str> = old.chain(new).map(|instrument| instrument.name.as_str()).collect();
        if names.contains(&name) {
            return Ok(());
        }
        let error = Error::input(format!("there is no instrument `{name}` in the catalog"));
        Err(error.near(name, names, "add it by `instruments.csv` or with `instrument add`"))
    }
}

/// A warning where readings of a piece now count among others than before.
pub(super) fn recounted(
    old: &Specimen,
    new: &Specimen,
    measured: Option<&Measurements>,
) -> Option<String> {
    if old.condition == new.condition {
        return None;
    }
    let of_piece =
        |set: &&ReadingSet| set.struck.is_none() && set.part == old.part && set.piece == old.label;
    let count = measured?.readings.iter().filter(of_piece).count();
    let (name, before, now) = (old.id(), old.condition.word(), new.condition.word());
    let sets = if count == 1 { "set of readings counts" } else { "sets of readings count" };
    (count > 0).then(|| format!("`{name}` was {before}; its {count} {sets} as {now} from now on"))
}
