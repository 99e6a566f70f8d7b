//! What a merge of two copies of a catalog did, or would do.

use serde::Serialize as Derive;

use super::View;
use super::becomes::{becomes, held};
use super::json;
use super::page::Page;
use crate::model::history::{Deed, FieldChange, Held, Subject};
use crate::model::kinds::Kinds;
use crate::model::length::Unit;
use crate::model::merge::{Conflict, Merged};
use crate::model::words::count;

/// How many things of each sort a table shows.
const MOST: usize = 20;

/// As a table: what came of the `other` catalog, as it was named, and whether it was `stored`.
pub fn table(told: &Merged, (other, stored): (&str, bool), kinds: Kinds, view: View) -> String {
    let mut page = Page::new(view.width);
    let (here, there) = told.since;
    let commands = |number: usize| count(number as u128, "command");
    page.line(format!(
        "Both went apart after command {}: {} here since, {} in {}.",
        told.common,
        commands(here),
        commands(there),
        other
    ));
    let (new, out, struck) = told.readings;
    if told.is_nothing() {
        page.line("Nothing is to be taken over.");
    }
    let mut shown = page.finish();
    shown += &becomes(&told.becomes, kinds, MOST, view);
    let mut page = Page::new(view.width);
    let gone = told.becomes.iter().filter(|one| one.deed == Deed::Removed);
    let gone: Vec<String> =
        gone.map(|one| format!("{} {}", one.subject.word(), one.name)).collect();
    if !gone.is_empty() {
        page.line(format!("Taken out: {}.", gone.join(", ")));
    }
    let sets =
        |number: usize| count(number as u128, "set of readings").replace("readingss", "readings");
    for (number, what) in
        [(new, "taken over"), (out, "taken out"), (struck, "struck out or counted again")]
    {
        if number > 0 {
            page.line(format!("{} {what}.", sets(number)));
        }
    }
    if !told.answers.is_empty() {
        page.line(format!("Kept answers taken over: {}.", told.answers.join(", ")));
    }
    if !told.conflicts.is_empty() {
        page.line("Both changed:");
        for conflict in &told.conflicts {
            page.hanging("  ", self::conflict(conflict, kinds, view.unit));
        }
    }
    if !stored {
        page.line("Nothing was stored.");
    }
    shown + &page.finish()
}

/// What both changed, in one line.
pub fn conflict(conflict: &Conflict, kinds: Kinds, unit: Unit) -> String {
    let Conflict { subject, name, change } = conflict;
    let what = match subject {
        Subject::House => "house numbers".into(),
        other => format!("{} {name}", other.word()),
    };
    let view = View::new(unit, 80);
    let shown = |value: &Held| held(kinds, &change.field, value, view);
    let (here, there) = (shown(&change.from), shown(&change.to));
    if change.field.is_empty() {
        return format!("{what}: here {here}, there {there}");
    }
    format!("{what}, {}: here {here}, there {there}", change.field)
}

/// As one JSON object.
pub fn json(told: &Merged, stored: bool, kinds: Kinds) -> String {
    #[derive(Derive)]
    struct Value<'a> {
        field: &'a str,
        from: Option<String>,
        to: Option<String>,
    }
    #[derive(Derive)]
    struct BecomesRow<'a> {
        subject: &'static str,
        name: &'a str,
        deed: &'static str,
        changes: Vec<Value<'a>>,
    }
    #[derive(Derive)]
    struct ConflictRow<'a> {
        subject: &'static str,
        name: &'a str,
        field: &'a str,
        here: Option<String>,
        there: Option<String>,
    }
    #[derive(Derive)]
    struct ReadingCounts {
        taken_over: usize,
        taken_out: usize,
        struck_or_counted: usize,
    }
    #[derive(Derive)]
    struct MergeListed<'a> {
        common_command: i64,
        commands_here: usize,
        commands_there: usize,
        stored: bool,
        taken: Vec<BecomesRow<'a>>,
        readings: ReadingCounts,
        answers: &'a [String],
        conflicts: Vec<ConflictRow<'a>>,
    }
    let view = View::new(Unit::In, 80);
    let value = |field: &str, value: &Held| match value {
        Held::Blank => None,
        known => Some(held(kinds, field, known, view)),
    };
    let taken = told.becomes.iter().map(|one| BecomesRow {
        subject: one.subject.word(),
        name: &one.name,
        deed: one.deed.word(),
        changes: one
            .changes
            .iter()
            .map(|FieldChange { field, from, to }| Value {
                field,
                from: value(field, from),
                to: value(field, to),
            })
            .collect(),
    });
    let both = told.conflicts.iter().map(|Conflict { subject, name, change }| ConflictRow {
        subject: subject.word(),
        name,
        field: &change.field,
        here: value(&change.field, &change.from),
        there: value(&change.field, &change.to),
    });
    let (taken_over, taken_out, struck_or_counted) = told.readings;
    json::object(MergeListed {
        common_command: told.common,
        commands_here: told.since.0,
        commands_there: told.since.1,
        stored,
        taken: taken.collect(),
        readings: ReadingCounts { taken_over, taken_out, struck_or_counted },
        answers: &told.answers,
        conflicts: both.collect(),
    })
}
