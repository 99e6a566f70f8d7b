//! What a stack costs, what it changes, and its place in the order.

use std::cmp::Ordering;

use bellstack::model::part::Part;

use super::task::{Facings, Fill, Task};

/// Pieces without a price, and cents for the others.
pub(crate) type ToBuy = (u32, i128);

impl<'a> Task<'a> {
    /// What has to be bought for a slot, piece by piece, each with its price: needed less fitted less
    /// on hand. Worn facings are no spare, and in the place of a part that nobody named a new one like
    /// it is bought.
    pub(crate) fn bought(&self, stack: &[Fill<'a>], slot: usize) -> Vec<Option<i128>> {
        let fill = &stack[slot];
        let worn = self.facing_slot() == Some(slot) && self.facings(stack) == Facings::Replaced;
        if fill.bench {
            return if worn { vec![None] } else { Vec::new() };
        }
        let parts = fill.parts.iter().enumerate();
        let missing = parts.filter(|(index, (_, part))| {
            let before = fill.parts[..*index].iter().filter(|(_, one)| one.id == part.id).count();
            let reused = if worn { 0 } else { self.fitted[slot].holds(&part.id) };
            before >= reused + part.on_hand as usize
        });
        missing.map(|(_, (_, part))| part.price.map(|price| price.get().into())).collect()
    }

    pub(crate) fn to_buy(&self, stack: &[Fill<'a>]) -> ToBuy {
        let all: Vec<_> = (0..stack.len()).flat_map(|slot| self.bought(stack, slot)).collect();
        let unpriced = all.iter().filter(|price| price.is_none()).count();
        (u32::try_from(unpriced).unwrap(), all.iter().flatten().sum())
    }

    /// The slots that differ from what is fitted. A disc that leaves with a matched set belongs to
    /// the plate's change.
    pub(crate) fn changes(&self, stack: &[Fill<'a>]) -> Vec<usize> {
        let set = stack[self.slot("pressure_plate")].part().is_some_and(Part::is_matched_set);
        let differs = |slot: &usize| {
            let (new, old) = (&stack[*slot], &self.fitted[*slot]);
            let leaves = *slot == self.slot("disc") && set && new.is_empty();
            let same = new.bench == old.bench && new.cut == old.cut && new.ids() == old.ids();
            !same && !leaves
        };
        (0..stack.len()).filter(differs).collect()
    }
}

/// How many parts, each shim counted. What is as on the bench is a part too.
pub(crate) fn parts(stack: &[Fill<'_>]) -> usize {
    stack.iter().map(|fill| fill.parts.len() + usize::from(fill.bench)).sum()
}

/// Part ids bytewise in slot order, an empty slot first.
pub(crate) fn by_ids(one: &[Fill<'_>], other: &[Fill<'_>]) -> Ordering {
    let ids = |stack: &[Fill<'_>]| {
        stack.iter().map(|fill| fill.ids().into_iter().map(String::from).collect()).collect()
    };
    let (one, other): (Vec<Vec<String>>, Vec<Vec<String>>) = (ids(one), ids(other));
    one.cmp(&other)
}
