//! How many sums stand at a position or below it, in cells of a grid.
//!
//! Sums with a measured part stand beyond the cells by a length of their own, a phase: each phase has its own
//! cells, and a place is a cell with a phase. What moves all sums of a table by some length moves its cells, so a table
//! of all flywheels is the total of one table, moved by each of them.

use std::rc::Rc;

use crate::error::Result;
use crate::solve::ask::Watch;
use crate::solve::count::mass::{Grid, Masses, ends};
use crate::solve::search::lists::FAR;

/// Places of a table at most: 16 MB of them.
pub(super) const MOST_PLACES: i64 = 1 << 22;

/// How long it takes to add a cell to another, ns.
pub(super) const ADD: f64 = 0.08;

/// Cells that are added to at a time: 16 KB of them.
pub(super) const ADDED: usize = 1 << 12;

/// Sums in a range of positions.
pub(super) struct Table {
    /// Its cells begin before any position.
    pub(super) grid: Grid,
    /// The first cell.
    pub(super) first: i64,
    /// In their order, nm.
    pub(super) phases: Vec<i64>,
    /// By phase, of each cell.
    cells: Vec<Vec<u32>>,
    /// Of each place; where there is but one phase its cells are the places.
    totals: Vec<u32>,
}

impl Table {
    /// Empty, from one position to another.
    pub(super) fn new(range: (i64, i64), phases: Vec<i64>, step: i64) -> Self {
        let grid = grid_from(0, step);
        let (first, _) = grid.cell(range.0 - step);
        let cells = vec![vec![0; cells(range, step) as usize]; phases.len()];
        Self { grid, first, phases, cells, totals: Vec::new() }
    }

    /// Plates, spacers and shims together, which stand on one grid.
    pub(super) fn of(spacers: &Masses, shims: &Masses, step: i64) -> Self {
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
                let (cell, left) = self.grid.cell(piled.start() - less);
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

    /// Where what is in the first cell of its first phase stands, nm.
    pub(super) fn start(&self) -> i64 {
        self.grid.start + self.first * self.grid.step + self.phases[0]
    }

    /// Adds what stands in each cell of a table of one phase alone, from one of them on, to others so many times.
    pub(super) fn add_steps_to(&self, sums: &mut [u32], from: i64, times: u32) {
        // Nothing stands in the first cell.
        let sums = sums.get_mut((1 - from).max(0) as usize..).unwrap_or_default();
        let cells = self.cells[0].get((from - 1).max(0) as usize..).unwrap_or_default();
        for (sum, own) in sums.iter_mut().zip(cells.windows(2)) {
            *sum = sum.wrapping_add(own[1].wrapping_sub(own[0]).wrapping_mul(times));
        }
    }

    /// Adds cells of a table of one phase, from one of them on, to others so many times.
    pub(super) fn add_to(&self, sums: &mut [u32], from: i64, times: u64) {
        let cells = &self.cells[0];
        let Some(all) = cells.last() else { return };
        let sums = sums.get_mut((-from).max(0) as usize..).unwrap_or_default();
        let cells = cells.get(from.max(0) as usize..).unwrap_or_default();
        let (sums, beyond) = sums.split_at_mut(sums.len().min(cells.len()));
        // All sums together were seen to have room; checked they would be added one by one.
        for _ in 0..times {
            sums.iter_mut().zip(cells).for_each(|(sum, own)| *sum = sum.wrapping_add(*own));
            for sum in beyond.iter_mut() {
                *sum = sum.wrapping_add(*all);
            }
        }
    }

    /// Brings the phases together.
    pub(super) fn total(&mut self) {
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

    /// Of each place how many stand there or before it: of the first none, of the last all.
    pub(super) fn totals(&self) -> &[u32] {
        if self.phases.len() == 1 { &self.cells[0] } else { &self.totals }
    }

    /// How many cells it has.
    pub(super) fn len(&self) -> usize {
        self.cells.first().map_or(0, Vec::len)
    }
}

/// A grid that begins before any position, and stands so far beyond a whole number of steps, nm.
pub(super) fn grid_from(beyond: i64, step: i64) -> Grid {
    Grid::new(-(4 * FAR / step) * step + beyond, step)
}

/// How many cells of a width it takes from one position to another, with one before the first.
pub(super) fn cells((low, high): (i64, i64), step: i64) -> i64 {
    (high - low) / step + 3
}
