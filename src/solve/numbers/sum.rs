//! Sums with their error limits, and what single candidates bring into them.

use std::cell::RefCell;

use crate::model::kinds::Enters;
use crate::stack::choice::{Choice, Fill, Setup};
use crate::stack::form::{Dim, Form, Spread};
use crate::stack::lengths::sums::Sums;
use crate::stack::lengths::times::Times;

/// A sum of dimensions: where it stands, in nanometres, and its error limits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) struct Sum {
    /// Nanometres.
    pub(crate) at: i64,
    pub(crate) spread: Spread,
}

impl Sum {
    pub(crate) fn of(form: &Form<'_>) -> Self {
        Self { at: form.value().nm(), spread: form.spread() }
    }

    /// The other way round, with the same error limits.
    #[must_use]
    pub(crate) fn turned(&self) -> Self {
        Self { at: -self.at, ..*self }
    }

    /// Both together; no dimension is in both.
    #[must_use]
    pub(crate) fn plus(&self, other: &Self) -> Self {
        Self { at: self.at + other.at, spread: self.spread.plus(&other.spread) }
    }
}

/// Dimensions of one candidate that always enter a sum together: all their coefficients are those of
/// the bundle, but for the sign that is counted in `value` already.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub(crate) struct Bundle {
    /// Nanometres.
    pub(crate) value: i64,
    /// All tolerances together, nm.
    pub(crate) tol: i64,
    /// Three times their variances together, nm^2.
    pub(crate) three_u_squared: i128,
    /// Whether one of them was assumed.
    pub(crate) assumed: bool,
}

impl Bundle {
    pub(crate) fn of(form: &Form<'_>) -> Self {
        let mut bundle = Self::default();
        for (item, times) in &form.linear {
            bundle.value += times * item.value.nm();
            bundle.tol += times.abs() * item.known.tol;
            bundle.three_u_squared += (i128::from(*times) * i128::from(item.known.wide)).pow(2);
            bundle.assumed |= item.known.assumed;
        }
        bundle
    }

    /// The same with no error limits.
    pub(crate) fn without_errors(self) -> Self {
        Self { value: self.value, ..Self::default() }
    }
}

/// What a candidate has in common with what is fitted in its slot, where that matters to a sum.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default)]
pub(crate) struct Stays {
    /// It is what is fitted, machined alike.
    pub(crate) whole: bool,
    /// Bits of the fitted dimensions that are its own too, in their order.
    pub(crate) dims: u8,
}

impl Stays {
    /// Nothing of what is fitted is left in it.
    pub(crate) fn nothing(self) -> bool {
        self == Self::default()
    }

    /// As bits.
    pub(crate) fn bits(self) -> u64 {
        u64::from(self.whole) << 8 | u64::from(self.dims)
    }
}

/// Every dimension that may enter a sum.
pub(crate) fn any_times(enters: Enters) -> Option<i64> {
    (!matches!(enters, Enters::FingerRatio)).then_some(1)
}

/// Reads terms of single fills off the reference's sums.
pub(crate) struct Terms<'b, 'a> {
    pub(crate) setup: &'b Setup<'a>,
    /// What is fitted, but for the slot that is looked at.
    fitted: RefCell<Choice<'a>>,
}

impl<'b, 'a> Terms<'b, 'a> {
    pub(crate) fn new(setup: &'b Setup<'a>) -> Self {
        Self { setup, fitted: RefCell::new(Choice { fills: setup.fitted.clone() }) }
    }

    /// The terms of what stands in a slot.
    pub(crate) fn of(&self, slot: usize, fill: &Fill<'a>, times: Times) -> Form<'a> {
        let mut choice = self.fitted.borrow_mut();
        choice.fills[slot] = fill.clone();
        let sums = Sums { setup: self.setup, choice: &choice, as_it_stands: false };
        let terms = sums.terms(slot, &choice.fills, times);
        choice.fills[slot].clone_from(&self.setup.fitted[slot]);
        terms
    }

    /// What of a fill is fitted today.
    pub(crate) fn stays(&self, slot: usize, fill: &Fill<'a>) -> Stays {
        let fitted = &self.setup.fitted[slot];
        if !fill.shares(fitted) {
            return Stays { whole: fill.same(fitted), dims: 0 };
        }
        let [own, old] = [fill, fitted].map(|fill| dims(&self.of(slot, fill, any_times)));
        let both = old.iter().enumerate().filter(|(_, dim)| own.contains(dim));
        let bits = both.fold(0, |bits, (index, _)| bits | 1 << index.min(7));
        Stays { whole: fill.same(fitted), dims: bits }
    }

    /// The terms of a fill that are not those of what is fitted, where they are all known.
    pub(crate) fn not_fitted(
        &self,
        slot: usize,
        fill: &Fill<'a>,
        times: Times,
    ) -> Option<Form<'a>> {
        let old = dims(&self.of(slot, &self.setup.fitted[slot], times));
        let mut form = self.of(slot, fill, times);
        form.linear.retain(|(item, _)| !old.contains(&item.dim));
        form.unknown.retain(|(dim, _)| !old.contains(dim));
        form.unknown.is_empty().then_some(form)
    }
}

/// The names of all dimensions in a sum.
pub(crate) fn dims<'a>(form: &Form<'a>) -> Vec<Dim<'a>> {
    let known = form.linear.iter().map(|(item, _)| item.dim);
    known.chain(form.unknown.iter().map(|(dim, _)| *dim)).collect()
}
