//! Measured pieces in hand of a part number that a stack names.

use crate::model::part::Part;
use crate::model::pieces::{Condition, part_and_label};
use crate::stack::choice::{Facings, Setup};

/// The pieces in hand that may stand for a part of a stack. A part that is fitted and stays is what
/// is fitted; worn facings are replaced by new ones.
pub fn pieces_for<'a>(setup: &Setup<'a>, slot: usize, part: &'a Part) -> Vec<&'a Part> {
    let worn = setup.facing_slot() == Some(slot) && setup.facings() == Facings::Replaced;
    let fitted = setup.fitted[slot].parts.iter().any(|fitted| fitted.id == part.id);
    if part.piece_of.is_some() || (fitted && !worn) {
        return Vec::new();
    }
    let pieces = setup.library.of_kind(part.kind.key);
    let of_number = pieces.filter(|piece| piece.piece_of.as_ref() == Some(&part.id));
    let in_hand = of_number.filter(|piece| !piece.retired && setup.on_hand(piece) > 0);
    in_hand.filter(|piece| !(worn && fitted) || is_new(setup, piece)).collect()
}

/// Whether a piece is as it left its maker.
fn is_new(setup: &Setup<'_>, piece: &Part) -> bool {
    let named = part_and_label(&piece.id);
    let known = named.and_then(|(part, label)| setup.library.measured.piece(part, label));
    known.is_some_and(|piece| piece.condition == Condition::New)
}
