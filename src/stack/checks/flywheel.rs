//! Checks of the flywheel: its ring gear, what machining leaves, and room for the disc's hub.

use super::{Needs, Outcome, Stack, judge};
use crate::model::house::Number;
use crate::model::job::StarterOn;
use crate::model::length::Length;
use crate::stack::note::note;

impl Stack<'_, '_> {
    pub(super) fn starter(&self) -> Outcome {
        let mut needs = Needs::default();
        let (new, old) = (self.part("flywheel"), self.bench.fitted_part("flywheel"));
        let mut moved = Length::ZERO;
        let mut known = true;
        if needs.have(old, "the fitted flywheel").is_none() {
            return needs.unchecked();
        }
        if let (Some(new), Some(old)) = (new, old)
            && new.id != old.id
        {
            let key = "ring_gear_offset";
            let offsets = (
                needs.length(Some(new), "flywheel", key),
                needs.length(Some(old), "flywheel", key),
            );
            let teeth = (new.entry("ring_teeth"), old.entry("ring_teeth"));
            match teeth {
                (Some(a), Some(b)) if a.value != b.value => {
                    let counts = format!("{} ring gear teeth instead of {}", a.value, b.value);
                    return Outcome::Fail(note![counts]);
                }
                (Some(_), Some(_)) => {}
                _ => needs.0.push("flywheel.ring_teeth".into()),
            }
            match offsets {
                (Some(new), Some(old)) => moved += new - old,
                _ => known = false,
            }
        }
        let engine = (self.part("engine"), self.bench.fitted_part("engine"));
        if let (Some(new), Some(old)) = engine
            && new.id != old.id
        {
            let key = "crank_protrusion";
            match (needs.length(Some(new), "engine", key), needs.length(Some(old), "engine", key)) {
                (Some(new), Some(old)) => moved += new - old,
                _ => known = false,
            }
        }
        let plates = (self.plates(&self.choice.fills), self.plates(&self.bench.fitted));
        let (Some(new), Some(old)) = plates else {
            needs.0.push("the plates' thickness".into());
            return needs.unchecked();
        };
        match self.bench.job.starter_on {
            StarterOn::Bell => moved -= new - old,
            StarterOn::Block => {}
            StarterOn::Unknown if new == old => {}
            StarterOn::Unknown => {
                needs.0.push("starter_on".into());
                known = false;
            }
        }
        needs.0.dedup();
        if !known || !needs.0.is_empty() {
            return needs.unchecked();
        }
        let within = self.house(Number::StarterTolerance);
        judge(moved.abs() <= within, note!["the ring gear moves ", moved, ", at most ", within])
    }

    pub(super) fn flywheel_minimum(&self) -> Outcome {
        let cut = self.cut();
        if cut == Length::ZERO {
            return Outcome::Pass(note!["nothing is machined"]);
        }
        let mut needs = Needs::default();
        let flywheel = self.part("flywheel");
        let least = needs.length(flywheel, "flywheel", "min_thickness");
        let now = needs.length(flywheel, "flywheel", "thickness");
        let (Some(least), Some(now)) = (least, now) else { return needs.unchecked() };
        judge(now - cut >= least, note![now - cut, " after machining, at least ", least])
    }

    fn cut(&self) -> Length {
        let slot = self.bench.slot("flywheel");
        slot.map_or(Length::ZERO, |slot| self.choice.fills[slot].cut)
    }

    pub(super) fn hub_clearance(&self) -> Outcome {
        let mut needs = Needs::default();
        if self.part("disc").is_none() {
            needs.0.push("the matched set's hub".into());
            return needs.unchecked();
        }
        let room = needs.length(self.part("flywheel"), "flywheel", "bolt_clearance");
        let hub = needs.length(self.part("disc"), "disc", "hub_front");
        let (Some(room), Some(hub)) = (room, hub) else { return needs.unchecked() };
        let left = room - self.cut() - hub;
        judge(left > Length::ZERO, note![left, " between the disc's hub and the crank bolts"])
    }
}
