//! Parts' dimensions as terms; the clutch with its gap and ratio.

use bellstack::model::entry::Entry;
use bellstack::model::kinds::{Enters, Takes};
use bellstack::model::part::Part;

use super::sum::{Dim, Known, Product, Sum, Terms, Who, half_away, up};
use super::task::{Facings, Fill, Task, clamped};
use super::window::wear;

/// The dimensions of the axis that the page names. Others enter as the table of kinds says.
const NAMED: [(&str, &str); 14] = [
    ("engine", "crank_protrusion"),
    ("flywheel", "thickness"),
    ("flywheel", "cover_step"),
    ("disc", "thickness"),
    ("pressure_plate", "finger_height"),
    ("pressure_plate", "set_gap"),
    ("pressure_plate", "pack_thickness"),
    ("pressure_plate", "finger_ratio"),
    ("block_plate", "thickness"),
    ("bell_spacer", "thickness"),
    ("bell_housing", "depth"),
    ("gearbox_spacer", "thickness"),
    ("gearbox", "seat_height"),
    ("bearing_shim", "thickness"),
];

/// The gap that stands for one that nobody stated.
pub(crate) const ASSUMED_GAP: &str = "set_gap as assumed";

/// A part's dimension: length, and which one it is.
pub(crate) fn length(part: Option<&Part>, key: &str) -> Option<i128> {
    part.and_then(|part| part.entry(key)).map(|entry| entry.value.into())
}

impl<'a> Task<'a> {
    pub(crate) fn read_term(&self, key: &'static str, entry: Entry) -> Terms {
        let dim = Dim { slot: usize::MAX, who: Who::Job, nth: 0, machined: false, key };
        let mut terms = Terms::default();
        terms.put(dim, 1, Some(self.house.known("job", key, entry)));
        terms
    }

    /// Adds a dimension of whatever stands in a slot. Of a part that nobody named nothing is known,
    /// nor of the part that is missing in a slot that needs one.
    pub(crate) fn put(
        &self,
        terms: &mut Terms,
        fills: &[Fill<'a>],
        (kind, key): (&'static str, &'static str),
        times: i128,
    ) {
        let slot = self.library.kinds.slot_of(kind).unwrap();
        let fill = &fills[slot];
        let blank = |who| Dim { slot, who, nth: 0, machined: false, key };
        if fill.bench {
            terms.put(blank(Who::Bench), times, None);
        } else if fill.parts.is_empty() && self.needs_a_part(kind, fills) {
            terms.put(blank(Who::Nobody), times, None);
        }
        for (index, (place, part)) in fill.parts.iter().enumerate() {
            let nth = fill.parts[..index].iter().filter(|(other, _)| other == place).count();
            let dim = Dim {
                slot,
                who: Who::Part(*place),
                nth,
                machined: fill.cut != 0 && key == "thickness",
                key,
            };
            // Blank means flat for a step, exactly.
            let blank = part.kind.dims.iter().find(|dim| dim.key == key).and_then(|dim| dim.blank);
            let known = match part.entry(key) {
                Some(entry) => Some(self.house.known(kind, key, entry)),
                None if key == "cover_step" => Some(Known::exact(0)),
                None => blank.map(|value| Known::exact(value.into())),
            };
            let cut = if kind == "flywheel" && key == "thickness" { fill.cut } else { 0 };
            terms.put(dim, times, known.map(|k| Known { value: k.value - cut, ..k }));
        }
    }

    fn needs_a_part(&self, kind: &str, fills: &[Fill<'a>]) -> bool {
        let set = fills[self.slot("pressure_plate")].part().is_some_and(Part::is_matched_set);
        match self.library.kinds.get(kind).and_then(|kind| kind.slot).unwrap().takes {
            Takes::One => true,
            Takes::OneUnlessMatchedSet => !set,
            Takes::Optional | Takes::UpToTwo => false,
        }
    }

    /// Adds what else of a kind enters the sum in one way, by the table of kinds: dimensions that the
    /// page does not know.
    pub(crate) fn put_others(
        &self,
        terms: &mut Terms,
        fills: &[Fill<'a>],
        kind: &'static str,
        times: i128,
        way: impl Fn(Enters) -> Option<i64>,
    ) {
        let spec = self.library.kinds.get(kind).unwrap();
        let ends = ["extended_height", "retracted_height"];
        for dim in spec.dims.iter().filter(|dim| !NAMED.contains(&(kind, dim.key))) {
            if kind == "bearing" && ends.contains(&dim.key) {
                continue;
            }
            for sign in dim.enters.iter().filter_map(|enters| way(*enters)) {
                self.put(terms, fills, (kind, dim.key), times * i128::from(sign));
            }
        }
    }

    /// Block face to crank flange.
    pub(crate) fn crank(&self, fills: &[Fill<'a>]) -> Sum {
        let mut sum = Sum::default();
        self.put(&mut sum.plain, fills, ("engine", "crank_protrusion"), 1);
        self.put_others(&mut sum.plain, fills, "engine", 1, finger);
        sum
    }

    /// What is over the facings: the disc, clamped, or a matched set's pack.
    pub(crate) fn facing_terms(&self, fills: &[Fill<'a>]) -> Terms {
        let mut terms = Terms::default();
        let plate = fills[self.slot("pressure_plate")].part();
        if plate.is_some_and(Part::is_matched_set) {
            self.put(&mut terms, fills, ("pressure_plate", "pack_thickness"), 1);
        } else {
            let disc = fills[self.slot("disc")].part();
            if disc.is_some_and(|disc| disc.entry("thickness").is_none() && clamped(disc).is_some())
            {
                self.put(&mut terms, fills, ("disc", "free_thickness"), 1);
                self.put(&mut terms, fills, ("disc", "cushion"), -1);
            } else {
                self.put(&mut terms, fills, ("disc", "thickness"), 1);
            }
            self.put_others(&mut terms, fills, "disc", 1, gap);
        }
        terms
    }

    /// The fitted facings inside the measured sum, as they are today, beside this stack.
    pub(crate) fn facings_now(&self, stack: &[Fill<'a>]) -> Terms {
        if let Some(read) = self.thickness_read(stack) {
            return self.read_term("fitted_disc_thickness", read);
        }
        let mut now = self.facing_terms(&self.fitted);
        if self.facings(stack) == Facings::Replaced {
            // Worn, and nobody measured how far: half of its wear, +- half.
            let half = up(self.fitted_wear(), 2);
            let dim = Dim {
                slot: usize::MAX,
                who: Who::Job,
                nth: 0,
                machined: false,
                key: "facing loss",
            };
            now.put(dim, -1, Some(Known::assumed(half, half)));
        }
        now
    }

    /// The whole wear of the facings that are fitted today.
    pub(crate) fn fitted_wear(&self) -> i128 {
        let (plate, disc) = (self.fitted_part("pressure_plate"), self.fitted_part("disc"));
        wear(plate, disc).unwrap_or_else(|| self.house.length("blank.wear"))
    }

    /// The ratio of the plate in a stack: its own, or the one that stands for what nobody knows.
    fn ratio(&self, plate: Option<&Part>) -> Known {
        let own = plate.and_then(|plate| plate.entry("finger_ratio"));
        own.map_or_else(
            || self.house.blank_ratio(),
            |entry| self.house.known("pressure_plate", "finger_ratio", entry),
        )
    }

    /// Crank flange to finger tips by the parts' own dimensions. `now` stands for the facings.
    /// Where the plate is on both sides of a difference its set gap is `taken` from neither.
    pub(crate) fn clutch(&self, fills: &[Fill<'a>], now: &Terms, taken: bool) -> Sum {
        let mut sum = Sum::default();
        self.put(&mut sum.plain, fills, ("flywheel", "thickness"), 1);
        self.put(&mut sum.plain, fills, ("flywheel", "cover_step"), 1);
        self.put(&mut sum.plain, fills, ("pressure_plate", "finger_height"), 1);
        for kind in ["flywheel", "disc", "pressure_plate"] {
            self.put_others(&mut sum.plain, fills, kind, 1, finger);
        }
        let mut moved = self.gap_terms(fills, now);
        if taken {
            self.take_set_gap(&mut moved, fills);
        }
        let plate = &fills[self.slot("pressure_plate")];
        let who = plate
            .parts
            .first()
            .map_or(if plate.bench { Who::Bench } else { Who::Nobody }, |(place, _)| {
                Who::Part(*place)
            });
        let product = Product { plate: who, ratio: self.ratio(plate.part()), gap: moved };
        sum.plus(&Sum { products: vec![product], ..Sum::default() }, -1)
    }

    /// Cover's mounting face to the pressure plate's friction face: the facings less the step.
    pub(crate) fn gap_terms(&self, fills: &[Fill<'a>], facings: &Terms) -> Terms {
        let mut terms = facings.clone();
        self.put_others(&mut terms, fills, "flywheel", 1, gap);
        self.put_others(&mut terms, fills, "pressure_plate", 1, gap);
        self.put(&mut terms, fills, ("flywheel", "cover_step"), -1);
        terms
    }

    /// Takes the gap at which the finger height was measured, known or assumed.
    fn take_set_gap(&self, gap: &mut Terms, fills: &[Fill<'a>]) {
        let slot = self.slot("pressure_plate");
        let Some((place, plate)) = fills[slot].parts.first().copied() else {
            // Nobody named the plate: its finger height is missing, and its gap would be any.
            return;
        };
        let assumed = |value, tol| {
            let key = ASSUMED_GAP;
            let dim = Dim { slot, who: Who::Part(place), nth: 0, machined: false, key };
            (dim, -1, Some(Known::assumed(value, tol)))
        };
        let flywheel = fills[self.slot("flywheel")].part();
        let give_step_back = |gap: &mut Terms| self.put(gap, fills, ("flywheel", "cover_step"), 1);
        let range = length(Some(plate), "set_gap_min").zip(length(Some(plate), "set_gap_max"));
        match self.assumed_set_gap(fills) {
            None => self.put(gap, fills, ("pressure_plate", "set_gap"), -1),
            // (a) A set on a flat flywheel: pack and step cancel.
            Some(_) if plate.is_matched_set() && flywheel.is_some_and(is_flat) => {
                self.put(gap, fills, ("pressure_plate", "pack_thickness"), -1);
                give_step_back(gap);
            }
            // (b) The middle of its range.
            Some(_) if range.is_some() => {
                let (least, most) = range.unwrap();
                let (dim, times, known) = assumed(half_away(least + most, 2), up(most - least, 2));
                gap.put(dim, times, known);
            }
            // (b) A set on a stepped flywheel: its pack less the step of the flywheel in the stack.
            Some(_) if plate.is_matched_set() => {
                self.put(gap, fills, ("pressure_plate", "pack_thickness"), -1);
                give_step_back(gap);
                let (dim, times, known) = assumed(0, self.house.length("blank.set_gap_tol"));
                gap.put(dim, times, known);
            }
            // (c) The gap of the parts that the job names, with a new disc.
            Some(Some(value)) => {
                let (dim, times, known) = assumed(value, self.house.length("blank.set_gap_tol"));
                gap.put(dim, times, known);
            }
            // (d) Any disc on a flywheel of the same step.
            Some(None) => {
                give_step_back(gap);
                let disc = self.house.length("blank.set_disc");
                let (dim, times, known) = assumed(disc, self.house.length("blank.set_disc_tol"));
                gap.put(dim, times, known);
            }
        }
    }

    /// Nothing where `set_gap` is stated; else the gap of the parts that the job names, where the plate
    /// is the one that it names and all of them are known.
    fn assumed_set_gap(&self, fills: &[Fill<'a>]) -> Option<Option<i128>> {
        let slot = self.slot("pressure_plate");
        let plate = fills[slot].part()?;
        if plate.entry("set_gap").is_some() {
            return None;
        }
        let own = self.fitted[slot].holds(&plate.id) > 0;
        let named = self.fitted_part("flywheel").zip(self.fitted_part("disc"));
        let gap = named.and_then(|(flywheel, disc)| {
            // A new disc is one of its number, where a measured piece of it is fitted.
            let new = disc.piece_of.as_ref().map_or(Some(disc), |of| self.library.find(of))?;
            Some(clamped(new)? - length(Some(flywheel), "cover_step").unwrap_or(0))
        });
        Some(gap.filter(|_| own))
    }
}

/// Whether friction and cover face are level: blank, or a step of nothing.
pub(crate) fn is_flat(flywheel: &Part) -> bool {
    length(Some(flywheel), "cover_step").is_none_or(|step| step == 0)
}

fn finger(enters: Enters) -> Option<i64> {
    if let Enters::Finger(sign) = enters { Some(sign) } else { None }
}

fn gap(enters: Enters) -> Option<i64> {
    if let Enters::Gap(sign) = enters { Some(sign) } else { None }
}
