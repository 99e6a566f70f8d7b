//! The routes to the bearing's contact face, at both ends of its travel.

use super::sums::Sums;
use super::times::Times;
use super::{BearingRoute, Tried, both, settled};
use crate::model::job::Reading;
use crate::model::kinds::{Enters, Inside};
use crate::stack::form::Form;
use crate::stack::route::{BearingFrom, End};

impl<'a> Sums<'_, 'a> {
    /// Both routes, the measured one first; each serves both ends.
    pub(crate) fn bearing_routes(&self) -> Vec<Tried<BearingRoute<'a>>> {
        let inside = self.setup.slots_inside(&[Inside::BearingDepth]);
        let mut routes = Vec::new();
        if self.setup.something_stays(self.choice, &inside) {
            routes.extend(self.measured_bearings(&inside));
        }
        let ends = [End::Extended, End::Retracted];
        let [extended, retracted] = ends.map(|end| self.catalogued(&inside, end.times()));
        routes.push(self.bearing_route(BearingFrom::Catalog, extended, retracted));
        routes
    }

    /// What was read, brought to the chosen parts: one route, or what each way to it lacks.
    fn measured_bearings(&self, inside: &[usize]) -> Vec<Tried<BearingRoute<'a>>> {
        // The sum at one end from the reading that was taken at another.
        let sum = |end: End, read: End| {
            let reading = self.reading(read.reading())?;
            Some(self.moved(reading, inside, end.times(), read.times()))
        };
        let from = |read: End| -> Option<Tried<BearingRoute<'a>>> {
            let (extended, retracted) = (sum(End::Extended, read)?, sum(End::Retracted, read)?);
            Some(self.bearing_route(BearingFrom::Reading(read), extended, retracted))
        };
        let has_travel = |slot: &&usize| {
            let mut slots = self.setup.library.kinds.slots();
            slots.nth(**slot).is_some_and(|(kind, _)| kind.has_travel())
        };
        let bearing_stays = inside.iter().filter(has_travel).all(|slot| self.stays(*slot));
        if bearing_stays
            && let (Some(extended), Some(retracted)) =
                (sum(End::Extended, End::Extended), sum(End::Retracted, End::Retracted))
        {
            return vec![self.bearing_route(BearingFrom::BothReadings, extended, retracted)];
        }
        match (from(End::Extended), from(End::Retracted)) {
            // Another bearing has a travel of its own: both its ends start from one seat.
            (Some(Ok(extended)), Some(Ok(retracted))) => {
                let closer =
                    self.seat_u(inside, End::Retracted) < self.seat_u(inside, End::Extended);
                vec![Ok(if closer { retracted } else { extended })]
            }
            (Some(Ok(one)), _) | (_, Some(Ok(one))) => vec![Ok(one)],
            // Any one of the seats would do.
            (extended, retracted) => extended.into_iter().chain(retracted).collect(),
        }
    }

    /// Three times the variance of the seat that a reading gives: the reading and the fitted
    /// bearing's height at that end.
    fn seat_u(&self, inside: &[usize], read: End) -> i128 {
        let height: Times = match read {
            End::Extended => |enters| match enters {
                Enters::Extended(times) => Some(times),
                _ => None,
            },
            End::Retracted => |enters| match enters {
                Enters::Retracted(times) => Some(times),
                _ => None,
            },
        };
        let mut seat = Form::default().less(&self.as_fitted(inside, height));
        if let Some(reading) = self.reading(read.reading()) {
            seat.add(reading, 1);
        }
        seat.spread().three_u_squared
    }

    /// The contact face of what is fitted at an end that was read: as read, and as catalogued.
    pub(super) fn depth(&self, end: End) -> Option<(End, Form<'a>, Option<Form<'a>>)> {
        let inside = self.setup.slots_inside(&[Inside::BearingDepth]);
        let mut read = Form::default();
        read.add(self.reading(end.reading())?, 1);
        Some((end, read, settled(self.catalogued(&inside, end.times())).ok()))
    }

    /// The travel of the fitted bearing: between both depths as read, and as catalogued.
    pub(super) fn travels(&self) -> Option<(Form<'a>, Form<'a>)> {
        let inside = self.setup.slots_inside(&[Inside::BearingDepth]);
        let mut read = Form::default();
        read.add(self.reading(Reading::BearingDepthRetracted)?, 1);
        read.add(self.reading(Reading::BearingDepthExtended)?, -1);
        let [extended, retracted] =
            [End::Extended, End::Retracted].map(|end| self.catalogued(&inside, end.times()));
        let listed = settled(retracted.less(&extended)).ok()?;
        // Without a bearing there is nothing to compare with.
        (!listed.linear.is_empty()).then_some((read, listed))
    }

    /// A route, with the slots before the bell added: the bell spacer. The block plate stands before
    /// the place from which both sides are counted.
    fn bearing_route(
        &self,
        from: BearingFrom,
        extended: Form<'a>,
        retracted: Form<'a>,
    ) -> Tried<BearingRoute<'a>> {
        let kinds = self.setup.library.kinds;
        let before: Vec<usize> = kinds
            .slots()
            .enumerate()
            .filter(|(_, (kind, slot))| slot.inside.is_none() && kind.key != "block_plate")
            .map(|(index, _)| index)
            .collect();
        let with_spacers = |mut form: Form<'a>, end: End| {
            form.add_form(&self.catalogued(&before, end.times()), 1);
            settled(form)
        };
        let extended = with_spacers(extended, End::Extended);
        let retracted = with_spacers(retracted, End::Retracted);
        let (extended, retracted) = both(extended, retracted)?;
        Ok(BearingRoute { from, extended, retracted })
    }
}
