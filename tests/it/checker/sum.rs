//! Sums of dimensions by piece and key, with their errors.

use std::collections::BTreeMap;

use bellstack::model::part::Entry;

const THOU: i128 = 25_400;
/// Ratios are millionths: errors are carried in millionths of a nanometre.
pub(super) const MICRO: i128 = 1_000_000;

/// A value with its limit, or how it stands in for a missing one.
#[derive(Debug, Clone, Copy)]
pub(super) struct Known {
    pub(super) value: i128,
    pub(super) tol: i128,
    /// The half-width of the rectangle that is as uncertain; less than the limit of what was measured.
    pub(super) wide: i128,
    pub(super) assumed: bool,
}

/// One dimension of one piece: slot, part number, which of two, key.
pub(super) type Key<'a> = (usize, &'a str, usize, &'static str);
/// How often each dimension counts, and what is known of it.
pub(super) type Terms<'a> = BTreeMap<Key<'a>, (i128, Option<Known>)>;

pub(super) fn put<'a>(terms: &mut Terms<'a>, key: Key<'a>, times: i128, known: Option<Known>) {
    let term = terms.entry(key).or_insert((0, known));
    term.0 += times;
    if term.0 == 0 {
        terms.remove(&key);
    }
}

/// Dimensions that count directly, and for each plate those that its ratio turns into movement of
/// the fingers: minus ratio times their sum.
#[derive(Debug, Clone, Default)]
pub(super) struct Sum<'a> {
    pub(super) plain: Terms<'a>,
    pub(super) bent: BTreeMap<&'a str, (Option<Known>, Terms<'a>)>,
}

impl<'a> Sum<'a> {
    pub(super) fn plus(mut self, other: &Self, times: i128) -> Self {
        for (key, (own, known)) in &other.plain {
            put(&mut self.plain, *key, own * times, *known);
        }
        for (plate, (ratio, gap)) in &other.bent {
            let (_, into) = self.bent.entry(plate).or_insert((*ratio, Terms::new()));
            for (key, (own, known)) in gap {
                put(into, *key, own * times, *known);
            }
        }
        self.bent.retain(|_, (_, gap)| !gap.is_empty());
        self
    }

    /// What the sum comes to; none where something in it is not known.
    pub(super) fn total(&self) -> Option<Total> {
        let mut effects: BTreeMap<Key<'a>, (i128, Known)> = BTreeMap::new();
        let mut total = Total::default();
        for (key, (times, known)) in &self.plain {
            total.value += times * (*known)?.value;
            effects.insert(*key, (times * MICRO, (*known)?));
        }
        for (ratio, gap) in self.bent.values() {
            let ratio = (*ratio)?;
            let mut opened = 0;
            for (key, (times, known)) in gap {
                opened += times * (*known)?.value;
                effects.entry(*key).or_insert((0, (*known)?)).0 -= times * ratio.value;
                total.worst_case += ratio.tol * times.abs() * (*known)?.tol;
            }
            // Rounded once, half away from zero.
            let moved = -ratio.value * opened;
            total.value += moved.signum() * ((moved.abs() + MICRO / 2) / MICRO);
            total.err(opened, ratio);
        }
        for (times, known) in effects.into_values().filter(|(times, _)| *times != 0) {
            total.err(times, known);
        }
        Some(total)
    }
}

/// A sum's value with its limits of error.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Total {
    pub(super) value: i128,
    /// In millionths of a nanometre.
    pub(super) worst_case: i128,
    /// Three times u squared, in the square of that: u = limit / sqrt(3) of a rectangular
    /// distribution (JCGM 100:2008, 4.3.7).
    pub(super) three_u_squared: i128,
    pub(super) assumed: bool,
}

impl Total {
    fn err(&mut self, times: i128, known: Known) {
        self.worst_case += (times * known.tol).abs();
        self.three_u_squared += (times * known.wide).pow(2);
        self.assumed |= known.assumed;
    }
}

/// The tolerance that stands in for a missing one, in thou; 10 % of a ratio, rounded up.
fn assumed(kind: &str, key: &str, value: i128) -> i128 {
    let thou = match (kind, key) {
        (_, "finger_ratio") => return (value + 9) / 10,
        (_, "finger_height") => 40,
        (_, "extended_height" | "retracted_height") => 15,
        ("bearing_shim", _) => 1,
        ("block_plate" | "bell_spacer" | "gearbox_spacer", _) => 3,
        ("job" | "flywheel", _) | (_, "set_gap") => 5,
        _ => 10,
    };
    thou * THOU
}

pub(super) fn known(kind: &str, key: &str, entry: Option<Entry>) -> Option<Known> {
    let Some(entry) = entry else {
        let flat = Known { value: 0, tol: 0, wide: 0, assumed: false };
        return (key == "cover_step").then_some(flat);
    };
    let value = i128::from(entry.value);
    let Some(tol) = entry.tol.map(i128::from) else {
        let tol = assumed(kind, key, value);
        return Some(Known { value, tol, wide: tol, assumed: true });
    };
    let wide = entry.evidence.map_or(tol, |evidence| tol.min(evidence.wide.into()));
    let assumed = entry.evidence.is_some_and(|evidence| evidence.assumed);
    Some(Known { value, tol, wide, assumed })
}
