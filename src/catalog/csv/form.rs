//! A form: what is told of one kind of thing, field by field, each with its columns and with how it is
//! read and written. Files, templates, help, edits by hand and history follow from these tables.

use std::fmt;

use super::cells::{Cell, Change, Row};
use crate::error::{Error, Result};
use crate::model::history::{Change as Difference, Held};
use crate::model::job::Word;
use crate::model::kinds::Quantity;
use crate::model::length::{Scale, Unit};
use crate::model::part::{Entry, show_value};

/// Which value of a field a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Aspect {
    /// The value itself.
    Value,
    /// Its tolerance.
    Tol,
    /// The thickness of the bar or hub over which it was taken: taken off it.
    Bar,
}

/// How a field is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Shape {
    /// One cell of text.
    Plain,
    /// A bare number with a tolerance.
    Number,
    /// A length without a tolerance.
    Edge,
    /// A measured length with tolerance and bar.
    Length,
    /// The same, which may also be written as standing proud or recessed.
    ProudLength,
}

/// The dimension and the reading that may be written as standing proud or recessed.
pub(super) const PROUD: &str = "crank_protrusion";

impl Shape {
    /// The shape of a measured value.
    pub(super) fn of(key: &str, quantity: Quantity) -> Self {
        match quantity {
            Quantity::Length if key == PROUD => Self::ProudLength,
            Quantity::Length => Self::Length,
            Quantity::Ratio | Quantity::Count | Quantity::Torque => Self::Number,
        }
    }

    fn allows(self, aspect: Aspect, scale: Option<Scale>) -> bool {
        match self {
            Self::Plain => false,
            Self::Number => aspect == Aspect::Tol && scale.is_none(),
            Self::Edge => aspect == Aspect::Value,
            Self::Length | Self::ProudLength => true,
        }
    }

    fn is_length(self) -> bool {
        matches!(self, Self::Edge | Self::Length | Self::ProudLength)
    }

    fn has_tolerance(self) -> bool {
        self.allows(Aspect::Tol, None)
    }
}

/// A value of a thing, to be read and to be changed.
pub(super) struct Member<T, V> {
    get: Box<dyn Fn(&T) -> V>,
    get_mut: Box<dyn Fn(&mut T) -> &mut V>,
}

impl<T: 'static, V: 'static> Member<T, V> {
    pub(super) fn new(
        get: impl Fn(&T) -> V + 'static,
        get_mut: impl Fn(&mut T) -> &mut V + 'static,
    ) -> Self {
        Self { get: Box::new(get), get_mut: Box::new(get_mut) }
    }
}

/// A member by its name, as in `member!(Part, maker)`.
macro_rules! member {
    ($thing:ty, $($name:tt)+) => {
        Member::new(|thing: &$thing| thing.$($name)+.clone(), |thing: &mut $thing| &mut thing.$($name)+)
    };
}
pub(super) use member;

type Get<T> = Box<dyn Fn(&T, Aspect, Unit) -> String>;
type Set<T> = Box<dyn Fn(&mut T, &mut Row<'_>, usize)>;

/// One thing that a row says.
pub(super) struct Field<T> {
    /// The column's name.
    pub(super) key: &'static str,
    shape: Shape,
    /// What it means, for help.
    about: &'static str,
    /// Whether it names the thing, and is no difference between two states of it.
    is_name: bool,
    /// Writes a cell: lengths exactly and with their unit, blank where nothing is known.
    get: Get<T>,
    /// Reads the cells of the field at this position of the form; none where nothing changes it.
    set: Option<Set<T>>,
}

impl<T: 'static> Field<T> {
    /// What says which thing a row is about.
    pub(super) fn name(
        key: &'static str,
        about: &'static str,
        get: impl Fn(&T) -> String + 'static,
    ) -> Self {
        Self { is_name: true, ..Self::fixed(key, about, get) }
    }

    /// What is said with the first row and never changed.
    pub(super) fn fixed(
        key: &'static str,
        about: &'static str,
        get: impl Fn(&T) -> String + 'static,
    ) -> Self {
        let get: Get<T> = Box::new(move |thing, _, _| get(thing));
        Self { key, shape: Shape::Plain, about, is_name: false, get, set: None }
    }

    /// Text as it was quoted.
    pub(super) fn text(key: &'static str, about: &'static str, member: Member<T, String>) -> Self {
        let read = |cell: &Cell<'_>, _| Ok(cell.text.to_string());
        Self::or(key, about, member, String::new(), read, |text, _| text)
    }

    /// A value that may be unknown.
    pub(super) fn optional<V: 'static>(
        key: &'static str,
        about: &'static str,
        member: Member<T, Option<V>>,
        read: impl Fn(&Cell<'_>, bool) -> Result<V> + 'static,
        show: impl Fn(V, Unit) -> String + 'static,
    ) -> Self {
        let Member { get, get_mut } = member;
        Self {
            key,
            shape: Shape::Plain,
            about,
            is_name: false,
            get: Box::new(move |thing, _, unit| {
                get(thing).map(|value| show(value, unit)).unwrap_or_default()
            }),
            set: Some(Box::new(move |thing, row, at| {
                row.change(at, Aspect::Value, &read).onto(get_mut(thing));
            })),
        }
    }

    /// A value for which a blank cell stands, too.
    pub(super) fn or<V: Clone + 'static>(
        key: &'static str,
        about: &'static str,
        member: Member<T, V>,
        blank: V,
        read: impl Fn(&Cell<'_>, bool) -> Result<V> + 'static,
        show: impl Fn(V, Unit) -> String + 'static,
    ) -> Self {
        let Member { get, get_mut } = member;
        Self {
            key,
            shape: Shape::Plain,
            about,
            is_name: false,
            get: Box::new(move |thing, _, unit| show(get(thing), unit)),
            set: Some(Box::new(move |thing, row, at| {
                if let Change::Set(value) = row.change(at, Aspect::Value, &read) {
                    *get_mut(thing) = value.unwrap_or_else(|| blank.clone());
                }
            })),
        }
    }

    /// A value that a blank cell leaves as it is, since nothing could stand for unknown.
    pub(super) fn kept<V: 'static>(
        key: &'static str,
        about: &'static str,
        member: Member<T, V>,
        read: impl Fn(&Cell<'_>, bool) -> Result<V> + 'static,
        show: impl Fn(V, Unit) -> String + 'static,
    ) -> Self {
        let Member { get, get_mut } = member;
        Self {
            key,
            shape: Shape::Plain,
            about,
            is_name: false,
            get: Box::new(move |thing, _, unit| show(get(thing), unit)),
            set: Some(Box::new(move |thing, row, at| {
                if let Change::Set(Some(value)) = row.change(at, Aspect::Value, &read) {
                    *get_mut(thing) = value;
                }
            })),
        }
    }

    /// A value that is read and written by what else the thing says.
    pub(super) fn of_many<V: Default + 'static>(
        key: &'static str,
        about: &'static str,
        member: Member<T, V>,
        read: impl Fn(&T, &Cell<'_>, bool) -> Result<V> + 'static,
        show: impl Fn(&T, Unit) -> String + 'static,
    ) -> Self {
        let get_mut = member.get_mut;
        Self {
            key,
            shape: Shape::Plain,
            about,
            is_name: false,
            get: Box::new(move |thing, _, unit| show(thing, unit)),
            set: Some(Box::new(move |thing, row, at| {
                let change = row.change(at, Aspect::Value, |cell, comma| read(thing, cell, comma));
                if let Change::Set(value) = change {
                    *get_mut(thing) = value.unwrap_or_default();
                }
            })),
        }
    }

    /// A word of a closed list; a blank cell is its default.
    pub(super) fn word<W: Word>(
        key: &'static str,
        about: &'static str,
        member: Member<T, W>,
    ) -> Self {
        let read = |cell: &Cell<'_>, _: bool| {
            let word = cell.text.trim();
            W::from_word(&word.to_ascii_lowercase()).ok_or_else(|| {
                let known: Vec<String> =
                    W::WORDS.iter().map(|(word, _)| format!("`{word}`")).collect();
                Error::input(format!("`{word}` is not known here"))
                    .hint(format!("write {} or leave it blank", known.join(", ")))
            })
        };
        Self::or(key, about, member, W::default(), read, |word, _| word.word().into())
    }

    /// A measured value with its tolerance and bar, refused by `check` where it cannot be.
    pub(super) fn entry(
        key: &'static str,
        about: &'static str,
        quantity: Quantity,
        member: Member<T, Option<Entry>>,
        check: impl Fn(Entry) -> Result<()> + 'static,
    ) -> Self {
        let Member { get, get_mut } = member;
        let shape = Shape::of(key, quantity);
        Self {
            key,
            shape,
            about,
            is_name: false,
            get: Box::new(move |thing, aspect, unit| {
                let value = get(thing).and_then(|entry| match aspect {
                    Aspect::Value => Some(entry.value),
                    Aspect::Tol => entry.tol,
                    Aspect::Bar => None,
                });
                value.map(|value| show_value(quantity, value, unit)).unwrap_or_default()
            }),
            set: Some(Box::new(move |thing, row, at| {
                let entry = get_mut(thing);
                *entry = row.entry(at, key, shape, quantity, *entry);
                if let Some(Err(error)) = entry.map(&check) {
                    let column = row.column_of(at, key);
                    row.wrong(column, error);
                }
            })),
        }
    }

    /// Written as a length without a tolerance.
    pub(super) fn edge(self) -> Self {
        Self { shape: Shape::Edge, ..self }
    }
}

impl<T> fmt::Debug for Field<T> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Field").field("key", &self.key).finish_non_exhaustive()
    }
}

/// Where a column belongs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct ColumnRef {
    /// The field's position in its form.
    pub(super) field: usize,
    /// Which of its values.
    pub(super) aspect: Aspect,
    /// The unit that the column's name gives to bare numbers.
    pub(super) scale: Option<Scale>,
}

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
pub(in crate::catalog) struct Form<T> {
    pub(super) fields: Vec<Field<T>>,
}

impl<T> Form<T> {
    /// Reads a row onto a thing: what has no column stays as it is. What is wrong is noted in the row.
    pub(super) fn read(&self, row: &mut Row<'_>, thing: &mut T) {
        for (at, field) in self.fields.iter().enumerate() {
            if let Some(set) = &field.set {
                set(thing, row, at);
            }
        }
    }

    /// The columns of an exported file: each field, and its tolerance behind it.
    fn columns(&self) -> impl Iterator<Item = (&Field<T>, Aspect)> {
        self.fields.iter().flat_map(|field| {
            let tol = field.shape.has_tolerance().then_some((field, Aspect::Tol));
            std::iter::once((field, Aspect::Value)).chain(tol)
        })
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
        differences
    }

    /// The filled columns of a thing but its name, with their cells.
    pub(in crate::catalog) fn filled(&self, thing: &T) -> Vec<(String, String)> {
        let columns = self.columns().filter(|(field, _)| !field.is_name);
        let cells = columns.map(|(field, aspect)| {
            (column_name(field.key, aspect), (field.get)(thing, aspect, Unit::In))
        });
        cells.filter(|(_, cell)| !cell.is_empty()).collect()
    }
}

/// The columns of a form, whatever thing it is of.
pub(super) trait Columns {
    /// Where a column of this name belongs.
    fn column(&self, name: &str) -> Option<ColumnRef>;

    /// Every column name that is known.
    fn names(&self) -> Vec<String>;

    /// The columns of an exported file.
    fn header(&self) -> Vec<String>;

    /// Each key with what it means.
    fn help(&self) -> Vec<(&'static str, &'static str)>;

    /// Whether a field may be changed by an edit.
    fn is_fixed(&self, at: usize) -> bool;
}

impl<T> Columns for Form<T> {
    fn column(&self, name: &str) -> Option<ColumnRef> {
        let position = |key: &str| self.fields.iter().position(|field| field.key == key);
        if let Some(field) = position(name) {
            return Some(ColumnRef { field, aspect: Aspect::Value, scale: None });
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
        self.fields.iter().flat_map(of).collect()
    }

    fn header(&self) -> Vec<String> {
        self.columns().map(|(field, aspect)| column_name(field.key, aspect)).collect()
    }

    fn help(&self) -> Vec<(&'static str, &'static str)> {
        self.fields.iter().map(|field| (field.key, field.about)).collect()
    }

    fn is_fixed(&self, at: usize) -> bool {
        self.fields[at].set.is_none()
    }
}

/// The name of a column whose cells carry their unit.
pub(super) fn column_name(key: &str, aspect: Aspect) -> String {
    match aspect {
        Aspect::Value => key.into(),
        Aspect::Tol => format!("{key}_tol"),
        Aspect::Bar => format!("{key}_bar"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::part::Part;

    fn form() -> Form<Option<Entry>> {
        let field = |key, shape| Field { shape, ..Field::name(key, "", |_| String::new()) };
        Form {
            fields: vec![
                field("id", Shape::Plain),
                field("thickness", Shape::Length),
                field("finger_ratio", Shape::Number),
                field("preload_min", Shape::Edge),
                field("depth", Shape::Length),
                field("depth_bar", Shape::Plain),
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
        let form: Form<Part> = Form {
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
