//! What plates, discs and flywheels ask of the totals.

use std::rc::Rc;

use itertools::Itertools as _;
use rustc_hash::FxHashMap;

use crate::model::edge::Edge;
use crate::solve::count::cells::{Asked, Offsets};
use crate::solve::numbers::COMMON;
use crate::solve::search::lists::{Bearing, Class, Clutch, Flywheel, Lists};

/// One end of the bearings' travel.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(super) enum EndOf {
    Extended,
    Retracted,
}

impl EndOf {
    /// Where a bearing's contact face stands at this end, nm.
    pub(super) fn at(self, bearing: &Bearing) -> i64 {
        match self {
            Self::Extended => bearing.ends.extended.at,
            Self::Retracted => bearing.ends.retracted.at,
        }
    }
}

/// Plates that go with the same bearings.
pub(super) struct Group {
    plates: Vec<u32>,
    /// By travel.
    pub(super) bearings: Vec<Bearing>,
}

impl Group {
    /// All plates of some lists that fail no check.
    pub(super) fn all(lists: &Lists<'_, '_, '_>) -> Vec<Self> {
        let mut groups: FxHashMap<Vec<u32>, Vec<u32>> = FxHashMap::default();
        for (plate, _, _) in lists.plates().into_iter().filter(|(_, _, fails)| !fails) {
            let passes =
                |one: &Bearing| lists.plate_meets(plate, one).is_some_and(|(_, fails)| !fails);
            let met = (0..).zip(&lists.bearings).filter(|(_, one)| passes(one));
            groups.entry(met.map(|(place, _)| place).collect()).or_default().push(plate);
        }
        let group = |(met, plates): (Vec<u32>, Vec<u32>)| {
            let own = met.iter().map(|place| lists.bearings[*place as usize]);
            Self { plates, bearings: own.sorted_by_key(Bearing::travel).collect() }
        };
        groups.into_iter().filter(|(met, _)| !met.is_empty()).sorted_unstable().map(group).collect()
    }

    /// The plates by what else goes with them.
    pub(super) fn by_clutch(&self, lists: &Lists<'_, '_, '_>) -> Vec<(Vec<u32>, Rc<Clutch>)> {
        let mut by: FxHashMap<usize, (Vec<u32>, Rc<Clutch>)> = FxHashMap::default();
        for plate in &self.plates {
            let clutch = lists.clutch(*plate);
            by.entry(clutch.number).or_insert_with(|| (Vec::new(), clutch)).0.push(*plate);
        }
        by.into_values().sorted_by_key(|(_, clutch)| clutch.number).collect()
    }

    /// How many bearings travel less than this.
    fn below(&self, travel: i64) -> usize {
        self.bearings.partition_point(|bearing| bearing.travel() < travel)
    }
}

/// What a plate and a disc ask of what stands between less the flywheel, nm.
#[derive(Debug, Clone, Copy)]
struct Limits {
    /// No more than these, less the bearing's extended and its retracted end.
    most: [Option<i64>; 2],
    /// No less than these, less the bearing's extended and its retracted end.
    least: [Option<i64>; 2],
}

const ENDS: [EndOf; 2] = [EndOf::Extended, EndOf::Retracted];
const EXTENDED: usize = 0;
const RETRACTED: usize = 1;

impl Limits {
    /// Asks the totals of a group, each for the bearings at which the same two limits bind: for a range
    /// of bearings and an end how many lie up to a position, and whether that is taken off.
    fn ask(&self, group: &Group, mut ask: impl FnMut((u32, u32), EndOf, i64, bool)) {
        let (most, least) = (self.most, self.least);
        let apart = |a: Option<i64>, b: Option<i64>| a.zip(b).map(|(a, b)| a - b);
        let no_more =
            |travel: Option<i64>| travel.map_or(group.bearings.len(), |t| group.below(t + 1));
        // Up to here the extended end binds above, and the retracted one below.
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
            if let (true, Some(most), Some(least)) = (open, most[high], least[low]) {
                let range = (first as u32, end as u32);
                ask(range, ENDS[high], most, false);
                ask(range, ENDS[low], least - 1, true);
            }
        }
    }
}

/// What some plates ask with flywheels of one class.
pub(super) struct Question {
    /// The flywheels' own positions. Those that a hub may meet rank behind the others, by the room that
    /// they leave it.
    pub(super) offsets: Offsets,
    limits: Vec<(Limits, u32)>,
}

impl Question {
    pub(super) fn new(
        lists: &Lists<'_, '_, '_>,
        class: &Class,
        flywheels: &[Flywheel],
        plates: &[u32],
    ) -> Self {
        let hubs = Hubs::new(lists, flywheels);
        let offsets = hubs.flywheels.iter().map(|(one, rank)| (one.item.sum.at, *rank)).collect();
        let mut limits = Vec::new();
        for plate in plates {
            let least_preload = lists.least_preload(*plate);
            let finger = |sort| {
                let key = (lists.frame[0], *plate, class.sort, sort, class.block_plate);
                lists.numbers.finger(key)
            };
            let common = finger(COMMON);
            for disc in lists.discs(*plate).iter() {
                let finger = if disc.sort == COMMON {
                    common.stands(&class.gap, &disc.gap)
                } else {
                    finger(disc.sort).stands(&class.gap, &disc.gap)
                };
                let Some((at, float)) = finger else { continue };
                let at = at + disc.alone.at;
                let own = lists.numbers.limits(*plate, disc.pick);
                let inside = |edge: Edge| {
                    let off = float.at(edge).nm();
                    own[edge].map(|limit| if edge.is_least() { limit + off } else { limit - off })
                };
                let least = inside(Edge::PreloadMin).max(least_preload);
                let limit = Limits {
                    most: [
                        least.map(|least| at - least),
                        inside(Edge::ReserveMax).map(|most| at + most),
                    ],
                    least: [
                        inside(Edge::PreloadMax).map(|most| at - most),
                        inside(Edge::ReserveMin).map(|least| at + least),
                    ],
                };
                limits.push((limit, hubs.clear(lists, disc.pick, *plate)));
            }
        }
        Self { offsets, limits }
    }

    /// The questions by range of bearings and end.
    pub(super) fn asked(&self, group: &Group) -> FxHashMap<((u32, u32), EndOf), Vec<Asked>> {
        let mut asked: FxHashMap<((u32, u32), EndOf), Vec<Asked>> = FxHashMap::default();
        for (limits, rank) in &self.limits {
            limits.ask(group, |range, end, to, less| {
                asked.entry((range, end)).or_default().push(Asked { to, rank: *rank, less });
            });
        }
        asked
    }
}

/// Flywheels by the room that they leave a disc's hub.
struct Hubs {
    /// Those that no hub meets first, and of rank none; the others by rank, the most room first.
    flywheels: Vec<(Flywheel, u32)>,
    limited: u32,
}

impl Hubs {
    fn new(lists: &Lists<'_, '_, '_>, flywheels: &[Flywheel]) -> Self {
        let room = |one: &Flywheel| lists.hub_room(one.item.pick);
        let (limited, free): (Vec<_>, Vec<_>) =
            flywheels.iter().copied().partition(|one| room(one).is_some());
        let limited = limited.into_iter().sorted_by_key(|one| std::cmp::Reverse(room(one)));
        let free = free.into_iter().map(|one| (one, 0));
        let flywheels: Vec<_> = free.chain(limited.zip(1..)).collect();
        let limited = flywheels.last().map_or(0, |(_, rank)| *rank);
        Self { flywheels, limited }
    }

    /// The rank up to which the hub of a disc with a plate meets no bolts.
    fn clear(&self, lists: &Lists<'_, '_, '_>, disc: u32, plate: u32) -> u32 {
        let fails = |rank: u32| {
            let place = self.flywheels.len() - (self.limited - rank) as usize - 1;
            lists.hub_fails(self.flywheels[place].0.item.pick, disc, plate)
        };
        if self.limited == 0 || !fails(self.limited) {
            return self.limited;
        }
        let (mut clear, mut meets) = (0, self.limited);
        while meets - clear > 1 {
            let middle = u32::midpoint(clear, meets);
            if fails(middle) { meets = middle } else { clear = middle }
        }
        clear
    }
}
