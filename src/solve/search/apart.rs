//! What single candidates add to an input of checks.

use crate::solve::numbers::Numbers;
use crate::stack::checks::inputs::Input;
use crate::stack::choice::Choice;

/// An input of checks that adds up over some slots.
pub(super) struct Apart {
    /// With what stands there in a choice to begin with; none where that is not known.
    base: Option<i64>,
    /// By slot and candidate, what it adds to that; none where it is not known.
    more: Vec<(usize, Vec<Option<i64>>)>,
}

impl Apart {
    pub(super) fn new<'a>(
        numbers: &Numbers<'_, 'a>,
        mut choice: Choice<'a>,
        slots: &[usize],
        input: Input,
    ) -> Self {
        let base = numbers.checks.read(&choice, input);
        let mut more = Vec::new();
        for slot in slots {
            let first = choice.fills[*slot].clone();
            let mut own = Vec::new();
            for fill in &numbers.candidates.slots[*slot] {
                choice.fills[*slot].clone_from(fill);
                let with = numbers.checks.read(&choice, input);
                own.push(with.zip(base).map(|(with, base)| with - base));
            }
            choice.fills[*slot] = first;
            more.push((*slot, own));
        }
        Self { base, more }
    }

    /// What some candidates add.
    pub(super) fn more(&self, picks: &[(usize, u32)]) -> Option<i64> {
        let mut more = 0;
        for ((slot, pick), (own, list)) in picks.iter().zip(&self.more) {
            debug_assert_eq!(slot, own, "slots come in one order");
            more += list[*pick as usize]?;
        }
        Some(more)
    }

    /// The input with some candidates.
    pub(super) fn with(&self, picks: &[(usize, u32)]) -> Option<i64> {
        Some(self.base? + self.more(picks)?)
    }
}
