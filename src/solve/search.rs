//! The search: exact, in the order of the ranking, without looking at what cannot win.
//!
//! It is one walk over plates, bearings, flywheels, discs and the additive slots (plates, spacers,
//! shims), in stages of the ranking's first keys. The sum is additive, so for a plate and a bearing
//! the window is an interval of what the other slots have to add up to; rows of least cost by
//! position tell what they can still do. A branch is left when its best possible place is no better
//! than the last of those already found. Bounds only ever promise too much, and each combination is
//! judged exactly at the end, so the answer is that of the full product.

use std::collections::HashMap;

use crate::error::Result;
use crate::model::house::Number;
use crate::model::kinds::Joint;
use crate::model::length::Length;
use crate::solve::ask::{Ask, Order, Watch};
use crate::solve::candidates::shims_within;
use crate::solve::compact::{Compact, Rec, pack, unpack};
use crate::solve::front::{Front, Route};
use crate::solve::rank::{Merits, Place};
use crate::solve::tables::{NEVER, Row};
use crate::solve::verdict::{NONE, Picks};
use crate::stack::fit::cap;
use crate::stack::form::MICRO;
use crate::stack::grade::Grade;
use crate::stack::lengths::Doubts;

/// What the search looks for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Goal {
    /// The best stacks that were asked for.
    Wanted,
    /// The closest ones, in the window or not; those that fail a check too if so said.
    Nearest {
        /// Also those that fail a check.
        failing: bool,
    },
    /// Stacks that differ from what is fitted in just two slots, the diaphragm in its range.
    Pairs {
        /// Slots and candidates that do alone.
        barred: Vec<(usize, u32)>,
        /// A stack that fails a check has to be better than this.
        failing_below: Grade,
    },
}

impl Goal {
    /// Only stacks in the window that the asker can have.
    fn is_wanted(&self) -> bool {
        !matches!(self, Self::Nearest { .. })
    }
}

/// Finds the picks that the full product would rank first. `bounds` off walks every branch: the
/// tests compare both.
///
/// # Errors
///
/// Only that the work was interrupted.
pub fn search(
    compact: &Compact<'_, '_>,
    ask: &Ask,
    goal: &Goal,
    top: usize,
    bounds: bool,
    watch: &Watch,
) -> Result<Vec<Picks>> {
    let order = if goal.is_wanted() { ask.order } else { Order::Room };
    let enough = compact.bench.library.house.length(Number::EnoughRoom);
    let best = Best { top, found: Vec::new() };
    let mut walk = Walk { compact, ask, goal, order, enough, bounds, watch, best, steps: 0 };
    let mut before = None;
    for stage in stages(compact, ask, goal) {
        // Stages of one rank compete with each other; a later rank cannot beat a full list.
        let rank = (stage.grades, stage.blank.map(u8::count_ones), stage.slack);
        if before != Some(rank) && walk.best.is_full() {
            break;
        }
        before = Some(rank);
        walk.run(&stage)?;
    }
    Ok(walk.best.found.into_iter().map(|(_, picks)| picks).collect())
}

/// A stretch of the ranking that is searched by itself.
#[derive(Debug, Clone, Copy)]
struct Stage {
    /// Grades that count, from best to worst.
    grades: (Grade, Grade),
    /// Exactly these joints not verified; none: any.
    blank: Option<u8>,
    /// How far outside the window a stack may lie.
    slack: i64,
}

fn stages(compact: &Compact<'_, '_>, ask: &Ask, goal: &Goal) -> Vec<Stage> {
    if let Goal::Nearest { .. } = goal {
        // Widened step by step, so that the closest are found without walking everything.
        let steps = [0_i64, 50, 200, 1_000, 10_000, 1_000_000];
        let any = (Grade::Sure, Grade::Out);
        return steps
            .map(|thou| Stage { grades: any, blank: None, slack: Length::from_thou(thou).nm() })
            .to_vec();
    }
    if ask.order != Order::Grade {
        return vec![Stage { grades: (Grade::Sure, ask.at_least), blank: None, slack: 0 }];
    }
    let union = |common: &Vec<crate::solve::compact::Common>| {
        common.iter().fold(0_u8, |bits, one| bits | one.blank)
    };
    let forced = |common: &Vec<crate::solve::compact::Common>| {
        common.iter().fold(u8::MAX, |bits, one| bits & one.blank)
    };
    let may = compact.common.iter().map(union).fold(0, |a, b| a | b);
    let must = compact.common.iter().map(forced).fold(0, |a, b| a | b);
    let mut sets: Vec<u8> =
        (0..=u8::MAX).filter(|set| set & !may == 0 && must & !set == 0).collect();
    sets.sort_by_key(|set| set.count_ones());
    let grades = Grade::ALL.into_iter().filter(|grade| *grade <= ask.at_least);
    grades
        .filter(|grade| grade.in_window())
        .flat_map(|grade| {
            sets.iter().map(move |set| Stage {
                grades: (grade, grade),
                blank: Some(*set),
                slack: 0,
            })
        })
        .collect()
}

/// The best places so far.
struct Best {
    top: usize,
    found: Vec<(Place, Picks)>,
}

impl Best {
    fn is_full(&self) -> bool {
        self.found.len() >= self.top
    }

    /// Whether a place could still win; an unpicked slot counts as the first that may stand there.
    fn takes(&self, place: &Place, picks: &[u32], first: &[u32]) -> bool {
        if self.top == 0 {
            return false;
        }
        let Some((last, last_picks)) = self.found.last().filter(|_| self.is_full()) else {
            return true;
        };
        let least = |(pick, first): (&u32, &u32)| if *pick == NONE { *first } else { *pick };
        let ids = || picks.iter().zip(first).map(least).cmp(last_picks.iter().copied());
        place.cmp(last).then_with(ids) == std::cmp::Ordering::Less
    }

    fn offer(&mut self, place: Place, picks: &[u32]) {
        let new = (place, picks.to_vec());
        let at = self.found.partition_point(|known| *known < new);
        if self.found.get(at) != Some(&new) {
            self.found.insert(at, new);
            self.found.truncate(self.top);
        }
    }
}

/// What is summed up of the slots picked so far.
#[derive(Debug, Clone, Copy, Default)]
struct Spent {
    cost: i64,
    parts: u32,
    changes: u32,
    blank: u8,
}

/// The tails: one bearing with its routes to both ends, for one bell housing and gearbox.
struct Tail {
    bearing: usize,
    /// Positions of both ends with nothing in the additive slots.
    ends: [Rec; 2],
}

/// The heads: flywheels and discs that behave alike under one plate and route.
struct Block {
    route: Route,
    base: i64,
    /// Millionths by which a flywheel's step and a disc's thickness move the fingers beside the
    /// step itself.
    step_gear: i64,
    disc_gear: i64,
    flywheels: usize,
    discs: usize,
    /// Error limits that neither flywheel nor disc brings.
    base_wc: i128,
    base_v: i128,
}

/// Where a block's flywheels and discs put the fingers, in the order of its lists.
struct Places {
    flywheels: Vec<i64>,
    discs: Vec<i64>,
}

struct Walk<'s, 'b, 'a> {
    compact: &'s Compact<'b, 'a>,
    ask: &'s Ask,
    goal: &'s Goal,
    order: Order,
    enough: Length,
    bounds: bool,
    watch: &'s Watch,
    best: Best,
    steps: u64,
}

/// What one stage has laid out.
struct Layout {
    stage: Stage,
    /// Candidates of each slot, the cheapest first.
    lists: Vec<Vec<usize>>,
    /// The first candidate of each slot, by id: with any plate, and with one that takes a disc.
    first: [Vec<u32>; 2],
    /// Flywheels that behave alike, and discs that behave alike.
    flywheels: Vec<Vec<usize>>,
    discs: Vec<Vec<usize>>,
    /// Row `k`: what the additive slots from `k` on can still do.
    rows: Vec<Row>,
    /// The aligned position of each additive candidate, by slot and candidate.
    aligned: Vec<Vec<i64>>,
    /// The fitted parts' aligned positions, taken off a measured rear length.
    fitted: i64,
    /// The least error limits that the additive slots bring.
    rear_wc: i64,
    rear_v: i128,
    /// The least that the slots behind the plate still cost, and how many parts they are.
    rest: Spent,
}

type Cache = HashMap<(i64, i64, usize, usize, Vec<u32>), (Row, Row)>;

/// How many flywheel and disc rows are kept at a time.
const CACHE: usize = 16;

/// Slack for the once-rounded ratio products that the aligned positions split, nm.
const ROUNDING: i64 = 4;

impl Walk<'_, '_, '_> {
    fn tick(&mut self) -> Result<()> {
        self.steps += 1;
        if self.steps.is_multiple_of(1024) { self.watch.step(1024) } else { Ok(()) }
    }

    fn run(&mut self, stage: &Stage) -> Result<()> {
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

    fn clash(&self, picks: &[u32], joints: &[Joint]) -> bool {
        joints.iter().any(|joint| self.compact.clashes(picks, *joint))
    }

    fn spent(&self, spent: Spent, slot: usize, index: usize) -> Spent {
        let common = &self.compact.common[slot][index];
        Spent {
            cost: spent.cost + common.cost,
            parts: spent.parts + common.parts,
            changes: spent.changes + common.changes,
            blank: spent.blank | common.blank,
        }
    }

    /// The best place that a branch can still reach; false when it cannot win any more.
    fn can_win(&self, layout: &Layout, spent: Spent, cost: i64, room: i64, picks: &[u32]) -> bool {
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
        let plate = picks[self.compact.named.plate];
        let with_disc = plate != NONE && self.compact.plates[plate as usize].pack.is_none();
        self.best.takes(&place, picks, &layout.first[usize::from(with_disc)])
    }

    /// Beyond this cost nothing wins any more, where cost is the first thing that still differs.
    fn cost_cut(&self) -> i64 {
        let by_cost = self.bounds && matches!(self.order, Order::Grade | Order::Price);
        match self.best.found.last() {
            Some((last, _)) if by_cost && self.best.is_full() => pack(last.to_buy()),
            _ => NEVER,
        }
    }

    fn place(&self, grade: Grade, spent: Spent, cost: i64, room: i64) -> Place {
        Merits {
            grade,
            not_verified: spent.blank.count_ones(),
            to_buy: unpack(cost),
            room: Length::from_nm(room),
            parts: spent.parts as usize,
            changes: spent.changes as usize,
            chance: 0,
        }
        .place(self.order, self.enough)
    }

    fn layout(&self, stage: &Stage) -> Option<Layout> {
        let compact = self.compact;
        let mut lists = Vec::new();
        for (slot, common) in compact.common.iter().enumerate() {
            let allowed = stage.blank.unwrap_or(u8::MAX);
            let mut list: Vec<usize> =
                (0..common.len()).filter(|i| common[*i].blank & !allowed == 0).collect();
            if stage.grades.1 == Grade::Sure && !compact.linear[slot].is_empty() {
                let linear = &compact.linear[slot];
                let clean = |rec: &Option<Rec>| rec.is_some_and(|rec| !rec.assumed);
                let plate = slot == compact.named.block_plate;
                list.retain(|i| plate || clean(&linear[*i].c) || clean(&linear[*i].m));
            }
            if stage.grades.1 == Grade::Sure && self.bounds {
                list.retain(|i| self.may_be_sure(slot, *i));
            }
            let fewest = self.order == Order::Changes;
            list.sort_by_key(|i| {
                let one = &common[*i];
                (if fewest { one.changes } else { 0 }, one.cost, one.parts, *i)
            });
            if list.is_empty() {
                return None;
            }
            lists.push(list);
        }
        let named = compact.named;
        let least = |list: &Vec<usize>| list.iter().min().map_or(0, |first| *first as u32);
        let any: Vec<u32> = lists.iter().map(least).collect();
        let mut with_disc = any.clone();
        let discs = lists[named.disc].iter().filter(|d| !compact.discs[**d].none);
        with_disc[named.disc] = discs.min().map_or(0, |first| *first as u32);
        let first = [any, with_disc];
        let flywheels = groups(&lists[named.flywheel], |i| {
            let kept = compact.common[named.flywheel][i].kept;
            (kept, compact.flywheels[i].step.value == 0)
        });
        let discs = groups(&lists[named.disc], |i| {
            let disc = &compact.discs[i];
            let kept = compact.common[named.disc][i].kept;
            (kept || disc.none, disc.none, disc.facing.is_some())
        });
        let (aligned, fitted) = self.align();
        let range: i64 = compact
            .additive
            .iter()
            .map(|slot| {
                let of = |i: &usize| aligned[*slot][*i];
                let list = &lists[*slot];
                list.iter().map(of).max().unwrap_or(0) - list.iter().map(of).min().unwrap_or(0)
            })
            .sum();
        let width = (range / 2048).max(Length::from_thou(2).nm());
        let mut rows = vec![Row::nothing(width)];
        let (mut rear_wc, mut rear_v) = (0, 0);
        for slot in compact.additive.iter().rev() {
            let list = &lists[*slot];
            let items: Vec<(i64, i64)> =
                list.iter().map(|i| (aligned[*slot][*i], compact.common[*slot][*i].cost)).collect();
            let next = rows[rows.len() - 1].with(&items);
            rows.push(next);
            rear_wc += list.iter().map(|i| self.least_rec(*slot, *i).wc).min().unwrap_or(0);
            rear_v += list.iter().map(|i| self.least_rec(*slot, *i).v).min().unwrap_or(0);
        }
        rows.reverse();
        let mut rest = Spent::default();
        for slot in compact.additive.iter().chain([&named.flywheel, &named.disc, &named.bearing]) {
            let common = &compact.common[*slot];
            let least =
                |of: &dyn Fn(usize) -> u32| lists[*slot].iter().map(|i| of(*i)).min().unwrap_or(0);
            rest.cost += lists[*slot].iter().map(|i| common[*i].cost).min().unwrap_or(0);
            rest.parts += least(&|i| common[i].parts);
            rest.changes += least(&|i| common[i].changes);
        }
        let stage = *stage;
        Some(Layout {
            stage,
            lists,
            first,
            flywheels,
            discs,
            rows,
            aligned,
            fitted,
            rear_wc,
            rear_v,
            rest,
        })
    }

    /// Whether a stack with this candidate can be sure: nothing that it certainly brings was assumed.
    fn may_be_sure(&self, slot: usize, index: usize) -> bool {
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
    fn least_rec(&self, slot: usize, index: usize) -> Rec {
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

    /// Positions by which measured and catalogued rear lengths can share one set of rows: the
    /// catalogued one, or zero for a fitted part whose own dimension is not known.
    fn align(&self) -> (Vec<Vec<i64>>, i64) {
        let compact = self.compact;
        let mut fitted = 0;
        let mut aligned = vec![Vec::new(); compact.common.len()];
        for slot in &compact.additive {
            let linear = &compact.linear[*slot];
            aligned[*slot] = linear.iter().map(|one| one.c.map_or(0, |rec| rec.pos)).collect();
            let both = linear.iter().find_map(|one| Some(one.c?.pos - one.m?.pos));
            fitted += both.unwrap_or(0);
        }
        (aligned, fitted)
    }

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
            let hope = self.hope(layout, with_plate);
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

    /// Stacks that fail a check may be found too.
    fn lets_fail(&self) -> bool {
        match self.goal {
            Goal::Wanted | Goal::Pairs { .. } => self.ask.show_failed,
            Goal::Nearest { failing } => *failing,
        }
    }

    /// What a branch costs at least once the slots behind the plate are filled.
    fn hope(&self, layout: &Layout, spent: Spent) -> Spent {
        Spent {
            cost: spent.cost + layout.rest.cost,
            parts: spent.parts + layout.rest.parts,
            changes: spent.changes + layout.rest.changes,
            blank: spent.blank,
        }
    }

    fn tails(&self, layout: &Layout, picks: &[u32]) -> Vec<Tail> {
        let compact = self.compact;
        let named = compact.named;
        let bell = compact.linear[named.bell][picks[named.bell] as usize];
        let gearbox = compact.linear[named.gearbox][picks[named.gearbox] as usize];
        let mut tails = Vec::new();
        for b in &layout.lists[named.bearing] {
            let bearing = &compact.bearings[*b];
            let mut routes: [Vec<Rec>; 2] = [Vec::new(), Vec::new()];
            for (end, found) in routes.iter_mut().enumerate() {
                let total = |own: Option<Rec>, bell: Option<Rec>, gearbox: Option<Rec>| {
                    Some(own?.plus(bell?).plus(gearbox?))
                };
                if let Some(measured) = total(bearing.m[end], bell.m, gearbox.m) {
                    found.push(Rec { pos: measured.pos - layout.fitted, ..measured });
                }
                found.extend(total(bearing.c[end], bell.c, gearbox.c));
            }
            let only_sure = layout.stage.grades.1 == Grade::Sure && self.bounds;
            for extended in routes[0].iter().filter(|rec| !(only_sure && rec.assumed)) {
                for retracted in routes[1].iter().filter(|rec| !(only_sure && rec.assumed)) {
                    tails.push(Tail { bearing: *b, ends: [*extended, *retracted] });
                }
            }
        }
        tails
    }

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
            let at = |f: &usize| self.flywheel_at(*f, &block);
            let places = Places {
                flywheels: layout.flywheels[block.flywheels].iter().map(at).collect(),
                discs: layout.discs[block.discs].iter().map(|d| self.disc_at(*d, &block)).collect(),
            };
            // The most promising first: the list fills with good places, and the rest is cut short.
            let mut promising = Vec::new();
            for tail in tails {
                let (low, high) = self.interval(layout, &block, tail, window, picks);
                let least = both_row.min(low + block.base - ROUNDING, high + block.base + ROUNDING);
                if high >= low && least < NEVER {
                    let cost = self.compact.common[named.bearing][tail.bearing].cost + least;
                    promising.push((cost, tail, low, high));
                }
            }
            promising.sort_by_key(|(cost, tail, ..)| (*cost, tail.bearing));
            for (cost, tail, low, high) in promising {
                self.tick()?;
                let room = (high - low) / 2 - layout.stage.slack;
                let with = self.spent(spent, named.bearing, tail.bearing);
                picks[named.bearing] = tail.bearing as u32;
                if self.can_win(layout, with, spent.cost + cost, room, picks)
                    && !self.clash(picks, &[Joint::Contact, Joint::Seat])
                    && (self.lets_fail() || !self.compact.contact_fails(p, tail.bearing))
                {
                    let pair = Pair { block: &block, places: &places, tail, low, high, disc_row };
                    self.flywheels(layout, picks, with, &pair)?;
                }
                picks[named.bearing] = NONE;
            }
        }
        Ok(())
    }

    /// The lowest limits that the window of this plate may have with any disc.
    fn least_window(&self, layout: &Layout, p: usize) -> [Option<i64>; 4] {
        let compact = self.compact;
        let mut window = compact.plates[p].window;
        let discs = layout.lists[compact.named.disc].iter();
        let least = discs.filter(|d| compact.discs[**d].wear.is_some());
        let least = least.min_by_key(|d| compact.discs[**d].wear);
        if let Some(d) = least
            && compact.plates[p].pack.is_none()
        {
            let other = compact.window(*d, p);
            window[2] = window[2].min(other[2]);
        }
        if self.goal.is_wanted() && !self.ask.show_failed {
            // A preload below the release travel fails the stroke check.
            window[0] = window[0].max(compact.plates[p].release);
        }
        window
    }

    /// Between what the additive slots have to add up to, less the finger position.
    fn interval(
        &self,
        layout: &Layout,
        block: &Block,
        tail: &Tail,
        window: [Option<i64>; 4],
        picks: &[u32],
    ) -> (i64, i64) {
        let engine = &self.compact.engines[picks[self.compact.named.engine] as usize];
        let (less_preload, less_reserve) = engine.allowance;
        let slack = layout.stage.slack;
        let margin = |end: &Rec| {
            self.margin(
                layout.stage.grades.1,
                block.base_wc + i128::from(end.wc + layout.rear_wc) * MICRO,
                block.base_v + (end.v + layout.rear_v) * MICRO * MICRO,
            )
        };
        let (margin_p, margin_r) = (margin(&tail.ends[0]), margin(&tail.ends[1]));
        let far = i64::MAX / 8;
        // preload = x - extended - R, reserve = retracted + R - x.
        let mut high = window[0]
            .map_or(far, |limit| -tail.ends[0].pos - limit - less_preload - margin_p + slack);
        let mut low = window[2]
            .map_or(-far, |limit| limit + less_reserve + margin_r - tail.ends[1].pos - slack);
        if let Some(limit) = window[1] {
            low = low.max(-tail.ends[0].pos - limit + less_reserve + margin_p - slack);
        }
        if let Some(limit) = window[3] {
            high = high.min(limit - less_preload - margin_r - tail.ends[1].pos + slack);
        }
        (low, high)
    }

    /// The room that a grade needs at least, rounded down.
    fn margin(&self, grade: Grade, wc: i128, v: i128) -> i64 {
        if !self.bounds {
            return 0;
        }
        match grade {
            Grade::Sure => i64::try_from(wc / MICRO).unwrap_or(0),
            Grade::Likely if self.order == Order::Grade => {
                let two_u = (v as f64 * 4.0 / 3.0).sqrt() / MICRO as f64;
                (two_u * (1.0 - 1e-9)) as i64 - 1
            }
            _ => 0,
        }
    }

    /// Aligned position of a flywheel, and the least error limits that it brings.
    fn flywheel_at(&self, f: usize, block: &Block) -> i64 {
        let flywheel = &self.compact.flywheels[f];
        let thickness = flywheel.thickness.unwrap_or_default().value;
        thickness + flywheel.step.value + geared(block.step_gear, flywheel.step.value)
    }

    fn disc_at(&self, d: usize, block: &Block) -> i64 {
        let facing = self.compact.discs[d].facing.unwrap_or_default();
        -geared(block.disc_gear, facing.value)
    }

    fn flywheel_spread(&self, f: usize, block: &Block) -> (i128, i128) {
        let kept = self.compact.common[self.compact.named.flywheel][f].kept;
        if kept && block.route.clutch_measured() {
            return (0, 0);
        }
        let flywheel = &self.compact.flywheels[f];
        let thickness = i128::from(flywheel.thickness.unwrap_or_default().tol) * MICRO;
        let step = i128::from(flywheel.step.tol) * (MICRO + i128::from(block.step_gear));
        (thickness + step, thickness * thickness + step * step)
    }

    fn disc_spread(&self, d: usize, block: &Block) -> (i128, i128) {
        let kept = self.compact.common[self.compact.named.disc][d].kept;
        if kept && block.route.clutch_measured() {
            return (0, 0);
        }
        let facing = self.compact.discs[d].facing.unwrap_or_default();
        let gear = i128::from(block.disc_gear);
        (gear * i128::from(facing.wc), gear * gear * facing.v)
    }

    /// Groups of flywheels and discs under the picked plate, route by route.
    fn blocks(&self, layout: &Layout, picks: &[u32]) -> Vec<Block> {
        let compact = self.compact;
        let named = compact.named;
        let (e, p) = (picks[named.engine] as usize, picks[named.plate] as usize);
        let plate = &compact.plates[p];
        let ratio = plate.ratio.map_or(0, |ratio| ratio.value);
        let mut blocks = Vec::new();
        for (f_group, flywheels) in layout.flywheels.iter().enumerate() {
            for (d_group, discs) in layout.discs.iter().enumerate() {
                if compact.discs[discs[0]].none != plate.pack.is_some() {
                    continue;
                }
                for route in Route::ALL {
                    let (f0, d0) = (flywheels[0], discs[0]);
                    let Some(first) = compact.front_route(route, (e, f0, d0, p)) else { continue };
                    let mut block = Block {
                        route,
                        base: 0,
                        step_gear: 0,
                        disc_gear: 0,
                        flywheels: f_group,
                        discs: d_group,
                        base_wc: 0,
                        base_v: 0,
                    };
                    let at = |f, d| compact.front_route(route, (e, f, d, p)).map(|front| front.pos);
                    let step = |f: usize| compact.flywheels[f].step.value;
                    let other = flywheels.iter().find(|f| step(**f) != step(f0));
                    if let Some(f1) = other {
                        let plain = self.flywheel_at(*f1, &block) - self.flywheel_at(f0, &block);
                        let moved = at(*f1, d0).map_or(plain, |pos| pos - first.pos);
                        block.step_gear = if (moved - plain).abs() > ROUNDING { ratio } else { 0 };
                    }
                    let thick = |d: usize| compact.discs[d].facing.map_or(0, |f| f.value);
                    if let Some(d1) = discs.iter().find(|d| thick(**d) != thick(d0)) {
                        let moved = at(f0, *d1).map_or(0, |pos| pos - first.pos);
                        block.disc_gear = if moved.abs() > 0 { ratio } else { 0 };
                    }
                    block.base =
                        first.pos - self.flywheel_at(f0, &block) - self.disc_at(d0, &block);
                    let generous = Block { step_gear: ratio, disc_gear: ratio, ..block };
                    let (fw, fv) = self.flywheel_spread(f0, &generous);
                    let (dw, dv) = self.disc_spread(d0, &generous);
                    block.base_wc = (first.wc - first.gear_wc - fw - dw).max(0);
                    block.base_v = (first.v - first.gear_v - fv - dv).max(0);
                    let dirty = self.bounds && self.is_capped(layout.stage.grades.1, &first, p);
                    if !dirty {
                        blocks.push(block);
                    }
                }
            }
        }
        blocks
    }

    /// Whether a finger side can be part of a stack of this grade.
    fn may_reach(&self, grade: Grade, front: &Front, (f, d, p): (usize, usize, usize)) -> bool {
        let outside = self.compact.outside_range(f, d, p);
        let capped = cap(front.doubts, outside).is_some_and(|(cap, _)| cap > grade);
        let refused = outside && matches!(self.goal, Goal::Pairs { .. });
        let assumed = grade == Grade::Sure && front.assumed;
        !self.bounds || !(capped || refused || assumed)
    }

    /// Whether a doubt that all stacks of a block share keeps them from a grade.
    fn is_capped(&self, grade: Grade, first: &Front, p: usize) -> bool {
        let certain = Doubts {
            // Without a ratio it hangs on flywheel and disc whether a correction is needed.
            not_corrected: first.doubts.not_corrected && self.compact.plates[p].ratio.is_some(),
            ..first.doubts
        };
        cap(certain, false).is_some_and(|(cap, _)| cap > grade)
    }

    /// The cheapest that flywheels and discs of a block do together with the additive slots: a row
    /// for the disc on, and one for the flywheel on. Both count from the fingers.
    fn front_rows(&self, layout: &Layout, picks: &[u32], block: &Block) -> (Row, Row) {
        let named = self.compact.named;
        let mates = |slot: usize, index: usize, joint: Joint| {
            let mut picks = picks.to_vec();
            picks[slot] = index as u32;
            !self.compact.clashes(&picks, joint)
        };
        let mut items = Vec::new();
        for d in &layout.discs[block.discs] {
            if mates(named.disc, *d, Joint::Diameter) && mates(named.disc, *d, Joint::Spline) {
                items.push((-self.disc_at(*d, block), self.compact.common[named.disc][*d].cost));
            }
        }
        let disc_row = layout.rows[0].with(&items);
        items.clear();
        for f in &layout.flywheels[block.flywheels] {
            if mates(named.flywheel, *f, Joint::Cover) && mates(named.flywheel, *f, Joint::Crank) {
                let cost = self.compact.common[named.flywheel][*f].cost;
                items.push((-self.flywheel_at(*f, block), cost));
            }
        }
        let both_row = disc_row.with(&items);
        (disc_row, both_row)
    }

    fn row_key(&self, picks: &[u32], block: &Block) -> (i64, i64, usize, usize, Vec<u32>) {
        let named = self.compact.named;
        let plate = &self.compact.common[named.plate][picks[named.plate] as usize];
        let faces = plate
            .faces
            .iter()
            .filter(|face| matches!(face.joint, Joint::Cover | Joint::Diameter | Joint::Spline));
        let faces = faces.flat_map(|face| [face.joint as u32, face.front]).collect();
        (block.step_gear, block.disc_gear, block.flywheels, block.discs, faces)
    }

    fn flywheels(
        &mut self,
        layout: &Layout,
        picks: &mut Picks,
        spent: Spent,
        pair: &Pair<'_>,
    ) -> Result<()> {
        let named = self.compact.named;
        let room = (pair.high - pair.low) / 2 - layout.stage.slack;
        let mut promising = Vec::new();
        let cut = self.cost_cut() - spent.cost;
        let list = layout.flywheels[pair.block.flywheels].iter().zip(&pair.places.flywheels);
        for (f, place) in list {
            let own = self.compact.common[named.flywheel][*f].cost;
            if own > cut {
                break;
            }
            let at = pair.block.base + place;
            let least = pair.disc_row.min(pair.low + at - ROUNDING, pair.high + at + ROUNDING);
            if least < NEVER && own + least <= cut {
                promising.push((own + least, *f, at));
            }
        }
        promising.sort_unstable();
        for (cost, f, at) in promising {
            self.tick()?;
            let with = self.spent(spent, named.flywheel, f);
            picks[named.flywheel] = f as u32;
            if self.can_win(layout, with, spent.cost + cost, room, picks)
                && !self.clash(picks, &[Joint::Crank, Joint::Cover])
            {
                self.discs(layout, picks, with, pair, at)?;
            }
            picks[named.flywheel] = NONE;
        }
        Ok(())
    }

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
        let cut = self.cost_cut() - spent.cost;
        for (d, place) in layout.discs[pair.block.discs].iter().zip(&pair.places.discs) {
            let own = compact.common[named.disc][*d].cost;
            if own > cut {
                break;
            }
            let pos = flywheel_at + place;
            let least = layout.rows[0].min(pair.low + pos - ROUNDING, pair.high + pos + ROUNDING);
            if least < NEVER && own + least <= cut {
                promising.push((own + least, *d, pos));
            }
        }
        promising.sort_unstable();
        for (cost, d, pos) in &promising {
            self.tick()?;
            let with = self.spent(spent, named.disc, *d);
            picks[named.disc] = *d as u32;
            let room = (pair.high - pair.low) / 2 - layout.stage.slack;
            if self.can_win(layout, with, spent.cost + cost, room, picks)
                && !self.clash(picks, &[Joint::Diameter, Joint::Spline])
                && (self.lets_fail() || !compact.hub_fails(f, *d))
                && let Some(front) = compact.front((e, f, *d, p))
                && front.route == pair.block.route
                && self.may_reach(layout.stage.grades.1, &front, (f, *d, p))
            {
                let block = Block { base_wc: front.wc, base_v: front.v, ..*pair.block };
                let mut window = compact.window(*d, p);
                if !self.lets_fail() && self.goal.is_wanted() {
                    window[0] = window[0].max(compact.plates[p].release);
                }
                let (low, high) = self.interval(layout, &block, pair.tail, window, picks);
                let target = Target {
                    low: low + pos - ROUNDING,
                    high: high + pos + ROUNDING,
                    room: (high - low) / 2 - layout.stage.slack,
                };
                if high >= low {
                    self.additive(layout, picks, with, 0, 0, target)?;
                }
            }
            picks[named.disc] = NONE;
        }
        Ok(())
    }

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
        for index in &layout.lists[slot] {
            if self.compact.common[slot][*index].cost > cut {
                break;
            }
            let here = sum + layout.aligned[slot][*index];
            let least = row.min(target.low - here, target.high - here);
            if least < NEVER {
                let common = &self.compact.common[slot][*index];
                promising.push((common.cost + least, common.parts, *index, here));
            }
        }
        promising.sort_unstable();
        for (cost, _, index, here) in &promising {
            self.tick()?;
            let with = self.spent(spent, slot, *index);
            picks[slot] = *index as u32;
            let bearing = picks[named.bearing] as usize;
            let fills = &self.compact.candidates.slots;
            if self.can_win(layout, with, spent.cost + cost, target.room, picks)
                && (slot != named.shims
                    || shims_within(&fills[named.bearing][bearing], &fills[slot][*index]))
                && !self.clash(picks, &[Joint::Block, Joint::Gearbox, Joint::Seat])
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

/// A block and a tail with the interval between them.
struct Pair<'p> {
    block: &'p Block,
    places: &'p Places,
    tail: &'p Tail,
    low: i64,
    high: i64,
    disc_row: &'p Row,
}

/// What the additive slots have to add up to, and the room that this may give.
#[derive(Clone, Copy)]
struct Target {
    low: i64,
    high: i64,
    room: i64,
}

fn geared(gear: i64, length: i64) -> i64 {
    crate::model::length::Ratio::from_millionths(gear).times(Length::from_nm(length)).nm()
}

fn groups<K: Ord>(list: &[usize], key: impl Fn(usize) -> K) -> Vec<Vec<usize>> {
    let mut groups: std::collections::BTreeMap<K, Vec<usize>> = std::collections::BTreeMap::new();
    for index in list {
        groups.entry(key(*index)).or_default().push(*index);
    }
    groups.into_values().collect()
}
