//! What is asked of the search, and what it answers.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};

use crate::error::{Error, Result};
use crate::model::money::Cents;
pub use crate::stack::answer::{Answer, Forbidden, LeftOut, Removed, Sieve};
use crate::stack::grade::Grade;

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

impl Order {
    /// Every order.
    pub const ALL: [Self; 5] = [Self::Grade, Self::Price, Self::Room, Self::Chance, Self::Changes];

    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Grade => "grade",
            Self::Price => "price",
            Self::Room => "room",
            Self::Chance => "chance",
            Self::Changes => "changes",
        }
    }

    /// The order of this word.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|order| order.word() == word)
    }
}

/// What is asked. Slots are given by index.
#[allow(clippy::struct_excessive_bools, reason = "each is a wish of its own, as it was typed")]
#[derive(Debug, Clone)]
pub struct Ask {
    /// How many stacks are wanted.
    pub top: usize,
    /// Slots that stay as fitted.
    pub keep: Vec<usize>,
    /// Slots that take only these parts.
    pub only: Vec<(usize, Vec<String>)>,
    /// The only slots that may change, where a cure is asked for these alone.
    pub changing: Option<Vec<usize>>,
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
    /// Whether combinations are counted.
    pub counts: bool,
    /// Whether it is told what became of each slot's parts.
    pub explain: bool,
}

impl Default for Ask {
    fn default() -> Self {
        Self {
            top: 10,
            keep: Vec::new(),
            only: Vec::new(),
            changing: None,
            without: Vec::new(),
            skip: Vec::new(),
            open: Vec::new(),
            on_hand: false,
            budget: None,
            at_least: Grade::Marginal,
            order: Order::Grade,
            show_failed: false,
            counts: true,
            explain: false,
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

    /// Whether the search was asked to stop.
    pub(crate) fn is_stopped(&self) -> bool {
        self.stop.load(Ordering::Relaxed)
    }

    /// Counts steps, and refuses to go on once the search was stopped.
    ///
    /// # Errors
    ///
    /// Only that the search was interrupted.
    pub fn step(&self, steps: u64) -> Result<()> {
        self.steps.fetch_add(steps, Ordering::Relaxed);
        if self.is_stopped() { Err(Error::interrupted()) } else { Ok(()) }
    }
}
