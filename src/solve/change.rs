//! The best stacks that differ from what is fitted in one slot or in two.
//!
//! A stack is judged by its front (engine, block plate, flywheel, disc and plate: where the finger tips
//! stand, and the window) and its rear (all else: where the bearing stands). A change of one slot leaves
//! one of the two as it is, so each is worked out once and every pair of both is only added up.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use itertools::Itertools as _;
use rustc_hash::{FxHashMap, FxHashSet};

use crate::error::Result;
use crate::model::kinds::Joint;
use crate::solve::ask::{Ask, Order, Watch};
use crate::solve::candidates::shims_within;
use crate::solve::numbers::bearing::Ends;
use crate::solve::numbers::finger::Finger;
use crate::solve::numbers::sum::Sum;
use crate::solve::numbers::{Judged, Limits, Numbers, Picks, judge, room_at};
use crate::solve::search::key::{Key, Layout};
use crate::stack::cost::ToBuy;
use crate::stack::grade::Grade;
use crate::stack::window::FloatAllowance;

/// A slot with some of its candidates.
type Swaps<'s> = (usize, &'s [u32]);

/// The candidates that stand where something else than what is fitted does: two, and a disc that leaves
/// with a matched set.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
struct Changed {
    all: [(u16, u32); 3],
    count: u16,
}

impl Changed {
    fn of(picks: impl IntoIterator<Item = (usize, u32)>) -> Self {
        let mut changed = Self::default();
        picks.into_iter().for_each(|(slot, pick)| changed.push(slot, pick));
        changed
    }

    fn push(&mut self, slot: usize, pick: u32) {
        self.all[usize::from(self.count)] = (slot as u16, pick);
        self.count += 1;
    }

    fn iter(&self) -> impl Iterator<Item = (usize, u32)> {
        self.all[..usize::from(self.count)].iter().map(|(slot, pick)| (usize::from(*slot), *pick))
    }

    fn with(&self, other: &Self) -> Self {
        Self::of(self.iter().chain(other.iter()))
    }

    fn pick(&self, slot: usize) -> Option<u32> {
        self.iter().find(|(own, _)| *own == slot).map(|(_, pick)| pick)
    }
}

/// Looks of what is changed, one behind the other with their slots, and at how many joints a face is not
/// verified then; none where known faces clash.
type Met = FxHashMap<u128, Option<u32>>;

/// Stacks that are wanted but for their checks, the best first.
type Ranked = BinaryHeap<Reverse<(Key, Changed)>>;

/// Of so many pairs of candidates at most each is judged, so that those that would do can be counted.
const MOST_COUNTED: usize = 1 << 20;

/// How many stacks wait at most until it is asked which of them pass their checks.
const MOST_WAITING: usize = 1 << 14;

/// What stands before the bearing.
struct Front {
    changed: Changed,
    finger: Finger,
    tips: Sum,
    limits: Limits,
}

/// What the bearing stands on.
struct Rear {
    changed: Changed,
    ends: Ends,
    sum: Sum,
}

/// Changes of what is fitted, out of some candidates.
pub(crate) struct Changes<'c, 'b, 'a> {
    pub(crate) numbers: &'c Numbers<'b, 'a>,
    pub(crate) ask: &'c Ask,
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

/// A stack that is in its window, as far as looked at.
struct Stack {
    changed: Changed,
    judged: Judged,
    outside: bool,
}

impl Changes<'_, '_, '_> {
    /// The best single changes and pairs of changes; of a pair neither alone would do. Where single
    /// changes are enough, pairs are not looked at.
    pub(crate) fn best(&self, layout: &Layout) -> Result<Found> {
        let mut tried = 0_u128;
        let slots = &self.numbers.candidates.slots;
        let swaps = |slot: usize| {
            // A disc leaves with the set that takes its place, and is no change of its own.
            let no_disc = self.no_disc.filter(|_| slot == self.numbers.slots.disc);
            let all = 0..slots[slot].len() as u32;
            all.filter(move |pick| *pick != self.base[slot] && Some(*pick) != no_disc).collect()
        };
        let mut left: Vec<Vec<u32>> = (0..slots.len()).map(swaps).collect();
        let mut remedies: Vec<(Key, Changed)> = Vec::new();
        for (slot, swaps) in left.iter().enumerate() {
            let single = |stack: Option<&Stack>, unverified: u32| {
                tried += 1;
                let Some(stack) = stack.filter(|stack| self.is_wanted(stack)) else {
                    return Ok(());
                };
                if self.is_enough(stack.judged.grade, self.fails(stack)) {
                    remedies.push((self.key(layout, stack, unverified), stack.changed));
                }
                Ok(())
            };
            self.each(&[(slot, swaps)], self.ask.counts, single)?;
        }
        for (slot, left) in left.iter_mut().enumerate() {
            let done: FxHashSet<u32> =
                remedies.iter().filter_map(|(_, changed)| changed.pick(slot)).collect();
            left.retain(|pick| !done.contains(pick));
        }
        let enough = self.ask.order == Order::Changes && remedies.len() >= self.ask.top;
        let mut good = remedies.len() as u128;
        // What waits is held against the worst of the best that are known.
        remedies.sort_unstable();
        let mut ranked = Best { changes: self, known: remedies, waiting: Ranked::new() };
        let slots = (0..slots.len()).array_combinations();
        let pairs =
            slots.filter(|[one, two]| !enough && !left[*one].is_empty() && !left[*two].is_empty());
        let pairs: Vec<_> = pairs.collect();
        let candidates = pairs.iter().map(|[one, two]| left[*one].len() * left[*two].len());
        let counted = self.ask.counts && candidates.sum::<usize>() <= MOST_COUNTED;
        for [one, two] in pairs {
            let pair = |stack: Option<&Stack>, unverified: u32| {
                tried += 1;
                let Some(stack) = stack.filter(|stack| self.is_wanted(stack)) else {
                    return Ok(());
                };
                // Where nothing is counted, checks are left to those that would be among the best.
                let fails = counted && self.fails(stack);
                if !self.is_enough(stack.judged.grade, fails) {
                    return Ok(());
                }
                good += 1;
                ranked.wait(self.key(layout, stack, unverified), stack.changed)
            };
            self.each(&[(one, &left[one]), (two, &left[two])], counted, pair)?;
        }
        ranked.settle()?;
        let best = ranked.known.iter().take(self.most());
        Ok(Found {
            best: best.map(|(_, changed)| self.picks(changed)).collect(),
            counts: (self.ask.counts && (enough || counted)).then_some((tried, good)),
        })
    }

    fn fails(&self, stack: &Stack) -> bool {
        self.numbers.fails(&self.picks(&stack.changed), stack.judged.preload)
    }

    /// How many stacks are wanted; of a chance the key says nothing.
    fn most(&self) -> usize {
        if self.ask.order == Order::Chance { usize::MAX } else { self.ask.top }
    }

    /// Every stack with changes in some slots that mates and has its routes; those out of their window
    /// without what they come to, and only where `all` are wanted.
    fn each(
        &self,
        swaps: &[Swaps<'_>],
        all: bool,
        mut each: impl FnMut(Option<&Stack>, u32) -> Result<()>,
    ) -> Result<()> {
        let mut met = Met::default();
        let (front, rear): (Vec<_>, Vec<_>) =
            swaps.iter().copied().partition(|(slot, _)| self.is_front(*slot));
        let rears = self.rears(&rear)?;
        let fronts = self.fronts(&front, (!all).then_some(&rears), &mut met)?;
        for front in &fronts {
            self.watch.step(1)?;
            for rear in &rears {
                let is_inside = is_inside(&front.limits, front.tips.at, front.finger.float, rear);
                if !is_inside && !all {
                    continue;
                }
                let changed = front.changed.with(&rear.changed);
                let Some(unverified) = self.meet(&changed, &mut met) else { continue };
                if !is_inside {
                    each(None, unverified)?;
                    continue;
                }
                let judged =
                    judge(&front.finger, &front.tips, &rear.ends, &rear.sum, &front.limits);
                each(Some(&Stack { changed, judged, outside: front.finger.outside }), unverified)?;
            }
        }
        Ok(())
    }

    fn is_front(&self, slot: usize) -> bool {
        let slots = &self.numbers.slots;
        [slots.engine, slots.flywheel, slots.disc, slots.plate, slots.block_plate].contains(&slot)
    }

    /// Every way to change some slots, two at most.
    fn ways<'s>(swaps: &'s [Swaps<'s>]) -> impl Iterator<Item = Changed> + 's {
        let all = |at: usize| {
            let (slot, picks) = swaps.get(at).copied().unwrap_or((0, &[]));
            let picks = picks.iter().map(move |pick| Some((slot, *pick)));
            picks.chain((at >= swaps.len()).then_some(None))
        };
        all(0).flat_map(move |one| all(1).map(move |two| Changed::of(one.into_iter().chain(two))))
    }

    /// What stands before the bearing; where the rears are given, only what may be in its window with one
    /// of them.
    fn fronts(
        &self,
        swaps: &[Swaps<'_>],
        rears: Option<&Vec<Rear>>,
        met: &mut Met,
    ) -> Result<Vec<Front>> {
        let numbers = self.numbers;
        let slots = &numbers.slots;
        let mut fronts = Vec::new();
        // Plates go by one after the other, so that what one of them asks for is looked up once.
        let mut swaps = swaps.to_vec();
        swaps.sort_by_key(|(slot, _)| *slot != slots.plate);
        let mut last = None;
        for mut changed in Self::ways(&swaps) {
            self.watch.step(1)?;
            let at = |slot: usize| changed.pick(slot).unwrap_or(self.base[slot]);
            let (engine, plate) = (at(slots.engine), at(slots.plate));
            let mut disc = at(slots.disc);
            let is_set = numbers.plates[plate as usize].is_set;
            // A matched set takes the disc's place too, and that is one change.
            if is_set && changed.pick(slots.disc).is_none() {
                let Some(none) = self.no_disc else { continue };
                disc = none;
            }
            if numbers.fill(slots.disc, disc).is_empty() != is_set {
                continue;
            }
            let (flywheel, block_plate) = (at(slots.flywheel), at(slots.block_plate));
            if disc != self.base[slots.disc] && changed.pick(slots.disc).is_none() {
                changed.push(slots.disc, disc);
            }
            if swaps.len() > 1 && self.meet(&changed, met).is_none() {
                continue;
            }
            let limits = numbers.limits(plate, disc);
            let Some(sort) = numbers.block_plate_sort(block_plate) else { continue };
            let own = numbers.spacers[slots.block_plate][block_plate as usize];
            let parts = numbers.flywheels[flywheel as usize].zip(numbers.discs[disc as usize]);
            let (Some((flywheel, disc)), Some(own)) = (parts, own) else { continue };
            let key = (engine, plate, flywheel.sort, disc.sort, sort);
            let open = match &last {
                Some((known, open)) if *known == key => open,
                _ => &last.insert((key, numbers.finger(key))).1,
            };
            let alone = flywheel.alone.plus(&disc.alone).plus(&own.sum.turned());
            let may_be_inside = |rears: &Vec<Rear>| {
                open.positions(&flywheel.gap, &disc.gap).any(|(at, float)| {
                    rears.iter().any(|rear| is_inside(&limits, at + alone.at, float, rear))
                })
            };
            if rears.is_some_and(|rears| !may_be_inside(rears)) {
                continue;
            }
            let Some(finger) = open.with(&flywheel.gap, &disc.gap) else { continue };
            let tips = finger.sum.plus(&alone);
            fronts.push(Front { changed, finger, tips, limits });
        }
        Ok(fronts)
    }

    fn rears(&self, swaps: &[Swaps<'_>]) -> Result<Vec<Rear>> {
        let numbers = self.numbers;
        let slots = &numbers.slots;
        let mut rears = Vec::new();
        for changed in Self::ways(swaps) {
            self.watch.step(1)?;
            let at = |slot: usize| changed.pick(slot).unwrap_or(self.base[slot]);
            let fills = [slots.bearing, slots.shims].map(|slot| numbers.fill(slot, at(slot)));
            if !shims_within(fills[0], fills[1]) {
                continue;
            }
            let between = slots.before.iter().filter(|slot| **slot != slots.block_plate);
            let open = between.chain(&slots.behind).chain([&slots.shims]);
            let open: Vec<(usize, u32)> = open.map(|slot| (*slot, at(*slot))).collect();
            let sums = open.iter().map(|(slot, pick)| numbers.spacers[*slot][*pick as usize]);
            let sum = sums
                .map(|own| own.map(|own| own.sum))
                .fold_options(Sum::default(), |all, own| all.plus(&own));
            let Some(sum) = sum else { continue };
            let fixed = [slots.bell, slots.gearbox, slots.bearing].map(at);
            let Some(ends) = numbers.ends(fixed, &open) else { continue };
            rears.push(Rear { changed, ends, sum });
        }
        Ok(rears)
    }

    /// At how many joints a face is not verified; none where known faces clash.
    fn meet(&self, changed: &Changed, met: &mut Met) -> Option<u32> {
        let faces = &self.numbers.faces;
        let look = |(slot, pick)| (slot, faces.look(slot, pick));
        // Slots are fewer than sixteen, and changes three at most.
        let key = changed
            .iter()
            .map(look)
            .fold(0, |key, (slot, look)| key << 36 | (slot as u128 + 1) << 32 | u128::from(look));
        *met.entry(key).or_insert_with(|| {
            let looks = self.picks(changed).into_iter().enumerate().map(look);
            faces.meet_all(&looks.collect::<Vec<_>>(), &Joint::ALL)
        })
    }

    fn picks(&self, changed: &Changed) -> Picks {
        let mut picks = self.base.clone();
        changed.iter().for_each(|(slot, pick)| picks[slot] = pick);
        picks
    }

    /// Whether a stack in its window was asked for, but for its checks.
    fn is_wanted(&self, stack: &Stack) -> bool {
        let affords = |budget| {
            let worth = self.picks(&stack.changed).into_iter().zip(&self.numbers.worth);
            let to_buy =
                worth.fold(ToBuy::default(), |sum, (pick, list)| sum + list[pick as usize].to_buy);
            to_buy.unpriced == 0 && to_buy.amount <= budget
        };
        !stack.outside
            && stack.judged.grade.in_window()
            && stack.judged.grade <= self.ask.at_least
            && self.ask.budget.is_none_or(affords)
    }

    /// Whether a stack is better than the job as it is, and passes its checks where that is asked for: of a
    /// job that fails a check, any that passes is better.
    fn is_enough(&self, grade: Grade, fails: bool) -> bool {
        let (now, now_fails) = self.now;
        (self.ask.show_failed || !fails) && (grade < now || (now_fails && !fails))
    }

    fn key(&self, layout: &Layout, stack: &Stack, unverified: u32) -> Key {
        let own = |(slot, pick): (usize, u32)| {
            layout.candidate(slot, pick, &self.numbers.worth[slot][pick as usize])
        };
        let fitted = (0..).zip(self.base.iter().copied());
        let stays = fitted.filter(|(slot, _)| stack.changed.pick(*slot).is_none());
        let faces = layout.unverified(unverified) + layout.grade(stack.judged.grade);
        let rest = faces + layout.room(stack.judged.room);
        stays.chain(stack.changed.iter()).map(own).fold(rest, |sum, own| sum + own)
    }
}

/// The best stacks so far. Whether a check fails takes the longest to find out, and is asked of those alone
/// that would be among them.
struct Best<'c, 'd, 'b, 'a> {
    changes: &'c Changes<'d, 'b, 'a>,
    /// Those that are known to pass their checks, always the best first.
    known: Vec<(Key, Changed)>,
    waiting: Ranked,
}

impl Best<'_, '_, '_, '_> {
    fn wait(&mut self, key: Key, changed: Changed) -> Result<()> {
        let last = self.known.get(self.changes.most().wrapping_sub(1));
        if last.is_none_or(|(last, _)| key < *last) {
            self.waiting.push(Reverse((key, changed)));
        }
        if self.waiting.len() < MOST_WAITING { Ok(()) } else { self.settle() }
    }

    /// Finds out which of those that wait are among the best.
    fn settle(&mut self) -> Result<()> {
        let (changes, most) = (self.changes, self.changes.most());
        while let Some(Reverse(next)) = self.waiting.pop() {
            changes.watch.step(1)?;
            let place = self.known.partition_point(|known| *known < next);
            if place >= most {
                break;
            }
            let judged = changes.numbers.judge(&changes.picks(&next.1));
            if judged.is_some_and(|(judged, fails)| changes.is_enough(judged.grade, fails)) {
                self.known.insert(place, next);
            }
        }
        self.waiting.clear();
        self.known.truncate(most);
        Ok(())
    }
}

/// Whether every room is at least nothing.
fn is_inside(limits: &Limits, tips: i64, float: FloatAllowance, rear: &Rear) -> bool {
    let tips = tips - rear.sum.at;
    limits.set().all(|(edge, limit)| {
        let ends = &rear.ends;
        let value =
            if edge.is_preload() { tips - ends.extended.at } else { ends.retracted.at - tips };
        room_at(edge, *limit, value, float) >= 0
    })
}
