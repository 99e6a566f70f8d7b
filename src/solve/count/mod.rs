//! Both counts, exactly, without walking the combinations.
//!
//! Everything that stands between (plates, spacers, shims) is counted by position, moved to each bearing.
//! Then every plate, disc and flywheel asks how many of it lie up to an end of its interval.

mod cells;
mod mass;
mod query;

use itertools::{Itertools as _, iproduct};
use rustc_hash::FxHashMap;

use crate::error::Result;
use crate::solve::ask::{Order, Watch};
use crate::solve::count::cells::{Asked, Cells, Moved, Number, Offsets};
use crate::solve::count::mass::{Masses, Ranks, collected, grid};
use crate::solve::count::query::{EndOf, Group, Question};
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
    let Some(layout) = Layout::new(numbers, Order::Grade, numbers.span_before()) else {
        return Ok(None);
    };
    let tally = count_in(&lay_out(numbers, &layout), watch)?;
    Ok((!numbers.are_unsupported()).then_some(tally))
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

/// What stands between by position, by list behind the bell and list of shims.
type Rests = FxHashMap<(usize, usize), Rest>;

/// What stands between by position: plates and spacers, and the shims that are added to them.
struct Rest {
    spacers: Masses,
    shims: Masses,
}

impl Rest {
    /// How many pairs of both there are.
    fn len(&self) -> usize {
        self.spacers.len() * self.shims.len()
    }
}

/// How many things are counted one by one at most.
const FEW: usize = 400_000;

/// How many questions are held at a time.
const MANY: usize = 400_000;

impl InWindow<'_, '_, '_, '_> {
    fn count(&self) -> Result<u128> {
        let starters = self.lists.flywheels.iter().filter(|flywheel| !flywheel.item.fails);
        let starters = starters.map(|flywheel| flywheel.starter).sorted_unstable().dedup();
        let groups = Group::all(self.lists);
        let mut sum = 0;
        for (sort, starter) in iproduct!(self.lists.block_plates(), starters) {
            let rests = self.rests(sort, starter);
            for group in &groups {
                sum += self.count_group(group, &rests, sort, starter)?;
            }
        }
        Ok(sum.unsigned_abs())
    }

    /// What stands between but for the flywheel.
    fn rests(&self, sort: Sort, starter: Starter) -> Rests {
        let lists = self.lists;
        let keys = lists.bearings.iter().map(|one| (one.behind, one.shims));
        let rest = |(behind, shims): (usize, usize)| {
            let mut spacers = Vec::new();
            for strand in lists.strands.iter().filter(|one| one.block_plate == sort) {
                let (low, high) = strand.within_starter(starter);
                let items: Vec<i64> = strand
                    .items
                    .iter()
                    .filter(|item| !item.fails)
                    .map(|item| item.sum.at)
                    .collect();
                for one in &lists.behind[behind] {
                    let (least, most) = strand.within_shaft(lists.shaft, one);
                    let first = items.partition_point(|at| *at < low.max(least));
                    let end = items.partition_point(|at| *at <= high.min(most));
                    let own = items.get(first..end).unwrap_or_default();
                    spacers.extend(own.iter().map(|at| (at + one.item.sum.at, 1)));
                }
            }
            let shims = lists.shims[shims].iter().map(|item| (item.sum.at, 1)).collect();
            Rest { spacers: collected(spacers), shims: collected(shims) }
        };
        keys.sorted_unstable().dedup().map(|key| (key, rest(key))).collect()
    }

    /// Counts with the block plates of one sort and the flywheels that the starter lets be alike.
    fn count_group(
        &self,
        group: &Group,
        rests: &Rests,
        sort: Sort,
        starter: Starter,
    ) -> Result<i128> {
        let mut sum = 0;
        let mut waiting: FxHashMap<((u32, u32), EndOf), Vec<(Offsets, Vec<Asked>)>> =
            FxHashMap::default();
        let mut count = 0;
        for (plates, clutch) in group.by_clutch(self.lists) {
            for class in clutch.classes.iter().filter(|class| class.block_plate == sort) {
                let flywheels = class.flywheels.iter();
                let own = flywheels.filter(|one| one.starter == starter && !one.item.fails);
                let own: Vec<Flywheel> = own.copied().collect();
                if own.is_empty() {
                    continue;
                }
                for plates in plates.chunks(64) {
                    self.watch.step(1)?;
                    let question = Question::new(self.lists, class, &own, plates);
                    for (key, asked) in question.asked(group) {
                        count += asked.len();
                        waiting.entry(key).or_default().push((question.offsets.clone(), asked));
                    }
                    if count > MANY {
                        sum += self.answer(group, rests, &mut waiting)?;
                        count = 0;
                    }
                }
            }
        }
        Ok(sum + self.answer(group, rests, &mut waiting)?)
    }

    fn answer(
        &self,
        group: &Group,
        rests: &Rests,
        waiting: &mut FxHashMap<((u32, u32), EndOf), Vec<(Offsets, Vec<Asked>)>>,
    ) -> Result<i128> {
        let mut sum = 0;
        for ((range, end), mut questions) in waiting.drain().sorted_by_key(|(key, _)| *key) {
            self.watch.step(1)?;
            let bearings = &group.bearings[range.0 as usize..range.1 as usize];
            let all: usize = bearings.iter().map(|one| rests[&(one.behind, one.shims)].len()).sum();
            sum += if all <= FEW {
                few(bearings, rests, end, &questions)
            } else {
                many(bearings, rests, end, &mut questions)
            };
        }
        Ok(sum)
    }
}

/// Counts one by one.
fn few(
    bearings: &[Bearing],
    rests: &Rests,
    end: EndOf,
    questions: &[(Offsets, Vec<Asked>)],
) -> i128 {
    let keys = bearings.iter().map(|one| (one.behind, one.shims)).unique();
    let summed: FxHashMap<(usize, usize), Masses> = keys
        .map(|key| {
            let rest = &rests[&key];
            let pairs =
                iproduct!(&rest.spacers, &rest.shims).map(|((a, n), (b, m))| (a + b, n * m));
            (key, pairs.collect())
        })
        .collect();
    let parts: Vec<(&Masses, i64)> =
        bearings.iter().map(|one| (&summed[&(one.behind, one.shims)], end.at(one))).collect();
    let ranks = Ranks::new(&parts);
    let mut sum = 0;
    for (offsets, asked) in questions {
        for one in asked {
            let offsets = offsets.iter().filter(|(_, rank)| *rank <= one.rank);
            let count: u64 = offsets.map(|(at, _)| ranks.up_to(one.to + at)).sum();
            sum += if one.less { -i128::from(count) } else { i128::from(count) };
        }
    }
    sum
}

/// Counts on a grid.
fn many(
    bearings: &[Bearing],
    rests: &Rests,
    end: EndOf,
    questions: &mut [(Offsets, Vec<Asked>)],
) -> i128 {
    let all: u64 = bearings
        .iter()
        .map(|one| {
            let rest = &rests[&(one.behind, one.shims)];
            let mass = |list: &Masses| list.iter().map(|(_, n)| n).sum::<u64>();
            mass(&rest.spacers) * mass(&rest.shims)
        })
        .sum();
    if u32::try_from(all).is_ok() {
        many_of::<u32>(bearings, rests, end, questions)
    } else {
        many_of::<u64>(bearings, rests, end, questions)
    }
}

fn many_of<T: Number>(
    bearings: &[Bearing],
    rests: &Rests,
    end: EndOf,
    questions: &mut [(Offsets, Vec<Asked>)],
) -> i128 {
    let step = grid(rests.values().flat_map(|rest| rest.spacers.iter().map(|(at, _)| *at)));
    let shims = rests.values().filter_map(|rest| grid(rest.shims.iter().map(|(at, _)| *at)));
    let grid = grid([0, step.unwrap_or(0)].into_iter().chain(shims.flat_map(|step| [0, step])));
    let grid = grid.unwrap_or(1);
    let keys = bearings.iter().map(|one| (one.behind, one.shims)).unique();
    let summed: FxHashMap<(usize, usize), Cells<T>> = keys
        .map(|key| (key, Cells::of(&rests[&key].spacers, grid).plus(&rests[&key].shims, grid)))
        .collect();
    let lists =
        bearings.iter().map(|one| (&summed[&(one.behind, one.shims)], end.at(one))).collect();
    Moved { grid, lists }.count(questions)
}
