//! Lengths, counts and lists in words.

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

/// A number of things: `1 part`, `2 parts`.
pub(super) fn count(number: u128, thing: &str) -> String {
    let plural = if number == 1 { "" } else { "s" };
    format!("{number} {thing}{plural}")
}

/// A large number in groups of three digits: `1,234,567`.
pub(super) fn grouped(number: u128) -> String {
    let digits = number.to_string();
    let groups: Vec<&str> = digits
        .as_bytes()
        .rchunks(3)
        .rev()
        .filter_map(|group| std::str::from_utf8(group).ok())
        .collect();
    groups.join(",")
}

/// `a`, `a and b`, `a, b and c`; beyond `most` the rest is only counted.
pub(super) fn list(items: &[String], most: usize) -> String {
    let more = items.len().saturating_sub(most);
    let shown = &items[..items.len().min(most)];
    match shown {
        [] => String::new(),
        _ if more > 0 => format!("{} and {more} more", shown.join(", ")),
        [one] => one.clone(),
        [rest @ .., last] => format!("{} and {last}", rest.join(", ")),
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
    fn counts_and_lists_read_like_speech() {
        assert_eq!([7, 999, 1000, 1_234_567].map(grouped), ["7", "999", "1,000", "1,234,567"]);
        assert_eq!(count(1, "part"), "1 part");
        assert_eq!(count(0, "part"), "0 parts");
        let items: Vec<String> = ["a", "b", "c"].map(String::from).into();
        assert_eq!(list(&items, 5), "a, b and c");
        assert_eq!(list(&items, 2), "a, b and 1 more");
        assert_eq!(list(&items[..1], 2), "a");
        assert_eq!(capital("too tight"), "Too tight");
    }

    #[test]
    fn a_note_can_be_given_in_both_units() {
        let note = Note(vec![Bit::from("at least "), Bit::from(Length::from_thou(250))]);
        assert_eq!(Units::One(Unit::Mm).note(&note), "at least 6.35 mm");
        assert_eq!(Units::Both.note(&note), "at least 0.250 in (6.35 mm)");
    }
}
