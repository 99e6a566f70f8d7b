//! Checks of what the rear parts' lengths do to the input shaft and the dowels.

use super::{Needs, Outcome, Stack, judge};
use crate::model::house::Number;
use crate::model::length::Length;
use crate::stack::note::note;

impl Stack<'_, '_> {
    /// Block face to the tip of the input shaft.
    fn tip(&self, needs: &mut Needs) -> Option<Length> {
        let bell = needs.length(self.part("bell_housing"), "bell_housing", "depth");
        let shaft = needs.length(self.part("gearbox"), "gearbox", "shaft_length");
        let spacer =
            self.part("gearbox_spacer").map_or(Some(Length::ZERO), |part| part.length("thickness"));
        Some(self.plates(&self.choice.fills)? + bell? + spacer? - shaft?)
    }

    pub(super) fn pilot_engagement(&self) -> Outcome {
        let mut needs = Needs::default();
        let engine = self.part("engine");
        let tip = self.tip(&mut needs);
        let crank = needs.have(self.lengths.crank, "crank_protrusion");
        let recess = needs.length(engine, "engine", "pilot_recess");
        let length = needs.length(engine, "engine", "pilot_length");
        let (Some(tip), Some(crank), Some(recess), Some(length)) = (tip, crank, recess, length)
        else {
            return needs.unchecked();
        };
        let engaged = length.min(crank - recess - tip);
        judge(
            engaged.nm() * 2 >= length.nm(),
            note!["the shaft engages ", engaged, " of ", length, ", half at least"],
        )
    }

    pub(super) fn shaft_bottom(&self) -> Outcome {
        let mut needs = Needs::default();
        let engine = self.part("engine");
        let tip = self.tip(&mut needs);
        let crank = needs.have(self.lengths.crank, "crank_protrusion");
        let hole = needs.length(engine, "engine", "pilot_bore_depth");
        let (Some(tip), Some(crank), Some(hole)) = (tip, crank, hole) else {
            return needs.unchecked();
        };
        let float = engine.and_then(|engine| engine.length("crank_end_float"));
        let floor = self.house(Number::ShaftClearance) + float.unwrap_or(Length::ZERO);
        let room = tip - (crank - hole);
        judge(room >= floor, note![room, " ahead of the shaft's tip, at least ", floor])
    }

    pub(super) fn dowels(&self) -> Outcome {
        let mut needs = Needs::default();
        let dowels = needs.length(self.part("engine"), "engine", "dowel_protrusion");
        let plates = self.plates(&self.choice.fills);
        let (Some(dowels), Some(plates)) = (dowels, plates) else { return needs.unchecked() };
        let left = dowels - plates;
        let floor = self.house(Number::DowelFloor);
        judge(left >= floor, note![left, " of dowel engagement, at least ", floor])
    }
}
