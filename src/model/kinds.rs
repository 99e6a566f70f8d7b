//! The one table of part kinds: their dimensions, mating faces and places in the stack.
//!
//! CSV headers, templates, help, validation, JSON keys, the slots of a stack and the terms of its
//! sum all follow from [`STANDARD`]. Adding a kind or a dimension is one entry there.

use strsim::damerau_levenshtein;

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
pub enum End {
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
    pub end: End,
    /// Only a matched set (a plate that brings its discs) has this face.
    pub matched_set_only: bool,
}

/// A word that a part may carry, with the only words that this program can compute with.
#[derive(Debug, Clone, Copy)]
pub struct FactSpec {
    /// The CSV column name and JSON key.
    pub key: &'static str,
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
    /// Left blank in a measured sum it is "as on the bench" rather than free.
    pub bench: bool,
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

    /// The kinds that have a slot, in slot order: the position is the slot's index everywhere.
    pub fn slots(self) -> impl Iterator<Item = (&'static KindSpec, &'static SlotSpec)> {
        self.0.iter().filter_map(|kind| kind.slot.as_ref().map(|slot| (kind, slot)))
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

/// The name among `known` that is nearest to `found`, where one is near at all.
pub fn nearest<'a>(found: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let distance = |name: &str| damerau_levenshtein(found, name);
    let best = known.into_iter().min_by_key(|name| distance(name))?;
    (distance(best) <= 2 + found.len() / 3).then_some(best)
}

const LENGTH: DimSpec = DimSpec {
    key: "",
    quantity: Quantity::Length,
    needed: false,
    sign: Sign::Positive,
    enters: &[],
    assumed: Assumed::Unneeded,
    stand_in: &[],
    blank: None,
    about: "",
};

const fn extra(key: &'static str, about: &'static str) -> DimSpec {
    DimSpec { key, about, ..LENGTH }
}

const fn signed(spec: DimSpec) -> DimSpec {
    DimSpec { sign: Sign::Any, ..spec }
}

const fn summed(
    key: &'static str,
    enters: &'static [Enters],
    thou: i64,
    about: &'static str,
) -> DimSpec {
    DimSpec { key, enters, assumed: Assumed::Thou(thou), about, ..LENGTH }
}

const fn needed(
    key: &'static str,
    enters: &'static [Enters],
    thou: i64,
    about: &'static str,
) -> DimSpec {
    DimSpec { needed: true, ..summed(key, enters, thou, about) }
}

const fn face(key: &'static str, joint: Joint) -> FaceSpec {
    FaceSpec { key, joint, end: End::Front, matched_set_only: false }
}

const fn rear(key: &'static str, joint: Joint) -> FaceSpec {
    FaceSpec { end: End::Rear, ..face(key, joint) }
}

const fn slot(key: &'static str, takes: Takes, inside: Option<Inside>) -> Option<SlotSpec> {
    Some(SlotSpec { key, takes, inside, bench: false, fixed: false })
}

const fn fixed_slot(key: &'static str, inside: Inside) -> Option<SlotSpec> {
    Some(SlotSpec { key, takes: Takes::One, inside: Some(inside), bench: true, fixed: true })
}

/// Every kind of part, in the order in which they stand along the crank axis.
pub const STANDARD: &[KindSpec] = &[
    KindSpec {
        key: "engine",
        plural: "engines",
        name: "engine",
        slot: fixed_slot("engine", Inside::Crank),
        dims: &[
            signed(needed(
                "crank_protrusion",
                &[Enters::Finger(1)],
                10,
                "bare block's housing face to crank flange, positive toward the gearbox",
            )),
            signed(extra(
                "pilot_recess",
                "crank flange into the crank to the pilot bearing's rear face",
            )),
            extra("pilot_length", "length of the pilot bearing"),
            extra("pilot_bore_depth", "crank flange into the crank to the bottom of the hole"),
            extra("dowel_protrusion", "block face to the end of the dowels"),
            DimSpec {
                sign: Sign::NotNegative,
                ..extra("crank_end_float", "end float of the crank")
            },
        ],
        faces: &[face("crank_pattern", Joint::Crank), face("block_pattern", Joint::Block)],
        facts: &[],
    },
    KindSpec {
        key: "flywheel",
        plural: "flywheels",
        name: "flywheel",
        slot: slot("flywheel", Takes::One, Some(Inside::Clutch)),
        dims: &[
            needed("thickness", &[Enters::Finger(1)], 5, "crank flange to friction face"),
            DimSpec {
                blank: Some(0),
                ..signed(summed(
                    "cover_step",
                    &[Enters::Finger(1), Enters::Gap(-1)],
                    5,
                    "friction face to the cover's mounting face, positive where the cover face stands \
                     nearer the gearbox; blank is a flat flywheel",
                ))
            },
            extra("min_thickness", "least thickness to which it may be machined"),
            extra("ring_gear_offset", "crank flange to the ring gear's front face"),
            extra(
                "bolt_clearance",
                "crank bolt heads to the friction face: room for the disc's hub",
            ),
            DimSpec { quantity: Quantity::Count, ..extra("ring_teeth", "teeth of the ring gear") },
        ],
        faces: &[face("crank_pattern", Joint::Crank), face("cover_pattern", Joint::Cover)],
        facts: &[],
    },
    KindSpec {
        key: "disc",
        plural: "discs",
        name: "disc",
        slot: slot("disc", Takes::OneUnlessMatchedSet, Some(Inside::Clutch)),
        dims: &[
            DimSpec {
                stand_in: &[("free_thickness", 1), ("cushion", -1)],
                ..needed("thickness", &[Enters::Gap(1)], 10, "over both facings, clamped")
            },
            DimSpec {
                assumed: Assumed::Thou(10),
                ..extra("free_thickness", "over both facings, free")
            },
            DimSpec {
                sign: Sign::NotNegative,
                assumed: Assumed::Thou(10),
                ..extra("cushion", "what clamping takes off the free thickness")
            },
            extra("min_thickness", "clamped thickness at which it is worn out"),
            extra("diameter", "over the facings"),
            signed(extra(
                "hub_front",
                "friction face on the flywheel's side to the front of the hub",
            )),
        ],
        faces: &[face("spline", Joint::Spline)],
        facts: &[],
    },
    KindSpec {
        key: "pressure_plate",
        plural: "pressure_plates",
        name: "pressure plate",
        slot: slot("pressure_plate", Takes::One, Some(Inside::Clutch)),
        dims: &[
            needed(
                "finger_height",
                &[Enters::Finger(1)],
                40,
                "cover's mounting face to finger tips, bolted down at set_gap",
            ),
            signed(summed(
                "set_gap",
                &[Enters::GapTaken],
                5,
                "cover's mounting face to the pressure plate's friction face when finger_height was \
                 taken: the clamped disc less the step",
            )),
            signed(extra("set_gap_min", "least gap of the working range")),
            signed(extra("set_gap_max", "largest gap of the working range")),
            summed(
                "pack_thickness",
                &[Enters::Gap(1)],
                10,
                "a matched set's discs and plates, clamped; such a set takes no disc",
            ),
            DimSpec {
                quantity: Quantity::Ratio,
                enters: &[Enters::FingerRatio],
                assumed: Assumed::Percent(10),
                ..extra("finger_ratio", "finger movement per movement of the pressure plate")
            },
            DimSpec {
                sign: Sign::NotNegative,
                ..extra("wear_allowance", "what all facings of the pack together may lose")
            },
            extra("release_travel", "bearing travel that releases the clutch"),
            extra("max_release_travel", "bearing travel that must not be passed"),
            extra("finger_circle_inner", "inner diameter of the finger tips' circle"),
            extra("finger_circle_outer", "outer diameter of the finger tips' flat"),
            extra("disc_diameter", "diameter of the disc it is made for"),
            DimSpec {
                quantity: Quantity::Torque,
                ..extra("torque_rating", "torque it carries, N m")
            },
        ],
        faces: &[
            face("cover_pattern", Joint::Cover),
            face("contact_face", Joint::Contact),
            FaceSpec { matched_set_only: true, ..face("spline", Joint::Spline) },
        ],
        facts: &[FactSpec {
            key: "action",
            accepted: &["push"],
            refusal: "only push-type clutches are computed: a pull-type clutch's geometry runs the \
                      other way",
        }],
    },
    KindSpec {
        key: "block_plate",
        plural: "block_plates",
        name: "block plate",
        slot: slot("block_plate", Takes::Optional, None),
        dims: &[needed("thickness", &[Enters::Rear(1)], 3, "face to face")],
        faces: &[face("block_pattern", Joint::Block)],
        facts: &[],
    },
    KindSpec {
        key: "bell_spacer",
        plural: "bell_spacers",
        name: "bell spacer",
        slot: slot("bell_spacer", Takes::Optional, None),
        dims: &[needed("thickness", &[Enters::Rear(1)], 3, "face to face")],
        faces: &[face("block_pattern", Joint::Block), rear("block_pattern_rear", Joint::Block)],
        facts: &[],
    },
    KindSpec {
        key: "bell_housing",
        plural: "bell_housings",
        name: "bell housing",
        slot: fixed_slot("bell_housing", Inside::BearingDepth),
        dims: &[needed("depth", &[Enters::Rear(1)], 10, "engine face to gearbox face")],
        faces: &[face("block_pattern", Joint::Block), face("gearbox_pattern", Joint::Gearbox)],
        facts: &[],
    },
    KindSpec {
        key: "gearbox_spacer",
        plural: "gearbox_spacers",
        name: "gearbox spacer",
        slot: slot("gearbox_spacer", Takes::Optional, Some(Inside::BearingDepth)),
        dims: &[needed("thickness", &[Enters::Rear(1)], 3, "face to face")],
        faces: &[
            face("gearbox_pattern", Joint::Gearbox),
            rear("gearbox_pattern_rear", Joint::Gearbox),
        ],
        facts: &[],
    },
    KindSpec {
        key: "gearbox",
        plural: "gearboxes",
        name: "gearbox",
        slot: fixed_slot("gearbox", Inside::BearingDepth),
        dims: &[
            signed(needed(
                "seat_height",
                &[Enters::Rear(-1)],
                10,
                "gearbox face to bearing seat, positive toward the engine",
            )),
            extra("shaft_length", "gearbox face to the tip of the input shaft"),
        ],
        faces: &[
            face("gearbox_pattern", Joint::Gearbox),
            face("spline", Joint::Spline),
            face("seat_pattern", Joint::Seat),
        ],
        facts: &[],
    },
    KindSpec {
        key: "bearing",
        plural: "bearings",
        name: "bearing",
        slot: slot("bearing", Takes::One, Some(Inside::BearingDepth)),
        dims: &[
            needed(
                "extended_height",
                &[Enters::Extended(-1)],
                15,
                "seat to contact face at the largest height it may work at",
            ),
            needed(
                "retracted_height",
                &[Enters::Retracted(-1)],
                15,
                "seat to contact face bottomed, bleeder open",
            ),
            extra("contact_diameter", "diameter at which it touches the fingers"),
            DimSpec {
                sign: Sign::NotNegative,
                ..extra("max_shim", "most shim that may stand behind it")
            },
            extra("bore_outer", "outer diameter of the ring-shaped piston"),
            extra("bore_inner", "inner diameter of the ring-shaped piston"),
        ],
        faces: &[face("seat_pattern", Joint::Seat), face("contact_face", Joint::Contact)],
        facts: &[],
    },
    KindSpec {
        key: "bearing_shim",
        plural: "bearing_shims",
        name: "bearing shim",
        slot: slot("bearing_shims", Takes::UpToTwo, Some(Inside::BearingDepth)),
        dims: &[needed("thickness", &[Enters::Rear(-1)], 1, "face to face")],
        faces: &[face("seat_pattern", Joint::Seat)],
        facts: &[],
    },
    KindSpec {
        key: "master_cylinder",
        plural: "master_cylinders",
        name: "master cylinder",
        slot: None,
        dims: &[
            DimSpec { needed: true, ..extra("bore", "diameter of its bore") },
            DimSpec { needed: true, ..extra("stroke", "longest stroke of its piston") },
        ],
        faces: &[],
        facts: &[],
    },
];

#[cfg(test)]
mod tests {
    use super::*;

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

    #[test]
    fn the_nearest_known_name_is_found_only_when_it_is_near() {
        let known = ["thickness", "cover_step"];
        assert_eq!(nearest("thicknes", known), Some("thickness"));
        assert_eq!(nearest("colour", known), None);
    }
}
