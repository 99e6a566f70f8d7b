//! The slots by what the search makes of them, and the joints by what takes part in them.

use crate::model::kinds::{Enters, Inside, Joint, KindSpec, SlotSpec, Takes};
use crate::solve::numbers::faces::Faces;
use crate::stack::choice::Setup;

/// The slots by what the search makes of them.
#[derive(Debug, Clone)]
pub(crate) struct Slots {
    pub(crate) engine: usize,
    pub(crate) flywheel: usize,
    pub(crate) disc: usize,
    pub(crate) plate: usize,
    pub(crate) bell: usize,
    pub(crate) gearbox: usize,
    pub(crate) bearing: usize,
    pub(crate) shims: usize,
    pub(crate) block_plate: usize,
    /// What stands between block and bell: block plate, bell spacer and whatever else adds there.
    pub(crate) before: Vec<usize>,
    /// What stands between bell and gearbox.
    pub(crate) behind: Vec<usize>,
}

impl Slots {
    /// None where the table of kinds has something that the search does not know how to add up.
    pub(super) fn of(setup: &Setup<'_>) -> Option<Self> {
        let slot = |kind| setup.slot(kind);
        let mut slots = Self {
            engine: slot("engine")?,
            flywheel: slot("flywheel")?,
            disc: slot("disc")?,
            plate: slot("pressure_plate")?,
            bell: slot("bell_housing")?,
            gearbox: slot("gearbox")?,
            bearing: slot("bearing")?,
            shims: slot("bearing_shim")?,
            block_plate: slot("block_plate")?,
            before: Vec::new(),
            behind: Vec::new(),
        };
        let named = [
            slots.engine,
            slots.flywheel,
            slots.disc,
            slots.plate,
            slots.bell,
            slots.gearbox,
            slots.bearing,
        ];
        for (index, (kind, spec)) in setup.library.kinds.slots().enumerate() {
            if named.contains(&index) {
                continue;
            }
            if !adds_alike(kind) {
                return None;
            }
            match spec {
                _ if index == slots.shims => {}
                SlotSpec { takes: Takes::One, .. } => return None,
                SlotSpec { inside: None, .. } => slots.before.push(index),
                SlotSpec { inside: Some(Inside::BearingDepth), .. } => slots.behind.push(index),
                _ => return None,
            }
        }
        Some(slots)
    }

    /// What the job fixes as a rule.
    pub(crate) fn frame(&self) -> [usize; 3] {
        [self.engine, self.bell, self.gearbox]
    }
}

/// Whether all that a kind adds it adds to both ends of the bearing's travel alike.
fn adds_alike(kind: &KindSpec) -> bool {
    kind.dims.iter().flat_map(|dim| dim.enters).all(|enters| matches!(enters, Enters::Rear(_)))
}

/// At which step of the search the faces of a joint are all there.
#[derive(Debug, Clone, Default)]
pub(crate) struct JointsBy {
    pub(crate) frame: Vec<Joint>,
    pub(crate) flywheel: Vec<Joint>,
    pub(crate) before: Vec<Joint>,
    pub(crate) behind: Vec<Joint>,
    /// Bearing and shims.
    pub(crate) shims: Vec<Joint>,
    /// Plate and bearing.
    pub(crate) bearing: Vec<Joint>,
    /// Plate and disc.
    pub(crate) disc: Vec<Joint>,
    /// Plate and flywheel.
    pub(crate) cover: Vec<Joint>,
}

impl JointsBy {
    pub(super) fn of(slots: &Slots, faces: &Faces<'_>) -> Option<Self> {
        let mut by = Self::default();
        let count = slots.before.len() + slots.behind.len() + 8;
        for joint in Joint::ALL {
            let among = |more: &[usize]| {
                let there = |slot: &usize| slots.frame().contains(slot) || more.contains(slot);
                (0..count).filter(|slot| faces.takes_part(*slot, joint)).all(|slot| there(&slot))
            };
            let lists = [
                (&mut by.frame, among(&[])),
                (&mut by.flywheel, among(&[slots.flywheel])),
                (&mut by.before, among(&slots.before)),
                (&mut by.behind, among(&slots.behind)),
                (&mut by.shims, among(&[slots.bearing, slots.shims])),
                (&mut by.bearing, among(&[slots.plate, slots.bearing])),
                (&mut by.disc, among(&[slots.plate, slots.disc])),
                (&mut by.cover, among(&[slots.plate, slots.flywheel])),
            ];
            lists.into_iter().find(|(_, all)| *all)?.0.push(joint);
        }
        Some(by)
    }
}
