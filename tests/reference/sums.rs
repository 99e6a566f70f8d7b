//! Published stacks written as the program's own sums.

use bellstack::model::entry::Accuracy;
use bellstack::model::length::{Length, NM_PER_IN};
use bellstack::stack::form::{self, Form, Item, MICRO, Source, Spread};

/// One dimension of a published stack, with its sign in the sum.
#[derive(Clone, Copy)]
pub(crate) struct Dim {
    item: Item<'static>,
    times: i64,
}

pub(crate) fn length(text: &str) -> Length {
    Length::parse(text).unwrap()
}

fn dim(id: &'static str, nth: usize, value: Length, tol: Length, times: i64) -> Dim {
    let source = Source::Part { slot: 0, id, nth, cut: false };
    Dim {
        item: Item {
            dim: form::Dim { source, kind: "published", key: "length" },
            value,
            known: Accuracy::stated(tol.nm()),
        },
        times,
    }
}

/// A dimension with equal limits on both sides.
pub(crate) fn equal(id: &'static str, value: &str, tol: &str, times: i64) -> Dim {
    dim(id, 0, length(value), length(tol), times)
}

/// A dimension with unequal limits, `plus` above and `minus` below what the drawing names.
///
/// The program knows limits as a half-width about the middle: the middle is
/// `named + (plus - minus) / 2` and the half-width `(plus + minus) / 2`.
pub(crate) fn unequal(id: &'static str, named: &str, plus: &str, minus: &str, times: i64) -> Dim {
    let (named, plus, minus) = (length(named).nm(), length(plus).nm(), length(minus).nm());
    assert_eq!((plus + minus) % 2, 0, "half of it is a whole number of nanometres");
    let middle = named + (plus - minus) / 2;
    let half = i64::midpoint(plus, minus);
    dim(id, 0, Length::from_nm(middle), Length::from_nm(half), times)
}

impl Dim {
    /// Another piece of the same part number, with an error of its own.
    pub(crate) fn again(self) -> Self {
        let Source::Part { slot, id, nth, cut } = self.item.dim.source else { return self };
        let source = Source::Part { slot, id, nth: nth + 1, cut };
        let dim = form::Dim { source, ..self.item.dim };
        Self { item: Item { dim, ..self.item }, ..self }
    }

    /// The tolerance in nanometres.
    pub(crate) fn tol(self) -> f64 {
        self.item.known.tol as f64
    }

    pub(crate) fn times(self) -> i64 {
        self.times
    }
}

pub(crate) fn form(dims: &[Dim]) -> Form<'static> {
    let mut form = Form::default();
    for dim in dims {
        form.add(dim.item, dim.times);
    }
    form
}

/// The root sum of squares of the tolerances as they stand, in nanometres: the program's variance
/// takes each for a rectangle, which makes it a third of that square.
pub(crate) fn rss(spread: &Spread) -> f64 {
    (spread.three_u_squared as f64).sqrt() / MICRO as f64
}

pub(crate) fn inches(nm: f64) -> f64 {
    nm / NM_PER_IN as f64
}

pub(crate) fn close(found: f64, expected: f64, within: f64) {
    assert!((found - expected).abs() <= within, "{found} is not {expected} within {within}");
}
