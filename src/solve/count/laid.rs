//! All that stands between with one list of shims, laid out on a grid.
//!
//! Plates, spacers and shims are totalled up once, and a flywheel only moves them. What is asked is then two
//! look-ups for each question and bearing in a table of all flywheels of a set, or for each question, bearing and
//! flywheel in a table without.

use std::rc::Rc;

use itertools::Itertools as _;
use rustc_hash::FxHashMap;

use crate::error::Result;
use crate::solve::count::between::{Asked, Pile, between};
use crate::solve::count::mass::{Masses, count, ends, grid};
use crate::solve::count::query::Question;
use crate::solve::count::sweep::Sweep;
use crate::solve::count::table::{ADD, MOST_PLACES, Table, cells};
use crate::solve::count::{By, LOOK_UP};
use crate::solve::numbers::checks::Starter;

/// Cells of what stands without a flywheel, kept at a time at most: 8 MB of them.
const MOST_KEPT: usize = 1 << 21;

/// How long it takes to lay a cell out, and to put a sum there; ns.
const LAY: f64 = 2.5;
const PUT: f64 = 1.0;

/// How long it takes to bring into order what a question asks, and to find what is seen alike with a bearing; ns.
const PLACE: f64 = 30.0;
const SEEK: f64 = 100.0;

/// How long it takes to answer a question with a bearing and a flywheel, each for itself; ns.
const PAIR: f64 = 11.0;

/// By how many groups what is laid out is expected to be needed.
const SHARED: f64 = 4.0;

/// Plates, spacers and shims of one seat, totalled up.
pub(super) struct Laid {
    /// The step that all positions have in common, nm.
    pub(super) step: i64,
    /// By starter.
    piled: FxHashMap<Starter, Rc<Table>>,
}

/// How to count with tables.
pub(super) struct Plan {
    /// Between which positions, nm.
    range: (i64, i64),
    /// Where in their cells most sums stand, nm.
    main: i64,
    by: By,
    /// How long it takes, ns.
    pub(super) cost: f64,
}

impl Laid {
    /// Of lists that are added up.
    pub(super) fn new<'m>(lists: impl Iterator<Item = &'m Masses>) -> Self {
        let steps = lists.filter_map(|list| grid(list.iter().map(|(at, _)| *at)));
        let step = grid(steps.flat_map(|step| [0, step])).unwrap_or(1);
        Self { step, piled: FxHashMap::default() }
    }

    /// How to count what is asked of some flywheels, in parts that different questions may have, if need be in
    /// one way alone; none where there is no room.
    pub(super) fn plan(
        &self,
        asked: &Asked<'_>,
        parts: &[Vec<Pile>],
        shims: &Masses,
        by: Option<By>,
    ) -> Option<Plan> {
        let (mut beyond, mut sums) = (Vec::new(), 0_u64);
        let (mut fits, mut laid) = (true, 0.0);
        for pile in parts.iter().flatten() {
            let ((low, high), (least, most)) = ends(&pile.spacers).zip(ends(shims))?;
            let cells = cells((low + least, high + most), self.step);
            fits &= cells <= MOST_PLACES;
            if !self.piled.contains_key(&pile.starter) {
                laid += LAY * cells as f64 + PUT * (pile.spacers.len() * shims.len()) as f64;
            }
            let own = count(&pile.spacers).saturating_mul(count(shims));
            sums = sums.saturating_add(own.saturating_mul(count(&pile.flywheels)));
            beyond.extend(
                pile.flywheels.iter().map(|(at, _)| (low + least - at).rem_euclid(self.step)),
            );
        }
        let stand = between(parts.iter().flatten(), shims);
        let ((low, high), (first, last)) = asked.reach().zip(stand)?;
        // Below the first nothing stands, and from the last on everything.
        let low = low.clamp(first - 1, last);
        let range = (low, high.clamp(low, last));
        let cells = cells(range, self.step);
        let has_room =
            u64::try_from(i64::MAX).is_ok_and(|most| sums <= most / asked.most_held().max(1));
        if !fits || cells > MOST_PLACES || u32::try_from(sums).is_err() || !has_room {
            return None;
        }
        let flywheels = beyond.len();
        let counts = beyond.into_iter().counts();
        let lengths = counts.len() as f64;
        let (main, most) = counts.into_iter().max_by_key(|(at, n)| (*n, -at))?;
        // The others are passed on the way through the cells, and back again before the next part.
        let passed = (flywheels - most) * (2 * parts.len() - 1);
        let added = ADD * cells as f64 * (flywheels + passed) as f64;
        let bearings: usize = asked.bearings.iter().map(Vec::len).sum();
        let by_tables = LAY * cells as f64
            + added
            + PLACE * asked.questions.len() as f64
            + SEEK * lengths * bearings as f64
            + LOOK_UP * 2.0 * asked.len() as f64;
        let by_pairs = PAIR * asked.len() as f64 * flywheels as f64;
        let ways = [(By::Tables, by_tables), (By::Pairs, by_pairs)].into_iter();
        let ways = ways.filter(|(way, _)| by.is_none_or(|by| by == *way));
        let (by, cost) = ways.min_by(|(_, a), (_, b)| a.total_cmp(b))?;
        // What is laid out now is there for others too.
        let cost = cost + laid / SHARED;
        Some(Plan { range, main, by, cost })
    }

    /// How many sums lie where some questions ask for them. The parts come with the questions that may have
    /// just those flywheels and all of the parts before them.
    pub(super) fn count(
        &mut self,
        plan: &Plan,
        parts: &[(&[Question], &[Pile])],
        shims: &Masses,
        asked: &Asked<'_>,
    ) -> Result<i128> {
        if plan.by == By::Pairs {
            return self.count_pairs(parts, shims, asked);
        }
        let mut sweep = Sweep::new(plan.range, plan.main, self.step);
        let mut sum = 0_i64;
        for (part, (questions, piles)) in parts.iter().enumerate() {
            if part > 0 {
                sweep.back(asked.watch)?;
            }
            sweep.add(piles, shims, self, asked.watch)?;
            sum = sum.wrapping_add(sweep.answer(questions, asked)?);
        }
        Ok(i128::from(sum))
    }

    /// The same with no flywheel in a table: each is asked with each bearing.
    fn count_pairs(
        &mut self,
        parts: &[(&[Question], &[Pile])],
        shims: &Masses,
        asked: &Asked<'_>,
    ) -> Result<i128> {
        let mut sum = 0;
        for (part, (_, piles)) in parts.iter().enumerate() {
            for pile in *piles {
                let piled = self.piled(pile.starter, &pile.spacers, shims);
                for (questions, _) in &parts[part..] {
                    sum += asked.answer(&piled, questions, &pile.flywheels)?;
                }
            }
        }
        Ok(sum)
    }

    /// All that stands there where a starter lets the flywheel be.
    pub(super) fn piled(
        &mut self,
        starter: Starter,
        spacers: &Masses,
        shims: &Masses,
    ) -> Rc<Table> {
        let kept: usize = self.piled.values().map(|piled| piled.len()).sum();
        if kept > MOST_KEPT {
            self.piled.clear();
        }
        let new = || Rc::new(Table::of(spacers, shims, self.step));
        Rc::clone(self.piled.entry(starter).or_insert_with(new))
    }
}
