//! The three lengths, by every route that there is.

use bellstack::model::job::{DiscState, Reading};
use bellstack::model::part::Part;
use bellstack::stack::choice::{Fill, Setup};
use bellstack::stack::grade::Grade;

use super::LeftOut;
use super::sum::{Sum, Terms, known, put};

/// A stack that is looked at.
pub(super) struct Look<'b, 'a> {
    pub(super) setup: &'b Setup<'a>,
    pub(super) chosen: &'b [Fill<'a>],
}

impl<'a> Look<'_, 'a> {
    pub(super) fn slot(&self, kind: &str) -> usize {
        self.setup.library.kinds.slot_of(kind).unwrap()
    }

    pub(super) fn part(&self, kind: &str) -> Option<&'a Part> {
        self.chosen[self.slot(kind)].parts.first().copied()
    }

    fn reading(&self, reading: Reading) -> Option<Sum<'a>> {
        let entry = self.setup.job.reading(reading)?;
        let key = (usize::MAX, "", 0, reading.spec().key);
        let terms = Terms::from([(key, (1, known("job", "", Some(entry))))]);
        Some(Sum { plain: terms, ..Sum::default() })
    }

    /// Adds a dimension of every part of a kind. Nothing is known of a part that nobody named.
    fn add(
        &self,
        terms: &mut Terms<'a>,
        fills: &[Fill<'a>],
        (kind, key): (&str, &'static str),
        times: i128,
    ) {
        let slot = self.slot(kind);
        let fill = &fills[slot];
        let optional =
            matches!(kind, "block_plate" | "bell_spacer" | "gearbox_spacer" | "bearing_shim");
        if fill.parts.is_empty() && !optional {
            put(
                terms,
                (slot, if fill.on_bench { "on the bench" } else { "blank" }, 0, key),
                times,
                None,
            );
        }
        for (index, part) in fill.parts.iter().enumerate() {
            let nth = fill.parts[..index].iter().filter(|other| other.id == part.id).count();
            put(terms, (slot, &part.id, nth, key), times, known(kind, key, part.entry(key)));
        }
    }

    fn crank(&self, fills: &[Fill<'a>]) -> Sum<'a> {
        let mut sum = Sum::default();
        self.add(&mut sum.plain, fills, ("engine", "crank_protrusion"), 1);
        sum
    }

    /// Crank flange to finger tips. `now` stands for the disc or pack; `taken` is off where the
    /// same plate is on both sides of a difference, as its own gap then cancels.
    fn clutch(&self, fills: &[Fill<'a>], now: Option<&Sum<'a>>, taken: bool) -> Sum<'a> {
        let mut sum = Sum::default();
        for (kind, key) in [
            ("flywheel", "thickness"),
            ("flywheel", "cover_step"),
            ("pressure_plate", "finger_height"),
        ] {
            self.add(&mut sum.plain, fills, (kind, key), 1);
        }
        let slot = self.slot("pressure_plate");
        let Some(plate) = fills[slot].parts.first().copied() else { return sum };
        let mut gap = Terms::new();
        self.add(&mut gap, fills, ("flywheel", "cover_step"), -1);
        match now {
            Some(now) => gap.extend(now.plain.clone()),
            None if plate.is_matched_set() => {
                self.add(&mut gap, fills, ("pressure_plate", "pack_thickness"), 1);
            }
            None => {
                let disc = fills[self.slot("disc")].parts.first();
                let free = disc.is_some_and(|disc| disc.entry("thickness").is_none());
                let both = [("free_thickness", 1), ("cushion", -1)];
                for (key, times) in if free { &both[..] } else { &[("thickness", 1)] } {
                    self.add(&mut gap, fills, ("disc", key), *times);
                }
            }
        }
        let flat = fills[self.slot("flywheel")].parts.first().is_some_and(|flywheel| {
            flywheel.entry("cover_step").is_none_or(|step| step.value == 0)
        });
        let own = plate.entry("set_gap").is_none() && plate.is_matched_set() && flat;
        if taken {
            self.add(
                &mut gap,
                fills,
                ("pressure_plate", if own { "pack_thickness" } else { "set_gap" }),
                -1,
            );
        }
        let ratio = known("pressure_plate", "finger_ratio", plate.entry("finger_ratio"));
        sum.bent.insert(&plate.id, (ratio, gap));
        sum.bent.retain(|_, (_, gap)| !gap.is_empty());
        sum
    }

    /// What moves a measured clutch sum: chosen less fitted.
    fn clutch_moved(&self) -> Sum<'a> {
        let slot = self.slot("pressure_plate");
        let same = self.chosen[slot].same(&self.setup.fitted[slot]);
        let now = self.reading(Reading::FittedDiscThickness);
        let fitted = self.clutch(&self.setup.fitted, now.as_ref(), !same);
        self.clutch(self.chosen, None, !same).plus(&fitted, -1)
    }

    fn plates(&self, fills: &[Fill<'a>]) -> Sum<'a> {
        let mut sum = Sum::default();
        self.add(&mut sum.plain, fills, ("block_plate", "thickness"), 1);
        self.add(&mut sum.plain, fills, ("bell_spacer", "thickness"), 1);
        sum
    }

    fn over_plate(&self, over: bool) -> Sum<'a> {
        let mut sum = Sum::default();
        if over {
            self.add(&mut sum.plain, &self.setup.fitted, ("block_plate", "thickness"), 1);
        }
        sum
    }

    /// Engine face of the bell housing to the bearing's contact face.
    fn behind(&self, fills: &[Fill<'a>], end: &'static str) -> Sum<'a> {
        let mut sum = Sum::default();
        for (kind, key, times) in [
            ("bell_housing", "depth", 1),
            ("gearbox_spacer", "thickness", 1),
            ("gearbox", "seat_height", -1),
            ("bearing_shim", "thickness", -1),
            ("bearing", end, -1),
        ] {
            self.add(&mut sum.plain, fills, (kind, key), times);
        }
        sum
    }

    /// Whether some part among these kinds is still the fitted one.
    fn stays(&self, kinds: &[&str]) -> bool {
        let told = self.setup.job.reading(Reading::FittedDiscThickness).is_some();
        let replaced = match self.setup.job.disc_state {
            DiscState::Worn => true,
            DiscState::Unknown => told,
            DiscState::New => false,
        };
        kinds.iter().any(|kind| {
            let (new, old) = (&self.chosen[self.slot(kind)], &self.setup.fitted[self.slot(kind)]);
            let shared =
                new.parts.iter().any(|part| old.parts.iter().any(|other| other.id == part.id));
            (new.on_bench && old.on_bench) || (shared && !(*kind == "disc" && replaced))
        })
    }

    /// The finger tips with the lowest grade that their route's doubts leave.
    pub(super) fn fingers(&self) -> Result<(Sum<'a>, Grade), LeftOut> {
        let job = self.setup.job;
        let told = job.reading(Reading::FittedDiscThickness).is_some();
        let doubt = match job.disc_state {
            DiscState::Worn if !told => Grade::Marginal,
            DiscState::Unknown if !told => Grade::Likely,
            _ => Grade::Sure,
        };
        let clutch = ["flywheel", "disc", "pressure_plate"];
        let mut routes = Vec::new();
        if let Some(depth) = self.reading(Reading::FingerDepth)
            && self.stays(&["engine", "flywheel", "disc", "pressure_plate"])
        {
            let crank = self.crank(self.chosen).plus(&self.crank(&self.setup.fitted), -1);
            let over = self.over_plate(job.depth_over_plate);
            routes
                .push((depth.plus(&over, 1).plus(&crank, 1).plus(&self.clutch_moved(), 1), doubt));
        }
        let mut cranks = vec![self.crank(self.chosen)];
        if let Some(read) = self.reading(Reading::CrankProtrusion)
            && self.stays(&["engine"])
        {
            cranks.insert(0, read.plus(&self.over_plate(job.crank_over_plate), 1));
        }
        let mut clutches = vec![(self.clutch(self.chosen, None, true), Grade::Sure)];
        if let Some(read) = self.reading(Reading::ClutchHeight)
            && self.stays(&clutch)
        {
            clutches.insert(0, (read.plus(&self.clutch_moved(), 1), doubt));
        }
        for crank in &cranks {
            for (clutch, doubt) in &clutches {
                routes.push((crank.clone().plus(clutch, 1), *doubt));
            }
        }
        Self::best(routes)
    }

    /// The bearing's contact face at one end of its travel.
    pub(super) fn contact(&self, end: &'static str) -> Result<Sum<'a>, LeftOut> {
        let (here, there) = match end {
            "extended_height" => (Reading::BearingDepthExtended, Reading::BearingDepthRetracted),
            _ => (Reading::BearingDepthRetracted, Reading::BearingDepthExtended),
        };
        let fitted = if self.setup.job.reading(here).is_some() { end } else { other(end) };
        let read = self.reading(here).or_else(|| self.reading(there));
        // One reading serves both ends by the fitted bearing's two heights, which are both asked for.
        let bearing = self.setup.fitted[self.slot("bearing")].parts.first();
        if read.is_some() && fitted != end && bearing.is_some_and(|part| !part.missing().is_empty())
        {
            return Err(LeftOut);
        }
        let mut routes = Vec::new();
        if let Some(read) = read
            && self.stays(&["bell_housing", "gearbox_spacer", "gearbox", "bearing_shim", "bearing"])
        {
            let moved =
                self.behind(self.chosen, end).plus(&self.behind(&self.setup.fitted, fitted), -1);
            routes.push((read.plus(&moved, 1), Grade::Sure));
        }
        routes.push((self.behind(self.chosen, end), Grade::Sure));
        let (best, _) = Self::best(routes)?;
        Ok(best.plus(&self.plates(self.chosen), 1))
    }

    /// The route with the smallest u, the first on a tie: measured ones come first. One that lacks
    /// a dimension is none.
    fn best(routes: Vec<(Sum<'a>, Grade)>) -> Result<(Sum<'a>, Grade), LeftOut> {
        let mut best: Option<(i128, Sum<'a>, Grade)> = None;
        for (sum, doubt) in routes {
            if sum.plain.values().any(|(_, known)| known.is_none()) {
                continue;
            }
            let u = sum.total().ok_or(LeftOut)?.three_u_squared;
            if best.as_ref().is_none_or(|(least, ..)| u < *least) {
                best = Some((u, sum, doubt));
            }
        }
        best.map(|(_, sum, doubt)| (sum, doubt)).ok_or(LeftOut)
    }
}

fn other(end: &str) -> &'static str {
    if end == "extended_height" { "retracted_height" } else { "extended_height" }
}
