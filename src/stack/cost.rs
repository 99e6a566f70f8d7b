//! What a stack still costs, how much of it is new, how many parts it has and where it puts the
//! gearbox.

use std::collections::BTreeMap;

use crate::model::length::Length;
use crate::model::money::Cents;
use crate::model::part::Part;
use crate::stack::choice::{Bench, Choice};

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

/// How many pieces of a part have to be bought when `needed` of them stand in a stack and `fitted`
/// are there already.
pub fn pieces_to_buy(part: &Part, needed: u32, fitted: u32) -> u32 {
    needed.saturating_sub(fitted).saturating_sub(part.on_hand)
}

/// How many pieces of a part are fitted and can stay: a worn disc cannot.
pub fn reusable(bench: &Bench<'_>, part: &Part) -> u32 {
    if part.kind.key == "disc" && bench.disc_is_replaced() {
        return 0;
    }
    let fitted = bench.slot(part.kind.key).map(|slot| &bench.fitted[slot]);
    let count = fitted.map_or(0, |fill| fill.parts.iter().filter(|p| p.id == part.id).count());
    u32::try_from(count).unwrap_or(u32::MAX)
}

/// Pieces needed less fitted less on hand, times price.
pub fn to_buy(bench: &Bench<'_>, choice: &Choice<'_>) -> ToBuy {
    let mut needed: BTreeMap<&str, (&Part, u32)> = BTreeMap::new();
    for part in choice.fills.iter().flat_map(|fill| fill.parts.iter()) {
        needed.entry(part.id.as_str()).or_insert((part, 0)).1 += 1;
    }
    needed.values().fold(ToBuy::default(), |sum, (part, count)| {
        sum + ToBuy::of(part, pieces_to_buy(part, *count, reusable(bench, part)))
    })
}

/// The slots that differ from what is fitted. A disc that leaves with a matched set belongs to the
/// plate's change.
pub fn changed_slots(bench: &Bench<'_>, choice: &Choice<'_>) -> Vec<usize> {
    let set = bench.part(choice, "pressure_plate").is_some_and(Part::is_matched_set);
    let was_set = bench.fitted_part("pressure_plate").is_some_and(Part::is_matched_set);
    (0..choice.fills.len())
        .filter(|slot| !choice.fills[*slot].same(&bench.fitted[*slot]))
        .filter(|slot| Some(*slot) != bench.slot("disc") || set == was_set || !set)
        .collect()
}

/// How many parts a stack has, each shim counted.
pub fn part_count(choice: &Choice<'_>) -> usize {
    choice.fills.iter().map(|fill| fill.parts.len() + usize::from(fill.bench)).sum()
}

/// How far the gearbox stands from where it is fitted today: positive to the rear.
pub fn gearbox_move(bench: &Bench<'_>, choice: &Choice<'_>) -> Option<Length> {
    let mut moved = Length::ZERO;
    for (kind, key) in [
        ("block_plate", "thickness"),
        ("bell_spacer", "thickness"),
        ("bell_housing", "depth"),
        ("gearbox_spacer", "thickness"),
    ] {
        let slot = bench.slot(kind)?;
        let (new, old) = (&choice.fills[slot], &bench.fitted[slot]);
        if new.same(old) {
            continue;
        }
        // A blank bell housing today is not known; a blank plate or spacer is none.
        if old.bench || (old.parts.is_empty() && kind == "bell_housing") {
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
