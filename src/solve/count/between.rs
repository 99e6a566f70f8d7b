//! All that stands between, less the flywheel, against the ranges of positions that are asked for.
//!
//! Both sides are far too many to be paired, so one side is laid out and the other gone through. Three
//! ways to do that are exact alike, and what is expected to be the quickest is taken: the ranges on the
//! grid of what stands between, totals of the ranges, or totals of what stands between.

use std::ops::Range;
use std::rc::Rc;

use itertools::{Itertools as _, iproduct};

use crate::error::Result;
use crate::solve::ask::Watch;
use crate::solve::count::bounds::{Bounds, Placed};
use crate::solve::count::mass::{Grid, Masses, Totals, ends};
use crate::solve::count::query::{Question, ends_of};
use crate::solve::count::table::{MOST_CELLS, add_moved};
use crate::solve::numbers::checks::Starter;
use crate::solve::search::lists::Bearing;

/// Ranges of positions that are asked for: of questions with the bearings that each may have.
#[derive(Clone, Copy)]
pub(super) struct Asked<'q> {
    pub(super) questions: &'q [Question],
    /// By the question's list of bearings.
    pub(super) bearings: &'q [Vec<&'q Bearing>],
    pub(super) placed: &'q Placed,
    pub(super) watch: &'q Watch,
}

impl Asked<'_> {
    fn bearings(&self, question: &Question) -> &[&Bearing] {
        &self.bearings[question.bearings]
    }

    /// How many questions are put in their places at a time.
    fn at_once(&self) -> usize {
        let longest = self.bearings.iter().map(Vec::len).max().unwrap_or(0);
        (MOST_MOVES / (2 * longest.max(1))).max(1)
    }

    /// How many ranges there are at most.
    pub(super) fn len(&self) -> usize {
        self.questions.iter().map(|question| self.bearings(question).len()).sum()
    }

    /// What some questions ask on a grid: bounds by the extended and by the retracted end, with the bearings that
    /// ask. `own` are their places.
    pub(super) fn placed(
        &self,
        own: Range<usize>,
        grid: &Grid,
    ) -> Vec<(Rc<[Bounds; 2]>, &[&Bearing])> {
        let mut first = own.start;
        let by_list = self.questions[own].chunk_by(|a, b| a.bearings == b.bearings);
        let placed = by_list.map(|questions| {
            let bounds = self.placed.of(first, questions, grid);
            first += questions.len();
            (bounds, self.bearings(&questions[0]))
        });
        placed.collect()
    }

    /// By how many ranges a position is held at most.
    pub(super) fn most_held(&self) -> u64 {
        let of = |question: &Question| {
            question.times.unsigned_abs() * self.bearings(question).len() as u64
        };
        self.questions.iter().map(of).sum()
    }

    /// Between which positions anything that is asked for may stand, nm; none where nothing is asked.
    pub(super) fn reach(&self) -> Option<(i64, i64)> {
        let bearings = self.bearings.iter().flatten();
        let extended = bearings.clone().map(|one| one.ends.extended.at).minmax().into_option()?;
        let retracted = bearings.map(|one| one.ends.retracted.at).minmax().into_option()?;
        let least = |one: &Question| (one.least[0] - extended.1).max(one.least[1] - retracted.1);
        let most = |one: &Question| (one.most[0] - extended.0).min(one.most[1] - retracted.0);
        let low = self.questions.iter().map(least).min()?;
        let high = self.questions.iter().map(most).max()?;
        Some((low, high.max(low)))
    }

    /// Every range that is not empty, both ends included, nm, and how many ask for it.
    fn each(&self, mut each: impl FnMut(i64, i64, i64) -> Result<()>) -> Result<()> {
        for question in self.questions {
            self.watch.step(1)?;
            for bearing in self.bearings(question) {
                let (least, most) = question.with(bearing);
                if least <= most {
                    each(least, most, question.times)?;
                }
            }
        }
        Ok(())
    }
}

/// Plates and spacers, and the flywheels that may stand with all of them: some of each. The flywheels take away.
#[derive(Clone)]
pub(super) struct Pile {
    pub(super) starter: Starter,
    pub(super) spacers: Rc<Masses>,
    pub(super) flywheels: Masses,
}

impl Pile {
    /// Between which positions it stands with some shims, nm.
    pub(super) fn between(&self, shims: &Masses) -> Option<(i64, i64)> {
        let ((low, high), (least, most)) = ends(&self.spacers).zip(ends(shims))?;
        let (thin, thick) = ends(&self.flywheels)?;
        Some((low + least - thick, high + most - thin))
    }

    /// Sums of plates with spacers and a flywheel.
    fn pairs(&self) -> usize {
        self.spacers.len() * self.flywheels.len()
    }
}

/// Between which positions some piles stand with some shims, nm; none where there are none.
pub(super) fn between<'p>(
    piles: impl IntoIterator<Item = &'p Pile>,
    shims: &Masses,
) -> Option<(i64, i64)> {
    let all = piles.into_iter().filter_map(|pile| pile.between(shims));
    all.reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)))
}

/// What stands between with one list of shims, wherever it stands.
pub(super) struct Apart<'m> {
    pub(super) shims: &'m Masses,
    pub(super) piles: &'m [Pile],
}

/// What stands between with one list of shims, on a grid.
pub(super) struct Between<'m> {
    shims: &'m Masses,
    by_phase: ByPhase,
    grid: Grid,
    /// How many cells it has.
    count: usize,
}

/// How many things are laid out at a time at most.
const MOST_LAID_OUT: usize = 1 << 20;

/// Ends of ranges that move from cell to cell, at a time at most: 16 MB of them.
const MOST_MOVES: usize = 1 << 21;

/// Places within a cell, nm, of which it is worked out beforehand who sees them.
const MOST_KNOWN: i64 = 1 << 12;

/// A way to count without a grid.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Way {
    ByQuestions,
    ByThings,
}

/// Sums that stand beyond the cells of the grid alike, by how far, nm: of each the spacers, and flywheels.
type ByPhase = Vec<(i64, Vec<Pile>)>;

impl Apart<'_> {
    /// The way to count without a grid that is expected to be the quickest, and how long it takes, ns.
    pub(super) fn way(&self, asked: &Asked<'_>) -> (Way, f64) {
        let (asked, shims) = (asked.len() as f64, self.shims.len() as f64);
        let pairs: usize = self.piles.iter().map(Pile::pairs).sum();
        let by_questions = 80.0 * asked + 10.0 * shims * pairs as f64;
        let by_pile = self.piles.iter().map(|pile| {
            let (spacers, flywheels) = (pile.spacers.len(), pile.flywheels.len());
            25.0 * spacers as f64 * shims + 12.0 * asked * flywheels as f64
        });
        let by_things: f64 = by_pile.sum();
        match asked {
            0.0 => (Way::ByThings, 0.0),
            _ if by_questions < by_things => (Way::ByQuestions, by_questions),
            _ => (Way::ByThings, by_things),
        }
    }

    /// How many sums lie in ranges, all ranges together.
    pub(super) fn count(&self, asked: &Asked<'_>, way: Way) -> Result<i128> {
        match way {
            _ if asked.len() == 0 => Ok(0),
            Way::ByQuestions => self.by_questions(asked),
            Way::ByThings => self.by_things(asked),
        }
    }

    /// Totals of the ranges, and a look-up for each sum.
    fn by_questions(&self, asked: &Asked<'_>) -> Result<i128> {
        let (mut sum, mut ends) = (0, Vec::new());
        let mut answer = |ends: &mut Vec<(i64, i64)>| {
            let totals = Totals::new(ends);
            ends.clear();
            sum += self.look_up(asked.watch, |at| totals.up_to(at))?;
            Ok(())
        };
        asked.each(|least, most, times| {
            ends.extend([(least, times), (most + 1, -times)]);
            if ends.len() < MOST_LAID_OUT { Ok(()) } else { answer(&mut ends) }
        })?;
        answer(&mut ends)?;
        Ok(sum)
    }

    /// The total of something over all sums.
    fn look_up(&self, watch: &Watch, of: impl Fn(i64) -> i64) -> Result<i128> {
        let mut total = 0;
        for pile in self.piles {
            for ((flywheel, times), (shim, n)) in iproduct!(&pile.flywheels, self.shims) {
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

    /// Totals of plates, spacers and shims, and look-ups for each range and flywheel.
    fn by_things(&self, asked: &Asked<'_>) -> Result<i128> {
        let mut sum = 0;
        for pile in self.piles {
            for block in pile.spacers.chunks((MOST_LAID_OUT / self.shims.len()).max(1)) {
                let pair = |(at, n): &(i64, u64)| {
                    let (at, n) = (*at, *n);
                    self.shims.iter().map(move |(shim, m)| (at + shim, (n * m) as i64))
                };
                let totals = Totals::new(&mut block.iter().flat_map(pair).collect::<Vec<_>>());
                asked.each(|least, most, times| {
                    for (flywheel, n) in &pile.flywheels {
                        let below = totals.up_to(least + flywheel - 1);
                        let inside = totals.up_to(most + flywheel) - below;
                        sum += i128::from(inside) * i128::from(*n) * i128::from(times);
                    }
                    Ok(())
                })?;
            }
        }
        Ok(sum)
    }
}

impl<'m> Between<'m> {
    /// On a grid on which plates, spacers and shims stand; none where nothing stands there or the cells have
    /// no room for it.
    pub(super) fn new(shims: &'m Masses, piles: &[Pile], step: i64) -> Option<Self> {
        let (low, high) = between(piles, shims)?;
        let start = low.div_euclid(step) * step;
        let count = (high - start) / step + 1;
        let grid = Grid::new(start, step);
        let by_phase = || by_phase(&grid, shims[0].0, piles);
        (count < MOST_CELLS).then(|| Self {
            shims,
            by_phase: by_phase(),
            grid,
            count: count as usize,
        })
    }

    /// How long it takes on the grid, with the flywheels in so many parts, ns; none where a cell has no room
    /// for all that may be asked of it.
    pub(super) fn cost_on_grid(&self, asked: &Asked<'_>, parts: usize) -> Option<f64> {
        let (len, cells) = (asked.len() as f64, self.count as f64);
        let chunks = asked.questions.len().div_ceil(asked.at_once()) as f64;
        let looked_up = |(_, piles): &(i64, Vec<Pile>)| {
            let (pairs, shims) = (pairs(piles) as f64, self.shims.len() as f64);
            if self.is_folded(piles) { 0.2 * cells * shims + pairs } else { pairs * shims }
        };
        let moves = if self.by_phase.len() > 1 { 5.0 } else { 0.0 };
        let looked_up: f64 = self.by_phase.iter().map(looked_up).sum();
        let laid_out = 2.0 * cells * chunks * parts as f64 + (5.0 + moves) * len;
        i32::try_from(asked.most_held()).is_ok().then_some(laid_out + 1.5 * chunks * looked_up)
    }

    /// Whether it is worth while to add up what is asked of a sum with any of the shims.
    fn is_folded(&self, piles: &[Pile]) -> bool {
        let (cells, shims) = (self.count, self.shims.len());
        shims > 1 && cells * shims < 8 * pairs(piles) * (shims - 1)
    }

    /// How many ranges hold each cell of the grid; then a look-up for each sum. Sums that stand a little
    /// beyond the cells see the same ranges but for the few whose ends lie between: those ends move over
    /// one by one. `piles` are some of the flywheels with their spacers.
    pub(super) fn on_grid(
        &self,
        asked: &Asked<'_>,
        piles: impl Fn(Range<usize>) -> Vec<Pile>,
    ) -> Result<i128> {
        let mut sum = 0;
        for questions in asked.questions.chunks(asked.at_once()) {
            let mut laid_out = LaidOut {
                cells: vec![0; self.count + 1],
                moves: vec![Vec::new(); self.by_phase.len()],
            };
            let mut put = 0;
            // The fewest questions may have the most flywheels, and every question joins those before it.
            let limits = questions.iter().map(|one| one.clear).dedup().chain([0]);
            for (clear, fewer) in limits.tuple_windows() {
                let own = questions.partition_point(|one| one.clear >= clear);
                self.lay_out(&mut laid_out, &Asked { questions: &questions[put..own], ..*asked })?;
                put = own;
                let piles = piles(fewer..clear);
                let by_phase = by_phase(&self.grid, self.shims[0].0, &piles);
                let asked = Asked { questions: &questions[..own], ..*asked };
                sum += self.look_up_phases(&laid_out, &by_phase, &asked)?;
            }
        }
        Ok(sum)
    }

    /// What is asked of some piles.
    fn look_up_phases(
        &self,
        laid_out: &LaidOut,
        by_phase: &ByPhase,
        asked: &Asked<'_>,
    ) -> Result<i128> {
        let mut cells = laid_out.cells.clone();
        let mut held = 0_i32;
        for own in &mut cells {
            // No cell is held by more ranges than there are, and these were seen to have room.
            held = held.wrapping_add(*own);
            *own = held;
        }
        let (mut sum, mut left) = (0, by_phase.iter().peekable());
        for ((phase, _), moves) in self.by_phase.iter().zip(&laid_out.moves) {
            asked.watch.step(1)?;
            if left.peek().is_none() {
                break;
            }
            for (cell, more) in moves {
                cells[*cell as usize] += more;
            }
            if let Some((_, piles)) = left.next_if(|(own, _)| own == phase) {
                sum += self.look_up_cells(piles, &cells, asked)?;
            }
        }
        Ok(sum)
    }

    /// Puts the ends of what is asked in their places.
    fn lay_out(&self, laid_out: &mut LaidOut, asked: &Asked<'_>) -> Result<()> {
        let grid = &self.grid;
        let LaidOut { cells, moves } = laid_out;
        let phases: Vec<i64> = self.by_phase.iter().map(|(phase, _)| *phase).collect();
        // By how far the end of a range stands beyond its cell: the first phase that sees it there.
        let sees = |beyond: i64| phases.partition_point(|phase| *phase < beyond);
        let known: Vec<usize> = (0..grid.step.min(MOST_KNOWN)).map(sees).collect();
        let sees = |beyond: i64| match phases.as_slice() {
            [only] => usize::from(beyond > *only),
            _ => known.get(beyond as usize).copied().unwrap_or_else(|| sees(beyond)),
        };
        let mut put = |at: (i64, i64), more: i32| {
            let (cell, beyond) = at;
            if cell >= self.count as i64 {
                return;
            }
            // Ends before the first cell stand at its beginning.
            let phase = if cell < 0 { 0 } else { sees(beyond) };
            let cell = cell.max(0) as usize;
            cells[cell + usize::from(phase > 0)] += more;
            if phase > 0 && phase < phases.len() {
                moves[phase].push((cell as u32, more));
            }
        };
        // What bearings take off is split into cells beforehand, and so is what a question asks.
        let split = |bearing: &&Bearing| {
            let ends = ends_of(bearing);
            (ends, ends.map(|end| grid.split(end)))
        };
        let bearings: Vec<Vec<_>> =
            asked.bearings.iter().map(|list| list.iter().map(split).collect()).collect();
        for question in asked.questions {
            asked.watch.step(1)?;
            let least = question.least.map(|at| (at, grid.split(at - grid.start)));
            // The first position that is too far.
            let most = question.most.map(|at| (at, grid.split(at + 1 - grid.start)));
            for (ends, cells) in &bearings[question.bearings] {
                let [one, two] = [0, 1].map(|end| least[end].0 - ends[end]);
                let (low, from) = if one >= two { (one, 0) } else { (two, 1) };
                let [one, two] = [0, 1].map(|end| most[end].0 - ends[end]);
                let (high, to) = if one <= two { (one, 0) } else { (two, 1) };
                if low <= high {
                    put(grid.less(least[from].1, cells[from]), question.times as i32);
                    put(grid.less(most[to].1, cells[to]), -question.times as i32);
                }
            }
        }
        Ok(())
    }

    /// The total of what is asked of all sums of some piles that stand alike to the cells.
    fn look_up_cells(&self, piles: &[Pile], cells: &[i32], asked: &Asked<'_>) -> Result<i128> {
        let shim = self.shims[0].0;
        let shims: Vec<(usize, u64)> = self.grid.in_cells(self.shims).collect();
        let is_folded = self.is_folded(piles) && self.fits_folded(asked);
        let folded = if is_folded { self.fold(&shims, cells, asked.watch)? } else { Vec::new() };
        let (cells, shims) =
            if is_folded { (folded.as_slice(), [(0, 1)].as_slice()) } else { (cells, &*shims) };
        let mut total = 0;
        for pile in piles {
            let from = pile.spacers[0].0;
            let spacers: Vec<(usize, u64)> = self.grid.in_cells(&pile.spacers).collect();
            for (flywheel, times) in &pile.flywheels {
                asked.watch.step(1)?;
                let (first, _) = self.grid.split(from + shim - flywheel - self.grid.start);
                for (cell, n) in shims {
                    let own = &cells[first as usize + cell..];
                    // A cell has 31 bits, and stacks of one flywheel and shim fewer than the other 32.
                    let sum = spacers.iter().fold(0_i64, |sum, (at, m)| {
                        sum.wrapping_add(i64::from(own[*at]).wrapping_mul(*m as i64))
                    });
                    total += i128::from(sum) * i128::from(n * times);
                }
            }
        }
        Ok(total)
    }

    /// Whether what is asked of a sum with any of the shims has room in a cell.
    fn fits_folded(&self, asked: &Asked<'_>) -> bool {
        let shims: u64 = self.shims.iter().map(|(_, n)| n).sum();
        asked.most_held().checked_mul(shims).is_some_and(|held| i32::try_from(held).is_ok())
    }

    /// What is asked of a sum with any of the shims, by the sum without them.
    fn fold(&self, shims: &[(usize, u64)], cells: &[i32], watch: &Watch) -> Result<Vec<i32>> {
        let most = shims.last().map_or(0, |(cells, _)| *cells);
        let mut folded = vec![0_i32; self.count.saturating_sub(most)];
        add_moved(&mut folded, cells, shims, i32::wrapping_add, watch)?;
        Ok(folded)
    }
}

/// Ends of ranges that are asked for, on a grid.
struct LaidOut {
    /// How many more ranges hold each cell than the one before it, as the sums of the first phase see it.
    cells: Vec<i32>,
    /// For each other phase the ends that it sees a cell earlier: the cell, and how many more hold it then.
    moves: Vec<Vec<(u32, i32)>>,
}

/// Piles by how far their sums stand beyond the cells of a grid.
fn by_phase(grid: &Grid, shim: i64, piles: &[Pile]) -> ByPhase {
    let mut by_phase = Vec::new();
    for pile in piles {
        let first = pile.spacers[0].0 + shim - grid.start;
        let phase = |at: i64| (first - at).rem_euclid(grid.step);
        let flywheels = pile.flywheels.iter().map(|(at, n)| (phase(*at), (*at, *n)));
        for (phase, flywheels) in flywheels.into_group_map() {
            let spacers = Rc::clone(&pile.spacers);
            by_phase.push((phase, Pile { spacers, flywheels, ..*pile }));
        }
    }
    let by_phase = by_phase.into_iter().into_group_map().into_iter();
    by_phase.sorted_by_key(|(phase, _)| *phase).collect()
}

fn pairs(piles: &[Pile]) -> usize {
    piles.iter().map(Pile::pairs).sum()
}
