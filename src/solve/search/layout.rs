//! What one stage lays out once: the candidates that may count, their groups, and rows of least cost.

use std::collections::BTreeMap;

use crate::model::length::Length;
use crate::solve::ask::Order;
use crate::solve::compact::Rec;
use crate::solve::search::best::Spent;
use crate::solve::search::{Stage, Walk};
use crate::solve::tables::Row;
use crate::stack::grade::Grade;

/// What one stage has laid out.
pub(super) struct Layout {
    pub(super) stage: Stage,
    /// Candidates of each slot, the cheapest first.
    pub(super) lists: Vec<Vec<usize>>,
    /// The first candidate of each slot, by id: with any plate, and with one that takes a disc.
    pub(super) first: [Vec<u32>; 2],
    /// Flywheels that behave alike, and discs that behave alike.
    pub(super) flywheels: Vec<Vec<usize>>,
    pub(super) discs: Vec<Vec<usize>>,
    /// Row `k`: what the additive slots from `k` on can still do.
    pub(super) rows: Vec<Row>,
    /// The aligned position of each additive candidate, by slot and candidate.
    pub(super) aligned: Vec<Vec<i64>>,
    /// The fitted parts' aligned positions, taken off a measured rear length.
    pub(super) fitted: i64,
    /// The least error limits that the additive slots bring.
    pub(super) rear_wc: i64,
    pub(super) rear_v: i128,
    /// The least that the slots behind the plate still cost, and how many parts they are.
    pub(super) rest: Spent,
}

impl Walk<'_, '_, '_> {
    /// Lays a stage out; none where some slot has no candidate left.
    pub(super) fn layout(&self, stage: &Stage) -> Option<Layout> {
        let compact = self.compact;
        let lists = self.lists(stage)?;
        let named = compact.named;
        let least = |list: &Vec<usize>| list.iter().min().map_or(0, |first| *first as u32);
        let any: Vec<u32> = lists.iter().map(least).collect();
        let mut with_disc = any.clone();
        let discs = lists[named.disc].iter().filter(|d| !compact.discs[**d].none);
        with_disc[named.disc] = discs.min().map_or(0, |first| *first as u32);
        let first = [any, with_disc];
        let flywheels = groups(&lists[named.flywheel], |i| {
            let kept = compact.common[named.flywheel][i].kept;
            (kept, compact.flywheels[i].step.value == 0)
        });
        let discs = groups(&lists[named.disc], |i| {
            let disc = &compact.discs[i];
            let kept = compact.common[named.disc][i].kept;
            (kept || disc.none, disc.none, disc.facing.is_some())
        });
        let (aligned, fitted) = (self.align(), compact.fitted_shift());
        let range = compact.additive.iter().map(|slot| {
            let of = |i: &usize| aligned[*slot][*i];
            let list = &lists[*slot];
            list.iter().map(of).max().unwrap_or(0) - list.iter().map(of).min().unwrap_or(0)
        });
        // Buckets as wide as bound the length of a row: a wide one promises more, never too little.
        let width = (range.sum::<i64>() / 2048).max(Length::from_thou(2).nm());
        let mut rows = vec![Row::nothing(width)];
        let (mut rear_wc, mut rear_v) = (0, 0);
        for slot in compact.additive.iter().rev() {
            let list = &lists[*slot];
            let items: Vec<(i64, i64)> =
                list.iter().map(|i| (aligned[*slot][*i], compact.common[*slot][*i].cost)).collect();
            let next = rows[rows.len() - 1].with(&items);
            rows.push(next);
            rear_wc += list.iter().map(|i| self.least_rec(*slot, *i).wc).min().unwrap_or(0);
            rear_v += list.iter().map(|i| self.least_rec(*slot, *i).v).min().unwrap_or(0);
        }
        rows.reverse();
        let rest = self.rest(&lists);
        Some(Layout {
            stage: *stage,
            lists,
            first,
            flywheels,
            discs,
            rows,
            aligned,
            fitted,
            rear_wc,
            rear_v,
            rest,
        })
    }

    /// The candidates of each slot that may be part of a stack of this stage.
    fn lists(&self, stage: &Stage) -> Option<Vec<Vec<usize>>> {
        let compact = self.compact;
        let mut lists = Vec::new();
        for (slot, common) in compact.common.iter().enumerate() {
            let allowed = stage.blank.unwrap_or(u8::MAX);
            let mut list: Vec<usize> =
                (0..common.len()).filter(|i| common[*i].blank & !allowed == 0).collect();
            if stage.grades.1 == Grade::Sure && !compact.linear[slot].is_empty() {
                let linear = &compact.linear[slot];
                let clean = |rec: &Option<Rec>| rec.is_some_and(|rec| !rec.assumed);
                let plate = slot == compact.named.block_plate;
                list.retain(|i| plate || clean(&linear[*i].c) || clean(&linear[*i].m));
            }
            if stage.grades.1 == Grade::Sure && self.bounds {
                list.retain(|i| self.may_be_sure(slot, *i));
            }
            let fewest = self.order == Order::Changes;
            list.sort_by_key(|i| {
                let one = &common[*i];
                (if fewest { one.changes } else { 0 }, one.cost, one.parts, *i)
            });
            if list.is_empty() {
                return None;
            }
            lists.push(list);
        }
        Some(lists)
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

    /// Positions by which measured and catalogued rear lengths can share one set of rows: the
    /// catalogued one, or zero for a fitted part whose own dimension is not known.
    fn align(&self) -> Vec<Vec<i64>> {
        let compact = self.compact;
        let mut aligned = vec![Vec::new(); compact.common.len()];
        for slot in &compact.additive {
            let linear = &compact.linear[*slot];
            aligned[*slot] = linear.iter().map(|one| one.c.map_or(0, |rec| rec.pos)).collect();
        }
        aligned
    }
}

/// A list apart by key, each part in the order of the list.
fn groups<K: Ord>(list: &[usize], key: impl Fn(usize) -> K) -> Vec<Vec<usize>> {
    let mut groups: BTreeMap<K, Vec<usize>> = BTreeMap::new();
    for index in list {
        groups.entry(key(*index)).or_default().push(*index);
    }
    groups.into_values().collect()
}
