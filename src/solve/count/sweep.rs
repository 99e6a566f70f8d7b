//! Sums that stand beyond the cells of a grid by many lengths, as they are seen from one place within all cells
//! after another.
//!
//! Of each cell it is kept how many sums stand there or before it, seen from one place within its width: what
//! stands beyond that place in its cell is not yet seen there. On the way through the width those sums are added,
//! length by length, and what asks from just there is answered. Bounds are in order by how far they stand beyond
//! their cells, so those that see alike with something come together.

use std::borrow::Cow;
use std::rc::Rc;

use itertools::{Itertools as _, iproduct};

use crate::error::Result;
use crate::solve::ask::Watch;
use crate::solve::count::bounds::Asks;
use crate::solve::count::mass::{Grid, Masses};
use crate::solve::count::table::{ADDED, Table, add_moved};

/// Tables of sums, each moved by some length.
pub(super) struct Sweep {
    /// All of them, seen from where the cells begin.
    table: Table,
    /// In their order of how far they stand beyond the cells.
    all: Vec<Moved>,
}

/// Sums that are moved by some length.
struct Moved {
    sums: Sums,
    /// How far beyond its cell each sum stands, nm.
    beyond: i64,
    /// How many cells after the first one they begin.
    after: i64,
    times: u64,
}

/// Sums on one grid.
pub(super) enum Sums {
    /// Laid out.
    Table(Rc<Table>),
    /// Plates with spacers, and shims.
    Apart(Rc<Masses>, Rc<Masses>),
}

impl Sums {
    /// Where they begin, nm.
    fn start(&self) -> i64 {
        match self {
            Self::Table(table) => table.start(),
            Self::Apart(spacers, shims) => spacers[0].0 + shims[0].0,
        }
    }
}

impl Sweep {
    /// Nothing yet, from one position to another; most of what will be added stands where cells begin, one of
    /// them at a position.
    pub(super) fn new(range: (i64, i64), begins: i64, step: i64) -> Self {
        Self { table: Table::new(range, begins, step), all: Vec::new() }
    }

    /// The grid of the cells.
    pub(super) fn grid(&self) -> &Grid {
        &self.table.grid
    }

    /// Adds sums, each so many times, less something that moves them, nm. All that are apart have the same shims.
    ///
    /// # Errors
    ///
    /// Only that the work was interrupted.
    pub(super) fn add(
        &mut self,
        all: impl IntoIterator<Item = (Sums, i64, u64)>,
        watch: &Watch,
    ) -> Result<()> {
        let moved = |(sums, less, times): (Sums, i64, u64)| {
            let (cell, beyond) = self.table.grid.cell(sums.start() - less);
            Moved { sums, beyond, after: cell - self.table.first, times }
        };
        let mut new: Vec<Moved> = all.into_iter().map(moved).collect();
        // Block by block, so that what is added to stays near at hand.
        for (block, sums) in self.table.cells.chunks_mut(ADDED).enumerate() {
            for own in &new {
                watch.step(1)?;
                if let Sums::Table(table) = &own.sums {
                    table.add_to(sums, (block * ADDED) as i64 - own.first_seen(), own.times);
                }
            }
        }
        self.add_apart(&new, watch)?;
        self.all.append(&mut new);
        self.all.sort_by_key(|one| one.beyond);
        Ok(())
    }

    /// Adds what is not laid out: first without the shims, then all of it with each of them.
    fn add_apart(&mut self, all: &[Moved], watch: &Watch) -> Result<()> {
        let shims = all.iter().find_map(|own| match &own.sums {
            Sums::Table(_) => None,
            Sums::Apart(_, shims) => Some(Rc::clone(shims)),
        });
        let Some(shims) = shims else { return Ok(()) };
        let (grid, len) = (&self.table.grid, self.table.cells.len());
        let shims: Vec<(usize, u64)> = grid.in_cells(&shims).collect();
        let span = shims.last().map_or(0, |(cells, _)| *cells);
        // With the thickest shim the first of these cells is the first of the table.
        let mut without = vec![0_u32; span + len];
        for own in all {
            let Sums::Apart(spacers, _) = &own.sums else { continue };
            watch.step(1)?;
            let after = own.first_seen() + span as i64;
            for (cells, n) in grid.in_cells(spacers) {
                // What is before all cells counts in the first of them.
                let cell = (after + cells as i64).max(0) as usize;
                if let Some(cell) = without.get_mut(cell) {
                    *cell = cell.wrapping_add((n * own.times) as u32);
                }
            }
        }
        let mut sum = 0_u32;
        for cell in &mut without {
            sum = sum.wrapping_add(*cell);
            *cell = sum;
        }
        let moves: Vec<_> = shims.into_iter().map(|(cells, n)| (span - cells, n)).collect();
        add_moved(&mut self.table.cells, &without, &moves, u32::wrapping_add, watch)
    }

    /// How many sums stand up to some bounds less what asks with them, all together. Modulo 2^64.
    ///
    /// # Errors
    ///
    /// Only that the work was interrupted.
    pub(super) fn answer(&self, asked: &[Asks<'_>], watch: &Watch) -> Result<i64> {
        let (mut table, mut sum) = (Cow::Borrowed(&self.table), 0_i64);
        let lengths = self.all.iter().map(|one| one.beyond).filter(|beyond| *beyond > 0).dedup();
        let limits = [0].into_iter().chain(lengths).chain([self.table.grid.step]);
        for (from, to) in limits.tuple_windows() {
            if from > 0 {
                self.pass(from, table.to_mut(), watch)?;
            }
            sum = sum.wrapping_add(table.answer(asked, from..to, watch)?);
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
                if let Sums::Table(table) = &own.sums {
                    table.add_steps_to(sums, (block * ADDED) as i64 - own.after, own.times);
                }
            }
        }
        for own in &self.all[first..end] {
            let Sums::Apart(spacers, shims) = &own.sums else { continue };
            watch.step(1)?;
            let shims: Vec<(usize, u64)> = self.grid().in_cells(shims).collect();
            for ((spacer, n), (shim, m)) in iproduct!(self.grid().in_cells(spacers), &shims) {
                let cell = own.after + (spacer + shim) as i64;
                let cell = usize::try_from(cell).ok().and_then(|cell| table.cells.get_mut(cell));
                if let Some(cell) = cell {
                    *cell = cell.wrapping_add((n * m * own.times) as u32);
                }
            }
        }
        Ok(())
    }
}

impl Moved {
    /// How many cells after the first one they begin as they are seen from where cells begin.
    fn first_seen(&self) -> i64 {
        self.after + i64::from(self.beyond > 0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::drawn::Drawn;
    use crate::solve::count::bounds::{Asking, Bounds};
    use crate::solve::count::mass::collected;
    use crate::solve::count::query::Question;
    use crate::solve::search::lists::FAR;

    fn masses(draw: &mut Drawn, step: i64, most: i64) -> Masses {
        let n = draw.from(1, 8);
        collected((0..n).map(|_| (draw.from(-2, most) * step, 1)).collect())
    }

    fn question(draw: &mut Drawn) -> Question {
        let mut bound = |usual: bool, far: i64| match draw.from(0, 5) {
            0 => far,
            n if usual || n > 3 => draw.from(-400, 900) * 97,
            _ => far,
        };
        let most = [bound(true, FAR), bound(false, FAR)];
        let least = [bound(false, -FAR), bound(true, -FAR)];
        Question { most, least, clear: 0, bearings: 0, times: draw.from(1, 3) }
    }

    #[test]
    fn as_many_sums_are_allowed_as_looking_at_each_one_finds() {
        let mut draw = Drawn(11);
        let (mut found, mut beside, mut none, mut cut) = (0, 0, 0, 0);
        for _ in 0..400 {
            let step = [1, 100, 2_540, 20_000][usize::try_from(draw.from(0, 3)).unwrap()];
            let shims = Rc::new(masses(&mut draw, step, 12));
            let all: Vec<(Rc<Masses>, i64, u64, bool)> = (0..draw.from(1, 6))
                .map(|_| {
                    let spacers = Rc::new(masses(&mut draw, step, 30));
                    let thickness = match draw.from(0, 2) {
                        0 => draw.from(-9, 9) * step,
                        _ => draw.from(-20 * step, 20 * step),
                    };
                    (spacers, thickness, draw.from(1, 2) as u64, draw.from(0, 1) == 0)
                })
                .collect();
            let asking: Vec<([i64; 2], i64)> = (0..draw.from(1, 4))
                .map(|_| {
                    let extended = draw.from(-9_000, 9_000);
                    ([extended, extended + draw.from(0, 30_000)], draw.from(1, 2))
                })
                .collect();
            let questions: Vec<Question> =
                (0..draw.from(1, 20)).map(|_| question(&mut draw)).collect();

            let mut sums = Vec::new();
            for (spacers, thickness, times, _) in &all {
                beside += usize::from(thickness % step != 0);
                for (spacer, shim) in iproduct!(spacers.iter(), shims.iter()) {
                    sums.push((spacer.0 + shim.0 - thickness, (spacer.1 * shim.1 * times) as i64));
                }
            }
            let (mut by_hand, mut asked) = (0, (FAR, -FAR));
            for (question, (ends, times)) in iproduct!(&questions, &asking) {
                let low = (question.least[0] - ends[0]).max(question.least[1] - ends[1]);
                let high = (question.most[0] - ends[0]).min(question.most[1] - ends[1]);
                if low <= high {
                    asked = (asked.0.min(low), asked.1.max(high));
                }
                let inside = sums.iter().filter(|(at, _)| low <= *at && *at <= high);
                let own: i64 = inside.map(|(_, n)| n).sum();
                by_hand += own * times * question.times;
            }

            // A table reaches as far as is asked, and holds no less and no more than there is.
            let (first, last) = sums.iter().map(|(at, _)| *at).minmax().into_option().unwrap();
            let low = (asked.0 - 1).clamp(first - 1, last);
            let high = asked.1.clamp(low, last);
            cut += usize::from(first < low);
            let begins = draw.from(-step, step);
            let mut sweep = Sweep::new((low, high), begins, step);
            let moved = all.iter().map(|(spacers, thickness, times, is_laid)| {
                let sums = if *is_laid {
                    Sums::Table(Rc::new(Table::of(spacers, &shims, step)))
                } else {
                    Sums::Apart(Rc::clone(spacers), Rc::clone(&shims))
                };
                (sums, *thickness, *times)
            });
            let watch = Watch::default();
            sweep.add(moved, &watch).unwrap();
            let travels = asking.iter().map(|([extended, retracted], _)| retracted - extended);
            let travels = travels.minmax().into_option().unwrap();
            let by_sweep: i64 = [0, 1]
                .map(|end| {
                    let bounds = Bounds::of(&questions, end, travels, sweep.grid());
                    let asking = asking.iter().map(|(ends, times)| Asking {
                        at: ends[end],
                        travel: ends[1] - ends[0],
                        times: *times,
                    });
                    sweep.answer(&[(&bounds, asking.collect())], &watch).unwrap()
                })
                .iter()
                .sum();
            assert_eq!(by_sweep, by_hand, "step {step}, {all:?}, {shims:?}, {asking:?}");
            found += usize::from(by_hand > 0);
            none += usize::from(by_hand == 0);
        }
        let told = format!("{found} found, {none} none, {beside} beside, {cut} cut");
        assert!(found > 150 && none > 20 && beside > 300 && cut > 30, "{told}");
    }
}
