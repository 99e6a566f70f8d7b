//! One stack, worked out in full: both sums, the window, the room, the grade and the checks.

#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_precision_loss,
    reason = "lengths are bounded on entry to 100 in; floats serve only coefficients and chance"
)]

use crate::model::length::{Length, Ratio};
use crate::stack::chance::{Band, ErrorTerm, Shape, chance};
use crate::stack::checks::{Check, Note, checks, gearbox_move, note};
use crate::stack::choice::{Bench, Choice};
use crate::stack::cost::{ToBuy, changed_slots, part_count, to_buy};
use crate::stack::crosscheck::{CrossCheck, cross_checks};
use crate::stack::form::{Effect, Form, Piece, Spread};
use crate::stack::grade::{Grade, edge_grade};
use crate::stack::joints::{Joints, joints};
use crate::stack::lengths::{Doubts, Lengths, Missing, lengths};
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

/// One term of the sum, as it is shown.
#[derive(Debug, Clone, PartialEq)]
pub struct Term {
    /// `kind.dimension`, `job.reading`, or `ratio_correction`.
    pub dimension: String,
    /// The part number; none for a reading of the job.
    pub part: Option<String>,
    /// Its value; for the ratio correction the difference of gaps.
    pub value: Length,
    /// Its limit half-width.
    pub tol: Length,
    /// Whether that tolerance was assumed.
    pub assumed: bool,
    /// What one unit of it does to the preload.
    pub to_preload: f64,
    /// What one unit of it does to the reserve.
    pub to_reserve: f64,
    /// What it adds to the preload.
    pub adds: Length,
    /// What it adds to the reserve.
    pub adds_to_reserve: Length,
    /// For the ratio correction: the ratio and the gap's own terms.
    pub made_of: Vec<Term>,
}

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
        cross_checks(bench, &self.choice, &self.lengths)
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
    let ratio = plate
        .and_then(|plate| plate.entry("finger_ratio"))
        .map(super::super::model::part::Entry::as_ratio);
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
    Length::from_nm(nm.div_euclid(i128::from(ratio.millionths())) as i64)
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

const WORN_DISC: &str = "worn disc";
const NOT_CORRECTED: &str = "finger height not corrected";
const OUTSIDE_RANGE: &str = "diaphragm outside its working range";
const TAKEN_AS_NEW: &str = "fitted disc taken as new";

/// Whether the gap leaves the diaphragm's working range, as far as both are known.
fn is_outside_range(bench: &Bench<'_>, choice: &Choice<'_>, lengths: &Lengths<'_>) -> bool {
    let Some(gap) = lengths.gap_now else { return false };
    let Some(plate) = bench.part(choice, "pressure_plate") else { return false };
    let half = bench.library.house.length(crate::model::house::Number::GapRange);
    let (least, most) = working_range(plate, half);
    least.is_some_and(|least| gap < least) || most.is_some_and(|most| gap > most)
}

/// The least and largest gap at which a plate's diaphragm works.
pub fn working_range(
    plate: &crate::model::part::Part,
    half: Length,
) -> (Option<Length>, Option<Length>) {
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
    let plates = |fills: &[crate::stack::choice::Fill<'_>]| -> Length {
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

/// Every term of the sum. The `adds` add up to the preload, the `adds_to_reserve` to the reserve.
pub fn terms(fit: &Fit<'_>) -> Vec<Term> {
    let mut terms: Vec<(Piece<'_>, Term)> = Vec::new();
    for (form, is_preload) in [(&fit.preload_form, true), (&fit.reserve_form, false)] {
        for (item, times) in &form.linear {
            let name = format!("{}.{}", item.kind, item.dim);
            let known = terms
                .iter()
                .position(|(piece, term)| *piece == item.piece && term.dimension == name);
            let index = known.unwrap_or_else(|| {
                terms.push((item.piece, term_of(name, item)));
                terms.len() - 1
            });
            apply(&mut terms[index].1, *times as f64, item.value.nm() * times, is_preload);
        }
        for product in &form.products {
            let known = terms.iter().position(|(piece, term)| {
                *piece == product.ratio.piece && term.dimension == "ratio_correction"
            });
            let index = known.unwrap_or_else(|| {
                terms.push((product.ratio.piece, correction_term(product)));
                terms.len() - 1
            });
            let ratio = product.ratio.value.millionths() as f64 / Ratio::ONE as f64;
            let times = ratio * product.sign as f64;
            apply(&mut terms[index].1, times, product.value().nm(), is_preload);
        }
    }
    let order = |piece: &Piece<'_>| match piece {
        Piece::Job => (0, 0),
        Piece::Part { slot, nth, .. } => (slot + 1, *nth),
    };
    terms.sort_by_key(|(piece, _)| order(piece));
    terms.into_iter().map(|(_, term)| term).collect()
}

fn apply(term: &mut Term, times: f64, adds: i64, is_preload: bool) {
    if is_preload {
        term.to_preload = times;
        term.adds = Length::from_nm(adds);
    } else {
        term.to_reserve = times;
        term.adds_to_reserve = Length::from_nm(adds);
    }
}

fn part_of(piece: Piece<'_>) -> Option<String> {
    match piece {
        Piece::Job => None,
        Piece::Part { id, cut: false, .. } => Some(id.into()),
        Piece::Part { id, cut: true, .. } => Some(format!("{id} machined")),
    }
}

fn term_of(dimension: String, item: &crate::stack::form::Item<'_>) -> Term {
    Term {
        dimension,
        part: part_of(item.piece),
        value: item.value,
        tol: item.tol,
        assumed: item.assumed,
        to_preload: 0.0,
        to_reserve: 0.0,
        adds: Length::ZERO,
        adds_to_reserve: Length::ZERO,
        made_of: Vec::new(),
    }
}

fn correction_term(product: &crate::stack::form::Product<'_>) -> Term {
    let alone = Form { linear: Vec::new(), products: vec![product.clone()] };
    let spread = alone.spread();
    let made_of = product.gap.iter().map(|(item, times)| Term {
        to_preload: *times as f64,
        adds: Length::from_nm(item.value.nm() * times),
        ..term_of(format!("{}.{}", item.kind, item.dim), item)
    });
    Term {
        dimension: "ratio_correction".into(),
        part: part_of(product.ratio.piece),
        value: product.gap_value(),
        tol: spread.worst_case_length(),
        assumed: spread.assumed,
        to_preload: 0.0,
        to_reserve: 0.0,
        adds: Length::ZERO,
        adds_to_reserve: Length::ZERO,
        made_of: made_of.collect(),
    }
}

/// The probability that both numbers lie in the window; exactly 1 where the room covers the worst
/// case at every edge.
pub fn chance_of(fit: &Fit<'_>) -> f64 {
    let covered = |edge: &EdgeFit| edge.spread.worst_case_within(edge.room);
    if fit.edges.iter().flatten().all(covered) {
        return 1.0;
    }
    let nm = |micro: i128| micro as f64 / crate::stack::form::MICRO as f64;
    let mut errors: Vec<(Piece<'_>, &str, f64, f64)> = Vec::new();
    for (form, is_preload) in [(&fit.preload_form, true), (&fit.reserve_form, false)] {
        for effect in form.effects() {
            let known = errors
                .iter()
                .position(|(piece, dim, ..)| *piece == effect.piece && *dim == effect.dim);
            let index = known.unwrap_or_else(|| {
                errors.push((effect.piece, effect.dim, 0.0, 0.0));
                errors.len() - 1
            });
            let slot = &mut errors[index];
            *(if is_preload { &mut slot.2 } else { &mut slot.3 }) = nm(effect.at_limit);
        }
    }
    let terms: Vec<ErrorTerm> = errors
        .into_iter()
        .map(|(_, _, to_preload, to_reserve)| ErrorTerm {
            shape: Shape::Rectangular { half_width: 1.0 },
            to_preload,
            to_reserve,
        })
        .collect();
    let band = |low: usize, high: usize| Band {
        below: fit.edges[low].map_or(f64::INFINITY, |edge| edge.room.nm() as f64),
        above: fit.edges[high].map(|edge| edge.room.nm() as f64),
    };
    chance(&terms, band(0, 1), band(2, 3))
}

/// The one measurement that would do most for a stack that is marginal or undecided.
pub fn next_step(fit: &Fit<'_>) -> Option<NextStep> {
    if !matches!(fit.grade, Grade::Marginal | Grade::Undecided) {
        return None;
    }
    if let Some(why) = fit.because {
        return Some(held_back(fit, why));
    }
    let (index, edge) = fit
        .edges
        .iter()
        .enumerate()
        .filter_map(|(index, edge)| edge.as_ref().map(|edge| (index, edge)))
        .max_by_key(|(_, edge)| (edge_grade(edge.room, &edge.spread), -edge.room.nm()))?;
    let form = if index < 2 { &fit.preload_form } else { &fit.reserve_form };
    let effects = form.effects();
    let largest = effects.iter().max_by_key(|effect| effect.at_limit.abs())?;
    let rest = edge.spread.three_u_squared - largest.at_limit * largest.at_limit;
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

/// The half-width to which a dimension has to be known so that room >= 2u.
fn within(largest: &Effect<'_>, room: Length, rest: i128) -> Aim {
    let room = i128::from(room.nm()) * crate::stack::form::MICRO;
    let left = 3 * room * room / 4 - rest;
    if left <= 0 || largest.at_limit == 0 || largest.dim == "finger_ratio" {
        return Aim::AsCloselyAsPossible;
    }
    let share = (left as f64).sqrt() / largest.at_limit.unsigned_abs() as f64;
    Aim::Within(Length::from_nm((largest.tol as f64 * share).floor() as i64))
}

/// The value that a dimension has to have, everything else as computed, for the stack to be inside.
fn must_read(form: &Form<'_>, largest: &Effect<'_>, room: Length, upward: bool) -> Aim {
    let item = form.linear.iter().find(|(item, _)| {
        item.piece == largest.piece && item.dim == largest.dim && largest.tol != 0
    });
    let only_linear = |times: &i64| {
        largest.at_limit == i128::from(*times) * i128::from(largest.tol) * crate::stack::form::MICRO
    };
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
