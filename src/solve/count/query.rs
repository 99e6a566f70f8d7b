//! What plates, discs and bearings ask of all that stands between.

use std::rc::Rc;

use itertools::{Itertools as _, iproduct};
use rustc_hash::FxHashMap;

use crate::error::Result;
use crate::model::edge::Edge;
use crate::solve::ask::Watch;
use crate::solve::numbers::checks::Starter;
use crate::solve::numbers::sum::Bundle;
use crate::solve::numbers::{COMMON, Sort};
use crate::solve::search::lists::{Bearing, FAR, Flywheel, Lists};

/// Flywheels that one finger form serves, with one step, and the plates that go with all of them.
pub(super) struct Group {
    /// Of the plates with those discs alone with which no route hangs on the flywheel's tolerances: all
    /// that counts then is its step. Else with the others alone.
    settled: bool,
    sort: Sort,
    gap: Bundle,
    block_plate: Sort,
    /// Those that no hub can meet first, then by the room that they leave a hub, the most first.
    pub(super) flywheels: Vec<Flywheel>,
    /// The room that each leaves a hub, nm; none where no hub can meet it.
    rooms: Vec<Option<i64>>,
    /// Each with the place of its list of bearings; plates that go with the same flywheels together.
    plates: Vec<Rc<Vec<(u32, usize)>>>,
}

impl Group {
    /// All flywheels that fail no check, with the block plates of one sort. One starter stands for others
    /// that let flywheels be in the same places; what it lets be nowhere is left out.
    pub(super) fn all(
        lists: &Lists<'_, '_, '_>,
        block_plate: Sort,
        plates: &[(u32, usize)],
        starters: &FxHashMap<Starter, Starter>,
    ) -> impl Iterator<Item = Self> {
        let by_clutch = plates.iter().map(|plate| (lists.clutch(plate.0).number, *plate));
        let by_clutch = by_clutch.into_group_map().into_iter().sorted_unstable();
        let own = |(_, own): (usize, Vec<(u32, usize)>)| own;
        let by_clutch: Vec<Vec<(u32, usize)>> = by_clutch.map(own).collect();
        // Plates that go with the same flywheels of one step ask together.
        let mut plates: FxHashMap<(bool, Sort, Bundle, Vec<u32>), Vec<Rc<Vec<(u32, usize)>>>> =
            FxHashMap::default();
        for (own, settled) in iproduct!(&by_clutch, [true, false]) {
            let clutch = lists.clutch(own[0].0);
            let mut flywheels: FxHashMap<(Sort, Bundle), Vec<u32>> = FxHashMap::default();
            for class in clutch.classes.iter().filter(|class| class.block_plate == block_plate) {
                let gap = if settled { class.gap.without_errors() } else { class.gap };
                let passing = class.flywheels.iter().filter(|one| !one.item.fails);
                let picks = passing.map(|one| one.item.pick);
                flywheels.entry((class.sort, gap)).or_default().extend(picks);
            }
            let mut asking: FxHashMap<Sort, Rc<Vec<(u32, usize)>>> = FxHashMap::default();
            for ((sort, gap), mut picks) in flywheels {
                let asking = asking.entry(sort).or_insert_with(|| {
                    let asks = |plate: &&(u32, usize)| {
                        let of = |disc| (lists.frame[0], plate.0, sort, disc, block_plate);
                        let is_asked =
                            |disc| lists.numbers.finger(of(disc)).is_settled() == settled;
                        lists.discs(plate.0).sorts().any(is_asked)
                    };
                    Rc::new(own.iter().filter(asks).copied().collect())
                });
                if !asking.is_empty() {
                    picks.sort_unstable();
                    plates.entry((settled, sort, gap, picks)).or_default().push(Rc::clone(asking));
                }
            }
        }
        plates.retain(|(_, _, _, picks), _| !picks.is_empty());
        let group =
            move |((settled, sort, gap, picks), plates): ((bool, Sort, Bundle, Vec<u32>), _)| {
                let room = |one: &Flywheel| lists.hub_room(one.item.pick);
                let own = |one: &&Flywheel| picks.binary_search(&one.item.pick).is_ok();
                let flywheels = lists.flywheels.iter().filter(own).filter_map(|one| {
                    let starter = *starters.get(&one.starter)?;
                    Some(Flywheel { starter, ..*one })
                });
                let flywheels =
                    flywheels.sorted_by_cached_key(|one| room(one).map(std::cmp::Reverse));
                let rooms = flywheels.as_slice().iter().map(room).collect();
                let flywheels = flywheels.collect();
                Self { settled, sort, gap, block_plate, flywheels, rooms, plates }
            };
        let all =
            plates.into_iter().sorted_unstable_by(|(a, _), (b, _)| (&a.3, a.0).cmp(&(&b.3, b.0)));
        all.map(group)
    }

    /// How many of the flywheels leave a hub the room that it needs, nm.
    fn clear(&self, needed: i64) -> usize {
        self.rooms.partition_point(|room| room.is_none_or(|room| room >= needed))
    }

    /// How many ranges are asked for with some lists of bearings.
    pub(super) fn ranges(
        &self,
        lists: &Lists<'_, '_, '_>,
        met: &[Vec<u32>],
        is_asked: impl Fn(usize) -> bool,
    ) -> f64 {
        let of = |(plate, list): &(u32, usize)| {
            let discs = lists.discs(*plate);
            discs.alike(lists.numbers, self.settled).len() as f64 * met[*list].len() as f64
        };
        self.plates().filter(|(_, list)| is_asked(*list)).map(of).sum()
    }

    /// The plates, each with the place of its list of bearings.
    pub(super) fn plates(&self) -> impl Iterator<Item = &(u32, usize)> {
        self.plates.iter().flat_map(|some| some.iter())
    }

    /// What some of the plates ask, by their lists of bearings; those that fewer flywheels suit come last.
    pub(super) fn questions(
        &self,
        plates: &[(u32, usize)],
        lists: &Lists<'_, '_, '_>,
        hubs: &mut Hubs,
    ) -> Vec<Question> {
        if hubs.len() > MOST_QUESTIONS {
            hubs.clear();
        }
        let mut all = Vec::new();
        for (plate, bearings) in plates {
            let least_preload = lists.least_preload(*plate);
            let finger = |sort| {
                let key = (lists.frame[0], *plate, self.sort, sort, self.block_plate);
                lists.numbers.finger(key)
            };
            let discs = lists.discs(*plate);
            let common = discs.ends.map(|_| finger(COMMON));
            for (disc, times) in discs.alike(lists.numbers, self.settled) {
                let finger = match &common {
                    Some(common) if disc.sort == COMMON => Rc::clone(common),
                    _ => finger(disc.sort),
                };
                if finger.is_settled() != self.settled {
                    continue;
                }
                let Some((at, float)) = finger.stands(&self.gap, &disc.gap) else { continue };
                let at = at + disc.alone.at;
                let own = lists.numbers.limits(*plate, disc.pick);
                let inside = |edge: Edge| {
                    let off = float.at(edge).nm();
                    own[edge].map(|limit| if edge.is_least() { limit + off } else { limit - off })
                };
                let least = inside(Edge::PreloadMin).max(least_preload);
                let most = [
                    least.map_or(FAR, |least| at - least),
                    inside(Edge::ReserveMax).map_or(FAR, |most| at + most),
                ];
                let least = [
                    inside(Edge::PreloadMax).map_or(-FAR, |most| at - most),
                    inside(Edge::ReserveMin).map_or(-FAR, |least| at + least),
                ];
                let hub = (disc.pick, lists.wear(disc.pick, *plate));
                let needed = hubs.entry(hub).or_insert_with(|| lists.hub_needs(disc.pick, *plate));
                let clear = self.clear(*needed);
                all.push(Question { most, least, clear, bearings: *bearings, times: *times });
            }
        }
        // Plates come by their lists of bearings.
        if !all.iter().map(|one| one.clear).all_equal() {
            all.sort_by_key(|one| (std::cmp::Reverse(one.clear), one.bearings));
        }
        all
    }
}

/// Questions that are kept at a time at most: some 32 MB of them.
pub(super) const MOST_QUESTIONS: usize = 1 << 19;

/// By disc and what the facings may lose, the room that its hub needs, nm.
pub(super) type Hubs = FxHashMap<(u32, Option<i64>), i64>;

/// What a plate and a disc ask of what stands between less the flywheel, nm.
#[derive(Debug, Clone, Copy)]
pub(super) struct Question {
    /// No more than these, less the bearing's extended and its retracted end.
    pub(super) most: [i64; 2],
    /// No less than these, less the bearing's extended and its retracted end.
    pub(super) least: [i64; 2],
    /// How many of the group's flywheels may stand with them.
    pub(super) clear: usize,
    /// Which bearings the plate meets: a place in a list of their lists.
    pub(super) bearings: usize,
    /// How many discs ask alike.
    pub(super) times: i64,
}

impl Question {
    /// Between which positions it may stand with a bearing, nm.
    pub(super) fn with(&self, bearing: &Bearing) -> (i64, i64) {
        let ends = ends_of(bearing);
        let least = (self.least[0] - ends[0]).max(self.least[1] - ends[1]);
        let most = (self.most[0] - ends[0]).min(self.most[1] - ends[1]);
        (least, most)
    }
}

/// Where a bearing stands extended and retracted, nm.
pub(super) fn ends_of(bearing: &Bearing) -> [i64; 2] {
    [bearing.ends.extended.at, bearing.ends.retracted.at]
}

/// How far a bearing goes from extended to retracted, nm.
pub(super) fn travel_of(bearing: &Bearing) -> i64 {
    let [extended, retracted] = ends_of(bearing);
    retracted - extended
}

/// Plates, each with the place of its list of bearings; and those lists: places in the list of all
/// bearings.
pub(super) type Meetings = (Vec<(u32, usize)>, Vec<Vec<u32>>);

/// The plates that fail no check with the bearings that they meet without failing one.
///
/// # Errors
///
/// Only that the work was interrupted.
pub(super) fn meetings(lists: &Lists<'_, '_, '_>, watch: &Watch) -> Result<Meetings> {
    // One bearing of each kind that plates tell apart stands for all.
    let kinds: Vec<&Bearing> = lists.bearings.iter().unique_by(|one| one.kind).collect();
    let mut places: FxHashMap<Vec<usize>, usize> = FxHashMap::default();
    let (mut plates, mut met) = (Vec::new(), Vec::new());
    for (plate, _, _) in lists.plates().into_iter().filter(|(_, _, fails)| !fails) {
        watch.step(1)?;
        let passes =
            |one: &&&Bearing| lists.plate_meets(plate, one).is_some_and(|(_, fails)| !fails);
        let own: Vec<usize> = kinds.iter().filter(passes).map(|one| one.kind).collect();
        let place = *places.entry(own).or_insert_with_key(|own| {
            let all = (0..).zip(&lists.bearings).filter(|(_, one)| own.contains(&one.kind));
            met.push(all.map(|(place, _)| place).collect());
            met.len() - 1
        });
        plates.push((plate, place));
    }
    Ok((plates, met))
}
