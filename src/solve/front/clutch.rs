//! The clutch's own part of a route: by the catalog, or as a move of a measured sum.

use crate::model::job::Reading;
use crate::solve::compact::{Compact, PlateRec};
use crate::solve::front::correction::{Correction, Sum, as_facing, correction, gear, product};
use crate::stack::form::MICRO;

impl Compact<'_, '_> {
    /// Where the fingers stand above the crank flange by the catalog.
    pub(super) fn clutch_catalogued(&self, f: usize, d: usize, p: usize) -> Option<Sum> {
        let (flywheel, disc, plate) = (&self.flywheels[f], &self.discs[d], &self.plates[p]);
        let mut sum = Sum::default();
        sum.add(flywheel.thickness?, 1);
        sum.add(plate.height?, 1);
        sum.pos += flywheel.step.value;
        let mut step = MICRO;
        match correction(flywheel, Some(disc), plate, None) {
            Some(correction) => {
                step += i128::from(correction.gear.value);
                sum.correct(&correction, -1);
            }
            None => sum.not_corrected = true,
        }
        sum.weigh(step, flywheel.step);
        Some(sum)
    }

    /// Where the fingers stand above the crank flange by the catalog, without any error limits.
    pub fn clutch_pos(&self, f: usize, d: usize, p: usize) -> Option<i64> {
        let (flywheel, plate) = (&self.flywheels[f], &self.plates[p]);
        let moved = correction(flywheel, Some(&self.discs[d]), plate, None)
            .map_or(0, |correction| product(correction.gear.value, correction.difference));
        Some(flywheel.thickness?.value + flywheel.step.value + plate.height?.value - moved)
    }

    /// What the clutch parts move a measured sum by.
    pub(super) fn clutch_moved(&self, f: usize, d: usize, p: usize) -> Option<Sum> {
        let named = &self.named;
        let f_kept = self.common[named.flywheel][f].kept;
        let d_kept = self.common[named.disc][d].kept;
        let p_kept = self.common[named.plate][p].kept && self.fitted.plate.is_some();
        let mut sum = Sum::default();
        if !f_kept || self.flywheels[f].cut {
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
                let micro = i128::from(gear.value);
                step = (MICRO + micro, MICRO + micro);
                sum.pos -= product(gear.value, gap);
                if let Some((new, old)) = facings {
                    sum.weigh_facing(micro, new);
                    sum.weigh_facing(micro, old);
                }
                sum.weigh_ratio(gear, gap, gap_wc);
            }
            None => sum.not_corrected = true,
        }
        if !f_kept {
            sum.weigh(step.0, new_step);
            sum.weigh(step.1, old_step);
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
        let micro = |side: &Option<Correction>| side.map_or(0, |c| i128::from(c.gear.value));
        let (new_micro, old_micro) = (micro(&new), micro(&old));
        sum.not_corrected = new.is_none() || old.is_none();
        let shared = d_kept
            && measured.is_none()
            && old_plate.pack.is_none()
            && self.plates[p].pack.is_none();
        for (side, sign) in [(&new, -1), (&old, 1)] {
            let Some(side) = side else { continue };
            sum.pos += sign * product(side.gear.value, side.difference);
            let ratio = i128::from(side.gear.value);
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
            sum.weigh(new_micro - old_micro, new_step);
        } else {
            sum.weigh(MICRO + new_micro, new_step);
            sum.weigh(MICRO + old_micro, old_step);
        }
    }
}
