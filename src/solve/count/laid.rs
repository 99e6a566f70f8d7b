//! All that stands between with one list of shims, laid out on a grid.
//!
//! Plates, spacers and shims are totalled up once, and a flywheel only moves them. What is asked is then two
//! look-ups for each question and bearing in a table of all flywheels of a set, or for each question, bearing and
//! flywheel in a table without.

use std::ops::Range;
use std::rc::Rc;

use itertools::{Itertools as _, iproduct};
use rustc_hash::{FxHashMap, FxHashSet};

use crate::error::Result;
use crate::solve::count::between::{Asked, Pile, between};
use crate::solve::count::bounds::{Asking, Asks, Bounds};
use crate::solve::count::mass::{Masses, count, ends, grid};
use crate::solve::count::query::{ends_of, travel_of};
use crate::solve::count::sweep::{Sums, Sweep};
use crate::solve::count::table::{ADD, LAY, MOST_CELLS, Table, cells};
use crate::solve::count::{By, LOOK_UP};
use crate::solve::numbers::checks::Starter;
use crate::solve::search::lists::Bearing;

/// Cells of what stands without a flywheel, kept at a time at most: 8 MB of them.
const MOST_KEPT: usize = 1 << 21;

/// How long it takes to lay a cell of what stands without a flywheel out, and to put a sum in its cell; ns.
const PILE: f64 = 2.8;
const PUT: f64 = 1.0;

/// How long it takes to bring into order what a question asks, and to find what is seen alike with a bearing; ns.
const PLACE: f64 = 30.0;
const SEEK: f64 = 100.0;

/// How long it takes to answer a question with a bearing and a flywheel, each for itself; ns.
const PAIR: f64 = 3.0;

/// By how many groups what is laid out is expected to be needed.
const SHARED: f64 = 4.0;

/// Plates, spacers and shims of one seat, totalled up.
pub(super) struct Laid {
    /// The step that all positions have in common, nm.
    pub(super) step: i64,
    /// By starter.
    piled: FxHashMap<Starter, Rc<Table>>,
}

/// How to count with tables.
pub(super) struct Plan {
    /// Between which positions, nm.
    range: (i64, i64),
    /// Where cells begin, so that most sums stand there, nm.
    main: i64,
    /// Starters whose flywheels that stand where cells begin (false), or beside that (true), are not laid out.
    apart: FxHashSet<(Starter, bool)>,
    by: By,
    /// How long it takes, ns.
    pub(super) cost: f64,
}

/// Flywheels with one starter.
struct Share<'p> {
    /// Some of them, with the plates and spacers that they may have.
    pile: &'p Pile,
    /// How many thicknesses stand where cells begin, and how many beside that.
    flywheels: [f64; 2],
}

/// How to build a table of all flywheels.
struct Building {
    /// By tables of what stands without a flywheel, or by sums.
    by: By,
    /// What is not laid out, as in a plan.
    apart: FxHashSet<(Starter, bool)>,
    /// How long it takes, and to lay out all that is not; ns.
    cost: f64,
    laid: f64,
}

impl Laid {
    /// Of lists that are added up.
    pub(super) fn new<'m>(lists: impl Iterator<Item = &'m Masses>) -> Self {
        let steps = lists.filter_map(|list| grid(list.iter().map(|(at, _)| *at)));
        let step = grid(steps.flat_map(|step| [0, step])).unwrap_or(1);
        Self { step, piled: FxHashMap::default() }
    }

    /// How to count what is asked of some flywheels, in parts that different questions may have, if need be in
    /// one way alone; none where there is no room.
    pub(super) fn plan(
        &self,
        asked: &Asked<'_>,
        parts: &[Vec<Pile>],
        shims: &Masses,
        by: Option<By>,
    ) -> Option<Plan> {
        let piles = || parts.iter().flatten();
        let stand = between(piles(), shims);
        let ((low, high), (first, last)) = asked.reach().zip(stand)?;
        // Below the first nothing stands, and from the last on everything.
        let low = low.clamp(first - 1, last);
        let range = (low, high.clamp(low, last));
        let cells = cells(range, self.step) as f64;
        let (least, most) = ends(shims)?;
        let longest = piles().map(|pile| Some(self.cells(ends(&pile.spacers)?, (least, most))));
        let longest = longest.collect::<Option<Vec<i64>>>()?.into_iter().max()?;
        let sums = piles().fold(0_u64, |sum, pile| {
            let own = count(&pile.spacers).saturating_mul(count(shims));
            sum.saturating_add(own.saturating_mul(count(&pile.flywheels)))
        });
        let has_room =
            u64::try_from(i64::MAX).is_ok_and(|most| sums <= most / asked.most_held().max(1));
        if longest.max(cells as i64) > MOST_CELLS || u32::try_from(sums).is_err() || !has_room {
            return None;
        }
        let begins = |pile: &Pile, thickness: i64| self.begins(pile, shims, thickness);
        let flywheels =
            piles().flat_map(|pile| pile.flywheels.iter().map(|(at, _)| begins(pile, *at)));
        let counts = flywheels.counts();
        let (lengths, flywheels) = (counts.len() as f64, counts.values().sum::<usize>() as f64);
        let (main, _) = counts.into_iter().max_by_key(|(at, n)| (*n, -at))?;
        let mut shares: FxHashMap<Starter, Share<'_>> = FxHashMap::default();
        for pile in piles() {
            let own = shares.entry(pile.starter).or_insert(Share { pile, flywheels: [0.0; 2] });
            for (thickness, _) in &pile.flywheels {
                own.flywheels[usize::from(begins(pile, *thickness) != main)] += 1.0;
            }
        }
        let building =
            self.building(&shares, shims, (cells, longest as f64), parts.len() as f64, by);
        let bearings: usize = asked.bearings.iter().map(Vec::len).sum();
        let placed = PLACE * asked.questions.len() as f64;
        let by_tables = LAY * cells * (1.0 + parts.len() as f64)
            + building.cost
            + placed
            + SEEK * lengths * bearings as f64
            + LOOK_UP * 2.0 * asked.len() as f64;
        let by_pairs = building.laid
            + placed
            + (SEEK * bearings as f64 + PAIR * asked.len() as f64) * flywheels;
        let ways = [(building.by, by_tables), (By::Pairs, by_pairs)].into_iter();
        let ways = ways.filter(|(way, _)| by.is_none_or(|by| by == *way));
        let (by, cost) = ways.min_by(|(_, a), (_, b)| a.total_cmp(b))?;
        Some(Plan { range, main, apart: building.apart, by, cost })
    }

    /// How to build a table of so many cells from what the longest piled table of so many may hold.
    fn building(
        &self,
        shares: &FxHashMap<Starter, Share<'_>>,
        shims: &Masses,
        (cells, longest): (f64, f64),
        parts: f64,
        by: Option<By>,
    ) -> Building {
        // What is laid out is there for others too, if there is room for all of it.
        let has_room = longest * shares.len() as f64 <= MOST_KEPT as f64;
        let shared = if has_room { SHARED } else { 1.0 };
        let with_shims = shims.len() as f64;
        let (mut laid, mut by_tables) = (0.0, 0.0);
        let mut by_sums = ADD * cells * with_shims + LAY * cells;
        let mut apart = FxHashSet::default();
        for (starter, Share { pile, flywheels: [own, beside] }) in shares {
            let spacers = pile.spacers.len() as f64;
            let is_laid = self.piled.contains_key(starter);
            let lay = (PILE * longest + PUT * spacers * with_shims) / shared;
            let lay = if is_laid { 0.0 } else { lay };
            // Those beside the cells are passed on the way through them.
            let tables = [ADD * cells * own, ADD * cells * beside * (1.0 + parts)];
            let sums = [PUT * spacers * own, PUT * spacers * beside * (1.0 + parts * with_shims)];
            let lay_beside = if *beside > 0.0 { lay } else { 0.0 };
            let ways = [
                (lay + tables[0] + tables[1], &[][..]),
                (lay_beside + sums[0] + tables[1], &[false][..]),
                (sums[0] + sums[1], &[false, true][..]),
            ];
            laid += lay;
            by_tables += ways[0].0;
            let least = ways.iter().min_by(|(a, _), (b, _)| a.total_cmp(b));
            let own = if by == Some(By::Sums) { Some(&ways[2]) } else { least };
            if let Some((cost, own)) = own {
                by_sums += cost;
                apart.extend(own.iter().map(|beside| (*starter, *beside)));
            }
        }
        if by.map_or(by_sums < by_tables, |by| by == By::Sums) {
            Building { laid, apart, by: By::Sums, cost: by_sums }
        } else {
            Building { laid, apart: FxHashSet::default(), by: By::Tables, cost: by_tables }
        }
    }

    /// Where in a cell the sums of a pile with one flywheel stand, nm.
    fn begins(&self, pile: &Pile, shims: &Masses, thickness: i64) -> i64 {
        (pile.spacers[0].0 + shims[0].0 - thickness).rem_euclid(self.step)
    }

    /// How many cells it takes to lay plates and spacers out with shims.
    fn cells(&self, (low, high): (i64, i64), (least, most): (i64, i64)) -> i64 {
        cells((low + least, high + most), self.step)
    }

    /// How many sums lie where some questions ask for them. The parts come with the questions that may have
    /// just those flywheels and all of the parts before them.
    pub(super) fn count(
        &mut self,
        plan: &Plan,
        parts: &[(Range<usize>, &[Pile])],
        shims: &Rc<Masses>,
        asked: &Asked<'_>,
    ) -> Result<i128> {
        if plan.by == By::Pairs {
            return self.count_pairs(parts, shims, asked);
        }
        let mut sweep = Sweep::new(plan.range, plan.main, self.step);
        let mut sum = 0_i64;
        for (own, piles) in parts {
            let mut moved = Vec::new();
            for pile in *piles {
                let Pile { starter, spacers, flywheels } = pile;
                let mut piled = None;
                for (at, n) in flywheels {
                    let is_beside = self.begins(pile, shims, *at) != plan.main;
                    let is_apart = plan.apart.contains(&(*starter, is_beside));
                    let sums = if is_apart {
                        Sums::Apart(Rc::clone(spacers), Rc::clone(shims))
                    } else {
                        let new = || self.piled(*starter, spacers, shims);
                        Sums::Table(Rc::clone(piled.get_or_insert_with(new)))
                    };
                    moved.push((sums, *at, *n));
                }
            }
            sweep.add(moved, asked.watch)?;
            let placed = asked.placed(own.clone(), sweep.grid());
            let own = sweep.answer(&asking(&placed, &[(0, 1)]), asked.watch)?;
            sum = sum.wrapping_add(own);
        }
        Ok(i128::from(sum))
    }

    /// The same with no flywheel in a table: each is asked with each bearing.
    fn count_pairs(
        &mut self,
        parts: &[(Range<usize>, &[Pile])],
        shims: &Masses,
        asked: &Asked<'_>,
    ) -> Result<i128> {
        let mut sum = 0_i64;
        for (part, (_, piles)) in parts.iter().enumerate() {
            for Pile { starter, spacers, flywheels } in *piles {
                let piled = self.piled(*starter, spacers, shims);
                for (own, _) in &parts[part..] {
                    let placed = asked.placed(own.clone(), &piled.grid);
                    let asking = asking(&placed, flywheels);
                    let own = piled.answer(&asking, 0..self.step, asked.watch)?;
                    sum = sum.wrapping_add(own);
                }
            }
        }
        Ok(i128::from(sum))
    }

    /// All that stands there where a starter lets the flywheel be.
    pub(super) fn piled(
        &mut self,
        starter: Starter,
        spacers: &Masses,
        shims: &Masses,
    ) -> Rc<Table> {
        let kept: usize = self.piled.values().map(|piled| piled.cells.len()).sum();
        if kept > MOST_KEPT {
            self.piled.clear();
        }
        let new = || Rc::new(Table::of(spacers, shims, self.step));
        Rc::clone(self.piled.entry(starter).or_insert_with(new))
    }
}

/// What bearings ask with flywheels of some thicknesses, nm, and how many there are of each.
fn asking<'b>(
    placed: &'b [(Rc<[Bounds; 2]>, &[&Bearing])],
    flywheels: &[(i64, u64)],
) -> Vec<Asks<'b>> {
    let of = |((bounds, bearings), end): (&'b (Rc<[Bounds; 2]>, &[&Bearing]), usize)| {
        let each = |(bearing, (at, n)): (&&Bearing, &(i64, u64))| Asking {
            at: ends_of(bearing)[end] - at,
            travel: travel_of(bearing),
            times: *n as i64,
        };
        (&bounds[end], iproduct!(*bearings, flywheels).map(each).collect())
    };
    iproduct!(placed, [0, 1]).map(of).collect()
}
