//! The house numbers as the page states them, and what a shop changed of them.

use std::collections::BTreeMap;

use super::sum::{Known, MICRO, up};
use bellstack::model::entry::Entry;

/// Nanometres in 0.001 in.
pub(crate) const THOU: i128 = 25_400;

/// House numbers by their keys: lengths in thousandths of an inch.
const NUMBERS: [(&str, i128); 13] = [
    ("stroke_margin", 100),
    ("reserve_margin", 30),
    ("fallback_preload_min", 600),
    ("fallback_reserve_min", 150),
    ("enough_room", 30),
    ("dowel_floor", 200),
    ("shaft_clearance", 60),
    ("starter_tolerance", 40),
    ("gap_range", 20),
    ("blank.set_disc", 330),
    ("blank.set_disc_tol", 50),
    ("blank.set_gap_tol", 30),
    ("blank.wear", 40),
];

/// The floor of hub clearance beside half of the wear, thousandths of an inch.
const HUB_FLOOR: (&str, i128) = ("hub_floor", 20);

/// Assumed tolerances, thousandths of an inch. The page gives one for a disc; free thickness and
/// cushion, which stand in for it, are taken as known no better.
const ASSUMED: [(&str, i128); 17] = [
    ("job", 5),
    ("engine.crank_protrusion", 10),
    ("flywheel.thickness", 5),
    ("flywheel.cover_step", 5),
    ("pressure_plate.finger_height", 40),
    ("disc.thickness", 10),
    ("disc.free_thickness", 10),
    ("disc.cushion", 10),
    ("pressure_plate.pack_thickness", 10),
    ("pressure_plate.set_gap", 5),
    ("block_plate.thickness", 3),
    ("bell_spacer.thickness", 3),
    ("gearbox_spacer.thickness", 3),
    ("bell_housing.depth", 10),
    ("gearbox.seat_height", 10),
    ("bearing.extended_height", 15),
    ("bearing.retracted_height", 15),
];

/// What a shop set: keys with nanometres, millionths or per cent.
pub(crate) type Changed = BTreeMap<String, i128>;

#[derive(Debug, Clone, Default)]
pub(crate) struct House {
    changed: Changed,
}

impl House {
    pub(crate) fn new(changed: Changed) -> Self {
        Self { changed }
    }

    /// A house number that is a length, in nanometres.
    pub(crate) fn length(&self, key: &str) -> i128 {
        let all = NUMBERS.iter().chain([&HUB_FLOOR]);
        let default = all.clone().find(|(known, _)| *known == key).unwrap().1 * THOU;
        self.changed.get(key).copied().unwrap_or(default)
    }

    /// Per cent of the hydraulic stroke that is lost.
    pub(crate) fn lost_motion(&self) -> i128 {
        self.changed.get("lost_motion").copied().unwrap_or(15)
    }

    /// The ratio that stands for one that nobody knows.
    pub(crate) fn blank_ratio(&self) -> Known {
        let get = |key: &str, default| self.changed.get(key).copied().unwrap_or(default);
        let value = get("blank.finger_ratio", 3_750_000);
        Known::assumed(value, get("blank.finger_ratio_tol", 750_000))
    }

    /// The upper end of such a ratio.
    pub(crate) fn largest_ratio(&self) -> i128 {
        let ratio = self.blank_ratio();
        ratio.value + ratio.tol
    }

    /// The tolerance that stands in where none was given for a dimension of this value.
    fn assumed(&self, kind: &str, key: &str, value: i128) -> i128 {
        let name = if kind == "job" { "job".into() } else { format!("{kind}.{key}") };
        let own = self.changed.get(&format!("assumed.{name}")).copied();
        if name == "pressure_plate.finger_ratio" {
            return up(value * own.unwrap_or(10), 100);
        }
        let shim = ("bearing_shim.thickness", 1);
        let mut all = ASSUMED.iter().chain([&shim]);
        let default = all.find(|(known, _)| *known == name).map_or(0, |(_, thou)| thou * THOU);
        own.unwrap_or(default)
    }

    /// An entry with its limits, the shop's own where none was given.
    pub(crate) fn known(&self, kind: &str, key: &str, entry: Entry) -> Known {
        let value = i128::from(entry.value);
        match (entry.tol.map(i128::from), entry.evidence) {
            (None, _) => Known::assumed(value, self.assumed(kind, key, value)),
            (Some(tol), None) => Known { value, tol, wide: tol, assumed: false },
            (Some(tol), Some(found)) => {
                let wide = i128::from(found.wide).min(tol);
                Known { value, tol, wide, assumed: found.assumed }
            }
        }
    }
}

/// A ratio in millionths times a length, rounded once.
pub(crate) const fn times(ratio: i128, length: i128) -> i128 {
    super::sum::half_away(ratio * length, MICRO)
}
