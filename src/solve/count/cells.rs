//! Totals of very many things that stand on one grid, each list of them moved to places that do not.
//!
//! A position is a cell of the grid and what is left over. All of a moved list has one rest. So a question
//! whose own rest is smaller asks for whole cells below its own, and one whose rest is at least as large
//! for that cell too. Questions are gone through by their rests, and between two rests of lists one array
//! of totals answers them all.

use std::ops::AddAssign;

use crate::solve::count::mass::Masses;

/// A number of things in a cell or up to one: narrow where all of them fit.
pub(crate) trait Number: Copy + Default + AddAssign + Into<u64> {
    /// It is known to fit.
    fn of(number: u64) -> Self;
}

impl Number for u32 {
    fn of(number: u64) -> Self {
        number as Self
    }
}

impl Number for u64 {
    fn of(number: u64) -> Self {
        number
    }
}

/// How many things stand in each cell of a grid.
#[derive(Debug, Clone)]
pub(crate) struct Cells<T> {
    /// Where the first cell begins, nm.
    pub(crate) start: i64,
    pub(crate) counts: Vec<T>,
}

impl<T: Number> Cells<T> {
    /// Things that all stand at the beginning of a cell.
    pub(crate) fn of(masses: &Masses, grid: i64) -> Self {
        let (Some(first), Some(last)) = (masses.first(), masses.last()) else {
            return Self { start: 0, counts: Vec::new() };
        };
        let mut counts = vec![T::default(); ((last.0 - first.0) / grid) as usize + 1];
        for (at, n) in masses {
            counts[((at - first.0) / grid) as usize] += T::of(*n);
        }
        Self { start: first.0, counts }
    }

    /// All sums of one thing of these and one out of a list on the same grid.
    pub(crate) fn plus(&self, list: &Masses, grid: i64) -> Self {
        let (Some(first), Some(last)) = (list.first(), list.last()) else {
            return Self { start: 0, counts: Vec::new() };
        };
        let span = ((last.0 - first.0) / grid) as usize;
        let mut counts = vec![T::default(); self.counts.len() + span];
        let places: Vec<usize> = list
            .iter()
            .flat_map(|(at, n)| {
                let place = ((at - first.0) / grid) as usize;
                std::iter::repeat_n(place, *n as usize)
            })
            .collect();
        add_moved(
            &mut counts,
            &places.iter().map(|place| (&self.counts[..], *place)).collect::<Vec<_>>(),
        );
        Self { start: self.start + first.0, counts }
    }
}

/// How many cells are worked on at a time, so that they stay near.
const TILE: usize = 1 << 13;

/// Adds lists, each moved by some cells, to an array that holds them all.
fn add_moved<T: Number>(into: &mut [T], lists: &[(&[T], usize)]) {
    for (tile, out) in into.chunks_mut(TILE).enumerate() {
        let first = tile * TILE;
        let end = first + out.len();
        for (list, place) in lists {
            let (from, to) = (first.max(*place), end.min(place + list.len()));
            if from < to {
                let own = &list[from - place..to - place];
                for (sum, n) in out[from - first..].iter_mut().zip(own) {
                    *sum += *n;
                }
            }
        }
    }
}

/// One question: how many things lie up to a position, and by how much less with each of some offsets.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Asked {
    /// nm
    pub(crate) to: i64,
    /// Only offsets that rank no higher are asked.
    pub(crate) rank: u32,
    /// It is taken off.
    pub(crate) less: bool,
}

/// What is added to a question's position, with what a question has to allow for that.
pub(crate) type Offsets = Vec<(i64, u32)>;

/// Lists that were moved, and the grid on which each stands by itself.
pub(crate) struct Moved<'m, T> {
    pub(crate) grid: i64,
    /// Each list with how far it is moved, nm.
    pub(crate) lists: Vec<(&'m Cells<T>, i64)>,
}

/// Offsets that leave the same over.
struct Row {
    rest: i64,
    /// Cells, and ranks.
    places: Vec<(i64, u32)>,
    most_rank: u32,
}

impl<T: Number> Moved<'_, T> {
    /// How many things lie up to all of these positions together, those that are taken off less the others.
    pub(crate) fn count(&self, questions: &mut [(Offsets, Vec<Asked>)]) -> i128 {
        let lists: Vec<_> =
            self.lists.iter().filter(|(cells, _)| !cells.counts.is_empty()).collect();
        let Some(origin) = lists.iter().map(|(cells, to)| cells.start + to).min() else { return 0 };
        let cell =
            |at: i64| ((at - origin).div_euclid(self.grid), (at - origin).rem_euclid(self.grid));
        let placed = lists.iter().map(|(cells, to)| {
            let (place, rest) = cell(cells.start + to);
            (rest, (&cells.counts[..], place as usize))
        });
        let mut placed: Vec<(i64, (&[T], usize))> = placed.collect();
        placed.sort_by_key(|(rest, _)| *rest);
        let end = placed.iter().map(|(_, (list, place))| list.len() + place).max().unwrap_or(0);
        // What stands in the cells before each one; then, rest after rest, what stands in it too.
        let mut totals = vec![T::default(); end + 1];
        let all: Vec<(&[T], usize)> = placed.iter().map(|(_, list)| *list).collect();
        add_moved(&mut totals, &all);
        let mut sum = T::default();
        for total in &mut totals {
            let own = *total;
            *total = sum;
            sum += own;
        }
        let mut rows = Vec::new();
        for (offsets, asked) in questions.iter_mut() {
            asked.sort_unstable_by_key(|one| (one.to - origin).rem_euclid(self.grid));
            rows.push(self.rows(offsets));
        }
        let mut count = 0;
        let mut from = 0;
        let mut next = 0;
        loop {
            let to = placed.get(next).map_or(self.grid, |(rest, _)| *rest);
            if from < to {
                for ((_, asked), rows) in questions.iter().zip(&rows) {
                    for row in rows {
                        count += self.count_row(&totals, origin, asked, row, (from, to));
                    }
                }
            }
            if next == placed.len() {
                return count;
            }
            let same = placed[next..].iter().take_while(|(rest, _)| *rest == to).count();
            let more: Vec<(&[T], usize)> =
                placed[next..next + same].iter().map(|(_, list)| *list).collect();
            add_moved(&mut totals, &more);
            (from, next) = (to, next + same);
        }
    }

    fn rows(&self, offsets: &Offsets) -> Vec<Row> {
        let mut all: Vec<(i64, u32, i64)> = offsets
            .iter()
            .map(|(at, rank)| (at.rem_euclid(self.grid), *rank, at.div_euclid(self.grid)))
            .collect();
        all.sort_unstable();
        let rows = all.chunk_by(|a, b| a.0 == b.0).map(|row| Row {
            rest: row[0].0,
            places: row.iter().map(|(_, rank, place)| (*place, *rank)).collect(),
            most_rank: row.iter().map(|(_, rank, _)| *rank).max().unwrap_or(0),
        });
        rows.collect()
    }

    /// Those questions whose rest, with that of a row of offsets, lies in a range.
    fn count_row(
        &self,
        totals: &[T],
        origin: i64,
        asked: &[Asked],
        row: &Row,
        (from, to): (i64, i64),
    ) -> i128 {
        let rest = |one: &Asked| (one.to - origin).rem_euclid(self.grid);
        let mut count = 0;
        for carry in [0, 1] {
            let shift = carry * self.grid - row.rest;
            let first = asked.partition_point(|one| rest(one) < from + shift);
            let end = asked.partition_point(|one| rest(one) < to + shift);
            for one in asked.get(first..end).unwrap_or_default() {
                let cell = (one.to - origin).div_euclid(self.grid) + carry;
                let own = sum_at(totals, cell, row, one.rank);
                count += if one.less { -i128::from(own) } else { i128::from(own) };
            }
        }
        count
    }
}

/// The totals of all places of a row behind a cell.
fn sum_at<T: Number>(totals: &[T], cell: i64, row: &Row, rank: u32) -> u64 {
    let last = totals.len() as i64 - 1;
    let at = |place: i64| -> u64 {
        let cell = cell + place;
        if cell < 0 { 0 } else { totals[cell.min(last) as usize].into() }
    };
    if rank >= row.most_rank {
        return row.places.iter().map(|(place, _)| at(*place)).sum();
    }
    let allowed = row.places.iter().take_while(|(_, own)| *own <= rank);
    allowed.map(|(place, _)| at(*place)).sum()
}
