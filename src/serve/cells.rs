//! Every field of a part or a job in one form, and what was changed in it as pairs of a row.
//!
//! Beside each field stands what was in it: only what somebody changed is stored, so that a form which
//! lay open for an hour takes nothing back that others stored meanwhile.

use maud::{Markup, html};

use super::form::{Fields, asked};
use super::visit::Visit;
use crate::catalog::csv::{CellOf, ShownCell};
use crate::desk::with_unit;
use crate::model::length::Unit;
use crate::report::html::{text, words};

/// The field that holds what stood in another one.
fn was(column: &str) -> String {
    format!("was.{column}")
}

/// What a field is chosen from, where not everything may be written into it.
pub(super) type Choices<'c> = &'c dyn Fn(&str) -> Option<Vec<String>>;

/// The fields, each with what it means.
pub(super) fn fields(visit: &Visit, cells: &[ShownCell], choices: Choices<'_>) -> Markup {
    let groups = cells.chunk_by(|a, b| a.key == b.key);
    html! {
        div.cells {
            @for group in groups {
                @let key = group.first().map_or("", |cell| cell.key);
                div.cell id=(format!("field-{key}")) {
                    @for cell in group.iter().filter(|cell| is_shown(visit, cell)) { (field(visit, cell, choices)) }
                    @if let Some(first) = group.first() { small { (words(first.about)) } }
                }
            }
        }
    }
}

/// A bar has a field only where there was one: a length is mostly given without.
fn is_shown(visit: &Visit, cell: &ShownCell) -> bool {
    cell.holds != CellOf::Bar || !cell.text.is_empty() || visit.query.has(&cell.column)
}

fn field(visit: &Visit, cell: &ShownCell, choices: Choices<'_>) -> Markup {
    let column = cell.column.as_str();
    let sent = visit.form.has(column).then(|| visit.form.text(column));
    let typed = sent.or(visit.query.one(column)).unwrap_or(&cell.text);
    let name = column.replace('_', " ");
    html! {
        label.field {
            span {
                @match cell.holds {
                    CellOf::Value => { (name) }
                    CellOf::Tolerance => { "give or take" span.unseen { ": " (name) } }
                    CellOf::Bar => { "over a bar" span.unseen { ": " (name) } }
                }
            }
            @match choices(column).filter(|_| cell.holds == CellOf::Value) {
                Some(choices) => {
                    select name=(column) {
                        @for choice in with(&choices, typed) { option value=(choice) selected[choice == typed] { (text(choice)) } }
                    }
                }
                None => { input type="text" autocomplete="off" name=(column) value=(typed); }
            }
        }
        input type="hidden" name=(was(column)) value=(cell.text);
    }
}

/// The choices, and what is chosen where it is none of them.
fn with<'c>(choices: &'c [String], chosen: &'c str) -> Vec<&'c str> {
    let mut all: Vec<&str> = choices.iter().map(String::as_str).collect();
    if !all.contains(&chosen) {
        all.push(chosen);
    }
    all
}

/// The columns that were changed, as pairs of a row. A bare number in a field of lengths is in the
/// form's unit.
pub(super) fn changed(form: &Fields, cells: &[ShownCell], unit: Unit) -> Vec<(String, String)> {
    let pair = |cell: &ShownCell| {
        let column = cell.column.as_str();
        let (typed, was) = (form.text(column), form.text(&was(column)));
        if !form.has(column) || typed == was {
            return None;
        }
        let told = if cell.is_length { with_unit(typed, unit) } else { typed.into() };
        Some((column.to_string(), told))
    };
    cells.iter().filter_map(pair).collect()
}

/// Pairs as a row takes them.
pub(super) fn pairs(changed: &[(String, String)]) -> Vec<String> {
    changed.iter().map(|(column, value)| format!("{column}={value}")).collect()
}

/// The same as a command line would have them.
pub(super) fn typed(changed: &[(String, String)]) -> String {
    let quoted = |value: &str| {
        let is_plain = |c: char| c.is_alphanumeric() || "-_./,:#|%+@".contains(c);
        match value {
            value if !value.is_empty() && value.chars().all(is_plain) => value.to_string(),
            value if value.contains('\'') => format!("\"{value}\""),
            value => format!("'{value}'"),
        }
    };
    let all = changed.iter().map(|(column, value)| format!("{column}={}", quoted(value)));
    all.collect::<Vec<_>>().join(" ")
}

/// A form's address with what was changed in it, to look at it anew.
pub(super) fn again(path: &str, id: (&str, &str), changed: &[(String, String)]) -> String {
    let fields = changed.iter().map(|(column, value)| (column.as_str(), value.as_str()));
    asked(path, std::iter::once(id).chain(fields))
}

/// What was changed, in words.
pub(super) fn list(changed: &[(String, String)]) -> Markup {
    html! {
        ul.changes {
            @for (column, value) in changed {
                li { (column.replace('_', " ")) ": " (text(if value.is_empty() { "(blank)" } else { value })) }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cell(column: &str, text: &str, is_length: bool) -> ShownCell {
        let (column, text) = (column.to_string(), text.to_string());
        ShownCell { column, key: "x", about: "", text, is_length, holds: CellOf::Value }
    }

    #[test]
    fn only_what_was_changed_is_stored_whatever_others_did_since() {
        let form = Fields::read(
            "price=5&was.price=5&thickness=0.9&was.thickness=1.000+in&notes=&was.notes=old&odd=1",
        );
        let cells = [
            cell("price", "7", false),
            cell("thickness", "1.000 in", true),
            cell("notes", "old", false),
            cell("maker", "", false),
        ];
        let changed = changed(&form, &cells, Unit::In);
        assert_eq!(pairs(&changed), ["thickness=0.9 in", "notes="]);
        assert_eq!(typed(&changed), "thickness='0.9 in' notes=''");
        let address = again("/part/edit", ("id", "A"), &changed);
        assert_eq!(address, "/part/edit?id=A&thickness=0%2E9%20in".replace("%2E", "."));
    }
}
