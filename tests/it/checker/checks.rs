//! The checks beside the window. Each passes, fails, or is not checked.

use bellstack::model::job::StarterOn;

use super::clutch::length;
use super::faces::Faces;
use super::sum::{Terms, up};
use super::task::{Fill, Task};
use super::window::wear;

/// What a check says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(crate) enum Said {
    Pass,
    Fail,
    Unchecked,
}

impl Said {
    fn when(passes: Option<bool>) -> Self {
        match passes {
            Some(true) => Self::Pass,
            Some(false) => Self::Fail,
            None => Self::Unchecked,
        }
    }

    /// Both: what fails, fails whatever else is unknown.
    fn and(self, other: Self) -> Self {
        match (self, other) {
            (Self::Fail, _) | (_, Self::Fail) => Self::Fail,
            (Self::Pass, Self::Pass) => Self::Pass,
            _ => Self::Unchecked,
        }
    }
}

/// Every check by its name, in their order.
pub(crate) type Checks = Vec<(&'static str, Said)>;

impl<'a> Task<'a> {
    pub(crate) fn checks(&self, stack: &[Fill<'a>], preload: i128, faces: Faces) -> Checks {
        let look = Look { task: self, stack };
        let faces = match faces {
            Faces { clash: true, .. } => Said::Fail,
            Faces { not_verified: 0, .. } => Said::Pass,
            _ => Said::Unchecked,
        };
        vec![
            ("faces", faces),
            ("stroke", look.stroke(preload)),
            ("hydraulics", look.hydraulics()),
            ("pilot_engagement", look.pilot()),
            ("shaft_bottom", look.shaft_bottom()),
            ("dowels", look.dowels()),
            ("starter", look.starter()),
            ("shims", look.shims()),
            ("flywheel_minimum", look.flywheel_minimum()),
            ("hub_clearance", look.hub_clearance()),
            ("end_float", look.end_float()),
            ("contact_circle", look.contact_circle()),
            ("torque", look.torque()),
        ]
    }

    /// Block plate, bell spacer, bell housing and gearbox spacer: how far back the gearbox stands.
    pub(crate) fn gearbox_face(&self, fills: &[Fill<'a>]) -> Terms {
        let mut terms = Terms::default();
        for kind in ["block_plate", "bell_spacer", "gearbox_spacer"] {
            self.put(&mut terms, fills, (kind, "thickness"), 1);
        }
        self.put(&mut terms, fills, ("bell_housing", "depth"), 1);
        terms
    }

    /// How far the gearbox moves, toward the rear, where that is known.
    pub(crate) fn gearbox_moves(&self, stack: &[Fill<'a>]) -> Option<i128> {
        let mut terms = self.gearbox_face(stack);
        terms.add(&self.gearbox_face(&self.fitted), -1);
        terms.value()
    }
}

struct Look<'t, 'a> {
    task: &'t Task<'a>,
    stack: &'t [Fill<'a>],
}

impl Look<'_, '_> {
    fn of(&self, kind: &str, key: &str) -> Option<i128> {
        length(self.stack[self.task.slot(kind)].part(), key)
    }

    /// What the parts of an optional slot add up to.
    fn thick(&self, kind: &str) -> Option<i128> {
        let parts = &self.stack[self.task.slot(kind)].parts;
        parts.iter().map(|(_, part)| length(Some(part), "thickness")).sum()
    }

    fn stroke(&self, preload: i128) -> Said {
        Said::when(self.of("pressure_plate", "release_travel").map(|travel| travel <= preload))
    }

    fn hydraulics(&self) -> Said {
        let by = || {
            let (bore, stroke) =
                (length(self.task.master, "bore")?, length(self.task.master, "stroke")?);
            let (outer, inner) =
                (self.of("bearing", "bore_outer")?, self.of("bearing", "bore_inner")?);
            let travel = self.of("pressure_plate", "release_travel")?;
            let kept = 100 - self.task.house.lost_motion();
            let moved = bore * bore * stroke * kept;
            Some(moved >= travel * (outer * outer - inner * inner) * 100)
        };
        Said::when(by())
    }

    /// The crank flange behind the shaft's tip: as it was read, where the engine stays and that is no
    /// less certain, else as it is catalogued. A block plate over which it was read and that stays
    /// cancels, however thick.
    fn flange_behind_tip(&self) -> Option<i128> {
        let cranks = self.task.cranks(self.stack);
        let known = cranks.into_iter().filter_map(|sum| Some((sum.total()?.three_u2, sum)));
        let (_, mut sum) = known.min_by_key(|(u2, _)| *u2)?;
        let mut tip = self.task.gearbox_face(self.stack);
        self.task.put(&mut tip, self.stack, ("gearbox", "shaft_length"), -1);
        self.task.put(&mut sum.plain, self.stack, ("block_plate", "thickness"), 1);
        sum.plain.add(&tip, -1);
        sum.plain.value()
    }

    fn pilot(&self) -> Said {
        let by = || {
            let (long, recess) =
                (self.of("engine", "pilot_length")?, self.of("engine", "pilot_recess")?);
            Some(2 * long.min(self.flange_behind_tip()? - recess) >= long)
        };
        Said::when(by())
    }

    fn shaft_bottom(&self) -> Said {
        let by = || {
            let deep = self.of("engine", "pilot_bore_depth")?;
            let float = self.of("engine", "crank_end_float").unwrap_or(0);
            let floor = self.task.house.length("shaft_clearance") + float;
            Some(deep - self.flange_behind_tip()? >= floor)
        };
        Said::when(by())
    }

    fn dowels(&self) -> Said {
        let by = || {
            let left = self.of("engine", "dowel_protrusion")?
                - self.thick("block_plate")?
                - self.thick("bell_spacer")?;
            Some(left >= self.task.house.length("dowel_floor"))
        };
        Said::when(by())
    }

    /// The ring gear within reach of where it is today, as the starter sees it.
    fn ring_gear(&self, on_bell: bool) -> Said {
        let task = self.task;
        // A cut over friction and cover face leaves the ring gear where it is.
        let uncut: Vec<Fill<'_>> =
            self.stack.iter().map(|f| Fill { cut: 0, ..f.clone() }).collect();
        let mut moved = Terms::default();
        for (fills, times) in [(&uncut, 1), (&task.fitted, -1)] {
            task.put(&mut moved, fills, ("engine", "crank_protrusion"), times);
            task.put(&mut moved, fills, ("flywheel", "ring_gear_offset"), times);
            if on_bell {
                task.put(&mut moved, fills, ("block_plate", "thickness"), -times);
                task.put(&mut moved, fills, ("bell_spacer", "thickness"), -times);
            }
        }
        let within = task.house.length("starter_tolerance");
        Said::when(moved.value().map(|moved| moved.abs() <= within))
    }

    fn starter(&self) -> Said {
        let slot = self.task.slot("flywheel");
        let teeth = if self.task.keeps(self.stack, slot) {
            Said::Pass
        } else {
            let new = self.of("flywheel", "ring_teeth");
            let today = length(self.task.fitted_part("flywheel"), "ring_teeth");
            Said::when(new.zip(today).map(|(new, today)| new == today))
        };
        let place = match self.task.job.starter_on {
            StarterOn::Block => self.ring_gear(false),
            StarterOn::Bell => self.ring_gear(true),
            // Nobody told: certain only where it is the same on either.
            StarterOn::Unknown => match (self.ring_gear(false), self.ring_gear(true)) {
                (block, bell) if block == bell => block,
                _ => Said::Unchecked,
            },
        };
        teeth.and(place)
    }

    fn shims(&self) -> Said {
        if self.stack[self.task.slot("bearing_shim")].parts.is_empty() {
            return Said::Pass;
        }
        let both = self.thick("bearing_shim").zip(self.of("bearing", "max_shim"));
        Said::when(both.map(|(shims, most)| shims <= most))
    }

    fn flywheel_minimum(&self) -> Said {
        let cut = self.stack[self.task.slot("flywheel")].cut;
        if cut == 0 {
            return Said::Pass;
        }
        let both = self.of("flywheel", "thickness").zip(self.of("flywheel", "min_thickness"));
        Said::when(both.map(|(thick, least)| thick - cut >= least))
    }

    fn hub_clearance(&self) -> Said {
        let cut = self.stack[self.task.slot("flywheel")].cut;
        let (plate, disc) = self.task.plate_and_disc(self.stack);
        let wear = wear(plate, disc).unwrap_or_else(|| self.task.house.length("blank.wear"));
        let floor = up(wear, 2) + self.task.house.length("hub_floor");
        let by = || {
            Some(
                self.of("flywheel", "bolt_clearance")? - cut - self.of("disc", "hub_front")?
                    >= floor,
            )
        };
        Said::when(by())
    }

    fn end_float(&self) -> Said {
        Said::when(self.of("engine", "crank_end_float").map(|_| true))
    }

    fn contact_circle(&self) -> Said {
        let touches = self.of("bearing", "contact_diameter");
        let inner = self.of("pressure_plate", "finger_circle_inner");
        let outer = self.of("pressure_plate", "finger_circle_outer");
        let within = Said::when(touches.zip(inner).map(|(touches, inner)| touches >= inner));
        within.and(Said::when(touches.zip(outer).map(|(touches, outer)| touches <= outer)))
    }

    fn torque(&self) -> Said {
        let rated = self.of("pressure_plate", "torque_rating");
        let asked = self.task.job.torque.map(i128::from);
        Said::when(rated.zip(asked).map(|(rated, asked)| rated >= asked))
    }
}
