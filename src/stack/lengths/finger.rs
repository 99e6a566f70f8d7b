//! The routes to the finger tips: over the whole finger depth, or over crank and clutch apart.
//!
//! Positions are counted from behind the chosen block plate, as the bearing's are, so that a plate
//! over which a reading was taken cancels where it stays.

use super::correction::Corrected;
use super::sums::Sums;
use super::times::finger_times;
use super::{FingerFrom, FingerRoute, From, Tried, both, settled};
use crate::model::job::Reading;
use crate::model::kinds::Inside;
use crate::stack::choice::Facings;
use crate::stack::form::Form;

/// The crank flange or the clutch by one of its two ways, or both by the finger depth.
#[derive(Clone)]
struct Way<'a, F> {
    from: F,
    sum: Form<'a>,
    corrected: Tried<Corrected<'a>>,
}

/// Two routes to the finger tips, each as the sum of what the other does not take from the same
/// place.
pub(crate) struct FingerPair<'a> {
    pub(crate) from: [FingerFrom; 2],
    pub(crate) forms: [Form<'a>; 2],
}

impl<'a> Sums<'_, 'a> {
    /// Every route, in the order in which equals are taken.
    pub(crate) fn finger_routes(&self) -> Vec<Tried<FingerRoute<'a>>> {
        let depth = self.depth_way().into_iter();
        let mut routes: Vec<_> =
            depth.map(|way| self.finger_route(way.from, way.sum, way.corrected)).collect();
        // Crank and clutch are independent sums: every pair of their ways is a route.
        let clutches = self.clutch_ways();
        for crank in self.crank_ways() {
            for clutch in &clutches {
                let mut sum = crank.sum.clone();
                sum.add_form(&clutch.sum, 1);
                let from = FingerFrom::Apart { crank: crank.from, clutch: clutch.from };
                routes.push(self.finger_route(from, sum, clutch.corrected.clone()));
            }
        }
        routes
    }

    /// Every two routes that can be compared. What both take from the same place cancels first, and
    /// need not be known.
    pub(crate) fn finger_pairs(&self) -> Vec<FingerPair<'a>> {
        let (cranks, clutches) = (self.crank_ways(), self.clutch_ways());
        let depth = self.depth_way();
        let mut routes: Vec<FingerFrom> = depth.iter().map(|way| way.from).collect();
        for crank in &cranks {
            let apart = |clutch: &Way<'a, From>| FingerFrom::Apart {
                crank: crank.from,
                clutch: clutch.from,
            };
            routes.extend(clutches.iter().map(apart));
        }
        let way = |ways: &[Way<'a, From>], from: From| -> Option<Form<'a>> {
            ways.iter().find(|way| way.from == from).and_then(summed)
        };
        // What a route adds, its crank and its clutch apart.
        let side = |route: FingerFrom, behind_plate: bool, with_crank: bool, with_clutch: bool| {
            let mut form = match route {
                FingerFrom::Depth => depth.as_ref().and_then(summed)?,
                FingerFrom::Apart { crank, clutch } => {
                    let mut form = Form::default();
                    if with_crank {
                        form.add_form(&way(&cranks, crank)?, 1);
                    }
                    if with_clutch {
                        form.add_form(&way(&clutches, clutch)?, 1);
                    }
                    form
                }
            };
            if behind_plate && with_crank {
                form = form.less(&self.block_plate());
            }
            settled(form).ok()
        };
        let mut pairs = Vec::new();
        for (index, first) in routes.iter().enumerate() {
            for second in &routes[index + 1..] {
                let (crank, clutch) = first.differs(*second);
                // From behind the block plate or from the block: the one or the other may need no
                // thickness of the plate.
                let forms = [true, false].into_iter().find_map(|behind| {
                    let one = side(*first, behind, crank, clutch)?;
                    Some([one, side(*second, behind, crank, clutch)?])
                });
                pairs.extend(forms.map(|forms| FingerPair { from: [*first, *second], forms }));
            }
        }
        pairs
    }

    /// Crank and clutch in one, where the finger depth was read and something of it stays.
    fn depth_way(&self) -> Option<Way<'a, FingerFrom>> {
        let slots = self.setup.slots_inside(&[Inside::Crank, Inside::Clutch]);
        let reading = self.reading(Reading::FingerDepth)?;
        if !self.setup.something_stays(self.choice, &slots) {
            return None;
        }
        let mut sum = self.moved(reading, &slots, finger_times, finger_times);
        sum.add_form(&self.over_plate(self.setup.job.depth_over_plate), 1);
        Some(Way { from: FingerFrom::Depth, sum, corrected: self.corrected_moved() })
    }

    /// The crank flange's position by each way that works, as it is read first.
    pub(crate) fn crank_routes(&self) -> Vec<Form<'a>> {
        let behind_plate = |way: Way<'a, From>| settled(way.sum.less(&self.block_plate())).ok();
        self.crank_ways().into_iter().filter_map(behind_plate).collect()
    }

    fn crank_ways(&self) -> Vec<Way<'a, From>> {
        let slots = self.setup.slots_inside(&[Inside::Crank]);
        let mut ways = Vec::new();
        if let Some(reading) = self.reading(Reading::CrankProtrusion)
            && self.setup.something_stays(self.choice, &slots)
        {
            let mut sum = self.moved(reading, &slots, finger_times, finger_times);
            sum.add_form(&self.over_plate(self.setup.job.crank_over_plate), 1);
            ways.push(Way { from: From::Reading, sum, corrected: Ok(Corrected::default()) });
        }
        let sum = self.catalogued(&slots, finger_times);
        ways.push(Way { from: From::Catalog, sum, corrected: Ok(Corrected::default()) });
        ways
    }

    fn clutch_ways(&self) -> Vec<Way<'a, From>> {
        let slots = self.setup.slots_inside(&[Inside::Clutch]);
        let mut ways = Vec::new();
        if let Some(reading) = self.reading(Reading::ClutchHeight)
            && self.setup.something_stays(self.choice, &slots)
        {
            let sum = self.moved(reading, &slots, finger_times, finger_times);
            ways.push(Way { from: From::Reading, sum, corrected: self.corrected_moved() });
        }
        let sum = self.catalogued(&slots, finger_times);
        ways.push(Way { from: From::Catalog, sum, corrected: self.corrected_catalogued() });
        ways
    }

    fn finger_route(
        &self,
        from: FingerFrom,
        sum: Form<'a>,
        corrected: Tried<Corrected<'a>>,
    ) -> Tried<FingerRoute<'a>> {
        let sum = settled(sum.less(&self.block_plate()));
        let (mut form, corrected) = both(sum, corrected)?;
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

/// A way's sum with its ratio products; none where a product lacks something.
fn summed<'a, F>(way: &Way<'a, F>) -> Option<Form<'a>> {
    let mut form = way.sum.clone();
    for product in &way.corrected.as_ref().ok()?.products {
        form.add_product(product, 1);
    }
    Some(form)
}
