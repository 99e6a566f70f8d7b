//! The best stacks that differ from what is fitted in one slot or in two.
//!
//! Candidates of a slot that show the same faces are a group. Two groups make a block: whether its
//! stacks mate is found out once, and a bound says which place the best of them may have. Blocks go by
//! the best first, and so do the candidates within one: what comes behind as many stacks as are wanted
//! is never looked at. Where changes are counted all are looked at, in the same way.

mod sides;

use std::cell::RefCell;

use itertools::Itertools as _;
use rustc_hash::{FxHashMap, FxHashSet};

use crate::error::Result;
use crate::model::kinds::Joint;
use crate::solve::ask::{Ask, Order, Watch};
use crate::solve::numbers::faces::{Meeting, unverified};
use crate::solve::numbers::{Judged, Numbers, Picks};
use crate::solve::search::key::{Key, Layout};
use crate::stack::checks::rules::Scope;
use crate::stack::cost::ToBuy;
use crate::stack::grade::Grade;
use sides::{Miss, Sides};

/// A slot with a candidate that stands there instead of what is fitted.
type Swap = (usize, u32);

/// The candidates that stand where something else than what is fitted does: two, and a disc that leaves
/// with a matched set.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
struct Changed {
    all: [(u16, u32); 3],
    count: u16,
}

impl Changed {
    fn of(swaps: impl IntoIterator<Item = Swap>) -> Self {
        let mut changed = Self::default();
        swaps.into_iter().for_each(|swap| changed.push(swap));
        changed
    }

    fn push(&mut self, (slot, pick): Swap) {
        self.all[usize::from(self.count)] = (slot as u16, pick);
        self.count += 1;
    }

    fn iter(&self) -> impl Iterator<Item = Swap> {
        self.all[..usize::from(self.count)].iter().map(|(slot, pick)| (usize::from(*slot), *pick))
    }

    fn pick(&self, slot: usize) -> Option<u32> {
        self.iter().find(|(own, _)| *own == slot).map(|(_, pick)| pick)
    }
}

/// Of so many pairs of candidates at most each is judged, so that those that would do can be counted.
const MOST_COUNTED: usize = 1 << 20;

/// Changes of what is fitted, out of some candidates.
pub(crate) struct Changes<'c, 'b, 'a> {
    pub(crate) numbers: &'c Numbers<'b, 'a>,
    pub(crate) ask: &'c Ask,
    pub(crate) layout: &'c Layout,
    /// What is fitted, as candidates.
    pub(crate) base: Picks,
    /// The place of the empty slot among the discs.
    pub(crate) no_disc: Option<u32>,
    /// The grade of what is fitted, and whether it fails a check.
    pub(crate) now: (Grade, bool),
    pub(crate) watch: &'c Watch,
}

/// What was found.
pub(crate) struct Found {
    /// The best, the best first.
    pub(crate) best: Vec<Picks>,
    /// Changes and pairs of changes that can be judged, and those of them that would be listed; none where
    /// pairs were not counted.
    pub(crate) counts: Option<(u128, u128)>,
}

/// Candidates of one slot that show the same faces, in the order of what they add to a key.
#[derive(Default)]
struct Group {
    /// None where nothing is changed.
    slot: Option<usize>,
    /// What each adds to a key, and its place among the slot's candidates.
    members: Vec<(Key, u32)>,
    /// The best grade that a stack with one of them may have.
    best: Grade,
}

/// All stacks with a candidate out of each of two groups; they mate alike.
struct Block<'g> {
    groups: [&'g Group; 2],
    /// What is in the key of each.
    key: Key,
    /// The best grade that one of them may have.
    best: Grade,
    /// None of them comes before this place.
    bound: Key,
}

/// The best so far, and how many there were.
struct Best {
    /// The best first.
    known: Vec<(Key, Changed)>,
    /// So many are wanted.
    most: usize,
    /// What comes behind as many as are wanted is not looked at.
    prunes: bool,
    /// What cannot be listed is looked at too.
    counts: bool,
    /// Changes that can be judged.
    tried: u128,
    /// Those of them that would be listed.
    good: u128,
    /// Candidates that would do alone.
    singles: FxHashSet<Swap>,
}

impl Best {
    /// Whether a place is behind those that are wanted.
    fn has_better_than(&self, key: Key) -> bool {
        let last = self.known.get(self.most.wrapping_sub(1));
        self.most == 0 || last.is_some_and(|(last, _)| key >= *last)
    }

    fn skips(&self, bound: Key) -> bool {
        self.prunes && self.has_better_than(bound)
    }

    fn add(&mut self, key: Key, changed: Changed) {
        if !self.has_better_than(key) {
            let place = self.known.partition_point(|known| *known < (key, changed));
            self.known.insert(place, (key, changed));
            self.known.truncate(self.most);
        }
    }
}

impl Changes<'_, '_, '_> {
    /// The best single changes and pairs of changes; of a pair neither alone would do. Where single
    /// changes are enough, pairs are not looked at.
    pub(crate) fn best(&self) -> Result<Found> {
        let by_changes = self.ask.order == Order::Changes;
        // Of a chance the key says nothing.
        let most = if self.ask.order == Order::Chance { usize::MAX } else { self.ask.top };
        let mut best = Best {
            known: Vec::new(),
            most,
            // In any other order all that would do alone has to be known: no pair is made of it.
            prunes: by_changes && !self.ask.counts,
            counts: self.ask.counts,
            tried: 0,
            good: 0,
            singles: FxHashSet::default(),
        };
        let search = Search::new(self);
        let mut groups: Vec<Vec<Group>> = (0..self.base.len()).map(|s| self.groups(s)).collect();
        search
            .go_through(groups.iter().flatten().map(|group| [group, &search.nothing]), &mut best)?;
        let enough = by_changes && best.good >= most as u128;
        for (slot, groups) in groups.iter_mut().enumerate() {
            for group in groups.iter_mut() {
                group.members.retain(|(_, pick)| !best.singles.contains(&(slot, *pick)));
            }
            groups.retain(|group| !group.members.is_empty());
        }
        let left: Vec<usize> =
            groups.iter().map(|groups| groups.iter().map(|g| g.members.len()).sum()).collect();
        let candidates = left.iter().array_combinations().map(|[one, two]| one * two);
        let counted = self.ask.counts && candidates.sum::<usize>() <= MOST_COUNTED;
        if !enough {
            (best.prunes, best.counts) = (!counted, counted);
            let slots = groups.iter().array_combinations();
            let pairs = slots.flat_map(|[one, two]| one.iter().cartesian_product(two));
            search.go_through(pairs.map(|(one, two)| [one, two]), &mut best)?;
        }
        Ok(Found {
            best: best.known.iter().map(|(_, changed)| self.picks(changed)).collect(),
            counts: (self.ask.counts && (enough || counted)).then_some((best.tried, best.good)),
        })
    }

    /// The candidates of a slot but for what is fitted, by what they show.
    fn groups(&self, slot: usize) -> Vec<Group> {
        let numbers = self.numbers;
        // A disc leaves with the set that takes its place, and is no change of its own.
        let no_disc = self.no_disc.filter(|_| slot == numbers.slots.disc);
        let mut groups: FxHashMap<_, Vec<(Key, u32)>> = FxHashMap::default();
        let all = 0..numbers.candidates.slots[slot].len() as u32;
        for pick in all.filter(|pick| *pick != self.base[slot] && Some(*pick) != no_disc) {
            // A matched set never looks like a plate.
            let sort = numbers.sort(slot, pick);
            let best = numbers.best_with(slot, pick);
            let alike = (numbers.faces.look(slot, pick), sort, best);
            groups.entry(alike).or_default().push((self.key((slot, pick)), pick));
        }
        let group = |((.., best), mut members): ((_, _, Grade), Vec<_>)| {
            members.sort_unstable();
            Group { slot: Some(slot), members, best }
        };
        groups.into_iter().map(group).collect()
    }

    /// What a candidate adds to a key.
    fn key(&self, (slot, pick): Swap) -> Key {
        self.layout.candidate(slot, &self.numbers.worth[slot][pick as usize])
    }

    /// Some swaps, and the disc that a matched set takes out; none where no stack can be made of them.
    fn completed(&self, swaps: impl IntoIterator<Item = Swap>) -> Option<Changed> {
        let slots = &self.numbers.slots;
        let mut changed = Changed::of(swaps);
        let at = |changed: &Changed, slot: usize| changed.pick(slot).unwrap_or(self.base[slot]);
        let is_set = self.numbers.plates[at(&changed, slots.plate) as usize].is_set;
        // A matched set takes the disc's place too, and that is one change.
        if is_set && changed.pick(slots.disc).is_none() {
            let none = self.no_disc?;
            if none != self.base[slots.disc] {
                changed.push((slots.disc, none));
            }
        }
        let disc = self.numbers.fill(slots.disc, at(&changed, slots.disc));
        (disc.is_empty() == is_set).then_some(changed)
    }

    fn picks(&self, changed: &Changed) -> Picks {
        let mut picks = self.base.clone();
        changed.iter().for_each(|(slot, pick)| picks[slot] = pick);
        picks
    }

    fn looks(&self, changed: &Changed) -> Vec<(usize, u32)> {
        let look = |(slot, pick)| (slot, self.numbers.faces.look(slot, pick));
        self.picks(changed).into_iter().enumerate().map(look).collect()
    }

    /// Whether the budget allows for a stack.
    fn affords(&self, changed: &Changed) -> bool {
        self.ask.budget.is_none_or(|budget| {
            let worth = self.picks(changed).into_iter().zip(&self.numbers.worth);
            let to_buy =
                worth.fold(ToBuy::default(), |sum, (pick, list)| sum + list[pick as usize].to_buy);
            to_buy.unpriced == 0 && to_buy.amount <= budget
        })
    }

    /// Whether a stack of a grade would be listed, as far as `fails` says whether it fails a check: it has
    /// to be better than the job as it is, and of a job that fails a check any that passes is.
    fn is_enough(&self, grade: Grade, fails: impl FnOnce() -> bool) -> bool {
        let (now, now_fails) = self.now;
        match grade < now {
            true if self.ask.show_failed => true,
            better => (better || now_fails) && !fails(),
        }
    }
}

/// One search among changes.
struct Search<'s, 'c, 'b, 'a> {
    changes: &'s Changes<'c, 'b, 'a>,
    sides: Sides<'s, 'c, 'b, 'a>,
    /// Whether the checks of a scope fail with what is changed of its slots, where that is one at most.
    fails: RefCell<FxHashMap<(Scope, Changed), bool>>,
    /// By slot: the joints in which it takes part, as bits.
    joints: Vec<u8>,
    /// How what is fitted meets at each joint.
    met: [Meeting; 8],
    /// No change.
    nothing: Group,
}

impl<'s, 'c, 'b, 'a> Search<'s, 'c, 'b, 'a> {
    fn new(changes: &'s Changes<'c, 'b, 'a>) -> Self {
        let faces = &changes.numbers.faces;
        let joints = |slot: usize| {
            let all = Joint::ALL.iter().filter(|joint| faces.takes_part(slot, **joint));
            all.fold(0, |bits, joint| bits | joint.bit())
        };
        let looks = changes.looks(&Changed::default());
        Self {
            changes,
            sides: Sides::new(changes),
            fails: RefCell::default(),
            joints: (0..changes.base.len()).map(joints).collect(),
            met: Joint::ALL.map(|joint| faces.meet(&looks, joint)),
            nothing: Group { members: vec![(Key::default(), 0)], ..Group::default() },
        }
    }

    /// Looks at all stacks of pairs of groups.
    fn go_through<'g>(
        &self,
        pairs: impl Iterator<Item = [&'g Group; 2]>,
        best: &mut Best,
    ) -> Result<()> {
        let blocks = pairs.filter_map(|groups| self.block(groups, best.counts));
        let mut blocks: Vec<Block<'g>> = blocks.collect();
        blocks.sort_by_key(|block| block.bound);
        for block in blocks {
            if best.skips(block.bound) {
                break;
            }
            self.go_into(&block, best)?;
        }
        Ok(())
    }

    /// The stacks of two groups, if they mate and, unless all are counted, may be listed.
    fn block<'g>(&self, mut groups: [&'g Group; 2], all: bool) -> Option<Block<'g>> {
        let (changes, numbers) = (self.changes, self.changes.numbers);
        // A plate goes first, so that what it asks for is looked up once.
        if groups[1].slot == Some(numbers.slots.plate) {
            groups.swap(0, 1);
        }
        let [Some(one), Some(two)] = groups.map(|group| group.members.first()) else { return None };
        let of_first = |(group, (_, pick)): (&&Group, &(Key, u32))| Some((group.slot?, *pick));
        let swaps = groups.iter().zip([one, two]).filter_map(of_first);
        let changed = changes.completed(swaps)?;
        let unverified = self.unverified(&changed)?;
        let slots = groups.map(|group| group.slot);
        if !all && (self.sides.is_outside(slots) || self.fails_beside(&changed)) {
            return None;
        }
        let picks = changes.picks(&changed).into_iter().enumerate();
        let stays = picks.filter(|(slot, _)| !slots.contains(&Some(*slot)));
        let key = changes.layout.unverified(unverified);
        let key = stays.fold(key, |sum, swap| sum + changes.key(swap));
        let best = groups[0].best.max(groups[1].best).max(self.sides.best(slots));
        let bound = key + changes.layout.grade(best) + one.0 + two.0;
        Some(Block { groups, key, best, bound })
    }

    /// At how many joints a face is not verified; none where known faces clash.
    fn unverified(&self, changed: &Changed) -> Option<u32> {
        let looks = self.changes.looks(changed);
        let touched = changed.iter().fold(0, |bits, (slot, _)| bits | self.joints[slot]);
        let meeting = |(joint, met): (Joint, Meeting)| {
            let is_touched = touched & joint.bit() != 0;
            if is_touched { self.changes.numbers.faces.meet(&looks, joint) } else { met }
        };
        unverified(Joint::ALL.into_iter().zip(self.met).map(meeting))
    }

    /// Looks at all stacks of a block.
    fn go_into(&self, block: &Block<'_>, best: &mut Best) -> Result<()> {
        let changes = self.changes;
        let [one, two] = block.groups;
        let own = one.slot.unwrap_or_default();
        let Some((first, _)) = two.members.first() else { return Ok(()) };
        for (key, pick) in &one.members {
            changes.watch.step(two.members.len() as u64)?;
            let key = block.key + *key;
            if best.skips(key + *first + changes.layout.grade(block.best)) {
                break;
            }
            let Some((grade, outside)) = self.sides.alone((own, *pick), two.slot) else { continue };
            if outside && !best.counts {
                continue;
            }
            let grade = changes.layout.grade(block.best.max(grade));
            let mut is_known_to_pass = best.counts || two.slot.is_none();
            for (more, second) in &two.members {
                let (key, other) = (key + *more, two.slot.map(|slot| (slot, *second)));
                if best.skips(key + grade) {
                    break;
                }
                let found = self.sides.judge((own, *pick), other);
                best.tried += u128::from(found != Err(Miss::NoRoute));
                let Ok((judged, outside)) = found else { continue };
                if outside || !judged.grade.in_window() || judged.grade > changes.ask.at_least {
                    continue;
                }
                let key =
                    key + changes.layout.grade(judged.grade) + changes.layout.room(judged.room);
                if best.skips(key) {
                    continue;
                }
                if !is_known_to_pass && self.fails_apart((own, *pick), two.slot) {
                    break;
                }
                is_known_to_pass = true;
                let swaps = [Some((own, *pick)), other].into_iter().flatten();
                let Some(changed) = changes.completed(swaps) else { continue };
                let fails = || self.fails(&changed, &judged);
                if changes.affords(&changed) && changes.is_enough(judged.grade, fails) {
                    best.good += 1;
                    best.add(key, changed);
                    if other.is_none() {
                        best.singles.insert((own, *pick));
                    }
                }
            }
        }
        Ok(())
    }

    /// Whether a stack fails a check.
    fn fails(&self, changed: &Changed, judged: &Judged) -> bool {
        Scope::ALL.into_iter().any(|scope| self.fails_in(scope, changed, judged.preload))
    }

    /// Whether every stack with some change fails a check that it does not touch, where that counts.
    fn fails_beside(&self, changed: &Changed) -> bool {
        let settles =
            |scope| changed.iter().any(|(slot, _)| self.changes.numbers.settles(slot, scope));
        !self.changes.ask.show_failed
            && self.fails_one_of(&Changed::default(), |scope| !settles(scope))
    }

    /// Whether a change fails a check whatever else is changed in another slot, where that counts.
    fn fails_apart(&self, swap: Swap, other: Option<usize>) -> bool {
        let Some(changed) = self.changes.completed([swap]) else { return false };
        let settles = |scope| other.is_some_and(|slot| self.changes.numbers.settles(slot, scope));
        !self.changes.ask.show_failed && self.fails_one_of(&changed, |scope| !settles(scope))
    }

    /// Whether a check that is settled without the preload fails, of the scopes that are asked for.
    fn fails_one_of(&self, changed: &Changed, is_asked: impl Fn(Scope) -> bool) -> bool {
        let scopes = Scope::ALL.into_iter().filter(|scope| *scope != Scope::Preload);
        scopes.filter(|scope| is_asked(*scope)).any(|scope| self.fails_in(scope, changed, 0))
    }

    fn fails_in(&self, scope: Scope, changed: &Changed, preload: i64) -> bool {
        let numbers = self.changes.numbers;
        let own = Changed::of(changed.iter().filter(|(slot, _)| numbers.settles(*slot, scope)));
        let found = || numbers.fails_in(scope, &self.changes.picks(&own), preload);
        if own.count > 1 || scope == Scope::Preload {
            return found();
        }
        *self.fails.borrow_mut().entry((scope, own)).or_insert_with(found)
    }
}
