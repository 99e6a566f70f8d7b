//! The declarative table: every kind with its slot, dimensions and mating faces.

use super::{
    Assumed, DimSpec, Enters, FaceEnd, FaceSpec, FactSpec, Inside, Joint, KindSpec, Quantity, Sign,
    SlotSpec, Takes,
};

use crate::model::sides::{CRANK, FRICTION_FACE, SEAT};
use crate::model::usual::Usual;

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
                ..signed(usual(
                    (-2000, 2000),
                    needed(
                        "crank_protrusion",
                        &[Enters::Finger(1)],
                        10,
                        "bare block's housing face to crank flange, proud toward the gearbox",
                    ),
                ))
            },
            signed(usual(
                (-1000, 3000),
                extra(
                    "pilot_recess",
                    "crank flange into the crank to the pilot bearing's rear face",
                ),
            )),
            usual((100, 2500), extra("pilot_length", "length of the pilot bearing")),
            usual(
                (200, 5000),
                extra("pilot_bore_depth", "crank flange into the crank to the bottom of the hole"),
            ),
            DimSpec {
                sign: Sign::NotNegative,
                ..usual((0, 2000), extra("dowel_protrusion", "block face to the end of the dowels"))
            },
            DimSpec {
                sign: Sign::NotNegative,
                ..usual((0, 30), extra("crank_end_float", "end float of the crank"))
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
            usual(
                (200, 3000),
                needed("thickness", &[Enters::Finger(1)], 5, "crank flange to friction face"),
            ),
            DimSpec {
                blank: Some(0),
                sides: Some(&FRICTION_FACE),
                ..signed(usual(
                    (-1500, 2000),
                    summed(
                        "cover_step",
                        &[Enters::Finger(1), Enters::Gap(-1)],
                        5,
                        "friction face to the cover's mounting face, positive where the cover face stands \
                     nearer the gearbox; blank is a flat flywheel",
                    ),
                ))
            },
            usual(
                (200, 3000),
                extra("min_thickness", "least thickness to which it may be machined"),
            ),
            signed(usual(
                (-2000, 3000),
                extra("ring_gear_offset", "crank flange to the ring gear's front face"),
            )),
            signed(usual(
                (-500, 2000),
                extra(
                    "bolt_clearance",
                    "crank bolt heads to the friction face: room for the disc's hub",
                ),
            )),
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
                ..usual(
                    (100, 800),
                    needed("thickness", &[Enters::Gap(1)], 10, "over both facings, clamped"),
                )
            },
            DimSpec {
                assumed: Assumed::Thou(10),
                ..usual((100, 800), extra("free_thickness", "over both facings, free"))
            },
            DimSpec {
                sign: Sign::NotNegative,
                assumed: Assumed::Thou(10),
                ..usual((0, 100), extra("cushion", "what clamping takes off the free thickness"))
            },
            usual((100, 800), extra("min_thickness", "clamped thickness at which it is worn out")),
            usual((4000, 18000), extra("diameter", "over the facings")),
            signed(usual(
                (-1500, 1500),
                extra("hub_front", "friction face on the flywheel's side to the front of the hub"),
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
            usual(
                (300, 5000),
                needed(
                    "finger_height",
                    &[Enters::Finger(1)],
                    40,
                    "cover's mounting face to finger tips, bolted down at set_gap",
                ),
            ),
            signed(usual(
                (-2500, 1500),
                summed(
                    "set_gap",
                    &[Enters::GapTaken],
                    5,
                    "cover's mounting face to the pressure plate's friction face when finger_height was \
                 taken: the clamped disc less the step",
                ),
            )),
            signed(usual((-2500, 1500), extra("set_gap_min", "least gap of the working range"))),
            signed(usual((-2500, 1500), extra("set_gap_max", "largest gap of the working range"))),
            usual(
                (100, 3000),
                summed(
                    "pack_thickness",
                    &[Enters::Gap(1)],
                    10,
                    "a matched set's discs and plates, clamped; such a set takes no disc",
                ),
            ),
            DimSpec {
                quantity: Quantity::Ratio,
                enters: &[Enters::FingerRatio],
                assumed: Assumed::Percent(10),
                ..extra("finger_ratio", "finger movement per movement of the pressure plate")
            },
            DimSpec {
                sign: Sign::NotNegative,
                ..usual(
                    (5, 300),
                    extra("wear_allowance", "what all facings of the pack together may lose"),
                )
            },
            usual((100, 1200), extra("release_travel", "bearing travel that releases the clutch")),
            usual(
                (100, 1200),
                extra("max_release_travel", "bearing travel that must not be passed"),
            ),
            usual(
                (500, 6000),
                extra("finger_circle_inner", "inner diameter of the finger tips' circle"),
            ),
            usual(
                (500, 6000),
                extra("finger_circle_outer", "outer diameter of the finger tips' flat"),
            ),
            usual((4000, 18000), extra("disc_diameter", "diameter of the disc it is made for")),
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
        dims: &[usual((5, 1000), needed("thickness", &[Enters::Rear(1)], 3, "face to face"))],
        faces: &[face("block_pattern", Joint::Block)],
        facts: &[],
    },
    KindSpec {
        key: "bell_spacer",
        plural: "bell_spacers",
        name: "bell spacer",
        slot: Some(slot("bell_spacer", Takes::Optional, None)),
        dims: &[usual((10, 6000), needed("thickness", &[Enters::Rear(1)], 3, "face to face"))],
        faces: &[face("block_pattern", Joint::Block), rear("block_pattern_rear", Joint::Block)],
        facts: &[],
    },
    KindSpec {
        key: "bell_housing",
        plural: "bell_housings",
        name: "bell housing",
        slot: Some(fixed_slot("bell_housing", Inside::BearingDepth)),
        dims: &[usual(
            (1000, 14000),
            needed("depth", &[Enters::Rear(1)], 10, "engine face to gearbox face"),
        )],
        faces: &[face("block_pattern", Joint::Block), face("gearbox_pattern", Joint::Gearbox)],
        facts: &[],
    },
    KindSpec {
        key: "gearbox_spacer",
        plural: "gearbox_spacers",
        name: "gearbox spacer",
        slot: Some(slot("gearbox_spacer", Takes::Optional, Some(Inside::BearingDepth))),
        dims: &[usual((10, 6000), needed("thickness", &[Enters::Rear(1)], 3, "face to face"))],
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
                ..signed(usual(
                    (-4000, 6000),
                    needed(
                        "seat_height",
                        &[Enters::Rear(-1)],
                        10,
                        "gearbox face to bearing seat, positive toward the engine",
                    ),
                ))
            },
            usual(
                (2000, 18000),
                extra("shaft_length", "gearbox face to the tip of the input shaft"),
            ),
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
            DimSpec {
                usual_less: Some(("retracted_height", Usual::thou(200, 1800))),
                ..usual(
                    (300, 7000),
                    needed(
                        "extended_height",
                        &[Enters::Extended(-1)],
                        15,
                        "seat to contact face at the largest height it may work at",
                    ),
                )
            },
            usual(
                (300, 7000),
                needed(
                    "retracted_height",
                    &[Enters::Retracted(-1)],
                    15,
                    "seat to contact face bottomed, bleeder open",
                ),
            ),
            usual(
                (500, 6000),
                extra("contact_diameter", "diameter at which it touches the fingers"),
            ),
            DimSpec {
                sign: Sign::NotNegative,
                ..usual((0, 1000), extra("max_shim", "most shim that may stand behind it"))
            },
            usual((500, 6000), extra("bore_outer", "outer diameter of the ring-shaped piston")),
            usual((500, 6000), extra("bore_inner", "inner diameter of the ring-shaped piston")),
        ],
        faces: &[face("seat_pattern", Joint::Seat), face("contact_face", Joint::Contact)],
        facts: &[],
    },
    KindSpec {
        key: "bearing_shim",
        plural: "bearing_shims",
        name: "bearing shim",
        slot: Some(slot("bearing_shims", Takes::UpToTwo, Some(Inside::BearingDepth))),
        dims: &[usual((2, 500), needed("thickness", &[Enters::Rear(-1)], 1, "face to face"))],
        faces: &[face("seat_pattern", Joint::Seat)],
        facts: &[],
    },
    KindSpec {
        key: "master_cylinder",
        plural: "master_cylinders",
        name: "master cylinder",
        slot: None,
        dims: &[
            DimSpec { needed: true, ..usual((300, 2000), extra("bore", "diameter of its bore")) },
            DimSpec {
                needed: true,
                ..usual((300, 3000), extra("stroke", "longest stroke of its piston"))
            },
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
    usual: None,
    usual_less: None,
    sides: None,
    about: "",
};

/// With its usual range, from so many thousandths of an inch to so many.
const fn usual((low, high): (i64, i64), spec: DimSpec) -> DimSpec {
    DimSpec { usual: Some(Usual::thou(low, high)), ..spec }
}

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
    FaceSpec { key, joint, end: FaceEnd::Front, matched_set_only: false }
}

const fn rear(key: &'static str, joint: Joint) -> FaceSpec {
    FaceSpec { end: FaceEnd::Rear, ..face(key, joint) }
}

const fn slot(key: &'static str, takes: Takes, inside: Option<Inside>) -> SlotSpec {
    SlotSpec { key, takes, inside, fixed: false }
}

const fn fixed_slot(key: &'static str, inside: Inside) -> SlotSpec {
    SlotSpec { key, takes: Takes::One, inside: Some(inside), fixed: true }
}
