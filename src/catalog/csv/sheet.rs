//! One file as rows under known columns.

use std::collections::HashSet;

use super::cells::Item;
use super::form::{Form, Place, folded, nearest_of};
use super::problems::Problems;
use super::source::Source;
use super::text::{Record, separator, split};
use super::{job_form, part_form};
use crate::error::{Error, Result};
use crate::model::kinds::{KindSpec, Kinds};

/// The forms of every kind and of a job.
#[derive(Debug)]
pub(super) struct Forms {
    pub(super) kinds: Kinds,
    parts: Vec<(&'static KindSpec, Form<part_form::Of>)>,
    pub(super) job: Form<job_form::Of>,
}

impl Forms {
    pub(super) fn new(kinds: Kinds) -> Self {
        let parts = kinds.iter().map(|kind| (kind, part_form::form(kind))).collect();
        Self { kinds, parts, job: job_form::form(kinds) }
    }

    /// The position of a kind and its form.
    pub(super) fn of(&self, kind: &KindSpec) -> Option<(usize, &Form<part_form::Of>)> {
        let index = self.parts.iter().position(|(known, _)| known.key == kind.key)?;
        Some((index, &self.parts[index].1))
    }
}

/// What a file holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Holds {
    /// Parts: of this kind where their row names none.
    Parts(Option<&'static KindSpec>),
    /// Jobs.
    Jobs,
}

impl Holds {
    /// What a kind's name, its plural or `jobs` stands for.
    pub(crate) fn named(kinds: Kinds, name: &str) -> Option<Self> {
        let name = folded(name);
        if name == "job" || name == "jobs" {
            return Some(Self::Jobs);
        }
        kinds.find(&name).map(|kind| Self::Parts(Some(kind)))
    }

    /// The same, asked for by the user.
    ///
    /// # Errors
    ///
    /// Names the nearest kind.
    pub(crate) fn asked(kinds: Kinds, name: &str) -> Result<Self> {
        Self::named(kinds, name).ok_or_else(|| unknown_kind(kinds, name))
    }
}

/// The error for a kind that there is not.
pub(super) fn unknown_kind(kinds: Kinds, name: &str) -> Error {
    let error = Error::input(format!("`{}` is no kind of part", name.trim()));
    let keys = || kinds.iter().map(|kind| kind.key.to_string());
    match nearest_of(&folded(name), keys()) {
        Some(near) => error.hint(format!("did you mean `{near}`?")),
        None => error.hint(format!("kinds are {}", keys().collect::<Vec<_>>().join(", "))),
    }
}

/// A file's rows under its columns.
#[derive(Debug)]
pub(super) struct Sheet {
    pub(super) file: usize,
    pub(super) holds: Holds,
    pub(super) decimal_comma: bool,
    pub(super) records: Vec<Record>,
    names: Vec<String>,
    /// For each form (a kind's by its position, or the job's alone) the place of each column.
    places: Vec<Vec<Option<Place>>>,
    key: usize,
    kind: Option<usize>,
}

impl Sheet {
    /// Reads a file's header. `None` where its rows cannot be understood; why is noted.
    pub(super) fn read(
        source: &Source,
        file: usize,
        asked: Option<Holds>,
        forms: &Forms,
        problems: &mut Problems,
    ) -> Option<Self> {
        let text = match source.text() {
            Ok(text) => text,
            Err((line, error)) => {
                problems.add(file, line, None, error);
                return None;
            }
        };
        let separator = separator(text);
        let split = split(text, separator);
        let header_lost = split.errors.first().is_some_and(|(line, _)| {
            split.records.first().is_none_or(|record| record.line > *line)
        });
        for (line, error) in split.errors {
            problems.add(file, line, None, error);
        }
        let mut records = split.records.into_iter();
        if header_lost {
            return None;
        }
        let Some(header) = records.next() else {
            let error = Error::input("the file is empty").hint("its first line names the columns");
            problems.add(file, 1, None, error);
            return None;
        };
        let names: Vec<String> = header.cells.iter().map(String::from).collect();
        let folds: Vec<String> = names.iter().map(|name| folded(name)).collect();
        let mut refuse = |column, error| problems.add(file, header.line, column, error);
        let Some(holds) = asked.or_else(|| guess(source, &folds, forms.kinds)) else {
            refuse(None, untold(&names));
            return None;
        };
        for (index, fold) in folds.iter().enumerate() {
            if !fold.is_empty() && folds[..index].contains(fold) {
                refuse(
                    Some(names[index].as_str()),
                    Error::input("there are two columns of this name"),
                );
            }
        }
        let kind = folds.iter().position(|fold| fold == "kind").filter(|_| holds != Holds::Jobs);
        let places: Vec<Vec<Option<Place>>> = match holds {
            Holds::Jobs => vec![folds.iter().map(|fold| forms.job.place(fold)).collect()],
            Holds::Parts(_) => forms
                .parts
                .iter()
                .map(|(_, form)| folds.iter().map(|fold| form.place(fold)).collect())
                .collect(),
        };
        let scope = match holds {
            // Without a column of kinds every row is of the one kind that the file is named for.
            Holds::Parts(Some(only)) if kind.is_none() => forms.of(only).map(|(index, _)| index),
            _ => None,
        };
        for (index, fold) in folds.iter().enumerate() {
            let known = match scope {
                Some(only) => places[only][index].is_some(),
                None => places.iter().any(|form| form[index].is_some()),
            };
            if !known && !fold.is_empty() {
                refuse(Some(names[index].as_str()), unknown_column(forms, holds, scope, fold));
            }
        }
        let wanted = if holds == Holds::Jobs { "job" } else { "id" };
        let Some(key) = folds.iter().position(|fold| fold == wanted) else {
            let error = Error::input(format!("there is no column `{wanted}`"))
                .hint("every row needs it to be told from the others");
            refuse(None, error);
            return None;
        };
        let decimal_comma = separator == b';';
        let records = records.collect();
        Some(Self { file, holds, decimal_comma, records, names, places, key, kind })
    }

    /// The row's cells have as many columns as the header.
    pub(super) fn check_width(&self, record: &Record) -> Result<()> {
        let (found, expected) = (record.cells.len(), self.names.len());
        if found != expected {
            return Err(Error::input(format!(
                "the row has {found} cells, the header has {expected}"
            ))
            .hint("quote a cell that has a separator in it"));
        }
        for (name, cell) in self.names.iter().zip(&record.cells) {
            if name.trim().is_empty() && !cell.trim().is_empty() {
                return Err(Error::input(format!("`{cell}` stands in a column without a name")));
            }
        }
        Ok(())
    }

    /// The cell that says which part or job the row is, and its column.
    pub(super) fn key<'r>(&'r self, record: &'r Record) -> (&'r str, &'r str) {
        (&self.names[self.key], &record.cells[self.key])
    }

    /// The cell that says of which kind the row is, where it is filled, and its column.
    pub(super) fn kind<'r>(&'r self, record: &'r Record) -> Option<(&'r str, &'r str)> {
        let index = self.kind?;
        let cell = record.cells[index].trim();
        (!cell.is_empty()).then_some((self.names[index].as_str(), cell))
    }

    /// The row's cells as the form of this position sees them, and the filled columns that it
    /// does not know though another form does.
    pub(super) fn items<'r>(
        &'r self,
        record: &'r Record,
        form: usize,
    ) -> (Vec<Item<'r>>, Vec<&'r str>) {
        let mut items = Vec::with_capacity(record.cells.len());
        let mut strange = Vec::new();
        let places = &self.places[form];
        for (index, text) in record.cells.iter().enumerate() {
            let column = self.names[index].as_str();
            match places[index] {
                Some(place) => items.push(Item { place, column, text }),
                None if text.trim().is_empty() => {}
                None if self.places.iter().any(|form| form[index].is_some()) => {
                    strange.push(column);
                }
                // Nobody knows it: the header's own line says so once.
                None => {}
            }
        }
        (items, strange)
    }
}

fn guess(source: &Source, folds: &[String], kinds: Kinds) -> Option<Holds> {
    let has = |name: &str| folds.iter().any(|fold| fold == name);
    let named = Holds::named(kinds, &source.stem());
    if has("job") {
        return Some(Holds::Jobs);
    }
    match named {
        Some(Holds::Jobs) if has("kind") => Some(Holds::Parts(None)),
        Some(holds) => Some(holds),
        // Numbers alone are enough to update parts: the catalog knows their kinds.
        None => (has("kind") || has("id")).then_some(Holds::Parts(None)),
    }
}

fn untold(names: &[String]) -> Error {
    if names.len() == 1 && names[0].contains('\t') {
        return Error::input("the columns are separated by tabs").hint("use commas or semicolons");
    }
    Error::input("it cannot be told whether the file holds parts or jobs").hint(
        "add a column `kind` or `job`, give --kind, or name the file for its kind, such as \
         `flywheels.csv`",
    )
}

fn unknown_column(forms: &Forms, holds: Holds, scope: Option<usize>, fold: &str) -> Error {
    let error = Error::input("this column is not known");
    let near = match (holds, scope) {
        (Holds::Jobs, _) => forms.job.nearest(fold),
        (_, Some(only)) => {
            let of_others: Vec<&str> = forms
                .parts
                .iter()
                .filter(|(_, form)| form.place(fold).is_some())
                .map(|(kind, _)| kind.key)
                .collect();
            if !of_others.is_empty() {
                let own = forms.parts[only].0.key;
                let others = of_others.join(", ");
                return error.hint(format!("a {own} has none; it belongs to {others}"));
            }
            forms.parts[only].1.nearest(fold)
        }
        (_, None) => {
            // One name stands in many forms: each is offered once, in the forms' order.
            let mut seen = HashSet::new();
            let names = forms.parts.iter().flat_map(|(_, form)| form.names());
            nearest_of(fold, names.filter(|name| seen.insert(name.clone())))
        }
    };
    match near {
        Some(near) => error.hint(format!("did you mean `{near}`?")),
        None => error.hint("the templates list every column"),
    }
}
