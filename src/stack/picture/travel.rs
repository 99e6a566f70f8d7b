//! The bearing's travel as one line, with the window and the finger tips on it.

use crate::model::edge::{Edge, PerEdge};
use crate::model::length::Length;
use crate::stack::fit::Fit;

/// Where a stack stands on its bearing's travel, in one word.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stands {
    /// In its window, this far from the nearest edge.
    In(Length),
    /// Too far back by so much: too little reserve, or too much preload.
    TooTight(Length),
    /// Not far enough back by so much: too little preload, or too much reserve.
    TooLoose(Length),
    /// The bearing is at the end of its bore, so far ahead of where the fingers want it.
    Bottomed(Length),
    /// The bearing is fully out, and so far from the fingers.
    DoesNotReach(Length),
}

/// A part of the travel in which the fingers must not hold the bearing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Barred {
    /// The edge of the window that bars it.
    pub edge: Edge,
    /// Where it begins, from fully out.
    pub from: Length,
    /// Where it ends, from fully out.
    pub to: Length,
}

/// The bearing's travel, counted from fully out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Travel {
    /// From fully out to bottomed.
    pub travel: Length,
    /// Where the fingers hold it: the preload. Below zero they do not reach it, and beyond the travel
    /// it is bottomed.
    pub preload: Length,
    /// What is left: the wear reserve.
    pub reserve: Length,
    /// Twice u toward fully out and toward bottomed: how far the mark may well be off.
    pub off: (Length, Length),
    /// The window's limits, without end float.
    pub limits: PerEdge<Option<Length>>,
    /// What the crank's end float takes off at each edge that is set.
    pub float: PerEdge<Length>,
    /// Where the stack stands.
    pub stands: Stands,
}

impl Travel {
    /// That of a stack.
    #[allow(clippy::cast_possible_truncation, reason = "u is far below 2^53 nm, and only shown")]
    pub fn of(fit: &Fit<'_>) -> Self {
        let twice_u = |edge: Edge| {
            let u = fit.edges[edge].map_or(0.0, |edge| edge.spread.u());
            Length::from_nm((2.0 * u).round() as i64)
        };
        Self {
            travel: fit.travel,
            preload: fit.preload,
            reserve: fit.reserve,
            off: (twice_u(Edge::PreloadMin), twice_u(Edge::ReserveMin)),
            limits: PerEdge::from_fn(|edge| fit.window.limit(edge)),
            float: PerEdge::from_fn(|edge| fit.edges[edge].map_or(Length::ZERO, |at| at.float)),
            stands: stands(fit),
        }
    }

    /// The parts of the travel that the window bars, end float counted, each within the travel.
    pub fn barred(&self) -> Vec<Barred> {
        let whole = |at: Length| at.max(Length::ZERO).min(self.travel.max(Length::ZERO));
        let bar = |edge: Edge| {
            let limit = self.limits[edge]?;
            let inside =
                if edge.is_least() { limit + self.float[edge] } else { limit - self.float[edge] };
            let at = whole(if edge.is_preload() { inside } else { self.travel - inside });
            let (from, to) = if edge.is_missed_when_loose() {
                (Length::ZERO, at)
            } else {
                (at, whole(self.travel))
            };
            (from < to).then_some(Barred { edge, from, to })
        };
        Edge::ALL.into_iter().filter_map(bar).collect()
    }
}

fn stands(fit: &Fit<'_>) -> Stands {
    if fit.reserve < Length::ZERO {
        return Stands::Bottomed(-fit.reserve);
    }
    if fit.preload < Length::ZERO {
        return Stands::DoesNotReach(-fit.preload);
    }
    match fit.nearest_edge() {
        Some((edge, at)) if at.room < Length::ZERO && edge.is_missed_when_loose() => {
            Stands::TooLoose(-at.room)
        }
        Some((_, at)) if at.room < Length::ZERO => Stands::TooTight(-at.room),
        _ => Stands::In(fit.room),
    }
}
