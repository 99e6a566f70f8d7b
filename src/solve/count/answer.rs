//! What questions ask of a table: of how many sums the position is between two bounds.

use std::rc::Rc;

use rustc_hash::FxHashMap;

use crate::error::Result;
use crate::solve::ask::Watch;
use crate::solve::count::mass::Grid;
use crate::solve::count::query::Question;
use crate::solve::count::table::Table;
use crate::solve::search::lists::FAR;

/// Questions that are asked of one bearing after the other: what they need is then near at hand.
const ASKED: usize = 1 << 11;

/// What stands with the sums of a table: a bearing, or flywheels of one thickness.
pub(super) struct Other {
    /// What it adds by its extended and by its retracted end, nm.
    pub(super) ends: [i64; 2],
    pub(super) times: i64,
}

/// How many sums some questions allow with some others, by tables for the extended and for the retracted end.
pub(super) fn answer(
    tables: [&Table; 2],
    questions: &[Question],
    others: &[Other],
    watch: &Watch,
) -> Result<i128> {
    let mut sum = 0;
    for questions in questions.chunks(ASKED) {
        let times: Vec<i64> = questions.iter().map(|one| one.times).collect();
        let cells = [0, 1].map(|end| Bounds::of(&tables[end].grid, questions, end));
        let mut places = FxHashMap::default();
        for other in others {
            watch.step(1)?;
            let allowed = [0, 1].map(|end| {
                let Table { grid, phases, .. } = tables[end];
                let (off, left) = grid.split(other.ends[end]);
                let own = places.entry((end, left));
                let own = own.or_insert_with(|| Rc::new(cells[end].places(tables[end], left)));
                let off = off * phases.len() as i64;
                Allowed { totals: tables[end].totals(), bounds: Rc::clone(own), off }
            });
            sum += i128::from(between(&allowed, &times)) * i128::from(other.times);
        }
    }
    Ok(sum)
}

/// What some questions allow by one end of something.
struct Allowed<'t> {
    totals: &'t [u32],
    bounds: Rc<Bounds<i64>>,
    /// How many places are taken off for it.
    off: i64,
}

impl Allowed<'_> {
    /// How many sums stand at a place or below it.
    fn total(&self, place: i64) -> i64 {
        // Before the first place nothing stands, and on the last one everything.
        i64::from(self.totals[(place.max(0) as usize).min(self.totals.len() - 1)])
    }

    fn at(&self, places: Option<&Vec<i64>>, index: usize) -> Option<i64> {
        places.map(|places| self.total(places[index] - self.off))
    }
}

/// How many sums are allowed by both ends of something; all as often as the questions are asked.
fn between([extended, retracted]: &[Allowed<'_>; 2], times: &[i64]) -> i64 {
    let (one, two) = (&extended.bounds, &retracted.bounds);
    // Where it may stand nowhere there is no more below the one bound than below the other.
    let own = |most: i64, below: i64, times: &i64| {
        // Fewer than 2^32 sums, asked for fewer than 2^31 times.
        most.wrapping_sub(below).max(0).wrapping_mul(*times)
    };
    // Windows mostly ask for a least preload and a least reserve alone.
    let usual = one.most.as_ref().zip(two.below.as_ref());
    if let Some((most, below)) = usual.filter(|_| one.below.is_none() && two.most.is_none()) {
        let all = most.iter().zip(below).zip(times).map(|((most, below), times)| {
            let most = extended.total(most.wrapping_sub(extended.off));
            own(most, retracted.total(below.wrapping_sub(retracted.off)), times)
        });
        return all.fold(0, i64::wrapping_add);
    }
    let everything = extended.total(i64::MAX);
    let all = times.iter().enumerate().map(|(index, times)| {
        let at = |one: &Option<Vec<i64>>, two: &Option<Vec<i64>>| {
            [extended.at(one.as_ref(), index), retracted.at(two.as_ref(), index)]
        };
        let most = at(&one.most, &two.most).into_iter().flatten().min();
        let below = at(&one.below, &two.below).into_iter().flatten().max();
        own(most.unwrap_or(everything), below.unwrap_or(0), times)
    });
    all.fold(0, i64::wrapping_add)
}

/// The last place that each of some questions allows, and the last one below what it allows; none where
/// nothing bounds any of them.
struct Bounds<T> {
    most: Option<Vec<T>>,
    below: Option<Vec<T>>,
}

impl Bounds<(i64, i64)> {
    /// By one end: in which cell, and how far beyond its beginning, nm.
    fn of(grid: &Grid, questions: &[Question], end: usize) -> Self {
        let most = questions.iter().any(|one| one.most[end] < FAR);
        let below = questions.iter().any(|one| one.least[end] > -FAR);
        let of = |bound: fn(&Question, usize) -> i64| {
            questions.iter().map(|one| grid.cell(bound(one, end))).collect()
        };
        Self {
            most: most.then(|| of(|one, end| one.most[end])),
            below: below.then(|| of(|one, end| one.least[end] - 1)),
        }
    }

    /// In places of a table, with something of which so much is left beside the cells.
    fn places(&self, table: &Table, left: i64) -> Bounds<i64> {
        let (step, per_cell) = (table.grid.step, table.phases.len() as i64);
        // Positions have fewer than 50 bits.
        let place = |(cell, own): &(i64, i64)| {
            let less = i64::from(*own < left);
            let left = own.wrapping_sub(left).wrapping_add(less * step);
            let phases = table.phases.partition_point(|phase| *phase <= left) as i64;
            let cell = cell.wrapping_sub(less).wrapping_sub(table.first);
            cell.wrapping_mul(per_cell).wrapping_add(phases).wrapping_sub(1)
        };
        let of =
            |all: &Option<Vec<(i64, i64)>>| all.as_ref().map(|all| all.iter().map(place).collect());
        Bounds { most: of(&self.most), below: of(&self.below) }
    }
}
