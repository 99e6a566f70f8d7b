//! The job: what is fitted today, what was read, and what stays of it in a stack.

use bellstack::model::entry::Entry;
use bellstack::model::job::{DiscState, Job, Reading};
use bellstack::model::kinds::Inside;
use bellstack::model::library::Library;
use bellstack::model::part::Part;

use super::house::{Changed, House};

/// What stands in one slot.
#[derive(Debug, Clone, Default, PartialEq)]
pub(crate) struct Fill<'a> {
    /// Parts with their places in the library; two shims in bytewise order of id.
    pub(crate) parts: Vec<(u32, &'a Part)>,
    /// As on the bench: a part is there, it stays, and nobody named it.
    pub(crate) bench: bool,
    /// What is machined off over friction and cover face, nanometres.
    pub(crate) cut: i128,
}

impl<'a> Fill<'a> {
    pub(crate) fn is_empty(&self) -> bool {
        self.parts.is_empty() && !self.bench
    }

    pub(crate) fn part(&self) -> Option<&'a Part> {
        self.parts.first().map(|(_, part)| *part)
    }

    pub(crate) fn holds(&self, id: &str) -> usize {
        self.parts.iter().filter(|(_, part)| part.id == id).count()
    }

    pub(crate) fn ids(&self) -> Vec<&'a str> {
        self.parts.iter().map(|(_, part)| part.id.as_str()).collect()
    }
}

/// The kinds of the page whose slots it names.
const KINDS: [&str; 11] = [
    "engine",
    "flywheel",
    "disc",
    "pressure_plate",
    "block_plate",
    "bell_spacer",
    "bell_housing",
    "gearbox_spacer",
    "gearbox",
    "bearing",
    "bearing_shim",
];

/// What a measured sum holds.
pub(crate) const CRANK: &[&str] = &["engine"];
pub(crate) const CLUTCH: &[&str] = &["flywheel", "disc", "pressure_plate"];
pub(crate) const TO_FINGERS: &[&str] = &["engine", "flywheel", "disc", "pressure_plate"];
pub(crate) const BEARING_DEPTH: &[&str] =
    &["bell_housing", "gearbox_spacer", "gearbox", "bearing_shim", "bearing"];

/// Slots that may be empty. A disc leaves with a matched set.
pub(crate) const OPTIONAL: [&str; 4] =
    ["block_plate", "bell_spacer", "gearbox_spacer", "bearing_shim"];

/// What becomes of the facings that are inside the measured sum.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Facings {
    /// They are new, or those of a measured piece, which is as it is.
    Stay,
    /// Nobody knows: judged as new.
    Unknown,
    /// Worn: new ones of their number take their place.
    Replaced,
}

pub(crate) struct Task<'a> {
    pub(crate) library: &'a Library,
    pub(crate) job: &'a Job,
    pub(crate) house: House,
    pub(crate) fitted: Vec<Fill<'a>>,
    pub(crate) master: Option<&'a Part>,
    slots: Vec<usize>,
}

impl<'a> Task<'a> {
    pub(crate) fn new(library: &'a Library, job: &'a Job, changed: Changed) -> Self {
        let kinds = library.kinds;
        let named = |id: &String| {
            let at = library.parts.iter().position(|part| part.id == *id).unwrap();
            (u32::try_from(at).unwrap(), &library.parts[at])
        };
        let fill = |ids: &Vec<String>| {
            let mut parts: Vec<_> = ids.iter().map(named).collect();
            parts.sort_by(|a, b| a.1.id.cmp(&b.1.id));
            Fill { parts, ..Fill::default() }
        };
        let mut task = Self {
            library,
            job,
            house: House::new(changed),
            fitted: job.fitted.iter().map(fill).collect(),
            master: job.master_cylinder.as_ref().map(|id| named(id).1),
            slots: KINDS.iter().map(|kind| kinds.slot_of(kind).unwrap()).collect(),
        };
        task.leave_on_the_bench();
        task
    }

    /// An optional slot left blank is empty today; any other one inside a measured sum is as on the
    /// bench. A matched set leaves no disc there.
    fn leave_on_the_bench(&mut self) {
        let read = |reading| self.job.reading(reading).is_some();
        let depth = read(Reading::FingerDepth);
        let crank = read(Reading::CrankProtrusion) || depth;
        let clutch = read(Reading::ClutchHeight) || depth;
        let ends = [Reading::BearingDepthExtended, Reading::BearingDepthRetracted].map(read);
        let set = self.fitted_part("pressure_plate").is_some_and(Part::is_matched_set);
        for (kind, there) in [
            ("engine", crank),
            ("flywheel", clutch),
            ("disc", clutch && !set),
            ("pressure_plate", clutch),
            ("bell_housing", ends[0] || ends[1]),
            ("gearbox", ends[0] || ends[1]),
            ("bearing", ends[0] && ends[1]),
        ] {
            let slot = self.slot(kind);
            let fill = &mut self.fitted[slot];
            fill.bench = fill.parts.is_empty() && there;
        }
    }

    /// The slot of a kind that the page names.
    pub(crate) fn slot(&self, kind: &str) -> usize {
        self.slots[KINDS.iter().position(|known| *known == kind).unwrap()]
    }

    /// The slots of kinds that the page does not name, with their kind and measured sum.
    pub(crate) fn other_slots(
        &self,
    ) -> impl Iterator<Item = (usize, &'static str, Option<Inside>)> + '_ {
        let slots = self.library.kinds.slots().enumerate();
        slots
            .filter(|(_, (kind, _))| !KINDS.contains(&kind.key))
            .map(|(index, (kind, slot))| (index, kind.key, slot.inside))
    }

    pub(crate) fn fitted_part(&self, kind: &str) -> Option<&'a Part> {
        self.fitted[self.slot(kind)].part()
    }

    pub(crate) fn reading(&self, reading: Reading) -> Option<Entry> {
        self.job.reading(reading)
    }

    /// Where the facings that are fitted today are: in the disc, or in the plate of a matched set.
    /// Nowhere where the disc's slot is blank outside a measured sum.
    pub(crate) fn facing_slot(&self) -> Option<usize> {
        let (plate, disc) = (self.slot("pressure_plate"), self.slot("disc"));
        if self.fitted[plate].part().is_some_and(Part::is_matched_set) {
            return Some(plate);
        }
        (!self.fitted[disc].is_empty()).then_some(disc)
    }

    /// Whether a slot holds in a stack what is fitted there today. A flywheel that is machined is
    /// still the one that was measured. Of two shims it is enough that one stays.
    pub(crate) fn keeps(&self, stack: &[Fill<'_>], slot: usize) -> bool {
        let (new, old) = (&stack[slot], &self.fitted[slot]);
        (new.bench && old.bench) || new.parts.iter().any(|(_, part)| old.holds(&part.id) > 0)
    }

    /// What becomes of the fitted facings in this stack.
    pub(crate) fn facings(&self, stack: &[Fill<'_>]) -> Facings {
        let Some(slot) = self.facing_slot() else { return Facings::Stay };
        let part = self.fitted[slot].part();
        if part.is_some_and(|part| part.piece_of.is_some()) {
            return Facings::Stay;
        }
        let read = self.thickness_read(stack).is_some();
        match (self.job.disc_state, read) {
            (DiscState::New, _) => Facings::Stay,
            (DiscState::Worn, _) | (DiscState::Unknown, true) => Facings::Replaced,
            (DiscState::Unknown, false) => Facings::Unknown,
        }
    }

    /// The thickness that was read of the fitted facings. Set aside where they stay and nobody named
    /// them: there is nothing then to correct to. (Of a disc that is named the thickness of a new one
    /// is asked for: a disc whose thickness nobody knows is a missing dimension.) On a measured piece
    /// that stays it does not count either: the piece is as it is.
    pub(crate) fn thickness_read(&self, stack: &[Fill<'_>]) -> Option<Entry> {
        let read = self.reading(Reading::FittedDiscThickness)?;
        let slot = self.facing_slot()?;
        let part = self.fitted[slot].part();
        let kept = self.keeps(stack, slot);
        let stays_as_it_is = part.is_none_or(|part| part.piece_of.is_some());
        (!kept || !stays_as_it_is).then_some(read)
    }

    /// Whether a part of these kinds is still the fitted one, in so far as that says anything: a
    /// worn disc that is replaced does not stay.
    pub(crate) fn something_stays(&self, stack: &[Fill<'_>], kinds: &[&str]) -> bool {
        let worn_disc = self.facings(stack) == Facings::Replaced;
        kinds
            .iter()
            .any(|kind| self.keeps(stack, self.slot(kind)) && !(*kind == "disc" && worn_disc))
    }

    /// Whether a part of these kinds is another one than is fitted. A worn disc replaced by its own
    /// number is no such part, nor is a machined flywheel.
    pub(crate) fn something_is_replaced(&self, stack: &[Fill<'_>], kinds: &[&str]) -> bool {
        kinds.iter().any(|kind| {
            let slot = self.slot(kind);
            let (new, old) = (&stack[slot], &self.fitted[slot]);
            new.bench != old.bench || new.ids() != old.ids()
        })
    }
}

/// A disc's clamped thickness, itself or free less cushion; a matched set's pack.
pub(crate) fn clamped(part: &Part) -> Option<i128> {
    let length = |key: &str| part.entry(key).map(|entry| i128::from(entry.value));
    if part.kind.key == "pressure_plate" {
        return length("pack_thickness");
    }
    length("thickness").or_else(|| Some(length("free_thickness")? - length("cushion")?))
}
