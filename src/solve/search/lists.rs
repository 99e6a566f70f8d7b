//! What may stand in each slot of a frame (an engine, a bell housing and a gearbox), with every face and
//! check folded in: each is a fact of one slot, of a pair, or of a partial sum.

use std::cell::RefCell;
use std::rc::Rc;

use itertools::Itertools as _;
use rustc_hash::FxHashMap;

use crate::model::kinds::Joint;
use crate::solve::numbers::bearing::Ends;
use crate::solve::numbers::checks::Starter;
use crate::solve::numbers::sum::{Bundle, Sum};
use crate::solve::numbers::{Numbers, Sort};
use crate::solve::search::key::{Key, Layout};
use crate::stack::checks::inputs::{Input, Values};
use crate::stack::checks::rules::Scope;
use crate::stack::form::{MICRO, Spread};

/// Error limits as bounds need them: never more than they are.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
pub(crate) struct Error {
    /// Every tolerance at its limit, nm.
    pub(crate) worst_case: i64,
    /// Three times the variance, nm^2.
    pub(crate) three_u_squared: f64,
}

impl Error {
    pub(crate) fn of(spread: &Spread) -> Self {
        let micro = MICRO as f64;
        Self {
            worst_case: (spread.worst_case / MICRO) as i64,
            three_u_squared: spread.three_u_squared as f64 / (micro * micro),
        }
    }

    #[must_use]
    pub(crate) fn plus(self, other: Self) -> Self {
        Self {
            worst_case: self.worst_case + other.worst_case,
            three_u_squared: self.three_u_squared + other.three_u_squared,
        }
    }

    #[must_use]
    pub(crate) fn least(self, other: Self) -> Self {
        Self {
            worst_case: self.worst_case.min(other.worst_case),
            three_u_squared: self.three_u_squared.min(other.three_u_squared),
        }
    }

    /// The least of several.
    pub(crate) fn least_of(all: impl Iterator<Item = Self>) -> Self {
        all.reduce(Self::least).unwrap_or_default()
    }
}

/// What one list holds: a candidate, or several that are picked together.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Item {
    /// What it adds to its side of the sum.
    pub(crate) sum: Sum,
    pub(crate) error: Error,
    pub(crate) key: Key,
    /// The candidate, or the place of the candidates that are picked together.
    pub(crate) pick: u32,
}

impl Item {
    fn new(sum: Sum, key: Key, pick: u32) -> Self {
        Self { sum, error: Error::of(&sum.spread), key, pick }
    }

    /// Whether it has a tolerance that was assumed.
    pub(crate) fn is_assumed(&self) -> bool {
        self.sum.spread.assumed
    }
}

/// What stands between block and bell, in the order of its thickness. Of all in a strand the shaft and
/// the starter stand alike to the position.
#[derive(Debug, Clone)]
pub(crate) struct Strand {
    pub(crate) block_plate: Sort,
    /// Position less where the shaft's tip stands to the crank, nm; none where that is not known.
    to_shaft: Option<i64>,
    /// Position less how far the plates move what hangs on the bell, nm; none where that is not known.
    to_shift: Option<i64>,
    pub(crate) items: Vec<Item>,
}

impl Strand {
    /// The positions at which the starter meets a flywheel's ring gear.
    pub(crate) fn within_starter(&self, starter: Starter) -> (i64, i64) {
        match (starter, self.to_shift) {
            (Starter::Between(least, most), Some(to)) => (least + to, most + to),
            (Starter::Nowhere, _) => (0, -1),
            (Starter::Anywhere, _) | (_, None) => (-FAR, FAR),
        }
    }

    /// The positions at which the shaft reaches its pilot, with something between bell and gearbox.
    pub(crate) fn within_shaft(&self, shaft: (i64, i64), behind: &Behind) -> (i64, i64) {
        match (self.to_shaft, behind.shaft) {
            (Some(to), Some(shifts)) => {
                (shaft.0.saturating_add(to - shifts), shaft.1.saturating_add(to - shifts))
            }
            _ => (-FAR, FAR),
        }
    }
}

/// Beyond any position, nm.
pub(crate) const FAR: i64 = 1 << 42;

/// What stands between bell and gearbox.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Behind {
    pub(crate) item: Item,
    /// How far it moves the shaft's tip, nm; none where that is not known.
    shaft: Option<i64>,
}

/// A bearing with what stays of spacers behind the bell and of shims.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Bearing {
    pub(crate) pick: u32,
    /// Which list of [`Lists::behind`] goes with it, and which of [`Lists::shims`].
    pub(crate) behind: usize,
    pub(crate) shims: usize,
    pub(crate) ends: Ends,
    pub(crate) errors: [Error; 2],
    pub(crate) key: Key,
}

/// A disc, or none.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Disc {
    pub(crate) pick: u32,
    pub(crate) sort: Sort,
    pub(crate) gap: Bundle,
    pub(crate) alone: Sum,
    pub(crate) key: Key,
}

/// A flywheel.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Flywheel {
    pub(crate) item: Item,
    pub(crate) starter: Starter,
    /// Which of [`Lists::starters`] bounds it.
    pub(crate) bound: usize,
}

/// Flywheels that one finger form serves, with one step; and the block plates that go with it.
#[derive(Debug, Clone)]
pub(crate) struct Class {
    pub(crate) sort: Sort,
    pub(crate) gap: Bundle,
    pub(crate) block_plate: Sort,
    /// By key.
    pub(crate) flywheels: Rc<Vec<Flywheel>>,
}

/// What goes with plates of one look.
#[derive(Debug, Clone)]
pub(crate) struct Clutch {
    /// Its number among those that are told apart.
    pub(crate) number: usize,
    pub(crate) classes: Vec<Class>,
}

/// The lists of one frame.
pub(crate) struct Lists<'n, 'b, 'a> {
    pub(crate) numbers: &'n Numbers<'b, 'a>,
    pub(crate) layout: &'n Layout,
    /// Whether what fails a check is left out.
    pub(crate) checked: bool,
    /// Engine, bell housing and gearbox.
    pub(crate) frame: [u32; 3],
    pub(crate) key: Key,
    pub(crate) strands: Vec<Strand>,
    /// By what stays fitted of it.
    pub(crate) behind: Vec<Vec<Behind>>,
    /// Shims by bearing and by what stays fitted of them, each set once.
    pub(crate) shims: Vec<Vec<Item>>,
    /// By key.
    pub(crate) bearings: Vec<Bearing>,
    /// Where the starter may let a flywheel be, rounded outward; the first is anywhere.
    pub(crate) starters: Vec<Starter>,
    /// The candidates of the slots before and behind the bell that are picked together.
    tuples: Vec<Vec<u32>>,
    /// By block plate: where the shaft's tip may stand to the crank, nm.
    shaft: (i64, i64),
    pub(crate) flywheels: Vec<Flywheel>,
    clutches: RefCell<FxHashMap<u32, Rc<Clutch>>>,
    discs: RefCell<FxHashMap<(u32, bool), Rc<Vec<Disc>>>>,
    meets: RefCell<FxHashMap<(u32, u32), Option<Key>>>,
}

impl<'n, 'b, 'a> Lists<'n, 'b, 'a> {
    /// None where the frame's own faces clash, or nothing can stand in one of its slots.
    pub(crate) fn new(
        numbers: &'n Numbers<'b, 'a>,
        layout: &'n Layout,
        frame: [u32; 3],
        checked: bool,
    ) -> Option<Self> {
        let mut lists = Self {
            numbers,
            layout,
            checked,
            frame,
            key: Key::default(),
            strands: Vec::new(),
            behind: Vec::new(),
            shims: Vec::new(),
            bearings: Vec::new(),
            starters: vec![Starter::Anywhere],
            tuples: Vec::new(),
            shaft: (-FAR, FAR),
            flywheels: Vec::new(),
            clutches: RefCell::default(),
            discs: RefCell::default(),
            meets: RefCell::default(),
        };
        let frame = lists.frame_picks();
        lists.key = lists.meet(&[], &numbers.joints.frame)?;
        for (slot, pick) in &frame {
            lists.key = lists.key + lists.candidate(*slot, *pick);
        }
        let values = numbers.checks.values(&frame);
        if checked && numbers.checks.fail(Scope::Engine, &values) {
            return None;
        }
        lists.lay_out_shaft(&values);
        let base = lists.lay_out_behind();
        lists.lay_out_before(&values, &base);
        lists.lay_out_bearings();
        lists.lay_out_flywheels();
        Some(lists)
    }

    pub(crate) fn frame_picks(&self) -> [(usize, u32); 3] {
        let slots = self.numbers.slots.frame();
        [0, 1, 2].map(|index| (slots[index], self.frame[index]))
    }

    fn candidate(&self, slot: usize, pick: u32) -> Key {
        self.layout.candidate(slot, pick, &self.numbers.worth[slot][pick as usize])
    }

    /// What unverified faces of some candidates and the frame add, none where they clash.
    fn meet(&self, picks: &[(usize, u32)], joints: &[Joint]) -> Option<Key> {
        let faces = &self.numbers.faces;
        let mut looks: Vec<(usize, u32)> = self
            .frame_picks()
            .iter()
            .chain(picks)
            .map(|(slot, pick)| (*slot, faces.look(*slot, *pick)))
            .collect();
        looks.sort_unstable();
        let unverified = faces.meet_all(&looks, joints)?;
        Some(self.layout.unverified(unverified))
    }

    /// The same, each set of looks once.
    fn meet_once(
        &self,
        known: &mut FxHashMap<Vec<u32>, Option<Key>>,
        picks: &[(usize, u32)],
        joints: &[Joint],
    ) -> Option<Key> {
        let faces = &self.numbers.faces;
        let looks = picks.iter().map(|(slot, pick)| faces.look(*slot, *pick)).collect();
        *known.entry(looks).or_insert_with(|| self.meet(picks, joints))
    }

    /// Every way to fill some slots.
    fn ways(&self, slots: &[usize]) -> impl Iterator<Item = Vec<(usize, u32)>> + use<'n, 'b, 'a> {
        let counts = slots.iter().map(|slot| self.numbers.candidates.slots[*slot].len() as u32);
        let slots = slots.to_vec();
        let all = counts.map(|count| 0..count).multi_cartesian_product();
        // A product of no list at all has one way: nothing.
        let nothing = slots.is_empty().then(Vec::new);
        nothing
            .into_iter()
            .chain(all.filter(|picks| !picks.is_empty()))
            .map(move |picks| slots.iter().copied().zip(picks).collect())
    }

    fn lay_out_shaft(&mut self, values: &Values) {
        if self.checked {
            let mut values = *values;
            values.set(Input::Crank, Some(0));
            // Where no shaft reaches, what cannot be checked still passes.
            self.shaft =
                self.numbers.checks.range(Scope::Shaft, Input::Tip, &values).unwrap_or((0, -1));
        }
    }

    /// `base` is the way between bell and gearbox from which the shaft's tip is counted.
    fn lay_out_before(&mut self, values: &Values, base: &[(usize, u32)]) {
        let numbers = self.numbers;
        let slots = &numbers.slots;
        let mut strands: FxHashMap<(Sort, Option<i64>, Option<i64>), Vec<Item>> =
            FxHashMap::default();
        let mut met = FxHashMap::default();
        let mut cranks: FxHashMap<u32, Option<i64>> = FxHashMap::default();
        for picks in self.ways(&slots.before) {
            let Some(key) = self.meet_once(&mut met, &picks, &numbers.joints.before) else {
                continue;
            };
            let Some(sum) = self.sum(&picks) else { continue };
            let plate = picks.iter().find(|(slot, _)| *slot == slots.block_plate);
            let Some(sort) = plate.and_then(|(_, pick)| numbers.block_plate_sort(*pick)) else {
                continue;
            };
            let (mut to_shaft, mut to_shift) = (None, None);
            if self.checked {
                let mut values = *values;
                let all: Vec<(usize, u32)> =
                    self.frame_picks().iter().chain(&picks).chain(base).copied().collect();
                let inputs = [Input::Plates, Input::PlatesShift, Input::Tip];
                numbers.checks.work_out(&mut values, &numbers.choice(&all), &inputs);
                if numbers.checks.fail(Scope::Plates, &values) {
                    continue;
                }
                let pick = plate.map_or(0, |(_, pick)| *pick);
                let crank =
                    *cranks.entry(pick).or_insert_with(|| numbers.crank(self.frame[0], pick));
                let tip = values.get(Input::Tip);
                to_shaft = tip.zip(crank).map(|(tip, crank)| sum.at - (tip - crank));
                to_shift = values.get(Input::PlatesShift).map(|shift| sum.at - shift);
            }
            let key =
                picks.iter().fold(key, |key, (slot, pick)| key + self.candidate(*slot, *pick));
            let tuple = self.tuples.len() as u32;
            self.tuples.push(picks.iter().map(|(_, pick)| *pick).collect());
            strands.entry((sort, to_shaft, to_shift)).or_default().push(Item::new(sum, key, tuple));
        }
        let strands = strands.into_iter().sorted_unstable_by_key(|(key, _)| *key);
        self.strands = strands
            .map(|((block_plate, to_shaft, to_shift), mut items)| {
                items.sort_unstable_by_key(|item| (item.sum.at, item.key));
                Strand { block_plate, to_shaft, to_shift, items }
            })
            .collect();
    }

    /// What some spacers add together.
    fn sum(&self, picks: &[(usize, u32)]) -> Option<Sum> {
        let mut sum = Sum::default();
        for (slot, pick) in picks {
            sum = sum.plus(&self.numbers.spacers[*slot][*pick as usize]?.sum);
        }
        Some(sum)
    }

    /// Gives back the way from which the shaft's tip is counted.
    fn lay_out_behind(&mut self) -> Vec<(usize, u32)> {
        let numbers = self.numbers;
        let slots = &numbers.slots;
        let mut met = FxHashMap::default();
        let mut sets: FxHashMap<u64, Vec<Behind>> = FxHashMap::default();
        let known = |slot: &usize| {
            let pick = numbers.spacers[*slot].iter().position(Option::is_some);
            (*slot, pick.unwrap_or(0) as u32)
        };
        let before: Vec<(usize, u32)> = slots.before.iter().map(known).collect();
        let mut base: Option<(i64, Vec<(usize, u32)>)> = None;
        for picks in self.ways(&slots.behind) {
            let Some(key) = self.meet_once(&mut met, &picks, &numbers.joints.behind) else {
                continue;
            };
            let Some(sum) = self.sum(&picks) else { continue };
            let Some(stays) = numbers.stays_behind(picks.iter().copied()) else { continue };
            let all: Vec<(usize, u32)> =
                self.frame_picks().iter().chain(&before).chain(&picks).copied().collect();
            let mut values = Values::default();
            numbers.checks.work_out(&mut values, &numbers.choice(&all), &[Input::Tip]);
            let tip = values.get(Input::Tip);
            let shaft = tip.map(|tip| tip - base.get_or_insert((tip, picks.clone())).0);
            let key =
                picks.iter().fold(key, |key, (slot, pick)| key + self.candidate(*slot, *pick));
            let tuple = self.tuples.len() as u32;
            self.tuples.push(picks.iter().map(|(_, pick)| *pick).collect());
            let behind = Behind { item: Item::new(sum, key, tuple), shaft };
            sets.entry(stays).or_default().push(behind);
        }
        let sets = sets.into_iter().sorted_unstable_by_key(|(stays, _)| *stays);
        self.behind = sets
            .map(|(_, mut list)| {
                list.sort_unstable_by_key(|behind| behind.item.key);
                list
            })
            .collect();
        base.map(|(_, picks)| picks).unwrap_or_default()
    }

    fn lay_out_bearings(&mut self) {
        let numbers = self.numbers;
        let slots = &numbers.slots;
        // Shims that go with a bearing, by its look and the shims it takes, and by what stays of them.
        let mut known: FxHashMap<(u32, Option<i64>), Vec<(u32, usize)>> = FxHashMap::default();
        let between = slots.before.iter().filter(|slot| **slot != slots.block_plate);
        let mut open: Vec<(usize, u32)> = Vec::new();
        for slot in between {
            let known = numbers.spacers[*slot].iter().position(Option::is_some);
            let Some(pick) = known else { return };
            open.push((*slot, pick as u32));
        }
        for pick in 0..numbers.candidates.slots[slots.bearing].len() as u32 {
            let values = numbers.checks.values(&[(slots.bearing, pick)]);
            let look = numbers.faces.look(slots.bearing, pick);
            let key = (look, values.get(Input::MaxShim));
            let sets = match known.get(&key) {
                Some(sets) => sets.clone(),
                None => {
                    let sets = self.shim_sets(pick, &values);
                    known.insert(key, sets.clone());
                    sets
                }
            };
            for (shim, shims) in sets {
                for behind in 0..self.behind.len() {
                    let mut open = open.clone();
                    let tuple = &self.tuples[self.behind[behind][0].item.pick as usize];
                    open.extend(slots.behind.iter().copied().zip(tuple.iter().copied()));
                    open.push((slots.shims, shim));
                    let [_, bell, gearbox] = self.frame;
                    let Some(ends) = numbers.ends([bell, gearbox, pick], &open) else { continue };
                    let errors = [ends.extended, ends.retracted].map(|end| Error::of(&end.spread));
                    let key = self.candidate(slots.bearing, pick);
                    self.bearings.push(Bearing { pick, behind, shims, ends, errors, key });
                }
            }
        }
        self.bearings.sort_by_key(|bearing| bearing.key);
    }

    /// The shims that may stand behind a bearing, apart by what stays fitted of them: for each one that
    /// stands for all, and their list.
    fn shim_sets(&mut self, bearing: u32, values: &Values) -> Vec<(u32, usize)> {
        let numbers = self.numbers;
        let slots = &numbers.slots;
        let mut sets: FxHashMap<u64, Vec<Item>> = FxHashMap::default();
        let mut met = FxHashMap::default();
        for (pick, spacer) in (0..).zip(&numbers.spacers[slots.shims]) {
            let picks = [(slots.bearing, bearing), (slots.shims, pick)];
            let Some(spacer) = spacer else { continue };
            let mut values = *values;
            values.set(Input::ShimTotal, numbers.shim_totals[pick as usize]);
            if numbers.checks.fail(Scope::BearingAndShims, &values) {
                continue;
            }
            let Some(key) = self.meet_once(&mut met, &picks, &numbers.joints.shims) else {
                continue;
            };
            let key = key + self.candidate(slots.shims, pick);
            let item = Item::new(spacer.sum, key, pick);
            sets.entry(spacer.stays.bits()).or_default().push(item);
        }
        let mut found = Vec::new();
        for (_, mut items) in sets.into_iter().sorted_unstable_by_key(|(stays, _)| *stays) {
            items.sort_by_key(|item| item.key);
            let same = |list: &Vec<Item>| {
                let both = list.iter().zip(&items);
                list.len() == items.len() && { both }
                    .all(|(a, b)| (a.pick, a.key) == (b.pick, b.key))
            };
            let at = self.shims.iter().position(same).unwrap_or(self.shims.len());
            found.push((items[0].pick, at));
            if at == self.shims.len() {
                self.shims.push(items);
            }
        }
        found
    }

    fn lay_out_flywheels(&mut self) {
        let numbers = self.numbers;
        let slots = &numbers.slots;
        let mut met = FxHashMap::default();
        for (pick, part) in (0..).zip(&numbers.flywheels) {
            let picks = [(slots.flywheel, pick)];
            let Some(part) = part else { continue };
            let Some(key) = self.meet_once(&mut met, &picks, &numbers.joints.flywheel) else {
                continue;
            };
            let mut starter = Starter::Anywhere;
            if self.checked {
                let choice = numbers.choice(&[(slots.engine, self.frame[0]), picks[0]]);
                let mut values = numbers.checks.values(&picks);
                numbers.checks.work_out(&mut values, &choice, &[Input::Cut, Input::FlywheelLeft]);
                starter = numbers.checks.starter(&choice);
                if starter == Starter::Nowhere || numbers.checks.fail(Scope::Flywheel, &values) {
                    continue;
                }
            }
            let bound = self.bound(starter);
            let key = key + self.candidate(slots.flywheel, pick);
            self.flywheels.push(Flywheel {
                item: Item::new(part.alone, key, pick),
                starter,
                bound,
            });
        }
    }

    /// Rounded outward, so that few are told apart.
    fn bound(&mut self, starter: Starter) -> usize {
        const STEP: i64 = 20 * 25_400;
        let rounded = match starter {
            Starter::Between(least, most) if least <= most => {
                Starter::Between(least.div_euclid(STEP) * STEP, (most.div_euclid(STEP) + 1) * STEP)
            }
            other => other,
        };
        let at = self.starters.iter().position(|known| *known == rounded);
        at.unwrap_or_else(|| {
            self.starters.push(rounded);
            self.starters.len() - 1
        })
    }

    /// What stands in the slots between block and bell, or between bell and gearbox, by its place.
    pub(crate) fn tuple(&self, place: u32) -> &[u32] {
        &self.tuples[place as usize]
    }

    /// Where the shaft's tip may stand to the crank.
    pub(crate) fn shaft(&self) -> (i64, i64) {
        self.shaft
    }

    /// The plates whose own checks pass, by key.
    pub(crate) fn plates(&self) -> Vec<(u32, Key)> {
        let slot = self.numbers.slots.plate;
        let passes = |pick: &u32| {
            let values = || self.numbers.checks.values(&[(slot, *pick)]);
            !self.checked || !self.numbers.checks.fail(Scope::Plate, &values())
        };
        let all = (0..self.numbers.plates.len() as u32).filter(passes);
        all.map(|pick| (pick, self.candidate(slot, pick))).sorted_by_key(|(_, key)| *key).collect()
    }

    /// The least that any disc adds to a key.
    pub(crate) fn least_disc(&self) -> Key {
        let slot = self.numbers.slots.disc;
        let all = 0..self.numbers.discs.len() as u32;
        all.map(|pick| self.candidate(slot, pick)).min().unwrap_or_default()
    }

    /// The least preload at which no check fails, nm.
    pub(crate) fn least_preload(&self, plate: u32) -> Option<i64> {
        let values = self.numbers.checks.values(&[(self.numbers.slots.plate, plate)]);
        let range = self.numbers.checks.range(Scope::Preload, Input::Preload, &values);
        range.filter(|_| self.checked).map(|(least, _)| least)
    }

    /// What the faces of a plate and a bearing add; none where they clash or fail a check.
    pub(crate) fn plate_meets(&self, plate: u32, bearing: u32) -> Option<Key> {
        let numbers = self.numbers;
        let picks = [(numbers.slots.plate, plate), (numbers.slots.bearing, bearing)];
        let looks = picks.map(|(slot, pick)| numbers.faces.look(slot, pick));
        let known = self.meets.borrow().get(&(looks[0], looks[1])).copied();
        let key = known.unwrap_or_else(|| {
            let key = self.meet(&picks, &numbers.joints.bearing);
            self.meets.borrow_mut().insert((looks[0], looks[1]), key);
            key
        })?;
        let values = || numbers.checks.values(&picks);
        (!self.checked || !numbers.checks.fail(Scope::PlateAndBearing, &values())).then_some(key)
    }

    /// Whether the checks of a flywheel with disc and plate pass.
    pub(crate) fn hub_clears(&self, flywheel: u32, disc: u32, plate: u32) -> bool {
        if !self.checked {
            return true;
        }
        let numbers = self.numbers;
        let slots = &numbers.slots;
        let picks = [(slots.flywheel, flywheel), (slots.disc, disc), (slots.plate, plate)];
        let mut values = numbers.checks.values(&picks);
        values.set(Input::Cut, Some(numbers.fill(slots.flywheel, flywheel).cut.nm()));
        let own = numbers.discs[disc as usize].and_then(|disc| disc.wear);
        let of_plate = numbers.plates[plate as usize].facts.wear.map(|wear| wear.nm());
        numbers.checks.set_wear(&mut values, own.max(of_plate));
        !numbers.checks.fail(Scope::FlywheelAndDisc, &values)
    }

    /// The discs that go with a plate, by key.
    pub(crate) fn discs(&self, plate: u32) -> Rc<Vec<Disc>> {
        let numbers = self.numbers;
        let slots = &numbers.slots;
        let is_set = numbers.plates[plate as usize].is_set;
        let look = (numbers.faces.look(slots.plate, plate), is_set);
        if let Some(known) = self.discs.borrow().get(&look) {
            return Rc::clone(known);
        }
        let mut met = FxHashMap::default();
        let mut discs = Vec::new();
        for (pick, part) in (0..).zip(&numbers.discs) {
            let Some(part) = part else { continue };
            if numbers.fill(slots.disc, pick).is_empty() != is_set {
                continue;
            }
            let picks = [(slots.plate, plate), (slots.disc, pick)];
            let Some(key) = self.meet_once(&mut met, &picks, &numbers.joints.disc) else {
                continue;
            };
            let key = key + self.candidate(slots.disc, pick);
            discs.push(Disc { pick, sort: part.sort, gap: part.gap, alone: part.alone, key });
        }
        discs.sort_by_key(|disc| disc.key);
        let discs = Rc::new(discs);
        self.discs.borrow_mut().insert(look, Rc::clone(&discs));
        discs
    }

    /// The flywheels that go with a plate, in classes.
    pub(crate) fn clutch(&self, plate: u32) -> Rc<Clutch> {
        let numbers = self.numbers;
        let slots = &numbers.slots;
        let look = numbers.faces.look(slots.plate, plate);
        if let Some(known) = self.clutches.borrow().get(&look) {
            return Rc::clone(known);
        }
        let mut met = FxHashMap::default();
        let mut classes: FxHashMap<(Sort, Bundle), Vec<Flywheel>> = FxHashMap::default();
        for flywheel in &self.flywheels {
            let pick = flywheel.item.pick;
            let Some(part) = numbers.flywheels[pick as usize] else { continue };
            let picks = [(slots.plate, plate), (slots.flywheel, pick)];
            let Some(key) = self.meet_once(&mut met, &picks, &numbers.joints.cover) else {
                continue;
            };
            let item = Item { key: key + flywheel.item.key, ..flywheel.item };
            classes.entry((part.sort, part.gap)).or_default().push(Flywheel { item, ..*flywheel });
        }
        let sorts: Vec<Sort> =
            self.strands.iter().map(|strand| strand.block_plate).dedup().collect();
        let mut all = Vec::new();
        for ((sort, gap), mut flywheels) in classes {
            flywheels.sort_by_key(|flywheel| flywheel.item.key);
            let flywheels = Rc::new(flywheels);
            all.extend(sorts.iter().map(|block_plate| Class {
                sort,
                gap,
                block_plate: *block_plate,
                flywheels: Rc::clone(&flywheels),
            }));
        }
        all.sort_by_key(|class| (class.flywheels[0].item.key, class.sort, class.block_plate));
        let same = |known: &&Rc<Clutch>| {
            let of = |class: &Class| {
                let keys = class.flywheels.iter().map(|one| one.item.key).collect::<Vec<_>>();
                (class.sort, class.block_plate, keys)
            };
            known.classes.iter().map(of).eq(all.iter().map(of))
        };
        let mut clutches = self.clutches.borrow_mut();
        let clutch = match clutches.values().find(same) {
            Some(known) => Rc::clone(known),
            None => {
                let number = clutches.values().map(|known| known.number + 1).max().unwrap_or(0);
                Rc::new(Clutch { number, classes: all })
            }
        };
        clutches.insert(look, Rc::clone(&clutch));
        clutch
    }
}
