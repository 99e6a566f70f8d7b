//! How many sums stand at a position or below it, in cells of a grid.
//!
//! What moves all sums of a table by some length moves its cells, so a table of all flywheels is the total of one
//! table, moved by each of them.

use std::ops::Range;

use crate::error::Result;
use crate::solve::ask::Watch;
use crate::solve::count::bounds::{Asking, Asks, Bounds};
use crate::solve::count::mass::{Grid, Masses, ends};
use crate::solve::search::lists::FAR;

/// Cells of a grid at most: 16 MB of them.
pub(super) const MOST_CELLS: i64 = 1 << 22;

/// Cells that are added to at a time: 16 KB of them.
pub(super) const ADDED: usize = 1 << 12;

/// How long it takes to add a cell to another, ns.
pub(super) const ADD: f64 = 0.08;

/// How long it takes to lay a cell out, ns.
pub(super) const LAY: f64 = 1.0;

/// Sums in a range of positions.
#[derive(Clone)]
pub(super) struct Table {
    /// Its cells begin before any position.
    pub(super) grid: Grid,
    /// The first cell.
    pub(super) first: i64,
    /// Of each cell how many stand there or before it: in the first none, in the last all.
    pub(super) cells: Vec<u32>,
}

impl Table {
    /// Empty, from one position to another, with cells of which one begins at a position.
    pub(super) fn new(range: (i64, i64), begins: i64, step: i64) -> Self {
        let grid = Grid::new(-(4 * FAR / step) * step + begins.rem_euclid(step), step);
        let (first, _) = grid.cell(range.0 - step);
        Self { grid, first, cells: vec![0; cells(range, step) as usize] }
    }

    /// Plates, spacers and shims together, which stand on one grid.
    pub(super) fn of(spacers: &Masses, shims: &Masses, step: i64) -> Self {
        let Some(((low, high), (least, most))) = ends(spacers).zip(ends(shims)) else {
            return Self::new((0, 0), 0, step);
        };
        let range = (low + least, high + most);
        let mut table = Self::new(range, range.0, step);
        let shims: Vec<(usize, u64)> = table.grid.in_cells(shims).collect();
        for (cell, n) in table.grid.in_cells(spacers) {
            // Nothing stands in the first cell.
            let own = &mut table.cells[1 + cell..];
            // All together they were seen to have room.
            for (cell, m) in &shims {
                own[*cell] += (n * m) as u32;
            }
        }
        let mut sum = 0;
        for cell in &mut table.cells {
            sum += *cell;
            *cell = sum;
        }
        table
    }

    /// Where the first cell begins, nm.
    pub(super) fn start(&self) -> i64 {
        self.grid.start + self.first * self.grid.step
    }

    /// Adds its cells from one of them on to others, so many times.
    pub(super) fn add_to(&self, sums: &mut [u32], from: i64, times: u64) {
        let Some(all) = self.cells.last() else { return };
        let sums = sums.get_mut((-from).max(0) as usize..).unwrap_or_default();
        let cells = self.cells.get(from.max(0) as usize..).unwrap_or_default();
        let (sums, beyond) = sums.split_at_mut(sums.len().min(cells.len()));
        // All sums together were seen to have room; checked they would be added one by one.
        for _ in 0..times {
            sums.iter_mut().zip(cells).for_each(|(sum, own)| *sum = sum.wrapping_add(*own));
            for sum in beyond.iter_mut() {
                *sum = sum.wrapping_add(*all);
            }
        }
    }

    /// Adds what stands in each of its cells alone, from one of them on, to others so many times.
    pub(super) fn add_steps_to(&self, sums: &mut [u32], from: i64, times: u64) {
        // Nothing stands in the first cell.
        let sums = sums.get_mut((1 - from).max(0) as usize..).unwrap_or_default();
        let cells = self.cells.get((from - 1).max(0) as usize..).unwrap_or_default();
        for (sum, own) in sums.iter_mut().zip(cells.windows(2)) {
            *sum = sum.wrapping_add(own[1].wrapping_sub(own[0]).wrapping_mul(times as u32));
        }
    }

    /// How many stand up to some bounds less what asks with them, all together, of those bounds that then stand so
    /// far beyond their cells, nm. Modulo 2^64.
    ///
    /// # Errors
    ///
    /// Only that the work was interrupted.
    pub(super) fn answer(
        &self,
        asked: &[Asks<'_>],
        seen: Range<i64>,
        watch: &Watch,
    ) -> Result<i64> {
        let mut sum = 0_i64;
        for (bounds, asking) in asked {
            for Asking { at, travel, times } in asking {
                watch.step(1)?;
                let own = self.up_to(bounds, *at, *travel, seen.clone());
                sum = sum.wrapping_add(own.wrapping_mul(*times));
            }
        }
        Ok(sum)
    }

    /// The same for one that asks with all bounds of one end.
    fn up_to(&self, bounds: &Bounds, less: i64, travel: i64, seen: Range<i64>) -> i64 {
        let step = self.grid.step;
        let (cells, beyond) = self.grid.split(less);
        let cells = cells + self.first;
        let (from, to) = (seen.start + beyond, seen.end + beyond);
        let here = bounds.between(from, to.min(step));
        // Where more is taken off than there is beyond the cell, it stands a cell before.
        let before = bounds.between(from - step, to - step);
        // Before the first cell nothing stands, and in the last one everything does.
        let last = self.cells.len() - 1;
        let total = |cell: i64| self.cells[(cell.max(0) as usize).min(last)];
        let here = bounds.total(here, travel, |cell| total(cell.wrapping_sub(cells)));
        let before = bounds.total(before, travel, |cell| total(cell.wrapping_sub(cells + 1)));
        here.wrapping_add(before)
    }
}

/// Adds some cells to others from one of them on, as often as each such move says, block by block, so that what is
/// added to stays near at hand.
///
/// # Errors
///
/// Only that the work was interrupted.
pub(super) fn add_moved<T: Copy>(
    sums: &mut [T],
    cells: &[T],
    moves: &[(usize, u64)],
    add: impl Fn(T, T) -> T,
    watch: &Watch,
) -> Result<()> {
    for (block, sums) in sums.chunks_mut(ADDED).enumerate() {
        for (first, times) in moves {
            watch.step(1)?;
            let own = &cells[block * ADDED + first..];
            for _ in 0..*times {
                sums.iter_mut().zip(own).for_each(|(sum, own)| *sum = add(*sum, *own));
            }
        }
    }
    Ok(())
}

/// How many cells of a width it takes from one position to another, with one before the first.
pub(super) fn cells((low, high): (i64, i64), step: i64) -> i64 {
    // What stands beyond the beginning of its cell may be seen a cell later.
    (high - low) / step + 4
}
