//! Where anything stands at all, in narrow cells: how near to a position it comes.

/// The width of a cell, nm: 0.00005 in.
const WIDTH: i64 = 1_270;

/// One bit a cell, set where something may stand. What it says is too near at most, never too far.
#[derive(Debug, Clone, Default)]
pub(crate) struct Places {
    /// Where the first cell begins, nm.
    start: i64,
    words: Vec<u64>,
    /// One bit a word, set where something is in it.
    filled: Vec<u64>,
}

impl Places {
    pub(crate) fn of(all: impl Iterator<Item = i64> + Clone) -> Self {
        let Some((low, high)) = ends(all.clone().map(|at| (at, at))) else {
            return Self::default();
        };
        let mut places = Self::empty(low, high);
        for at in all {
            let cell = ((at - low) / WIDTH) as usize;
            places.words[cell / 64] |= 1 << (cell % 64);
        }
        places.finished()
    }

    fn finished(mut self) -> Self {
        self.filled = vec![0; self.words.len().div_ceil(64)];
        for (index, _) in self.words.iter().enumerate().filter(|(_, word)| **word != 0) {
            self.filled[index / 64] |= 1 << (index % 64);
        }
        self
    }

    fn empty(low: i64, high: i64) -> Self {
        let cells = ((high - low) / WIDTH + 2) as usize;
        Self { start: low, words: vec![0; cells.div_ceil(64)], filled: Vec::new() }
    }

    fn end(&self) -> i64 {
        self.start + self.words.len() as i64 * 64 * WIDTH
    }

    /// Where sums stand of what stands in each of several, between two positions, and something that is
    /// added to it.
    pub(crate) fn sums<'p>(
        parts: impl Iterator<Item = (&'p Self, (i64, i64), i64)> + Clone,
    ) -> Self {
        let parts = parts.filter(|(part, ..)| !part.words.is_empty());
        let all = parts.clone().map(|(part, _, at)| (part.start + at, part.end() + at + WIDTH));
        let Some((low, high)) = ends(all) else { return Self::default() };
        let mut out = Self::empty(low, high);
        for (part, (least, most), at) in parts {
            let off = part.start + at - low;
            let (first, whole) = ((off / WIDTH) as usize, off % WIDTH == 0);
            let cell = |position: i64| (position - part.start).div_euclid(WIDTH);
            let (from, to) = (cell(least), cell(most));
            for (index, word) in part.words.iter().enumerate() {
                let word = word & within(index as i64 * 64, from, to);
                if word == 0 {
                    continue;
                }
                out.set(first + index * 64, word);
                if !whole {
                    out.set(first + index * 64 + 1, word);
                }
            }
        }
        out.finished()
    }

    /// Sets the bits of a word from a cell on.
    fn set(&mut self, cell: usize, word: u64) {
        let (index, shift) = (cell / 64, cell % 64);
        self.words[index] |= word << shift;
        if shift > 0 && index + 1 < self.words.len() {
            self.words[index + 1] |= word >> (64 - shift);
        }
    }

    /// How far from a position the nearest thing may be, nm, between two others; none where nothing is.
    pub(crate) fn nearest(&self, to: i64, low: i64, high: i64) -> Option<i64> {
        let count = self.words.len() as i64 * 64;
        let cell = |at: i64| (at - self.start).div_euclid(WIDTH);
        let (first, last) = (cell(low).max(0), cell(high).min(count - 1));
        if low > high || first > last {
            return None;
        }
        let own = cell(to);
        let above = self.next(own.clamp(first, last + 1), last);
        let below = self.previous(own.clamp(first - 1, last), first);
        let gap = |cell: i64| {
            let start = self.start + cell * WIDTH;
            (start - to).max(to - (start + WIDTH - 1)).max(0)
        };
        above.into_iter().chain(below).map(gap).min()
    }

    fn next(&self, from: i64, last: i64) -> Option<i64> {
        if from > last {
            return None;
        }
        let cell = next_bit(&self.words, from as usize, Some(&self.filled))? as i64;
        (cell <= last).then_some(cell)
    }

    fn previous(&self, from: i64, first: i64) -> Option<i64> {
        if from < first {
            return None;
        }
        let cell = previous_bit(&self.words, from as usize, Some(&self.filled))? as i64;
        (cell >= first).then_some(cell)
    }
}

/// The first bit that is set from one on; `filled` says of whole words whether one is.
fn next_bit(words: &[u64], from: usize, filled: Option<&[u64]>) -> Option<usize> {
    let mut index = from / 64;
    let mut word = words.get(index)? >> (from % 64) << (from % 64);
    while word == 0 {
        index = match filled {
            Some(filled) => next_bit(filled, index + 1, None)?,
            None => index + 1,
        };
        word = *words.get(index)?;
    }
    Some(index * 64 + word.trailing_zeros() as usize)
}

/// The last bit that is set up to one.
fn previous_bit(words: &[u64], from: usize, filled: Option<&[u64]>) -> Option<usize> {
    let mut index = from / 64;
    let above = 63 - from % 64;
    let mut word = words.get(index)? << above >> above;
    while word == 0 {
        index = match filled {
            Some(filled) => previous_bit(filled, index.checked_sub(1)?, None)?,
            None => index.checked_sub(1)?,
        };
        word = words[index];
    }
    Some(index * 64 + 63 - word.leading_zeros() as usize)
}

/// The bits of a word whose cells lie between two; the word's first cell is `start`.
fn within(start: i64, from: i64, to: i64) -> u64 {
    let (low, high) = ((from - start).clamp(0, 64), (to + 1 - start).clamp(0, 64));
    if low >= high {
        return 0;
    }
    let below = |bits: i64| if bits == 64 { u64::MAX } else { (1 << bits) - 1 };
    below(high) & !below(low)
}

fn ends(mut all: impl Iterator<Item = (i64, i64)>) -> Option<(i64, i64)> {
    let first = all.next()?;
    Some(all.fold(first, |(low, high), (a, b)| (low.min(a), high.max(b))))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_nearest_place_is_that_of_a_plain_look_through_all() {
        let mut seed = 1_u64;
        let mut draw = |most: i64| {
            seed = seed
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            (seed >> 33) as i64 % most
        };
        for _ in 0..300 {
            let reach = [2_000, 90_000, 40_000_000][draw(3) as usize];
            let all: Vec<i64> = (0..=draw(6)).map(|_| draw(reach)).collect();
            let places = Places::of(all.iter().copied());
            for _ in 0..40 {
                let (to, low) = (draw(2 * reach) - reach / 2, draw(reach) - reach / 4);
                let high = low + draw(reach);
                let inside = all.iter().filter(|at| low <= **at && **at <= high);
                let plain = inside.map(|at| (at - to).abs()).min();
                let told = places.nearest(to, low, high);
                // Too near by less than a cell at most, and what stands beside the ends may count.
                match (plain, told) {
                    (Some(plain), Some(told)) => assert!(told <= plain),
                    (Some(_), None) => panic!("{to} {low} {high} {all:?}"),
                    (None, _) => {}
                }
                let beside = all.iter().filter(|at| low - WIDTH < **at && **at < high + WIDTH);
                let beside = beside.map(|at| (at - to).abs()).min();
                if let Some(told) = told {
                    assert!(beside.is_some_and(|beside| beside - WIDTH < told));
                }
            }
        }
    }
}
