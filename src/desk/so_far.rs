//! What can be told of a car while its readings are still being taken.

use super::Stand;
use crate::error::Result;
use crate::model::edge::Edge;
use crate::model::job::{Job, Reading};
use crate::model::length::{Length, Unit};
use crate::model::library::Library;
use crate::stack::choice::Setup;
use crate::stack::fit::Fit;

/// One of the two numbers, from the readings that are there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Half {
    /// Whether it is the preload; the wear reserve otherwise.
    pub is_preload: bool,
    /// The number.
    pub value: Length,
    /// Its least, as the window in force has it.
    pub least: Length,
    /// How far it is inside of that, end float taken off; negative outside.
    pub room: Length,
}

impl Half {
    /// The number with its name, and how it stands to its least.
    pub fn words(&self, unit: Unit) -> (String, String) {
        let name = if self.is_preload { "Preload" } else { "Wear reserve" };
        let (room, least) = (self.room.abs().show(unit), self.least.show(unit));
        let of = if self.room.nm() < 0 { "short of" } else { "over" };
        (format!("{name} {}", self.value.show(unit)), format!("{room} {of} the least {least}"))
    }
}

/// What can be told so far.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SoFar {
    /// Everything: the car has a verdict.
    Whole,
    /// One of the two numbers, and what is still to be read for the other one.
    Half(Half, Vec<Reading>),
    /// Nothing yet, and what is still to be read; blank where readings alone will not do.
    Nothing(Vec<Reading>),
}

/// What can be told of a job so far.
///
/// # Errors
///
/// Refuses a job that names a part that is not there.
pub fn so_far(library: &Library, job: &Job) -> Result<SoFar> {
    let setup = Setup::new(library, job)?;
    if let Stand::Judged(..) = Stand::of(&setup) {
        return Ok(SoFar::Whole);
    }
    let still = still(job);
    let half = match still.as_slice() {
        [Reading::BearingDepthRetracted] => half(library, job, true),
        [Reading::BearingDepthExtended] => half(library, job, false),
        _ => None,
    };
    Ok(match half {
        Some(half) => SoFar::Half(half, still),
        None => SoFar::Nothing(still),
    })
}

/// The readings that a verdict still wants: those of the shortest way, where no part is known.
fn still(job: &Job) -> Vec<Reading> {
    let has = |reading| job.reading(reading).is_some();
    let apart = [Reading::CrankProtrusion, Reading::ClutchHeight];
    let mut still = Vec::new();
    if !has(Reading::FingerDepth) && !apart.into_iter().all(has) {
        if apart.into_iter().any(has) {
            still.extend(apart.into_iter().filter(|reading| !has(*reading)));
        } else {
            still.push(Reading::FingerDepth);
        }
    }
    let depths = [Reading::BearingDepthExtended, Reading::BearingDepthRetracted];
    still.extend(depths.into_iter().filter(|reading| !has(*reading)));
    still
}

/// The number that the depth which is there gives. The other depth stands in for itself: whatever it
/// is, it is in no term of this number.
fn half(library: &Library, job: &Job, is_preload: bool) -> Option<Half> {
    let inch = Length::from_thou(1000);
    let (read, other, off) = if is_preload {
        (Reading::BearingDepthExtended, Reading::BearingDepthRetracted, inch)
    } else {
        (Reading::BearingDepthRetracted, Reading::BearingDepthExtended, -inch)
    };
    let mut whole = job.clone();
    let entry = job.reading(read)?;
    let value = (entry.as_length() + off).nm();
    whole.readings[other as usize] = Some(crate::model::entry::Entry { value, ..entry });
    let setup = Setup::new(library, &whole).ok()?;
    let Stand::Judged(fit, _) = Stand::of(&setup) else { return None };
    number(&fit, is_preload)
}

fn number(fit: &Fit<'_>, is_preload: bool) -> Option<Half> {
    let (edge, value) =
        if is_preload { (Edge::PreloadMin, fit.preload) } else { (Edge::ReserveMin, fit.reserve) };
    let at = fit.edges[edge]?;
    Some(Half { is_preload, value, least: at.limit, room: at.room })
}
