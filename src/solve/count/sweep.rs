//! All sums with some flywheels on one grid, as they are seen from one place within a cell after another.
//!
//! Of each cell it is kept how many sums stand there or before it, seen from one place within all cells: what
//! stands beyond that place in its cell is not yet seen there. On the way through the cells' width those sums
//! are added, length by length, and what asks from just there is answered. Bounds are in order by how far they
//! stand beyond their cells, so those that see alike with a bearing come together.

use std::cell::RefCell;
use std::ops::Range;
use std::rc::Rc;

use itertools::{Itertools as _, iproduct};
use rustc_hash::FxHashMap;

use crate::error::Result;
use crate::solve::ask::Watch;
use crate::solve::count::between::{Asked, Pile};
use crate::solve::count::laid::Laid;
use crate::solve::count::mass::{Grid, Masses};
use crate::solve::count::query::{Question, ends_of};
use crate::solve::count::table::{ADDED, Table, cells, grid_from};
use crate::solve::search::lists::{Bearing, FAR};

/// Sums with some flywheels, seen from one place within all cells.
pub(super) struct Sweep {
    /// What most flywheels have stands where its cells begin.
    grid: Grid,
    /// The first cell.
    first: i64,
    /// Of each how many stand there or before it.
    cells: Vec<u32>,
    /// In their order of how far they stand beyond the cells.
    all: Vec<Moved>,
}

/// What stands without a flywheel, moved by one thickness.
struct Moved {
    piled: Rc<Table>,
    /// How far beyond its cell each sum of it stands, nm.
    beyond: i64,
    /// How many cells after the first one it begins.
    after: i64,
    /// How many flywheels there are of the thickness.
    times: u64,
}

impl Sweep {
    /// Nothing yet, from one position to another; `main` is where most of it will stand in its cell, nm.
    pub(super) fn new(range: (i64, i64), main: i64, step: i64) -> Self {
        let grid = grid_from(main, step);
        let (first, _) = grid.cell(range.0 - step);
        // What stands beyond the beginning of its cell is seen a cell later there.
        Self { grid, first, cells: vec![0; cells(range, step) as usize + 1], all: Vec::new() }
    }

    /// Adds flywheels with what they may stand with, seen from where the cells begin.
    pub(super) fn add(
        &mut self,
        piles: &[Pile],
        shims: &Masses,
        laid: &mut Laid,
        watch: &Watch,
    ) -> Result<()> {
        let mut new = Vec::new();
        for pile in piles {
            let piled = laid.piled(pile.starter, &pile.spacers, shims);
            for (thickness, times) in &pile.flywheels {
                let (cell, beyond) = self.grid.cell(piled.start() - thickness);
                let (piled, after, times) = (Rc::clone(&piled), cell - self.first, *times);
                new.push(Moved { piled, beyond, after, times });
            }
        }
        // Block by block, so that what is added to stays near at hand.
        for (block, sums) in self.cells.chunks_mut(ADDED).enumerate() {
            for own in &new {
                watch.step(1)?;
                let after = own.after + i64::from(own.beyond > 0);
                own.piled.add_to(sums, (block * ADDED) as i64 - after, own.times);
            }
        }
        self.all.append(&mut new);
        self.all.sort_by_key(|one| one.beyond);
        Ok(())
    }

    /// How many sums some questions allow that may have the same flywheels. Modulo 2^64: the caller sees to it that
    /// there is room for the sum.
    pub(super) fn answer(&mut self, questions: &[Question], asked: &Asked<'_>) -> Result<i64> {
        let placed = asked.placed.of(questions, &self.grid);
        let lists: Vec<(&[Bounds; 2], &[&Bearing])> = placed
            .iter()
            .map(|(list, bounds)| (bounds, asked.bearings[*list].as_slice()))
            .collect();
        let mut sum = 0_i64;
        let mut ends: Vec<i64> = self.all.iter().map(|one| one.beyond).dedup().collect();
        ends.retain(|beyond| *beyond > 0);
        let limits = [0].into_iter().chain(ends).chain([self.grid.step]);
        for (from, to) in limits.tuple_windows() {
            if from > 0 {
                self.pass(from, false, asked.watch)?;
            }
            for ((bounds, bearings), end) in iproduct!(&lists, [0, 1]) {
                for bearing in *bearings {
                    asked.watch.step(1)?;
                    sum = sum.wrapping_add(self.allowed(&bounds[end], end, bearing, (from, to)));
                }
            }
        }
        Ok(sum)
    }

    /// What is allowed by bounds of one end that with a bearing stand so far beyond their cells.
    fn allowed(&self, bounds: &Bounds, end: usize, bearing: &Bearing, seen: (i64, i64)) -> i64 {
        let (step, travel) = (self.grid.step, travel(bearing));
        let (cells, beyond) = self.grid.split(ends_of(bearing)[end]);
        let cells = cells + self.first;
        let (from, to) = (seen.0 + beyond, seen.1 + beyond);
        let here = bounds.between(from, to.min(step));
        // Where a bearing takes off more than there is beyond the cell, it stands a cell before.
        let before = bounds.between(from - step, to - step);
        let here = bounds.total(here, cells, travel, self);
        here.wrapping_add(bounds.total(before, cells + 1, travel, self))
    }

    /// Goes back to where the cells begin.
    pub(super) fn back(&mut self, watch: &Watch) -> Result<()> {
        for beyond in self.all.iter().map(|one| one.beyond).dedup().collect::<Vec<i64>>() {
            if beyond > 0 {
                self.pass(beyond, true, watch)?;
            }
        }
        Ok(())
    }

    /// Passes the sums that stand so far beyond their cells, onward or back.
    fn pass(&mut self, beyond: i64, back: bool, watch: &Watch) -> Result<()> {
        let first = self.all.partition_point(|one| one.beyond < beyond);
        let end = self.all.partition_point(|one| one.beyond <= beyond);
        for (block, sums) in self.cells.chunks_mut(ADDED).enumerate() {
            for own in &self.all[first..end] {
                watch.step(1)?;
                let times = own.times as u32;
                let times = if back { times.wrapping_neg() } else { times };
                own.piled.add_steps_to(sums, (block * ADDED) as i64 - own.after, times);
            }
        }
        Ok(())
    }

    /// How many sums are seen to stand in a cell or before it.
    fn total(&self, cell: i64) -> u32 {
        // Before the first cell nothing stands, and in the last one everything does.
        self.cells[(cell.max(0) as usize).min(self.cells.len() - 1)]
    }
}

/// What some questions ask, as bounds on the grids on which it was asked so far.
pub(super) struct Placed {
    /// The shortest and the longest travel of a bearing, nm.
    travels: (i64, i64),
    /// By where the grid's cells begin, its step and how many flywheels may stand with the questions.
    known: RefCell<FxHashMap<(i64, i64, usize), ByList>>,
}

/// Bounds by the extended and by the retracted end, by list of bearings.
type ByList = Rc<Vec<(usize, [Bounds; 2])>>;

impl Placed {
    /// Nothing yet; with all bearings that may be asked of.
    pub(super) fn new(bearings: &[Bearing]) -> Self {
        let travels = bearings.iter().map(travel).minmax().into_option();
        Self { travels: travels.unwrap_or((0, 0)), known: RefCell::default() }
    }

    /// Those of questions that may have the same flywheels.
    fn of(&self, questions: &[Question], grid: &Grid) -> ByList {
        let Some(first) = questions.first() else { return ByList::default() };
        let new = || {
            let by_list = questions.chunk_by(|a, b| a.bearings == b.bearings);
            Rc::new(by_list.map(|own| (own[0].bearings, self.bounds(own, grid))).collect())
        };
        let key = (grid.start, grid.step, first.clear);
        Rc::clone(self.known.borrow_mut().entry(key).or_insert_with(new))
    }

    fn bounds(&self, questions: &[Question], grid: &Grid) -> [Bounds; 2] {
        let (short, long) = self.travels;
        let mut bounds = [Vec::new(), Vec::new()];
        for (end, bound) in questions.iter().flat_map(bounds_of) {
            // What counts with no bearing is left out.
            if bound.travels.0.max(short) <= bound.travels.1.min(long) {
                bounds[end].push(bound);
            }
        }
        bounds.map(|own| Bounds::new(&own, grid))
    }
}

/// Up to where one end of something is allowed.
struct Bound {
    /// The last position that is, less that of the bearing's end, nm.
    at: i64,
    /// How often it counts; less than nothing where it is what is allowed no more.
    times: i64,
    /// The shortest and the longest travel of a bearing with which it counts, nm.
    travels: (i64, i64),
}

/// Bounds of one end on a grid, in order by how far they stand beyond their cells, then by cell.
struct Bounds {
    /// nm
    beyond: Vec<i64>,
    cells: Vec<i64>,
    times: Vec<i64>,
    /// nm
    travels: Vec<(i64, i64)>,
    /// The travels with which all of them count, nm.
    all: (i64, i64),
}

impl Bounds {
    fn new(all: &[Bound], grid: &Grid) -> Self {
        // One number each is what sorts the quickest: how far beyond, cell, place in the list. No number is
        // negative, and a cell has fewer than 48 bits.
        let key = |(place, bound): (usize, &Bound)| {
            let (cell, beyond) = grid.cell(bound.at);
            (beyond as u128) << 80 | (cell as u128) << 32 | place as u128
        };
        let mut keys: Vec<u128> = all.iter().enumerate().map(key).collect();
        keys.sort_unstable();
        let bounds = || keys.iter().map(|key| &all[*key as u32 as usize]);
        let (least, most) =
            (all.iter().map(|one| one.travels.0), all.iter().map(|one| one.travels.1));
        Self {
            beyond: keys.iter().map(|key| (key >> 80) as i64).collect(),
            cells: keys.iter().map(|key| (key >> 32) as i64 & ((1 << 48) - 1)).collect(),
            times: bounds().map(|one| one.times).collect(),
            travels: bounds().map(|one| one.travels).collect(),
            all: (least.max().unwrap_or(-FAR), most.min().unwrap_or(FAR)),
        }
    }

    /// Those that stand so far beyond their cells, the end left out.
    fn between(&self, from: i64, to: i64) -> Range<usize> {
        let before = |at: i64| self.beyond.partition_point(|beyond| *beyond < at);
        let first = before(from);
        first..before(to).max(first)
    }

    /// The total of what stands up to some of them less so many cells, for a bearing of some travel.
    fn total(&self, own: Range<usize>, less: i64, travel: i64, sweep: &Sweep) -> i64 {
        let all = self.cells[own.clone()].iter().zip(&self.times[own.clone()]);
        let count = |(cell, times): (&i64, &i64)| {
            i64::from(sweep.total(cell.wrapping_sub(less))).wrapping_mul(*times)
        };
        if self.all.0 <= travel && travel <= self.all.1 {
            return all.map(count).fold(0, i64::wrapping_add);
        }
        let counts = |(least, most): &(i64, i64)| i64::from(*least <= travel && travel <= *most);
        let all = all.zip(&self.travels[own]);
        all.map(|(one, travels)| count(one).wrapping_mul(counts(travels)))
            .fold(0, i64::wrapping_add)
    }
}

fn travel(bearing: &Bearing) -> i64 {
    let [extended, retracted] = ends_of(bearing);
    retracted - extended
}

/// A question as bounds, each with the end that it is of.
fn bounds_of(question: &Question) -> [(usize, Bound); 4] {
    let Question { most, least, times, .. } = *question;
    // The least of two bounds above and the largest of two below hold; which ones hangs on the travel alone. So does
    // whether anything lies between them.
    let any = (least[1] - most[0], most[1] - least[0]);
    let is_empty = least[0] > most[0] || least[1] > most[1];
    let times = if is_empty { 0 } else { times };
    let (above, below) = (most[1] - most[0], least[1] - least[0]);
    let bound = |at: i64, times: i64, (from, to): (i64, i64)| Bound {
        at,
        times,
        travels: (any.0.max(from), any.1.min(to)),
    };
    [
        (0, bound(most[0], times, (-FAR, above))),
        (1, bound(most[1], times, (above + 1, FAR))),
        (0, bound(least[0] - 1, -times, (below, FAR))),
        (1, bound(least[1] - 1, -times, (-FAR, below - 1))),
    ]
}
