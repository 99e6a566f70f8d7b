//! How many things stand at or below a position.

use itertools::Itertools as _;

/// Things by position, each position once, in order.
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

/// All sums of one thing out of each of two lists.
pub(crate) fn sums(one: &Masses, two: &Masses) -> Masses {
    let pairs = one.iter().flat_map(|(a, n)| two.iter().map(move |(b, m)| (a + b, n * m)));
    collected(pairs.collect())
}

/// Counts things below positions: in narrow cells, and in one cell by looking at each.
pub(crate) struct Ranks {
    start: i64,
    /// The width of a cell is two to this, nm.
    shift: u32,
    /// Where each cell's things begin, and how many stand before it.
    cells: Vec<(u32, u64)>,
    things: Masses,
}

impl Ranks {
    /// Of lists, each moved to a place.
    pub(crate) fn new(parts: &[(&Masses, i64)]) -> Self {
        let all =
            || parts.iter().flat_map(|(list, to)| list.iter().map(move |(at, n)| (at + to, *n)));
        let ends = all().map(|(at, _)| at).minmax().into_option();
        let Some((start, last)) = ends else { return Self::none() };
        let count: usize = parts.iter().map(|(list, _)| list.len()).sum();
        // About one thing a cell.
        let shift = ((last - start) as u64 / count as u64 + 1).next_power_of_two().ilog2();
        let cell = |at: i64| ((at - start) >> shift) as usize;
        let mut cells = vec![(0_u32, 0_u64); cell(last) + 2];
        for (at, n) in all() {
            let next = &mut cells[cell(at) + 1];
            *next = (next.0 + 1, next.1 + n);
        }
        for index in 1..cells.len() {
            cells[index].0 += cells[index - 1].0;
            cells[index].1 += cells[index - 1].1;
        }
        let mut filled: Vec<u32> = cells.iter().map(|(first, _)| *first).collect();
        let mut things = vec![(0, 0); count];
        for (at, n) in all() {
            let place = &mut filled[cell(at)];
            things[*place as usize] = (at, n);
            *place += 1;
        }
        Self { start, shift, cells, things }
    }

    fn none() -> Self {
        Self { start: 0, shift: 0, cells: vec![(0, 0)], things: Vec::new() }
    }

    /// How many stand at a position or below it.
    pub(crate) fn up_to(&self, at: i64) -> u64 {
        if at < self.start {
            return 0;
        }
        let cell = ((at - self.start) >> self.shift) as usize;
        let Some([(first, before), (end, _)]) = self.cells.get(cell..cell + 2) else {
            return self.cells.last().map_or(0, |(_, all)| *all);
        };
        let inside = self.things[*first as usize..*end as usize].iter();
        before + inside.map(|(own, n)| if *own <= at { *n } else { 0 }).sum::<u64>()
    }
}
