//! Between what the values of a library lie, kind by kind: what looks as if it were in the other unit,
//! and prices that are far from all others.

use std::collections::BTreeMap;

use crate::model::kinds::{KindSpec, Quantity};
use crate::model::length::{Length, NM_PER_IN, NM_PER_MM};
use crate::model::library::Library;
use crate::model::money::Cents;
use crate::model::part::Part;

/// How many values it takes to say what they are like.
const MANY: usize = 8;

/// How many times the dearer quarter's price, or how small a part of the cheaper quarter's, is far: a
/// house rule without a source.
const FAR: i64 = 5;

/// The middle half of the values of each dimension whose values are much alike, and of the prices, kind
/// by kind.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Alike {
    dims: BTreeMap<(&'static str, &'static str), (i64, i64)>,
    prices: BTreeMap<&'static str, (Cents, Cents)>,
}

impl Alike {
    /// What the values of a library are like.
    pub fn of(library: &Library) -> Self {
        let mut prices = BTreeMap::new();
        let mut usual = BTreeMap::new();
        for kind in library.kinds.iter() {
            for (dim, spec) in kind.dims.iter().enumerate() {
                let half = middle(library, kind, dim);
                usual.extend(half.map(|half| ((kind.key, spec.key), half)));
            }
            let of_kind = library.of_kind(kind.key).filter_map(|part| part.price);
            let mut all: Vec<Cents> = of_kind.filter(|price| *price > Cents::ZERO).collect();
            all.sort_unstable();
            if all.len() >= MANY {
                prices.insert(kind.key, (all[all.len() / 4], all[all.len() * 3 / 4]));
            }
        }
        Self { dims: usual, prices }
    }

    /// The price and between what half of its kind's lie, where it is far from them.
    pub fn far_price(&self, part: &Part, price: Cents) -> Option<(Cents, (Cents, Cents))> {
        let (low, high) = *self.prices.get(part.kind.key)?;
        let far = price.get() > high.get() * FAR || price.get() * FAR < low.get();
        // A price of nothing is a gift, and no slip.
        (far && price > Cents::ZERO).then_some((price, (low, high)))
    }

    /// The usual range, where a value would lie in it, or nearly, had it been given in the other
    /// unit.
    pub fn in_the_other_unit(
        &self,
        kind: &'static str,
        dim: &'static str,
        value: i64,
    ) -> Option<(Length, Length)> {
        let (low, high) = *self.dims.get(&(kind, dim))?;
        let is_usual = |times: i64, per: i64| {
            let other = i128::from(value) * i128::from(times) / i128::from(per);
            4 * other >= 3 * i128::from(low) && 4 * other <= 5 * i128::from(high)
        };
        let slipped = is_usual(NM_PER_IN, NM_PER_MM) || is_usual(NM_PER_MM, NM_PER_IN);
        slipped.then_some((Length::from_nm(low), Length::from_nm(high)))
    }
}

fn middle(library: &Library, kind: &KindSpec, dim: usize) -> Option<(i64, i64)> {
    let of_kind = library.of_kind(kind.key).filter_map(|part| part.dims[dim]);
    let mut values: Vec<i64> = of_kind.map(|entry| entry.value).collect();
    if kind.dims[dim].quantity != Quantity::Length || values.len() < MANY {
        return None;
    }
    values.sort_unstable();
    let (low, high) = (values[values.len() / 4], values[values.len() * 3 / 4]);
    // Where a dimension spans many sizes, nothing is told from a value's size.
    (low > 0 && high <= 2 * low).then_some((low, high))
}
