//! When a branch is left: what it may still reach at best.
//!
//! Each of these promises too much or just enough, never too little: with bounds off the answer is
//! the same.

use crate::solve::ask::Order;
use crate::solve::compact::{Rec, pack};
use crate::solve::front::Front;
use crate::solve::search::best::Spent;
use crate::solve::search::blocks::{Block, Tail};
use crate::solve::search::layout::Layout;
use crate::solve::search::{Goal, Walk};
use crate::solve::tables::NEVER;
use crate::solve::verdict::NONE;
use crate::stack::fit::cap;
use crate::stack::form::MICRO;
use crate::stack::grade::Grade;
use crate::stack::lengths::Doubts;

/// Between what the additive slots have to add up to, less the finger position.
#[derive(Debug, Clone, Copy)]
pub(super) struct Interval {
    pub(super) low: i64,
    pub(super) high: i64,
    /// The most room that a sum in it may have.
    pub(super) room: i64,
}

impl Walk<'_, '_, '_> {
    /// The best place that a branch can still reach; false when it cannot win any more.
    pub(super) fn can_win(
        &self,
        layout: &Layout,
        spent: Spent,
        cost: i64,
        room: i64,
        picks: &[u32],
    ) -> bool {
        if cost >= NEVER || (matches!(self.goal, Goal::Pairs { .. }) && spent.changes > 2) {
            return false;
        }
        if !self.bounds {
            return true;
        }
        if let Some(budget) = self.ask.budget.filter(|_| self.goal.is_wanted())
            && cost > budget.get()
        {
            return false;
        }
        let place = self.place(layout.stage.grades.0, spent, cost, room);
        let with = picks[self.compact.named.plate];
        let with_disc = with != NONE && self.compact.plates[with as usize].pack.is_none();
        self.best.takes(&place, picks, &layout.first[usize::from(with_disc)])
    }

    /// Whether this and all that is dearer can be left: it wins nothing, or enough was found.
    pub(super) fn is_done(&self, cost: i64) -> bool {
        cost > self.cost_cut() || (self.probing && self.best.is_full())
    }

    /// Beyond this cost nothing wins any more, where cost is the first thing that still differs.
    pub(super) fn cost_cut(&self) -> i64 {
        let by_cost = self.bounds && matches!(self.order, Order::Grade | Order::Price);
        let last = self.best.to_beat().filter(|_| by_cost);
        last.map_or(NEVER, |last| pack(last.to_buy()))
    }

    /// What a branch costs at least once the slots behind the plate are filled.
    pub(super) fn hope(layout: &Layout, spent: Spent) -> Spent {
        Spent {
            cost: spent.cost + layout.rest.cost,
            parts: spent.parts + layout.rest.parts,
            changes: spent.changes + layout.rest.changes,
            blank: spent.blank,
        }
    }

    /// Whether a stack with this candidate can be sure: nothing that it certainly brings was assumed.
    pub(super) fn may_be_sure(&self, slot: usize, index: usize) -> bool {
        let compact = self.compact;
        let named = compact.named;
        // What is fitted may stay inside a measured sum, and its dimensions out of the chain.
        if compact.common[slot][index].kept {
            return true;
        }
        if slot == named.flywheel {
            let flywheel = &compact.flywheels[index];
            return !flywheel.step.assumed && flywheel.thickness.is_none_or(|val| !val.assumed);
        }
        if slot == named.disc {
            return compact.discs[index].facing.is_none_or(|facing| !facing.assumed);
        }
        if slot == named.plate {
            let plate = &compact.plates[index];
            return plate.height.is_none_or(|val| !val.assumed)
                && plate.ratio.is_some_and(|val| !val.assumed);
        }
        if slot == named.bearing {
            let bearing = &compact.bearings[index];
            let clean = |end: usize| {
                [bearing.m[end], bearing.c[end]].iter().flatten().any(|rec| !rec.assumed)
            };
            return clean(0) && clean(1);
        }
        true
    }

    /// The error limits that a candidate brings at least, whichever route is used.
    pub(super) fn least_rec(&self, slot: usize, index: usize) -> Rec {
        let compact = self.compact;
        let linear = compact.linear[slot][index];
        let over = compact.bench.job.crank_over_plate || compact.bench.job.depth_over_plate;
        if slot == compact.named.block_plate && over && compact.common[slot][index].kept {
            return Rec::default();
        }
        let (c, m) = (linear.c, linear.m);
        let least = |a: Option<i128>, b: Option<i128>| match (a, b) {
            (Some(a), Some(b)) => a.min(b),
            (a, b) => a.or(b).unwrap_or(0),
        };
        Rec {
            pos: 0,
            wc: least(c.map(|r| r.wc.into()), m.map(|r| r.wc.into())) as i64,
            v: least(c.map(|r| r.v), m.map(|r| r.v)),
            assumed: false,
        }
    }

    /// The lowest limits that the window of this plate may have with any disc.
    pub(super) fn least_window(&self, layout: &Layout, p: usize) -> [Option<i64>; 4] {
        let compact = self.compact;
        let mut window = compact.plates[p].window;
        if let Some(d) = layout.least_wear
            && compact.plates[p].pack.is_none()
        {
            let other = compact.window(d, p);
            window[2] = window[2].min(other[2]);
        }
        if self.goal.is_wanted() && !self.ask.show_failed {
            // A preload below the release travel fails the stroke check.
            window[0] = window[0].max(compact.plates[p].release);
        }
        window
    }

    /// Between what the additive slots have to add up to, less the finger position.
    pub(super) fn interval(
        &self,
        layout: &Layout,
        block: &Block,
        tail: &Tail,
        window: [Option<i64>; 4],
        engine: usize,
    ) -> Interval {
        let engine = &self.compact.engines[engine];
        let (less_preload, less_reserve) = engine.allowance;
        let margin = |end: usize| self.margin(layout.stage.grades.1, block, tail, end);
        let (margin_p, margin_r) = (margin(0), margin(1));
        let far = i64::MAX / 8;
        // preload = x - extended - R, reserve = retracted + R - x.
        let mut high =
            window[0].map_or(far, |limit| -tail.ends[0] - limit - less_preload - margin_p);
        let mut low =
            window[2].map_or(-far, |limit| limit + less_reserve + margin_r - tail.ends[1]);
        if let Some(limit) = window[1] {
            low = low.max(-tail.ends[0] - limit + less_reserve + margin_p);
        }
        if let Some(limit) = window[3] {
            high = high.min(limit - less_preload - margin_r - tail.ends[1]);
        }
        // A margin is part of the room that it leaves.
        let room = ((high - low) / 2).saturating_add(margin_p.max(margin_r)).saturating_add(1);
        Interval { low, high, room }
    }

    /// How far beyond its interval a sum may still lie. Where room leads the ranking and the list is
    /// full, what is found has to come as near to the middle as the last of the list: the interval
    /// closes in, and the slack falls below zero.
    pub(super) fn slack(&self, layout: &Layout) -> i64 {
        let by_room = self.bounds && self.order == Order::Room;
        let needed = self.best.to_beat().filter(|_| by_room).map(|place| -place.least_room());
        needed.map_or(layout.stage.slack, |needed| needed.min(layout.stage.slack))
    }

    /// The room that a grade needs at least, rounded down; none where the interval closes in by room
    /// as it is.
    fn margin(&self, grade: Grade, block: &Block, tail: &Tail, end: usize) -> i64 {
        if !self.bounds || self.order == Order::Room {
            return 0;
        }
        match grade {
            Grade::Sure => block.base_wc + tail.wc[end],
            Grade::Likely if self.order == Order::Grade => {
                let two_u = ((block.base_v + tail.v[end]) * 4.0 / 3.0).sqrt();
                (two_u * (1.0 - 1e-9)) as i64 - 1
            }
            _ => 0,
        }
    }

    /// The least error limits that a flywheel brings: worst case and variance.
    pub(super) fn flywheel_spread(&self, f: usize, block: &Block) -> (i128, i128) {
        let kept = self.compact.common[self.compact.named.flywheel][f].kept;
        if kept && block.route.clutch_measured() {
            return (0, 0);
        }
        let flywheel = &self.compact.flywheels[f];
        let (thickness, step) = (flywheel.thickness.unwrap_or_default(), flywheel.step);
        let to_step = MICRO + i128::from(block.step_gear);
        let sum =
            |thickness: i64, step: i64| (i128::from(thickness) * MICRO, i128::from(step) * to_step);
        let (limits, widths) = (sum(thickness.tol, step.tol), sum(thickness.wide, step.wide));
        (limits.0 + limits.1, widths.0.pow(2) + widths.1.pow(2))
    }

    /// The least error limits that a disc brings: worst case and variance.
    pub(super) fn disc_spread(&self, d: usize, block: &Block) -> (i128, i128) {
        let kept = self.compact.common[self.compact.named.disc][d].kept;
        if kept && block.route.clutch_measured() {
            return (0, 0);
        }
        let facing = self.compact.discs[d].facing.unwrap_or_default();
        let gear = i128::from(block.disc_gear);
        (gear * i128::from(facing.wc), gear * gear * facing.v)
    }

    /// Whether a finger side can be part of a stack of this grade.
    pub(super) fn may_reach(
        &self,
        grade: Grade,
        front: &Front,
        (f, d, p): (usize, usize, usize),
    ) -> bool {
        let outside = self.compact.outside_range(f, d, p);
        let capped = cap(front.doubts, outside).is_some_and(|(cap, _)| cap > grade);
        let refused = outside && matches!(self.goal, Goal::Pairs { .. });
        let assumed = grade == Grade::Sure && front.assumed;
        !self.bounds || !(capped || refused || assumed)
    }

    /// Whether a doubt that all stacks of a block share keeps them from a grade.
    pub(super) fn is_capped(&self, grade: Grade, first: &Front, p: usize) -> bool {
        let certain = Doubts {
            // Without a ratio it hangs on flywheel and disc whether a correction is needed.
            not_corrected: first.doubts.not_corrected && self.compact.plates[p].ratio.is_some(),
            ..first.doubts
        };
        cap(certain, false).is_some_and(|(cap, _)| cap > grade)
    }
}
