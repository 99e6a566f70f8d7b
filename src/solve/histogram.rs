//! How many combinations lie at or below a position, in wide integers.

/// Counts by position, sorted, no position twice.
pub type Counts = Vec<(i64, u128)>;

/// Sorts counts and adds up equal positions.
pub fn merged(mut counts: Counts) -> Counts {
    counts.sort_unstable_by_key(|(pos, _)| *pos);
    counts.dedup_by(|next, kept| {
        let same = next.0 == kept.0;
        if same {
            kept.1 += next.1;
        }
        same
    });
    counts
}

/// Every sum of one position of each: the counts multiply.
pub fn convolved(a: &Counts, b: &Counts) -> Counts {
    let grid = Grid::of(&[a, b]);
    let size = grid.cells(span(a) + span(b));
    // A dense table pays where its cells are few against the pairs.
    if size <= MOST_CELLS && size <= 4 * (a.len() * b.len()).max(1024) {
        let start = first(a) + first(b);
        let cells = |counts: &Counts| -> Vec<(usize, u128)> {
            let cell = |pos: i64| grid.cell(pos - first(counts));
            counts.iter().map(|(pos, count)| (cell(*pos), *count)).collect()
        };
        let (a, b) = (cells(a), cells(b));
        let dense = dense_product(&a, &b, size);
        let filled = dense.into_iter().enumerate().filter(|(_, count)| *count > 0);
        return filled.map(|(cell, count)| (start + grid.at(cell), count)).collect();
    }
    let pairs = a.iter().flat_map(|(p, n)| b.iter().map(move |(q, m)| (p + q, n * m)));
    merged(pairs.collect())
}

/// Products by cell. Where every count fits 32 bits and the whole sum 64, the longer list is laid out
/// and walked in a straight line, which is several times faster than wide integers.
fn dense_product(a: &[(usize, u128)], b: &[(usize, u128)], size: usize) -> Vec<u128> {
    let (long, short) = if a.len() >= b.len() { (a, b) } else { (b, a) };
    let narrow = |list: &[(usize, u128)]| list.iter().all(|(_, n)| u32::try_from(*n).is_ok());
    let sum = |list: &[(usize, u128)]| list.iter().map(|(_, n)| n).sum::<u128>();
    let total = sum(a).checked_mul(sum(b));
    if narrow(a) && narrow(b) && total.is_some_and(|total| u64::try_from(total).is_ok()) {
        let mut row = vec![0_u32; long.last().map_or(0, |(cell, _)| cell + 1)];
        for (cell, n) in long {
            row[*cell] = *n as u32;
        }
        let mut dense = vec![0_u64; size];
        for (cell, m) in short {
            let m = *m as u32;
            for (slot, n) in dense[*cell..].iter_mut().zip(&row) {
                *slot = slot.wrapping_add(u64::from(*n) * u64::from(m));
            }
        }
        return dense.into_iter().map(u128::from).collect();
    }
    let mut dense = vec![0_u128; size];
    for (p, n) in long {
        for (q, m) in short {
            dense[p + q] += n * m;
        }
    }
    dense
}

/// The largest dense table.
const MOST_CELLS: usize = 1 << 22;

fn first(counts: &Counts) -> i64 {
    counts.first().map_or(0, |(pos, _)| *pos)
}

fn span(counts: &Counts) -> i64 {
    counts.last().map_or(0, |(pos, _)| *pos) - first(counts)
}

/// The common grid of positions.
#[derive(Debug, Clone, Copy)]
struct Grid(i64);

impl Grid {
    fn of(all: &[&Counts]) -> Self {
        let step = all.iter().fold(0, |step, counts| {
            counts.iter().fold(step, |step, (pos, _)| gcd(step, pos - first(counts)))
        });
        Self(step.max(1))
    }

    fn with(self, step: i64) -> Self {
        Self(gcd(self.0, step).max(1))
    }

    fn cells(self, span: i64) -> usize {
        usize::try_from(span / self.0).unwrap_or(usize::MAX - 1) + 1
    }

    fn cell(self, offset: i64) -> usize {
        usize::try_from(offset / self.0).unwrap_or(0)
    }

    fn at(self, cell: usize) -> i64 {
        cell as i64 * self.0
    }
}

/// The greatest common divisor; that of zero and a number is the number.
pub fn gcd(a: i64, b: i64) -> i64 {
    let (mut a, mut b) = (a.abs(), b.abs());
    while b != 0 {
        (a, b) = (b, a % b);
    }
    a
}

/// A growing sum of shifted counts that answers how many lie at or below a position.
#[derive(Debug)]
pub struct Histogram {
    start: i64,
    grid: Grid,
    /// Counts per cell; none where the grid is too fine, and `sparse` is used.
    dense: Option<Vec<u128>>,
    sparse: Counts,
    /// Running totals, valid until the next `add`.
    total: Vec<u128>,
    ready: bool,
}

impl Histogram {
    /// For these shifted counts, which may be added later in any order.
    pub fn for_all<'c>(all: impl Iterator<Item = (i64, &'c Counts)> + Clone) -> Self {
        let mut lists: Vec<&Counts> = all.clone().map(|(_, counts)| counts).collect();
        // Most of them are one and the same list, shifted.
        lists.dedup_by(|a, b| std::ptr::eq(*a, *b));
        let mut grid = Grid::of(&lists);
        let bounds = all.clone().filter(|(_, counts)| !counts.is_empty());
        let start = bounds.clone().map(|(shift, counts)| shift + first(counts)).min().unwrap_or(0);
        let end = bounds.map(|(shift, counts)| shift + first(counts) + span(counts)).max();
        for (shift, counts) in all {
            if !counts.is_empty() {
                grid = grid.with(shift + first(counts) - start);
            }
        }
        let cells = grid.cells(end.unwrap_or(start) - start);
        let dense = (cells <= MOST_CELLS).then(|| vec![0; cells]);
        Self { start, grid, dense, sparse: Vec::new(), total: Vec::new(), ready: false }
    }

    /// Adds counts, shifted.
    pub fn add(&mut self, shift: i64, counts: &Counts) {
        self.ready = false;
        match &mut self.dense {
            Some(dense) => {
                // One division for the shift; within the counts the grid is walked.
                let base = self.grid.cell(first(counts) + shift - self.start);
                for (pos, count) in counts {
                    dense[base + self.grid.cell(pos - first(counts))] += count;
                }
            }
            None => self.sparse.extend(counts.iter().map(|(pos, count)| (pos + shift, *count))),
        }
    }

    /// Makes the running totals.
    pub fn ready(&mut self) {
        if self.ready {
            return;
        }
        self.ready = true;
        let mut sum = 0;
        let mut running = |count: u128| {
            sum += count;
            sum
        };
        self.total = if let Some(dense) = &self.dense {
            dense.iter().map(|count| running(*count)).collect()
        } else {
            self.sparse = merged(std::mem::take(&mut self.sparse));
            self.sparse.iter().map(|(_, count)| running(*count)).collect()
        };
    }

    /// How many lie at or below a position; only once [`Histogram::ready`].
    pub fn at_most(&self, pos: i64) -> u128 {
        let below = if self.dense.is_some() {
            if pos < self.start {
                return 0;
            }
            self.grid.cell(pos - self.start) + 1
        } else {
            self.sparse.partition_point(|(known, _)| *known <= pos)
        };
        match below.min(self.total.len()) {
            0 => 0,
            below => self.total[below - 1],
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dense_and_sparse_tables_count_alike() {
        for step in [1000, 1] {
            let a: Counts = vec![(0, 1), (3 * step, 2), (7_000_000 * step + 1 / step, 5)];
            let b: Counts = vec![(-2 * step, 1), (step, 4)];
            let both = convolved(&a, &b);
            assert_eq!(both.iter().map(|(_, n)| n).sum::<u128>(), 40);
            let mut histogram = Histogram::for_all([(5, &both), (9, &a)].into_iter());
            histogram.add(5, &both);
            histogram.add(9, &a);
            histogram.ready();
            for pos in [-10_000, 3, 5, 9, 10_000, 7_000_000 * step, i64::MAX / 4] {
                let count = |counts: &Counts, shift: i64| -> u128 {
                    let inside = counts.iter().filter(|(p, _)| p + shift <= pos);
                    inside.map(|(_, n)| n).sum()
                };
                assert_eq!(histogram.at_most(pos), count(&both, 5) + count(&a, 9), "{pos}");
            }
        }
    }
}
