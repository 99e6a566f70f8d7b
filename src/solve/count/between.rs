//! All that stands between, less the flywheel, against the ranges of positions that are asked for.
//!
//! Both sides are far too many to be paired, so one side is laid out and the other gone through. Three
//! ways to do that are exact alike, and what is expected to be the quickest is taken: the ranges on the
//! grid of what stands between, totals of the ranges, or totals of what stands between.

use std::rc::Rc;

use itertools::Itertools as _;

use crate::error::Result;
use crate::solve::ask::Watch;
use crate::solve::count::mass::{Masses, Totals, grid};

/// Ranges of positions that are asked for, both ends included, nm.
pub(super) type Asked = Vec<(i64, i64)>;

/// Plates and spacers, and the flywheels that may stand with all of them. They take away.
#[derive(Clone)]
pub(super) struct Pile {
    pub(super) spacers: Rc<Masses>,
    pub(super) flywheels: Masses,
}

/// What stands between with one list of shims: piles whose sums all stand on one grid.
pub(super) struct Between<'m> {
    shims: &'m Masses,
    piles: Vec<Pile>,
    /// The least and the largest sum, nm.
    ends: (i64, i64),
    /// The step of the grid, nm; none where it has too many cells.
    grid: Option<i64>,
}

/// Cells of a grid at most: 16 MB of them.
const MOST_CELLS: i64 = 1 << 22;

/// How many things are laid out at a time at most.
const MOST_LAID_OUT: usize = 1 << 20;

/// A way to count, with what is expected of it, ns.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Way {
    OnGrid,
    ByQuestions,
    ByThings,
}

/// How many sums of some piles lie in ranges, all ranges together.
pub(super) fn count(all: &[Between<'_>], asked: &Asked, watch: &Watch) -> Result<i128> {
    if asked.is_empty() {
        return Ok(0);
    }
    let alone = |one: &Between<'_>| {
        [Way::OnGrid, Way::ByThings]
            .map(|way| (one.cost(way, asked.len()), way))
            .into_iter()
            .min_by(|a, b| a.0.total_cmp(&b.0))
            .unwrap_or((f64::INFINITY, Way::ByThings))
    };
    // Totals of the ranges serve all piles, and are laid out once.
    let lay_out = 80.0 * asked.len() as f64;
    let saved = |one: &Between<'_>| alone(one).0 - one.cost(Way::ByQuestions, asked.len());
    let totals = all.iter().map(|one| saved(one).max(0.0)).sum::<f64>() > lay_out;
    let (mut sum, mut left) = (0, Vec::new());
    for one in all {
        match alone(one).1 {
            _ if totals && saved(one) > 0.0 => left.push(one),
            Way::OnGrid => sum += one.on_grid(asked, watch)?,
            _ => sum += one.by_things(asked, watch)?,
        }
    }
    for block in asked.chunks(if left.is_empty() { asked.len() } else { MOST_LAID_OUT / 2 }) {
        if left.is_empty() {
            break;
        }
        let ends = block.iter().flat_map(|(least, most)| [(*least, 1), (most + 1, -1)]);
        let totals = Totals::new(&mut ends.collect::<Vec<_>>());
        for one in &left {
            sum += one.look_up(one.shims, watch, |at| totals.up_to(at))?;
        }
    }
    Ok(sum)
}

impl<'m> Between<'m> {
    /// Brings piles together by the grid that they stand on.
    pub(super) fn all(shims: &'m Masses, piles: &[Pile]) -> Vec<Self> {
        let of = |list: &Masses| grid(list.iter().map(|(at, _)| *at));
        let lists = piles.iter().flat_map(|pile| [&*pile.spacers]).chain([shims]);
        let steps = lists.filter_map(of).flat_map(|step| [0, step]);
        let step = grid(steps).unwrap_or(1);
        let mut by_rest = Vec::new();
        for pile in piles.iter().filter(|pile| !pile.spacers.is_empty() && !shims.is_empty()) {
            let rest = |at: i64| (pile.spacers[0].0 + shims[0].0 - at).rem_euclid(step);
            let flywheels = pile.flywheels.iter().map(|(at, n)| (rest(*at), (*at, *n)));
            for (rest, flywheels) in flywheels.into_group_map() {
                by_rest.push((rest, Pile { spacers: Rc::clone(&pile.spacers), flywheels }));
            }
        }
        let by_rest = by_rest.into_iter().into_group_map().into_iter().sorted_by_key(|one| one.0);
        by_rest.map(|(_, piles)| Self::new(shims, piles, step)).collect()
    }

    fn new(shims: &'m Masses, piles: Vec<Pile>, step: i64) -> Self {
        let first = |list: &Masses| list[0].0;
        let last = |list: &Masses| list[list.len() - 1].0;
        let low = piles.iter().map(|pile| first(&pile.spacers) - last(&pile.flywheels)).min();
        let high = piles.iter().map(|pile| last(&pile.spacers) - first(&pile.flywheels)).max();
        let ends = (low.unwrap_or(0) + first(shims), high.unwrap_or(0) + last(shims));
        let grid = ((ends.1 - ends.0) / step < MOST_CELLS).then_some(step);
        Self { shims, piles, ends, grid }
    }

    fn cells(&self) -> usize {
        self.grid.map_or(0, |grid| ((self.ends.1 - self.ends.0) / grid) as usize + 1)
    }

    /// Sums of a plate with its spacers and a flywheel.
    fn pairs(&self) -> usize {
        self.piles.iter().map(|pile| pile.spacers.len() * pile.flywheels.len()).sum()
    }

    /// Whether it is worth while to add up what is asked of a sum with any of the shims.
    fn is_folded(&self) -> bool {
        let (cells, shims, pairs) = (self.cells(), self.shims.len(), self.pairs());
        shims > 1 && 4 * cells * shims < 30 * pairs * (shims - 1)
    }

    /// About how long it takes, ns.
    fn cost(&self, way: Way, asked: usize) -> f64 {
        let (asked, shims, pairs) = (asked as f64, self.shims.len() as f64, self.pairs() as f64);
        match way {
            Way::OnGrid if self.grid.is_none() => f64::INFINITY,
            Way::OnGrid => {
                let cells = self.cells() as f64;
                let looked_up = if self.is_folded() {
                    0.4 * cells * shims + 3.0 * pairs
                } else {
                    3.0 * pairs * shims
                };
                1.5 * cells + 5.0 * asked + looked_up
            }
            Way::ByQuestions => 10.0 * pairs * shims,
            Way::ByThings => {
                let pile = |pile: &Pile| {
                    let (spacers, flywheels) = (pile.spacers.len(), pile.flywheels.len());
                    40.0 * spacers as f64 * shims + 20.0 * asked * flywheels as f64
                };
                self.piles.iter().map(pile).sum()
            }
        }
    }

    /// How many ranges hold each cell of the grid; then a look-up for each sum.
    fn on_grid(&self, asked: &Asked, watch: &Watch) -> Result<i128> {
        let (first, count, grid) = (self.ends.0, self.cells(), self.grid.unwrap_or(1));
        let mut cells = vec![0_i32; count + 1];
        let end = first + count as i64 * grid;
        let cell = |at: i64| ((at.clamp(first, end) - first + grid - 1) / grid) as usize;
        for block in asked.chunks(1 << 18) {
            watch.step(1)?;
            for (least, most) in block {
                cells[cell(*least)] += 1;
                cells[cell(most + 1)] -= 1;
            }
        }
        let mut sum = 0;
        for own in &mut cells {
            sum += *own;
            *own = sum;
        }
        let place = |at: i64| ((at - first) / grid) as usize;
        if !self.is_folded() {
            return self.look_up(self.shims, watch, |at| i64::from(cells[place(at)]));
        }
        let (least, most) = (self.shims[0].0, self.shims[self.shims.len() - 1].0);
        let mut folded = vec![0_i64; count - ((most - least) / grid) as usize];
        for (at, n) in self.shims {
            watch.step(1)?;
            let shifted = &cells[((at - least) / grid) as usize..];
            for (sum, own) in folded.iter_mut().zip(shifted) {
                *sum += i64::from(*own) * *n as i64;
            }
        }
        self.look_up(&vec![(least, 1)], watch, |at| folded[place(at)])
    }

    /// The total of something over all sums.
    fn look_up(&self, shims: &Masses, watch: &Watch, of: impl Fn(i64) -> i64) -> Result<i128> {
        let mut total = 0;
        for pile in &self.piles {
            for ((flywheel, times), (shim, n)) in itertools::iproduct!(&pile.flywheels, shims) {
                watch.step(1)?;
                let at = shim - flywheel;
                let spacers = pile.spacers.iter();
                let sum: i128 =
                    spacers.map(|(spacer, m)| i128::from(of(spacer + at)) * i128::from(*m)).sum();
                total += sum * i128::from(n * times);
            }
        }
        Ok(total)
    }

    fn by_things(&self, asked: &Asked, watch: &Watch) -> Result<i128> {
        let mut sum = 0;
        for pile in &self.piles {
            for block in pile.spacers.chunks((MOST_LAID_OUT / self.shims.len()).max(1)) {
                let pair = |(at, n): &(i64, u64)| {
                    let (at, n) = (*at, *n);
                    self.shims.iter().map(move |(shim, m)| (at + shim, (n * m) as i64))
                };
                let totals = Totals::new(&mut block.iter().flat_map(pair).collect::<Vec<_>>());
                for ((flywheel, times), part) in
                    itertools::iproduct!(&pile.flywheels, asked.chunks(1 << 16))
                {
                    watch.step(1)?;
                    let inside = |(least, most): &(i64, i64)| {
                        totals.up_to(most + flywheel) - totals.up_to(least + flywheel - 1)
                    };
                    let own: i128 = part.iter().map(|range| i128::from(inside(range))).sum();
                    sum += own * i128::from(*times);
                }
            }
        }
        Ok(sum)
    }
}
