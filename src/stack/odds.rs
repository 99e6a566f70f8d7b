//! The chance of a stack: how likely preload and reserve both lie in the window, and on what
//! condition.

use crate::model::edge::Edge;
use crate::model::entry::Accuracy;
use crate::stack::cap::Cap;
use crate::stack::chance::{Band, Distribution, ErrorTerm, chance};
use crate::stack::fit::{EdgeFit, Fit};
use crate::stack::form::{Dim, MICRO};
use crate::stack::lengths::AssumedGap;

/// Something that has to be so for a chance to hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Proviso {
    /// The fitted disc was new when the readings were taken.
    DiscIsNew,
    /// The set gap is near the one that was assumed.
    SetGap(AssumedGap),
    /// The way to the length that this stack rests on is right, though it is doubtful.
    Doubtful,
}

impl Proviso {
    /// The condition, behind "if".
    pub const fn words(self) -> &'static str {
        match self {
            Self::DiscIsNew => "the fitted disc is new",
            Self::SetGap(AssumedGap::RangeKnown) => "set_gap assumed",
            Self::SetGap(AssumedGap::RangeUnknown) => {
                "set_gap assumed: whether the diaphragm works in its range is not known"
            }
            Self::Doubtful => "the reading that is doubtful is right",
        }
    }
}

/// The chance of a stack.
#[derive(Debug, Clone, PartialEq)]
pub enum Chance {
    /// A probability, good to 0.001, and what it rests on.
    Of(f64, Vec<Proviso>),
    /// No number: what it would have to count is not of the kind that can be counted.
    Unknown(Cap),
}

impl Chance {
    /// The number, where there is one.
    pub const fn value(&self) -> Option<f64> {
        match self {
            Self::Of(value, _) => Some(*value),
            Self::Unknown(_) => None,
        }
    }

    /// In whole thousandths, to which it is good, rounded down, for ranking and programs; below every
    /// number where there is none.
    #[allow(clippy::cast_possible_truncation, reason = "a probability in thousandths")]
    pub fn thousandths(&self) -> i64 {
        self.value().map_or(-1, |value| (value * 1e3).floor() as i64)
    }
}

/// The most that a chance may be where something that counts was assumed.
const MOST_IF_ASSUMED: f64 = 0.999;

/// The chance that both numbers lie in the window; exactly 1 where the room covers the worst case at
/// every edge, nothing is assumed and no error can pass its limit. A normal one can, if hardly ever.
pub fn chance_of(fit: &Fit<'_>) -> Chance {
    let hides = |one: &&crate::stack::cap::CapRoom| one.applies && one.cap.hides_chance();
    if let Some(cap) = fit.caps.iter().filter(hides).map(|one| one.cap).min() {
        return Chance::Unknown(cap);
    }
    let finger = &fit.lengths.finger;
    let doubtful = fit.has_cap(Cap::Doubt) || fit.has_cap(Cap::CatalogDoubted);
    let conditions = [
        finger.state_unknown.then_some(Proviso::DiscIsNew),
        finger.set_gap_assumed.map(Proviso::SetGap),
        doubtful.then_some(Proviso::Doubtful),
    ];
    let assumed = fit.edges.set().any(|(_, edge)| edge.spread.assumed);
    let plain = plain_chance(fit, assumed);
    let value = if assumed { plain.min(MOST_IF_ASSUMED) } else { plain };
    Chance::Of(value, conditions.into_iter().flatten().collect())
}

#[allow(
    clippy::cast_precision_loss,
    reason = "the probability needs no more than a float's digits"
)]
fn plain_chance(fit: &Fit<'_>, assumed: bool) -> f64 {
    let mut errors: Vec<(Dim<'_>, ErrorTerm)> = Vec::new();
    for (form, is_preload) in [(&fit.preload_form, true), (&fit.reserve_form, false)] {
        for effect in form.effects() {
            let known = errors.iter().position(|(dim, _)| *dim == effect.dim);
            let index = known.unwrap_or_else(|| {
                let shape = shape(effect.known);
                errors.push((effect.dim, ErrorTerm { shape, to_preload: 0.0, to_reserve: 0.0 }));
                errors.len() - 1
            });
            let error = &mut errors[index].1;
            let per_unit = effect.per_unit as f64 / MICRO as f64;
            *(if is_preload { &mut error.to_preload } else { &mut error.to_reserve }) = per_unit;
        }
    }
    let errors: Vec<ErrorTerm> = errors.into_iter().map(|(_, error)| error).collect();
    let limited = |error: &ErrorTerm| matches!(error.shape, Distribution::Rectangular { .. });
    let covered = |edge: &EdgeFit| edge.spread.worst_case_within(edge.room);
    let all_covered = fit.edges.set().all(|(_, edge)| covered(edge));
    if errors.iter().all(limited) && all_covered && !assumed {
        return 1.0;
    }
    let room = |edge: Edge| fit.edges[edge].map(|edge| edge.room.nm() as f64);
    let band = |least: Edge, most: Edge| Band {
        below: room(least).unwrap_or(f64::INFINITY),
        above: room(most),
    };
    let preload = band(Edge::PreloadMin, Edge::PreloadMax);
    chance(&errors, preload, band(Edge::ReserveMin, Edge::ReserveMax))
}

/// How the errors of a value are distributed.
#[allow(clippy::cast_precision_loss, reason = "a tolerance is far below 2^53 nm")]
fn shape(known: Accuracy) -> Distribution {
    if known.is_rectangular() {
        Distribution::Rectangular { half_width: known.tol as f64 }
    } else {
        Distribution::Normal { u: known.wide as f64 / 3.0_f64.sqrt() }
    }
}
