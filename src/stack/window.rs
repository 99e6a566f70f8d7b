//! The target window: which minimum and maximum apply to a stack, and who set them.

use crate::model::house::{House, Limits, Number};
use crate::model::length::{Length, Ratio};
use crate::model::part::{Entry, Part};

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

/// One edge of a window.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Edge {
    /// The least or the most.
    pub limit: Length,
    /// Who set it.
    pub set_by: SetBy,
}

/// The window of one stack. Edges are inclusive.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Window {
    /// Least preload.
    pub preload_min: Edge,
    /// Most preload, if anybody set one.
    pub preload_max: Option<Edge>,
    /// Least wear reserve.
    pub reserve_min: Edge,
    /// Most wear reserve, if anybody set one.
    pub reserve_max: Option<Edge>,
}

/// What the clutch's own data ask for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct ClutchNeeds {
    /// Release travel plus the stroke margin.
    pub preload_min: Option<Length>,
    /// Finger movement by the wear that the facings have, plus the reserve margin.
    pub reserve_min: Option<Length>,
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

/// How the clutch's own minimums come about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ClutchSums {
    /// Release travel and stroke margin, which add up to the least preload.
    pub preload_min: Option<(Length, Length)>,
    /// Finger ratio, facing wear and reserve margin: ratio times wear plus margin is the least
    /// reserve.
    pub reserve_min: Option<(Ratio, Length, Length)>,
}

/// What the clutch's own minimums are made of.
pub fn clutch_sums(house: &House, plate: Option<&Part>, disc: Option<&Part>) -> ClutchSums {
    let travel = plate.and_then(|plate| plate.length("release_travel"));
    let ratio = plate.and_then(|plate| plate.entry("finger_ratio")).map(Entry::as_ratio);
    let moved = ratio.zip(wear(plate, disc));
    ClutchSums {
        preload_min: travel.map(|travel| (travel, house.length(Number::StrokeMargin))),
        reserve_min: moved.map(|(ratio, wear)| (ratio, wear, house.length(Number::ReserveMargin))),
    }
}

/// What plate and disc ask for.
pub fn clutch_needs(house: &House, plate: Option<&Part>, disc: Option<&Part>) -> ClutchNeeds {
    let sums = clutch_sums(house, plate, disc);
    ClutchNeeds {
        preload_min: sums.preload_min.map(|(travel, margin)| travel + margin),
        reserve_min: sums.reserve_min.map(|(ratio, wear, margin)| ratio.times(wear) + margin),
    }
}

fn minimum(
    job: Option<Length>,
    shop: Option<Length>,
    clutch: Option<Length>,
    house: Length,
) -> Edge {
    let set = job
        .map(|limit| Edge { limit, set_by: SetBy::Job })
        .or_else(|| shop.map(|limit| Edge { limit, set_by: SetBy::Shop }));
    let clutch = clutch.map(|limit| Edge { limit, set_by: SetBy::Clutch });
    match (set, clutch) {
        // The clutch's data may raise what job or shop set, never lower it.
        (Some(set), Some(clutch)) if clutch.limit > set.limit => clutch,
        (Some(set), _) => set,
        (None, Some(clutch)) => clutch,
        (None, None) => Edge { limit: house, set_by: SetBy::House },
    }
}

fn maximum(job: Option<Length>, shop: Option<Length>) -> Option<Edge> {
    job.map(|limit| Edge { limit, set_by: SetBy::Job })
        .or_else(|| shop.map(|limit| Edge { limit, set_by: SetBy::Shop }))
}

/// The window of a stack with this plate and disc.
pub fn window(house: &House, job: &Limits, plate: Option<&Part>, disc: Option<&Part>) -> Window {
    let needs = clutch_needs(house, plate, disc);
    let shop = &house.window;
    Window {
        preload_min: minimum(
            job.preload_min,
            shop.preload_min,
            needs.preload_min,
            house.length(Number::FallbackPreloadMin),
        ),
        preload_max: maximum(job.preload_max, shop.preload_max),
        reserve_min: minimum(
            job.reserve_min,
            shop.reserve_min,
            needs.reserve_min,
            house.length(Number::FallbackReserveMin),
        ),
        reserve_max: maximum(job.reserve_max, shop.reserve_max),
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
    /// The window's edges in the order preload min, preload max, reserve min, reserve max.
    pub fn edges(&self) -> [Option<Edge>; 4] {
        [Some(self.preload_min), self.preload_max, Some(self.reserve_min), self.reserve_max]
    }

    /// Whether a bearing of this travel can land in it at all, with end-float allowances counted.
    pub fn empty_for(&self, travel: Length, allowance: (Length, Length)) -> Option<Empty> {
        let taken = allowance.0 + allowance.1;
        let least = self.preload_min.limit + self.reserve_min.limit + taken;
        if least > travel {
            return Some(Empty::TravelShort(least - travel));
        }
        if let (Some(preload), Some(reserve)) = (self.preload_max, self.reserve_max) {
            let most = preload.limit + reserve.limit - taken;
            if most < travel {
                return Some(Empty::TravelLong(travel - most));
            }
        }
        None
    }
}
