//! The columns of a field: what each holds, how it is called, and how a field is written.

use crate::model::kinds::Quantity;
use crate::model::length::Scale;
use crate::model::sides::Sides;

/// Which value of a field a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Aspect {
    /// The value itself.
    Value,
    /// Its tolerance.
    Tol,
    /// What a column of the shop's own says, one of many.
    Own,
    /// The thickness of the bar or hub over which it was taken: taken off it.
    Bar,
}

/// How a field is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum ColumnShape {
    /// One cell of text.
    Plain,
    /// Columns of the shop's own, each a cell of text.
    Own,
    /// A bare number with a tolerance.
    Number,
    /// A length without a tolerance.
    Edge,
    /// A measured length with tolerance and bar.
    Length,
    /// The same, whose side may also be written in a word.
    SidedLength(&'static Sides),
}

impl ColumnShape {
    /// The shape of a measured value.
    pub(super) fn of(quantity: Quantity, sides: Option<&'static Sides>) -> Self {
        match quantity {
            Quantity::Length => sides.map_or(Self::Length, Self::SidedLength),
            Quantity::Ratio | Quantity::Count | Quantity::Torque => Self::Number,
        }
    }

    pub(super) fn allows(self, aspect: Aspect, scale: Option<Scale>) -> bool {
        match self {
            Self::Plain | Self::Own => false,
            Self::Number => aspect == Aspect::Tol && scale.is_none(),
            Self::Edge => aspect == Aspect::Value,
            Self::Length | Self::SidedLength(_) => true,
        }
    }

    /// Whether what is written under it is a length with its unit.
    pub(super) fn is_length(self) -> bool {
        matches!(self, Self::Edge | Self::Length | Self::SidedLength(_))
    }

    /// The words for its sides, if there are any.
    pub(super) fn sides(self) -> Option<&'static Sides> {
        match self {
            Self::SidedLength(sides) => Some(sides),
            Self::Plain | Self::Own | Self::Number | Self::Edge | Self::Length => None,
        }
    }

    /// Which values have columns of a file: the value itself, and behind it its tolerance and its bar.
    pub(super) fn aspects(self) -> impl Iterator<Item = Aspect> {
        // The shop's own columns are as many as it has names for.
        let has = move |aspect: &Aspect| match aspect {
            Aspect::Value => self != Self::Own,
            _ => self != Self::Edge && self.allows(*aspect, None),
        };
        [Aspect::Value, Aspect::Tol, Aspect::Bar].into_iter().filter(has)
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

/// The name of a column whose cells carry their unit.
pub(super) fn column_name(key: &str, aspect: Aspect) -> String {
    match aspect {
        Aspect::Value | Aspect::Own => key.into(),
        Aspect::Tol => format!("{key}_tol"),
        Aspect::Bar => format!("{key}_bar"),
    }
}
