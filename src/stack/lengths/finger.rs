//! The routes to the finger tips: over the whole finger depth, or over crank and clutch apart.
//!
//! Positions are counted from behind the chosen block plate, as the bearing's are, so that a plate
//! over which a reading was taken cancels where it stays.

use super::correction::Corrected;
use super::sums::{Sums, finger_times};
use super::{FingerFrom, FingerRoute, From, Missing, Tried, settled};
use crate::model::job::Reading;
use crate::model::kinds::Inside;
use crate::stack::choice::Facings;
use crate::stack::form::Form;

/// The crank flange or the clutch by one of its two ways.
struct Part<'a> {
    from: From,
    sum: Form<'a>,
    corrected: Tried<Corrected<'a>>,
}

impl<'a> Sums<'_, 'a> {
    /// Every route, in the order in which equals are taken.
    pub(crate) fn finger_routes(&self) -> Vec<Tried<FingerRoute<'a>>> {
        let mut routes = Vec::new();
        let slots = self.setup.slots_inside(&[Inside::Crank, Inside::Clutch]);
        if let Some(reading) = self.reading(Reading::FingerDepth)
            && self.setup.something_stays(self.choice, &slots)
        {
            let mut sum = self.moved(reading, &slots, finger_times, finger_times);
            sum.add_form(&self.over_plate(self.setup.job.depth_over_plate), 1);
            routes.push(self.finger_route(FingerFrom::Depth, sum, self.corrected_moved()));
        }
        // Crank and clutch are independent sums: every pair of their ways is a route.
        for crank in self.crank_ways() {
            for clutch in self.clutch_ways() {
                let mut sum = crank.sum.clone();
                sum.add_form(&clutch.sum, 1);
                let from = FingerFrom::Apart { crank: crank.from, clutch: clutch.from };
                routes.push(self.finger_route(from, sum, clutch.corrected));
            }
        }
        routes
    }

    /// The crank flange's position by each way that works, as it is read first.
    pub(crate) fn crank_routes(&self) -> Vec<Form<'a>> {
        let behind_plate = |way: Part<'a>| settled(way.sum.less(&self.block_plate())).ok();
        self.crank_ways().into_iter().filter_map(behind_plate).collect()
    }

    fn crank_ways(&self) -> Vec<Part<'a>> {
        let slots = self.setup.slots_inside(&[Inside::Crank]);
        let mut ways = Vec::new();
        if let Some(reading) = self.reading(Reading::CrankProtrusion)
            && self.setup.something_stays(self.choice, &slots)
        {
            let mut sum = self.moved(reading, &slots, finger_times, finger_times);
            sum.add_form(&self.over_plate(self.setup.job.crank_over_plate), 1);
            ways.push(Part { from: From::Reading, sum, corrected: Ok(Corrected::default()) });
        }
        let sum = self.catalogued(&slots, finger_times);
        ways.push(Part { from: From::Catalog, sum, corrected: Ok(Corrected::default()) });
        ways
    }

    fn clutch_ways(&self) -> Vec<Part<'a>> {
        let slots = self.setup.slots_inside(&[Inside::Clutch]);
        let mut ways = Vec::new();
        if let Some(reading) = self.reading(Reading::ClutchHeight)
            && self.setup.something_stays(self.choice, &slots)
        {
            let sum = self.moved(reading, &slots, finger_times, finger_times);
            ways.push(Part { from: From::Reading, sum, corrected: self.corrected_moved() });
        }
        let sum = self.catalogued(&slots, finger_times);
        ways.push(Part { from: From::Catalog, sum, corrected: self.corrected_catalogued() });
        ways
    }

    fn finger_route(
        &self,
        from: FingerFrom,
        sum: Form<'a>,
        corrected: Tried<Corrected<'a>>,
    ) -> Tried<FingerRoute<'a>> {
        let sum = settled(sum.less(&self.block_plate()));
        let (mut form, corrected) = match (sum, corrected) {
            (Ok(form), Ok(corrected)) => (form, corrected),
            (sum, corrected) => {
                let mut lacks: Vec<Missing> =
                    sum.err().into_iter().chain(corrected.err()).flatten().collect();
                lacks.sort();
                lacks.dedup();
                return Err(lacks);
            }
        };
        for product in &corrected.products {
            form.add_product(product, 1);
        }
        let reads_clutch = from.reads_clutch();
        let unread = self.facings_read().is_none() && !self.as_it_stands;
        let facings = self.setup.facings();
        Ok(FingerRoute {
            from,
            form,
            set_gap_assumed: corrected.set_gap_assumed,
            state_unknown: reads_clutch && unread && facings == Facings::Unknown,
            loss_assumed: reads_clutch && unread && facings == Facings::Replaced,
        })
    }
}
