//! The discs that go with plates of one look, with what all of those plates ask of them together.

use std::cell::OnceCell;

use itertools::Itertools as _;
use rustc_hash::FxHashMap;

use crate::solve::numbers::sum::{Bundle, Sum};
use crate::solve::numbers::{COMMON, Numbers, Sort};
use crate::solve::search::key::{Key, Layout};

/// A disc, or none.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Disc {
    pub(crate) pick: u32,
    pub(crate) sort: Sort,
    pub(crate) gap: Bundle,
    pub(crate) alone: Sum,
    pub(crate) key: Key,
}

/// The discs that go with plates of one look.
#[derive(Debug, Default)]
pub(crate) struct Discs {
    /// All of them, by key.
    pub(crate) list: Vec<Disc>,
    /// Those that have a finger form of their own.
    pub(crate) own: Vec<Disc>,
    /// Of those that have the form of all others the ones with the least and the largest gap.
    pub(crate) ends: Option<[Bundle; 2]>,
    /// The least and the most that one adds to the finger tips by itself, nm.
    pub(crate) alone: Option<(i64, i64)>,
    /// The least key of one that costs as much as the cheapest.
    pub(crate) cheapest: Option<u128>,
    /// Those with which the window's limits are widest: a disc's own wear may ask for less than what stands
    /// in where no wear is known.
    pub(crate) widest: Vec<u32>,
    /// Those that no count tells apart, where a route hangs on their tolerances and where none does.
    alike: [OnceCell<Vec<(Disc, i64)>>; 2],
}

impl Discs {
    pub(super) fn of(numbers: &Numbers<'_, '_>, layout: &Layout, list: Vec<Disc>) -> Self {
        let (common, own): (Vec<Disc>, Vec<Disc>) =
            list.iter().partition(|disc| disc.sort == COMMON);
        let gaps = || common.iter().map(|disc| disc.gap);
        let least = gaps().min_by_key(|gap| gap.value);
        let wear = |disc: &&Disc| numbers.wear(disc.pick);
        let known = list.iter().filter(|disc| wear(disc).is_some());
        let widest = [list.iter().min_by_key(wear), known.min_by_key(wear)];
        let highs = list.iter().map(|disc| disc.key.high);
        Self {
            ends: least.zip(gaps().max_by_key(|gap| gap.value)).map(<[Bundle; 2]>::from),
            alone: list.iter().map(|disc| disc.alone.at).minmax().into_option(),
            cheapest: highs.min_by_key(|high| layout.cost(*high)),
            widest: widest.into_iter().flatten().map(|disc| disc.pick).collect(),
            alike: Default::default(),
            own,
            list,
        }
    }

    /// One disc for all that no count tells apart, with how many they are: where it is settled which route
    /// is taken a disc's tolerances do not matter.
    pub(crate) fn alike(&self, numbers: &Numbers<'_, '_>, settled: bool) -> &[(Disc, i64)] {
        self.alike[usize::from(settled)].get_or_init(|| {
            let mut places = FxHashMap::default();
            let mut all: Vec<(Disc, i64)> = Vec::new();
            for disc in &self.list {
                let gap = if settled { disc.gap.without_errors() } else { disc.gap };
                let wear = numbers.wear(disc.pick);
                let values = numbers.checks.values(&[(numbers.slots.disc, disc.pick)]);
                let place = *places
                    .entry((disc.sort, gap, disc.alone.at, wear, values))
                    .or_insert_with(|| {
                        all.push((*disc, 0));
                        all.len() - 1
                    });
                all[place].1 += 1;
            }
            // One after the other they stand nearly in their order.
            all.sort_by_key(|(disc, _)| disc.gap.value);
            all
        })
    }

    /// How many have the form of all others.
    pub(crate) fn common(&self) -> usize {
        self.list.len() - self.own.len()
    }

    /// Every form that one of them has.
    pub(crate) fn sorts(&self) -> impl Iterator<Item = Sort> {
        let common = self.ends.map(|_| COMMON);
        common.into_iter().chain(self.own.iter().map(|disc| disc.sort))
    }
}
