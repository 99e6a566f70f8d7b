//! Bearings of one list, joined: how many sums of one of them with all that stands between but for the flywheel
//! stand at a position or below it, by either end.
//!
//! A question of which each of them has the travel is asked of all of them at once, and of few flywheels one
//! after the other.

use std::rc::Rc;

use itertools::Itertools as _;
use rustc_hash::FxHashSet;

use crate::error::Result;
use crate::solve::ask::Watch;
use crate::solve::count::bounds::{Asking, Bounds};
use crate::solve::count::mass::{count, ends};
use crate::solve::count::query::{Question, ends_of, travel_of};
use crate::solve::count::sweep::{Sums, Sweep};
use crate::solve::count::table::{ADD, LAY, MOST_CELLS, Table, cells};
use crate::solve::count::{LOOK_UP, Rear, Seat};
use crate::solve::numbers::checks::Starter;
use crate::solve::search::lists::{Bearing, FAR};

/// Bearings of one list that joined.
pub(super) struct Joined {
    /// Those of the list that did not.
    pub(super) others: Vec<u32>,
    /// The least and the largest travel of those that did, nm.
    travels: (i64, i64),
    /// By their extended and by their retracted end.
    sweeps: [Sweep; 2],
    /// How many sums stand with them.
    sums: u64,
    /// How long it takes to pass all that does not stand where cells begin, ns.
    passing: f64,
}

/// The travel that a question needs at least, if nothing but a least preload and a least reserve bounds it; nm.
pub(super) fn needs(question: &Question) -> Option<i64> {
    let [most, most_retracted] = question.most;
    let [least, least_retracted] = question.least;
    let is_bounded = most < FAR && least_retracted > -FAR;
    (is_bounded && most_retracted >= FAR && least <= -FAR).then_some(least_retracted - most)
}

/// A bearing of a list with all that may stand with it.
struct Stands<'l> {
    place: u32,
    bearing: &'l Bearing,
    /// Which of the lists behind the bell, and which of its seats.
    seat: [usize; 2],
    /// The step of its grid, nm.
    step: i64,
    /// Between which positions it all stands, less the extended and the retracted end, nm.
    between: [(i64, i64); 2],
    /// How much may stand there.
    sums: u64,
}

impl Stands<'_> {
    /// Where in a cell what stands with an end begins, nm.
    fn begins(&self, end: usize) -> i64 {
        self.between[end].0.rem_euclid(self.step)
    }
}

impl Joined {
    /// Those of a list that have a travel at least; none where it takes longer than so many ns.
    ///
    /// # Errors
    ///
    /// Only that the work was interrupted.
    pub(super) fn new(
        rears: &mut [Rear<'_>],
        met: &[u32],
        starter: Starter,
        travel: i64,
        most_work: f64,
        watch: &Watch,
    ) -> Result<Option<Self>> {
        let mut all = stand(rears, met, starter);
        all.retain(|one| travel_of(one.bearing) >= travel);
        // Most stand on one grid.
        let steps = all.iter().map(|one| one.step).counts().into_iter();
        let Some((step, _)) = steps.max_by_key(|(step, n)| (*n, *step)) else { return Ok(None) };
        all.retain(|one| one.step == step);
        let range = |end: usize| {
            let low = all.iter().map(|one| one.between[end].0).min()?;
            Some((low, all.iter().map(|one| one.between[end].1).max()?))
        };
        let Some(ranges) = range(0).zip(range(1)).map(<[(i64, i64); 2]>::from) else {
            return Ok(None);
        };
        let longest = ranges.iter().map(|range| cells(*range, step)).max().unwrap_or(0);
        let sums = all.iter().fold(0_u64, |sum, one| sum.saturating_add(one.sums));
        let adding = ADD * longest as f64;
        let work = 2.0 * (LAY * longest as f64 + adding * all.len() as f64);
        if longest > MOST_CELLS || u32::try_from(sums).is_err() || work > most_work {
            return Ok(None);
        }
        let begin = [0, 1].map(|end| {
            let counts = all.iter().map(|one| one.begins(end)).counts().into_iter();
            counts.max_by_key(|(at, n)| (*n, -at)).unwrap_or_default()
        });
        let beside: usize = begin.iter().map(|(_, n)| all.len() - n).sum();
        let passing = adding * beside as f64 + 2.0 * LAY * longest as f64;
        let travels = all.iter().map(|one| travel_of(one.bearing)).minmax().into_option();
        let joined: FxHashSet<u32> = all.iter().map(|one| one.place).collect();
        let tables: Vec<([usize; 2], [i64; 2])> =
            all.iter().map(|one| (one.seat, ends_of(one.bearing))).collect();
        let tables = tables.into_iter().map(|([rear, seat], ends)| {
            let Rear { spacers, seats } = &mut rears[rear];
            let Seat { shims, laid, .. } = &mut seats[seat];
            (laid.piled(starter, &spacers[&starter], shims), ends)
        });
        let tables: Vec<(Rc<Table>, [i64; 2])> = tables.collect();
        let sweep = |end: usize| {
            let mut sweep = Sweep::new(ranges[end], begin[end].0, step);
            let moved =
                tables.iter().map(|(table, ends)| (Sums::Table(Rc::clone(table)), -ends[end], 1));
            sweep.add(moved, watch)?;
            Ok(sweep)
        };
        let sweeps = [sweep(0)?, sweep(1)?];
        let others = met.iter().filter(|place| !joined.contains(place)).copied().collect();
        let travels = travels.unwrap_or((travel, travel));
        Ok(Some(Self { others, travels, sweeps, sums, passing }))
    }

    /// Whether a number has room for all that some questions may count with so many flywheels.
    pub(super) fn has_room(&self, questions: &[Question], flywheels: usize) -> bool {
        let times: u64 = questions.iter().map(|one| one.times.unsigned_abs()).sum();
        let all = u128::from(times) * u128::from(self.sums) * flywheels as u128;
        i64::try_from(all).is_ok()
    }

    /// Whether asking so many questions of them takes less than asking them of so many bearings.
    pub(super) fn is_worth_while(
        &self,
        questions: usize,
        flywheels: usize,
        bearings: usize,
    ) -> bool {
        let work = self.passing + 2.0 * LOOK_UP * questions as f64 * flywheels as f64;
        work < 2.0 * LOOK_UP * questions as f64 * bearings as f64
    }

    /// Whether a question can be asked of them.
    pub(super) fn suits(&self, question: &Question) -> bool {
        needs(question).is_some_and(|travel| travel <= self.travels.0)
    }

    /// How many sums with some flywheels some questions allow.
    ///
    /// # Errors
    ///
    /// Only that the work was interrupted.
    pub(super) fn count(
        &self,
        questions: &[Question],
        flywheels: impl Iterator<Item = i64>,
        watch: &Watch,
    ) -> Result<i128> {
        let flywheels = flywheels.counts().into_iter().sorted_unstable();
        let travel = self.travels.0;
        let asking = |(at, times): (i64, usize)| Asking { at: -at, travel, times: times as i64 };
        let asking: Vec<Asking> = flywheels.map(asking).collect();
        let mut sum = 0_i64;
        for (end, sweep) in self.sweeps.iter().enumerate() {
            let bounds = Bounds::of(questions, end, self.travels, sweep.grid());
            sum = sum.wrapping_add(sweep.answer(&[(&bounds, asking.clone())], watch)?);
        }
        Ok(i128::from(sum))
    }
}

/// The bearings of a list with all that may stand with each.
fn stand<'l>(rears: &[Rear<'l>], met: &[u32], starter: Starter) -> Vec<Stands<'l>> {
    let mut all = Vec::new();
    for (rear, Rear { spacers, seats }) in rears.iter().enumerate() {
        for (seat, Seat { shims, all: own, laid }) in seats.iter().enumerate() {
            let spacers = &spacers[&starter];
            let Some(((low, high), (least, most))) = ends(spacers).zip(ends(shims)) else {
                continue;
            };
            let sums = count(spacers).saturating_mul(count(shims));
            let stands = |place: &u32| {
                let bearing = *own.get(place)?;
                Some(Stands {
                    place: *place,
                    bearing,
                    seat: [rear, seat],
                    step: laid.step,
                    between: ends_of(bearing).map(|end| (low + least + end, high + most + end)),
                    sums,
                })
            };
            all.extend(met.iter().filter_map(stands));
        }
    }
    all
}
