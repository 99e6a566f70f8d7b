//! What somebody tries on a car: other parts in its slots, the flywheel machined. Nothing is stored.

use crate::desk::{Swap, slot};
use crate::error::{Error, Result};
use crate::model::length::{Length, Unit};
use crate::serve::form::{Fields, asked};
use crate::stack::choice::{Choice, Fill, Setup};

/// The name of the field for the thickness to which the flywheel is machined.
pub(super) const MACHINE_TO: &str = "machine_to";

/// What is tried instead of what is fitted.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct WhatIf {
    /// Slot by slot.
    pub(super) swaps: Vec<Swap>,
    /// The thickness to which the flywheel is machined.
    pub(super) machine_to: Option<Length>,
}

impl WhatIf {
    /// What the fields of a what-if say. A slot that is as fitted is not tried; a bare thickness is in
    /// the device's unit.
    pub(super) fn read(setup: &Setup<'_>, fields: &Fields, unit: Unit) -> Result<Self> {
        let kinds = setup.library.kinds;
        let mut swaps = Vec::new();
        for (index, (_, spec)) in kinds.slots().enumerate() {
            if !fields.has(spec.key) {
                continue;
            }
            let mut ids: Vec<&str> = fields.all(spec.key);
            let as_fitted = ids.iter().all(|id| id.is_empty());
            ids.retain(|id| !id.is_empty() && *id != "none");
            ids.sort_unstable();
            let fitted = &setup.fitted[index];
            let unchanged = !fitted.on_bench && fitted.ids() == ids;
            if as_fitted || unchanged {
                continue;
            }
            let ids = if ids.is_empty() { "none".into() } else { ids.join("|") };
            swaps.push(Swap { slot: slot(kinds, spec.key)?, ids });
        }
        let machine_to = fields.one(MACHINE_TO).map(|text| thickness(text, unit)).transpose();
        let place = |error: Error| error.at("machine the flywheel to");
        Ok(Self { swaps, machine_to: machine_to.map_err(place)? })
    }

    /// The what-if that makes the parts of a choice out of what is fitted.
    pub(super) fn of(setup: &Setup<'_>, choice: &Choice<'_>) -> Self {
        let mut what_if = Self::default();
        for (slot, (fill, fitted)) in choice.fills.iter().zip(&setup.fitted).enumerate() {
            if !fill.same_pieces(fitted) {
                what_if.swaps.push(Swap { slot, ids: ids(fill) });
            }
            if fill.cut != Length::ZERO {
                let now = fill.parts.first().and_then(|part| part.length("thickness"));
                what_if.machine_to = now.map(|now| now - fill.cut);
            }
        }
        what_if
    }

    pub(super) fn is_nothing(&self) -> bool {
        self.swaps.is_empty() && self.machine_to.is_none()
    }

    /// The fields that say so, the job's name first.
    pub(super) fn fields(&self, setup: &Setup<'_>) -> Vec<(&'static str, String)> {
        let kinds = setup.library.kinds;
        let mut fields = vec![("job", setup.job.id.clone())];
        for swap in &self.swaps {
            let key = kinds.slot_key(swap.slot);
            fields.extend(swap.ids.split('|').map(|id| (key, id.to_string())));
        }
        let exact = |length: Length| (MACHINE_TO, length.exact(Unit::In));
        fields.extend(self.machine_to.map(exact));
        fields
    }

    /// The address of a page with this what-if.
    pub(super) fn address(&self, setup: &Setup<'_>, path: &str) -> String {
        let fields = self.fields(setup);
        asked(path, fields.iter().map(|(name, value)| (*name, value.as_str())))
    }
}

fn ids(fill: &Fill<'_>) -> String {
    if fill.parts.is_empty() { "none".into() } else { fill.ids().join("|") }
}

/// A length as somebody typed it; a bare number is in the unit that the page is in.
fn thickness(text: &str, unit: Unit) -> Result<Length> {
    match Length::parse(text) {
        Ok(length) => Ok(length),
        Err(_) if text.ends_with(|c: char| c.is_ascii_digit()) => {
            Length::parse(&format!("{text} {}", unit.name()))
        }
        Err(error) => Err(error),
    }
}
