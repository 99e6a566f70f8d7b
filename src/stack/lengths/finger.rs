//! The routes to the finger tips: over the whole finger depth, or over crank and clutch apart.

use super::correction::NotCorrected;
use super::sums::{Sums, Terms, form};
use super::{Doubts, Origin, Route, Tried};
use crate::model::job::Reading;
use crate::model::kinds::{Enters, Inside};
use crate::stack::form::Item;

impl<'a> Sums<'_, 'a> {
    pub(super) fn finger_routes(&self) -> Vec<Tried<'a>> {
        let slots = self.bench.slots_inside(&[Inside::Crank, Inside::Clutch]);
        let mut routes = Vec::new();
        if let Some(reading) = self.reading(Reading::FingerDepth)
            && self.something_stays(&slots)
        {
            let plate = self.over_plate(self.bench.job.depth_over_plate);
            let moved = self.moved(&slots, finger_times);
            routes.push(plate.and_then(|plate| Ok((plate, moved?))).map(|(plate, moved)| {
                let terms = plate.into_iter().chain(moved).collect();
                let mut route = route("finger depth as measured", Origin::Measured, reading, terms);
                self.correct_moved(&mut route);
                route
            }));
        }
        // Crank and clutch are independent sums: every pair of their routes is a route.
        let (cranks, clutches) = (self.crank_routes(), self.clutch_routes());
        for crank in &cranks {
            for clutch in &clutches {
                routes.push(match (crank, clutch) {
                    (Ok(crank), Ok(clutch)) => {
                        let mut form = crank.form.clone();
                        form.add_form(&clutch.form, 1);
                        let origin = crank.origin.min(clutch.origin);
                        let doubts = crank.doubts.or(clutch.doubts);
                        Ok(Route {
                            name: pair_name(crank.origin, clutch.origin),
                            origin,
                            form,
                            doubts,
                        })
                    }
                    (Ok(_), Err(lack)) | (Err(lack), Ok(_)) => Err(lack.clone()),
                    (Err(crank), Err(clutch)) => Err([crank.clone(), clutch.clone()].concat()),
                });
            }
        }
        routes
    }

    pub(super) fn crank_routes(&self) -> Vec<Tried<'a>> {
        let slots = self.bench.slots_inside(&[Inside::Crank]);
        let mut routes = Vec::new();
        if let Some(reading) = self.reading(Reading::CrankProtrusion)
            && self.something_stays(&slots)
        {
            routes.push(self.over_plate(self.bench.job.crank_over_plate).map(|plate| {
                route("crank protrusion as measured", Origin::Measured, reading, plate)
            }));
        }
        routes.push(self.catalogued(&slots, finger_times).map(|terms| Route {
            name: "the engine's catalogued protrusion",
            origin: Origin::Catalogued,
            form: form(terms),
            doubts: Doubts::default(),
        }));
        routes
    }

    fn clutch_routes(&self) -> Vec<Tried<'a>> {
        let slots = self.bench.slots_inside(&[Inside::Clutch]);
        let mut routes = Vec::new();
        if let Some(reading) = self.reading(Reading::ClutchHeight)
            && self.something_stays(&slots)
        {
            routes.push(self.moved(&slots, finger_times).map(|moved| {
                let mut route =
                    route("clutch height as measured", Origin::Measured, reading, moved);
                self.correct_moved(&mut route);
                route
            }));
        }
        routes.push(self.catalogued(&slots, finger_times).map(|terms| {
            let mut form = form(terms);
            let mut doubts = Doubts::default();
            match self.correction(&self.choice.fills, None) {
                Ok(product) => form.products.extend(product),
                Err(NotCorrected) => doubts.not_corrected = true,
            }
            let name = "the clutch parts' catalogued dimensions";
            Route { name, origin: Origin::Catalogued, form, doubts }
        }));
        routes
    }
}

fn finger_times(enters: Enters) -> Option<i64> {
    if let Enters::Finger(times) = enters { Some(times) } else { None }
}

fn route<'a>(name: &'static str, origin: Origin, reading: Item<'a>, moved: Terms<'a>) -> Route<'a> {
    let mut terms = vec![(reading, 1)];
    terms.extend(moved);
    Route { name, origin, form: form(terms), doubts: Doubts::default() }
}

fn pair_name(crank: Origin, clutch: Origin) -> &'static str {
    match (crank, clutch) {
        (Origin::Measured, Origin::Measured) => "crank protrusion and clutch height as measured",
        (Origin::Measured, Origin::Catalogued) => "measured crank protrusion, catalogued clutch",
        (Origin::Catalogued, Origin::Measured) => {
            "catalogued crank protrusion, measured clutch height"
        }
        (Origin::Catalogued, Origin::Catalogued) => "the catalogued dimensions",
    }
}
