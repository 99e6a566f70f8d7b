//! The one table of part kinds: their dimensions, mating faces and places in the stack.
//!
//! CSV headers, templates, help, validation, JSON keys, the slots of a stack and the terms of its
//! sum all follow from [`STANDARD`]. Adding a kind or a dimension is one entry there.

mod standard;

use crate::error::{Error, Result};
use crate::model::sides::Sides;
use crate::model::usual::Usual;

pub use standard::STANDARD;

/// What a dimension counts in. The stored number is a whole number of the base unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Quantity {
    /// A length in nanometres.
    Length,
    /// A plain ratio in millionths.
    Ratio,
    /// A count of things.
    Count,
    /// A torque in millinewton metres.
    Torque,
}

/// Which signs a dimension may have.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sign {
    /// Above zero.
    Positive,
    /// Zero or above.
    NotNegative,
    /// Any.
    Any,
}

/// Where a dimension enters the sum along the crank axis, with its sign.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Enters {
    /// The position of the finger tips.
    Finger(i64),
    /// The gap between the cover's mounting face and the pressure plate's friction face, now.
    Gap(i64),
    /// The gap with which the finger height was measured.
    GapTaken,
    /// The finger ratio that turns a difference of gaps into finger movement.
    FingerRatio,
    /// The bearing's contact face, extended and retracted alike.
    Rear(i64),
    /// The bearing's contact face extended.
    Extended(i64),
    /// The bearing's contact face retracted.
    Retracted(i64),
}

/// The tolerance that stands in where none was given: invented round numbers, editable by the shop.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Assumed {
    /// Thousandths of an inch.
    Thou(i64),
    /// Per cent of the value itself.
    Percent(i64),
    /// None is needed: the dimension enters no sum.
    Unneeded,
}

/// One dimension of a kind.
#[derive(Debug, Clone, Copy)]
pub struct DimSpec {
    /// The CSV column name and JSON key.
    pub key: &'static str,
    /// What it counts in.
    pub quantity: Quantity,
    /// Needed before the part can take its place in a stack.
    pub needed: bool,
    /// The signs it may have.
    pub sign: Sign,
    /// Where it enters the sum; empty for a dimension that only checks use.
    pub enters: &'static [Enters],
    /// The tolerance assumed where none was given.
    pub assumed: Assumed,
    /// Where it is unknown, the signed sum of other dimensions that stands for it.
    pub stand_in: &'static [(&'static str, i64)],
    /// The value where it is blank (exact), if blank has a meaning.
    pub blank: Option<i64>,
    /// Between what it usually lies: asked on entry alone.
    pub usual: Option<Usual>,
    /// The key of another dimension, and between what this one less that one usually lies.
    pub usual_less: Option<(&'static str, Usual)>,
    /// The words for its sides, where a sign alone would be misread.
    pub sides: Option<&'static Sides>,
    /// From where to where it is measured.
    pub about: &'static str,
}

/// The eight places at which two parts have to fit each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Joint {
    /// Engine and flywheel.
    Crank,
    /// Flywheel and pressure plate.
    Cover,
    /// Disc and pressure plate: diameters within 1 mm.
    Diameter,
    /// Disc (or matched set) and gearbox.
    Spline,
    /// Engine, block plate, bell spacer and bell housing.
    Block,
    /// Bell housing, gearbox spacer and gearbox.
    Gearbox,
    /// Gearbox, bearing and shims.
    Seat,
    /// Pressure plate and bearing.
    Contact,
}

impl Joint {
    /// All joints, in the order in which they are named.
    pub const ALL: [Self; 8] = [
        Self::Crank,
        Self::Cover,
        Self::Diameter,
        Self::Spline,
        Self::Block,
        Self::Gearbox,
        Self::Seat,
        Self::Contact,
    ];

    /// The joint's name for people.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Crank => "crank",
            Self::Cover => "cover",
            Self::Diameter => "diameter",
            Self::Spline => "spline",
            Self::Block => "block",
            Self::Gearbox => "gearbox",
            Self::Seat => "seat",
            Self::Contact => "contact",
        }
    }

    /// The joint's bit in a set of joints.
    pub const fn bit(self) -> u8 {
        1 << self as u8
    }
}

/// Which end of an adapting part a face stands at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FaceEnd {
    /// The face toward the engine, or the only one.
    Front,
    /// The face toward the gearbox of a part that may adapt one pattern to another.
    Rear,
}

/// One mating face of a kind.
#[derive(Debug, Clone, Copy)]
pub struct FaceSpec {
    /// The CSV column name and JSON key.
    pub key: &'static str,
    /// The joint it takes part in.
    pub joint: Joint,
    /// Which end of the part it is.
    pub end: FaceEnd,
    /// Only a matched set (a plate that brings its discs) has this face.
    pub matched_set_only: bool,
}

/// A word that a part may carry, with the only words that this program can compute with.
#[derive(Debug, Clone, Copy)]
pub struct FactSpec {
    /// The CSV column name and JSON key.
    pub key: &'static str,
    /// What it means.
    pub about: &'static str,
    /// The accepted words.
    pub accepted: &'static [&'static str],
    /// Why any other word is refused.
    pub refusal: &'static str,
}

/// How many parts a slot takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Takes {
    /// Exactly one.
    One,
    /// One, or none where the pressure plate is a matched set.
    OneUnlessMatchedSet,
    /// None or one.
    Optional,
    /// None, one or two, in no order.
    UpToTwo,
}

impl Takes {
    /// How many at most.
    pub const fn most(self) -> usize {
        match self {
            Self::UpToTwo => 2,
            Self::One | Self::OneUnlessMatchedSet | Self::Optional => 1,
        }
    }
}

/// A measured sum of the job that holds parts of this kind.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Inside {
    /// Crank protrusion (and finger depth).
    Crank,
    /// Clutch height (and finger depth).
    Clutch,
    /// The bearing depths.
    BearingDepth,
}

/// A kind's place in the stack.
#[derive(Debug, Clone, Copy)]
pub struct SlotSpec {
    /// The job's column name and the JSON key.
    pub key: &'static str,
    /// How many parts it takes.
    pub takes: Takes,
    /// Which measured sum holds it.
    pub inside: Option<Inside>,
    /// Stays as the job names it unless it is opened.
    pub fixed: bool,
}

/// One kind of part.
#[derive(Debug, Clone, Copy)]
pub struct KindSpec {
    /// The kind's name in CSV, JSON and commands.
    pub key: &'static str,
    /// Its plural: the file name and the heading.
    pub plural: &'static str,
    /// The kind in words.
    pub name: &'static str,
    /// Its place in the stack, if it has one.
    pub slot: Option<SlotSpec>,
    /// Its dimensions.
    pub dims: &'static [DimSpec],
    /// Its mating faces.
    pub faces: &'static [FaceSpec],
    /// Its words.
    pub facts: &'static [FactSpec],
}

impl KindSpec {
    /// The position of a dimension in [`KindSpec::dims`].
    pub fn dim_index(&self, key: &str) -> Option<usize> {
        self.dims.iter().position(|dim| dim.key == key)
    }

    /// The dimension of this key.
    ///
    /// # Errors
    ///
    /// Names the nearest dimension where there is none of this key.
    pub fn dim(&self, key: &str) -> Result<&'static DimSpec> {
        if let Some(dim) = self.dims.iter().find(|dim| dim.key == key) {
            return Ok(dim);
        }
        let error = Error::input(format!("`{key}` is no dimension of a {}", self.name));
        let known = self.dims.iter().map(|dim| dim.key);
        Err(error.near(key, known, format!("`part keys {}` lists them", self.key)))
    }

    /// Whether its two ends stand apart in the sum: it is a bearing, which travels between them.
    pub fn has_travel(&self) -> bool {
        let apart = |enters: &Enters| matches!(enters, Enters::Extended(_) | Enters::Retracted(_));
        self.dims.iter().any(|dim| dim.enters.iter().any(apart))
    }

    /// The position of a face in [`KindSpec::faces`].
    pub fn face_index(&self, key: &str) -> Option<usize> {
        self.faces.iter().position(|face| face.key == key)
    }

    /// The column and JSON keys that are this kind's own.
    pub fn own_keys(&self) -> impl Iterator<Item = &'static str> {
        let dims = self.dims.iter().map(|dim| dim.key);
        let faces = self.faces.iter().map(|face| face.key);
        dims.chain(faces).chain(self.facts.iter().map(|fact| fact.key))
    }
}

impl PartialEq for KindSpec {
    fn eq(&self, other: &Self) -> bool {
        self.key == other.key
    }
}

impl Eq for KindSpec {}

/// A table of kinds: the standard one, or in a test one with an entry more.
#[derive(Debug, Clone, Copy)]
pub struct Kinds(&'static [KindSpec]);

impl Kinds {
    /// The program's own table.
    pub const fn standard() -> Self {
        Self(STANDARD)
    }

    /// Another table.
    pub const fn new(table: &'static [KindSpec]) -> Self {
        Self(table)
    }

    /// Every kind, in the contract's order.
    pub fn iter(self) -> std::slice::Iter<'static, KindSpec> {
        self.0.iter()
    }

    /// The kind of this name.
    pub fn get(self, key: &str) -> Option<&'static KindSpec> {
        self.0.iter().find(|kind| kind.key == key)
    }

    /// The kind whose name, plural or slot this is.
    pub fn find(self, name: &str) -> Option<&'static KindSpec> {
        self.0.iter().find(|kind| {
            kind.key == name
                || kind.plural == name
                || kind.slot.is_some_and(|slot| slot.key == name)
        })
    }

    /// The kind of this name, plural or slot, however it is written.
    ///
    /// # Errors
    ///
    /// Names the nearest kind where there is none of this name.
    pub fn named(self, name: &str) -> Result<&'static KindSpec> {
        self.find(&folded(name)).ok_or_else(|| self.no_kind(name, []))
    }

    /// The refusal of a kind that there is not, where these names would do as well.
    pub fn no_kind<'a>(self, name: &str, others: impl IntoIterator<Item = &'a str>) -> Error {
        let keys = || self.iter().map(|kind| kind.key);
        let all = format!("kinds are {}", keys().collect::<Vec<_>>().join(", "));
        let error = Error::input(format!("`{}` is no kind of part", name.trim()));
        error.near(&folded(name), keys().chain(others), all)
    }

    /// The kinds that have a slot, in slot order: the position is the slot's index everywhere.
    pub fn slots(self) -> impl Iterator<Item = (&'static KindSpec, &'static SlotSpec)> {
        self.0.iter().filter_map(|kind| kind.slot.as_ref().map(|slot| (kind, slot)))
    }

    /// The words for the sides of a dimension or reading of this key, if it has any.
    pub fn sides(self, key: &str) -> Option<&'static Sides> {
        let dims = self.0.iter().flat_map(|kind| kind.dims);
        dims.filter(|dim| dim.key == key).find_map(|dim| dim.sides)
    }

    /// How many slots a stack has.
    pub fn slot_count(self) -> usize {
        self.slots().count()
    }

    /// The index of a kind's slot.
    pub fn slot_of(self, kind: &str) -> Option<usize> {
        self.slots().position(|(spec, _)| spec.key == kind)
    }

    /// The index of the slot of this name (the kind's name is understood too).
    pub fn slot_named(self, name: &str) -> Option<usize> {
        self.slots().position(|(kind, slot)| slot.key == name || kind.key == name)
    }

    /// The key of the slot at an index.
    pub fn slot_key(self, index: usize) -> &'static str {
        self.slots().nth(index).map_or("", |(_, slot)| slot.key)
    }
}

/// A name as it is compared: small letters, and underscores for spaces and hyphens.
pub fn folded(name: &str) -> String {
    name.trim()
        .chars()
        .map(|c| if c == ' ' || c == '-' { '_' } else { c.to_ascii_lowercase() })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_compared_without_case_spaces_and_hyphens() {
        assert_eq!(folded(" Crank Protrusion-tol "), "crank_protrusion_tol");
    }

    #[test]
    fn keys_are_unique_within_a_kind_and_names_within_the_table() {
        for kind in Kinds::standard().iter() {
            let mut keys: Vec<_> = kind.own_keys().collect();
            let before = keys.len();
            keys.sort_unstable();
            keys.dedup();
            assert_eq!(keys.len(), before, "{}", kind.key);
        }
        let names: Vec<_> = Kinds::standard().iter().map(|kind| kind.key).collect();
        for name in &names {
            assert_eq!(names.iter().filter(|other| other == &name).count(), 1);
        }
    }

    #[test]
    fn a_needed_dimension_of_a_slot_enters_the_sum_and_has_an_assumed_tolerance() {
        for (kind, _) in Kinds::standard().slots() {
            for dim in kind.dims.iter().filter(|dim| dim.needed || !dim.enters.is_empty()) {
                assert!(!dim.enters.is_empty(), "{}.{}", kind.key, dim.key);
                assert_ne!(dim.assumed, Assumed::Unneeded, "{}.{}", kind.key, dim.key);
            }
        }
    }
}
