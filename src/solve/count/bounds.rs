//! What questions ask as bounds: up to which positions sums are allowed, less the end of what stands with them.

use std::cell::RefCell;
use std::ops::Range;
use std::rc::Rc;

use rustc_hash::FxHashMap;

use crate::solve::count::mass::Grid;
use crate::solve::count::query::Question;
use crate::solve::search::lists::FAR;

/// Up to where one end of something is allowed.
struct Bound {
    /// The last position that is, less that of the end, nm.
    at: i64,
    /// How often it counts; less than nothing where it is what is allowed no more.
    times: i64,
    /// The shortest and the longest travel of a bearing with which it counts, nm.
    travels: (i64, i64),
}

/// A question as bounds of one end, above and below.
fn bounds_of(question: &Question, end: usize) -> [Bound; 2] {
    let Question { most, least, times, .. } = *question;
    // The least of two bounds above and the largest of two below hold; which ones hangs on the travel alone. So does
    // whether anything lies between them.
    let any = (least[1] - most[0], most[1] - least[0]);
    let is_empty = least[0] > most[0] || least[1] > most[1];
    let times = if is_empty { 0 } else { times };
    let (above, below) = (most[1] - most[0], least[1] - least[0]);
    let [above, below] = match end {
        0 => [(-FAR, above), (below, FAR)],
        _ => [(above + 1, FAR), (-FAR, below - 1)],
    };
    let bound = |at: i64, times: i64, (from, to): (i64, i64)| Bound {
        at,
        times,
        travels: (any.0.max(from), any.1.min(to)),
    };
    [bound(most[end], times, above), bound(least[end] - 1, -times, below)]
}

/// Numbers of which it is counted how many there are of each, at most.
const MOST_COUNTED: usize = 1 << 14;

/// Bounds of one end on a grid, in order by how far they stand beyond their cells.
pub(super) struct Bounds {
    /// nm
    beyond: Vec<i64>,
    cells: Vec<i64>,
    times: Vec<i64>,
    /// The shortest and the longest travel with which each counts, nm.
    least: Vec<i64>,
    most: Vec<i64>,
    /// The travels with which all of them count, nm.
    all: (i64, i64),
}

impl Bounds {
    /// What some questions allow by one end, with bearings from one travel to another, nm.
    pub(super) fn of(
        questions: &[Question],
        end: usize,
        (short, long): (i64, i64),
        grid: &Grid,
    ) -> Self {
        // What counts with no bearing is left out.
        let counts = |one: &Bound| one.travels.0.max(short) <= one.travels.1.min(long);
        let all = questions.iter().flat_map(|question| bounds_of(question, end)).filter(counts);
        let all: Vec<Bound> = all.collect();
        let placed: Vec<(i64, i64)> = all.iter().map(|one| grid.cell(one.at)).collect();
        let order = in_order(placed.iter().map(|(_, beyond)| *beyond as usize), grid.step as usize);
        let own = || order.iter().map(|place| &all[*place as usize]);
        let least = all.iter().map(|one| one.travels.0).max();
        let most = all.iter().map(|one| one.travels.1).min();
        Self {
            beyond: order.iter().map(|place| placed[*place as usize].1).collect(),
            cells: order.iter().map(|place| placed[*place as usize].0).collect(),
            times: own().map(|one| one.times).collect(),
            least: own().map(|one| one.travels.0).collect(),
            most: own().map(|one| one.travels.1).collect(),
            all: (least.unwrap_or(-FAR), most.unwrap_or(FAR)),
        }
    }

    /// Those that stand so far beyond their cells, nm, the end left out.
    pub(super) fn between(&self, from: i64, to: i64) -> Range<usize> {
        let before = |at: i64| self.beyond.partition_point(|beyond| *beyond < at);
        let first = before(from);
        first..before(to).max(first)
    }

    /// The total of something over the cells of some of them, as often as they count with a travel.
    pub(super) fn total(&self, own: Range<usize>, travel: i64, of: impl Fn(i64) -> u32) -> i64 {
        let all = self.cells[own.clone()].iter().zip(&self.times[own.clone()]);
        let count = |(cell, times): (&i64, &i64)| i64::from(of(*cell)).wrapping_mul(*times);
        let (all_long, all_short) = (self.all.0 <= travel, travel <= self.all.1);
        if all_long && all_short {
            return all.map(count).fold(0, i64::wrapping_add);
        }
        let all = all.zip(&self.least[own.clone()]);
        let long = |(one, least): (_, &i64)| count(one).wrapping_mul(i64::from(*least <= travel));
        if all_short {
            return all.map(long).fold(0, i64::wrapping_add);
        }
        let short = |(one, most): (_, &i64)| long(one).wrapping_mul(i64::from(travel <= *most));
        all.zip(&self.most[own]).map(short).fold(0, i64::wrapping_add)
    }
}

/// The places of numbers below a limit in the order of the numbers; equal ones stay as they are.
fn in_order(numbers: impl Iterator<Item = usize> + Clone, limit: usize) -> Vec<u32> {
    let mut order: Vec<u32> = (0..numbers.clone().count() as u32).collect();
    if limit > MOST_COUNTED {
        let numbers: Vec<usize> = numbers.collect();
        order.sort_by_key(|place| numbers[*place as usize]);
        return order;
    }
    let mut ends = vec![0_u32; limit + 1];
    for number in numbers.clone() {
        ends[number + 1] += 1;
    }
    for index in 1..ends.len() {
        ends[index] += ends[index - 1];
    }
    for (place, number) in numbers.enumerate() {
        order[ends[number] as usize] = place as u32;
        ends[number] += 1;
    }
    order
}

/// What asks with bounds: a bearing by one of its ends, or flywheels of one thickness, or both.
#[derive(Clone, Copy)]
pub(super) struct Asking {
    /// Where it stands, nm: so much less is left of a bound.
    pub(super) at: i64,
    /// nm
    pub(super) travel: i64,
    pub(super) times: i64,
}

/// Bounds of one end, with all that asks with them.
pub(super) type Asks<'b> = (&'b Bounds, Vec<Asking>);

/// What some questions ask, as bounds on the grids on which it was asked so far.
pub(super) struct Placed {
    /// The shortest and the longest travel of a bearing that they are asked of, nm.
    travels: (i64, i64),
    /// By where the grid's cells begin, its step and the place of the first question in the list of all.
    known: RefCell<FxHashMap<(i64, i64, usize), Rc<[Bounds; 2]>>>,
}

impl Placed {
    /// Nothing yet.
    pub(super) fn new(travels: (i64, i64)) -> Self {
        Self { travels, known: RefCell::default() }
    }

    /// Bounds by the extended and by the retracted end. `first` is the place of the first of the questions in the
    /// list of all; with it always come the same questions.
    pub(super) fn of(&self, first: usize, questions: &[Question], grid: &Grid) -> Rc<[Bounds; 2]> {
        let new = || Rc::new([0, 1].map(|end| Bounds::of(questions, end, self.travels, grid)));
        let key = (grid.start, grid.step, first);
        Rc::clone(self.known.borrow_mut().entry(key).or_insert_with(new))
    }
}
