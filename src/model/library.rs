//! Everything the shop keeps, as it is needed for an answer.

use crate::error::{Error, Result};
use crate::model::aside::Aside;
use crate::model::house::House;
use crate::model::job::Job;
use crate::model::kinds::Kinds;
use crate::model::part::Part;
use crate::model::pieces::{Measurements, PIECE_MARK, part_and_label};

/// The library's parts with the house numbers.
#[derive(Debug, Clone)]
pub struct Library {
    /// The table of kinds that the parts belong to.
    pub kinds: Kinds,
    /// Parts in the table's order of kinds, then by id, bytewise.
    pub parts: Vec<Part>,
    /// The house numbers.
    pub house: House,
    /// What was measured on pieces of the parts.
    pub measured: Measurements,
    /// What of them is set aside for jobs; only in the library that answers are computed with.
    pub aside: Aside,
}

impl Library {
    /// A library of these parts, brought into order.
    pub fn new(kinds: Kinds, mut parts: Vec<Part>, house: House) -> Self {
        let order = |part: &Part| kinds.iter().position(|kind| kind.key == part.kind.key);
        parts.sort_by(|a, b| (order(a), &a.id).cmp(&(order(b), &b.id)));
        let (measured, aside) = (Measurements::default(), Aside::default());
        Self { kinds, parts, house, measured, aside }
    }

    /// The part of this number, or the one that was called so once.
    pub fn find(&self, id: &str) -> Option<&Part> {
        self.exactly(id).or_else(|| self.formerly(id))
    }

    /// What the part of this name is called now; the name itself where there is none.
    pub fn called_now(&self, id: &str) -> String {
        self.find(id).map_or(id, |part| &part.id).into()
    }

    fn exactly(&self, id: &str) -> Option<&Part> {
        self.parts.iter().find(|part| part.id == id)
    }

    /// The part that was called so once, or the piece of it.
    fn formerly(&self, id: &str) -> Option<&Part> {
        let of = |id: &str| {
            self.parts.iter().find(|part| part.piece_of.is_none() && part.was_called(id))
        };
        of(id).or_else(|| {
            let (part, label) = part_and_label(id)?;
            self.exactly(&format!("{}{PIECE_MARK}{label}", of(part)?.id))
        })
    }

    /// The part number of a piece of this name.
    fn part_of_piece(&self, id: &str) -> Option<&Part> {
        let (part, label) = part_and_label(id)?;
        self.find(part).filter(|part| self.measured.piece(&part.id, label).is_some())
    }

    /// The part of this number, or the one of which it names a piece.
    fn named(&self, id: &str) -> Option<&Part> {
        self.find(id).or_else(|| self.part_of_piece(id))
    }

    /// The part of this number and kind. A piece that has not become a part of its own is taken as
    /// any piece of its number.
    ///
    /// # Errors
    ///
    /// Names the nearest number where there is none, and the kind where it is another.
    pub fn part_of_kind(&self, id: &str, kind: &str) -> Result<&Part> {
        let Some(part) = self.named(id) else {
            if let Some((part, label)) = part_and_label(id)
                && self.find(part).is_some()
            {
                return Err(self.measured.no_piece(part, label));
            }
            let ids = self.parts.iter().filter(|p| p.kind.key == kind).map(|p| p.id.as_str());
            let error = Error::input(format!("there is no {kind} `{id}` in the catalog"));
            return Err(error.near(id, ids, ""));
        };
        if part.kind.key != kind {
            let found = part.kind.key;
            return Err(Error::input(format!("`{id}` is a {found}, not a {kind}")));
        }
        Ok(part)
    }

    /// Every part of a kind, by id.
    pub fn of_kind<'a>(&'a self, kind: &'a str) -> impl Iterator<Item = &'a Part> {
        self.parts.iter().filter(move |part| part.kind.key == kind)
    }

    /// Checks that everything a job names is there and agrees with itself.
    ///
    /// # Errors
    ///
    /// One error for each thing that is wrong, with the column it concerns.
    pub fn check_job(&self, job: &Job) -> std::result::Result<(), Vec<(&'static str, Error)>> {
        let mut errors = Vec::new();
        for ((kind, slot), ids) in self.kinds.slots().zip(&job.fitted) {
            for id in ids {
                if let Err(error) = self.part_of_kind(id, kind.key) {
                    errors.push((slot.key, error));
                }
            }
            if let [first, second] = ids.as_slice()
                && first == second
                && self.part_of_piece(first).is_some()
            {
                let message = format!("the piece `{first}` cannot stand in a stack twice");
                let hint = "name two pieces, or the part number for any piece of it";
                errors.push((slot.key, Error::input(message).hint(hint)));
            }
        }
        if let Some(id) = &job.master_cylinder
            && let Err(error) = self.part_of_kind(id, "master_cylinder")
        {
            errors.push(("master_cylinder", error));
        }
        for (index, name) in job.set_aside.iter().enumerate() {
            // A part of any kind may be waited for.
            let of = self.named(name);
            if let Err(error) = self.part_of_kind(name, of.map_or("part", |part| part.kind.key)) {
                errors.push(("set_aside", error));
            } else if job.set_aside[..index].contains(name) && self.part_of_piece(name).is_some() {
                let message = format!("the piece `{name}` is set aside twice");
                errors.push(("set_aside", Error::input(message).hint("name it once")));
            }
        }
        let plate = self.kinds.slot_of("block_plate");
        let has_plate = plate.is_some_and(|slot| !job.fitted[slot].is_empty());
        for (over, key) in [
            (job.crank_over_plate, "crank_protrusion_over_plate"),
            (job.depth_over_plate, "finger_depth_over_plate"),
        ] {
            if over && !has_plate {
                let message = "`yes` needs the block plate that it was measured over";
                errors.push((key, Error::input(message).hint("name it in the column block_plate")));
            }
        }
        let fitted = |kind: &str| {
            let slot = self.kinds.slot_of(kind)?;
            self.named(job.fitted[slot].first()?)
        };
        if fitted("pressure_plate").is_some_and(Part::is_matched_set) && fitted("disc").is_some() {
            let message = "a matched set brings its own discs: the disc has no place beside it";
            errors.push(("disc", Error::input(message).hint("leave the column disc blank")));
        }
        if let Err(error) = job.window.validate() {
            errors.push(("preload_min", error));
        }
        if errors.is_empty() { Ok(()) } else { Err(errors) }
    }
}
