//! A table looked into: its headings, what they mean and what it holds by them, and the rows beneath.

use std::collections::HashSet;

use super::holds::{Forms, Holds};
use super::mark::Mark;
use super::problems::Problems;
use super::record::Record;
use super::rows;
use super::table::Table;
use crate::error::Error;
use crate::model::agreed::{Agreed, AskedTopic, Doubt};
use crate::model::headings::{Headings, Meaning, REASONS};
use crate::model::kinds::{Kinds, folded};

/// More columns than all kinds have in all their ways of writing them.
const MOST_COLUMNS: usize = 5000;

/// How many unknown columns are told with the one that was meant.
pub(super) const MOST_MEANT: usize = 50;

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
    pub(super) fn ask(&mut self, rules: &SheetRules<'_>, question: Doubt, name: &str) {
        if rules.agreed.has(question.topic) {
            self.notes.push(format!("{name} line {}: {}", question.line, question.text));
        } else {
            self.questions.push(question);
        }
    }
}

/// A table that was looked into: its headings, and the rows beneath them.
pub(super) struct Opened {
    pub(super) name: String,
    pub(super) stem: String,
    pub(super) mark: Mark,
    /// The line of the headings.
    pub(super) line: usize,
    pub(super) names: Vec<String>,
    pub(super) records: Vec<Record>,
}

/// Looks into a table. `None` where it cannot be read or is passed over.
pub(super) fn open(
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
pub(super) fn folded_by(
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
pub(super) fn unknown_columns(
    forms: &Forms,
    guessed: Option<Holds>,
    folds: &[String],
) -> Vec<usize> {
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
pub(super) fn strange_kinds(
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
pub(super) fn named(
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

pub(super) fn guess(stem: &str, folds: &[String], kinds: Kinds) -> Option<Holds> {
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

pub(super) fn untold() -> Error {
    Error::input("it cannot be told whether the file holds parts or jobs").hint(
        "add a column `kind` or `job`, give --kind, or name the file for its kind, such as \
         `flywheels.csv`",
    )
}

pub(super) const NOT_KNOWN: &str = "this column is not known";

/// The refusal of a column that no form of the file has, or not the one of the only kind in `scope`.
pub(super) fn unknown_column(
    forms: &Forms,
    holds: Holds,
    scope: Option<usize>,
    fold: &str,
) -> Error {
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
