//! The three lengths of a stack: finger tips, bearing extended, bearing retracted.
//!
//! Each can come from catalogued dimensions or from a measured sum of the job, moved by the parts
//! that were swapped. Of the routes that work the one with the smaller u is used.

use crate::model::job::{DiscState, Reading};
use crate::model::kinds::{Enters, Inside};
use crate::model::length::{Length, Ratio};
use crate::model::part::{Entry, Part};
use crate::stack::choice::{Bench, Choice, Fill};
use crate::stack::form::{Form, Item, Piece, Product, RatioItem};

/// A dimension that a route lacks.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Missing {
    /// The kind of the part that lacks it.
    pub kind: &'static str,
    /// The part's number; blank where the job does not say which part is fitted.
    pub id: String,
    /// The dimension.
    pub dim: String,
}

/// What was measured or catalogued along a route.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Origin {
    /// Read off the job, moved by what was swapped.
    Measured,
    /// From the parts' own dimensions.
    Catalogued,
}

/// Things that keep a length from being taken at its word.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Doubts {
    /// A correction of the finger height was needed and could not be made.
    pub not_corrected: bool,
    /// The fitted disc is worn and by how much is not known.
    pub worn_disc: bool,
    /// The fitted disc's state is not known; it is taken as new.
    pub taken_as_new: bool,
}

impl Doubts {
    fn or(self, other: Self) -> Self {
        Self {
            not_corrected: self.not_corrected || other.not_corrected,
            worn_disc: self.worn_disc || other.worn_disc,
            taken_as_new: self.taken_as_new || other.taken_as_new,
        }
    }
}

/// One way to a length.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Route<'a> {
    /// What it is called in a cross-check.
    pub name: &'static str,
    /// Where it comes from.
    pub origin: Origin,
    /// The sum.
    pub form: Form<'a>,
    /// What is doubtful about it.
    pub doubts: Doubts,
}

/// Every route to one length: the one used first, the others for the cross-check.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Routes<'a> {
    /// The route with the smallest u, the measured one on a tie.
    pub used: Route<'a>,
    /// The other routes that work.
    pub others: Vec<Route<'a>>,
}

/// The three lengths of a stack.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Lengths<'a> {
    /// Block face to finger tips.
    pub finger: Routes<'a>,
    /// Bare block face to the bearing's contact face, extended.
    pub extended: Routes<'a>,
    /// The same, retracted.
    pub retracted: Routes<'a>,
    /// Block face to crank flange, where known.
    pub crank: Option<Length>,
    /// The gap between cover and pressure plate faces now, where known.
    pub gap_now: Option<Length>,
}

/// The ratio whose errors stand in where a plate's own ratio is unknown and its correction is zero:
/// the upper end of what is common, so that not knowing never makes a stack look better.
pub(crate) const STAND_IN_RATIO: Ratio = Ratio::from_millionths(4_500_000);

/// Sorts out the routes to the three lengths. `as_it_stands` keeps the fitted disc as it is now
/// instead of taking a new one of its number.
///
/// # Errors
///
/// What is missing, where some length can be had neither from measurements nor from the catalog.
pub fn lengths<'a>(
    bench: &Bench<'a>,
    choice: &Choice<'a>,
    as_it_stands: bool,
) -> Result<Lengths<'a>, Vec<Missing>> {
    let sums = Sums { bench, choice, as_it_stands };
    let mut missing = Vec::new();
    let crank = sums.choose(sums.crank_routes(), &mut Vec::new());
    let finger = sums.choose(sums.finger_routes(), &mut missing);
    let extended = sums.choose(sums.rear_routes(Reach::Extended), &mut missing);
    let retracted = sums.choose(sums.rear_routes(Reach::Retracted), &mut missing);
    if let (Some(finger), Some(extended), Some(retracted)) = (finger, extended, retracted) {
        let crank = crank.map(|routes| routes.used.form.value());
        let gap_now = sums.gap_now().map(|gap| value(&gap));
        return Ok(Lengths { finger, extended, retracted, crank, gap_now });
    }
    missing.sort();
    missing.dedup();
    Err(missing)
}

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
}

fn finger_times(enters: Enters) -> Option<i64> {
    if let Enters::Finger(times) = enters { Some(times) } else { None }
}

fn gap_times(enters: Enters) -> Option<i64> {
    if let Enters::Gap(times) = enters { Some(times) } else { None }
}

fn value(items: &[(Item<'_>, i64)]) -> Length {
    Length::from_nm(items.iter().map(|(item, times)| item.value.nm() * times).sum())
}

type Tried<'a> = Result<Route<'a>, Vec<Missing>>;
pub(crate) type Terms<'a> = Vec<(Item<'a>, i64)>;

/// The sums of one choice, term by term.
pub(crate) struct Sums<'b, 'a> {
    pub(crate) bench: &'b Bench<'a>,
    pub(crate) choice: &'b Choice<'a>,
    pub(crate) as_it_stands: bool,
}

impl<'a> Sums<'_, 'a> {
    /// Takes the route with the smallest u; the first one on a tie, and measured ones come first.
    fn choose(&self, tried: Vec<Tried<'a>>, missing: &mut Vec<Missing>) -> Option<Routes<'a>> {
        let mut routes = Vec::new();
        let mut lacks = Vec::new();
        for route in tried {
            match route {
                Ok(route) => routes.push(route),
                Err(lack) => lacks.extend(lack),
            }
        }
        let u = |route: &Route<'_>| route.form.spread().three_u_squared;
        let best = (0..routes.len()).min_by_key(|index| (u(&routes[*index]), *index));
        let Some(best) = best else {
            missing.extend(lacks);
            return None;
        };
        let used = routes.remove(best);
        Some(Routes { used, others: routes })
    }

    fn fill(&self, kind: &str) -> Option<(usize, &Fill<'a>)> {
        let slot = self.bench.slot(kind)?;
        Some((slot, &self.choice.fills[slot]))
    }

    pub(crate) fn reading(&self, reading: Reading) -> Option<Item<'a>> {
        let entry = self.bench.job.reading(reading)?;
        let assumed = self.bench.library.house.length(crate::model::house::Number::AssumedReading);
        Some(Item {
            piece: Piece::Job,
            kind: "job",
            dim: reading.spec().key,
            value: entry.as_length(),
            tol: entry.tol.map_or(assumed, Length::from_nm),
            assumed: entry.tol.is_none(),
        })
    }

    /// The dimensions of a fill that enter a sum in the way `times` picks, each with its sign.
    fn items(
        &self,
        slot: usize,
        fill: &Fill<'a>,
        times: impl Fn(Enters) -> Option<i64>,
    ) -> Result<Terms<'a>, Vec<Missing>> {
        let mut items = Vec::new();
        let mut missing = Vec::new();
        let mut nth = 0;
        for (index, part) in fill.parts.iter().enumerate() {
            nth = if index > 0 && fill.parts[index - 1].id == part.id { nth + 1 } else { 0 };
            for dim in part.kind.dims {
                let Some(times) = dim.enters.iter().find_map(|enters| times(*enters)) else {
                    continue;
                };
                let at = At { slot, nth, cut: fill.cut };
                match self.dimension(part, at, dim.key) {
                    Some(found) => items.extend(found.into_iter().map(|(i, s)| (i, s * times))),
                    None if dim.needed => missing.push(Missing {
                        kind: part.kind.key,
                        id: part.id.clone(),
                        dim: dim.key.into(),
                    }),
                    None => {}
                }
            }
        }
        if missing.is_empty() { Ok(items) } else { Err(missing) }
    }

    /// One dimension of one piece, or the signed sum that stands in for it.
    fn dimension(&self, part: &'a Part, at: At, key: &'static str) -> Option<Terms<'a>> {
        let dim = &part.kind.dims[part.kind.dim_index(key)?];
        let cut_here = key == "thickness" && at.cut != Length::ZERO;
        let piece = Piece::Part { slot: at.slot, id: &part.id, nth: at.nth, cut: cut_here };
        let item = |key: &'static str, entry: Entry| {
            let dim = &part.kind.dims[part.kind.dim_index(key).unwrap_or_default()];
            let house = &self.bench.library.house;
            let tol = entry.tol.unwrap_or_else(|| house.assumed(part.kind.key, dim, entry.value));
            let cut = if cut_here { at.cut } else { Length::ZERO };
            Item {
                piece,
                kind: part.kind.key,
                dim: key,
                value: entry.as_length() - cut,
                tol: Length::from_nm(tol),
                assumed: entry.tol.is_none(),
            }
        };
        if let Some(entry) = part.entry(key) {
            return Some(vec![(item(key, entry), 1)]);
        }
        if !dim.stand_in.is_empty() {
            let parts = dim.stand_in.iter();
            return parts.map(|(key, sign)| Some((item(key, part.entry(key)?), *sign))).collect();
        }
        // Blank has a meaning, and that meaning is exact.
        dim.blank.map(|value| vec![(item(key, Entry { value, tol: Some(0) }), 1)])
    }

    fn fitted(&self, slot: usize) -> &Fill<'a> {
        &self.bench.fitted[slot]
    }

    /// Whether some piece inside a measured sum is still there.
    fn something_stays(&self, slots: &[usize]) -> bool {
        let disc = self.bench.slot("disc");
        slots.iter().any(|slot| {
            let (new, old) = (&self.choice.fills[*slot], self.fitted(*slot));
            let replaced =
                Some(*slot) == disc && !self.as_it_stands && self.bench.disc_is_replaced();
            let shared = new.parts.iter().any(|part| old.parts.iter().any(|o| o.id == part.id));
            (new.bench && old.bench) || (shared && !replaced)
        })
    }

    /// What the swapped parts among `slots` move a measured sum by: new minus fitted.
    pub(crate) fn moved(
        &self,
        slots: &[usize],
        times: impl Fn(Enters) -> Option<i64> + Copy,
    ) -> Result<Terms<'a>, Vec<Missing>> {
        let mut terms = Vec::new();
        let mut missing = Vec::new();
        for slot in slots {
            let (new, old) = (&self.choice.fills[*slot], self.fitted(*slot));
            if new.same(old) {
                continue;
            }
            let spec = self.bench.library.kinds.slots().nth(*slot);
            if let Some((kind, spec)) = spec
                && (old.bench
                    || (old.parts.is_empty() && spec.takes == crate::model::kinds::Takes::One))
            {
                missing.push(Missing {
                    kind: kind.key,
                    id: String::new(),
                    dim: format!("which {} is fitted", kind.name),
                });
                continue;
            }
            for (fill, sign) in [(new, 1), (old, -1)] {
                match self.items(*slot, fill, times) {
                    Ok(items) => terms.extend(items.into_iter().map(|(i, c)| (i, c * sign))),
                    Err(lack) => missing.extend(lack),
                }
            }
        }
        if missing.is_empty() { Ok(terms) } else { Err(missing) }
    }

    /// The fitted block plate that a reading was taken over, added back to reach the bare block.
    pub(crate) fn over_plate(&self, over: bool) -> Result<Terms<'a>, Vec<Missing>> {
        let Some(slot) = self.bench.slot("block_plate").filter(|_| over) else {
            return Ok(Vec::new());
        };
        self.items(slot, self.fitted(slot), Reach::Extended.times_of())
    }

    fn crank_routes(&self) -> Vec<Tried<'a>> {
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

    fn finger_routes(&self) -> Vec<Tried<'a>> {
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

    fn rear_routes(&self, reach: Reach) -> Vec<Tried<'a>> {
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

    /// The plain catalogued sum over some slots.
    pub(crate) fn catalogued(
        &self,
        slots: &[usize],
        times: impl Fn(Enters) -> Option<i64> + Copy,
    ) -> Result<Terms<'a>, Vec<Missing>> {
        let mut terms = Vec::new();
        let mut missing = Vec::new();
        for slot in slots {
            let fill = &self.choice.fills[*slot];
            if fill.bench
                && let Some((kind, _)) = self.bench.library.kinds.slots().nth(*slot)
            {
                let dim = format!("which {} is on the bench", kind.name);
                missing.push(Missing { kind: kind.key, id: String::new(), dim });
                continue;
            }
            match self.items(*slot, fill, times) {
                Ok(items) => terms.extend(items),
                Err(lack) => missing.extend(lack),
            }
        }
        if missing.is_empty() { Ok(terms) } else { Err(missing) }
    }

    /// The thickness that stands for the fitted disc (or pack) inside a measured sum.
    fn fitted_thickness(&self) -> Option<Item<'a>> {
        if self.as_it_stands { None } else { self.reading(Reading::FittedDiscThickness) }
    }

    /// The gap of the chosen parts now; none where something in it is unknown.
    fn gap_now(&self) -> Option<Terms<'a>> {
        self.gap(&self.choice.fills, None)
    }

    /// A gap: clamped disc or pack less the step. `measured` stands for the disc or pack.
    fn gap(&self, fills: &[Fill<'a>], measured: Option<Item<'a>>) -> Option<Terms<'a>> {
        let mut gap = Vec::new();
        let mut has_disc = false;
        for kind in ["flywheel", "disc", "pressure_plate"] {
            let slot = self.bench.slot(kind)?;
            let fill = fills.get(slot)?;
            if kind == "flywheel" {
                fill.parts.first()?;
                gap.extend(self.items(slot, fill, gap_times).ok()?);
            } else if measured.is_none() {
                let items = self.items(slot, fill, gap_times).ok()?;
                has_disc |= !items.is_empty();
                gap.extend(items);
            }
        }
        gap.extend(measured.map(|item| (item, 1)));
        (has_disc || measured.is_some()).then_some(gap)
    }

    fn ratio(&self, plate: &'a Part, slot: usize) -> Option<RatioItem<'a>> {
        let entry = plate.entry("finger_ratio")?;
        let dim = &plate.kind.dims[plate.kind.dim_index("finger_ratio")?];
        let house = &self.bench.library.house;
        Some(RatioItem {
            piece: Piece::Part { slot, id: &plate.id, nth: 0, cut: false },
            value: entry.as_ratio(),
            tol: entry.tol.unwrap_or_else(|| house.assumed(plate.kind.key, dim, entry.value)),
            assumed: entry.tol.is_none(),
        })
    }

    /// What the fingers move because the plate works at another gap than its finger height was
    /// taken with.
    fn correction(
        &self,
        fills: &[Fill<'a>],
        measured: Option<Item<'a>>,
    ) -> Result<Option<Product<'a>>, NotCorrected> {
        let slot = self.bench.slot("pressure_plate").ok_or(NotCorrected)?;
        let plate = fills[slot].parts.first().copied().ok_or(NotCorrected)?;
        let at = At { slot, nth: 0, cut: Length::ZERO };
        let gap = self.gap(fills, measured).ok_or(NotCorrected)?;
        let taken = match self.dimension(plate, at, "set_gap") {
            Some(taken) => taken,
            // A matched set on a flat flywheel was taken with its own pack.
            None if plate.is_matched_set() && self.is_flat(fills) => {
                self.dimension(plate, at, "pack_thickness").ok_or(NotCorrected)?
            }
            None => return Err(NotCorrected),
        };
        let mut difference = Form::default();
        gap.into_iter().for_each(|(item, times)| difference.add(item, times));
        taken.into_iter().for_each(|(item, times)| difference.add(item, -times));
        self.product(plate, slot, difference)
    }

    fn is_flat(&self, fills: &[Fill<'a>]) -> bool {
        let flywheel = self.bench.slot("flywheel").and_then(|slot| fills[slot].parts.first());
        flywheel.is_some_and(|f| f.length("cover_step").unwrap_or(Length::ZERO) == Length::ZERO)
    }

    /// Minus ratio times a difference of gaps.
    fn product(
        &self,
        plate: &'a Part,
        slot: usize,
        difference: Form<'a>,
    ) -> Result<Option<Product<'a>>, NotCorrected> {
        if difference.linear.is_empty() {
            return Ok(None);
        }
        let ratio = match self.ratio(plate, slot) {
            Some(ratio) => ratio,
            None if difference.value() == Length::ZERO => RatioItem {
                piece: Piece::Part { slot, id: &plate.id, nth: 0, cut: false },
                value: STAND_IN_RATIO,
                tol: 0,
                assumed: true,
            },
            None => return Err(NotCorrected),
        };
        Ok(Some(Product { sign: -1, ratio, gap: difference.linear }))
    }

    /// Brings a measured clutch sum from the fitted disc, flywheel and plate to the chosen ones.
    fn correct_moved(&self, route: &mut Route<'a>) {
        let kept = self
            .fill("pressure_plate")
            .filter(|(slot, fill)| fill.same(self.fitted(*slot)) && !fill.parts.is_empty());
        let corrected = match kept {
            Some((slot, fill)) => self
                .gap_difference()
                .and_then(|gap| self.product(fill.parts[0], slot, gap))
                .map(|product| route.form.products.extend(product)),
            None => self.replace_correction(&mut route.form),
        };
        route.doubts.not_corrected = corrected.is_err();
        let told = self.bench.job.reading(Reading::FittedDiscThickness).is_some();
        match self.bench.job.disc_state {
            DiscState::Worn => route.doubts.worn_disc = !told || corrected.is_err(),
            DiscState::Unknown => route.doubts.taken_as_new = !told,
            DiscState::New => {}
        }
    }

    /// Another plate: its own correction comes in, the fitted plate's goes out.
    fn replace_correction(&self, form: &mut Form<'a>) -> Result<(), NotCorrected> {
        let new = self.correction(&self.choice.fills, None);
        let old = self.correction(&self.bench.fitted, self.fitted_thickness());
        for (product, times) in [(&new, 1), (&old, -1)] {
            if let Ok(Some(product)) = product {
                form.add_form(&Form { linear: vec![], products: vec![product.clone()] }, times);
            }
        }
        new.and(old).map(|_| ())
    }

    /// Gap now less gap as fitted, where the plate stays. What stays is not asked for its value.
    fn gap_difference(&self) -> Result<Form<'a>, NotCorrected> {
        let mut difference = Form::default();
        let measured = self.fitted_thickness();
        let set = self.fill("pressure_plate").is_some_and(|(_, fill)| {
            fill.parts.first().is_some_and(|plate| plate.is_matched_set())
        });
        for kind in ["flywheel", "disc", "pressure_plate"] {
            let slot = self.bench.slot(kind).ok_or(NotCorrected)?;
            let holds_facings = kind == if set { "pressure_plate" } else { "disc" };
            let measured = measured.filter(|_| holds_facings);
            let (new, old) = (&self.choice.fills[slot], self.fitted(slot));
            if new.same(old) && measured.is_none() {
                continue;
            }
            if old.parts.is_empty() && measured.is_none() {
                return Err(NotCorrected);
            }
            let add = |difference: &mut Form<'a>, fill: &Fill<'a>, sign: i64| {
                let items = self.items(slot, fill, gap_times).map_err(|_| NotCorrected)?;
                items.into_iter().for_each(|(item, c)| difference.add(item, c * sign));
                Ok::<(), NotCorrected>(())
            };
            add(&mut difference, new, 1)?;
            match measured {
                Some(item) => difference.add(item, -1),
                None => add(&mut difference, old, -1)?,
            }
        }
        Ok(difference)
    }
}

/// The correction that was needed could not be made.
#[derive(Debug, Clone, Copy)]
struct NotCorrected;

#[derive(Clone, Copy)]
struct At {
    slot: usize,
    nth: usize,
    cut: Length,
}

impl Reach {
    pub(crate) fn times_of(self) -> impl Fn(Enters) -> Option<i64> + Copy {
        move |enters| self.times(enters)
    }
}

pub(crate) fn form(terms: Terms<'_>) -> Form<'_> {
    let mut form = Form::default();
    terms.into_iter().for_each(|(item, times)| form.add(item, times));
    form
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
