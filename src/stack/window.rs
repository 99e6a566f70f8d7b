//! The target window: which minimum and maximum apply to a stack, and who set them.

use crate::model::edge::{Edge, PerEdge};
use crate::model::entry::Entry;
use crate::model::house::{House, Limits, Number};
use crate::model::length::{Length, Ratio};
use crate::model::part::Part;
use crate::stack::choice::Setup;

/// Who set an edge of the window.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum SetBy {
    /// The job's own window.
    Job,
    /// The shop's window.
    Shop,
    /// The clutch's own data.
    Clutch,
    /// The house fallback: common practice, with no source.
    House,
}

impl SetBy {
    /// The word for it in JSON and tables.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Job => "job",
            Self::Shop => "shop",
            Self::Clutch => "clutch",
            Self::House => "house",
        }
    }
}

/// One edge of a window: its limit, and who set it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limit {
    /// The least or the most.
    pub at: Length,
    /// Who set it.
    pub set_by: SetBy,
}

/// The window of one stack. Edges are inclusive.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Window {
    /// The limits; the two minimums are always there.
    pub limits: PerEdge<Option<Limit>>,
    /// The clutch's least reserve stands, and nobody knows its finger ratio: it was worked out with
    /// the largest that is common.
    pub ratio_assumed: bool,
}

/// The wear that facings may lose: the larger of the plate's allowance and the disc's own.
pub fn wear(plate: Option<&Part>, disc: Option<&Part>) -> Option<Length> {
    let allowance = plate.and_then(|plate| plate.length("wear_allowance"));
    let own = disc.and_then(|disc| Some(clamped(disc)? - disc.length("min_thickness")?));
    allowance.max(own)
}

/// A disc's clamped thickness, itself or from free thickness and cushion.
pub fn clamped(disc: &Part) -> Option<Length> {
    disc.length("thickness")
        .or_else(|| Some(disc.length("free_thickness")? - disc.length("cushion")?))
}

/// How the clutch's least reserve comes about: ratio times wear, and the margin.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ReserveSum {
    /// The finger ratio; where nobody knows it, the largest that is common.
    pub ratio: Ratio,
    /// Whether it is that.
    pub ratio_assumed: bool,
    /// The facing wear of the whole pack.
    pub wear: Length,
    /// The margin.
    pub margin: Length,
}

/// How the clutch's own minimums come about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ClutchSums {
    /// Release travel and stroke margin, which add up to the least preload.
    pub preload_min: Option<(Length, Length)>,
    /// The least reserve.
    pub reserve_min: Option<ReserveSum>,
}

impl ClutchSums {
    /// The minimum at an edge, where the clutch's data give one.
    fn minimum(&self, edge: Edge) -> Option<Length> {
        match edge {
            Edge::PreloadMin => self.preload_min.map(|(travel, margin)| travel + margin),
            Edge::ReserveMin => self.reserve_min.map(|sum| sum.ratio.times(sum.wear) + sum.margin),
            Edge::PreloadMax | Edge::ReserveMax => None,
        }
    }
}

/// What the clutch's own minimums are made of.
pub fn clutch_sums(house: &House, plate: Option<&Part>, disc: Option<&Part>) -> ClutchSums {
    ClutchFacts::of(plate, disc).sums(house)
}

/// What a clutch's own minimums follow from, as far as it is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) struct ClutchFacts {
    /// Bearing travel that releases it.
    pub(crate) travel: Option<Length>,
    /// Its finger ratio.
    pub(crate) ratio: Option<Ratio>,
    /// The wear of its facings.
    pub(crate) wear: Option<Length>,
}

impl ClutchFacts {
    pub(crate) fn of(plate: Option<&Part>, disc: Option<&Part>) -> Self {
        Self {
            travel: plate.and_then(|plate| plate.length("release_travel")),
            ratio: plate.and_then(|plate| plate.entry("finger_ratio")).map(Entry::as_ratio),
            wear: wear(plate, disc),
        }
    }

    fn sums(self, house: &House) -> ClutchSums {
        let Self { travel, ratio: stated, wear } = self;
        ClutchSums {
            preload_min: travel.map(|travel| (travel, house.length(Number::StrokeMargin))),
            reserve_min: wear.map(|wear| ReserveSum {
                ratio: stated.unwrap_or(house.largest_ratio()),
                ratio_assumed: stated.is_none(),
                wear,
                margin: house.length(Number::ReserveMargin),
            }),
        }
    }

    /// The window's limits.
    pub(crate) fn limits(self, house: &House, job: &Limits) -> PerEdge<Option<Limit>> {
        let clutch = self.sums(house);
        PerEdge::from_fn(|edge| limit(house, job, &clutch, edge))
    }
}

/// The limit at an edge: that of the highest level that has one. The clutch's data may raise a
/// minimum that job or shop set, never lower it.
fn limit(house: &House, job: &Limits, clutch: &ClutchSums, edge: Edge) -> Option<Limit> {
    let by = |set_by: SetBy| move |at: Length| Limit { at, set_by };
    let set = job[edge].map(by(SetBy::Job)).or(house.window[edge].map(by(SetBy::Shop)));
    let clutch = clutch.minimum(edge).map(by(SetBy::Clutch));
    let fallback = match edge {
        Edge::PreloadMin => Some(Number::FallbackPreloadMin),
        Edge::ReserveMin => Some(Number::FallbackReserveMin),
        Edge::PreloadMax | Edge::ReserveMax => None,
    };
    match (set, clutch) {
        (Some(set), Some(clutch)) if clutch.at > set.at => Some(clutch),
        (Some(set), _) => Some(set),
        (None, Some(clutch)) => Some(clutch),
        (None, None) => fallback.map(|number| by(SetBy::House)(house.length(number))),
    }
}

/// The window of a stack with this plate and disc.
pub fn window(house: &House, job: &Limits, plate: Option<&Part>, disc: Option<&Part>) -> Window {
    let clutch = ClutchFacts::of(plate, disc);
    let limits = clutch.limits(house, job);
    let by_clutch = limits[Edge::ReserveMin].is_some_and(|limit| limit.set_by == SetBy::Clutch);
    Window { limits, ratio_assumed: by_clutch && clutch.ratio.is_none() }
}

/// How much end float may take off the room at each edge, where the crank may still move after it was
/// read. A crank that moves rearward pushes the bearing further back.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct FloatAllowance {
    /// Off the least reserve and the most preload: the crank may still move rearward.
    pub rearward: Length,
    /// Off the least preload and the most reserve: the crank may still move forward.
    pub forward: Length,
}

impl FloatAllowance {
    /// What it takes off the room at an edge.
    pub const fn at(self, edge: Edge) -> Length {
        if edge.is_missed_when_loose() { self.forward } else { self.rearward }
    }
}

/// Why no plate, spacer or shim can help with a travel.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Empty {
    /// The minimums add up to more than the travel, by this much.
    TravelShort(Length),
    /// The maxima add up to less than the travel, by this much.
    TravelLong(Length),
}

impl Window {
    /// The limit at an edge, where there is one.
    pub fn limit(&self, edge: Edge) -> Option<Length> {
        self.limits[edge].map(|limit| limit.at)
    }

    /// Whether a bearing of this travel can land in it at all, with end-float allowances counted.
    pub fn empty_for(&self, travel: Length, float: FloatAllowance) -> Option<Empty> {
        let taken = float.rearward + float.forward;
        let sum = |first: Edge, second: Edge| Some(self.limit(first)? + self.limit(second)?);
        let least = sum(Edge::PreloadMin, Edge::ReserveMin).map(|least| least + taken);
        let most = sum(Edge::PreloadMax, Edge::ReserveMax).map(|most| most - taken);
        match (least, most) {
            (Some(least), _) if least > travel => Some(Empty::TravelShort(least - travel)),
            (_, Some(most)) if most < travel => Some(Empty::TravelLong(travel - most)),
            _ => None,
        }
    }
}

/// The facing wear (whole pack) that a movement of the fingers stands for, rounded down.
pub fn wear_bought(moved: Length, ratio: Ratio) -> Length {
    let nm = i128::from(moved.nm()) * i128::from(Ratio::ONE);
    Length::from_wide(nm.div_euclid(i128::from(ratio.millionths())))
}

/// The largest finger ratio that the fitted plate may have, and the facing wear that it allows.
pub(crate) fn worst_wear(setup: &Setup<'_>) -> (Ratio, Length) {
    let house = &setup.library.house;
    let (plate, disc) = (setup.fitted_part("pressure_plate"), setup.fitted_part("disc"));
    let stated = plate.and_then(|plate| plate.entry("finger_ratio")).map(Entry::as_ratio);
    let ratio = stated.unwrap_or(house.largest_ratio());
    (ratio, wear(plate, disc).unwrap_or(house.length(Number::BlankWear)))
}
