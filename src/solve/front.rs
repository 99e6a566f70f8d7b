//! The finger side in plain numbers: every route to the finger tips, and the one that is used.
//!
//! The same rules as in [`crate::stack::lengths`], without a term list; the tests hold both against
//! each other on every combination of thousands of random catalogs.

use crate::model::job::{DiscState, Reading};
use crate::model::length::{Ratio, divide_half_away};
use crate::solve::compact::{Compact, DiscRec, Facing, FlywheelRec, PlateRec, Val};
use crate::stack::form::MICRO;
use crate::stack::lengths::{Doubts, STAND_IN_RATIO};

/// A route to the finger tips, or the one that is used.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Front {
    /// Position of the finger tips, nanometres; the over-plate's thickness is in it.
    pub pos: i64,
    /// Every tolerance at its limit, micro-nanometres; without the block plate's.
    pub wc: i128,
    /// Three times the variance, square micro-nanometres; without the block plate's.
    pub v: i128,
    /// Whether some tolerance was assumed; the block plate's not counted.
    pub assumed: bool,
    /// The fitted block plate's thickness is in it.
    pub over: bool,
    /// What is doubtful.
    pub doubts: Doubts,
    /// Which route it is.
    pub route: Route,
    /// The ratio's own share of `wc`: it depends on flywheel and disc together.
    pub gear_wc: i128,
    /// The ratio's own share of `v`.
    pub gear_v: i128,
}

/// Which measured sums a route uses.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub enum Route {
    /// Finger depth as measured.
    Depth,
    /// Measured crank, measured clutch.
    MeasuredBoth,
    /// Measured crank, catalogued clutch.
    MeasuredCrank,
    /// Catalogued crank, measured clutch.
    MeasuredClutch,
    /// Nothing measured.
    #[default]
    Catalogued,
}

impl Route {
    /// All of them, in the order in which a tie is settled.
    pub const ALL: [Self; 5] = [
        Self::Depth,
        Self::MeasuredBoth,
        Self::MeasuredCrank,
        Self::MeasuredClutch,
        Self::Catalogued,
    ];

    /// Whether the clutch's own part is measured.
    pub const fn clutch_measured(self) -> bool {
        matches!(self, Self::Depth | Self::MeasuredBoth | Self::MeasuredClutch)
    }
}

/// A part of a route.
#[derive(Debug, Clone, Copy, Default)]
struct Sum {
    pos: i64,
    wc: i128,
    v: i128,
    assumed: bool,
    not_corrected: bool,
    gear_wc: i128,
    gear_v: i128,
}

impl Sum {
    /// Adds a value with a whole sign.
    fn add(&mut self, val: Val, sign: i64) {
        self.pos += sign * val.value;
        self.weigh(MICRO, val.tol, val.assumed);
    }

    /// Counts a tolerance with its coefficient in millionths; the value is counted elsewhere.
    fn weigh(&mut self, micro: i128, tol: i64, assumed: bool) {
        if micro != 0 {
            let effect = micro.abs() * i128::from(tol);
            self.wc += effect;
            self.v += effect * effect;
            self.assumed |= assumed;
        }
    }

    fn weigh_facing(&mut self, micro: i128, facing: Facing) {
        if micro != 0 {
            self.wc += micro.abs() * i128::from(facing.wc);
            self.v += micro * micro * facing.v;
            self.assumed |= facing.assumed;
        }
    }

    /// The ratio's own share: its tolerance times the gap, and the second-order part.
    fn weigh_ratio(&mut self, ratio: Gear, difference: i64, gap_wc: i64) {
        let effect = i128::from(difference.abs()) * i128::from(ratio.tol);
        self.gear_wc += effect + i128::from(ratio.tol) * i128::from(gap_wc);
        self.gear_v += effect * effect;
        self.assumed |= ratio.assumed;
    }
}

/// A usable ratio.
#[derive(Debug, Clone, Copy)]
struct Gear {
    micro: i64,
    tol: i64,
    assumed: bool,
}

fn gear(plate: &PlateRec, difference: i64) -> Option<Gear> {
    match plate.ratio {
        Some(ratio) => Some(Gear { micro: ratio.value, tol: ratio.tol, assumed: ratio.assumed }),
        None if difference == 0 => {
            Some(Gear { micro: STAND_IN_RATIO.millionths(), tol: 0, assumed: true })
        }
        None => None,
    }
}

fn product(micro: i64, difference: i64) -> i64 {
    let exact = i128::from(micro) * i128::from(difference);
    divide_half_away(exact, i128::from(Ratio::ONE)) as i64
}

/// A plate's correction at a gap.
#[derive(Debug, Clone, Copy)]
struct Correction {
    gear: Gear,
    difference: i64,
    /// The disc or pack that enters; none where it cancels with the gap that was taken.
    facing: Option<Facing>,
    /// The gap that was taken.
    taken: Option<Facing>,
    gap_wc: i64,
}

fn as_facing(val: Val) -> Facing {
    let v = i128::from(val.tol) * i128::from(val.tol);
    Facing { value: val.value, wc: val.tol, v, assumed: val.assumed }
}

/// `measured` stands for the disc or pack.
fn correction(
    flywheel: &FlywheelRec,
    disc: Option<&DiscRec>,
    plate: &PlateRec,
    measured: Option<Val>,
) -> Option<Correction> {
    let own = plate.pack.or_else(|| disc.and_then(|disc| disc.facing));
    let now = measured.map(as_facing).or(own)?;
    let gap = now.value - flywheel.step.value;
    let (taken, facing) = match (plate.set_gap, plate.pack) {
        (Some(taken), _) => (Some(as_facing(taken)), Some(now)),
        // A matched set on a flat flywheel was taken with its own pack.
        (None, Some(pack)) if flywheel.step.value == 0 => {
            if measured.is_some() {
                (Some(pack), Some(now))
            } else {
                (None, None)
            }
        }
        _ => return None,
    };
    let reference = taken.map_or(now.value, |taken| taken.value);
    let difference = gap - reference;
    let gear = gear(plate, difference)?;
    let wc = |facing: Option<Facing>| facing.map_or(0, |facing| facing.wc);
    let gap_wc = wc(facing) + wc(taken) + flywheel.step.tol;
    Some(Correction { gear, difference, facing, taken, gap_wc })
}

impl Compact<'_, '_> {
    /// The routes of one crank sum: measured and catalogued.
    fn cranks(&self, engine: usize) -> [Option<(Sum, bool)>; 2] {
        let stays = self.common[self.named.engine][engine].stays;
        let over = self.bench.job.crank_over_plate;
        let measured = self.reading(Reading::CrankProtrusion).filter(|_| stays).and_then(|val| {
            let mut sum = Sum::default();
            sum.add(val, 1);
            self.over_plate(&mut sum, over)?;
            Some((sum, over))
        });
        let catalogued = self.engines[engine].protrusion.map(|val| {
            let mut sum = Sum::default();
            sum.add(val, 1);
            (sum, false)
        });
        [measured, catalogued]
    }

    /// Adds the over-plate's value; its tolerance is kept apart, as it may leave the chain.
    fn over_plate(&self, sum: &mut Sum, over: bool) -> Option<()> {
        if over {
            sum.pos += self.fitted.block_plate?.value;
        }
        Some(())
    }

    /// The block plate's share of a route's variance, for choosing between routes.
    fn over_v(&self, over: bool) -> i128 {
        let tol = self.fitted.block_plate.filter(|_| over).map_or(0, |plate| i128::from(plate.tol));
        tol * tol * MICRO * MICRO
    }

    /// The crank flange's position, for the checks: the route with the smaller u.
    pub fn crank(&self, engine: usize) -> Option<i64> {
        let routes = self.cranks(engine);
        let v = |route: &Option<(Sum, bool)>| route.map(|(sum, over)| sum.v + self.over_v(over));
        match (v(&routes[0]), v(&routes[1])) {
            (Some(a), Some(b)) if b < a => routes[1],
            (Some(_), _) => routes[0],
            (None, _) => routes[1],
        }
        .map(|(sum, _)| sum.pos)
    }

    fn clutch_catalogued(&self, f: usize, d: usize, p: usize) -> Option<Sum> {
        let (flywheel, disc, plate) = (&self.flywheels[f], &self.discs[d], &self.plates[p]);
        let mut sum = Sum::default();
        sum.add(flywheel.thickness?, 1);
        sum.add(plate.height?, 1);
        sum.pos += flywheel.step.value;
        let mut step = MICRO;
        match correction(flywheel, Some(disc), plate, None) {
            Some(correction) => {
                step += i128::from(correction.gear.micro);
                Self::correct(&mut sum, &correction, -1);
            }
            None => sum.not_corrected = true,
        }
        sum.weigh(step, flywheel.step.tol, flywheel.step.assumed);
        Some(sum)
    }

    /// Where the fingers stand above the crank flange by the catalog, without any error limits.
    pub fn clutch_pos(&self, f: usize, d: usize, p: usize) -> Option<i64> {
        let (flywheel, plate) = (&self.flywheels[f], &self.plates[p]);
        let moved = correction(flywheel, Some(&self.discs[d]), plate, None)
            .map_or(0, |correction| product(correction.gear.micro, correction.difference));
        Some(flywheel.thickness?.value + flywheel.step.value + plate.height?.value - moved)
    }

    /// Everything of a correction but the step, whose coefficient is collected by the caller.
    fn correct(sum: &mut Sum, correction: &Correction, sign: i64) {
        let micro = i128::from(correction.gear.micro);
        sum.pos += sign * product(correction.gear.micro, correction.difference);
        for facing in [correction.facing, correction.taken].into_iter().flatten() {
            sum.weigh_facing(micro, facing);
        }
        sum.weigh_ratio(correction.gear, correction.difference, correction.gap_wc);
    }

    /// What the clutch parts move a measured sum by.
    fn clutch_moved(&self, f: usize, d: usize, p: usize) -> Option<Sum> {
        let named = &self.named;
        let f_kept = self.common[named.flywheel][f].kept;
        let d_kept = self.common[named.disc][d].kept;
        let p_kept = self.common[named.plate][p].kept && self.fitted.plate.is_some();
        let mut sum = Sum::default();
        if !f_kept {
            let old = self.fitted.flywheel?;
            sum.add(self.flywheels[f].thickness?, 1);
            sum.add(old.thickness?, -1);
            sum.pos += self.flywheels[f].step.value - old.step.value;
        }
        if p_kept {
            self.moved_under_plate(&mut sum, (f, f_kept), (d, d_kept), p);
        } else {
            let old = self.fitted.plate?;
            sum.add(self.plates[p].height?, 1);
            sum.add(old.height?, -1);
            self.moved_with_plate(&mut sum, (f, f_kept), (d, d_kept), p, &old);
        }
        Some(sum)
    }

    /// The plate stays: only the difference of gaps counts.
    fn moved_under_plate(
        &self,
        sum: &mut Sum,
        (f, f_kept): (usize, bool),
        (d, d_kept): (usize, bool),
        p: usize,
    ) {
        let plate = &self.plates[p];
        let measured = self.reading(Reading::FittedDiscThickness).map(as_facing);
        let new_facing = if plate.pack.is_some() { plate.pack } else { self.discs[d].facing };
        let old_facing = if plate.pack.is_some() {
            measured
        } else {
            measured.or_else(|| self.fitted.disc.and_then(|disc| disc.facing))
        };
        let facing_moves = measured.is_some() || (plate.pack.is_none() && !d_kept);
        let mut gap = 0_i64;
        let mut gap_wc = 0_i64;
        let mut step = (MICRO, MICRO);
        let mut corrected = None;
        if f_kept && !facing_moves {
            return;
        }
        let old_step = self.fitted.flywheel.map(|flywheel| flywheel.step).unwrap_or_default();
        let new_step = self.flywheels[f].step;
        if !f_kept {
            gap -= new_step.value - old_step.value;
            gap_wc += new_step.tol + old_step.tol;
        }
        let facings = if facing_moves { new_facing.zip(old_facing) } else { None };
        if !facing_moves || facings.is_some() {
            if let Some((new, old)) = facings {
                gap += new.value - old.value;
                gap_wc += new.wc + old.wc;
            }
            corrected = gear(plate, gap);
        }
        match corrected {
            Some(gear) => {
                let micro = i128::from(gear.micro);
                step = (MICRO + micro, MICRO + micro);
                sum.pos -= product(gear.micro, gap);
                if let Some((new, old)) = facings {
                    sum.weigh_facing(micro, new);
                    sum.weigh_facing(micro, old);
                }
                sum.weigh_ratio(gear, gap, gap_wc);
            }
            None => sum.not_corrected = true,
        }
        if !f_kept {
            sum.weigh(step.0, new_step.tol, new_step.assumed);
            sum.weigh(step.1, old_step.tol, old_step.assumed);
        }
    }

    /// Another plate: its own correction comes in, the fitted plate's goes out.
    fn moved_with_plate(
        &self,
        sum: &mut Sum,
        (f, f_kept): (usize, bool),
        (d, d_kept): (usize, bool),
        p: usize,
        old_plate: &PlateRec,
    ) {
        let measured = self.reading(Reading::FittedDiscThickness);
        let old_flywheel = self.fitted.flywheel.unwrap_or_default();
        let known = self.fitted.flywheel.is_some();
        let new = correction(&self.flywheels[f], Some(&self.discs[d]), &self.plates[p], None);
        let old = correction(&old_flywheel, self.fitted.disc.as_ref(), old_plate, measured)
            .filter(|_| known);
        let micro = |side: &Option<Correction>| side.map_or(0, |c| i128::from(c.gear.micro));
        let (new_micro, old_micro) = (micro(&new), micro(&old));
        sum.not_corrected = new.is_none() || old.is_none();
        let shared = d_kept
            && measured.is_none()
            && old_plate.pack.is_none()
            && self.plates[p].pack.is_none();
        for (side, sign) in [(&new, -1), (&old, 1)] {
            let Some(side) = side else { continue };
            sum.pos += sign * product(side.gear.micro, side.difference);
            let ratio = i128::from(side.gear.micro);
            if let Some(taken) = side.taken {
                sum.weigh_facing(ratio, taken);
            }
            if let Some(facing) = side.facing.filter(|_| !shared) {
                sum.weigh_facing(ratio, facing);
            }
            sum.weigh_ratio(side.gear, side.difference, side.gap_wc);
        }
        if shared {
            let facing = new.or(old).and_then(|side| side.facing).unwrap_or_default();
            sum.weigh_facing(new_micro - old_micro, facing);
        }
        let (new_step, old_step) = (self.flywheels[f].step, old_flywheel.step);
        if f_kept {
            sum.weigh(new_micro - old_micro, new_step.tol, new_step.assumed);
        } else {
            sum.weigh(MICRO + new_micro, new_step.tol, new_step.assumed);
            sum.weigh(MICRO + old_micro, old_step.tol, old_step.assumed);
        }
    }

    /// Whether a measured clutch sum still holds something.
    fn clutch_stays(&self, f: usize, d: usize, p: usize) -> bool {
        self.common[self.named.flywheel][f].stays
            || self.common[self.named.disc][d].stays
            || self.common[self.named.plate][p].stays
    }

    /// One route to the finger tips, if it works.
    pub fn front_route(
        &self,
        route: Route,
        (e, f, d, p): (usize, usize, usize, usize),
    ) -> Option<Front> {
        let job = self.bench.job;
        let mut front = Front { route, ..Front::default() };
        let mut parts: [Option<Sum>; 2] = [None, None];
        if route == Route::Depth {
            let stays = self.common[self.named.engine][e].stays || self.clutch_stays(f, d, p);
            let reading = self.reading(Reading::FingerDepth).filter(|_| stays)?;
            let mut sum = Sum::default();
            sum.add(reading, 1);
            self.over_plate(&mut sum, job.depth_over_plate)?;
            front.over = job.depth_over_plate;
            if !self.common[self.named.engine][e].kept {
                sum.add(self.engines[e].protrusion?, 1);
                sum.add(self.fitted.engine?.protrusion?, -1);
            }
            parts[0] = Some(sum);
            parts[1] = Some(self.clutch_moved(f, d, p)?);
        } else {
            let measured_crank = matches!(route, Route::MeasuredBoth | Route::MeasuredCrank);
            let (crank, over) = self.cranks(e)[usize::from(!measured_crank)]?;
            front.over = over;
            parts[0] = Some(crank);
            parts[1] = if route.clutch_measured() {
                let reading = self.reading(Reading::ClutchHeight);
                let reading = reading.filter(|_| self.clutch_stays(f, d, p))?;
                let mut sum = self.clutch_moved(f, d, p)?;
                sum.add(reading, 1);
                Some(sum)
            } else {
                Some(self.clutch_catalogued(f, d, p)?)
            };
        }
        for part in parts.into_iter().flatten() {
            front.pos += part.pos;
            front.wc += part.wc + part.gear_wc;
            front.v += part.v + part.gear_v;
            front.gear_wc += part.gear_wc;
            front.gear_v += part.gear_v;
            front.assumed |= part.assumed;
            front.doubts.not_corrected |= part.not_corrected;
        }
        if route.clutch_measured() {
            let told = job.reading(Reading::FittedDiscThickness).is_some();
            match job.disc_state {
                DiscState::Worn => {
                    front.doubts.worn_disc = !told || front.doubts.not_corrected;
                }
                DiscState::Unknown => front.doubts.taken_as_new = !told,
                DiscState::New => {}
            }
        }
        Some(front)
    }

    /// The route that is used: the smallest u, the earlier one on a tie.
    pub fn front(&self, at: (usize, usize, usize, usize)) -> Option<Front> {
        let mut best: Option<(i128, Front)> = None;
        for route in Route::ALL {
            let Some(front) = self.front_route(route, at) else { continue };
            let v = front.v + self.over_v(front.over);
            if best.as_ref().is_none_or(|(least, _)| v < *least) {
                best = Some((v, front));
            }
        }
        best.map(|(_, front)| front)
    }
}
