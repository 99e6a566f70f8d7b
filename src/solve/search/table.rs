//! Least keys by position: of whole lists in buckets, and of one sorted list exactly.

use crate::solve::search::key::Key;

/// The width of a bucket, nm: 0.001 in.
const WIDTH: i64 = 25_400;

/// For each bucket of positions the least key of anything that may stand there. What it says of an
/// interval is too little at most, never too much: a neighbour beyond the ends may count.
#[derive(Debug, Clone, Default)]
pub(crate) struct Table {
    /// Where the first bucket begins, nm.
    start: i64,
    /// How far beyond its bucket something in it may stand, nm.
    slack: i64,
    /// The buckets, before them the lesser of each two, of each two of those, and so on.
    tree: Vec<u128>,
}

impl Table {
    /// The least key of each position.
    pub(crate) fn of(items: impl Iterator<Item = (i64, u128)> + Clone) -> Self {
        let ends = items.clone().fold(None, |ends: Option<(i64, i64)>, (at, _)| {
            let (low, high) = ends.unwrap_or((at, at));
            Some((low.min(at), high.max(at)))
        });
        let Some((low, high)) = ends else { return Self::default() };
        let count = ((high - low) / WIDTH + 1) as usize;
        let mut tree = vec![Key::NONE; 2 * count];
        for (at, key) in items {
            let bucket = &mut tree[count + ((at - low) / WIDTH) as usize];
            *bucket = key.min(*bucket);
        }
        Self { start: low, slack: 0, tree }.finished()
    }

    fn finished(mut self) -> Self {
        for node in (1..self.tree.len() / 2).rev() {
            self.tree[node] = self.tree[2 * node].min(self.tree[2 * node + 1]);
        }
        self
    }

    /// The buckets that hold something between two positions, both included.
    fn buckets(&self, low: i64, high: i64) -> Option<(usize, usize)> {
        let count = self.tree.len() as i64 / 2;
        let first = (low - self.start - self.slack).div_euclid(WIDTH).max(0);
        let last = (high - self.start).div_euclid(WIDTH).min(count - 1);
        (low <= high && first <= last).then_some((first as usize, last as usize))
    }

    /// The least keys of all that some parts add up to.
    pub(crate) fn sums(parts: &[Part<'_>]) -> Self {
        let parts: Vec<(&Part<'_>, usize, &[u128])> = parts.iter().filter_map(Part::run).collect();
        let ends = parts.iter().fold(None, |ends: Option<(i64, i64)>, (part, first, run)| {
            let start = part.start(*first);
            let end = start + (run.len() as i64 - 1) * WIDTH;
            let (low, high) = ends.unwrap_or((start, end));
            Some((low.min(start), high.max(end)))
        });
        let Some((low, high)) = ends else { return Self::default() };
        let count = ((high - low) / WIDTH + 1) as usize;
        let mut tree = vec![Key::NONE; 2 * count];
        let mut slack = 0;
        for (part, first, run) in parts {
            // What is shifted no whole bucket may stand that much farther.
            let off = part.start(first) - low;
            slack = slack.max(part.table.slack + off % WIDTH);
            for (out, own) in tree[count + (off / WIDTH) as usize..].iter_mut().zip(run) {
                // The top bits of all keys are free, so that no sum of bounds overflows.
                *out = (*out).min(own.wrapping_add(part.key));
            }
        }
        Self { start: low, slack, tree }.finished()
    }

    /// The least key between two positions, both included.
    pub(crate) fn least(&self, low: i64, high: i64) -> u128 {
        let Some((first, last)) = self.buckets(low, high) else { return Key::NONE };
        let count = self.tree.len() / 2;
        let (mut left, mut right) = (first + count, last + 1 + count);
        let mut least = Key::NONE;
        while left < right {
            if left % 2 == 1 {
                least = least.min(self.tree[left]);
                left += 1;
            }
            if right % 2 == 1 {
                right -= 1;
                least = least.min(self.tree[right]);
            }
            left /= 2;
            right /= 2;
        }
        least
    }

    /// The least key anywhere.
    pub(crate) fn least_of_all(&self) -> u128 {
        self.least(i64::MIN / 4, i64::MAX / 4)
    }
}

/// What stands in a table, with something that is added to all of it.
pub(crate) struct Part<'t> {
    pub(crate) table: &'t Table,
    /// Only what stands in it between these, both included, nm.
    pub(crate) between: (i64, i64),
    /// Is added to each position, nm.
    pub(crate) at: i64,
    /// Is added to each key.
    pub(crate) key: u128,
}

impl<'t> Part<'t> {
    /// The buckets that count, and the place of the first one.
    fn run(&self) -> Option<(&Self, usize, &'t [u128])> {
        let (first, last) = self.table.buckets(self.between.0, self.between.1)?;
        let count = self.table.tree.len() / 2;
        Some((self, first, &self.table.tree[count + first..=count + last]))
    }

    /// Where a bucket begins with what is added.
    fn start(&self, bucket: usize) -> i64 {
        self.table.start + bucket as i64 * WIDTH + self.at
    }
}

/// By what the best of a stretch of a list is chosen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) enum Choice {
    /// The least key.
    Plain,
    /// The least key and lack of room, where room grows with the position.
    Rising,
    /// The same where room shrinks as the position grows.
    Falling,
    /// The last position, then the least key.
    Last,
    /// The first position, then the least key.
    First,
}

/// A list in the order of its positions, with trees that find the best of any stretch.
#[derive(Debug, Clone, Default)]
pub(crate) struct Ranked {
    pub(crate) at: Vec<i64>,
    pub(crate) key: Vec<Key>,
    /// Per choice but the last two: a tournament of places in the list.
    trees: [Vec<u32>; 3],
    /// Room by position, as it counts in `Rising` and `Falling`.
    lacks: [Vec<Key>; 2],
}

impl Ranked {
    /// `lack` makes a key of a lack of room in nm.
    pub(crate) fn new(items: &[(i64, Key)], lack: impl Fn(i64) -> Key) -> Self {
        let at: Vec<i64> = items.iter().map(|(at, _)| *at).collect();
        let key: Vec<Key> = items.iter().map(|(_, key)| *key).collect();
        let (low, high) = (at.first().copied().unwrap_or(0), at.last().copied().unwrap_or(0));
        let rising = at.iter().map(|at| lack(high - at)).collect();
        let falling = at.iter().map(|at| lack(at - low)).collect();
        let mut ranked = Self { at, key, trees: Default::default(), lacks: [rising, falling] };
        ranked.trees = [Choice::Plain, Choice::Rising, Choice::Falling].map(|by| ranked.tree(by));
        ranked
    }

    fn rank(&self, by: Choice, place: u32) -> (Key, u32) {
        let index = place as usize;
        let key = match by {
            Choice::Rising => self.key[index] + self.lacks[0][index],
            Choice::Falling => self.key[index] + self.lacks[1][index],
            Choice::Plain | Choice::Last | Choice::First => self.key[index],
        };
        (key, place)
    }

    fn tree(&self, by: Choice) -> Vec<u32> {
        let count = self.at.len();
        let mut tree = vec![0; 2 * count];
        for place in 0..count {
            tree[count + place] = place as u32;
        }
        for node in (1..count).rev() {
            let (a, b) = (tree[2 * node], tree[2 * node + 1]);
            tree[node] = if self.rank(by, b) < self.rank(by, a) { b } else { a };
        }
        tree
    }

    /// The places whose positions lie between two, both included.
    pub(crate) fn between(&self, low: i64, high: i64) -> (u32, u32) {
        if low > high {
            return (0, 0);
        }
        let first = self.at.partition_point(|at| *at < low);
        let end = self.at.partition_point(|at| *at <= high);
        (first as u32, end.max(first) as u32)
    }

    /// The best place of a stretch.
    pub(crate) fn best(&self, by: Choice, (first, end): (u32, u32)) -> Option<u32> {
        if first >= end {
            return None;
        }
        match by {
            Choice::Last => {
                let at = self.at[end as usize - 1];
                let run = self.at[first as usize..end as usize].partition_point(|own| *own < at);
                self.best(Choice::Plain, (first + run as u32, end))
            }
            Choice::First => {
                let at = self.at[first as usize];
                let run = self.at[first as usize..end as usize].partition_point(|own| *own <= at);
                self.best(Choice::Plain, (first, first + run as u32))
            }
            Choice::Plain | Choice::Rising | Choice::Falling => self.tournament(by, first, end),
        }
    }

    fn tournament(&self, by: Choice, first: u32, end: u32) -> Option<u32> {
        let (tree, count) = (&self.trees[by as usize], self.at.len());
        let (mut left, mut right) = (first as usize + count, end as usize + count);
        let mut best: Option<(Key, u32)> = None;
        let mut take = |place: u32| {
            let rank = self.rank(by, place);
            best = Some(best.map_or(rank, |known| known.min(rank)));
        };
        while left < right {
            if left % 2 == 1 {
                take(tree[left]);
                left += 1;
            }
            if right % 2 == 1 {
                right -= 1;
                take(tree[right]);
            }
            left /= 2;
            right /= 2;
        }
        best.map(|(_, place)| place)
    }
}
