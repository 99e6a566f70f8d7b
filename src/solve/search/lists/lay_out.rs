//! How the lists of a frame are laid out.

use itertools::Itertools as _;
use rustc_hash::FxHashMap;

use super::{Bearing, Behind, Flywheel, Item, Lists, Met, Strand};
use crate::error::Result;
use crate::solve::ask::Watch;
use crate::solve::numbers::Sort;
use crate::solve::numbers::checks::{Checks, Starter};
use crate::solve::search::apart::Apart;
use crate::solve::search::error::Error;
use crate::stack::checks::inputs::{Input, Values};
use crate::stack::checks::rules::Scope;
use crate::stack::choice::{Choice, Fill};

impl<'a> Lists<'_, '_, 'a> {
    fn keep_tuple(&mut self, picks: &[(usize, u32)]) -> u32 {
        self.tuples.push(picks.iter().map(|(_, pick)| *pick).collect());
        self.tuples.len() as u32 - 1
    }

    /// A choice of the frame with nothing in the slots before and behind the bell.
    fn bare(&self) -> Choice<'a> {
        let slots = &self.numbers.slots;
        let mut choice = self.numbers.choice(&self.frame_picks());
        for slot in slots.before.iter().chain(&slots.behind) {
            choice.fills[*slot] = Fill::empty();
        }
        choice
    }

    pub(super) fn lay_out_behind(&mut self, watch: &Watch) -> Result<()> {
        let numbers = self.numbers;
        let slots = &numbers.slots;
        let mut met = Met::default();
        let mut sets: FxHashMap<u64, Vec<Behind>> = FxHashMap::default();
        let tip = Apart::new(numbers, self.bare(), &slots.behind, Input::Tip);
        for picks in self.ways(&slots.behind) {
            watch.step(1)?;
            let Some(key) = self.meet_once(&mut met, &picks, &numbers.joints.behind) else {
                continue;
            };
            let Some(sum) = self.sum(&picks) else { continue };
            let Some(stays) = numbers.stays_behind(picks.iter().copied()) else { continue };
            let key = key + self.candidates(&picks);
            let item = Item::new(sum, key, self.keep_tuple(&picks), false);
            sets.entry(stays).or_default().push(Behind { item, shaft: tip.more(&picks) });
        }
        let sets = sets.into_iter().sorted_unstable_by_key(|(stays, _)| *stays);
        self.behind = sets
            .map(|(_, mut list)| {
                list.sort_unstable_by_key(|behind| behind.item.key);
                list
            })
            .collect();
        Ok(())
    }

    pub(super) fn lay_out_before(&mut self, values: &Values, watch: &Watch) -> Result<()> {
        let numbers = self.numbers;
        let slots = &numbers.slots;
        let apart = |choice, input| Apart::new(numbers, choice, &slots.before, input);
        let (plates, tip) = (apart(self.bare(), Input::Plates), apart(self.bare(), Input::Tip));
        // What stays has not moved, whether it is known or not.
        let shift = apart(numbers.choice(&self.frame_picks()), Input::PlatesShift);
        let crank = |pick: u32| numbers.crank(self.frame[0], pick);
        let cranks: Vec<Option<i64>> =
            (0..numbers.spacers[slots.block_plate].len() as u32).map(crank).collect();
        let place = slots.before.iter().position(|slot| *slot == slots.block_plate);
        let mut strands: FxHashMap<(Sort, Option<i64>, Option<i64>), Vec<Item>> =
            FxHashMap::default();
        let mut met = Met::default();
        let mut fail: FxHashMap<Option<i64>, bool> = FxHashMap::default();
        for picks in self.ways(&slots.before) {
            watch.step(1)?;
            let Some(key) = self.meet_once(&mut met, &picks, &numbers.joints.before) else {
                continue;
            };
            let Some(sum) = self.sum(&picks) else { continue };
            let block_plate = place.map_or(0, |place| picks[place].1);
            let Some(sort) = numbers.block_plate_sort(block_plate) else { continue };
            let plates = plates.with(&picks);
            let fails = *fail.entry(plates).or_insert_with(|| {
                let mut values = *values;
                values.set(Input::Plates, plates);
                numbers.checks.fail(Scope::Plates, &values)
            });
            let to_shaft = tip.with(&picks).zip(cranks[block_plate as usize]);
            let to_shaft = to_shaft.map(|(tip, crank)| sum.at - (tip - crank));
            let to_shift = shift.with(&picks).map(|shift| sum.at - shift);
            let key = key + self.candidates(&picks);
            let item = Item::new(sum, key, self.keep_tuple(&picks), fails);
            strands.entry((sort, to_shaft, to_shift)).or_default().push(item);
        }
        let strands = strands.into_iter().sorted_unstable_by_key(|(key, _)| *key);
        self.strands = strands
            .map(|((block_plate, to_shaft, to_shift), mut items)| {
                items.sort_unstable_by_key(|item| (item.sum.at, item.key));
                Strand { block_plate, to_shaft, to_shift, items }
            })
            .collect();
        Ok(())
    }

    pub(super) fn lay_out_bearings(&mut self, watch: &Watch) -> Result<()> {
        let numbers = self.numbers;
        let slots = &numbers.slots;
        // Shims that go with a bearing, by its look and the shims it takes, and by what stays of them.
        let mut known: FxHashMap<(u32, Option<i64>), Vec<(u32, usize)>> = FxHashMap::default();
        let mut kinds: FxHashMap<(u32, Values), usize> = FxHashMap::default();
        let between = slots.before.iter().filter(|slot| **slot != slots.block_plate);
        let summed = |slot: &usize| {
            let pick = numbers.spacers[*slot].iter().position(Option::is_some);
            pick.map(|pick| (*slot, pick as u32))
        };
        let Some(between) = between.map(summed).collect::<Option<Vec<_>>>() else { return Ok(()) };
        for pick in 0..numbers.candidates.slots[slots.bearing].len() as u32 {
            watch.step(1)?;
            let values = numbers.checks.values(&[(slots.bearing, pick)]);
            let look = numbers.faces.look(slots.bearing, pick);
            let kind = *kinds.entry((look, values)).or_insert_with(|| {
                self.bearing_kinds.push(pick);
                self.bearing_kinds.len() - 1
            });
            let key = (look, values.get(Input::MaxShim));
            known.entry(key).or_insert_with(|| self.shim_sets(pick, &values));
            for ((shim, shims), behind) in known[&key]
                .iter()
                .flat_map(|set| (0..self.behind.len()).map(move |one| (*set, one)))
            {
                let tuple = &self.tuples[self.behind[behind][0].item.pick as usize];
                let mut open = between.clone();
                open.extend(slots.behind.iter().copied().zip(tuple.iter().copied()));
                open.push((slots.shims, shim));
                let [_, bell, gearbox] = self.frame;
                let Some(ends) = numbers.ends([bell, gearbox, pick], &open) else { continue };
                let errors = [ends.extended, ends.retracted].map(|end| Error::of(&end.spread));
                let key = self.candidate(slots.bearing, pick);
                self.bearings.push(Bearing { pick, behind, shims, ends, errors, key, kind });
            }
        }
        self.bearings.sort_by_key(|bearing| bearing.key);
        Ok(())
    }

    /// The shims that may stand behind a bearing, apart by what stays fitted of them: for each one that
    /// stands for all, and their list.
    fn shim_sets(&mut self, bearing: u32, values: &Values) -> Vec<(u32, usize)> {
        let numbers = self.numbers;
        let slots = &numbers.slots;
        let mut sets: FxHashMap<u64, Vec<Item>> = FxHashMap::default();
        let mut met = Met::default();
        for (pick, spacer) in (0..).zip(&numbers.spacers[slots.shims]) {
            let picks = [(slots.bearing, bearing), (slots.shims, pick)];
            let Some(spacer) = spacer else { continue };
            let mut values = *values;
            values.set(Input::ShimTotal, numbers.shim_totals[pick as usize]);
            // More shims than a bearing takes are no combination at all.
            if numbers.checks.fail(Scope::BearingAndShims, &values) {
                continue;
            }
            let Some(key) = self.meet_once(&mut met, &picks, &numbers.joints.shims) else {
                continue;
            };
            let key = key + self.candidate(slots.shims, pick);
            let item = Item::new(spacer.sum, key, pick, false);
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

    pub(super) fn lay_out_flywheels(&mut self, watch: &Watch) -> Result<()> {
        let numbers = self.numbers;
        let slots = &numbers.slots;
        let mut met = Met::default();
        let mut choice = numbers.choice(&self.frame_picks());
        for (pick, part) in (0..).zip(&numbers.flywheels) {
            watch.step(1)?;
            let picks = [(slots.engine, self.frame[0]), (slots.flywheel, pick)];
            let Some(part) = part else { continue };
            let Some(key) = self.meet_once(&mut met, &picks[1..], &numbers.joints.flywheel) else {
                continue;
            };
            let mut values = numbers.checks.values(&picks);
            choice.fills[slots.flywheel].clone_from(numbers.fill(slots.flywheel, pick));
            for input in Checks::worked_out(Scope::Flywheel) {
                values.set(*input, numbers.checks.read(&choice, *input));
            }
            let starter = numbers.checks.starter(&choice);
            let fails =
                starter == Starter::Nowhere || numbers.checks.fail(Scope::Flywheel, &values);
            let bound = self.bound(starter);
            let key = key + self.candidate(slots.flywheel, pick);
            let item = Item::new(part.alone, key, pick, fails);
            self.flywheels.push(Flywheel { item, starter, bound });
        }
        Ok(())
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
}
