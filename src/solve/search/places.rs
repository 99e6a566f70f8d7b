//! Where anything stands at all: how near to a position it comes.

use itertools::Itertools as _;

use crate::solve::search::lists::ANYWHERE;

/// The width of a cell as a rule, nm: 0.00005 in.
const WIDTH: i64 = 1_270;

/// Of so many positions most cells of a fine grid are empty.
const MOST_FINE: usize = 1 << 18;

/// Cells of a fine grid: 256 KB of them.
const FINE_CELLS: i64 = 1 << 21;

/// How many positions are kept one by one.
const MOST_EACH: usize = 1 << 12;

/// Where anything stands at all. What it says is too near at most, never too far.
#[derive(Debug, Clone)]
pub(crate) enum Places {
    /// Every position, nm, in order.
    Each(Vec<i64>),
    /// Of too many only the cells in which they are.
    Cells(Cells),
}

impl Default for Places {
    fn default() -> Self {
        Self::Each(Vec::new())
    }
}

/// What stands in some places between two positions, with something that is added to it, nm.
pub(crate) type Part<'p> = (&'p Places, (i64, i64), i64);

impl Places {
    pub(crate) fn of(all: impl Iterator<Item = i64>) -> Self {
        let each = Self::Each(all.sorted_unstable().dedup().collect());
        Self::sums(&[(&each, ANYWHERE, 0)])
    }

    /// Where sums stand of what stands in each of several.
    pub(crate) fn sums(parts: &[Part<'_>]) -> Self {
        Self::each_sum(parts).unwrap_or_else(|_| Self::in_cells(parts, |_| WIDTH))
    }

    /// The same in narrower cells where these are few. They are part of no other sum.
    pub(crate) fn fine_sums(parts: &[Part<'_>]) -> Self {
        let fine = |span: i64| span / FINE_CELLS + 1;
        Self::each_sum(parts).unwrap_or_else(|count| match count {
            Some(count) if count <= MOST_FINE => Self::in_cells(parts, fine),
            _ => Self::in_cells(parts, |_| WIDTH),
        })
    }

    /// Every sum, if there are not too many; else how many there are, where all parts are kept one by one.
    fn each_sum(parts: &[Part<'_>]) -> std::result::Result<Self, Option<usize>> {
        let within = parts.iter().map(|(places, between, _)| places.between(*between));
        let within: Vec<&[i64]> = within.collect::<Option<_>>().ok_or(None)?;
        let count = within.iter().map(|own| own.len()).sum();
        if count > MOST_EACH {
            return Err(Some(count));
        }
        let sums = within.iter().zip(parts);
        let sums = sums.flat_map(|(own, (.., more))| own.iter().map(move |at| at + more));
        Ok(Self::Each(sums.sorted_unstable().dedup().collect()))
    }

    /// The positions between two, both included; none where they are not kept.
    fn between(&self, (low, high): (i64, i64)) -> Option<&[i64]> {
        let Self::Each(all) = self else { return None };
        let first = all.partition_point(|at| *at < low);
        let end = all.partition_point(|at| *at <= high).max(first);
        Some(&all[first..end])
    }

    /// The first and the last position that something may have.
    fn ends(&self) -> Option<(i64, i64)> {
        match self {
            Self::Each(all) => Some((*all.first()?, *all.last()?)),
            Self::Cells(cells) => Some((cells.start, cells.end() + cells.width)),
        }
    }

    /// `width` is that of cells over so many nm.
    fn in_cells(parts: &[Part<'_>], width: impl Fn(i64) -> i64) -> Self {
        let all = parts.iter().filter_map(|(places, _, more)| {
            places.ends().map(|(low, high)| (low + more, high + more))
        });
        let Some((low, high)) = ends(all) else { return Self::default() };
        let width = width(high - low);
        let mut out = Cells::empty(low, high, width);
        for (places, between, more) in parts {
            match places {
                Self::Each(_) => {
                    let own = places.between(*between).unwrap_or_default();
                    let cell = |at: &i64| ((at + more - low) / width) as usize;
                    for at in own {
                        out.set(cell(at), 1);
                    }
                }
                Self::Cells(cells) => out.add(cells, *between, *more),
            }
        }
        Self::Cells(out.finished())
    }

    /// The last place at a position or before it, and the first behind it, between two others; the one no
    /// later and the other no sooner than it may be told, nm.
    pub(crate) fn around(&self, at: i64, low: i64, high: i64) -> [Option<i64>; 2] {
        match self {
            Self::Each(_) => {
                let own = self.between((low, high)).unwrap_or_default();
                let behind = own.partition_point(|own| *own <= at);
                [own[..behind].last(), own.get(behind)].map(Option::<&i64>::copied)
            }
            Self::Cells(cells) => cells.around(at, low, high),
        }
    }
}

/// One bit a cell, set where something may stand.
#[derive(Debug, Clone)]
pub(crate) struct Cells {
    /// Where the first cell begins, nm.
    start: i64,
    width: i64,
    words: Vec<u64>,
    /// One bit a word, set where something is in it.
    filled: Vec<u64>,
}

impl Cells {
    fn empty(low: i64, high: i64, width: i64) -> Self {
        let cells = ((high - low) / width + 2) as usize;
        Self { start: low, width, words: vec![0; cells.div_ceil(64)], filled: Vec::new() }
    }

    fn finished(mut self) -> Self {
        self.filled = vec![0; self.words.len().div_ceil(64)];
        for (index, _) in self.words.iter().enumerate().filter(|(_, word)| **word != 0) {
            self.filled[index / 64] |= 1 << (index % 64);
        }
        self
    }

    fn end(&self) -> i64 {
        self.start + self.words.len() as i64 * 64 * self.width
    }

    /// What stands in cells of the same width between two positions, with something that is added to it.
    fn add(&mut self, part: &Self, (least, most): (i64, i64), more: i64) {
        let width = self.width;
        debug_assert_eq!(part.width, width, "sums of fine cells are never added up");
        let off = part.start + more - self.start;
        let (first, whole) = ((off / width) as usize, off % width == 0);
        let cell = |position: i64| (position - part.start).div_euclid(width);
        let (from, to) = (cell(least), cell(most));
        for (index, word) in part.words.iter().enumerate() {
            let word = word & within(index as i64 * 64, from, to);
            if word == 0 {
                continue;
            }
            self.set(first + index * 64, word);
            if !whole {
                self.set(first + index * 64 + 1, word);
            }
        }
    }

    /// Sets the bits of a word from a cell on.
    fn set(&mut self, cell: usize, word: u64) {
        let (index, shift) = (cell / 64, cell % 64);
        self.words[index] |= word << shift;
        if shift > 0 && index + 1 < self.words.len() {
            self.words[index + 1] |= word >> (64 - shift);
        }
    }

    fn around(&self, at: i64, low: i64, high: i64) -> [Option<i64>; 2] {
        let count = self.words.len() as i64 * 64;
        let cell = |at: i64| (at - self.start).div_euclid(self.width);
        let (first, last) = (cell(low).max(0), cell(high).min(count - 1));
        if low > high || first > last {
            return [None; 2];
        }
        let own = cell(at);
        let start = |cell: i64| self.start + cell * self.width;
        let before = self.previous(own.clamp(first - 1, last), first);
        let behind = self.next(own.clamp(first, last + 1), last);
        [
            before.map(|cell| at.min(start(cell) + self.width - 1)),
            behind.map(|cell| start(cell).max(at)),
        ]
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
    use crate::model::drawn::Drawn;

    /// What a plain look through all positions finds around one, between two others.
    fn plain(all: &[i64], at: i64, low: i64, high: i64) -> [Option<i64>; 2] {
        let inside = all.iter().copied().filter(|own| low <= *own && *own <= high);
        [inside.clone().filter(|own| *own <= at).max(), inside.filter(|own| *own > at).min()]
    }

    /// What is told of positions is never too far, and too near by no more than some width.
    fn assert_near(all: &[i64], places: &Places, (at, low, high): (i64, i64, i64), width: i64) {
        let told = places.around(at, low, high);
        let [before, behind] = plain(all, at, low, high);
        let is_told = |plain: Option<i64>, holds: &dyn Fn(i64) -> bool| {
            plain.is_none_or(|own| {
                told.iter()
                    .flatten()
                    .any(|told| holds(*told) && (told - at).abs() <= (own - at).abs())
            })
        };
        assert!(is_told(before, &|told| told <= at), "{at} {low} {high} {told:?}");
        assert!(is_told(behind, &|told| told >= at), "{at} {low} {high} {told:?}");
        for told in told.into_iter().flatten() {
            let near = all.iter().any(|own| {
                (own - told).abs() <= width && low - width < *own && *own < high + width
            });
            assert!(near, "{at} {low} {high} {told}");
        }
    }

    #[test]
    fn the_places_around_a_position_are_those_of_a_plain_look_through_all() {
        let mut drawn = Drawn(1);
        for _ in 0..300 {
            let reach = [2_000, 90_000, 40_000_000][drawn.below(3) as usize];
            let all: Vec<i64> = (0..=drawn.below(6)).map(|_| drawn.below(reach)).collect();
            let places = Places::of(all.iter().copied());
            let cells = Places::in_cells(&[(&places, ANYWHERE, 0)], |_| WIDTH);
            let fine = Places::in_cells(&[(&places, ANYWHERE, 0)], |span| span / 1000 + 1);
            let more = drawn.below(reach);
            let moved: Vec<i64> = all.iter().map(|own| own + more).collect();
            let parts = [(&places, ANYWHERE, 0), (&cells, ANYWHERE, more)];
            let (both, sums) =
                (all.iter().chain(&moved).copied().collect::<Vec<_>>(), Places::sums(&parts));
            for _ in 0..40 {
                let (at, low) =
                    (drawn.below(2 * reach) - reach / 2, drawn.below(reach) - reach / 4);
                let high = low + drawn.below(reach);
                assert_eq!(places.around(at, low, high), plain(&all, at, low, high));
                assert_near(&all, &cells, (at, low, high), WIDTH);
                assert_near(&all, &fine, (at, low, high), reach / 1000 + 1);
                // What is shifted by no whole cell is in two of them.
                assert_near(&both, &sums, (at, low, high), 2 * WIDTH);
            }
        }
    }

    #[test]
    fn sums_of_few_positions_are_kept_one_by_one_and_only_those_that_count() {
        let places = Places::of([10, 30, 20].into_iter());
        let sums = Places::sums(&[(&places, (15, 30), 5), (&places, (0, 10), 100)]);
        assert!(matches!(&sums, Places::Each(all) if *all == [25, 35, 110]), "{sums:?}");
        let many: Vec<i64> = (0..=MOST_EACH as i64).map(|at| at * 10_000).collect();
        assert!(
            matches!(Places::of(many.iter().copied()), Places::Cells(cells) if cells.width == WIDTH)
        );
        let half = Places::of(many[..2_500].iter().copied());
        let fine = Places::fine_sums(&[(&half, ANYWHERE, 0), (&half, ANYWHERE, 1)]);
        assert!(matches!(fine, Places::Cells(cells) if cells.width < 20));
        assert_eq!(Places::default().around(0, -5, 5), [None; 2]);
    }
}
