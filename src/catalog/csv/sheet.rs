//! One table as rows under known columns.

use std::collections::HashSet;

use super::amend::doubt;
use super::cells::Cell;
use super::column::{Aspect, ColumnRef, ColumnShape};
use super::field::Content;
use super::holds::{Forms, Holds};
use super::mark::Mark;
use super::problems::Problems;
use super::record::Record;
use super::rows;
use super::table::Table;
use crate::error::{Error, Result};
use crate::model::agreed::{Agreed, AskedTopic, Doubt};
use crate::model::headings::{Headings, Meaning, REASONS};
use crate::model::kinds::{Kinds, folded};
use crate::model::words::count;

/// More columns than all kinds have in all their ways of writing them.
const MOST_COLUMNS: usize = 5000;

/// How many unknown columns are told with the one that was meant.
const MOST_MEANT: usize = 50;

/// The columns that a list of prices is read for.
const OF_PRICES: [&str; 3] = ["id", "price", "lead_days"];

/// What sheets are read by.
#[derive(Debug)]
pub(super) struct SheetRules<'a> {
    pub(super) forms: &'a Forms,
    /// What every table holds, where that was asked for.
    pub(super) asked: Option<Holds>,
    /// The headings that the catalog has learned.
    pub(super) learned: &'a [Headings],
    /// The headings that were given for this run.
    pub(super) given: Option<&'a Headings>,
    pub(super) agreed: &'a Agreed,
    /// The tables are lists of prices.
    pub(super) prices: bool,
}

/// What was found while sheets were read.
#[derive(Debug, Default)]
pub(super) struct SheetsFound {
    pub(super) problems: Problems,
    pub(super) questions: Vec<Doubt>,
    /// What is passed over or could have been read otherwise.
    pub(super) notes: Vec<String>,
    /// The tables whose headings are not all known.
    pub(super) strange: Vec<Strange>,
}

/// A table of which the headings are not all known.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Strange {
    /// The table's name.
    pub table: String,
    /// What it holds as far as its name or a column says it: a kind's plural or a word such as `jobs`.
    pub holds: Option<String>,
    /// Each heading with up to three of the cells under it, and whether it is known.
    pub headings: Vec<(String, Vec<String>, bool)>,
    /// The words for kinds of part that are not known.
    pub kinds: Vec<String>,
}

impl SheetsFound {
    /// Asks about something; what was agreed to is only noted.
    fn ask(&mut self, rules: &SheetRules<'_>, question: Doubt, name: &str) {
        if rules.agreed.has(question.topic) {
            self.notes.push(format!("{name} line {}: {}", question.line, question.text));
        } else {
            self.questions.push(question);
        }
    }
}

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

/// A table that was looked into: its headings, and the rows beneath them.
struct Opened {
    name: String,
    stem: String,
    mark: Mark,
    /// The line of the headings.
    line: usize,
    names: Vec<String>,
    records: Vec<Record>,
}

/// Looks into a table. `None` where it cannot be read or is passed over.
fn open(
    table: Table,
    file: usize,
    rules: &SheetRules<'_>,
    found: &mut SheetsFound,
) -> Option<Opened> {
    let forms = rules.forms;
    found.notes.extend(table.notes.iter().cloned());
    let header_lost = table
        .errors
        .first()
        .is_some_and(|(line, _)| table.records.first().is_none_or(|record| record.line > *line));
    for (line, error) in &table.errors {
        found.problems.add(file, *line, None, error.clone());
    }
    if header_lost {
        return None;
    }
    let is_known = |fold: &str| forms.all().iter().any(|form| form.column(fold).is_some());
    let set_aside = set_aside(&table, rules, &is_known);
    if let Some(text) = set_aside {
        let topic = AskedTopic::Rows;
        let question = Doubt { topic, file, line: 1, column: None, text: text.into() };
        found.ask(rules, question, &table.name);
        return None;
    }
    if table.records.is_empty() {
        let error = Error::input("the file is empty").hint("its first line names the columns");
        found.problems.add(file, 1, None, error);
        return None;
    }
    let learned: Vec<&Headings> = rules.learned.iter().collect();
    let at = rows::header(&table, &learned, rules.given, &is_known);
    let Table { name, stem, mark, mut records, .. } = table;
    for record in &records[..at] {
        let text =
            format!("`{}` stands above the headings, and is passed over", rows::shown(record));
        let (topic, line) = (AskedTopic::Rows, record.line);
        found.ask(rules, Doubt { topic, file, line, column: None, text }, &name);
    }
    records.drain(..at);
    let header = records.remove(0);
    let mut names: Vec<String> =
        header.cells.iter().map(|cell| cell.text.trim().to_string()).collect();
    // A program that writes a sheet to its widest row leaves blank headings behind.
    unpad(&header, &mut names, &mut records);
    if names.len() > MOST_COLUMNS {
        let error = Error::input(format!("the header has {} columns", names.len()))
            .hint(format!("a file may have {MOST_COLUMNS}; is the separator another one?"));
        found.problems.add(file, header.line, None, error);
        return None;
    }
    Some(Opened { name, stem, mark, line: header.line, names, records })
}

/// Why a whole worksheet is passed over, where it is.
fn set_aside(
    table: &Table,
    rules: &SheetRules<'_>,
    is_known: &dyn Fn(&str) -> bool,
) -> Option<&'static str> {
    if table.is_hidden {
        return Some("the worksheet is hidden, and is passed over");
    }
    if !table.is_of_many || rules.given.is_some() || !rows::has_no_heading(table, is_known) {
        return None;
    }
    let is_learned = |record: &Record| {
        let row: Vec<String> = record.cells.iter().map(|cell| cell.text.clone()).collect();
        rules.learned.iter().any(|headings| headings.are_those(&row))
    };
    let is_list = table.records.iter().take(rows::LOOKED_AT).any(is_learned);
    (!is_list).then_some("the worksheet has no heading that is known, and is passed over")
}

/// Takes off the blank headings that a program leaves which writes a sheet to its widest row.
fn unpad(header: &Record, names: &mut Vec<String>, records: &mut [Record]) {
    let filled = |record: &Record| {
        record.cells.iter().rposition(|cell| !cell.is_blank()).map_or(0, |last| last + 1)
    };
    let width = records.iter().map(filled).chain([1]).max().unwrap_or(1);
    while names.len() > width && names.last().is_some_and(String::is_empty) {
        names.pop();
    }
    let before = header.cells.len();
    for record in records.iter_mut().filter(|record| record.cells.len() == before) {
        record.cells.truncate(names.len());
    }
}

/// The column that each heading means, folded, and which are passed over.
fn folded_by(
    known: Option<&Headings>,
    rules: &SheetRules<'_>,
    names: &[String],
) -> (Vec<String>, Vec<bool>) {
    let fold = |name: &String| {
        let fold = match known.and_then(|headings| headings.means(name)) {
            Some(Meaning::Column(column)) => folded(column),
            Some(Meaning::PassedOver) => String::new(),
            None if folded(name) == REASONS => String::new(),
            None => folded(name),
        };
        let is_of_prices = !rules.prices || OF_PRICES.contains(&fold.as_str());
        let fold = if is_of_prices { fold } else { String::new() };
        let is_passed = fold.is_empty() && !name.is_empty();
        (fold, is_passed)
    };
    names.iter().map(fold).unzip()
}

/// The columns that no form of the table has, as far as it is known what it holds.
fn unknown_columns(forms: &Forms, guessed: Option<Holds>, folds: &[String]) -> Vec<usize> {
    let all = guessed.map_or_else(|| forms.all(), |holds| forms.of(holds));
    let only = match guessed {
        // Without a column of kinds every row is of the one kind that the file is named for.
        Some(Holds::Parts(Some(kind))) if !folds.iter().any(|fold| fold == "kind") => {
            forms.of_kind(kind)
        }
        _ => None,
    };
    let has = |fold: &str| match only {
        Some(only) => all[only].column(fold).is_some(),
        None => all.iter().any(|form| form.column(fold).is_some()),
    };
    (0..folds.len()).filter(|at| !folds[*at].is_empty() && !has(&folds[*at])).collect()
}

/// The words under `kind` that are no kind of part, each once.
fn strange_kinds(
    folds: &[String],
    records: &[Record],
    known: Option<&Headings>,
    kinds: Kinds,
) -> Vec<String> {
    let Some(column) = folds.iter().position(|fold| fold == "kind") else { return Vec::new() };
    let mut strange: Vec<String> = Vec::new();
    let cells = records.iter().filter_map(|record| record.cells.get(column));
    for word in cells.map(|cell| cell.text.trim()).filter(|word| !word.is_empty()) {
        let is_known = Holds::named(kinds, word).is_some()
            || known.is_some_and(|known| known.kind(word).is_some());
        if !is_known && !strange.iter().any(|other| other == word) && strange.len() < MOST_MEANT {
            strange.push(word.into());
        }
    }
    strange
}

/// Each heading with up to three filled cells under it.
fn named(
    names: &[String],
    records: &[Record],
    is_known: impl Fn(usize) -> bool,
) -> Vec<(String, Vec<String>, bool)> {
    let samples = |column: usize| {
        let cells = records.iter().filter_map(|record| record.cells.get(column));
        let filled = cells.filter(|cell| !cell.is_blank()).map(|cell| cell.text.trim().to_string());
        let mut samples: Vec<String> = Vec::new();
        for text in filled {
            if !samples.contains(&text) {
                samples.push(text);
            }
            if samples.len() == 3 {
                break;
            }
        }
        samples
    };
    let filled = names.iter().enumerate().filter(|(_, name)| !name.is_empty());
    filled.map(|(at, name)| (name.clone(), samples(at), is_known(at))).collect()
}

fn guess(stem: &str, folds: &[String], kinds: Kinds) -> Option<Holds> {
    let has = |name: &str| folds.iter().any(|fold| fold == name);
    let named = Holds::named(kinds, stem);
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

fn untold() -> Error {
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
    let keeps_own = all.iter().any(|form| form.column("own_name").is_some());
    let advice = if keeps_own {
        "the templates list every column; `own_NAME` keeps one of the shop's own"
    } else {
        "the templates list every column"
    };
    error.near(fold, names.iter().map(String::as_str), advice)
}
