//! The terms of a sum over some slots: as catalogued, and as a swap moves a measured one.

use super::times::{Times, either_end};
use crate::model::entry::{Accuracy, Basis, Entry};
use crate::model::house::{House, Number};
use crate::model::job::Reading;
use crate::model::length::Length;
use crate::model::part::Part;
use crate::stack::choice::{Choice, Difference, Facings, Fill, Setup};
use crate::stack::form::{Dim, Form, Item, Source, Summand};
use crate::stack::window::wear;

/// The sums of one choice, term by term.
pub(crate) struct Sums<'b, 'a> {
    pub(crate) setup: &'b Setup<'a>,
    pub(crate) choice: &'b Choice<'a>,
    /// The fitted disc is taken as it is now, instead of a new one of its number.
    pub(crate) as_it_stands: bool,
}

impl<'a> Sums<'_, 'a> {
    pub(super) fn house(&self) -> &'a House {
        &self.setup.library.house
    }

    pub(super) fn fill(&self, kind: &str) -> Option<(usize, &Fill<'a>)> {
        let slot = self.setup.slot(kind)?;
        Some((slot, &self.choice.fills[slot]))
    }

    pub(super) fn fitted(&self, slot: usize) -> &Fill<'a> {
        &self.setup.fitted[slot]
    }

    pub(super) fn stays(&self, slot: usize) -> bool {
        self.choice.fills[slot].same(self.fitted(slot))
    }

    /// A reading of the job.
    pub(crate) fn reading(&self, reading: Reading) -> Option<Item<'a>> {
        let entry = self.setup.job.reading(reading)?;
        let mut known = entry.accuracy(|| self.house().length(Number::AssumedReading).nm());
        if known.basis == Basis::Listed {
            known.basis = Basis::Read;
        }
        let dim = Dim { source: Source::Job, kind: "job", key: reading.spec().key };
        Some(Item { dim, value: entry.as_length(), known })
    }

    /// What the fitted facings have lost, where they are worn and by how much was not read: half of
    /// what they may lose, give or take that half.
    pub(super) fn facing_loss(&self) -> Item<'a> {
        let setup = self.setup;
        let may_lose = wear(setup.fitted_part("pressure_plate"), setup.fitted_part("disc"));
        let may_lose = may_lose.unwrap_or(self.house().length(Number::BlankWear));
        let half = Length::from_nm((may_lose.nm() + 1) / 2);
        let dim = Dim { source: Source::Job, kind: "job", key: "facing_loss" };
        Item { dim, value: half, known: Accuracy::assumed(half.nm()) }
    }

    /// What the fitted facings are now: their thickness as read, where it is to be compared with
    /// that of what stands there then.
    pub(super) fn facings_read(&self) -> Option<Item<'a>> {
        let slot = self.setup.facing_slot()?;
        let keeps_piece = self.setup.facings() == Facings::Stay
            && self.fitted(slot).parts.first().is_some_and(|part| part.piece_of.is_some());
        // A piece that stays is what it is; of what stays on the bench nobody knows how thick a new
        // one is, where a new one is asked for.
        let no_new_one = self.fitted(slot).on_bench && !self.as_it_stands;
        let set_aside = self.stays(slot) && (keeps_piece || no_new_one);
        self.reading(Reading::FittedDiscThickness).filter(|_| !set_aside)
    }

    /// The terms of what stands in a slot that enter a sum as `times` picks them. Of a part that is as
    /// on the bench, or that nobody named where there has to be one, no dimension is known.
    pub(crate) fn terms(&self, slot: usize, fills: &[Fill<'a>], times: Times) -> Form<'a> {
        let fill = &fills[slot];
        let mut form = Form::default();
        let mut nth = 0;
        for (index, part) in fill.parts.iter().enumerate() {
            nth = if index > 0 && fill.parts[index - 1].id == part.id { nth + 1 } else { 0 };
            let at = At { slot, nth, cut: fill.cut };
            for dim in part.kind.dims {
                let Some(times) = dim.enters.iter().find_map(|enters| times(*enters)) else {
                    continue;
                };
                match self.dimension(part, at, dim.key) {
                    Some(found) => form.add_form(&found, times),
                    None if dim.needed => {
                        let unknown =
                            Dim { source: at.of(part), kind: part.kind.key, key: dim.key };
                        form.add_term(Summand::Unknown(unknown), times);
                    }
                    None => {}
                }
            }
        }
        if fill.on_bench || (fill.is_empty() && self.setup.needs(slot, fills)) {
            let kind = self.setup.library.kinds.slots().nth(slot).map(|(kind, _)| kind);
            for dim in kind.into_iter().flat_map(|kind| kind.dims) {
                if let Some(times) = dim.enters.iter().find_map(|enters| times(*enters)) {
                    let (source, kind) = (Source::Bench { slot }, kind.map_or("", |kind| kind.key));
                    form.add_term(Summand::Unknown(Dim { source, kind, key: dim.key }), times);
                }
            }
        }
        if let Some(Difference { key, by }) = fill.other {
            let kind = self.setup.library.kinds.slots().nth(slot).map(|(kind, _)| kind);
            let spec = kind.and_then(|kind| kind.dims.iter().find(|dim| dim.key == key));
            let enters = spec.into_iter().flat_map(|spec| spec.enters);
            if let Some(times) = enters.copied().find_map(times) {
                let dim = Dim { source: Source::Job, kind: "job", key };
                form.add(Item { dim, value: by, known: Accuracy::stated(0) }, times);
            }
        }
        form
    }

    /// One dimension of one part, or the signed sum that stands in for it.
    pub(super) fn dimension(&self, part: &'a Part, at: At, key: &'static str) -> Option<Form<'a>> {
        let dim = &part.kind.dims[part.kind.dim_index(key)?];
        let cut = if key == "thickness" { at.cut } else { Length::ZERO };
        let item = |key: &'static str, entry: Entry| {
            let dim = &part.kind.dims[part.kind.dim_index(key).unwrap_or_default()];
            let own = || self.house().assumed(part.kind.key, dim, entry.value);
            let source =
                Source::Part { slot: at.slot, id: &part.id, nth: at.nth, cut: cut != Length::ZERO };
            Item {
                dim: Dim { source, kind: part.kind.key, key },
                value: entry.as_length() - cut,
                known: entry.accuracy(own),
            }
        };
        let mut form = Form::default();
        if let Some(entry) = part.entry(key) {
            form.add(item(key, entry), 1);
        } else if !dim.stand_in.is_empty() {
            for (key, sign) in dim.stand_in {
                form.add(item(key, part.entry(key)?), *sign);
            }
        } else {
            // Blank has a meaning, and that meaning is exact.
            form.add(item(key, Entry::new(dim.blank?, Some(0))), 1);
        }
        Some(form)
    }

    /// The sum over what stands in some slots.
    pub(crate) fn catalogued(&self, slots: &[usize], times: Times) -> Form<'a> {
        let mut form = Form::default();
        for slot in slots {
            form.add_form(&self.terms(*slot, &self.choice.fills, times), 1);
        }
        form
    }

    /// The sum over what is fitted in some slots.
    pub(crate) fn as_fitted(&self, slots: &[usize], times: Times) -> Form<'a> {
        let mut form = Form::default();
        for slot in slots {
            form.add_form(&self.terms(*slot, &self.setup.fitted, times), 1);
        }
        form
    }

    /// A reading brought from what is fitted to what was chosen: `to` picks how a dimension enters
    /// the sum that is wanted, `from` how it entered the one that was read.
    pub(crate) fn moved(
        &self,
        reading: Item<'a>,
        slots: &[usize],
        to: Times,
        from: Times,
    ) -> Form<'a> {
        let mut form = Form::default();
        form.add(reading, 1);
        form.add_form(&self.catalogued(slots, to), 1);
        form.less(&self.as_fitted(slots, from))
    }

    /// The fitted block plate's terms where a reading was taken over it: what reaches the bare block.
    pub(crate) fn over_plate(&self, over: bool) -> Form<'a> {
        let slot = self.setup.slot("block_plate").filter(|_| over);
        slot.map_or_else(Form::default, |slot| self.terms(slot, &self.setup.fitted, either_end))
    }

    /// The chosen block plate's terms: what stands before the place behind it, from which both sides
    /// are counted.
    pub(crate) fn block_plate(&self) -> Form<'a> {
        self.fill("block_plate").map_or_else(Form::default, |(slot, _)| {
            self.terms(slot, &self.choice.fills, either_end)
        })
    }
}

/// Which piece of metal a dimension is of.
#[derive(Clone, Copy)]
pub(super) struct At {
    pub(super) slot: usize,
    pub(super) nth: usize,
    pub(super) cut: Length,
}

impl At {
    fn of(self, part: &Part) -> Source<'_> {
        Source::Part { slot: self.slot, id: &part.id, nth: self.nth, cut: false }
    }
}
