//! What is said of a window: its edges, who set them, and by how much one is missed.

use crate::model::edge::Edge;
use crate::model::kinds::Quantity;
use crate::model::length::{Length, Unit};
use crate::model::part::show_value;
use crate::report::units::{Units, setter};
use crate::stack::fit::{EdgeFit, Fit};
use crate::stack::window::{ClutchSums, SetBy, Window};

/// An edge's name for people.
pub(in crate::report) const fn edge_name(edge: Edge) -> &'static str {
    match edge {
        Edge::PreloadMin => "least preload",
        Edge::PreloadMax => "most preload",
        Edge::ReserveMin => "least wear reserve",
        Edge::ReserveMax => "most wear reserve",
    }
}

/// By how much which number misses an edge, and who set that.
pub(super) fn missed(edge: Edge, limit: Length, set_by: SetBy, by: Length, say: Units) -> String {
    let number = if edge.is_preload() { "the preload" } else { "the wear reserve" };
    let (by, limit) = (say.length(by), say.length(limit));
    if edge.is_least() {
        format!("{number} is {by} short of the least {limit}, set by {}", setter(set_by))
    } else {
        format!("{number} is {by} over the most {limit}, set by {}", setter(set_by))
    }
}

pub(super) fn with_float(edge: &EdgeFit, say: Units) -> String {
    if edge.float == Length::ZERO {
        return String::new();
    }
    format!(", {} of crank end float counted", say.length(edge.float))
}

/// The window's edges with how the clutch's own minimums come about:
/// `preload_min 0.550 in (clutch: release travel 0.450 + margin 0.100)`.
pub(in crate::report) fn edges_summed(window: &Window, sums: &ClutchSums, unit: Unit) -> String {
    // As many digits as it takes, where they end: an addend rounded would not add up.
    let number = |length: Length| {
        let exact = length.exact(unit);
        let number = exact.strip_suffix(unit.name()).map(|number| number.trim_end().to_string());
        number.unwrap_or_else(|| length.digits(unit, true))
    };
    let preload = sums.preload_min.map(|(travel, margin)| {
        format!("release travel {} + margin {}", number(travel), number(margin))
    });
    let reserve = sums.reserve_min.map(|sum| {
        let ratio = show_value(Quantity::Ratio, sum.ratio.millionths(), unit);
        let assumed = if sum.ratio_assumed { " assumed" } else { "" };
        let (wear, margin) = (number(sum.wear), number(sum.margin));
        format!("ratio {ratio}{assumed} x wear {wear} + margin {margin}")
    });
    let each = window.limits.set().map(|(edge, limit)| {
        let sum = match edge {
            Edge::PreloadMin => preload.as_ref(),
            Edge::ReserveMin => reserve.as_ref(),
            Edge::PreloadMax | Edge::ReserveMax => None,
        };
        let sum = sum.filter(|_| limit.set_by == SetBy::Clutch);
        let sum = sum.map_or_else(String::new, |sum| format!(": {sum}"));
        let (key, at, unit) = (edge.key(), number(limit.at), unit.name());
        format!("{key} {at} {unit} ({}{sum})", set_by(window, edge, limit.set_by))
    });
    each.collect::<Vec<_>>().join(", ")
}

/// A window's edge with its limit and who set it: `preload_min 0.600 in (clutch)`.
pub(in crate::report) fn edges(fit: &Fit<'_>, say: Units) -> String {
    let each = fit.window.limits.set().map(|(edge, limit)| {
        let by = set_by(&fit.window, edge, limit.set_by);
        format!("{} {} ({by})", edge.key(), say.length(limit.at))
    });
    each.collect::<Vec<_>>().join(", ")
}

/// Who set an edge.
pub(in crate::report) fn set_by(window: &Window, edge: Edge, by: SetBy) -> &'static str {
    if edge == Edge::ReserveMin && window.ratio_assumed {
        "clutch, ratio assumed"
    } else {
        by.word()
    }
}
