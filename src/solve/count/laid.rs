//! All that stands between with one list of shims, laid out on a grid.
//!
//! Plates, spacers and shims are totalled up once, and a flywheel only moves them. What is asked is then two
//! look-ups for each question and bearing in a table of all flywheels of a set, or for each question, bearing and
//! flywheel in a table without.

use std::ops::Range;
use std::rc::Rc;

use itertools::{Itertools as _, iproduct};
use rustc_hash::FxHashMap;

use crate::error::Result;
use crate::solve::count::between::{Asked, Pile, between};
use crate::solve::count::mass::{Masses, count, ends, grid};
use crate::solve::count::query::{ends_of, travel_of};
use crate::solve::count::sweep::{Asking, Sweep};
use crate::solve::count::table::{ADD, LAY, MOST_CELLS, Table, cells};
use crate::solve::count::{By, LOOK_UP};
use crate::solve::numbers::checks::Starter;
use crate::solve::search::lists::Bearing;

/// Cells of what stands without a flywheel, kept at a time at most: 8 MB of them.
const MOST_KEPT: usize = 1 << 21;

/// How long it takes to put a sum in its cell, ns.
const PUT: f64 = 1.0;

/// How long it takes to bring into order what a question asks, and to find what is seen alike with a bearing; ns.
const PLACE: f64 = 30.0;
const SEEK: f64 = 100.0;

/// How long it takes to answer a question with a bearing and a flywheel, each for itself; ns.
const PAIR: f64 = 3.0;

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
    /// Where cells begin, so that most sums stand there, nm.
    begins: i64,
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
            fits &= cells <= MOST_CELLS;
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
        if !fits || cells > MOST_CELLS || u32::try_from(sums).is_err() || !has_room {
            return None;
        }
        let flywheels = beyond.len();
        let counts = beyond.into_iter().counts();
        let lengths = counts.len() as f64;
        let (begins, most) = counts.into_iter().max_by_key(|(at, n)| (*n, -at))?;
        // The others are passed on the way through the cells.
        let passed = (flywheels - most) * parts.len();
        let added = ADD * cells as f64 * (flywheels + passed) as f64;
        let bearings: usize = asked.bearings.iter().map(Vec::len).sum();
        let by_tables = LAY * cells as f64 * (1 + parts.len()) as f64
            + added
            + PLACE * asked.questions.len() as f64
            + SEEK * lengths * bearings as f64
            + LOOK_UP * 2.0 * asked.len() as f64;
        let by_pairs = PLACE * asked.questions.len() as f64
            + (SEEK * bearings as f64 + PAIR * asked.len() as f64) * flywheels as f64;
        let ways = [(By::Tables, by_tables), (By::Pairs, by_pairs)].into_iter();
        let ways = ways.filter(|(way, _)| by.is_none_or(|by| by == *way));
        let (by, cost) = ways.min_by(|(_, a), (_, b)| a.total_cmp(b))?;
        // What is laid out now is there for others too.
        let cost = cost + laid / SHARED;
        Some(Plan { range, begins, by, cost })
    }

    /// How many sums lie where some questions ask for them. The parts come with the questions that may have
    /// just those flywheels and all of the parts before them.
    pub(super) fn count(
        &mut self,
        plan: &Plan,
        parts: &[(Range<usize>, &[Pile])],
        shims: &Masses,
        asked: &Asked<'_>,
    ) -> Result<i128> {
        if plan.by == By::Pairs {
            return self.count_pairs(parts, shims, asked);
        }
        let mut sweep = Sweep::new(plan.range, plan.begins, self.step);
        let mut sum = 0_i64;
        for (own, piles) in parts {
            for Pile { starter, spacers, flywheels } in *piles {
                let piled = self.piled(*starter, spacers, shims);
                let moved = flywheels.iter().map(|(at, n)| (Rc::clone(&piled), *at, *n));
                sweep.add(moved, asked.watch)?;
            }
            let placed = asked.placed(own.clone(), &sweep.table().grid);
            let asking = iproduct!(&placed, [0, 1]).map(|((bounds, bearings), end)| {
                let each = |bearing: &&Bearing| Asking {
                    at: ends_of(bearing)[end],
                    travel: travel_of(bearing),
                    times: 1,
                };
                (&bounds[end], bearings.iter().map(each).collect())
            });
            sum = sum.wrapping_add(sweep.answer(&asking.collect::<Vec<_>>(), asked.watch)?);
        }
        Ok(i128::from(sum))
    }

    /// The same with no flywheel in a table: each is asked with each bearing.
    fn count_pairs(
        &mut self,
        parts: &[(Range<usize>, &[Pile])],
        shims: &Masses,
        asked: &Asked<'_>,
    ) -> Result<i128> {
        let mut sum = 0_i64;
        for (part, (_, piles)) in parts.iter().enumerate() {
            for Pile { starter, spacers, flywheels } in *piles {
                let piled = self.piled(*starter, spacers, shims);
                for (own, _) in &parts[part..] {
                    for (bounds, bearings) in asked.placed(own.clone(), &piled.grid) {
                        for (bearing, (at, n), end) in iproduct!(bearings, flywheels, [0, 1]) {
                            asked.watch.step(1)?;
                            let less = ends_of(bearing)[end] - at;
                            let all = 0..piled.grid.step;
                            let own = piled.up_to(&bounds[end], less, travel_of(bearing), all);
                            sum = sum.wrapping_add(own.wrapping_mul(*n as i64));
                        }
                    }
                }
            }
        }
        Ok(i128::from(sum))
    }

    /// All that stands there where a starter lets the flywheel be.
    pub(super) fn piled(
        &mut self,
        starter: Starter,
        spacers: &Masses,
        shims: &Masses,
    ) -> Rc<Table> {
        let kept: usize = self.piled.values().map(|piled| piled.cells.len()).sum();
        if kept > MOST_KEPT {
            self.piled.clear();
        }
        let new = || Rc::new(Table::of(spacers, shims, self.step));
        Rc::clone(self.piled.entry(starter).or_insert_with(new))
    }
}
