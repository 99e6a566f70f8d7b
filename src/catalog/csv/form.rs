//! A form: what is told of one kind of thing, field by field, each with its columns and with how it is
//! read and written. Files, templates, help, edits by hand and history follow from these tables.

use std::collections::{BTreeMap, BTreeSet};

use itertools::Itertools as _;

use super::cells::Row;
use super::column::{Aspect, ColumnRef, ColumnShape, column_name};
use super::field::{Content, Field};
use crate::model::history::{FieldChange as Difference, Held};
use crate::model::length::{Scale, Unit};
use crate::model::part::{OWN, OwnColumns, own_name};

/// Endings of a column's name behind the field's key; the longer ones first.
const ENDINGS: &[(&str, Aspect, Option<Scale>)] = &[
    ("_tol_in", Aspect::Tol, Some(Scale::Inch)),
    ("_tol_mm", Aspect::Tol, Some(Scale::Millimetre)),
    ("_bar_in", Aspect::Bar, Some(Scale::Inch)),
    ("_bar_mm", Aspect::Bar, Some(Scale::Millimetre)),
    ("_tol", Aspect::Tol, None),
    ("_bar", Aspect::Bar, None),
    ("_in", Aspect::Value, Some(Scale::Inch)),
    ("_mm", Aspect::Value, Some(Scale::Millimetre)),
];

/// The fields of one kind of thing, in the order of the columns.
#[derive(Debug)]
pub(in crate::catalog) struct RecordForm<T> {
    pub(super) fields: Vec<Field<T>>,
}

impl<T> RecordForm<T> {
    /// Reads a row onto a thing: what has no column stays as it is. What is wrong is noted in the row.
    pub(super) fn read(&self, row: &mut Row<'_>, thing: &mut T) {
        for (at, field) in self.fields.iter().enumerate() {
            if let Some(set) = &field.set {
                set(thing, row, at);
            }
        }
    }

    /// The columns of a file: each field, and behind it its tolerance and its bar.
    pub(super) fn columns(&self) -> impl Iterator<Item = (&Field<T>, Aspect)> {
        self.fields
            .iter()
            .flat_map(|field| field.shape.aspects().map(move |aspect| (field, aspect)))
    }

    /// The cells of a thing under the [`Columns::header`].
    pub(super) fn cells(&self, thing: &T, unit: Unit) -> Vec<String> {
        self.columns().map(|(field, aspect)| (field.get)(thing, aspect, unit)).collect()
    }

    /// What differs between two states of a thing; without a `to` all that it held.
    pub(in crate::catalog) fn differences(&self, from: &T, to: Option<&T>) -> Vec<Difference> {
        let mut differences = Vec::new();
        for (field, aspect) in self.columns().filter(|(field, _)| !field.is_name) {
            let cell = |thing| (field.get)(thing, aspect, Unit::In);
            let (from, to) = (cell(from), to.map(cell).unwrap_or_default());
            if from != to {
                let is_length = field.shape.is_length();
                let (from, to) = (Held::of(from, is_length), Held::of(to, is_length));
                differences.push(Difference { field: column_name(field.key, aspect), from, to });
            }
        }
        let (before, after) = (self.own(from), to.and_then(|to| self.own(to)));
        let text = |own: Option<&OwnColumns>, name: &String| {
            own.and_then(|own| own.get(name)).cloned().unwrap_or_default()
        };
        let names = before.into_iter().chain(after).flat_map(BTreeMap::keys);
        for name in names.collect::<BTreeSet<_>>() {
            let (from, to) = (text(before, name), text(after, name));
            if from != to {
                let (from, to) = (Held::of(from, false), Held::of(to, false));
                differences.push(Difference { field: format!("{OWN}{name}"), from, to });
            }
        }
        differences
    }

    /// The columns of the shop's own that a thing has.
    pub(super) fn own<'t>(&self, thing: &'t T) -> Option<&'t OwnColumns> {
        self.fields.iter().find_map(|field| field.own).map(|own| own(thing))
    }

    /// The names of the columns of the shop's own that any of these things has.
    pub(super) fn own_names<'t>(&self, things: impl Iterator<Item = &'t T>) -> BTreeSet<String>
    where
        T: 't,
    {
        things.filter_map(|thing| self.own(thing)).flat_map(BTreeMap::keys).cloned().collect()
    }

    /// The filled columns of a thing but its name, with their cells.
    pub(in crate::catalog) fn filled(&self, thing: &T) -> Vec<(String, String)> {
        let columns = self.columns().filter(|(field, _)| !field.is_name);
        let cells = columns.map(|(field, aspect)| {
            (column_name(field.key, aspect), (field.get)(thing, aspect, Unit::In))
        });
        let own = self.own(thing).into_iter().flatten();
        let own = own.map(|(name, text)| (format!("{OWN}{name}"), text.clone()));
        cells.filter(|(_, cell)| !cell.is_empty()).chain(own).collect()
    }
}

/// A key, the endings that make further columns of it, and its meaning.
pub type ColumnHelp = (&'static str, String, &'static str);

/// The columns of a form, whatever thing it is of.
pub(super) trait Columns {
    /// Where a column of this name belongs.
    fn column(&self, name: &str) -> Option<ColumnRef>;

    /// Every column name that is known.
    fn names(&self) -> Vec<String>;

    /// The columns of an exported file.
    fn header(&self) -> Vec<String>;

    /// Which of them are seldom filled: a file in whose rows nothing stands under one has it not.
    fn seldom(&self) -> Vec<bool>;

    /// Each key with the endings behind it and what it means.
    fn help(&self) -> Vec<ColumnHelp>;

    /// What stands in the cells of a field, and how it is written.
    fn content(&self, at: usize) -> (Content, ColumnShape);

    /// Whether a field may be changed by an edit.
    fn is_fixed(&self, at: usize) -> bool;
}

impl<T> Columns for RecordForm<T> {
    fn column(&self, name: &str) -> Option<ColumnRef> {
        let position = |key: &str| self.fields.iter().position(|field| field.key == key);
        if let Some(field) = position(name) {
            return Some(ColumnRef { field, aspect: Aspect::Value, scale: None });
        }
        if own_name(name).is_some()
            && let Some(field) = self.fields.iter().position(|field| field.own.is_some())
        {
            return Some(ColumnRef { field, aspect: Aspect::Own, scale: None });
        }
        ENDINGS.iter().find_map(|(ending, aspect, scale)| {
            let field = position(name.strip_suffix(ending)?)?;
            let allowed = self.fields[field].shape.allows(*aspect, *scale);
            allowed.then_some(ColumnRef { field, aspect: *aspect, scale: *scale })
        })
    }

    fn names(&self) -> Vec<String> {
        let of = |field: &Field<T>| {
            let endings = ENDINGS
                .iter()
                .filter(|(_, aspect, scale)| field.shape.allows(*aspect, *scale))
                .map(|(ending, ..)| format!("{}{ending}", field.key));
            std::iter::once(field.key.to_string()).chain(endings).collect::<Vec<_>>()
        };
        self.fields.iter().filter(|field| field.own.is_none()).flat_map(of).collect()
    }

    fn header(&self) -> Vec<String> {
        self.columns().map(|(field, aspect)| column_name(field.key, aspect)).collect()
    }

    fn seldom(&self) -> Vec<bool> {
        self.columns().map(|(field, aspect)| field.is_seldom || aspect == Aspect::Bar).collect()
    }

    fn help(&self) -> Vec<ColumnHelp> {
        let endings = |field: &Field<T>| {
            let endings = field.shape.aspects().map(|aspect| column_name("", aspect));
            endings.filter(|ending| !ending.is_empty()).join(" ")
        };
        self.fields.iter().map(|field| (field.key, endings(field), field.about)).collect()
    }

    fn content(&self, at: usize) -> (Content, ColumnShape) {
        (self.fields[at].content, self.fields[at].shape)
    }

    fn is_fixed(&self, at: usize) -> bool {
        self.fields[at].set.is_none()
    }
}

#[cfg(test)]
mod tests {
    use super::super::field::{Member, member};
    use super::*;
    use crate::model::part::{Entry, Part};

    fn form() -> RecordForm<Option<Entry>> {
        let field = |key, shape| Field { shape, ..Field::name(key, "", |_| String::new()) };
        RecordForm {
            fields: vec![
                field("id", ColumnShape::Plain),
                field("thickness", ColumnShape::Length),
                field("finger_ratio", ColumnShape::Number),
                field("preload_min", ColumnShape::Edge),
                field("depth", ColumnShape::Length),
                field("depth_bar", ColumnShape::Plain),
            ],
        }
    }

    #[test]
    fn a_column_is_found_by_key_and_ending() {
        let form = form();
        let column = form.column("thickness_tol_mm").unwrap();
        assert_eq!((column.field, column.aspect), (1, Aspect::Tol));
        assert_eq!(column.scale, Some(Scale::Millimetre));
        assert!(form.column("finger_ratio_tol").is_some());
        assert!(form.column("preload_min_in").is_some());
        for unknown in ["id_in", "finger_ratio_in", "finger_ratio_bar", "preload_min_tol", "x"] {
            assert!(form.column(unknown).is_none(), "{unknown}");
        }
    }

    #[test]
    fn a_key_of_its_own_goes_before_a_key_with_an_ending() {
        assert_eq!(form().column("depth_bar").unwrap().field, 5);
    }

    #[test]
    fn every_way_of_writing_a_column_has_a_name() {
        let names = form().names();
        for known in ["thickness", "thickness_tol_in", "finger_ratio_tol", "preload_min_mm"] {
            assert!(names.iter().any(|name| name == known), "{known}");
        }
        assert!(!names.iter().any(|name| name == "finger_ratio_bar"));
    }

    #[test]
    fn a_text_is_written_and_differs_as_it_is() {
        let kind = crate::model::kinds::Kinds::standard().get("disc").unwrap();
        let form: RecordForm<Part> = RecordForm {
            fields: vec![
                Field::name("id", "", |part: &Part| part.id.clone()),
                Field::text("maker", "", member!(Part, maker)),
            ],
        };
        let (old, mut new) = (Part::new("D-1", kind), Part::new("D-2", kind));
        new.maker = "Invented".into();
        assert_eq!(form.cells(&new, Unit::In), ["D-2", "Invented"]);
        let changes = form.differences(&old, Some(&new));
        assert_eq!((changes.len(), changes[0].field.as_str()), (1, "maker"));
        assert_eq!(changes[0].to, Held::Text("Invented".into()));
        assert_eq!(form.filled(&new), [("maker".to_string(), "Invented".to_string())]);
    }
}
