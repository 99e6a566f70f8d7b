//! What plates, discs and bearings ask of all that stands between.

use itertools::Itertools as _;
use rustc_hash::FxHashMap;

use crate::model::edge::Edge;
use crate::solve::numbers::sum::Bundle;
use crate::solve::numbers::{COMMON, Sort};
use crate::solve::search::lists::{Bearing, Class, FAR, Flywheel, Lists};

/// Flywheels that one finger form serves, with one step and one look: what goes with one goes with all.
pub(super) struct Group {
    pub(super) class: Class,
    /// Those that no hub can meet first, then by the room that they leave a hub, the most first.
    pub(super) flywheels: Vec<Flywheel>,
    /// How many of them no hub can meet.
    free: usize,
}

impl Group {
    /// All flywheels that fail no check, with the block plates of one sort.
    pub(super) fn all(
        lists: &Lists<'_, '_, '_>,
        block_plate: Sort,
        plates: &[(u32, usize)],
    ) -> Vec<Self> {
        let numbers = lists.numbers;
        // Where no route hangs on the flywheel's tolerances, its step is all that counts.
        let is_settled = |sort: &Sort| {
            plates.iter().all(|(plate, _)| {
                let sorts: Vec<Sort> = lists.discs(*plate).iter().map(|disc| disc.sort).collect();
                let key = |disc| (lists.frame[0], *plate, *sort, disc, block_plate);
                sorts.into_iter().dedup().all(|disc| numbers.finger(key(disc)).is_settled())
            })
        };
        let common = [true, false].map(|flat| Sort::Common { flat });
        let settled: Vec<Sort> = common.into_iter().filter(is_settled).collect();
        let flywheels = lists.flywheels.iter().filter(|one| !one.item.fails);
        let groups = flywheels.filter_map(|one| {
            let part = numbers.flywheels[one.item.pick as usize]?;
            let look = numbers.faces.look(numbers.slots.flywheel, one.item.pick);
            let own = Bundle { value: part.gap.value, ..Bundle::default() };
            let gap = if settled.contains(&part.sort) { own } else { part.gap };
            Some(((part.sort, gap, look), *one))
        });
        let group = |((sort, gap, _), all): (_, Vec<Flywheel>)| {
            let room = |one: &Flywheel| lists.hub_room(one.item.pick);
            let by_room = |one: &Flywheel| room(one).map(std::cmp::Reverse);
            let flywheels: Vec<Flywheel> = all.into_iter().sorted_by_key(by_room).collect();
            let free = flywheels.partition_point(|one| room(one).is_none());
            let class = Class { sort, gap, block_plate, flywheels: std::rc::Rc::default() };
            Self { class, flywheels, free }
        };
        let all = groups.into_group_map().into_iter().map(group);
        all.sorted_by_key(|group| group.flywheels[0].item.pick).collect()
    }

    /// How many of the flywheels the hub of a disc with a plate does not meet.
    fn clear(&self, lists: &Lists<'_, '_, '_>, disc: u32, plate: u32) -> usize {
        let clears = |one: &Flywheel| !lists.hub_fails(one.item.pick, disc, plate);
        match self.flywheels.last() {
            Some(last) if self.free < self.flywheels.len() && !clears(last) => {
                self.free + self.flywheels[self.free..].partition_point(clears)
            }
            _ => self.flywheels.len(),
        }
    }

    /// Whether a plate goes with the group.
    fn meets(&self, lists: &Lists<'_, '_, '_>, plate: u32) -> bool {
        let (own, first) = (&self.class, self.flywheels[0].item.pick);
        lists.clutch(plate).classes.iter().any(|class| {
            let step = class.gap.value == own.gap.value;
            step && (class.sort, class.block_plate) == (own.sort, own.block_plate)
                && class.flywheels.iter().any(|one| one.item.pick == first)
        })
    }
}

/// What a plate and a disc ask of what stands between less the flywheel, nm.
#[derive(Debug, Clone, Copy)]
pub(super) struct Question {
    /// No more than these, less the bearing's extended and its retracted end.
    most: [i64; 2],
    /// No less than these, less the bearing's extended and its retracted end.
    least: [i64; 2],
    /// How many of the group's flywheels may stand with them.
    pub(super) clear: usize,
    /// Which bearings the plate meets: a place in a list of their lists.
    pub(super) bearings: usize,
}

impl Question {
    /// Between which positions it may stand with a bearing, nm.
    pub(super) fn with(&self, bearing: &Bearing) -> (i64, i64) {
        let ends = [bearing.ends.extended.at, bearing.ends.retracted.at];
        let least = (self.least[0] - ends[0]).max(self.least[1] - ends[1]);
        let most = (self.most[0] - ends[0]).min(self.most[1] - ends[1]);
        (least, most)
    }
}

/// The plates that fail no check, each with the place of its list of bearings, and those lists: places
/// in the list of all bearings.
pub(super) fn meetings(lists: &Lists<'_, '_, '_>) -> (Vec<(u32, usize)>, Vec<Vec<u32>>) {
    let mut places: FxHashMap<Vec<u32>, usize> = FxHashMap::default();
    let mut met = Vec::new();
    let plates = lists.plates().into_iter().filter(|(_, _, fails)| !fails);
    let plates = plates.map(|(plate, _, _)| {
        let passes = |one: &Bearing| lists.plate_meets(plate, one).is_some_and(|(_, fails)| !fails);
        let all = (0..).zip(&lists.bearings).filter(|(_, one)| passes(one));
        let own: Vec<u32> = all.map(|(place, _)| place).collect();
        let place = *places.entry(own).or_insert_with_key(|own| {
            met.push(own.clone());
            met.len() - 1
        });
        (plate, place)
    });
    (plates.collect(), met)
}

/// What some plates ask with a group of flywheels; those that fewer flywheels suit come last.
pub(super) fn questions(
    lists: &Lists<'_, '_, '_>,
    group: &Group,
    plates: &[(u32, usize)],
) -> Vec<Question> {
    let class = &group.class;
    let mut all = Vec::new();
    for (plate, bearings) in plates.iter().filter(|(plate, _)| group.meets(lists, *plate)) {
        let least_preload = lists.least_preload(*plate);
        let finger = |sort| {
            let key = (lists.frame[0], *plate, class.sort, sort, class.block_plate);
            lists.numbers.finger(key)
        };
        let common = finger(COMMON);
        for disc in lists.discs(*plate).iter() {
            let stands = if disc.sort == COMMON {
                common.stands(&class.gap, &disc.gap)
            } else {
                finger(disc.sort).stands(&class.gap, &disc.gap)
            };
            let Some((at, float)) = stands else { continue };
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
            let clear = group.clear(lists, disc.pick, *plate);
            all.push(Question { most, least, clear, bearings: *bearings });
        }
    }
    all.sort_by_key(|question| std::cmp::Reverse(question.clear));
    all
}
