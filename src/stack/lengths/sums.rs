//! The terms of a sum over some slots: as catalogued, and as a swap moves a measured one.

use super::Missing;
use super::rear::Reach;
use crate::model::entry::Basis;
use crate::model::house::Number;
use crate::model::job::Reading;
use crate::model::kinds::{Enters, Takes};
use crate::model::length::Length;
use crate::model::part::{Entry, Part};
use crate::stack::choice::{Bench, Choice, Fill};
use crate::stack::form::{Form, Item, Piece};

/// Items with how often each enters a sum.
pub(crate) type Terms<'a> = Vec<(Item<'a>, i64)>;

/// The sums of one choice, term by term.
pub(crate) struct Sums<'b, 'a> {
    pub(crate) bench: &'b Bench<'a>,
    pub(crate) choice: &'b Choice<'a>,
    pub(crate) as_it_stands: bool,
}

impl<'a> Sums<'_, 'a> {
    pub(super) fn fill(&self, kind: &str) -> Option<(usize, &Fill<'a>)> {
        let slot = self.bench.slot(kind)?;
        Some((slot, &self.choice.fills[slot]))
    }

    pub(crate) fn reading(&self, reading: Reading) -> Option<Item<'a>> {
        let entry = self.bench.job.reading(reading)?;
        let assumed = self.bench.library.house.length(Number::AssumedReading);
        let mut known = entry.accuracy(|| assumed.nm());
        if known.basis == Basis::Listed {
            known.basis = Basis::Read;
        }
        Some(Item {
            piece: Piece::Job,
            kind: "job",
            dim: reading.spec().key,
            value: entry.as_length(),
            known,
        })
    }

    pub(super) fn fitted(&self, slot: usize) -> &Fill<'a> {
        &self.bench.fitted[slot]
    }

    /// Whether some piece inside a measured sum is still there.
    pub(super) fn something_stays(&self, slots: &[usize]) -> bool {
        let disc = self.bench.slot("disc");
        slots.iter().any(|slot| {
            let (new, old) = (&self.choice.fills[*slot], self.fitted(*slot));
            let replaced =
                Some(*slot) == disc && !self.as_it_stands && self.bench.disc_is_replaced();
            let shared = new.parts.iter().any(|part| old.parts.iter().any(|o| o.id == part.id));
            (new.bench && old.bench) || (shared && !replaced)
        })
    }

    /// The dimensions of a fill that enter a sum in the way `times` picks, each with its sign.
    pub(super) fn items(
        &self,
        slot: usize,
        fill: &Fill<'a>,
        times: impl Fn(Enters) -> Option<i64>,
    ) -> Result<Terms<'a>, Vec<Missing>> {
        let mut items = Vec::new();
        let mut missing = Vec::new();
        let mut nth = 0;
        for (index, part) in fill.parts.iter().enumerate() {
            nth = if index > 0 && fill.parts[index - 1].id == part.id { nth + 1 } else { 0 };
            for dim in part.kind.dims {
                let Some(times) = dim.enters.iter().find_map(|enters| times(*enters)) else {
                    continue;
                };
                let at = At { slot, nth, cut: fill.cut };
                match self.dimension(part, at, dim.key) {
                    Some(found) => items.extend(found.into_iter().map(|(i, s)| (i, s * times))),
                    None if dim.needed => missing.push(Missing {
                        kind: part.kind.key,
                        id: part.id.clone(),
                        dim: dim.key.into(),
                    }),
                    None => {}
                }
            }
        }
        if missing.is_empty() { Ok(items) } else { Err(missing) }
    }

    /// One dimension of one piece, or the signed sum that stands in for it.
    pub(super) fn dimension(&self, part: &'a Part, at: At, key: &'static str) -> Option<Terms<'a>> {
        let dim = &part.kind.dims[part.kind.dim_index(key)?];
        let cut_here = key == "thickness" && at.cut != Length::ZERO;
        let piece = Piece::Part { slot: at.slot, id: &part.id, nth: at.nth, cut: cut_here };
        let item = |key: &'static str, entry: Entry| {
            let dim = &part.kind.dims[part.kind.dim_index(key).unwrap_or_default()];
            let house = &self.bench.library.house;
            let cut = if cut_here { at.cut } else { Length::ZERO };
            Item {
                piece,
                kind: part.kind.key,
                dim: key,
                value: entry.as_length() - cut,
                known: entry.accuracy(|| house.assumed(part.kind.key, dim, entry.value)),
            }
        };
        if let Some(entry) = part.entry(key) {
            return Some(vec![(item(key, entry), 1)]);
        }
        if !dim.stand_in.is_empty() {
            let parts = dim.stand_in.iter();
            return parts.map(|(key, sign)| Some((item(key, part.entry(key)?), *sign))).collect();
        }
        // Blank has a meaning, and that meaning is exact.
        dim.blank.map(|value| vec![(item(key, Entry::new(value, Some(0))), 1)])
    }

    /// The plain catalogued sum over some slots.
    pub(crate) fn catalogued(
        &self,
        slots: &[usize],
        times: impl Fn(Enters) -> Option<i64> + Copy,
    ) -> Result<Terms<'a>, Vec<Missing>> {
        let mut terms = Vec::new();
        let mut missing = Vec::new();
        for slot in slots {
            let fill = &self.choice.fills[*slot];
            if fill.bench
                && let Some((kind, _)) = self.bench.library.kinds.slots().nth(*slot)
            {
                let dim = format!("which {} is on the bench", kind.name);
                missing.push(Missing { kind: kind.key, id: String::new(), dim });
                continue;
            }
            match self.items(*slot, fill, times) {
                Ok(items) => terms.extend(items),
                Err(lack) => missing.extend(lack),
            }
        }
        if missing.is_empty() { Ok(terms) } else { Err(missing) }
    }

    /// What the swapped parts among `slots` move a measured sum by: new minus fitted.
    pub(crate) fn moved(
        &self,
        slots: &[usize],
        times: impl Fn(Enters) -> Option<i64> + Copy,
    ) -> Result<Terms<'a>, Vec<Missing>> {
        let mut terms = Vec::new();
        let mut missing = Vec::new();
        for slot in slots {
            let (new, old) = (&self.choice.fills[*slot], self.fitted(*slot));
            if new.same(old) {
                continue;
            }
            let spec = self.bench.library.kinds.slots().nth(*slot);
            if let Some((kind, spec)) = spec
                && (old.bench || (old.parts.is_empty() && spec.takes == Takes::One))
            {
                missing.push(Missing {
                    kind: kind.key,
                    id: String::new(),
                    dim: format!("which {} is fitted", kind.name),
                });
                continue;
            }
            for (fill, sign) in [(new, 1), (old, -1)] {
                match self.items(*slot, fill, times) {
                    Ok(items) => terms.extend(items.into_iter().map(|(i, c)| (i, c * sign))),
                    Err(lack) => missing.extend(lack),
                }
            }
        }
        if missing.is_empty() { Ok(terms) } else { Err(missing) }
    }

    /// The fitted block plate that a reading was taken over, added back to reach the bare block.
    pub(crate) fn over_plate(&self, over: bool) -> Result<Terms<'a>, Vec<Missing>> {
        let Some(slot) = self.bench.slot("block_plate").filter(|_| over) else {
            return Ok(Vec::new());
        };
        self.items(slot, self.fitted(slot), Reach::Extended.times_of())
    }
}

/// Which piece a dimension is of.
#[derive(Clone, Copy)]
pub(super) struct At {
    pub(super) slot: usize,
    pub(super) nth: usize,
    pub(super) cut: Length,
}

pub(crate) fn form(terms: Terms<'_>) -> Form<'_> {
    let mut form = Form::default();
    for (item, times) in terms {
        form.add(item, times);
    }
    form
}

pub(super) fn value(items: &[(Item<'_>, i64)]) -> Length {
    Length::from_nm(items.iter().map(|(item, times)| item.value.nm() * times).sum())
}
