//! The checks beside the window: each passes, fails, or is not checked for want of a dimension.

use itertools::Itertools;

use crate::model::house::Number;
use crate::model::job::StarterOn;
use crate::model::length::{Length, Unit};
use crate::model::part::Part;
use crate::stack::choice::{Bench, Choice};
use crate::stack::joints::Joints;
use crate::stack::lengths::Lengths;

/// What a check found. Lengths in notes are written by [`Note`].
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Outcome {
    /// It holds.
    Pass(Note),
    /// It does not hold: the stack leaves the ranking.
    Fail(Note),
    /// It could not be checked; the dimensions that it needs.
    Unchecked(Vec<String>),
}

/// A sentence with lengths in it, so that it can be shown in either unit.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Note(pub Vec<Bit>);

/// A piece of a [`Note`].
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Bit {
    /// Words.
    Text(String),
    /// A length.
    Length(Length),
}

impl Note {
    /// The sentence in one unit.
    pub fn show(&self, unit: Unit) -> String {
        self.0
            .iter()
            .map(|bit| match bit {
                Bit::Text(text) => text.clone(),
                Bit::Length(length) => length.show(unit),
            })
            .join("")
    }
}

/// Builds a [`Note`] from words and lengths in turn.
macro_rules! note {
    ($($bit:expr),* $(,)?) => { $crate::stack::checks::Note(vec![$($crate::stack::checks::Bit::from($bit)),*]) };
}
pub(crate) use note;

impl From<&str> for Bit {
    fn from(text: &str) -> Self {
        Self::Text(text.into())
    }
}

impl From<String> for Bit {
    fn from(text: String) -> Self {
        Self::Text(text)
    }
}

impl From<Length> for Bit {
    fn from(length: Length) -> Self {
        Self::Length(length)
    }
}

/// One check with what it found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Check {
    /// Its name in JSON.
    pub name: &'static str,
    /// What it found.
    pub outcome: Outcome,
}

impl Check {
    /// Whether it failed.
    pub fn failed(&self) -> bool {
        matches!(self.outcome, Outcome::Fail(_))
    }
}

/// The names of all checks, in the order in which they are shown.
pub const NAMES: [&str; 12] = [
    "faces",
    "stroke",
    "hydraulics",
    "pilot_engagement",
    "shaft_bottom",
    "dowels",
    "starter",
    "shims",
    "flywheel_minimum",
    "hub_clearance",
    "contact_circle",
    "torque",
];

/// How far the gearbox stands from where it is fitted today: positive to the rear.
pub fn gearbox_move(bench: &Bench<'_>, choice: &Choice<'_>) -> Option<Length> {
    let mut moved = Length::ZERO;
    for (kind, key) in [
        ("block_plate", "thickness"),
        ("bell_spacer", "thickness"),
        ("bell_housing", "depth"),
        ("gearbox_spacer", "thickness"),
    ] {
        let slot = bench.slot(kind)?;
        let (new, old) = (&choice.fills[slot], &bench.fitted[slot]);
        if new.same(old) {
            continue;
        }
        // A blank bell housing today is not known; a blank plate or spacer is none.
        if old.bench || (old.parts.is_empty() && kind == "bell_housing") {
            return None;
        }
        for (fill, sign) in [(new, 1), (old, -1)] {
            for part in &fill.parts {
                moved += Length::from_nm(part.length(key)?.nm() * sign);
            }
        }
    }
    Some(moved)
}

/// Runs every check on a stack.
pub fn checks<'a>(
    bench: &Bench<'a>,
    choice: &Choice<'a>,
    lengths: &Lengths<'a>,
    preload: Length,
    joints: &Joints,
) -> Vec<Check> {
    let stack = Stack { bench, choice, lengths, preload };
    let outcomes = [
        faces(joints),
        stack.stroke(),
        stack.hydraulics(),
        stack.pilot_engagement(),
        stack.shaft_bottom(),
        stack.dowels(),
        stack.starter(),
        stack.shims(),
        stack.flywheel_minimum(),
        stack.hub_clearance(),
        stack.contact_circle(),
        stack.torque(),
    ];
    NAMES.into_iter().zip(outcomes).map(|(name, outcome)| Check { name, outcome }).collect()
}

fn faces(joints: &Joints) -> Outcome {
    if !joints.clashes.is_empty() {
        let clash = |(joint, a, b): &(crate::model::kinds::Joint, String, String)| {
            format!("{}: `{a}` does not mate with `{b}`", joint.name())
        };
        return Outcome::Fail(note![joints.clashes.iter().map(clash).join("; ")]);
    }
    if joints.not_verified != 0 {
        let needs = joints.not_verified_names().into_iter();
        return Outcome::Unchecked(needs.map(|name| format!("{name} face")).collect());
    }
    Outcome::Pass(note!["all known faces mate"])
}

/// Collects what a check needs, so that all that is missing is named at once.
#[derive(Default)]
struct Needs(Vec<String>);

impl Needs {
    fn length(&mut self, part: Option<&Part>, kind: &str, key: &str) -> Option<Length> {
        let found = part.and_then(|part| part.length(key));
        if found.is_none() {
            self.0.push(format!("{kind}.{key}"));
        }
        found
    }

    fn have<T>(&mut self, found: Option<T>, name: &str) -> Option<T> {
        if found.is_none() {
            self.0.push(name.into());
        }
        found
    }

    fn unchecked(self) -> Outcome {
        Outcome::Unchecked(self.0)
    }
}

fn judge(holds: bool, note: Note) -> Outcome {
    if holds { Outcome::Pass(note) } else { Outcome::Fail(note) }
}

struct Stack<'b, 'a> {
    bench: &'b Bench<'a>,
    choice: &'b Choice<'a>,
    lengths: &'b Lengths<'a>,
    preload: Length,
}

impl<'a> Stack<'_, 'a> {
    fn part(&self, kind: &str) -> Option<&'a Part> {
        self.bench.part(self.choice, kind)
    }

    fn house(&self, number: Number) -> Length {
        self.bench.library.house.length(number)
    }

    /// Total of the block plate's and bell spacer's thickness: what moves the bell off the block.
    fn plates(&self, fills: &[crate::stack::choice::Fill<'a>]) -> Option<Length> {
        let mut total = Length::ZERO;
        for kind in ["block_plate", "bell_spacer"] {
            for part in &fills[self.bench.slot(kind)?].parts {
                total += part.length("thickness")?;
            }
        }
        Some(total)
    }

    fn stroke(&self) -> Outcome {
        let mut needs = Needs::default();
        let travel = needs.length(self.part("pressure_plate"), "pressure_plate", "release_travel");
        let Some(travel) = travel else { return needs.unchecked() };
        judge(
            travel <= self.preload,
            note!["release travel ", travel, " of a preload of ", self.preload],
        )
    }

    fn hydraulics(&self) -> Outcome {
        let mut needs = Needs::default();
        let plate = self.part("pressure_plate");
        let bearing = self.part("bearing");
        let travel = needs.length(plate, "pressure_plate", "release_travel");
        let bore = needs.length(self.bench.master, "master_cylinder", "bore");
        let stroke = needs.length(self.bench.master, "master_cylinder", "stroke");
        let outer = needs.length(bearing, "bearing", "bore_outer");
        let inner = needs.length(bearing, "bearing", "bore_inner");
        let (Some(travel), Some(bore), Some(stroke), Some(outer), Some(inner)) =
            (travel, bore, stroke, outer, inner)
        else {
            return needs.unchecked();
        };
        let hydraulics = Hydraulics { bore, outer, inner };
        let full = hydraulics.bearing_travel(stroke);
        let lost = self.bench.library.house.percent(Number::LostMotion);
        let left = Length::from_nm(full.nm() * (100 - lost) / 100);
        let most = plate.and_then(|plate| plate.length("max_release_travel"));
        let limit = most.map_or(self.preload, |most| most.min(self.preload));
        let mut note = note![
            "bearing travel ",
            left,
            " of ",
            full,
            format!(" after {lost} % lost motion, "),
            travel,
            " needed"
        ];
        if full > limit && limit > Length::ZERO {
            let stop = hydraulics.master_stroke(limit);
            note.0.extend(note!["; set a pedal stop at a master stroke of ", stop].0);
        }
        judge(left >= travel, note)
    }

    /// Block face to the tip of the input shaft.
    fn tip(&self, needs: &mut Needs) -> Option<Length> {
        let bell = needs.length(self.part("bell_housing"), "bell_housing", "depth");
        let shaft = needs.length(self.part("gearbox"), "gearbox", "shaft_length");
        let spacer =
            self.part("gearbox_spacer").map_or(Some(Length::ZERO), |part| part.length("thickness"));
        Some(self.plates(&self.choice.fills)? + bell? + spacer? - shaft?)
    }

    fn pilot_engagement(&self) -> Outcome {
        let mut needs = Needs::default();
        let engine = self.part("engine");
        let tip = self.tip(&mut needs);
        let crank = needs.have(self.lengths.crank, "crank_protrusion");
        let recess = needs.length(engine, "engine", "pilot_recess");
        let length = needs.length(engine, "engine", "pilot_length");
        let (Some(tip), Some(crank), Some(recess), Some(length)) = (tip, crank, recess, length)
        else {
            return needs.unchecked();
        };
        let engaged = length.min(crank - recess - tip);
        judge(
            engaged.nm() * 2 >= length.nm(),
            note!["the shaft engages ", engaged, " of ", length, ", half at least"],
        )
    }

    fn shaft_bottom(&self) -> Outcome {
        let mut needs = Needs::default();
        let engine = self.part("engine");
        let tip = self.tip(&mut needs);
        let crank = needs.have(self.lengths.crank, "crank_protrusion");
        let hole = needs.length(engine, "engine", "pilot_bore_depth");
        let (Some(tip), Some(crank), Some(hole)) = (tip, crank, hole) else {
            return needs.unchecked();
        };
        let float = engine.and_then(|engine| engine.length("crank_end_float"));
        let floor = self.house(Number::ShaftClearance) + float.unwrap_or(Length::ZERO);
        let room = tip - (crank - hole);
        judge(room >= floor, note![room, " ahead of the shaft's tip, at least ", floor])
    }

    fn dowels(&self) -> Outcome {
        let mut needs = Needs::default();
        let dowels = needs.length(self.part("engine"), "engine", "dowel_protrusion");
        let plates = self.plates(&self.choice.fills);
        let (Some(dowels), Some(plates)) = (dowels, plates) else { return needs.unchecked() };
        let left = dowels - plates;
        let floor = self.house(Number::DowelFloor);
        judge(left >= floor, note![left, " of dowel engagement, at least ", floor])
    }

    fn starter(&self) -> Outcome {
        let mut needs = Needs::default();
        let (new, old) = (self.part("flywheel"), self.bench.fitted_part("flywheel"));
        let mut moved = Length::ZERO;
        let mut known = true;
        if needs.have(old, "the fitted flywheel").is_none() {
            return needs.unchecked();
        }
        if let (Some(new), Some(old)) = (new, old)
            && new.id != old.id
        {
            let key = "ring_gear_offset";
            let offsets = (
                needs.length(Some(new), "flywheel", key),
                needs.length(Some(old), "flywheel", key),
            );
            let teeth = (new.entry("ring_teeth"), old.entry("ring_teeth"));
            match teeth {
                (Some(a), Some(b)) if a.value != b.value => {
                    let counts = format!("{} ring gear teeth instead of {}", a.value, b.value);
                    return Outcome::Fail(note![counts]);
                }
                (Some(_), Some(_)) => {}
                _ => needs.0.push("flywheel.ring_teeth".into()),
            }
            match offsets {
                (Some(new), Some(old)) => moved += new - old,
                _ => known = false,
            }
        }
        let engine = (self.part("engine"), self.bench.fitted_part("engine"));
        if let (Some(new), Some(old)) = engine
            && new.id != old.id
        {
            let key = "crank_protrusion";
            match (needs.length(Some(new), "engine", key), needs.length(Some(old), "engine", key)) {
                (Some(new), Some(old)) => moved += new - old,
                _ => known = false,
            }
        }
        let plates = (self.plates(&self.choice.fills), self.plates(&self.bench.fitted));
        let (Some(new), Some(old)) = plates else {
            needs.0.push("the plates' thickness".into());
            return needs.unchecked();
        };
        match self.bench.job.starter_on {
            StarterOn::Bell => moved -= new - old,
            StarterOn::Block => {}
            StarterOn::Unknown if new == old => {}
            StarterOn::Unknown => {
                needs.0.push("starter_on".into());
                known = false;
            }
        }
        needs.0.dedup();
        if !known || !needs.0.is_empty() {
            return needs.unchecked();
        }
        let within = self.house(Number::StarterTolerance);
        judge(moved.abs() <= within, note!["the ring gear moves ", moved, ", at most ", within])
    }

    fn shims(&self) -> Outcome {
        let mut needs = Needs::default();
        let shims = self.bench.slot("bearing_shims").map(|slot| &self.choice.fills[slot].parts);
        let total: Option<Length> =
            shims.map_or(Some(Length::ZERO), |s| s.iter().map(|p| p.length("thickness")).sum());
        let Some(total) = needs.have(total, "bearing_shim.thickness") else {
            return needs.unchecked();
        };
        if total == Length::ZERO {
            return Outcome::Pass(note!["no shims"]);
        }
        let most = needs.length(self.part("bearing"), "bearing", "max_shim");
        let Some(most) = most else { return needs.unchecked() };
        judge(total <= most, note![total, " of shims, at most ", most])
    }

    fn cut(&self) -> Length {
        let slot = self.bench.slot("flywheel");
        slot.map_or(Length::ZERO, |slot| self.choice.fills[slot].cut)
    }

    fn flywheel_minimum(&self) -> Outcome {
        let cut = self.cut();
        if cut == Length::ZERO {
            return Outcome::Pass(note!["nothing is machined"]);
        }
        let mut needs = Needs::default();
        let flywheel = self.part("flywheel");
        let least = needs.length(flywheel, "flywheel", "min_thickness");
        let now = needs.length(flywheel, "flywheel", "thickness");
        let (Some(least), Some(now)) = (least, now) else { return needs.unchecked() };
        judge(now - cut >= least, note![now - cut, " after machining, at least ", least])
    }

    fn hub_clearance(&self) -> Outcome {
        let mut needs = Needs::default();
        if self.part("disc").is_none() {
            needs.0.push("the matched set's hub".into());
            return needs.unchecked();
        }
        let room = needs.length(self.part("flywheel"), "flywheel", "bolt_clearance");
        let hub = needs.length(self.part("disc"), "disc", "hub_front");
        let (Some(room), Some(hub)) = (room, hub) else { return needs.unchecked() };
        let left = room - self.cut() - hub;
        judge(left > Length::ZERO, note![left, " between the disc's hub and the crank bolts"])
    }

    fn contact_circle(&self) -> Outcome {
        let mut needs = Needs::default();
        let plate = self.part("pressure_plate");
        let at = needs.length(self.part("bearing"), "bearing", "contact_diameter");
        let inner = needs.length(plate, "pressure_plate", "finger_circle_inner");
        let outer = needs.length(plate, "pressure_plate", "finger_circle_outer");
        let (Some(at), Some(inner), Some(outer)) = (at, inner, outer) else {
            return needs.unchecked();
        };
        judge(
            inner <= at && at <= outer,
            note!["contact at ", at, " on fingers from ", inner, " to ", outer],
        )
    }

    fn torque(&self) -> Outcome {
        let mut needs = Needs::default();
        let plate = self.part("pressure_plate").and_then(|plate| plate.entry("torque_rating"));
        let rating = needs.have(plate, "pressure_plate.torque_rating");
        let asked = needs.have(self.bench.job.torque, "the job's torque");
        let (Some(rating), Some(asked)) = (rating, asked) else { return needs.unchecked() };
        let show = |value| {
            crate::model::part::show_value(crate::model::kinds::Quantity::Torque, value, Unit::In)
        };
        let note = format!("rated {} N m for {} N m", show(rating.value), show(asked));
        judge(rating.value >= asked, note![note])
    }
}

/// The ring-shaped piston behind a master cylinder: volume in is volume out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Hydraulics {
    /// The master cylinder's bore.
    pub bore: Length,
    /// The ring piston's outer diameter.
    pub outer: Length,
    /// The ring piston's inner diameter.
    pub inner: Length,
}

impl Hydraulics {
    fn areas(self) -> (i128, i128) {
        let square = |length: Length| i128::from(length.nm()) * i128::from(length.nm());
        (square(self.bore), square(self.outer) - square(self.inner))
    }

    /// The bearing's travel for a stroke of the master piston, without losses: the ring's area is
    /// that of its outer circle less its inner one.
    pub fn bearing_travel(self, stroke: Length) -> Length {
        let (master, ring) = self.areas();
        scaled(stroke, master, ring)
    }

    /// The master stroke that moves the bearing this far, without losses.
    pub fn master_stroke(self, travel: Length) -> Length {
        let (master, ring) = self.areas();
        scaled(travel, ring, master)
    }
}

fn scaled(length: Length, times: i128, over: i128) -> Length {
    if over <= 0 {
        return Length::ZERO;
    }
    let nm = i128::from(length.nm()).saturating_mul(times) / over;
    Length::from_nm(i64::try_from(nm).unwrap_or(i64::MAX))
}
