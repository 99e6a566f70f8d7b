//! Where along one number something holds.
//!
//! All values at which it does lie in one piece, and what there is to spare rises to that piece from
//! either side and falls behind it, mostly along straight lines. So the line through two values leads
//! to an end of the piece within a few looks. It only shows the way: whether a value does is asked of
//! the value itself, and an end is a value that does beside one that does not.

#![allow(
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    reason = "a line only shows the way: whether a value does is asked of the value itself"
)]

/// What is seen at one value.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Seen {
    /// Whether it does.
    pub(crate) holds: bool,
    /// By how much; minus infinity where no other value would do either.
    pub(crate) spare: f64,
}

/// A value with what is seen there.
#[derive(Debug, Clone, Copy)]
pub(crate) struct At {
    pub(crate) value: i64,
    seen: Seen,
}

/// The values from `least` to `most`, each to be looked at.
pub(crate) struct Along<F> {
    pub(crate) least: i64,
    pub(crate) most: i64,
    pub(crate) see: F,
}

/// How far away the second look is.
const STEP: i64 = 25_400;

/// How much farther the next one is where no line leads on.
const FARTHER: i64 = 4;

/// How many lines to the best value are followed.
const LINES: usize = 40;

impl<F: Fn(i64) -> Seen> Along<F> {
    fn at(&self, value: i64) -> At {
        At { value, seen: (self.see)(value) }
    }

    /// A value that does, looked for from `now`; none where there is none.
    pub(crate) fn inner(&self, now: i64) -> Option<At> {
        let here = self.at(now);
        if here.seen.holds {
            return Some(here);
        }
        if here.seen.spare == f64::NEG_INFINITY {
            return None;
        }
        let mut step = STEP;
        loop {
            let (down, up) = (now.saturating_sub(step), now.saturating_add(step));
            let (down, up) = (self.at(down.max(self.least)), self.at(up.min(self.most)));
            if let Some(found) = [down, up].into_iter().find(|at| at.seen.holds) {
                return Some(found);
            }
            let rises = |at: &At| at.seen.spare > here.seen.spare;
            if let Some(next) = [down, up].into_iter().find(rises) {
                return self.climb(here, next);
            }
            let level = |at: &At| at.seen.spare >= here.seen.spare;
            if !level(&down) && !level(&up) {
                return self.top(down.value, up.value);
            }
            if down.value == self.least && up.value == self.most {
                return None;
            }
            // Nothing moves over so little, or on one side alone.
            step = step.saturating_mul(FARTHER);
        }
    }

    /// Follows the line from one value through a better one to where it says that there is enough.
    fn climb(&self, mut from: At, mut to: At) -> Option<At> {
        let limit = if to.value < from.value { self.least } else { self.most };
        for _ in 0..LINES {
            if to.value == limit {
                break;
            }
            let rise = (to.seen.spare - from.seen.spare) / (to.value - from.value) as f64;
            let way = (limit - to.value).signum();
            // One farther, so that the line itself comes to one that does.
            let next = to.value.saturating_add((-to.seen.spare / rise) as i64).saturating_add(way);
            let next = self.at(next.clamp(self.least, self.most));
            if next.seen.holds {
                return Some(next);
            }
            if next.seen.spare <= to.seen.spare {
                return self.top(from.value, next.value);
            }
            (from, to) = (to, next);
        }
        self.top(from.value, limit)
    }

    /// A value that does between two, by golden sections: the best one lies between them.
    fn top(&self, one: i64, other: i64) -> Option<At> {
        let (mut low, mut high) = (one.min(other), one.max(other));
        // 0.618, as a fraction of whole numbers.
        let part =
            |low: i64, high: i64| (high - low) / 1000 * 618 + (high - low) % 1000 * 618 / 1000;
        let (mut left, mut right) =
            (self.at(high - part(low, high)), self.at(low + part(low, high)));
        while !left.seen.holds && !right.seen.holds && high - low > 3 {
            if left.seen.spare < right.seen.spare {
                low = left.value;
                left = right;
                right = self.at((low + part(low, high)).max(left.value + 1).min(high));
            } else {
                high = right.value;
                right = left;
                left = self.at((high - part(low, high)).min(right.value - 1).max(low));
            }
        }
        [left, right].into_iter().find(|at| at.seen.holds)
    }

    /// The last value that does on the way from one that does to the least or the most; none where all
    /// of them do.
    pub(crate) fn end(&self, inner: At, upward: bool) -> Option<i64> {
        let (limit, way) = if upward { (self.most, 1) } else { (self.least, -1) };
        let (mut good, mut step) = (inner, STEP);
        loop {
            let left = (limit - good.value).abs();
            if left == 0 {
                return None;
            }
            let step_now = step.min(left);
            let next = self.at(good.value + way * step_now);
            if !next.seen.holds {
                return Some(self.between(good, next));
            }
            let falls = good.seen.spare - next.seen.spare;
            step = if falls > 0.0 {
                ((next.seen.spare / falls * step_now as f64) as i64).saturating_add(1).max(1)
            } else {
                step.saturating_mul(FARTHER)
            };
            good = next;
        }
    }

    /// The last value that does between one that does and one that does not: where the line through both
    /// ends, then a neighbour, then halfway, until no value is left.
    fn between(&self, mut good: At, mut bad: At) -> i64 {
        let mut beside = 1;
        while (bad.value - good.value).abs() > 1 {
            let (way, width) = ((bad.value - good.value).signum(), (bad.value - good.value).abs());
            let share = good.seen.spare / (good.seen.spare - bad.seen.spare);
            let line = good.value + way * ((width as f64 * share) as i64).clamp(1, width - 1);
            self.narrow(&mut good, &mut bad, line);
            let next = if line == good.value { line + way * beside } else { line - way * beside };
            self.narrow(&mut good, &mut bad, next);
            if (bad.value - good.value).abs() > width / 2 {
                let middle = i64::midpoint(good.value, bad.value);
                self.narrow(&mut good, &mut bad, middle);
            }
            beside *= FARTHER;
        }
        good.value
    }

    /// Looks at a value between one that does and one that does not, and puts it in the place of its like.
    fn narrow(&self, good: &mut At, bad: &mut At, value: i64) {
        let (low, high) = (good.value.min(bad.value), good.value.max(bad.value));
        if low < value && value < high {
            let seen = self.at(value);
            *(if seen.seen.holds { good } else { bad }) = seen;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::drawn::Drawn;
    use std::cell::Cell;

    /// What there is to spare: the least of some lines, each so many thousandths a step, in whole numbers.
    fn spare(lines: &[(i64, i64)], value: i64) -> i64 {
        lines
            .iter()
            .map(|(slope, at_zero)| (slope * value).div_euclid(1000) + at_zero)
            .min()
            .unwrap()
    }

    #[test]
    fn the_ends_are_those_that_looking_at_every_value_finds() {
        let mut draw = Drawn(7);
        let (mut found, mut none, mut open) = (0, 0, 0);
        for _ in 0..3000 {
            let most = [40, 3000, 60_000][usize::try_from(draw.from(0, 2)).unwrap()];
            let steep = [900, 4000, 0][usize::try_from(draw.from(0, 2)).unwrap()];
            let lines: Vec<_> = (0..draw.from(1, 4))
                .map(|_| (draw.from(-steep, steep), draw.from(-most / 2, 2 * most)))
                .collect();
            let now = draw.from(0, most);
            let all: Vec<_> = (0..=most).filter(|value| spare(&lines, *value) >= 0).collect();
            #[allow(clippy::cast_precision_loss, reason = "they are small")]
            let see = |value: i64| {
                assert!((0..=most).contains(&value), "{value} cannot be");
                let spare = spare(&lines, value);
                Seen { holds: spare >= 0, spare: spare as f64 }
            };
            let along = Along { least: 0, most, see };
            let Some(inner) = along.inner(now) else {
                // What is a few values wide may be missed where nothing rises towards it.
                assert!(all.len() < 8, "{lines:?} from {now}: {} of {most} do", all.len());
                none += 1;
                continue;
            };
            let (first, last) = (*all.first().unwrap(), *all.last().unwrap());
            let ends = (along.end(inner, false), along.end(inner, true));
            let expected = ((first > 0).then_some(first), (last < most).then_some(last));
            assert_eq!(ends, expected, "{lines:?} from {now} to {most}");
            found += 1;
            open += usize::from(ends.0.is_none() || ends.1.is_none());
        }
        assert!(found > 1000 && none > 300 && open > 300, "{found} {none} {open}");
    }

    #[test]
    fn what_there_is_to_spare_may_be_wrong_and_the_ends_are_not() {
        let mut draw = Drawn(5);
        for _ in 0..2000 {
            let (first, last) = (draw.from(0, 50_000), draw.from(50_000, 100_000));
            let (off, noise) = (draw.from(-9_000, 9_000), draw.from(1, 900));
            #[allow(clippy::cast_precision_loss, reason = "they are small")]
            let see = |value: i64| {
                let spare = (value - first).min(last - value);
                let said = spare + off + (value * 7919).rem_euclid(noise);
                Seen { holds: spare >= 0, spare: if off == 0 { f64::NAN } else { said as f64 } }
            };
            let along = Along { least: 0, most: 100_000, see };
            let inner = along.inner(draw.from(first, last)).unwrap();
            let expected = ((first > 0).then_some(first), (last < 100_000).then_some(last));
            assert_eq!((along.end(inner, false), along.end(inner, true)), expected);
        }
    }

    #[test]
    fn a_piece_is_found_that_a_section_of_all_values_misses() {
        // A window moves with the dimension too: far away there is less and less that lacks again.
        #[allow(clippy::cast_precision_loss, reason = "they are small")]
        let see = |value: i64| {
            let near = (value - 4_800_050).min(8_099_587 - value);
            let spare = near.max(-3_000_000 + (value - 12_000_000) / 1_000);
            Seen { holds: spare >= 0, spare: spare as f64 }
        };
        let along = Along { least: 1, most: 2_540_000_000, see };
        assert!(along.top(along.least, along.most).is_none());
        let inner = along.inner(8_712_200).unwrap();
        let ends = (along.end(inner, false), along.end(inner, true));
        assert_eq!(ends, (Some(4_800_050), Some(8_099_587)));
    }

    #[test]
    fn an_end_just_before_the_last_value_is_one_and_the_last_value_is_none() {
        let ends = |last: i64| {
            let see = move |value: i64| {
                let holds = value <= last;
                Seen { holds, spare: if holds { 10.0 } else { -1.0 } }
            };
            let along = Along { least: 0, most: 25_401, see };
            (along.end(along.at(0), true), along.end(along.at(25_400), true))
        };
        assert_eq!(ends(25_400), (Some(25_400), Some(25_400)));
        assert_eq!(ends(25_401), (None, None));
    }

    #[test]
    fn a_few_looks_are_enough_on_lines() {
        // A window of 5 million from a part's value, seen from outside, and one end far beyond all limits.
        let looks = Cell::new(0);
        #[allow(clippy::cast_precision_loss, reason = "they are small")]
        let see = |value: i64| {
            looks.set(looks.get() + 1);
            let spare = (value - 30_000_000).min(4 * (35_000_000 - value));
            Seen { holds: spare >= 0, spare: spare as f64 }
        };
        let along = Along { least: 0, most: 2_540_000_000, see };
        let inner = along.inner(22_000_000).unwrap();
        assert_eq!(
            (along.end(inner, false), along.end(inner, true)),
            (Some(30_000_000), Some(35_000_000))
        );
        assert!(looks.get() < 25, "{} looks", looks.get());
    }

    #[test]
    fn where_no_value_would_do_none_but_the_first_is_looked_at() {
        let looks = Cell::new(0);
        let see = |_| {
            looks.set(looks.get() + 1);
            Seen { holds: false, spare: f64::NEG_INFINITY }
        };
        assert!(Along { least: 0, most: 1000, see }.inner(5).is_none());
        assert_eq!(looks.get(), 1);
    }
}
