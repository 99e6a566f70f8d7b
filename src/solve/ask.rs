//! What is asked of the search, and what it answers.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};

use crate::error::{Error, Result};
use crate::model::length::Length;
use crate::model::money::Cents;
use crate::stack::fit::Fit;
use crate::stack::grade::Grade;
use crate::stack::lengths::Missing;
use crate::stack::window::{Empty, SetBy};

/// By what stacks are ranked first; the default order settles ties.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Order {
    /// Grade, verified faces, cost, room, parts, ids.
    #[default]
    Grade,
    /// What is still to be bought.
    Price,
    /// Distance to the nearest edge, the largest first.
    Room,
    /// The probability of being in the window, the highest first.
    Chance,
    /// How many slots differ from what is fitted.
    Changes,
}

/// What is asked. Slots are given by index.
#[derive(Debug, Clone)]
pub struct Ask {
    /// How many stacks are wanted.
    pub top: usize,
    /// Slots that stay as fitted.
    pub keep: Vec<usize>,
    /// Slots that take only these parts.
    pub only: Vec<(usize, Vec<String>)>,
    /// Slots that stay empty.
    pub without: Vec<usize>,
    /// Parts that are not wanted.
    pub skip: Vec<String>,
    /// Slots that the job fixes and that are searched all the same.
    pub open: Vec<usize>,
    /// Only parts that are fitted or on the shelf.
    pub on_hand: bool,
    /// The most that may still be spent.
    pub budget: Option<Cents>,
    /// The lowest grade wanted.
    pub at_least: Grade,
    /// The order.
    pub order: Order,
    /// Stacks that fail a check are shown too.
    pub show_failed: bool,
}

impl Default for Ask {
    fn default() -> Self {
        Self {
            top: 10,
            keep: Vec::new(),
            only: Vec::new(),
            without: Vec::new(),
            skip: Vec::new(),
            open: Vec::new(),
            on_hand: false,
            budget: None,
            at_least: Grade::Marginal,
            order: Order::Grade,
            show_failed: false,
        }
    }
}

/// Lets the caller watch a search and stop it.
#[derive(Debug, Clone, Default)]
pub struct Watch {
    stop: Arc<AtomicBool>,
    steps: Arc<AtomicU64>,
}

impl Watch {
    /// Asks the search to stop.
    pub fn stop(&self) {
        self.stop.store(true, Ordering::Relaxed);
    }

    /// How far the search has come, in steps of its own.
    pub fn steps(&self) -> u64 {
        self.steps.load(Ordering::Relaxed)
    }

    /// Counts steps, and refuses to go on once the search was stopped.
    ///
    /// # Errors
    ///
    /// Only that the search was interrupted.
    pub fn step(&self, steps: u64) -> Result<()> {
        self.steps.fetch_add(steps, Ordering::Relaxed);
        if self.stop.load(Ordering::Relaxed) { Err(Error::interrupted()) } else { Ok(()) }
    }
}

/// A part that could not take its place in a stack.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct LeftOut {
    /// Its kind.
    pub kind: &'static str,
    /// Its number; blank where the job does not say which part is fitted.
    pub id: String,
    /// The dimensions it lacks.
    pub needs: Vec<String>,
}

impl LeftOut {
    /// Gathers what single sums lacked, part by part.
    pub fn gather(missing: impl IntoIterator<Item = Missing>) -> Vec<Self> {
        let mut all: Vec<Self> = Vec::new();
        for Missing { kind, id, dim } in missing {
            match all.iter_mut().find(|known| known.kind == kind && known.id == id) {
                Some(known) if known.needs.contains(&dim) => {}
                Some(known) => known.needs.push(dim),
                None => all.push(Self { kind, id, needs: vec![dim] }),
            }
        }
        all.sort();
        all
    }
}

/// The number that stands in the way where nothing lands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Forbidden {
    /// No candidate at all for a slot.
    NoCandidate {
        /// The slot's index.
        slot: usize,
    },
    /// Every combination clashes at some mating face.
    NothingMates,
    /// The window is empty for the bearing's travel.
    Travel {
        /// The bearing.
        bearing: String,
        /// Its travel.
        travel: Length,
        /// By how much, and which way.
        empty: Empty,
        /// Who set the two edges that leave no room.
        set_by: (SetBy, SetBy),
    },
    /// An edge that the nearest stack misses.
    Edge {
        /// Which edge: an index into the four edges.
        edge: usize,
        /// Who set it.
        set_by: SetBy,
        /// Its limit.
        limit: Length,
        /// By how much it is missed.
        by: Length,
    },
    /// Stacks land in the window and each fails a check.
    Checks {
        /// The check that the best of them fails.
        check: &'static str,
    },
}

/// The answer of [`crate::solve::recommend::recommend`].
#[derive(Debug, Clone)]
pub struct Answer<'a> {
    /// Combinations of the candidates whose known faces mate.
    pub considered: u128,
    /// Those of them that are in the window and fail no check.
    pub in_window: u128,
    /// Parts left out for want of a dimension.
    pub left_out: Vec<LeftOut>,
    /// The best stacks, best first.
    pub stacks: Vec<Fit<'a>>,
    /// Where there are none: the closest few.
    pub nearest: Vec<Fit<'a>>,
    /// Where there are none: what stands in the way.
    pub forbidden: Option<Forbidden>,
}
