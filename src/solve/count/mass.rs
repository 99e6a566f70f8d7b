//! Things by position, and how many of them lie up to one.

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

/// The largest step that all positions have in common; none where they are all one.
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

/// Counts few things: in narrow cells, and within a cell by looking at each.
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
        let Some((start, last)) = ends else {
            return Self { start: 0, shift: 0, cells: vec![(0, 0)], things: Vec::new() };
        };
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
