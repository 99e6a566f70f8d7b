//! What a file can hold, and the form of each row that it may have.

use super::form::{Columns, RecordForm};
use super::reading_form::ReadingRow;
use super::{house_form, instrument_form, job_form, part_form, piece_form, reading_form};
use crate::error::Result;
use crate::model::house::Setting;
use crate::model::job::Job;
use crate::model::kinds::{KindSpec, Kinds, folded};
use crate::model::part::Part;
use crate::model::pieces::{Instrument, Specimen};

/// The forms of everything that a file can hold.
#[derive(Debug)]
pub(super) struct Forms {
    pub(super) kinds: Kinds,
    pub(super) parts: Vec<(&'static KindSpec, RecordForm<Part>)>,
    pub(super) job: RecordForm<Job>,
    pub(super) piece: RecordForm<Specimen>,
    pub(super) reading: RecordForm<ReadingRow>,
    pub(super) instrument: RecordForm<Instrument>,
    pub(super) house: RecordForm<Setting>,
}

impl Forms {
    pub(super) fn new(kinds: Kinds) -> Self {
        Self {
            kinds,
            parts: kinds.iter().map(|kind| (kind, part_form::form(kind))).collect(),
            job: job_form::form(kinds),
            piece: piece_form::form(),
            reading: reading_form::form(),
            instrument: instrument_form::form(),
            house: house_form::form(),
        }
    }

    /// The position of a kind's form.
    pub(super) fn of_kind(&self, kind: &KindSpec) -> Option<usize> {
        self.parts.iter().position(|(known, _)| known.key == kind.key)
    }

    /// The columns of every form there is.
    pub(super) fn all(&self) -> Vec<&dyn Columns> {
        let parts = self.parts.iter().map(|(_, form)| form as &dyn Columns);
        let others: [&dyn Columns; 4] = [&self.job, &self.piece, &self.reading, &self.instrument];
        parts.chain(others).collect()
    }

    /// The columns of every form that a row of the file may have.
    pub(super) fn of(&self, holds: Holds) -> Vec<&dyn Columns> {
        match holds {
            Holds::Parts(_) => self.parts.iter().map(|(_, form)| form as &dyn Columns).collect(),
            Holds::Jobs => vec![&self.job],
            Holds::Pieces => vec![&self.piece],
            Holds::Readings => vec![&self.reading],
            Holds::Instruments => vec![&self.instrument],
            Holds::House => vec![&self.house],
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
    /// The house numbers.
    House,
}

/// What a file may hold beside parts, by its name and its plural.
const OTHERS: &[(&str, &str, Holds)] = &[
    ("job", "jobs", Holds::Jobs),
    ("piece", "pieces", Holds::Pieces),
    ("reading", "readings", Holds::Readings),
    ("instrument", "instruments", Holds::Instruments),
    ("house_number", "window", Holds::House),
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
        let others = OTHERS.iter().map(|(_, many, _)| *many);
        Self::named(kinds, name).ok_or_else(|| kinds.no_kind(name, others))
    }

    /// The word that [`Holds::named`] knows it by.
    pub(super) fn word(self) -> &'static str {
        match self {
            Self::Parts(kind) => kind.map_or("", |kind| kind.plural),
            other => OTHERS.iter().find(|(.., holds)| *holds == other).map_or("", |other| other.1),
        }
    }

    /// What one of its rows is.
    pub(super) fn row(self) -> &'static str {
        let other = OTHERS.iter().find(|(.., holds)| *holds == self);
        other.map_or("part", |(one, _, holds)| match holds {
            Self::House => "house number",
            _ => one,
        })
    }

    /// The columns that say what a row is about: every row needs them.
    pub(super) fn keys(self) -> &'static [&'static str] {
        match self {
            Self::Parts(_) => &["id"],
            Self::Jobs => &["job"],
            Self::Pieces => &["part", "piece"],
            Self::Readings => &["part", "piece", "dimension"],
            Self::Instruments => &["instrument"],
            Self::House => &["key", "value"],
        }
    }
}
