//! Checks of releasing and driving: stroke, hydraulics, contact, shims and torque.

use super::{Needs, Outcome, Stack, judge};
use crate::model::house::Number;
use crate::model::kinds::Quantity;
use crate::model::length::{LONGEST, Length, Unit};
use crate::model::part::show_value;
use crate::stack::hydraulics::Hydraulics;
use crate::stack::note::note;

impl Stack<'_, '_> {
    pub(super) fn stroke(&self) -> Outcome {
        let mut needs = Needs::default();
        let travel = needs.length(self.part("pressure_plate"), "pressure_plate", "release_travel");
        let Some(travel) = travel else { return needs.unchecked() };
        judge(
            travel <= self.preload,
            note!["release travel ", travel, " of a preload of ", self.preload],
        )
    }

    pub(super) fn hydraulics(&self) -> Outcome {
        let mut needs = Needs::default();
        let plate = self.part("pressure_plate");
        let bearing = self.part("bearing");
        let travel = needs.length(plate, "pressure_plate", "release_travel");
        let bore = needs.length(self.bench.master, "master_cylinder", "bore");
        let stroke = needs.length(self.bench.master, "master_cylinder", "stroke");
        let outer = needs.length(bearing, "bearing", "bore_outer");
        let inner = needs.length(bearing, "bearing", "bore_inner");
        let (Some(travel), Some(bore), Some(stroke), Some(outer), Some(inner)) =
            (travel, bore, stroke, outer, inner)
        else {
            return needs.unchecked();
        };
        let hydraulics = Hydraulics { bore, outer, inner };
        let lost = self.bench.library.house.percent(Number::LostMotion);
        let releases = hydraulics.releases(stroke, lost, travel);
        let Some(full) = hydraulics.bearing_travel(stroke) else {
            return judge(
                releases,
                note!["bearing travel beyond ", LONGEST, ", ", travel, " needed"],
            );
        };
        let left = Length::from_nm(full.nm() * (100 - lost) / 100);
        let most = plate.and_then(|plate| plate.length("max_release_travel"));
        let limit = most.map_or(self.preload, |most| most.min(self.preload));
        let mut note = note![
            "bearing travel ",
            left,
            " of ",
            full,
            format!(" after {lost} % lost motion, "),
            travel,
            " needed"
        ];
        if full > limit
            && limit > Length::ZERO
            && let Some(stop) = hydraulics.master_stroke(limit)
        {
            note.0.extend(note!["; set a pedal stop at a master stroke of ", stop].0);
        }
        judge(releases, note)
    }

    pub(super) fn contact_circle(&self) -> Outcome {
        let mut needs = Needs::default();
        let plate = self.part("pressure_plate");
        let at = needs.length(self.part("bearing"), "bearing", "contact_diameter");
        let inner = needs.length(plate, "pressure_plate", "finger_circle_inner");
        let outer = needs.length(plate, "pressure_plate", "finger_circle_outer");
        let (Some(at), Some(inner), Some(outer)) = (at, inner, outer) else {
            return needs.unchecked();
        };
        judge(
            inner <= at && at <= outer,
            note!["contact at ", at, " on fingers from ", inner, " to ", outer],
        )
    }

    pub(super) fn torque(&self) -> Outcome {
        let mut needs = Needs::default();
        let plate = self.part("pressure_plate").and_then(|plate| plate.entry("torque_rating"));
        let rating = needs.have(plate, "pressure_plate.torque_rating");
        let asked = needs.have(self.bench.job.torque, "the job's torque");
        let (Some(rating), Some(asked)) = (rating, asked) else { return needs.unchecked() };
        let show = |value| show_value(Quantity::Torque, value, Unit::In);
        let note = format!("rated {} N m for {} N m", show(rating.value), show(asked));
        judge(rating.value >= asked, note![note])
    }

    pub(super) fn shims(&self) -> Outcome {
        let mut needs = Needs::default();
        let shims = self.bench.slot("bearing_shim").map(|slot| &self.choice.fills[slot].parts);
        let total: Option<Length> =
            shims.map_or(Some(Length::ZERO), |s| s.iter().map(|p| p.length("thickness")).sum());
        let Some(total) = needs.have(total, "bearing_shim.thickness") else {
            return needs.unchecked();
        };
        if total == Length::ZERO {
            return Outcome::Pass(note!["no shims"]);
        }
        let most = needs.length(self.part("bearing"), "bearing", "max_shim");
        let Some(most) = most else { return needs.unchecked() };
        judge(total <= most, note![total, " of shims, at most ", most])
    }
}
