//! The finger side in plain numbers: every route to the finger tips, and the one that is used.
//!
//! The same rules as in [`crate::stack::lengths`], without a term list; the tests hold both against
//! each other on every combination of thousands of random catalogs.
//!
//! Here are the routes and the choice between them. `clutch` is the clutch's own part, catalogued
//! or moved, and `correction` what a plate adds at another gap than it was taken with.

mod clutch;
mod correction;

use crate::model::job::{DiscState, Reading};
use crate::solve::compact::Compact;
use crate::solve::front::correction::Sum;
use crate::stack::form::MICRO;
use crate::stack::lengths::Doubts;

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
        let plate = self.fitted.block_plate.filter(|_| over);
        plate.map_or(0, |plate| (i128::from(plate.wide) * MICRO).pow(2))
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
