//! What a builder has to know before trusting the numbers of a stack, the gravest first.

use crate::model::edge::Edge;
use crate::model::length::Length;
use crate::model::pieces::part_and_label;
use crate::stack::choice::{Choice, Fill, Setup};
use crate::stack::fit::Fit;
use crate::stack::form::{Product, Source};
use crate::stack::lengths::AssumedGap;

/// One thing to be told.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Caution {
    /// The reserve is below zero: the bearing is bottomed and holds the fingers.
    Bottomed,
    /// The preload is below zero: the bearing does not reach the fingers.
    DoesNotReach,
    /// There is too little preload, or too much reserve: the bearing can run out of its bore.
    TooLoose,
    /// The diaphragm works outside its range.
    OutsideRange,
    /// Two routes to one length that this stack rests on cannot both be right, or hardly agree.
    CrossCheck,
    /// The fitted disc is worn, by how much is not known.
    LossAssumed,
    /// Nobody told whether the fitted disc is worn: it is taken as new.
    TakenAsNew,
    /// The gap with which the finger height was taken was assumed.
    SetGapAssumed(AssumedGap),
    /// The finger ratio that counts was assumed.
    RatioAssumed,
    /// A part that was retired stands in the stack.
    Retired(String),
    /// A piece that the shop no longer has stands in the stack.
    Gone(String),
    /// Plates come out, this much in all: dowels and bolts may be too long.
    PlatesOut(Length),
    /// A plate or a spacer that is not there today comes in.
    SpacerIn,
    /// A part is machined.
    Machined,
}

/// The cautions of a stack.
pub fn cautions(setup: &Setup<'_>, fit: &Fit<'_>) -> Vec<Caution> {
    let mut all = Vec::new();
    let mut tell = |there: bool, caution: Caution| {
        if there {
            all.push(caution);
        }
    };
    let finger = &fit.lengths.finger;
    let loose = |edge: Edge| fit.edges[edge].is_some_and(|fit| fit.room < Length::ZERO);
    tell(fit.reserve < Length::ZERO, Caution::Bottomed);
    tell(fit.preload < Length::ZERO, Caution::DoesNotReach);
    let is_loose = loose(Edge::PreloadMin) || loose(Edge::ReserveMax);
    tell(is_loose && fit.preload >= Length::ZERO, Caution::TooLoose);
    tell(fit.is_outside_range(), Caution::OutsideRange);
    let crossed = fit.caps.iter().any(|one| one.applies && one.cap.is_cross_check());
    tell(crossed, Caution::CrossCheck);
    tell(finger.loss_assumed, Caution::LossAssumed);
    tell(finger.state_unknown, Caution::TakenAsNew);
    if let Some(known) = finger.set_gap_assumed {
        tell(true, Caution::SetGapAssumed(known));
    }
    let blank = |product: &Product<'_>| !has_ratio(setup, &fit.choice, product.ratio.source);
    tell(fit.preload_form.products.iter().any(blank), Caution::RatioAssumed);
    let parts = fit.choice.fills.iter().flat_map(|fill| &fill.parts);
    for part in parts {
        match &part.piece_of {
            Some(_) if is_gone(setup, &part.id) => tell(true, Caution::Gone(part.id.clone())),
            None => tell(part.retired, Caution::Retired(part.id.clone())),
            Some(_) => {}
        }
    }
    let (new, old) = (plates(setup, &fit.choice.fills), plates(setup, &setup.fitted));
    tell(old > new, Caution::PlatesOut(old - new));
    tell(brings_spacer(setup, &fit.choice), Caution::SpacerIn);
    tell(fit.choice.fills.iter().any(|fill| fill.cut != Length::ZERO), Caution::Machined);
    all
}

/// Whether a ratio is stated on its plate, with or without a tolerance.
pub(super) fn has_ratio(setup: &Setup<'_>, choice: &Choice<'_>, source: Source<'_>) -> bool {
    let Source::Part { slot, id, .. } = source else { return false };
    let all = choice.fills[slot].parts.iter().chain(&setup.fitted[slot].parts);
    all.into_iter().any(|part| part.id == id && part.entry("finger_ratio").is_some())
}

fn is_gone(setup: &Setup<'_>, piece: &str) -> bool {
    let named = part_and_label(piece);
    let found = named.and_then(|(part, label)| setup.library.measured.piece(part, label));
    found.is_some_and(|piece| !piece.in_hand)
}

/// What stands between block and bell, as far as it is known.
fn plates(setup: &Setup<'_>, fills: &[Fill<'_>]) -> Length {
    let slots = ["block_plate", "bell_spacer"].into_iter().filter_map(|kind| setup.slot(kind));
    let parts = slots.flat_map(|slot| fills[slot].parts.iter());
    parts.filter_map(|part| part.length("thickness")).sum()
}

/// Whether a plate or spacer comes in that is not fitted.
fn brings_spacer(setup: &Setup<'_>, choice: &Choice<'_>) -> bool {
    let kinds = ["block_plate", "bell_spacer", "gearbox_spacer"];
    let slots = kinds.into_iter().filter_map(|kind| setup.slot(kind));
    let comes_in = |slot: usize| {
        let (new, old) = (&choice.fills[slot], &setup.fitted[slot]);
        !new.is_empty() && !new.same_parts(old)
    };
    slots.into_iter().any(comes_in)
}
