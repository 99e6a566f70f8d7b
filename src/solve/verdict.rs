//! One combination in plain numbers: its lengths, its grade, its checks and its place.

use crate::model::house::Number;
use crate::model::job::StarterOn;
use crate::model::kinds::Joint;
use crate::model::length::Length;
use crate::solve::compact::{Compact, PlateRec, Rec};
use crate::solve::front::Front;
use crate::solve::mates::Face;
use crate::stack::fit::cap;
use crate::stack::form::{MICRO, Spread};
use crate::stack::grade::{Grade, edge_grade};
use crate::stack::hydraulics::Hydraulics;

/// The candidate index chosen in each slot.
pub type Picks = Vec<u32>;

/// The two rear lengths of a combination.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Rear {
    /// Extended and retracted: the block plate's assumed flag is kept apart.
    pub ends: [Rec; 2],
}

/// A combination's numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Verdict {
    /// Preload.
    pub preload: i64,
    /// Reserve.
    pub reserve: i64,
    /// Distance to the nearest edge.
    pub room: i64,
    /// The grade, caps counted.
    pub grade: Grade,
    /// The diaphragm leaves its working range.
    pub outside_range: bool,
}

/// The candidate picked in a slot.
fn at(picks: &[u32], slot: usize) -> usize {
    picks[slot] as usize
}

impl Compact<'_, '_> {
    /// The rear lengths, each by the route with the smaller u, measured on a tie.
    pub fn rear(&self, picks: &[u32]) -> Option<Rear> {
        let named = &self.named;
        let bearing = &self.bearings[at(picks, named.bearing)];
        let (bell, gearbox) = (
            self.linear[named.bell][at(picks, named.bell)],
            self.linear[named.gearbox][at(picks, named.gearbox)],
        );
        let mut stays = [named.bell, named.gearbox, named.bearing]
            .iter()
            .any(|slot| self.common[*slot][at(picks, *slot)].stays);
        // Block plate's assumed flag must not stick where its tolerance may leave the chain.
        let mut outside = Some(Rec::default());
        let (mut inside_c, mut inside_m) = (Some(Rec::default()), Some(Rec::default()));
        for slot in &self.additive {
            let index = at(picks, *slot);
            let linear = self.linear[*slot][index];
            let plus = |sum: Option<Rec>, rec: Option<Rec>| Some(sum?.plus(rec?));
            if self.inside[*slot] {
                stays |= self.common[*slot][index].stays;
                inside_c = plus(inside_c, linear.c);
                inside_m = plus(inside_m, linear.m);
            } else {
                let rec = linear
                    .c
                    .map(|rec| Rec { assumed: rec.assumed && *slot != named.block_plate, ..rec });
                outside = plus(outside, rec);
            }
        }
        let mut rear = Rear::default();
        for end in 0..2 {
            let total =
                |own: Option<Rec>, bell: Option<Rec>, gearbox: Option<Rec>, inside: Option<Rec>| {
                    Some(own?.plus(bell?).plus(gearbox?).plus(inside?).plus(outside?))
                };
            let measured = total(bearing.m[end], bell.m, gearbox.m, inside_m).filter(|_| stays);
            let catalogued = total(bearing.c[end], bell.c, gearbox.c, inside_c);
            rear.ends[end] = match (measured, catalogued) {
                (Some(m), Some(c)) if c.v < m.v => c,
                (Some(m), _) => m,
                (None, catalogued) => catalogued?,
            };
        }
        Some(rear)
    }

    /// Whether shims stay within what their bearing takes, as far as both are known.
    pub fn shims_within(&self, bearing: usize, shims: usize) -> bool {
        let most = self.bearings[bearing].max_shim;
        most.zip(self.linear[self.named.shims][shims].thickness)
            .is_none_or(|(most, all)| all <= most)
    }

    /// The window's limits for a plate and disc.
    pub fn window(&self, d: usize, p: usize) -> [Option<i64>; 4] {
        let plate = &self.plates[p];
        let disc = &self.discs[d];
        // A disc's own wear can only matter through the plate's ratio.
        if disc.wear.is_none() || plate.ratio.is_none() {
            return plate.window;
        }
        let mut window = plate.window;
        window[2] = Some(self.reserve_min(plate, disc.wear));
        window
    }

    /// The least reserve of a plate with a disc of this own wear: as in [`crate::stack::window`].
    fn reserve_min(&self, plate: &PlateRec, wear: Option<i64>) -> i64 {
        let house = &self.bench.library.house;
        let set = self.bench.job.window.reserve_min.or(house.window.reserve_min);
        let margin = house.length(Number::ReserveMargin).nm();
        let needed = plate.ratio.zip(plate.wear.max(wear)).map(|(ratio, wear)| {
            let ratio = crate::model::length::Ratio::from_millionths(ratio.value);
            ratio.times(Length::from_nm(wear)).nm() + margin
        });
        match set {
            Some(set) => needed.map_or(set.nm(), |needed| needed.max(set.nm())),
            None => needed.unwrap_or_else(|| house.length(Number::FallbackReserveMin).nm()),
        }
    }

    /// Room at the four edges.
    pub fn rooms(
        window: [Option<i64>; 4],
        (less_preload, less_reserve): (i64, i64),
        preload: i64,
        reserve: i64,
    ) -> [Option<i64>; 4] {
        [
            window[0].map(|limit| preload - limit - less_preload),
            window[1].map(|limit| limit - preload - less_reserve),
            window[2].map(|limit| reserve - limit - less_reserve),
            window[3].map(|limit| limit - reserve - less_preload),
        ]
    }

    /// The gap of a flywheel, disc and plate lies outside the diaphragm's working range.
    pub fn outside_range(&self, f: usize, d: usize, p: usize) -> bool {
        let plate = &self.plates[p];
        let Some(facing) = plate.pack.or(self.discs[d].facing) else { return false };
        let gap = facing.value - self.flywheels[f].step.value;
        plate.range.0.is_some_and(|least| gap < least)
            || plate.range.1.is_some_and(|most| gap > most)
    }

    /// Grade and room of a combination whose two halves are known.
    pub fn verdict(&self, picks: &[u32], front: &Front, rear: &Rear) -> Verdict {
        let named = &self.named;
        let at = |slot| at(picks, slot);
        let (e, f, d, p) = (at(named.engine), at(named.flywheel), at(named.disc), at(named.plate));
        let preload = front.pos - rear.ends[0].pos;
        let reserve = rear.ends[1].pos - front.pos;
        let plate_kept = self.common[named.block_plate][at(named.block_plate)].kept;
        let plate_linear =
            self.linear[named.block_plate][at(named.block_plate)].c.unwrap_or_default();
        let leaves = front.over && plate_kept;
        let over_tol = self.fitted.block_plate.filter(|_| front.over);
        let spread = |end: &Rec| {
            let mut spread = Spread {
                worst_case: front.wc + i128::from(end.wc) * MICRO,
                three_u_squared: front.v + end.v * MICRO * MICRO,
                assumed: front.assumed || end.assumed,
            };
            if leaves {
                // The plate that the reading was taken over stays: it is in neither length.
                spread.worst_case -= i128::from(plate_linear.wc) * MICRO;
                spread.three_u_squared -= plate_linear.v * MICRO * MICRO;
            } else {
                spread.assumed |= plate_linear.assumed;
                if let Some(plate) = over_tol {
                    spread.worst_case += i128::from(plate.tol) * MICRO;
                    spread.three_u_squared += (i128::from(plate.wide) * MICRO).pow(2);
                    spread.assumed |= plate.assumed;
                }
            }
            spread
        };
        let spreads = [spread(&rear.ends[0]), spread(&rear.ends[1])];
        let window = self.window(d, p);
        let rooms = Self::rooms(window, self.engines[e].allowance, preload, reserve);
        let mut grade = Grade::Sure;
        let mut least = i64::MAX;
        for (index, room) in rooms.into_iter().enumerate() {
            let Some(room) = room else { continue };
            least = least.min(room);
            grade = grade.max(edge_grade(Length::from_nm(room), &spreads[index / 2]));
        }
        let outside_range = self.outside_range(f, d, p);
        if let Some((cap, _)) = cap(front.doubts, outside_range) {
            grade = grade.max(cap);
        }
        Verdict { preload, reserve, room: least, grade, outside_range }
    }

    /// Whether some check beside the window fails. What cannot be checked does not fail.
    pub fn fails(&self, picks: &[u32], preload: i64) -> bool {
        let named = &self.named;
        let at = |slot| at(picks, slot);
        let plates = self.plates_total(picks);
        self.plate_fails(at(named.plate), preload)
            || self.contact_fails(at(named.plate), at(named.bearing))
            || self.hub_fails(at(named.flywheel), at(named.disc))
            || self.block_fails(at(named.engine), plates)
            || self.starter_fails(at(named.engine), at(named.flywheel), plates)
            || self.pilot_fails(picks, plates)
    }

    /// Block plate and bell spacer together.
    fn plates_total(&self, picks: &[u32]) -> Option<i64> {
        let thickness = |slot: usize| self.linear[slot][at(picks, slot)].thickness;
        Some(thickness(self.named.block_plate)? + thickness(self.named.bell_spacer)?)
    }

    /// Release travel within the preload, and torque.
    pub fn plate_fails(&self, p: usize, preload: i64) -> bool {
        let plate = &self.plates[p];
        let asked = self.bench.job.torque;
        plate.release.is_some_and(|release| release > preload)
            || plate.torque.zip(asked).is_some_and(|(rating, asked)| rating < asked)
    }

    /// Contact circle and hydraulics.
    pub fn contact_fails(&self, p: usize, b: usize) -> bool {
        let (plate, bearing) = (&self.plates[p], &self.bearings[b]);
        let off = plate
            .circle
            .zip(bearing.contact)
            .is_some_and(|((inner, outer), at)| at < inner || at > outer);
        let short = || {
            let (Some(release), Some((outer, inner)), Some((bore, stroke))) =
                (plate.release, bearing.bores, self.fitted.master)
            else {
                return false;
            };
            let nm = Length::from_nm;
            let hydraulics = Hydraulics { bore: nm(bore), outer: nm(outer), inner: nm(inner) };
            let lost = self.bench.library.house.percent(Number::LostMotion);
            !hydraulics.releases(nm(stroke), lost, nm(release))
        };
        off || short()
    }

    /// Hub clearance.
    pub fn hub_fails(&self, f: usize, d: usize) -> bool {
        self.flywheels[f].bolts.zip(self.discs[d].hub).is_some_and(|(room, hub)| room - hub <= 0)
    }

    /// Dowel engagement.
    pub fn block_fails(&self, e: usize, plates: Option<i64>) -> bool {
        let floor = self.bench.library.house.length(Number::DowelFloor).nm();
        self.engines[e].dowels.zip(plates).is_some_and(|(dowels, plates)| dowels - plates < floor)
    }

    /// Ring gear position and teeth.
    pub fn starter_fails(&self, e: usize, f: usize, plates: Option<i64>) -> bool {
        let Some(old) = self.fitted.flywheel else { return false };
        let new = &self.flywheels[f];
        let mut moved = 0;
        if !self.common[self.named.flywheel][f].kept {
            match new.teeth.zip(old.teeth) {
                Some((a, b)) if a != b => return true,
                Some(_) => {}
                None => return false,
            }
            let Some((new, old)) = new.ring.zip(old.ring) else { return false };
            moved += new - old;
        }
        if let Some(old) = self.fitted.engine
            && !self.common[self.named.engine][e].kept
        {
            let new = self.engines[e].protrusion;
            let Some((new, old)) = new.zip(old.protrusion) else { return false };
            moved += new.value - old.value;
        }
        let Some((new, old)) = plates.zip(self.fitted.plates) else { return false };
        match self.bench.job.starter_on {
            StarterOn::Bell => moved -= new - old,
            StarterOn::Unknown if new != old => return false,
            StarterOn::Block | StarterOn::Unknown => {}
        }
        moved.abs() > self.bench.library.house.length(Number::StarterTolerance).nm()
    }

    /// Pilot engagement and room ahead of the shaft.
    fn pilot_fails(&self, picks: &[u32], plates: Option<i64>) -> bool {
        let named = &self.named;
        let at = |slot| at(picks, slot);
        let thickness = |slot: usize| self.linear[slot][at(slot)].thickness;
        // A bell housing or gearbox "as on the bench" shows no part, and so no dimension.
        let there = |slot: usize| !self.candidates.slots[slot][at(slot)].parts.is_empty();
        if !there(named.bell) || !there(named.gearbox) {
            return false;
        }
        let tip = (|| {
            Some(
                plates? + thickness(named.bell)? + thickness(named.gearbox_spacer)?
                    - thickness(named.gearbox)?,
            )
        })();
        tip.is_some_and(|tip| self.tip_fails(at(named.engine), tip))
    }

    /// The same for a known position of the shaft's tip.
    pub fn tip_fails(&self, e: usize, tip: i64) -> bool {
        let engine = &self.engines[e];
        let Some(crank) = self.crank(e) else { return false };
        let floor = self.bench.library.house.length(Number::ShaftClearance).nm() + engine.float;
        let engaged = engine.pilot_recess.zip(engine.pilot_length);
        engaged.is_some_and(|(recess, length)| length.min(crank - recess - tip) * 2 < length)
            || engine.pilot_bore_depth.is_some_and(|hole| tip - (crank - hole) < floor)
    }

    /// Whether the faces at a joint clash among the slots that are picked; what an unpicked adapter
    /// may still separate is left for later. `NONE` marks an unpicked slot.
    pub fn clashes(&self, picks: &[u32], joint: Joint) -> bool {
        for a in 0..picks.len() {
            if picks[a] == NONE {
                continue;
            }
            let faces = self.shown(a, picks[a]);
            for (index, face) in faces.iter().enumerate() {
                if face.joint != joint {
                    continue;
                }
                let facing = face.rear.unwrap_or(face.front);
                for other in &faces[index + 1..] {
                    if other.joint == joint && !self.patterns.mate(joint, facing, other.front) {
                        return true;
                    }
                }
                for (b, pick) in picks.iter().enumerate().skip(a + 1) {
                    if *pick == NONE {
                        if self.may_adapt(b, joint) {
                            break;
                        }
                        continue;
                    }
                    let mut adapted = false;
                    for other in self.shown(b, *pick) {
                        if other.joint == joint {
                            if !self.patterns.mate(joint, facing, other.front) {
                                return true;
                            }
                            adapted |= other.rear.is_some();
                        }
                    }
                    if adapted {
                        break;
                    }
                }
            }
        }
        false
    }

    /// What a candidate shows at its joints.
    pub fn shown(&self, slot: usize, pick: u32) -> &[Face] {
        &self.faces[slot][self.common[slot][pick as usize].faces as usize]
    }

    fn may_adapt(&self, slot: usize, joint: Joint) -> bool {
        self.adapts[slot] & joint.bit() != 0
    }
}

/// A slot that is not picked yet.
pub const NONE: u32 = u32::MAX;
