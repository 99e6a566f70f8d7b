//! The checks beside the window: each passes, fails, or is not checked for want of a dimension.

pub mod inputs;
pub mod rules;

use crate::model::kinds::Joint;
use crate::model::length::Length;
use crate::stack::choice::{Choice, Setup};
use crate::stack::joints::Joints;
use crate::stack::lengths::Lengths;
use crate::stack::note::{Note, note};
use inputs::{Need, Reader};
use rules::{RULES, Rule};

/// What a check found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Outcome {
    /// It passes.
    Pass(Note),
    /// It fails: the stack leaves the ranking.
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
    /// Whether it passed.
    pub fn passed(&self) -> bool {
        matches!(self.outcome, Outcome::Pass(_))
    }

    /// Whether it failed.
    pub fn failed(&self) -> bool {
        matches!(self.outcome, Outcome::Fail(_))
    }
}

/// Runs every check on a stack: the mating faces first, then the rules in their order.
pub(crate) fn checks<'a>(
    setup: &Setup<'a>,
    choice: &Choice<'a>,
    lengths: &Lengths<'a>,
    preload: Length,
    joints: &Joints,
) -> Vec<Check> {
    let reader = Reader { setup, choice, crank: lengths.crank, preload: Some(preload) };
    let values = reader.values();
    let house = &setup.library.house;
    let outcome = |rule: &Rule| match rule.judge(&values, house) {
        Some(true) => Outcome::Pass((rule.note)(&values, house)),
        Some(false) => Outcome::Fail((rule.note)(&values, house)),
        None => {
            let lacks = rule.inputs.iter().filter_map(|input| reader.value(*input).err());
            let mut needs: Vec<String> = Vec::new();
            for need in lacks.flatten().map(Need::name) {
                if !needs.contains(&need) {
                    needs.push(need);
                }
            }
            Outcome::Unchecked(needs)
        }
    };
    let faces = Check { name: "faces", outcome: faces(joints) };
    let rules = RULES.iter().map(|rule| Check { name: rule.name, outcome: outcome(rule) });
    std::iter::once(faces).chain(rules).collect()
}

fn faces(joints: &Joints) -> Outcome {
    if !joints.clashes.is_empty() {
        let clash = |(joint, a, b): &(Joint, String, String)| {
            format!("{}: `{a}` does not mate with `{b}`", joint.name())
        };
        let clashes: Vec<String> = joints.clashes.iter().map(clash).collect();
        return Outcome::Fail(note![clashes.join("; ")]);
    }
    if joints.not_verified != 0 {
        let needs = joints.not_verified_names().into_iter();
        return Outcome::Unchecked(needs.map(|name| format!("{name} face")).collect());
    }
    Outcome::Pass(note!["all known faces mate"])
}
