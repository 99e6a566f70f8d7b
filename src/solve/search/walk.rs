//! The walk: one loop of named steps, from the frame to the leaf.
//!
//! At each step the most promising candidates come first: the list fills with good places, and the
//! rest is cut short. Each candidate is taken back once its branch is done.

use crate::error::Result;
use crate::model::kinds::Joint;
use crate::solve::ask::Order;
use crate::solve::candidates::shims_within;
use crate::solve::compact::{Common, unpack};
use crate::solve::search::best::Spent;
use crate::solve::search::blocks::{Block, CACHE, Cache, Offset, Places, Tail};
use crate::solve::search::layout::{Alike, Layout};
use crate::solve::search::{Goal, Mates, ROUNDING, Stage, Walk};
use crate::solve::tables::{NEVER, Row};
use crate::solve::verdict::{NONE, Picks};

/// A block and a tail with the interval between them.
struct Pair<'p> {
    block: &'p Block,
    places: &'p Places,
    tail: &'p Tail,
    /// What the additive slots have to add up to, less where the fingers stand.
    low: i64,
    high: i64,
    /// The least that discs do together with the additive slots, by position.
    disc_row: (&'p Row, Offset),
}

/// What the additive slots have to add up to, and the room that this may give.
#[derive(Clone, Copy)]
struct Target {
    low: i64,
    high: i64,
    /// Half of what lies between.
    room: i64,
}

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
    /// Frames: engine, bell housing and gearbox, mostly fixed.
    pub(super) fn run(&mut self, stage: &Stage) -> Result<()> {
        let Some(layout) = self.layout(stage) else { return Ok(()) };
        let named = self.compact.named;
        for e in &layout.lists[named.engine] {
            for bell in &layout.lists[named.bell] {
                for gearbox in &layout.lists[named.gearbox] {
                    let mut picks = vec![NONE; self.compact.common.len()];
                    picks[named.engine] = *e as u32;
                    picks[named.bell] = *bell as u32;
                    picks[named.gearbox] = *gearbox as u32;
                    self.tick()?;
                    if self.clash(&picks, &Joint::ALL) {
                        continue;
                    }
                    self.frame(&layout, &mut picks)?;
                }
            }
        }
        Ok(())
    }

    /// Plates.
    fn frame(&mut self, layout: &Layout, picks: &mut Picks) -> Result<()> {
        let named = self.compact.named;
        let mut spent = Spent::default();
        for slot in [named.engine, named.bell, named.gearbox] {
            spent = self.spent(spent, slot, picks[slot] as usize);
        }
        let tails = self.tails(layout, picks);
        let mut cache = Cache::new();
        for p in &layout.lists[named.plate] {
            self.tick()?;
            let with_plate = self.spent(spent, named.plate, *p);
            let hope = Self::hope(layout, with_plate);
            picks[named.plate] = *p as u32;
            if self.can_win(layout, hope, hope.cost, i64::MAX, picks)
                && !self.clash(picks, &[Joint::Spline])
                && (self.lets_fail() || !self.compact.plate_fails(*p, i64::MAX))
            {
                self.plate(layout, picks, with_plate, &tails, &mut cache)?;
            }
            picks[named.plate] = NONE;
        }
        Ok(())
    }

    /// Bearings, by the blocks of flywheels and discs that the plate may have before it.
    fn plate(
        &mut self,
        layout: &Layout,
        picks: &mut Picks,
        spent: Spent,
        tails: &[Tail],
        cache: &mut Cache,
    ) -> Result<()> {
        let named = self.compact.named;
        let p = picks[named.plate] as usize;
        let window = self.least_window(layout, p);
        for block in self.blocks(layout, picks) {
            let key = self.row_key(picks, &block);
            if !cache.contains_key(&key) {
                if cache.len() >= CACHE {
                    cache.clear();
                }
                let rows = self.front_rows(layout, picks, &block);
                cache.insert(key.clone(), rows);
            }
            let Some((disc_row, both_row)) = cache.get(&key) else { continue };
            let (flywheels, discs) =
                (&layout.flywheels[block.flywheels].alike, &layout.discs[block.discs].alike);
            let places = Places {
                flywheels: flywheels.iter().map(|f| self.flywheel_at(f[0], &block)).collect(),
                discs: discs.iter().map(|d| self.disc_at(d[0], &block)).collect(),
            };
            let (disc_offset, offset) = Self::offsets(layout, &block);
            // The most promising first: the list fills with good places, and the rest is cut short.
            let mut promising = Vec::new();
            for tail in tails {
                let (low, high) = self.interval(layout, &block, tail, window, picks);
                let reach = self.slack(layout) + ROUNDING;
                let least =
                    offset.min(both_row, low + block.base - reach, high + block.base + reach);
                if least < NEVER {
                    let cost = self.compact.common[named.bearing][tail.bearing].cost + least;
                    promising.push((cost, tail, low, high));
                }
            }
            let by_room = self.order == Order::Room;
            promising.sort_by_key(|(cost, tail, low, high)| {
                (if by_room { low - high } else { 0 }, *cost, tail.bearing)
            });
            let mut mates = Mates::new();
            for (cost, tail, low, high) in promising {
                self.tick()?;
                let room = (high - low) / 2;
                let with = self.spent(spent, named.bearing, tail.bearing);
                picks[named.bearing] = tail.bearing as u32;
                if self.can_win(layout, with, spent.cost + cost, room, picks)
                    && self.fits(&mut mates, picks, named.bearing, &[Joint::Contact, Joint::Seat])
                    && (self.lets_fail() || !self.compact.contact_fails(p, tail.bearing))
                {
                    let disc_row = (disc_row, disc_offset);
                    let pair = Pair { block: &block, places: &places, tail, low, high, disc_row };
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
        let room = (pair.high - pair.low) / 2;
        let reach = self.slack(layout) + ROUNDING;
        let mut promising = Vec::new();
        let cut = self.cost_cut() - spent.cost;
        let common = &self.compact.common[named.flywheel];
        let groups = layout.flywheels[pair.block.flywheels].alike.iter();
        for (alike, place) in groups.zip(&pair.places.flywheels) {
            if common[alike[0]].cost > cut {
                break;
            }
            let at = pair.block.base + place;
            let (row, offset) = pair.disc_row;
            let least = offset.min(row, pair.low + at - reach, pair.high + at + reach);
            promising.extend(within(alike, common, least, cut).map(|(cost, f)| (cost, f, at)));
        }
        promising.sort_unstable();
        let mut mates = Mates::new();
        for (cost, f, at) in promising {
            self.tick()?;
            let with = self.spent(spent, named.flywheel, f);
            picks[named.flywheel] = f as u32;
            if self.can_win(layout, with, spent.cost + cost, room, picks)
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
        flywheel_at: i64,
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
        for (alike, place) in layout.discs[pair.block.discs].alike.iter().zip(&pair.places.discs) {
            if common[alike[0]].cost > cut {
                break;
            }
            let pos = flywheel_at + place;
            let least = layout.rows[0].min(pair.low + pos - reach, pair.high + pos + reach);
            promising.extend(within(alike, common, least, cut).map(|(cost, d)| (cost, d, pos)));
        }
        promising.sort_unstable();
        let mut mates = Mates::new();
        for (cost, d, pos) in &promising {
            self.tick()?;
            let with = self.spent(spent, named.disc, *d);
            picks[named.disc] = *d as u32;
            let room = (pair.high - pair.low) / 2;
            if self.can_win(layout, with, spent.cost + cost, room, picks)
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
                let (low, high) = self.interval(layout, &block, pair.tail, window, picks);
                let target = Target {
                    low: low + pos - ROUNDING,
                    high: high + pos + ROUNDING,
                    room: (high - low) / 2,
                };
                self.additive(layout, picks, with, 0, 0, target)?;
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
        sum: i64,
        target: Target,
    ) -> Result<()> {
        let Some(slot) = self.compact.additive.get(level).copied() else {
            self.leaf(layout, picks, spent);
            return Ok(());
        };
        let row = &layout.rows[level + 1];
        let named = self.compact.named;
        let mut promising = Vec::new();
        let cut = self.cost_cut() - spent.cost;
        let (common, slack) = (&self.compact.common[slot], self.slack(layout));
        for alike in &layout.alike[level] {
            if common[alike[0]].cost > cut {
                break;
            }
            let here = sum + layout.aligned[slot][alike[0]];
            let least = row.min(target.low - slack - here, target.high + slack - here);
            let found = within(alike, common, least, cut);
            promising.extend(found.map(|(cost, i)| (cost, common[i].parts, i, here)));
        }
        promising.sort_unstable();
        let mut mates = Mates::new();
        for (cost, _, index, here) in &promising {
            self.tick()?;
            let with = self.spent(spent, slot, *index);
            picks[slot] = *index as u32;
            let bearing = picks[named.bearing] as usize;
            let fills = &self.compact.candidates.slots;
            if self.can_win(layout, with, spent.cost + cost, target.room, picks)
                && (slot != named.shims
                    || shims_within(&fills[named.bearing][bearing], &fills[slot][*index]))
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
            Goal::Pairs { barred, failing_below } => {
                let does_alone = barred.iter().any(|(slot, pick)| picks[*slot] == *pick);
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
