//! The finger side read off the reference: which dimensions enter a route, and how often, says its own
//! form of one stack. It serves all flywheels, discs, block plates and plates that enter alike.

use std::rc::Rc;

use crate::model::length::Length;
use crate::solve::numbers::finger::{OpenFinger, OpenProduct, OpenRoute, Times, keep_settled};
use crate::solve::numbers::sum::Terms;
use crate::stack::choice::{Choice, Fill, Setup};
use crate::stack::fit::{float_allowance, working_range};
use crate::stack::form::{Dim, Form, GapSize, Item, RatioItem, Source};
use crate::stack::grade::Grade;
use crate::stack::lengths::sums::Sums;
use crate::stack::lengths::times::{either_end, finger_times, gap_times};
use crate::stack::lengths::{FingerRoute, Origins};
use crate::stack::window::worst_wear;

/// A candidate that stands for all of its sort in a form.
pub(crate) struct Open<'a> {
    /// Its dimensions that enter the gap; the others enter by themselves.
    gap: Form<'a>,
    alone: Form<'a>,
}

impl<'a> Open<'a> {
    pub(crate) fn clutch_part(terms: &Terms<'_, 'a>, slot: usize, fill: &Fill<'a>) -> Self {
        Self { gap: terms.of(slot, fill, gap_times), alone: terms.of(slot, fill, finger_times) }
    }

    /// A block plate: all is counted from behind it.
    pub(crate) fn block_plate(terms: &Terms<'_, 'a>, slot: usize, fill: &Fill<'a>) -> Self {
        let alone = Form::default().less(&terms.of(slot, fill, either_end));
        Self { gap: Form::default(), alone }
    }
}

/// What is open in a form; what is not stands for itself.
#[derive(Default)]
pub(crate) struct OpenParts<'a> {
    pub(crate) flywheel: Option<Rc<Open<'a>>>,
    pub(crate) disc: Option<Rc<Open<'a>>>,
    pub(crate) block_plate: Option<Rc<Open<'a>>>,
}

/// One dimension of a form with all its coefficients.
#[derive(Clone, Copy)]
struct Entering<'a> {
    item: Item<'a>,
    times: Times,
}

impl<'a> OpenParts<'a> {
    /// What stands open of the gap.
    fn gap(&self) -> Length {
        let open = self.flywheel.iter().chain(&self.disc);
        open.map(|part| part.gap.value()).sum()
    }

    /// `keys` are the plate's dimensions that enter routes.
    fn route(
        &self,
        sums: &Sums<'_, 'a>,
        route: &FingerRoute<'a>,
        keys: &mut Vec<&'static str>,
    ) -> Option<PlateRoute<'a>> {
        let (setup, choice, form) = (sums.setup, sums.choice, &route.form);
        if form.products.len() > 2 {
            return None;
        }
        let plate = sums.chosen_plate();
        let mut open = OpenRoute::default();
        let mut has_its_ratio = [false; 2];
        for (index, own) in form.products.iter().enumerate() {
            // With what stands here the difference may be nothing, and the ratio without its error.
            let known = ratio_of(sums, own.ratio.source)?.known;
            let (ratio, gap) = (own.ratio.value, GapSize::default());
            open.products[index] = Some(OpenProduct { sign: own.sign, ratio, known, gap });
            has_its_ratio[index] = Some(own.ratio.source) == plate;
        }
        let all = entering(form);
        let parts = [&self.flywheel, &self.disc, &self.block_plate];
        let mut with_plate = Vec::new();
        for one in &all {
            let owner = parts.into_iter().flatten().find(|part| part.owns(&one.item.dim));
            let times = has_its_ratio.into_iter().zip(one.times.gaps);
            match owner {
                Some(part) if !part.is_settled(one) => return None,
                Some(_) => {}
                None if Some(one.item.dim.source) == plate => {
                    let known = keys.iter().position(|key| *key == one.item.dim.key);
                    let place = known.unwrap_or(keys.len());
                    if known.is_none() {
                        keys.push(one.item.dim.key);
                    }
                    with_plate.push((Some(place), *one));
                }
                None if times.into_iter().any(|(its, times)| its && times != 0) => {
                    with_plate.push((None, *one));
                }
                None => open.fix(&one.item, &one.times),
            }
        }
        for (part, bundle) in [(&self.flywheel, &mut open.flywheel), (&self.disc, &mut open.disc)] {
            if let Some(part) = part {
                *bundle = part.bundle(&all)?;
            }
        }
        let origins = Origins { finger: Some(route.from), bearing: None };
        let crossed = setup.cross_checks().cap(setup, choice, origins);
        open.cap = crossed.max(route.state_unknown.then_some(Grade::Likely));
        if route.state_unknown {
            let (ratio, may_lose) = worst_wear(setup);
            open.if_worn = Some(ratio.times(may_lose).nm());
        }
        open.float = float_allowance(setup, setup.part(choice, "engine"), route.from);
        Some(PlateRoute { open, has_its_ratio, with_plate })
    }
}

/// One route with its plate open too.
struct PlateRoute<'a> {
    /// All that the plate does not change.
    open: OpenRoute,
    /// Which of its products have the plate's ratio.
    has_its_ratio: [bool; 2],
    /// What enters beside the plate's ratio, and the plate's own dimensions with their place among all
    /// that enter.
    with_plate: Vec<(Option<usize>, Entering<'a>)>,
}

/// The finger tips for an engine, sorts of flywheel, disc and block plate, and every plate of a sort: all
/// enter alike, so that they are read off the reference once.
#[derive(Default)]
pub(crate) struct PlateForm<'a> {
    /// What it was read off.
    choice: Choice<'a>,
    routes: Vec<PlateRoute<'a>>,
    /// The plate's dimensions that enter some route.
    keys: Vec<&'static str>,
    /// What is not open of the gap between cover and pressure plate, nm; it has nothing of the plate, but
    /// of a matched set, which has a form of its own.
    gap: Option<i64>,
}

impl<'a> PlateForm<'a> {
    /// Reads the routes off the reference's forms. None where a form is of no kind that numbers can
    /// follow.
    pub(crate) fn read(
        setup: &Setup<'a>,
        choice: Choice<'a>,
        open: &OpenParts<'a>,
    ) -> Option<Self> {
        let sums = Sums { setup, choice: &choice, as_it_stands: false };
        let (mut routes, mut keys) = (Vec::new(), Vec::new());
        for route in sums.finger_routes().into_iter().flatten() {
            routes.push(open.route(&sums, &route, &mut keys)?);
        }
        let of_open = open.gap();
        let gap = sums.gap_now().map(|gap| (gap - of_open).nm());
        Some(Self { choice, routes, keys, gap })
    }

    /// The finger tips with one plate of the sort.
    pub(crate) fn with(&self, setup: &Setup<'a>, fill: &Fill<'a>) -> Option<OpenFinger> {
        if self.routes.is_empty() {
            return Some(OpenFinger::default());
        }
        let sums = Sums { setup, choice: &self.choice, as_it_stands: false };
        let plate = fill.parts.first().copied();
        let items = self.keys.iter().map(|key| sums.of_plate(plate?, key));
        let items: Vec<Item<'a>> = items.collect::<Option<_>>()?;
        let ratio = sums.ratio(fill, setup.slot("pressure_plate")?);
        let with_ratio = |route: &PlateRoute<'a>| {
            let mut open = route.open;
            for (product, is_its) in open.products.iter_mut().zip(route.has_its_ratio) {
                if let Some(product) = product.as_mut().filter(|_| is_its) {
                    (product.ratio, product.known) = (ratio.value, ratio.known);
                }
            }
            for (place, one) in &route.with_plate {
                open.fix(place.map_or(&one.item, |place| &items[place]), &one.times);
            }
            open.settle_products();
            open
        };
        let mut routes: Vec<OpenRoute> = self.routes.iter().map(with_ratio).collect();
        keep_settled(&mut routes);
        let set_gap = plate.and_then(|plate| sums.known_set_gap_of(plate));
        let (least, most) = working_range(setup, plate, set_gap);
        let range = [least, most].map(|limit| limit.map(Length::nm));
        Some(OpenFinger { routes, gap: self.gap, range })
    }
}

impl Open<'_> {
    fn owns(&self, dim: &Dim<'_>) -> bool {
        times_of(&self.gap, dim).is_some() || times_of(&self.alone, dim).is_some()
    }

    /// Whether a dimension of it enters as it has to: one that enters no gap by itself, and just as
    /// often as it does in every route.
    fn is_settled(&self, one: &Entering<'_>) -> bool {
        let dim = &one.item.dim;
        let alone = times_of(&self.alone, dim).unwrap_or(0);
        times_of(&self.gap, dim).is_some() || one.times == Times { alone, gaps: [0, 0] }
    }

    /// How its dimensions that enter the gap enter a route, all of them alike. None where each does in
    /// a way of its own.
    fn bundle(&self, all: &[Entering<'_>]) -> Option<Times> {
        let mut bundle: Option<Times> = None;
        for (item, own) in &self.gap.linear {
            let entering = all.iter().find(|one| one.item.dim == item.dim);
            let times = entering.map_or(Times::default(), |one| one.times);
            let [alone, first, second] = [times.alone, times.gaps[0], times.gaps[1]];
            if [alone, first, second].iter().any(|times| times % own != 0) {
                return None;
            }
            let times = Times { alone: alone / own, gaps: [first / own, second / own] };
            if bundle.is_some_and(|known| known != times) {
                return None;
            }
            bundle = Some(times);
        }
        Some(bundle.unwrap_or_default())
    }
}

/// Every dimension of a form, once.
fn entering<'a>(form: &Form<'a>) -> Vec<Entering<'a>> {
    let mut all: Vec<Entering<'a>> = Vec::new();
    let mut at = |item: &Item<'a>| {
        let index = all.iter().position(|one| one.item.dim == item.dim);
        let index = index.unwrap_or(all.len());
        if index == all.len() {
            all.push(Entering { item: *item, times: Times::default() });
        }
        index
    };
    let mut found = Vec::new();
    for (item, times) in &form.linear {
        found.push((at(item), None, *times));
    }
    for (index, product) in form.products.iter().enumerate() {
        for (item, times) in &product.gap {
            found.push((at(item), Some(index), *times));
        }
    }
    for (index, product, times) in found {
        let own = &mut all[index].times;
        *(match product {
            None => &mut own.alone,
            Some(product) => &mut own.gaps[product],
        }) += times;
    }
    all
}

/// The ratio of the chosen plate or of the fitted one.
fn ratio_of<'a>(sums: &Sums<'_, 'a>, source: Source<'a>) -> Option<RatioItem<'a>> {
    let slot = sums.setup.slot("pressure_plate")?;
    let fills = [&sums.choice.fills[slot], &sums.setup.fitted[slot]];
    fills.into_iter().map(|fill| sums.ratio(fill, slot)).find(|ratio| ratio.source == source)
}

fn times_of(form: &Form<'_>, dim: &Dim<'_>) -> Option<i64> {
    form.linear.iter().find(|(item, _)| item.dim == *dim).map(|(_, times)| *times)
}
