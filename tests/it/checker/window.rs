//! The target window, the room at its edges, and the diaphragm's working range.

use bellstack::model::edge::{Edge, PerEdge};
use bellstack::model::job::CrankPushed;
use bellstack::model::part::Part;

use super::clutch::{is_flat, length};
use super::house::times;
use super::sum::MICRO;
use super::task::{Fill, Task, clamped};

/// Who set an edge.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum By {
    Job,
    Shop,
    Clutch,
    House,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Window {
    pub(crate) edges: PerEdge<Option<(i128, By)>>,
    /// The least reserve in force was worked out with a ratio that nobody knows.
    pub(crate) ratio_assumed: bool,
}

/// The wear of a plate with a disc: the larger of the plate's allowance and the disc's own.
pub(crate) fn wear(plate: Option<&Part>, disc: Option<&Part>) -> Option<i128> {
    let own = disc.and_then(|disc| Some(clamped(disc)? - length(Some(disc), "min_thickness")?));
    length(plate, "wear_allowance").max(own)
}

impl<'a> Task<'a> {
    pub(crate) fn plate_and_disc(
        &self,
        stack: &[Fill<'a>],
    ) -> (Option<&'a Part>, Option<&'a Part>) {
        (stack[self.slot("pressure_plate")].part(), stack[self.slot("disc")].part())
    }

    /// The four edges, each with who set it.
    pub(crate) fn window(&self, stack: &[Fill<'a>]) -> Window {
        let (plate, disc) = self.plate_and_disc(stack);
        let set = |edge: Edge| {
            let job = self.job.window[edge].map(|limit| (i128::from(limit.nm()), By::Job));
            let shop = &self.library.house.window;
            job.or_else(|| shop[edge].map(|limit| (i128::from(limit.nm()), By::Shop)))
        };
        let least = |edge: Edge, clutch: Option<i128>, fallback: &str| {
            let clutch = clutch.map(|limit| (limit, By::Clutch));
            match (set(edge), clutch) {
                // What is set stands, and the clutch's data may raise it.
                (Some(set), Some(clutch)) if clutch.0 > set.0 => clutch,
                (Some(set), _) => set,
                (None, Some(clutch)) => clutch,
                (None, None) => (self.house.length(fallback), By::House),
            }
        };
        let stroke = length(plate, "release_travel");
        let stroke = stroke.map(|travel| travel + self.house.length("stroke_margin"));
        let ratio = length(plate, "finger_ratio");
        let reserve = wear(plate, disc).map(|wear| {
            let ratio = ratio.unwrap_or_else(|| self.house.largest_ratio());
            times(ratio, wear) + self.house.length("reserve_margin")
        });
        let preload_min = least(Edge::PreloadMin, stroke, "fallback_preload_min");
        let reserve_min = least(Edge::ReserveMin, reserve, "fallback_reserve_min");
        let edges = PerEdge::from_fn(|edge| match edge {
            Edge::PreloadMin => Some(preload_min),
            Edge::ReserveMin => Some(reserve_min),
            most => set(most),
        });
        Window { edges, ratio_assumed: ratio.is_none() && reserve_min.1 == By::Clutch }
    }

    /// The end float that is taken off an edge. A crank that may still move rearward takes it off
    /// the least reserve and the most preload; one that may move forward off the other two.
    pub(crate) fn end_float(&self, stack: &[Fill<'a>], crank_was_read: bool, edge: Edge) -> i128 {
        let engine = stack[self.slot("engine")].part();
        let float = length(engine, "crank_end_float").unwrap_or(0);
        let (rearward, forward) = match self.job.crank_pushed {
            CrankPushed::Front if crank_was_read => (float, 0),
            CrankPushed::Rear if crank_was_read => (0, float),
            _ => (float, float),
        };
        match edge {
            Edge::ReserveMin | Edge::PreloadMax => rearward,
            Edge::PreloadMin | Edge::ReserveMax => forward,
        }
    }

    /// The gap with the stack's own parts, catalogued, where all of them are known.
    fn gap(&self, stack: &[Fill<'a>]) -> Option<i128> {
        self.gap_terms(stack, &self.facing_terms(stack)).value()
    }

    /// Whether the gap is known to lie beyond the diaphragm's working range.
    pub(crate) fn outside_range(&self, stack: &[Fill<'a>]) -> bool {
        let (plate, _) = self.plate_and_disc(stack);
        let (Some(gap), Some(plate)) = (self.gap(stack), plate) else { return false };
        let flat = stack[self.slot("flywheel")].part().is_some_and(is_flat);
        let own = length(Some(plate), "pack_thickness").filter(|_| flat);
        let set_gap = length(Some(plate), "set_gap").or(own);
        let half = self.house.length("gap_range");
        let least = length(Some(plate), "set_gap_min").or(set_gap.map(|gap| gap - half));
        let most = length(Some(plate), "set_gap_max").or(set_gap.map(|gap| gap + half));
        least.is_some_and(|least| gap < least) || most.is_some_and(|most| gap > most)
    }

    /// The facing wear that a reserve buys, end float taken off, rounded down, and whether its ratio is
    /// assumed. Nothing is said where neither the ratio nor the wear is known.
    pub(crate) fn wear_bought(&self, stack: &[Fill<'a>], reserve: i128) -> Option<(i128, bool)> {
        let (plate, disc) = self.plate_and_disc(stack);
        let ratio = length(plate, "finger_ratio");
        let largest = wear(plate, disc).map(|_| self.house.largest_ratio());
        Some(((reserve * MICRO).div_euclid(ratio.or(largest)?), ratio.is_none()))
    }
}
