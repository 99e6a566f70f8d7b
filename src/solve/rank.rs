//! The total, deterministic order of recommendations.

use std::cmp::Reverse;

use crate::model::house::Number;
use crate::model::length::Length;
use crate::solve::ask::{Ask, Order};
use crate::stack::choice::{Choice, Setup};
use crate::stack::cost::ToBuy;
use crate::stack::fit::Fit;
use crate::stack::grade::Grade;
use crate::stack::odds::chance_of;

/// The numbers by which stacks are ranked, in no order yet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Merits {
    /// The grade.
    pub grade: Grade,
    /// Faces that are not verified.
    pub not_verified: u32,
    /// What is still to be bought.
    pub to_buy: ToBuy,
    /// The distance to the nearest edge.
    pub room: Length,
    /// How many parts.
    pub parts: usize,
    /// How many slots differ from what is fitted.
    pub changes: usize,
    /// Chance in thousandths, where the order asks for it; below zero where none can be given. It is
    /// good to a thousandth, so that all from [`SURE_ENOUGH`] on counts as equal.
    pub chance: i64,
}

/// The chance from which on stacks are ranked by the rest alone, in thousandths.
pub const SURE_ENOUGH: i64 = 999;

/// The chance of a stack as it counts in the ranking, in thousandths.
pub fn chance_in_rank(fit: &Fit<'_>) -> i64 {
    chance_of(fit).thousandths().min(SURE_ENOUGH)
}

/// A place in the ranking but for ids: the smaller the better.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Place {
    lead: i128,
    grade: Grade,
    not_verified: u32,
    to_buy: ToBuy,
    room: Reverse<Length>,
    parts: usize,
}

impl Place {
    /// What is still to be bought at this place.
    pub fn to_buy(&self) -> ToBuy {
        self.to_buy
    }
}

impl Merits {
    /// The merits of a stack that was worked out in full.
    pub fn of(fit: &Fit<'_>, order: Order) -> Self {
        let chance = if order == Order::Chance { chance_in_rank(fit) } else { 0 };
        Self {
            grade: fit.grade,
            not_verified: fit.joints.not_verified_count(),
            to_buy: fit.to_buy,
            room: fit.room,
            parts: fit.part_count,
            changes: fit.changed.len(),
            chance,
        }
    }

    /// The place that these merits give. Room beyond `enough` counts as equal.
    pub fn place(&self, order: Order, enough: Length) -> Place {
        let lead = match order {
            Order::Grade => 0,
            Order::Price => {
                (i128::from(self.to_buy.unpriced) << 64) + i128::from(self.to_buy.amount.get())
            }
            Order::Room => -i128::from(self.room.nm()),
            Order::Chance => -i128::from(self.chance),
            Order::Changes => self.changes as i128,
        };
        Place {
            lead,
            grade: self.grade,
            not_verified: self.not_verified,
            to_buy: self.to_buy,
            room: Reverse(self.room.min(enough)),
            parts: self.parts,
        }
    }
}

/// The ids of a stack in slot order, an empty slot first: the last word between equals.
pub fn ids<'a>(choice: &Choice<'a>) -> Vec<Vec<&'a str>> {
    choice.fills.iter().map(crate::stack::choice::Fill::ids).collect()
}

/// Ranks stacks and keeps the best.
pub fn rank<'a>(
    setup: &Setup<'a>,
    mut fits: Vec<Fit<'a>>,
    order: Order,
    top: usize,
) -> Vec<Fit<'a>> {
    let enough = setup.library.house.length(Number::EnoughRoom);
    fits.sort_by_cached_key(|fit| (Merits::of(fit, order).place(order, enough), ids(&fit.choice)));
    fits.truncate(top);
    fits
}

/// The closest few where nothing was found: by room, those that fail no check before the others;
/// then shown undecided before out.
pub fn rank_nearest<'a>(setup: &Setup<'a>, fits: Vec<Fit<'a>>, top: usize) -> Vec<Fit<'a>> {
    let mut nearest = closest(setup, fits, top);
    nearest.sort_by_key(|fit| (fit.fails(), fit.grade));
    nearest
}

/// The closest few, in the order of their room.
pub fn closest<'a>(setup: &Setup<'a>, mut fits: Vec<Fit<'a>>, top: usize) -> Vec<Fit<'a>> {
    let enough = setup.library.house.length(Number::EnoughRoom);
    fits.sort_by_cached_key(|fit| {
        let place = Merits::of(fit, Order::Grade).place(Order::Room, enough);
        (fit.fails(), place, ids(&fit.choice))
    });
    fits.truncate(top);
    fits
}

/// How many near misses are shown where nothing lands.
pub const NEAREST: usize = 3;

/// Whether a stack is one that was asked for.
pub fn wanted(ask: &Ask, fit: &Fit<'_>) -> bool {
    let affordable =
        ask.budget.is_none_or(|budget| fit.to_buy.unpriced == 0 && fit.to_buy.amount <= budget);
    fit.grade.in_window()
        && fit.grade <= ask.at_least
        && affordable
        && (ask.show_failed || !fit.fails())
}
