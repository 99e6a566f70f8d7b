//! The search itself: a queue of what may still hold a stack, by the best place that a stack of it can
//! have.
//!
//! A stack is picked in seven steps: plate, bearing, disc with a class of flywheels, flywheel, what stands
//! behind the bell, shims, and what stands before the bell. Each step goes through a list in the order of
//! keys, and no further than to where something else in the queue may be better. The last step finds the
//! best of a stretch of a sorted list at once; what is left of the stretch goes back into the queue.

use std::cmp::Reverse;
use std::collections::BinaryHeap;
use std::rc::Rc;

use itertools::Itertools as _;

use crate::error::Result;
use crate::solve::ask::Watch;
use crate::solve::numbers::finger::Finger;
use crate::solve::numbers::{Judged, Picks, judge};
use crate::solve::search::error::Error;
use crate::solve::search::key::{Key, WIDEST};
use crate::solve::search::lists::{Bearing, Behind, Class, Disc, Flywheel, Strand};
use crate::solve::search::table::Choice;
use crate::solve::search::tier::plates::PlateFacts;
use crate::solve::search::tier::{Aim, Interval, LaidOut, Leaf, Settled, ShimGroup, Tier};

/// What is picked so far: places in the lists of a tier.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
struct Path {
    tier: u32,
    plate: u32,
    bearing: u32,
    disc: u32,
    class: u32,
    flywheel: u32,
    behind: u32,
    shims: u32,
}

/// Part of a list of what stands before the bell, with shims of one thickness.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
struct Stretch {
    leaf: u32,
    /// Which of equal shims.
    shim: u32,
    by: Choice,
    first: u32,
    end: u32,
    /// Nothing was taken out of it yet, so that the next of equal shims is still to come.
    fresh: bool,
}

/// What is to be done next; of equals the furthest first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
enum Step {
    /// It is a stack: its shims, and its place in a list of what stands before the bell.
    Found {
        leaf: u32,
        shim: u32,
        place: u32,
    },
    Take(Stretch),
    Shims(u32),
    Behind(u32),
    Flywheels(u32),
    Discs(u32),
    Bearings(u32),
    Plates(u32),
}

/// An entry of the queue.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Entry {
    /// No stack of it has a better place.
    bound: Key,
    step: Step,
    path: Path,
    /// What is picked adds this to the key.
    key: Key,
    /// No stack of it has more room, nm.
    room: i64,
}

/// Whether a stack is one that was asked for.
pub(crate) type Accepts<'t> = dyn Fn(&Picks, &Judged) -> Result<bool> + 't;

/// Looks for the best stacks in the lists of some tiers.
pub(crate) struct Queue<'t, 'l, 'n, 'b, 'a> {
    tiers: &'t [LaidOut<'l, 'n, 'b, 'a>],
    entries: BinaryHeap<Reverse<Entry>>,
    /// Where there are more, those are left out that are seen not to be among the best.
    most: usize,
    /// As many stacks as are wanted are known to have no worse key.
    worst: Option<Key>,
    watch: &'t Watch,
    accepts: &'t Accepts<'t>,
}

/// Entries from which on it pays to see which can be left out.
const MANY: usize = 1 << 8;

/// How many stacks are judged at most to see it.
const MOST_SEEN: usize = 16;

/// What the first steps of a path have picked.
struct Clutched<'q, 'n, 'b, 'a> {
    plate: Rc<PlateFacts<'n, 'b, 'a>>,
    bearing: &'q Bearing,
    disc: Disc,
    finger: Finger,
}

impl Clutched<'_, '_, '_, '_> {
    fn class(&self, path: &Path) -> &Class {
        &self.plate.clutch.classes[path.class as usize]
    }

    fn flywheel(&self, path: &Path) -> &Flywheel {
        &self.class(path).flywheels[path.flywheel as usize]
    }

    /// Where what stands between has to stand less the flywheel; `rest` are the errors of both.
    fn interval(&self, aim: Aim, rest: Error) -> Interval {
        let alone = &self.disc.alone;
        let settled = Settled {
            finger: &self.finger,
            at: self.finger.sum.at + alone.at,
            error: Error::of(&self.finger.sum.spread).plus(Error::of(&alone.spread)),
            assumed: self.finger.sum.spread.assumed,
            bearing: self.bearing,
            limits: &self.plate.limits_with(self.disc.pick),
            least_preload: self.plate.least_preload,
        };
        settled.interval(aim, rest)
    }
}

impl<'t, 'l, 'n, 'b, 'a> Queue<'t, 'l, 'n, 'b, 'a> {
    pub(crate) fn new(
        tiers: &'t [LaidOut<'l, 'n, 'b, 'a>],
        watch: &'t Watch,
        accepts: &'t Accepts<'t>,
    ) -> Self {
        let entries = BinaryHeap::new();
        let mut queue = Self { tiers, entries, most: MANY, worst: None, watch, accepts };
        for (index, tier) in (0..).zip(tiers) {
            let grade = if let Aim::Grade(grade) = tier.aim { Some(grade) } else { None };
            let grade = grade.map_or(Key::default(), |grade| tier.lists.layout.grade(grade));
            let path = Path { tier: index, ..Path::default() };
            let key = tier.lists.key + grade;
            queue.push(Entry { bound: key, step: Step::Plates(0), path, key, room: WIDEST });
        }
        queue
    }

    /// The best stacks that are left, the best first.
    pub(crate) fn best(&mut self, top: usize) -> Result<Vec<Picks>> {
        let mut found = Vec::new();
        while found.len() < top {
            self.watch.step(1)?;
            let Some(Reverse(entry)) = self.entries.pop() else { break };
            match entry.step {
                Step::Plates(next) => self.plates(&entry, next),
                Step::Bearings(next) => self.bearings(&entry, next),
                Step::Discs(next) => self.discs(&entry, next),
                Step::Flywheels(next) => self.flywheels(&entry, next),
                Step::Behind(next) => self.behind(&entry, next),
                Step::Shims(next) => self.shims(&entry, next),
                Step::Take(stretch) => found.extend(self.take(&entry, stretch)?),
                Step::Found { leaf, shim, place } => {
                    found.push(self.picks(&entry.path, leaf, shim, place));
                }
            }
            if self.entries.len() > self.most {
                self.leave_out(top - found.len())?;
            }
        }
        Ok(found)
    }

    /// Leaves out what comes behind as many stacks as are still wanted. Bounds are loose until a whole stack
    /// is picked, so that many wait which are already known not to be among the best.
    fn leave_out(&mut self, wanted: usize) -> Result<()> {
        // Of others it is not asked twice whether they are wanted.
        if self.tiers.iter().any(|tier| tier.aim != Aim::Anywhere) {
            self.most = usize::MAX;
            return Ok(());
        }
        let picked = self.entries.iter().map(|Reverse(entry)| entry);
        let picked =
            picked.filter(|entry| matches!(entry.step, Step::Take(_) | Step::Found { .. }));
        let first = picked.k_smallest(MOST_SEEN.max(2 * wanted));
        let mut known = Vec::new();
        for entry in first {
            self.watch.step(1)?;
            match entry.step {
                Step::Found { .. } => known.push(entry.bound),
                Step::Take(stretch) => known.extend(self.seen(entry, stretch)?),
                _ => {}
            }
        }
        known.sort_unstable();
        if let Some(worst) = wanted.checked_sub(1).and_then(|last| known.get(last)).copied() {
            self.worst = Some(self.worst.map_or(worst, |known| known.min(worst)));
            self.entries.retain(|Reverse(entry)| entry.bound <= worst);
        }
        self.most = MANY.max(2 * self.entries.len());
        Ok(())
    }

    /// The key of the best of a stretch, where it is among the near misses that were asked for.
    fn seen(&self, entry: &Entry, stretch: Stretch) -> Result<Option<Key>> {
        let tier = self.tier(&entry.path);
        let Some(clutched) = self.clutched(&entry.path) else { return Ok(None) };
        let leaf = &tier.leaves[&clutched.class(&entry.path).block_plate][stretch.leaf as usize];
        let last = Last::of(tier, &clutched, &entry.path, leaf);
        let place = leaf.ranked.best(stretch.by, (stretch.first, stretch.end));
        let Some(place) = place else { return Ok(None) };
        let judged = Self::judge(&clutched, &last, &entry.path, (stretch.shim, place));
        let picks = self.picks(&entry.path, stretch.leaf, stretch.shim, place);
        let is_wanted = (self.accepts)(&picks, &judged)?;
        Ok(is_wanted.then(|| entry.bound + tier.lists.layout.grade(judged.grade)))
    }

    fn tier(&self, path: &Path) -> &'t Tier<'l, 'n, 'b, 'a> {
        self.tiers[path.tier as usize].tier()
    }

    /// What is left of the budget once something more is picked, cents.
    fn left(&self, entry: &Entry, key: Key) -> Option<u128> {
        self.tier(&entry.path).lists.layout.left(entry.key.high + key.high)
    }

    fn push(&mut self, entry: Entry) {
        if self.worst.is_none_or(|worst| entry.bound <= worst) {
            self.entries.push(Reverse(entry));
        }
    }

    /// Goes through a list in the order of keys, to where something else in the queue comes before it.
    /// `rest` is added at least by what is not picked yet.
    fn go_through<T>(
        &mut self,
        entry: &Entry,
        (list, next): (&[T], u32),
        (key, rest): (impl Fn(&T) -> Key, Key),
        step: impl Fn(u32) -> Step,
        mut each: impl FnMut(&mut Self, u32, &T),
    ) {
        let start = entry.key + rest + self.tier(&entry.path).lists.layout.room(entry.room);
        for (index, item) in (0..).zip(list).skip(next as usize) {
            let bound = start + key(item);
            let is_next = self.entries.peek().is_some_and(|Reverse(next)| next.bound < bound);
            // A search that was asked to stop ends at the next step.
            if is_next || self.watch.is_stopped() {
                self.push(Entry { bound, step: step(index), ..*entry });
                return;
            }
            each(self, index, item);
        }
    }

    /// Puts what one of a list leaves into the queue: it adds `key`, and all that is left at least
    /// `rest.0`, with no more room than `rest.1`.
    fn offer(
        &mut self,
        entry: &Entry,
        path: Path,
        key: Key,
        rest: Option<(u128, i64)>,
        step: Step,
    ) {
        let Some((rest, room)) = rest else { return };
        let (key, room) = (entry.key + key, room.min(entry.room));
        let room_key = self.tier(&path).lists.layout.room(room);
        let bound = key + Key { high: rest, low: 0 } + room_key;
        self.push(Entry { bound, step, path, key, room });
    }

    fn plates(&mut self, entry: &Entry, next: u32) {
        let tier = self.tier(&entry.path);
        let rest = tier.least.bearing + tier.least.disc + tier.least.flywheel + tier.least.rest;
        let list = (tier.plates.as_slice(), next);
        self.go_through(
            entry,
            list,
            (|(_, key)| *key, rest),
            Step::Plates,
            |queue, index, (pick, key)| {
                if let Some(facts) = tier.plate(*pick) {
                    let path = Path { plate: index, ..entry.path };
                    let room = tier.most_room(&facts);
                    queue.offer(
                        entry,
                        path,
                        *key,
                        room.map(|room| (rest.high, room)),
                        Step::Bearings(0),
                    );
                }
            },
        );
    }

    fn facts(&self, path: &Path) -> Option<Rc<PlateFacts<'n, 'b, 'a>>> {
        let tier = self.tier(path);
        tier.plate(tier.plates[path.plate as usize].0)
    }

    fn bearings(&mut self, entry: &Entry, next: u32) {
        let tier = self.tier(&entry.path);
        let Some(facts) = self.facts(&entry.path) else { return };
        let rest = facts.least_disc + facts.least_flywheel + tier.least.rest;
        let bearing = |place: &u32| &tier.bearings[*place as usize];
        let list = (facts.bearings.as_slice(), next);
        self.go_through(
            entry,
            list,
            (|place| bearing(place).key, rest),
            Step::Bearings,
            |queue, _, place| {
                let bearing = bearing(place);
                let Some(met) = tier.plate_meets(facts.pick, bearing) else { return };
                let path = Path { bearing: *place, ..entry.path };
                let spent = entry.key + met + bearing.key;
                let spent = spent.high + facts.cheapest_disc;
                let left = tier.lists.layout.left(spent);
                let best = tier.best_with(&facts, bearing, left);
                let best = best.map(|(key, room)| (key + facts.least_disc.high, room));
                queue.offer(entry, path, met + bearing.key, best, Step::Discs(0));
            },
        );
    }

    fn discs(&mut self, entry: &Entry, next: u32) {
        let tier = self.tier(&entry.path);
        let Some(facts) = self.facts(&entry.path) else { return };
        let bearing = &tier.bearings[entry.path.bearing as usize];
        let rest = facts.least_flywheel + tier.least.rest;
        let discs = Rc::clone(&facts.discs);
        let list = (discs.list.as_slice(), next);
        self.go_through(entry, list, (|one| one.key, rest), Step::Discs, |queue, index, disc| {
            for class in facts.classes() {
                let Some(finger) = facts.finger(tier, class, disc) else { continue };
                let plate = Rc::clone(&facts);
                let clutched = Clutched { plate, bearing, disc: *disc, finger };
                let reach = tier.whole(&facts.clutch, class, bearing);
                let interval = clutched.interval(tier.aim, reach.error);
                let best = reach.best(&interval, tier.lists.layout, queue.left(entry, disc.key));
                let path = Path { disc: index, class: class as u32, ..entry.path };
                queue.offer(entry, path, disc.key, best, Step::Flywheels(0));
            }
        });
    }

    /// What a path has picked up to its disc.
    fn clutched(&self, path: &Path) -> Option<Clutched<'t, 'n, 'b, 'a>> {
        let tier = self.tier(path);
        let plate = self.facts(path)?;
        let disc = plate.discs.list[path.disc as usize];
        let finger = plate.finger(tier, path.class as usize, &disc)?;
        let bearing = &tier.bearings[path.bearing as usize];
        Some(Clutched { plate, bearing, disc, finger })
    }

    fn flywheels(&mut self, entry: &Entry, next: u32) {
        let tier = self.tier(&entry.path);
        let Some(clutched) = self.clutched(&entry.path) else { return };
        let class = clutched.class(&entry.path);
        let (plate, disc) = (clutched.plate.pick, clutched.disc.pick);
        let (behind, shims) = (clutched.bearing.behind, clutched.bearing.shims);
        let flywheels = Rc::clone(&class.flywheels);
        let list = (flywheels.as_slice(), next);
        let key = |one: &Flywheel| one.item.key;
        self.go_through(
            entry,
            list,
            (key, tier.least.rest),
            Step::Flywheels,
            |queue, index, one| {
                if !tier.admits_flywheel(class, one) || !tier.hub_clears(one.item.pick, disc, plate)
                {
                    return;
                }
                let reach = tier.rest((class.block_plate, one.bound, behind, shims));
                let interval = clutched.interval(tier.aim, reach.error.plus(one.item.error));
                let left = queue.left(entry, one.item.key);
                let interval = interval.less(-one.item.sum.at);
                let best = reach.best(&interval, tier.lists.layout, left);
                let path = Path { flywheel: index, ..entry.path };
                queue.offer(entry, path, one.item.key, best, Step::Behind(0));
            },
        );
    }

    fn behind(&mut self, entry: &Entry, next: u32) {
        let tier = self.tier(&entry.path);
        let Some(clutched) = self.clutched(&entry.path) else { return };
        let (class, flywheel) = (clutched.class(&entry.path), clutched.flywheel(&entry.path));
        let reach = tier.under_shims(class.block_plate, flywheel.bound, clutched.bearing.shims);
        let rest = Key { high: reach.least_of_all(), low: 0 };
        let list = (tier.behind[clutched.bearing.behind].as_slice(), next);
        let key = |one: &Behind| one.item.key;
        self.go_through(entry, list, (key, rest), Step::Behind, |queue, index, one| {
            let error = reach.error.plus(flywheel.item.error).plus(one.item.error);
            let interval = clutched.interval(tier.aim, error);
            let interval = interval.less(one.item.sum.at - flywheel.item.sum.at);
            let left = queue.left(entry, one.item.key);
            let best = reach.best(&interval, tier.lists.layout, left);
            let path = Path { behind: index, ..entry.path };
            queue.offer(entry, path, one.item.key, best, Step::Shims(0));
        });
    }

    fn shims(&mut self, entry: &Entry, next: u32) {
        let tier = self.tier(&entry.path);
        let Some(clutched) = self.clutched(&entry.path) else { return };
        let sort = clutched.class(&entry.path).block_plate;
        let leaves = tier.leaves.get(&sort).map_or(&[][..], Vec::as_slice);
        let Some(rest) = leaves.iter().map(|leaf| leaf.least).min() else { return };
        let list = (tier.shims[clutched.bearing.shims].as_slice(), next);
        let key = |group: &ShimGroup| group.items[0].key;
        self.go_through(entry, list, (key, rest), Step::Shims, |queue, index, _| {
            let path = Path { shims: index, ..entry.path };
            for (number, leaf) in (0..).zip(leaves) {
                let last = Last::of(tier, &clutched, &path, leaf);
                for (by, low, high) in last.pieces(tier) {
                    let (first, end) = leaf.ranked.between(low, high);
                    let stretch = Stretch { leaf: number, shim: 0, by, first, end, fresh: true };
                    queue.offer_stretch(entry, path, &last, stretch);
                }
            }
        });
    }

    /// Puts a stretch into the queue by the best that is in it.
    fn offer_stretch(&mut self, entry: &Entry, path: Path, last: &Last<'_>, stretch: Stretch) {
        let Some(best) = last.leaf.ranked.best(stretch.by, (stretch.first, stretch.end)) else {
            return;
        };
        let Some(shim) = last.shims.items.get(stretch.shim as usize) else { return };
        let at = last.leaf.ranked.at[best as usize];
        let layout = self.tier(&path).lists.layout;
        let room = layout.room(last.interval.room(at));
        let bound = entry.key + shim.key + last.leaf.ranked.key[best as usize] + room;
        // All that is left of the stretch costs as much.
        if !layout.by_room && layout.left(bound.high).is_none() {
            if stretch.fresh {
                let next = Stretch { shim: stretch.shim + 1, ..stretch };
                self.offer_stretch(entry, path, last, next);
            }
            return;
        }
        self.push(Entry { bound, step: Step::Take(stretch), path, ..*entry });
    }

    /// Takes the best out of a stretch, and gives it back where it is a stack that was asked for.
    fn take(&mut self, entry: &Entry, stretch: Stretch) -> Result<Option<Picks>> {
        let (tier, path) = (self.tier(&entry.path), entry.path);
        let Some(clutched) = self.clutched(&path) else { return Ok(None) };
        let sort = clutched.class(&path).block_plate;
        let leaf = &tier.leaves[&sort][stretch.leaf as usize];
        let last = Last::of(tier, &clutched, &path, leaf);
        let Some(place) = leaf.ranked.best(stretch.by, (stretch.first, stretch.end)) else {
            return Ok(None);
        };
        self.offer_stretch(entry, path, &last, Stretch { end: place, fresh: false, ..stretch });
        let behind = Stretch { first: place + 1, fresh: false, ..stretch };
        self.offer_stretch(entry, path, &last, behind);
        if stretch.fresh {
            let next = Stretch { shim: stretch.shim + 1, ..stretch };
            self.offer_stretch(entry, path, &last, next);
        }
        let judged = Self::judge(&clutched, &last, &path, (stretch.shim, place));
        let picks = self.picks(&path, stretch.leaf, stretch.shim, place);
        match tier.aim {
            Aim::Grade(grade) if judged.grade != grade => Ok(None),
            _ if !(self.accepts)(&picks, &judged)? => Ok(None),
            Aim::Grade(_) => Ok(Some(picks)),
            Aim::Anywhere => {
                // Its grade was not counted yet.
                let bound = entry.bound + tier.lists.layout.grade(judged.grade);
                let (leaf, shim) = (stretch.leaf, stretch.shim);
                self.push(Entry { bound, step: Step::Found { leaf, shim, place }, ..*entry });
                Ok(None)
            }
        }
    }

    fn judge(
        clutched: &Clutched<'_, '_, '_, '_>,
        last: &Last<'_>,
        path: &Path,
        (shim, place): (u32, u32),
    ) -> Judged {
        let flywheel = clutched.flywheel(path);
        let tips = clutched.finger.sum.plus(&clutched.disc.alone).plus(&flywheel.item.sum);
        let before = &last.strand.items[last.leaf.items[place as usize] as usize];
        // Shims that are alike in thickness and u may differ in what is assumed of them.
        let shims = &last.shims.items[shim as usize];
        let rest = before.sum.plus(&last.behind.item.sum).plus(&shims.sum);
        let limits = clutched.plate.limits_with(clutched.disc.pick);
        judge(&clutched.finger, &tips, &clutched.bearing.ends, &rest, &limits)
    }

    /// The candidates of a whole stack.
    fn picks(&self, path: &Path, leaf: u32, shim: u32, place: u32) -> Picks {
        let tier = self.tier(path);
        let (lists, slots) = (tier.lists, &tier.lists.numbers.slots);
        let mut picks = vec![0; lists.numbers.candidates.slots.len()];
        for (slot, pick) in lists.frame_picks() {
            picks[slot] = pick;
        }
        let Some(clutched) = self.clutched(path) else { return picks };
        let class = clutched.class(path);
        picks[slots.plate] = clutched.plate.pick;
        picks[slots.disc] = clutched.disc.pick;
        picks[slots.flywheel] = clutched.flywheel(path).item.pick;
        picks[slots.bearing] = clutched.bearing.pick;
        let group = &tier.shims[clutched.bearing.shims][path.shims as usize];
        picks[slots.shims] = group.items[shim as usize].pick;
        let behind = &tier.behind[clutched.bearing.behind][path.behind as usize];
        let leaf = &tier.leaves[&class.block_plate][leaf as usize];
        let before = &lists.strands[leaf.strand].items[leaf.items[place as usize] as usize];
        for (list, tuple) in [(&slots.before, before.pick), (&slots.behind, behind.item.pick)] {
            for (slot, pick) in list.iter().zip(lists.tuple(tuple)) {
                picks[*slot] = *pick;
            }
        }
        picks
    }
}

/// The last list with all that is picked before it.
struct Last<'q> {
    leaf: &'q Leaf,
    strand: &'q Strand,
    behind: &'q Behind,
    shims: &'q ShimGroup,
    /// Where what stands before the bell has to stand.
    interval: Interval,
    /// Where starter and shaft let it stand.
    within: (i64, i64),
}

impl<'q> Last<'q> {
    fn of(
        tier: &'q Tier<'_, '_, '_, '_>,
        clutched: &Clutched<'_, '_, '_, '_>,
        path: &Path,
        leaf: &'q Leaf,
    ) -> Self {
        let flywheel = clutched.flywheel(path);
        let behind = &tier.behind[clutched.bearing.behind][path.behind as usize];
        let shims = &tier.shims[clutched.bearing.shims][path.shims as usize];
        let strand = &tier.lists.strands[leaf.strand];
        let error = leaf.error.plus(shims.error).plus(behind.item.error).plus(flywheel.item.error);
        let interval = clutched.interval(tier.aim, error);
        let interval = interval.less(shims.at + behind.item.sum.at - flywheel.item.sum.at);
        let starter = tier.within_starter(leaf.strand, flywheel.starter);
        let shaft = tier.within_shaft(leaf.strand, behind);
        let within = (starter.0.max(shaft.0), starter.1.min(shaft.1));
        Self { leaf, strand, behind, shims, interval, within }
    }

    /// The positions that may be taken, in pieces of which each has one way to choose the best.
    fn pieces(&self, tier: &Tier<'_, '_, '_, '_>) -> Vec<(Choice, i64, i64)> {
        let interval = &self.interval;
        let (low, high) = (interval.low.max(self.within.0), interval.high.min(self.within.1));
        let middle = interval.middle();
        if tier.by_room {
            return vec![
                (Choice::Last, low, high.min(middle)),
                (Choice::First, low.max(middle + 1), high),
            ];
        }
        let enough = tier.lists.layout.enough.max(0);
        let (full_low, full_high) = (interval.edge_low + enough, interval.edge_high - enough);
        vec![
            (Choice::Plain, low.max(full_low), high.min(full_high)),
            (Choice::Rising, low, high.min(middle).min(full_low - 1)),
            (Choice::Falling, low.max(middle + 1).max(full_high + 1), high),
        ]
    }
}
