//! What a stack changes against what is fitted today, slot by slot.

use super::own_length;
use crate::model::length::Length;
use crate::model::part::Part;
use crate::stack::choice::{Facings, Fill, Setup};
use crate::stack::fit::Fit;

/// The outline of what is there today.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Ghost {
    /// Where it begins and ends along the axis, as it would stand in the place of the new part.
    pub span: (Length, Length),
}

/// What becomes of a slot's part.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SlotChange<'a> {
    /// It stays as it is, or the build is on paper and has nothing fitted yet.
    Stays,
    /// It comes in where nothing is today.
    Added,
    /// It takes the place of another part, or of one that nobody knows.
    InPlaceOf {
        /// The part of today; none where nobody knows it.
        old: Option<&'a Part>,
        /// How much longer the new one is along the axis, where both are known.
        longer: Option<Length>,
        /// The outline of today's.
        ghost: Option<Ghost>,
    },
    /// The fitted part is machined over both faces.
    Machined {
        /// By so much.
        by: Length,
        /// The thickness that is left.
        to: Option<Length>,
        /// The outline of today's.
        ghost: Option<Ghost>,
    },
    /// A worn one is replaced by a new one of its number.
    Renewed,
    /// It is taken out.
    TakenOut {
        /// What is taken out; none where nobody knows it.
        old: Option<&'a Part>,
        /// Its outline, where its length is known.
        ghost: Option<Ghost>,
    },
}

impl SlotChange<'_> {
    /// The outline of what is there today.
    pub const fn ghost(&self) -> Option<Ghost> {
        match self {
            Self::InPlaceOf { ghost, .. }
            | Self::Machined { ghost, .. }
            | Self::TakenOut { ghost, .. } => *ghost,
            Self::Stays | Self::Added | Self::Renewed => None,
        }
    }

    /// Whether something is other than today.
    pub fn is_one(&self) -> bool {
        *self != Self::Stays
    }
}

impl<'a> SlotChange<'a> {
    /// The change with its outline in the place of the new part. Parts before the finger tips are
    /// laid from their front, those of the bearing from their foot.
    pub(super) fn placed(self, span: (Length, Length), kind: &str) -> Self {
        let from_foot = matches!(kind, "bearing" | "bearing_shim" | "gearbox" | "gearbox_spacer");
        let lay = |length: Option<Length>| {
            let span = |length: Length| {
                if from_foot { (span.1 - length, span.1) } else { (span.0, span.0 + length) }
            };
            length.map(|length| Ghost { span: span(length) })
        };
        // What moves with the fingers, and the engine's crank, have no outline of their own.
        let lies_still = |kind: &str| !matches!(kind, "pressure_plate" | "engine" | "bearing");
        let old_length =
            |old: Option<&'a Part>| old.and_then(own_length).filter(|_| lies_still(kind));
        match self {
            Self::InPlaceOf { old, longer, .. } => {
                Self::InPlaceOf { old, longer, ghost: lay(old_length(old)) }
            }
            Self::Machined { by, to, .. } => {
                Self::Machined { by, to, ghost: lay(to.map(|to| to + by)) }
            }
            Self::TakenOut { old, .. } => Self::TakenOut { old, ghost: lay(old_length(old)) },
            other => other,
        }
    }
}

/// Whether a job has nothing in place yet that could be changed.
fn is_on_paper(setup: &Setup<'_>) -> bool {
    let nothing = |kind: &str| setup.slot(kind).is_none_or(|slot| setup.fitted[slot].is_empty());
    nothing("flywheel") && nothing("bearing")
}

/// What becomes of the parts in a slot: one entry a part that stands there, then one for each that
/// leaves.
pub(super) fn of<'a>(setup: &Setup<'a>, fit: &Fit<'a>, slot: usize) -> Vec<SlotChange<'a>> {
    let (new, old) = (&fit.choice.fills[slot], &setup.fitted[slot]);
    if is_on_paper(setup) {
        return new.parts.iter().map(|_| SlotChange::Stays).collect();
    }
    if new.on_bench {
        let renewed = setup.facings() == Facings::Replaced && setup.facing_slot() == Some(slot);
        return vec![if renewed { SlotChange::Renewed } else { SlotChange::Stays }];
    }
    let mut leaving: Vec<Option<&'a Part>> = old.parts.iter().copied().map(Some).collect();
    leaving.extend(old.on_bench.then_some(None));
    let mut changes = Vec::new();
    // What stays is told first, so that a shim that stays is not taken for one that is swapped.
    let mut stays = vec![false; new.parts.len()];
    for (stays, part) in stays.iter_mut().zip(&new.parts) {
        let same = |one: Option<&Part>| one.is_some_and(|one| one.id == part.id);
        if let Some(at) = leaving.iter().position(|one| same(*one)) {
            leaving.remove(at);
            *stays = true;
        }
    }
    for (stays, part) in stays.into_iter().zip(&new.parts) {
        changes.push(if stays {
            kept(setup, new, slot, part)
        } else if leaving.is_empty() {
            SlotChange::Added
        } else {
            let old = leaving.remove(0);
            let longer = own_length(part).zip(old.and_then(own_length));
            let longer = longer.map(|(new, old)| new - old);
            SlotChange::InPlaceOf { old, longer, ghost: None }
        });
    }
    changes.extend(leaving.into_iter().map(|old| SlotChange::TakenOut { old, ghost: None }));
    changes
}

/// What becomes of a part that keeps its place.
fn kept<'a>(setup: &Setup<'_>, new: &Fill<'_>, slot: usize, part: &Part) -> SlotChange<'a> {
    if new.cut != Length::ZERO {
        let to = part.length("thickness").map(|thickness| thickness - new.cut);
        return SlotChange::Machined { by: new.cut, to, ghost: None };
    }
    if setup.facings() == Facings::Replaced && setup.facing_slot() == Some(slot) {
        return SlotChange::Renewed;
    }
    SlotChange::Stays
}
