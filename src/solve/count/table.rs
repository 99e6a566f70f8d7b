//! All that stands between with the flywheels of a set, laid out on a grid: how many sums stand at a position
//! or below it.
//!
//! Plates, spacers and shims are totalled up once, and a flywheel only moves them: a table is the total of
//! those of all its flywheels. What is asked of it is then two look-ups for each question and bearing. Sums
//! with a measured flywheel stand beyond the cells by a length of their own, a phase: each has its own cells, and a
//! place is a cell with a phase.

use std::rc::Rc;

use rustc_hash::FxHashMap;

use crate::error::Result;
use crate::solve::ask::Watch;
use crate::solve::count::between::{Asked, Pile};
use crate::solve::count::mass::{Grid, Masses, grid};
use crate::solve::count::query::Question;
use crate::solve::numbers::checks::Starter;
use crate::solve::search::lists::FAR;

/// Places at most: 16 MB of them, twice.
const MOST_PLACES: i64 = 1 << 22;

/// Cells of what stands without a flywheel, kept at a time at most: 8 MB of them.
const MOST_KEPT: usize = 1 << 21;

/// Cells that are added to at a time: 16 KB of them.
const ADDED: usize = 1 << 12;

/// Questions that are asked of one bearing after the other: what they need is then near at hand.
const ASKED: usize = 1 << 11;

/// How long it takes to lay a cell out, to put a sum there, to add a cell to another, to total a place up, to place what a question asks, to answer it
/// with a bearing, and to do both; ns.
const LAY: f64 = 1.5;
const PUT: f64 = 1.0;
pub(super) const ADD: f64 = 0.12;
const TOTAL: f64 = 1.2;
const PLACE: f64 = 15.0;
pub(super) const ANSWER: f64 = 2.0;
const PAIR: f64 = 8.0;

/// By how many groups what is laid out is expected to be needed.
const SHARED: f64 = 4.0;

/// Plates, spacers and shims of one seat, totalled up.
pub(super) struct Laid {
    /// The step that all positions have in common, nm.
    pub(super) step: i64,
    /// By starter.
    piled: FxHashMap<Starter, Rc<Table>>,
}

/// How to count by tables.
pub(super) struct Plan {
    /// Between which positions, nm.
    range: (i64, i64),
    /// In their order, nm.
    phases: Vec<i64>,
    /// How many phases have room at a time.
    at_once: usize,
    /// Whether each flywheel is rather asked with each bearing.
    by_pairs: bool,
    /// How long it takes, ns.
    pub(super) cost: f64,
}

impl Laid {
    /// Of lists that are added up.
    pub(super) fn new<'m>(lists: impl Iterator<Item = &'m Masses>) -> Self {
        let steps = lists.filter_map(|list| grid(list.iter().map(|(at, _)| *at)));
        let step = grid(steps.flat_map(|step| [0, step])).unwrap_or(1);
        Self { step, piled: FxHashMap::default() }
    }

    /// How to count what is asked of some flywheels, in parts that different questions may have; none where
    /// there is no room.
    pub(super) fn plan(
        &self,
        asked: &Asked<'_>,
        parts: &[Vec<Pile>],
        shims: &Masses,
    ) -> Option<Plan> {
        let piles = || parts.iter().flatten().filter(|pile| !pile.spacers.is_empty());
        let (mut phases, mut stand, mut sums) = (Vec::new(), None, 0_u64);
        let (mut fits, mut flywheels, mut laid) = (true, 0, 0.0);
        for pile in piles() {
            let ((low, high), (least, most)) = ends(&pile.spacers).zip(ends(shims))?;
            let (thin, thick) = ends(&pile.flywheels)?;
            let (first, last) = stand.unwrap_or((low + least - thick, high + most - thin));
            stand = Some((first.min(low + least - thick), last.max(high + most - thin)));
            let cells = cells((low + least, high + most), self.step);
            fits &= cells <= MOST_PLACES;
            if !self.piled.contains_key(&pile.starter) {
                laid += LAY * cells as f64 + PUT * (pile.spacers.len() * shims.len()) as f64;
            }
            let own = count(&pile.spacers).saturating_mul(count(shims));
            sums = sums.saturating_add(own.saturating_mul(count(&pile.flywheels)));
            phases.extend(pile.flywheels.iter().map(|(at, _)| self.phase(low + least - at)));
            flywheels += pile.flywheels.len();
        }
        let ((low, high), (first, last)) = asked.between().zip(stand)?;
        // Below the first nothing stands, and from the last on everything.
        let low = low.clamp(first - 1, last);
        let range = (low, high.clamp(low, last));
        let cells = cells(range, self.step);
        phases.sort_unstable();
        phases.dedup();
        let at_once = (MOST_PLACES / cells) as usize;
        if !fits || at_once == 0 || u32::try_from(sums).is_err() {
            return None;
        }
        let batches = phases.len().div_ceil(at_once) as f64;
        let places = if phases.len() > 1 { cells as f64 * phases.len() as f64 } else { 0.0 };
        let answered = PLACE * asked.questions.len() as f64 + ANSWER * asked.len() as f64;
        let added = ADD * cells as f64 * flywheels as f64;
        let by_tables = LAY * cells as f64 * phases.len() as f64
            + added
            + TOTAL * places * parts.len() as f64
            + batches * answered;
        let by_pairs = PAIR * asked.len() as f64 * flywheels as f64;
        let (cost, by_pairs) = (by_tables.min(by_pairs), by_pairs < by_tables);
        // What is laid out now is there for others too.
        let cost = cost + laid / SHARED;
        Some(Plan { range, phases, at_once, by_pairs, cost })
    }

    fn phase(&self, at: i64) -> i64 {
        at.rem_euclid(self.step)
    }

    /// How many sums lie where some questions ask for them. The parts come with the questions that may have
    /// just those flywheels and all of the parts before them.
    pub(super) fn count(
        &mut self,
        plan: &Plan,
        parts: &[(&[Question], &[Pile])],
        shims: &Masses,
        asked: &Asked<'_>,
    ) -> Result<i128> {
        if plan.by_pairs {
            return self.count_pairs(parts, shims, asked);
        }
        let mut sum = 0;
        for phases in plan.phases.chunks(plan.at_once) {
            let mut table = Table::new(plan.range, phases.to_vec(), self.step);
            for (questions, piles) in parts {
                let mut all = Vec::new();
                for pile in piles.iter().filter(|pile| !pile.spacers.is_empty()) {
                    let piled = self.piled(pile.starter, &pile.spacers, shims);
                    let of = |(at, n): &(i64, u64)| (Rc::clone(&piled), *at, *n);
                    all.extend(pile.flywheels.iter().map(of));
                }
                table.add(&all, asked.watch)?;
                table.total();
                sum += asked.answer(&table, questions, &[(0, 1)])?;
            }
        }
        Ok(sum)
    }

    /// The same with no flywheel in a table: each is asked with each bearing.
    fn count_pairs(
        &mut self,
        parts: &[(&[Question], &[Pile])],
        shims: &Masses,
        asked: &Asked<'_>,
    ) -> Result<i128> {
        let mut sum = 0;
        for (part, (_, piles)) in parts.iter().enumerate() {
            for pile in piles.iter().filter(|pile| !pile.spacers.is_empty()) {
                let piled = self.piled(pile.starter, &pile.spacers, shims);
                for (questions, _) in &parts[part..] {
                    sum += asked.answer(&piled, questions, &pile.flywheels)?;
                }
            }
        }
        Ok(sum)
    }

    /// All that stands there where a starter lets the flywheel be.
    pub(super) fn piled(
        &mut self,
        starter: Starter,
        spacers: &Masses,
        shims: &Masses,
    ) -> Rc<Table> {
        let kept: usize = self.piled.values().map(|piled| piled.cells[0].len()).sum();
        if kept > MOST_KEPT {
            self.piled.clear();
        }
        let new = || Rc::new(Table::of(spacers, shims, self.step));
        Rc::clone(self.piled.entry(starter).or_insert_with(new))
    }
}

/// How many cells of a width it takes from one position to another, with one before the first.
pub(super) fn cells((low, high): (i64, i64), step: i64) -> i64 {
    (high - low) / step + 3
}

/// The first and the last position, nm.
pub(super) fn ends(masses: &Masses) -> Option<(i64, i64)> {
    Some((masses.first()?.0, masses.last()?.0))
}

/// How many there are.
pub(super) fn count(masses: &Masses) -> u64 {
    masses.iter().map(|(_, n)| n).sum()
}

/// Sums in a range of positions.
pub(super) struct Table {
    /// Its cells begin before any position.
    grid: Grid,
    /// The first cell.
    first: i64,
    phases: Vec<i64>,
    /// By phase, of each cell.
    cells: Vec<Vec<u32>>,
    /// Of each place; where there is but one phase its cells are the places.
    totals: Vec<u32>,
}

impl Table {
    /// Empty, from one position to another.
    pub(super) fn new(range: (i64, i64), phases: Vec<i64>, step: i64) -> Self {
        let grid = Grid::new(-(4 * FAR / step) * step, step, 0);
        let (first, _) = grid.cell(range.0 - step);
        let cells = vec![vec![0; cells(range, step) as usize]; phases.len()];
        Self { grid, first, phases, cells, totals: Vec::new() }
    }

    /// Plates, spacers and shims together, which stand on one grid.
    fn of(spacers: &Masses, shims: &Masses, step: i64) -> Self {
        let Some(((low, high), (least, most))) = ends(spacers).zip(ends(shims)) else {
            return Self::new((0, 0), vec![0], step);
        };
        let range = (low + least, high + most);
        let mut table = Self::new(range, vec![range.0.rem_euclid(step)], step);
        let cells = &mut table.cells[0];
        let shims = shims.iter().map(|(at, n)| (((at - least) / step) as usize, *n as u32));
        let shims: Vec<(usize, u32)> = shims.collect();
        for (at, n) in spacers {
            // Nothing stands in the first cell.
            let own = &mut cells[1 + ((at - low) / step) as usize..];
            // All together they were seen to have room.
            for (at, m) in &shims {
                own[*at] += *n as u32 * m;
            }
        }
        let mut sum = 0;
        for cell in cells {
            sum += *cell;
            *cell = sum;
        }
        table
    }

    /// Adds what stands in tables of one phase each, less something that moves it, nm, so many times; what does
    /// not stand on a phase of this table is left out.
    pub(super) fn add(&mut self, all: &[(Rc<Self>, i64, u64)], watch: &Watch) -> Result<()> {
        for (phase, cells) in self.cells.iter_mut().enumerate() {
            // How many cells after this table's first one.
            let own = all.iter().filter_map(|(piled, less, times)| {
                let start = self.grid.start + piled.first * self.grid.step;
                let (cell, left) = self.grid.cell(start + piled.phases[0] - less);
                (left == self.phases[phase]).then_some((piled, cell - self.first, *times))
            });
            let own: Vec<(&Rc<Self>, i64, u64)> = own.collect();
            // Block by block, so that what is added to stays near at hand.
            for (block, sums) in cells.chunks_mut(ADDED).enumerate() {
                for (piled, after, times) in &own {
                    watch.step(1)?;
                    piled.add_to(sums, (block * ADDED) as i64 - after, *times);
                }
            }
        }
        Ok(())
    }

    /// Adds cells of a table of one phase, from one of them on, to others so many times.
    fn add_to(&self, sums: &mut [u32], from: i64, times: u64) {
        let cells = &self.cells[0];
        let Some(all) = cells.last() else { return };
        let sums = sums.get_mut((-from).max(0) as usize..).unwrap_or_default();
        let cells = cells.get(from.max(0) as usize..).unwrap_or_default();
        let (sums, beyond) = sums.split_at_mut(sums.len().min(cells.len()));
        // All sums together were seen to have room; checked they would be added one by one.
        for _ in 0..times {
            sums.iter_mut().zip(cells).for_each(|(sum, own)| *sum = sum.wrapping_add(*own));
            beyond.iter_mut().for_each(|sum| *sum = sum.wrapping_add(*all));
        }
    }

    /// Brings the phases together.
    fn total(&mut self) {
        let phases = self.phases.len();
        if phases == 1 {
            return;
        }
        self.totals.resize(phases * self.cells[0].len(), 0);
        let mut before = vec![0; phases];
        let mut sum = 0;
        for (cell, totals) in self.totals.chunks_exact_mut(phases).enumerate() {
            for ((total, own), before) in totals.iter_mut().zip(&self.cells).zip(&mut before) {
                sum = u32::wrapping_add(sum, own[cell].wrapping_sub(*before));
                *before = own[cell];
                *total = sum;
            }
        }
    }

    /// Brings the phases together for good: nothing is added any more.
    pub(super) fn finish(&mut self) {
        self.total();
        if self.phases.len() > 1 {
            self.cells.clear();
        }
    }

    fn totals(&self) -> &[u32] {
        if self.phases.len() == 1 { &self.cells[0] } else { &self.totals }
    }

    /// What some questions allow by one end of something, of which so much is left beside its cells.
    fn bounds(&self, cells: &Cells, left: i64) -> Bounds {
        let (step, per_cell) = (self.grid.step, self.phases.len() as i64);
        // Positions have fewer than 50 bits.
        let place = |(cell, own): &(i64, i64)| {
            let less = i64::from(*own < left);
            let left = own.wrapping_sub(left).wrapping_add(less * step);
            let phases = self.phases.partition_point(|phase| *phase <= left) as i64;
            let cell = cell.wrapping_sub(less).wrapping_sub(self.first);
            cell.wrapping_mul(per_cell).wrapping_add(phases).wrapping_sub(1)
        };
        let of =
            |all: &Option<Vec<(i64, i64)>>| all.as_ref().map(|all| all.iter().map(place).collect());
        Bounds { most: of(&cells.most), below: of(&cells.below) }
    }
}

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
        let cells = [0, 1].map(|end| Cells::of(&tables[end].grid, questions, end));
        let mut bounds = FxHashMap::default();
        for other in others {
            watch.step(1)?;
            let allowed = [0, 1].map(|end| {
                let Table { grid, phases, .. } = tables[end];
                let left = other.ends[end].rem_euclid(grid.step);
                let own = bounds.entry((end, left));
                let own = own.or_insert_with(|| Rc::new(tables[end].bounds(&cells[end], left)));
                let off = other.ends[end].div_euclid(grid.step) * phases.len() as i64;
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
    bounds: Rc<Bounds>,
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
    // Where it may stand nowhere what is below the one is no more than what is below the other.
    match (&one.most, &one.below, &two.most, &two.below) {
        // Windows mostly ask for a least preload and a least reserve alone.
        (Some(most), None, None, Some(below)) => {
            let all = most.iter().zip(below).zip(times);
            // Fewer than 2^32 sums, asked for fewer than 2^31 times.
            let own = |((most, below), times): ((&i64, &i64), &i64)| {
                let most = extended.total(most.wrapping_sub(extended.off));
                let below = retracted.total(below.wrapping_sub(retracted.off));
                most.wrapping_sub(below).max(0).wrapping_mul(*times)
            };
            all.map(own).fold(0, i64::wrapping_add)
        }
        _ => {
            let everything = extended.total(i64::MAX);
            let own = |(index, times): (usize, &i64)| {
                let least = |all: [Option<i64>; 2]| all.into_iter().flatten().min();
                let most =
                    [extended.at(one.most.as_ref(), index), retracted.at(two.most.as_ref(), index)];
                let below = [
                    extended.at(one.below.as_ref(), index),
                    retracted.at(two.below.as_ref(), index),
                ];
                let below = below.into_iter().flatten().max().unwrap_or(0);
                (least(most).unwrap_or(everything) - below).max(0) * times
            };
            times.iter().enumerate().map(own).sum()
        }
    }
}

/// In which cell some questions bound one end, and how far beyond its beginning, nm; none where nothing bounds
/// any of them.
struct Cells {
    most: Option<Vec<(i64, i64)>>,
    below: Option<Vec<(i64, i64)>>,
}

impl Cells {
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
}

/// The last place that each of some questions allows, and the last one below what it allows; none where
/// nothing bounds any of them.
struct Bounds {
    most: Option<Vec<i64>>,
    below: Option<Vec<i64>>,
}
