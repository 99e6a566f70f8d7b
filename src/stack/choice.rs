//! Which parts stand in the slots, and the job they are chosen for.

use crate::error::{Error, Result};
use crate::model::job::{CrankPushed, DiscState, Job, Reading};
use crate::model::kinds::{Inside, Takes};
use crate::model::length::Length;
use crate::model::library::Library;
use crate::model::part::Part;

/// What stands in one slot.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Fill<'a> {
    /// The parts, none in an empty slot; two shims stand in bytewise order of id.
    pub parts: Vec<&'a Part>,
    /// "As on the bench": a part is there, it stays, and nothing is known of it.
    pub bench: bool,
    /// What is machined off over friction and cover face.
    pub cut: Length,
}

impl<'a> Fill<'a> {
    /// One part.
    pub fn one(part: &'a Part) -> Self {
        Self { parts: vec![part], ..Self::default() }
    }

    /// Nothing.
    pub fn empty() -> Self {
        Self::default()
    }

    /// As on the bench.
    pub fn on_bench() -> Self {
        Self { bench: true, ..Self::default() }
    }

    /// Several parts, brought into order.
    pub fn several(parts: impl IntoIterator<Item = &'a Part>) -> Self {
        let mut parts: Vec<&'a Part> = parts.into_iter().collect();
        parts.sort_by(|a, b| a.id.cmp(&b.id));
        Self { parts, ..Self::default() }
    }

    /// The part numbers.
    pub fn ids(&self) -> Vec<&'a str> {
        self.parts.iter().map(|part| part.id.as_str()).collect()
    }

    /// A single piece that stands here twice, which no stack can have.
    pub fn piece_twice(&self) -> Option<&'a Part> {
        let twice = |two: &&[&Part]| two[0].id == two[1].id && two[0].piece_of.is_some();
        self.parts.windows(2).find(twice).map(|two| two[0])
    }

    /// Whether both hold the same part numbers.
    pub fn same_parts(&self, other: &Self) -> bool {
        let mut both = self.parts.iter().zip(&other.parts);
        self.parts.len() == other.parts.len() && both.all(|(own, other)| own.id == other.id)
    }

    /// Whether a part of this number is in both.
    pub fn shares(&self, other: &Self) -> bool {
        self.parts.iter().any(|part| other.parts.iter().any(|known| known.id == part.id))
    }

    /// Whether both stand for the same pieces, unmachined or machined alike.
    pub fn same(&self, other: &Self) -> bool {
        self.bench == other.bench && self.cut == other.cut && self.same_parts(other)
    }
}

/// A whole stack: one fill a slot, in slot order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Choice<'a> {
    /// The fills, in slot order.
    pub fills: Vec<Fill<'a>>,
}

/// A job with everything it names looked up.
#[derive(Debug, Clone)]
pub struct Bench<'a> {
    /// The library that the parts come from.
    pub library: &'a Library,
    /// The job.
    pub job: &'a Job,
    /// What is fitted, slot by slot.
    pub fitted: Vec<Fill<'a>>,
    /// The master cylinder.
    pub master: Option<&'a Part>,
}

impl<'a> Bench<'a> {
    /// Looks up what a job names.
    ///
    /// # Errors
    ///
    /// Refuses a job that names a part that is not there.
    pub fn new(library: &'a Library, job: &'a Job) -> Result<Self> {
        let place = |error: Error| error.at(format!("job `{}`", job.id));
        let mut fitted = Vec::with_capacity(job.fitted.len());
        for ((kind, slot), ids) in library.kinds.slots().zip(&job.fitted) {
            let mut parts = Vec::with_capacity(ids.len());
            for id in ids {
                parts.push(library.part_of_kind(id, kind.key).map_err(place)?);
            }
            let measured = slot.inside.is_some_and(|inside| job.measures(inside));
            let bench = parts.is_empty() && slot.bench && measured;
            fitted.push(Fill { bench, ..Fill::several(parts) });
        }
        let master = match &job.master_cylinder {
            Some(id) => Some(library.part_of_kind(id, "master_cylinder").map_err(place)?),
            None => None,
        };
        Ok(Self { library, job, fitted, master })
    }

    /// The slot of a kind; the standard table has all that the sum names.
    pub fn slot(&self, kind: &str) -> Option<usize> {
        self.library.kinds.slot_of(kind)
    }

    /// The part of a kind in a choice, if one stands there.
    pub fn part(&self, choice: &Choice<'a>, kind: &str) -> Option<&'a Part> {
        choice.fills.get(self.slot(kind)?)?.parts.first().copied()
    }

    /// The fitted part of a kind.
    pub fn fitted_part(&self, kind: &str) -> Option<&'a Part> {
        self.fitted.get(self.slot(kind)?)?.parts.first().copied()
    }

    /// The fitted parts as a choice, or what is missing for that.
    ///
    /// # Errors
    ///
    /// Names the slots that a stack needs and the job leaves blank.
    pub fn fitted_choice(&self) -> Result<Choice<'a>> {
        let choice = Choice { fills: self.fitted.clone() };
        self.complete(&choice)?;
        Ok(choice)
    }

    /// Checks that a choice fills every slot that a stack needs.
    ///
    /// # Errors
    ///
    /// Names the empty slots, or says that a matched set takes no disc.
    pub fn complete(&self, choice: &Choice<'a>) -> Result<()> {
        let set = self.part(choice, "pressure_plate").is_some_and(Part::is_matched_set);
        for ((_, slot), fill) in self.library.kinds.slots().zip(&choice.fills) {
            if let Some(piece) = fill.piece_twice() {
                return Err(Error::input(format!(
                    "the piece `{}` cannot stand in a stack twice",
                    piece.id
                ))
                .hint("name two pieces, or the part number for any piece of it"));
            }
            let none = fill.parts.is_empty() && !fill.bench;
            if slot.takes == Takes::OneUnlessMatchedSet && !none && set {
                return Err(Error::input(
                    "the pressure plate is a matched set, which brings its own discs",
                )
                .hint(format!("empty the slot with `--with {}=none`", slot.key)));
            }
        }
        let empty = self.empty_slots(choice);
        if empty.is_empty() {
            return Ok(());
        }
        let slots = empty.iter().map(|slot| format!("`{slot}`")).collect::<Vec<_>>().join(", ");
        Err(Error::input(format!("job `{}` has nothing in {slots}", self.job.id))
            .hint("name a part with `--with SLOT=ID`, or ask `recommend` for the combinations"))
    }

    /// The slots that a stack needs and a choice leaves empty.
    pub fn empty_slots(&self, choice: &Choice<'a>) -> Vec<&'static str> {
        let set = self.part(choice, "pressure_plate").is_some_and(Part::is_matched_set);
        let slots = self.library.kinds.slots().zip(&choice.fills);
        let empty = slots.filter(|((_, slot), fill)| {
            let none = fill.parts.is_empty() && !fill.bench;
            match slot.takes {
                Takes::One => none,
                Takes::OneUnlessMatchedSet => none && !set,
                _ => false,
            }
        });
        empty.map(|((_, slot), _)| slot.key).collect()
    }

    /// Whether the disc in any answer is a new one rather than the fitted piece.
    pub fn disc_is_replaced(&self) -> bool {
        let thickness = self.job.reading(Reading::FittedDiscThickness).is_some();
        match self.job.disc_state {
            DiscState::Worn => true,
            DiscState::Unknown => thickness,
            DiscState::New => false,
        }
    }

    /// How much end float may take off each edge: (preload's least and reserve's most, reserve's
    /// least and preload's most).
    pub fn float_allowance(&self, engine: Option<&Part>) -> (Length, Length) {
        let float = engine.and_then(|engine| engine.length("crank_end_float"));
        let float = float.unwrap_or(Length::ZERO);
        match self.job.crank_pushed {
            CrankPushed::Front => (Length::ZERO, float),
            CrankPushed::Rear => (float, Length::ZERO),
            CrankPushed::Unknown => (float, float),
        }
    }

    /// The slots whose parts a measured sum holds.
    pub fn slots_inside(&self, groups: &[Inside]) -> Vec<usize> {
        self.library
            .kinds
            .slots()
            .enumerate()
            .filter(|(_, (_, slot))| slot.inside.is_some_and(|inside| groups.contains(&inside)))
            .map(|(index, _)| index)
            .collect()
    }
}
