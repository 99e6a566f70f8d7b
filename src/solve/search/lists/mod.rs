//! What may stand in each slot of a frame (an engine, a bell housing and a gearbox), with every face and
//! check folded in: each is a fact of one slot, of a pair, or of a partial sum.

mod discs;
mod lay_out;

use std::cell::RefCell;
use std::rc::Rc;

use itertools::Itertools as _;
use rustc_hash::FxHashMap;

use crate::error::Result;
use crate::model::kinds::Joint;
use crate::solve::ask::Watch;
use crate::solve::numbers::bearing::Ends;
use crate::solve::numbers::checks::Starter;
use crate::solve::numbers::sum::{Bundle, Sum};
use crate::solve::numbers::{Numbers, Sort};
use crate::solve::search::error::Error;
use crate::solve::search::key::{Key, Layout};
use crate::stack::checks::inputs::{Input, Values};
use crate::stack::checks::rules::Scope;

pub(crate) use discs::{Disc, Discs};

/// What one list holds: a candidate, or several that are picked together.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Item {
    /// What it adds to its side of the sum.
    pub(crate) sum: Sum,
    pub(crate) error: Error,
    pub(crate) key: Key,
    /// The candidate, or the place of the candidates that are picked together.
    pub(crate) pick: u32,
    /// It fails a check wherever it stands.
    pub(crate) fails: bool,
}

impl Item {
    fn new(sum: Sum, key: Key, pick: u32, fails: bool) -> Self {
        Self { sum, error: Error::of(&sum.spread), key, pick, fails }
    }

    /// Whether it has a tolerance that was assumed.
    pub(crate) fn is_assumed(&self) -> bool {
        self.sum.spread.assumed
    }
}

/// Beyond any position, nm.
pub(crate) const FAR: i64 = 1 << 42;

/// Where anything may stand, nm.
pub(crate) const ANYWHERE: (i64, i64) = (-FAR, FAR);

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
            (Starter::Anywhere, _) | (_, None) => ANYWHERE,
        }
    }

    /// The positions at which the shaft reaches its pilot, with something between bell and gearbox that
    /// moves it by so much.
    pub(crate) fn within_shaft(&self, shaft: (i64, i64), behind: Option<i64>) -> (i64, i64) {
        match (self.to_shaft, behind) {
            (Some(to), Some(shifts)) => (shaft.0 + to - shifts, shaft.1 + to - shifts),
            _ => ANYWHERE,
        }
    }
}

/// What stands between bell and gearbox.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Behind {
    pub(crate) item: Item,
    /// How far it moves the shaft's tip, nm; none where that is not known.
    pub(crate) shaft: Option<i64>,
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
    /// What plates tell apart in it.
    pub(crate) kind: usize,
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

/// What a plate's meeting with a bearing of one kind adds to the key, and whether a check fails; none
/// where they do not mate.
type Meeting = Option<(Key, bool)>;

/// The lists of one frame.
pub(crate) struct Lists<'n, 'b, 'a> {
    pub(crate) numbers: &'n Numbers<'b, 'a>,
    pub(crate) layout: &'n Layout,
    /// Engine, bell housing and gearbox.
    pub(crate) frame: [u32; 3],
    pub(crate) key: Key,
    /// Whether a check of the engine alone fails.
    pub(crate) fails: bool,
    pub(crate) strands: Vec<Strand>,
    /// By what stays fitted of it.
    pub(crate) behind: Vec<Vec<Behind>>,
    /// Shims by bearing and by what stays fitted of them, each set once.
    pub(crate) shims: Vec<Vec<Item>>,
    /// By key.
    pub(crate) bearings: Vec<Bearing>,
    /// A bearing of each kind that plates tell apart.
    bearing_kinds: Vec<u32>,
    /// Where the starter may let a flywheel be, rounded outward; the first is anywhere.
    pub(crate) starters: Vec<Starter>,
    /// The candidates of the slots before and behind the bell that are picked together.
    tuples: Vec<Vec<u32>>,
    /// Where the shaft's tip may stand to the crank, nm.
    pub(crate) shaft: (i64, i64),
    pub(crate) flywheels: Vec<Flywheel>,
    clutches: RefCell<FxHashMap<u32, Rc<Clutch>>>,
    discs: RefCell<FxHashMap<u32, Rc<Discs>>>,
    meetings: RefCell<FxHashMap<(u32, usize), Meeting>>,
}

/// What faces that meet add to a key, by looks; none where they clash.
type Met = FxHashMap<u128, Option<Key>>;

impl<'n, 'b, 'a> Lists<'n, 'b, 'a> {
    /// None where the frame's own faces clash.
    ///
    /// # Errors
    ///
    /// Only that the search was interrupted.
    pub(crate) fn new(
        numbers: &'n Numbers<'b, 'a>,
        layout: &'n Layout,
        frame: [u32; 3],
        watch: &Watch,
    ) -> Result<Option<Self>> {
        let mut lists = Self {
            numbers,
            layout,
            frame,
            key: Key::default(),
            fails: false,
            strands: Vec::new(),
            behind: Vec::new(),
            shims: Vec::new(),
            bearings: Vec::new(),
            bearing_kinds: Vec::new(),
            starters: vec![Starter::Anywhere],
            tuples: Vec::new(),
            shaft: (0, -1),
            flywheels: Vec::new(),
            clutches: RefCell::default(),
            discs: RefCell::default(),
            meetings: RefCell::default(),
        };
        let picks = lists.frame_picks();
        let Some(key) = lists.meet(&[], &numbers.joints.frame) else { return Ok(None) };
        lists.key = key;
        for (slot, pick) in &picks {
            lists.key = lists.key + lists.candidate(*slot, *pick);
        }
        let values = numbers.checks.values(&picks);
        lists.fails = numbers.checks.fail(Scope::Engine, &values);
        let mut at_crank = values;
        at_crank.set(Input::Crank, Some(0));
        if let Some(range) = numbers.checks.range(Scope::Shaft, Input::Tip, &at_crank) {
            lists.shaft = range;
        }
        lists.lay_out_behind(watch)?;
        lists.lay_out_before(&values, watch)?;
        lists.lay_out_bearings(watch)?;
        lists.lay_out_flywheels(watch)?;
        Ok(Some(lists))
    }

    pub(crate) fn frame_picks(&self) -> [(usize, u32); 3] {
        let slots = self.numbers.slots.frame();
        [0, 1, 2].map(|index| (slots[index], self.frame[index]))
    }

    fn candidate(&self, slot: usize, pick: u32) -> Key {
        self.layout.candidate(slot, &self.numbers.worth[slot][pick as usize])
    }

    /// What several candidates add to a key.
    fn candidates(&self, picks: &[(usize, u32)]) -> Key {
        picks.iter().fold(Key::default(), |key, (slot, pick)| key + self.candidate(*slot, *pick))
    }

    /// What unverified faces of some candidates and the frame add, none where they clash.
    fn meet(&self, picks: &[(usize, u32)], joints: &[Joint]) -> Option<Key> {
        let faces = &self.numbers.faces;
        let frame = self.frame_picks();
        let all = frame.iter().chain(picks).map(|(slot, pick)| (*slot, faces.look(*slot, *pick)));
        let looks: Vec<(usize, u32)> = all.sorted_unstable().collect();
        let unverified = faces.meet_all(&looks, joints)?;
        Some(self.layout.unverified(unverified))
    }

    /// The same, each set of looks once.
    fn meet_once(&self, known: &mut Met, picks: &[(usize, u32)], joints: &[Joint]) -> Option<Key> {
        let faces = &self.numbers.faces;
        let looks = picks.iter().fold(0, |all, (slot, pick)| {
            // Looks of a slot are fewer than its candidates, which are counted in 32 bits.
            all << 32 | u128::from(faces.look(*slot, *pick))
        });
        if picks.len() > 4 {
            return self.meet(picks, joints);
        }
        *known.entry(looks).or_insert_with(|| self.meet(picks, joints))
    }

    /// Every way to fill some slots.
    fn ways(&self, slots: &[usize]) -> impl Iterator<Item = Vec<(usize, u32)>> + use<'n, 'b, 'a> {
        let counts = slots.iter().map(|slot| self.numbers.candidates.slots[*slot].len() as u32);
        let all = counts.map(|count| 0..count).multi_cartesian_product();
        let slots = slots.to_vec();
        all.map(move |picks| slots.iter().copied().zip(picks).collect())
    }

    /// What some spacers add together.
    fn sum(&self, picks: &[(usize, u32)]) -> Option<Sum> {
        let mut sum = Sum::default();
        for (slot, pick) in picks {
            sum = sum.plus(&self.numbers.spacers[*slot][*pick as usize]?.sum);
        }
        Some(sum)
    }

    /// What stands in the slots between block and bell, or between bell and gearbox, by its place.
    pub(crate) fn tuple(&self, place: u32) -> &[u32] {
        &self.tuples[place as usize]
    }

    /// The block plates' sorts, each once.
    pub(crate) fn block_plates(&self) -> Vec<Sort> {
        self.strands.iter().map(|strand| strand.block_plate).dedup().collect()
    }

    /// Every plate, by key, and whether its own checks fail.
    pub(crate) fn plates(&self) -> Vec<(u32, Key, bool)> {
        let slot = self.numbers.slots.plate;
        let plate = |pick: u32| {
            let values = self.numbers.checks.values(&[(slot, pick)]);
            let fails = self.numbers.checks.fail(Scope::Plate, &values);
            (pick, self.candidate(slot, pick), fails)
        };
        let all = (0..self.numbers.plates.len() as u32).map(plate);
        all.sorted_by_key(|(_, key, _)| *key).collect()
    }

    /// The least that any disc adds to a key.
    pub(crate) fn least_disc(&self) -> Key {
        let slot = self.numbers.slots.disc;
        let all = 0..self.numbers.discs.len() as u32;
        all.map(|pick| self.candidate(slot, pick)).min().unwrap_or_default()
    }

    /// The least preload at which no check of a plate fails, nm.
    pub(crate) fn least_preload(&self, plate: u32) -> Option<i64> {
        let values = self.numbers.checks.values(&[(self.numbers.slots.plate, plate)]);
        let range = self.numbers.checks.range(Scope::Preload, Input::Preload, &values);
        range.map(|(least, _)| least)
    }

    /// What a plate's meeting with a bearing adds; none where they do not mate.
    pub(crate) fn plate_meets(&self, plate: u32, bearing: &Bearing) -> Meeting {
        let known = self.meetings.borrow().get(&(plate, bearing.kind)).copied();
        known.unwrap_or_else(|| {
            let (numbers, slots) = (self.numbers, &self.numbers.slots);
            let picks = [(slots.plate, plate), (slots.bearing, self.bearing_kinds[bearing.kind])];
            let meeting = self.meet(&picks, &numbers.joints.bearing).map(|key| {
                let values = numbers.checks.values(&picks);
                (key, numbers.checks.fail(Scope::PlateAndBearing, &values))
            });
            self.meetings.borrow_mut().insert((plate, bearing.kind), meeting);
            meeting
        })
    }

    /// What the facings of a disc with a plate may lose as the checks have it, nm; none where nobody
    /// knows it.
    pub(crate) fn wear(&self, disc: u32, plate: u32) -> Option<i64> {
        let own = self.numbers.wear(disc);
        let of_plate = self.numbers.plates[plate as usize].facts.wear;
        own.max(of_plate.map(crate::model::length::Length::nm))
    }

    /// What a disc with a plate tells the checks of a flywheel with a disc.
    fn hub(&self, disc: u32, plate: u32) -> Values {
        let numbers = self.numbers;
        let mut values = Values::default();
        numbers.checks.give(&mut values, numbers.slots.disc, disc);
        numbers.checks.set_wear(&mut values, self.wear(disc, plate));
        values
    }

    /// The room for a hub at which no check of a flywheel with a disc and a plate fails, nm; beyond any
    /// length where they fail anyway.
    pub(crate) fn hub_needs(&self, disc: u32, plate: u32) -> i64 {
        let mut values = self.hub(disc, plate);
        values.set(Input::Cut, Some(0));
        let range =
            self.numbers.checks.range(Scope::FlywheelAndDisc, Input::BoltClearance, &values);
        range.map_or(FAR, |(least, _)| least)
    }

    /// Whether a check of a flywheel with disc and plate fails.
    pub(crate) fn hub_fails(&self, flywheel: u32, disc: u32, plate: u32) -> bool {
        let numbers = self.numbers;
        let slot = numbers.slots.flywheel;
        let mut values = self.hub(disc, plate);
        numbers.checks.give(&mut values, slot, flywheel);
        values.set(Input::Cut, Some(numbers.fill(slot, flywheel).cut.nm()));
        numbers.checks.fail(Scope::FlywheelAndDisc, &values)
    }

    /// The room that a flywheel leaves a disc's hub, nm; none where nobody knows it.
    pub(crate) fn hub_room(&self, flywheel: u32) -> Option<i64> {
        let slot = self.numbers.slots.flywheel;
        let values = self.numbers.checks.values(&[(slot, flywheel)]);
        let bolts = values.get(Input::BoltClearance);
        bolts.map(|bolts| bolts - self.numbers.fill(slot, flywheel).cut.nm())
    }

    /// The discs that go with a plate.
    pub(crate) fn discs(&self, plate: u32) -> Rc<Discs> {
        let numbers = self.numbers;
        let slots = &numbers.slots;
        let is_set = numbers.plates[plate as usize].is_set;
        // A matched set shows no diameter to a disc, and so never looks like a plate.
        let look = numbers.faces.look(slots.plate, plate);
        if let Some(known) = self.discs.borrow().get(&look) {
            return Rc::clone(known);
        }
        let mut met = Met::default();
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
        let discs = Rc::new(Discs::of(numbers, self.layout, discs));
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
        let mut met = Met::default();
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
        let mut all = Vec::new();
        for ((sort, gap), mut flywheels) in classes {
            flywheels.sort_by_key(|flywheel| flywheel.item.key);
            let flywheels = Rc::new(flywheels);
            all.extend(self.block_plates().into_iter().map(|block_plate| Class {
                sort,
                gap,
                block_plate,
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
        let known = clutches.values().find(same).map(Rc::clone);
        let clutch = known.unwrap_or_else(|| {
            let number = clutches.values().map(|known| known.number + 1).max().unwrap_or(0);
            Rc::new(Clutch { number, classes: all })
        });
        clutches.insert(look, Rc::clone(&clutch));
        clutch
    }
}
