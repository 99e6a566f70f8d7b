//! One field of a form: how it is called, read and written.

use std::fmt;

use super::cells::{Cell, Given, OverBar, Row};
use super::column::{Aspect, ColumnShape};
use super::mark::Mark;
use crate::error::{Error, Result};
use crate::model::bars::as_read;
use crate::model::job::Word;
use crate::model::kinds::Quantity;
use crate::model::length::Unit;
use crate::model::part::{Entry, OwnColumns, show_value};
use crate::model::sides::Sides;

/// What stands in a field's cells: what people write for a value that they do not know, and what a
/// workbook makes of a value, is looked for by this.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Content {
    /// Words, which are taken as they are.
    Words,
    /// The name of the thing.
    Name,
    /// A day of the calendar.
    Day,
    /// Names of a mating face's pattern.
    Pattern,
    /// A number, a length or a word of a closed list.
    Value,
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
    pub(super) shape: ColumnShape,
    /// What it means, for help.
    pub(super) about: &'static str,
    pub(super) content: Content,
    /// Whether it names the thing, and is no difference between two states of it.
    pub(super) is_name: bool,
    /// Whether most things have nothing there, so that most files need no column for it.
    pub(super) is_seldom: bool,
    /// The columns of the shop's own that a thing has, where the field is these.
    pub(super) own: Option<fn(&T) -> &OwnColumns>,
    /// Writes a cell: lengths exactly and with their unit, blank where nothing is known.
    pub(super) get: Get<T>,
    /// Reads the cells of the field at this position of the form; none where nothing changes it.
    pub(super) set: Option<Set<T>>,
}

impl<T: 'static> Field<T> {
    /// What says which thing a row is about.
    pub(super) fn name(
        key: &'static str,
        about: &'static str,
        get: impl Fn(&T) -> String + 'static,
    ) -> Self {
        Self { is_name: true, content: Content::Name, ..Self::fixed(key, about, get) }
    }

    /// What is said with the first row and never changed.
    pub(super) fn fixed(
        key: &'static str,
        about: &'static str,
        get: impl Fn(&T) -> String + 'static,
    ) -> Self {
        let get: Get<T> = Box::new(move |thing, _, _| get(thing));
        let content = Content::Value;
        let shape = ColumnShape::Plain;
        Self {
            key,
            shape,
            about,
            content,
            is_name: false,
            is_seldom: false,
            own: None,
            get,
            set: None,
        }
    }

    /// One plain value, by how it is written and read.
    fn value(
        (key, about): (&'static str, &'static str),
        get: impl Fn(&T, Aspect, Unit) -> String + 'static,
        set: impl Fn(&mut T, &mut Row<'_>, usize) + 'static,
    ) -> Self {
        Self {
            key,
            shape: ColumnShape::Plain,
            about,
            content: Content::Value,
            is_name: false,
            is_seldom: false,
            own: None,
            get: Box::new(get),
            set: Some(Box::new(set)),
        }
    }

    /// Text as it was quoted.
    pub(super) fn text(key: &'static str, about: &'static str, member: Member<T, String>) -> Self {
        let read = |cell: &Cell<'_>, _: Mark| Ok(cell.text.to_string());
        Self::or(key, about, member, Some(String::new()), read, |text, _| text).of(Content::Words)
    }

    /// A value that may be unknown.
    pub(super) fn optional<V: 'static>(
        key: &'static str,
        about: &'static str,
        member: Member<T, Option<V>>,
        read: impl Fn(&Cell<'_>, Mark) -> Result<V> + 'static,
        show: impl Fn(V, Unit) -> String + 'static,
    ) -> Self {
        let Member { get, get_mut } = member;
        Self::value(
            (key, about),
            move |thing, _, unit| get(thing).map(|value| show(value, unit)).unwrap_or_default(),
            move |thing, row, at| {
                row.change(at, Aspect::Value, &read).onto(get_mut(thing));
            },
        )
    }

    /// A value for which a blank cell stands, too; where nothing can stand for unknown, there is no
    /// such value, and a blank cell leaves it as it is.
    pub(super) fn or<V: Clone + 'static>(
        key: &'static str,
        about: &'static str,
        member: Member<T, V>,
        blank: Option<V>,
        read: impl Fn(&Cell<'_>, Mark) -> Result<V> + 'static,
        show: impl Fn(V, Unit) -> String + 'static,
    ) -> Self {
        let Member { get, get_mut } = member;
        Self::value(
            (key, about),
            move |thing, _, unit| show(get(thing), unit),
            move |thing, row, at| {
                if let Given::Set(value) = row.change(at, Aspect::Value, &read)
                    && let Some(value) = value.or_else(|| blank.clone())
                {
                    *get_mut(thing) = value;
                }
            },
        )
    }

    /// A value that is read and written by what else the thing says.
    pub(super) fn of_many<V: Default + 'static>(
        key: &'static str,
        about: &'static str,
        member: Member<T, V>,
        read: impl Fn(&T, &Cell<'_>, Mark) -> Result<V> + 'static,
        show: impl Fn(&T, Unit) -> String + 'static,
    ) -> Self {
        let get_mut = member.get_mut;
        Self::value(
            (key, about),
            move |thing, _, unit| show(thing, unit),
            move |thing, row, at| {
                let change = row.change(at, Aspect::Value, |cell, mark| read(thing, cell, mark));
                if let Given::Set(value) = change {
                    *get_mut(thing) = value.unwrap_or_default();
                }
            },
        )
    }

    /// A word of a closed list; a blank cell is its default.
    pub(super) fn word<W: Word>(
        key: &'static str,
        about: &'static str,
        member: Member<T, W>,
    ) -> Self {
        let read = |cell: &Cell<'_>, _: Mark| {
            let word = cell.text.trim();
            W::from_word(&word.to_ascii_lowercase()).ok_or_else(|| {
                let known: Vec<String> =
                    W::WORDS.iter().map(|(word, _)| format!("`{word}`")).collect();
                Error::input(format!("`{word}` is not known here"))
                    .hint(format!("write {} or leave it blank", known.join(", ")))
            })
        };
        Self::or(key, about, member, Some(W::default()), read, |word, _| word.word().into())
    }

    /// Columns of the shop's own: `key` stands for all of them in help.
    pub(super) fn own(
        key: &'static str,
        about: &'static str,
        get: fn(&T) -> &OwnColumns,
        get_mut: fn(&mut T) -> &mut OwnColumns,
    ) -> Self {
        let set = move |thing: &mut T, row: &mut Row<'_>, at| {
            for (name, text) in row.own(at) {
                if text.is_empty() {
                    get_mut(thing).remove(&name);
                } else {
                    get_mut(thing).insert(name, text);
                }
            }
        };
        let field = Self::value((key, about), |_, _, _| String::new(), set);
        Self { shape: ColumnShape::Own, own: Some(get), ..field.of(Content::Words) }
    }

    /// A measured value with its tolerance and bar, refused by `check` where it cannot be.
    pub(super) fn entry(
        key: &'static str,
        about: &'static str,
        (quantity, sides): (Quantity, Option<&'static Sides>),
        get: impl Fn(&T) -> OverBar + Clone + 'static,
        put: impl Fn(&mut T, OverBar) + 'static,
        check: impl Fn(Entry) -> Result<()> + 'static,
    ) -> Self {
        let shape = ColumnShape::of(quantity, sides);
        let known = get.clone();
        Self {
            key,
            shape,
            about,
            content: Content::Value,
            is_name: false,
            is_seldom: false,
            own: None,
            get: Box::new(move |thing, aspect, unit| {
                let OverBar { entry: Some(entry), bar } = get(thing) else { return String::new() };
                let shown = |value| show_value(quantity, value, unit);
                match aspect {
                    Aspect::Value if quantity == Quantity::Length => {
                        as_read(entry.as_length(), bar, sides, unit)
                    }
                    Aspect::Value => shown(entry.value),
                    Aspect::Tol => entry.tol.map(shown).unwrap_or_default(),
                    Aspect::Bar => bar.map(|bar| bar.exact(unit)).unwrap_or_default(),
                    Aspect::Own => String::new(),
                }
            }),
            set: Some(Box::new(move |thing, row, at| {
                let new = row.entry((at, key, shape), quantity, known(thing));
                put(thing, new);
                if let Some(Err(error)) = new.entry.map(&check) {
                    let column = row.column_of(at, key);
                    row.wrong(column, error);
                }
            })),
        }
    }

    /// With other content than a value.
    pub(super) fn of(self, content: Content) -> Self {
        Self { content, ..self }
    }

    /// With a column of a file only where something stands in it.
    pub(super) fn seldom(self) -> Self {
        Self { is_seldom: true, ..self }
    }

    /// Written as a length without a tolerance.
    pub(super) fn edge(self) -> Self {
        Self { shape: ColumnShape::Edge, ..self }
    }
}

impl<T> fmt::Debug for Field<T> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Field").field("key", &self.key).finish_non_exhaustive()
    }
}
