//! The three lengths of a stack: finger tips, bearing extended, bearing retracted.
//!
//! Each can come from catalogued dimensions or from a measured sum of the job, moved by the parts
//! that were swapped. Of the routes that work the one with the smaller u is used.

mod correction;
mod finger;
pub(crate) mod rear;
pub(crate) mod sums;

use crate::model::length::{Length, Ratio};
use crate::stack::choice::{Bench, Choice};
use crate::stack::form::Form;
use rear::Reach;
use sums::{Sums, value};

/// A dimension that a route lacks.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Missing {
    /// The kind of the part that lacks it.
    pub kind: &'static str,
    /// The part's number; blank where the job does not say which part is fitted.
    pub id: String,
    /// The dimension.
    pub dim: String,
}

/// What was measured or catalogued along a route.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Origin {
    /// Read off the job, moved by what was swapped.
    Measured,
    /// From the parts' own dimensions.
    Catalogued,
}

/// Things that keep a length from being taken at its word.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Doubts {
    /// A correction of the finger height was needed and could not be made.
    pub not_corrected: bool,
    /// The fitted disc is worn and by how much is not known.
    pub worn_disc: bool,
    /// The fitted disc's state is not known; it is taken as new.
    pub taken_as_new: bool,
}

impl Doubts {
    fn or(self, other: Self) -> Self {
        Self {
            not_corrected: self.not_corrected || other.not_corrected,
            worn_disc: self.worn_disc || other.worn_disc,
            taken_as_new: self.taken_as_new || other.taken_as_new,
        }
    }
}

/// One way to a length.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Route<'a> {
    /// What it is called in a cross-check.
    pub name: &'static str,
    /// Where it comes from.
    pub origin: Origin,
    /// The sum.
    pub form: Form<'a>,
    /// What is doubtful about it.
    pub doubts: Doubts,
}

/// Every route to one length: the one used first, the others for the cross-check.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Routes<'a> {
    /// The route with the smallest u, the measured one on a tie.
    pub used: Route<'a>,
    /// The other routes that work.
    pub others: Vec<Route<'a>>,
}

/// The three lengths of a stack.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Lengths<'a> {
    /// Block face to finger tips.
    pub finger: Routes<'a>,
    /// Bare block face to the bearing's contact face, extended.
    pub extended: Routes<'a>,
    /// The same, retracted.
    pub retracted: Routes<'a>,
    /// Block face to crank flange, where known.
    pub crank: Option<Length>,
    /// The gap between cover and pressure plate faces now, where known.
    pub gap_now: Option<Length>,
}

/// The ratio whose errors stand in where a plate's own ratio is unknown and its correction is zero:
/// the upper end of what is common, so that not knowing never makes a stack look better.
pub(crate) const STAND_IN_RATIO: Ratio = Ratio::from_millionths(4_500_000);

/// Sorts out the routes to the three lengths. `as_it_stands` keeps the fitted disc as it is now
/// instead of taking a new one of its number.
///
/// # Errors
///
/// What is missing, where some length can be had neither from measurements nor from the catalog.
pub fn lengths<'a>(
    bench: &Bench<'a>,
    choice: &Choice<'a>,
    as_it_stands: bool,
) -> Result<Lengths<'a>, Vec<Missing>> {
    let sums = Sums { bench, choice, as_it_stands };
    let mut missing = Vec::new();
    let crank = choose(sums.crank_routes(), &mut Vec::new());
    let finger = choose(sums.finger_routes(), &mut missing);
    let extended = choose(sums.rear_routes(Reach::Extended), &mut missing);
    let retracted = choose(sums.rear_routes(Reach::Retracted), &mut missing);
    if let (Some(finger), Some(extended), Some(retracted)) = (finger, extended, retracted) {
        let crank = crank.map(|routes| routes.used.form.value());
        let gap_now = sums.gap_now().map(|gap| value(&gap));
        return Ok(Lengths { finger, extended, retracted, crank, gap_now });
    }
    missing.sort();
    missing.dedup();
    Err(missing)
}

/// A route, or what it lacks.
type Tried<'a> = Result<Route<'a>, Vec<Missing>>;

/// Takes the route with the smallest u; the first one on a tie, and measured ones come first.
fn choose<'a>(tried: Vec<Tried<'a>>, missing: &mut Vec<Missing>) -> Option<Routes<'a>> {
    let mut routes = Vec::new();
    let mut lacks = Vec::new();
    for route in tried {
        match route {
            Ok(route) => routes.push(route),
            Err(lack) => lacks.extend(lack),
        }
    }
    let u = |route: &Route<'_>| route.form.spread().three_u_squared;
    let best = (0..routes.len()).min_by_key(|index| (u(&routes[*index]), *index));
    let Some(best) = best else {
        missing.extend(lacks);
        return None;
    };
    let used = routes.remove(best);
    Some(Routes { used, others: routes })
}
