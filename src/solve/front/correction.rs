//! The sum of a part of a route, and the correction of a plate at another gap than it was taken with.

use crate::model::length::{Ratio, divide_half_away};
use crate::solve::compact::{DiscRec, Facing, FlywheelRec, PlateRec, Val};
use crate::stack::form::MICRO;
use crate::stack::lengths::STAND_IN_RATIO;

/// A part of a route.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Sum {
    pub(super) pos: i64,
    pub(super) wc: i128,
    pub(super) v: i128,
    pub(super) assumed: bool,
    /// A correction is needed and cannot be worked out.
    pub(super) not_corrected: bool,
    /// The ratio's own share, which is kept out of `wc` and `v`.
    pub(super) gear_wc: i128,
    pub(super) gear_v: i128,
}

impl Sum {
    /// Adds a value with a whole sign.
    pub(super) fn add(&mut self, val: Val, sign: i64) {
        self.pos += sign * val.value;
        self.weigh(MICRO, val);
    }

    /// Counts the error limits with their coefficient in millionths; the value is counted elsewhere.
    pub(super) fn weigh(&mut self, micro: i128, val: Val) {
        self.weigh_facing(micro, as_facing(val));
    }

    pub(super) fn weigh_facing(&mut self, micro: i128, facing: Facing) {
        if micro != 0 {
            self.wc += micro.abs() * i128::from(facing.wc);
            self.v += micro * micro * facing.v;
            self.assumed |= facing.assumed;
        }
    }

    /// The ratio's own share: its tolerance times the gap, and the second-order part.
    pub(super) fn weigh_ratio(&mut self, ratio: Val, difference: i64, gap_wc: i64) {
        let tol = i128::from(ratio.tol);
        self.gear_wc += tol * i128::from(difference.abs()) + tol * i128::from(gap_wc);
        self.gear_v += (i128::from(difference) * i128::from(ratio.wide)).pow(2);
        self.assumed |= ratio.assumed;
    }

    /// Everything of a correction but the step, whose coefficient is collected by the caller.
    pub(super) fn correct(&mut self, correction: &Correction, sign: i64) {
        let micro = i128::from(correction.gear.value);
        self.pos += sign * product(correction.gear.value, correction.difference);
        for facing in [correction.facing, correction.taken].into_iter().flatten() {
            self.weigh_facing(micro, facing);
        }
        self.weigh_ratio(correction.gear, correction.difference, correction.gap_wc);
    }
}

/// The ratio to correct with: where nothing differs, a stand-in will do.
pub(super) fn gear(plate: &PlateRec, difference: i64) -> Option<Val> {
    match plate.ratio {
        Some(ratio) => Some(ratio),
        None if difference == 0 => {
            Some(Val { value: STAND_IN_RATIO.millionths(), assumed: true, ..Val::default() })
        }
        None => None,
    }
}

/// Ratio times gap difference, rounded once.
pub(super) fn product(micro: i64, difference: i64) -> i64 {
    let exact = i128::from(micro) * i128::from(difference);
    divide_half_away(exact, i128::from(Ratio::ONE)) as i64
}

/// A plate's correction at a gap.
#[derive(Debug, Clone, Copy)]
pub(super) struct Correction {
    /// The ratio, in millionths.
    pub(super) gear: Val,
    /// The gap as it is less the gap that was taken.
    pub(super) difference: i64,
    /// The disc or pack that enters; none where it cancels with the gap that was taken.
    pub(super) facing: Option<Facing>,
    /// The gap that was taken.
    pub(super) taken: Option<Facing>,
    /// Every tolerance of both gaps at its limit.
    pub(super) gap_wc: i64,
}

/// One value as if it were a clamped thickness.
pub(super) fn as_facing(val: Val) -> Facing {
    let v = i128::from(val.wide).pow(2);
    Facing { value: val.value, wc: val.tol, v, assumed: val.assumed }
}

/// A plate's correction, where it can be worked out. `measured` stands for the disc or pack.
pub(super) fn correction(
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
