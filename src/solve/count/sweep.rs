//! Sums that stand beyond the cells of a grid by many lengths, as they are seen from one place within all cells
//! after another.
//!
//! Of each cell it is kept how many sums stand there or before it, seen from one place within its width: what
//! stands beyond that place in its cell is not yet seen there. On the way through the width those sums are added,
//! length by length, and what asks from just there is answered. Bounds are in order by how far they stand beyond
//! their cells, so those that see alike with something come together.

use std::borrow::Cow;
use std::rc::Rc;

use itertools::Itertools as _;

use crate::error::Result;
use crate::solve::ask::Watch;
use crate::solve::count::bounds::Bounds;
use crate::solve::count::table::Table;

/// Cells that are added to at a time: 16 KB of them.
const ADDED: usize = 1 << 12;

/// Tables of sums, each moved by some length.
pub(super) struct Sweep {
    /// All of them, seen from where the cells begin.
    table: Table,
    /// In their order of how far they stand beyond the cells.
    all: Vec<Moved>,
}

/// A table that is moved by some length.
struct Moved {
    table: Rc<Table>,
    /// How far beyond its cell each sum of it stands, nm.
    beyond: i64,
    /// How many cells after the first one its own first one is.
    after: i64,
    times: u64,
}

/// What asks with bounds: a bearing by one of its ends, or flywheels of one thickness.
#[derive(Clone, Copy)]
pub(super) struct Asking {
    /// Where it stands, nm: so much less is left of a bound.
    pub(super) at: i64,
    /// nm
    pub(super) travel: i64,
    pub(super) times: i64,
}

impl Sweep {
    /// Nothing yet, from one position to another; most of what will be added stands where cells begin, one of
    /// them at a position.
    pub(super) fn new(range: (i64, i64), begins: i64, step: i64) -> Self {
        Self { table: Table::new(range, begins, step), all: Vec::new() }
    }

    /// The grid of the cells.
    pub(super) fn table(&self) -> &Table {
        &self.table
    }

    /// Adds tables, each so many times, less something that moves it, nm.
    ///
    /// # Errors
    ///
    /// Only that the work was interrupted.
    pub(super) fn add(
        &mut self,
        tables: impl IntoIterator<Item = (Rc<Table>, i64, u64)>,
        watch: &Watch,
    ) -> Result<()> {
        let moved = |(table, less, times): (Rc<Table>, i64, u64)| {
            let (cell, beyond) = self.table.grid.cell(table.start() - less);
            Moved { table, beyond, after: cell - self.table.first, times }
        };
        let mut new: Vec<Moved> = tables.into_iter().map(moved).collect();
        // Block by block, so that what is added to stays near at hand.
        for (block, sums) in self.table.cells.chunks_mut(ADDED).enumerate() {
            for own in &new {
                watch.step(1)?;
                let after = own.after + i64::from(own.beyond > 0);
                own.table.add_to(sums, (block * ADDED) as i64 - after, own.times);
            }
        }
        self.all.append(&mut new);
        self.all.sort_by_key(|one| one.beyond);
        Ok(())
    }

    /// How many sums stand up to some bounds less what asks with them, all together. Modulo 2^64.
    ///
    /// # Errors
    ///
    /// Only that the work was interrupted.
    pub(super) fn answer(&self, asked: &[(&Bounds, Vec<Asking>)], watch: &Watch) -> Result<i64> {
        let (mut table, mut sum) = (Cow::Borrowed(&self.table), 0_i64);
        let lengths = self.all.iter().map(|one| one.beyond).filter(|beyond| *beyond > 0).dedup();
        let limits = [0].into_iter().chain(lengths).chain([self.table.grid.step]);
        for (from, to) in limits.tuple_windows() {
            if from > 0 {
                self.pass(from, table.to_mut(), watch)?;
            }
            for (bounds, asking) in asked {
                for Asking { at, travel, times } in asking {
                    watch.step(1)?;
                    let own = table.up_to(bounds, *at, *travel, from..to);
                    sum = sum.wrapping_add(own.wrapping_mul(*times));
                }
            }
        }
        Ok(sum)
    }

    /// Passes the sums that stand so far beyond their cells.
    fn pass(&self, beyond: i64, table: &mut Table, watch: &Watch) -> Result<()> {
        let first = self.all.partition_point(|one| one.beyond < beyond);
        let end = self.all.partition_point(|one| one.beyond <= beyond);
        for (block, sums) in table.cells.chunks_mut(ADDED).enumerate() {
            for own in &self.all[first..end] {
                watch.step(1)?;
                own.table.add_steps_to(sums, (block * ADDED) as i64 - own.after, own.times);
            }
        }
        Ok(())
    }
}
