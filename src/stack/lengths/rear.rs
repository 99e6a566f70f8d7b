//! The routes to the bearing's contact face, at either end of its travel.

use super::sums::{Sums, Terms, form};
use super::{Doubts, Missing, Origin, Route, Tried};
use crate::model::job::Reading;
use crate::model::kinds::{Enters, Inside};

/// Which end of the bearing's travel.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Reach {
    Extended,
    Retracted,
}

impl Reach {
    fn own_reading(self) -> Reading {
        match self {
            Self::Extended => Reading::BearingDepthExtended,
            Self::Retracted => Reading::BearingDepthRetracted,
        }
    }

    fn other(self) -> Self {
        match self {
            Self::Extended => Self::Retracted,
            Self::Retracted => Self::Extended,
        }
    }

    fn times(self, enters: Enters) -> Option<i64> {
        match (enters, self) {
            (Enters::Rear(times), _)
            | (Enters::Extended(times), Self::Extended)
            | (Enters::Retracted(times), Self::Retracted) => Some(times),
            _ => None,
        }
    }

    pub(crate) fn times_of(self) -> impl Fn(Enters) -> Option<i64> + Copy {
        move |enters| self.times(enters)
    }
}

impl<'a> Sums<'_, 'a> {
    pub(super) fn rear_routes(&self, reach: Reach) -> Vec<Tried<'a>> {
        let kinds = self.bench.library.kinds;
        let times = reach.times_of();
        let inside = self.bench.slots_inside(&[Inside::BearingDepth]);
        let outside: Vec<usize> = kinds
            .slots()
            .enumerate()
            .filter(|(_, (_, slot))| slot.inside.is_none())
            .map(|(index, _)| index)
            .collect();
        let plates = self.catalogued(&outside, times);
        let mut routes = Vec::new();
        if self.something_stays(&inside)
            && let Some(base) = self.rear_reading(reach)
        {
            let sum = base.and_then(|base| {
                let moved = self.moved(&inside, times)?;
                Ok([base, moved, plates.clone()?].concat())
            });
            routes.push(sum.map(|terms| Route {
                name: "bearing depth as measured",
                origin: Origin::Measured,
                form: form(terms),
                doubts: Doubts::default(),
            }));
        }
        let sum = self.catalogued(&inside, times);
        routes.push(sum.and_then(|sum| Ok([sum, plates?].concat())).map(|terms| Route {
            name: "the rear parts' catalogued dimensions",
            origin: Origin::Catalogued,
            form: form(terms),
            doubts: Doubts::default(),
        }));
        routes
    }

    /// The bearing depth for one end of the travel; with the other end's reading only, brought over
    /// by the fitted bearing's catalogued heights.
    pub(crate) fn rear_reading(&self, reach: Reach) -> Option<Result<Terms<'a>, Vec<Missing>>> {
        if let Some(own) = self.reading(reach.own_reading()) {
            return Some(Ok(vec![(own, 1)]));
        }
        let other = self.reading(reach.other().own_reading())?;
        let slot = self.bench.slot("bearing")?;
        let fitted = self.fitted(slot);
        if fitted.parts.is_empty() {
            let dim = "which bearing is fitted".into();
            return Some(Err(vec![Missing { kind: "bearing", id: String::new(), dim }]));
        }
        // Of the bearing's two ends: this one's height enters, the other one's leaves.
        let ends = |enters: Enters| match enters {
            Enters::Extended(times) => Some(if reach == Reach::Extended { times } else { -times }),
            Enters::Retracted(times) => {
                Some(if reach == Reach::Retracted { times } else { -times })
            }
            _ => None,
        };
        Some(self.items(slot, fitted, ends).map(|mut terms| {
            terms.push((other, 1));
            terms
        }))
    }
}
