//! The walk: one loop of named steps, from the frame to the leaf.
//!
//! At each step the most promising candidates come first: the list fills with good places, and the
//! rest is cut short. Each candidate is taken back once its branch is done.

use std::cmp::Reverse;
use std::collections::BinaryHeap;
use std::rc::Rc;

use crate::error::Result;
use crate::model::kinds::Joint;
use crate::solve::ask::Order;
use crate::solve::compact::{Common, unpack};
use crate::solve::search::best::Spent;
use crate::solve::search::blocks::{Block, Cache, Frame, Offset, Places, Tail};
use crate::solve::search::bounds::Interval;
use crate::solve::search::layout::{Alike, Layout};
use crate::solve::search::{Goal, Mates, ROUNDING, Stage, Walk};
use crate::solve::tables::{NEVER, Rows, Spot, plus};
use crate::solve::verdict::{NONE, Picks};

/// A block and a tail with the interval between them.
struct Pair<'p> {
    block: &'p Block,
    places: &'p Places<'p>,
    tail: &'p Tail,
    /// What the additive slots have to add up to, less where the fingers stand.
    within: Interval,
    /// The least that discs do together with the additive slots, by position.
    disc_rows: &'p Rows,
    offset: Offset,
}

/// What the additive slots have to add up to, and the room that this may give.
#[derive(Clone, Copy)]
struct Target {
    low: i64,
    high: i64,
    /// Half of what lies between.
    room: i64,
}

/// A bearing that a plate may have behind it: the least that they cost together, the tail, and the
/// interval.
type Behind<'t> = (i64, &'t Tail, Interval);

/// Those of an alike list that stay within a cost with the least that still comes to it; all of
/// them where none is set.
fn within<'l>(
    alike: &'l Alike,
    common: &'l [Common],
    least: i64,
    cut: i64,
) -> impl Iterator<Item = (i64, usize)> + 'l {
    let some = if least < NEVER { alike.as_slice() } else { &[] };
    let costs = some.iter().map(move |index| (common[*index].cost + least, *index));
    costs.take_while(move |(cost, _)| *cost <= cut)
}

impl Walk<'_, '_, '_> {
    /// One stage, part by part.
    pub(super) fn run(&mut self, stage: &Stage) -> Result<()> {
        let spots = Rc::new(self.spots(stage));
        for lists in self.parts_of(stage) {
            let layout = self.layout(stage, lists, &spots);
            self.frames(&layout)?;
        }
        Ok(())
    }

    /// Frames: engine, bell housing and gearbox, mostly fixed.
    fn frames(&mut self, layout: &Layout) -> Result<()> {
        let named = self.compact.named;
        for e in layout.lists[named.engine].iter() {
            for bell in layout.lists[named.bell].iter() {
                for gearbox in layout.lists[named.gearbox].iter() {
                    let mut picks = vec![NONE; self.compact.common.len()];
                    picks[named.engine] = *e as u32;
                    picks[named.bell] = *bell as u32;
                    picks[named.gearbox] = *gearbox as u32;
                    self.tick()?;
                    if self.clash(&picks, &Joint::ALL) {
                        continue;
                    }
                    self.frame(layout, &mut picks)?;
                }
            }
        }
        Ok(())
    }

    /// Plates, the most promising first. What one promises is first only a hope by its price; once
    /// it is the best that is left, it is worked out, and waits for its turn again.
    fn frame(&mut self, layout: &Layout, picks: &mut Picks) -> Result<()> {
        let named = self.compact.named;
        let mut spent = Spent::default();
        for slot in [named.engine, named.bell, named.gearbox] {
            spent = self.spent(spent, slot, picks[slot] as usize);
        }
        let tails = self.tails(layout, picks);
        let floor = spent.cost + layout.cheapest[named.plate] + layout.rest.cost;
        let mut frame = Frame { spent, floor, tails, cache: Cache::default() };
        let by_cost = self.bounds && matches!(self.order, Order::Grade | Order::Price);
        let mut waiting: BinaryHeap<Reverse<(i64, usize, bool)>> = BinaryHeap::new();
        for (turn, p) in layout.lists[named.plate].iter().enumerate() {
            let hope = Self::hope(layout, self.spent(spent, named.plate, *p));
            waiting.push(Reverse((if by_cost { hope.cost } else { 0 }, turn, !by_cost)));
        }
        while let Some(Reverse((least, turn, worked_out))) = waiting.pop() {
            self.tick()?;
            let p = layout.lists[named.plate][turn];
            let hope = Self::hope(layout, self.spent(spent, named.plate, p));
            picks[named.plate] = p as u32;
            if self.can_win(layout, hope, hope.cost.max(least), i64::MAX, picks)
                && !self.clash(picks, &[Joint::Spline])
                && (self.lets_fail() || !self.compact.plate_fails(p, i64::MAX))
            {
                if worked_out {
                    self.plate(layout, picks, &mut frame)?;
                } else {
                    // A promise means nothing before there is a last place to hold it against: any
                    // will do at first. What is found is found again, and stands in the list once.
                    if !self.best.is_full() {
                        self.probing = true;
                        self.plate(layout, picks, &mut frame)?;
                        self.probing = false;
                    }
                    let least = self.promise(layout, picks, &mut frame);
                    if least < NEVER {
                        waiting.push(Reverse((least, turn, true)));
                    }
                }
            }
            picks[named.plate] = NONE;
        }
        Ok(())
    }

    /// The least that any stack with the picked plate costs.
    fn promise(&self, layout: &Layout, picks: &[u32], frame: &mut Frame) -> i64 {
        let named = self.compact.named;
        let own = self.spent(frame.spent, named.plate, picks[named.plate] as usize).cost;
        let mut least = NEVER;
        for block in self.blocks(layout, picks) {
            for (cost, ..) in self.behind(layout, picks, &block, frame, true) {
                least = least.min(own + cost);
            }
        }
        least
    }

    /// The bearings that may stand behind a block, at a first look or closely.
    fn behind<'f>(
        &self,
        layout: &Layout,
        picks: &[u32],
        block: &Block,
        frame: &'f mut Frame,
        coarse: bool,
    ) -> impl Iterator<Item = Behind<'f>> {
        let window = self.least_window(layout, picks[self.compact.named.plate] as usize);
        let rows = self.both_rows(layout, picks, block, frame, coarse);
        let dearest = layout.cheapest[self.compact.named.bearing] + self.spare(frame);
        let (_, offset) = Self::offsets(layout, block);
        let common = &self.compact.common[self.compact.named.bearing];
        let reach = self.slack(layout) + ROUNDING;
        let engine = picks[self.compact.named.engine] as usize;
        // They are in the order of the bearings' list: where cost leads it, the rest is dearer still.
        let tails = &frame.tails;
        let tails = tails.iter().take_while(move |tail| common[tail.bearing].cost <= dearest);
        tails.filter_map(move |tail| {
            let within = self.interval(layout, block, tail, window, engine);
            let (low, high) = (within.low - reach, within.high + reach);
            let least = offset.min(&rows, low, high, [-block.base; 2]);
            (least < NEVER).then(|| (common[tail.bearing].cost + least, tail, within))
        })
    }

    /// Bearings, by the blocks of flywheels and discs that the plate may have before it.
    fn plate(&mut self, layout: &Layout, picks: &mut Picks, frame: &mut Frame) -> Result<()> {
        let named = self.compact.named;
        let p = picks[named.plate] as usize;
        let spent = self.spent(frame.spent, named.plate, p);
        for block in self.blocks(layout, picks) {
            let disc_rows = self.disc_rows(layout, picks, &block, frame);
            let (offset, _) = Self::offsets(layout, &block);
            let (cut, spare) = (self.cost_cut() - spent.cost, self.spare(frame));
            let mut promising: Vec<Behind<'_>> = self
                .behind(layout, picks, &block, frame, false)
                .filter(|(cost, ..)| *cost <= cut)
                .collect();
            if promising.is_empty() {
                continue;
            }
            let places = self.places(layout, picks, &block, spare);
            let by_room = self.order == Order::Room;
            promising.sort_by_key(|(cost, tail, within)| {
                (if by_room { -within.room } else { 0 }, *cost, tail.bearing)
            });
            let mut mates = Mates::new();
            for (cost, tail, within) in promising {
                if self.is_done(spent.cost + cost) {
                    break;
                }
                self.tick()?;
                let with = self.spent(spent, named.bearing, tail.bearing);
                picks[named.bearing] = tail.bearing as u32;
                if self.can_win(layout, with, spent.cost + cost, within.room, picks)
                    && self.fits(&mut mates, picks, named.bearing, &[Joint::Contact, Joint::Seat])
                    && (self.lets_fail() || !self.compact.contact_fails(p, tail.bearing))
                {
                    let (block, places, disc_rows) = (&block, &places, disc_rows.as_ref());
                    let pair = Pair { block, places, tail, within, disc_rows, offset };
                    self.flywheels(layout, picks, with, &pair)?;
                }
                picks[named.bearing] = NONE;
            }
        }
        Ok(())
    }

    /// Flywheels.
    fn flywheels(
        &mut self,
        layout: &Layout,
        picks: &mut Picks,
        spent: Spent,
        pair: &Pair<'_>,
    ) -> Result<()> {
        let named = self.compact.named;
        let reach = self.slack(layout) + ROUNDING;
        let mut promising = Vec::new();
        let cut = self.cost_cut() - spent.cost;
        let common = &self.compact.common[named.flywheel];
        for (place, alike) in &pair.places.flywheels {
            if common[alike[0]].cost > cut {
                break;
            }
            let at = plus(*place, [-pair.block.base; 2]);
            let least = pair.offset.min(
                pair.disc_rows,
                pair.within.low - reach,
                pair.within.high + reach,
                at,
            );
            promising.extend(within(alike, common, least, cut).map(|(cost, f)| (cost, f, at)));
        }
        promising.sort_unstable();
        let mut mates = Mates::new();
        for (cost, f, at) in promising {
            if self.is_done(spent.cost + cost) {
                break;
            }
            self.tick()?;
            let with = self.spent(spent, named.flywheel, f);
            picks[named.flywheel] = f as u32;
            if self.can_win(layout, with, spent.cost + cost, pair.within.room, picks)
                && self.fits(&mut mates, picks, named.flywheel, &[Joint::Crank, Joint::Cover])
            {
                self.discs(layout, picks, with, pair, at)?;
            }
            picks[named.flywheel] = NONE;
        }
        Ok(())
    }

    /// Discs. From here on route and window are exact, so the interval is narrowed anew.
    fn discs(
        &mut self,
        layout: &Layout,
        picks: &mut Picks,
        spent: Spent,
        pair: &Pair<'_>,
        flywheel_at: Spot,
    ) -> Result<()> {
        let compact = self.compact;
        let named = compact.named;
        let at = |slot: usize, picks: &[u32]| picks[slot] as usize;
        let (e, f, p) =
            (at(named.engine, picks), at(named.flywheel, picks), at(named.plate, picks));
        let mut promising = Vec::new();
        let reach = self.slack(layout) + ROUNDING;
        let cut = self.cost_cut() - spent.cost;
        let common = &compact.common[named.disc];
        for (place, alike) in &pair.places.discs {
            if common[alike[0]].cost > cut {
                break;
            }
            let at = plus(flywheel_at, *place);
            let least = layout.rows[0].min(pair.within.low - reach, pair.within.high + reach, at);
            promising.extend(within(alike, common, least, cut));
        }
        promising.sort_unstable();
        let mut mates = Mates::new();
        for (cost, d) in &promising {
            if self.is_done(spent.cost + cost) {
                break;
            }
            self.tick()?;
            let with = self.spent(spent, named.disc, *d);
            picks[named.disc] = *d as u32;
            if self.can_win(layout, with, spent.cost + cost, pair.within.room, picks)
                && self.fits(&mut mates, picks, named.disc, &[Joint::Diameter, Joint::Spline])
                && (self.lets_fail() || !compact.hub_fails(f, *d))
                && let Some(front) = compact.front((e, f, *d, p))
                && front.route == pair.block.route
                && self.may_reach(layout.stage.grades.1, &front, (f, *d, p))
            {
                let block = pair.block.with_limits(front.wc, front.v);
                let mut window = compact.window(*d, p);
                if !self.lets_fail() && self.goal.is_wanted() {
                    window[0] = window[0].max(compact.plates[p].release);
                }
                let within = self.interval(layout, &block, pair.tail, window, e);
                let target = Target {
                    low: within.low + front.pos - ROUNDING,
                    high: within.high + front.pos + ROUNDING,
                    room: within.room,
                };
                self.additive(layout, picks, with, 0, [0; 2], target)?;
            }
            picks[named.disc] = NONE;
        }
        Ok(())
    }

    /// Additive slots, one a level.
    fn additive(
        &mut self,
        layout: &Layout,
        picks: &mut Picks,
        spent: Spent,
        level: usize,
        sum: Spot,
        target: Target,
    ) -> Result<()> {
        let Some(slot) = self.compact.additive.get(level).copied() else {
            self.leaf(layout, picks, spent);
            return Ok(());
        };
        let rows = &layout.rows[level + 1];
        let named = self.compact.named;
        let mut promising = Vec::new();
        let cut = self.cost_cut() - spent.cost;
        let (common, slack) = (&self.compact.common[slot], self.slack(layout));
        for alike in layout.alike[level].iter() {
            if common[alike[0]].cost > cut {
                break;
            }
            let here = plus(sum, layout.spots[slot][alike[0]]);
            let least = rows.min(target.low - slack, target.high + slack, here);
            let found = within(alike, common, least, cut);
            promising.extend(found.map(|(cost, i)| (cost, common[i].parts, i, here)));
        }
        promising.sort_unstable();
        let mut mates = Mates::new();
        for (cost, _, index, here) in &promising {
            if self.is_done(spent.cost + cost) {
                break;
            }
            self.tick()?;
            let with = self.spent(spent, slot, *index);
            picks[slot] = *index as u32;
            let bearing = picks[named.bearing] as usize;
            if self.can_win(layout, with, spent.cost + cost, target.room, picks)
                && (slot != named.shims || self.compact.shims_within(bearing, *index))
                && self.fits(&mut mates, picks, slot, &[Joint::Block, Joint::Gearbox, Joint::Seat])
            {
                self.additive(layout, picks, with, level + 1, *here, target)?;
            }
            picks[slot] = NONE;
        }
        Ok(())
    }

    /// One whole combination, judged exactly.
    fn leaf(&mut self, layout: &Layout, picks: &[u32], spent: Spent) {
        let compact = self.compact;
        let named = compact.named;
        let stage = &layout.stage;
        if stage.blank.is_some_and(|blank| blank != spent.blank) || self.clash(picks, &Joint::ALL) {
            return;
        }
        let at = |slot: usize| picks[slot] as usize;
        let front =
            compact.front((at(named.engine), at(named.flywheel), at(named.disc), at(named.plate)));
        let (Some(front), Some(rear)) = (front, compact.rear(picks)) else { return };
        let verdict = compact.verdict(picks, &front, &rear);
        if verdict.grade < stage.grades.0 || verdict.grade > stage.grades.1 {
            return;
        }
        let fails = compact.fails(picks, verdict.preload);
        if fails && !self.lets_fail() {
            return;
        }
        let to_buy = unpack(spent.cost);
        let affordable =
            self.ask.budget.is_none_or(|budget| to_buy.unpriced == 0 && to_buy.amount <= budget);
        match self.goal {
            Goal::Wanted | Goal::Pairs { .. } if !affordable => return,
            Goal::Pairs { barred, failing_below, .. } => {
                let does_alone = barred.iter().zip(picks).any(|(bars, pick)| bars[*pick as usize]);
                let no_better = fails && verdict.grade >= *failing_below;
                if spent.changes != 2 || does_alone || verdict.outside_range || no_better {
                    return;
                }
            }
            // What lies further out belongs to a later stage, where nothing nearer is missing.
            Goal::Nearest { .. } if verdict.room < -stage.slack => return,
            // The second round of near misses looks only at what fails.
            Goal::Nearest { failing: true } if !fails => return,
            _ => {}
        }
        let place = self.place(verdict.grade, spent, spent.cost, verdict.room);
        if self.best.takes(&place, picks, picks) {
            self.best.offer(place, picks);
        }
    }
}
