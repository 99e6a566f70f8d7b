//! Bearings that stand on one grid, joined: how many sums of one of them with all that stands between but for
//! the flywheel stand at a position or below it, by either end.
//!
//! What is asked of those of whose travel it leaves enough is asked of all of them at once, and of few
//! flywheels one after the other. Bearings that stand beside the grid of most, as measured pieces do, do not join.

use itertools::Itertools as _;
use rustc_hash::FxHashSet;

use crate::error::Result;
use crate::solve::ask::Watch;
use crate::solve::count::query::Question;
use crate::solve::count::table::{ADD, MOST_PLACES, Other, Table, answer, cells, count, ends};
use crate::solve::count::{Rear, Seat};
use crate::solve::numbers::checks::Starter;
use crate::solve::search::lists::{Bearing, FAR};

/// By list of bearings those that joined, and the others.
pub(super) struct Joined {
    lists: Vec<Option<List>>,
    pub(super) others: Vec<Vec<u32>>,
}

/// Bearings of one list that joined.
struct List {
    places: FxHashSet<u32>,
    /// The least travel of one of them, nm.
    travel: i64,
    /// By their extended and by their retracted end.
    tables: [Table; 2],
}

impl Joined {
    /// Of each list those that have a travel at least; only where it takes no longer than so many ns for each.
    pub(super) fn new(
        rears: &mut [Rear<'_>],
        met: &[Vec<u32>],
        starter: Starter,
        travel: i64,
        most_work: f64,
        watch: &Watch,
    ) -> Result<Self> {
        let list = |met: &Vec<u32>| List::new(rears, met, starter, travel, most_work, watch);
        let lists: Vec<Option<List>> = met.iter().map(list).collect::<Result<_>>()?;
        let others = met.iter().zip(&lists).map(|(met, list)| {
            let joined = |one: &&u32| list.as_ref().is_some_and(|list| list.places.contains(*one));
            met.iter().filter(|one| !joined(one)).copied().collect()
        });
        Ok(Self { others: others.collect(), lists })
    }

    /// Whether a question can be asked of those that joined.
    pub(super) fn suits(&self, question: &Question) -> bool {
        needs(question)
            .zip(self.lists[question.bearings].as_ref())
            .is_some_and(|(travel, list)| travel <= list.travel)
    }

    /// How many sums with some flywheels some questions of one list of bearings allow.
    pub(super) fn count(
        &self,
        questions: &[Question],
        flywheels: impl Iterator<Item = i64>,
        watch: &Watch,
    ) -> Result<i128> {
        let flywheels = flywheels.counts().into_iter().sorted_unstable();
        let flywheel = |(at, times): (i64, usize)| Other { ends: [-at; 2], times: times as i64 };
        let flywheels: Vec<Other> = flywheels.map(flywheel).collect();
        let list = questions.first().and_then(|one| self.lists[one.bearings].as_ref());
        let Some(List { tables: [extended, retracted], .. }) = list else { return Ok(0) };
        answer([extended, retracted], questions, &flywheels, watch)
    }
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
    /// How far it stands beyond the cells of its grid.
    fn on(&self) -> (i64, [i64; 2]) {
        (self.step, self.between.map(|(first, _)| first.rem_euclid(self.step)))
    }
}

fn ends_of(bearing: &Bearing) -> [i64; 2] {
    [bearing.ends.extended.at, bearing.ends.retracted.at]
}

fn travel_of(bearing: &Bearing) -> i64 {
    bearing.ends.retracted.at - bearing.ends.extended.at
}

impl List {
    fn new(
        rears: &mut [Rear<'_>],
        met: &[u32],
        starter: Starter,
        travel: i64,
        most_work: f64,
        watch: &Watch,
    ) -> Result<Option<Self>> {
        let mut all: Vec<Stands<'_>> = Vec::new();
        for (rear, Rear { spacers, seats }) in rears.iter().enumerate() {
            for (seat, Seat { shims, all: own, laid }) in seats.iter().enumerate() {
                let spacers = &spacers[&starter];
                let Some(((low, high), (least, most))) = ends(spacers).zip(ends(shims)) else {
                    continue;
                };
                let sums = count(spacers).saturating_mul(count(shims));
                let own = met.iter().filter_map(|place| Some((*place, *own.get(place)?)));
                all.extend(own.filter(|(_, bearing)| travel_of(bearing) >= travel).map(
                    |(place, bearing)| Stands {
                        place,
                        bearing,
                        seat: [rear, seat],
                        step: laid.step,
                        between: ends_of(bearing).map(|end| (low + least + end, high + most + end)),
                        sums,
                    },
                ));
            }
        }
        let counts = all.iter().map(Stands::on).counts().into_iter();
        let Some((most, _)) = counts.max_by_key(|(on, n)| (*n, std::cmp::Reverse(*on))) else {
            return Ok(None);
        };
        all.retain(|one| one.on() == most);
        let (step, phases) = most;
        let range = |end: usize| {
            let low = all.iter().map(|one| one.between[end].0).min()?;
            Some((low, all.iter().map(|one| one.between[end].1).max()?))
        };
        let Some(ranges) = range(0).zip(range(1)).map(<[(i64, i64); 2]>::from) else {
            return Ok(None);
        };
        let cells: i64 = ranges.iter().map(|range| cells(*range, step)).sum();
        let sums = all.iter().fold(0_u64, |sum, one| sum.saturating_add(one.sums));
        let fits = cells <= MOST_PLACES && u32::try_from(sums).is_ok();
        if !fits || ADD * cells as f64 * all.len() as f64 > most_work {
            return Ok(None);
        }
        let mut tables = [0, 1].map(|end| Table::new(ranges[end], vec![phases[end]], step));
        let joined: Vec<(u32, [usize; 2], &Bearing)> =
            all.iter().map(|one| (one.place, one.seat, one.bearing)).collect();
        for (_, [rear, seat], bearing) in &joined {
            let Rear { spacers, seats } = &mut rears[*rear];
            let Seat { shims, laid, .. } = &mut seats[*seat];
            let piled = laid.piled(starter, &spacers[&starter], shims);
            for (table, end) in tables.iter_mut().zip(ends_of(bearing)) {
                watch.step(1)?;
                table.add(&piled, -end, 1);
            }
        }
        let travel = joined.iter().map(|(.., bearing)| travel_of(bearing)).min().unwrap_or(travel);
        let places = joined.iter().map(|(place, ..)| *place).collect();
        Ok(Some(Self { places, travel, tables }))
    }
}
