//! What the fingers move when the plate works at another gap than its height was taken with.

use super::sums::{At, Sums, Terms};
use super::{Route, STAND_IN_RATIO};
use crate::model::entry::Accuracy;
use crate::model::job::{DiscState, Reading};
use crate::model::kinds::Enters;
use crate::model::length::Length;
use crate::model::part::Part;
use crate::stack::choice::Fill;
use crate::stack::form::{Form, Item, Piece, Product, RatioItem};

/// The correction that was needed could not be made.
#[derive(Debug, Clone, Copy)]
pub(super) struct NotCorrected;

impl<'a> Sums<'_, 'a> {
    /// Brings a measured clutch sum from the fitted disc, flywheel and plate to the chosen ones.
    pub(super) fn correct_moved(&self, route: &mut Route<'a>) {
        let kept = self
            .fill("pressure_plate")
            .filter(|(slot, fill)| fill.same(self.fitted(*slot)) && !fill.parts.is_empty());
        let corrected = match kept {
            Some((slot, fill)) => self
                .gap_difference()
                .and_then(|gap| self.product(fill.parts[0], slot, gap))
                .map(|product| route.form.products.extend(product)),
            None => self.replace_correction(&mut route.form),
        };
        route.doubts.not_corrected = corrected.is_err();
        let told = self.bench.job.reading(Reading::FittedDiscThickness).is_some();
        match self.bench.job.disc_state {
            DiscState::Worn => route.doubts.worn_disc = !told || corrected.is_err(),
            DiscState::Unknown => route.doubts.taken_as_new = !told,
            DiscState::New => {}
        }
    }

    /// Another plate: its own correction comes in, the fitted plate's goes out.
    fn replace_correction(&self, form: &mut Form<'a>) -> Result<(), NotCorrected> {
        let new = self.correction(&self.choice.fills, None);
        let old = self.correction(&self.bench.fitted, self.fitted_thickness());
        for (product, times) in [(&new, 1), (&old, -1)] {
            if let Ok(Some(product)) = product {
                form.add_form(&Form { linear: vec![], products: vec![product.clone()] }, times);
            }
        }
        new.and(old).map(|_| ())
    }

    /// Gap now less gap as fitted, where the plate stays. What stays is not asked for its value.
    fn gap_difference(&self) -> Result<Form<'a>, NotCorrected> {
        let mut difference = Form::default();
        let measured = self.fitted_thickness();
        let set = self.fill("pressure_plate").is_some_and(|(_, fill)| {
            fill.parts.first().is_some_and(|plate| plate.is_matched_set())
        });
        for kind in ["flywheel", "disc", "pressure_plate"] {
            let slot = self.bench.slot(kind).ok_or(NotCorrected)?;
            let holds_facings = kind == if set { "pressure_plate" } else { "disc" };
            let measured = measured.filter(|_| holds_facings);
            let (new, old) = (&self.choice.fills[slot], self.fitted(slot));
            if new.same(old) && measured.is_none() {
                continue;
            }
            if old.parts.is_empty() && measured.is_none() {
                return Err(NotCorrected);
            }
            let add = |difference: &mut Form<'a>, fill: &Fill<'a>, sign: i64| {
                let items = self.items(slot, fill, gap_times).map_err(|_| NotCorrected)?;
                for (item, c) in items {
                    difference.add(item, c * sign);
                }
                Ok::<(), NotCorrected>(())
            };
            add(&mut difference, new, 1)?;
            match measured {
                Some(item) => difference.add(item, -1),
                None => add(&mut difference, old, -1)?,
            }
        }
        Ok(difference)
    }

    /// What the fingers move because the plate works at another gap than its finger height was
    /// taken with.
    pub(super) fn correction(
        &self,
        fills: &[Fill<'a>],
        measured: Option<Item<'a>>,
    ) -> Result<Option<Product<'a>>, NotCorrected> {
        let slot = self.bench.slot("pressure_plate").ok_or(NotCorrected)?;
        let plate = fills[slot].parts.first().copied().ok_or(NotCorrected)?;
        let at = At { slot, nth: 0, cut: Length::ZERO };
        let gap = self.gap(fills, measured).ok_or(NotCorrected)?;
        let taken = match self.dimension(plate, at, "set_gap") {
            Some(taken) => taken,
            // A matched set on a flat flywheel was taken with its own pack.
            None if plate.is_matched_set() && self.is_flat(fills) => {
                self.dimension(plate, at, "pack_thickness").ok_or(NotCorrected)?
            }
            None => return Err(NotCorrected),
        };
        let mut difference = Form::default();
        for (item, times) in gap {
            difference.add(item, times);
        }
        for (item, times) in taken {
            difference.add(item, -times);
        }
        self.product(plate, slot, difference)
    }

    /// Minus ratio times a difference of gaps.
    fn product(
        &self,
        plate: &'a Part,
        slot: usize,
        difference: Form<'a>,
    ) -> Result<Option<Product<'a>>, NotCorrected> {
        if difference.linear.is_empty() {
            return Ok(None);
        }
        let ratio = match self.ratio(plate, slot) {
            Some(ratio) => ratio,
            None if difference.value() == Length::ZERO => RatioItem {
                piece: Piece::Part { slot, id: &plate.id, nth: 0, cut: false },
                value: STAND_IN_RATIO,
                known: Accuracy::assumed(0),
            },
            None => return Err(NotCorrected),
        };
        Ok(Some(Product { sign: -1, ratio, gap: difference.linear }))
    }

    fn ratio(&self, plate: &'a Part, slot: usize) -> Option<RatioItem<'a>> {
        let entry = plate.entry("finger_ratio")?;
        let dim = &plate.kind.dims[plate.kind.dim_index("finger_ratio")?];
        let house = &self.bench.library.house;
        Some(RatioItem {
            piece: Piece::Part { slot, id: &plate.id, nth: 0, cut: false },
            value: entry.as_ratio(),
            known: entry.accuracy(|| house.assumed(plate.kind.key, dim, entry.value)),
        })
    }

    fn is_flat(&self, fills: &[Fill<'a>]) -> bool {
        let flywheel = self.bench.slot("flywheel").and_then(|slot| fills[slot].parts.first());
        flywheel.is_some_and(|f| f.length("cover_step").unwrap_or(Length::ZERO) == Length::ZERO)
    }

    /// The gap of the chosen parts now; none where something in it is unknown.
    pub(super) fn gap_now(&self) -> Option<Terms<'a>> {
        self.gap(&self.choice.fills, None)
    }

    /// A gap: clamped disc or pack less the step. `measured` stands for the disc or pack.
    fn gap(&self, fills: &[Fill<'a>], measured: Option<Item<'a>>) -> Option<Terms<'a>> {
        let mut gap = Vec::new();
        let mut has_disc = false;
        for kind in ["flywheel", "disc", "pressure_plate"] {
            let slot = self.bench.slot(kind)?;
            let fill = fills.get(slot)?;
            if kind == "flywheel" {
                fill.parts.first()?;
                gap.extend(self.items(slot, fill, gap_times).ok()?);
            } else if measured.is_none() {
                let items = self.items(slot, fill, gap_times).ok()?;
                has_disc |= !items.is_empty();
                gap.extend(items);
            }
        }
        gap.extend(measured.map(|item| (item, 1)));
        (has_disc || measured.is_some()).then_some(gap)
    }

    /// The thickness that stands for the fitted disc (or pack) inside a measured sum.
    fn fitted_thickness(&self) -> Option<Item<'a>> {
        if self.as_it_stands { None } else { self.reading(Reading::FittedDiscThickness) }
    }
}

fn gap_times(enters: Enters) -> Option<i64> {
    if let Enters::Gap(times) = enters { Some(times) } else { None }
}
