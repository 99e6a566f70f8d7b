//! Two copies of a catalog that went apart: what both changed, and whose it is to be.

use std::collections::BTreeMap;

use crate::model::history::{Becomes, FieldChange, Subject};

/// Whose state a thing is to have.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Whose {
    /// That of the catalog into which the other one is merged.
    Ours,
    /// That of the other one.
    Theirs,
}

/// What a merge does, or would do.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Merged {
    /// The number of the last command that both have.
    pub common: i64,
    /// How many commands each gave since: ours, and those of the other one.
    pub since: (usize, usize),
    /// What becomes of each thing, but for readings and kept answers.
    pub becomes: Vec<Becomes>,
    /// How many sets of readings are taken over, taken out again, and struck out or counted again.
    pub readings: (usize, usize, usize),
    /// Kept answers that are taken over, by the names that they get.
    pub answers: Vec<String>,
    /// What both changed and nobody has decided: then nothing is stored.
    pub conflicts: Vec<Conflict>,
}

impl Merged {
    /// Whether there is nothing to take.
    pub fn is_nothing(&self) -> bool {
        self.becomes.is_empty() && self.readings == (0, 0, 0) && self.answers.is_empty()
    }
}

/// Something that both copies changed since they went apart, and not alike.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Conflict {
    /// What it is.
    pub subject: Subject,
    /// Its name, blank for the house numbers.
    pub name: String,
    /// The field with what it holds in ours (`from`) and in theirs (`to`); a blank field where one of them
    /// took the thing out that the other one changed.
    pub change: FieldChange,
}

impl Conflict {
    /// By which an answer to it is found again.
    pub fn key(&self) -> Key {
        (self.subject.word(), self.name.clone(), self.change.field.clone())
    }
}

/// What a conflict is about: the subject's word, the name, the field.
pub type Key = (&'static str, String, String);

/// Whose state each conflict is to get.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Decided {
    /// That of all conflicts, where one was told for all.
    pub all: Option<Whose>,
    /// That of single ones.
    pub each: BTreeMap<Key, Whose>,
}

impl Decided {
    /// Whose it is to be, as far as that is decided.
    pub fn of(&self, conflict: &Conflict) -> Option<Whose> {
        self.all.or_else(|| self.each.get(&conflict.key()).copied())
    }
}
