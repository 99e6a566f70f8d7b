//! What an import would do, worked out in full before anything is stored.

use std::collections::{BTreeMap, HashMap, HashSet};

use super::amend::names_in;
use super::cells::{Row, Wrongs};
use super::holds::{Forms, Holds};
use super::opened::SheetRules as Reading;
use super::part_form;
use super::planned::{Action, Before, ImportPlan, planned};
use super::problems::Problems;
use super::record::Record;
use super::sheet::Sheet;
use crate::catalog::names::{check_id, check_part_id};
use crate::error::{Error, Result};
use crate::model::agreed::{AskedTopic, Doubt};
use crate::model::bars::Entered;
use crate::model::faces::Names;
use crate::model::headings::heading;
use crate::model::job::Job;
use crate::model::kinds::{Joint, KindSpec};
use crate::model::length::divide_half_away;
use crate::model::library::Library;
use crate::model::part::Part;
use crate::model::pieces::{Condition, Instrument};
use crate::model::typed::as_typed;
use crate::model::usual::Meant;

/// Works out a plan from sheets, noting everything that is wrong.
pub(super) struct Planner<'a> {
    pub(super) forms: &'a Forms,
    reading: &'a Reading<'a>,
    pub(super) files: &'a [String],
    pub(super) replace: bool,
    pub(super) meant: &'a Meant,
    /// The rows that are left out, by table and line.
    left_out: &'a HashSet<(usize, usize)>,
    pub(super) problems: Problems,
    /// What may be meant in two ways.
    pub(super) questions: Vec<Doubt>,
    pub(super) plan: ImportPlan,
    /// Where each part of this run stands in the plan.
    pub(super) part_places: BTreeMap<String, usize>,
    /// The condition of each piece of this run, by part and label.
    pub(super) conditions: HashMap<(String, String), Condition>,
    /// Names of parts and jobs by how they are typed, and those of patterns.
    ids: HashMap<(&'static str, String), String>,
    patterns: HashMap<(Joint, String), String>,
    stored_patterns: HashSet<(Joint, String)>,
    /// Where each name of this run was read, what a row is of apart.
    seen: HashMap<(&'static str, String), (usize, usize)>,
}

impl<'a> Planner<'a> {
    pub(super) fn new(
        reading: &'a Reading<'a>,
        files: &'a [String],
        replace: bool,
        meant: &'a Meant,
        left_out: &'a HashSet<(usize, usize)>,
    ) -> Self {
        Self {
            forms: reading.forms,
            reading,
            files,
            replace,
            meant,
            left_out,
            questions: Vec::new(),
            problems: Problems::default(),
            plan: ImportPlan::default(),
            part_places: BTreeMap::new(),
            conditions: HashMap::new(),
            ids: HashMap::new(),
            patterns: HashMap::new(),
            stored_patterns: HashSet::new(),
            seen: HashMap::new(),
        }
    }

    /// Plans the parts of a sheet.
    pub(super) fn parts(&mut self, sheet: &Sheet, stored: &Before<'_>) {
        for record in &sheet.records {
            let Some(id) = self.start(sheet, record) else { continue };
            let old = stored.parts.get(id).copied();
            let typed = id;
            let id = old.map_or(id, |old| &old.id);
            if id != typed {
                let column = sheet.key(record, 0).0;
                if !self.is_first(sheet, record, column, id) {
                    continue;
                }
                self.warn(sheet, record, [format!("`{typed}` is called `{id}` now")]);
            }
            if old.is_none() && self.reading.prices {
                self.plan.unpriced += 1;
                continue;
            }
            // An older catalog may hold a number that is refused today.
            if let (None, Err(error)) = (old, check_part_id(id)) {
                self.problems.add(sheet.file, record.line, Some(sheet.key(record, 0).0), error);
                continue;
            }
            let kind = match self.kind(sheet, record, old) {
                Ok(kind) => kind,
                Err((column, error)) => {
                    self.problems.add(sheet.file, record.line, column, error);
                    continue;
                }
            };
            let Some(at) = self.forms.of_kind(kind) else { continue };
            let (cells, strange) = sheet.cells(record, at);
            let mut row = Row::new(cells, sheet.mark);
            for column in strange {
                row.wrong(column, Error::input(format!("a {} has no such column", kind.name)));
            }
            // By the numbers that it had it is found, whatever a sheet has no column for.
            let formerly = old.map(|old| old.formerly.clone()).unwrap_or_default();
            let mut part = self.begun(old, || Part { formerly, ..Part::new(id, kind) });
            let rules = part_form::PartRules { old, currency: stored.currency, meant: self.meant };
            let warnings = part_form::read(&self.forms.parts[at].1, &mut row, &mut part, rules);
            self.warn(sheet, record, warnings);
            let entered = row.take_entered();
            self.wrongs(sheet, record, row.into_wrongs());
            self.ask_price(sheet, record, (old, &part));
            self.ask_id((sheet, record), id, old.is_none());
            if old.is_none_or(|old| old.faces != part.faces) {
                self.ask_faces((sheet, record), &part);
            }
            let planned = planned(part, old, sheet, record);
            self.told_back(planned.action, id, entered);
            self.part_places.insert(id.to_string(), self.plan.parts.len());
            self.plan.parts.push(planned);
        }
    }

    /// Notes what is to be told back; of a row that changes nothing there is nothing to tell.
    pub(super) fn told_back(&mut self, action: Action, id: &str, entered: Vec<Entered>) {
        if action != Action::Leave {
            self.plan.entered.extend(entered.into_iter().map(|one| (id.to_string(), one)));
        }
    }

    /// Plans the instruments of a sheet.
    pub(super) fn instruments(&mut self, sheet: &Sheet, stored: &Before<'_>) {
        for record in &sheet.records {
            let Some(name) = self.start(sheet, record) else { continue };
            let old = stored.measured.and_then(|measured| measured.instrument(name));
            let blank = || Instrument { name: name.into(), ..Instrument::default() };
            let mut instrument = self.begun(old, blank);
            let mut row = Row::new(sheet.cells(record, 0).0, sheet.mark);
            self.forms.instrument.read(&mut row, &mut instrument);
            self.wrongs(sheet, record, row.into_wrongs());
            self.plan.instruments.push(planned(instrument, old, sheet, record));
        }
    }

    /// The thing that a row is read onto: as it is stored, or blank where a row is all there is to know.
    pub(super) fn begun<T: Clone>(&self, old: Option<&T>, blank: impl FnOnce() -> T) -> T {
        match old {
            // A list of prices says nothing of what else there is to know.
            Some(old) if !self.replace || self.reading.prices => old.clone(),
            _ => blank(),
        }
    }

    /// Asks about something unless it was agreed to.
    pub(super) fn ask(
        &mut self,
        topic: AskedTopic,
        (sheet, record): (&Sheet, &Record),
        column: Option<&str>,
        text: String,
    ) {
        if !self.reading.agreed.has(topic) {
            let (file, line, column) = (sheet.file, record.line, column.map(String::from));
            self.questions.push(Doubt { topic, file, line, column, text });
        }
    }

    /// Asks about a new name that differs from a known one only by how it is typed.
    pub(super) fn ask_id(&mut self, (sheet, record): (&Sheet, &Record), id: &str, is_new: bool) {
        let key = (sheet.holds.row(), as_typed(id));
        let known = self.ids.entry(key).or_insert_with(|| id.to_string());
        if is_new && known != id {
            let row = sheet.holds.row();
            let text = format!("`{id}` is new, and there is `{known}`: is it another {row}?");
            let column = sheet.key(record, 0).0;
            self.ask(AskedTopic::Ids, (sheet, record), Some(column), text);
        }
    }

    /// Asks about names of patterns that the catalog does not have, where there may be two in one or
    /// another one is only typed otherwise.
    fn ask_faces(&mut self, (sheet, record): (&Sheet, &Record), part: &Part) {
        for (spec, names) in part.kind.faces.iter().zip(&part.faces) {
            let Names::Of(text) = names else { continue };
            for name in text.split('|') {
                if self.stored_patterns.contains(&(spec.joint, name.to_string())) {
                    continue;
                }
                if let Some(names) = names_in(name) {
                    let text = format!("`{name}` may be several patterns, as `{names}`, or one");
                    self.ask(AskedTopic::Faces, (sheet, record), Some(spec.key), text);
                    continue;
                }
                let key = (spec.joint, as_typed(name));
                let known = self.patterns.entry(key).or_insert_with(|| name.to_string());
                if known != name {
                    let text = format!("`{name}` fits no `{known}`, which others have");
                    self.ask(AskedTopic::Faces, (sheet, record), Some(spec.key), text);
                }
            }
        }
    }

    /// Takes down the names that are in the catalog.
    pub(super) fn know(&mut self, stored: &Library, jobs: &[Job]) {
        for part in &stored.parts {
            self.ids.insert(("part", as_typed(&part.id)), part.id.clone());
            for (spec, names) in part.kind.faces.iter().zip(&part.faces) {
                let Names::Of(text) = names else { continue };
                for name in text.split('|') {
                    self.patterns.insert((spec.joint, as_typed(name)), name.to_string());
                    self.stored_patterns.insert((spec.joint, name.to_string()));
                }
            }
        }
        for job in jobs {
            self.ids.insert(("job", as_typed(&job.id)), job.id.clone());
        }
    }

    /// Asks about a price that is far from the one before: two columns are easily one column off.
    fn ask_price(&mut self, sheet: &Sheet, record: &Record, (old, new): (Option<&Part>, &Part)) {
        let (Some(old), Some(new)) = (old.and_then(|old| old.price), new.price) else { return };
        let (before, now) = (old.get(), new.get());
        // More than a quarter up or down.
        if before > 0 && (now - before).abs() * 4 > before {
            let by = divide_half_away(i128::from(now - before) * 100, i128::from(before));
            let text = format!("the price goes from {old} to {new}, by {by:+} %");
            self.ask(AskedTopic::Prices, (sheet, record), Some("price"), text);
        }
    }

    /// Counts a row and checks its width. False where it cannot be read on.
    pub(super) fn is_whole(&mut self, sheet: &Sheet, record: &Record) -> bool {
        if self.left_out.contains(&(sheet.file, record.line)) {
            return false;
        }
        *self.plan.rows.entry(sheet.file).or_default() += 1;
        let checked = sheet.check_width(record);
        if let Err(error) = checked {
            self.problems.add(sheet.file, record.line, None, error);
            return false;
        }
        true
    }

    /// Checks that a name was not given before; `column` is the one to be told where it was.
    pub(super) fn is_first(
        &mut self,
        sheet: &Sheet,
        record: &Record,
        column: &str,
        name: &str,
    ) -> bool {
        let row = sheet.holds.row();
        let here = (sheet.file, record.line);
        let Some((file, line)) = self.seen.insert((row, name.to_string()), here) else {
            return true;
        };
        let place = format!("{} line {line}", self.files[file]);
        let error = Error::input(format!("`{name}` was given before, {place}"))
            .hint(format!("each {row} is given once"));
        self.problems.add(sheet.file, record.line, Some(column), error);
        false
    }

    /// Counts a row, checks its width and its id. `None` where it cannot be read on.
    pub(super) fn start<'r>(&mut self, sheet: &'r Sheet, record: &'r Record) -> Option<&'r str> {
        if !self.is_whole(sheet, record) {
            return None;
        }
        let (column, id) = sheet.key(record, 0);
        if let Err(error) = check_id(id) {
            self.problems.add(sheet.file, record.line, Some(column), error);
            return None;
        }
        self.is_first(sheet, record, column, id).then_some(id)
    }

    fn kind<'r>(
        &self,
        sheet: &'r Sheet,
        record: &'r Record,
        old: Option<&Part>,
    ) -> Result<&'static KindSpec, (Option<&'r str>, Error)> {
        let kinds = self.forms.kinds;
        let default = if let Holds::Parts(default) = sheet.holds { default } else { None };
        let given = match sheet.kind(record) {
            Some((column, name)) => {
                let word = heading(name);
                let own = sheet.words.iter().find(|(known, _)| *known == word);
                let named = Holds::named(kinds, own.map_or(name, |(_, kind)| kind));
                let Some(Holds::Parts(Some(kind))) = named else {
                    return Err((Some(column), kinds.no_kind(name, [])));
                };
                if default.is_some_and(|default| default != kind) {
                    let expected = default.map_or("", |default| default.key);
                    let error = Error::input(format!(
                        "the row is a {}, and the file or --kind says {expected}",
                        kind.key
                    ));
                    return Err((Some(column), error));
                }
                Some(kind)
            }
            None => default,
        };
        match (given, old) {
            (Some(kind), Some(old)) if old.kind != kind => {
                let (id, found, new) = (&old.id, old.kind.key, kind.key);
                let error =
                    Error::input(format!("`{id}` is a {found} in the catalog, not a {new}"))
                        .hint("give the new part another number, or remove the old one first");
                Err((None, error))
            }
            (Some(kind), _) => Ok(kind),
            (None, Some(old)) => Ok(old.kind),
            (None, None) => Err((
                None,
                Error::input("the kind of this part is not given").hint(
                    "add a column `kind`, give --kind, or name the file for its kind, such as \
                     `flywheels.csv`",
                ),
            )),
        }
    }

    pub(super) fn wrongs(&mut self, sheet: &Sheet, record: &Record, wrongs: Wrongs) {
        for (column, error) in wrongs {
            self.problems.add(sheet.file, record.line, Some(&column), error);
        }
    }

    /// Notes what is unusual in a row.
    pub(super) fn warn(
        &mut self,
        sheet: &Sheet,
        record: &Record,
        warnings: impl IntoIterator<Item = String>,
    ) {
        let place = format!("{} line {}", self.files[sheet.file], record.line);
        self.plan.warnings.extend(warnings.into_iter().map(|text| format!("{place}: {text}")));
    }
}
