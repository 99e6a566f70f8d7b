//! What an import would make of each thing, field by field.

use super::View;
use super::page::Page;
use crate::model::history::{Becomes, Deed, FieldChange, Held};
use crate::model::kinds::Kinds;
use crate::model::words::count;

/// What becomes of everything: first how much is blanked, then what changes, then what is new; at most
/// so many things of each.
pub fn becomes(all: &[Becomes], kinds: Kinds, most: usize, view: View) -> String {
    let mut page = Page::new(view.width);
    let changed: Vec<&Becomes> = all.iter().filter(|one| one.deed == Deed::Changed).collect();
    let new: Vec<&Becomes> = all.iter().filter(|one| one.deed == Deed::Added).collect();
    let (values, things) = changed
        .iter()
        .map(|one| one.blanked())
        .filter(|blanked| *blanked > 0)
        .fold((0, 0), |(values, things), blanked| (values + blanked, things + 1));
    if !changed.is_empty() {
        let values = count(values as u128, "value");
        let of = if things == 0 { String::new() } else { format!(", in {things} of them") };
        page.wrap("", 2, &format!("Blanked: {values} of what is in the catalog{of}."));
    }
    // What goes is looked at first.
    let (going, others): (Vec<&Becomes>, Vec<&Becomes>) =
        changed.into_iter().partition(|one| one.blanked() > 0);
    section(&mut page, "Changed:", going.into_iter().chain(others), kinds, most, view);
    section(&mut page, "New:", new.into_iter(), kinds, most, view);
    page.finish()
}

fn section<'a>(
    page: &mut Page,
    title: &str,
    things: impl Iterator<Item = &'a Becomes>,
    kinds: Kinds,
    most: usize,
    view: View,
) {
    let things: Vec<&Becomes> = things.collect();
    if things.is_empty() {
        return;
    }
    page.line(title);
    for one in things.iter().take(most) {
        let (what, name) = (one.subject.word(), &one.name);
        if one.deed == Deed::Added {
            let kind = one.changes.iter().find_map(|change| match &change.to {
                Held::Text(kind) if change.field == "kind" => Some(kind.as_str()),
                _ => None,
            });
            let fields = one.changes.iter().filter(|change| change.field != "kind");
            let fields = fields.map(|FieldChange { field, to, .. }| {
                format!("{field} {}", held(kinds, field, to, view))
            });
            let fields: String = fields.collect::<Vec<_>>().join(", ");
            let colon = if fields.is_empty() { "" } else { ": " };
            let what = kind.unwrap_or(what);
            page.wrap("  ", 4, &format!("{what} {name}{colon}{fields}"));
            continue;
        }
        page.line(format!("  {what} {name}"));
        for FieldChange { field, from, to } in &one.changes {
            let (from, to) = (held(kinds, field, from, view), held(kinds, field, to, view));
            page.wrap("    ", 6, &format!("{field}: {from} -> {to}"));
        }
    }
    if let Some(more @ 1..) = things.len().checked_sub(most) {
        page.line(format!("  and {more} more"));
    }
}

pub(super) fn held(kinds: Kinds, field: &str, value: &Held, view: View) -> String {
    match (value, kinds.sides(field)) {
        (Held::Length(length), Some(sides)) => sides.show(*length, view.unit),
        (Held::Length(length), None) => length.exact(view.unit),
        (Held::Text(text), _) => text.clone(),
        (Held::Blank, _) => "blank".into(),
    }
}
