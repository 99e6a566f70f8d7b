//! What stands behind the fingers, counted by position.
//!
//! The additive slots but the shims are folded one after another (the middle), then shims are laid
//! behind each bearing, and each bearing with one way through the routes becomes a component.

use std::collections::{BTreeMap, HashMap};
use std::rc::Rc;

use crate::error::Result;
use crate::model::job::StarterOn;
use crate::model::kinds::Joint;
use crate::solve::compact::Rec;
use crate::solve::count::Frame;
use crate::solve::count::class::{Behind, Bias, Class, Component};
use crate::solve::histogram::{Counts, convolved, merged};
use crate::solve::verdict::NONE;

impl Frame<'_, '_, '_> {
    /// Every bearing with everything behind it, by route.
    pub(super) fn components(&mut self) -> Result<Vec<Component>> {
        let compact = self.compact;
        let named = compact.named;
        let middle = self.middle()?;
        let mut components = Vec::new();
        // Bearings of the same faces and shim limit take the same shims.
        let groups = self.face_groups(named.bearing);
        let mut behind: HashMap<(u32, Option<i64>), Rc<Vec<Behind>>> = HashMap::new();
        let fitted = compact.fitted_shift();
        for (b, group) in groups.into_iter().enumerate() {
            self.watch.step(1)?;
            let key = (group, compact.bearings[b].max_shim);
            let all = if let Some(all) = behind.get(&key) {
                Rc::clone(all)
            } else {
                let all = Rc::new(self.behind(&middle, b)?);
                behind.insert(key, Rc::clone(&all));
                all
            };
            let bell = compact.linear[named.bell][self.pick(named.bell)];
            let gearbox = compact.linear[named.gearbox][self.pick(named.gearbox)];
            let stays = [named.bell, named.gearbox]
                .iter()
                .any(|slot| compact.common[*slot][self.pick(*slot)].stays)
                || compact.common[named.bearing][b].stays;
            for (bias, number, counts) in all.iter() {
                let mut ends = [None, None];
                for (end, found) in ends.iter_mut().enumerate() {
                    let (m, c) = (compact.bearings[b].m[end], compact.bearings[b].c[end]);
                    let total = |own: Option<Rec>, bell: Option<Rec>, gearbox: Option<Rec>| {
                        Some(own?.plus(bell?).plus(gearbox?))
                    };
                    let (m, c) = (total(m, bell.m, gearbox.m), total(c, bell.c, gearbox.c));
                    let route = bias.and(Bias::of(c, m, stays)).route();
                    *found = route.and_then(|measured| {
                        if measured { m.map(|rec| rec.pos - fitted) } else { c.map(|rec| rec.pos) }
                    });
                }
                if let [Some(extended), Some(retracted)] = ends {
                    components.push(Component {
                        bearing: b,
                        ends: [extended, retracted],
                        counts: Rc::clone(counts),
                        all: *number,
                    });
                }
            }
        }
        Ok(components)
    }

    /// The additive slots but the shims, by class and position: block plate, bell spacer and gearbox
    /// spacer first, as their sums are what dowels, starter and pilot ask for.
    fn middle(&mut self) -> Result<BTreeMap<Class, Counts>> {
        let slots = self.middle_slots();
        let mut folded: BTreeMap<Class, Counts> = BTreeMap::new();
        folded.insert(Class::start(), vec![(0, 1)]);
        for (at, slot) in slots.iter().enumerate() {
            let groups = self.grouped(*slot);
            let mut next: BTreeMap<Class, Counts> = BTreeMap::new();
            for (class, counts) in &folded {
                for (face, known, bias, own) in &groups {
                    self.watch.step(own.len() as u64)?;
                    if !self.fits(&slots, &class.faces, *face) {
                        continue;
                    }
                    let mut class = class.clone();
                    class.bias = class.bias.and(*bias);
                    class.faces.push(*face);
                    class.known &= known;
                    next.entry(class).or_default().extend(convolved(counts, own));
                }
            }
            folded.clear();
            for (class, counts) in next {
                for (pos, count) in merged(counts) {
                    let class = self.judged(&class, at, pos);
                    folded.entry(class).or_default().push((pos, count));
                }
            }
        }
        let mut classes: BTreeMap<Class, Counts> = BTreeMap::new();
        for (mut class, counts) in folded {
            for (face, slot) in class.faces.iter_mut().zip(&slots) {
                *face = self.seat_face(*slot, *face);
            }
            classes.entry(class).or_default().extend(counts);
        }
        Ok(classes.into_iter().map(|(class, counts)| (class, merged(counts))).collect())
    }

    /// The slots of the middle, in the order in which [`Frame::judged`] expects their sums.
    fn middle_slots(&self) -> Vec<usize> {
        let named = self.compact.named;
        let mut slots = vec![named.block_plate, named.bell_spacer, named.gearbox_spacer];
        let others = self.compact.additive.iter().copied();
        let taken = slots.clone();
        slots.extend(others.filter(|slot| !taken.contains(slot) && *slot != named.shims));
        slots
    }

    /// A slot's candidates by faces, by whether their thickness is known, and by bias.
    fn grouped(&self, slot: usize) -> Vec<(u32, bool, Bias, Counts)> {
        let compact = self.compact;
        let faces = self.face_groups(slot);
        let mut groups: BTreeMap<(u32, bool, Bias), Counts> = BTreeMap::new();
        for (index, linear) in compact.linear[slot].iter().enumerate() {
            let bias = if compact.inside[slot] {
                Bias::of(linear.c, linear.m, compact.common[slot][index].stays)
            } else {
                Bias::of(linear.c, linear.c, false)
            };
            let key = (faces[index], linear.thickness.is_some(), bias);
            let pos = linear.c.map_or(0, |rec| rec.pos);
            groups.entry(key).or_default().push((pos, 1));
        }
        let list = groups.into_iter();
        list.map(|((face, known, bias), counts)| (face, known, bias, merged(counts))).collect()
    }

    /// Whether one more candidate mates with those that stand for what was folded so far.
    fn fits(&mut self, slots: &[usize], faces: &[u32], face: u32) -> bool {
        for (slot, face) in slots.iter().zip(faces.iter().chain([&face])) {
            self.picks[*slot] = *face;
        }
        let fits = !self.clash(&Joint::ALL);
        for slot in slots {
            self.picks[*slot] = NONE;
        }
        fits
    }

    /// The class once the checks that hang on the sum so far have spoken: after the bell spacer
    /// dowels and starter, after the gearbox spacer the pilot.
    fn judged(&self, class: &Class, at: usize, pos: i64) -> Class {
        let mut class = class.clone();
        let e = self.pick(self.compact.named.engine);
        let sum = Some(pos).filter(|_| class.known);
        if at == 1 {
            class.starter = self.starter_class(sum);
            class.holds &= !self.compact.block_fails(e, sum);
        } else if at == 2 {
            class.holds &= !self.tip_fails(e, sum);
        }
        class
    }

    /// What of a position the starter check can tell apart.
    fn starter_class(&self, plates: Option<i64>) -> Option<i64> {
        let compact = self.compact;
        match compact.bench.job.starter_on {
            _ if compact.fitted.flywheel.is_none() => None,
            StarterOn::Block => None,
            StarterOn::Bell => plates,
            // Moved at all, or not: only that counts where nobody told what the starter hangs on.
            StarterOn::Unknown if plates == compact.fitted.plates => None,
            StarterOn::Unknown => Some(i64::MIN),
        }
    }

    /// Pilot and shaft, for what stands between the block and the gearbox beside the bell housing.
    fn tip_fails(&self, e: usize, between: Option<i64>) -> bool {
        let compact = self.compact;
        let named = compact.named;
        let there = |slot: usize| !compact.candidates.slots[slot][self.pick(slot)].parts.is_empty();
        let reach =
            |slot: usize| compact.linear[slot][self.pick(slot)].thickness.filter(|_| there(slot));
        let tip = (|| Some(between? + reach(named.bell)? - reach(named.gearbox)?))();
        tip.is_some_and(|tip| compact.tip_fails(e, tip))
    }

    /// Only what shows at the bearing's joints still matters behind; the rest is forgotten.
    fn seat_face(&self, slot: usize, face: u32) -> u32 {
        let faces = self.compact.shown(slot, face);
        let matters = faces.iter().any(|face| matches!(face.joint, Joint::Seat | Joint::Contact));
        if matters { face } else { NONE }
    }

    /// Everything that may stand behind one bearing: the middle with its shims.
    fn behind(&mut self, middle: &BTreeMap<Class, Counts>, bearing: usize) -> Result<Vec<Behind>> {
        let compact = self.compact;
        let named = compact.named;
        self.picks[named.bearing] = bearing as u32;
        let mut classes: BTreeMap<Bias, (u128, BTreeMap<Option<i64>, Counts>)> = BTreeMap::new();
        let others = self.middle_slots();
        let groups = self.face_groups(named.shims);
        let mut by_faces: HashMap<Vec<u32>, Vec<(Bias, Counts)>> = HashMap::new();
        for (class, counts) in middle {
            for (slot, face) in others.iter().zip(&class.faces) {
                self.picks[*slot] = *face;
            }
            if !by_faces.contains_key(&class.faces) {
                let shims = self.shims(bearing, &groups);
                by_faces.insert(class.faces.clone(), shims);
            }
            for (own, shims) in &by_faces[&class.faces] {
                self.watch.step(1)?;
                let entry = classes.entry(class.bias.and(*own)).or_default();
                let total = |counts: &Counts| counts.iter().map(|(_, n)| n).sum::<u128>();
                entry.0 += total(counts) * total(shims);
                if class.holds {
                    let both = convolved(counts, shims);
                    entry.1.entry(class.starter).or_default().extend(both);
                }
            }
        }
        for slot in others.iter().chain([&named.bearing]) {
            self.picks[*slot] = NONE;
        }
        let merge = |counts: BTreeMap<Option<i64>, Counts>| {
            counts.into_iter().map(|(starter, counts)| (starter, merged(counts))).collect()
        };
        let list = classes.into_iter();
        Ok(list.map(|(bias, (all, counts))| (bias, all, Rc::new(merge(counts)))).collect())
    }

    /// The shim picks that fit behind a bearing, by bias and position.
    fn shims(&mut self, bearing: usize, groups: &[u32]) -> Vec<(Bias, Counts)> {
        let compact = self.compact;
        let named = compact.named;
        let mut mates: HashMap<u32, bool> = HashMap::new();
        let mut found: BTreeMap<Bias, Counts> = BTreeMap::new();
        for (index, linear) in compact.linear[named.shims].iter().enumerate() {
            let fits = *mates.entry(groups[index]).or_insert_with(|| {
                self.picks[named.shims] = groups[index];
                let clash = Joint::ALL.iter().any(|joint| compact.clashes(&self.picks, *joint));
                self.picks[named.shims] = NONE;
                !clash
            });
            if fits && compact.shims_within(bearing, index) {
                let stays = compact.common[named.shims][index].stays;
                let bias = Bias::of(linear.c, linear.m, stays);
                let pos = linear.c.map_or(0, |rec| rec.pos);
                found.entry(bias).or_default().push((pos, 1));
            }
        }
        found.into_iter().map(|(bias, counts)| (bias, merged(counts))).collect()
    }
}
