//! What one stage lays out once: the candidates that may count, their groups, and rows of least cost.

use std::collections::HashMap;
use std::hash::Hash;
use std::rc::Rc;

use itertools::Itertools as _;

use crate::model::length::Length;
use crate::solve::compact::{Common, Linear, Rec, Val};
use crate::solve::histogram::gcd;
use crate::solve::search::best::Spent;
use crate::solve::search::{Goal, Stage, Walk};
use crate::solve::tables::{NEVER, Rows, Spot};
use crate::stack::grade::Grade;

/// The candidates of each slot, in the order in which they promise most.
pub(super) type Lists = Vec<Vec<usize>>;

/// Candidates of one slot that show the same faces and move the sum alike, in the order of the slot's list.
pub(super) type Alike = Vec<usize>;

/// What the cheapest of them costs; where another key leads the order, that need not be the first.
pub(super) fn cheapest(alike: &Alike, common: &[Common]) -> i64 {
    alike.iter().map(|index| common[*index].cost).min().unwrap_or(NEVER)
}

/// Flywheels (or discs) that behave alike under every plate and route.
pub(super) struct Group {
    /// Those that also stand at the same place.
    pub(super) alike: Vec<Alike>,
    /// One whose step (or thickness) differs from the first one's.
    pub(super) other: Option<usize>,
    /// The middle of all steps (or thicknesses), and how far they lie from it at most.
    pub(super) middle: i64,
    pub(super) half: i64,
}

impl Group {
    /// A list by what moves it through the ratio, its parts alike by faces and `place`.
    fn new<K: Eq + Hash>(
        list: &[usize],
        geared: impl Fn(usize) -> i64,
        place: impl Fn(usize) -> K,
    ) -> Self {
        let least = list.iter().map(|index| geared(*index)).min().unwrap_or(0);
        let most = list.iter().map(|index| geared(*index)).max().unwrap_or(0);
        let middle = least + (most - least) / 2;
        Self {
            alike: apart(list, place),
            other: list.iter().copied().find(|index| geared(*index) != geared(list[0])),
            middle,
            half: most - middle,
        }
    }

    pub(super) fn first(&self) -> usize {
        self.alike[0][0]
    }
}

/// What one stage has laid out.
pub(super) struct Layout {
    pub(super) stage: Stage,
    /// Candidates of each slot, the cheapest first.
    pub(super) lists: Vec<Vec<usize>>,
    /// The first candidate of each slot, by id: with any plate, and with one that takes a disc.
    pub(super) first: [Vec<u32>; 2],
    /// Flywheels and discs.
    pub(super) flywheels: Vec<Group>,
    pub(super) discs: Vec<Group>,
    /// The candidates of each additive slot, by level.
    pub(super) alike: Vec<Vec<Alike>>,
    /// Rows `k`: what the additive slots from `k` on can still do.
    pub(super) rows: Vec<Rows>,
    /// The first of them in wide buckets, for a first look.
    pub(super) coarse: Rows,
    /// Where each additive candidate stands, by slot and candidate.
    pub(super) spots: Rc<Vec<Vec<Spot>>>,
    /// The fitted parts' aligned positions, taken off a measured rear length.
    pub(super) fitted: i64,
    /// The least variance that the additive slots bring, three times.
    pub(super) rear_v: i128,
    /// Whether error limits count in spots: they add up only where every one has to fit.
    pub(super) limits: bool,
    /// What the cheapest candidate of each slot costs.
    pub(super) cheapest: Vec<i64>,
    /// The least that the slots behind the plate still cost, and how many parts they are.
    pub(super) rest: Spent,
    /// The disc that wears least, of those whose own wear is known.
    pub(super) least_wear: Option<usize>,
}

impl Walk<'_, '_, '_> {
    /// The candidates of a stage; for pairs those of every two slots that may change, as the others
    /// stay as fitted.
    pub(super) fn parts_of(&self, stage: &Stage) -> Vec<Lists> {
        let lists = self.lists(stage);
        let Goal::Pairs { fitted, barred, .. } = self.goal else {
            return if lists.iter().any(Vec::is_empty) { vec![] } else { vec![lists] };
        };
        let two = (0..lists.len()).array_combinations();
        let part = |[first, second]: [usize; 2]| {
            let list = |slot: usize| {
                let stays = fitted[slot] as usize;
                if slot == first || slot == second {
                    let others = lists[slot].iter().filter(|i| **i != stays && !barred[slot][**i]);
                    return others.copied().collect();
                }
                let none = |i: usize| slot == self.compact.named.disc && self.compact.discs[i].none;
                // A matched set takes the disc's place too, and that is one change.
                lists[slot].iter().copied().filter(|i| *i == stays || none(*i)).collect()
            };
            (0..lists.len()).map(list).collect::<Lists>()
        };
        two.map(part).filter(|lists| lists.iter().all(|list| !list.is_empty())).collect()
    }

    /// Lays a part of a stage out.
    pub(super) fn layout(&self, stage: &Stage, lists: Lists, spots: &Rc<Vec<Vec<Spot>>>) -> Layout {
        let compact = self.compact;
        let named = compact.named;
        let least = |list: &Vec<usize>| list.iter().min().map_or(0, |first| *first as u32);
        let any: Vec<u32> = lists.iter().map(least).collect();
        let mut with_disc = any.clone();
        let discs = lists[named.disc].iter().filter(|d| !compact.discs[**d].none);
        with_disc[named.disc] = discs.min().map_or(0, |first| *first as u32);
        let first = [any, with_disc];
        let worn = lists[named.disc].iter().copied().filter(|d| compact.discs[*d].wear.is_some());
        let least_wear = worn.min_by_key(|d| compact.discs[*d].wear);
        let limits = self.limits(stage);
        let (flywheels, discs) = self.groups(&lists, limits);
        let mut rows = vec![Rows::nothing(self.width(&lists, spots, &flywheels), limits)];
        let mut alike = Vec::new();
        let mut rear_v = 0;
        for slot in compact.additive.iter().rev() {
            let (list, common) = (&lists[*slot], &compact.common[*slot]);
            let same = apart(list, |i| (common[i].faces, spots[*slot][i]));
            let item = |same: &Alike| (spots[*slot][same[0]], cheapest(same, common));
            let next = rows[rows.len() - 1].with(&same.iter().map(item).collect::<Vec<_>>());
            rows.push(next);
            alike.push(same);
            rear_v += list.iter().map(|i| self.least_rec(*slot, *i).v).min().unwrap_or(0);
        }
        rows.reverse();
        let coarse = rows[0].coarser(Length::from_thou(COARSE).nm());
        alike.reverse();
        let rest = self.rest(&lists);
        let cost = |(list, common): (&Vec<usize>, &Vec<Common>)| cheapest(list, common);
        let cheapest = lists.iter().zip(&compact.common).map(cost).collect();
        Layout {
            stage: *stage,
            lists,
            first,
            flywheels,
            discs,
            alike,
            rows,
            coarse,
            spots: Rc::clone(spots),
            fitted: compact.fitted_shift(),
            rear_v,
            limits,
            cheapest,
            rest,
            least_wear,
        }
    }

    /// Flywheels and discs by what tells them apart under a plate.
    fn groups(&self, lists: &[Vec<usize>], limits: bool) -> (Vec<Group>, Vec<Group>) {
        let compact = self.compact;
        let named = compact.named;
        let common = &compact.common[named.flywheel];
        let flat = |i: usize| (common[i].kept, compact.flywheels[i].step.value == 0);
        let step = |i: usize| compact.flywheels[i].step.value;
        let flywheels = apart(&lists[named.flywheel], flat).into_iter().map(|list| {
            let own = |val: Val| (val.value, if limits { val.tol } else { 0 });
            let both = |i: usize| compact.flywheels[i].thickness.map(own);
            Group::new(&list, step, |i| (common[i].faces, both(i), own(compact.flywheels[i].step)))
        });
        let common = &compact.common[named.disc];
        let facing = |i: usize| compact.discs[i].facing.map(|facing| facing.value);
        let thick = |i: usize| facing(i).unwrap_or(0);
        let kinds = |i: usize| {
            let none = compact.discs[i].none;
            (common[i].kept || none, none, facing(i).is_some())
        };
        let discs = apart(&lists[named.disc], kinds)
            .into_iter()
            .map(|list| Group::new(&list, thick, |i| (common[i].faces, thick(i))));
        (flywheels.collect(), discs.collect())
    }

    /// The candidates of each slot that may be part of a stack of this stage.
    fn lists(&self, stage: &Stage) -> Lists {
        let compact = self.compact;
        let mut lists = Vec::new();
        for (slot, common) in compact.common.iter().enumerate() {
            let allowed = stage.blank.unwrap_or(u8::MAX);
            let mut list = self.by_cost[slot].clone();
            list.retain(|i| common[*i].blank & !allowed == 0);
            if stage.grades.1 == Grade::Sure && !compact.linear[slot].is_empty() {
                let linear = &compact.linear[slot];
                let clean = |rec: &Option<Rec>| rec.is_some_and(|rec| !rec.assumed);
                let plate = slot == compact.named.block_plate;
                list.retain(|i| plate || clean(&linear[*i].c) || clean(&linear[*i].m));
            }
            if stage.grades.1 == Grade::Sure && self.bounds {
                list.retain(|i| self.may_be_sure(slot, *i));
            }
            lists.push(list);
        }
        lists
    }

    /// The least that the slots behind the plate still bring.
    fn rest(&self, lists: &[Vec<usize>]) -> Spent {
        let compact = self.compact;
        let named = compact.named;
        let mut rest = Spent::default();
        for slot in compact.additive.iter().chain([&named.flywheel, &named.disc, &named.bearing]) {
            let common = &compact.common[*slot];
            let least =
                |of: &dyn Fn(usize) -> u8| lists[*slot].iter().map(|i| of(*i)).min().unwrap_or(0);
            rest.cost += lists[*slot].iter().map(|i| common[*i].cost).min().unwrap_or(0);
            rest.parts += least(&|i| common[i].parts);
            rest.changes += least(&|i| common[i].changes);
        }
        rest
    }

    /// Whether error limits add up to what decides.
    fn limits(&self, stage: &Stage) -> bool {
        stage.grades.1 == Grade::Sure && self.bounds
    }

    /// Where measured and catalogued rear lengths can share one set of rows: the catalogued position,
    /// or zero for a fitted part whose own dimension is not known.
    pub(super) fn spots(&self, stage: &Stage) -> Vec<Vec<Spot>> {
        let (compact, limits) = (self.compact, self.limits(stage));
        let mut spots = vec![Vec::new(); compact.common.len()];
        for slot in &compact.additive {
            let linear = compact.linear[*slot].iter().enumerate();
            let spot = |(index, one): (usize, &Linear)| {
                let at = one.c.map_or(0, |rec| rec.pos);
                let limit = if limits { self.least_rec(*slot, index).wc } else { 0 };
                [at + limit, at - limit]
            };
            spots[*slot] = linear.map(spot).collect();
        }
        spots
    }

    /// How wide a bucket of the rows is: the grid on which everything stands, where there is one
    /// that is not too fine, so that rows are exact. A wider one promises more, never too little.
    fn width(&self, lists: &[Vec<usize>], spots: &[Vec<Spot>], flywheels: &[Group]) -> i64 {
        let compact = self.compact;
        let mut scale = Scale::default();
        for additive in &compact.additive {
            scale.take(lists[*additive].iter().flat_map(|i| spots[*additive][*i]));
        }
        let roughly = (scale.range / ROUGHLY).max(Length::from_thou(2).nm());
        let thickness = |alike: &Alike| compact.flywheels[alike[0]].thickness.map(|val| val.value);
        let all = flywheels.iter().flat_map(|group| &group.alike);
        scale.take(all.filter_map(thickness));
        let is_coarse = scale.grid > 0 && scale.range / scale.grid <= FINELY;
        if is_coarse { scale.grid } else { roughly }
    }
}

/// The grid on which the positions of several slots stand, and how far all of them reach.
#[derive(Default)]
struct Scale {
    grid: i64,
    range: i64,
}

impl Scale {
    fn take(&mut self, mut positions: impl Iterator<Item = i64>) {
        let Some(first) = positions.next() else { return };
        let (mut least, mut most) = (first, first);
        for at in positions {
            (least, most) = (least.min(at), most.max(at));
            if self.grid != 1 {
                self.grid = gcd(self.grid, at - first);
            }
        }
        self.range += most - least;
    }
}

/// How wide buckets are for a first look, thou.
const COARSE: i64 = 4;

/// How many buckets the rows of the additive slots have about, where there is no grid.
const ROUGHLY: i64 = 2048;

/// How many buckets they have at most where there is one, the flywheels' included.
const FINELY: i64 = 6144;

/// A list apart by key, each part in the order of the list, the parts by their first.
fn apart<K: Eq + Hash>(list: &[usize], key: impl Fn(usize) -> K) -> Vec<Vec<usize>> {
    let mut known: HashMap<K, usize> = HashMap::new();
    let mut parts: Vec<Vec<usize>> = Vec::new();
    for index in list {
        let part = *known.entry(key(*index)).or_insert(parts.len());
        if part == parts.len() {
            parts.push(Vec::new());
        }
        parts[part].push(*index);
    }
    parts
}
