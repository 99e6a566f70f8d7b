//! The list that the search fills, and what it takes to get on it.

use std::collections::BTreeSet;

use crate::model::length::Length;
use crate::solve::compact::unpack;
use crate::solve::rank::{Merits, Place};
use crate::solve::search::Walk;
use crate::solve::verdict::{NONE, Picks};
use crate::stack::grade::Grade;

/// The best places so far.
pub(super) struct Best {
    top: usize,
    /// Never more than `top`, each with its picks: equal places are settled by the order of ids.
    found: BTreeSet<(Place, Picks)>,
}

impl Best {
    /// An empty list for so many.
    pub(super) fn new(top: usize) -> Self {
        Self { top, found: BTreeSet::new() }
    }

    pub(super) fn is_full(&self) -> bool {
        self.found.len() >= self.top
    }

    /// Whether a place could still win; an unpicked slot counts as the first that may stand there.
    pub(super) fn takes(&self, place: &Place, picks: &[u32], first: &[u32]) -> bool {
        if self.top == 0 {
            return false;
        }
        let Some((last, last_picks)) = self.found.last().filter(|_| self.is_full()) else {
            return true;
        };
        let or_first = |(pick, first): (&u32, &u32)| if *pick == NONE { *first } else { *pick };
        let ids = || picks.iter().zip(first).map(or_first).cmp(last_picks.iter().copied());
        place.cmp(last).then_with(ids) == std::cmp::Ordering::Less
    }

    pub(super) fn offer(&mut self, place: Place, picks: &[u32]) {
        self.found.insert((place, picks.to_vec()));
        if self.found.len() > self.top {
            self.found.pop_last();
        }
    }

    /// The last place, which a newcomer has to beat; none while there is room for more.
    pub(super) fn to_beat(&self) -> Option<&Place> {
        self.found.last().filter(|_| self.is_full()).map(|(place, _)| place)
    }

    /// What was found, the best first.
    pub(super) fn into_picks(self) -> Vec<Picks> {
        self.found.into_iter().map(|(_, picks)| picks).collect()
    }
}

/// What is summed up of the slots picked so far.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Spent {
    /// Packed: unpriced pieces first, then cents.
    pub(super) cost: i64,
    pub(super) parts: u8,
    pub(super) changes: u8,
    /// The bits of joints that are not verified.
    pub(super) blank: u8,
}

impl Walk<'_, '_, '_> {
    /// What the ranking compares, from what is summed up or promised.
    pub(super) fn place(&self, grade: Grade, spent: Spent, cost: i64, room: i64) -> Place {
        Merits {
            grade,
            not_verified: spent.blank.count_ones(),
            to_buy: unpack(cost),
            room: Length::from_nm(room),
            parts: spent.parts as usize,
            changes: spent.changes as usize,
            chance: 0,
        }
        .place(self.order, self.enough)
    }
}
