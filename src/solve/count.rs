//! How many combinations there are and how many of them hold, exactly, without walking them all.
//!
//! Both halves of the stack are counted by position: the additive slots by convolution, then every
//! flywheel, disc and plate against the running totals of what stands behind them.

use std::collections::{BTreeMap, HashMap};
use std::rc::Rc;

use crate::error::Result;
use crate::model::job::StarterOn;
use crate::model::kinds::Joint;
use crate::solve::ask::Watch;
use crate::solve::candidates::shims_within;
use crate::solve::compact::{Compact, Rec};
use crate::solve::histogram::{Counts, Histogram, convolved, merged};
use crate::solve::verdict::NONE;

/// The two counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Tally {
    /// Combinations whose known faces mate and that can be summed up.
    pub considered: u128,
    /// Those of them that are in the window and fail no check.
    pub in_window: u128,
}

/// Counts the combinations of the candidates.
///
/// # Errors
///
/// Only that the work was interrupted.
pub fn count(compact: &Compact<'_, '_>, watch: &Watch) -> Result<Tally> {
    let mut tally = Tally::default();
    let named = compact.named;
    let sizes = |slot: usize| 0..compact.common[slot].len();
    for e in sizes(named.engine) {
        for bell in sizes(named.bell) {
            for gearbox in sizes(named.gearbox) {
                let mut picks = vec![NONE; compact.common.len()];
                picks[named.engine] = e as u32;
                picks[named.bell] = bell as u32;
                picks[named.gearbox] = gearbox as u32;
                let clash = Joint::ALL.iter().any(|joint| compact.clashes(&picks, *joint));
                watch.step(1)?;
                if !clash {
                    Frame { compact, watch, picks }.count(&mut tally)?;
                }
            }
        }
    }
    Ok(tally)
}

/// How a rear candidate bears on which route is used: the variance that measuring saves, and
/// whether each route works at all.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
struct Bias {
    delta: i128,
    measured: bool,
    catalogued: bool,
    stays: bool,
}

impl Bias {
    const NONE: Self = Self { delta: 0, measured: true, catalogued: true, stays: false };

    fn and(self, other: Self) -> Self {
        Self {
            delta: self.delta + other.delta,
            measured: self.measured && other.measured,
            catalogued: self.catalogued && other.catalogued,
            stays: self.stays || other.stays,
        }
    }

    fn of(c: Option<Rec>, m: Option<Rec>, stays: bool) -> Self {
        let delta = c.zip(m).map_or(0, |(c, m)| m.v - c.v);
        Self { delta, measured: m.is_some(), catalogued: c.is_some(), stays }
    }

    /// Which route is used, if any: the measured one on a tie.
    fn route(self) -> Option<bool> {
        match (self.measured && self.stays, self.catalogued) {
            (true, true) => Some(self.delta <= 0),
            (true, false) => Some(true),
            (false, true) => Some(false),
            (false, false) => None,
        }
    }
}

/// What is told apart among combinations of the additive slots but the shims.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
struct Class {
    bias: Bias,
    /// Block plate and bell spacer, as far as the starter's position hangs on them.
    starter: Option<i64>,
    /// Dowels and pilot hold.
    holds: bool,
    /// Every thickness so far is known.
    known: bool,
    /// Representative candidates, for the faces that a bearing or shim still has to mate with.
    faces: Vec<u32>,
}

impl Class {
    fn start() -> Self {
        Self { bias: Bias::NONE, starter: None, holds: true, known: true, faces: Vec::new() }
    }
}

/// Counts by starter position.
type ByStarter = BTreeMap<Option<i64>, Counts>;

/// What may stand behind a bearing: its bias, how much it is, and what holds its checks.
type Behind = (Bias, u128, Rc<ByStarter>);

/// One bearing with one way through the routes.
struct Component {
    bearing: usize,
    /// Positions of both ends less the additive slots.
    ends: [i64; 2],
    /// Of the additive slots that hold their checks: starter position and counts.
    counts: Rc<ByStarter>,
    /// All of them, holding or not.
    all: u128,
}

struct Frame<'s, 'b, 'a> {
    compact: &'s Compact<'b, 'a>,
    watch: &'s Watch,
    picks: Vec<u32>,
}

impl Frame<'_, '_, '_> {
    fn pick(&self, slot: usize) -> usize {
        self.picks[slot] as usize
    }

    fn count(&mut self, tally: &mut Tally) -> Result<()> {
        let components = self.components()?;
        if components.is_empty() {
            return Ok(());
        }
        let named = self.compact.named;
        let starters = self.starters(&components);
        // Plates that the same bearings may meet share their running totals.
        let mut sharing: BTreeMap<Vec<bool>, Vec<usize>> = BTreeMap::new();
        for p in 0..self.compact.plates.len() {
            self.picks[named.plate] = p as u32;
            let clash = self.clash(&[Joint::Spline]);
            let meets: Vec<bool> =
                components.iter().map(|one| !clash && self.meets(p, one.bearing)).collect();
            if meets.iter().any(|meets| *meets) {
                let behind: u128 = components
                    .iter()
                    .zip(&meets)
                    .map(|(one, meets)| if *meets { one.all } else { 0 })
                    .sum();
                tally.considered += behind * self.front_count(p)?;
                let holds: Vec<bool> = components
                    .iter()
                    .zip(&meets)
                    .map(|(one, meets)| *meets && !self.compact.contact_fails(p, one.bearing))
                    .collect();
                if !self.compact.plate_fails(p, i64::MAX) {
                    sharing.entry(holds).or_default().push(p);
                }
            }
            self.picks[named.plate] = NONE;
        }
        for (holds, plates) in sharing {
            for (passes, flywheels) in &starters {
                let chosen = Chosen::all(&components, &holds, passes);
                self.share(&plates, &chosen, flywheels, tally)?;
            }
        }
        Ok(())
    }

    fn clash(&self, joints: &[Joint]) -> bool {
        joints.iter().any(|joint| self.compact.clashes(&self.picks, *joint))
    }

    fn meets(&mut self, p: usize, bearing: usize) -> bool {
        let named = self.compact.named;
        self.picks[named.plate] = p as u32;
        self.picks[named.bearing] = bearing as u32;
        let meets = !self.clash(&[Joint::Contact]);
        self.picks[named.bearing] = NONE;
        meets
    }

    /// The flywheels and the discs that mate under the picked plate.
    fn mating(&mut self, p: usize) -> (Vec<usize>, Vec<usize>) {
        let compact = self.compact;
        let named = compact.named;
        let set = compact.plates[p].pack.is_some();
        let flywheels = self.fitting(named.flywheel, &[Joint::Crank, Joint::Cover]);
        let mut discs = self.fitting(named.disc, &[Joint::Diameter, Joint::Spline]);
        discs.retain(|d| compact.discs[*d].none == set);
        (flywheels, discs)
    }

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
    fn is_measured(&self) -> bool {
        self.compact.bench.job.measures_clutch()
    }

    /// How many flywheels and discs mate under the picked plate and can be summed up.
    fn front_count(&mut self, p: usize) -> Result<u128> {
        let e = self.pick(self.compact.named.engine);
        let (flywheels, discs) = self.mating(p);
        let works = |f: usize, d: usize| self.compact.front((e, f, d, p)).is_some();
        if !self.is_measured() {
            // Without a measured clutch a candidate works or fails by itself.
            let one = flywheels.first().zip(discs.first()).is_some_and(|(f, d)| works(*f, *d));
            return Ok(if one { flywheels.len() as u128 * discs.len() as u128 } else { 0 });
        }
        let mut count = 0;
        for f in flywheels {
            self.watch.step(discs.len() as u64)?;
            count += discs.iter().filter(|d| works(f, **d)).count() as u128;
        }
        Ok(count)
    }

    /// Flywheels by the starter positions that they pass at.
    fn starters(&self, components: &[Component]) -> Vec<(Vec<Option<i64>>, Vec<bool>)> {
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
            let bias = if self.is_inside(slot) {
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

    /// A candidate that stands for all of its slot with the same faces, for each candidate.
    fn face_groups(&self, slot: usize) -> Vec<u32> {
        let mut first: HashMap<&Vec<crate::solve::mates::Face>, u32> = HashMap::new();
        let common = self.compact.common[slot].iter().enumerate();
        common.map(|(index, one)| *first.entry(&one.faces).or_insert(index as u32)).collect()
    }

    /// Only what shows at the bearing's joints still matters behind; the rest is forgotten.
    fn seat_face(&self, slot: usize, face: u32) -> u32 {
        let faces = &self.compact.common[slot][face as usize].faces;
        let matters = faces.iter().any(|face| matches!(face.joint, Joint::Seat | Joint::Contact));
        if matters { face } else { NONE }
    }

    fn is_inside(&self, slot: usize) -> bool {
        let kinds = self.compact.bench.library.kinds;
        kinds.slots().nth(slot).is_some_and(|(_, spec)| spec.inside.is_some())
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

    /// Every bearing with everything behind it, by route.
    fn components(&mut self) -> Result<Vec<Component>> {
        let compact = self.compact;
        let named = compact.named;
        let middle = self.middle()?;
        let mut components = Vec::new();
        // Bearings of the same faces and shim limit take the same shims.
        let groups = self.face_groups(named.bearing);
        let mut behind: HashMap<(u32, Option<i64>), Rc<Vec<Behind>>> = HashMap::new();
        let fitted = self.fitted_shift();
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

    /// The fitted parts' positions, which a measured rear length already holds.
    fn fitted_shift(&self) -> i64 {
        let both = |slot: &usize| {
            let linear = &self.compact.linear[*slot];
            linear.iter().find_map(|one| Some(one.c?.pos - one.m?.pos)).unwrap_or(0)
        };
        self.compact.additive.iter().map(both).sum()
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
        let fills = &compact.candidates.slots;
        let mut mates: HashMap<u32, bool> = HashMap::new();
        let mut found: BTreeMap<Bias, Counts> = BTreeMap::new();
        for (index, linear) in compact.linear[named.shims].iter().enumerate() {
            let fits = *mates.entry(groups[index]).or_insert_with(|| {
                self.picks[named.shims] = groups[index];
                let clash = Joint::ALL.iter().any(|joint| compact.clashes(&self.picks, *joint));
                self.picks[named.shims] = NONE;
                !clash
            });
            if fits && shims_within(&fills[named.bearing][bearing], &fills[named.shims][index]) {
                let stays = compact.common[named.shims][index].stays;
                let bias = Bias::of(linear.c, linear.m, stays);
                let pos = linear.c.map_or(0, |rec| rec.pos);
                found.entry(bias).or_default().push((pos, 1));
            }
        }
        found.into_iter().map(|(bias, counts)| (bias, merged(counts))).collect()
    }

    /// Counts the plates that meet the same bearings.
    fn share(
        &mut self,
        plates: &[usize],
        chosen: &[Chosen],
        flywheels: &[bool],
        tally: &mut Tally,
    ) -> Result<()> {
        let named = self.compact.named;
        let e = self.pick(named.engine);
        let (less_preload, less_reserve) = self.compact.engines[e].allowance;
        // Plates that the same flywheels and discs fit are swept together.
        let mut alike: BTreeMap<(Vec<usize>, Vec<usize>), Vec<usize>> = BTreeMap::new();
        for p in plates {
            self.picks[named.plate] = *p as u32;
            let (mut fly, discs) = self.mating(*p);
            fly.retain(|f| flywheels[*f]);
            alike.entry((fly, discs)).or_default().push(*p);
            self.picks[named.plate] = NONE;
        }
        for ((fly, discs), plates) in alike {
            let mut windows: BTreeMap<[Option<i64>; 4], Vec<(usize, usize)>> = BTreeMap::new();
            for p in plates {
                for d in &discs {
                    let mut window = self.compact.window(*d, p);
                    window[0] = window[0].map(|limit| limit + less_preload);
                    // A preload below the release travel fails the stroke check.
                    window[0] = window[0].max(self.compact.plates[p].release);
                    window[1] = window[1].map(|limit| limit - less_reserve);
                    window[2] = window[2].map(|limit| limit + less_reserve);
                    window[3] = window[3].map(|limit| limit - less_preload);
                    windows.entry(window).or_default().push((p, *d));
                }
            }
            let flat = |f: &usize| self.compact.flywheels[*f].step.value == 0;
            let hubs = fly.iter().any(|f| self.compact.flywheels[*f].bolts.is_some())
                && discs.iter().any(|d| self.compact.discs[*d].hub.is_some());
            let (flats, mut singly): (Vec<usize>, Vec<usize>) = fly.iter().partition(|f| flat(f));
            if self.is_measured() || hubs || flats.len() < 2 {
                singly = fly;
            } else {
                // Flat flywheels only shift the fingers, so they are counted with the rear.
                let shifts = flats.iter().filter_map(|f| self.compact.flywheels[*f].thickness);
                let shifts = merged(shifts.map(|thickness| (-thickness.value, 1)).collect());
                let folded = Chosen::shifted(chosen, &shifts);
                let base = |p: usize, d: usize| {
                    let first = flats[0];
                    let pos = self.compact.crank(e)? + self.compact.clutch_pos(first, d, p)?;
                    Some(pos - self.compact.flywheels[first].thickness?.value)
                };
                let list = |p, d| base(p, d).into_iter().collect();
                tally.in_window += sweep(&folded, &windows, self.watch, list)?;
            }
            if !singly.is_empty() {
                let list = |p, d| {
                    let finger = self.fingers(e, &singly, d, p);
                    let holds = singly.iter().filter(|f| !self.compact.hub_fails(**f, d));
                    holds.filter_map(|f| finger(*f)).collect()
                };
                tally.in_window += sweep(chosen, &windows, self.watch, list)?;
            }
        }
        Ok(())
    }

    /// Where the fingers stand, flywheel by flywheel. Flat flywheels differ only by thickness, so
    /// one of them is worked out for all.
    fn fingers(
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

/// A component's counts for one set of starter positions.
struct Chosen {
    ends: [i64; 2],
    /// Shared by the components with the same slots behind them.
    counts: Rc<Counts>,
}

impl Chosen {
    /// The components that a plate's bearings allow, each distinct sum merged once.
    fn all(components: &[Component], holds: &[bool], passes: &[Option<i64>]) -> Vec<Self> {
        let mut known: Vec<(Rc<ByStarter>, Rc<Counts>)> = Vec::new();
        let mut chosen = Vec::new();
        for (one, _) in components.iter().zip(holds).filter(|(_, holds)| **holds) {
            let found = known.iter().find(|(source, _)| Rc::ptr_eq(source, &one.counts));
            let counts = if let Some((_, counts)) = found {
                Rc::clone(counts)
            } else {
                let all = passes.iter().filter_map(|starter| one.counts.get(starter));
                let counts = Rc::new(merged(all.flatten().copied().collect()));
                known.push((Rc::clone(&one.counts), Rc::clone(&counts)));
                counts
            };
            chosen.push(Self { ends: one.ends, counts });
        }
        chosen
    }

    /// The same with every position shifted in every way.
    fn shifted(chosen: &[Self], shifts: &Counts) -> Vec<Self> {
        let mut known: Vec<(Rc<Counts>, Rc<Counts>)> = Vec::new();
        let shift = |one: &Self| {
            let found = known.iter().find(|(source, _)| Rc::ptr_eq(source, &one.counts));
            let counts = if let Some((_, counts)) = found {
                Rc::clone(counts)
            } else {
                let counts = Rc::new(convolved(&one.counts, shifts));
                known.push((Rc::clone(&one.counts), Rc::clone(&counts)));
                counts
            };
            Self { ends: one.ends, counts }
        };
        chosen.iter().map(shift).collect()
    }
}

/// Counts what holds for every window's plates and discs, those that need the most travel first.
/// `fingers` lists where the fingers stand for a plate and a disc.
fn sweep(
    chosen: &[Chosen],
    windows: &BTreeMap<[Option<i64>; 4], Vec<(usize, usize)>>,
    watch: &Watch,
    fingers: impl Fn(usize, usize) -> Vec<i64>,
) -> Result<u128> {
    let all = |end: usize| chosen.iter().map(move |one| (one.ends[end], one.counts.as_ref()));
    let mut windows: Vec<_> = windows.iter().collect();
    windows.sort_by_key(|(window, _)| {
        std::cmp::Reverse(window[0].unwrap_or(0) + window[2].unwrap_or(0))
    });
    let mut by_travel: Vec<&Chosen> = chosen.iter().collect();
    by_travel.sort_by_key(|one| std::cmp::Reverse(one.ends[1] - one.ends[0]));
    let mut waiting = by_travel.iter().peekable();
    let (mut extended, mut retracted) = (Histogram::for_all(all(0)), Histogram::for_all(all(1)));
    let mut count = 0;
    for (window, pairs) in windows {
        let is_bounded = window[1].is_some() || window[3].is_some();
        let (least_preload, least_reserve) = (window[0].unwrap_or(0), window[2].unwrap_or(0));
        while let Some(one) = waiting.next_if(|one| {
            !is_bounded && one.ends[1] - one.ends[0] >= least_preload + least_reserve
        }) {
            extended.add(one.ends[0], &one.counts);
            retracted.add(one.ends[1], &one.counts);
        }
        extended.ready();
        retracted.ready();
        for (p, d) in pairs {
            let fingers = fingers(*p, *d);
            watch.step(1 + fingers.len() as u64)?;
            count += if is_bounded {
                bounded(chosen, *window, &fingers)
            } else {
                // extended <= fingers - preload_min, and retracted >= fingers + reserve_min.
                let held = |pos: &i64| {
                    extended.at_most(pos - least_preload)
                        - retracted.at_most(pos + least_reserve - 1)
                };
                fingers.iter().map(held).sum::<u128>()
            };
        }
    }
    Ok(count)
}

/// The count where a maximum is set: bearing by bearing.
fn bounded(chosen: &[Chosen], window: [Option<i64>; 4], fingers: &[i64]) -> u128 {
    let far = i64::MAX / 8;
    let mut count = 0;
    let mut running: Option<(&Rc<Counts>, Vec<u128>)> = None;
    for one in chosen {
        let totals = match running.take() {
            Some((of, totals)) if Rc::ptr_eq(of, &one.counts) => totals,
            _ => {
                let totals = one.counts.iter().scan(0, |sum, (_, count)| {
                    *sum += count;
                    Some(*sum)
                });
                totals.collect()
            }
        };
        let at_most = |pos: i64| {
            let below = one.counts.partition_point(|(known, _)| *known <= pos);
            if below == 0 { 0 } else { totals[below - 1] }
        };
        for pos in fingers {
            let high = window[0].map_or(far, |limit| pos - limit - one.ends[0]);
            let high = high.min(window[3].map_or(far, |limit| limit + pos - one.ends[1]));
            let low = window[2].map_or(-far, |limit| pos + limit - one.ends[1]);
            let low = low.max(window[1].map_or(-far, |limit| pos - limit - one.ends[0]));
            if low <= high {
                count += at_most(high) - at_most(low - 1);
            }
        }
        running = Some((&one.counts, totals));
    }
    count
}
