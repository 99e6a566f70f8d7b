//! The numbers of a part by which it can be found, sorted and shown.

use crate::error::{Error, Result};
use crate::model::kinds::{KindSpec, Kinds, Quantity, folded};
use crate::model::length::{Length, Unit};
use crate::model::money::Cents;
use crate::model::part::{Part, read_plain, show_value};
use crate::model::sides::Sides;

/// One of them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Figure {
    /// What one costs.
    Price,
    /// How many lie on the shelf.
    OnHand,
    /// How many days one takes to come.
    LeadDays,
    /// A dimension by its key, of whatever kind, with what it is measured in.
    Dim(&'static str, Quantity),
}

/// The numbers that every part has, by their keys.
const OF_ALL: &[(&str, Figure)] =
    &[("price", Figure::Price), ("on_hand", Figure::OnHand), ("lead_days", Figure::LeadDays)];

impl Figure {
    /// The number of this key: of parts of one kind, or of any.
    ///
    /// # Errors
    ///
    /// Names the nearest key where there is none of this name.
    pub fn named(kinds: Kinds, kind: Option<&KindSpec>, key: &str) -> Result<Self> {
        let wanted = folded(key);
        if let Some((_, figure)) = OF_ALL.iter().find(|(known, _)| *known == wanted) {
            return Ok(*figure);
        }
        let asked = || kinds.iter().filter(|one| kind.is_none_or(|kind| kind == *one));
        let dims = || asked().flat_map(|kind| kind.dims);
        if let Some(dim) = dims().find(|dim| dim.key == wanted) {
            return Ok(Self::Dim(dim.key, dim.quantity));
        }
        let whose = kind.map_or("a part".into(), |kind| format!("the kind `{}`", kind.key));
        let error = Error::input(format!("`{}` is no number that {whose} has", key.trim()));
        let known = OF_ALL.iter().map(|(key, _)| *key).chain(dims().map(|dim| dim.key));
        Err(error.near(&wanted, known, "`part keys KIND` lists the dimensions of a kind"))
    }

    /// Its key, as a column has it.
    pub fn key(self) -> &'static str {
        match self {
            Self::Dim(key, _) => key,
            own => OF_ALL.iter().find(|(_, figure)| *figure == own).map_or("", |(key, _)| key),
        }
    }

    /// What a part has of it, in its base unit; none where that is unknown or the kind has no such
    /// dimension.
    pub fn of(self, part: &Part) -> Option<i64> {
        match self {
            Self::Price => part.price.map(Cents::get),
            Self::OnHand => Some(part.on_hand.into()),
            Self::LeadDays => part.lead_days.map(i64::from),
            Self::Dim(key, _) => part.entry(key).map(|entry| entry.value),
        }
    }

    /// Whether it is a length.
    pub fn is_length(self) -> bool {
        matches!(self, Self::Dim(_, Quantity::Length))
    }

    /// What a part has of it, as people read it; blank where that is unknown.
    pub fn shown(self, part: &Part, sides: Option<&Sides>, unit: Unit) -> String {
        let Some(value) = self.of(part) else { return String::new() };
        match (self, sides) {
            (Self::Price, _) => part.price.map(|price| price.to_string()).unwrap_or_default(),
            (Self::Dim(_, Quantity::Length), Some(sides)) => {
                let length = Length::from_nm(value);
                sides.with_word(length.abs().digits(unit, false), length)
            }
            (Self::Dim(_, Quantity::Length), None) => Length::from_nm(value).digits(unit, false),
            (Self::Dim(_, quantity), _) => show_value(quantity, value, unit),
            (Self::OnHand | Self::LeadDays, _) => value.to_string(),
        }
    }

    /// Reads a value of it. Nothing is stored by that, so a bare length is in the unit that people
    /// read.
    fn read(self, text: &str, unit: Unit) -> Result<i64> {
        match self {
            Self::Price => Cents::parse(text).map(Cents::get),
            Self::OnHand | Self::LeadDays => read_plain(Quantity::Count, text),
            Self::Dim(_, Quantity::Length) if is_bare(text) => {
                Length::parse(&format!("{} {}", text.trim(), unit.name())).map(Length::nm)
            }
            Self::Dim(_, quantity) => read_plain(quantity, text),
        }
    }
}

/// A number without a unit.
fn is_bare(text: &str) -> bool {
    text.ends_with(|c: char| c.is_ascii_digit() || c == '.' || "\u{bd}\u{bc}\u{be}".contains(c))
}

/// A range of one number; both ends belong to it, and one that is not given is open.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FigureRange {
    /// The number.
    pub figure: Figure,
    /// The least, in its base unit.
    pub from: Option<i64>,
    /// The most.
    pub to: Option<i64>,
}

impl FigureRange {
    /// Reads what stands behind the key: `0.850..0.900`, `0.850 in..`, `..22.9 mm`, or one value. A
    /// unit behind the second end holds for both.
    ///
    /// # Errors
    ///
    /// Refuses what is no number, and a range whose ends are the wrong way round.
    pub fn read(figure: Figure, text: &str, unit: Unit) -> Result<Self> {
        let (from, to) = match text.split_once("..") {
            Some((from, to)) => (from.trim(), to.trim()),
            None => (text.trim(), text.trim()),
        };
        if from.is_empty() && to.is_empty() {
            return Err(Error::input(format!("`{text}` is no range"))
                .hint("write `0.850..0.900`, `0.850..` or `..0.900`, or one value"));
        }
        let unit_of_both = to.trim_start_matches(|c: char| !(c.is_alphabetic() || c == '"'));
        let from = if figure.is_length() && is_bare(from) && !unit_of_both.is_empty() {
            format!("{from} {unit_of_both}")
        } else {
            from.into()
        };
        let end = |text: &str| (!text.is_empty()).then(|| figure.read(text, unit)).transpose();
        let (from, to) = (end(&from)?, end(to)?);
        if from.zip(to).is_some_and(|(from, to)| from > to) {
            return Err(Error::input(format!("`{text}` runs from the larger to the smaller"))
                .hint("write the smaller end first"));
        }
        Ok(Self { figure, from, to })
    }

    /// Whether a part lies in it. One of which the number is not known does so only where both ends are
    /// open.
    pub fn holds(&self, part: &Part) -> bool {
        if self.from.is_none() && self.to.is_none() {
            return true;
        }
        self.figure.of(part).is_some_and(|value| {
            self.from.is_none_or(|from| value >= from) && self.to.is_none_or(|to| value <= to)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn range(text: &str, unit: Unit) -> Result<(Option<i64>, Option<i64>)> {
        let figure = Figure::Dim("thickness", Quantity::Length);
        FigureRange::read(figure, text, unit).map(|range| (range.from, range.to))
    }

    #[test]
    fn a_bare_end_is_in_the_unit_that_people_read_or_in_that_of_the_other_end() {
        for (text, unit, ends) in [
            ("0.850..0.900", Unit::In, (Some(21_590_000), Some(22_860_000))),
            ("20..22", Unit::Mm, (Some(20_000_000), Some(22_000_000))),
            ("20..22 mm", Unit::In, (Some(20_000_000), Some(22_000_000))),
            ("850..900 thou", Unit::In, (Some(21_590_000), Some(22_860_000))),
            ("1/2..\u{be}\"", Unit::Mm, (Some(12_700_000), Some(19_050_000))),
            ("20 mm..1 in", Unit::In, (Some(20_000_000), Some(25_400_000))),
            ("1 in..", Unit::Mm, (Some(25_400_000), None)),
            ("..1", Unit::In, (None, Some(25_400_000))),
            ("1", Unit::In, (Some(25_400_000), Some(25_400_000))),
        ] {
            assert_eq!(range(text, unit).unwrap(), ends, "{text}");
        }
    }

    #[test]
    fn what_is_no_range_is_refused() {
        for (text, told) in [
            ("..", "`..` is no range"),
            ("", "`` is no range"),
            ("2..1", "from the larger to the smaller"),
            ("thick..1", "`thick"),
        ] {
            let error = range(text, Unit::In).unwrap_err().to_string();
            assert!(error.contains(told), "{text}: {error}");
        }
    }
}
