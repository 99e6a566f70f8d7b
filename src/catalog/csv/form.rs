//! A form: the fields of one kind of part or of a job, and the columns that may fill them.

use crate::model::kinds::nearest;
use crate::model::length::Scale;
use crate::model::sides::Sides;

/// Which value of a field a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Aspect {
    /// The value itself.
    Value,
    /// Its tolerance.
    Tol,
    /// The thickness of the bar or hub over which it was taken: taken off it.
    Bar,
}

/// How a field is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Shape {
    /// One cell of text.
    Plain,
    /// A bare number with a tolerance.
    Number,
    /// A length without a tolerance.
    Edge,
    /// A measured length with tolerance and bar.
    Length,
    /// The same, whose side may also be written in a word.
    SidedLength(&'static Sides),
}

impl Shape {
    fn allows(self, aspect: Aspect, scale: Option<Scale>) -> bool {
        match self {
            Self::Plain => false,
            Self::Number => aspect == Aspect::Tol && scale.is_none(),
            Self::Edge => aspect == Aspect::Value,
            Self::Length | Self::SidedLength(_) => true,
        }
    }

    /// Whether what is written under it is a length with its unit.
    pub(super) fn is_length(self) -> bool {
        matches!(self, Self::Edge | Self::Length | Self::SidedLength(_))
    }

    /// The shape of a measured length.
    pub(super) fn length(sides: Option<&'static Sides>) -> Self {
        sides.map_or(Self::Length, Self::SidedLength)
    }

    /// The words for its sides, if there are any.
    pub(super) fn sides(self) -> Option<&'static Sides> {
        match self {
            Self::SidedLength(sides) => Some(sides),
            Self::Plain | Self::Number | Self::Edge | Self::Length => None,
        }
    }

    /// Whether it has a column of this aspect beside its own.
    fn has_more(self, aspect: Aspect) -> bool {
        self != Self::Edge && self.allows(aspect, None)
    }
}

/// One thing that a row says.
#[derive(Debug, Clone, Copy)]
pub(super) struct Field<W> {
    /// The column's name.
    pub(super) key: &'static str,
    /// What it is of the part or job.
    pub(super) what: W,
    /// How it is written.
    pub(super) shape: Shape,
    /// What it means, for help.
    pub(super) about: &'static str,
}

/// Where a column belongs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Place {
    /// The field's position in its form.
    pub(super) field: usize,
    /// Which of its values.
    pub(super) aspect: Aspect,
    /// The unit that the column's name gives to bare numbers.
    pub(super) scale: Option<Scale>,
}

/// Endings of a column's name behind the field's key; the longer ones first.
const ENDINGS: &[(&str, Aspect, Option<Scale>)] = &[
    ("_tol_in", Aspect::Tol, Some(Scale::Inch)),
    ("_tol_mm", Aspect::Tol, Some(Scale::Millimetre)),
    ("_bar_in", Aspect::Bar, Some(Scale::Inch)),
    ("_bar_mm", Aspect::Bar, Some(Scale::Millimetre)),
    ("_tol", Aspect::Tol, None),
    ("_bar", Aspect::Bar, None),
    ("_in", Aspect::Value, Some(Scale::Inch)),
    ("_mm", Aspect::Value, Some(Scale::Millimetre)),
];

/// The fields of one kind of part, or of a job.
#[derive(Debug, Clone)]
pub(super) struct Form<W> {
    /// The fields, in the order of the columns.
    pub(super) fields: Vec<Field<W>>,
}

impl<W: Copy + PartialEq> Form<W> {
    /// Where a column of this name belongs.
    pub(super) fn place(&self, name: &str) -> Option<Place> {
        let position = |key: &str| self.fields.iter().position(|field| field.key == key);
        if let Some(field) = position(name) {
            return Some(Place { field, aspect: Aspect::Value, scale: None });
        }
        ENDINGS.iter().find_map(|(ending, aspect, scale)| {
            let field = position(name.strip_suffix(ending)?)?;
            let allowed = self.fields[field].shape.allows(*aspect, *scale);
            allowed.then_some(Place { field, aspect: *aspect, scale: *scale })
        })
    }

    /// The name among all that this form knows that is nearest to `found`.
    pub(super) fn nearest(&self, found: &str) -> Option<String> {
        nearest_of(found, self.names())
    }

    /// Every column name that this form knows.
    pub(super) fn names(&self) -> impl Iterator<Item = String> {
        self.fields.iter().flat_map(|field| {
            let endings = ENDINGS
                .iter()
                .filter(|(_, aspect, scale)| field.shape.allows(*aspect, *scale))
                .map(|(ending, ..)| format!("{}{ending}", field.key));
            std::iter::once(field.key.to_string()).chain(endings)
        })
    }

    /// The columns of a file: each field, and behind it its tolerance and its bar.
    pub(super) fn columns(&self) -> impl Iterator<Item = (&Field<W>, Aspect)> {
        self.fields.iter().flat_map(|field| {
            let more = |aspect| field.shape.has_more(aspect).then_some((field, aspect));
            let more = [more(Aspect::Tol), more(Aspect::Bar)].into_iter().flatten();
            std::iter::once((field, Aspect::Value)).chain(more)
        })
    }

    /// The names of [`Form::columns`].
    pub(super) fn header(&self) -> Vec<String> {
        self.columns().map(|(field, aspect)| column_name(field.key, aspect)).collect()
    }
}

/// The name of a column whose cells carry their unit.
pub(super) fn column_name(key: &str, aspect: Aspect) -> String {
    match aspect {
        Aspect::Value => key.into(),
        Aspect::Tol => format!("{key}_tol"),
        Aspect::Bar => format!("{key}_bar"),
    }
}

/// The nearest of some names, where one is near at all.
pub(super) fn nearest_of(found: &str, names: impl Iterator<Item = String>) -> Option<String> {
    let names: Vec<String> = names.collect();
    nearest(found, names.iter().map(String::as_str)).map(String::from)
}

/// A name as it is compared: small letters, and underscores for spaces and hyphens.
pub(super) fn folded(name: &str) -> String {
    name.trim()
        .chars()
        .map(|c| if c == ' ' || c == '-' { '_' } else { c.to_ascii_lowercase() })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn form() -> Form<u8> {
        let field = |key, shape| Field { key, what: 0, shape, about: "" };
        Form {
            fields: vec![
                field("id", Shape::Plain),
                field("thickness", Shape::Length),
                field("finger_ratio", Shape::Number),
                field("preload_min", Shape::Edge),
                field("depth", Shape::Length),
                field("depth_bar", Shape::Plain),
            ],
        }
    }

    #[test]
    fn a_column_is_found_by_key_and_ending() {
        let form = form();
        let place = form.place("thickness_tol_mm").unwrap();
        assert_eq!((place.field, place.aspect), (1, Aspect::Tol));
        assert_eq!(place.scale, Some(Scale::Millimetre));
        assert!(form.place("finger_ratio_tol").is_some());
        assert!(form.place("preload_min_in").is_some());
        for unknown in ["id_in", "finger_ratio_in", "finger_ratio_bar", "preload_min_tol", "x"] {
            assert!(form.place(unknown).is_none(), "{unknown}");
        }
    }

    #[test]
    fn a_key_of_its_own_goes_before_a_key_with_an_ending() {
        assert_eq!(form().place("depth_bar").unwrap().field, 5);
    }

    #[test]
    fn the_nearest_column_is_named() {
        assert_eq!(form().nearest("thicknes").as_deref(), Some("thickness"));
        assert_eq!(form().nearest("thickness_tol_inch").as_deref(), Some("thickness_tol_in"));
        assert_eq!(form().nearest("colour_of_paint"), None);
    }

    #[test]
    fn names_are_compared_without_case_spaces_and_hyphens() {
        assert_eq!(folded(" Crank Protrusion-tol "), "crank_protrusion_tol");
    }
}
