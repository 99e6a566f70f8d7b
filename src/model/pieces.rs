//! Pieces that went over the bench, the readings taken on them, and the instruments they were taken with.
//!
//! A part number is not a piece of metal: a part's own entry is what its maker states of every piece,
//! a reading is what one piece measured.

use crate::error::{Error, Result};
use crate::model::length::{Length, Unit, divide_half_away, narrowed};
use crate::model::part::Part;
use crate::model::words::nearest;

/// What became of a piece before it was measured. Readings of different states are never averaged.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub enum Condition {
    /// As it left its maker.
    #[default]
    New,
    /// Run in.
    Used,
    /// Machined after it left its maker.
    Machined,
}

impl Condition {
    /// Every condition.
    pub const ALL: [Self; 3] = [Self::New, Self::Used, Self::Machined];

    /// As it is written.
    pub const fn word(self) -> &'static str {
        match self {
            Self::New => "new",
            Self::Used => "used",
            Self::Machined => "machined",
        }
    }

    /// The condition of a word.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|condition| condition.word() == word)
    }
}

/// What stands between a part number and a piece's label where a single piece is named, as in
/// `FW-1#A`.
pub const PIECE_MARK: char = '#';

/// The part number and the label in a piece's name; none where it is no piece's.
pub fn part_and_label(name: &str) -> Option<(&str, &str)> {
    name.rsplit_once(PIECE_MARK)
}

/// One piece of a part number.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Specimen {
    /// The part number.
    pub part: String,
    /// The shop's own mark on the piece, one of its kind under its part number.
    pub label: String,
    /// New, used or machined.
    pub condition: Condition,
    /// Whether the shop still has it; what is sold or scrapped still teaches.
    pub in_hand: bool,
    /// Anything else.
    pub notes: String,
}

impl Specimen {
    /// A piece in hand of which nothing else is known.
    pub fn new(part: impl Into<String>, label: impl Into<String>, condition: Condition) -> Self {
        let (part, label) = (part.into(), label.into());
        Self { part, label, condition, in_hand: true, notes: String::new() }
    }

    /// What the piece is called: its part number, the mark and its label.
    pub fn id(&self) -> String {
        format!("{}{PIECE_MARK}{}", self.part, self.label)
    }
}

/// Values read one after another on one dimension of one piece, by one hand with one instrument.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct ReadingSet {
    /// By which the catalog knows it; zero before it is stored.
    pub number: i64,
    /// The part number.
    pub part: String,
    /// The piece's label.
    pub piece: String,
    /// The dimension's key.
    pub dimension: String,
    /// What was read, in the base unit of its quantity; a gauge bar is taken off already.
    pub values: Vec<i64>,
    /// The bar that it was read over.
    pub bar: Option<Length>,
    /// The instrument's name, where it was written down.
    pub instrument: Option<String>,
    /// Who measured, blank where nobody wrote it down.
    pub by: String,
    /// The day as year, month and day with hyphens; blank where nobody wrote it down.
    pub date: String,
    /// Why it no longer counts; struck readings are kept and shown.
    pub struck: Option<String>,
}

/// A length up to which an instrument keeps within a limit of error.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct LimitOfError {
    /// Lengths up to this one, included.
    pub up_to: Length,
    /// The limit of error, plus or minus.
    pub limit: Length,
}

impl ReadingSet {
    /// A set of a dimension of a piece, before anything was read.
    pub fn new(
        part: impl Into<String>,
        piece: impl Into<String>,
        dimension: impl Into<String>,
    ) -> Self {
        Self {
            number: 0,
            part: part.into(),
            piece: piece.into(),
            dimension: dimension.into(),
            values: Vec::new(),
            bar: None,
            instrument: None,
            by: String::new(),
            date: String::new(),
            struck: None,
        }
    }

    /// What was read, without what the catalog made of it since: two that are alike in this are one
    /// set written down twice. An older catalog does not know the bar.
    #[must_use]
    pub fn as_read(&self) -> Self {
        Self { number: 0, struck: None, bar: None, ..self.clone() }
    }

    /// What the piece is called.
    pub fn piece_id(&self) -> String {
        format!("{}{PIECE_MARK}{}", self.part, self.piece)
    }
}

/// A length that an instrument's step or limit of error may be.
///
/// # Errors
///
/// Refuses one that is not above zero.
pub fn above_zero(length: Length) -> Result<Length> {
    if length <= Length::ZERO {
        return Err(Error::input(format!("`{}` is not above zero", length.exact(Unit::Mm))));
    }
    Ok(length)
}

/// A measuring instrument of the shop.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Instrument {
    /// Its name.
    pub name: String,
    /// What it is.
    pub description: String,
    /// Its smallest step.
    pub resolution: Option<Length>,
    /// Its limits of error, the shortest range first.
    pub limits: Vec<LimitOfError>,
    /// Where the limits come from, with the edition.
    pub source: String,
}

impl Instrument {
    /// The limit of error at a length; none beyond its ranges.
    pub fn limit_at(&self, length: Length) -> Option<Length> {
        let within = |limit: &&LimitOfError| length.nm().abs() <= limit.up_to.nm();
        self.limits.iter().find(within).map(|limit| limit.limit)
    }
}

/// Everything that was measured, in the order of part, piece, dimension and number.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Measurements {
    /// The pieces, by part and label.
    pub specimens: Vec<Specimen>,
    /// The readings, by part, piece, dimension and number.
    pub readings: Vec<ReadingSet>,
    /// The instruments, by name.
    pub instruments: Vec<Instrument>,
}

impl Measurements {
    /// The pieces of a part number.
    pub fn pieces_of<'a>(&'a self, part: &'a Part) -> impl Iterator<Item = &'a Specimen> {
        self.specimens.iter().filter(|specimen| specimen.part == part.id)
    }

    /// The piece of this part number and label.
    pub fn piece(&self, part: &str, label: &str) -> Option<&Specimen> {
        self.specimens.iter().find(|piece| piece.part == part && piece.label == label)
    }

    /// The refusal of a piece that is not there, naming the nearest one of its part.
    pub fn no_piece(&self, part: &str, label: &str) -> Error {
        let name = format!("{part}{PIECE_MARK}{label}");
        let error = Error::input(format!("there is no piece `{name}` in the catalog"));
        let labels = self.specimens.iter().filter(|piece| piece.part == part);
        match nearest(label, labels.map(|piece| piece.label.as_str())) {
            Some(near) => error.hint(format!("did you mean `{part}{PIECE_MARK}{near}`?")),
            None => error.hint(format!("add it with `piece add {name}`")),
        }
    }

    /// The mean of what was read on a dimension of a piece and counts.
    pub fn mean(&self, part: &str, label: &str, dimension: &str) -> Option<Length> {
        let of_piece = |set: &&ReadingSet| {
            set.struck.is_none()
                && (set.part.as_str(), set.piece.as_str()) == (part, label)
                && set.dimension == dimension
        };
        let sets = self.readings.iter().filter(of_piece);
        let (sum, count) = sets
            .flat_map(|set| &set.values)
            .fold((0_i128, 0_i128), |(sum, count), value| (sum + i128::from(*value), count + 1));
        (count > 0).then(|| Length::from_nm(narrowed(divide_half_away(sum, count))))
    }

    /// The instrument of this name.
    pub fn instrument(&self, name: &str) -> Option<&Instrument> {
        self.instruments.iter().find(|instrument| instrument.name == name)
    }
}
