//! A part number that a stack names while measured pieces of it are in hand: the stack with a piece
//! stands beside it, and is the one that counts.

use crate::error::Result;
use crate::model::part::Part;
use crate::solve::ask::{Ask, Order, Watch};
use crate::solve::candidates::Candidates;
use crate::solve::recommend::recommend_among;
use crate::stack::choice::{Choice, Fill, Setup};
use crate::stack::fit::Fit;
use crate::stack::in_hand::pieces_for;

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
