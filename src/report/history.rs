//! Who changed what and when.

use serde::Serialize;

use super::View;
use super::columns;
use super::json::{self, L};
use super::page::Page;
use crate::model::history::{Deed, Event, FieldChange, Held, Stamp, Subject, TakenBack};
use crate::model::kinds::Kinds;
use crate::model::length::Unit;
use crate::model::words::count;

/// Events under the commands that they came with, the newest last.
pub fn table(kinds: Kinds, events: &[Event], earlier: usize, view: View) -> String {
    let mut page = Page::new(view.width);
    if events.is_empty() {
        page.line("No change is on record.");
        return page.finish();
    }
    if earlier > 0 {
        let number = count(earlier as u128, "earlier change");
        page.line(format!("{number} not shown: `--limit N` shows more."));
        page.gap();
    }
    list(&mut page, kinds, events, view.unit);
    page.finish()
}

/// The events of a page, each under its command.
pub(super) fn list(page: &mut Page, kinds: Kinds, events: &[Event], unit: Unit) {
    for of_command in events.chunk_by(|a, b| a.command == b.command) {
        let first = &of_command[0];
        let lead = format!("{}. ", first.command);
        let back = first.taken_back_by.map(|by| format!(" (taken back by {by})"));
        page.hanging(&lead, stamped(&first.stamp) + &back.unwrap_or_default());
        for event in of_command {
            page.wrap("  ", 4, &words(kinds, event, unit));
        }
    }
}

/// A command that was taken back, with what that did.
pub fn taken_back(kinds: Kinds, back: &TakenBack, view: View) -> String {
    let mut page = Page::new(view.width);
    page.line(format!("Took back command {} ({}):", back.command, stamped(&back.stamp)));
    for event in &back.events {
        page.wrap("  ", 4, &words(kinds, event, view.unit));
    }
    page.line(format!("`bellstack undo {}` does it again.", back.by));
    page.finish()
}

/// When and by whom, with the command.
fn stamped(stamp: &Stamp) -> String {
    let Stamp { at, command, .. } = stamp;
    format!("{at}, {}: {command}", by(stamp))
}

/// Who it was.
pub(super) fn by(stamp: &Stamp) -> &str {
    if stamp.by.is_empty() { "unknown" } else { &stamp.by }
}

/// What became of a thing, in words.
pub(super) fn words(kinds: Kinds, event: &Event, unit: Unit) -> String {
    let thing = match event.subject {
        Subject::House => "house numbers".into(),
        Subject::Catalog => "the catalog".into(),
        subject => format!("{} {}", subject.word(), event.name),
    };
    let fields = event.changes.iter().map(|FieldChange { field, from, to }| {
        let held = |value: &Held| match (value, kinds.sides(field)) {
            (Held::Length(length), Some(sides)) => sides.show(*length, unit),
            _ => held(value, unit),
        };
        let (from, to) = (held(from), held(to));
        match event.deed {
            Deed::Removed => format!("{field} {from}"),
            Deed::Added | Deed::Changed => format!("{field}: {from} -> {to}"),
        }
    });
    let fields = fields.collect::<Vec<_>>().join(", ");
    match event.deed {
        Deed::Changed => format!("{thing}, {fields}"),
        deed if fields.is_empty() => format!("{thing} {}", deed.word()),
        deed => format!("{thing} {}; it had {fields}", deed.word()),
    }
}

fn held(held: &Held, unit: Unit) -> String {
    match held {
        Held::Blank => "(blank)".into(),
        Held::Length(length) => length.exact(unit),
        Held::Text(text) => text.clone(),
    }
}

/// One row a field that changed; what has no field that changed has a row of its own.
pub fn csv(events: &[Event], view: View) -> String {
    let header = [
        "number",
        "at",
        "by",
        "command",
        "subject",
        "name",
        "part",
        "deed",
        "field",
        "from",
        "to",
        "taken_back_by",
    ];
    let mut all = vec![header.map(String::from).to_vec()];
    let cell = |value: &Held| match value {
        Held::Blank => String::new(),
        value => held(value, view.unit),
    };
    for event in events {
        let Stamp { at, by, command } = &event.stamp;
        let part = event.part.as_deref().unwrap_or_default();
        let (subject, deed) = (event.subject.word(), event.deed.word());
        let number = event.command.to_string();
        let lead = [&number, at, by, command, subject, &event.name, part, deed].map(String::from);
        let back = event.taken_back_by.map(|by| by.to_string()).unwrap_or_default();
        let mut row = |[field, from, to]: [String; 3]| {
            all.push([lead.as_slice(), &[field, from, to, back.clone()]].concat());
        };
        if event.changes.is_empty() {
            row(Default::default());
        }
        for change in &event.changes {
            row([change.field.clone(), cell(&change.from), cell(&change.to)]);
        }
    }
    columns::write(all)
}

/// Events as one JSON object.
pub fn json(events: &[Event], earlier: usize) -> String {
    #[derive(Serialize)]
    struct History<'a> {
        earlier: usize,
        changes: Vec<EventRow<'a>>,
    }
    json::object(History { earlier, changes: events.iter().map(EventRow::of).collect() })
}

/// An event in JSON.
#[derive(Serialize)]
pub(super) struct EventRow<'a> {
    number: i64,
    taken_back_by: Option<i64>,
    #[serde(flatten)]
    stamp: StampRow<'a>,
    subject: &'a str,
    name: &'a str,
    part: Option<&'a str>,
    deed: &'a str,
    fields: Vec<FieldRow<'a>>,
}

/// Who, when, and with which command.
#[derive(Serialize)]
pub(super) struct StampRow<'a> {
    at: &'a str,
    by: &'a str,
    command: &'a str,
}

#[derive(Serialize)]
struct FieldRow<'a> {
    field: &'a str,
    from: HeldRow<'a>,
    to: HeldRow<'a>,
}

#[derive(Serialize)]
#[serde(untagged)]
enum HeldRow<'a> {
    Blank(()),
    Length(L),
    Text(&'a str),
}

impl<'a> StampRow<'a> {
    pub(super) fn of(stamp: &'a Stamp) -> Self {
        Self { at: &stamp.at, by: &stamp.by, command: &stamp.command }
    }
}

impl<'a> EventRow<'a> {
    pub(super) fn of(event: &'a Event) -> Self {
        let held = |held: &'a Held| match held {
            Held::Blank => HeldRow::Blank(()),
            Held::Length(length) => HeldRow::Length((*length).into()),
            Held::Text(text) => HeldRow::Text(text),
        };
        let field = |change: &'a FieldChange| FieldRow {
            field: &change.field,
            from: held(&change.from),
            to: held(&change.to),
        };
        Self {
            number: event.command,
            taken_back_by: event.taken_back_by,
            stamp: StampRow::of(&event.stamp),
            subject: event.subject.word(),
            name: &event.name,
            part: event.part.as_deref(),
            deed: event.deed.word(),
            fields: event.changes.iter().map(field).collect(),
        }
    }
}
