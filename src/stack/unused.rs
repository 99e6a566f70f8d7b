//! Readings of the job that a stack's sum leaves aside, and why.

use crate::model::job::Reading;
use crate::model::kinds::Inside;
use crate::stack::choice::Bench;
use crate::stack::fit::Fit;
use crate::stack::form::Piece;
use crate::stack::lengths::Route;

/// Why a reading is not in the sum.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Why {
    /// Every part that it holds was replaced.
    AllReplaced,
    /// There is another way to the same length with the smaller u.
    OtherIsSurer,
    /// A dimension that has to go with it is unknown.
    Lacks,
}

/// A reading that is not in the sum.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Unused {
    /// Its key.
    pub reading: &'static str,
    /// Why.
    pub why: Why,
}

/// The readings of the job that hold a sum and are in none that is used.
pub fn unused_readings(bench: &Bench<'_>, fit: &Fit<'_>) -> Vec<Unused> {
    let lengths = &fit.lengths;
    let all = [&lengths.finger, &lengths.extended, &lengths.retracted];
    let holds = |route: &Route<'_>, key: &str| {
        route.form.linear.iter().any(|(item, _)| item.piece == Piece::Job && item.dim == key)
    };
    let mut unused = Vec::new();
    for reading in [
        Reading::CrankProtrusion,
        Reading::ClutchHeight,
        Reading::FingerDepth,
        Reading::BearingDepthExtended,
        Reading::BearingDepthRetracted,
    ] {
        let key = reading.spec().key;
        let used = all.iter().any(|routes| holds(&routes.used, key));
        if bench.job.reading(reading).is_none() || used {
            continue;
        }
        let why = if all.iter().any(|routes| routes.others.iter().any(|other| holds(other, key))) {
            Why::OtherIsSurer
        } else if bench
            .slots_inside(inside(reading))
            .iter()
            .all(|slot| is_replaced(bench, fit, *slot))
        {
            Why::AllReplaced
        } else {
            Why::Lacks
        };
        unused.push(Unused { reading: key, why });
    }
    unused
}

/// What a reading holds.
fn inside(reading: Reading) -> &'static [Inside] {
    match reading {
        Reading::CrankProtrusion => &[Inside::Crank],
        Reading::ClutchHeight => &[Inside::Clutch],
        Reading::FingerDepth => &[Inside::Crank, Inside::Clutch],
        Reading::BearingDepthExtended | Reading::BearingDepthRetracted => &[Inside::BearingDepth],
        Reading::FittedDiscThickness => &[],
    }
}

/// Whether nothing of what is fitted stays in a slot.
fn is_replaced(bench: &Bench<'_>, fit: &Fit<'_>, slot: usize) -> bool {
    let (new, old) = (&fit.choice.fills[slot], &bench.fitted[slot]);
    let worn = bench.slot("disc") == Some(slot) && bench.disc_is_replaced();
    let shared = new.ids().iter().any(|id| old.ids().contains(id));
    !(new.bench && old.bench) && (worn || !shared)
}
