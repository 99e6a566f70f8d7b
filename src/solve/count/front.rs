//! What stands before the bearing: which flywheels and discs go together, and where they put the fingers.

use std::collections::{BTreeMap, HashMap};
use std::rc::Rc;

use crate::error::Result;
use crate::model::kinds::Joint;
use crate::solve::count::class::Component;
use crate::solve::count::{Frame, Mating};
use crate::solve::verdict::NONE;

impl Frame<'_, '_, '_> {
    /// The flywheels and the discs that mate under the picked plate, of this group of faces.
    pub(super) fn mating(&mut self, group: u32, p: usize) -> usize {
        let compact = self.compact;
        let named = compact.named;
        let set = compact.plates[p].pack.is_some();
        if let Some(known) = self.mating.get(&(group, set)) {
            return *known;
        }
        let flywheels = self.fitting(named.flywheel, &[Joint::Crank, Joint::Cover]);
        let mut discs = self.fitting(named.disc, &[Joint::Diameter, Joint::Spline]);
        discs.retain(|d| compact.discs[*d].none == set);
        let mating = Mating { flywheels, discs };
        let known = self.matings.iter().position(|known| **known == mating);
        let place = known.unwrap_or_else(|| {
            self.matings.push(Rc::new(mating));
            self.matings.len() - 1
        });
        self.mating.insert((group, set), place);
        place
    }

    /// The candidates of a slot that mate with what is picked.
    fn fitting(&mut self, slot: usize, joints: &[Joint]) -> Vec<usize> {
        let groups = self.face_groups(slot);
        let mut mates: HashMap<u32, bool> = HashMap::new();
        let mut fitting = Vec::new();
        for (index, group) in groups.into_iter().enumerate() {
            let mate = *mates.entry(group).or_insert_with(|| {
                self.picks[slot] = group;
                let clash = self.clash(joints);
                self.picks[slot] = NONE;
                !clash
            });
            if mate {
                fitting.push(index);
            }
        }
        fitting
    }

    /// Whether a measured clutch sum may be used: then each flywheel and disc is worked out by
    /// itself, as the route hangs on all three.
    pub(super) fn is_measured(&self) -> bool {
        self.compact.bench.job.measures_clutch()
    }

    /// How many flywheels and discs mate under the picked plate and can be summed up.
    pub(super) fn front_count(&mut self, group: u32, p: usize) -> Result<u128> {
        let e = self.pick(self.compact.named.engine);
        let place = self.mating(group, p);
        let mating = Rc::clone(&self.matings[place]);
        let Mating { flywheels, discs } = mating.as_ref();
        let works = |f: usize, d: usize| self.compact.front((e, f, d, p)).is_some();
        if !self.is_measured() {
            // Without a measured clutch a candidate works or fails by itself.
            let one = flywheels.first().zip(discs.first()).is_some_and(|(f, d)| works(*f, *d));
            return Ok(if one { flywheels.len() as u128 * discs.len() as u128 } else { 0 });
        }
        let mut count = 0;
        for f in flywheels {
            self.watch.step(discs.len() as u64)?;
            count += discs.iter().filter(|d| works(*f, **d)).count() as u128;
        }
        Ok(count)
    }

    /// Flywheels by the starter positions that they pass at.
    pub(super) fn starters(&self, components: &[Component]) -> Vec<(Vec<Option<i64>>, Vec<bool>)> {
        let compact = self.compact;
        let mut positions: Vec<Option<i64>> =
            components.iter().flat_map(|one| one.counts.keys().copied()).collect();
        positions.sort_unstable();
        positions.dedup();
        let mut sets: BTreeMap<Vec<Option<i64>>, Vec<bool>> = BTreeMap::new();
        for f in 0..compact.flywheels.len() {
            let e = self.pick(compact.named.engine);
            let passes: Vec<Option<i64>> = positions
                .iter()
                .copied()
                .filter(|plates| !compact.starter_fails(e, f, self.plates_for(*plates)))
                .collect();
            sets.entry(passes).or_insert_with(|| vec![false; compact.flywheels.len()])[f] = true;
        }
        sets.into_iter().filter(|(passes, _)| !passes.is_empty()).collect()
    }

    /// The thickness that stands for a class of starter positions.
    fn plates_for(&self, class: Option<i64>) -> Option<i64> {
        class.or(self.compact.fitted.plates)
    }

    /// Where the fingers stand, flywheel by flywheel. Flat flywheels differ only by thickness, so
    /// one of them is worked out for all.
    pub(super) fn fingers(
        &self,
        e: usize,
        flywheels: &[usize],
        d: usize,
        p: usize,
    ) -> impl Fn(usize) -> Option<i64> {
        let compact = self.compact;
        let is_measured = self.is_measured();
        let crank = compact.crank(e);
        let flat = |f: usize| compact.flywheels[f].step.value == 0 && !is_measured;
        let above =
            |f: usize| Some(compact.clutch_pos(f, d, p)? - compact.flywheels[f].thickness?.value);
        let base = flywheels.iter().find(|f| flat(**f)).and_then(|f| Some(crank? + above(*f)?));
        move |f| {
            if is_measured {
                return compact.front((e, f, d, p)).map(|front| front.pos);
            }
            if compact.flywheels[f].step.value == 0 {
                return Some(base? + compact.flywheels[f].thickness?.value);
            }
            Some(crank? + compact.clutch_pos(f, d, p)?)
        }
    }
}
