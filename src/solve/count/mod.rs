//! How many combinations there are and how many of them hold, exactly, without walking them all.
//!
//! Both halves of the stack are counted by position: the additive slots by convolution, then every
//! flywheel, disc and plate against the running totals of what stands behind them.
//!
//! `rear` folds what stands behind the fingers, `front` what stands before them, and `sweep`
//! lays one against the other. `class` is what is told apart meanwhile.

mod class;
mod front;
mod rear;
mod sweep;

use std::collections::hash_map::Entry;
use std::collections::{BTreeMap, HashMap};
use std::rc::Rc;

use crate::error::Result;
use crate::model::kinds::Joint;
use crate::solve::ask::Watch;
use crate::solve::compact::{Common, Compact};
use crate::solve::count::class::Component;
use crate::solve::count::sweep::Chosen;
use crate::solve::verdict::NONE;

/// The two counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Tally {
    /// Combinations whose known faces mate and that can be summed up.
    pub considered: u128,
    /// Those of them that are in the window and fail no check.
    pub in_window: u128,
}

/// Counts the combinations of the candidates.
///
/// # Errors
///
/// Only that the work was interrupted.
pub fn count(compact: &Compact<'_, '_>, watch: &Watch) -> Result<Tally> {
    let mut tally = Tally::default();
    let named = compact.named;
    let sizes = |slot: usize| 0..compact.common[slot].len();
    for e in sizes(named.engine) {
        for bell in sizes(named.bell) {
            for gearbox in sizes(named.gearbox) {
                let mut picks = vec![NONE; compact.common.len()];
                picks[named.engine] = e as u32;
                picks[named.bell] = bell as u32;
                picks[named.gearbox] = gearbox as u32;
                let clash = Joint::ALL.iter().any(|joint| compact.clashes(&picks, *joint));
                watch.step(1)?;
                if !clash {
                    let (mating, matings) = (HashMap::new(), Vec::new());
                    Frame { compact, watch, picks, mating, matings }.count(&mut tally)?;
                }
            }
        }
    }
    Ok(tally)
}

/// One engine, bell housing and gearbox.
struct Frame<'s, 'b, 'a> {
    compact: &'s Compact<'b, 'a>,
    watch: &'s Watch,
    /// What is picked meanwhile. Whoever picks puts [`NONE`] back before returning: faces are
    /// asked of all that is picked.
    picks: Vec<u32>,
    /// Plates that show the same faces go with the same flywheels and discs: a place in `matings`.
    mating: HashMap<(u32, bool), usize>,
    /// Each once.
    matings: Vec<Rc<Mating>>,
}

/// The components whose bearing mates with a plate, and how many combinations they stand for.
struct Meeting {
    bearings: Vec<bool>,
    behind: u128,
}

/// The faces of a plate with what the checks of plate and bearing ask for.
type Served = (u32, Option<(i64, i64)>, Option<i64>);

/// The flywheels and discs that mate under a plate.
#[derive(Debug, PartialEq, Eq)]
struct Mating {
    flywheels: Vec<usize>,
    discs: Vec<usize>,
}

impl Frame<'_, '_, '_> {
    fn pick(&self, slot: usize) -> usize {
        self.picks[slot] as usize
    }

    /// Adds what this frame counts.
    fn count(&mut self, tally: &mut Tally) -> Result<()> {
        let components = self.components()?;
        if components.is_empty() {
            return Ok(());
        }
        let named = self.compact.named;
        let starters = self.starters(&components);
        let groups = self.face_groups(named.plate);
        let mut meeting: HashMap<u32, Meeting> = HashMap::new();
        // Plates that the same bearings may serve share their running totals.
        let mut serving: HashMap<Served, (Vec<bool>, Vec<usize>)> = HashMap::new();
        for (p, group) in groups.iter().enumerate() {
            self.watch.step(1)?;
            self.picks[named.plate] = p as u32;
            let meets = match meeting.entry(*group) {
                Entry::Occupied(known) => known.into_mut(),
                Entry::Vacant(new) => new.insert(self.meeting(&components)),
            };
            if meets.behind > 0 {
                tally.considered += meets.behind * self.front_count(*group, p)?;
                if !self.compact.plate_fails(p, i64::MAX) {
                    let served = self.served(*group, p);
                    let (_, plates) = serving.entry(served).or_insert_with(|| {
                        let both = components.iter().zip(&meets.bearings);
                        let passes = both.map(|(one, meets)| {
                            *meets && !self.compact.contact_fails(p, one.bearing)
                        });
                        (passes.collect(), Vec::new())
                    });
                    plates.push(p);
                }
            }
            self.picks[named.plate] = NONE;
        }
        let mut sharing: BTreeMap<Vec<bool>, Vec<usize>> = BTreeMap::new();
        for (serves, plates) in serving.into_values() {
            sharing.entry(serves).or_default().extend(plates);
        }
        for (serves, plates) in sharing {
            for (passes, flywheels) in &starters {
                let chosen = Chosen::all(&components, &serves, passes);
                self.share((&plates, &groups), &chosen, flywheels, tally)?;
            }
        }
        Ok(())
    }

    /// The bearings that mate with the picked plate.
    fn meeting(&mut self, components: &[Component]) -> Meeting {
        let p = self.pick(self.compact.named.plate);
        let clash = self.clash(&[Joint::Spline]);
        let bearings: Vec<bool> =
            components.iter().map(|one| !clash && self.meets(p, one.bearing)).collect();
        let behind = components.iter().zip(&bearings).filter(|(_, meets)| **meets);
        Meeting { behind: behind.map(|(one, _)| one.all).sum(), bearings }
    }

    /// What the bearings that serve a plate hang on.
    fn served(&self, group: u32, p: usize) -> Served {
        let (plate, bearings) = (&self.compact.plates[p], &self.compact.bearings);
        let circles = bearings.iter().any(|bearing| bearing.contact.is_some());
        let hydraulics = self.compact.fitted.master.is_some();
        (group, plate.circle.filter(|_| circles), plate.release.filter(|_| hydraulics))
    }

    fn clash(&self, joints: &[Joint]) -> bool {
        joints.iter().any(|joint| self.compact.clashes(&self.picks, *joint))
    }

    /// Whether a bearing mates with a plate; the plate is left picked.
    fn meets(&mut self, p: usize, bearing: usize) -> bool {
        let named = self.compact.named;
        self.picks[named.plate] = p as u32;
        self.picks[named.bearing] = bearing as u32;
        let meets = !self.clash(&[Joint::Contact]);
        self.picks[named.bearing] = NONE;
        meets
    }

    /// A candidate that stands for all of its slot with the same faces, for each candidate.
    fn face_groups(&self, slot: usize) -> Vec<u32> {
        let mut first = vec![NONE; self.compact.faces[slot].len()];
        let common = (0..).zip(&self.compact.common[slot]);
        let stands_for = |(index, one): (u32, &Common)| {
            let first = &mut first[one.faces as usize];
            *first = index.min(*first);
            *first
        };
        common.map(stands_for).collect()
    }
}
