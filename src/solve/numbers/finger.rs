//! The finger side: where the finger tips stand for an engine and a pressure plate, with disc and
//! flywheel left open.
//!
//! Which dimensions enter a route, and how often, is read off the reference's own form of one stack.
//! All discs (flywheels) of which nothing is fitted enter alike, so one form serves them all: a disc's
//! thickness and a flywheel's step are left open in it, and what a flywheel, disc or block plate adds
//! by itself is left out.

use std::rc::Rc;

use crate::model::edge::Edge;
use crate::model::entry::Accuracy;
use crate::model::length::{Length, Ratio};
use crate::solve::numbers::sum::{Bundle, Sum, Terms};
use crate::stack::choice::{Choice, Fill, Setup};
use crate::stack::fit::{float_allowance, working_range};
use crate::stack::form::{Dim, Form, GapSize, Item, MICRO, RatioItem, Source, Spread};
use crate::stack::grade::Grade;
use crate::stack::lengths::sums::Sums;
use crate::stack::lengths::times::either_end;
use crate::stack::lengths::times::{finger_times, gap_times};
use crate::stack::lengths::{FingerRoute, Origins};
use crate::stack::window::FloatAllowance;
use crate::stack::window::worst_wear;

/// How often something open enters: by itself, and in the gap of each ratio product.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
struct Times {
    alone: i64,
    gaps: [i64; 2],
}

/// A ratio product whose gap is partly open.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct OpenProduct {
    sign: i64,
    ratio: Ratio,
    known: Accuracy,
    /// What is not open of the gap.
    gap: GapSize,
}

/// One route to the finger tips, from behind the block plate, with disc and flywheel open.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
struct OpenRoute {
    /// What is not open, but for the products.
    fixed: Sum,
    products: [Option<OpenProduct>; 2],
    flywheel: Times,
    disc: Times,
    /// The best grade that cross-checks and the fitted disc's state allow.
    cap: Option<Grade>,
    /// The room at the edges missed by a loose fit that a stack needs to be better than marginal, as
    /// the fitted disc may be worn; nm.
    if_worn: Option<i64>,
    float: FloatAllowance,
}

/// The finger tips for an engine and a plate.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(crate) struct OpenFinger {
    /// Every route that works, in the order in which equals are taken.
    routes: Vec<OpenRoute>,
    /// What is not open of the gap between cover and pressure plate; none where some of it is unknown.
    gap: Option<i64>,
    /// The least and the largest gap at which the diaphragm works.
    range: [Option<i64>; 2],
}

/// Where the finger tips stand but for what flywheel, disc and block plate add by themselves.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Finger {
    pub(crate) sum: Sum,
    /// The best grade that a stack with them may have.
    pub(crate) cap: Grade,
    /// The room that some edges need for a grade better than marginal, nm.
    pub(crate) if_worn: Option<i64>,
    pub(crate) float: FloatAllowance,
    /// The diaphragm works outside its range.
    pub(crate) outside: bool,
}

impl Finger {
    /// What the room at an edge has to be for a grade better than marginal, whatever the errors; nm.
    pub(crate) fn least_room(&self, edge: Edge) -> i64 {
        let loose = self.if_worn.filter(|_| edge.is_missed_when_loose());
        loose.unwrap_or(0).max(0)
    }
}

/// Between where the finger tips stand with any of several discs, nm.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Span {
    pub(crate) low: i64,
    pub(crate) high: i64,
    /// The least errors, and the least that is taken off the room.
    pub(crate) finger: Finger,
}

impl Span {
    /// Both spans and what lies between.
    #[must_use]
    pub(crate) fn with(self, other: Self) -> Self {
        let (own, more) = (&self.finger, &other.finger);
        let (one, two) = (&own.sum.spread, &more.sum.spread);
        let spread = Spread {
            worst_case: one.worst_case.min(two.worst_case),
            three_u_squared: one.three_u_squared.min(two.three_u_squared),
            assumed: one.assumed && two.assumed,
        };
        let float = FloatAllowance {
            rearward: own.float.rearward.min(more.float.rearward),
            forward: own.float.forward.min(more.float.forward),
        };
        let finger = Finger {
            sum: Sum { at: 0, spread },
            cap: own.cap.min(more.cap),
            if_worn: own.if_worn.min(more.if_worn),
            float,
            outside: false,
        };
        Self { low: self.low.min(other.low), high: self.high.max(other.high), finger }
    }
}

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

impl OpenFinger {
    /// The finger tips with a flywheel's step and a disc's thickness: by the route with the least u,
    /// the first of equals.
    pub(crate) fn with(&self, flywheel: &Bundle, disc: &Bundle) -> Option<Finger> {
        let mut best: Option<(Sum, &OpenRoute)> = None;
        for route in &self.routes {
            let sum = route.with(flywheel, disc);
            let u = sum.spread.three_u_squared;
            if best.as_ref().is_none_or(|(known, _)| u < known.spread.three_u_squared) {
                best = Some((sum, route));
            }
        }
        let (sum, route) = best?;
        let cap = route.cap.unwrap_or(Grade::Sure);
        let outside = self.is_outside(flywheel, disc);
        let cap = if outside { cap.max(Grade::Marginal) } else { cap };
        Some(Finger { sum, cap, if_worn: route.if_worn, float: route.float, outside })
    }

    /// Where the finger tips stand with a flywheel's step and a disc's thickness, nm, and what end float
    /// takes off then.
    pub(crate) fn stands(&self, flywheel: &Bundle, disc: &Bundle) -> Option<(i64, FloatAllowance)> {
        if let [only] = self.routes.as_slice() {
            return Some((only.position(flywheel, disc), only.float));
        }
        self.with(flywheel, disc).map(|finger| (finger.sum.at, finger.float))
    }

    /// The same by every route.
    pub(crate) fn positions(
        &self,
        flywheel: &Bundle,
        disc: &Bundle,
    ) -> impl Iterator<Item = (i64, FloatAllowance)> {
        self.routes.iter().map(|route| (route.position(flywheel, disc), route.float))
    }

    /// Whether it is settled which route is taken, whatever flywheel and disc.
    pub(crate) fn is_settled(&self) -> bool {
        self.routes.len() < 2
    }

    /// Whether some route works.
    pub(crate) fn works(&self) -> bool {
        !self.routes.is_empty()
    }

    /// Between where the finger tips stand with a flywheel's step and discs between two thicknesses, by
    /// any route.
    pub(crate) fn span(&self, flywheel: &Bundle, ends: &[Bundle; 2]) -> Option<Span> {
        let routes = self.routes.iter().map(|route| {
            // A position moves one way as the thickness grows.
            let [one, two] = ends.map(|disc| route.with(flywheel, &disc).at);
            let finger = Finger {
                sum: Sum { at: 0, spread: route.fixed.spread },
                cap: route.cap.unwrap_or(Grade::Sure),
                if_worn: route.if_worn,
                float: route.float,
                outside: false,
            };
            Span { low: one.min(two), high: one.max(two), finger }
        });
        routes.reduce(Span::with)
    }

    /// Whether a flywheel's step and a disc's thickness put the diaphragm outside its range.
    pub(crate) fn is_outside(&self, flywheel: &Bundle, disc: &Bundle) -> bool {
        self.gap.is_some_and(|gap| {
            let gap = gap + flywheel.value + disc.value;
            self.range[0].is_some_and(|least| gap < least)
                || self.range[1].is_some_and(|most| gap > most)
        })
    }
}

/// Of routes into which flywheel and disc enter alike only the one that is taken.
fn keep_settled(routes: &mut Vec<OpenRoute>) {
    let Some(first) = routes.first().copied() else { return };
    let open = |route: &OpenRoute| (route.flywheel, route.disc, route.products);
    if routes.iter().all(|route| open(route) == open(&first)) {
        let best = routes.iter().min_by_key(|route| route.fixed.spread.three_u_squared);
        *routes = vec![*best.unwrap_or(&first)];
    }
}

impl OpenRoute {
    /// Where the finger tips stand, nm.
    fn position(&self, flywheel: &Bundle, disc: &Bundle) -> i64 {
        let mut at = self.fixed.at;
        at += self.flywheel.alone * flywheel.value + self.disc.alone * disc.value;
        for (index, product) in self.products.iter().enumerate() {
            let Some(product) = product else { continue };
            let own = self.flywheel.gaps[index] * flywheel.value;
            let gap = product.gap.value + own + self.disc.gaps[index] * disc.value;
            at += product.sign * product.ratio.times(Length::from_nm(gap)).nm();
        }
        at
    }

    fn with(&self, flywheel: &Bundle, disc: &Bundle) -> Sum {
        let mut sum = self.fixed;
        sum.at += self.flywheel.alone * flywheel.value + self.disc.alone * disc.value;
        let mut effects = [&self.flywheel, &self.disc].map(|t| i128::from(t.alone) * MICRO);
        for (index, product) in self.products.iter().enumerate() {
            let Some(product) = product else { continue };
            let times = [self.flywheel.gaps[index], self.disc.gaps[index]];
            let mut gap = product.gap;
            for (bundle, times) in [flywheel, disc].into_iter().zip(times) {
                gap.value += times * bundle.value;
                gap.tol += times.abs() * bundle.tol;
                gap.assumed |= times != 0 && bundle.assumed;
            }
            sum.at += product.sign * product.ratio.times(Length::from_nm(gap.value)).nm();
            for (effect, times) in effects.iter_mut().zip(times) {
                let ratio = product.sign * product.ratio.millionths();
                *effect += i128::from(ratio) * i128::from(times);
            }
            // A difference that is nothing for certain brings no error of the ratio in.
            if !gap.is_nothing() {
                sum.spread = sum.spread.plus(&Spread::of_ratio(&product.known, &gap));
            }
        }
        for (effect, bundle) in effects.into_iter().zip([flywheel, disc]) {
            if effect != 0 {
                sum.spread.worst_case += effect.abs() * i128::from(bundle.tol);
                sum.spread.three_u_squared += effect * effect * bundle.three_u_squared;
                sum.spread.assumed |= bundle.assumed;
            }
        }
        sum
    }
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
        Some(Self { routes, keys, gap, choice })
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

impl OpenRoute {
    /// Counts the products in which nothing is open.
    fn settle_products(&mut self) {
        let all = self.products.into_iter().zip(self.flywheel.gaps).zip(self.disc.gaps);
        let all: Vec<_> = all.collect();
        self.products = [None; 2];
        (self.flywheel.gaps, self.disc.gaps) = ([0; 2], [0; 2]);
        let mut place = 0;
        for ((product, flywheel), disc) in all {
            let Some(product) = product else { continue };
            if (flywheel, disc) == (0, 0) {
                let gap = &product.gap;
                self.fixed.at +=
                    product.sign * product.ratio.times(Length::from_nm(gap.value)).nm();
                if !gap.is_nothing() {
                    let spread = Spread::of_ratio(&product.known, gap);
                    self.fixed.spread = self.fixed.spread.plus(&spread);
                }
                continue;
            }
            self.products[place] = Some(product);
            (self.flywheel.gaps[place], self.disc.gaps[place]) = (flywheel, disc);
            place += 1;
        }
    }

    /// Counts a dimension that is not open.
    fn fix(&mut self, item: &Item<'_>, times: &Times) {
        let (value, known) = (item.value.nm(), item.known);
        self.fixed.at += times.alone * value;
        let mut effect = i128::from(times.alone) * MICRO;
        for (product, times) in self.products.iter_mut().flatten().zip(times.gaps) {
            product.gap.value += times * value;
            product.gap.tol += times.abs() * known.tol;
            product.gap.assumed |= times != 0 && known.assumed;
            effect += i128::from(product.sign * product.ratio.millionths()) * i128::from(times);
        }
        if effect != 0 {
            self.fixed.spread = self.fixed.spread.plus(&Spread::of_effect(effect, &known));
        }
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
