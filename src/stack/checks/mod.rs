//! The checks beside the window: each passes, fails, or is not checked for want of a dimension.

mod flywheel;
mod release;
mod shaft;

use itertools::Itertools;

use crate::model::house::Number;
use crate::model::kinds::Joint;
use crate::model::length::Length;
use crate::model::part::Part;
use crate::stack::choice::{Bench, Choice, Fill};
use crate::stack::joints::Joints;
use crate::stack::lengths::Lengths;
use crate::stack::note::{Note, note};

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
        let clash = |(joint, a, b): &(Joint, String, String)| {
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
    fn plates(&self, fills: &[Fill<'a>]) -> Option<Length> {
        let mut total = Length::ZERO;
        for kind in ["block_plate", "bell_spacer"] {
            for part in &fills[self.bench.slot(kind)?].parts {
                total += part.length("thickness")?;
            }
        }
        Some(total)
    }
}
