//! One stack, worked out in full: both sums, the window, the room, the grade and the checks.

use crate::model::edge::{Edge, PerEdge};
use crate::model::entry::Entry;
use crate::model::house::Number;
use crate::model::job::CrankPushed;
use crate::model::length::{Length, Ratio};
use crate::model::part::Part;
use crate::stack::cap::{Cap, CapRoom};
use crate::stack::checks::{Check, checks};
use crate::stack::choice::{Choice, Setup};
use crate::stack::cost::{ToBuy, changed_slots, gearbox_move, part_count, to_buy};
use crate::stack::form::{Form, Spread};
use crate::stack::grade::{Grade, edge_grade};
use crate::stack::joints::{Joints, joints};
use crate::stack::lengths::{FingerFrom, Lacks, Lengths, Origins, lengths};
use crate::stack::window::{
    FloatAllowance, Limit, SetBy, Window, clutch_sums, wear_bought, window, worst_wear,
};

/// One edge of the window with the stack's distance from it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct EdgeFit {
    /// Its limit.
    pub limit: Length,
    /// Who set it.
    pub set_by: SetBy,
    /// How far inside the stack is; negative outside. End float is taken off.
    pub room: Length,
    /// The end float that is taken off.
    pub float: Length,
    /// The error limits of the sum that this edge bounds.
    pub spread: Spread,
    /// What this edge alone allows.
    pub grade: Grade,
}

/// The facing wear (whole pack) that a reserve is good for, end float taken off.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct WearBought {
    /// The wear; negative where there is no reserve.
    pub wear: Length,
    /// Nobody knows the ratio: it was worked out with the largest that is common.
    pub ratio_assumed: bool,
}

/// One stack, worked out.
#[derive(Debug, Clone)]
pub struct Fit<'a> {
    /// The parts.
    pub choice: Choice<'a>,
    /// The lengths with their routes.
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
    /// The end float that is taken off the room.
    pub float: FloatAllowance,
    /// The window's edges.
    pub edges: PerEdge<Option<EdgeFit>>,
    /// The distance to the nearest edge.
    pub room: Length,
    /// The grade, caps counted.
    pub grade: Grade,
    /// The gravest cap that made the grade lower than the room alone would.
    pub because: Option<Cap>,
    /// The caps that may apply, and how far the stack is from each.
    pub caps: Vec<CapRoom>,
    /// The eight joints.
    pub joints: Joints,
    /// The checks beside the window.
    pub checks: Vec<Check>,
    /// What is still to be bought.
    pub to_buy: ToBuy,
    /// The slots that differ from what is fitted.
    pub changed: Vec<usize>,
    /// How many parts, each shim counted.
    pub part_count: usize,
    /// The facing wear that the reserve is good for; none where neither ratio nor wear is known.
    pub wear: Option<WearBought>,
    /// How far the gearbox moves, positive to the rear, where known.
    pub gearbox_move: Option<Length>,
}

impl Fit<'_> {
    /// The edge with the least room.
    pub fn nearest_edge(&self) -> Option<(Edge, &EdgeFit)> {
        self.edges.set().min_by_key(|(_, edge)| edge.room)
    }

    /// Whether the stack is in its window and fails no check.
    pub fn holds(&self) -> bool {
        self.grade.in_window() && !self.fails()
    }

    /// Whether some check beside the window fails.
    pub fn fails(&self) -> bool {
        self.checks.iter().any(Check::failed)
    }

    /// Whether a cap applies.
    pub fn has_cap(&self, cap: Cap) -> bool {
        self.caps.iter().any(|one| one.cap == cap && one.applies)
    }

    /// Whether the diaphragm works outside its range.
    pub fn is_outside_range(&self) -> bool {
        self.has_cap(Cap::OutsideRange)
    }

    /// The slots whose part is as on the bench.
    pub fn on_bench(&self) -> impl Iterator<Item = usize> {
        let fills = self.choice.fills.iter().enumerate();
        fills.filter(|(_, fill)| fill.on_bench).map(|(slot, _)| slot)
    }
}

/// Works out a stack.
///
/// # Errors
///
/// What is missing, where some length can be had by no route.
pub fn evaluate<'a>(setup: &Setup<'a>, choice: &Choice<'a>) -> Result<Fit<'a>, Lacks> {
    evaluate_disc(setup, choice, false)
}

/// The same with the fitted disc as it is now, worn or not.
///
/// # Errors
///
/// As [`evaluate`].
pub fn evaluate_as_it_stands<'a>(setup: &Setup<'a>, choice: &Choice<'a>) -> Result<Fit<'a>, Lacks> {
    evaluate_disc(setup, choice, true)
}

/// A stack against its window alone: as much of it as another value of one dimension asks for.
pub(crate) struct Graded<'a> {
    lengths: Lengths<'a>,
    preload_form: Form<'a>,
    reserve_form: Form<'a>,
    window: Window,
    float: FloatAllowance,
    pub(crate) edges: PerEdge<Option<EdgeFit>>,
    /// Caps counted.
    pub(crate) grade: Grade,
    because: Option<Cap>,
    pub(crate) caps: Vec<CapRoom>,
}

/// Grades a stack; `as_it_stands` with the fitted disc as it is now.
///
/// # Errors
///
/// As [`evaluate`].
pub(crate) fn graded<'a>(
    setup: &Setup<'a>,
    choice: &Choice<'a>,
    as_it_stands: bool,
) -> Result<Graded<'a>, Lacks> {
    let lengths = lengths(setup, choice, as_it_stands)?;
    let finger = &lengths.finger.form;
    let preload_form = finger.clone().less(&lengths.bearing.extended);
    let reserve_form = lengths.bearing.retracted.clone().less(finger);
    let (preload, reserve) = (preload_form.value(), reserve_form.value());

    let (plate, disc) = (setup.part(choice, "pressure_plate"), setup.part(choice, "disc"));
    let window = window(&setup.library.house, &setup.job.window, plate, disc);
    let float = float_allowance(setup, setup.part(choice, "engine"), lengths.finger.from);
    let spreads = (preload_form.spread(), reserve_form.spread());
    let edges = PerEdge::from_fn(|edge| {
        let limit = window.limits[edge]?;
        let (value, spread) =
            if edge.is_preload() { (preload, spreads.0) } else { (reserve, spreads.1) };
        Some(edge_fit(edge, limit, value, spread, float))
    });
    let computed = edges.set().map(|(_, edge)| edge.grade).max().unwrap_or(Grade::Out);
    let caps = caps(setup, choice, &lengths, &edges);
    let gravest = caps.iter().filter(|cap| cap.applies).map(|one| one.cap).min();
    let grade = gravest.map_or(computed, |cap| computed.max(cap.grade()));
    let because = gravest.filter(|_| grade != computed);
    Ok(Graded { lengths, preload_form, reserve_form, window, float, edges, grade, because, caps })
}

fn evaluate_disc<'a>(
    setup: &Setup<'a>,
    choice: &Choice<'a>,
    as_it_stands: bool,
) -> Result<Fit<'a>, Lacks> {
    let graded = graded(setup, choice, as_it_stands)?;
    let Graded { lengths, preload_form, reserve_form, window, float, edges, grade, because, caps } =
        graded;
    let (preload, reserve) = (preload_form.value(), reserve_form.value());
    let joints = joints(setup, choice);
    Ok(Fit {
        checks: checks(setup, choice, &lengths, preload, &joints),
        choice: choice.clone(),
        preload,
        reserve,
        travel: preload + reserve,
        preload_form,
        reserve_form,
        window,
        float,
        room: edges.set().map(|(_, edge)| edge.room).min().unwrap_or(Length::ZERO),
        edges,
        grade,
        because,
        caps,
        joints,
        to_buy: to_buy(setup, choice),
        changed: changed_slots(setup, choice),
        part_count: part_count(choice),
        wear: wear(setup, choice, reserve - float.rearward),
        gearbox_move: gearbox_move(setup, choice),
        lengths,
    })
}

/// How much end float may take off each edge: what the crank may still move after it was read; either
/// way where nobody told or the catalog's protrusion counts.
pub(crate) fn float_allowance(
    setup: &Setup<'_>,
    engine: Option<&Part>,
    from: FingerFrom,
) -> FloatAllowance {
    let float = engine.and_then(|engine| engine.length("crank_end_float"));
    let float = float.unwrap_or(Length::ZERO);
    let (rearward, forward) = match setup.job.crank_pushed {
        _ if from.lists_crank() => (float, float),
        CrankPushed::Front => (float, Length::ZERO),
        CrankPushed::Rear => (Length::ZERO, float),
        CrankPushed::Unknown => (float, float),
    };
    FloatAllowance { rearward, forward }
}

fn edge_fit(
    edge: Edge,
    limit: Limit,
    value: Length,
    spread: Spread,
    float: FloatAllowance,
) -> EdgeFit {
    let inside = if edge.is_least() { value - limit.at } else { limit.at - value };
    let float = float.at(edge);
    let room = inside - float;
    let grade = edge_grade(room, &spread);
    EdgeFit { limit: limit.at, set_by: limit.set_by, room, float, spread, grade }
}

/// The facing wear that a reserve buys, where the ratio is known, or the wear that asks for one.
fn wear(setup: &Setup<'_>, choice: &Choice<'_>, reserve: Length) -> Option<WearBought> {
    let (plate, disc) = (setup.part(choice, "pressure_plate"), setup.part(choice, "disc"));
    let stated = plate.and_then(|plate| plate.entry("finger_ratio")).map(Entry::as_ratio);
    let bought = |ratio: Ratio, ratio_assumed: bool| WearBought {
        wear: wear_bought(reserve, ratio),
        ratio_assumed,
    };
    if let Some(ratio) = stated {
        Some(bought(ratio, false))
    } else {
        let sums = clutch_sums(&setup.library.house, plate, disc);
        sums.reserve_min.map(|sum| bought(sum.ratio, true))
    }
}

/// What may keep the grade down, each with whether it does.
fn caps(
    setup: &Setup<'_>,
    choice: &Choice<'_>,
    lengths: &Lengths<'_>,
    edges: &PerEdge<Option<EdgeFit>>,
) -> Vec<CapRoom> {
    let (finger, bearing) = (Some(lengths.finger.from), Some(lengths.bearing.from));
    let mut caps = setup.cross_checks().caps(setup, choice, Origins { finger, bearing });
    if let Some(gap) = lengths.gap_now {
        let plate = setup.part(choice, "pressure_plate");
        let (least, most) = working_range(setup, plate, lengths.set_gap);
        let inside = [least.map(|least| gap - least), most.map(|most| most - gap)];
        caps.extend(inside.into_iter().flatten().map(|room| cap_room(Cap::OutsideRange, room)));
    }
    if lengths.finger.state_unknown {
        // A disc that was worn then held the fingers high: with a new one they stand lower.
        let (ratio, may_lose) = worst_wear(setup);
        let lower = ratio.times(may_lose);
        for (_, edge) in edges.set().filter(|(edge, _)| edge.is_missed_when_loose()) {
            caps.push(cap_room(Cap::MayBeWorn, edge.room - lower));
        }
        caps.push(CapRoom { cap: Cap::StateUnknown, applies: true, room: f64::NEG_INFINITY });
    }
    caps
}

#[allow(clippy::cast_precision_loss, reason = "it only shows the way")]
fn cap_room(cap: Cap, room: Length) -> CapRoom {
    CapRoom { cap, applies: room < Length::ZERO, room: room.nm() as f64 }
}

/// The least and the largest gap at which the chosen plate's diaphragm works, as far as known;
/// `set_gap` is the one with which its finger height was taken, where that is known.
pub fn working_range(
    setup: &Setup<'_>,
    plate: Option<&Part>,
    set_gap: Option<Length>,
) -> (Option<Length>, Option<Length>) {
    let half = setup.library.house.length(Number::GapRange);
    let stated = |key: &str| plate.and_then(|plate| plate.length(key));
    let least = stated("set_gap_min").or(set_gap.map(|gap| gap - half));
    let most = stated("set_gap_max").or(set_gap.map(|gap| gap + half));
    (least, most)
}
