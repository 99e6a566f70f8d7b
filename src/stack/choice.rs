//! Which parts stand in the slots, and the job they are chosen for.

use std::sync::OnceLock;

use crate::error::{Error, Result};
use crate::model::job::{DiscState, Job, Reading};
use crate::model::kinds::{Inside, KindSpec, Takes};
use crate::model::length::Length;
use crate::model::library::Library;
use crate::model::part::Part;
use crate::stack::agreement::CrossChecks;

/// What stands in one slot.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Fill<'a> {
    /// The parts, none in an empty slot; two shims stand in bytewise order of id.
    pub parts: Vec<&'a Part>,
    /// "As on the bench": a part is there, it stays, and none of its dimensions is known.
    pub on_bench: bool,
    /// What is machined off over friction and cover face.
    pub cut: Length,
    /// Another part than the one of today, of which only one dimension is known, and that only
    /// beside today's.
    pub other: Option<Difference>,
}

/// By how much one dimension of a part differs from today's, which nobody need know; all its others
/// are as today.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Difference {
    /// The dimension.
    pub key: &'static str,
    /// New less today's.
    pub by: Length,
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
        Self { on_bench: true, ..Self::default() }
    }

    /// Several parts, brought into order.
    pub fn several(parts: impl IntoIterator<Item = &'a Part>) -> Self {
        let mut parts: Vec<&'a Part> = parts.into_iter().collect();
        parts.sort_by(|a, b| a.id.cmp(&b.id));
        Self { parts, ..Self::default() }
    }

    /// Whether nothing stands here.
    pub fn is_empty(&self) -> bool {
        self.parts.is_empty() && !self.on_bench
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

    /// Whether something that stands in one of them stands in the other too.
    pub fn shares(&self, other: &Self) -> bool {
        if self.other != other.other {
            return false;
        }
        self.parts.iter().any(|part| other.parts.iter().any(|known| known.id == part.id))
            || (self.on_bench && other.on_bench)
    }

    /// Whether both stand for the same pieces, unmachined or machined alike.
    pub fn same(&self, other: &Self) -> bool {
        self.cut == other.cut && self.same_pieces(other)
    }

    /// Whether both stand for the same pieces, whatever was machined off them.
    pub fn same_pieces(&self, other: &Self) -> bool {
        self.on_bench == other.on_bench && self.other == other.other && self.same_parts(other)
    }
}

/// A whole stack: one fill a slot, in slot order.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Choice<'a> {
    /// The fills, in slot order.
    pub fills: Vec<Fill<'a>>,
}

/// What becomes of the facings that are fitted today.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Facings {
    /// They stay: they are new, or those of a measured piece, which is as it is.
    Stay,
    /// Nobody knows whether they are worn: judged as new.
    Unknown,
    /// They are worn, and new ones of their number take their place.
    Replaced,
}

/// A job with everything that it names looked up.
#[derive(Debug, Clone)]
pub struct Setup<'a> {
    /// The library that the parts come from.
    pub library: &'a Library,
    /// The job.
    pub job: &'a Job,
    /// What is fitted, slot by slot.
    pub fitted: Vec<Fill<'a>>,
    /// The master cylinder.
    pub master: Option<&'a Part>,
    /// The cross-checks of the job's readings, once they were asked for.
    pub(super) checked: OnceLock<CrossChecks>,
}

impl<'a> Setup<'a> {
    /// Looks up what a job names.
    ///
    /// # Errors
    ///
    /// Refuses a job that names a part that is not there.
    pub fn new(library: &'a Library, job: &'a Job) -> Result<Self> {
        let place = |error: Error| error.at(format!("job `{}`", job.id));
        let mut fitted = Vec::with_capacity(job.fitted.len());
        for ((kind, _), ids) in library.kinds.slots().zip(&job.fitted) {
            let mut parts = Vec::with_capacity(ids.len());
            for id in ids {
                parts.push(library.part_of_kind(id, kind.key).map_err(place)?);
            }
            fitted.push(Fill::several(parts));
        }
        let set = library
            .kinds
            .slot_of("pressure_plate")
            .and_then(|slot| fitted[slot].parts.first())
            .is_some_and(|plate| plate.is_matched_set());
        for ((kind, slot), fill) in library.kinds.slots().zip(&mut fitted) {
            let needed = match slot.takes {
                Takes::One => true,
                Takes::OneUnlessMatchedSet => !set,
                Takes::Optional | Takes::UpToTwo => false,
            };
            fill.on_bench = needed && fill.parts.is_empty() && is_inside_a_reading(job, kind);
        }
        let master = match &job.master_cylinder {
            Some(id) => Some(library.part_of_kind(id, "master_cylinder").map_err(place)?),
            None => None,
        };
        Ok(Self { library, job, fitted, master, checked: OnceLock::new() })
    }

    /// The same with another job's readings or with other parts fitted, slot by slot.
    #[must_use]
    pub fn with<'b>(&self, job: &'b Job, fitted: Vec<Fill<'b>>) -> Setup<'b>
    where
        'a: 'b,
    {
        let Self { library, master, .. } = *self;
        Setup { library, job, fitted, master, checked: OnceLock::new() }
    }

    /// The slot of a kind; the standard table has all that the sum names.
    pub fn slot(&self, kind: &str) -> Option<usize> {
        self.library.kinds.slot_of(kind)
    }

    /// How many of a part lie on the shelf for this job: what is set aside for others is none of it.
    pub fn on_hand(&self, part: &Part) -> u32 {
        let aside = &self.library.aside;
        let gone = if aside.is_empty() { 0 } else { aside.for_others(&part.id, &self.job.id) };
        part.on_hand.saturating_sub(gone)
    }

    /// Whether a part can be had for this job: one in use can be bought, and a single piece has to be
    /// on the shelf.
    pub fn can_be_had(&self, part: &Part) -> bool {
        !part.retired && (part.piece_of.is_none() || self.on_hand(part) > 0)
    }

    /// The part of a kind in a choice, if one stands there.
    pub fn part(&self, choice: &Choice<'a>, kind: &str) -> Option<&'a Part> {
        choice.fills.get(self.slot(kind)?)?.parts.first().copied()
    }

    /// The fitted part of a kind.
    pub fn fitted_part(&self, kind: &str) -> Option<&'a Part> {
        self.fitted.get(self.slot(kind)?)?.parts.first().copied()
    }

    /// The fitted parts as a choice.
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
            if slot.takes == Takes::OneUnlessMatchedSet && !fill.is_empty() && set {
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
        let slots = self.library.kinds.slots().enumerate();
        let empty = slots.filter(|(index, _)| {
            choice.fills[*index].is_empty() && self.needs(*index, &choice.fills)
        });
        empty.map(|(_, (_, slot))| slot.key).collect()
    }

    /// Whether a part has to stand in a slot beside what stands in the others.
    pub(crate) fn needs(&self, slot: usize, fills: &[Fill<'a>]) -> bool {
        let takes = self.library.kinds.slots().nth(slot).map(|(_, slot)| slot.takes);
        match takes {
            Some(Takes::One) => true,
            Some(Takes::OneUnlessMatchedSet) => {
                let plate = self.slot("pressure_plate").and_then(|slot| fills[slot].parts.first());
                !plate.is_some_and(|plate| plate.is_matched_set())
            }
            Some(Takes::Optional | Takes::UpToTwo) | None => false,
        }
    }

    /// The slot whose part holds the facings that are fitted today: the disc's, or that of the
    /// plate where it is a matched set.
    pub fn facing_slot(&self) -> Option<usize> {
        let set = self.fitted_part("pressure_plate").is_some_and(Part::is_matched_set);
        self.slot(if set { "pressure_plate" } else { "disc" })
    }

    /// What becomes of the facings that are fitted today.
    pub fn facings(&self) -> Facings {
        let fitted = self.facing_slot().map(|slot| &self.fitted[slot]);
        let piece =
            fitted.and_then(|fill| fill.parts.first()).is_some_and(|p| p.piece_of.is_some());
        let read = self.job.reading(Reading::FittedDiscThickness).is_some();
        let on_bench = fitted.is_some_and(|fill| fill.on_bench);
        match self.job.disc_state {
            _ if piece => Facings::Stay,
            DiscState::New => Facings::Stay,
            DiscState::Worn => Facings::Replaced,
            // A thickness settles the state where that of a new one is there to compare it with.
            DiscState::Unknown if read && !on_bench => Facings::Replaced,
            DiscState::Unknown => Facings::Unknown,
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

    /// Whether some piece in these slots is still there in a choice. Worn facings that are replaced
    /// are another disc.
    pub fn something_stays(&self, choice: &Choice<'a>, slots: &[usize]) -> bool {
        slots.iter().any(|slot| {
            let replaced = self.slot("disc") == Some(*slot) && self.facings() == Facings::Replaced;
            choice.fills[*slot].shares(&self.fitted[*slot]) && !replaced
        })
    }
}

/// Whether a reading of the job holds the part of this kind, so that a blank slot is "as on the
/// bench". What has two ends has to be read at both.
fn is_inside_a_reading(job: &Job, kind: &KindSpec) -> bool {
    let Some(inside) = kind.slot.and_then(|slot| slot.inside) else { return false };
    if kind.has_travel() {
        let both = [Reading::BearingDepthExtended, Reading::BearingDepthRetracted];
        return both.iter().all(|reading| job.reading(*reading).is_some());
    }
    job.measures(inside)
}
