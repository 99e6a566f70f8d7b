//! The two sides of a stack: its front (engine, block plate, flywheel, disc and plate: where the finger
//! tips stand, and the window) and its rear (all else: where the bearing stands). A change of one slot
//! leaves one of the two as it is, so each is worked out once.

use std::cell::{OnceCell, RefCell};
use std::rc::Rc;

use itertools::Itertools as _;

use crate::solve::candidates::shims_within;
use crate::solve::change::{Changed, Changes, Swap};
use crate::solve::numbers::bearing::Ends;
use crate::solve::numbers::finger::{Finger, OpenFinger};
use crate::solve::numbers::sum::Sum;
use crate::solve::numbers::{FingerKey, Judged, Limits, judge, room_at};
use crate::stack::grade::{Grade, best_with};
use crate::stack::window::FloatAllowance;

/// What stands before the bearing.
pub(super) struct Front {
    finger: Finger,
    tips: Sum,
    limits: Limits,
}

/// What the bearing stands on.
pub(super) struct Rear {
    ends: Ends,
    sum: Sum,
}

/// Something that is worked out once for each candidate of each slot, where no other slot is changed.
type Once<T> = Vec<Vec<OnceCell<Option<T>>>>;

/// Both sides of the stacks that are looked at.
pub(super) struct Sides<'s, 'c, 'b, 'a> {
    changes: &'s Changes<'c, 'b, 'a>,
    /// Those of what is fitted.
    front: Option<Front>,
    rear: Option<Rear>,
    fronts: Once<Front>,
    rears: Once<Rear>,
    /// The finger tips that were asked for last.
    last: RefCell<Option<(FingerKey, Rc<OpenFinger>)>>,
}

fn once<T>(changes: &Changes<'_, '_, '_>) -> Once<T> {
    let slots = changes.numbers.candidates.slots.iter();
    slots.map(|fills| fills.iter().map(|_| OnceCell::new()).collect()).collect()
}

/// Why a stack is not judged.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Miss {
    /// It cannot be worked out.
    NoRoute,
    /// It is out of its window.
    Outside,
}

impl<'s, 'c, 'b, 'a> Sides<'s, 'c, 'b, 'a> {
    pub(super) fn new(changes: &'s Changes<'c, 'b, 'a>) -> Self {
        let mut sides = Self {
            changes,
            front: None,
            rear: None,
            fronts: once(changes),
            rears: once(changes),
            last: RefCell::default(),
        };
        sides.rear = sides.rear(&Changed::default());
        sides.front = sides.front(&Changed::default(), None).ok();
        sides
    }

    fn is_front(&self, slot: usize) -> bool {
        let slots = &self.changes.numbers.slots;
        [slots.engine, slots.flywheel, slots.disc, slots.plate, slots.block_plate].contains(&slot)
    }

    /// The front and the rear of what is fitted, where no slot of them is swapped.
    fn kept(&self, slots: [Option<usize>; 2]) -> (Option<&Front>, Option<&Rear>) {
        let kept = |front| !slots.iter().flatten().any(|slot| self.is_front(*slot) == front);
        (self.front.as_ref().filter(|_| kept(true)), self.rear.as_ref().filter(|_| kept(false)))
    }

    /// The best grade that what stays of a stack allows with some slots swapped.
    pub(super) fn best(&self, slots: [Option<usize>; 2]) -> Grade {
        let (front, rear) = self.kept(slots);
        front.map(Front::best).max(rear.map(Rear::best)).unwrap_or_default()
    }

    /// Whether the diaphragm works outside its range whatever stands in some slots.
    pub(super) fn is_outside(&self, slots: [Option<usize>; 2]) -> bool {
        self.kept(slots).0.is_some_and(|front| front.finger.outside)
    }

    /// The best grade that a swap allows, and whether the diaphragm works outside its range then, whatever
    /// stands in another slot; none where no route works.
    pub(super) fn alone(&self, swap: Swap, other: Option<usize>) -> Option<(Grade, bool)> {
        let is_front = self.is_front(swap.0);
        if other.is_some_and(|slot| self.is_front(slot) == is_front) {
            return Some((Grade::Sure, false));
        }
        if is_front {
            self.front_with(swap).map(|front| (front.best(), front.finger.outside))
        } else {
            self.rear_with(swap).map(|rear| (rear.best(), false))
        }
    }

    /// Judges the stack with one swap or two, and says whether its diaphragm works outside its range.
    pub(super) fn judge(&self, one: Swap, two: Option<Swap>) -> Result<(Judged, bool), Miss> {
        let both = [Some(one), two];
        let of = |front: bool| {
            let is_own = move |(slot, _): &Swap| self.is_front(*slot) == front;
            let mut own = both.into_iter().flatten().filter(is_own);
            (own.next(), own.next())
        };
        let (both_in_front, both_in_rear);
        let front = match of(true) {
            (None, _) => self.front.as_ref(),
            (Some(swap), None) => self.front_with(swap),
            (Some(one), Some(two)) => {
                let changed = self.changes.completed([one, two]).ok_or(Miss::NoRoute)?;
                both_in_front = self.front(&changed, self.rear.as_ref())?;
                Some(&both_in_front)
            }
        };
        let rear = match of(false) {
            (None, _) => self.rear.as_ref(),
            (Some(swap), None) => self.rear_with(swap),
            (Some(one), Some(two)) => {
                both_in_rear = self.rear(&Changed::of([one, two]));
                both_in_rear.as_ref()
            }
        };
        let (Some(front), Some(rear)) = (front, rear) else { return Err(Miss::NoRoute) };
        if !is_inside(&front.limits, front.tips.at, front.finger.float, rear) {
            return Err(Miss::Outside);
        }
        let judged = judge(&front.finger, &front.tips, &rear.ends, &rear.sum, &front.limits);
        Ok((judged, front.finger.outside))
    }

    fn front_with(&self, swap: Swap) -> Option<&Front> {
        let (slot, pick) = swap;
        let front = || self.front(&self.changes.completed([swap])?, None).ok();
        self.fronts[slot][pick as usize].get_or_init(front).as_ref()
    }

    fn rear_with(&self, swap: Swap) -> Option<&Rear> {
        let (slot, pick) = swap;
        self.rears[slot][pick as usize].get_or_init(|| self.rear(&Changed::of([swap]))).as_ref()
    }

    /// What stands before the bearing. With a rear it is not worked out where no route brings it into its
    /// window.
    fn front(&self, changed: &Changed, beside: Option<&Rear>) -> Result<Front, Miss> {
        let numbers = self.changes.numbers;
        let slots = &numbers.slots;
        let at = |slot: usize| changed.pick(slot).unwrap_or(self.changes.base[slot]);
        let (plate, block_plate) = (at(slots.plate), at(slots.block_plate));
        let parts = numbers.flywheels[at(slots.flywheel) as usize]
            .zip(numbers.discs[at(slots.disc) as usize])
            .zip(numbers.spacers[slots.block_plate][block_plate as usize])
            .zip(numbers.block_plate_sort(block_plate));
        let (((flywheel, disc), own), sort) = parts.ok_or(Miss::NoRoute)?;
        let open = self.finger((at(slots.engine), plate, flywheel.sort, disc.sort, sort));
        if !open.works() {
            return Err(Miss::NoRoute);
        }
        let limits = numbers.limits(plate, at(slots.disc));
        let alone = flywheel.alone.plus(&disc.alone).plus(&own.sum.turned());
        let mut positions = open.positions(&flywheel.gap, &disc.gap);
        let inside = |rear: &Rear| {
            positions.any(|(at, float)| is_inside(&limits, at + alone.at, float, rear))
        };
        if !beside.is_none_or(inside) {
            return Err(Miss::Outside);
        }
        let finger = open.with(&flywheel.gap, &disc.gap).ok_or(Miss::NoRoute)?;
        Ok(Front { finger, tips: finger.sum.plus(&alone), limits })
    }

    fn finger(&self, key: FingerKey) -> Rc<OpenFinger> {
        let mut last = self.last.borrow_mut();
        match &*last {
            Some((known, open)) if *known == key => Rc::clone(open),
            _ => Rc::clone(&last.insert((key, self.changes.numbers.finger(key))).1),
        }
    }

    /// What the bearing stands on; none where no route works.
    fn rear(&self, changed: &Changed) -> Option<Rear> {
        let numbers = self.changes.numbers;
        let slots = &numbers.slots;
        let at = |slot: usize| changed.pick(slot).unwrap_or(self.changes.base[slot]);
        let fills = [slots.bearing, slots.shims].map(|slot| numbers.fill(slot, at(slot)));
        if !shims_within(fills[0], fills[1]) {
            return None;
        }
        let between = slots.before.iter().filter(|slot| **slot != slots.block_plate);
        let open = between.chain(&slots.behind).chain([&slots.shims]);
        let open: Vec<(usize, u32)> = open.map(|slot| (*slot, at(*slot))).collect();
        let sums = open.iter().map(|(slot, pick)| numbers.spacers[*slot][*pick as usize]);
        let sum = sums
            .map(|own| own.map(|own| own.sum))
            .fold_options(Sum::default(), |all, own| all.plus(&own))?;
        let fixed = [slots.bell, slots.gearbox, slots.bearing].map(at);
        Some(Rear { ends: numbers.ends(fixed, &open)?, sum })
    }
}

impl Front {
    /// The best grade that it allows.
    fn best(&self) -> Grade {
        self.finger.cap.max(best_with(&self.tips.spread))
    }
}

impl Rear {
    /// The best grade that it allows: each end has a least room.
    fn best(&self) -> Grade {
        let sums = [&self.sum, &self.ends.extended, &self.ends.retracted];
        sums.into_iter().fold(self.ends.cap, |best, sum| best.max(best_with(&sum.spread)))
    }
}

/// Whether every room is at least nothing.
fn is_inside(limits: &Limits, tips: i64, float: FloatAllowance, rear: &Rear) -> bool {
    let tips = tips - rear.sum.at;
    limits.set().all(|(edge, limit)| {
        let ends = &rear.ends;
        let value =
            if edge.is_preload() { tips - ends.extended.at } else { ends.retracted.at - tips };
        room_at(edge, *limit, value, float) >= 0
    })
}
