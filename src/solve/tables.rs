//! Least cost by position: what the slots that are not filled yet can still do, as a lower bound.
//!
//! Positions are cut into buckets of one width. A bucket holds the least cost of any combination
//! whose position may lie in it, so a bound read from it never promises too little.

/// No combination lies here.
pub const NEVER: i64 = i64::MAX / 4;

/// How many buckets make a block.
const BLOCK: usize = 16;

/// Least cost for each bucket of positions.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    start: i64,
    width: i64,
    buckets: Vec<i64>,
    /// The least from the start of its block to each bucket, and from each bucket to its block's end.
    to_here: Vec<i64>,
    from_here: Vec<i64>,
    /// Level `k` holds the least of 2^k blocks from each block on: any stretch of whole blocks is
    /// two look-ups.
    levels: Vec<Vec<i64>>,
}

fn levels(blocks: Vec<i64>) -> Vec<Vec<i64>> {
    let mut levels = vec![blocks];
    let mut step = 1;
    while 2 * step <= levels[0].len() {
        let below = &levels[levels.len() - 1];
        let next = below.iter().zip(&below[step..]).map(|(a, b)| *a.min(b)).collect();
        levels.push(next);
        step *= 2;
    }
    levels
}

/// The least of all up to each.
fn running<'c>(costs: impl Iterator<Item = &'c i64>) -> impl Iterator<Item = i64> {
    costs.scan(NEVER, |least, cost| {
        *least = (*least).min(*cost);
        Some(*least)
    })
}

impl Row {
    /// Nothing to choose: position zero at no cost.
    pub fn nothing(width: i64) -> Self {
        Self::of(0, width, vec![0])
    }

    fn of(start: i64, width: i64, buckets: Vec<i64>) -> Self {
        let blocks = || buckets.chunks(BLOCK);
        let to_here = blocks().flat_map(|block| running(block.iter())).collect();
        let back = |block: &[i64]| {
            let mut back: Vec<i64> = running(block.iter().rev()).collect();
            back.reverse();
            back
        };
        let from_here = blocks().flat_map(back).collect();
        let least = |block: &[i64]| block.iter().copied().min().unwrap_or(NEVER);
        let levels = levels(blocks().map(least).collect());
        Self { start, width, buckets, to_here, from_here, levels }
    }

    /// One more slot: every item, at its position and cost, with everything in this row.
    #[must_use]
    pub fn with(&self, items: &[(i64, i64)]) -> Self {
        let Some(first) = items.iter().map(|(pos, _)| *pos).min() else {
            return Self::of(0, self.width, Vec::new());
        };
        let last = items.iter().map(|(pos, _)| *pos).max().unwrap_or(first);
        // Items of one bucket and remainder collapse to the cheapest.
        let span = usize::try_from((last - first) / self.width).unwrap_or(0) + 2;
        let mut own = vec![NEVER; span];
        for (pos, cost) in items {
            let offset = pos - first;
            let index = usize::try_from(offset / self.width).unwrap_or(0);
            own[index] = own[index].min(*cost);
            if offset % self.width != 0 {
                // Part of a bucket of the row below comes to lie one further.
                own[index + 1] = own[index + 1].min(*cost);
            }
        }
        let below = &self.buckets;
        let mut sums = vec![NEVER; span + below.len()];
        for (a, cost) in own.iter().enumerate().filter(|(_, cost)| **cost < NEVER) {
            for (slot, below) in sums[a..].iter_mut().zip(below) {
                // Costs stay below `NEVER`, a quarter of what a number holds.
                *slot = (*slot).min(cost.wrapping_add(*below));
            }
        }
        Self::of(self.start + first, self.width, sums)
    }

    /// The same in buckets of at least this width: it promises more and is sooner joined.
    #[must_use]
    pub fn coarser(&self, width: i64) -> Self {
        let by = usize::try_from(width / self.width).unwrap_or(1).max(1);
        let least = |buckets: &[i64]| buckets.iter().copied().min().unwrap_or(NEVER);
        let buckets = self.buckets.chunks(by).map(least).collect();
        Self::of(self.start, self.width * by as i64, buckets)
    }

    /// The least cost of anything that may lie between two positions, both included.
    pub fn min(&self, low: i64, high: i64) -> i64 {
        if high < low {
            return NEVER;
        }
        let from = (low - self.start).div_euclid(self.width).max(0);
        let to = (high - self.start).div_euclid(self.width);
        let to = to.min(self.buckets.len() as i64 - 1);
        if from > to {
            return NEVER;
        }
        let (from, to) = (from as usize, to as usize);
        let (first, last) = (from / BLOCK, to / BLOCK);
        if first == last {
            return self.buckets[from..=to].iter().copied().min().unwrap_or(NEVER);
        }
        let ends = self.from_here[from].min(self.to_here[to]);
        let between = last - first - 1;
        if between == 0 {
            return ends;
        }
        let level = between.ilog2() as usize;
        let row = &self.levels[level];
        ends.min(row[first + 1]).min(row[last - (1 << level)])
    }
}

/// Where something stands with every error limit of its own pushed to one side, and to the other.
/// Where limits do not count both are the same.
pub type Spot = [i64; 2];

/// Both spots of two things together.
pub fn plus(a: Spot, b: Spot) -> Spot {
    [a[0] + b[0], a[1] + b[1]]
}

/// Rows over both spots: a combination has to lie in an interval with the one and with the other.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Rows {
    /// One where both spots are the same.
    rows: Vec<Row>,
}

impl Rows {
    /// Nothing to choose; `limits` says whether the two spots differ.
    pub fn nothing(width: i64, limits: bool) -> Self {
        Self { rows: vec![Row::nothing(width); if limits { 2 } else { 1 }] }
    }

    /// One more slot.
    #[must_use]
    pub fn with(&self, items: &[(Spot, i64)]) -> Self {
        let with = |(side, row): (usize, &Row)| {
            row.with(&items.iter().map(|(spot, cost)| (spot[side], *cost)).collect::<Vec<_>>())
        };
        Self { rows: self.rows.iter().enumerate().map(with).collect() }
    }

    /// The same in buckets of at least this width.
    #[must_use]
    pub fn coarser(&self, width: i64) -> Self {
        Self { rows: self.rows.iter().map(|row| row.coarser(width)).collect() }
    }

    /// The least cost of anything that, added to what stands `at` a spot, may lie between two
    /// positions.
    pub fn min(&self, low: i64, high: i64, at: Spot) -> i64 {
        let min = |(row, at): (&Row, i64)| row.min(low - at, high - at);
        self.rows.iter().zip(at).map(min).max().unwrap_or(NEVER)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_least_of_any_stretch_is_that_of_its_buckets() {
        let costs: Vec<i64> = (0..100_i64).map(|i| (i * 7919 + 13) % 101).collect();
        let items: Vec<(i64, i64)> = (0..).map(|i| i * 10).zip(costs.iter().copied()).collect();
        let row = Row::nothing(10).with(&items);
        for from in 0..100 {
            for to in from..100 {
                let least = *costs[from..=to].iter().min().unwrap();
                assert_eq!(row.min(10 * from as i64, 10 * to as i64), least, "{from} to {to}");
            }
        }
    }

    #[test]
    fn a_row_never_promises_more_cost_than_some_combination_has() {
        let slots = [vec![(0, 0), (7, 3), (13, 1)], vec![(-5, 2), (4, 9)], vec![(0, 1), (11, 0)]];
        let mut row = Row::nothing(6);
        for slot in &slots {
            row = row.with(slot);
        }
        for a in &slots[0] {
            for b in &slots[1] {
                for c in &slots[2] {
                    let (pos, cost) = (a.0 + b.0 + c.0, a.1 + b.1 + c.1);
                    assert!(row.min(pos, pos) <= cost, "{pos}");
                }
            }
        }
        assert!(row.min(100, 200) >= NEVER);
        assert!(row.min(5, 4) >= NEVER);
    }
}
