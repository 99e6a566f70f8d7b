//! The three lengths of a stack: finger tips, bearing extended, bearing retracted.
//!
//! All are counted from behind the chosen block plate: it moves both sides alike, and where it stays
//! nobody has to know how thick it is. The finger tips come by one route and the bearing by one; each
//! serves both edges. Of the routes that work the one with the smaller u is used.

pub(crate) mod bearing;
mod correction;
mod finger;
pub(crate) mod sums;
pub(crate) mod times;

pub use crate::stack::route::{AssumedGap, BearingFrom, End, FingerFrom, From};
pub(crate) use finger::FingerPair;

use itertools::Itertools as _;

use crate::model::length::Length;
use crate::stack::choice::{Choice, Setup};
use crate::stack::form::{Form, Source};
use sums::Sums;

/// A dimension that a route lacks.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Missing {
    /// The kind of the part that lacks it.
    pub kind: &'static str,
    /// The part's number; none of what is as on the bench.
    pub id: Option<String>,
    /// The dimension's key.
    pub dim: &'static str,
}

/// Why a stack has no sum: for each length without a route what each of its routes lacks. Any one
/// route of each length would do.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Lacks {
    /// What each route to the finger tips lacks; empty where one works.
    pub finger: Vec<Vec<Missing>>,
    /// What each route to the bearing lacks; empty where one works.
    pub bearing: Vec<Vec<Missing>>,
}

/// One way to the finger tips.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FingerRoute<'a> {
    /// Where it comes from.
    pub from: FingerFrom,
    /// Finger tips from behind the block plate.
    pub form: Form<'a>,
    /// A set gap that counts in it was assumed.
    pub set_gap_assumed: Option<AssumedGap>,
    /// It rests on a reading, and nobody knows whether the disc was worn then.
    pub state_unknown: bool,
    /// It rests on a reading over a worn disc, and what that has lost was assumed.
    pub loss_assumed: bool,
}

/// One way to the bearing, for both ends of its travel.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BearingRoute<'a> {
    /// Where it comes from.
    pub from: BearingFrom,
    /// The contact face extended, from behind the block plate.
    pub extended: Form<'a>,
    /// The contact face bottomed, from behind the block plate.
    pub retracted: Form<'a>,
}

/// The lengths of a stack.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Lengths<'a> {
    /// The finger tips.
    pub finger: FingerRoute<'a>,
    /// Routes to the finger tips that work too.
    pub other_fingers: Vec<FingerRoute<'a>>,
    /// The bearing.
    pub bearing: BearingRoute<'a>,
    /// Routes to the bearing that work too.
    pub other_bearings: Vec<BearingRoute<'a>>,
    /// The crank flange from behind the block plate, where known.
    pub crank: Option<Length>,
    /// The gap between cover and pressure plate faces, where known.
    pub gap_now: Option<Length>,
    /// The gap with which the plate's finger height was taken, where it is stated or that of a
    /// matched set on a flat flywheel.
    pub set_gap: Option<Length>,
}

/// Where the lengths of a stack come from, as far as that is settled.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Origins {
    /// The finger tips.
    pub(crate) finger: Option<FingerFrom>,
    /// The bearing.
    pub(crate) bearing: Option<BearingFrom>,
}

/// A route, or what it lacks.
type Tried<T> = Result<T, Vec<Missing>>;

/// Sorts out the routes. `as_it_stands` keeps the fitted disc as it is now instead of taking a new
/// one of its number.
///
/// # Errors
///
/// What is missing, where some length can be had neither from measurements nor from the catalog.
pub fn lengths<'a>(
    setup: &Setup<'a>,
    choice: &Choice<'a>,
    as_it_stands: bool,
) -> Result<Lengths<'a>, Lacks> {
    let sums = Sums { setup, choice, as_it_stands };
    let u = |form: &Form<'_>| form.spread().three_u_squared;
    let finger = pick(sums.finger_routes(), |route| u(&route.form));
    let bearing = pick(sums.bearing_routes(), |route| u(&route.extended) + u(&route.retracted));
    match (finger, bearing) {
        (Ok((finger, other_fingers)), Ok((bearing, other_bearings))) => {
            let cranks = sums.crank_routes();
            Ok(Lengths {
                finger,
                other_fingers,
                bearing,
                other_bearings,
                crank: cranks.iter().min_by_key(|form| u(form)).map(Form::value),
                gap_now: sums.gap_now(),
                set_gap: sums.known_set_gap(),
            })
        }
        (finger, bearing) => Err(Lacks {
            finger: finger.err().unwrap_or_default(),
            bearing: bearing.err().unwrap_or_default(),
        }),
    }
}

/// What readings and catalog say of the parts that are fitted today, the disc as it is.
pub(crate) struct FittedRoutes<'a> {
    /// Every two routes to the finger tips.
    pub(crate) fingers: Vec<FingerPair<'a>>,
    /// The contact face at each end that was read: as read, and as catalogued where that works.
    pub(crate) depths: Vec<(End, Form<'a>, Option<Form<'a>>)>,
    /// The bearing's travel as both depths have it, and as catalogued.
    pub(crate) travel: Option<(Form<'a>, Form<'a>)>,
}

/// Sorts out the routes of what is fitted today.
pub(crate) fn fitted_routes<'a>(setup: &Setup<'a>, fitted: &Choice<'a>) -> FittedRoutes<'a> {
    let sums = Sums { setup, choice: fitted, as_it_stands: true };
    let depths = [End::Extended, End::Retracted].into_iter();
    FittedRoutes {
        fingers: sums.finger_pairs(),
        depths: depths.filter_map(|end| sums.depth(end)).collect(),
        travel: sums.travels(),
    }
}

/// Takes the route with the smallest u; the first one on a tie.
fn pick<T>(tried: Vec<Tried<T>>, u: impl Fn(&T) -> i128) -> Result<(T, Vec<T>), Vec<Vec<Missing>>> {
    let (mut routes, mut lacks) = (Vec::new(), Vec::new());
    for route in tried {
        match route {
            Ok(route) => routes.push(route),
            Err(lack) => lacks.push(lack),
        }
    }
    let best = (0..routes.len()).min_by_key(|index| (u(&routes[*index]), *index));
    let Some(best) = best else { return Err(shortest(&lacks)) };
    Ok((routes.remove(best), routes))
}

/// The routes without those that lack all that another one lacks, and more.
fn shortest(routes: &[Vec<Missing>]) -> Vec<Vec<Missing>> {
    let holds = |all: &[Missing], some: &[Missing]| some.iter().all(|lack| all.contains(lack));
    let longer = |route: &Vec<Missing>| {
        routes.iter().any(|other| holds(route, other) && other.len() < route.len())
    };
    routes.iter().filter(|route| !longer(route)).unique().cloned().collect()
}

/// Both, or what either of them lacks, each dimension once.
fn both<A, B>(one: Tried<A>, other: Tried<B>) -> Tried<(A, B)> {
    match (one, other) {
        (Ok(one), Ok(other)) => Ok((one, other)),
        (one, other) => {
            let lacks = one.err().into_iter().chain(other.err()).flatten();
            Err(lacks.sorted().dedup().collect())
        }
    }
}

/// A sum in which nothing unknown is left, or what is.
fn settled(form: Form<'_>) -> Tried<Form<'_>> {
    if form.unknown.is_empty() {
        return Ok(form);
    }
    let missing = form.unknown.iter().map(|(dim, _)| Missing {
        kind: dim.kind,
        id: match dim.source {
            Source::Part { id, .. } => Some(id.to_string()),
            Source::Bench { .. } | Source::Job => None,
        },
        dim: dim.key,
    });
    Err(missing.sorted().dedup().collect())
}
