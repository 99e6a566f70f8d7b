//! Finger positions laid against the running totals of what stands behind them.

use std::collections::BTreeMap;
use std::rc::Rc;

use crate::error::Result;
use crate::solve::ask::Watch;
use crate::solve::count::class::{ByStarter, Component};
use crate::solve::count::{Frame, Tally};
use crate::solve::histogram::{Counts, Histogram, convolved, merged};
use crate::solve::verdict::NONE;

/// A component's counts for one set of starter positions.
pub(super) struct Chosen {
    /// Positions of both ends less the additive slots.
    ends: [i64; 2],
    /// Shared by the components with the same slots behind them.
    counts: Rc<Counts>,
}

impl Chosen {
    /// The components that a plate's bearings allow, each distinct sum merged once.
    pub(super) fn all(
        components: &[Component],
        holds: &[bool],
        passes: &[Option<i64>],
    ) -> Vec<Self> {
        let mut known: Vec<(Rc<ByStarter>, Rc<Counts>)> = Vec::new();
        let mut chosen = Vec::new();
        for (one, _) in components.iter().zip(holds).filter(|(_, holds)| **holds) {
            let found = known.iter().find(|(source, _)| Rc::ptr_eq(source, &one.counts));
            let counts = if let Some((_, counts)) = found {
                Rc::clone(counts)
            } else {
                let all = passes.iter().filter_map(|starter| one.counts.get(starter));
                let counts = Rc::new(merged(all.flatten().copied().collect()));
                known.push((Rc::clone(&one.counts), Rc::clone(&counts)));
                counts
            };
            chosen.push(Self { ends: one.ends, counts });
        }
        chosen
    }

    /// The same with every position shifted in every way.
    fn shifted(chosen: &[Self], shifts: &Counts) -> Vec<Self> {
        let mut known: Vec<(Rc<Counts>, Rc<Counts>)> = Vec::new();
        let shift = |one: &Self| {
            let found = known.iter().find(|(source, _)| Rc::ptr_eq(source, &one.counts));
            let counts = if let Some((_, counts)) = found {
                Rc::clone(counts)
            } else {
                let counts = Rc::new(convolved(&one.counts, shifts));
                known.push((Rc::clone(&one.counts), Rc::clone(&counts)));
                counts
            };
            Self { ends: one.ends, counts }
        };
        chosen.iter().map(shift).collect()
    }
}

/// Discs that wear alike, each with how many it stands for.
type Worn = Vec<(usize, u128)>;

/// A window with the plate that has it, and with which of the discs that wear alike.
type Window = ([Option<i64>; 4], usize, usize);

impl Frame<'_, '_, '_> {
    /// Discs by their own wear, one for all that put the fingers alike. Under a measured clutch each
    /// is its own: the route may hang on its tolerance.
    fn worn(&self, discs: &[usize]) -> Vec<Worn> {
        let mut worn: BTreeMap<Option<i64>, BTreeMap<_, (usize, u128)>> = BTreeMap::new();
        for d in discs {
            let disc = &self.compact.discs[*d];
            let own = self.is_measured().then_some(*d);
            let key = (disc.facing.map(|facing| facing.value), disc.hub, own);
            worn.entry(disc.wear).or_default().entry(key).or_insert((*d, 0)).1 += 1;
        }
        worn.into_values().map(|alike| alike.into_values().collect()).collect()
    }

    /// The window of each plate with each list of discs.
    fn windows(&self, plates: &[usize], worn: &[Worn]) -> Vec<Window> {
        let engine = &self.compact.engines[self.pick(self.compact.named.engine)];
        let (less_preload, less_reserve) = engine.allowance;
        let mut windows = Vec::with_capacity(plates.len() * worn.len());
        for p in plates {
            for (index, discs) in worn.iter().enumerate() {
                let mut window = self.compact.window(discs[0].0, *p);
                window[0] = window[0].map(|limit| limit + less_preload);
                // A preload below the release travel fails the stroke check.
                window[0] = window[0].max(self.compact.plates[*p].release);
                window[1] = window[1].map(|limit| limit - less_reserve);
                window[2] = window[2].map(|limit| limit + less_reserve);
                window[3] = window[3].map(|limit| limit - less_preload);
                windows.push((window, *p, index));
            }
        }
        windows
    }

    /// Counts the plates that meet the same bearings.
    pub(super) fn share(
        &mut self,
        (plates, groups): (&[usize], &[u32]),
        chosen: &[Chosen],
        flywheels: &[bool],
        tally: &mut Tally,
    ) -> Result<()> {
        let named = self.compact.named;
        let e = self.pick(named.engine);
        // Plates that the same flywheels and discs fit are swept together.
        let mut alike: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for p in plates {
            self.picks[named.plate] = *p as u32;
            alike.entry(self.mating(groups[*p], *p)).or_default().push(*p);
            self.picks[named.plate] = NONE;
        }
        for (place, plates) in alike {
            let mating = Rc::clone(&self.matings[place]);
            let worn = self.worn(&mating.discs);
            let fly: Vec<usize> =
                mating.flywheels.iter().copied().filter(|f| flywheels[*f]).collect();
            let windows = self.windows(&plates, &worn);
            let mut discs = worn.iter().flatten();
            let flat = |f: &usize| self.compact.flywheels[*f].step.value == 0;
            let hubs = fly.iter().any(|f| self.compact.flywheels[*f].bolts.is_some())
                && discs.any(|(d, _)| self.compact.discs[*d].hub.is_some());
            let (flats, mut singly): (Vec<usize>, Vec<usize>) = fly.iter().partition(|f| flat(f));
            if self.is_measured() || hubs || flats.len() < 2 {
                singly = fly;
            } else {
                // Flat flywheels only shift the fingers, so they are counted with the rear.
                let shifts = flats.iter().filter_map(|f| self.compact.flywheels[*f].thickness);
                let shifts = merged(shifts.map(|thickness| (-thickness.value, 1)).collect());
                let folded = Chosen::shifted(chosen, &shifts);
                let (first, crank) = (flats[0], self.compact.crank(e));
                let list = |p: usize, d: usize, fingers: &mut Vec<i64>| {
                    let above = self.compact.clutch_pos(first, d, p);
                    let thickness = self.compact.flywheels[first].thickness;
                    if let (Some(crank), Some(above), Some(own)) = (crank, above, thickness) {
                        fingers.push(crank + above - own.value);
                    }
                };
                tally.in_window += sweep(&folded, windows.clone(), &worn, self.watch, list)?;
            }
            if !singly.is_empty() {
                let list = |p, d, fingers: &mut Vec<i64>| {
                    let finger = self.fingers(e, &singly, d, p);
                    let holds = singly.iter().filter(|f| !self.compact.hub_fails(**f, d));
                    fingers.extend(holds.filter_map(|f| finger(*f)));
                };
                tally.in_window += sweep(chosen, windows, &worn, self.watch, list)?;
            }
        }
        Ok(())
    }
}

/// Counts what holds for every window's plates and discs, those that need the most travel first.
/// `list` adds where the fingers stand for a plate and a disc.
fn sweep(
    chosen: &[Chosen],
    mut windows: Vec<Window>,
    worn: &[Worn],
    watch: &Watch,
    list: impl Fn(usize, usize, &mut Vec<i64>),
) -> Result<u128> {
    let all = |end: usize| chosen.iter().map(move |one| (one.ends[end], one.counts.as_ref()));
    windows.sort_by_key(|(window, ..)| {
        std::cmp::Reverse(window[0].unwrap_or(0) + window[2].unwrap_or(0))
    });
    let mut by_travel: Vec<&Chosen> = chosen.iter().collect();
    by_travel.sort_by_key(|one| std::cmp::Reverse(one.ends[1] - one.ends[0]));
    let mut waiting = by_travel.iter().peekable();
    let (mut extended, mut retracted) = (Histogram::for_all(all(0)), Histogram::for_all(all(1)));
    let (mut count, mut fingers) = (0, Vec::new());
    for (window, p, discs) in windows {
        let is_bounded = window[1].is_some() || window[3].is_some();
        let (least_preload, least_reserve) = (window[0].unwrap_or(0), window[2].unwrap_or(0));
        while let Some(one) = waiting.next_if(|one| {
            !is_bounded && one.ends[1] - one.ends[0] >= least_preload + least_reserve
        }) {
            extended.add(one.ends[0], &one.counts);
            retracted.add(one.ends[1], &one.counts);
        }
        extended.ready();
        retracted.ready();
        for (d, number) in &worn[discs] {
            fingers.clear();
            list(p, *d, &mut fingers);
            watch.step(1 + fingers.len() as u64)?;
            let held = if is_bounded {
                bounded(chosen, window, &fingers)
            } else {
                // extended <= fingers - preload_min, and retracted >= fingers + reserve_min.
                let held = |pos: &i64| {
                    extended.at_most(pos - least_preload)
                        - retracted.at_most(pos + least_reserve - 1)
                };
                fingers.iter().map(held).sum::<u128>()
            };
            count += held * number;
        }
    }
    Ok(count)
}

/// The count where a maximum is set: bearing by bearing.
fn bounded(chosen: &[Chosen], window: [Option<i64>; 4], fingers: &[i64]) -> u128 {
    let far = i64::MAX / 8;
    let mut count = 0;
    let mut running: Option<(&Rc<Counts>, Vec<u128>)> = None;
    for one in chosen {
        let totals = match running.take() {
            Some((of, totals)) if Rc::ptr_eq(of, &one.counts) => totals,
            _ => {
                let totals = one.counts.iter().scan(0, |sum, (_, count)| {
                    *sum += count;
                    Some(*sum)
                });
                totals.collect()
            }
        };
        let at_most = |pos: i64| {
            let below = one.counts.partition_point(|(known, _)| *known <= pos);
            if below == 0 { 0 } else { totals[below - 1] }
        };
        for pos in fingers {
            let high = window[0].map_or(far, |limit| pos - limit - one.ends[0]);
            let high = high.min(window[3].map_or(far, |limit| limit + pos - one.ends[1]));
            let low = window[2].map_or(-far, |limit| pos + limit - one.ends[1]);
            let low = low.max(window[1].map_or(-far, |limit| pos - limit - one.ends[0]));
            if low <= high {
                count += at_most(high) - at_most(low - 1);
            }
        }
        running = Some((&one.counts, totals));
    }
    count
}
