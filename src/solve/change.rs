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

/// A slot with some of its candidates.
type Swaps<'s> = (usize, &'s [u32]);

/// The candidates that stand where something else than what is fitted does.
type Changed = Vec<(usize, u32)>;

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
    /// Single changes that can be judged.
    pub(crate) tried: u128,
    /// Those of them that are in their window and fail no check.
    pub(crate) good: u128,
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
        let mut found = Found { best: Vec::new(), tried: 0, good: 0 };
        let mut remedies: FxHashSet<(usize, u32)> = FxHashSet::default();
        let mut ranked: BinaryHeap<Reverse<(Key, Picks)>> = BinaryHeap::new();
        let slots = &self.numbers.candidates.slots;
        let swaps = |slot: usize| {
            (0..slots[slot].len() as u32).filter(move |pick| *pick != self.base[slot])
        };
        let all: Vec<Vec<u32>> = (0..slots.len()).map(|slot| swaps(slot).collect()).collect();
        for slot in 0..slots.len() {
            let mut met = FxHashMap::default();
            let mut single = |stack: Option<&Stack>, unverified: u32| {
                found.tried += 1;
                let Some(stack) = stack else { return };
                let (picks, fails) = self.check(stack);
                found.good += u128::from(!fails);
                if self.is_wanted(stack, &picks)
                    && (self.ask.show_failed || !fails)
                    && self.is_better(stack, fails)
                {
                    remedies.insert((slot, picks[slot]));
                    ranked.push(Reverse((self.key(layout, stack, &picks, unverified), picks)));
                }
            };
            self.each(&[(slot, &all[slot])], &mut met, true, &mut single)?;
        }
        let singles = ranked.len();
        let pairs = self.ask.order != Order::Changes || singles < self.ask.top;
        let mut waiting: BinaryHeap<Reverse<(Key, Picks)>> = BinaryHeap::new();
        if pairs {
            let left = |slot: usize| {
                all[slot]
                    .iter()
                    .copied()
                    .filter(|pick| !remedies.contains(&(slot, *pick)))
                    .collect()
            };
            let left: Vec<Vec<u32>> = (0..slots.len()).map(left).collect();
            for [one, two] in (0..slots.len()).array_combinations() {
                if left[one].is_empty() || left[two].is_empty() {
                    continue;
                }
                let mut met = FxHashMap::default();
                let mut pair = |stack: Option<&Stack>, unverified: u32| {
                    let Some(stack) = stack else { return };
                    let picks = self.picks(stack);
                    if self.is_wanted(stack, &picks) && self.is_better(stack, false) {
                        waiting.push(Reverse((self.key(layout, stack, &picks, unverified), picks)));
                    }
                };
                self.each(&[(one, &left[one]), (two, &left[two])], &mut met, false, &mut pair)?;
            }
        }
        // Whether a check fails takes the longest to find out, and is asked of the best alone.
        let most = if self.ask.order == Order::Chance { usize::MAX } else { self.ask.top };
        while found.best.len() < most {
            self.watch.step(1)?;
            let single_first = match (ranked.peek(), waiting.peek()) {
                (None, None) => break,
                (Some(_), None) => true,
                (None, Some(_)) => false,
                (Some(Reverse(single)), Some(Reverse(pair))) => single < pair,
            };
            let next = if single_first { ranked.pop() } else { waiting.pop() };
            let Some(Reverse((_, picks))) = next else { break };
            if single_first || self.passes(&picks) {
                found.best.push(picks);
            }
        }
        Ok(found)
    }

    /// Every stack with changes in some slots that mates and has its routes; those out of their window
    /// without what they come to, and only where `all` are wanted.
    fn each(
        &self,
        swaps: &[Swaps<'_>],
        met: &mut FxHashMap<Vec<u32>, Option<u32>>,
        all: bool,
        each: &mut dyn FnMut(Option<&Stack>, u32),
    ) -> Result<()> {
        let of = |front: bool| {
            swaps
                .iter()
                .filter(|(slot, _)| self.is_front(*slot) == front)
                .copied()
                .collect::<Vec<_>>()
        };
        let (fronts, rears) = (self.fronts(&of(true))?, self.rears(&of(false))?);
        for front in &fronts {
            self.watch.step(1)?;
            for rear in &rears {
                let is_inside = self.is_inside(front, rear);
                if !is_inside && !all {
                    continue;
                }
                let Some(unverified) = self.meet(front, rear, met) else { continue };
                if !is_inside {
                    each(None, unverified);
                    continue;
                }
                let judged =
                    judge(&front.finger, &front.tips, &rear.ends, &rear.sum, &front.limits);
                let changed = front.changed.iter().chain(&rear.changed).copied().collect();
                let stack = Stack { changed, judged, outside: front.finger.outside };
                each(Some(&stack), unverified);
            }
        }
        Ok(())
    }

    fn is_front(&self, slot: usize) -> bool {
        let slots = &self.numbers.slots;
        [slots.engine, slots.flywheel, slots.disc, slots.plate, slots.block_plate].contains(&slot)
    }

    /// Every way to change some slots.
    fn ways<'s>(swaps: &'s [Swaps<'s>]) -> impl Iterator<Item = Changed> + 's {
        let lists = swaps.iter().map(|(_, picks)| picks.iter().copied());
        let slots = swaps.iter().map(|(slot, _)| *slot);
        let zip = move |picks: Vec<u32>| slots.clone().zip(picks).collect();
        lists.multi_cartesian_product().map(zip)
    }

    fn fronts(&self, swaps: &[Swaps<'_>]) -> Result<Vec<Front>> {
        let numbers = self.numbers;
        let slots = &numbers.slots;
        let mut fronts = Vec::new();
        for mut changed in Self::ways(swaps) {
            self.watch.step(1)?;
            let at = |slot: usize| pick_in(&changed, slot).unwrap_or(self.base[slot]);
            let (engine, plate) = (at(slots.engine), at(slots.plate));
            let mut disc = at(slots.disc);
            let is_set = numbers.plates[plate as usize].is_set;
            // A matched set takes the disc's place too, and that is one change.
            if is_set && pick_in(&changed, slots.disc).is_none() {
                let Some(none) = self.no_disc else { continue };
                disc = none;
            }
            if numbers.fill(slots.disc, disc).is_empty() != is_set {
                continue;
            }
            let (flywheel, block_plate) = (at(slots.flywheel), at(slots.block_plate));
            let front = self.front([engine, plate, flywheel, disc, block_plate]);
            let Some((finger, tips)) = front else { continue };
            if disc != self.base[slots.disc] && pick_in(&changed, slots.disc).is_none() {
                changed.push((slots.disc, disc));
            }
            fronts.push(Front { changed, finger, tips, limits: numbers.limits(plate, disc) });
        }
        Ok(fronts)
    }

    fn front(
        &self,
        [engine, plate, flywheel, disc, block_plate]: [u32; 5],
    ) -> Option<(Finger, Sum)> {
        let numbers = self.numbers;
        let sort = numbers.block_plate_sort(block_plate)?;
        let flywheel = numbers.flywheels[flywheel as usize]?;
        let disc = numbers.discs[disc as usize]?;
        let own = numbers.spacers[numbers.slots.block_plate][block_plate as usize]?.sum;
        let open = numbers.finger((engine, plate, flywheel.sort, disc.sort, sort));
        let finger = open.with(&flywheel.gap, &disc.gap)?;
        let tips = finger.sum.plus(&flywheel.alone).plus(&disc.alone).plus(&own.turned());
        Some((finger, tips))
    }

    fn rears(&self, swaps: &[Swaps<'_>]) -> Result<Vec<Rear>> {
        let numbers = self.numbers;
        let slots = &numbers.slots;
        let mut rears = Vec::new();
        for changed in Self::ways(swaps) {
            self.watch.step(1)?;
            let at = |slot: usize| pick_in(&changed, slot).unwrap_or(self.base[slot]);
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

    /// Whether every room is at least nothing.
    fn is_inside(&self, front: &Front, rear: &Rear) -> bool {
        let tips = front.tips.at - rear.sum.at;
        front.limits.set().all(|(edge, limit)| {
            let ends = &rear.ends;
            let value =
                if edge.is_preload() { tips - ends.extended.at } else { ends.retracted.at - tips };
            room_at(edge, *limit, value, front.finger.float) >= 0
        })
    }

    /// At how many joints a face is not verified; none where known faces clash.
    fn meet(
        &self,
        front: &Front,
        rear: &Rear,
        met: &mut FxHashMap<Vec<u32>, Option<u32>>,
    ) -> Option<u32> {
        let faces = &self.numbers.faces;
        let changed = || front.changed.iter().chain(&rear.changed);
        let looks: Vec<u32> = changed().map(|(slot, pick)| faces.look(*slot, *pick)).collect();
        // Which slots are changed is the same in all of one list but for a disc that leaves with a set.
        *met.entry(looks).or_insert_with(|| {
            let mut picks = self.base.clone();
            for (slot, pick) in changed() {
                picks[*slot] = *pick;
            }
            let looks =
                picks.iter().enumerate().map(|(slot, pick)| (slot, faces.look(slot, *pick)));
            faces.meet_all(&looks.collect::<Vec<_>>(), &Joint::ALL)
        })
    }

    fn picks(&self, stack: &Stack) -> Picks {
        let mut picks = self.base.clone();
        for (slot, pick) in &stack.changed {
            picks[*slot] = *pick;
        }
        picks
    }

    /// The candidates of a stack, and whether it fails a check.
    fn check(&self, stack: &Stack) -> (Picks, bool) {
        let picks = self.picks(stack);
        let fails = self.numbers.fails(&picks, stack.judged.preload);
        (picks, fails)
    }

    /// Whether a stack passes its checks as far as that is asked for.
    fn passes(&self, picks: &Picks) -> bool {
        let Some((judged, fails)) = self.numbers.judge(picks) else { return false };
        let better = judged.grade < self.now.0 || (self.now.1 && !fails);
        better && (self.ask.show_failed || !fails)
    }

    /// Whether a stack in its window was asked for, but for its checks.
    fn is_wanted(&self, stack: &Stack, picks: &Picks) -> bool {
        let to_buy = || {
            let worth =
                picks.iter().zip(&self.numbers.worth).map(|(pick, list)| &list[*pick as usize]);
            worth.fold(ToBuy::default(), |sum, worth| sum + worth.to_buy)
        };
        let affords = |budget| {
            let to_buy = to_buy();
            to_buy.unpriced == 0 && to_buy.amount <= budget
        };
        !stack.outside
            && stack.judged.grade.in_window()
            && stack.judged.grade <= self.ask.at_least
            && self.ask.budget.is_none_or(affords)
    }

    /// Whether a stack is better than the job as it is: of a job that fails a check, any that passes is.
    fn is_better(&self, stack: &Stack, fails: bool) -> bool {
        let (grade, now_fails) = self.now;
        stack.judged.grade < grade || (now_fails && !fails)
    }

    fn key(&self, layout: &Layout, stack: &Stack, picks: &Picks, unverified: u32) -> Key {
        let numbers = self.numbers;
        let own = picks.iter().enumerate().map(|(slot, pick)| {
            layout.candidate(slot, *pick, &numbers.worth[slot][*pick as usize])
        });
        let faces = layout.unverified(unverified) + layout.grade(stack.judged.grade);
        own.fold(faces + layout.room(stack.judged.room), |sum, own| sum + own)
    }
}

fn pick_in(changed: &Changed, slot: usize) -> Option<u32> {
    changed.iter().find(|(own, _)| *own == slot).map(|(_, pick)| *pick)
}
