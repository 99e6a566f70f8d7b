//! Both counts, exactly, without walking the combinations.
//!
//! A plate and a disc with a bearing ask how many sums of what stands between (plates, spacers and
//! shims, less the flywheel) lie in a range of positions.

mod between;
mod mass;
mod query;

use std::rc::Rc;

use itertools::Itertools as _;
use rustc_hash::FxHashMap;

use crate::error::Result;
use crate::solve::ask::{Order, Watch};
use crate::solve::count::between::{Asked, Between, Pile};
use crate::solve::count::mass::{Masses, collected};
use crate::solve::count::query::{Group, Hubs, Question, meetings};
use crate::solve::numbers::checks::Starter;
use crate::solve::numbers::{COMMON, Numbers, Sort};
use crate::solve::search::key::Layout;
use crate::solve::search::lay_out;
use crate::solve::search::lists::{Bearing, Flywheel, Lists};

/// How many combinations there are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Tally {
    /// Those whose known faces mate and that can be summed up.
    pub considered: u128,
    /// Those of them that are in their window and fail no check.
    pub in_window: u128,
}

/// Counts the combinations of some candidates; none where they cannot be added up.
///
/// # Errors
///
/// Only that the work was interrupted.
pub fn count(numbers: &Numbers<'_, '_>, watch: &Watch) -> Result<Option<Tally>> {
    let Some(layout) = Layout::new(numbers, Order::Grade, None) else {
        return Ok(None);
    };
    let tally = count_in(&lay_out(numbers, &layout), watch)?;
    Ok((!numbers.are_unsupported()).then_some(tally))
}

/// Whether any combination of some candidates mates and can be summed up; none where they cannot be added
/// up by numbers.
pub(crate) fn considers_any(numbers: &Numbers<'_, '_>) -> Option<bool> {
    let layout = Layout::new(numbers, Order::Grade, None)?;
    let any = lay_out(numbers, &layout).iter().any(|lists| considered(lists) > 0);
    (!numbers.are_unsupported()).then_some(any)
}

/// Counts the combinations of some frames.
///
/// # Errors
///
/// Only that the work was interrupted.
pub(crate) fn count_in(all: &[Lists<'_, '_, '_>], watch: &Watch) -> Result<Tally> {
    let mut tally = Tally::default();
    for lists in all {
        watch.step(1)?;
        tally.considered += considered(lists);
        if !lists.fails {
            tally.in_window += InWindow { lists, watch }.count()?;
        }
    }
    Ok(tally)
}

/// Every combination of a frame that mates and has its routes.
fn considered(lists: &Lists<'_, '_, '_>) -> u128 {
    let numbers = lists.numbers;
    let before = |sort: Sort| -> u128 {
        let strands = lists.strands.iter().filter(|strand| strand.block_plate == sort);
        strands.map(|strand| strand.items.len() as u128).sum()
    };
    let mut rears: FxHashMap<u32, u128> = FxHashMap::default();
    let mut sum = 0;
    for (plate, _, _) in lists.plates() {
        let rear =
            *rears.entry(numbers.faces.look(numbers.slots.plate, plate)).or_insert_with(|| {
                let met = |one: &&Bearing| lists.plate_meets(plate, one).is_some();
                let ways = |one: &Bearing| {
                    lists.behind[one.behind].len() as u128 * lists.shims[one.shims].len() as u128
                };
                lists.bearings.iter().filter(met).map(ways).sum()
            });
        let discs = lists.discs(plate);
        for class in lists.clutch(plate).classes.iter().filter(|_| rear > 0) {
            let works = |sort: Sort| {
                let key = (lists.frame[0], plate, class.sort, sort, class.block_plate);
                numbers.finger(key).works()
            };
            let common = discs.iter().filter(|disc| disc.sort == COMMON).count();
            let own = discs.iter().filter(|disc| disc.sort != COMMON && works(disc.sort)).count();
            let common = if common > 0 && works(COMMON) { common } else { 0 };
            let front = (common + own) as u128 * class.flywheels.len() as u128;
            sum += front * before(class.block_plate) * rear;
        }
    }
    sum
}

/// Counts the stacks in their windows of one frame.
struct InWindow<'l, 'n, 'b, 'a> {
    lists: &'l Lists<'n, 'b, 'a>,
    watch: &'l Watch,
}

/// Bearings that go with one list of what stands behind the bell and with one list of shims.
struct Seats<'l> {
    shims: Masses,
    /// By the bearings' places in the list of all.
    all: FxHashMap<u32, &'l Bearing>,
}

impl<'l> InWindow<'l, '_, '_, '_> {
    fn count(&self) -> Result<u128> {
        let (plates, met) = meetings(self.lists);
        let (mut sum, mut hubs) = (0, Hubs::default());
        for sort in self.lists.block_plates() {
            // By list of what stands behind the bell.
            let rear = |behind: usize| (self.spacers(sort, behind), self.seats(behind));
            let mut rears: Vec<_> = (0..self.lists.behind.len()).map(rear).collect();
            rears.retain(|(spacers, _)| spacers.values().any(|spacers| !spacers.is_empty()));
            if rears.is_empty() {
                continue;
            }
            for group in Group::all(self.lists, sort, &plates) {
                for plates in group.plates_at_a_time(self.lists) {
                    self.watch.step(1)?;
                    let all = group.questions(plates, self.lists, &mut hubs);
                    for (spacers, seats) in &rears {
                        for seat in seats {
                            let of = |met: &Vec<u32>| -> Vec<&Bearing> {
                                met.iter().filter_map(|one| seat.all.get(one)).copied().collect()
                            };
                            let bearings: Vec<Vec<&Bearing>> = met.iter().map(of).collect();
                            let flywheels = &group.flywheels;
                            sum += self.count_seat(seat, spacers, flywheels, &all, &bearings)?;
                        }
                    }
                }
            }
        }
        Ok(sum.unsigned_abs())
    }

    /// Plates and spacers by position, by where the starter lets the flywheel be.
    fn spacers(&self, sort: Sort, behind: usize) -> FxHashMap<Starter, Rc<Masses>> {
        let lists = self.lists;
        let flywheels = lists.flywheels.iter().filter(|one| !one.item.fails);
        let starters = flywheels.map(|one| one.starter).sorted_unstable().dedup();
        let spacers = |starter: Starter| {
            let mut spacers = Vec::new();
            for strand in lists.strands.iter().filter(|one| one.block_plate == sort) {
                let (low, high) = strand.within_starter(starter);
                for one in &lists.behind[behind] {
                    let (least, most) = strand.within_shaft(lists.shaft, one);
                    let first = strand.items.partition_point(|item| item.sum.at < low.max(least));
                    let end = strand.items.partition_point(|item| item.sum.at <= high.min(most));
                    let own = strand.items.get(first..end).unwrap_or_default();
                    let own = own.iter().filter(|item| !item.fails);
                    spacers.extend(own.map(|item| (item.sum.at + one.item.sum.at, 1)));
                }
            }
            Rc::new(collected(spacers))
        };
        starters.map(|starter| (starter, spacers(starter))).collect()
    }

    /// The bearings by what goes with them, equal shims together.
    fn seats(&self, behind: usize) -> Vec<Seats<'l>> {
        let mut by_shims: FxHashMap<Masses, FxHashMap<u32, &'l Bearing>> = FxHashMap::default();
        let own = (0..).zip(&self.lists.bearings).filter(|(_, one)| one.behind == behind);
        for (place, bearing) in own {
            let shims = self.lists.shims[bearing.shims].iter();
            let shims = collected(shims.map(|item| (item.sum.at, 1)).collect());
            by_shims.entry(shims).or_default().insert(place, bearing);
        }
        let seats = by_shims.into_iter().map(|(shims, all)| Seats { shims, all });
        seats.sorted_by_key(|seats| seats.all.keys().min().copied()).collect()
    }

    /// Counts with some bearings and the flywheels of a group, from those that fewest questions may have
    /// to those that all may have.
    fn count_seat(
        &self,
        seat: &Seats<'_>,
        spacers: &FxHashMap<Starter, Rc<Masses>>,
        flywheels: &[Flywheel],
        questions: &[Question],
        bearings: &[Vec<&Bearing>],
    ) -> Result<i128> {
        let mut sum = 0;
        let limits: Vec<usize> = questions.iter().map(|one| one.clear).chain([0]).dedup().collect();
        for (clear, fewer) in limits.into_iter().tuple_windows() {
            // All that may have these flywheels.
            let own = questions.partition_point(|one| one.clear >= clear);
            let piles = piles(spacers, &flywheels[fewer..clear]);
            let between = Between::new(&seat.shims, &piles);
            let asked = Asked { questions: &questions[..own], bearings, watch: self.watch };
            sum += between.map_or(Ok(0), |between| between.count(&asked))?;
        }
        Ok(sum)
    }
}

/// Flywheels by the plates and spacers that they may have.
fn piles(spacers: &FxHashMap<Starter, Rc<Masses>>, flywheels: &[Flywheel]) -> Vec<Pile> {
    let by_starter = flywheels.iter().map(|one| (one.starter, (one.item.sum.at, 1)));
    let by_starter = by_starter.into_group_map().into_iter().sorted_unstable();
    let pile = |(starter, flywheels)| Pile {
        spacers: Rc::clone(&spacers[&starter]),
        flywheels: collected(flywheels),
    };
    by_starter.map(pile).collect()
}
