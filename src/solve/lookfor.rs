//! The dimension to look for: the range of one dimension that would put a sum in its window.

use crate::model::kinds::{Enters, Takes};
use crate::model::length::{Length, Ratio};
use crate::model::part::Part;
use crate::solve::ask::Ask;
pub use crate::stack::answer::{LookFor, Range};
use crate::stack::choice::{Fill, Setup};
use crate::stack::fit::Fit;
use crate::stack::form::MICRO;
use crate::stack::joints::joints;

/// The range of a dimension, now `at`, that keeps a sum between `low` and `high`. The sum is now
/// `sum` and moves by `micro` millionths of what the dimension moves by. Ends are rounded inward.
///
/// None where the dimension does not move the sum and the sum is outside.
pub fn dimension_range(
    at: Length,
    micro: i64,
    sum: Length,
    low: Option<Length>,
    high: Option<Length>,
) -> Option<Range> {
    if micro == 0 {
        let inside = Range { from: low, to: high }.holds(sum);
        return inside.then(Range::default);
    }
    let (low, high) = if micro > 0 { (low, high) } else { (high, low) };
    let per = i128::from(micro);
    // The least move d with d * micro >= missing * 10^6 (for the other end: the largest).
    let move_for = |limit: Length, up: bool| {
        let needed = i128::from((limit - sum).nm()) * MICRO;
        let floor = needed.div_euclid(per);
        let exact = floor * per == needed;
        let whole = if per > 0 {
            floor + i128::from(!exact && up)
        } else {
            // With a negative divisor Euclid rounds up already.
            if exact { floor } else { floor - i128::from(!up) }
        };
        Length::from_nm(i64::try_from(whole).unwrap_or(0))
    };
    Some(Range {
        from: low.map(|limit| at + move_for(limit, true)),
        to: high.map(|limit| at + move_for(limit, false)),
    })
}

/// For each slot the dimension that would put the job in its window, if there is one.
pub fn look_for<'a>(setup: &Setup<'a>, ask: &Ask, fit: &Fit<'a>) -> Vec<LookFor> {
    let mut found = Vec::new();
    for (index, (kind, slot)) in setup.library.kinds.slots().enumerate() {
        let closed = slot.fixed && !ask.open.contains(&index);
        let fill = &fit.choice.fills[index];
        if closed || ask.keep.contains(&index) || fill.on_bench {
            continue;
        }
        let mut rows = Vec::new();
        for dim in kind.dims.iter().filter(|dim| dim.needed) {
            let Some(at) = fitted_value(fill, dim.key, slot.takes) else { continue };
            let (to_preload, to_reserve) = effect(setup, fit, dim.enters);
            if to_preload == 0 && to_reserve == 0 {
                continue;
            }
            let edges = edges(fit);
            // Of a part with several dimensions in the sum, each is held to what it moves itself:
            // a bearing has to be tall enough extended and short enough retracted.
            let alone = kind.dims.iter().filter(|dim| dim.needed).count() > 1;
            let for_sum = |micro: i64, sum: Length, low: Option<Length>, high: Option<Length>| {
                if micro == 0 && alone {
                    return Some(Range::default());
                }
                dimension_range(at, micro, sum, low, high)
            };
            let range = for_sum(to_preload, fit.preload, edges[0], edges[1])
                .and_then(|range| range.and(for_sum(to_reserve, fit.reserve, edges[2], edges[3])?));
            let floor = Range { from: (kind.key != "gearbox").then_some(Length::ZERO), to: None };
            if let Some(range) = range.and_then(|range| range.and(floor)) {
                rows.push((dim.key, at, clip(range, slot.takes)));
            }
        }
        let in_catalog = |part: &&'a Part| {
            let in_range = |(key, _, range): &(&str, Length, Range)| {
                part_value(part, key).is_some_and(|value| range.holds(value))
            };
            !part.retired && rows.iter().all(in_range) && mates(setup, fit, index, part)
        };
        let parts = setup.library.of_kind(kind.key).filter(in_catalog);
        let parts: Vec<String> = parts.map(|part| part.id.clone()).collect();
        found.extend(rows.into_iter().map(|(dimension, fitted, range)| LookFor {
            slot: index,
            dimension,
            range,
            fitted,
            parts: parts.clone(),
        }));
    }
    found
}

/// Whether a part mates with all that would stay around it.
fn mates<'a>(setup: &Setup<'a>, fit: &Fit<'a>, slot: usize, part: &'a Part) -> bool {
    let mut choice = fit.choice.clone();
    choice.fills[slot] = Fill::one(part);
    joints(setup, &choice).clashes.is_empty()
}

/// Plates, spacers and shims show their clip at zero; for what must be there anyway, a lower end at
/// zero says nothing and is left open.
fn clip(range: Range, takes: Takes) -> Range {
    let optional = matches!(takes, Takes::Optional | Takes::UpToTwo);
    if !optional && range.from == Some(Length::ZERO) {
        Range { from: None, ..range }
    } else {
        range
    }
}

/// A part's dimension, itself or through the ones that stand in for it.
fn part_value(part: &Part, key: &str) -> Option<Length> {
    if part.kind.key == "disc" && key == "thickness" {
        return crate::stack::window::clamped(part);
    }
    part.length(key)
}

/// What a slot's dimension is today; several shims count together.
fn fitted_value(fill: &Fill<'_>, key: &str, takes: Takes) -> Option<Length> {
    if fill.parts.is_empty() {
        return matches!(takes, Takes::Optional | Takes::UpToTwo).then_some(Length::ZERO);
    }
    fill.parts.iter().map(|part| part_value(part, key)).sum()
}

/// The limits that preload and reserve have to keep, end float counted.
fn edges(fit: &Fit<'_>) -> [Option<Length>; 4] {
    let mut limits = [None; 4];
    for (edge, at) in fit.edges.set() {
        let value = if edge.is_preload() { fit.preload } else { fit.reserve };
        limits[edge as usize] =
            Some(if edge.is_least() { value - at.room } else { value + at.room });
    }
    limits
}

/// What one unit of a dimension does to preload and reserve, in millionths.
fn effect(setup: &Setup<'_>, fit: &Fit<'_>, enters: &[Enters]) -> (i64, i64) {
    let plate = setup.part(&fit.choice, "pressure_plate");
    let ratio = plate
        .and_then(|plate| plate.entry("finger_ratio"))
        .map(super::super::model::part::Entry::as_ratio);
    let (mut preload, mut reserve) = (0, 0);
    for enters in enters {
        match enters {
            Enters::Finger(times) => {
                preload += times * Ratio::ONE;
                reserve -= times * Ratio::ONE;
            }
            Enters::Gap(times) => {
                let ratio = ratio.map_or(0, Ratio::millionths);
                preload -= times * ratio;
                reserve += times * ratio;
            }
            Enters::Rear(times) => {
                preload -= times * Ratio::ONE;
                reserve += times * Ratio::ONE;
            }
            Enters::Extended(times) => preload -= times * Ratio::ONE,
            Enters::Retracted(times) => reserve += times * Ratio::ONE,
            Enters::GapTaken | Enters::FingerRatio => {}
        }
    }
    (preload, reserve)
}

#[cfg(test)]
mod tests {
    use super::*;

    const fn nm(nm: i64) -> Length {
        Length::from_nm(nm)
    }

    #[test]
    fn ends_are_rounded_inward_whichever_way_the_dimension_works() {
        for micro in [1_000_000_i64, -1_000_000, 3_000_000, -3_000_000, 3_700_000, -700_000] {
            let (low, high) = (nm(100), nm(200));
            let range = dimension_range(nm(1000), micro, nm(150), Some(low), Some(high)).unwrap();
            let sum = |at: Length| i128::from((at.nm() - 1000) * micro) + 150 * MICRO;
            let inside = |at| (100 * MICRO..=200 * MICRO).contains(&sum(at));
            let (from, to) = (range.from.unwrap(), range.to.unwrap());
            assert!(inside(from) && inside(to), "{micro}");
            assert!(!inside(from - nm(1)) && !inside(to + nm(1)), "{micro}");
        }
    }

    #[test]
    fn a_dimension_that_does_nothing_helps_only_where_nothing_is_needed() {
        assert_eq!(dimension_range(nm(1), 0, nm(5), Some(nm(6)), None), None);
        assert_eq!(dimension_range(nm(1), 0, nm(6), Some(nm(6)), None), Some(Range::default()));
    }
}
