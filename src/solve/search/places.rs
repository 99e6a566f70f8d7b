//! Where anything stands at all, in narrow cells: how near to a position it comes.

/// The width of a cell, nm: 0.00005 in.
const WIDTH: i64 = 1_270;

/// One bit a cell, set where something may stand. What it says is too near at most, never too far.
#[derive(Debug, Clone, Default)]
pub(crate) struct Places {
    /// Where the first cell begins, nm.
    start: i64,
    words: Vec<u64>,
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
        places
    }

    fn empty(low: i64, high: i64) -> Self {
        let cells = ((high - low) / WIDTH + 2) as usize;
        Self { start: low, words: vec![0; cells.div_ceil(64)] }
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
        out
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
        let mut cell = from;
        while cell <= last {
            let word = self.words[(cell / 64) as usize] >> (cell % 64);
            if word != 0 {
                let found = cell + i64::from(word.trailing_zeros());
                return (found <= last).then_some(found);
            }
            cell = (cell / 64 + 1) * 64;
        }
        None
    }

    fn previous(&self, from: i64, first: i64) -> Option<i64> {
        let mut cell = from;
        while cell >= first {
            let word = self.words[(cell / 64) as usize] << (63 - cell % 64);
            if word != 0 {
                let found = cell - i64::from(word.leading_zeros());
                return (found >= first).then_some(found);
            }
            cell = cell / 64 * 64 - 1;
        }
        None
    }
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
