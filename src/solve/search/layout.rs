//! What one stage lays out once: the candidates that may count, their groups, and rows of least cost.

use std::cell::OnceCell;
use std::hash::Hash;
use std::ops::Deref;
use std::rc::Rc;

use itertools::Itertools as _;
use rustc_hash::FxHashMap;

use crate::model::length::Length;
use crate::solve::ask::Order;
use crate::solve::compact::{Common, Linear, Rec, Val};
use crate::solve::histogram::gcd;
use crate::solve::search::best::Spent;
use crate::solve::search::{Goal, Stage, Walk};
use crate::solve::tables::{NEVER, Rows, Spot};
use crate::stack::grade::Grade;

/// The candidates of one slot, in the order in which they promise most, and what they come to. Where
/// a stage is searched in parts they share it.
pub(super) struct List {
    all: Vec<usize>,
    /// The first by id.
    first: u32,
    /// The least that any of them costs, and how many parts and changes it is.
    least: Spent,
    /// What additive slots come to, worked out once it is asked for.
    sum: OnceCell<Sum>,
}

/// What the candidates of an additive slot come to.
struct Sum {
    /// Those that stand at the same place.
    alike: Rc<Vec<Alike>>,
    /// The least variance, three times.
    v: i128,
    scale: Scale,
}

impl List {
    fn new(all: Vec<usize>, common: &[Common]) -> Self {
        let least = |of: fn(&Common) -> u8| all.iter().map(|i| of(&common[*i])).min().unwrap_or(0);
        let least = Spent {
            cost: cheapest(&all, common),
            parts: least(|one| one.parts),
            changes: least(|one| one.changes),
            blank: 0,
        };
        let first = all.iter().min().map_or(0, |first| *first as u32);
        Self { all, first, least, sum: OnceCell::new() }
    }
}

impl Deref for List {
    type Target = [usize];

    fn deref(&self) -> &[usize] {
        &self.all
    }
}

/// The candidates of each slot.
pub(super) type Lists = Vec<Rc<List>>;

/// Candidates of one slot that show the same faces and move the sum alike, in the order of the slot's list.
pub(super) type Alike = Vec<usize>;

/// What the cheapest of them costs; where another key leads the order, that need not be the first.
pub(super) fn cheapest(alike: &[usize], common: &[Common]) -> i64 {
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
    pub(super) lists: Lists,
    /// The first candidate of each slot, by id: with any plate, and with one that takes a disc.
    pub(super) first: [Vec<u32>; 2],
    /// Flywheels and discs.
    pub(super) flywheels: Vec<Group>,
    pub(super) discs: Vec<Group>,
    /// The candidates of each additive slot, by level.
    pub(super) alike: Vec<Rc<Vec<Alike>>>,
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
        let list = |(all, common): (Vec<usize>, &Vec<Common>)| Rc::new(List::new(all, common));
        let all = self.lists(stage);
        let Goal::Pairs { fitted, barred, .. } = self.goal else {
            let lists: Lists = all.into_iter().zip(&self.compact.common).map(list).collect();
            return if lists.iter().any(|list| list.is_empty()) { vec![] } else { vec![lists] };
        };
        // Each slot as it changes, and as it stays; a matched set takes the disc's place too, and
        // that is one change.
        let disc = self.compact.named.disc;
        let none = |slot: usize, i: usize| slot == disc && self.compact.discs[i].none;
        let part = |keep: &dyn Fn(usize, usize) -> bool| -> Lists {
            let slots = all.iter().zip(&self.compact.common).enumerate();
            let kept = |(slot, (all, common)): (usize, (&Vec<usize>, &Vec<Common>))| {
                list((all.iter().copied().filter(|i| keep(slot, *i)).collect(), common))
            };
            slots.map(kept).collect()
        };
        let stays = |slot: usize, i: usize| fitted[slot] as usize == i;
        let changed = part(&|slot, i| !stays(slot, i) && !barred[slot][i]);
        let staying = part(&|slot, i| stays(slot, i) || none(slot, i));
        let two = (0..all.len()).array_combinations();
        let pair = |[first, second]: [usize; 2]| -> Lists {
            let of = |slot| if slot == first || slot == second { &changed } else { &staying };
            (0..all.len()).map(|slot| Rc::clone(&of(slot)[slot])).collect()
        };
        two.map(pair).filter(|lists| lists.iter().all(|list| !list.is_empty())).collect()
    }

    /// Lays a part of a stage out.
    pub(super) fn layout(&self, stage: &Stage, lists: Lists, spots: &Rc<Vec<Vec<Spot>>>) -> Layout {
        let compact = self.compact;
        let named = compact.named;
        let any: Vec<u32> = lists.iter().map(|list| list.first).collect();
        let mut with_disc = any.clone();
        let discs = lists[named.disc].iter().filter(|d| !compact.discs[**d].none);
        with_disc[named.disc] = discs.min().map_or(0, |first| *first as u32);
        let first = [any, with_disc];
        let worn = lists[named.disc].iter().copied().filter(|d| compact.discs[*d].wear.is_some());
        let least_wear = worn.min_by_key(|d| compact.discs[*d].wear);
        let limits = self.limits(stage);
        let (flywheels, discs) = self.groups(&lists, limits);
        let width = self.width(&lists, spots, &flywheels);
        let mut rows = vec![Rows::nothing(width, limits)];
        let mut alike = Vec::new();
        let mut rear_v = 0;
        for slot in compact.additive.iter().rev() {
            let (sum, common) = (self.sum(&lists[*slot], *slot, spots), &compact.common[*slot]);
            let item = |same: &Alike| (spots[*slot][same[0]], cheapest(same, common));
            let next = rows[rows.len() - 1].with(&sum.alike.iter().map(item).collect::<Vec<_>>());
            rows.push(next);
            alike.push(Rc::clone(&sum.alike));
            rear_v += sum.v;
        }
        rows.reverse();
        let coarse = rows[0].coarser(Length::from_thou(COARSE).nm());
        alike.reverse();
        let rest = self.rest(&lists);
        let cheapest = lists.iter().map(|list| list.least.cost).collect();
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
    fn groups(&self, lists: &Lists, limits: bool) -> (Vec<Group>, Vec<Group>) {
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
        let limit = |i: usize| compact.discs[i].facing.filter(|_| limits).map(|facing| facing.wc);
        let kinds = |i: usize| {
            let none = compact.discs[i].none;
            (common[i].kept || none, none, facing(i).is_some())
        };
        let discs = apart(&lists[named.disc], kinds)
            .into_iter()
            .map(|list| Group::new(&list, thick, |i| (common[i].faces, thick(i), limit(i))));
        (flywheels.collect(), discs.collect())
    }

    /// The candidates of each slot that may be part of a stack of this stage.
    fn lists(&self, stage: &Stage) -> Vec<Vec<usize>> {
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
    fn rest(&self, lists: &Lists) -> Spent {
        let named = self.compact.named;
        let slots = self.compact.additive.iter();
        let slots = slots.chain([&named.flywheel, &named.disc, &named.bearing]);
        slots.map(|slot| lists[*slot].least).fold(Spent::default(), |rest, least| Spent {
            cost: rest.cost + least.cost,
            parts: rest.parts + least.parts,
            changes: rest.changes + least.changes,
            blank: 0,
        })
    }

    /// What the candidates of an additive slot come to.
    fn sum<'l>(&self, list: &'l List, slot: usize, spots: &[Vec<Spot>]) -> &'l Sum {
        list.sum.get_or_init(|| {
            let common = &self.compact.common[slot];
            let alike = apart(list, |i| (common[i].faces, spots[slot][i]));
            let mut scale = Scale::default();
            scale.take(alike.iter().flat_map(|alike| spots[slot][alike[0]]));
            let v = list.iter().map(|i| self.least_rec(slot, *i).v).min().unwrap_or(0);
            Sum { alike: Rc::new(alike), v, scale }
        })
    }

    /// Whether error limits add up to what decides.
    fn limits(&self, stage: &Stage) -> bool {
        stage.grades.1 == Grade::Sure && self.bounds && self.order != Order::Room
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
    fn width(&self, lists: &Lists, spots: &[Vec<Spot>], flywheels: &[Group]) -> i64 {
        let compact = self.compact;
        let mut scale = Scale::default();
        for additive in &compact.additive {
            scale.and(&self.sum(&lists[*additive], *additive, spots).scale);
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

    fn and(&mut self, other: &Self) {
        self.grid = gcd(self.grid, other.grid);
        self.range += other.range;
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
    let mut known: FxHashMap<K, usize> = FxHashMap::default();
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
