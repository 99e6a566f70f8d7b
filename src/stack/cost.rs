//! What a stack still costs, how much of it is new, how many parts it has and where it puts the
//! gearbox.

use crate::model::length::Length;
use crate::model::money::Cents;
use crate::model::part::Part;
use crate::stack::choice::{Choice, Facings, Fill, Setup};

/// What is still to be bought, in the order in which it counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct ToBuy {
    /// Pieces to be bought whose price is not known.
    pub unpriced: u32,
    /// The known prices of the others.
    pub amount: Cents,
}

impl ToBuy {
    /// What `pieces` more of one part cost.
    pub fn of(part: &Part, pieces: u32) -> Self {
        match part.price {
            Some(price) => {
                Self { unpriced: 0, amount: Cents::new(price.get() * i64::from(pieces)) }
            }
            None => Self { unpriced: pieces, amount: Cents::ZERO },
        }
    }
}

impl std::ops::Add for ToBuy {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self { unpriced: self.unpriced + other.unpriced, amount: self.amount + other.amount }
    }
}

/// How many pieces of a part have to be bought when `needed` of them stand in a stack: fewer by what
/// is fitted and stays, and by what lies on the shelf for the job.
pub fn pieces_to_buy(setup: &Setup<'_>, part: &Part, needed: u32) -> u32 {
    needed.saturating_sub(reusable(setup, part)).saturating_sub(setup.on_hand(part))
}

/// How many pieces of a part are fitted and can stay: what holds worn facings cannot.
pub fn reusable(setup: &Setup<'_>, part: &Part) -> u32 {
    let slot = setup.slot(part.kind.key);
    if slot == setup.facing_slot() && setup.facings() == Facings::Replaced {
        return 0;
    }
    slot.map_or(0, |slot| pieces_of(&setup.fitted[slot], part))
}

/// How many pieces of a part stand in a slot.
pub fn pieces_of(fill: &Fill<'_>, part: &Part) -> u32 {
    // A slot takes two parts at most.
    fill.parts.iter().filter(|one| one.id == part.id).fold(0, |count, _| count + 1)
}

/// What is still to be bought of a stack.
pub fn to_buy(setup: &Setup<'_>, choice: &Choice<'_>) -> ToBuy {
    let slots = choice.fills.iter().enumerate();
    slots.fold(ToBuy::default(), |sum, (slot, fill)| sum + to_buy_in(setup, slot, fill))
}

/// A part that is still to be bought.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Purchase<'a> {
    /// The part; none for facings like the worn ones on the bench.
    pub part: Option<&'a Part>,
    /// How many pieces.
    pub pieces: u32,
}

impl Purchase<'_> {
    /// What it costs; of facings whose number nobody told that is unknown.
    pub fn cost(self) -> ToBuy {
        match self.part {
            Some(part) => ToBuy::of(part, self.pieces),
            None => ToBuy { unpriced: self.pieces, amount: Cents::ZERO },
        }
    }
}

/// The parts that are still to be bought of a stack, in slot order.
pub fn purchases<'a>(setup: &Setup<'_>, choice: &Choice<'a>) -> Vec<Purchase<'a>> {
    let slots = choice.fills.iter().enumerate();
    slots.flat_map(|(slot, fill)| purchases_in(setup, slot, fill)).collect()
}

/// The parts that are still to be bought of one slot: pieces needed less fitted less on hand, times price. Parts
/// of a number stand in one slot only. Worn facings as on the bench are replaced by new ones like
/// them, whose price nobody knows.
fn purchases_in<'a>(setup: &Setup<'_>, slot: usize, fill: &Fill<'a>) -> Vec<Purchase<'a>> {
    let replaced =
        fill.on_bench && setup.facing_slot() == Some(slot) && setup.facings() == Facings::Replaced;
    let mut all = Vec::new();
    if replaced {
        all.push(Purchase { part: None, pieces: 1 });
    }
    for (index, part) in fill.parts.iter().enumerate() {
        if fill.parts[..index].iter().all(|other| other.id != part.id) {
            let pieces = pieces_to_buy(setup, part, pieces_of(fill, part));
            all.push(Purchase { part: Some(part), pieces });
        }
    }
    all.retain(|purchase| purchase.pieces > 0);
    all
}

/// What is still to be bought of one slot costs.
pub(crate) fn to_buy_in(setup: &Setup<'_>, slot: usize, fill: &Fill<'_>) -> ToBuy {
    let all = purchases_in(setup, slot, fill).into_iter();
    all.fold(ToBuy::default(), |sum, purchase| sum + purchase.cost())
}

/// The slots that differ from what is fitted.
pub fn changed_slots(setup: &Setup<'_>, choice: &Choice<'_>) -> Vec<usize> {
    (0..choice.fills.len()).filter(|slot| is_changed(setup, *slot, &choice.fills[*slot])).collect()
}

/// Whether a slot differs from what is fitted. A disc that leaves with a matched set belongs to the
/// plate's change.
pub(crate) fn is_changed(setup: &Setup<'_>, slot: usize, fill: &Fill<'_>) -> bool {
    let was_set = setup.fitted_part("pressure_plate").is_some_and(Part::is_matched_set);
    let left = Some(slot) == setup.slot("disc") && fill.is_empty() && !was_set;
    !fill.same(&setup.fitted[slot]) && !left
}

/// How many parts a stack has, each shim counted.
pub fn part_count(choice: &Choice<'_>) -> usize {
    choice.fills.iter().map(parts_in).sum()
}

/// How many parts stand in a slot.
pub(crate) fn parts_in(fill: &Fill<'_>) -> usize {
    fill.parts.len() + usize::from(fill.on_bench)
}

/// How far the gearbox stands from where it is fitted today: positive to the rear.
pub fn gearbox_move(setup: &Setup<'_>, choice: &Choice<'_>) -> Option<Length> {
    let mut moved = Length::ZERO;
    for (kind, key) in [
        ("block_plate", "thickness"),
        ("bell_spacer", "thickness"),
        ("bell_housing", "depth"),
        ("gearbox_spacer", "thickness"),
    ] {
        let slot = setup.slot(kind)?;
        let (new, old) = (&choice.fills[slot], &setup.fitted[slot]);
        if new.same(old) {
            continue;
        }
        // A blank bell housing today is not known; a blank plate or spacer is none.
        if old.on_bench || new.on_bench || (old.parts.is_empty() && kind == "bell_housing") {
            return None;
        }
        for (fill, sign) in [(new, 1), (old, -1)] {
            for part in &fill.parts {
                moved += Length::from_nm(part.length(key)?.nm() * sign);
            }
        }
    }
    Some(moved)
}
