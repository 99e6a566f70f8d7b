//! The one measurement that would do most for a stack that is marginal or undecided.

use std::cmp::Reverse;

use crate::model::length::Length;
use crate::stack::fit::{EdgeFit, Fit, OUTSIDE_RANGE, TAKEN_AS_NEW, WORN_DISC};
use crate::stack::form::{Effect, Form, MICRO, Piece};
use crate::stack::grade::{Grade, edge_grade};
use crate::stack::terms::part_of;

/// A measurement that would settle a stack.
#[derive(Debug, Clone, PartialEq)]
pub struct NextStep {
    /// The kind's key, or `job`.
    pub kind: &'static str,
    /// The part number; none for a reading of the job.
    pub part: Option<String>,
    /// The dimension.
    pub dim: &'static str,
    /// What to do.
    pub aim: Aim,
}

/// What a measurement has to reach.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Aim {
    /// Known to this half-width, the stack is likely to fit.
    Within(Length),
    /// It has to read at least this for the stack to be inside.
    AtLeast(Length),
    /// It has to read at most this for the stack to be inside.
    AtMost(Length),
    /// Known at all: the grade is held back for want of it.
    Known,
    /// As closely as it can be: it alone does not settle the stack.
    AsCloselyAsPossible,
}

/// The one measurement that would do most for a stack that is marginal or undecided.
pub fn next_step(fit: &Fit<'_>) -> Option<NextStep> {
    if !matches!(fit.grade, Grade::Marginal | Grade::Undecided) {
        return None;
    }
    if let Some(why) = fit.because {
        return Some(held_back(fit, why));
    }
    let (index, edge) = binding_edge(fit)?;
    let form = if index < 2 { &fit.preload_form } else { &fit.reserve_form };
    let effects = by_share(fit, form);
    let largest = effects.first()?;
    let rest = edge.spread.three_u_squared - largest.at_wide() * largest.at_wide();
    // The edges are: least preload, most preload, least reserve, most reserve.
    let upward = index % 2 == 0;
    Some(NextStep {
        kind: largest.kind,
        part: part_of(largest.piece),
        dim: largest.dim,
        aim: if fit.grade == Grade::Undecided {
            must_read(form, largest, edge.room, upward)
        } else {
            within(largest, edge.room, rest)
        },
    })
}

/// The edge that holds the grade down, with its index among the four.
pub(super) fn binding_edge<'f>(fit: &'f Fit<'_>) -> Option<(usize, &'f EdgeFit)> {
    let edges = fit.edges.iter().enumerate();
    let set = edges.filter_map(|(index, edge)| edge.as_ref().map(|edge| (index, edge)));
    set.max_by_key(|(_, edge)| (edge_grade(edge.room, &edge.spread), -edge.room.nm()))
}

/// The errors of what is in the stack, those that hold the largest share of u first. What is fitted
/// and leaves may still count in a measured sum, but is not worth a measurement.
pub(super) fn by_share<'a>(fit: &Fit<'_>, form: &Form<'a>) -> Vec<Effect<'a>> {
    let mut effects = form.effects();
    effects.retain(|effect| stands(fit, effect.piece));
    effects.sort_by_key(|effect| Reverse(effect.at_wide().abs()));
    effects
}

/// Whether a piece is in the stack, rather than one that it throws out.
fn stands(fit: &Fit<'_>, piece: Piece<'_>) -> bool {
    match piece {
        Piece::Job => true,
        Piece::Part { slot, id, .. } => {
            fit.choice.fills.get(slot).is_some_and(|fill| fill.ids().contains(&id))
        }
    }
}

/// The half-width to which a dimension has to be known so that room >= 2u.
#[allow(
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    reason = "a float's digits are enough for a tolerance, which is rounded down"
)]
fn within(largest: &Effect<'_>, room: Length, rest: i128) -> Aim {
    let room = i128::from(room.nm()) * MICRO;
    let left = 3 * room * room / 4 - rest;
    if left <= 0 || largest.at_wide() == 0 || largest.dim == "finger_ratio" {
        return Aim::AsCloselyAsPossible;
    }
    let half_width = (left as f64).sqrt() / largest.per_unit.unsigned_abs() as f64;
    Aim::Within(Length::from_nm(half_width.floor() as i64))
}

/// The value that a dimension has to have, everything else as computed, for the stack to be inside.
fn must_read(form: &Form<'_>, largest: &Effect<'_>, room: Length, upward: bool) -> Aim {
    let item =
        form.linear.iter().find(|(item, _)| item.piece == largest.piece && item.dim == largest.dim);
    let only_linear = |times: &i64| largest.per_unit == i128::from(*times) * MICRO;
    match item {
        Some((item, times)) if times.abs() == 1 && only_linear(times) => {
            // `room` is negative here: the sum has to move by that much toward the inside.
            let toward = if upward { -room } else { room };
            let value = item.value + if *times > 0 { toward } else { -toward };
            if (*times > 0) == upward { Aim::AtLeast(value) } else { Aim::AtMost(value) }
        }
        _ => Aim::AsCloselyAsPossible,
    }
}

fn held_back(fit: &Fit<'_>, why: &str) -> NextStep {
    let plate = fit.choice.fills.iter().flat_map(|fill| &fill.parts);
    let mut plate =
        plate.filter(|part| part.kind.key == "pressure_plate").map(|part| part.id.clone());
    let plate = plate.next_back();
    let (kind, part, dim) = match why {
        WORN_DISC | TAKEN_AS_NEW => ("job", None, "fitted_disc_thickness"),
        OUTSIDE_RANGE => ("pressure_plate", plate, "set_gap_min"),
        _ => ("pressure_plate", plate, "set_gap"),
    };
    NextStep { kind, part, dim, aim: Aim::Known }
}
