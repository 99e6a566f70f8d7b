//! The checks beside the window, each one entry: its name, the slots that it is about, what it takes
//! in, and the rule. Stacks and the search judge by the same entries.

use super::inputs::{Input, Values};
use crate::model::house::{House, Number};
use crate::model::kinds::Quantity;
use crate::model::length::{LONGEST, Length, Unit};
use crate::model::part::show_value;
use crate::stack::hydraulics::Hydraulics;
use crate::stack::note::{Note, note};

/// The slots that settle a check.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Scope {
    /// The engine alone.
    Engine,
    /// The pressure plate alone.
    Plate,
    /// The pressure plate and the preload.
    Preload,
    /// The pressure plate and the bearing.
    PlateAndBearing,
    /// The bearing and its shims.
    BearingAndShims,
    /// The flywheel alone.
    Flywheel,
    /// The flywheel, the disc and the pressure plate.
    FlywheelAndDisc,
    /// The flywheel, the engine and what stands between block and bell.
    FlywheelAndPlates,
    /// The engine and what stands between block and bell.
    Plates,
    /// The engine and everything that the gearbox hangs on.
    Shaft,
}

impl Scope {
    /// Every scope.
    pub const ALL: [Self; 10] = [
        Self::Engine,
        Self::Plate,
        Self::Preload,
        Self::PlateAndBearing,
        Self::BearingAndShims,
        Self::Flywheel,
        Self::FlywheelAndDisc,
        Self::FlywheelAndPlates,
        Self::Plates,
        Self::Shaft,
    ];
}

/// One check.
pub struct Rule {
    /// Its name in answers.
    pub name: &'static str,
    /// The slots that settle it.
    pub scope: Scope,
    /// What it takes in; it is unchecked where one of them is unknown.
    pub inputs: &'static [Input],
    /// Whether it is settled whatever else is unknown, and how.
    pub settled: fn(&Values, &House) -> Option<bool>,
    /// Whether it passes, all inputs known.
    pub passes: fn(&Values, &House) -> bool,
    /// What was found, in words.
    pub note: fn(&Values, &House) -> Note,
}

impl Rule {
    /// Whether it passes; none where it cannot be checked.
    pub fn judge(&self, values: &Values, house: &House) -> Option<bool> {
        if let Some(settled) = (self.settled)(values, house) {
            return Some(settled);
        }
        let known = self.inputs.iter().all(|input| values.get(*input).is_some());
        known.then(|| (self.passes)(values, house))
    }

    /// Whether it fails; what cannot be checked never does.
    pub fn fails(&self, values: &Values, house: &House) -> bool {
        self.judge(values, house) == Some(false)
    }
}

const OPEN: fn(&Values, &House) -> Option<bool> = |_, _| None;

/// Every check beside the mating faces, in the order in which they are shown.
pub const RULES: &[Rule] = &[
    Rule {
        name: "stroke",
        scope: Scope::Preload,
        inputs: &[Input::ReleaseTravel, Input::Preload],
        settled: OPEN,
        passes: |v, _| v.length(Input::ReleaseTravel) <= v.length(Input::Preload),
        note: |v, _| {
            let (travel, preload) = (v.length(Input::ReleaseTravel), v.length(Input::Preload));
            note!["release travel ", travel, " of a preload of ", preload]
        },
    },
    Rule {
        name: "hydraulics",
        scope: Scope::PlateAndBearing,
        inputs: &[
            Input::ReleaseTravel,
            Input::MasterBore,
            Input::MasterStroke,
            Input::BoreOuter,
            Input::BoreInner,
        ],
        settled: OPEN,
        passes: releases,
        note: hydraulics_note,
    },
    Rule {
        name: "pilot_engagement",
        scope: Scope::Shaft,
        inputs: &[Input::Tip, Input::Crank, Input::PilotRecess, Input::PilotLength],
        settled: OPEN,
        // Half the pilot's length at least: common practice, no source.
        passes: |v, _| pilot_engaged(v).nm() * 2 >= v.length(Input::PilotLength).nm(),
        note: |v, _| {
            let length = v.length(Input::PilotLength);
            note!["the shaft engages ", pilot_engaged(v), " of ", length, ", half at least"]
        },
    },
    Rule {
        name: "shaft_bottom",
        scope: Scope::Shaft,
        inputs: &[Input::Tip, Input::Crank, Input::PilotBoreDepth],
        settled: OPEN,
        passes: |v, house| room_ahead(v) >= shaft_floor(v, house),
        note: |v, house| {
            let floor = shaft_floor(v, house);
            note![room_ahead(v), " ahead of the shaft's tip, at least ", floor]
        },
    },
    Rule {
        name: "dowels",
        scope: Scope::Plates,
        inputs: &[Input::DowelProtrusion, Input::Plates],
        settled: OPEN,
        passes: |v, house| dowels_left(v) >= house.length(Number::DowelFloor),
        note: |v, house| {
            let floor = house.length(Number::DowelFloor);
            note![dowels_left(v), " of dowel engagement, at least ", floor]
        },
    },
    Rule {
        name: "starter",
        scope: Scope::FlywheelAndPlates,
        inputs: &[Input::TeethNew, Input::TeethOld, Input::RingShift, Input::StarterShift],
        settled: starter_settled,
        passes: |v, house| ring_move(v).abs() <= house.length(Number::StarterTolerance),
        note: starter_note,
    },
    Rule {
        name: "shims",
        scope: Scope::BearingAndShims,
        inputs: &[Input::ShimTotal, Input::MaxShim],
        settled: |v, _| (v.get(Input::ShimTotal) == Some(0)).then_some(true),
        passes: |v, _| v.length(Input::ShimTotal) <= v.length(Input::MaxShim),
        note: |v, _| {
            if let Some(0) = v.get(Input::ShimTotal) {
                note!["no shims"]
            } else {
                let (total, most) = (v.length(Input::ShimTotal), v.length(Input::MaxShim));
                note![total, " of shims, at most ", most]
            }
        },
    },
    Rule {
        name: "flywheel_minimum",
        scope: Scope::Flywheel,
        inputs: &[Input::FlywheelLeft, Input::MinThickness],
        settled: |v, _| (v.get(Input::Cut) == Some(0)).then_some(true),
        passes: |v, _| v.length(Input::FlywheelLeft) >= v.length(Input::MinThickness),
        note: |v, _| {
            if let Some(0) = v.get(Input::Cut) {
                note!["nothing is machined"]
            } else {
                let left = v.length(Input::FlywheelLeft);
                note![left, " after machining, at least ", v.length(Input::MinThickness)]
            }
        },
    },
    Rule {
        name: "hub_clearance",
        scope: Scope::FlywheelAndDisc,
        inputs: &[Input::BoltClearance, Input::HubFront, Input::Wear],
        settled: OPEN,
        passes: |v, house| hub_room(v) >= hub_floor(v, house),
        note: |v, house| {
            let floor = hub_floor(v, house);
            let start = " between the disc's hub and the crank bolts, at least ";
            let end = if v.get(Input::WearAssumed) == Some(1) {
                ": half of a wear that is assumed, and the floor"
            } else {
                ": half of the wear, and the floor"
            };
            note![hub_room(v), start, floor, end]
        },
    },
    Rule {
        name: "end_float",
        scope: Scope::Engine,
        inputs: &[Input::EndFloat],
        settled: OPEN,
        passes: |_, _| true,
        note: |v, _| note![v.length(Input::EndFloat), " of crank end float is taken off the room"],
    },
    Rule {
        name: "contact_circle",
        scope: Scope::PlateAndBearing,
        inputs: &[Input::ContactDiameter, Input::FingerInner, Input::FingerOuter],
        // One bound that is known and broken is enough.
        settled: |v, _| {
            let at = v.get(Input::ContactDiameter)?;
            let short = v.get(Input::FingerInner).is_some_and(|inner| at < inner);
            let long = v.get(Input::FingerOuter).is_some_and(|outer| at > outer);
            (short || long).then_some(false)
        },
        passes: |v, _| {
            let at = v.length(Input::ContactDiameter);
            v.length(Input::FingerInner) <= at && at <= v.length(Input::FingerOuter)
        },
        note: |v, _| {
            let mut note = note!["contact at ", v.length(Input::ContactDiameter), " on fingers"];
            for (bound, word) in [(Input::FingerInner, " from "), (Input::FingerOuter, " to ")] {
                if v.get(bound).is_some() {
                    note.0.extend(note![word, v.length(bound)].0);
                }
            }
            note
        },
    },
    Rule {
        name: "torque",
        scope: Scope::Plate,
        inputs: &[Input::TorqueRating, Input::Torque],
        settled: OPEN,
        passes: |v, _| v.get(Input::TorqueRating) >= v.get(Input::Torque),
        note: |v, _| {
            let show = |input| show_value(Quantity::Torque, v.plain(input), Unit::In);
            let (rating, asked) = (show(Input::TorqueRating), show(Input::Torque));
            note![format!("rated {rating} N m for {asked} N m")]
        },
    },
];

/// Whether the stroke, less what is lost, releases the clutch.
fn releases(v: &Values, house: &House) -> bool {
    let (stroke, lost) = (v.length(Input::MasterStroke), house.percent(Number::LostMotion));
    hydraulics(v).releases(stroke, lost, v.length(Input::ReleaseTravel))
}

fn hydraulics(v: &Values) -> Hydraulics {
    Hydraulics {
        bore: v.length(Input::MasterBore),
        outer: v.length(Input::BoreOuter),
        inner: v.length(Input::BoreInner),
    }
}

fn hydraulics_note(v: &Values, house: &House) -> Note {
    let travel = v.length(Input::ReleaseTravel);
    let Some(full) = hydraulics(v).bearing_travel(v.length(Input::MasterStroke)) else {
        return note!["bearing travel beyond ", LONGEST, ", ", travel, " needed"];
    };
    let lost = house.percent(Number::LostMotion);
    let left = Length::from_wide(i128::from(full.nm()) * i128::from(100 - lost) / 100);
    let lost = format!(" after {lost} % lost motion, ");
    let mut note = note!["bearing travel ", left, " of ", full, lost, travel, " needed"];
    let preload = v.get(Input::Preload).map_or(full, Length::from_nm);
    let most = v.get(Input::MaxReleaseTravel).map_or(preload, Length::from_nm);
    let limit = most.min(preload);
    if full > limit
        && limit > Length::ZERO
        && let Some(stop) = hydraulics(v).master_stroke(limit)
    {
        note.0.extend(note!["; set a pedal stop at a master stroke of ", stop].0);
    }
    note
}

fn pilot_engaged(v: &Values) -> Length {
    let reach = v.length(Input::Crank) - v.length(Input::PilotRecess) - v.length(Input::Tip);
    v.length(Input::PilotLength).min(reach)
}

fn room_ahead(v: &Values) -> Length {
    v.length(Input::Tip) - (v.length(Input::Crank) - v.length(Input::PilotBoreDepth))
}

fn shaft_floor(v: &Values, house: &House) -> Length {
    let float = v.get(Input::EndFloat).map_or(Length::ZERO, Length::from_nm);
    house.length(Number::ShaftClearance) + float
}

fn dowels_left(v: &Values) -> Length {
    v.length(Input::DowelProtrusion) - v.length(Input::Plates)
}

/// Another count of teeth fails, whatever else is unknown, and so does a ring gear that moves too
/// far. Where nobody told what the starter hangs on, both ways have to come out alike.
fn starter_settled(v: &Values, house: &House) -> Option<bool> {
    let teeth = v.get(Input::TeethNew).zip(v.get(Input::TeethOld)).map(|(new, old)| new == old);
    let within = |moved: i64| moved.abs() <= house.length(Number::StarterTolerance).nm();
    let ring = v.get(Input::RingShift);
    let stays = match (ring, v.get(Input::StarterShift), v.get(Input::PlatesShift)) {
        (Some(ring), Some(starter), _) => Some(within(ring - starter)),
        (Some(ring), None, Some(plates)) => {
            let both = [within(ring), within(ring - plates)];
            (both[0] == both[1]).then_some(both[0])
        }
        _ => None,
    };
    match (teeth, stays) {
        (Some(false), _) | (_, Some(false)) => Some(false),
        (Some(true), Some(true)) => Some(true),
        _ => None,
    }
}

fn starter_note(v: &Values, house: &House) -> Note {
    let (new, old) = (v.get(Input::TeethNew), v.get(Input::TeethOld));
    if let (Some(new), Some(old)) = (new, old)
        && new != old
    {
        return note![format!("{new} ring gear teeth instead of {old}")];
    }
    let within = house.length(Number::StarterTolerance);
    let on_block = v.length(Input::RingShift);
    if v.get(Input::StarterShift).is_some() {
        return note!["the ring gear moves ", ring_move(v), ", at most ", within];
    }
    let on_bell = on_block - v.length(Input::PlatesShift);
    let (block, bell) = (" with a starter on the block, ", " with one on the bell, at most ");
    note!["the ring gear moves ", on_block, block, on_bell, bell, within]
}

/// How far the ring gear moves against the starter, positive to the rear.
fn ring_move(v: &Values) -> Length {
    v.length(Input::RingShift) - v.length(Input::StarterShift)
}

fn hub_room(v: &Values) -> Length {
    v.length(Input::BoltClearance) - v.length(Input::Cut) - v.length(Input::HubFront)
}

/// The hub moves toward the bolts as the flywheel's side of the facings wears: half of the wear, and a
/// floor that is an invented round number.
fn hub_floor(v: &Values, house: &House) -> Length {
    let half = Length::from_nm((v.length(Input::Wear).nm() + 1) / 2);
    half + house.length(Number::HubFloor)
}
