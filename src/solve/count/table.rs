//! All that stands between and the bearing's ends, laid out together: how many of them stand at a position
//! or below it.
//!
//! With more travel a bearing suits more: so bearings join one by one, the longest travel first, and a
//! question is answered when just those have joined whose travel is enough for it (and, taken off again,
//! those whose travel is too much). What it asks of each end is then the same of all of them. Bearings that
//! stand beside the grid of the others, as measured pieces do, are in no table.

use std::rc::Rc;

use itertools::Itertools as _;
use rustc_hash::FxHashMap;

use crate::error::Result;
use crate::solve::ask::Watch;
use crate::solve::count::mass::{Masses, grid};
use crate::solve::count::query::{Group, Question};
use crate::solve::count::{Rear, Seats};
use crate::solve::numbers::checks::Starter;
use crate::solve::search::lists::Bearing;

/// Cells at most, of one table and of all that stands between: 16 MB of them.
const MOST_CELLS: i64 = 1 << 22;

/// Tables that are kept at a time at most: of both ends.
const MOST_TABLES: usize = 6;

/// What is asked at a time at most: 16 MB of it.
const MOST_TERMS: usize = 1 << 20;

/// How long it takes to take a question down, to lay out a sum, to add a cell to another, and to look one
/// up; ns.
const ASK: f64 = 400.0;
const LAY: f64 = 2.0;
const ADD: f64 = 0.4;
const LOOK: f64 = 3.0;

/// How many plates, spacers and shims stand at a position or below it, by cell.
struct Piled {
    /// Of the first cell, nm.
    first: i64,
    up_to: Vec<u32>,
}

impl Piled {
    fn new(spacers: &Masses, shims: &Masses, step: i64) -> Self {
        let (Some((low, high)), Some((least, most))) = (ends(spacers), ends(shims)) else {
            return Self { first: 0, up_to: Vec::new() };
        };
        let mut up_to = vec![0_u32; ((high + most - low - least) / step + 1) as usize];
        let shims = shims.iter().map(|(at, n)| (((at - least) / step) as usize, *n as u32));
        let shims: Vec<(usize, u32)> = shims.collect();
        for (at, n) in spacers {
            let own = &mut up_to[((at - low) / step) as usize..];
            // All together they were seen to have room.
            for (at, m) in &shims {
                own[*at] += *n as u32 * m;
            }
        }
        let mut sum = 0;
        for cell in &mut up_to {
            sum += *cell;
            *cell = sum;
        }
        Self { first: low + least, up_to }
    }
}

/// The first and the last position, nm.
fn ends(masses: &Masses) -> Option<(i64, i64)> {
    Some((masses.first()?.0, masses.last()?.0))
}

/// How many there are.
fn count(masses: &Masses) -> u64 {
    masses.iter().map(|(_, n)| n).sum()
}

/// A bearing, and which list of what stands between goes with it.
struct Joining {
    /// nm
    travel: i64,
    /// Extended and retracted, nm.
    ends: [i64; 2],
    seat: usize,
}

/// How many of those that have joined stand, less their end, at a position or below it.
#[derive(Clone, Copy)]
struct Term {
    /// But for the flywheel, nm.
    at: i64,
    /// Which flywheels.
    set: u32,
    /// Extended or retracted.
    end: u8,
    /// It is taken off.
    less: bool,
}

/// Bearings that the same plates meet, the longest travel first; and what is asked of them, by how many
/// have joined.
struct Kin {
    bearings: Vec<Joining>,
    /// Of each bearing, nm.
    travels: Vec<i64>,
    terms: Vec<Vec<Term>>,
}

/// A flywheel's thickness in cells, what is left of it in nm, and how many there are.
type Thickness = (i64, i64, i64);

/// Flywheels of a group: by starter how many of the first thicknesses.
struct Set {
    group: usize,
    first: Vec<usize>,
}

/// Cells of one table: those that stand beyond the grid alike, with one end.
struct Table {
    end: usize,
    /// How far the cells stand beyond the grid, nm.
    phase: i64,
    /// The position of the first cell, nm.
    start: i64,
    cells: Vec<u32>,
}

/// All tables of a frame with the block plates of one sort.
pub(super) struct Tables<'w> {
    watch: &'w Watch,
    step: i64,
    starters: Vec<Starter>,
    /// By starter and seat.
    piled: Vec<Vec<Piled>>,
    kin: Vec<Kin>,
    /// By list of bearings, the kin of which it is made.
    lists: Vec<Vec<usize>>,
    /// By group and starter, in the order of the rooms that they leave.
    groups: Vec<Vec<Vec<Thickness>>>,
    sets: Vec<Set>,
    terms: usize,
    pub(super) sum: i128,
}

/// Plates and spacers by the starter that lets the flywheel be there.
type Spacers = FxHashMap<Starter, Rc<Masses>>;

/// How large the tables of a frame are.
pub(super) struct Size {
    /// The grid on which plates, spacers and shims stand, nm.
    step: i64,
    /// How far beyond the grid most bearings stand with them, extended and retracted, nm.
    phases: Vec<[i64; 2]>,
    /// How long it takes to lay all out, and to let the bearings join, ns.
    lay: f64,
    join: f64,
    /// What part of the bearings stands elsewhere, and is in no table.
    pub(super) strays: f64,
}

impl Size {
    /// None where there is no room for them.
    pub(super) fn of(rears: &[Rear<'_>]) -> Option<Self> {
        let lists = rears.iter().flat_map(|(spacers, seats)| {
            let shims = seats.iter().map(|seat| &seat.shims);
            spacers.values().map(|spacers| &**spacers).chain(shims)
        });
        let steps = lists.filter_map(|list| grid(list.iter().map(|(at, _)| *at)));
        let step = grid(steps.flat_map(|step| [0, step])).unwrap_or(1);
        let mut size = Self { step, phases: Vec::new(), lay: 0.0, join: 0.0, strays: 0.0 };
        let all = pairs(rears).flat_map(|(spacers, seat)| {
            let own = seat.all.values().flat_map(|one| size.phases_of(spacers, seat, one));
            own.collect::<Vec<_>>()
        });
        let counts = all.counts();
        let of_all: usize = counts.values().sum();
        let often = counts.into_iter().filter(|(_, count)| count * MOST_TABLES >= of_all);
        let often =
            often.sorted_unstable_by_key(|(phase, count)| (std::cmp::Reverse(*count), *phase));
        size.phases = often.map(|(phase, _)| phase).take(MOST_TABLES / 2).collect();
        let (mut cells, mut stand, mut bearings) = (0, 0_u64, 0);
        let mut span: Option<(i64, i64)> = None;
        for (spacers, seat) in pairs(rears) {
            let kept = seat.all.values().filter(|one| size.holds(spacers, seat, one));
            let kept: Vec<[i64; 2]> = kept.map(|bearing| ends_of(bearing)).collect();
            bearings += kept.len();
            for (spacers, low, high) in laid_out(spacers, seat) {
                size.lay += LAY * spacers.len() as f64 * seat.shims.len() as f64;
                cells += (high - low) / step + 1;
                let own = count(spacers).saturating_mul(count(&seat.shims));
                stand = stand.saturating_add(own.saturating_mul(kept.len() as u64));
                for at in kept.iter().flatten() {
                    let (one, two) = span.unwrap_or((low + at, high + at));
                    span = Some((one.min(low + at), two.max(high + at)));
                }
            }
        }
        let (low, high) = span?;
        let width = (high - low) / step + 2;
        let starters = rears.first().map_or(0, |(spacers, _)| spacers.len()) as f64;
        size.lay += cells as f64;
        size.join = ADD * width as f64 * starters * (2 * (bearings + size.phases.len())) as f64;
        let all: usize = pairs(rears).map(|(_, seat)| seat.all.len()).sum();
        size.strays = (all - bearings) as f64 / all as f64;
        // Every number in a cell is one of what stands somewhere.
        let fits = cells <= MOST_CELLS && width <= MOST_CELLS && u32::try_from(stand).is_ok();
        fits.then_some(size)
    }

    /// How far beyond the grid a bearing stands, by starter.
    fn phases_of(
        &self,
        spacers: &Spacers,
        seat: &Seats<'_>,
        bearing: &Bearing,
    ) -> impl Iterator<Item = [i64; 2]> {
        let all = laid_out(spacers, seat);
        all.map(|(_, low, _)| ends_of(bearing).map(|at| (low + at).rem_euclid(self.step)))
    }

    /// Whether a bearing is in the tables.
    fn holds(&self, spacers: &Spacers, seat: &Seats<'_>, bearing: &Bearing) -> bool {
        self.phases_of(spacers, seat, bearing).all(|phases| self.phases.contains(&phases))
    }

    /// The bearings that are in the tables, and the others.
    pub(super) fn part<'l>(&self, rears: &[Rear<'l>]) -> [Vec<Rear<'l>>; 2] {
        [true, false].map(|kept| {
            let rear = |(spacers, seats): &Rear<'l>| {
                let seat = |seat: &Seats<'l>| {
                    let own = seat.all.iter().map(|(place, one)| (*place, *one));
                    let all = own.filter(|(_, one)| self.holds(spacers, seat, one) == kept);
                    Seats { shims: seat.shims.clone(), all: all.collect() }
                };
                (
                    spacers.clone(),
                    seats.iter().map(seat).filter(|seat| !seat.all.is_empty()).collect(),
                )
            };
            rears.iter().map(rear).collect()
        })
    }

    /// How long it takes to answer questions with so many flywheels, ns.
    pub(super) fn cost(&self, questions: f64, flywheels: f64) -> f64 {
        let batches = (2.0 * questions / MOST_TERMS as f64).ceil();
        let looked_up = 2.0 * LOOK * self.phases.len() as f64 * flywheels;
        self.lay + self.join * batches + ASK * questions + looked_up
    }
}

/// What stands between with a seat, by starter: plates and spacers, and between which positions, nm.
fn laid_out<'s>(
    spacers: &'s Spacers,
    seat: &Seats<'_>,
) -> impl Iterator<Item = (&'s Masses, i64, i64)> {
    let shims = ends(&seat.shims);
    spacers.values().filter_map(move |spacers| {
        let ((low, high), (least, most)) = ends(spacers).zip(shims)?;
        Some((&**spacers, low + least, high + most))
    })
}

/// Every list of spacers with its seats.
fn pairs<'r, 'l>(rears: &'r [Rear<'l>]) -> impl Iterator<Item = (&'r Spacers, &'r Seats<'l>)> {
    rears.iter().flat_map(|(spacers, seats)| seats.iter().map(move |seat| (spacers, seat)))
}

fn ends_of(bearing: &Bearing) -> [i64; 2] {
    [bearing.ends.extended.at, bearing.ends.retracted.at]
}

impl<'w> Tables<'w> {
    /// `met` are the lists of bearings.
    pub(super) fn new(rears: &[Rear<'_>], met: &[Vec<u32>], size: &Size, watch: &'w Watch) -> Self {
        let starters = rears.iter().flat_map(|(spacers, _)| spacers.keys().copied());
        let starters: Vec<Starter> = starters.sorted_unstable().dedup().collect();
        let piled = starters.iter().map(|starter| {
            let pile = |(spacers, seat): (&Spacers, &Seats<'_>)| {
                Piled::new(&spacers[starter], &seat.shims, size.step)
            };
            pairs(rears).map(pile).collect()
        });
        let piled = piled.collect();
        // Bearings by the lists in which they are.
        let mut kin: FxHashMap<Vec<usize>, Vec<Joining>> = FxHashMap::default();
        for (seat, (_, own)) in pairs(rears).enumerate() {
            for (place, bearing) in &own.all {
                let of = |list: &Vec<u32>| list.binary_search(place).is_ok();
                let lists = (0..met.len()).filter(|list| of(&met[*list])).collect();
                let ends = ends_of(bearing);
                let joining = Joining { travel: ends[1] - ends[0], ends, seat };
                kin.entry(lists).or_default().push(joining);
            }
        }
        let mut lists = vec![Vec::new(); met.len()];
        let kin = kin.into_iter().sorted_unstable_by(|(a, _), (b, _)| a.cmp(b)).enumerate();
        let kin = kin.map(|(place, (own, mut bearings))| {
            for list in own {
                lists[list].push(place);
            }
            bearings.sort_by_key(|one| std::cmp::Reverse(one.travel));
            let terms = vec![Vec::new(); bearings.len() + 1];
            let travels = bearings.iter().map(|one| one.travel).collect();
            Kin { bearings, travels, terms }
        });
        let kin = kin.collect();
        let (groups, sets) = (Vec::new(), Vec::new());
        Self { watch, step: size.step, starters, piled, kin, lists, groups, sets, terms: 0, sum: 0 }
    }

    /// Takes down what is asked with the flywheels of a group.
    pub(super) fn ask(&mut self, group: &Group, questions: &[Question]) -> Result<()> {
        let own = self.starters.iter().map(|starter| group.thicknesses(*starter));
        let own: Vec<(Masses, Vec<usize>)> = own.collect();
        let mut sets: FxHashMap<usize, u32> = FxHashMap::default();
        for question in questions {
            self.watch.step(1)?;
            let set = *sets.entry(question.clear).or_insert_with(|| {
                let first = own.iter().map(|(_, first)| first[question.clear]).collect();
                self.sets.push(Set { group: self.groups.len(), first });
                self.sets.len() as u32 - 1
            });
            for kin in &self.lists[question.bearings] {
                self.terms += self.kin[*kin].ask(question, set);
            }
        }
        let split =
            |(at, n): &(i64, u64)| (at.div_euclid(self.step), at.rem_euclid(self.step), *n as i64);
        let own = own.iter().map(|(all, _)| all.iter().map(split).collect());
        self.groups.push(own.collect());
        if self.terms > MOST_TERMS { self.answer() } else { Ok(()) }
    }

    /// Answers all that was asked.
    pub(super) fn answer(&mut self) -> Result<()> {
        for kin in &self.kin {
            for starter in 0..self.starters.len() {
                self.sum += self.join(kin, starter)?;
            }
        }
        self.kin.iter_mut().flat_map(|kin| &mut kin.terms).for_each(Vec::clear);
        self.groups.clear();
        self.sets.clear();
        self.terms = 0;
        Ok(())
    }

    /// Lets the bearings join, and answers what is asked of those that have.
    fn join(&self, kin: &Kin, starter: usize) -> Result<i128> {
        let Some(last) = kin.terms.iter().rposition(|terms| !terms.is_empty()) else {
            return Ok(0);
        };
        let piled = &self.piled[starter];
        let mut tables = self.tables(kin, last, starter);
        let mut sum = 0;
        for (bearing, terms) in kin.bearings[..last].iter().zip(&kin.terms[1..]) {
            self.watch.step(1)?;
            for table in &mut tables {
                table.join(&piled[bearing.seat], bearing, self.step);
            }
            for term in terms {
                let set = &self.sets[term.set as usize];
                let own = &self.groups[set.group][starter][..set.first[starter]];
                let tables = tables.iter().filter(|table| table.end == usize::from(term.end));
                let own: i64 = tables.map(|table| table.up_to(term.at, own, self.step)).sum();
                sum += i128::from(if term.less { -own } else { own });
            }
        }
        Ok(sum)
    }

    /// Empty tables, as wide as they are asked for.
    fn tables(&self, kin: &Kin, last: usize, starter: usize) -> Vec<Table> {
        let all = self.groups.iter().flat_map(|group| &group[starter]);
        let all = all.map(|(cells, left, _)| cells * self.step + left);
        let Some((thin, thick)) = all.minmax().into_option() else { return Vec::new() };
        let mut tables: Vec<Table> = Vec::new();
        for end in 0..2 {
            let own = kin.terms.iter().flatten().filter(|term| usize::from(term.end) == end);
            let Some((low, high)) = own.map(|term| term.at).minmax().into_option() else {
                continue;
            };
            let stand = kin.bearings[..last].iter().filter_map(|one| {
                let piled = &self.piled[starter][one.seat];
                let first = piled.first + one.ends[end];
                let cells = piled.up_to.len() as i64;
                (cells > 0).then_some((first, first + (cells - 1) * self.step))
            });
            let stand: Vec<(i64, i64)> = stand.collect();
            for phase in stand.iter().map(|(first, _)| first.rem_euclid(self.step)).unique() {
                let own = stand.iter().filter(|one| one.0.rem_euclid(self.step) == phase);
                let (mut first, mut end_at) = (i64::MAX, i64::MIN);
                own.for_each(|one| (first, end_at) = (first.min(one.0), end_at.max(one.1)));
                // Below the first stands nothing, and from the last on everything.
                let from = (low + thin).clamp(first - self.step, end_at);
                let start = first + (from - first).div_euclid(self.step) * self.step;
                let to = (high + thick).clamp(start, end_at);
                let cells = vec![0; ((to - start) / self.step) as usize + 1];
                tables.push(Table { end, phase, start, cells });
            }
        }
        tables
    }
}

impl Kin {
    /// Takes down what a question asks; how much that is.
    fn ask(&mut self, question: &Question, set: u32) -> usize {
        let ([most, most_retracted], [least, least_retracted]) = (question.most, question.least);
        if least > most || least_retracted > most_retracted {
            return 0;
        }
        let longer = |than: i64| self.travels.partition_point(|travel| *travel > than);
        // Those whose travel is not too much, to those whose travel is just enough.
        let (from, to) = (longer(most_retracted - least), longer(least_retracted - most - 1));
        if from >= to {
            return 0;
        }
        let upper = longer(most_retracted - most).clamp(from, to);
        let lower = longer(least_retracted - least - 1).clamp(from, to);
        let asked = [
            // The longer travel is bounded by where it is retracted.
            (1, most_retracted, false, from, upper),
            (0, most, false, upper, to),
            (0, least - 1, true, from, lower),
            (1, least_retracted - 1, true, lower, to),
        ];
        let mut count = 0;
        for (end, at, less, from, to) in asked {
            for (joined, less) in [(to, less), (from, !less)] {
                if from < to && joined > 0 {
                    self.terms[joined].push(Term { at, set, end, less });
                    count += 1;
                }
            }
        }
        count
    }
}

impl Table {
    /// Adds a bearing with all that stands between, if it stands in this table's cells.
    fn join(&mut self, piled: &Piled, bearing: &Joining, step: i64) {
        let first = piled.first + bearing.ends[self.end];
        let Some(all) = piled.up_to.last() else { return };
        if first.rem_euclid(step) != self.phase {
            return;
        }
        let first = (first - self.start) / step;
        let len = self.cells.len() as i64;
        let own = self.cells.get_mut(first.clamp(0, len) as usize..).unwrap_or_default();
        let piled_from = (-first).clamp(0, piled.up_to.len() as i64) as usize;
        let piled = &piled.up_to[piled_from..];
        // All together they were seen to have room.
        own.iter_mut().zip(piled).for_each(|(sum, own)| *sum = sum.wrapping_add(*own));
        let beyond = own.get_mut(piled.len()..).unwrap_or_default();
        for sum in beyond {
            *sum = sum.wrapping_add(*all);
        }
    }

    /// How many stand at a position with a flywheel or below it, all flywheels together.
    fn up_to(&self, at: i64, flywheels: &[Thickness], step: i64) -> i64 {
        let (cell, left) = ((at - self.start).div_euclid(step), (at - self.start).rem_euclid(step));
        let last = self.cells.len() as i64 - 1;
        let one = |(cells, more, n): &Thickness| {
            let cell = cell.wrapping_add(*cells).wrapping_add(i64::from(left + more >= step));
            // Where the first cell is asked for or one below it, nothing stands there or in it.
            i64::from(self.cells[cell.clamp(0, last) as usize]).wrapping_mul(*n)
        };
        flywheels.iter().map(one).fold(0_i64, i64::wrapping_add)
    }
}
