//! The dimension to look for: the range of one dimension that would put a sum in its window.

use crate::model::entry::Entry;
use crate::model::job::Reading;
use crate::model::kinds::{DimSpec, Enters, Sign, Takes};
use crate::model::length::{LONGEST, Length, Ratio};
use crate::model::part::Part;
use crate::solve::ask::Ask;
pub use crate::stack::answer::{LookFor, Range};
use crate::stack::choice::{Choice, Difference, Fill, Setup};
use crate::stack::fit::{Fit, evaluate, working_range};
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
///
/// Every range is that of a part that is like today's but for this dimension, worked out as a whole stack:
/// routes, gap and window follow. Of what nobody knows today the range is one of differences.
pub fn look_for<'a>(setup: &Setup<'a>, ask: &Ask, fit: &Fit<'a>) -> Vec<LookFor> {
    let mut found = Vec::new();
    for (slot, (kind, spec)) in setup.library.kinds.slots().enumerate() {
        let closed = spec.fixed && !ask.open.contains(&slot);
        if closed || ask.keep.contains(&slot) {
            continue;
        }
        let fill = &fit.choice.fills[slot];
        let ranges: Vec<_> = kind
            .dims
            .iter()
            .filter(|dim| dim.needed || (is_facing(dim) && states(fill, dim.key)))
            .filter_map(|dim| Some((dim, Wanted { setup, fit, slot, dim }.range(spec.takes)?)))
            .collect();
        for (dim, (found_at, by)) in &ranges {
            let parts = found_at.filter(|(_, range)| *range != Range::default()).map(|_| {
                let fits = |part: &&'a Part| {
                    // A bearing has to be tall enough extended and short enough retracted.
                    let both = ranges.iter().filter(|(one, _)| one.key == dim.key || is_end(one));
                    let mut both = both.filter(|(one, _)| is_end(one) == is_end(dim));
                    both.all(|(one, (found_at, _))| in_range(part, one.key, *found_at))
                };
                let all = setup.library.of_kind(kind.key).filter(|part| setup.can_be_had(part));
                let fitting = all.filter(fits).filter(|part| mates(setup, fit, slot, part));
                fitting.map(|part| part.id.clone()).collect()
            });
            found.push(LookFor { slot, dimension: dim.key, found: *found_at, by: *by, parts });
        }
    }
    found
}

/// Whether a dimension is how thick the facings are: the disc's, or the pack's of a matched set.
fn is_facing(dim: &DimSpec) -> bool {
    dim.enters.iter().any(|enters| matches!(enters, Enters::Gap(times) if *times > 0))
}

/// Whether a dimension enters one end of the bearing's travel alone.
fn is_end(dim: &DimSpec) -> bool {
    dim.enters.iter().any(|enters| matches!(enters, Enters::Extended(_) | Enters::Retracted(_)))
}

fn states(fill: &Fill<'_>, key: &str) -> bool {
    fill.parts.first().is_some_and(|part| part.entry(key).is_some())
}

fn in_range(part: &Part, key: &str, found: Option<(Length, Range)>) -> bool {
    let value = part_value(part, key);
    found.is_some_and(|(_, range)| value.is_some_and(|value| range.holds(value)))
}

/// Whether a part mates with all that would stay around it.
fn mates<'a>(setup: &Setup<'a>, fit: &Fit<'a>, slot: usize, part: &'a Part) -> bool {
    let mut choice = fit.choice.clone();
    choice.fills[slot] = Fill::one(part);
    joints(setup, &choice).clashes.is_empty()
}

/// A part's dimension, itself or through the ones that stand in for it.
fn part_value(part: &Part, key: &str) -> Option<Length> {
    if part.kind.key == "disc" && key == "thickness" {
        return crate::stack::window::clamped(part);
    }
    part.length(key)
}

/// One dimension of one slot, to be found so that the job is in its window.
struct Wanted<'t, 'a> {
    setup: &'t Setup<'a>,
    fit: &'t Fit<'a>,
    slot: usize,
    dim: &'static DimSpec,
}

/// A stack with another part in the slot.
struct Tried {
    preload: Length,
    reserve: Length,
    /// What preload and reserve have to keep, end float counted, in the order of the edges.
    edges: [Option<Length>; 4],
    /// The gap with the diaphragm's working range, where it is known and the dimension is that of the
    /// facings.
    gap: Option<(Length, Range)>,
}

/// From where a dimension is tried, and what is tried there: a value, or a difference.
#[derive(Clone, Copy)]
enum Start {
    Value(Length),
    Today,
}

impl Wanted<'_, '_> {
    /// Today's value with the range, and the range of differences; none where there is no range.
    fn range(&self, takes: Takes) -> Option<(Option<(Length, Range)>, Range)> {
        let fill = &self.fit.choice.fills[self.slot];
        let optional = matches!(takes, Takes::Optional | Takes::UpToTwo);
        let Some(today) = self.today(optional) else {
            return if fill.is_empty() { None } else { Some((None, self.settled(Start::Today)?)) };
        };
        // A gearbox's seat may stand behind its face; nothing else is less than nothing.
        let floor = (self.dim.sign != Sign::Any).then_some(Length::ZERO);
        let range = self.settled(Start::Value(today))?.and(Range { from: floor, to: None })?;
        // Of what has to be there anyway nothing is said by a least of zero; plates, spacers and shims
        // show it.
        let says_nothing = !optional && range.from == Some(Length::ZERO);
        let range = if says_nothing { Range { from: None, ..range } } else { range };
        Some((Some((today, range)), range.less(today)))
    }

    /// What the dimension is today: several shims count together, worn facings as they were read.
    fn today(&self, optional: bool) -> Option<Length> {
        let fill = &self.fit.choice.fills[self.slot];
        if fill.is_empty() {
            return optional.then_some(Length::ZERO);
        }
        if fill.on_bench {
            let reading = self.setup.job.reading(Reading::FittedDiscThickness);
            return reading.filter(|_| is_facing(self.dim)).map(Entry::as_length);
        }
        fill.parts.iter().map(|part| part_value(part, self.dim.key)).sum()
    }

    /// The range from where the dimension stands, its ends tried.
    fn settled(&self, from: Start) -> Option<Range> {
        let start = match from {
            Start::Value(value) => value,
            Start::Today => Length::ZERO,
        };
        let range = self.straight(from, start)?;
        if !is_facing(self.dim) {
            return Some(range);
        }
        // A product is rounded, and how large it is says which route is the closest: what a straight
        // line gives is tried, and put right where it is not so.
        let holds = |at: Length| self.stack(from, at).is_some_and(|stack| stack.holds());
        let middle = match (range.from, range.to) {
            (Some(least), Some(most)) => Length::from_nm(i64::midpoint(least.nm(), most.nm())),
            (Some(end), None) | (None, Some(end)) => end,
            (None, None) => start,
        };
        let inner = [middle, start].into_iter().find(|at| holds(*at))?;
        let end = |guess: Option<Length>, way: i64| last(inner, guess, way, &holds);
        Some(Range { from: end(range.from, -1), to: end(range.to, 1) })
    }

    /// The range as a straight line through two stacks gives it, ends rounded inward.
    fn straight(&self, from: Start, start: Length) -> Option<Range> {
        let (one, other) = (self.stack(from, start)?, self.stack(from, start + STEP)?);
        // The step is a million nanometres: each of them in the sum is a millionth of the ratio.
        let to_preload = (other.preload - one.preload).nm();
        let to_reserve = (other.reserve - one.reserve).nm();
        if to_preload == 0 && to_reserve == 0 {
            return None;
        }
        let along = |micro: i64, sum: Length, low: Option<Length>, high: Option<Length>| {
            if micro == 0 && is_end(self.dim) {
                return Some(Range::default());
            }
            dimension_range(start, micro, sum, low, high)
        };
        let range = along(to_preload, one.preload, one.edges[0], one.edges[1])?.and(along(
            to_reserve,
            one.reserve,
            one.edges[2],
            one.edges[3],
        )?)?;
        match one.gap {
            // The facings move the gap by what they are thicker.
            Some((gap, works)) => {
                range.and(dimension_range(start, Ratio::ONE, gap, works.from, works.to)?)
            }
            None => Some(range),
        }
    }

    fn stack(&self, from: Start, at: Length) -> Option<Tried> {
        self.evaluated(from, at, |setup, fit| {
            let gap = fit.lengths.gap_now.filter(|_| is_facing(self.dim)).map(|gap| {
                let plate = setup.part(&fit.choice, "pressure_plate");
                let (from, to) = working_range(setup, plate, fit.lengths.set_gap);
                (gap, Range { from, to })
            });
            Tried { preload: fit.preload, reserve: fit.reserve, edges: edges(fit), gap }
        })
    }

    /// Looks at the stack with a part in the slot that is like today's but for the dimension.
    fn evaluated<T>(
        &self,
        from: Start,
        at: Length,
        look: impl FnOnce(&Setup<'_>, &Fit<'_>) -> T,
    ) -> Option<T> {
        let mut choice = self.fit.choice.clone();
        match from {
            Start::Today => {
                choice.fills[self.slot].other = Some(Difference { key: self.dim.key, by: at });
                let fit = evaluate(self.setup, &choice).ok()?;
                Some(look(self.setup, &fit))
            }
            Start::Value(_) => {
                let (kind, _) = self.setup.library.kinds.slots().nth(self.slot)?;
                let today = choice.fills[self.slot].parts.first().copied().cloned();
                let mut part = today.unwrap_or_else(|| Part::new("", kind));
                part.id = String::new();
                part.piece_of = None;
                // How far another disc may wear is its own affair.
                part.set("min_thickness", None);
                let tol = part.entry(self.dim.key).and_then(|entry| entry.tol);
                part.set(self.dim.key, Some(Entry::new(at.nm(), tol)));
                let mut choice: Choice<'_> = choice;
                choice.fills[self.slot] = Fill::one(&part);
                let fit = evaluate(self.setup, &choice).ok()?;
                Some(look(self.setup, &fit))
            }
        }
    }
}

impl Tried {
    fn holds(&self) -> bool {
        let [least, most, least_reserve, most_reserve] = self.edges;
        let window = Range { from: least, to: most }.holds(self.preload)
            && Range { from: least_reserve, to: most_reserve }.holds(self.reserve);
        window && self.gap.is_none_or(|(gap, works)| works.holds(gap))
    }
}

/// How far a dimension is moved to see what it does: a million nanometres.
const STEP: Length = Length::from_nm(1_000_000);

/// The last value that holds on the way from `inner`, looked for near `guess`; none where all do.
fn last(
    inner: Length,
    guess: Option<Length>,
    way: i64,
    holds: &impl Fn(Length) -> bool,
) -> Option<Length> {
    let at = |from: Length, by: i64| Length::from_nm(from.nm() + way * by);
    let start = guess.filter(|guess| holds(*guess)).unwrap_or(inner);
    if guess == Some(start) && !holds(at(start, 1)) {
        return Some(start);
    }
    let (mut good, mut step) = (start, 1_000);
    let bad = loop {
        let next = at(good, step);
        if next.nm().abs() > LONGEST.nm() {
            return None;
        }
        if !holds(next) {
            break next;
        }
        good = next;
        step *= 4;
    };
    let (mut good, mut bad) = (good.nm(), bad.nm());
    while (bad - good).abs() > 1 {
        let middle = i64::midpoint(good, bad);
        *(if holds(Length::from_nm(middle)) { &mut good } else { &mut bad }) = middle;
    }
    Some(Length::from_nm(good))
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
