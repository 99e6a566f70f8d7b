//! What the fingers move when the plate works at another gap than its height was taken with.

use super::sums::{At, Sums};
use super::times::gap_times;
use super::{AssumedGap, Missing, Tried, both, settled};
use crate::model::entry::Accuracy;
use crate::model::house::Number;
use crate::model::length::{Length, divide_half_away};
use crate::model::part::Part;
use crate::stack::choice::{Facings, Fill};
use crate::stack::form::{Dim, Form, Item, Product, RatioItem, Source};
use crate::stack::window::clamped;

/// The ratio products of a finger position.
#[derive(Debug, Clone, Default)]
pub(super) struct Corrected<'a> {
    pub(super) products: Vec<Product<'a>>,
    pub(super) set_gap_assumed: Option<AssumedGap>,
}

/// A gap with which a finger height was taken.
struct SetGap<'a> {
    form: Form<'a>,
    assumed: Option<AssumedGap>,
}

impl<'a> Sums<'_, 'a> {
    /// Brings a measured clutch sum from the fitted disc, flywheel and plate to the chosen ones.
    pub(super) fn corrected_moved(&self) -> Tried<Corrected<'a>> {
        let Some((slot, fill)) = self.fill("pressure_plate") else {
            return Ok(Corrected::default());
        };
        let (now, was) = (self.chosen_gap(), self.fitted_gap());
        if self.stays(slot) {
            let difference = settled(now.less(&was))?;
            let products = self.product(fill, slot, -1, difference).into_iter().collect();
            return Ok(Corrected { products, set_gap_assumed: None });
        }
        // Another plate: its own correction comes in, the fitted plate's goes out.
        let new = self.correction(&self.choice.fills, &now);
        let old = self.correction(&self.setup.fitted, &was);
        let (mut corrected, old) = both(new, old)?;
        let turned = old.products.into_iter().map(|product| Product { sign: 1, ..product });
        corrected.products.extend(turned);
        // Of the plate that leaves only its height matters, not the range that it worked in.
        let of_old = old.set_gap_assumed.map(|_| AssumedGap::RangeKnown);
        corrected.set_gap_assumed = corrected.set_gap_assumed.or(of_old);
        Ok(corrected)
    }

    /// The correction of catalogued clutch parts.
    pub(super) fn corrected_catalogued(&self) -> Tried<Corrected<'a>> {
        self.correction(&self.choice.fills, &self.chosen_gap())
    }

    /// Minus ratio times the gap less the one with which the plate's height was taken.
    fn correction(&self, fills: &[Fill<'a>], gap: &Form<'a>) -> Tried<Corrected<'a>> {
        let slot = self.setup.slot("pressure_plate").unwrap_or_default();
        let fill = &fills[slot];
        let Some(plate) = fill.parts.first().copied() else {
            // Its finger height is missing too, and names what is to be measured.
            let plate = Missing { kind: "pressure_plate", id: None, dim: "finger_height" };
            // Whether it brings a pack of its own nobody knows either.
            let gap = settled(gap.clone()).err().unwrap_or_default();
            let others = gap.into_iter().filter(|lack| lack.kind != plate.kind);
            return Err(others.chain([plate.clone()]).collect());
        };
        let set_gap = self.set_gap(plate, slot, fills);
        let difference = settled(gap.clone().less(&set_gap.form))?;
        let products: Vec<_> = self.product(fill, slot, -1, difference).into_iter().collect();
        let set_gap_assumed = set_gap.assumed.filter(|_| !products.is_empty());
        Ok(Corrected { products, set_gap_assumed })
    }

    /// `sign` times ratio times a difference of gaps; none where nothing is left of it. A difference
    /// that is nothing for certain brings no error of the ratio in, whatever that is.
    fn product(
        &self,
        fill: &Fill<'a>,
        slot: usize,
        sign: i64,
        difference: Form<'a>,
    ) -> Option<Product<'a>> {
        let ratio = self.ratio(fill, slot);
        let mut product = Product { sign, ratio, gap: difference.linear };
        if product.gap_size().is_nothing() {
            product.ratio.known = Accuracy::stated(0);
        }
        (!product.gap.is_empty()).then_some(product)
    }

    /// The plate's finger ratio; where nobody knows it, what is common, as closely as that is.
    pub(crate) fn ratio(&self, fill: &Fill<'a>, slot: usize) -> RatioItem<'a> {
        let house = self.house();
        let plate = fill.parts.first().copied();
        let source = plate.map_or(Source::Bench { slot }, |plate| Source::Part {
            slot,
            id: &plate.id,
            nth: 0,
            cut: false,
        });
        let stated = plate.and_then(|plate| {
            let dim = plate.kind.dims.iter().find(|dim| dim.key == "finger_ratio")?;
            let entry = plate.entry("finger_ratio")?;
            let own = || house.assumed(plate.kind.key, dim, entry.value);
            Some((entry.as_ratio(), entry.accuracy(own)))
        });
        let (value, known) = stated.unwrap_or_else(|| {
            let off = house.ratio(Number::BlankRatioTol).millionths();
            (house.ratio(Number::BlankRatio), Accuracy::assumed(off))
        });
        RatioItem { source, value, known }
    }

    /// The gap with which a plate's finger height was taken: as stated, else by the first of four
    /// ways to assume it that applies.
    fn set_gap(&self, plate: &'a Part, slot: usize, fills: &[Fill<'a>]) -> SetGap<'a> {
        let at = At { slot, nth: 0, cut: Length::ZERO };
        if plate.entry("set_gap").is_some() {
            let form = self.dimension(plate, at, "set_gap").unwrap_or_default();
            return SetGap { form, assumed: None };
        }
        let house = self.house();
        let source = Source::Part { slot, id: &plate.id, nth: 0, cut: false };
        let dim = Dim { source, kind: plate.kind.key, key: "set_gap" };
        let value = |value: Length, tol: Length| {
            let mut form = Form::default();
            form.add(Item { dim, value, known: Accuracy::assumed(tol.nm()) }, 1);
            form
        };
        let from_parts = house.length(Number::BlankSetGapTol);
        let flywheel = self.setup.slot("flywheel").unwrap_or_default();
        let steps = self.terms(flywheel, fills, gap_times);
        let range = plate.length("set_gap_min").zip(plate.length("set_gap_max"));
        if plate.is_matched_set() {
            let mut own = self.dimension(plate, at, "pack_thickness").unwrap_or_default();
            own.add_form(&steps, 1);
            // A matched set on a flat flywheel was taken with its own pack.
            if steps.unknown.is_empty() && steps.value() == Length::ZERO {
                return SetGap { form: own, assumed: None };
            }
            if range.is_none() {
                own.add_form(&value(Length::ZERO, from_parts), 1);
                return SetGap { form: own, assumed: Some(AssumedGap::RangeUnknown) };
            }
        }
        if let Some((least, most)) = range {
            let middle = divide_half_away(i128::from((least + most).nm()), 2);
            let middle = Length::from_wide(middle);
            let half = Length::from_nm((most.nm() - least.nm() + 1) / 2);
            return SetGap { form: value(middle, half), assumed: Some(AssumedGap::RangeKnown) };
        }
        if let Some(gap) = self.presumed_gap(plate) {
            let form = value(gap, from_parts);
            return SetGap { form, assumed: Some(AssumedGap::RangeUnknown) };
        }
        // Any disc, on a flywheel with the step of the one that stands there.
        let disc = (house.length(Number::BlankSetDisc), house.length(Number::BlankSetDiscTol));
        let mut form = value(disc.0, disc.1);
        form.add_form(&steps, 1);
        SetGap { form, assumed: Some(AssumedGap::RangeUnknown) }
    }

    /// The gap of the parts that the job names with their plate, with a new disc.
    fn presumed_gap(&self, plate: &Part) -> Option<Length> {
        let setup = self.setup;
        setup.fitted_part("pressure_plate").filter(|named| named.id == plate.id)?;
        let disc = setup.fitted_part("disc")?;
        let new = disc.piece_of.as_ref().and_then(|number| setup.library.find(number));
        let step = setup.fitted_part("flywheel")?.length("cover_step").unwrap_or(Length::ZERO);
        Some(clamped(new.unwrap_or(disc))? - step)
    }

    /// The gap of the chosen parts; no value where something in it is unknown.
    pub(crate) fn gap_now(&self) -> Option<Length> {
        let gap = self.gap_of(&self.choice.fills);
        (gap.unknown.is_empty() && !gap.linear.is_empty()).then(|| gap.value())
    }

    /// The gap with which a plate's height was taken where that is known: stated, or that of a
    /// matched set on a flat flywheel.
    pub(crate) fn known_set_gap(&self) -> Option<Length> {
        let (_, fill) = self.fill("pressure_plate")?;
        self.known_set_gap_of(fill.parts.first()?)
    }

    /// The same of another plate in the place of the chosen one.
    pub(crate) fn known_set_gap_of(&self, plate: &'a Part) -> Option<Length> {
        let slot = self.setup.slot("pressure_plate")?;
        let set_gap = self.set_gap(plate, slot, &self.choice.fills);
        let known = set_gap.assumed.is_none() && set_gap.form.unknown.is_empty();
        known.then(|| set_gap.form.value())
    }

    /// Whose the chosen plate's dimensions are.
    pub(crate) fn chosen_plate(&self) -> Option<Source<'a>> {
        let (slot, fill) = self.fill("pressure_plate")?;
        Some(self.ratio(fill, slot).source)
    }

    /// A dimension of a plate as it enters a finger position in the place of the chosen one, or what
    /// stands in for it.
    pub(crate) fn of_plate(&self, plate: &'a Part, key: &'static str) -> Option<Item<'a>> {
        let slot = self.setup.slot("pressure_plate")?;
        let form = if key == "set_gap" {
            self.set_gap(plate, slot, &self.choice.fills).form
        } else {
            self.dimension(plate, At { slot, nth: 0, cut: Length::ZERO }, key)?
        };
        form.linear.into_iter().map(|(item, _)| item).find(|item| item.dim.key == key)
    }

    /// A gap: clamped disc or pack less the step.
    fn gap_of(&self, fills: &[Fill<'a>]) -> Form<'a> {
        let mut gap = Form::default();
        for kind in ["flywheel", "disc", "pressure_plate"] {
            if let Some(slot) = self.setup.slot(kind) {
                gap.add_form(&self.terms(slot, fills, gap_times), 1);
            }
        }
        gap
    }

    /// The gap of the chosen parts, the fitted disc new or as it is.
    fn chosen_gap(&self) -> Form<'a> {
        let gap = self.gap_of(&self.choice.fills);
        let stays = self.setup.facing_slot().is_some_and(|slot| self.stays(slot));
        if !(self.as_it_stands && stays) {
            return gap;
        }
        let mut gap = gap.less(&self.gap_of(&self.setup.fitted));
        gap.add_form(&self.fitted_gap(), 1);
        gap
    }

    /// The gap at which a clutch reading was taken.
    fn fitted_gap(&self) -> Form<'a> {
        match self.facings_read() {
            Some(read) => self.gap_with_facings(read),
            None => self.gap_less_loss(),
        }
    }

    /// The fitted gap, what was read standing for disc or pack.
    fn gap_with_facings(&self, read: Item<'a>) -> Form<'a> {
        let mut gap = Form::default();
        for kind in ["flywheel", "disc", "pressure_plate"] {
            let slot = self.setup.slot(kind);
            if let Some(slot) = slot.filter(|slot| Some(*slot) != self.setup.facing_slot()) {
                gap.add_form(&self.terms(slot, &self.setup.fitted, gap_times), 1);
            }
        }
        gap.add(read, 1);
        gap
    }

    /// The fitted gap, less what worn facings have lost where that was not read.
    fn gap_less_loss(&self) -> Form<'a> {
        let mut gap = self.gap_of(&self.setup.fitted);
        if self.setup.facings() == Facings::Replaced {
            gap.add(self.facing_loss(), -1);
        }
        gap
    }
}
