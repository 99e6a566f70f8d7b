//! A place in the ranking as one number that adds and compares.
//!
//! Once plate and bearing are picked, all that ranks a stack adds up over its slots: faces that are not
//! verified, what is to be bought, the room that it lacks, its parts, and part numbers by their place in
//! each slot's list. So a place is a number with a field for each, the first in the order on top.

use std::ops::Add;

use crate::model::house::Number;
use crate::model::money::Cents;
use crate::solve::ask::Order;
use crate::solve::numbers::{Numbers, Worth};
use crate::stack::grade::Grade;

/// A place, or what something adds to one. The smaller the better.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub(crate) struct Key {
    /// Everything up to the first part numbers.
    pub(crate) high: u128,
    /// The other part numbers.
    pub(crate) low: u128,
}

impl Add for Key {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self { high: self.high + other.high, low: self.low + other.low }
    }
}

impl Key {
    /// No place at all: behind every other. Two of them still add up.
    pub(crate) const NONE: u128 = 1 << 126;
}

/// Where a field begins.
#[derive(Debug, Clone, Copy, Default)]
struct Field {
    shift: u32,
    /// In the low number.
    low: bool,
}

impl Field {
    fn of(self, value: u64) -> Key {
        let value = u128::from(value) << self.shift;
        if self.low { Key { high: 0, low: value } } else { Key { high: value, low: 0 } }
    }
}

/// Where the fields of a key stand for an order.
#[derive(Debug, Clone)]
pub(crate) struct Layout {
    far: Field,
    changes: Field,
    grade: Field,
    unverified: Field,
    unpriced: Field,
    cents: Field,
    lack: Field,
    parts: Field,
    /// By slot.
    ids: Vec<Field>,
    /// Room leads: what lies far from the middle of its window comes later.
    pub(crate) by_room: bool,
    /// Room beyond this counts as equal, nm.
    pub(crate) enough: i64,
    /// The most that may be spent, cents, where unpriced parts are not wanted and the order does not
    /// put the cheap first.
    budget: Option<u128>,
    /// How wide the fields of costs are, in bits.
    unpriced_width: u32,
    cents_width: u32,
}

/// Rooms lie between minus and plus this, nm: sums of some dozens of lengths within 100 in.
pub(crate) const WIDEST: i64 = 1 << 37;

impl Layout {
    /// None where a place does not fit into a key.
    pub(crate) fn new(
        numbers: &Numbers<'_, '_>,
        order: Order,
        budget: Option<Cents>,
    ) -> Option<Self> {
        let span = numbers.span_before();
        let most = |of: fn(&Worth) -> u64| -> u64 {
            numbers.worth.iter().map(|list| list.iter().map(of).max().unwrap_or(0)).sum()
        };
        let bits = |most: u64| u64::BITS - most.leading_zeros();
        let enough = numbers.setup.library.house.length(Number::EnoughRoom).nm();
        let mut layout = Self {
            far: Field::default(),
            changes: Field::default(),
            grade: Field::default(),
            unverified: Field::default(),
            unpriced: Field::default(),
            cents: Field::default(),
            lack: Field::default(),
            parts: Field::default(),
            ids: vec![Field::default(); numbers.worth.len()],
            by_room: order == Order::Room,
            enough,
            budget: None,
            unpriced_width: 0,
            cents_width: 0,
        };
        let unpriced = bits(most(|worth| u64::from(worth.to_buy.unpriced)));
        let cents = bits(most(|worth| worth.to_buy.amount.get().unsigned_abs()));
        let mut fields: Vec<(&mut Field, u32)> = Vec::new();
        let lead = match order {
            Order::Room => Some((&mut layout.far, bits(2 * WIDEST as u64))),
            Order::Changes => Some((&mut layout.changes, bits(most(|w| u64::from(w.changed))))),
            Order::Grade | Order::Price | Order::Chance => None,
        };
        fields.extend(lead);
        let grade = [(&mut layout.grade, 3), (&mut layout.unverified, 4)];
        let spent = [(&mut layout.unpriced, unpriced), (&mut layout.cents, cents)];
        if order == Order::Price {
            fields.extend(spent.into_iter().chain(grade));
        } else {
            fields.extend(grade.into_iter().chain(spent));
        }
        fields.push((&mut layout.lack, bits((enough.max(0) + span) as u64)));
        fields.push((&mut layout.parts, bits(most(|worth| u64::from(worth.parts)))));
        let ids = layout.ids.iter_mut().zip(&numbers.worth);
        fields.extend(ids.map(|(field, list)| (field, bits(list.len() as u64))));
        // The top bit of both numbers stays free, so that sums of bounds never overflow.
        let (mut left, mut low) = (126, false);
        for (field, width) in fields {
            if width > left {
                if low {
                    return None;
                }
                (left, low) = (126, true);
            }
            left -= width;
            *field = Field { shift: left, low };
        }
        (layout.unpriced_width, layout.cents_width) = (unpriced, cents);
        layout.budget =
            budget.filter(|_| !layout.cents.low).map(|budget| budget.get().max(0) as u128);
        Some(layout)
    }

    /// What a candidate adds wherever it stands.
    pub(crate) fn candidate(&self, slot: usize, worth: &Worth) -> Key {
        self.unpriced.of(u64::from(worth.to_buy.unpriced))
            + self.cents.of(worth.to_buy.amount.get().unsigned_abs())
            + self.parts.of(u64::from(worth.parts))
            + self.changes.of(u64::from(worth.changed && self.changes.shift > 0))
            + self.ids[slot].of(u64::from(worth.id))
    }

    /// What of a key ranks before the cost, where costs are limited: things that are alike in it are in
    /// the order of their costs.
    pub(crate) fn lead(&self, high: u128) -> u128 {
        self.budget.map_or(0, |_| high >> (self.cents.shift + self.cents_width))
    }

    /// The cost in a key, cents, where costs are limited; more than any budget where a price is unknown.
    pub(crate) fn cost(&self, high: u128) -> u128 {
        let field = |field: Field, width: u32| high >> field.shift & ((1 << width) - 1);
        match self.budget {
            Some(_) if field(self.unpriced, self.unpriced_width) > 0 => u128::MAX,
            Some(_) => field(self.cents, self.cents_width),
            None => 0,
        }
    }

    /// What is left of the budget once the cost of a key is spent, cents; none where it does not do.
    pub(crate) fn left(&self, high: u128) -> Option<u128> {
        self.budget.map_or(Some(u128::MAX), |most| most.checked_sub(self.cost(high)))
    }

    pub(crate) fn unverified(&self, joints: u32) -> Key {
        self.unverified.of(u64::from(joints))
    }

    pub(crate) fn grade(&self, grade: Grade) -> Key {
        self.grade.of(grade as u64)
    }

    /// The room that is lacking, nm.
    pub(crate) fn lack(&self, nm: i64) -> Key {
        self.lack.of(nm.max(0) as u64)
    }

    /// The room of a stack, nm: in its order where room leads, else by what it lacks.
    pub(crate) fn room(&self, nm: i64) -> Key {
        if self.by_room { self.far.of((WIDEST - nm) as u64) } else { self.lack(self.enough - nm) }
    }
}
