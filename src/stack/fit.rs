//! One stack, worked out in full: both sums, the window, the room, the grade and the checks.

use crate::model::entry::Accuracy;
use crate::model::house::Number;
use crate::model::length::{Length, Ratio};
use crate::model::part::{Entry, Part};
use crate::stack::chance::{Band, ErrorTerm, Shape, chance};
use crate::stack::checks::{Check, checks};
use crate::stack::choice::{Bench, Choice, Fill};
use crate::stack::cost::{ToBuy, changed_slots, gearbox_move, part_count, to_buy};
use crate::stack::crosscheck::{CrossCheck, cross_checks};
use crate::stack::form::{Form, MICRO, Piece, Spread};
use crate::stack::grade::{Grade, edge_grade};
use crate::stack::joints::{Joints, joints};
use crate::stack::lengths::{Doubts, Lengths, Missing, lengths};
use crate::stack::note::{Note, note};
use crate::stack::window::{Edge, Window, window};

/// One edge of the window with the stack's distance from it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct EdgeFit {
    /// The edge.
    pub edge: Edge,
    /// How far inside the stack is; negative outside. End float is taken off.
    pub room: Length,
    /// The error limits of the sum that this edge bounds.
    pub spread: Spread,
}

/// One stack, worked out.
#[derive(Debug, Clone)]
pub struct Fit<'a> {
    /// The parts.
    pub choice: Choice<'a>,
    /// The three lengths with their routes.
    pub lengths: Lengths<'a>,
    /// How far the fingers push the bearing back at rest.
    pub preload: Length,
    /// How far it can still go back.
    pub reserve: Length,
    /// Their sum.
    pub travel: Length,
    /// The preload as a sum of terms.
    pub preload_form: Form<'a>,
    /// The reserve as a sum of terms.
    pub reserve_form: Form<'a>,
    /// The target window.
    pub window: Window,
    /// The window's edges, in the order preload min, preload max, reserve min, reserve max.
    pub edges: [Option<EdgeFit>; 4],
    /// The distance to the nearest edge.
    pub room: Length,
    /// The grade, caps counted.
    pub grade: Grade,
    /// Why the grade is lower than the room alone would make it.
    pub because: Option<&'static str>,
    /// The eight joints.
    pub joints: Joints,
    /// The checks beside the window.
    pub checks: Vec<Check>,
    /// What a builder has to know before trusting the numbers.
    pub cautions: Vec<Note>,
    /// What is still to be bought.
    pub to_buy: ToBuy,
    /// The slots that differ from what is fitted.
    pub changed: Vec<usize>,
    /// How many parts, each shim counted.
    pub part_count: usize,
    /// The facing wear that the reserve is good for, where the ratio is known.
    pub wear: Option<Length>,
    /// How far the gearbox moves, positive to the rear, where known.
    pub gearbox_move: Option<Length>,
    /// The diaphragm works outside its range.
    pub outside_range: bool,
}

impl Fit<'_> {
    /// The edge with the least room, and its index among the four.
    pub fn nearest_edge(&self) -> Option<(usize, &EdgeFit)> {
        let edges = self.edges.iter().enumerate();
        let set = edges.filter_map(|(index, edge)| edge.as_ref().map(|edge| (index, edge)));
        set.min_by_key(|(_, edge)| edge.room)
    }

    /// Whether the stack is in its window and fails no check.
    pub fn holds(&self) -> bool {
        self.grade.in_window() && !self.fails()
    }

    /// Whether some check beside the window fails.
    pub fn fails(&self) -> bool {
        self.checks.iter().any(Check::failed)
    }

    /// How many cross-checks of two routes there are, worked out.
    pub fn cross_checks<'a>(&self, bench: &Bench<'a>) -> Vec<CrossCheck>
    where
        Self: 'a,
    {
        cross_checks(bench, &self.lengths)
    }
}

/// Works out a stack.
///
/// # Errors
///
/// What is missing, where some length can be had by no route.
pub fn evaluate<'a>(bench: &Bench<'a>, choice: &Choice<'a>) -> Result<Fit<'a>, Vec<Missing>> {
    evaluate_disc(bench, choice, false)
}

/// The same with the fitted disc as it is now, worn or not.
///
/// # Errors
///
/// As [`evaluate`].
pub fn evaluate_as_it_stands<'a>(
    bench: &Bench<'a>,
    choice: &Choice<'a>,
) -> Result<Fit<'a>, Vec<Missing>> {
    evaluate_disc(bench, choice, true)
}

fn evaluate_disc<'a>(
    bench: &Bench<'a>,
    choice: &Choice<'a>,
    as_it_stands: bool,
) -> Result<Fit<'a>, Vec<Missing>> {
    let lengths = lengths(bench, choice, as_it_stands)?;
    let mut preload_form = lengths.finger.used.form.clone();
    preload_form.add_form(&lengths.extended.used.form, -1);
    let mut reserve_form = lengths.retracted.used.form.clone();
    reserve_form.add_form(&lengths.finger.used.form, -1);
    let (preload, reserve) = (preload_form.value(), reserve_form.value());

    let (plate, disc) = (bench.part(choice, "pressure_plate"), bench.part(choice, "disc"));
    let window = window(&bench.library.house, &bench.job.window, plate, disc);
    let allowance = bench.float_allowance(bench.part(choice, "engine"));
    let edges = edge_fits(
        &window,
        (preload, preload_form.spread()),
        (reserve, reserve_form.spread()),
        allowance,
    );
    let room = edges.iter().flatten().map(|edge| edge.room).min().unwrap_or(Length::ZERO);
    let computed = edges.iter().flatten().map(|edge| edge_grade(edge.room, &edge.spread)).max();
    let computed = computed.unwrap_or(Grade::Out);
    let outside_range = is_outside_range(bench, choice, &lengths);
    let cap = cap(lengths.finger.used.doubts, outside_range);
    let grade = cap.map_or(computed, |(cap, _)| computed.max(cap));
    let joints = joints(bench, choice);
    let ratio = plate.and_then(|plate| plate.entry("finger_ratio")).map(Entry::as_ratio);
    let mut fit = Fit {
        checks: checks(bench, choice, &lengths, preload, &joints),
        choice: choice.clone(),
        preload,
        reserve,
        travel: preload + reserve,
        preload_form,
        reserve_form,
        window,
        edges,
        room,
        grade,
        because: cap.filter(|_| grade != computed).map(|(_, why)| why),
        joints,
        cautions: Vec::new(),
        to_buy: to_buy(bench, choice),
        changed: changed_slots(bench, choice),
        part_count: part_count(choice),
        wear: ratio.map(|ratio| wear_bought(reserve, ratio)),
        gearbox_move: gearbox_move(bench, choice),
        outside_range,
        lengths,
    };
    fit.cautions = cautions(bench, &fit);
    Ok(fit)
}

/// The facing wear (whole pack) that a reserve is good for, rounded down.
pub fn wear_bought(reserve: Length, ratio: Ratio) -> Length {
    let nm = i128::from(reserve.nm()) * i128::from(Ratio::ONE);
    let wear = nm.div_euclid(i128::from(ratio.millionths()));
    // A ratio is above one, so the wear is less than the reserve and fits.
    Length::from_nm(i64::try_from(wear).unwrap_or(i64::MAX))
}

fn edge_fits(
    window: &Window,
    preload: (Length, Spread),
    reserve: (Length, Spread),
    allowance: (Length, Length),
) -> [Option<EdgeFit>; 4] {
    let above = |(value, spread): (Length, Spread), edge: Edge, taken: Length| EdgeFit {
        edge,
        room: value - edge.limit - taken,
        spread,
    };
    let below = |(value, spread): (Length, Spread), edge: Edge, taken: Length| EdgeFit {
        edge,
        room: edge.limit - value - taken,
        spread,
    };
    // Preload that may be lost may also be gained by the reserve, and the other way round.
    let (preload_loss, reserve_loss) = allowance;
    [
        Some(above(preload, window.preload_min, preload_loss)),
        window.preload_max.map(|edge| below(preload, edge, reserve_loss)),
        Some(above(reserve, window.reserve_min, reserve_loss)),
        window.reserve_max.map(|edge| below(reserve, edge, preload_loss)),
    ]
}

/// The lowest grade that doubts and range allow, and why.
pub fn cap(doubts: Doubts, outside_range: bool) -> Option<(Grade, &'static str)> {
    if doubts.worn_disc {
        Some((Grade::Marginal, WORN_DISC))
    } else if doubts.not_corrected {
        Some((Grade::Marginal, NOT_CORRECTED))
    } else if outside_range {
        Some((Grade::Marginal, OUTSIDE_RANGE))
    } else if doubts.taken_as_new {
        Some((Grade::Likely, TAKEN_AS_NEW))
    } else {
        None
    }
}

pub(super) const WORN_DISC: &str = "worn disc";
const NOT_CORRECTED: &str = "finger height not corrected";
pub(super) const OUTSIDE_RANGE: &str = "diaphragm outside its working range";
pub(super) const TAKEN_AS_NEW: &str = "fitted disc taken as new";

/// Whether the gap leaves the diaphragm's working range, as far as both are known.
fn is_outside_range(bench: &Bench<'_>, choice: &Choice<'_>, lengths: &Lengths<'_>) -> bool {
    let Some(gap) = lengths.gap_now else { return false };
    let Some(plate) = bench.part(choice, "pressure_plate") else { return false };
    let half = bench.library.house.length(Number::GapRange);
    let (least, most) = working_range(plate, half);
    least.is_some_and(|least| gap < least) || most.is_some_and(|most| gap > most)
}

/// The least and largest gap at which a plate's diaphragm works.
pub fn working_range(plate: &Part, half: Length) -> (Option<Length>, Option<Length>) {
    let taken = plate.length("set_gap");
    let least = plate.length("set_gap_min").or_else(|| taken.map(|gap| gap - half));
    let most = plate.length("set_gap_max").or_else(|| taken.map(|gap| gap + half));
    (least, most)
}

fn cautions(bench: &Bench<'_>, fit: &Fit<'_>) -> Vec<Note> {
    let mut cautions = Vec::new();
    let doubts = fit.lengths.finger.used.doubts;
    for (there, text) in [
        (doubts.worn_disc, "worn disc: the fingers stand high by an unknown amount"),
        (doubts.not_corrected, "finger height not corrected: its gap or the ratio is unknown"),
        (fit.outside_range, "diaphragm outside its working range"),
        (doubts.taken_as_new, "fitted disc taken as new: nobody told its state"),
        (fit.preload < Length::ZERO, "preload below zero: the bearing does not reach the fingers"),
        (
            fit.reserve < Length::ZERO,
            "reserve below zero: the bearing is bottomed and holds the fingers; it must not be \
             assembled, and never be drawn together with the bolts",
        ),
    ] {
        if there {
            cautions.push(note![text]);
        }
    }
    let plates = |fills: &[Fill<'_>]| -> Length {
        let slots = ["block_plate", "bell_spacer"].into_iter().filter_map(|kind| bench.slot(kind));
        let parts = slots.flat_map(|slot| fills[slot].parts.iter());
        parts.filter_map(|part| part.length("thickness")).sum()
    };
    let out = plates(&bench.fitted) - plates(&fit.choice.fills);
    if out > Length::ZERO {
        let end = " of plates comes out: dowels and bolts may be too long";
        cautions.push(note![out, end]);
    }
    cautions
}

/// The probability that both numbers lie in the window; exactly 1 where the room covers the worst
/// case at every edge and no error can pass its limit. A normal one can, if hardly ever.
#[allow(
    clippy::cast_precision_loss,
    reason = "the probability needs no more than a float's digits"
)]
pub fn chance_of(fit: &Fit<'_>) -> f64 {
    let mut errors: Vec<(Piece<'_>, &str, ErrorTerm)> = Vec::new();
    for (form, is_preload) in [(&fit.preload_form, true), (&fit.reserve_form, false)] {
        for effect in form.effects() {
            let known = errors
                .iter()
                .position(|(piece, dim, _)| *piece == effect.piece && *dim == effect.dim);
            let index = known.unwrap_or_else(|| {
                let shape = shape(effect.known);
                let error = ErrorTerm { shape, to_preload: 0.0, to_reserve: 0.0 };
                errors.push((effect.piece, effect.dim, error));
                errors.len() - 1
            });
            let error = &mut errors[index].2;
            let per_unit = effect.per_unit as f64 / MICRO as f64;
            *(if is_preload { &mut error.to_preload } else { &mut error.to_reserve }) = per_unit;
        }
    }
    let errors: Vec<ErrorTerm> = errors.into_iter().map(|(_, _, error)| error).collect();
    let limited = |error: &ErrorTerm| matches!(error.shape, Shape::Rectangular { .. });
    let covered = |edge: &EdgeFit| edge.spread.worst_case_within(edge.room);
    if errors.iter().all(limited) && fit.edges.iter().flatten().all(covered) {
        return 1.0;
    }
    let band = |low: usize, high: usize| Band {
        below: fit.edges[low].map_or(f64::INFINITY, |edge| edge.room.nm() as f64),
        above: fit.edges[high].map(|edge| edge.room.nm() as f64),
    };
    chance(&errors, band(0, 1), band(2, 3))
}

/// How the errors of a value are distributed.
#[allow(clippy::cast_precision_loss, reason = "a tolerance is far below 2^53 nm")]
fn shape(known: Accuracy) -> Shape {
    if known.is_rectangular() {
        Shape::Rectangular { half_width: known.tol as f64 }
    } else {
        Shape::Normal { u: known.wide as f64 / 3.0_f64.sqrt() }
    }
}
