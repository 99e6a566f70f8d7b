//! Lengths and notes in words.

use crate::model::length::{Length, Unit};
use crate::stack::note::{Bit, Note};
use crate::stack::window::SetBy;

/// In which unit a sentence gives its lengths.
#[derive(Debug, Clone, Copy)]
pub(super) enum Units {
    /// In the reader's unit.
    One(Unit),
    /// In both, for programs that pass a sentence on to somebody whose unit they do not know.
    Both,
}

impl Units {
    /// The unit in which numbers in tables beside it stand.
    pub(super) const fn unit(self) -> Unit {
        match self {
            Self::One(unit) => unit,
            Self::Both => Unit::In,
        }
    }

    /// A length with its unit.
    pub(super) fn length(self, length: Length) -> String {
        match self {
            Self::One(unit) => length.show(unit),
            Self::Both => format!("{} ({})", length.show(Unit::In), length.show(Unit::Mm)),
        }
    }

    /// A note of a check or caution.
    pub(super) fn note(self, note: &Note) -> String {
        let bit = |bit: &Bit| match bit {
            Bit::Text(text) => text.clone(),
            Bit::Length(length) => self.length(*length),
        };
        note.0.iter().map(bit).collect()
    }
}

/// With a capital, for the beginning of a line.
pub(super) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// Who set a number of the window.
pub(super) const fn setter(set_by: SetBy) -> &'static str {
    match set_by {
        SetBy::Job => "the job",
        SetBy::Shop => "the shop",
        SetBy::Clutch => "the clutch's own data",
        SetBy::House => "the house fallback",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_begins_with_a_capital() {
        assert_eq!(capital("too tight"), "Too tight");
        assert_eq!(capital(""), "");
    }

    #[test]
    fn a_note_can_be_given_in_both_units() {
        let note = Note(vec![Bit::from("at least "), Bit::from(Length::from_thou(250))]);
        assert_eq!(Units::One(Unit::Mm).note(&note), "at least 6.35 mm");
        assert_eq!(Units::Both.note(&note), "at least 0.250 in (6.35 mm)");
    }
}
