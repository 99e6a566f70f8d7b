//! What the checks take in: dimensions of parts, readings of the job, and positions worked out from
//! them.

use crate::model::house::Number;
use crate::model::job::StarterOn;
use crate::model::length::Length;
use crate::stack::choice::{Choice, Fill, Setup};
use crate::stack::window::wear;

/// One thing that a check takes in: lengths in nm, torques in mN m, plain counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Input {
    /// Bearing travel that releases the clutch.
    ReleaseTravel,
    /// Bearing travel that must not be passed; it adds to a note and is asked for by no rule.
    MaxReleaseTravel,
    /// Inner diameter of the finger tips' circle.
    FingerInner,
    /// Outer diameter of the finger tips' flat.
    FingerOuter,
    /// Torque that the plate carries.
    TorqueRating,
    /// Diameter at which the bearing touches the fingers.
    ContactDiameter,
    /// Outer diameter of the ring-shaped piston.
    BoreOuter,
    /// Inner diameter of the ring-shaped piston.
    BoreInner,
    /// Most shim that may stand behind the bearing.
    MaxShim,
    /// Crank flange to the pilot bearing's rear face.
    PilotRecess,
    /// Length of the pilot bearing.
    PilotLength,
    /// Crank flange to the bottom of the hole.
    PilotBoreDepth,
    /// Block face to the end of the dowels.
    DowelProtrusion,
    /// End float of the crank.
    EndFloat,
    /// Least thickness to which the flywheel may be machined.
    MinThickness,
    /// Friction face to the nearest crank bolt's head.
    BoltClearance,
    /// Friction face on the flywheel's side to the front of the disc's hub.
    HubFront,
    /// Bore of the job's master cylinder.
    MasterBore,
    /// Stroke of the job's master cylinder.
    MasterStroke,
    /// Torque that the job asks for.
    Torque,
    /// The stack's preload.
    Preload,
    /// All shims together; zero where there are none.
    ShimTotal,
    /// What is machined off the flywheel; zero where nothing is.
    Cut,
    /// What is left of the flywheel's thickness then.
    FlywheelLeft,
    /// Facing wear as the window has it, or what stands in for it.
    Wear,
    /// One where that wear is only assumed, else zero.
    WearAssumed,
    /// Teeth of the ring gear.
    TeethNew,
    /// Teeth of today's ring gear.
    TeethOld,
    /// How far crank and flywheel move the ring gear, positive to the rear.
    RingShift,
    /// How far plates and spacers move the starter, positive to the rear; not known where they do
    /// and nobody told what it hangs on.
    StarterShift,
    /// How far plates and spacers move what hangs on the bell.
    PlatesShift,
    /// Block plate and bell spacer together.
    Plates,
    /// The crank flange, from behind the block plate.
    Crank,
    /// The tip of the input shaft, from behind the block plate.
    Tip,
}

/// How many inputs there are.
pub const INPUTS: usize = Input::Tip as usize + 1;

/// Inputs that are one dimension of the part in one slot.
pub const OF_PARTS: &[(Input, &str, &str)] = &[
    (Input::ReleaseTravel, "pressure_plate", "release_travel"),
    (Input::MaxReleaseTravel, "pressure_plate", "max_release_travel"),
    (Input::FingerInner, "pressure_plate", "finger_circle_inner"),
    (Input::FingerOuter, "pressure_plate", "finger_circle_outer"),
    (Input::TorqueRating, "pressure_plate", "torque_rating"),
    (Input::ContactDiameter, "bearing", "contact_diameter"),
    (Input::BoreOuter, "bearing", "bore_outer"),
    (Input::BoreInner, "bearing", "bore_inner"),
    (Input::MaxShim, "bearing", "max_shim"),
    (Input::PilotRecess, "engine", "pilot_recess"),
    (Input::PilotLength, "engine", "pilot_length"),
    (Input::PilotBoreDepth, "engine", "pilot_bore_depth"),
    (Input::DowelProtrusion, "engine", "dowel_protrusion"),
    (Input::EndFloat, "engine", "crank_end_float"),
    (Input::MinThickness, "flywheel", "min_thickness"),
    (Input::BoltClearance, "flywheel", "bolt_clearance"),
    (Input::HubFront, "disc", "hub_front"),
];

/// What is known of the inputs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Values([Option<i64>; INPUTS]);

impl Default for Values {
    fn default() -> Self {
        Self([None; INPUTS])
    }
}

impl Values {
    /// One input, where it is known.
    pub const fn get(&self, input: Input) -> Option<i64> {
        self.0[input as usize]
    }

    /// Sets one input.
    pub const fn set(&mut self, input: Input, value: Option<i64>) {
        self.0[input as usize] = value;
    }

    /// One input that a rule asks for: it is known where the rule is asked.
    pub(super) const fn plain(&self, input: Input) -> i64 {
        match self.get(input) {
            Some(value) => value,
            None => 0,
        }
    }

    /// The same as a length.
    pub(super) const fn length(&self, input: Input) -> Length {
        Length::from_nm(self.plain(input))
    }
}

/// Something without which an input is not known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Need {
    /// A dimension of the part in a slot.
    Dimension {
        /// The kind's key.
        kind: &'static str,
        /// The dimension's key.
        key: &'static str,
    },
    /// Something else, in words.
    Words(&'static str),
}

impl Need {
    /// As it is named to the user.
    pub(super) fn name(self) -> String {
        match self {
            Self::Dimension { kind, key } => format!("{kind}.{key}"),
            Self::Words(words) => words.into(),
        }
    }
}

/// The things without which an input is not known.
type NotKnown = Vec<Need>;

/// The inputs of one stack, or of as much of it as is chosen.
pub(crate) struct Reader<'b, 'a> {
    /// The job.
    pub(crate) setup: &'b Setup<'a>,
    /// What stands in the slots.
    pub(crate) choice: &'b Choice<'a>,
    /// The crank flange from behind the block plate, where known.
    pub(crate) crank: Option<Length>,
    /// The stack's preload, where it is worked out.
    pub(crate) preload: Option<Length>,
}

impl<'a> Reader<'_, 'a> {
    /// Everything that is known.
    pub(super) fn values(&self) -> Values {
        let mut values = Values::default();
        for input in ALL {
            values.set(input, self.value(input).ok());
        }
        values
    }

    /// One input, or what it needs.
    pub(crate) fn value(&self, input: Input) -> Result<i64, NotKnown> {
        if let Some((_, kind, key)) = OF_PARTS.iter().find(|(known, ..)| *known == input) {
            return self.dimension(kind, key);
        }
        let job = self.setup.job;
        let of_master = |key: &'static str| {
            let found = self.setup.master.and_then(|master| master.entry(key));
            let need = Need::Dimension { kind: "master_cylinder", key };
            found.map(|entry| entry.value).ok_or_else(|| vec![need])
        };
        let nm = |length: Length| length.nm();
        match input {
            Input::MasterBore => of_master("bore"),
            Input::MasterStroke => of_master("stroke"),
            Input::Torque => job.torque.ok_or_else(|| vec![Need::Words("the job's torque")]),
            Input::Preload => self.preload.map(nm).ok_or_else(NotKnown::new),
            Input::ShimTotal => self.sum(&["bearing_shim"], "thickness").map(nm),
            Input::Cut => Ok(self.cut().nm()),
            Input::FlywheelLeft => {
                self.dimension("flywheel", "thickness").map(|now| now - self.cut().nm())
            }
            Input::Wear | Input::WearAssumed => Ok(self.wear(input == Input::WearAssumed)),
            Input::TeethNew | Input::TeethOld => self.teeth(input == Input::TeethNew),
            Input::RingShift => self.ring_shift().map(nm),
            Input::StarterShift => self.starter_shift().map(nm),
            Input::PlatesShift => self.plates_shift().map(nm),
            Input::Plates => self.sum(&["block_plate", "bell_spacer"], "thickness").map(nm),
            Input::Crank => {
                let crank = self.crank.map(nm);
                crank.ok_or_else(|| {
                    vec![Need::Dimension { kind: "engine", key: "crank_protrusion" }]
                })
            }
            Input::Tip => self.tip().map(nm),
            _ => Err(NotKnown::new()),
        }
    }

    fn fill(&self, kind: &str) -> Option<(&Fill<'a>, &Fill<'a>)> {
        let slot = self.setup.slot(kind)?;
        Some((&self.choice.fills[slot], &self.setup.fitted[slot]))
    }

    fn dimension(&self, kind: &'static str, key: &'static str) -> Result<i64, NotKnown> {
        let part = self.setup.part(self.choice, kind);
        if part.is_none() && kind == "disc" && self.fill(kind).is_some_and(|(f, _)| !f.on_bench) {
            return Err(vec![Need::Words("the matched set's hub")]);
        }
        let found = part.and_then(|part| part.entry(key)).map(|entry| entry.value);
        found.ok_or_else(|| vec![Need::Dimension { kind, key }])
    }

    /// A dimension of all parts in some slots together.
    fn sum(&self, kinds: &[&'static str], key: &'static str) -> Result<Length, NotKnown> {
        let mut total = Length::ZERO;
        let mut needs = Vec::new();
        for kind in kinds {
            for part in self.fill(kind).into_iter().flat_map(|(fill, _)| &fill.parts) {
                match part.length(key) {
                    Some(length) => total += length,
                    None => needs.push(Need::Dimension { kind, key }),
                }
            }
        }
        needs.dedup();
        if needs.is_empty() { Ok(total) } else { Err(needs) }
    }

    fn cut(&self) -> Length {
        self.fill("flywheel").map_or(Length::ZERO, |(fill, _)| fill.cut)
    }

    fn wear(&self, whether_assumed: bool) -> i64 {
        let part = |kind| self.setup.part(self.choice, kind);
        let known = wear(part("pressure_plate"), part("disc"));
        if whether_assumed {
            return i64::from(known.is_none());
        }
        known.unwrap_or(self.setup.library.house.length(Number::BlankWear)).nm()
    }

    /// Teeth of the ring gear; a flywheel that stays keeps its own, whether they are known or not.
    fn teeth(&self, new: bool) -> Result<i64, NotKnown> {
        let Some((chosen, fitted)) = self.fill("flywheel") else { return Ok(0) };
        if chosen.same_parts(fitted) && !fitted.is_empty() {
            return Ok(0);
        }
        if fitted.is_empty() {
            return Err(vec![FITTED_FLYWHEEL]);
        }
        let fill = if new { chosen } else { fitted };
        let teeth = fill.parts.first().and_then(|part| part.entry("ring_teeth"));
        let need = Need::Dimension { kind: "flywheel", key: "ring_teeth" };
        teeth.map(|teeth| teeth.value).ok_or_else(|| vec![need])
    }

    fn has_no_fitted_flywheel(&self) -> bool {
        self.fill("flywheel").is_some_and(|(_, fitted)| fitted.is_empty())
    }

    /// How far crank and flywheel move the ring gear.
    fn ring_shift(&self) -> Result<Length, NotKnown> {
        if self.has_no_fitted_flywheel() {
            return Err(vec![FITTED_FLYWHEEL]);
        }
        let moves = [("engine", "crank_protrusion"), ("flywheel", "ring_gear_offset")];
        self.differences(&moves)
    }

    /// How far plates and spacers move the starter: not at all where it hangs on the block.
    fn starter_shift(&self) -> Result<Length, NotKnown> {
        if self.has_no_fitted_flywheel() {
            return Err(vec![FITTED_FLYWHEEL]);
        }
        let (starter_on, plates) = (self.setup.job.starter_on, self.plates_shift());
        match (shift_of_starter(starter_on, plates.as_ref().ok().copied()), plates) {
            (Some(shift), _) => Ok(shift),
            (None, Err(lacks)) => Err(lacks),
            (None, Ok(_)) => Err(vec![Need::Words("starter_on")]),
        }
    }

    /// How far plates and spacers move what hangs on the bell.
    fn plates_shift(&self) -> Result<Length, NotKnown> {
        self.differences(&[("block_plate", "thickness"), ("bell_spacer", "thickness")])
    }

    /// New less fitted of several dimensions together.
    fn differences(&self, dims: &[(&'static str, &'static str)]) -> Result<Length, NotKnown> {
        let mut total = Length::ZERO;
        let mut needs = NotKnown::new();
        for (kind, key) in dims {
            match self.difference(kind, key) {
                Ok(difference) => total += difference,
                Err(lacks) => needs.extend(lacks),
            }
        }
        if needs.is_empty() { Ok(total) } else { Err(needs) }
    }

    /// New less fitted of one dimension; nothing where the part stays.
    fn difference(&self, kind: &'static str, key: &'static str) -> Result<Length, NotKnown> {
        let Some((new, old)) = self.fill(kind) else { return Ok(Length::ZERO) };
        if new.same_parts(old) && new.on_bench == old.on_bench {
            return Ok(Length::ZERO);
        }
        if old.is_empty() && kind == "engine" {
            return Err(vec![Need::Words("the fitted engine")]);
        }
        let mut needs = NotKnown::new();
        let mut value = |fill: &Fill<'_>| match fill.parts.first() {
            // A plate or spacer that is not there takes up no room.
            None if fill.is_empty() => Length::ZERO,
            first => first.and_then(|part| part.length(key)).unwrap_or_else(|| {
                needs.push(Need::Dimension { kind, key });
                Length::ZERO
            }),
        };
        let difference = value(new) - value(old);
        if needs.is_empty() { Ok(difference) } else { Err(needs) }
    }

    /// The tip of the input shaft, from behind the block plate.
    fn tip(&self) -> Result<Length, NotKnown> {
        let parts = [
            self.sum(&["bell_spacer", "gearbox_spacer"], "thickness"),
            self.dimension("bell_housing", "depth").map(Length::from_nm),
            self.dimension("gearbox", "shaft_length").map(|nm| Length::from_nm(-nm)),
        ];
        let mut tip = Length::ZERO;
        let mut needs = Vec::new();
        for part in parts {
            match part {
                Ok(length) => tip += length,
                Err(lacks) => needs.extend(lacks),
            }
        }
        if needs.is_empty() { Ok(tip) } else { Err(needs) }
    }
}

/// How far the starter moves with plates and spacers; not known where they move what hangs on the bell
/// and nobody told whether it does.
pub(crate) fn shift_of_starter(starter_on: StarterOn, plates: Option<Length>) -> Option<Length> {
    match (starter_on, plates) {
        (StarterOn::Block, _) | (StarterOn::Unknown, Some(Length::ZERO)) => Some(Length::ZERO),
        (StarterOn::Bell, plates) => plates,
        (StarterOn::Unknown, _) => None,
    }
}

const FITTED_FLYWHEEL: Need = Need::Words("the fitted flywheel");

/// Every input, at its own index.
pub const ALL: [Input; INPUTS] = [
    Input::ReleaseTravel,
    Input::MaxReleaseTravel,
    Input::FingerInner,
    Input::FingerOuter,
    Input::TorqueRating,
    Input::ContactDiameter,
    Input::BoreOuter,
    Input::BoreInner,
    Input::MaxShim,
    Input::PilotRecess,
    Input::PilotLength,
    Input::PilotBoreDepth,
    Input::DowelProtrusion,
    Input::EndFloat,
    Input::MinThickness,
    Input::BoltClearance,
    Input::HubFront,
    Input::MasterBore,
    Input::MasterStroke,
    Input::Torque,
    Input::Preload,
    Input::ShimTotal,
    Input::Cut,
    Input::FlywheelLeft,
    Input::Wear,
    Input::WearAssumed,
    Input::TeethNew,
    Input::TeethOld,
    Input::RingShift,
    Input::StarterShift,
    Input::PlatesShift,
    Input::Plates,
    Input::Crank,
    Input::Tip,
];
