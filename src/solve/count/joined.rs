//! Bearings of one list, joined: how many sums of one of them with all that stands between but for the flywheel
//! stand at a position or below it, by either end.
//!
//! A question of which each of them has the travel is asked of all of them at once, and of few flywheels one
//! after the other. Bearings that stand beside the cells by a length that few others do (measured pieces) do not
//! join where there is no room for them.

use itertools::Itertools as _;
use rustc_hash::FxHashSet;

use crate::error::Result;
use crate::solve::ask::Watch;
use crate::solve::count::answer::{Other, answer};
use crate::solve::count::mass::{count, ends};
use crate::solve::count::query::{Question, ends_of};
use crate::solve::count::table::{ADD, MOST_PLACES, Table, cells};
use crate::solve::count::{Rear, Seat};
use crate::solve::numbers::checks::Starter;
use crate::solve::search::lists::{Bearing, FAR};

/// How long it takes to lay a place of a table out and to bring it up to date, ns.
const PLACE: f64 = 4.0;

/// Bearings of one list that joined.
pub(super) struct Joined {
    /// Those of the list that did not.
    pub(super) others: Vec<u32>,
    /// The least travel of one that did, nm.
    travel: i64,
    /// By their extended and by their retracted end.
    tables: [Table; 2],
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
    /// How far an end stands beyond the cells of its grid, nm.
    fn phase(&self, end: usize) -> i64 {
        self.between[end].0.rem_euclid(self.step)
    }
}

fn travel_of(bearing: &Bearing) -> i64 {
    let [extended, retracted] = ends_of(bearing);
    retracted - extended
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
        let most_phases = MOST_PLACES / longest.max(1);
        let phases = [0, 1].map(|end| {
            let counts = all.iter().map(|one| one.phase(end)).counts().into_iter();
            let counts =
                counts.sorted_unstable_by_key(|(phase, n)| (std::cmp::Reverse(*n), *phase));
            let most = counts.take(most_phases as usize).map(|(phase, _)| phase);
            most.sorted_unstable().collect::<Vec<i64>>()
        });
        all.retain(|one| [0, 1].iter().all(|end| phases[*end].contains(&one.phase(*end))));
        let sums = all.iter().fold(0_u64, |sum, one| sum.saturating_add(one.sums));
        let places = phases.iter().map(Vec::len).sum::<usize>() as f64;
        let work = longest as f64 * (2.0 * ADD * all.len() as f64 + PLACE * places);
        if all.is_empty() || u32::try_from(sums).is_err() || work > most_work {
            return Ok(None);
        }
        let travel = all.iter().map(|one| travel_of(one.bearing)).min().unwrap_or(travel);
        let joined: FxHashSet<u32> = all.iter().map(|one| one.place).collect();
        let all: Vec<([usize; 2], [i64; 2])> =
            all.iter().map(|one| (one.seat, ends_of(one.bearing))).collect();
        let mut table = |end: usize| {
            let mut table = Table::new(ranges[end], phases[end].clone(), step);
            let joined = all.iter().map(|([rear, seat], ends)| {
                let Rear { spacers, seats } = &mut rears[*rear];
                let Seat { shims, laid, .. } = &mut seats[*seat];
                (laid.piled(starter, &spacers[&starter], shims), -ends[end], 1)
            });
            table.add(&joined.collect::<Vec<_>>(), watch)?;
            table.finish();
            Ok(table)
        };
        let tables = [table(0)?, table(1)?];
        let others = met.iter().filter(|place| !joined.contains(place)).copied().collect();
        Ok(Some(Self { others, travel, tables }))
    }

    /// Whether a question can be asked of them.
    pub(super) fn suits(&self, question: &Question) -> bool {
        needs(question).is_some_and(|travel| travel <= self.travel)
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
        let flywheel = |(at, times): (i64, usize)| Other { ends: [-at; 2], times: times as i64 };
        let flywheels: Vec<Other> = flywheels.map(flywheel).collect();
        let [extended, retracted] = &self.tables;
        answer([extended, retracted], questions, &flywheels, watch)
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
