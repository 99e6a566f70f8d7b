//! One file as rows under known columns.

use std::collections::HashSet;

use super::cells::Cell;
use super::form::ColumnRef;
use super::holds::{Forms, Holds};
use super::problems::Problems;
use super::source::Source;
use super::text::{Record, separator, split};
use crate::error::{Error, Result};
use crate::model::kinds::{Kinds, folded};

/// More columns than all kinds have in all their ways of writing them.
const MOST_COLUMNS: usize = 5000;

/// How many unknown columns are told with the one that was meant.
const MOST_MEANT: usize = 50;

/// A file's rows under its columns.
#[derive(Debug)]
pub(super) struct Sheet {
    pub(super) file: usize,
    pub(super) holds: Holds,
    pub(super) decimal_comma: bool,
    pub(super) records: Vec<Record>,
    names: Vec<String>,
    /// For each form (a kind's by its position, or the only one) where each column belongs.
    columns: Vec<Vec<Option<ColumnRef>>>,
    keys: Vec<usize>,
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
        if header.cells.len() > MOST_COLUMNS {
            let found = header.cells.len();
            let error = Error::input(format!("the header has {found} columns"))
                .hint(format!("a file may have {MOST_COLUMNS}; is the separator another one?"));
            problems.add(file, header.line, None, error);
            return None;
        }
        let names = header.cells;
        let folds: Vec<String> = names.iter().map(|name| folded(name)).collect();
        let mut refuse = |column, error| problems.add(file, header.line, column, error);
        let Some(holds) = asked.or_else(|| guess(source, &folds, forms.kinds)) else {
            refuse(None, untold(&names));
            return None;
        };
        let mut seen = HashSet::new();
        for (name, fold) in names.iter().zip(&folds) {
            if !fold.is_empty() && !seen.insert(fold) {
                refuse(Some(name.as_str()), Error::input("there are two columns of this name"));
            }
        }
        let of_parts = matches!(holds, Holds::Parts(_));
        let kind = folds.iter().position(|fold| fold == "kind").filter(|_| of_parts);
        let columns: Vec<Vec<Option<ColumnRef>>> = forms
            .of(holds)
            .iter()
            .map(|form| folds.iter().map(|fold| form.column(fold)).collect())
            .collect();
        let scope = match holds {
            // Without a column of kinds every row is of the one kind that the file is named for.
            Holds::Parts(Some(only)) if kind.is_none() => forms.of_kind(only),
            _ => None,
        };
        let mut unknown = 0;
        for (index, fold) in folds.iter().enumerate() {
            let known = match scope {
                Some(only) => columns[only][index].is_some(),
                None => columns.iter().any(|form| form[index].is_some()),
            };
            if !known && !fold.is_empty() {
                unknown += 1;
                let error = if unknown > MOST_MEANT {
                    Error::input(NOT_KNOWN)
                } else {
                    unknown_column(forms, holds, scope, fold)
                };
                refuse(Some(names[index].as_str()), error);
            }
        }
        let mut keys = Vec::new();
        for wanted in holds.keys() {
            let Some(key) = folds.iter().position(|fold| fold == wanted) else {
                let error = Error::input(format!("there is no column `{wanted}`"))
                    .hint("every row needs it to be told from the others");
                refuse(None, error);
                return None;
            };
            keys.push(key);
        }
        let decimal_comma = separator == ';';
        let records = records.collect();
        Some(Self { file, holds, decimal_comma, records, names, columns, keys, kind })
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

    /// One of the cells that say what the row is about, and its column: the first for a part's or
    /// job's name, more for what has no name of its own.
    pub(super) fn key<'r>(&'r self, record: &'r Record, which: usize) -> (&'r str, &'r str) {
        let column = self.keys[which];
        (&self.names[column], record.cells[column].trim())
    }

    /// The cell that says of which kind the row is, where it is filled, and its column.
    pub(super) fn kind<'r>(&'r self, record: &'r Record) -> Option<(&'r str, &'r str)> {
        let index = self.kind?;
        let cell = record.cells[index].trim();
        (!cell.is_empty()).then_some((self.names[index].as_str(), cell))
    }

    /// The row's cells as the form of this position sees them, and the filled columns that it
    /// does not know though another form does.
    pub(super) fn cells<'r>(
        &'r self,
        record: &'r Record,
        form: usize,
    ) -> (Vec<Cell<'r>>, Vec<&'r str>) {
        let mut cells = Vec::with_capacity(record.cells.len());
        let mut strange = Vec::new();
        let columns = &self.columns[form];
        for (index, text) in record.cells.iter().enumerate() {
            let column = self.names[index].as_str();
            match columns[index] {
                Some(at) => cells.push(Cell { at, column, text }),
                None if text.trim().is_empty() => {}
                None if self.columns.iter().any(|form| form[index].is_some()) => {
                    strange.push(column);
                }
                // Nobody knows it: the header's own line says so once.
                None => {}
            }
        }
        (cells, strange)
    }
}

fn guess(source: &Source, folds: &[String], kinds: Kinds) -> Option<Holds> {
    let has = |name: &str| folds.iter().any(|fold| fold == name);
    let named = Holds::named(kinds, &source.stem());
    // The narrowest word first: a row of readings names a piece and an instrument too.
    let told = [
        ("job", Holds::Jobs),
        ("dimension", Holds::Readings),
        ("piece", Holds::Pieces),
        ("instrument", Holds::Instruments),
    ];
    if let Some((_, holds)) = told.into_iter().find(|(column, _)| has(column)) {
        return Some(holds);
    }
    match named {
        Some(Holds::Parts(kind)) => Some(Holds::Parts(kind)),
        Some(_) if has("kind") => Some(Holds::Parts(None)),
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

const NOT_KNOWN: &str = "this column is not known";

/// The refusal of a column that no form of the file has, or not the one of the only kind in `scope`.
fn unknown_column(forms: &Forms, holds: Holds, scope: Option<usize>, fold: &str) -> Error {
    let error = Error::input(NOT_KNOWN);
    let all = forms.of(holds);
    if let Some(only) = scope {
        let has = |form: &usize| all[*form].column(fold).is_some();
        let of_others: Vec<&str> =
            (0..all.len()).filter(has).map(|at| forms.parts[at].0.key).collect();
        if !of_others.is_empty() {
            let (own, others) = (forms.parts[only].0.key, of_others.join(", "));
            return error.hint(format!("a {own} has none; it belongs to {others}"));
        }
    }
    // One name stands in many forms: each is offered once, in the forms' order.
    let mut seen = HashSet::new();
    let in_scope = all.iter().enumerate().filter(|(at, _)| scope.is_none_or(|only| only == *at));
    let names = in_scope.flat_map(|(_, form)| form.names());
    let names: Vec<String> = names.filter(|name| seen.insert(name.clone())).collect();
    error.near(fold, names.iter().map(String::as_str), "the templates list every column")
}
