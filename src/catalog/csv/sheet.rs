//! One table as rows under known columns.

use std::collections::HashSet;

use super::amend::doubt;
use super::cells::Cell;
use super::column::{Aspect, ColumnRef, ColumnShape};
use super::field::Content;
use super::holds::Holds;
use super::mark::Mark;
use super::opened::{
    MOST_MEANT, NOT_KNOWN, Opened, SheetRules, SheetsFound, Strange, folded_by, guess, named, open,
    strange_kinds, unknown_column, unknown_columns, untold,
};
use super::record::Record;
use super::rows;
use super::table::Table;
use crate::error::{Error, Result};
use crate::model::agreed::{AskedTopic, Doubt};
use crate::model::words::count;

/// A table's rows under its columns.
#[derive(Debug)]
pub(super) struct Sheet {
    pub(super) file: usize,
    pub(super) holds: Holds,
    /// The name that may tell what it holds.
    pub(super) stem: String,
    pub(super) mark: Mark,
    pub(super) records: Vec<Record>,
    pub(super) names: Vec<String>,
    /// The column that each of them means, blank where it is passed over.
    folds: Vec<String>,
    /// For each form (a kind's by its position, or the only one) where each column belongs.
    columns: Vec<Vec<Option<ColumnRef>>>,
    keys: Vec<usize>,
    kind: Option<usize>,
    /// The columns that are passed over.
    passed: Vec<bool>,
    /// The shop's own words for kinds of part.
    pub(super) words: Vec<(String, String)>,
}

impl Sheet {
    /// Reads a table's header. `None` where its rows cannot be understood, of which the reason is noted,
    /// and where the whole table is passed over, which is asked about.
    pub(super) fn read(
        table: Table,
        file: usize,
        rules: &SheetRules<'_>,
        found: &mut SheetsFound,
    ) -> Option<Self> {
        let forms = rules.forms;
        let Opened { name: table_name, stem, mark, line, names, records } =
            open(table, file, rules, found)?;
        let known = rules
            .given
            .or_else(|| rules.learned.iter().find(|headings| headings.are_those(&names)));
        if let Some(headings) =
            known.filter(|headings| rules.given.is_none() && !headings.name.is_empty())
        {
            found.notes.push(format!("{table_name}: read by the headings `{}`", headings.name));
        }
        let (folds, passed) = folded_by(known, rules, &names);
        let of_headings = known
            .filter(|headings| !headings.holds.is_empty())
            .and_then(|headings| Holds::named(forms.kinds, &headings.holds));
        let guessed = rules.asked.or(of_headings).or_else(|| {
            if rules.prices {
                return Some(Holds::Parts(None));
            }
            guess(&stem, &folds, forms.kinds)
        });
        let lacks_key = guessed.is_none_or(|holds| {
            holds.keys().iter().any(|key| !folds.iter().any(|fold| fold == key))
        });
        let unknown = unknown_columns(forms, guessed, &folds);
        let strange_kinds = strange_kinds(&folds, &records, known, forms.kinds);
        if lacks_key || !unknown.is_empty() || !strange_kinds.is_empty() {
            found.strange.push(Strange {
                kinds: strange_kinds,
                table: table_name.clone(),
                holds: guessed.map(|holds| holds.word().to_string()),
                // Where each is known and the key is missing, one of them is known wrongly.
                headings: named(&names, &records, |at| {
                    let is_doubtful = lacks_key && unknown.is_empty();
                    !is_doubtful && !unknown.contains(&at)
                }),
            });
        }
        let problems = &mut found.problems;
        let mut refuse = |column, error| problems.add(file, line, column, error);
        let Some(holds) = guessed else {
            refuse(None, untold());
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
        for (nth, index) in unknown.iter().enumerate() {
            let error = if nth >= MOST_MEANT {
                Error::input(NOT_KNOWN)
            } else {
                unknown_column(forms, holds, scope, &folds[*index])
            };
            refuse(Some(names[*index].as_str()), error);
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
        let mut sheet = Self {
            file,
            holds,
            stem,
            mark,
            records,
            names,
            folds,
            columns,
            keys,
            kind,
            passed,
            words: known.map(|headings| headings.kinds.clone()).unwrap_or_default(),
        };
        sheet.pass_over_strays(rules, found, &table_name);
        let columns = sheet.passed.iter().filter(|passed| **passed).count();
        if rules.prices && columns > 0 {
            let columns = count(columns as u128, "other column");
            found.notes.push(format!("{table_name}: {columns} of a list of prices passed over"));
        }
        sheet.amend(rules, found, &table_name);
        Some(sheet)
    }

    /// Takes out what is no row of the list, and asks about it.
    fn pass_over_strays(&mut self, rules: &SheetRules<'_>, found: &mut SheetsFound, table: &str) {
        let last = self.records.len().saturating_sub(1);
        let (file, key) = (self.file, self.keys[0]);
        let mut at = 0;
        let names = &self.names;
        self.records.retain(|record| {
            let is_last = at == last;
            at += 1;
            let Some(what) = rows::stray(record, names, key, is_last, rules.forms.kinds) else {
                return true;
            };
            let text = format!("`{}` looks like {what}, and is passed over", rows::shown(record));
            let (topic, line) = (AskedTopic::Rows, record.line);
            found.ask(rules, Doubt { topic, file, line, column: None, text }, table);
            false
        });
    }

    /// Takes cells for what they mean, and asks about those that may be meant otherwise.
    fn amend(&mut self, rules: &SheetRules<'_>, found: &mut SheetsFound, table: &str) {
        let forms = rules.forms.of(self.holds);
        let contents: Vec<Option<(Content, ColumnShape)>> = (0..self.names.len())
            .map(|column| {
                let of = |(form, columns): (usize, &Vec<Option<ColumnRef>>)| {
                    let at = columns[column]?;
                    Some(forms[form].content(at.field))
                };
                self.columns.iter().enumerate().find_map(of)
            })
            .collect();
        let splits = rules.agreed.has(AskedTopic::SplitFaces);
        for record in &mut self.records {
            let line = record.line;
            for (column, cell) in record.cells.iter_mut().enumerate() {
                let Some(Some(content)) = contents.get(column).copied() else { continue };
                if cell.is_blank() {
                    continue;
                }
                match doubt(cell, content, splits) {
                    Ok(None) => {}
                    Ok(Some(doubt)) => {
                        let column = Some(self.names[column].clone());
                        let (topic, text) = (doubt.topic, doubt.text);
                        found.ask(
                            rules,
                            Doubt { topic, file: self.file, line, column, text },
                            table,
                        );
                        cell.take(doubt.taken);
                    }
                    Err(error) => {
                        found.problems.add(self.file, line, Some(&self.names[column]), error);
                        // What it is was told: nothing else is made of it.
                        if content.0 != Content::Name {
                            cell.take(String::new());
                        }
                    }
                }
            }
        }
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
            if name.trim().is_empty() && !cell.is_blank() {
                let text = &cell.text;
                return Err(Error::input(format!("`{text}` stands in a column without a name")));
            }
        }
        Ok(())
    }

    /// One of the cells that say what the row is about, and its column: the first for a part's or
    /// job's name, more for what has no name of its own.
    pub(super) fn key<'r>(&'r self, record: &'r Record, which: usize) -> (&'r str, &'r str) {
        let column = self.keys[which];
        (&self.names[column], record.cells[column].text.trim())
    }

    /// The cell that says of which kind the row is, where it is filled, and its column.
    pub(super) fn kind<'r>(&'r self, record: &'r Record) -> Option<(&'r str, &'r str)> {
        let index = self.kind?;
        let cell = record.cells[index].text.trim();
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
        for (index, typed) in record.cells.iter().enumerate() {
            let column = self.names[index].as_str();
            match columns[index] {
                Some(at) => {
                    // Of the shop's own columns the cell's column is all that tells which one it is.
                    let is_own = at.aspect == Aspect::Own;
                    let column = if is_own { self.folds[index].as_str() } else { column };
                    cells.push(Cell { at, column, text: &typed.text, sort: typed.sort });
                }
                None if typed.is_blank() || self.passed[index] => {}
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
