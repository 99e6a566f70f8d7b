//! Who changed what and when, and answers that were kept: what is written once and never again.

use crate::model::length::Length;

/// Who changes the catalog, when, and with which command.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stamp {
    /// The second, in coordinated universal time, as in `2026-03-31T14:05:00Z`.
    pub at: String,
    /// Who, blank where nobody says so.
    pub by: String,
    /// The command as it was typed.
    pub command: String,
}

/// The kind of thing that changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Subject {
    /// A part.
    Part,
    /// A job, its own window included.
    Job,
    /// The house numbers.
    House,
    /// A piece of a part.
    Piece,
    /// A set of readings.
    Reading,
    /// An instrument.
    Instrument,
    /// The catalog as a whole.
    Catalog,
    /// Headings of the shop's own sheets.
    Headings,
}

impl Subject {
    /// Every subject.
    pub const ALL: [Self; 8] = [
        Self::Part,
        Self::Job,
        Self::House,
        Self::Piece,
        Self::Reading,
        Self::Instrument,
        Self::Catalog,
        Self::Headings,
    ];

    /// As it is written.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Part => "part",
            Self::Job => "job",
            Self::House => "house",
            Self::Piece => "piece",
            Self::Reading => "reading",
            Self::Instrument => "instrument",
            Self::Catalog => "catalog",
            Self::Headings => "headings",
        }
    }

    /// The subject of a word.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|subject| subject.word() == word)
    }
}

/// What became of a thing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Deed {
    /// It is new.
    Added,
    /// Some of its fields are others than before.
    Changed,
    /// It is gone.
    Removed,
}

impl Deed {
    /// Every deed.
    pub const ALL: [Self; 3] = [Self::Added, Self::Changed, Self::Removed];

    /// As it is written.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Added => "added",
            Self::Changed => "changed",
            Self::Removed => "removed",
        }
    }

    /// The deed of a word.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|deed| deed.word() == word)
    }
}

/// What a field held. Lengths are kept as such, so that they can be read in any unit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Held {
    /// Nothing.
    Blank,
    /// A length.
    Length(Length),
    /// Anything else, as it is written.
    Text(String),
}

impl Held {
    /// What is written in a cell; a length only where the field `is_length`.
    pub fn of(cell: String, is_length: bool) -> Self {
        match Length::parse(&cell) {
            _ if cell.is_empty() => Self::Blank,
            Ok(length) if is_length => Self::Length(length),
            _ => Self::Text(cell),
        }
    }
}

/// A field that is another than before.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FieldChange {
    /// Its column or key.
    pub field: String,
    /// What it held.
    pub from: Held,
    /// What it holds from then on.
    pub to: Held,
}

/// What would become of one thing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Becomes {
    /// What it is.
    pub subject: Subject,
    /// Its name.
    pub name: String,
    /// Whether it is new or changed.
    pub deed: Deed,
    /// Its fields, old beside new; of a new thing all that are filled.
    pub changes: Vec<FieldChange>,
}

impl Becomes {
    /// How many of its values go.
    pub fn blanked(&self) -> usize {
        self.changes.iter().filter(|change| change.to == Held::Blank).count()
    }
}

/// What one command did to one thing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Event {
    /// By which the catalog knows it; later ones have higher numbers.
    pub number: i64,
    /// The number of its command.
    pub command: i64,
    /// The number of the command that took its command back, where one did.
    pub taken_back_by: Option<i64>,
    /// Who, when, and with which command.
    pub stamp: Stamp,
    /// The kind of thing.
    pub subject: Subject,
    /// Which one, blank for the house numbers.
    pub name: String,
    /// The part number that it belongs to: the part itself, or that of a piece or reading.
    pub part: Option<String>,
    /// What became of it.
    pub deed: Deed,
    /// Its fields that changed. A thing that is added has none; one that is removed has all that it
    /// held.
    pub changes: Vec<FieldChange>,
}

/// A command that was taken back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TakenBack {
    /// Its number.
    pub command: i64,
    /// Who made it, when, and how.
    pub stamp: Stamp,
    /// The number of the command that took it back.
    pub by: i64,
    /// What that did.
    pub events: Vec<Event>,
}

/// Which events are wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum About<'a> {
    /// All of them.
    Everything,
    /// Those of a part with its pieces and readings.
    Part(&'a str),
    /// Those of a job.
    Job(&'a str),
}
