//! Both counts, exactly, without walking the combinations.
//!
//! Everything that stands between (plates, spacers, shims) is counted by position, moved to each bearing.
//! Then every plate, disc and flywheel asks how many of it lie up to an end of its interval.

mod mass;

use itertools::{Itertools as _, iproduct};
use rustc_hash::FxHashMap;

use crate::error::Result;
use crate::model::edge::Edge;
use crate::solve::ask::{Order, Watch};
use crate::solve::count::mass::{Masses, Ranks, collected, sums};
use crate::solve::numbers::checks::Starter;
use crate::solve::numbers::{COMMON, Numbers, Sort};
use crate::solve::search::key::Layout;
use crate::solve::search::lists::{Bearing, Class, Flywheel, Lists};

/// How many combinations there are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Tally {
    /// Those whose known faces mate and that can be summed up.
    pub considered: u128,
    /// Those of them that are in their window and fail no check.
    pub in_window: u128,
}

/// Counts the combinations of some candidates. None where numbers cannot follow a form.
///
/// # Errors
///
/// Only that the work was interrupted.
pub fn count(numbers: &Numbers<'_, '_>, watch: &Watch) -> Result<Option<Tally>> {
    let Some(layout) = Layout::new(numbers, Order::Grade, numbers.span_before()) else {
        return Ok(None);
    };
    let mut tally = Tally::default();
    let slots = numbers.slots.frame().map(|slot| 0..numbers.candidates.slots[slot].len() as u32);
    let [engines, bells, gearboxes] = slots;
    for (engine, bell, gearbox) in iproduct!(engines, bells, gearboxes) {
        let frame = [engine, bell, gearbox];
        if let Some(lists) = Lists::new(numbers, &layout, frame, false) {
            tally.considered += considered(&lists);
        }
        if let Some(lists) = Lists::new(numbers, &layout, frame, true) {
            tally.in_window += InWindow { lists: &lists, watch }.count()?;
        }
    }
    Ok((!numbers.are_unsupported()).then_some(tally))
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
    for (plate, _) in lists.plates() {
        let rear =
            *rears.entry(numbers.faces.look(numbers.slots.plate, plate)).or_insert_with(|| {
                let met = |one: &&Bearing| lists.plate_meets(plate, one.pick).is_some();
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

/// Plates that go with the same bearings.
struct Group {
    plates: Vec<u32>,
    /// By travel.
    bearings: Vec<Bearing>,
}

impl Group {
    fn travel(&self, bearing: usize) -> i64 {
        let ends = &self.bearings[bearing].ends;
        ends.retracted.at - ends.extended.at
    }

    /// How many bearings travel less than this.
    fn below(&self, travel: i64) -> usize {
        let mut count = self.bearings.len();
        let mut first = 0;
        while first < count {
            let middle = usize::midpoint(first, count);
            if self.travel(middle) < travel { first = middle + 1 } else { count = middle }
        }
        first
    }
}

/// What a plate and a disc ask of what stands between less the flywheel, nm.
#[derive(Debug, Clone, Copy)]
struct Query {
    plate: u32,
    disc: u32,
    /// No more than these, less the bearing's extended and its retracted end.
    most: [Option<i64>; 2],
    /// No less than these, less the bearing's extended and its retracted end.
    least: [Option<i64>; 2],
}

impl Query {
    /// Asks the totals of a group, each for the bearings at which the same two limits bind.
    fn ask(&self, group: &Group, number: u32, ups: &mut Vec<Up>) {
        let (most, least) = (self.most, self.least);
        let apart = |a: Option<i64>, b: Option<i64>| a.zip(b).map(|(a, b)| a - b);
        // Up to here the extended end binds above, and the retracted one below.
        let no_more =
            |travel: Option<i64>| travel.map_or(group.bearings.len(), |t| group.below(t + 1));
        let above = no_more(apart(most[RETRACTED], most[EXTENDED]));
        let below = no_more(apart(least[RETRACTED], least[EXTENDED]));
        // Shorter bearings leave nothing between these two, longer ones nothing between the others.
        let enough =
            apart(least[RETRACTED], most[EXTENDED]).map_or(0, |travel| group.below(travel));
        let too_long = no_more(apart(most[RETRACTED], least[EXTENDED]));
        let mut ends = [0, above, below, enough, too_long, group.bearings.len()];
        ends.sort_unstable();
        for (first, end) in ends.into_iter().tuple_windows().filter(|(first, end)| first < end) {
            let (high, low) = (usize::from(end > above), usize::from(end <= below));
            let open = match (high, low) {
                (EXTENDED, RETRACTED) => first >= enough,
                (RETRACTED, EXTENDED) => end <= too_long,
                _ => apart(most[high], least[low]).is_none_or(|between| between >= 0),
            };
            let (Some(most), Some(least)) = (most[high], least[low]) else { continue };
            if open {
                let range = (first as u32, end as u32);
                ups.push(Up { range, end: high, less: false, to: most, query: number });
                ups.push(Up { range, end: low, less: true, to: least - 1, query: number });
            }
        }
    }
}

/// One end of the bearings' travel.
type EndOf = usize;
const EXTENDED: EndOf = 0;
const RETRACTED: EndOf = 1;

/// One question to the totals: how many lie up to a position, for a range of bearings and one end.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Up {
    range: (u32, u32),
    end: EndOf,
    /// They are taken off.
    less: bool,
    to: i64,
    query: u32,
}

impl InWindow<'_, '_, '_, '_> {
    fn count(&self) -> Result<u128> {
        let mut sum = 0_i128;
        let starters = self.starters();
        for group in self.groups() {
            let sorts: Vec<Sort> =
                self.lists.strands.iter().map(|strand| strand.block_plate).dedup().collect();
            for (sort, starter) in iproduct!(sorts, &starters) {
                sum += self.count_group(&group, sort, *starter)?;
            }
        }
        Ok(sum.unsigned_abs())
    }

    /// What the starter lets flywheels be, each once.
    fn starters(&self) -> Vec<Starter> {
        let all = self.lists.flywheels.iter().map(|flywheel| flywheel.starter);
        all.sorted_unstable().dedup().collect()
    }

    fn groups(&self) -> Vec<Group> {
        let mut groups: FxHashMap<Vec<u32>, Vec<u32>> = FxHashMap::default();
        for (plate, _) in self.lists.plates() {
            let all = (0..).zip(&self.lists.bearings);
            let met = all.filter(|(_, one)| self.lists.plate_meets(plate, one.pick).is_some());
            let met: Vec<u32> = met.map(|(place, _)| place).collect();
            groups.entry(met).or_default().push(plate);
        }
        let group = |(met, plates): (Vec<u32>, Vec<u32>)| {
            let own = met.iter().map(|place| self.lists.bearings[*place as usize]);
            let travel = |one: &Bearing| one.ends.retracted.at - one.ends.extended.at;
            Group { plates, bearings: own.sorted_by_key(travel).collect() }
        };
        groups.into_iter().filter(|(met, _)| !met.is_empty()).sorted_unstable().map(group).collect()
    }

    /// Counts with the block plates of one sort and the flywheels that the starter lets be alike.
    fn count_group(&self, group: &Group, sort: Sort, starter: Starter) -> Result<i128> {
        let rests = self.rests(sort, starter);
        let mut sum = 0;
        let mut seen: FxHashMap<usize, Vec<u32>> = FxHashMap::default();
        for plate in &group.plates {
            seen.entry(self.lists.clutch(*plate).number).or_default().push(*plate);
        }
        for (_, plates) in seen.into_iter().sorted_unstable() {
            let clutch = self.lists.clutch(plates[0]);
            for class in clutch.classes.iter().filter(|class| class.block_plate == sort) {
                let own = class.flywheels.iter().filter(|flywheel| flywheel.starter == starter);
                let flywheels: Vec<&Flywheel> = own.collect();
                if flywheels.is_empty() {
                    continue;
                }
                let queries = self.queries(&plates, class);
                let mut ups = Vec::new();
                for (number, query) in (0..).zip(&queries) {
                    query.ask(group, number, &mut ups);
                }
                ups.sort_unstable();
                for (_, asked) in &ups.iter().chunk_by(|up| (up.range, up.end)) {
                    let asked: Vec<&Up> = asked.collect();
                    let ranks = self.totals(group, &rests, asked[0].range, asked[0].end);
                    for up in asked {
                        self.watch.step(1)?;
                        let query = &queries[up.query as usize];
                        let clears = |one: &&&Flywheel| {
                            self.lists.hub_clears(one.item.pick, query.disc, query.plate)
                        };
                        let all = flywheels.iter().filter(clears);
                        let count: u64 = all.map(|one| ranks.up_to(up.to + one.item.sum.at)).sum();
                        sum += if up.less { -i128::from(count) } else { i128::from(count) };
                    }
                }
            }
        }
        Ok(sum)
    }

    fn queries(&self, plates: &[u32], class: &Class) -> Vec<Query> {
        let mut queries = Vec::new();
        for plate in plates {
            let least_preload = self.lists.least_preload(*plate);
            for disc in self.lists.discs(*plate).iter() {
                let key = (self.lists.frame[0], *plate, class.sort, disc.sort, class.block_plate);
                let finger = self.lists.numbers.finger(key);
                let Some(finger) = finger.with(&class.gap, &disc.gap) else { continue };
                let limits = self.lists.numbers.limits(*plate, disc.pick);
                let at = finger.sum.at + disc.alone.at;
                let limit =
                    |edge: Edge| limits[edge].map(|limit| (limit, finger.float.at(edge).nm()));
                let preload_min = limit(Edge::PreloadMin).map(|(limit, float)| limit + float);
                let most_extended = preload_min.max(least_preload).map(|least| at - least);
                queries.push(Query {
                    plate: *plate,
                    disc: disc.pick,
                    most: [
                        most_extended,
                        limit(Edge::ReserveMax).map(|(limit, float)| at + limit - float),
                    ],
                    least: [
                        limit(Edge::PreloadMax).map(|(limit, float)| at - limit + float),
                        limit(Edge::ReserveMin).map(|(limit, float)| at + limit + float),
                    ],
                });
            }
        }
        queries
    }

    /// What stands between but for the flywheel, by list behind the bell and list of shims.
    fn rests(&self, sort: Sort, starter: Starter) -> Rests {
        let lists = self.lists;
        let keys = lists.bearings.iter().map(|one| (one.behind, one.shims));
        let rest = |(behind, shims): (usize, usize)| {
            let mut spacers = Vec::new();
            for strand in lists.strands.iter().filter(|one| one.block_plate == sort) {
                let (low, high) = strand.within_starter(starter);
                for one in &lists.behind[behind] {
                    let (least, most) = strand.within_shaft(lists.shaft(), one);
                    let within = low.max(least)..=high.min(most);
                    let items = strand.items.iter().filter(|item| within.contains(&item.sum.at));
                    spacers.extend(items.map(|item| (item.sum.at + one.item.sum.at, 1)));
                }
            }
            let shims = lists.shims[shims].iter().map(|item| (item.sum.at, 1)).collect();
            sums(&collected(spacers), &collected(shims))
        };
        keys.sorted_unstable().dedup().map(|key| (key, rest(key))).collect()
    }

    /// How many combinations of some bearings with what stands between there are up to a position.
    fn totals(&self, group: &Group, rests: &Rests, range: (u32, u32), end: EndOf) -> Ranks {
        let bearings = &group.bearings[range.0 as usize..range.1 as usize];
        let parts = bearings.iter().map(|one| {
            let ends = [&one.ends.extended, &one.ends.retracted];
            (&rests[&(one.behind, one.shims)], ends[end].at)
        });
        Ranks::new(&parts.collect::<Vec<_>>())
    }
}

/// What stands between by position, by list behind the bell and list of shims.
type Rests = FxHashMap<(usize, usize), Masses>;
