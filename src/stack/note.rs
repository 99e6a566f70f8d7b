//! Sentences with lengths in them: words come with the sum, the unit with the reader.

use itertools::Itertools;

use crate::model::length::{Length, Unit};

/// A sentence with lengths in it, so that it can be shown in either unit.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Note(pub Vec<Bit>);

/// A piece of a [`Note`].
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Bit {
    /// Words.
    Text(String),
    /// A length.
    Length(Length),
}

impl Note {
    /// The sentence in one unit.
    pub fn show(&self, unit: Unit) -> String {
        self.0
            .iter()
            .map(|bit| match bit {
                Bit::Text(text) => text.clone(),
                Bit::Length(length) => length.show(unit),
            })
            .join("")
    }
}

/// Builds a [`Note`] from words and lengths in turn.
macro_rules! note {
    ($($bit:expr),* $(,)?) => { $crate::stack::note::Note(vec![$($crate::stack::note::Bit::from($bit)),*]) };
}

pub(crate) use note;

impl From<&str> for Bit {
    fn from(text: &str) -> Self {
        Self::Text(text.into())
    }
}

impl From<String> for Bit {
    fn from(text: String) -> Self {
        Self::Text(text)
    }
}

impl From<Length> for Bit {
    fn from(length: Length) -> Self {
        Self::Length(length)
    }
}
