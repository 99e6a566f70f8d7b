//! The declarative table: every kind with its slot, dimensions and mating faces.

use super::{
    Assumed, DimSpec, End, Enters, FaceSpec, FactSpec, Inside, Joint, KindSpec, Quantity, Sign,
    SlotSpec, Takes,
};

use crate::model::sides::{CRANK, FRICTION_FACE, SEAT};

/// Every kind of part, in the order in which they stand along the crank axis.
pub const STANDARD: &[KindSpec] = &[
    KindSpec {
        key: "engine",
        plural: "engines",
        name: "engine",
        slot: Some(fixed_slot("engine", Inside::Crank)),
        dims: &[
            DimSpec {
                sides: Some(&CRANK),
                ..signed(needed(
                    "crank_protrusion",
                    &[Enters::Finger(1)],
                    10,
                    "bare block's housing face to crank flange, proud toward the gearbox",
                ))
            },
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
        slot: Some(slot("flywheel", Takes::One, Some(Inside::Clutch))),
        dims: &[
            needed("thickness", &[Enters::Finger(1)], 5, "crank flange to friction face"),
            DimSpec {
                blank: Some(0),
                sides: Some(&FRICTION_FACE),
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
        slot: Some(slot("disc", Takes::OneUnlessMatchedSet, Some(Inside::Clutch))),
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
        slot: Some(slot("pressure_plate", Takes::One, Some(Inside::Clutch))),
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
            about: "which way the fingers are moved to release: `push`, toward the engine",
            accepted: &["push"],
            refusal: "only push-type clutches are computed: a pull-type clutch's geometry runs the \
                      other way",
        }],
    },
    KindSpec {
        key: "block_plate",
        plural: "block_plates",
        name: "block plate",
        slot: Some(slot("block_plate", Takes::Optional, None)),
        dims: &[needed("thickness", &[Enters::Rear(1)], 3, "face to face")],
        faces: &[face("block_pattern", Joint::Block)],
        facts: &[],
    },
    KindSpec {
        key: "bell_spacer",
        plural: "bell_spacers",
        name: "bell spacer",
        slot: Some(slot("bell_spacer", Takes::Optional, None)),
        dims: &[needed("thickness", &[Enters::Rear(1)], 3, "face to face")],
        faces: &[face("block_pattern", Joint::Block), rear("block_pattern_rear", Joint::Block)],
        facts: &[],
    },
    KindSpec {
        key: "bell_housing",
        plural: "bell_housings",
        name: "bell housing",
        slot: Some(fixed_slot("bell_housing", Inside::BearingDepth)),
        dims: &[needed("depth", &[Enters::Rear(1)], 10, "engine face to gearbox face")],
        faces: &[face("block_pattern", Joint::Block), face("gearbox_pattern", Joint::Gearbox)],
        facts: &[],
    },
    KindSpec {
        key: "gearbox_spacer",
        plural: "gearbox_spacers",
        name: "gearbox spacer",
        slot: Some(slot("gearbox_spacer", Takes::Optional, Some(Inside::BearingDepth))),
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
        slot: Some(fixed_slot("gearbox", Inside::BearingDepth)),
        dims: &[
            DimSpec {
                sides: Some(&SEAT),
                ..signed(needed(
                    "seat_height",
                    &[Enters::Rear(-1)],
                    10,
                    "gearbox face to bearing seat, positive toward the engine",
                ))
            },
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
        slot: Some(slot("bearing", Takes::One, Some(Inside::BearingDepth))),
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
        slot: Some(slot("bearing_shims", Takes::UpToTwo, Some(Inside::BearingDepth))),
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

const LENGTH: DimSpec = DimSpec {
    key: "",
    quantity: Quantity::Length,
    needed: false,
    sign: Sign::Positive,
    enters: &[],
    assumed: Assumed::Unneeded,
    stand_in: &[],
    blank: None,
    sides: None,
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

const fn slot(key: &'static str, takes: Takes, inside: Option<Inside>) -> SlotSpec {
    SlotSpec { key, takes, inside, fixed: false }
}

const fn fixed_slot(key: &'static str, inside: Inside) -> SlotSpec {
    SlotSpec { key, takes: Takes::One, inside: Some(inside), fixed: true }
}
