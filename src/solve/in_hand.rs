//! A part number that a stack names while measured pieces of it are in hand: the stack with a piece
//! stands beside it, and is the one that counts.

use crate::error::Result;
use crate::model::part::Part;
use crate::solve::ask::{Ask, Order, Watch};
use crate::solve::candidates::Candidates;
use crate::solve::recommend::recommend_among;
use crate::stack::choice::{Choice, Facings, Fill, Setup};
use crate::stack::fit::Fit;

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
    let in_hand = of_number.filter(|piece| !piece.retired && piece.on_hand > 0);
    in_hand.filter(|piece| !(worn && fitted) || is_new(setup, piece)).collect()
}

/// Whether a piece is as it left its maker.
fn is_new(setup: &Setup<'_>, piece: &Part) -> bool {
    use crate::model::pieces::{Condition, part_and_label};
    let named = part_and_label(&piece.id);
    let known = named.and_then(|(part, label)| setup.library.measured.piece(part, label));
    known.is_some_and(|piece| piece.condition == Condition::New)
}

/// The same stack with pieces in hand in the place of bare numbers, of several the one of the best
/// rank; none where no number of it has a piece in hand, or none of them can be summed up.
///
/// # Errors
///
/// Only that the work was interrupted.
pub fn with_pieces<'a>(
    setup: &Setup<'a>,
    choice: &Choice<'a>,
    watch: &Watch,
) -> Result<Option<Fit<'a>>> {
    let mut slots = Vec::with_capacity(choice.fills.len());
    let mut some = false;
    for (slot, fill) in choice.fills.iter().enumerate() {
        let fills = fills_with_pieces(setup, slot, fill);
        some |= fills.len() > 1 || fills.first().is_some_and(|one| !one.same(fill));
        slots.push(fills);
    }
    if !some {
        return Ok(None);
    }
    let candidates = Candidates { slots, left_out: Vec::new(), sieves: Vec::new() };
    let ask =
        Ask { top: 1, order: Order::Grade, show_failed: true, counts: false, ..Ask::default() };
    let answer = recommend_among(setup, &ask, &candidates, watch)?;
    Ok(answer.stacks.into_iter().chain(answer.nearest).next())
}

/// What may stand in a slot: pieces in hand for each number of which there are some.
fn fills_with_pieces<'a>(setup: &Setup<'a>, slot: usize, fill: &Fill<'a>) -> Vec<Fill<'a>> {
    let mut fills: Vec<Vec<&'a Part>> = vec![Vec::new()];
    for part in &fill.parts {
        let mut pieces = pieces_for(setup, slot, part);
        if pieces.is_empty() {
            pieces.push(part);
        }
        fills = fills
            .iter()
            .flat_map(|parts| pieces.iter().map(move |piece| [&parts[..], &[*piece]].concat()))
            .collect();
    }
    let mut fills: Vec<Fill<'a>> = fills
        .into_iter()
        .map(|parts| Fill { on_bench: fill.on_bench, cut: fill.cut, ..Fill::several(parts) })
        .filter(|fill| fill.piece_twice().is_none())
        .collect();
    fills.sort_by(|a, b| a.ids().cmp(&b.ids()));
    fills.dedup_by(|a, b| a.same(b));
    if fills.is_empty() { vec![fill.clone()] } else { fills }
}
