//! Two routes to the same length: do they agree, and what single slip would explain it if not.
//!
//! They are worked out once a job, on the parts that are fitted today and with the disc as it is: new
//! minus fitted cancels, so no candidate changes them.

use crate::model::job::{READINGS, Reading};
use crate::stack::agreement::{Agreement, Compared, CrossCheck, CrossChecks};
use crate::stack::cap::{Cap, CapRoom};
use crate::stack::choice::{Choice, Setup};
use crate::stack::form::{Form, MICRO, Source};
use crate::stack::grade::Grade;
use crate::stack::lengths::{FingerPair, Origins, fitted_routes};
use crate::stack::route::{BearingFrom, FingerFrom, From};
use crate::stack::slip::slips;

impl Setup<'_> {
    /// The cross-checks of the job's readings, worked out once.
    pub fn cross_checks(&self) -> &CrossChecks {
        self.checked.get_or_init(|| CrossChecks::of(self))
    }
}

impl CrossCheck {
    #[allow(clippy::cast_precision_loss, reason = "the limits only show the way")]
    fn of(setup: &Setup<'_>, compared: Compared, first: &Form<'_>, second: &Form<'_>) -> Self {
        let difference = first.clone().less(second);
        let spread = difference.spread();
        let apart = difference.value().abs();
        let agreement = if spread.is_beyond_worst_case(apart) {
            Agreement::CannotBothBeRight
        } else if spread.is_within_two_u(apart) {
            Agreement::Agree
        } else {
            Agreement::Doubtful
        };
        let read = |spec: &&crate::model::job::ReadingSpec| {
            let mut items = difference.linear.iter();
            items.any(|(item, _)| item.dim.source == Source::Job && item.dim.key == spec.key)
        };
        let readings = READINGS.iter().filter(read).map(|spec| spec.reading).collect();
        let explained = agreement != Agreement::Agree;
        Self {
            compared,
            first_value: first.value(),
            second_value: second.value(),
            agreement,
            readings,
            slips: if explained { slips(setup, compared, &difference) } else { Vec::new() },
            limits: [spread.worst_case as f64 / MICRO as f64, 2.0 * spread.u()],
        }
    }
}

const READ: FingerFrom = FingerFrom::Apart { crank: From::Reading, clutch: From::Reading };

/// Whether a route to the finger tips was read all the way.
fn is_read(from: FingerFrom) -> bool {
    from == FingerFrom::Depth || from == READ
}

impl CrossChecks {
    /// Compares every length of what is fitted that can be had by two routes.
    pub fn of(setup: &Setup<'_>) -> Self {
        let fitted = Choice { fills: setup.fitted.clone() };
        let routes = fitted_routes(setup, &fitted);
        let mut all = Vec::new();
        for FingerPair { from: [first, second], forms: [one, other] } in &routes.fingers {
            all.push(CrossCheck::of(setup, Compared::Fingers(*first, *second), one, other));
        }
        for (end, read, listed) in &routes.depths {
            let compared = Compared::Depth(*end);
            all.extend(listed.as_ref().map(|listed| CrossCheck::of(setup, compared, read, listed)));
        }
        let travel = routes.travel.as_ref();
        all.extend(
            travel.map(|(read, listed)| CrossCheck::of(setup, Compared::Travel, read, listed)),
        );
        let agrees = |check: &CrossCheck| {
            check.compared == Compared::Fingers(FingerFrom::Depth, READ)
                && check.agreement == Agreement::Agree
        };
        let confirmed = all.iter().any(agrees);
        Self { all, confirmed }
    }

    /// The best grade that they leave a stack; none where they leave it as it is.
    pub(crate) fn cap(
        &self,
        setup: &Setup<'_>,
        choice: &Choice<'_>,
        origins: Origins,
    ) -> Option<Grade> {
        // Where all agree, as they mostly do, none can apply.
        if self.all.iter().all(|check| check.agreement == Agreement::Agree) {
            return None;
        }
        let caps = self.caps(setup, choice, origins);
        caps.iter().filter(|one| one.applies).map(|one| one.cap.grade()).max()
    }

    /// What they leave of a stack's grade.
    pub(crate) fn caps(
        &self,
        setup: &Setup<'_>,
        choice: &Choice<'_>,
        origins: Origins,
    ) -> Vec<CapRoom> {
        let mut caps = Vec::new();
        for check in &self.all {
            let Some(catalog) = self.concerns(check, setup, choice, origins) else { continue };
            let pairs = if catalog {
                [Cap::CatalogContradicted, Cap::CatalogDoubted]
            } else {
                [Cap::Contradiction, Cap::Doubt]
            };
            let reached = [Agreement::CannotBothBeRight, Agreement::Doubtful];
            for ((cap, from), limit) in pairs.into_iter().zip(reached).zip(check.limits) {
                let applies = check.agreement == from;
                #[allow(clippy::cast_precision_loss, reason = "it only shows the way")]
                let room = limit - check.difference().abs().nm() as f64;
                caps.push(CapRoom { cap, applies, room });
            }
        }
        caps
    }

    /// Whether a stack rests on one of the two routes of a check; then, whether the check speaks of
    /// the catalog alone, as two readings agree against it.
    fn concerns(
        &self,
        check: &CrossCheck,
        setup: &Setup<'_>,
        choice: &Choice<'_>,
        origins: Origins,
    ) -> Option<bool> {
        let replaced = |reading: &Reading| {
            let slots = setup.slots_inside(reading.inside());
            !slots.is_empty() && !setup.something_stays(choice, &slots)
        };
        if check.readings.iter().any(replaced) {
            return None;
        }
        match check.compared {
            Compared::Fingers(first, second) => {
                let from = origins.finger?;
                if from != first && from != second {
                    return None;
                }
                let other = if is_read(first) { second } else { first };
                if !self.confirmed || !(is_read(first) ^ is_read(second)) {
                    return Some(false);
                }
                let takes_from_catalog =
                    from == other || replaces_a_listed_part(setup, choice, other);
                takes_from_catalog.then_some(true)
            }
            Compared::Depth(end) => {
                let from = origins.bearing?;
                (from.starts_from(end) || from == BearingFrom::Catalog).then_some(false)
            }
            Compared::Travel => {
                origins.bearing?;
                let slot = setup.slot("bearing")?;
                choice.fills[slot].same(&setup.fitted[slot]).then_some(false)
            }
        }
    }
}

/// Whether a part is replaced whose dimensions a route takes from the catalog: what is taken off the
/// reading then is the catalog's number.
fn replaces_a_listed_part(setup: &Setup<'_>, choice: &Choice<'_>, route: FingerFrom) -> bool {
    use crate::model::kinds::Inside;
    let groups = [(route.lists_crank(), Inside::Crank), (route.lists_clutch(), Inside::Clutch)];
    let groups: Vec<Inside> =
        groups.into_iter().filter(|(lists, _)| *lists).map(|(_, group)| group).collect();
    let slots = setup.slots_inside(&groups);
    slots.into_iter().any(|slot| !choice.fills[slot].same_pieces(&setup.fitted[slot]))
}
