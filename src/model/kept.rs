//! An answer that was kept: what it was an answer to, and what is read back of it.

use std::collections::BTreeMap;

use serde::{Deserialize, Deserializer, Serialize, Serializer};

use crate::model::history::Stamp;
use crate::model::length::Length;
use crate::model::part::LARGEST;

/// What was answered.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Kind {
    /// A ranking of stacks.
    #[default]
    Ranking,
    /// A ranking of changes to what was fitted.
    Cure,
    /// The stack that was fitted.
    Fit,
}

/// What was asked, with slots by their keys and words as they are typed, so that it can be asked again
/// whatever becomes of the command line.
#[allow(clippy::struct_excessive_bools, reason = "each is a wish of its own, as it was typed")]
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Question {
    /// A ranking, changes, or the fitted stack; of the latter nothing else is asked.
    pub kind: Kind,
    /// How many stacks were wanted.
    pub top: usize,
    /// Slots that stay as fitted.
    pub keep: Vec<String>,
    /// Slots that take only these parts.
    pub only: Vec<(String, Vec<String>)>,
    /// Slots that stay empty.
    pub without: Vec<String>,
    /// Parts that are not wanted.
    pub skip: Vec<String>,
    /// Slots that the job fixes and that are searched all the same.
    pub open: Vec<String>,
    /// Only parts that are fitted or on the shelf.
    pub on_hand: bool,
    /// The most that may still be spent, in the catalog's currency, such as `129.50`.
    pub budget: Option<String>,
    /// The lowest grade wanted.
    pub at_least: String,
    /// By what stacks are ranked first.
    pub order: String,
    /// Stacks that fail a check are shown too.
    pub show_failed: bool,
}

/// A stack as it was.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct StackThen {
    /// Its grade.
    pub grade: String,
    /// The part numbers in each slot that is not empty, by the slot's key.
    pub parts: BTreeMap<String, Vec<String>>,
    /// What was to be machined off its flywheel; zero where nothing was.
    #[serde(with = "nanometres", default, skip_serializing_if = "is_zero")]
    pub cut: Length,
    /// How far the fingers push the bearing back at rest.
    #[serde(with = "nanometres")]
    pub preload: Length,
    /// How far it can still go back.
    #[serde(with = "nanometres")]
    pub reserve: Length,
    /// The distance to the nearest edge of the window.
    #[serde(with = "nanometres")]
    pub room: Length,
    /// The checks that it failed.
    pub fails: Vec<String>,
}

impl StackThen {
    /// The part numbers in the slot of this key.
    pub fn in_slot(&self, key: &str) -> &[String] {
        self.parts.get(key).map_or(&[], Vec::as_slice)
    }
}

/// The stacks of an answer, the best first.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct StacksThen {
    /// What was answered.
    pub kind: Kind,
    /// Whether they landed in the window; where none did, they are the nearest.
    pub landed: bool,
    /// The stacks.
    pub stacks: Vec<StackThen>,
}

/// An answer that was kept, with what it was an answer to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KeptAnswer {
    /// What it is called.
    pub name: String,
    /// The job.
    pub job: String,
    /// When it was kept, by whom, and with which command.
    pub stamp: Stamp,
    /// What was asked; none of an answer that was kept before this was written down.
    pub question: Option<Question>,
    /// The job's columns that were filled, as a CSV row has them.
    pub job_then: Vec<(String, String)>,
    /// Every house number, as it was written.
    pub house_then: Vec<(String, String)>,
    /// The number of the last event before it; zero where there was none.
    pub last_event: i64,
    /// Its stacks.
    pub stacks: StacksThen,
    /// The answer in JSON, as it was given.
    pub given: String,
}

#[allow(clippy::trivially_copy_pass_by_ref, reason = "serde gives a reference")]
fn is_zero(length: &Length) -> bool {
    *length == Length::ZERO
}

/// Lengths of a stack as whole nanometres, within what any sum of parts can be.
mod nanometres {
    use super::{Deserialize, Deserializer, LARGEST, Length, Serialize, Serializer};

    /// Far beyond the longest stack of the longest parts.
    const MOST: u64 = LARGEST.unsigned_abs() * 1000;

    #[allow(clippy::trivially_copy_pass_by_ref, reason = "serde gives a reference")]
    pub(super) fn serialize<S: Serializer>(length: &Length, to: S) -> Result<S::Ok, S::Error> {
        length.nm().serialize(to)
    }

    pub(super) fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<Length, D::Error> {
        let nm = i64::deserialize(from)?;
        if nm.unsigned_abs() > MOST {
            return Err(serde::de::Error::custom(format!("{nm} nm is no length of a stack")));
        }
        Ok(Length::from_nm(nm))
    }
}
