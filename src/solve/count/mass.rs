//! Things by position, the grid they stand on, and totals of weights up to a position.

use itertools::Itertools as _;

/// Things by position, nm, each position once, in order, and how many stand there.
pub(crate) type Masses = Vec<(i64, u64)>;

/// Brings positions into order and counts equal ones together.
pub(crate) fn collected(mut masses: Masses) -> Masses {
    masses.sort_unstable_by_key(|(at, _)| *at);
    masses.dedup_by(|next, known| {
        let same = next.0 == known.0;
        known.1 += if same { next.1 } else { 0 };
        same
    });
    masses
}

/// The first and the last position, nm.
pub(crate) fn ends(masses: &Masses) -> Option<(i64, i64)> {
    Some((masses.first()?.0, masses.last()?.0))
}

/// How many there are.
pub(crate) fn count(masses: &Masses) -> u64 {
    masses.iter().map(|(_, n)| n).sum()
}

/// The largest step that all positions have in common, nm; none where they are all one.
pub(crate) fn grid(positions: impl Iterator<Item = i64>) -> Option<i64> {
    let gcd = |mut a: i64, mut b: i64| {
        while b != 0 {
            (a, b) = (b, a % b);
        }
        a.abs()
    };
    let steps = positions.tuple_windows().map(|(a, b)| b - a);
    steps.fold(None, |grid, step| match grid {
        _ if step == 0 => grid,
        Some(grid) => Some(gcd(grid, step)),
        None => Some(step.abs()),
    })
}

/// Cells of equal width.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Grid {
    /// Where the first begins, nm.
    pub(crate) start: i64,
    /// How wide they are, nm.
    pub(crate) step: i64,
    /// One over that, 1/nm.
    per_nm: f64,
}

impl Grid {
    pub(crate) fn new(start: i64, step: i64) -> Self {
        Self { start, step, per_nm: 1.0 / step as f64 }
    }

    /// In which cell a position is, which is not before the first, and how far beyond its beginning, nm.
    pub(crate) fn cell(&self, at: i64) -> (i64, i64) {
        let cell = self.steps(at - self.start) as i64;
        (cell, at - self.start - cell * self.step)
    }

    /// A length in cells, and what is left of it, nm.
    pub(crate) fn split(&self, nm: i64) -> (i64, i64) {
        (nm.div_euclid(self.step), nm.rem_euclid(self.step))
    }

    /// What is left of a length, both as cells with what is left of them.
    pub(crate) fn less(&self, from: (i64, i64), off: (i64, i64)) -> (i64, i64) {
        let (cell, left) = (from.0 - off.0, from.1 - off.1);
        if left < 0 { (cell - 1, left + self.step) } else { (cell, left) }
    }

    /// Things that stand on it, by how many cells after the first of them.
    pub(crate) fn in_cells(&self, masses: &Masses) -> impl Iterator<Item = (usize, u64)> {
        let first = masses.first().map_or(0, |(at, _)| *at);
        masses.iter().map(move |(at, n)| (self.steps(at - first), *n))
    }

    /// How many whole steps a length has, which is no less than nothing.
    pub(crate) fn steps(&self, nm: i64) -> usize {
        // Lengths have fewer bits than the float, so it is off by one at most.
        let guess = (nm as f64 * self.per_nm) as i64;
        let left = nm - guess * self.step;
        (guess + i64::from(left >= self.step) - i64::from(left < 0)) as usize
    }
}

/// Weights at positions: their total up to any position.
pub(crate) struct Totals {
    start: i64,
    /// The width of a cell is two to this, nm.
    shift: u32,
    /// Where the entries of each cell begin.
    cells: Vec<u32>,
    at: Vec<i64>,
    /// The total up to each entry, and nothing before the first.
    sums: Vec<i64>,
}

impl Totals {
    /// Of weights in any order.
    pub(crate) fn new(weights: &mut [(i64, i64)]) -> Self {
        weights.sort_unstable_by_key(|(at, _)| *at);
        let at: Vec<i64> = weights.iter().map(|(at, _)| *at).collect();
        let mut sums = Vec::with_capacity(at.len() + 1);
        sums.push(0);
        sums.extend(weights.iter().scan(0, |sum, (_, weight)| {
            *sum += weight;
            Some(*sum)
        }));
        let (start, last) = (at.first().copied().unwrap_or(0), at.last().copied().unwrap_or(0));
        // About one entry a cell.
        let width = (last - start) as u64 / (at.len() as u64 + 1) + 1;
        let shift = width.next_power_of_two().ilog2();
        let mut cells = vec![0; ((last - start) >> shift) as usize + 2];
        for at in &at {
            cells[((at - start) >> shift) as usize + 1] += 1;
        }
        for index in 1..cells.len() {
            cells[index] += cells[index - 1];
        }
        Self { start, shift, cells, at, sums }
    }

    /// The total of all weights at a position or below it.
    pub(crate) fn up_to(&self, at: i64) -> i64 {
        if at < self.start {
            return 0;
        }
        let cell = ((at - self.start) >> self.shift) as usize;
        let Some([first, end]) = self.cells.get(cell..cell + 2) else {
            return self.sums[self.sums.len() - 1];
        };
        let (first, end) = (*first as usize, *end as usize);
        self.sums[first + self.at[first..end].partition_point(|own| *own <= at)]
    }
}
