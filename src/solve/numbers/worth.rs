//! What candidates count for in the ranking.

use std::iter::repeat_n;

use itertools::Itertools as _;

use crate::stack::choice::{Fill, Setup};
use crate::stack::cost::{ToBuy, is_changed, parts_in, to_buy_in};

/// What a candidate counts for in the ranking, whatever stands around it.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Worth {
    pub(crate) to_buy: ToBuy,
    pub(crate) parts: u8,
    pub(crate) changed: bool,
    /// The place of its part numbers among those of its slot: a machined part has the number of the part
    /// that it is made from.
    pub(crate) id: u32,
}

impl Worth {
    /// Those of all candidates of a slot, which stand in the order of their part numbers.
    pub(super) fn of(setup: &Setup<'_>, slot: usize, fills: &[Fill<'_>]) -> Vec<Self> {
        let ids = fills.iter().map(Fill::ids).dedup_with_count().enumerate();
        let ids = ids.flat_map(|(id, (alike, _))| repeat_n(id as u32, alike));
        let worth = |(fill, id): (&Fill<'_>, u32)| Self {
            to_buy: to_buy_in(setup, slot, fill),
            parts: parts_in(fill) as u8,
            changed: is_changed(setup, slot, fill),
            id,
        };
        fills.iter().zip(ids).map(worth).collect()
    }
}
