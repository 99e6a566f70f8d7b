//! Least cost by position: what the slots that are not filled yet can still do, as a lower bound.
//!
//! Positions are cut into buckets of one width. A bucket holds the least cost of any combination
//! whose position may lie in it, so a bound read from it never promises too little.

/// No combination lies here.
pub const NEVER: i64 = i64::MAX / 4;

/// Least cost for each bucket of positions.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    start: i64,
    width: i64,
    /// Level `k` holds the least of 2^k buckets from each bucket on, so that any stretch is two
    /// look-ups.
    levels: Vec<Vec<i64>>,
}

fn levels(buckets: Vec<i64>) -> Vec<Vec<i64>> {
    let mut levels = vec![buckets];
    let mut step = 1;
    while 2 * step <= levels[0].len() {
        let below = &levels[levels.len() - 1];
        let next = below.iter().zip(&below[step..]).map(|(a, b)| *a.min(b)).collect();
        levels.push(next);
        step *= 2;
    }
    levels
}

impl Row {
    /// Nothing to choose: position zero at no cost.
    pub fn nothing(width: i64) -> Self {
        Self { start: 0, width, levels: levels(vec![0]) }
    }

    /// One more slot: every item, at its position and cost, with everything in this row.
    #[must_use]
    pub fn with(&self, items: &[(i64, i64)]) -> Self {
        let Some(first) = items.iter().map(|(pos, _)| *pos).min() else {
            return Self { start: 0, width: self.width, levels: levels(Vec::new()) };
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
        let below = &self.levels[0];
        let mut sums = vec![NEVER; span + below.len()];
        for (a, cost) in own.iter().enumerate().filter(|(_, cost)| **cost < NEVER) {
            for (slot, below) in sums[a..].iter_mut().zip(below) {
                *slot = (*slot).min(cost + below);
            }
        }
        Self { start: self.start + first, width: self.width, levels: levels(sums) }
    }

    /// The least cost of anything that may lie between two positions, both included.
    pub fn min(&self, low: i64, high: i64) -> i64 {
        if high < low {
            return NEVER;
        }
        let from = (low - self.start).div_euclid(self.width).max(0);
        let to = (high - self.start).div_euclid(self.width);
        let last = self.levels[0].len() as i64 - 1;
        let to = to.min(last);
        if from > to {
            return NEVER;
        }
        let (from, to) = (from as usize, to as usize);
        let level = (to - from + 1).ilog2() as usize;
        let row = &self.levels[level];
        row[from].min(row[to + 1 - (1 << level)])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

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
