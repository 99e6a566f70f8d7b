//! Both counts, exactly, without walking the combinations.
//!
//! A plate and a disc with a bearing ask how many sums of what stands between (plates, spacers and
//! shims, less the flywheel) lie in a range of positions. Where that would take too long or too much
//! memory it is not counted, and nothing is said to be known.

mod between;
mod bounds;
mod joined;
mod laid;
mod mass;
mod query;
mod sweep;
mod table;

use std::cell::Cell;
use std::ops::Range;
use std::rc::Rc;

use itertools::{Itertools as _, iproduct};
use rustc_hash::FxHashMap;

use crate::error::Result;
use crate::solve::ask::{Order, Watch};
use crate::solve::count::between::{Apart, Asked, Between, Pile};
use crate::solve::count::bounds::Placed;
use crate::solve::count::joined::{Joined, needs};
use crate::solve::count::laid::Laid;
use crate::solve::count::mass::{Masses, collected};
use crate::solve::count::query::{Group, Hubs, MOST_QUESTIONS, Question, meetings, travel_of};
use crate::solve::numbers::checks::Starter;
use crate::solve::numbers::{COMMON, Numbers, Sort};
use crate::solve::search::key::Layout;
use crate::solve::search::lay_out;
use crate::solve::search::lists::{Bearing, FAR, Flywheel, Lists};

/// How many combinations there are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Tally {
    /// Those whose known faces mate and that can be summed up.
    pub considered: u128,
    /// Those of them that are in their window and fail no check; none where they are too many of too
    /// many sizes to be counted.
    pub in_window: Option<u128>,
}

/// How to count.
#[derive(Debug, Clone, Copy)]
pub struct How {
    /// How long it may take, ns, as the ways to count are expected to take.
    pub most_work: f64,
    /// The one way to count, where it has room; none where by what is expected to be the quickest.
    pub by: Option<By>,
}

impl Default for How {
    fn default() -> Self {
        Self { most_work: 8e9, by: None }
    }
}

/// A way to count. All count the same.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum By {
    /// By tables of what stands between with all flywheels, and of bearings that joined.
    Tables,
    /// By tables of what stands between with all flywheels, for which nothing is laid out without a flywheel.
    Sums,
    /// Each flywheel with each bearing.
    Pairs,
    /// By the ranges of positions that are asked for.
    Ranges,
}

/// Positions that are kept at a time at most: 8 MB of them.
const MOST_KEPT: usize = 1 << 19;

/// How long it takes to put one more thing in its place, ns.
const PUT: f64 = 40.0;

/// How long a look-up takes of what questions ask in order, ns.
const LOOK_UP: f64 = 1.1;

/// How long it takes to answer a question with a bearing, with what is laid out for it; ns.
const EXPECTED: f64 = 7.0;

/// Counts the combinations of some candidates; none where they cannot be added up.
///
/// # Errors
///
/// Only that the work was interrupted.
pub fn count(numbers: &Numbers<'_, '_>, how: How, watch: &Watch) -> Result<Option<Tally>> {
    let Some(layout) = Layout::new(numbers, Order::Grade, None) else {
        return Ok(None);
    };
    let tally = count_in(&lay_out(numbers, &layout, watch)?, how, watch)?;
    Ok((!numbers.are_unsupported()).then_some(tally))
}

/// Whether any combination of some candidates mates and can be summed up; none where they cannot be added
/// up by numbers.
///
/// # Errors
///
/// Only that the work was interrupted.
pub(crate) fn considers_any(numbers: &Numbers<'_, '_>, watch: &Watch) -> Result<Option<bool>> {
    let Some(layout) = Layout::new(numbers, Order::Grade, None) else { return Ok(None) };
    let mut any = false;
    for lists in lay_out(numbers, &layout, watch)? {
        any = any || considered(&lists, watch)? > 0;
    }
    Ok((!numbers.are_unsupported()).then_some(any))
}

/// Counts the combinations of some frames.
///
/// # Errors
///
/// Only that the work was interrupted.
pub(crate) fn count_in(all: &[Lists<'_, '_, '_>], how: How, watch: &Watch) -> Result<Tally> {
    let mut tally = Tally { considered: 0, in_window: Some(0) };
    let work = Cell::new(how.most_work);
    let frame = |lists| InWindow { lists, how, work: &work, watch };
    if all.len() > 1 {
        // Some of them are not begun either where all of them would take too long.
        let expected = all.iter().map(|lists| frame(lists).expected()).sum::<Result<f64>>()?;
        tally.in_window = tally.in_window.filter(|_| expected <= how.most_work);
    }
    for lists in all {
        watch.step(1)?;
        tally.considered += considered(lists, watch)?;
        if let Some(known) = tally.in_window.filter(|_| !lists.fails) {
            let own = frame(lists).count()?;
            tally.in_window = own.map(|own| known + own);
        }
    }
    Ok(tally)
}

/// Every combination of a frame that mates and has its routes.
fn considered(lists: &Lists<'_, '_, '_>, watch: &Watch) -> Result<u128> {
    let numbers = lists.numbers;
    let mut before: FxHashMap<Sort, u128> = FxHashMap::default();
    for strand in &lists.strands {
        *before.entry(strand.block_plate).or_default() += strand.items.len() as u128;
    }
    // By the plate's look: in how many ways a bearing and what goes with it may stand.
    let mut rears: FxHashMap<u32, u128> = FxHashMap::default();
    let mut sum = 0;
    for (plate, _, _) in lists.plates() {
        watch.step(1)?;
        let rear =
            *rears.entry(numbers.faces.look(numbers.slots.plate, plate)).or_insert_with(|| {
                let met = |one: &&Bearing| lists.plate_meets(plate, one).is_some();
                let ways = |one: &Bearing| {
                    lists.behind[one.behind].len() as u128 * lists.shims[one.shims].len() as u128
                };
                lists.bearings.iter().filter(met).map(ways).sum()
            });
        if rear == 0 {
            continue;
        }
        let discs = lists.discs(plate);
        for class in &lists.clutch(plate).classes {
            let works = |sort: Sort| {
                let key = (lists.frame[0], plate, class.sort, sort, class.block_plate);
                numbers.finger(key).works()
            };
            let common = if discs.ends.is_some() && works(COMMON) { discs.common() } else { 0 };
            let own = discs.own.iter().filter(|disc| works(disc.sort)).count();
            let front = (common + own) as u128 * class.flywheels.len() as u128;
            sum += front * before.get(&class.block_plate).copied().unwrap_or(0) * rear;
        }
    }
    Ok(sum)
}

/// Counts the stacks in their windows of one frame.
struct InWindow<'l, 'n, 'b, 'a> {
    lists: &'l Lists<'n, 'b, 'a>,
    how: How,
    /// How much work is left, ns.
    work: &'l Cell<f64>,
    watch: &'l Watch,
}

/// Bearings that go with one list of what stands behind the bell and with one list of shims.
struct Seat<'l> {
    shims: Rc<Masses>,
    /// By the bearings' places in the list of all.
    all: FxHashMap<u32, &'l Bearing>,
    laid: Laid,
}

/// What stands with a bearing: plates and spacers, by where the starter lets the flywheel be; and seats.
struct Rear<'l> {
    spacers: FxHashMap<Starter, Rc<Masses>>,
    seats: Vec<Seat<'l>>,
}

impl<'l> InWindow<'l, '_, '_, '_> {
    /// Takes off some work, ns; whether there was so much left.
    fn spend(&self, work: f64) -> bool {
        self.work.set(self.work.get() - work);
        self.work.get() >= 0.0
    }

    /// How long it takes to answer all that is asked, if its flywheels may stand anywhere; ns.
    fn expected(&self) -> Result<f64> {
        let lists = self.lists;
        let (plates, met) = meetings(lists, self.watch)?;
        let starters = lists.flywheels.iter().map(|one| (one.starter, one.starter)).collect();
        let asked = lists.block_plates().into_iter().map(|sort| {
            let groups = Group::all(lists, sort, &plates, &starters);
            groups.map(|group| group.ranges(lists, &met, |_| true)).sum::<f64>()
        });
        Ok(EXPECTED * asked.sum::<f64>())
    }

    /// None where it is too much work.
    fn count(&self) -> Result<Option<u128>> {
        let lists = self.lists;
        let (plates, met) = meetings(lists, self.watch)?;
        let (mut sum, mut hubs) = (0, Hubs::default());
        // As many plates at a time as ask a bounded number of questions.
        let at_once = (MOST_QUESTIONS / lists.numbers.discs.len().max(1)).max(1);
        for sort in lists.block_plates() {
            let Some(mut rears) = self.rears(sort)? else { return Ok(None) };
            let starters = stand_alike(&mut rears);
            if starters.is_empty() {
                continue;
            }
            let groups = Group::all(lists, sort, &plates, &starters);
            let groups: Vec<Group> = groups.filter(|one| !one.flywheels.is_empty()).collect();
            let ranges: f64 = groups.iter().map(|one| one.ranges(lists, &met, |_| true)).sum();
            if EXPECTED * ranges > self.work.get() {
                return Ok(None);
            }
            let (few, many): (Vec<Group>, Vec<Group>) =
                groups.into_iter().partition(|one| self.are_few(one, &met));
            for group in &many {
                let plates = group.plates().copied().sorted_by_key(|(_, bearings)| *bearings);
                for plates in plates.collect::<Vec<_>>().chunks(at_once) {
                    self.watch.step(1)?;
                    let all = group.questions(plates, lists, &mut hubs);
                    let own = self.count_seats(&mut rears, &group.flywheels, &all, &met)?;
                    let Some(own) = own else { return Ok(None) };
                    sum += own;
                }
            }
            // Bearings join where all flywheels may have the same plates and spacers.
            let few = few.into_iter().into_group_map_by(|one| one.flywheels[0].starter);
            let few: Vec<_> = few.into_iter().sorted_by_key(|(starter, _)| *starter).collect();
            for ((starter, few), list) in iproduct!(&few, 0..met.len()) {
                let ranges = |group: &Group| group.ranges(lists, &met, |one| one == list);
                let joining: f64 = few.iter().map(ranges).sum();
                let most = self.how.by.map_or(2.0 * LOOK_UP * joining, |_| f64::INFINITY);
                let mut joined = None;
                for group in few {
                    let plates = group.plates().filter(|(_, bearings)| *bearings == list);
                    for plates in plates.copied().collect::<Vec<_>>().chunks(at_once) {
                        self.watch.step(1)?;
                        let all = group.questions(plates, lists, &mut hubs);
                        if joined.is_none() {
                            let travel = all.iter().filter_map(needs).max().unwrap_or(FAR);
                            let own = &met[list];
                            joined =
                                Joined::new(&mut rears, own, *starter, travel, most, self.watch)?;
                        }
                        let worth = |joined: &&Joined| {
                            let (flywheels, met) = (group.flywheels.len(), met[list].len());
                            let is_asked = self.how.by.is_some();
                            joined.has_room(&all, flywheels)
                                && (is_asked || joined.is_worth_while(all.len(), flywheels, met))
                        };
                        let own = match joined.as_ref().filter(worth) {
                            Some(joined) => self.count_few(&mut rears, joined, group, all, &met)?,
                            None => self.count_seats(&mut rears, &group.flywheels, &all, &met)?,
                        };
                        let Some(own) = own else { return Ok(None) };
                        sum += own;
                    }
                }
            }
        }
        Ok(Some(sum.unsigned_abs()))
    }

    /// Whether asking all flywheels of a group one after the other is far less than asking all bearings.
    fn are_few(&self, group: &Group, met: &[Vec<u32>]) -> bool {
        let longest = met.iter().map(Vec::len).max().unwrap_or(0);
        let is_less = 3 * group.flywheels.len() < longest;
        let stand_alike = group.flywheels.iter().map(|one| one.starter).all_equal();
        stand_alike && self.how.by.map_or(is_less, |by| by == By::Tables)
    }

    /// Counts what is asked of few flywheels with bearings of one list, of which some joined; none where it is
    /// too much work.
    fn count_few(
        &self,
        rears: &mut [Rear<'_>],
        joined: &Joined,
        group: &Group,
        questions: Vec<Question>,
        met: &[Vec<u32>],
    ) -> Result<Option<i128>> {
        let flywheels = &group.flywheels;
        let (own, others): (Vec<_>, Vec<_>) =
            questions.into_iter().partition(|one| joined.suits(one));
        if !self.spend(2.0 * LOOK_UP * own.len() as f64 * flywheels.len() as f64) {
            return Ok(None);
        }
        let mut sum = 0;
        for own in own.chunk_by(|a, b| a.clear == b.clear) {
            let flywheels = flywheels[..own[0].clear].iter().map(|one| one.item.sum.at);
            sum += joined.count(own, flywheels, self.watch)?;
        }
        let left = vec![joined.others.clone(); met.len()];
        for (questions, met) in [(&own, left.as_slice()), (&others, met)] {
            let own = self.count_seats(rears, flywheels, questions, met)?;
            let Some(own) = own else { return Ok(None) };
            sum += own;
        }
        Ok(Some(sum))
    }

    /// Counts with all bearings of some lists; none where it is too much work.
    fn count_seats(
        &self,
        rears: &mut [Rear<'_>],
        flywheels: &[Flywheel],
        questions: &[Question],
        met: &[Vec<u32>],
    ) -> Result<Option<i128>> {
        let travels = self.lists.bearings.iter().map(travel_of).minmax().into_option();
        let (mut sum, placed) = (0, Placed::new(travels.unwrap_or_default()));
        for Rear { spacers, seats } in rears {
            for seat in seats {
                let own = self.count_seat(seat, spacers, flywheels, (questions, &placed), met)?;
                let Some(own) = own else { return Ok(None) };
                sum += own;
            }
        }
        Ok(Some(sum))
    }

    /// By list of what stands behind the bell; none where there is too much of it.
    fn rears(&self, sort: Sort) -> Result<Option<Vec<Rear<'l>>>> {
        let (mut rears, mut kept) = (Vec::new(), 0);
        for behind in 0..self.lists.behind.len() {
            let Some(spacers) = self.spacers(sort, behind, &mut kept)? else { return Ok(None) };
            if spacers.values().any(|spacers| !spacers.is_empty()) {
                let seats = self.seats(behind, &spacers);
                rears.push(Rear { spacers, seats });
            }
        }
        Ok(Some(rears))
    }

    /// Plates and spacers by position, by where the starter lets the flywheel be; none where there are
    /// too many.
    fn spacers(
        &self,
        sort: Sort,
        behind: usize,
        kept: &mut usize,
    ) -> Result<Option<FxHashMap<Starter, Rc<Masses>>>> {
        let lists = self.lists;
        let flywheels = lists.flywheels.iter().filter(|one| !one.item.fails);
        let starters = flywheels.map(|one| one.starter).sorted_unstable().dedup();
        // Of what stands behind the bell and moves the shaft alike equal sums count together.
        let behind = lists.behind[behind].iter().map(|one| (one.shaft, (one.item.sum.at, 1)));
        let behind = behind.into_group_map().into_iter();
        let behind: Vec<_> = behind.map(|(shaft, sums)| (shaft, collected(sums))).collect();
        let strands = lists.strands.iter().filter(|one| one.block_plate == sort);
        let before = strands.map(|strand| {
            let items = strand.items.iter().filter(|item| !item.fails);
            (strand, collected(items.map(|item| (item.sum.at, 1)).collect()))
        });
        let before: Vec<_> = before.collect();
        // Most starters allow the same.
        let mut known: FxHashMap<Vec<(usize, usize)>, Rc<Masses>> = FxHashMap::default();
        let mut all = FxHashMap::default();
        for starter in starters {
            self.watch.step(1)?;
            let allowed = iproduct!(&before, &behind).map(|((strand, before), (shaft, _))| {
                let (low, high) = strand.within_starter(starter);
                let (least, most) = strand.within_shaft(lists.shaft, *shaft);
                let first = before.partition_point(|(at, _)| *at < low.max(least));
                (first, before.partition_point(|(at, _)| *at <= high.min(most)).max(first))
            });
            let allowed: Vec<(usize, usize)> = allowed.collect();
            if let Some(known) = known.get(&allowed) {
                all.insert(starter, Rc::clone(known));
                continue;
            }
            let mut spacers = Vec::new();
            for (((_, before), (_, behind)), (first, end)) in
                iproduct!(&before, &behind).zip(&allowed)
            {
                self.watch.step(1)?;
                let own = &before[*first..*end];
                if !self.spend(PUT * own.len() as f64 * behind.len() as f64) {
                    return Ok(None);
                }
                for (at, n) in behind {
                    spacers.extend(own.iter().map(|(own, m)| (own + at, n * m)));
                    if *kept + spacers.len() > MOST_KEPT {
                        spacers = collected(spacers);
                        let has_room = *kept + spacers.len() <= MOST_KEPT;
                        if !has_room || !self.spend(PUT * spacers.len() as f64) {
                            return Ok(None);
                        }
                    }
                }
            }
            let spacers = Rc::new(collected(spacers));
            *kept += spacers.len();
            known.insert(allowed, Rc::clone(&spacers));
            all.insert(starter, spacers);
        }
        Ok(Some(all))
    }

    /// The bearings by what goes with them, equal shims together.
    fn seats(&self, behind: usize, spacers: &FxHashMap<Starter, Rc<Masses>>) -> Vec<Seat<'l>> {
        let mut by_shims: FxHashMap<Masses, FxHashMap<u32, &'l Bearing>> = FxHashMap::default();
        let own = (0..).zip(&self.lists.bearings).filter(|(_, one)| one.behind == behind);
        for (place, bearing) in own {
            let shims = self.lists.shims[bearing.shims].iter();
            let shims = collected(shims.map(|item| (item.sum.at, 1)).collect());
            by_shims.entry(shims).or_default().insert(place, bearing);
        }
        let seats = by_shims.into_iter().map(|(shims, all)| {
            let lists = spacers.values().map(|spacers| &**spacers).chain([&shims]);
            Seat { laid: Laid::new(lists), shims: Rc::new(shims), all }
        });
        seats.sorted_by_key(|seat| seat.all.keys().min().copied()).collect()
    }

    /// Counts with some bearings and the flywheels of a group; none where it is too much work.
    fn count_seat(
        &self,
        seat: &mut Seat<'_>,
        spacers: &FxHashMap<Starter, Rc<Masses>>,
        flywheels: &[Flywheel],
        (questions, placed): (&[Question], &Placed),
        met: &[Vec<u32>],
    ) -> Result<Option<i128>> {
        let Seat { shims, all, laid } = seat;
        let of = |met: &Vec<u32>| met.iter().filter_map(|one| all.get(one)).copied().collect();
        let bearings: Vec<Vec<&Bearing>> = met.iter().map(of).collect();
        let asked = Asked { questions, bearings: &bearings, placed, watch: self.watch };
        let part = |own: Range<usize>| piles(spacers, &flywheels[own]);
        // Flywheels that fewest questions may have come first, those that all may have last.
        let limits: Vec<usize> = questions.iter().map(|one| one.clear).chain([0]).dedup().collect();
        let parts: Vec<Vec<Pile>> =
            limits.iter().tuple_windows().map(|(clear, fewer)| part(*fewer..*clear)).collect();
        let ways = limits.iter().zip(&parts).map(|(clear, piles)| {
            let own = questions.partition_point(|one| one.clear >= *clear);
            let asked = Asked { questions: &questions[..own], ..asked };
            let apart = Apart { shims, piles };
            let (way, cost) = apart.way(&asked);
            (apart, asked, way, cost)
        });
        let ways: Vec<_> = ways.collect();
        let cost: f64 = ways.iter().map(|(.., cost)| cost).sum();
        let between = Between::new(shims, &part(0..limits[0]), laid.step);
        let on_grid = between.and_then(|between| {
            let cost = between.cost_on_grid(&asked, parts.len()).filter(|own| *own < cost)?;
            Some((between, cost))
        });
        let cost = on_grid.as_ref().map_or(cost, |(_, cost)| *cost);
        let plan = laid.plan(&asked, &parts, shims, self.how.by);
        let plan = plan.filter(|plan| self.how.by.is_some() || plan.cost < cost);
        if !self.spend(plan.as_ref().map_or(cost, |plan| plan.cost)) {
            return Ok(None);
        }
        let sum = match (plan, on_grid) {
            (Some(plan), _) => {
                let own = limits.iter().zip(&parts).rev().map(|(clear, piles)| {
                    let first = questions.partition_point(|one| one.clear > *clear);
                    let end = questions.partition_point(|one| one.clear >= *clear);
                    (first..end, piles.as_slice())
                });
                laid.count(&plan, &own.collect::<Vec<_>>(), shims, &asked)?
            }
            (None, Some((between, _))) => between.on_grid(&asked, part)?,
            (None, None) => {
                let counts = ways.iter().map(|(apart, asked, way, _)| apart.count(asked, *way));
                counts.sum::<Result<i128>>()?
            }
        };
        Ok(Some(sum))
    }
}

/// Keeps one starter of those that let flywheels be with the same plates and spacers, and none of those that
/// let them be with nothing; which one stands for each.
fn stand_alike(rears: &mut [Rear<'_>]) -> FxHashMap<Starter, Starter> {
    let all = rears.iter().flat_map(|rear| rear.spacers.keys().copied());
    let all: Vec<Starter> = all.sorted_unstable().dedup().collect();
    let mut known: FxHashMap<Vec<&Masses>, Starter> = FxHashMap::default();
    let mut stands = FxHashMap::default();
    for starter in all {
        let own: Vec<&Masses> = rears.iter().map(|rear| &*rear.spacers[&starter]).collect();
        if own.iter().any(|spacers| !spacers.is_empty()) {
            stands.insert(starter, *known.entry(own).or_insert(starter));
        }
    }
    for Rear { spacers, .. } in rears {
        spacers.retain(|starter, _| stands.get(starter) == Some(starter));
    }
    stands
}

/// Flywheels by the plates and spacers that they may have, without those that may have none.
fn piles(spacers: &FxHashMap<Starter, Rc<Masses>>, flywheels: &[Flywheel]) -> Vec<Pile> {
    let by_starter = flywheels.iter().map(|one| (one.starter, (one.item.sum.at, 1)));
    let by_starter = by_starter.into_group_map().into_iter().sorted_unstable();
    let pile = |(starter, flywheels)| {
        let spacers = Rc::clone(&spacers[&starter]);
        let any = !spacers.is_empty();
        any.then(|| Pile { starter, spacers, flywheels: collected(flywheels) })
    };
    by_starter.filter_map(pile).collect()
}
