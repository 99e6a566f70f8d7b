//! What a file can hold, and the form of each row that it may have.

use super::form::{Form, Place, folded, nearest_of};
use super::{instrument_form, job_form, part_form, piece_form, reading_form};
use crate::error::{Error, Result};
use crate::model::kinds::{KindSpec, Kinds};

/// The forms of everything that a file can hold.
#[derive(Debug)]
pub(super) struct Forms {
    pub(super) kinds: Kinds,
    pub(super) parts: Vec<(&'static KindSpec, Form<part_form::Of>)>,
    pub(super) job: Form<job_form::Of>,
    pub(super) piece: Form<piece_form::Of>,
    pub(super) reading: Form<reading_form::Of>,
    pub(super) instrument: Form<instrument_form::Of>,
}

impl Forms {
    pub(super) fn new(kinds: Kinds) -> Self {
        let parts = kinds.iter().map(|kind| (kind, part_form::form(kind))).collect();
        Self {
            kinds,
            parts,
            job: job_form::form(kinds),
            piece: piece_form::form(),
            reading: reading_form::form(),
            instrument: instrument_form::form(),
        }
    }

    /// The position of a kind and its form.
    pub(super) fn of(&self, kind: &KindSpec) -> Option<(usize, &Form<part_form::Of>)> {
        let index = self.parts.iter().position(|(known, _)| known.key == kind.key)?;
        Some((index, &self.parts[index].1))
    }

    /// Where each column belongs, for every form that a row of the file may have.
    pub(super) fn places(&self, holds: Holds, folds: &[String]) -> Vec<Vec<Option<Place>>> {
        fn of<W: Copy + PartialEq>(form: &Form<W>, folds: &[String]) -> Vec<Option<Place>> {
            folds.iter().map(|fold| form.place(fold)).collect()
        }
        match holds {
            Holds::Parts(_) => self.parts.iter().map(|(_, form)| of(form, folds)).collect(),
            Holds::Jobs => vec![of(&self.job, folds)],
            Holds::Pieces => vec![of(&self.piece, folds)],
            Holds::Readings => vec![of(&self.reading, folds)],
            Holds::Instruments => vec![of(&self.instrument, folds)],
        }
    }
}

/// What a file holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Holds {
    /// Parts: of this kind where their row names none.
    Parts(Option<&'static KindSpec>),
    /// Jobs.
    Jobs,
    /// Pieces of parts.
    Pieces,
    /// What was read on pieces.
    Readings,
    /// Instruments.
    Instruments,
}

/// What a file may hold beside parts, by its name and its plural.
const OTHERS: &[(&str, &str, Holds)] = &[
    ("job", "jobs", Holds::Jobs),
    ("piece", "pieces", Holds::Pieces),
    ("reading", "readings", Holds::Readings),
    ("instrument", "instruments", Holds::Instruments),
];

impl Holds {
    /// What a kind's name, its plural or a word such as `jobs` stands for.
    pub(crate) fn named(kinds: Kinds, name: &str) -> Option<Self> {
        let name = folded(name);
        let other = OTHERS.iter().find(|(one, many, _)| name == *one || name == *many);
        match other {
            Some((.., holds)) => Some(*holds),
            None => kinds.find(&name).map(|kind| Self::Parts(Some(kind))),
        }
    }

    /// The same, asked for by the user.
    ///
    /// # Errors
    ///
    /// Names the nearest kind.
    pub(crate) fn asked(kinds: Kinds, name: &str) -> Result<Self> {
        Self::named(kinds, name).ok_or_else(|| {
            let others = OTHERS.iter().map(|(_, many, _)| (*many).to_string());
            match nearest_of(&folded(name), others) {
                Some(near) if kinds_near(kinds, name).is_none() => {
                    Error::input(format!("`{}` is no kind of part", name.trim()))
                        .hint(format!("did you mean `{near}`?"))
                }
                _ => unknown_kind(kinds, name),
            }
        })
    }

    /// What one of its rows is.
    pub(super) fn row(self) -> &'static str {
        let other = OTHERS.iter().find(|(.., holds)| *holds == self);
        other.map_or("part", |(one, ..)| one)
    }

    /// The columns that say what a row is about: every row needs them.
    pub(super) fn keys(self) -> &'static [&'static str] {
        match self {
            Self::Parts(_) => &["id"],
            Self::Jobs => &["job"],
            Self::Pieces => &["part", "piece"],
            Self::Readings => &["part", "piece", "dimension"],
            Self::Instruments => &["instrument"],
        }
    }
}

fn kinds_near(kinds: Kinds, name: &str) -> Option<String> {
    nearest_of(&folded(name), kinds.iter().map(|kind| kind.key.to_string()))
}

/// The error for a kind that there is not.
pub(super) fn unknown_kind(kinds: Kinds, name: &str) -> Error {
    let error = Error::input(format!("`{}` is no kind of part", name.trim()));
    if let Some(near) = kinds_near(kinds, name) {
        return error.hint(format!("did you mean `{near}`?"));
    }
    let keys: Vec<&str> = kinds.iter().map(|kind| kind.key).collect();
    error.hint(format!("kinds are {}", keys.join(", ")))
}
