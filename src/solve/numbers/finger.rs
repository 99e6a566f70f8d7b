//! The finger side: where the finger tips stand for an engine and a pressure plate, with disc and
//! flywheel left open.
//!
//! All discs (flywheels) of which nothing is fitted enter alike: a disc's thickness and a flywheel's step
//! are left open, and what a flywheel, disc or block plate adds by itself is left out.

use crate::model::edge::Edge;
use crate::model::entry::Accuracy;
use crate::model::length::{Length, Ratio};
use crate::solve::numbers::sum::{Bundle, Sum};
use crate::stack::form::{GapSize, Item, MICRO, Spread};
use crate::stack::grade::Grade;
use crate::stack::window::FloatAllowance;

/// How often something open enters: by itself, and in the gap of each ratio product.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct Times {
    pub(super) alone: i64,
    pub(super) gaps: [i64; 2],
}

/// A ratio product whose gap is partly open.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct OpenProduct {
    pub(super) sign: i64,
    pub(super) ratio: Ratio,
    pub(super) known: Accuracy,
    /// What is not open of the gap.
    pub(super) gap: GapSize,
}

/// One route to the finger tips, from behind the block plate, with disc and flywheel open.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct OpenRoute {
    /// What is not open, but for the products.
    pub(super) fixed: Sum,
    pub(super) products: [Option<OpenProduct>; 2],
    pub(super) flywheel: Times,
    pub(super) disc: Times,
    /// The best grade that cross-checks and the fitted disc's state allow.
    pub(super) cap: Option<Grade>,
    /// The room at the edges missed by a loose fit that a stack needs to be better than marginal, as
    /// the fitted disc may be worn; nm.
    pub(super) if_worn: Option<i64>,
    pub(super) float: FloatAllowance,
}

/// The finger tips for an engine and a plate.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(crate) struct OpenFinger {
    /// Every route that works, in the order in which equals are taken.
    pub(super) routes: Vec<OpenRoute>,
    /// What is not open of the gap between cover and pressure plate; none where some of it is unknown.
    pub(super) gap: Option<i64>,
    /// The least and the largest gap at which the diaphragm works.
    pub(super) range: [Option<i64>; 2],
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
pub(super) fn keep_settled(routes: &mut Vec<OpenRoute>) {
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

impl OpenRoute {
    /// Counts the products in which nothing is open.
    pub(super) fn settle_products(&mut self) {
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
    pub(super) fn fix(&mut self, item: &Item<'_>, times: &Times) {
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
