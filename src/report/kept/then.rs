//! Stacks read back from an answer in JSON: the contract with scripts is one with ourselves, too.

use std::collections::BTreeMap;

use serde::Deserialize;

use crate::error::{Error, Result};
use crate::model::history::KeptAnswer;
use crate::model::kinds::Kinds;
use crate::model::length::Length;

/// A stack as it was in an answer that was kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StackThen {
    /// Its grade.
    pub grade: String,
    /// The part numbers in each slot, in slot order.
    pub parts: Vec<Vec<String>>,
    /// How far the fingers push the bearing back at rest.
    pub preload: Length,
    /// How far it can still go back.
    pub reserve: Length,
    /// The distance to the nearest edge.
    pub room: Length,
    /// The checks that it failed.
    pub fails: Vec<String>,
}

/// The stacks of an answer, the best first.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StacksThen {
    /// Whether they were ranked, rather than one being the fitted one.
    pub ranked: bool,
    /// Whether they landed in the window; where none did, they are the nearest.
    pub landed: bool,
    /// The stacks.
    pub stacks: Vec<StackThen>,
}

#[derive(Deserialize)]
#[serde(untagged)]
enum Answer {
    Ranking { stacks: Vec<Stack>, nearest: Option<Vec<Stack>> },
    Fit(Box<Stack>),
}

#[derive(Deserialize)]
struct Stack {
    grade: String,
    parts: BTreeMap<String, InSlot>,
    preload: Nm,
    reserve: Nm,
    room: Nm,
    checks: Vec<Check>,
}

#[derive(Deserialize)]
#[serde(untagged)]
enum InSlot {
    One(Option<String>),
    Several(Vec<String>),
}

#[derive(Deserialize)]
struct Nm {
    nm: i64,
}

#[derive(Deserialize)]
struct Check {
    check: String,
    result: String,
}

impl StacksThen {
    /// Reads the stacks of an answer that was kept. Slots that there are not any more are left out.
    ///
    /// # Errors
    ///
    /// A storage error where the answer is none of this program's.
    pub fn of(kept: &KeptAnswer, kinds: Kinds) -> Result<Self> {
        let answer: Answer = serde_json::from_str(&kept.answer).map_err(|error| {
            let name = &kept.name;
            Error::storage(format!("the kept answer `{name}` cannot be read: {error}"))
                .hint("`answer show --format json` gives it as it is")
        })?;
        let (ranked, landed, stacks) = match answer {
            Answer::Ranking { stacks, nearest } if stacks.is_empty() => {
                (true, false, nearest.unwrap_or_default())
            }
            Answer::Ranking { stacks, .. } => (true, true, stacks),
            Answer::Fit(stack) => {
                (false, !["undecided", "out"].contains(&stack.grade.as_str()), vec![*stack])
            }
        };
        let stacks = stacks.into_iter().map(|stack| stack.of(kinds)).collect();
        Ok(Self { ranked, landed, stacks })
    }
}

impl Stack {
    fn of(mut self, kinds: Kinds) -> StackThen {
        let parts = kinds.slots().map(|(_, slot)| match self.parts.remove(slot.key) {
            Some(InSlot::Several(ids)) => ids,
            Some(InSlot::One(id)) => id.into_iter().collect(),
            None => Vec::new(),
        });
        let parts = parts.collect();
        let failed = self.checks.into_iter().filter(|check| check.result == "fail");
        StackThen {
            parts,
            fails: failed.map(|check| check.check).collect(),
            grade: self.grade,
            preload: Length::from_nm(self.preload.nm),
            reserve: Length::from_nm(self.reserve.nm),
            room: Length::from_nm(self.room.nm),
        }
    }
}
