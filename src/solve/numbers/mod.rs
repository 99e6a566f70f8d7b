//! The candidates as plain numbers, laid out once so that the search never looks a key up.
//!
//! Nothing is added up in a second way here: `sum`, `form` and `bearing` read off the
//! reference's own forms which dimensions enter, `faces` and `checks` hold what its joints and rules
//! say of candidates.

pub(crate) mod bearing;
pub(crate) mod checks;
pub(crate) mod faces;
pub(crate) mod finger;
mod form;
mod slots;
pub(crate) mod sum;
mod worth;

use std::cell::{Cell, RefCell};
use std::rc::Rc;

use rustc_hash::FxHashMap;

use crate::model::edge::{Edge, PerEdge};
use crate::model::kinds::{Enters, Inside, Joint};
use crate::model::length::Length;
use crate::model::part::Part;
use crate::solve::candidates::Candidates;
use crate::stack::checks::inputs::Input;
use crate::stack::checks::rules::Scope;
use crate::stack::choice::{Choice, Fill, Setup};
use crate::stack::form::Spread;
use crate::stack::grade::{Grade, best_with, edge_grade};
use crate::stack::lengths::sums::Sums;
use crate::stack::lengths::times::{finger_times, gap_times};
use crate::stack::window::{ClutchFacts, FloatAllowance, wear};

use bearing::{Ends, open_terms};
use checks::Checks;
use faces::Faces;
use finger::{Finger, OpenFinger};
use form::{Open, OpenParts, PlateForm};
use slots::JointsBy;
pub(crate) use slots::Slots;
use sum::{Bundle, Stays, Sum, Terms};
pub(crate) use worth::Worth;

/// The candidate picked in each slot.
pub(crate) type Picks = Vec<u32>;

/// Which form serves a flywheel, a disc or a block plate.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(crate) enum Sort {
    /// One of its own: something of it is fitted today.
    Own(u32),
    /// That of all others; of flywheels those with a step have another one than the flat ones.
    Common {
        /// A flywheel without a step.
        flat: bool,
    },
}

/// A flywheel or a disc.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct ClutchPart {
    pub(crate) sort: Sort,
    /// What of it enters the gap: the step, or the thickness of the facings.
    pub(crate) gap: Bundle,
    /// What else of it enters the position of the finger tips.
    pub(crate) alone: Sum,
    /// What a disc's own facings may lose, nm.
    pub(crate) wear: Option<i64>,
}

/// A spacer, a plate or shims.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Spacer {
    /// What it adds to both ends of the bearing's travel, but for what is fitted of it.
    pub(crate) sum: Sum,
    /// What of it is fitted.
    pub(crate) stays: Stays,
}

/// Which form serves a pressure plate.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(crate) enum PlateSort {
    /// One of its own: something of it is fitted today, or it brings a pack of its own.
    Own(u32),
    /// That of all others of which the same dimensions are known, as bits.
    Common(u64),
}

/// A pressure plate.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Plate {
    pub(crate) sort: PlateSort,
    pub(crate) is_set: bool,
    /// What its own minimums follow from, with no disc's own wear.
    pub(crate) facts: ClutchFacts,
    /// Its limits with no disc's own wear.
    pub(crate) limits: Limits,
}

/// The limits of a window, nm.
pub(crate) type Limits = PerEdge<Option<i64>>;

/// What one key of the cache of finger forms is made of: engine, plate, and the sorts of flywheel,
/// disc and block plate.
pub(crate) type FingerKey = (u32, u32, Sort, Sort, Sort);

/// Everything that one question needs, as plain numbers.
pub struct Numbers<'b, 'a> {
    pub(crate) setup: &'b Setup<'a>,
    pub(crate) candidates: &'b Candidates<'a>,
    pub(crate) slots: Slots,
    pub(crate) faces: Faces<'a>,
    pub(crate) joints: JointsBy,
    pub(crate) checks: Checks<'b, 'a>,
    /// By slot and candidate.
    pub(crate) worth: Vec<Vec<Worth>>,
    /// None where a needed dimension is unknown and does not cancel.
    pub(crate) flywheels: Vec<Option<ClutchPart>>,
    pub(crate) discs: Vec<Option<ClutchPart>>,
    pub(crate) plates: Vec<Plate>,
    /// By slot and candidate, for the slots before and behind the bell and the shims.
    pub(crate) spacers: Vec<Vec<Option<Spacer>>>,
    /// How thick shims are together, nm.
    pub(crate) shim_totals: Vec<Option<i64>>,
    terms: Terms<'b, 'a>,
    fingers: RefCell<FxHashMap<FingerKey, Rc<OpenFinger>>>,
    /// By engine, and the sorts of plate, flywheel, disc and block plate; none where numbers cannot follow.
    plate_forms: RefCell<FxHashMap<(u32, PlateSort, Sort, Sort, Sort), Option<PlateForm<'a>>>>,
    /// By slot and candidate.
    opened: RefCell<FxHashMap<(usize, u32), Rc<Open<'a>>>>,
    /// By bell housing, gearbox and bearing, and what stays of spacers and shims.
    ends: RefCell<FxHashMap<([u32; 3], u64), Option<Ends>>>,
    /// A form came up that numbers cannot follow: only the full product can answer.
    unsupported: Cell<bool>,
}

/// How many finger forms are kept at a time.
const MOST_FINGERS: usize = 20_000;

impl<'b, 'a> Numbers<'b, 'a> {
    /// Lays the candidates out. None where the table of kinds has something that the search does not
    /// know how to add up: then the full product answers.
    pub fn new(setup: &'b Setup<'a>, candidates: &'b Candidates<'a>) -> Option<Self> {
        let slots = Slots::of(setup)?;
        let faces = Faces::new(setup.library.kinds, candidates);
        let joints = JointsBy::of(&slots, &faces)?;
        let terms = Terms::new(setup);
        let lists = candidates.slots.iter().enumerate();
        let worth = lists.map(|(slot, fills)| Worth::of(setup, slot, fills)).collect();
        let clutch_parts = |slot: usize| {
            candidates.slots[slot]
                .iter()
                .zip(0..)
                .map(|(fill, pick)| clutch_part(&terms, slot, fill, pick, slot == slots.flywheel))
                .collect()
        };
        let (flywheels, discs) = (clutch_parts(slots.flywheel), clutch_parts(slots.disc));
        let mut spacers = vec![Vec::new(); candidates.slots.len()];
        for slot in slots.before.iter().chain(&slots.behind).chain([&slots.shims]) {
            let list = candidates.slots[*slot].iter();
            spacers[*slot] = list.map(|fill| spacer(&terms, &slots, *slot, fill)).collect();
        }
        let checks = Checks::new(setup, candidates);
        let mut choice = Choice { fills: setup.fitted.clone() };
        let total = |fill: &Fill<'a>| {
            choice.fills[slots.shims].clone_from(fill);
            checks.read(&choice, Input::ShimTotal)
        };
        let shim_totals = candidates.slots[slots.shims].iter().map(total).collect();
        let plates = candidates.slots[slots.plate].iter().zip(0..);
        let plates = plates.map(|(fill, pick)| plate(setup, slots.plate, fill, pick)).collect();
        Some(Self {
            setup,
            candidates,
            checks,
            slots,
            faces,
            joints,
            worth,
            flywheels,
            discs,
            plates,
            spacers,
            shim_totals,
            terms,
            fingers: RefCell::default(),
            plate_forms: RefCell::default(),
            opened: RefCell::default(),
            ends: RefCell::default(),
            unsupported: Cell::new(false),
        })
    }

    /// Whether a form came up that numbers cannot follow, so that what was found does not count.
    pub fn are_unsupported(&self) -> bool {
        self.unsupported.get()
    }

    /// A candidate's fill.
    pub(crate) fn fill(&self, slot: usize, pick: u32) -> &'b Fill<'a> {
        &self.candidates.slots[slot][pick as usize]
    }

    /// What is fitted, with some slots changed.
    pub(crate) fn choice(&self, picks: &[(usize, u32)]) -> Choice<'a> {
        let mut choice = Choice { fills: self.setup.fitted.clone() };
        for (slot, pick) in picks {
            choice.fills[*slot] = self.fill(*slot, *pick).clone();
        }
        choice
    }

    /// The finger tips for an engine, a plate and sorts of flywheel, disc and block plate.
    pub(crate) fn finger(&self, key: FingerKey) -> Rc<OpenFinger> {
        if let Some(known) = self.fingers.borrow().get(&key) {
            return Rc::clone(known);
        }
        let (engine, plate, flywheel, disc, block_plate) = key;
        let sorts = (engine, self.plates[plate as usize].sort, flywheel, disc, block_plate);
        let mut forms = self.plate_forms.borrow_mut();
        let form = forms.entry(sorts).or_insert_with(|| self.read_fingers(key));
        let fill = self.fill(self.slots.plate, plate);
        let read = form.as_ref().and_then(|form| form.with(self.setup, fill));
        self.unsupported.set(self.unsupported.get() || read.is_none());
        let finger = Rc::new(read.unwrap_or_default());
        let mut fingers = self.fingers.borrow_mut();
        if fingers.len() >= MOST_FINGERS {
            fingers.clear();
        }
        fingers.insert(key, Rc::clone(&finger));
        finger
    }

    /// The finger tips for all plates of the sort of one.
    fn read_fingers(
        &self,
        (engine, plate, flywheel, disc, block_plate): FingerKey,
    ) -> Option<PlateForm<'a>> {
        let slots = &self.slots;
        let standing = |slot: usize, sort: Sort| match sort {
            Sort::Own(pick) => Some(pick),
            Sort::Common { .. } => {
                let mut all = 0..self.candidates.slots[slot].len() as u32;
                all.find(|pick| self.sort(slot, *pick) == Some(sort))
            }
        };
        let picks =
            [(slots.flywheel, flywheel), (slots.disc, disc), (slots.block_plate, block_plate)];
        let mut all = vec![(slots.engine, engine), (slots.plate, plate)];
        for (slot, sort) in picks {
            let Some(pick) = standing(slot, sort) else { return Some(PlateForm::default()) };
            all.push((slot, pick));
        }
        let open = |at: usize, sort: Sort| {
            let (slot, pick) = all[at];
            matches!(sort, Sort::Common { .. }).then(|| self.open(slot, pick))
        };
        let open = OpenParts {
            flywheel: open(2, flywheel),
            disc: open(3, disc),
            block_plate: open(4, block_plate),
        };
        PlateForm::read(self.setup, self.choice(&all), &open)
    }

    /// A candidate that stands for all of its sort in a form.
    fn open(&self, slot: usize, pick: u32) -> Rc<Open<'a>> {
        let mut opened = self.opened.borrow_mut();
        let open = opened.entry((slot, pick)).or_insert_with(|| {
            let fill = self.fill(slot, pick);
            Rc::new(if slot == self.slots.block_plate {
                Open::block_plate(&self.terms, slot, fill)
            } else {
                Open::clutch_part(&self.terms, slot, fill)
            })
        });
        Rc::clone(open)
    }

    /// How far apart what stands between block and bell may stand, nm.
    pub(crate) fn span_before(&self) -> i64 {
        let span = |slot: &usize| {
            let all = self.spacers[*slot].iter().flatten().map(|spacer| spacer.sum.at);
            all.clone().max().unwrap_or(0) - all.min().unwrap_or(0)
        };
        self.slots.before.iter().map(span).sum()
    }

    /// Which finger form serves a block plate; none where its thickness is unknown and does not cancel.
    pub(crate) fn block_plate_sort(&self, pick: u32) -> Option<Sort> {
        let spacer = self.spacers[self.slots.block_plate][pick as usize]?;
        Some(if spacer.stays.nothing() { COMMON } else { Sort::Own(pick) })
    }

    /// Which finger form serves a candidate; none where another slot or nothing settles that.
    pub(crate) fn sort(&self, slot: usize, pick: u32) -> Option<Sort> {
        match slot {
            _ if slot == self.slots.flywheel => self.flywheels[pick as usize].map(|part| part.sort),
            _ if slot == self.slots.disc => self.discs[pick as usize].map(|part| part.sort),
            _ if slot == self.slots.block_plate => self.block_plate_sort(pick),
            _ => None,
        }
    }

    /// What stays fitted of spacers behind the bell and of shims, as bits: those that are alike in it
    /// enter the bearing's position alike.
    pub(crate) fn stays_behind(&self, picks: impl Iterator<Item = (usize, u32)>) -> Option<u64> {
        let mut bits = 0;
        for (slot, pick) in picks {
            bits = bits << 9 | self.spacers[slot][pick as usize]?.stays.bits();
        }
        Some(bits)
    }

    /// A bearing in a bell housing and on a gearbox; `open` are spacers and shims that stand for all that
    /// are alike in what stays of them.
    pub(crate) fn ends(&self, fixed: [u32; 3], open: &[(usize, u32)]) -> Option<Ends> {
        let slots = [self.slots.bell, self.slots.gearbox, self.slots.bearing];
        let behind = self.slots.behind.iter().chain([&self.slots.shims]);
        let pick = |slot: &usize| open.iter().find(|(known, _)| known == slot).copied();
        let stays = self.stays_behind(behind.filter_map(pick))?;
        if let Some(known) = self.ends.borrow().get(&(fixed, stays)) {
            return *known;
        }
        let read = self.read_ends(slots.into_iter().zip(fixed), open);
        self.ends.borrow_mut().insert((fixed, stays), read);
        read
    }

    fn read_ends(
        &self,
        fixed: impl Iterator<Item = (usize, u32)>,
        open: &[(usize, u32)],
    ) -> Option<Ends> {
        let all: Vec<(usize, u32)> = fixed.chain(open.iter().copied()).collect();
        let terms = open.iter().map(|(slot, pick)| {
            let may_stay = *slot == self.slots.shims || self.slots.behind.contains(slot);
            let may_stay = may_stay && measures(self.setup, Inside::BearingDepth);
            open_terms(&self.terms, *slot, self.fill(*slot, *pick), may_stay)
        });
        let terms = terms.collect::<Option<Vec<_>>>()?;
        let read = Ends::read(self.setup, &self.choice(&all), &terms);
        self.unsupported.set(self.unsupported.get() || read.is_none());
        read.flatten()
    }

    /// What a disc's own facings may lose, nm; none where nobody knows it.
    pub(crate) fn wear(&self, disc: u32) -> Option<i64> {
        self.discs[disc as usize]?.wear
    }

    /// The window's limits for a plate and a disc.
    pub(crate) fn limits(&self, plate: u32, disc: u32) -> Limits {
        let plate = &self.plates[plate as usize];
        let own = self.wear(disc).map(Length::from_nm);
        if own <= plate.facts.wear {
            return plate.limits;
        }
        limits(self.setup, ClutchFacts { wear: own, ..plate.facts })
    }
}

/// The sort of all discs and block plates of which nothing is fitted.
pub(crate) const COMMON: Sort = Sort::Common { flat: true };

/// The limits that a clutch's facts give.
fn limits(setup: &Setup<'_>, facts: ClutchFacts) -> Limits {
    let limits = facts.limits(&setup.library.house, &setup.job.window);
    PerEdge::from_fn(|edge| limits[edge].map(|limit| limit.at.nm()))
}

fn plate<'a>(setup: &Setup<'a>, slot: usize, fill: &Fill<'a>, pick: u32) -> Plate {
    let part = fill.parts.first().copied();
    let facts = ClutchFacts::of(part, None);
    let is_set = part.is_some_and(Part::is_matched_set);
    let fitted = &setup.fitted[slot];
    // What it brings into the gap is in the form.
    let enters_gap = |part: &Part| {
        let mut dims = part.kind.dims.iter().zip(&part.dims).filter(|(_, entry)| entry.is_some());
        dims.any(|(dim, _)| dim.enters.iter().any(|enters| matches!(enters, Enters::Gap(_))))
    };
    let has_own = part.is_some_and(enters_gap) || fill.shares(fitted) || fill.same(fitted);
    let known = part.filter(|part| !has_own && part.dims.len() <= 64).map(|part| {
        part.dims.iter().rev().fold(0, |bits, dim| bits << 1 | u64::from(dim.is_some()))
    });
    let sort = known.map_or(PlateSort::Own(pick), PlateSort::Common);
    Plate { sort, is_set, facts, limits: limits(setup, facts) }
}

/// Whether something was read that holds the parts of a group.
fn measures(setup: &Setup<'_>, inside: Inside) -> bool {
    setup.job.measures(inside)
}

fn clutch_part<'a>(
    terms: &Terms<'_, 'a>,
    slot: usize,
    fill: &Fill<'a>,
    pick: u32,
    is_flywheel: bool,
) -> Option<ClutchPart> {
    let setup = terms.setup;
    let stays = terms.stays(slot, fill);
    let own = measures(setup, Inside::Clutch) && !stays.nothing();
    let wear = fill.parts.first().and_then(|part| wear(None, Some(part))).map(Length::nm);
    let wear = wear.filter(|_| !is_flywheel);
    if own || (fill.is_empty() && !is_flywheel) {
        let (gap, alone) = (Bundle::default(), Sum::default());
        return Some(ClutchPart { sort: Sort::Own(pick), gap, alone, wear });
    }
    let gap = terms.of(slot, fill, gap_times);
    let mut alone = terms.of(slot, fill, finger_times);
    let unknown = !gap.unknown.is_empty() || !alone.unknown.is_empty();
    if unknown {
        return None;
    }
    alone.linear.retain(|(item, _)| gap.linear.iter().all(|(other, _)| other.dim != item.dim));
    let gap = Bundle::of(&gap);
    let sort = Sort::Common { flat: !is_flywheel || gap.value == 0 };
    Some(ClutchPart { sort, gap, alone: Sum::of(&alone), wear })
}

fn spacer<'a>(
    terms: &Terms<'_, 'a>,
    slots: &Slots,
    slot: usize,
    fill: &Fill<'a>,
) -> Option<Spacer> {
    let setup = terms.setup;
    let may_stay = if slot == slots.block_plate {
        setup.job.crank_over_plate || setup.job.depth_over_plate
    } else {
        !slots.before.contains(&slot) && measures(setup, Inside::BearingDepth)
    };
    let form = open_terms(terms, slot, fill, may_stay)?;
    let stays = if may_stay { terms.stays(slot, fill) } else { Stays::default() };
    let stays = Stays { whole: stays.whole && !fill.is_empty(), ..stays };
    Some(Spacer { sum: Sum::of(&form), stays })
}

/// What a stack comes to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Judged {
    /// nm
    pub preload: i64,
    /// Distance to the nearest edge, nm.
    pub room: i64,
    /// Caps counted.
    pub grade: Grade,
}

/// The room at one edge, nm.
pub(crate) fn room_at(edge: Edge, limit: i64, value: i64, float: FloatAllowance) -> i64 {
    let inside = if edge.is_least() { value - limit } else { limit - value };
    inside - float.at(edge).nm()
}

/// Judges a stack whose both sides are added up: the same rules as in [`crate::stack::fit`].
pub(crate) fn judge(
    finger: &Finger,
    tips: &Sum,
    ends: &Ends,
    rest: &Sum,
    limits: &Limits,
) -> Judged {
    let (extended, retracted) = (ends.extended.plus(rest), ends.retracted.plus(rest));
    let (preload, reserve) = (tips.at - extended.at, retracted.at - tips.at);
    let spreads: [Spread; 2] = [&extended, &retracted].map(|end| tips.spread.plus(&end.spread));
    let mut judged = Judged { preload, room: i64::MAX, grade: finger.cap.max(ends.cap) };
    for (edge, limit) in limits.set() {
        let (value, spread) =
            if edge.is_preload() { (preload, &spreads[0]) } else { (reserve, &spreads[1]) };
        let room = room_at(edge, *limit, value, finger.float);
        judged.room = judged.room.min(room);
        judged.grade = judged.grade.max(edge_grade(Length::from_nm(room), spread));
        if finger.if_worn.is_some_and(|needed| edge.is_missed_when_loose() && room < needed) {
            judged.grade = judged.grade.max(Grade::Marginal);
        }
    }
    judged
}

impl Numbers<'_, '_> {
    /// Judges a whole stack, and says whether a check fails; none where no route works. What does not
    /// mate is not looked at.
    pub fn judge(&self, picks: &[u32]) -> Option<(Judged, bool)> {
        let slots = &self.slots;
        let at = |slot: usize| picks[slot];
        let flywheel = self.flywheels[at(slots.flywheel) as usize]?;
        let disc = self.discs[at(slots.disc) as usize]?;
        let block_plate = self.block_plate_sort(at(slots.block_plate))?;
        let key = (at(slots.engine), at(slots.plate), flywheel.sort, disc.sort, block_plate);
        let finger = self.finger(key).with(&flywheel.gap, &disc.gap)?;
        let own = |slot: usize| Some(self.spacers[slot][at(slot) as usize]?.sum);
        let tips = finger
            .sum
            .plus(&flywheel.alone)
            .plus(&disc.alone)
            .plus(&own(slots.block_plate)?.turned());
        let between = slots.before.iter().filter(|slot| **slot != slots.block_plate);
        let open: Vec<usize> =
            between.chain(&slots.behind).chain([&slots.shims]).copied().collect();
        let mut rest = Sum::default();
        for slot in &open {
            rest = rest.plus(&own(*slot)?);
        }
        let picked: Vec<(usize, u32)> = open.iter().map(|slot| (*slot, at(*slot))).collect();
        let ends = self.ends([at(slots.bell), at(slots.gearbox), at(slots.bearing)], &picked)?;
        let limits = self.limits(at(slots.plate), at(slots.disc));
        let judged = judge(&finger, &tips, &ends, &rest, &limits);
        Some((judged, self.fails(picks, judged.preload)))
    }

    /// At how many joints a face is not verified; none where known faces clash.
    pub fn unverified(&self, picks: &[u32]) -> Option<u32> {
        let looks =
            picks.iter().enumerate().map(|(slot, pick)| (slot, self.faces.look(slot, *pick)));
        self.faces.meet_all(&looks.collect::<Vec<_>>(), &Joint::ALL)
    }

    /// Whether some check beside the window fails.
    pub(crate) fn fails(&self, picks: &[u32], preload: i64) -> bool {
        Scope::ALL.into_iter().any(|scope| self.fails_in(scope, picks, preload))
    }

    /// Whether a check of a scope fails; of what does not settle it anything may be picked.
    pub(crate) fn fails_in(&self, scope: Scope, picks: &[u32], preload: i64) -> bool {
        let own = picks.iter().copied().enumerate().filter(|(slot, _)| self.settles(*slot, scope));
        let own: Vec<(usize, u32)> = own.collect();
        let mut values = self.checks.values(&own);
        values.set(Input::Preload, Some(preload));
        let worked_out = Checks::worked_out(scope);
        if !worked_out.is_empty() {
            let choice = self.choice(&own);
            for input in worked_out {
                values.set(*input, self.checks.read(&choice, *input));
            }
        }
        if scope == Scope::Shaft {
            let crank = self.crank(picks[self.slots.engine], picks[self.slots.block_plate]);
            values.set(Input::Crank, crank);
        }
        self.checks.fail(scope, &values)
    }

    /// Whether what stands in a slot is among what settles the checks of a scope.
    pub(crate) fn settles(&self, slot: usize, scope: Scope) -> bool {
        let slots = &self.slots;
        let between = || slots.before.contains(&slot);
        match scope {
            Scope::Engine => slot == slots.engine,
            Scope::Plate | Scope::Preload => slot == slots.plate,
            Scope::PlateAndBearing => [slots.plate, slots.bearing].contains(&slot),
            Scope::BearingAndShims => [slots.bearing, slots.shims].contains(&slot),
            Scope::Flywheel => slot == slots.flywheel,
            Scope::FlywheelAndDisc => [slots.flywheel, slots.disc, slots.plate].contains(&slot),
            Scope::FlywheelAndPlates => [slots.engine, slots.flywheel].contains(&slot) || between(),
            Scope::Plates => slot == slots.engine || between(),
            Scope::Shaft => {
                slots.frame().contains(&slot) || between() || slots.behind.contains(&slot)
            }
        }
    }

    /// The best grade that a stack with a candidate may have, as far as that is known of it alone.
    pub(crate) fn best_with(&self, slot: usize, pick: u32) -> Grade {
        let sum = if slot == self.slots.flywheel {
            self.flywheels[pick as usize].map(|part| part.alone)
        } else {
            self.spacers[slot].get(pick as usize).copied().flatten().map(|spacer| spacer.sum)
        };
        best_with(&sum.unwrap_or_default().spread)
    }

    /// The crank flange from behind the block plate, nm.
    pub(crate) fn crank(&self, engine: u32, block_plate: u32) -> Option<i64> {
        let slots = &self.slots;
        let all = [(slots.engine, engine), (slots.block_plate, block_plate)];
        let choice = self.choice(&all);
        let sums = Sums { setup: self.setup, choice: &choice, as_it_stands: false };
        let routes = sums.crank_routes();
        let best = routes.iter().min_by_key(|form| form.spread().three_u_squared);
        best.map(|form| form.value().nm())
    }
}
